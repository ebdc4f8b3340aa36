//! The second part: functions and data that come later.

use super::first::within;
use super::{Plan, segments, write_body, write_counted, write_place};
use crate::binary::{
    CODE, DATA, ELEMENTS, FUNCTIONS, IMPORTS, START, TYPES, write_name, write_number, write_section,
};
use crate::code::{write_call, write_call_of_place};
use std::collections::{BTreeMap, BTreeSet};

pub(super) fn write(plan: &Plan<'_>) -> Option<Vec<u8>> {
    let module = plan.module;
    let own: BTreeSet<usize> = plan.second.union(&plan.copied).copied().collect();
    let mut new = vec![usize::MAX; module.imports.len() + module.own().count()];
    for (number, function) in own.iter().enumerate() {
        *new.get_mut(*function)? = number;
    }
    let (mut functions, mut code) = (Vec::new(), Vec::new());
    for function in &own {
        let body = module.body(*function)?.rewritten(&mut |called, out| {
            let number = *new.get(called)?;
            if number == usize::MAX {
                let place = *plan.place_of.get(&called)?;
                write_call_of_place(place, module.of_type(called)?, out);
            } else {
                write_call(number, out);
            }
            Some(())
        })?;
        write_number(module.of_type(*function)?, &mut functions);
        write_body(&body, &mut code);
    }
    // Says that it is there.
    let mut begin = vec![0, 0x41, 1, 0x24];
    write_number(module.globals.len(), &mut begin);
    begin.push(0x0b);
    write_number(plan.action, &mut functions);
    write_body(&begin, &mut code);
    let mut start = Vec::new();
    write_number(own.len(), &mut start);
    let (imported, imports) = imports(plan)?;
    let (runs, elements) = segments(&elements(plan), &new)?;
    let (pieces, data) = data(plan);
    let types = module.sections.iter().find(|section| section.0 == TYPES)?;
    let mut out = module.head.to_vec();
    write_section(TYPES, types.1, &mut out);
    write_counted(IMPORTS, imported, &imports, &mut out);
    write_counted(FUNCTIONS, own.len() + 1, &functions, &mut out);
    write_section(START, &start, &mut out);
    write_counted(ELEMENTS, runs, &elements, &mut out);
    write_counted(CODE, own.len() + 1, &code, &mut out);
    write_counted(DATA, pieces, &data, &mut out);
    Some(out)
}

/// How many imports, and they: tables, memory and globals, in this order.
fn imports(plan: &Plan<'_>) -> Option<(usize, Vec<u8>)> {
    let module = plan.module;
    let table = plan.table()?;
    // Says whether the second part is there.
    let there = vec![0x7f, 1];
    let described = std::iter::once(&table)
        .chain(module.tables.iter().skip(1))
        .chain(&module.memories)
        .chain(&module.globals)
        .chain(std::iter::once(&there));
    let shared = plan.shared();
    let mut out = Vec::new();
    for ((kind, _, name, _), description) in shared.iter().zip(described) {
        write_name("", &mut out);
        write_name(name, &mut out);
        out.push(*kind);
        out.extend_from_slice(description);
    }
    Some((shared.len(), out))
}

/// The second part's functions at all their places in the table.
fn elements(plan: &Plan<'_>) -> BTreeMap<usize, usize> {
    let called = plan
        .place_of
        .iter()
        .map(|(function, place)| (place, function));
    plan.module
        .elements
        .iter()
        .chain(called)
        .filter(|(_, function)| plan.second.contains(function))
        .map(|(place, function)| (*place, *function))
        .collect()
}

/// How many pieces of data, and they.
fn data(plan: &Plan<'_>) -> (usize, Vec<u8>) {
    let (mut count, mut out) = (0, Vec::new());
    for (address, bytes) in &plan.module.data {
        for range in plan.data {
            let inside = within(range, *address, bytes.len());
            let place = address + inside.start;
            if let Some(moved) = bytes.get(inside).filter(|moved| !moved.is_empty()) {
                write_place(place, &mut out);
                write_body(moved, &mut out);
                count += 1;
            }
        }
    }
    (count, out)
}
