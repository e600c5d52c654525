//! The program itself: exit codes, completions, manual pages.

use std::path::{Path, PathBuf};

use clap::{Args, CommandFactory as _};
use clap_complete::Shell;
use serde_json::json;

use crate::args::Cli;
use crate::codes::{self, CODES};
use crate::failure::Failure;
use crate::out::{Answer, Outcome};

#[derive(Args, Debug)]
pub(crate) struct Completions {
    /// Which shell.
    shell: Shell,
}

#[derive(Args, Debug)]
pub(crate) struct Man {
    /// Directory for one page a command; without it the main page goes to stdout.
    directory: Option<PathBuf>,
}

pub(crate) fn codes() -> Answer {
    let mut answer = Answer::new();
    answer.raw(&codes::table());
    let row = |(number, name, meaning): &(u8, &str, &str)| json!({ "code": number, "name": name, "meaning": meaning });
    answer.put("codes", CODES.iter().map(row).collect::<serde_json::Value>());
    answer
}

pub(crate) fn completions(args: &Completions) -> Answer {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut Cli::command(), "gudgeon", &mut script);
    let script = String::from_utf8_lossy(&script);
    let mut answer = Answer::new();
    answer.raw(&script);
    answer.put("completions", script.as_ref());
    answer
}

pub(crate) fn man(args: &Man) -> Outcome {
    let mut answer = Answer::new();
    match &args.directory {
        None => {
            let mut page = Vec::new();
            clap_mangen::Man::new(Cli::command())
                .render(&mut page)
                .map_err(|error| Failure::io("writing", Path::new("the page"), &error))?;
            let page = String::from_utf8_lossy(&page);
            answer.raw(&page);
            answer.put("page", page.as_ref());
        }
        Some(directory) => {
            std::fs::create_dir_all(directory)
                .and_then(|()| clap_mangen::generate_to(Cli::command(), directory))
                .map_err(|error| Failure::io("writing to", directory, &error))?;
            answer.say(format!("Wrote the pages to {}.", directory.display()));
            answer.put("directory", directory.display().to_string());
        }
    }
    Ok(answer)
}
