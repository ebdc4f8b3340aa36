//! A question answered, in two stages: what is read comes first, what is drawn follows.

use crate::inputs::Inputs;
use crate::protocol::Reply;
use crate::sheet;
use solver::budget::Budget;
use solver::document::formula::Formula;
use solver::worksheet::{self, Worksheet};

/// Works the inputs out and says what it finds.
pub fn answer(sequence: u32, inputs: &Inputs, say: &mut dyn FnMut(Reply)) {
    let request = inputs.request();
    let prepared = worksheet::prepare(&request, &Budget::PAGE, &mut |_| true);
    say(Reply::Ledger(Box::new(sheet::sheet(sequence, &prepared))));
    let whole: Worksheet = worksheet::complete(prepared, &Budget::PAGE, &mut |_| true);
    let json = worksheet::export::json(&whole);
    say(Reply::Picture(Box::new(sheet::drawing(
        sequence, &whole, json,
    ))));
}

/// How the fields are read, typeset; fast enough for every keystroke.
pub fn reading(inputs: &Inputs) -> Vec<Formula> {
    solver::document::typed::reading(&inputs.equation, &inputs.conditions, &Budget::PAGE)
}
