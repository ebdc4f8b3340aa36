//! A question answered, in two stages: what is read comes first, what is drawn follows.

use crate::inputs::Inputs;
use crate::protocol::Reply;
use crate::sheet;
use solver::budget::Budget;
use solver::document::formula::Formula;
use solver::worksheet::{self, Worksheet};

/// The last ledger: it stays as it is while only numbers for letters change.
#[derive(Debug, Default)]
pub struct Last(Option<Worksheet>);

/// Works the inputs out and says what it finds.
pub fn answer(sequence: u32, inputs: &Inputs, last: &mut Last, say: &mut dyn FnMut(Reply)) {
    let request = inputs.request();
    let same = |old: &Worksheet| {
        let mut like_old = request.clone();
        like_old.parameters.clone_from(&old.request.parameters);
        like_old == old.request
    };
    let prepared = if let Some(mut old) = last.0.take().filter(same) {
        old.request = request;
        old
    } else {
        let new = worksheet::prepare(&request, &Budget::PAGE, &mut |_| true);
        say(Reply::Ledger(Box::new(sheet::sheet(sequence, &new))));
        new
    };
    let has_letters = |worksheet: &&Worksheet| {
        let problem = worksheet.problem.as_ref();
        problem.is_some_and(|problem| !problem.parameters.is_empty())
    };
    // Without letters no number can change: nothing is kept, and nothing copied.
    last.0 = Some(&prepared).filter(has_letters).cloned();
    let whole: Worksheet = worksheet::complete(prepared, &Budget::PAGE, &mut |_| true);
    say(Reply::Picture(Box::new(sheet::drawing(sequence, &whole))));
}

/// The worksheet's data as JSON. They are worked out when they are asked for: writing them takes a
/// quarter of an answer's time, and hardly any answer is downloaded.
pub fn data(inputs: &Inputs) -> String {
    let whole = worksheet::work(&inputs.request(), &Budget::PAGE, &mut |_| true);
    worksheet::export::json(&whole)
}

/// How the fields are read, typeset; fast enough for every keystroke.
pub fn reading(inputs: &Inputs) -> Vec<Formula> {
    solver::document::typed::reading(&inputs.equation, &inputs.conditions, &Budget::PAGE)
}
