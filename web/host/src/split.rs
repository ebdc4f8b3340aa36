//! Divides the bound module: what the page's examples need stays in the first part; the rest becomes
//! a second part that is fetched when it is first needed.
//!
//! Which functions are the rest is a list (`later`; tests/split/run makes it), and with them goes
//! what only they call. In the first part each one that is still called from there is a stub that
//! calls its place in the table of functions; where the second part is missing, it calls the import
//! [`MISSING`] before. The second part takes memory, tables and globals from the first one's exports,
//! calls the first one's functions by their places in the table, and puts its own functions into
//! theirs. So both parts together do what the whole did, whatever the list says.

pub(crate) mod data;
mod first;
pub(crate) mod later;
mod module;
mod second;

use crate::binary::{write_number, write_section, write_signed};
use crate::code::Body;
use module::{FUNCTION, Module};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

/// What the first part calls when the second one is missing.
pub(crate) const MISSING: &str = "missing";

/// A function whose code is not longer stays in the first part: a stub would be as long.
const TINY: usize = 14;

/// A function that calls nothing and whose code is not longer is in both parts when both call it: its
/// place in the table would make the first part larger.
const SHORT: usize = 400;

/// A function of the second part that the first one calls from more places has a stub there; else each
/// call goes through the table by itself.
const FEW: usize = 3;

/// What is to come later.
pub(crate) struct Later<'a> {
    /// Is this function on the list?
    pub(crate) function: &'a dyn Fn(usize) -> bool,
    /// Data that only these functions of the second part read, and nobody changes: ranges of addresses.
    pub(crate) data: &'a dyn Fn(&BTreeSet<usize>) -> Vec<Range<usize>>,
}

/// A module in two parts.
pub(crate) struct Parts {
    pub(crate) first: Vec<u8>,
    pub(crate) second: Vec<u8>,
}

/// The two parts; `None`: the module is not understood, or the second part would be empty.
/// `imported` says from where the module's imports come. Parts with another `mark` than each other
/// (say, a digest of the whole) cannot be joined.
pub(crate) fn split(bytes: &[u8], imported: &str, mark: &str, later: &Later<'_>) -> Option<Parts> {
    let module = Module::read(bytes)?;
    let second = second_functions(&module, later.function);
    if second.is_empty() || module.memories.len() != 1 || module.tables.is_empty() {
        return None;
    }
    let data = (later.data)(&second);
    let plan = Plan::new(&module, second, mark, &data)?;
    Some(Parts {
        first: first::write(&plan, imported)?,
        second: second::write(&plan)?,
    })
}

/// The functions of the second part: those on the list, and what is reached through them alone.
fn second_functions(module: &Module<'_>, later: &dyn Fn(usize) -> bool) -> BTreeSet<usize> {
    let is_later = |function: &usize| {
        let body = module.body(*function);
        later(*function) && body.is_some_and(|body| body.length() > TINY)
    };
    let exported = module.exports.iter().filter(|export| export.1 == FUNCTION);
    let mut open: Vec<usize> = exported.map(|export| export.2).collect();
    open.extend(module.elements.values());
    open.retain(|function| !is_later(function));
    open.extend(module.start);
    let mut reached = BTreeSet::new();
    while let Some(function) = open.pop() {
        if reached.insert(function) {
            let called = module.body(function).into_iter().flat_map(Body::called);
            open.extend(called.filter(|called| !is_later(called)));
        }
    }
    module
        .own()
        .map(|(number, ..)| number)
        .filter(|number| !reached.contains(number))
        .collect()
}

/// What goes where.
struct Plan<'a> {
    module: &'a Module<'a>,
    second: BTreeSet<usize>,
    /// Functions of the first part that the second one has, too.
    copied: BTreeSet<usize>,
    /// Functions of the second part that have a stub in the first one.
    stubs: BTreeSet<usize>,
    /// Places in the table of the second part's functions that the first one calls, and the other way
    /// round.
    place_of: BTreeMap<usize, usize>,
    /// The size of the table.
    places: usize,
    /// The type `[] -> []`.
    action: usize,
    /// The name of the global that says whether the second part is there.
    mark: &'a str,
    data: &'a [Range<usize>],
}

