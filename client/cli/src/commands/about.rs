//! The program itself: exit codes, completions, manual pages.

use std::io::Write as _;
use std::path::{Path, PathBuf};

use clap::{Args, CommandFactory as _};
use clap_complete::Shell;
use serde_json::json;

use crate::args::{Cli, VARIABLES};
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
    let page = main_page().map_err(|error| Failure::io("writing", Path::new("the page"), &error))?;
    let mut answer = Answer::new();
    match &args.directory {
        None => {
            let page = String::from_utf8_lossy(&page);
            answer.raw(&page);
            answer.put("page", page.as_ref());
        }
        Some(directory) => {
            std::fs::create_dir_all(directory)
                .and_then(|()| clap_mangen::generate_to(Cli::command(), directory))
                .and_then(|()| std::fs::write(directory.join("gudgeon.1"), &page))
                .map_err(|error| Failure::io("writing to", directory, &error))?;
            answer.say(format!("Wrote the pages to {}.", directory.display()));
            answer.put("directory", directory.display().to_string());
        }
    }
    Ok(answer)
}

/// The page of the program, with sections of its own for exit codes and environment.
fn main_page() -> std::io::Result<Vec<u8>> {
    let man = clap_mangen::Man::new(Cli::command());
    let mut page = Vec::new();
    man.render_title(&mut page)?;
    man.render_name_section(&mut page)?;
    man.render_synopsis_section(&mut page)?;
    man.render_description_section(&mut page)?;
    man.render_options_section(&mut page)?;
    man.render_subcommands_section(&mut page)?;
    let codes = CODES.map(|(number, name, meaning)| (number.to_string(), format!("{name}: {meaning}")));
    let variables = VARIABLES.map(|(name, about)| (name.to_owned(), about.to_owned()));
    section(&mut page, "EXIT STATUS", &codes)?;
    section(&mut page, "ENVIRONMENT", &variables)?;
    Ok(page)
}

fn section(page: &mut Vec<u8>, title: &str, rows: &[(String, String)]) -> std::io::Result<()> {
    writeln!(page, ".SH \"{title}\"")?;
    for (name, about) in rows {
        writeln!(page, ".TP\n.B {}\n{}", escaped(name), escaped(about))?;
    }
    Ok(())
}

/// A hyphen is a minus, and no line begins with a control character, in roff.
fn escaped(text: &str) -> String {
    text.replace('\\', "\\e").replace('-', "\\-").replace("\n.", "\n\\&.")
}
