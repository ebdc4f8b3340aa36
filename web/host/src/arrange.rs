//! Keeps one of several functions that are the same, and puts a module's functions into an order in
//! which they compress well: those of one type together, each after the one most like it. Nothing
//! else depends on their order, nor on their addresses. Hints of alignment, which
//! may say anything, are made the same everywhere.

use crate::binary::{
    CODE, CUSTOM, ELEMENTS, EXPORTS, FUNCTIONS, GLOBALS, IMPORTS, Reader, START, write_name,
    write_number, write_section,
};
use crate::code::{Body, constant};
use std::collections::BTreeMap;

/// Bytes in a row that make one feature of a function.
const RUN: usize = 3;

/// Features that are told apart, as a power of two.
const FEATURE_BITS: u32 = 14;

/// Keeps very short functions from being like one another for a chance run.
const SLIGHT: usize = 5;

/// For every function the number of the first that is the same, among the imported and the own ones.
/// Functions that call different ones may become the same when those do.
fn representatives(imported: usize, types: &[usize], bodies: &[Body]) -> Vec<usize> {
    let mut first: Vec<usize> = (0..imported + bodies.len()).collect();
    loop {
        let mut seen = BTreeMap::new();
        let mut next: Vec<usize> = (0..imported).collect();
        for (number, (of_type, body)) in (imported..).zip(types.iter().zip(bodies)) {
            let code = body.renumbered(&first);
            next.push(*seen.entry((of_type, code)).or_insert(number));
        }
        if next == first {
            return first;
        }
        first = next;
    }
}

/// The runs of bytes that occur, as small numbers; each once.
fn features(body: &Body) -> Vec<u16> {
    let mut features: Vec<u16> = body
        .bytes
        .windows(RUN)
        .map(|run| {
            let word = run
                .iter()
                .fold(0_u32, |word, byte| word << 8 | u32::from(*byte));
            // Knuth's multiplicative hashing (The Art of Computer Programming 3, 6.4).
            let hash = word.wrapping_mul(0x9E37_79B1) >> (32 - FEATURE_BITS);
            u16::try_from(hash).unwrap_or(0)
        })
        .collect();
    features.sort_unstable();
    features.dedup();
    features
}

/// The functions' old numbers in the new order.
fn order(types: &[usize], bodies: &[Body], kept: impl Fn(usize) -> bool) -> Vec<usize> {
    let features: Vec<Vec<u16>> = bodies.iter().map(features).collect();
    let of = |function: usize| features.get(function).map_or(&[][..], Vec::as_slice);
    let mut groups: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (function, of_type) in types.iter().enumerate().filter(|(f, _)| kept(*f)) {
        groups.entry(*of_type).or_default().push(function);
    }
    let mut order = Vec::with_capacity(bodies.len());
    for mut rest in groups.into_values() {
        while !rest.is_empty() {
            let last = order.last().map_or(&[][..], |last| of(*last));
            let mut marked = [false; 1 << FEATURE_BITS];
            for feature in last {
                marked[usize::from(*feature)] = true;
            }
            let likeness = |function: &usize| {
                let own = of(*function);
                let shared = own
                    .iter()
                    .filter(|feature| marked[usize::from(**feature)])
                    .count();
                (shared << 20) / (own.len() + last.len() - shared + SLIGHT)
            };
            let nearest = (0..rest.len()).max_by_key(|index| rest.get(*index).map(likeness));
            order.push(rest.remove(nearest.unwrap_or(0)));
        }
    }
    order
}

/// A module in its new order.
pub(crate) struct Arranged {
    pub(crate) module: Vec<u8>,
    /// The functions' new numbers by their old ones.
    pub(crate) new: Vec<usize>,
}

/// The module with its functions in another order; `None`: it is not understood.
pub(crate) fn arrange(module: &[u8]) -> Option<Arranged> {
    let mut sections = Vec::new();
    let mut reader = Reader::new(module);
    let head = reader.take(8)?;
    while !reader.at_end() {
        sections.push(reader.section()?);
    }
    let (mut imported, mut types, mut bodies) = (0, Vec::new(), Vec::new());
    for &(section, content) in &sections {
        let mut reader = Reader::new(content);
        match section {
            IMPORTS => {
                for _ in 0..reader.number()? {
                    reader.name()?;
                    reader.name()?;
                    imported += usize::from(reader.import_kind()?);
                }
            }
            FUNCTIONS => {
                for _ in 0..reader.number()? {
                    types.push(reader.number()?);
                }
            }
            CODE => bodies = crate::code::bodies(content)?,
            GLOBALS => {
                for _ in 0..reader.number()? {
                    reader.take(2)?;
                    constant(&mut reader)?;
                }
            }
            _ => {}
        }
    }
    if types.len() != bodies.len() {
        return None;
    }
    let first = representatives(imported, &types, &bodies);
    let kept = |function| first.get(imported + function) == Some(&(imported + function));
    let order = order(&types, &bodies, kept);
    let mut place: Vec<usize> = (0..imported + bodies.len()).collect();
    for (new, old) in order.iter().enumerate() {
        *place.get_mut(imported + old)? = imported + new;
    }
    let new: Vec<usize> = first
        .iter()
        .map(|number| place.get(*number).copied())
        .collect::<Option<_>>()?;
    let mut out = head.to_vec();
    for (section, content) in sections {
        let content = match section {
            // What tools have to say may name functions by their old numbers.
            CUSTOM => continue,
            FUNCTIONS | CODE => {
                let mut changed = Vec::with_capacity(content.len());
                write_number(order.len(), &mut changed);
                for function in &order {
                    if section == FUNCTIONS {
                        write_number(*types.get(*function)?, &mut changed);
                    } else {
                        let code = bodies.get(*function)?.renumbered(&new)?;
                        write_number(code.len(), &mut changed);
                        changed.extend_from_slice(&code);
                    }
                }
                changed
            }
            EXPORTS => exports(content, &new)?,
            START => {
                let mut changed = Vec::new();
                write_number(*new.get(Reader::new(content).number()?)?, &mut changed);
                changed
            }
            ELEMENTS => elements(content, &new)?,
            _ => content.to_vec(),
        };
        write_section(section, &content, &mut out);
    }
    Some(Arranged { module: out, new })
}

