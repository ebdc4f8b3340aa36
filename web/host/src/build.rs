//! Builds the module, binds it, and writes the site's files.

use crate::options::root;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::{env, fs};

const TARGET: &str = "wasm32-unknown-unknown";

/// Files that go into the site as they are; what the subsetting of fonts needs stays behind.
const LEFT_BEHIND: [&str; 3] = ["index.html", "subset.py", "writing.md"];

/// Builds the site into `out`.
pub(crate) fn build(out: &Path) -> Result<(), String> {
    add_target();
    let module = compile()?;
    fs::create_dir_all(out).map_err(|error| format!("{}: {error}", out.display()))?;
    bind(&module, out)?;
    copy(&root().join("www"), out)?;
    write(&out.join("degrees.css"), &web::appearance::style_sheet())?;
    let ways = read(&root().join("www").join("writing.md"))?;
    write(&out.join("writing.html"), &crate::writing::page(&ways))?;
    let template = read(&root().join("www").join("index.html"))?;
    write(&out.join("index.html"), &web::first_paint::fill(&template))
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

fn compile() -> Result<PathBuf, String> {
    eprintln!("Building the worksheet; the first time takes a minute or two.");
    let cargo = env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let target = root().join("target");
    let status = Command::new(cargo)
        .current_dir(root())
        .args([
            "build",
            "--quiet",
            "--profile",
            "page",
            "--package",
            "web",
            "--target",
            TARGET,
            "--target-dir",
        ])
        .arg(&target)
        .status()
        .map_err(|error| format!("cargo: {error}"))?;
    if !status.success() {
        return Err(format!(
            "The module could not be built. It needs the target {TARGET}: rustup target add {TARGET}"
        ));
    }
    Ok(target.join(TARGET).join("page").join("web.wasm"))
}

/// JavaScript around the module: `web.js` and `web.wasm`.
fn bind(module: &Path, out: &Path) -> Result<(), String> {
    let mut bindgen = wasm_bindgen_cli_support::Bindgen::new();
    let made = bindgen
        .input_path(module)
        .out_name("web")
        .typescript(false)
        .remove_name_section(true)
        .remove_producers_section(true)
        .omit_default_module_path(true)
        .web(true)
        .and_then(|bindgen| bindgen.generate(out));
    made.map_err(|error| format!("binding the module: {error}"))?;
    fs::rename(out.join("web_bg.wasm"), out.join("web.wasm"))
        .map_err(|error| format!("web.wasm: {error}"))
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
