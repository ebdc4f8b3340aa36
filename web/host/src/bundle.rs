//! Several scripts that import one another, as one script that imports nothing: for places from
//! which nothing can be imported (a worker made from a text, a page opened from a folder).
//!
//! It knows the ways in which our own scripts and the binding write their imports and exports, each
//! on a line of its own, and refuses others.

use std::collections::BTreeMap;
use std::fmt::Write;

/// The script `entry` with everything that it imports. `read` gives the text behind a name such as
/// `./pool.js`.
///
/// # Errors
/// What cannot be read, or is not understood.
pub(crate) fn bundle(
    entry: &str,
    read: &dyn Fn(&str) -> Result<String, String>,
) -> Result<String, String> {
    let mut done = BTreeMap::new();
    let mut out = String::from("\"use strict\";\n");
    let body = body(entry, read, &mut done, &mut out)?.0;
    // Its own lines may wait for something.
    let _ = writeln!(out, "(async () => {{\n{body}}})();");
    Ok(out)
}

/// Puts a script and what it imports in front; answers the name of what it exports.
fn put(
    name: &str,
    read: &dyn Fn(&str) -> Result<String, String>,
    done: &mut BTreeMap<String, String>,
    out: &mut String,
) -> Result<String, String> {
    if let Some(known) = done.get(name) {
        return Ok(known.clone());
    }
    let own = format!("$part{}", done.len());
    done.insert(name.to_owned(), own.clone());
    let (body, exports) = body(name, read, done, out)?;
    let _ = writeln!(
        out,
        "const {own} = (() => {{\n{body}return {{ {} }};\n}})();",
        exports.join(", ")
    );
    Ok(own)
}

/// A script's lines without imports and exports, and what it exports.
fn body(
    name: &str,
    read: &dyn Fn(&str) -> Result<String, String>,
    done: &mut BTreeMap<String, String>,
    out: &mut String,
) -> Result<(String, Vec<String>), String> {
    let text = read(name)?;
    let (mut body, mut exports) = (String::new(), Vec::new());
    for line in text.lines() {
        let odd = || format!("{name}: this line is not understood: {line}");
        if line.starts_with("import ") {
            let (names, from) = import(line).ok_or_else(odd)?;
            let part = put(from, read, done, out)?;
            if !names.is_empty() {
                let _ = writeln!(body, "const {{ {names} }} = {part};");
            }
        } else if let Some(list) = line.strip_prefix("export {") {
            let list = list.trim_end().strip_suffix("};").ok_or_else(odd)?;
            exports.extend(list.split(',').map(|one| match one.split_once(" as ") {
                Some((own, other)) => format!("{}: {}", other.trim(), own.trim()),
                None => one.trim().to_owned(),
            }));
        } else if let Some(made) = line.strip_prefix("export ") {
            let rest = made.strip_prefix("async ").unwrap_or(made);
            let words = ["function ", "class ", "const "];
            let rest = words.iter().find_map(|word| rest.strip_prefix(word));
            let word = |c: char| c.is_alphanumeric() || c == '_' || c == '$';
            let exported = rest.and_then(|rest| rest.split(|c| !word(c)).next());
            exports.push(exported.ok_or_else(odd)?.to_owned());
            body += made;
            body.push('\n');
        } else {
            body += &later(line, read, done, out)?;
            body.push('\n');
        }
    }
    Ok((body, exports))
}

/// What `import` on a line takes, as the left side of a declaration, and from where.
fn import(line: &str) -> Option<(String, &str)> {
    let line = line.strip_prefix("import ")?.trim_end();
    let (names, from) = line.split_once(" from ").unwrap_or(("", line));
    let from = from.strip_prefix('"')?.strip_suffix("\";")?;
    let (main, others) = match names.split_once('{') {
        Some((main, others)) => (main, others.strip_suffix('}')?),
        None => (names, ""),
    };
    let main = main.trim().trim_end_matches(',');
    let mut taken = Vec::new();
    if !main.is_empty() {
        taken.push(format!("default: {main}"));
    }
    taken.extend(
        others
            .split(',')
            .map(|one| one.trim().replace(" as ", ": "))
            .filter(|one| !one.is_empty()),
    );
    Some((taken.join(", "), from))
}

/// `import("./x.js")` within a line: what is fetched later elsewhere is here from the beginning.
fn later(
    line: &str,
    read: &dyn Fn(&str) -> Result<String, String>,
    done: &mut BTreeMap<String, String>,
    out: &mut String,
) -> Result<String, String> {
    let mut made = String::new();
    let mut rest = line;
    while let Some((before, after)) = rest.split_once("import(\"./") {
        let (name, after) = after
            .split_once("\")")
            .ok_or_else(|| format!("this line is not understood: {line}"))?;
        let part = put(&format!("./{name}"), read, done, out)?;
        let _ = write!(made, "{before}Promise.resolve({part})");
        rest = after;
    }
    made += rest;
    Ok(made)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(files: &[(&str, &str)]) -> Result<String, String> {
        bundle("./main.js", &|name| {
            let found = files.iter().find(|(own, _)| *own == name);
            found
                .map(|(_, text)| (*text).to_owned())
                .ok_or_else(|| format!("no {name}"))
        })
    }

    #[test]
    fn scripts_become_one() {
        let made = of(&[
            (
                "./main.js",
                "import init, { go } from \"./a.js\";\nimport \"./b.js\";\ngo();\n(await import(\"./b.js\")).late();\n",
            ),
            (
                "./a.js",
                "export function go() {}\nfunction make() {}\nexport { other, make as default };\n",
            ),
            ("./b.js", "import { go } from \"./a.js\";\nexport class late {}\n"),
        ])
        .unwrap();
        assert_eq!(
            made,
            "\"use strict\";\nconst $part0 = (() => {\nfunction go() {}\nfunction make() {}\nreturn { go, other, default: make };\n})();\n\
             const $part1 = (() => {\nconst { go } = $part0;\nclass late {}\nreturn { late };\n})();\n\
             (async () => {\nconst { default: init, go } = $part0;\ngo();\n(await Promise.resolve($part1)).late();\n})();\n"
        );
    }

    #[test]
    fn what_is_not_understood_is_refused() {
        for text in [
            "import x from './a.js';",
            "export * from \"./a.js\";",
            "import \"./c.js\";",
        ] {
            assert!(of(&[("./main.js", text)]).is_err(), "{text}");
        }
    }
}
