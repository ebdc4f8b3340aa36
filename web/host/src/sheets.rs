//! The page of worksheet files as it is built: the choice of the shipped files, and the tables of
//! the keys that it explains.

use crate::options::root;
use std::fmt::Write;
use std::fs;
use web::file::{self, Key};
use web::html::escape;

/// The folder of the shipped files, below the site's.
const FOLDER: &str = "worksheets";

/// The template with everything in it.
pub(crate) fn fill(template: &str) -> Result<String, String> {
    let mut choices = String::new();
    for (address, title) in shipped()? {
        let _ = write!(
            choices,
            "<option value=\"{}\">{}</option>",
            escape(&address),
            escape(&title)
        );
    }
    Ok(template
        .replace("<!--shipped-->", &choices)
        .replace("<!--keys-->", &table(file::KEYS))
        .replace("<!--sheet-keys-->", &table(file::SHEET_KEYS)))
}

/// The shipped files: address and title, in the order of their names.
fn shipped() -> Result<Vec<(String, String)>, String> {
    let folder = root().join("www").join(FOLDER);
    let failed = |error: std::io::Error| format!("{}: {error}", folder.display());
    let mut found = Vec::new();
    for entry in fs::read_dir(&folder).map_err(failed)? {
        let path = entry.map_err(failed)?.path();
        let text = fs::read_to_string(&path).map_err(failed)?;
        let (document, _) = file::parse(&text);
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        found.push((format!("{FOLDER}/{name}"), document.title));
    }
    found.sort();
    Ok(found)
}

fn table(keys: &[Key]) -> String {
    let mut out = String::new();
    for key in keys {
        let _ = write!(
            out,
            "<tr><th scope=\"row\"><code>{}</code></th><td>{}</td></tr>",
            escape(key.name),
            escape(key.meaning)
        );
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use web::answer::{self, Last};
    use web::protocol::Reply;

    #[test]
    fn the_page_offers_what_ships_and_explains_every_key() {
        let page = fill("<!--shipped--><!--keys--><!--sheet-keys-->").unwrap();
        assert!(page.matches("<option").count() >= 3, "{page}");
        assert_eq!(
            page.matches("<tr>").count(),
            file::KEYS.len() + file::SHEET_KEYS.len()
        );
    }

    /// What ships is read without a message, and every problem in it can be worked.
    #[test]
    fn the_shipped_files_are_right() {
        let mut problems = 0;
        for (address, title) in shipped().unwrap() {
            assert!(!title.is_empty(), "{address}");
            let text = fs::read_to_string(root().join("www").join(&address)).unwrap();
            let (document, notes) = file::parse(&text);
            assert!(notes.is_empty(), "{address}: {notes:?}");
            for problem in document.problems() {
                problems += 1;
                let mut keys = Vec::new();
                answer::answer(0, &problem.inputs, &mut Last::default(), &mut |reply| {
                    if let Reply::Ledger(sheet) = reply {
                        let errors = sheet.notes.iter().any(|note| note.error);
                        assert!(
                            sheet.worked && !sheet.defect && !errors,
                            "{address}: {:?}",
                            sheet.notes
                        );
                        keys.extend(
                            sheet
                                .rows
                                .iter()
                                .filter_map(|row| row.key().map(str::to_owned)),
                        );
                    }
                });
                // What is said about rows is about rows that there are.
                let of_rows = problem.rewordings.iter().chain(&problem.remarks);
                for (row, _) in of_rows {
                    assert!(keys.contains(row), "{address}: {row} of {keys:?}");
                }
            }
        }
        assert!(problems >= 6, "{problems}");
    }
}
