//! Changes of a sheet that its page makes, written as query strings: `do=row&problem=0&key=order-2&…`.

use crate::address;
use crate::file::{Document, MOST_MARKS, MOST_PROBLEMS, MOST_ROOM, Part, ProblemBlock};

/// Carries a change out. One that is not understood, or about a problem that is not there, changes
/// nothing.
pub fn apply(document: &mut Document, change: &str) {
    let get = |name: &str| {
        let mut pairs = address::pairs(change);
        pairs
            .find(|(own, _)| *own == name)
            .map(|(_, value)| one_line(&value))
    };
    let text = |name: &str| get(name).unwrap_or_default();
    let problem = get("problem").and_then(|number| number.parse::<usize>().ok());
    match text("do").as_str() {
        "head" => {
            document.title = text("title");
            document.course = text("course");
            document.date = text("date");
            document.version = text("version");
        }
        "add" => {
            let inputs = address::pairs(change).find(|(name, _)| *name == "inputs");
            let inputs = inputs.and_then(|(_, fragment)| address::decode(&fragment));
            let room = document.problems().count() < MOST_PROBLEMS;
            if let Some(inputs) = inputs.filter(|_| room) {
                document.parts.push(Part::Problem(Box::new(ProblemBlock {
                    inputs,
                    ..ProblemBlock::default()
                })));
            }
        }
        "remove" => {
            if let Some(at) = place(document, problem) {
                document.parts.remove(at);
            }
        }
        "earlier" => {
            let before = place(document, problem.and_then(|number| number.checked_sub(1)));
            if let (Some(before), Some(at)) = (before, place(document, problem)) {
                document.parts.swap(before, at);
            }
        }
        "problem" => {
            if let Some(block) = block(document, problem) {
                block.title = text("title");
                block.ask = text("ask");
                block.room = number(&text("room"), MOST_ROOM);
            }
        }
        "row" => {
            let key = text("key");
            let (marks, reason, remark) = (get("marks"), get("reason"), get("remark"));
            if let Some(block) = block(document, problem).filter(|_| !key.is_empty()) {
                // What the change does not name stays.
                if let Some(marks) = &marks {
                    let marks = number(marks, MOST_MARKS).filter(|marks| *marks > 0);
                    set(&mut block.marks, &key, marks);
                }
                let lists = [
                    (reason, &mut block.rewordings),
                    (remark, &mut block.remarks),
                ];
                for (words, list) in lists {
                    if let Some(words) = words {
                        let words = Some(words).filter(|words| !words.is_empty());
                        set(list, &key, words);
                    }
                }
            }
        }
        _ => {}
    }
}

/// A file's keys hold one line.
fn one_line(text: &str) -> String {
    let words: Vec<&str> = text.split_whitespace().collect();
    words.join(" ")
}

fn number(text: &str, most: u32) -> Option<u32> {
    text.parse::<u32>().ok().map(|number| number.min(most))
}

/// Which part of the file a problem is.
fn place(document: &Document, problem: Option<usize>) -> Option<usize> {
    let parts = document.parts.iter().enumerate();
    let mut problems = parts.filter(|(_, part)| matches!(part, Part::Problem(_)));
    problems.nth(problem?).map(|(at, _)| at)
}

fn block(document: &mut Document, problem: Option<usize>) -> Option<&mut ProblemBlock> {
    let at = place(document, problem)?;
    match document.parts.get_mut(at)? {
        Part::Problem(block) => Some(block),
        Part::Prose(_) => None,
    }
}

/// Sets what belongs to a key, or takes it out.
fn set<T>(list: &mut Vec<(String, T)>, key: &str, value: Option<T>) {
    let at = list.iter().position(|(own, _)| own == key);
    match (at, value) {
        (Some(at), Some(value)) => {
            if let Some((_, own)) = list.get_mut(at) {
                *own = value;
            }
        }
        (Some(at), None) => {
            list.remove(at);
        }
        (None, Some(value)) => list.push((key.to_owned(), value)),
        (None, None) => {}
    }
}
