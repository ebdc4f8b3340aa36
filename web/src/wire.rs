//! Values as bytes, for the way between the page and its worker. Both ends are the same module, so
//! nothing describes itself: fields follow one another, lists and texts have their length in front.

/// A value that can travel.
pub trait Wire: Sized {
    /// Appends its bytes.
    fn write(&self, out: &mut Vec<u8>);
    /// Takes it off the front; `None` when the bytes do not hold one.
    fn read(from: &mut &[u8]) -> Option<Self>;
}

/// The bytes of a value.
pub fn to_bytes(value: &impl Wire) -> Vec<u8> {
    let mut out = Vec::new();
    value.write(&mut out);
    out
}

/// The value that the bytes, all of them, hold.
pub fn from_bytes<T: Wire>(mut bytes: &[u8]) -> Option<T> {
    let value = T::read(&mut bytes)?;
    bytes.is_empty().then_some(value)
}

/// Bytes as text: two digits for each, so that they can stand in an attribute.
pub fn to_hex(bytes: &[u8]) -> String {
    let digit = |half: u8| char::from_digit(u32::from(half), 16).unwrap_or('0');
    let mut out = String::with_capacity(bytes.len() * 2);
    for byte in bytes {
        out.extend([digit(byte >> 4), digit(byte & 15)]);
    }
    out
}

/// The reverse; `None` for what is no such text.
pub fn from_hex(text: &str) -> Option<Vec<u8>> {
    let half = |digit: &u8| u8::try_from(char::from(*digit).to_digit(16)?).ok();
    let pairs = text.as_bytes().chunks(2);
    pairs
        .map(|pair| Some(half(pair.first()?)? << 4 | half(pair.get(1)?)?))
        .collect()
}

/// Gives a struct its way on the wire, field by field.
macro_rules! wire {
    ($($name:ident { $($field:ident),* $(,)? })*) => {
        $(
            impl crate::wire::Wire for $name {
                fn write(&self, out: &mut Vec<u8>) {
                    $(crate::wire::Wire::write(&self.$field, out);)*
                }
                fn read(from: &mut &[u8]) -> Option<Self> {
                    Some(Self { $($field: crate::wire::Wire::read(from)?,)* })
                }
            }
        )*
    };
}
pub(crate) use wire;

fn take<'a>(from: &mut &'a [u8], length: usize) -> Option<&'a [u8]> {
    let (front, rest) = from.split_at_checked(length)?;
    *from = rest;
    Some(front)
}

impl Wire for u32 {
    fn write(&self, out: &mut Vec<u8>) {
        out.extend_from_slice(&self.to_le_bytes());
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        Some(Self::from_le_bytes(take(from, 4)?.try_into().ok()?))
    }
}

/// As 32 bits: lengths and degrees, all far below 2³².
impl Wire for usize {
    fn write(&self, out: &mut Vec<u8>) {
        u32::try_from(*self).unwrap_or(u32::MAX).write(out);
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        Self::try_from(u32::read(from)?).ok()
    }
}

impl Wire for bool {
    fn write(&self, out: &mut Vec<u8>) {
        out.push(u8::from(*self));
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        Some(take(from, 1)? == [1])
    }
}

impl Wire for f64 {
    fn write(&self, out: &mut Vec<u8>) {
        out.extend_from_slice(&self.to_le_bytes());
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        Some(Self::from_le_bytes(take(from, 8)?.try_into().ok()?))
    }
}

impl Wire for String {
    fn write(&self, out: &mut Vec<u8>) {
        self.len().write(out);
        out.extend_from_slice(self.as_bytes());
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        let length = usize::read(from)?;
        Some(std::str::from_utf8(take(from, length)?).ok()?.to_owned())
    }
}

impl<T: Wire> Wire for Option<T> {
    fn write(&self, out: &mut Vec<u8>) {
        self.is_some().write(out);
        if let Some(value) = self {
            value.write(out);
        }
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        Some(if bool::read(from)? {
            Some(T::read(from)?)
        } else {
            None
        })
    }
}

impl<T: Wire> Wire for Vec<T> {
    fn write(&self, out: &mut Vec<u8>) {
        self.len().write(out);
        for value in self {
            value.write(out);
        }
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        let length = usize::read(from)?;
        // Not reserved in advance: a wrong length must not ask for gigabytes.
        let mut values = Self::new();
        for _ in 0..length {
            values.push(T::read(from)?);
        }
        Some(values)
    }
}

impl<A: Wire, B: Wire> Wire for (A, B) {
    fn write(&self, out: &mut Vec<u8>) {
        self.0.write(out);
        self.1.write(out);
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        Some((A::read(from)?, B::read(from)?))
    }
}

impl<A: Wire, B: Wire, C: Wire, D: Wire> Wire for (A, B, C, D) {
    fn write(&self, out: &mut Vec<u8>) {
        self.0.write(out);
        self.1.write(out);
        self.2.write(out);
        self.3.write(out);
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        Some((
            A::read(from)?,
            B::read(from)?,
            C::read(from)?,
            D::read(from)?,
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::{from_bytes, to_bytes};
    use crate::protocol::{Note, Reply};

    fn note() -> Note {
        Note {
            code: "unknown_name".into(),
            error: true,
            field: "equation".into(),
            start: 3,
            end: 7,
            message: "“sine” — did you mean sin?".into(),
            repairs: vec![(
                "sin x".into(),
                vec![("equation".into(), 3, 7, "sin".into())],
            )],
        }
    }

    #[test]
    fn values_come_back() {
        let notes = vec![note(), note()];
        assert_eq!(from_bytes::<Vec<Note>>(&to_bytes(&notes)), Some(notes));
        let numbers = vec![Some(-0.1_f64), None, Some(f64::INFINITY)];
        assert_eq!(from_bytes(&to_bytes(&numbers)), Some(numbers));
        let died = Reply::Died("why".into());
        assert_eq!(from_bytes(&to_bytes(&died)), Some(died));
    }

    #[test]
    fn bytes_cut_short_changed_or_too_many_are_refused() {
        let bytes = to_bytes(&note());
        for length in 0..bytes.len() {
            assert_eq!(from_bytes::<Note>(&bytes[..length]), None, "{length}");
        }
        let mut longer = bytes;
        longer.push(0);
        assert_eq!(from_bytes::<Note>(&longer), None);
        assert_eq!(from_bytes::<Vec<Note>>(&[255; 16]), None);
        assert_eq!(from_bytes::<Reply>(&[9]), None);
    }
}
