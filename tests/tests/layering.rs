//! The order of the solver's modules, and what may be depended on, as tests.

use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .parent()
        .expect("the tests live one level down")
        .to_path_buf()
}

/// Every Rust file below `folder`, with its text.
fn sources(folder: &Path) -> Vec<(PathBuf, String)> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).expect("a readable folder") {
        let path = entry.expect("a readable entry").path();
        if path.is_dir() {
            found.extend(sources(&path));
        } else if path.extension().is_some_and(|e| e == "rs") {
            let text = std::fs::read_to_string(&path).expect("a readable file");
            found.push((path, text));
        }
    }
    found
}

/// The part of a file that ships: test modules may look anywhere.
fn shipped(text: &str) -> &str {
    text.split("#[cfg(test)]").next().unwrap_or(text)
}

/// Modules in the order in which `lib.rs` declares them.
fn declared() -> Vec<String> {
    let text = std::fs::read_to_string(root().join("solver/src/lib.rs")).expect("lib.rs");
    text.lines()
        .filter_map(|line| line.strip_prefix("pub mod ")?.strip_suffix(';'))
        .map(str::to_owned)
        .collect()
}

fn upward(order: &[String], module: &str, text: &str) -> Vec<String> {
    let Some(own) = order.iter().position(|m| m == module) else {
        return Vec::new();
    };
    let mut found = Vec::new();
    for line in shipped(text)
        .lines()
        .map(str::trim)
        .filter(|l| !l.starts_with("//"))
    {
        for (_, rest) in line
            .match_indices("crate::")
            .map(|(at, m)| (at, &line[at + m.len()..]))
        {
            let name: String = rest
                .chars()
                .take_while(|c| c.is_alphanumeric() || *c == '_')
                .collect();
            if order
                .iter()
                .position(|m| *m == name)
                .is_some_and(|used| used > own)
            {
                found.push(format!("{module} reaches up to {name}: {line}"));
            }
        }
    }
    found
}

#[test]
fn a_module_uses_only_those_declared_above_it() {
    let order = declared();
    assert!(
        order.len() >= 13,
        "lib.rs declares the modules one a line: {order:?}"
    );
    let base = root().join("solver/src");
    let mut wrong = Vec::new();
    let mut seen = 0;
    for (path, text) in sources(&base) {
        let relative = path.strip_prefix(&base).expect("below src");
        let first = relative
            .components()
            .next()
            .expect("a file")
            .as_os_str()
            .to_string_lossy();
        let module = first.trim_end_matches(".rs");
        if relative.file_stem().is_some_and(|s| s == "tests") || module == "lib" {
            continue;
        }
        seen += 1;
        wrong.extend(upward(&order, module, &text));
    }
    assert!(seen >= 13, "looked at {seen} files only");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_layering_check_notices_a_reach_upward() {
    let order = declared();
    assert_eq!(
        upward(&order, "series", "use crate::document::Formula;\n").len(),
        1
    );
    assert_eq!(
        upward(&order, "series", "use crate::expression::Expr;\n").len(),
        0
    );
}

/// The derivation and the series arithmetic check each other, so they share only the problem.
#[test]
fn the_two_routes_share_nothing_but_the_problem() {
    let base = root().join("solver/src");
    for (path, text) in sources(&base.join("series"))
        .into_iter()
        .chain(sources(&base.join("derivation")))
    {
        if path.file_stem().is_some_and(|s| s == "tests") {
            continue;
        }
        let text = shipped(&text);
        if path.starts_with(base.join("series")) {
            assert!(!text.contains("crate::derivation"), "{}", path.display());
            assert!(
                !text.contains(".derivative("),
                "{} takes a derivative rule from the table",
                path.display()
            );
        } else {
            assert!(!text.contains("crate::series"), "{}", path.display());
        }
    }
}

/// Methods of `f64` whose last digits differ between platforms.
const PLATFORM_DEPENDENT: [&str; 14] = [
    ".exp()",
    ".ln()",
    ".log10()",
    ".log2()",
    ".sin()",
    ".cos()",
    ".tan()",
    ".sinh()",
    ".cosh()",
    ".powf(",
    ".cbrt()",
    ".atan2(",
    ".mul_add(",
    ".exp2()",
];

#[test]
fn clippy_is_told_which_methods_differ_between_platforms() {
    let text = std::fs::read_to_string(root().join("clippy.toml")).expect("clippy.toml");
    for method in PLATFORM_DEPENDENT {
        let name = method.trim_matches(|c| "().".contains(c));
        assert!(
            text.contains(&format!("f64::{name}")),
            "{name} is not disallowed"
        );
    }
}

#[test]
fn what_ships_has_a_free_licence_and_no_reference_library() {
    let lock = std::fs::read_to_string(root().join("Cargo.lock")).expect("Cargo.lock");
    let output = std::process::Command::new(env!("CARGO"))
        .args([
            "metadata",
            "--format-version",
            "1",
            "--locked",
            "--offline",
            "--filter-platform",
            "wasm32-unknown-unknown",
        ])
        .current_dir(root())
        .output()
        .expect("cargo metadata");
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let data: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let packages = data["packages"].as_array().expect("packages");
    assert!(packages.len() > 20);
    for package in packages {
        let licence = package["license"].as_str().unwrap_or("");
        let free = licence.replace('/', " OR ").split(" OR ").any(|one| {
            one.trim_matches(|c| "() ".contains(c))
                .split(" AND ")
                .all(|part| {
                    let part = part
                        .trim_matches(|c| "() ".contains(c))
                        .split(" WITH ")
                        .next()
                        .unwrap_or("");
                    [
                        "MIT",
                        "Apache-2.0",
                        "BSD-3-Clause",
                        "BSD-2-Clause",
                        "Zlib",
                        "Unlicense",
                        "0BSD",
                        "Unicode-3.0",
                        "CC0-1.0",
                        "BSL-1.0",
                    ]
                    .contains(&part)
                })
        });
        assert!(free, "{} has the licence {licence:?}", package["name"]);
    }
    for forbidden in ["rug", "gmp-mpfr-sys", "inari", "flint-sys"] {
        assert!(
            !lock.contains(&format!("name = \"{forbidden}\"")),
            "{forbidden} cannot be built for the browser"
        );
    }
}
