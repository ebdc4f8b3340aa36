//! What the page's script asks: values only, no elements.

use crate::markdown::Piece;
use crate::reading;
use js_sys::{Array, JsString};
use wasm_bindgen::JsValue;
use wasm_bindgen::prelude::wasm_bindgen;
use web::protocol::Note;

/// A file's text as it is read.
#[wasm_bindgen]
#[derive(Debug)]
pub struct Reading(reading::Reading);

#[wasm_bindgen]
impl Reading {
    /// Reads a text.
    #[wasm_bindgen(constructor)]
    pub fn new(text: &str) -> Self {
        Self(reading::Reading::new(text))
    }

    /// The file's title; may be empty.
    pub fn title(&self) -> String {
        self.0.document.title.clone()
    }

    /// The pieces in order: `[html]`, or for a problem
    /// `[html, inputs, parts, heading, question, address, words]`, whose HTML stands above it.
    pub fn pieces(&self) -> Array {
        let problems: Vec<_> = self.0.document.problems().collect();
        let made = self.0.pieces.iter().map(|(piece, _)| match piece {
            Piece::Prose(html) => texts(&[html]),
            Piece::Sheet => texts(&[&reading::head(&self.0.document)]),
            Piece::Problem(number) => match problems.get(*number) {
                Some(block) => {
                    let asked = reading::asked(block, *number);
                    texts(&[
                        &asked.above,
                        &asked.inputs,
                        &asked.parts,
                        &asked.heading,
                        &block.ask,
                        &asked.address,
                        &asked.words,
                    ])
                }
                None => texts(&[""]),
            },
        });
        made.collect()
    }

    /// What is to be said about the file itself. A note is
    /// `[code, is it an error, line, column, start, end, message, repairs]`, its places counted as
    /// scripts count them; a repair is a label and its changes, each `[start, end, text]`.
    pub fn notes(&self) -> Array {
        self.0.notes.iter().map(|note| self.note(note)).collect()
    }

    /// What a block that has been worked says about its problem, as notes about the file.
    pub fn block_notes(&self, number: usize, html: &str) -> Array {
        let notes = self.0.block_notes(number, html);
        notes.iter().map(|note| self.note(note)).collect()
    }
}

impl Reading {
    fn note(&self, note: &Note) -> JsValue {
        let unit = |at: usize| JsValue::from(self.0.unit(at));
        let (line, column) = web::file::position(&self.0.text, note.start);
        let repairs: Array = note
            .repairs
            .iter()
            .map(|(label, changes)| {
                let changes: Array = changes
                    .iter()
                    .map(|(_, start, end, text)| {
                        Array::of3(&unit(*start), &unit(*end), &JsValue::from_str(text))
                    })
                    .collect();
                Array::of2(&JsValue::from_str(label), &changes)
            })
            .collect();
        [
            JsValue::from_str(&note.code),
            JsValue::from_bool(note.error),
            JsValue::from(u32::try_from(line).unwrap_or(u32::MAX)),
            JsValue::from(u32::try_from(column).unwrap_or(u32::MAX)),
            unit(note.start),
            unit(note.end),
            JsValue::from_str(&note.message),
            repairs.into(),
        ]
        .iter()
        .collect::<Array>()
        .into()
    }
}

fn texts(texts: &[&str]) -> JsValue {
    texts
        .iter()
        .map(|text| JsString::from(*text))
        .collect::<Array>()
        .into()
}
