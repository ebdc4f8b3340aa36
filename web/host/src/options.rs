//! The command line.

use std::path::PathBuf;

/// What to do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Action {
    /// Build the site, then serve it.
    Both,
    /// Only build it.
    Build,
    /// Only serve what was built.
    Serve,
    /// Say how it is used.
    Help,
}

/// What to do, and where.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Options {
    pub(crate) action: Action,
    /// The site's folder.
    pub(crate) out: PathBuf,
    /// The first port to try; `None`: 8000 or the next free one.
    pub(crate) port: Option<u16>,
    /// Build in seconds instead of minutes; the module is several times as large.
    pub(crate) quick: bool,
    /// Keep the module's functions in their order and in one part, and name them.
    pub(crate) named: bool,
}

/// How it is used.
pub(crate) const HELP: &str = "\
cargo worksheet [build|serve] [--out DIR] [--port PORT] [--quick]

  (neither)   build the site and serve it on 127.0.0.1
  build       only write the site's files: upload the folder anywhere
  serve       only serve what was built
  --out DIR   the site's folder (target/site)
  --port PORT the port to serve on (8000, or the next free one)
  --quick     build in seconds, for work on the page; the module is several times as large
  --named     keep the module in one part, and name its functions in functions.txt: for tests/split/run";

/// Reads the arguments.
pub(crate) fn read(arguments: impl Iterator<Item = String>) -> Result<Options, String> {
    let mut options = Options {
        action: Action::Both,
        out: root().join("target").join("site"),
        port: None,
        quick: false,
        named: false,
    };
    let mut arguments = arguments;
    while let Some(argument) = arguments.next() {
        let mut value = || arguments.next().ok_or(format!("{argument} needs a value"));
        match argument.as_str() {
            "build" => options.action = Action::Build,
            "serve" => options.action = Action::Serve,
            "help" | "--help" | "-h" => options.action = Action::Help,
            "--out" => options.out = PathBuf::from(value()?),
            "--port" => {
                let text = value()?;
                options.port = Some(text.parse().map_err(|_| format!("{text} is not a port"))?);
            }
            "--quick" => options.quick = true,
            "--named" => options.named = true,
            other => return Err(format!("unknown argument {other}")),
        }
    }
    Ok(options)
}

/// The project's folder.
pub(crate) fn root() -> PathBuf {
    let here = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    here.ancestors().nth(2).map_or(here.clone(), PathBuf::from)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(line: &str) -> Result<Options, String> {
        read(line.split_whitespace().map(str::to_owned))
    }

    #[test]
    fn the_command_line_is_read() {
        assert_eq!(of("").unwrap().action, Action::Both);
        let options = of("build --out there --port 81").unwrap();
        assert_eq!(
            (options.action, options.out, options.port),
            (Action::Build, PathBuf::from("there"), Some(81))
        );
        assert!(!options.quick && of("--quick").unwrap().quick);
        assert!(!options.named && of("build --named").unwrap().named);
        for wrong in ["--port", "--port x", "--port 70000", "sreve"] {
            assert!(of(wrong).is_err(), "{wrong}");
        }
    }
}
