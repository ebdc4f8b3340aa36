//! The first part: the module without the second part's functions and data, with stubs in the places
//! of those that are still named.

use super::module::FUNCTION;
use super::{MISSING, Plan, segments, write_body, write_counted};
use crate::binary::{
    CODE, DATA, ELEMENTS, EXPORTS, FUNCTIONS, GLOBALS, IMPORTS, Reader, START, TABLES, write_name,
    write_number, write_section,
};
use crate::code::{write_call, write_call_of_place};
use std::ops::Range;

pub(super) fn write(plan: &Plan<'_>, imported: &str) -> Option<Vec<u8>> {
    let module = plan.module;
    let before = module.imports.len();
    // In front of the own functions stand two new ones: the import, and what calls it if need be.
    let (missing, ready) = (before, before + 1);
    let mut new: Vec<usize> = (0..before).collect();
    let (mut functions, mut code) = (Vec::new(), Vec::new());
    let mut count = 1;
    write_number(plan.action, &mut functions);
    write_body(&asking(missing, module.globals.len()), &mut code);
    for (number, ..) in module.own() {
        let stays = !plan.second.contains(&number) || plan.stubs.contains(&number);
        new.push(if stays { ready + count } else { usize::MAX });
        count += usize::from(stays);
    }
    for (number, of_type, body) in module.own() {
        let body = if !plan.second.contains(&number) {
            body.rewritten(&mut |called, out| {
                let number = *new.get(called)?;
                if number != usize::MAX {
                    write_call(number, out);
                    return Some(());
                }
                through_table(plan, ready, called, out)
            })?
        } else if plan.stubs.contains(&number) {
            stub(plan, ready, number)?
        } else {
            continue;
        };
        write_number(of_type, &mut functions);
        write_body(&body, &mut code);
    }
    let mut out = module.head.to_vec();
    for (section, content) in &module.sections {
        let rest = |added: usize| {
            let mut reader = Reader::new(content);
            let count = reader.number()? + added;
            Some((count, content.get(reader.at..)?.to_vec()))
        };
        let (count, content) = match *section {
            IMPORTS => {
                let (count, mut changed) = rest(1)?;
                write_name(imported, &mut changed);
                write_name(MISSING, &mut changed);
                changed.push(FUNCTION);
                write_number(plan.action, &mut changed);
                (count, changed)
            }
            FUNCTIONS => (count, functions.clone()),
            CODE => (count, code.clone()),
            TABLES => {
                let mut changed = plan.table()?;
                changed.extend(module.tables.iter().skip(1).flatten());
                (module.tables.len(), changed)
            }
            GLOBALS => {
                let (count, mut changed) = rest(1)?;
                changed.extend_from_slice(&[0x7f, 1, 0x41, 0, 0x0b]);
                (count, changed)
            }
            EXPORTS => exports(plan, &new)?,
            ELEMENTS => {
                let mut elements = module.elements.clone();
                let given = plan.place_of.iter();
                let given = given.filter(|(function, _)| !plan.second.contains(function));
                elements.extend(given.map(|(function, place)| (*place, *function)));
                segments(&elements, &new)?
            }
            DATA => rest(0).map(|(count, _)| (count, data(plan)))?,
            START => {
                let mut changed = Vec::new();
                write_number(*new.get(module.start?)?, &mut changed);
                write_section(START, &changed, &mut out);
                continue;
            }
            _ => {
                write_section(*section, content, &mut out);
                continue;
            }
        };
        write_counted(*section, count, &content, &mut out);
    }
    Some(out)
}

/// Calls the import unless the global says that the second part is there.
fn asking(missing: usize, there: usize) -> Vec<u8> {
    let mut out = vec![0, 0x23];
    write_number(there, &mut out);
    out.extend_from_slice(&[0x45, 0x04, 0x40, 0x10]);
    write_number(missing, &mut out);
    out.extend_from_slice(&[0x0b, 0x0b]);
    out
}

/// Calls a function of the second part with the arguments at hand, after `ready`.
fn through_table(plan: &Plan<'_>, ready: usize, function: usize, out: &mut Vec<u8>) -> Option<()> {
    write_call(ready, out);
    write_call_of_place(
        *plan.place_of.get(&function)?,
        plan.module.of_type(function)?,
        out,
    );
    Some(())
}

/// A function that calls one of the second part with its own arguments.
fn stub(plan: &Plan<'_>, ready: usize, function: usize) -> Option<Vec<u8>> {
    let of_type = plan.module.of_type(function)?;
    let mut out = vec![0];
    for argument in 0..plan.module.types.get(of_type)?.0 {
        out.push(0x20);
        write_number(argument, &mut out);
    }
    through_table(plan, ready, function, &mut out)?;
    out.push(0x0b);
    Some(out)
}

fn exports(plan: &Plan<'_>, new: &[usize]) -> Option<(usize, Vec<u8>)> {
    let shared = plan.shared();
    let own = plan.module.exports.iter().copied();
    let added = shared.iter().filter(|(.., added)| *added);
    let all: Vec<(&str, u8, usize)> = own
        .chain(added.map(|(kind, index, name, _)| (name.as_str(), *kind, *index)))
        .collect();
    let mut out = Vec::new();
    for (name, kind, index) in &all {
        write_name(name, &mut out);
        out.push(*kind);
        let index = if *kind == FUNCTION {
            *new.get(*index)?
        } else {
            *index
        };
        write_number(index, &mut out);
    }
    Some((all.len(), out))
}

/// The data with zeros in the place of what the second part brings: zeros compress to nothing.
fn data(plan: &Plan<'_>) -> Vec<u8> {
    let mut out = Vec::new();
    for (address, bytes) in &plan.module.data {
        let mut bytes = bytes.to_vec();
        for range in plan.data {
            let inside = within(range, *address, bytes.len());
            if let Some(moved) = bytes.get_mut(inside) {
                moved.fill(0);
            }
        }
        super::write_place(*address, &mut out);
        write_body(&bytes, &mut out);
    }
    out
}

/// The part of a segment of data that a range of addresses covers.
pub(super) fn within(range: &Range<usize>, address: usize, length: usize) -> Range<usize> {
    let inside = |place: usize| place.saturating_sub(address).min(length);
    inside(range.start)..inside(range.end)
}
