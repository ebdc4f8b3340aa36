//! Reading and writing a WebAssembly module's bytes (WebAssembly Core, chapter 5).

/// Section numbers (5.5.2).
pub(crate) const CUSTOM: u8 = 0;
pub(crate) const TYPES: u8 = 1;
pub(crate) const IMPORTS: u8 = 2;
pub(crate) const FUNCTIONS: u8 = 3;
pub(crate) const TABLES: u8 = 4;
pub(crate) const MEMORIES: u8 = 5;
pub(crate) const GLOBALS: u8 = 6;
pub(crate) const EXPORTS: u8 = 7;
pub(crate) const START: u8 = 8;
pub(crate) const ELEMENTS: u8 = 9;
pub(crate) const CODE: u8 = 10;
pub(crate) const DATA: u8 = 11;

/// A module's bytes from one place on.
pub(crate) struct Reader<'a> {
    pub(crate) bytes: &'a [u8],
    pub(crate) at: usize,
}

impl<'a> Reader<'a> {
    pub(crate) fn new(bytes: &'a [u8]) -> Self {
        Self { bytes, at: 0 }
    }

    pub(crate) fn at_end(&self) -> bool {
        self.at >= self.bytes.len()
    }

    /// The next section's number and content.
    pub(crate) fn section(&mut self) -> Option<(u8, &'a [u8])> {
        let section = self.byte()?;
        let length = self.number()?;
        Some((section, self.take(length)?))
    }

    pub(crate) fn take(&mut self, count: usize) -> Option<&'a [u8]> {
        let taken = self.bytes.get(self.at..self.at.checked_add(count)?)?;
        self.at += count;
        Some(taken)
    }

    pub(crate) fn byte(&mut self) -> Option<u8> {
        self.take(1)?.first().copied()
    }

    /// An unsigned number (WebAssembly Core, 5.2.2: LEB128).
    pub(crate) fn number(&mut self) -> Option<usize> {
        let mut value = 0;
        for shift in (0..35).step_by(7) {
            let byte = self.byte()?;
            value |= usize::from(byte & 0x7f) << shift;
            if byte < 0x80 {
                return Some(value);
            }
        }
        None
    }

    /// A number that is not negative in the form that has a sign.
    pub(crate) fn number_with_sign(&mut self) -> Option<usize> {
        let start = self.at;
        let value = self.number()?;
        let last = self.bytes.get(start..self.at)?.last()?;
        // The highest bit of the last seven is the sign.
        (last & 0x40 == 0).then_some(value)
    }

    pub(crate) fn name(&mut self) -> Option<&'a str> {
        let length = self.number()?;
        std::str::from_utf8(self.take(length)?).ok()
    }

    /// Steps over a number of any length, with or without sign.
    pub(crate) fn skip_number(&mut self) -> Option<()> {
        while self.byte()? >= 0x80 {}
        Some(())
    }

    /// Steps over what an import is; is it a function?
    pub(crate) fn import_kind(&mut self) -> Option<bool> {
        let kind = self.byte()?;
        match kind {
            // A function's type.
            0 => self.skip_number()?,
            // A table: the type of its elements comes first.
            1 => {
                self.byte()?;
                self.limits()?;
            }
            2 => {
                self.limits()?;
            }
            // A global's type and whether it changes.
            3 => {
                self.take(2)?;
            }
            _ => return None,
        }
        Some(kind == 0)
    }

    /// Steps over the limits of a table or a memory; answers the least size.
    pub(crate) fn limits(&mut self) -> Option<usize> {
        let bounded = self.byte()? & 1 == 1;
        let least = self.number()?;
        if bounded {
            self.number()?;
        }
        Some(least)
    }
}

pub(crate) fn write_number(mut value: usize, out: &mut Vec<u8>) {
    while value >= 0x80 {
        out.push(u8::try_from(value & 0x7f).unwrap_or(0) | 0x80);
        value >>= 7;
    }
    out.push(u8::try_from(value).unwrap_or(0));
}

/// A number in the form that has a sign.
pub(crate) fn write_signed(value: usize, out: &mut Vec<u8>) {
    let mut rest = value;
    while rest >= 0x40 {
        out.push(u8::try_from(rest & 0x7f).unwrap_or(0) | 0x80);
        rest >>= 7;
    }
    out.push(u8::try_from(rest).unwrap_or(0));
}

pub(crate) fn write_name(name: &str, out: &mut Vec<u8>) {
    write_number(name.len(), out);
    out.extend_from_slice(name.as_bytes());
}

pub(crate) fn write_section(section: u8, content: &[u8], out: &mut Vec<u8>) {
    out.push(section);
    write_number(content.len(), out);
    out.extend_from_slice(content);
}
