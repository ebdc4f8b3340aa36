//! Markup as a small tree. Its leaves are what the page changes at a time: a term, a reason, a
//! word. What has not changed is never touched, so the browser need not lay it out again.

use crate::html::escape;
use crate::wire::{Wire, wire};

/// An element.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Markup {
    /// Its tag.
    pub tag: String,
    /// Its attributes by name.
    pub attributes: Vec<(String, String)>,
    /// Shown only when every rule has a line of its own?
    pub detail: bool,
    /// What is inside.
    pub content: Content,
}

/// What is inside an element.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Content {
    /// HTML, changed as a whole.
    Html(String),
    /// Elements, changed one by one.
    Parts(Vec<Markup>),
}

/// The attribute that tells an element from its siblings for good.
const KEY: &str = "data-key";

impl Markup {
    fn new(tag: &str, class: &str, content: Content) -> Self {
        let mut made = Self {
            tag: tag.into(),
            attributes: Vec::new(),
            detail: false,
            content,
        };
        if !class.is_empty() {
            made = made.with("class", class);
        }
        made
    }

    /// An element around HTML. An empty class is left out.
    pub fn leaf(tag: &str, class: &str, html: impl Into<String>) -> Self {
        Self::new(tag, class, Content::Html(html.into()))
    }

    /// An element around others.
    pub fn around(tag: &str, class: &str, parts: Vec<Self>) -> Self {
        Self::new(tag, class, Content::Parts(parts))
    }

    /// The same with one more attribute.
    #[must_use]
    pub fn with(mut self, name: &str, value: impl Into<String>) -> Self {
        self.attributes.push((name.into(), value.into()));
        self
    }

    /// The same with a key: an element with this key only ever becomes itself.
    #[must_use]
    pub fn keyed(self, key: &str) -> Self {
        self.with(KEY, key)
    }

    /// An attribute's value.
    pub fn attribute(&self, name: &str) -> Option<&str> {
        let found = self.attributes.iter().find(|(known, _)| known == name)?;
        Some(&found.1)
    }

    /// The key, if it has one.
    pub fn key(&self) -> Option<&str> {
        self.attribute(KEY)
    }

    /// Is this the same element, though its attributes (or, with a key, anything) may have changed?
    pub fn is_same(&self, other: &Self) -> bool {
        match (self.key(), other.key()) {
            (None, None) => self.tag == other.tag && self.content == other.content,
            (key, other) => key == other,
        }
    }

    /// About how much work it is for the browser, in bytes of visible HTML.
    pub fn cost(&self) -> usize {
        let inside = match &self.content {
            Content::Html(html) => html.len(),
            Content::Parts(parts) => parts.iter().map(Self::cost).sum(),
        };
        // What is folded away is read, but not laid out.
        24 + if self.tag == "details" {
            inside / 4
        } else {
            inside
        }
    }

    /// A copy, with the details or without.
    #[must_use]
    pub fn at_depth(&self, details: bool) -> Self {
        let content = match &self.content {
            Content::Html(html) => Content::Html(html.clone()),
            Content::Parts(parts) => Content::Parts(at_depth(parts, details)),
        };
        Self {
            tag: self.tag.clone(),
            attributes: self.attributes.clone(),
            detail: self.detail,
            content,
        }
    }

    /// The part of a class.
    pub fn part(&self, class: &str) -> Option<&Self> {
        match &self.content {
            Content::Parts(parts) => parts
                .iter()
                .find(|part| part.attribute("class") == Some(class)),
            Content::Html(_) => None,
        }
    }

    /// What is inside without its tags, as HTML.
    pub fn words(&self) -> String {
        let mut inside = false;
        let mut visible = |c: char| {
            let was = inside;
            inside = (inside || c == '<') && c != '>';
            !was && !inside
        };
        self.inner_html().chars().filter(|c| visible(*c)).collect()
    }

    /// The element as HTML.
    pub fn html(&self) -> String {
        let mut out = String::new();
        self.append(&mut out);
        out
    }

    /// What is inside as HTML.
    pub fn inner_html(&self) -> String {
        let mut out = String::new();
        self.append_inside(&mut out);
        out
    }

    fn append(&self, out: &mut String) {
        out.push('<');
        out.push_str(&self.tag);
        for (name, value) in &self.attributes {
            out.push(' ');
            out.push_str(name);
            out.push_str("=\"");
            out.push_str(&escape(value));
            out.push('"');
        }
        out.push('>');
        self.append_inside(out);
        out.push_str("</");
        out.push_str(&self.tag);
        out.push('>');
    }

    fn append_inside(&self, out: &mut String) {
        match &self.content {
            Content::Html(html) => out.push_str(html),
            Content::Parts(parts) => {
                for part in parts {
                    part.append(out);
                }
            }
        }
    }
}

/// Copies, with the details or without.
pub fn at_depth(parts: &[Markup], details: bool) -> Vec<Markup> {
    parts
        .iter()
        .filter(|part| details || !part.detail)
        .map(|part| part.at_depth(details))
        .collect()
}

/// Elements as HTML.
pub fn html(parts: &[Markup]) -> String {
    let mut out = String::new();
    for part in parts {
        part.append(&mut out);
    }
    out
}

/// A number that tells one ledger from another: 32-bit FNV-1a (Fowler, Noll, Vo) of the HTML.
pub fn digest(parts: &[Markup]) -> String {
    let hash = html(parts).bytes().fold(0x811c_9dc5_u32, |hash, byte| {
        (hash ^ u32::from(byte)).wrapping_mul(0x0100_0193)
    });
    hash.to_string()
}

wire! {
    Markup { tag, attributes, detail, content }
}

impl Wire for Content {
    fn write(&self, out: &mut Vec<u8>) {
        match self {
            Self::Html(html) => {
                out.push(0);
                html.write(out);
            }
            Self::Parts(parts) => {
                out.push(1);
                parts.write(out);
            }
        }
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        Some(if bool::read(from)? {
            Self::Parts(Wire::read(from)?)
        } else {
            Self::Html(Wire::read(from)?)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wire::{from_bytes, to_bytes};

    fn row() -> Markup {
        let mut detail = Markup::leaf("p", "line", "the rule");
        detail.detail = true;
        let lines = vec![detail, Markup::leaf("p", "", "<b>2</b>")];
        Markup::around("div", "row", vec![Markup::around("div", "work", lines)]).keyed("a\"b")
    }

    #[test]
    fn markup_is_written_with_or_without_its_details() {
        assert_eq!(
            row().html(),
            "<div class=\"row\" data-key=\"a&quot;b\"><div class=\"work\">\
             <p class=\"line\">the rule</p><p><b>2</b></p></div></div>"
        );
        assert_eq!(
            row().at_depth(false).inner_html(),
            "<div class=\"work\"><p><b>2</b></p></div>"
        );
        assert_eq!(row().at_depth(true), row());
    }

    #[test]
    fn markup_travels() {
        assert_eq!(from_bytes(&to_bytes(&row())), Some(row()));
    }

    #[test]
    fn digests_differ_with_the_markup() {
        assert_eq!(digest(&[row()]), digest(&[row()]));
        assert_ne!(digest(&[row()]), digest(&[row().at_depth(false)]));
        // Of nothing it is the offset basis (Fowler, Noll, Vo, “FNV hash”, 32 bits; from memory).
        assert_eq!(digest(&[]), 0x811c_9dc5_u32.to_string());
    }
}
