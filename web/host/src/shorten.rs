//! Makes the binding's two halves smaller: names that only they use become short in both, and the
//! script loses its comments and indentation.

use crate::binary::{CUSTOM, EXPORTS, IMPORTS, Reader, write_name, write_number, write_section};
use std::collections::BTreeMap;

/// The module and its script, with short names.
pub(crate) fn shorten(module: &[u8], script: &str) -> Result<(Vec<u8>, String), String> {
    let mut names = BTreeMap::new();
    let module = rename(module, &mut names).ok_or("the bound module cannot be read")?;
    Ok((module, bare(&replace(script, &names))))
}

/// Is this a name between the halves, of no meaning to anyone else?
fn between(name: &str) -> bool {
    ["__wbg_", "__wbindgen_", "wasm_bindgen__"]
        .iter()
        .any(|start| name.starts_with(start))
}

/// A short name, the same for the same name; `$` keeps it apart from every other.
fn short(name: &str, names: &mut BTreeMap<String, String>) -> String {
    if !between(name) {
        return name.to_owned();
    }
    let next = format!("${}", names.len());
    names.entry(name.to_owned()).or_insert(next).clone()
}

/// The module with short names in its imports and exports; `None`: it is not understood.
fn rename(module: &[u8], names: &mut BTreeMap<String, String>) -> Option<Vec<u8>> {
    let mut reader = Reader {
        bytes: module,
        at: 0,
    };
    let mut out = reader.take(8)?.to_vec();
    while reader.at < module.len() {
        let section = reader.byte()?;
        let length = reader.number()?;
        let body = reader.take(length)?;
        let changed = match section {
            // Sections for tools, such as the list of features that were used.
            CUSTOM => continue,
            IMPORTS => imports(body, names)?,
            EXPORTS => exports(body, names)?,
            _ => body.to_vec(),
        };
        write_section(section, &changed, &mut out);
    }
    Some(out)
}

fn imports(body: &[u8], names: &mut BTreeMap<String, String>) -> Option<Vec<u8>> {
    let mut reader = Reader { bytes: body, at: 0 };
    let mut out = Vec::with_capacity(body.len());
    let count = reader.number()?;
    write_number(count, &mut out);
    for _ in 0..count {
        write_name(reader.name()?, &mut out);
        write_name(&short(reader.name()?, names), &mut out);
        let start = reader.at;
        reader.import_kind()?;
        out.extend_from_slice(body.get(start..reader.at)?);
    }
    (reader.at == body.len()).then_some(out)
}

fn exports(body: &[u8], names: &mut BTreeMap<String, String>) -> Option<Vec<u8>> {
    let mut reader = Reader { bytes: body, at: 0 };
    let mut out = Vec::with_capacity(body.len());
    let count = reader.number()?;
    write_number(count, &mut out);
    for _ in 0..count {
        write_name(&short(reader.name()?, names), &mut out);
        out.push(reader.byte()?);
        write_number(reader.number()?, &mut out);
    }
    (reader.at == body.len()).then_some(out)
}

/// The text with every whole word of `names` replaced.
fn replace(text: &str, names: &BTreeMap<String, String>) -> String {
    let in_word = |c: char| c.is_ascii_alphanumeric() || c == '_' || c == '$';
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while !rest.is_empty() {
        let end = rest.find(|c| !in_word(c)).unwrap_or(rest.len());
        let (word, after) = rest.split_at(end);
        out.push_str(names.get(word).map_or(word, String::as_str));
        let next = after.find(in_word).unwrap_or(after.len());
        let (between, after) = after.split_at(next);
        out.push_str(between);
        rest = after;
    }
    out
}

/// The script without indentation, empty lines, and comments that stand on lines of their own (a
/// generated script has no text over several lines).
fn bare(script: &str) -> String {
    let mut out = String::with_capacity(script.len());
    let mut in_comment = false;
    for line in script.lines().map(str::trim) {
        in_comment |= line.starts_with("/*");
        if !(in_comment || line.is_empty() || line.starts_with("//")) {
            out.push_str(line);
            out.push('\n');
        }
        in_comment &= !line.ends_with("*/");
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A module that imports a function, a memory, a table and a global and exports its function; with
    /// a note for tools in it or without.
    fn module(import: &str, export: &str, noted: bool) -> Vec<u8> {
        let mut imports = vec![4];
        for (name, kind) in [
            (import, &[0, 0][..]),
            ("memory", &[2, 1, 1, 2]),
            ("table", &[1, 0x70, 0, 200, 1]),
            ("global", &[3, 0x7f, 1]),
        ] {
            write_name("./web_bg.js", &mut imports);
            write_name(name, &mut imports);
            imports.extend_from_slice(kind);
        }
        let mut exports = vec![1];
        write_name(export, &mut exports);
        exports.extend_from_slice(&[0, 0]);
        let mut out = b"\0asm\x01\0\0\0".to_vec();
        out.extend_from_slice(&[1, 4, 1, 0x60, 0, 0]);
        if noted {
            out.extend_from_slice(&[CUSTOM, 3, 2, b'n', b'o']);
        }
        for (section, body) in [(IMPORTS, imports), (EXPORTS, exports)] {
            out.push(section);
            write_number(body.len(), &mut out);
            out.extend_from_slice(&body);
        }
        out
    }

    #[test]
    fn both_halves_get_the_same_short_names() {
        let (long, other) = ("__wbg_Error_208446807d0d1e30", "__wbindgen_malloc");
        let script = format!("x = {{ {long}: f, {long}_2: g }};\nwasm.{other}(memory);\n");
        let (shortened, script) = shorten(&module(long, other, true), &script).unwrap();
        assert_eq!(shortened, module("$0", "$1", false));
        assert_eq!(
            script,
            format!("x = {{ $0: f, {long}_2: g }};\nwasm.$1(memory);\n")
        );
    }

    #[test]
    fn names_that_others_use_stay() {
        let whole = module("__wbg", "start", false);
        assert_eq!(shorten(&whole, "wasm.start()").unwrap().0, whole);
    }

    #[test]
    fn a_broken_module_is_refused() {
        let whole = module("a", "b", false);
        for length in 0..whole.len() {
            // Cut between two sections, a module is still one.
            let between = [8, 14, whole.len() - 7].contains(&length);
            let cut = shorten(whole.get(..length).unwrap(), "");
            assert_eq!(cut.is_ok(), between, "{length}");
        }
    }

    #[test]
    fn a_script_keeps_its_code_and_its_texts() {
        let script = "/**\n * Starts.\n */\nexport function start() {\n    // now\n    go('// \"a\"'); /* b */\n\n}\n";
        assert_eq!(
            bare(script),
            "export function start() {\ngo('// \"a\"'); /* b */\n}\n"
        );
    }
}
