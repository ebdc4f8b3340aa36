//! Builds the worksheet's site and serves it on this machine.

mod arrange;
mod binary;
mod build;
mod bundle;
mod code;
mod digest;
mod offline;
mod options;
mod parts;
mod serve;
mod sheets;
mod shorten;
mod split;
mod whole;
mod writing;

use options::{Action, Options};
use std::process::ExitCode;

fn main() -> ExitCode {
    let options = match options::read(std::env::args().skip(1)) {
        Ok(options) => options,
        Err(message) => {
            eprintln!("{message}\n\n{}", options::HELP);
            return ExitCode::from(2);
        }
    };
    if options.action == Action::Help {
        println!("{}", options::HELP);
        return ExitCode::SUCCESS;
    }
    match run(&options) {
        Ok(()) => ExitCode::SUCCESS,
        Err(message) => {
            eprintln!("{message}");
            ExitCode::FAILURE
        }
    }
}

fn run(options: &Options) -> Result<(), String> {
    if matches!(options.action, Action::Build | Action::Both) {
        build::build(options)?;
    }
    if matches!(options.action, Action::Serve | Action::Both) {
        serve::serve(&options.out, options.port)?;
    }
    Ok(())
}