impl<'a> Plan<'a> {
    fn new(
        module: &'a Module<'a>,
        second: BTreeSet<usize>,
        mark: &'a str,
        data: &'a [Range<usize>],
    ) -> Option<Self> {
        let is_second = |function: &usize| second.contains(function);
        let (mut wanted, mut given) = (BTreeMap::<usize, usize>::new(), BTreeSet::new());
        for (number, _, body) in module.own() {
            for called in body.called() {
                match (is_second(&number), is_second(&called)) {
                    (false, true) => *wanted.entry(called).or_default() += 1,
                    (true, false) => {
                        given.insert(called);
                    }
                    _ => {}
                }
            }
        }
        let exported = module.exports.iter().filter(|export| export.1 == FUNCTION);
        let mut stubs: BTreeSet<usize> = exported
            .map(|export| export.2)
            .chain(module.elements.values().copied())
            .filter(is_second)
            .collect();
        let often = wanted.iter().filter(|(_, calls)| **calls > FEW);
        stubs.extend(often.map(|(function, _)| *function));
        let is_short = |function: &usize| {
            let body = module.body(*function);
            body.is_some_and(|body| body.length() <= SHORT && body.called().next().is_none())
        };
        let copied: BTreeSet<usize> = given.iter().copied().filter(is_short).collect();
        let mut place_of = BTreeMap::new();
        let mut places = module.places;
        for (place, function) in &module.elements {
            place_of.entry(*function).or_insert(*place);
        }
        for function in given.difference(&copied).chain(wanted.keys()).chain(&stubs) {
            place_of.entry(*function).or_insert_with(|| {
                places += 1;
                places - 1
            });
        }
        let action = module.types.iter().position(|(_, action)| *action)?;
        Some(Self {
            module,
            second,
            copied,
            stubs,
            place_of,
            places,
            action,
            mark,
            data,
        })
    }

    /// The first table with room for all places, as an import describes it.
    fn table(&self) -> Option<Vec<u8>> {
        let mut reader = crate::binary::Reader::new(self.module.tables.first()?);
        let (kind, flags) = (reader.byte()?, reader.byte()?);
        reader.number()?;
        let mut out = vec![kind, flags];
        write_number(self.places, &mut out);
        if flags & 1 == 1 {
            write_number(self.places.max(reader.number()?), &mut out);
        }
        Some(out)
    }

    /// The names under which the first part gives away its tables, its memory and its globals, and
    /// behind the last one the global that says whether the second part is there; and is the name new?
    fn shared(&self) -> Vec<(u8, usize, String, bool)> {
        let module = self.module;
        let things = (0..module.tables.len())
            .map(|index| (module::TABLE, index))
            .chain((0..module.memories.len()).map(|index| (module::MEMORY, index)))
            .chain((0..=module.globals.len()).map(|index| (module::GLOBAL, index)));
        let mut next = 0;
        things
            .map(|(kind, index)| {
                let own = module.exports.iter();
                let own = own.filter(|export| (export.1, export.2) == (kind, index));
                if (kind, index) == (module::GLOBAL, module.globals.len()) {
                    return (kind, index, self.mark.to_owned(), true);
                }
                if let Some((name, ..)) = own.min_by_key(|export| export.0.len()) {
                    return (kind, index, (*name).to_owned(), false);
                }
                loop {
                    next += 1;
                    let name = next.to_string();
                    if module.exports.iter().all(|export| export.0 != name) {
                        return (kind, index, name, true);
                    }
                }
            })
            .collect()
    }
}

/// A section whose content begins with a number of things.
fn write_counted(section: u8, count: usize, content: &[u8], out: &mut Vec<u8>) {
    let mut all = Vec::with_capacity(content.len() + 5);
    write_number(count, &mut all);
    all.extend_from_slice(content);
    write_section(section, &all, out);
}

fn write_body(body: &[u8], out: &mut Vec<u8>) {
    write_number(body.len(), out);
    out.extend_from_slice(body);
}

/// Functions for places in the first table, neighbors together: how many segments, and they.
fn segments(elements: &BTreeMap<usize, usize>, new: &[usize]) -> Option<(usize, Vec<u8>)> {
    let mut runs: Vec<(usize, Vec<usize>)> = Vec::new();
    for (place, function) in elements {
        let function = *new.get(*function).filter(|new| **new != usize::MAX)?;
        match runs.last_mut() {
            Some((first, run)) if *first + run.len() == *place => run.push(function),
            _ => runs.push((*place, vec![function])),
        }
    }
    let mut out = Vec::new();
    for (place, run) in &runs {
        write_place(*place, &mut out);
        write_number(run.len(), &mut out);
        for function in run {
            write_number(*function, &mut out);
        }
    }
    Some((runs.len(), out))
}

/// The beginning of a segment of the first table or memory.
fn write_place(place: usize, out: &mut Vec<u8>) {
    out.extend_from_slice(&[0, 0x41]);
    write_signed(place, out);
    out.push(0x0b);
}

#[cfg(test)]
mod tests;
