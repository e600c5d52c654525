//! The command line: arguments, settings, command, answer.

mod args;
mod ask_file;
mod asking;
mod changes;
mod codes;
mod commands;
mod denial;
mod desk;
mod enter;
mod failure;
mod file_sort;
mod numbers;
mod out;
mod pick;
mod says;
mod settings;
mod typed;
mod way;
mod when;
mod words;

use std::process::ExitCode;
use std::time::Duration;

use clap::Parser as _;
use gudgeon_client::sync::native::when_silent;
use tracing_subscriber::EnvFilter;

use args::Cli;
use codes::Exit;
use failure::Failure;
use settings::Settings;

fn main() -> ExitCode {
    log_to_stderr();
    when_silent(relay_is_silent);
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(error) => return misread(&error),
    };
    let settings = Settings::new(cli.common);
    match commands::run(cli.command, &settings) {
        Ok(answer) => ended(answer.show(settings.json), 0),
        Err(failure) => ended(out::show_failure(&failure, settings.json), failure.exit.number()),
    }
}

/// Told while a relay takes its time, so that nobody takes the waiting for a fault of their own.
fn relay_is_silent(limit: Duration) {
    out::progress(&format!(
        "the relay does not answer yet; waiting {} s at most. Everything entered here is saved: nothing is lost",
        limit.as_secs()
    ));
}

/// Off unless GUDGEON_LOG asks for something.
fn log_to_stderr() {
    let filter = EnvFilter::builder().with_env_var("GUDGEON_LOG").from_env_lossy();
    let filter = if std::env::var_os("GUDGEON_LOG").is_some() { filter } else { EnvFilter::new("off") };
    tracing_subscriber::fmt().with_env_filter(filter).with_writer(std::io::stderr).init();
}

/// A command line that cannot be read; or help and version, which are no error.
fn misread(error: &clap::Error) -> ExitCode {
    let json = std::env::args_os().any(|argument| argument == "--json");
    if error.use_stderr() && json {
        let failure = Failure::usage(cause_of(error), "see --help");
        return ended(out::show_failure(&failure, true), Exit::Usage.number());
    }
    let code = if error.use_stderr() { Exit::Usage.number() } else { 0 };
    ended(error.print(), code)
}

/// What is wrong, in one line: the words before the first empty line.
fn cause_of(error: &clap::Error) -> String {
    let text = error.render().to_string();
    let first: Vec<&str> = text.lines().map(str::trim).take_while(|line| !line.is_empty()).collect();
    first.join(" ").trim_start_matches("error: ").to_owned()
}

/// An answer that could not be shown changes the code, whatever was done.
fn ended(shown: std::io::Result<()>, code: u8) -> ExitCode {
    match shown {
        Ok(()) => ExitCode::from(code),
        Err(error) => {
            tracing::error!(%error, "the answer could not be shown");
            ExitCode::from(Exit::Device.number())
        }
    }
}
