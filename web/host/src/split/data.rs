//! Which data only later functions read, told from what the linker says about its own work (the
//! WebAssembly tool conventions, Linking.md: custom sections `linking` and `reloc.*`).

use crate::binary::{CODE, CUSTOM, DATA, IMPORTS, Reader};
use std::collections::BTreeSet;
use std::ops::Range;

/// Segments that nobody changes begin with this.
const CONSTANT: &str = ".rodata";

/// Kinds of symbols.
const FUNCTION: u8 = 0;
const OBJECT: u8 = 1;
const SECTION: u8 = 3;

/// Flags of symbols: it is defined elsewhere; its name stands here all the same.
const UNDEFINED: usize = 0x10;
const NAMED: usize = 0x40;

/// Parts of the section `linking`.
const SEGMENTS: u8 = 5;
const SYMBOLS: u8 = 8;

/// The linked module as far as it is needed here.
#[derive(Default)]
struct Linked<'a> {
    imported: usize,
    /// Where each own function's code lies in the section of code.
    code: Vec<Range<usize>>,
    /// Each segment: its place in memory, and its place in the section of data.
    segments: Vec<(usize, Range<usize>)>,
    names: Vec<&'a str>,
    symbols: Vec<Symbol>,
    /// What is named where: in code, in data.
    from_code: Vec<(usize, usize)>,
    from_data: Vec<(usize, usize)>,
}

/// What has a name.
enum Symbol {
    Data(Object),
    Other,
}

/// A piece of data: its segment and its place there.
struct Object {
    segment: usize,
    place: Range<usize>,
}

/// The addresses of constant data that no function reads but those that `comes_later` takes, which
/// gets numbers of functions in the linked module. `None`: the linker has said nothing, or it is not
/// understood.
pub(crate) fn movable(
    linked: &[u8],
    comes_later: &dyn Fn(usize) -> bool,
) -> Option<Vec<Range<usize>>> {
    let linked = Linked::read(linked)?;
    let mut open: Vec<usize> = Vec::new();
    for (at, symbol) in &linked.from_code {
        let function = linked.code.partition_point(|code| code.end <= *at);
        if !comes_later(linked.imported + function) {
            open.push(*symbol);
        }
    }
    // What is read in the first part, and what that names in turn.
    let mut kept = BTreeSet::new();
    while let Some(symbol) = open.pop() {
        let Symbol::Data(object) = linked.symbols.get(symbol)? else {
            continue;
        };
        if kept.insert(symbol) {
            let inside = linked.in_section(object)?;
            let named = linked.from_data.iter();
            open.extend(
                named
                    .filter(|(at, _)| inside.contains(at))
                    .map(|(_, named)| *named),
            );
        }
    }
    let address = |object: &Object| {
        let (start, _) = linked.segments.get(object.segment)?;
        Some(start + object.place.start..start + object.place.end)
    };
    let mut taken = Vec::new();
    let mut free = Vec::new();
    for (symbol, object) in linked.symbols.iter().enumerate() {
        let Symbol::Data(object) = object else {
            continue;
        };
        let constant = linked.names.get(object.segment)?.starts_with(CONSTANT);
        let range = address(object)?;
        if constant && !kept.contains(&symbol) {
            free.push(range);
        } else {
            taken.push(range);
        }
    }
    // Two names may be given to the same bytes.
    let overlaps = |range: &Range<usize>| {
        let within = |other: &Range<usize>| range.start < other.end && other.start < range.end;
        taken.iter().any(within)
    };
    free.retain(|range| !range.is_empty() && !overlaps(range));
    free.sort_by_key(|range| range.start);
    free.dedup();
    Some(joined(free))
}

/// Ranges in their order, neighbors as one.
fn joined(ranges: Vec<Range<usize>>) -> Vec<Range<usize>> {
    let mut out: Vec<Range<usize>> = Vec::new();
    for range in ranges {
        match out.last_mut() {
            Some(last) if range.start <= last.end => last.end = last.end.max(range.end),
            _ => out.push(range),
        }
    }
    out
}

