//! Functions' code, taken apart as far as the functions that it names.

use crate::binary::{Reader, write_number, write_signed};

/// The instruction that calls a function by its number (WebAssembly Core, 5.4.1).
const CALL: u8 = 0x10;

/// Calls a function.
pub(crate) fn write_call(function: usize, out: &mut Vec<u8>) {
    out.push(CALL);
    write_number(function, out);
}

/// Calls the function at a place of the first table, which must have this type.
pub(crate) fn write_call_of_place(place: usize, of_type: usize, out: &mut Vec<u8>) {
    out.push(0x41);
    write_signed(place, out);
    out.push(0x11);
    write_number(of_type, out);
    out.push(0);
}

/// A function's code without the numbers of the functions that it names.
#[derive(Default)]
pub(crate) struct Body {
    pub(crate) bytes: Vec<u8>,
    /// Where a number belongs, and which.
    named: Vec<(usize, usize)>,
}

impl Body {
    fn copy(&mut self, reader: &Reader<'_>, from: usize) -> Option<()> {
        self.bytes
            .extend_from_slice(reader.bytes.get(from..reader.at)?);
        Some(())
    }

    /// The code with the new numbers.
    pub(crate) fn renumbered(&self, new: &[usize]) -> Option<Vec<u8>> {
        let mut out = Vec::with_capacity(self.bytes.len() + 2 * self.named.len());
        let mut from = 0;
        for &(at, function) in &self.named {
            out.extend_from_slice(self.bytes.get(from..at)?);
            write_number(*new.get(function)?, &mut out);
            from = at;
        }
        out.extend_from_slice(self.bytes.get(from..)?);
        Some(out)
    }

    /// The code with every call written by `write`; `None` where a function is named otherwise.
    pub(crate) fn rewritten(
        &self,
        write: &mut dyn FnMut(usize, &mut Vec<u8>) -> Option<()>,
    ) -> Option<Vec<u8>> {
        let mut out = Vec::with_capacity(self.bytes.len() + 4 * self.named.len());
        let mut from = 0;
        for &(at, function) in &self.named {
            let call = at.checked_sub(1)?;
            (*self.bytes.get(call)? == CALL).then_some(())?;
            out.extend_from_slice(self.bytes.get(from..call)?);
            write(function, &mut out)?;
            from = at;
        }
        out.extend_from_slice(self.bytes.get(from..)?);
        Some(out)
    }

    /// About how many bytes it has.
    pub(crate) fn length(&self) -> usize {
        self.bytes.len() + 2 * self.named.len()
    }

    /// The functions that it names.
    pub(crate) fn called(&self) -> impl Iterator<Item = usize> {
        self.named.iter().map(|(_, function)| *function)
    }
}

/// Copies one instruction; `None`: it is not known (WebAssembly Core, 5.4). Returns its number.
fn instruction(reader: &mut Reader<'_>, body: &mut Body) -> Option<u8> {
    let start = reader.at;
    let code = reader.byte()?;
    match code {
        // Control, parametric and numeric instructions that stand alone.
        0x00 | 0x01 | 0x05 | 0x0b | 0x0f | 0x1a | 0x1b | 0x45..=0xc4 | 0xd1 => {}
        // A block's type, a label, a variable, a table, a memory, an integer, a kind of reference.
        0x02..=0x04 | 0x0c | 0x0d | 0x20..=0x26 | 0x3f..=0x42 | 0xd0 => reader.skip_number()?,
        // A table of labels and the default one.
        0x0e => {
            for _ in 0..=reader.number()? {
                reader.skip_number()?;
            }
        }
        // A type and a table.
        0x11 => {
            reader.skip_number()?;
            reader.skip_number()?;
        }
        0x1c => {
            let types = reader.number()?;
            reader.take(types)?;
        }
        0x43 => {
            reader.take(4)?;
        }
        0x44 => {
            reader.take(8)?;
        }
        // A call, or a reference to a function.
        0x10 | 0xd2 => {
            body.copy(reader, start)?;
            body.named.push((body.bytes.len(), reader.number()?));
            return Some(code);
        }
        // Loads and stores: a hint of alignment and an offset.
        0x28..=0x3e => {
            reader.number().filter(|hint| *hint < 4)?;
            let offset = reader.at;
            reader.skip_number()?;
            let hint = match code {
                0x2c | 0x2d | 0x30 | 0x31 | 0x3a | 0x3c => 0,
                0x2e | 0x2f | 0x32 | 0x33 | 0x3b | 0x3d => 1,
                _ => 2,
            };
            body.bytes.extend_from_slice(&[code, hint]);
            body.copy(reader, offset)?;
            return Some(code);
        }
        0xfc => match reader.number()? {
            0..=7 => {}
            9 | 11 | 13 | 15..=17 => reader.skip_number()?,
            8 | 10 | 12 | 14 => {
                reader.skip_number()?;
                reader.skip_number()?;
            }
            _ => return None,
        },
        _ => return None,
    }
    body.copy(reader, start)?;
    Some(code)
}

/// Steps over an expression that names no function.
pub(crate) fn constant(reader: &mut Reader<'_>) -> Option<()> {
    let mut copy = Body::default();
    while instruction(reader, &mut copy)? != 0x0b {}
    copy.named.is_empty().then_some(())
}

/// The functions in a module's section of code.
pub(crate) fn bodies(content: &[u8]) -> Option<Vec<Body>> {
    let mut reader = Reader::new(content);
    let count = reader.number()?;
    let mut bodies = Vec::new();
    for _ in 0..count {
        let length = reader.number()?;
        bodies.push(body(reader.take(length)?)?);
    }
    Some(bodies)
}

/// A function's code.
fn body(bytes: &[u8]) -> Option<Body> {
    let mut reader = Reader::new(bytes);
    for _ in 0..reader.number()? {
        reader.skip_number()?;
        reader.byte()?;
    }
    let mut body = Body::default();
    body.copy(&reader, 0)?;
    while !reader.at_end() {
        instruction(&mut reader, &mut body)?;
    }
    Some(body)
}
