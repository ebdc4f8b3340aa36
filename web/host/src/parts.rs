//! The page's module as files: its two parts, and what the binding's script says besides.

use crate::arrange::{Arranged, arrange};
use crate::digest::sha256;
use crate::options::Options;
use crate::split::data::movable;
use crate::split::{Later, MISSING, later, split};
use std::collections::BTreeSet;
use std::fmt::Write;
use std::fs;

/// The functions of the second part.
const LIST: &str = include_str!("split/later.txt");

/// What joins the parts, for the end of the binding's script.
const JOINT: &str = include_str!("joint.js");

/// A module without anything in it.
const NOTHING: &[u8] = b"\0asm\x01\0\0\0";

/// Where the module's imports come from, as the binding calls it.
const IMPORTED: &str = "./web_bg.js";

/// Writes `web.wasm` and `more.wasm`, of which the second may be empty; answers the whole module.
/// `linked` and `named` are the module as it was linked and bound, with its functions' names.
///
/// # Errors
/// A file that cannot be written.
pub(crate) fn write(
    module: Vec<u8>,
    linked: &[u8],
    named: &[u8],
    options: &Options,
) -> Result<Vec<u8>, String> {
    let write = |name: &str, bytes: &[u8]| {
        let path = options.out.join(name);
        fs::write(&path, bytes).map_err(|error| format!("{}: {error}", path.display()))
    };
    if options.named {
        write("functions.txt", functions(named).as_bytes())?;
    }
    let parts = if options.named || options.quick {
        None
    } else {
        divided(&module, linked, named)
    };
    let Some((whole, first, second)) = parts else {
        write("web.wasm", &module)?;
        write("more.wasm", NOTHING)?;
        return Ok(module);
    };
    write("web.wasm", &first)?;
    write("more.wasm", &second)?;
    Ok(whole)
}

/// The functions of a module, one a line: number, digest, name.
fn functions(named: &[u8]) -> String {
    let mut out = String::new();
    for (number, name) in later::names(named).unwrap_or_default() {
        let name = later::plain(&name);
        let _ = writeln!(out, "{number} {:08x} {name}", later::digest(&name));
    }
    out
}

/// The module in its best order, and its two parts.
fn divided(module: &[u8], linked: &[u8], named: &[u8]) -> Option<(Vec<u8>, Vec<u8>, Vec<u8>)> {
    let Arranged { module: whole, new } = arrange(module)?;
    let names = later::names(named)?;
    let list = later::listed(LIST);
    let mut known = vec![true; new.len()];
    let mut matched = BTreeSet::new();
    for (old, place) in new.iter().enumerate() {
        let digest = (names.get(&old)).map(|name| later::digest(&later::plain(name)));
        let listed = digest.filter(|digest| list.contains(digest));
        matched.extend(listed);
        // Of several that are the same, each must be on the list.
        *known.get_mut(*place)? &= listed.is_some();
    }
    let listed = |function: usize| known.get(function) == Some(&true);
    let linked_names = later::names(linked)?;
    let data = |second: &BTreeSet<usize>| {
        // The linked module numbers its functions in another way: what has the name of one in the
        // first part counts as that.
        let first: BTreeSet<&str> = (names.iter())
            .filter(|(old, _)| new.get(**old).is_none_or(|place| !second.contains(place)))
            .map(|(_, name)| name.as_str())
            .collect();
        let bound: BTreeSet<&str> = names.values().map(String::as_str).collect();
        let comes_later = |function: usize| {
            let name = linked_names.get(&function).map(String::as_str);
            name.is_some_and(|name| bound.contains(name) && !first.contains(name))
        };
        movable(linked, &comes_later).unwrap_or_else(|| {
            eprintln!("The linker has not said which data belong to which function: all stay in the first part.");
            Vec::new()
        })
    };
    let later = Later {
        function: &listed,
        data: &data,
    };
    let parts = split(&whole, IMPORTED, &sha256(&whole), &later)?;
    let (first, second) = (arranged(parts.first), arranged(parts.second));
    eprintln!(
        "The module's first part has {} KB, its second {} KB, before they are compressed; {} of the \
         {} functions on the list are in it no more.",
        first.len() / 1000,
        second.len() / 1000,
        list.len() - matched.len(),
        list.len()
    );
    Some((whole, first, second))
}

/// The module in an order in which it compresses well.
pub(crate) fn arranged(module: Vec<u8>) -> Vec<u8> {
    if let Some(arranged) = arrange(&module) {
        return arranged.module;
    }
    eprintln!("The module has instructions that are not known here; its download will be larger.");
    module
}

/// The binding's script with what joins two parts.
///
/// # Errors
/// A script that is not as expected.
pub(crate) fn join(script: &str) -> Result<String, String> {
    const IMPORTS: &str = "const import0 = {\n__proto__: null,\n";
    if !script.contains(IMPORTS) {
        return Err("the binding's script has no imports where they are expected".to_owned());
    }
    Ok(script.replacen(IMPORTS, &format!("{IMPORTS}{MISSING}: () => lack(),\n"), 1) + JOINT)
}