fn exports(content: &[u8], new: &[usize]) -> Option<Vec<u8>> {
    let mut reader = Reader::new(content);
    let mut out = Vec::with_capacity(content.len());
    let count = reader.number()?;
    write_number(count, &mut out);
    for _ in 0..count {
        write_name(reader.name()?, &mut out);
        let kind = reader.byte()?;
        let index = reader.number()?;
        out.push(kind);
        let index = if kind == 0 { *new.get(index)? } else { index };
        write_number(index, &mut out);
    }
    Some(out)
}

/// The functions that are called by their place in a table.
fn elements(content: &[u8], new: &[usize]) -> Option<Vec<u8>> {
    let mut reader = Reader::new(content);
    let mut out = Vec::with_capacity(content.len());
    let count = reader.number()?;
    write_number(count, &mut out);
    for _ in 0..count {
        let start = reader.at;
        // Only the plain kind: a place in the first table, and functions.
        if reader.number()? != 0 {
            return None;
        }
        constant(&mut reader)?;
        out.extend_from_slice(content.get(start..reader.at)?);
        let functions = reader.number()?;
        write_number(functions, &mut out);
        for _ in 0..functions {
            write_number(*new.get(reader.number()?)?, &mut out);
        }
    }
    Some(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One imported function and five own ones: the first and the third are alike, the last is the same
    /// as the second.
    fn module(last: u8) -> Vec<u8> {
        let mut out = b"\0asm\x01\0\0\0".to_vec();
        write_section(1, &[1, 0x60, 0, 0], &mut out);
        write_section(IMPORTS, &[1, 1, b'm', 1, b'f', 0, 0], &mut out);
        write_section(FUNCTIONS, &[5, 0, 0, 0, 0, 0], &mut out);
        write_section(EXPORTS, &[1, 1, b'a', 0, 3], &mut out);
        write_section(START, &[4], &mut out);
        write_section(ELEMENTS, &[1, 0, 0x41, 1, 0x0b, 2, 0, 2], &mut out);
        let alike = |callee, number| {
            [
                1, 1, 0x7f, 0x41, 5, 0x21, 0, 0x10, callee, 0x41, number, 0x1a, 0x0b,
            ]
        };
        let other = [0, 0x42, 9, 0x1a, 0x43, 1, 2, 3, 4, 0x1a, 0x0b];
        let loads = [0, 0x41, 0, 0x29, 3, 8, 0x1a, 0x10, 0, last];
        let mut code = vec![5];
        for body in [&alike(2, 6)[..], &other, &alike(5, 7), &loads, &other] {
            write_number(body.len(), &mut code);
            code.extend_from_slice(body);
        }
        write_section(CODE, &code, &mut out);
        out
    }

    /// The content of a section.
    fn section(module: &[u8], wanted: u8) -> Vec<u8> {
        let mut reader = Reader::new(module);
        reader.take(8).unwrap();
        loop {
            let (number, content) = reader.section().unwrap();
            if number == wanted {
                return content.to_vec();
            }
        }
    }

    #[test]
    fn like_functions_are_neighbours_same_ones_one_and_all_keep_their_callers() {
        let arranged = arrange(&module(0x0b)).unwrap().module;
        let mut reader = Reader::new(&arranged);
        reader.take(8).unwrap();
        let code = section(&arranged, CODE);
        let mut reader = Reader::new(&code);
        let bodies: Vec<&[u8]> = (0..reader.number().unwrap())
            .map(|_| {
                let length = reader.number().unwrap();
                reader.take(length).unwrap()
            })
            .collect();
        assert_eq!(bodies.len(), 4);
        let is_alike = |body: &&[u8]| body.len() == 13;
        let first = bodies.iter().position(is_alike).unwrap();
        assert!(is_alike(&bodies[first + 1]));
        // Both call function 2, which is the one with the float.
        let called = usize::from(bodies[first][8]);
        assert_eq!(bodies[first][..10], bodies[first + 1][..10]);
        assert_eq!(bodies[called - 1][4], 0x43);
        // What is exported is one of the like ones, what starts loads and calls the import.
        let exported = usize::from(section(&arranged, EXPORTS)[4]);
        assert!(is_alike(&bodies[exported - 1]));
        let starts = usize::from(section(&arranged, START)[0]);
        assert_eq!(
            bodies[starts - 1],
            [0, 0x41, 0, 0x29, 2, 8, 0x1a, 0x10, 0, 0x0b]
        );
        let table = section(&arranged, ELEMENTS);
        assert_eq!(table[..7], [1, 0, 0x41, 1, 0x0b, 2, 0]);
        assert_eq!(usize::from(table[7]), called);
    }

    #[test]
    fn an_unknown_instruction_or_a_cut_is_noticed() {
        assert!(arrange(&module(0xff)).is_none());
        let whole = module(0x0b);
        for length in 0..whole.len() {
            let cut = arrange(whole.get(..length).unwrap());
            // Between two sections before the functions it is still a module.
            assert!(cut.is_none() || [8, 14, 23].contains(&length), "{length}");
        }
    }
}
