//! Finding the fenced blocks of ours. A block of ours begins with its marks in the first column:
//! such a line is outside every list and quotation, so that only what can swallow it at top level
//! must be followed: other fenced blocks and raw HTML (`CommonMark` 0.31, sections 4.5 and 4.6).
//! The tests compare with a complete parser. (What remains different, once in some thousand documents
//! of mixed-up lines, needs raw HTML without a blank line behind it below a quotation.)

use std::ops::Range;

/// What a block of ours holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A problem.
    Problem,
    /// What the file is for.
    Sheet,
}

/// A fenced block of ours; ranges of bytes in the text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fence {
    /// What it holds.
    pub kind: Kind,
    /// From the first mark to the end of the last line, its line break left out.
    pub range: Range<usize>,
    /// The first line.
    pub head: Range<usize>,
    /// The marks it begins with.
    pub marks: Range<usize>,
    /// What is between the first and the last line.
    pub content: Range<usize>,
    /// Does it end only because the text does?
    pub open_ended: bool,
}

/// Where the text is, line by line.
enum Inside {
    Text,
    /// In a fenced block: its mark, how many, and what it is if it is ours.
    Fence(u8, usize, Option<Fence>),
    /// In raw HTML that goes on until a line holds this; a blank line where empty.
    Html(&'static str),
}

/// What is open outside of blocks that swallow everything.
#[derive(Default)]
struct Open {
    /// Content column of the outermost list item, if any.
    list: Option<usize>,
    /// Is the line above an item without anything? It ends at a blank line.
    bare_item: bool,
    /// Can the paragraph above go on?
    paragraph: bool,
    /// Is that paragraph one of this level, so that a line below can make it a heading?
    own: bool,
}

impl Open {
    /// Takes a line that opens no fenced block; says what ends the raw HTML that it begins.
    fn line(&mut self, indent: usize, rest: &str) -> Option<&'static str> {
        if rest.is_empty() {
            self.paragraph = false;
            if self.bare_item {
                self.list = None;
            }
            return None;
        }
        self.bare_item = false;
        if self.list.is_some_and(|column| indent >= column) {
            // Inside the item; whatever opens there, a line in the first column ends.
            self.paragraph = is_words(rest);
        } else if indent >= 4 {
            // Code, or a paragraph that goes on.
            if !self.paragraph {
                self.list = None;
            }
        } else if let Some(end) = html(rest, self.paragraph) {
            *self = Self::default();
            return Some(end);
        } else if let Some(column) = item(rest, self.paragraph && self.list.is_none()) {
            let inside = rest.get(column..).unwrap_or("");
            *self = Self {
                list: Some(indent + column),
                bare_item: inside.is_empty(),
                paragraph: is_words(inside.trim_start()),
                own: false,
            };
        } else if self.paragraph && self.own && is_underline(rest) {
            self.paragraph = false;
        } else {
            // A paragraph of a list item or a quotation goes on without its marks.
            let words = is_words(rest);
            if !(self.paragraph && words) {
                self.list = None;
                self.own = words;
            }
            let quotes = rest.starts_with('>');
            self.own &= !quotes;
            let quoted = rest.trim_start_matches(['>', ' ']);
            self.paragraph = words || (quotes && is_words(quoted));
        }
        None
    }
}

