//! Markdown to pieces of HTML, one for each block at top level, so that the page changes only those
//! that have changed. The parser is pulldown-cmark; what it takes for HTML is shown as text, links
//! and pictures are let through by their addresses, and formulas are typeset.

use crate::math;
use pulldown_cmark::{Event, LinkType, Options, Parser, Tag, TagEnd, html};
use std::fmt::Write as _;
use std::ops::Range;
use web::file::{FIELD, Fence, Kind};
use web::html::escape;
use web::protocol::Note;

/// A block at top level.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Piece {
    /// HTML.
    Prose(String),
    /// The problem with this number, from 0.
    Problem(usize),
    /// What the file is for.
    Sheet,
}

/// A piece and the byte of the text at which it begins.
pub type Placed = (Piece, usize);

/// Quotations and lists deeper than this are not read: each level costs a browser layout.
const DEEPEST: usize = 60;

/// The pieces of a text whose own blocks are at these places, and what is to be said about them.
pub fn pieces(text: &str, fences: &[Fence]) -> (Vec<Placed>, Vec<Note>) {
    let mut writer = Writer {
        text,
        notes: Vec::new(),
        headings: Vec::new(),
        tables: 0,
        raw_said: false,
        links: Vec::new(),
    };
    let options = Options::ENABLE_MATH | Options::ENABLE_TABLES;
    let mut out: Vec<Placed> = Vec::new();
    let mut events: Vec<Event<'_>> = Vec::new();
    let (mut depth, mut start) = (0_usize, 0);
    let mut problems = 0;
    // Inside a block of ours, or of what is nested too deeply: nothing is written.
    let mut skipped = None;
    for (event, range) in Parser::new_ext(text, options).into_offset_iter() {
        if depth == 0 {
            start = range.start;
        }
        let opens = matches!(event, Event::Start(_));
        if matches!(event, Event::End(_)) {
            depth = depth.saturating_sub(1);
        }
        if let Some(level) = skipped {
            if level == depth && matches!(event, Event::End(_)) {
                skipped = None;
            }
        } else if opens
            && depth == 0
            && let Some(fence) = own(fences, range.start)
        {
            skipped = Some(0);
            let piece = match fence.kind {
                Kind::Sheet => Piece::Sheet,
                Kind::Problem => {
                    problems += 1;
                    Piece::Problem(problems - 1)
                }
            };
            out.push((piece, range.start));
        } else if opens && depth >= DEEPEST {
            skipped = Some(depth);
            let words = "This is nested too deeply and left out.";
            writer.say("too-deep", range, words.into());
        } else {
            writer.event(event, range, &mut events);
        }
        if opens {
            depth += 1;
        }
        if depth == 0 && !events.is_empty() {
            let mut piece = String::new();
            html::push_html(&mut piece, events.drain(..));
            out.push((Piece::Prose(cells(&piece)), start));
        }
    }
    (out, writer.notes)
}

/// The parser's own writer aligns cells by a style, which the page's policy refuses: a class does the
/// same. (In texts and addresses quotation marks are escaped.) An empty corner heads nothing.
fn cells(piece: &str) -> String {
    let mut out = piece.replace("<th></th>", "<td></td>");
    for side in ["left", "center", "right"] {
        let styled = format!(" style=\"text-align: {side}\"");
        let class = format!(" class=\"{side}\"");
        out = out
            .replace(&styled, &class)
            .replace(&format!("<th{class}></th>"), &format!("<td{class}></td>"));
    }
    out
}

fn own(fences: &[Fence], start: usize) -> Option<&Fence> {
    fences.iter().find(|fence| fence.range.start == start)
}

struct Writer<'a> {
    text: &'a str,
    notes: Vec<Note>,
    /// The ids given so far.
    headings: Vec<String>,
    tables: usize,
    raw_said: bool,
    /// For each link and picture that is open: what ends it.
    links: Vec<Option<Event<'a>>>,
}

impl<'a> Writer<'a> {
    fn say(&mut self, code: &str, place: Range<usize>, message: String) {
        self.notes.push(Note {
            code: code.into(),
            error: false,
            field: FIELD.into(),
            start: place.start,
            end: place.end,
            message,
            repairs: Vec::new(),
        });
    }

    /// Takes an event and puts what is to be written in its place.
    fn event(&mut self, event: Event<'a>, range: Range<usize>, out: &mut Vec<Event<'a>>) {
        match event {
            Event::Html(raw) | Event::InlineHtml(raw) => {
                if !std::mem::replace(&mut self.raw_said, true) {
                    let words = "HTML is not read in worksheet files; it is shown as text.";
                    self.say("raw-html", range, words.into());
                }
                out.push(Event::Text(raw));
            }
            Event::Start(Tag::HtmlBlock) => out.push(Event::Start(Tag::Paragraph)),
            Event::End(TagEnd::HtmlBlock) => out.push(Event::End(TagEnd::Paragraph)),
            Event::InlineMath(source) => out.push(self.formula(&source, range, false)),
            Event::DisplayMath(source) => out.push(self.formula(&source, range, true)),
            Event::Start(Tag::Link {
                link_type,
                dest_url,
                title,
                ..
            }) => {
                let ends = self.link(link_type, &dest_url, &title, range, out);
                self.links.push(ends);
            }
            Event::Start(Tag::Image {
                link_type,
                dest_url,
                title,
                id,
            }) => {
                if is_picture(&dest_url) {
                    out.push(Event::Start(Tag::Image {
                        link_type,
                        dest_url,
                        title,
                        id,
                    }));
                    self.links.push(Some(Event::End(TagEnd::Image)));
                } else {
                    let words = "Pictures can stand in the file itself (data:image/…) or beside the page; this one is left out.";
                    self.say("picture-address", range, words.into());
                    self.links.push(None);
                }
            }
            Event::End(TagEnd::Link | TagEnd::Image) => {
                if let Some(Some(end)) = self.links.pop() {
                    out.push(end);
                }
            }
            Event::Start(Tag::Heading { level, .. }) => {
                let id = self.heading_id(&range);
                out.push(Event::Start(Tag::Heading {
                    level,
                    id: Some(id.into()),
                    classes: Vec::new(),
                    attrs: Vec::new(),
                }));
            }
            Event::Start(Tag::Table(alignments)) => {
                self.tables += 1;
                let around = format!(
                    "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"Table {}\">",
                    self.tables
                );
                out.push(Event::Html(around.into()));
                out.push(Event::Start(Tag::Table(alignments)));
            }
            Event::End(TagEnd::Table) => {
                out.push(Event::End(TagEnd::Table));
                out.push(Event::Html("</div>".into()));
            }
            other => out.push(other),
        }
    }

