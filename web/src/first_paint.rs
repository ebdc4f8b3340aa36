//! The page as it comes: the first example worked out when the site is built, so that there is
//! something to read before any script has run.

use crate::answer;
use crate::examples::{CAUTION, EXAMPLES, Example};
use crate::html::escape;
use crate::inputs::Depth;
use crate::markup;
use crate::protocol::{Reply, Sheet};
use crate::view;
use std::fmt::Write;

/// The template with the first example in it.
pub fn fill(template: &str) -> String {
    let Some(example) = EXAMPLES.first() else {
        return template.to_owned();
    };
    let inputs = example.inputs();
    let mut first: Option<Sheet> = None;
    let mut last = answer::Last::default();
    answer::answer(0, &inputs, &mut last, &mut |reply| {
        if let Reply::Ledger(sheet) = reply {
            first = Some(*sheet);
        }
    });
    let reading = markup::html(&view::reading(&answer::reading(&inputs)));
    let mut page = template.to_owned();
    let mut put = |hole: &str, text: &str| page = page.replace(&format!("<!--{hole}-->"), text);
    put("examples", &choices());
    for (hole, text) in [
        ("equation", &inputs.equation),
        ("conditions", &inputs.conditions),
        ("degree", &inputs.degree),
        ("from", &inputs.from),
        ("to", &inputs.to),
        ("beside", &inputs.beside),
        ("candidate", &inputs.candidate),
    ] {
        put(hole, &escape(text));
    }
    put("reading", &reading);
    put("caution", if example.caution { CAUTION } else { "" });
    put(
        "caution-hidden",
        if example.caution { "" } else { " hidden" },
    );
    if let Some(sheet) = first {
        let rows = markup::at_depth(&sheet.rows, inputs.depth == Depth::Rules);
        put("rows-digest", &markup::digest(&rows));
        put("rows", &markup::html(&rows));
        let strip = sheet.strips.first().map_or(&[][..], Vec::as_slice);
        put("strip", &markup::html(strip));
        put("checked", &escape(&sheet.checked));
        put("highest", &sheet.degree.to_string());
    }
    page
}

fn choices() -> String {
    let mut out = String::from("<option value=\"\">your own problem</option>");
    for (index, Example { title, .. }) in EXAMPLES.iter().enumerate() {
        let chosen = if index == 0 { " selected" } else { "" };
        let _ = write!(
            out,
            "<option value=\"{index}\"{chosen}>{}</option>",
            escape(title)
        );
    }
    out
}