/// The blocks of ours, in order.
pub(super) fn find(text: &str) -> Vec<Fence> {
    let mut found = Vec::new();
    let mut inside = Inside::Text;
    let mut open = Open::default();
    let mut start = 0;
    for whole in text.split_inclusive('\n') {
        let line = whole.trim_end_matches(['\n', '\r']);
        let range = start..start + line.len();
        start += whole.len();
        let (indent, rest) = indentation(line);
        match &mut inside {
            Inside::Fence(mark, least, ours) => {
                if indent < 4 && closes(rest, *mark, *least) {
                    if let Some(mut fence) = ours.take() {
                        fence.content.end = range.start;
                        fence.range.end = range.end;
                        fence.open_ended = false;
                        found.push(fence);
                    }
                    inside = Inside::Text;
                }
            }
            Inside::Html(end) => {
                if ends_html(line, end) {
                    inside = Inside::Text;
                }
            }
            Inside::Text => {
                let in_item = open.list.is_some_and(|column| indent >= column);
                if let Some((mark, count)) = opens(rest).filter(|_| indent < 4 && !in_item) {
                    open = Open::default();
                    let kind = kind(rest, count).filter(|_| indent == 0);
                    let ours = kind.map(|kind| Fence {
                        kind,
                        range: range.start..text.len(),
                        head: range.clone(),
                        marks: range.start..range.start + count,
                        content: start..text.len(),
                        open_ended: true,
                    });
                    inside = Inside::Fence(mark, count, ours);
                } else {
                    let end = open.line(indent, rest);
                    if let Some(end) = end.filter(|end| !ends_html(line, end)) {
                        inside = Inside::Html(end);
                    }
                }
            }
        }
    }
    if let Inside::Fence(_, _, Some(fence)) = inside {
        found.push(fence);
    }
    found
}

/// What a block with this first line holds, if it is ours.
fn kind(line: &str, marks: usize) -> Option<Kind> {
    match line.get(marks..)?.split_whitespace().next() {
        Some("ivp") => Some(Kind::Problem),
        Some("sheet") => Some(Kind::Sheet),
        _ => None,
    }
}

/// Does raw HTML that goes on until `end` (empty: a blank line) stop with this line?
fn ends_html(line: &str, end: &str) -> bool {
    if end.is_empty() {
        line.trim().is_empty()
    } else {
        line.to_ascii_lowercase().contains(end)
    }
}

/// Columns of white space in front, and the line behind them.
fn indentation(line: &str) -> (usize, &str) {
    let mut column = 0;
    for (at, c) in line.char_indices() {
        match c {
            ' ' => column += 1,
            '\t' => column += 4 - column % 4,
            _ => return (column, line.get(at..).unwrap_or("")),
        }
    }
    (column, "")
}

/// How often a line repeats the byte it begins with.
fn run(line: &str) -> usize {
    let mut bytes = line.bytes();
    let first = bytes.next();
    first.map_or(0, |first| 1 + bytes.take_while(|b| *b == first).count())
}

/// The mark of a fenced block and how many of them.
fn opens(line: &str) -> Option<(u8, usize)> {
    let mark = *line.as_bytes().first().filter(|b| b"`~".contains(b))?;
    let count = run(line);
    let info = line.get(count..).unwrap_or("");
    (count >= 3 && (mark == b'~' || !info.contains('`'))).then_some((mark, count))
}

fn closes(line: &str, mark: u8, least: usize) -> bool {
    let count = run(line);
    line.as_bytes().first() == Some(&mark)
        && count >= least
        && line.get(count..).unwrap_or("").trim().is_empty()
}

/// The column behind a list item's marker. An item interrupts a paragraph only if it is not empty
/// and not numbered from elsewhere than 1.
fn item(line: &str, interrupts: bool) -> Option<usize> {
    if is_rule(line) {
        return None;
    }
    let digits = line.bytes().take_while(u8::is_ascii_digit).count();
    let marker = match line.as_bytes().get(digits) {
        Some(b'-' | b'+' | b'*') if digits == 0 => 1,
        Some(b'.' | b')') if (1..10).contains(&digits) => digits + 1,
        _ => return None,
    };
    let (spaces, rest) = indentation(line.get(marker..).unwrap_or(""));
    if spaces == 0 && !rest.is_empty() {
        return None;
    }
    if interrupts && (rest.is_empty() || (digits > 0 && line.get(..digits) != Some("1"))) {
        return None;
    }
    Some(if rest.is_empty() || spaces > 4 {
        marker + 1
    } else {
        marker + spaces
    })
}