    fn formula(&mut self, source: &str, range: Range<usize>, display: bool) -> Event<'a> {
        let (xml, unknown) = math::typeset(source, display);
        let start = range.start + if display { 2 } else { 1 };
        for unknown in unknown {
            // In a quotation the text of a formula is not one piece of the file.
            let inside = self.text.get(start..start + source.len()) == Some(source);
            let place = if inside {
                start + unknown.place.start..start + unknown.place.end
            } else {
                range.clone()
            };
            let repair = unknown.meant.filter(|_| inside).map(|meant| {
                let change = (FIELD.to_owned(), place.start, place.end, meant.clone());
                (format!("write {meant}"), vec![change])
            });
            self.say("formula", place, unknown.message);
            if let Some(note) = self.notes.last_mut() {
                note.repairs.extend(repair);
            }
        }
        Event::InlineHtml(if display {
            // Not every engine scrolls a formula by itself where it is too wide.
            format!("<span class=\"display\">{xml}</span>").into()
        } else {
            xml.into()
        })
    }

    /// A link: what ends it, or nothing where its address is refused.
    fn link(
        &mut self,
        link_type: LinkType,
        address: &str,
        title: &str,
        range: Range<usize>,
        out: &mut Vec<Event<'a>>,
    ) -> Option<Event<'a>> {
        let mail = if link_type == LinkType::Email {
            "mailto:"
        } else {
            ""
        };
        let Some(address) = safe_address(&format!("{mail}{address}")) else {
            let words = "A link may lead to http:, https: or mailto: addresses, or to a heading of this file (#…); this one is left out.";
            self.say("link-address", range, words.into());
            return None;
        };
        let mut tag = format!("<a href=\"{}\"", escape(&address));
        if !address.starts_with('#') {
            tag.push_str(" rel=\"noopener noreferrer\"");
        }
        if !title.is_empty() {
            let _ = write!(tag, " title=\"{}\"", escape(title));
        }
        tag.push('>');
        out.push(Event::InlineHtml(tag.into()));
        Some(Event::InlineHtml("</a>".into()))
    }

    /// An id from a heading's own words, so that links can lead to it.
    fn heading_id(&mut self, range: &Range<usize>) -> String {
        let words = self.text.get(range.clone()).unwrap_or("");
        let slug = slug(words);
        let mut id = slug.clone();
        let mut number = 2;
        while self.headings.contains(&id) {
            id = format!("{slug}-{number}");
            number += 1;
        }
        self.headings.push(id.clone());
        format!("{ID}{id}")
    }
}

/// Begins every id that a file gives, so that none is one of the page's own.
const ID: &str = "in-";

/// Lower-case letters and digits with `-` between words.
fn slug(words: &str) -> String {
    let mut out = String::new();
    for c in words.chars().take(60) {
        if c.is_alphanumeric() {
            out.extend(c.to_lowercase());
        } else if !out.is_empty() && !out.ends_with('-') {
            out.push('-');
        }
    }
    out.truncate(out.trim_end_matches('-').len());
    if out.is_empty() { "part".into() } else { out }
}

/// The address as it may stand in a link: http, https, mailto, or a heading of the same file.
fn safe_address(address: &str) -> Option<String> {
    if address.chars().any(char::is_control) {
        return None;
    }
    if let Some(id) = address.strip_prefix('#') {
        return Some(format!("#{ID}{}", slug(id)));
    }
    let (scheme, _) = address.split_once(':')?;
    let known = ["http", "https", "mailto"];
    let is_known = known.iter().any(|own| scheme.eq_ignore_ascii_case(own));
    is_known.then(|| address.to_owned())
}

/// Is this a picture in the file itself, or one beside the page?
fn is_picture(address: &str) -> bool {
    let inside = ["png", "jpeg", "gif", "webp"];
    let data = inside.iter().any(|kind| {
        let rest = address
            .strip_prefix("data:image/")
            .and_then(|rest| rest.strip_prefix(kind));
        rest.is_some_and(|rest| rest.starts_with(";base64,"))
    });
    let beside = !address.is_empty()
        && !address.starts_with('/')
        && !address.contains([':', '\\'])
        && !address.chars().any(char::is_control);
    data || beside
}

/// A text as a whole, without problems: for tests.
#[cfg(test)]
fn whole(text: &str) -> String {
    let (pieces, _) = pieces(text, &[]);
    let html = pieces.into_iter().map(|(piece, _)| match piece {
        Piece::Prose(html) => html,
        other => format!("{other:?}"),
    });
    html.collect()
}

#[cfg(test)]
mod tests;
