//! The list of files that a browser keeps, with their digests, in front of the script that keeps
//! them.

use crate::digest::sha256;
use std::fmt::Write;
use std::fs;
use std::path::Path;

/// Files that are not kept: the script itself, and what is only there to be taken away.
const NOT_KEPT: [&str; 3] = ["service.js", "ordinary-point.html", "embed-whole.html"];

/// The script with the list of `site`'s files in front of it.
///
/// # Errors
/// A file or folder that cannot be read.
pub(crate) fn service(site: &Path, script: &str) -> Result<String, String> {
    let mut files = Vec::new();
    collect(site, "", &mut files)?;
    files.sort();
    let mut list = String::from("const FILES = {\n");
    for (name, digest) in files {
        let _ = writeln!(list, "  \"{name}\": \"{digest}\",");
    }
    list += "};\n";
    let version = sha256((list.clone() + script).as_bytes());
    Ok(format!("const VERSION = \"{version}\";\n{list}{script}"))
}

fn collect(folder: &Path, before: &str, out: &mut Vec<(String, String)>) -> Result<(), String> {
    let failed = |path: &Path, error: std::io::Error| format!("{}: {error}", path.display());
    for entry in fs::read_dir(folder).map_err(|error| failed(folder, error))? {
        let entry = entry.map_err(|error| failed(folder, error))?;
        let name = format!("{before}{}", entry.file_name().to_string_lossy());
        if entry.path().is_dir() {
            collect(&entry.path(), &format!("{name}/"), out)?;
        } else if !NOT_KEPT.contains(&name.as_str()) {
            let bytes = fs::read(entry.path()).map_err(|error| failed(&entry.path(), error))?;
            out.push((name, sha256(&bytes)));
        }
    }
    Ok(())
}
