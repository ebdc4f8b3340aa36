//! A repair that the reader has accepted.

use crate::inputs::Inputs;
use crate::protocol::Change;

/// Carries out edits, last place first so that earlier ones keep their places; an edit that no
/// longer fits the text is left out.
pub(super) fn carry_out(inputs: &mut Inputs, mut edits: Vec<Change>) {
    solver::sorting::sort_by_key(&mut edits, |edit| std::cmp::Reverse(edit.1));
    for (field, start, end, replacement) in edits {
        let text = match field.as_str() {
            "equation" => &mut inputs.equation,
            "conditions" => &mut inputs.conditions,
            "degree" => &mut inputs.degree,
            "from" => &mut inputs.from,
            "to" => &mut inputs.to,
            "beside" => &mut inputs.beside,
            "candidate" => &mut inputs.candidate,
            _ => continue,
        };
        if start <= end && text.is_char_boundary(start) && text.is_char_boundary(end) {
            text.replace_range(start..end, &replacement);
        }
    }
}