impl<'a> Linked<'a> {
    fn read(module: &'a [u8]) -> Option<Self> {
        let mut linked = Self::default();
        let mut reader = Reader::new(module);
        reader.take(8)?;
        while !reader.at_end() {
            let (section, content) = reader.section()?;
            let mut reader = Reader::new(content);
            match section {
                IMPORTS => {
                    for _ in 0..reader.number()? {
                        reader.name()?;
                        reader.name()?;
                        linked.imported += usize::from(reader.import_kind()?);
                    }
                }
                CODE => {
                    for _ in 0..reader.number()? {
                        let length = reader.number()?;
                        linked.code.push(reader.at..reader.at + length);
                        reader.take(length)?;
                    }
                }
                DATA => {
                    for _ in 0..reader.number()? {
                        let address = super::module::place(&mut reader)?;
                        let length = reader.number()?;
                        linked
                            .segments
                            .push((address, reader.at..reader.at + length));
                        reader.take(length)?;
                    }
                }
                CUSTOM => match reader.name()? {
                    "linking" => linked.linking(&mut reader)?,
                    "reloc.CODE" => linked.from_code = named(&mut reader)?,
                    "reloc.DATA" => linked.from_data = named(&mut reader)?,
                    _ => {}
                },
                _ => {}
            }
        }
        let complete = linked.names.len() == linked.segments.len();
        (complete && !linked.from_code.is_empty()).then_some(linked)
    }

    fn linking(&mut self, reader: &mut Reader<'a>) -> Option<()> {
        (reader.number()? == 2).then_some(())?;
        while !reader.at_end() {
            let (kind, content) = reader.section()?;
            let mut reader = Reader::new(content);
            match kind {
                SEGMENTS => {
                    for _ in 0..reader.number()? {
                        self.names.push(reader.name()?);
                        reader.number()?;
                        reader.number()?;
                    }
                }
                SYMBOLS => {
                    for _ in 0..reader.number()? {
                        self.symbols.push(symbol(&mut reader)?);
                    }
                }
                _ => {}
            }
        }
        Some(())
    }

    /// Where an object lies in the section of data.
    fn in_section(&self, object: &Object) -> Option<Range<usize>> {
        let (_, segment) = self.segments.get(object.segment)?;
        Some(segment.start + object.place.start..segment.start + object.place.end)
    }
}

fn symbol(reader: &mut Reader<'_>) -> Option<Symbol> {
    let kind = reader.byte()?;
    let flags = reader.number()?;
    let here = flags & UNDEFINED == 0;
    match kind {
        OBJECT => {
            reader.name()?;
            if !here {
                return Some(Symbol::Other);
            }
            let (segment, start) = (reader.number()?, reader.number()?);
            let place = start..start + reader.number()?;
            return Some(Symbol::Data(Object { segment, place }));
        }
        SECTION => {
            reader.number()?;
        }
        FUNCTION | 2 | 4 | 5 => {
            reader.number()?;
            if here || flags & NAMED != 0 {
                reader.name()?;
            }
        }
        _ => return None,
    }
    Some(Symbol::Other)
}

/// Where a section names which symbols.
fn named(reader: &mut Reader<'_>) -> Option<Vec<(usize, usize)>> {
    reader.number()?;
    let mut all = Vec::new();
    for _ in 0..reader.number()? {
        let kind = reader.byte()?;
        let (at, symbol) = (reader.number()?, reader.number()?);
        match kind {
            // Addresses of data, with something added.
            3..=5 | 11 | 14..=17 | 21 | 23 | 25 => {
                reader.skip_number()?;
                all.push((at, symbol));
            }
            // Places in code and sections, for tools.
            8 | 9 | 22 => reader.skip_number()?,
            // The number of a type is no symbol.
            0..=2 | 6 | 7 | 10 | 12 | 13 | 18 | 19 | 20 | 24 | 26 => {}
            _ => return None,
        }
    }
    Some(all)
}
