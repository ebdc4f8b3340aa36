//! From characters to glyphs: letters of other scripts, and Newton's dots wherever they stand.

use super::{Glyph, Lexer};
use crate::diagnostic::{Diagnostic, Edit, Suggestion};
use crate::span::Span;
use crate::syntax::letters::{dotted, look_alike, plain};

impl Lexer<'_> {
    /// Fills `glyphs`; tells of look-alike letters once, with one repair for all of them.
    pub(super) fn normalize(&mut self) {
        let mut edits: Vec<Edit> = Vec::new();
        let mut dots_in_front: Option<(usize, char)> = None;
        for (at, raw) in self.text.char_indices() {
            let mut c = plain(raw);
            if let Some(latin) = look_alike(c) {
                c = latin;
                edits.push(Edit {
                    field: self.field,
                    span: Span::new(at, at + raw.len_utf8()),
                    replacement: latin.to_string(),
                });
            }
            let end = at + raw.len_utf8();
            // Copied from a document, dots may stand before the letter that they stand above.
            let begins = self
                .glyphs
                .last()
                .is_none_or(|last| !last.c.is_alphabetic());
            if begins && matches!(c, '˙' | '¨') {
                dots_in_front = Some((at, c));
                continue;
            }
            if let Some((start, mark)) = dots_in_front.take() {
                let dots = dotted(mark).map_or(mark, |(_, dots)| dots);
                let whole = |raw, c| Glyph {
                    at: start,
                    end,
                    raw,
                    c,
                };
                if c.is_alphabetic() {
                    self.glyphs.extend([whole(raw, c), whole(mark, dots)]);
                    continue;
                }
                let end = start + mark.len_utf8();
                self.glyphs.push(Glyph {
                    at: start,
                    end,
                    raw: mark,
                    c: mark,
                });
            }
            if let Some((letter, dots)) = dotted(c) {
                // Newton's dots are primes that stand above.
                self.glyphs
                    .extend(letter.map(|c| Glyph { at, end, raw, c }));
                c = dots;
            }
            self.glyphs.push(Glyph { at, end, raw, c });
        }
        if let Some(first) = edits.first() {
            let (span, latin) = (first.span, first.replacement.clone());
            let message = format!(
                "This letter looks like {latin} but belongs to another script. \
                 Replace it by the Latin letter."
            );
            let mut diagnostic = Diagnostic::error("look-alike-letter", self.field, span, message);
            diagnostic.suggestions.push(Suggestion {
                label: if edits.len() == 1 {
                    format!("write Latin {latin}")
                } else {
                    format!("write Latin letters in all {} places", edits.len())
                },
                edits,
            });
            self.diagnostics.push(diagnostic);
        }
    }
}
