//! Values as indented JSON (RFC 8259).

use std::fmt::Write as _;

/// A value that has a JSON text.
pub(super) trait Json {
    /// Appends it.
    fn write(&self, out: &mut Writer);
}

/// The text of a value.
pub(super) fn text(value: &dyn Json) -> String {
    let mut out = Writer::default();
    value.write(&mut out);
    out.text
}

/// What has been written, and how deep inside.
#[derive(Default)]
pub(super) struct Writer {
    text: String,
    depth: usize,
}

impl Writer {
    /// An object with its members in this order.
    pub(super) fn object(&mut self, members: &[(&str, &dyn Json)]) {
        self.enclosed('{', '}', members.len(), &mut |out, position| {
            if let Some((name, value)) = members.get(position) {
                out.string(name);
                out.text.push_str(": ");
                value.write(out);
            }
        });
    }

    fn enclosed(
        &mut self,
        open: char,
        close: char,
        count: usize,
        item: &mut dyn FnMut(&mut Self, usize),
    ) {
        self.text.push(open);
        self.depth += 1;
        for position in 0..count {
            if position > 0 {
                self.text.push(',');
            }
            self.line();
            item(self, position);
        }
        self.depth -= 1;
        if count > 0 {
            self.line();
        }
        self.text.push(close);
    }

    fn line(&mut self) {
        self.text.push('\n');
        for _ in 0..self.depth {
            self.text.push_str("  ");
        }
    }

    fn string(&mut self, value: &str) {
        self.text.push('"');
        for character in value.chars() {
            match character {
                '"' => self.text.push_str("\\\""),
                '\\' => self.text.push_str("\\\\"),
                '\n' => self.text.push_str("\\n"),
                '\r' => self.text.push_str("\\r"),
                '\t' => self.text.push_str("\\t"),
                control if control < ' ' => {
                    let _ = write!(self.text, "\\u{:04x}", u32::from(control));
                }
                other => self.text.push(other),
            }
        }
        self.text.push('"');
    }
}

impl Json for String {
    fn write(&self, out: &mut Writer) {
        out.string(self);
    }
}

impl Json for &str {
    fn write(&self, out: &mut Writer) {
        out.string(self);
    }
}

impl Json for bool {
    fn write(&self, out: &mut Writer) {
        out.text.push_str(if *self { "true" } else { "false" });
    }
}

impl Json for usize {
    fn write(&self, out: &mut Writer) {
        let _ = write!(out.text, "{self}");
    }
}

impl Json for u32 {
    fn write(&self, out: &mut Writer) {
        let _ = write!(out.text, "{self}");
    }
}

/// The shortest digits that give the same double; `null` for what is no number.
impl Json for f64 {
    fn write(&self, out: &mut Writer) {
        if self.is_finite() {
            let _ = write!(out.text, "{self:?}");
        } else {
            out.text.push_str("null");
        }
    }
}

impl<T: Json> Json for Option<T> {
    fn write(&self, out: &mut Writer) {
        match self {
            Some(value) => value.write(out),
            None => out.text.push_str("null"),
        }
    }
}

impl<T: Json> Json for Vec<T> {
    fn write(&self, out: &mut Writer) {
        out.enclosed('[', ']', self.len(), &mut |out, position| {
            if let Some(value) = self.get(position) {
                value.write(out);
            }
        });
    }
}

/// Gives a struct its JSON text, field by field.
macro_rules! json {
    ($($name:ident { $($field:ident),* $(,)? })*) => {
        $(
            impl crate::worksheet::json::Json for $name {
                fn write(&self, out: &mut crate::worksheet::json::Writer) {
                    let Self { $($field),* } = self;
                    out.object(&[$((stringify!($field), $field)),*]);
                }
            }
        )*
    };
}
pub(super) use json;

#[cfg(test)]
mod tests {
    use super::text;

    struct Sample {
        name: String,
        numbers: Vec<f64>,
        nothing: Option<usize>,
        empty: Vec<bool>,
        nested: Vec<Vec<u32>>,
    }
    json! { Sample { name, numbers, nothing, empty, nested } }

    /// A reading by another library gives back what was written, in the same layout.
    #[test]
    fn it_is_json_and_indented() {
        let sample = Sample {
            name: "y″ = \"x\"\\y\n\t\u{1}<é".into(),
            numbers: vec![0.1, -2.0, 1e300, 5e-324, f64::NAN],
            nothing: None,
            empty: vec![],
            nested: vec![vec![1, 2], vec![]],
        };
        let written = text(&sample);
        let read: serde_json::Value = serde_json::from_str(&written).expect("JSON");
        let expected = serde_json::json!({
            "name": sample.name, "numbers": [0.1, -2.0, 1e300, 5e-324, null], "nothing": null,
            "empty": [], "nested": [[1, 2], []],
        });
        assert_eq!(read, expected);
        let alone = text(&vec![sample.name.clone()]);
        assert_eq!(
            alone,
            serde_json::to_string_pretty(&[sample.name]).expect("JSON")
        );
    }
}
