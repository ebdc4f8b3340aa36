//! The list of functions that may come later, and the names by which it knows them.

use crate::binary::{CUSTOM, Reader};
use std::collections::{BTreeMap, BTreeSet};

/// A function's name as its source has it, without what stands for a crate's version.
pub(crate) fn plain(name: &str) -> String {
    format!("{:#}", rustc_demangle::demangle(name))
}

/// The digest of a plain name as the list has it: 32-bit FNV-1a (Fowler, Noll, Vo).
pub(crate) fn digest(plain: &str) -> u32 {
    plain.bytes().fold(0x811c_9dc5, |digest, byte| {
        (digest ^ u32::from(byte)).wrapping_mul(0x0100_0193)
    })
}

/// The digests in the list, one a line.
pub(crate) fn listed(list: &str) -> BTreeSet<u32> {
    list.lines()
        .filter_map(|line| u32::from_str_radix(line, 16).ok())
        .collect()
}

/// The names of functions that a module has for tools (WebAssembly Core, 7.4.1).
pub(crate) fn names(module: &[u8]) -> Option<BTreeMap<usize, String>> {
    let mut names = BTreeMap::new();
    let mut reader = Reader::new(module);
    reader.take(8)?;
    while !reader.at_end() {
        let (section, content) = reader.section()?;
        let mut reader = Reader::new(content);
        if section != CUSTOM || reader.name()? != "name" {
            continue;
        }
        while !reader.at_end() {
            let (kind, content) = reader.section()?;
            let mut reader = Reader::new(content);
            if kind == 1 {
                for _ in 0..reader.number()? {
                    names.insert(reader.number()?, reader.name()?.to_owned());
                }
            }
        }
    }
    Some(names)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_has_one_digest_whatever_the_crates_version() {
        // The example of RFC 2603, "Simple example", with two versions of the crate.
        let names = ["_RNvCs1234_7mycrate3foo", "_RNvCs9876_7mycrate3foo"].map(plain);
        assert_eq!(names, ["mycrate::foo", "mycrate::foo"]);
        // Test vectors of FNV-1a (draft-eastlake-fnv, section 6; from memory).
        assert_eq!((digest(""), digest("a")), (0x811c_9dc5, 0xe40c_292c));
        assert_eq!(listed("0000000a\nx\n"), BTreeSet::from([10]));
    }
}
