//! `cargo xtask`: set up, check, demonstrate and measure the workspace.
//!
//! One subcommand a file. Plain standard library, so that it builds first and fast.
#![allow(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a command line: results to stdout, talk to stderr"
)]

mod absences;
mod axe;
mod bench;
mod demo;
mod failure;
mod fresh;
mod licences;
mod metadata;
mod phone;
mod png;
mod repo;
mod rooms;
mod run;
mod screens;
mod setup;
mod source;
mod spdx;
mod test;
mod wasm;

use std::process::ExitCode;

use failure::{Failure, Outcome};
use repo::Repo;

/// One subcommand: how it is called, what it does, where it lives.
struct Command {
    name: &'static str,
    usage: &'static str,
    about: &'static str,
    run: fn(&Repo, &[String]) -> Outcome,
}

const COMMANDS: &[Command] = &[
    Command {
        name: "setup",
        usage: "setup [--pictures]",
        about: "install what is missing (nextest, wasm32; with --pictures also a browser)",
        run: setup::main,
    },
    Command {
        name: "test",
        usage: "test [--quick]",
        about: "everything that must pass; --quick leaves out wasm and the documentation",
        run: test::main,
    },
    Command {
        name: "wasm",
        usage: "wasm",
        about: "build core and the probe for wasm32 and print the probe's path",
        run: wasm::main,
    },
    Command {
        name: "phone",
        usage: "phone [--dev] [--figures]",
        about: "build the phone app, print its sizes and where it is; --dev: sooner, larger, slower; --figures: what it costs a phone",
        run: phone::main,
    },
    Command {
        name: "demo",
        usage: "demo [--once] [--json] ...",
        about: "build and play the demo build; further arguments are passed on",
        run: demo::main,
    },
    Command {
        name: "bench",
        usage: "bench [FILTER]",
        about: "run the benches and set their medians beside their budgets",
        run: bench::main,
    },
    Command {
        name: "png",
        usage: "png FILE.html... [--out DIR]",
        about: "picture HTML files: phone and A4, light and dark",
        run: png::main,
    },
    Command {
        name: "screens",
        usage: "screens [--out DIR]",
        about: "picture every screen of the phone app in both themes, into ./screens or DIR",
        run: screens::main,
    },
    Command {
        name: "fresh",
        usage: "fresh",
        about: "clone HEAD elsewhere and run the README's test command there",
        run: fresh::main,
    },
];

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    match dispatch(&arguments) {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            eprintln!("{failure}");
            ExitCode::FAILURE
        }
    }
}

fn dispatch(arguments: &[String]) -> Outcome {
    let Some((name, rest)) = arguments.split_first() else {
        return Err(Failure::new("no subcommand given").hint(help()));
    };
    if matches!(name.as_str(), "help" | "--help" | "-h") {
        println!("{}", help());
        return Ok(());
    }
    let Some(command) = COMMANDS.iter().find(|command| command.name == name) else {
        return Err(Failure::new(format!("there is no subcommand `{name}`")).hint(help()));
    };
    (command.run)(&Repo::find()?, rest)
}

fn help() -> String {
    let width = COMMANDS.iter().map(|c| c.usage.len()).max().unwrap_or(0);
    let mut text = String::from("cargo xtask SUBCOMMAND");
    for Command { usage, about, .. } in COMMANDS {
        text.push_str(&format!("\n  {usage:width$}  {about}"));
    }
    text
}

/// Refuses arguments that a subcommand does not know.
fn only(known: &[&str], arguments: &[String]) -> Outcome {
    match arguments.iter().find(|a| !known.contains(&a.as_str())) {
        None => Ok(()),
        Some(other) => Err(Failure::new(format!("unknown argument `{other}`")).hint(help())),
    }
}