/// A line across the page: three or more of `-`, `*` or `_`.
fn is_rule(line: &str) -> bool {
    let mut marks = line.bytes().filter(|b| !b" \t".contains(b));
    let first = marks.next().filter(|b| b"-*_".contains(b));
    first.is_some_and(|first| {
        let mut count = 1;
        marks.all(|b| {
            count += 1;
            b == first
        }) && count >= 3
    })
}

/// Does the line begin, or go on with, a paragraph?
fn is_words(line: &str) -> bool {
    let hashes = line.bytes().take_while(|b| *b == b'#').count();
    let heading = (1..7).contains(&hashes)
        && line
            .get(hashes..)
            .is_none_or(|rest| rest.is_empty() || rest.starts_with([' ', '\t']));
    !(line.is_empty() || heading || is_rule(line) || opens(line).is_some() || line.starts_with('>'))
}

/// A line that makes the paragraph above a heading.
fn is_underline(line: &str) -> bool {
    let bare = line.trim_end();
    ['=', '-']
        .iter()
        .any(|mark| bare.chars().all(|c| c == *mark))
}

/// Raw HTML: what ends it (empty: a blank line).
fn html(line: &str, in_paragraph: bool) -> Option<&'static str> {
    let rest = line.strip_prefix('<')?;
    let name_end = rest
        .find(|c: char| !(c.is_ascii_alphanumeric() || c == '-' || c == '/'))
        .unwrap_or(rest.len());
    let name = rest.get(..name_end)?.to_ascii_lowercase();
    let behind = rest.get(name_end..).unwrap_or("");
    let ends = behind.is_empty() || behind.starts_with([' ', '\t', '>']);
    match name.as_str() {
        "script" if ends => return Some("</script>"),
        "pre" if ends => return Some("</pre>"),
        "style" if ends => return Some("</style>"),
        "textarea" if ends => return Some("</textarea>"),
        _ => {}
    }
    for (begin, end) in [("!--", "-->"), ("?", "?>"), ("![CDATA[", "]]>")] {
        if rest.starts_with(begin) {
            return Some(end);
        }
    }
    if rest
        .strip_prefix('!')
        .is_some_and(|r| r.starts_with(|c: char| c.is_ascii_alphabetic()))
    {
        return Some(">");
    }
    let plain = name.trim_start_matches('/').trim_end_matches('/');
    if BLOCKS.contains(&plain) && (ends || behind.starts_with("/>") || name.ends_with('/')) {
        return Some("");
    }
    // Any other tag that stands alone on its line, but not within a paragraph.
    let alone = !in_paragraph
        && plain.starts_with(|c: char| c.is_ascii_alphabetic())
        && line.trim_end().ends_with('>')
        && !rest
            .trim_end()
            .trim_end_matches('>')
            .contains(['<', '>', '`']);
    alone.then_some("")
}

/// Tags that begin raw HTML wherever they stand (`CommonMark` 0.31, section 4.6, kind 6).
const BLOCKS: [&str; 62] = [
    "address",
    "article",
    "aside",
    "base",
    "basefont",
    "blockquote",
    "body",
    "caption",
    "center",
    "col",
    "colgroup",
    "dd",
    "details",
    "dialog",
    "dir",
    "div",
    "dl",
    "dt",
    "fieldset",
    "figcaption",
    "figure",
    "footer",
    "form",
    "frame",
    "frameset",
    "h1",
    "h2",
    "h3",
    "h4",
    "h5",
    "h6",
    "head",
    "header",
    "hr",
    "html",
    "iframe",
    "legend",
    "li",
    "link",
    "main",
    "menu",
    "menuitem",
    "nav",
    "noframes",
    "ol",
    "optgroup",
    "option",
    "p",
    "param",
    "search",
    "section",
    "summary",
    "table",
    "tbody",
    "td",
    "tfoot",
    "th",
    "thead",
    "title",
    "tr",
    "track",
    "ul",
];
