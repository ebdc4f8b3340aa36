//! Builds the module, binds it, and writes the site's files.

use crate::options::{Options, root};
use crate::whole::Whole;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::{env, fs};

const TARGET: &str = "wasm32-unknown-unknown";

/// Files that go into the site as they are; what the subsetting of fonts needs stays behind.
const LEFT_BEHIND: [&str; 7] = [
    "index.html",
    "subset.py",
    "writing.md",
    "embedding.md",
    "whole.js",
    "frame-whole.js",
    "inlined.js",
];

/// Pages of documentation.
const DOCUMENTS: [&str; 2] = ["writing", "embedding"];

/// Pages in one file: the worksheet itself, and a block in a frame.
const WHOLE: [(&str, Whole<'_>); 2] = [
    (
        "ordinary-point.html",
        Whole {
            page: "index.html",
            script: "whole.js",
            later: &["sharing.css"],
            texts: &[("worker", "worker-whole.js")],
        },
    ),
    (
        "embed-whole.html",
        Whole {
            page: "embed.html",
            script: "frame-whole.js",
            later: &[],
            texts: &[("worker", "worker-whole.js"), ("block", "block.css")],
        },
    ),
];

/// The packages that become modules, and what the site calls them. One after the other: built
/// together, the second would get the first one's page.
const MODULES: [(&str, &str); 2] = [("web", "web"), ("file", "reading")];

/// Builds the site as the options say.
pub(crate) fn build(options: &Options) -> Result<(), String> {
    let out = options.out.as_path();
    add_target();
    fs::create_dir_all(out).map_err(|error| format!("{}: {error}", out.display()))?;
    let mut whole = Vec::new();
    for (package, name) in MODULES {
        let module = if options.quick {
            compile_quickly(package)
        } else {
            compile(package)
        }?;
        let bound = bind(&module, name, options)?;
        if name == "web" {
            whole = bound;
        }
    }
    copy(&root().join("www"), out)?;
    write(&out.join("degrees.css"), &web::appearance::style_sheet())?;
    let block = read(&root().join("www").join("block.css"))?;
    let colors = web::appearance::block_style_sheet();
    write(&out.join("block.css"), &(block + &colors))?;
    let part = |name: &str| read(&out.join(name));
    let worker = crate::bundle::bundle("./worker.js", &part)?;
    write(&out.join("worker-whole.js"), &worker)?;
    let file = read(&root().join("www").join("file.html"))?;
    write(&out.join("file.html"), &crate::sheets::fill(&file)?)?;
    for name in DOCUMENTS {
        let text = read(&root().join("www").join(format!("{name}.md")))?;
        let page = crate::writing::page(&text);
        write(&out.join(format!("{name}.html")), &page)?;
    }
    let template = read(&root().join("www").join("index.html"))?;
    write(&out.join("index.html"), &web::first_paint::fill(&template))?;
    for (name, parts) in &WHOLE {
        let page = crate::whole::make(parts, &whole, out, &root().join("www"))?;
        write(&out.join(name), &page)?;
    }
    let service = read(&root().join("www").join("service.js"))?;
    let service = crate::offline::service(out, &service)?;
    write(&out.join("service.js"), &service)
}

/// Adds the target where rustup looks after the toolchain. Elsewhere (or without a network) the
/// compiler says what is missing.
fn add_target() {
    let installed = Command::new("rustup")
        .args(["target", "list", "--installed"])
        .stderr(Stdio::null())
        .output();
    if installed.is_ok_and(|output| {
        !String::from_utf8_lossy(&output.stdout)
            .lines()
            .any(|line| line == TARGET)
    }) {
        let _ = Command::new("rustup")
            .args(["target", "add", TARGET])
            .status();
    }
}

/// Flags that build the standard library along with the module, for size, make a panic a bare trap,
/// and keep functions that need room of their own as functions, so that rare ones can come later (see
/// [`crate::split`]). Not stable, so they may fail one day: then the module is built without them.
const SMALL: [&str; 4] = [
    "-Zbuild-std=std,panic_abort",
    "-Zbuild-std-features=optimize_for_size",
    "--config",
    "target.wasm32-unknown-unknown.rustflags=['-Zunstable-options','-Cpanic=immediate-abort','-Zlocation-detail=none','-Cllvm-args=-inline-max-stacksize=64']",
];

fn compile_quickly(package: &str) -> Result<PathBuf, String> {
    if cargo(package, "quick", &[])? {
        return Ok(built(package, "quick"));
    }
    Err("The module could not be built.".to_owned())
}

fn compile(package: &str) -> Result<PathBuf, String> {
    eprintln!("Building the module {package}; the first time takes some minutes.");
    if cargo(package, "page", &SMALL)? {
        return Ok(built(package, "page"));
    }
    eprintln!(
        "The standard library could not be built for size (that needs its source: rustup component \
         add rust-src). Building with the one at hand; the module will be larger."
    );
    if cargo(package, "page", &[])? {
        return Ok(built(package, "page"));
    }
    Err(format!(
        "The module could not be built. It needs the target {TARGET}: rustup target add {TARGET}"
    ))
}

/// Where the module's build ends up.
fn built(package: &str, profile: &str) -> PathBuf {
    root()
        .join("target")
        .join(TARGET)
        .join(profile)
        .join(format!("{package}.wasm"))
}

/// Builds the module; did it work?
fn cargo(package: &str, profile: &str, flags: &[&str]) -> Result<bool, String> {
    let cargo = env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let mut command = Command::new(cargo);
    if !flags.is_empty() {
        command.env("RUSTC_BOOTSTRAP", "1");
    }
    command
        .current_dir(root())
        .args([
            "rustc",
            "--lib",
            "--quiet",
            "--profile",
            profile,
            "--package",
            package,
        ])
        .args(["--target", TARGET])
        .args(flags)
        .arg("--target-dir")
        .arg(root().join("target"))
        // Which data belong to which function (see [`crate::split::data`]).
        .args(["--", "-Clink-arg=--emit-relocs"])
        .status()
        .map(|status| status.success())
        .map_err(|error| format!("cargo: {error}"))
}

/// JavaScript around the module: `web.js` and `web.wasm` for the name `web`. Answers the module.
fn bind(linked: &Path, name: &str, options: &Options) -> Result<Vec<u8>, String> {
    let out = options.out.as_path();
    let mut bindgen = wasm_bindgen_cli_support::Bindgen::new();
    let made = bindgen
        .input_path(linked)
        .out_name(name)
        .typescript(false)
        .remove_producers_section(true)
        .omit_default_module_path(true)
        .demangle(false)
        .web(true)
        .and_then(|bindgen| bindgen.generate(out));
    made.map_err(|error| format!("binding the module: {error}"))?;
    let bound = out.join(format!("{name}_bg.wasm"));
    let failed = |error| format!("{}: {error}", bound.display());
    let script = out.join(format!("{name}.js"));
    let whole = fs::read(&bound).map_err(failed)?;
    let (module, mut shortened) = crate::shorten::shorten(&whole, &read(&script)?)?;
    let module = if name == "web" {
        shortened = crate::parts::join(&shortened)?;
        let linked = fs::read(linked).map_err(|error| format!("{}: {error}", linked.display()))?;
        crate::parts::write(module, &linked, &whole, options)?
    } else {
        let arranged = crate::parts::arranged(module);
        fs::write(out.join(format!("{name}.wasm")), &arranged).map_err(failed)?;
        arranged
    };
    write(&script, &shortened)?;
    fs::remove_file(&bound).map_err(failed)?;
    Ok(module)
}

fn copy(from: &Path, to: &Path) -> Result<(), String> {
    let failed = |path: &Path, error: std::io::Error| format!("{}: {error}", path.display());
    fs::create_dir_all(to).map_err(|error| failed(to, error))?;
    for entry in fs::read_dir(from).map_err(|error| failed(from, error))? {
        let entry = entry.map_err(|error| failed(from, error))?;
        let (path, name) = (entry.path(), entry.file_name());
        if path.is_dir() {
            copy(&path, &to.join(name))?;
        } else if !LEFT_BEHIND.iter().any(|left| *left == name) {
            fs::copy(&path, to.join(name)).map_err(|error| failed(&path, error))?;
        }
    }
    Ok(())
}

fn read(path: &Path) -> Result<String, String> {
    fs::read_to_string(path).map_err(|error| format!("{}: {error}", path.display()))
}

fn write(path: &Path, text: &str) -> Result<(), String> {
    fs::write(path, text).map_err(|error| format!("{}: {error}", path.display()))
}
