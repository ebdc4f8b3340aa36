//! A module's sections, taken apart as far as is needed to divide it.

use crate::binary::{
    CODE, CUSTOM, DATA, ELEMENTS, EXPORTS, FUNCTIONS, GLOBALS, IMPORTS, MEMORIES, Reader, START,
    TABLES, TYPES,
};
use crate::code::{Body, bodies, constant};
use std::collections::BTreeMap;

/// Kinds of imports and exports (WebAssembly Core, 5.5.5).
pub(super) const FUNCTION: u8 = 0;
pub(super) const TABLE: u8 = 1;
pub(super) const MEMORY: u8 = 2;
pub(super) const GLOBAL: u8 = 3;

pub(super) struct Module<'a> {
    pub(super) head: &'a [u8],
    pub(super) sections: Vec<(u8, &'a [u8])>,
    /// How many arguments a function of each type has, and is it `[] -> []`?
    pub(super) types: Vec<(usize, bool)>,
    /// The types of the imported functions; nothing else is imported.
    pub(super) imports: Vec<usize>,
    functions: Vec<usize>,
    bodies: Vec<Body>,
    pub(super) exports: Vec<(&'a str, u8, usize)>,
    /// The functions at their places in the first table.
    pub(super) elements: BTreeMap<usize, usize>,
    /// Tables, memories and globals as an import describes them.
    pub(super) tables: Vec<Vec<u8>>,
    pub(super) memories: Vec<Vec<u8>>,
    pub(super) globals: Vec<Vec<u8>>,
    /// The least size of the first table.
    pub(super) places: usize,
    pub(super) start: Option<usize>,
    /// What stands in memory to begin with, by address.
    pub(super) data: Vec<(usize, &'a [u8])>,
}

impl<'a> Module<'a> {
    pub(super) fn read(bytes: &'a [u8]) -> Option<Self> {
        let mut reader = Reader::new(bytes);
        let mut module = Self {
            head: reader.take(8)?,
            sections: Vec::new(),
            types: Vec::new(),
            imports: Vec::new(),
            functions: Vec::new(),
            bodies: Vec::new(),
            exports: Vec::new(),
            elements: BTreeMap::new(),
            tables: Vec::new(),
            memories: Vec::new(),
            globals: Vec::new(),
            places: 0,
            start: None,
            data: Vec::new(),
        };
        while !reader.at_end() {
            let (section, content) = reader.section()?;
            module.section(section, content)?;
            if section != CUSTOM {
                module.sections.push((section, content));
            }
        }
        (module.functions.len() == module.bodies.len()).then_some(module)
    }

    fn section(&mut self, section: u8, content: &'a [u8]) -> Option<()> {
        let mut reader = Reader::new(content);
        match section {
            TYPES => {
                for _ in 0..reader.number()? {
                    (reader.byte()? == 0x60).then_some(())?;
                    let arguments = reader.number()?;
                    reader.take(arguments)?;
                    let results = reader.number()?;
                    reader.take(results)?;
                    self.types.push((arguments, arguments + results == 0));
                }
            }
            IMPORTS => {
                for _ in 0..reader.number()? {
                    reader.name()?;
                    reader.name()?;
                    (reader.byte()? == FUNCTION).then_some(())?;
                    self.imports.push(reader.number()?);
                }
            }
            FUNCTIONS => {
                for _ in 0..reader.number()? {
                    self.functions.push(reader.number()?);
                }
            }
            TABLES | MEMORIES => {
                for number in 0..reader.number()? {
                    let start = reader.at;
                    if section == TABLES {
                        reader.byte()?;
                    }
                    let least = reader.limits()?;
                    let described = content.get(start..reader.at)?.to_vec();
                    if section == TABLES {
                        self.tables.push(described);
                        self.places = if number == 0 { least } else { self.places };
                    } else {
                        self.memories.push(described);
                    }
                }
            }
            GLOBALS => {
                for _ in 0..reader.number()? {
                    self.globals.push(reader.take(2)?.to_vec());
                    constant(&mut reader)?;
                }
            }
            EXPORTS => {
                for _ in 0..reader.number()? {
                    let name = reader.name()?;
                    self.exports.push((name, reader.byte()?, reader.number()?));
                }
            }
            START => self.start = Some(reader.number()?),
            ELEMENTS => {
                for _ in 0..reader.number()? {
                    let place = place(&mut reader)?;
                    for offset in 0..reader.number()? {
                        self.elements.insert(place + offset, reader.number()?);
                    }
                }
            }
            CODE => self.bodies = bodies(content)?,
            DATA => {
                for _ in 0..reader.number()? {
                    let address = place(&mut reader)?;
                    let length = reader.number()?;
                    self.data.push((address, reader.take(length)?));
                }
            }
            _ => {}
        }
        Some(())
    }

    /// The own functions by number: their types and bodies.
    pub(super) fn own(&self) -> impl Iterator<Item = (usize, usize, &Body)> {
        (self.imports.len()..)
            .zip(self.functions.iter().zip(&self.bodies))
            .map(|(number, (of_type, body))| (number, *of_type, body))
    }

    /// An own function's body.
    pub(super) fn body(&self, function: usize) -> Option<&Body> {
        self.bodies.get(function.checked_sub(self.imports.len())?)
    }

    pub(super) fn of_type(&self, function: usize) -> Option<usize> {
        match function.checked_sub(self.imports.len()) {
            Some(own) => self.functions.get(own).copied(),
            None => self.imports.get(function).copied(),
        }
    }
}

/// Where a segment of the first table or memory begins; only the plain kind with a constant place.
pub(super) fn place(reader: &mut Reader<'_>) -> Option<usize> {
    (reader.number()? == 0 && reader.byte()? == 0x41).then_some(())?;
    let place = reader.number_with_sign()?;
    (reader.byte()? == 0x0b).then_some(place)
}
