//! Running other programs.

use std::ffi::OsStr;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};

use crate::failure::{Doing, Failure, Outcome};

/// A program to be run in a directory.
///
/// What `cargo run` told this process about its own package is taken out of the
/// environment: it is not true of the program.
pub(crate) fn program(name: impl AsRef<OsStr>, directory: &Path) -> Command {
    let mut command = Command::new(name);
    command.current_dir(directory);
    for (key, _) in std::env::vars_os() {
        let text = key.to_string_lossy();
        if text.starts_with("CARGO_PKG_") || text.starts_with("CARGO_MANIFEST_") {
            command.env_remove(&key);
        }
    }
    command
}

/// Runs to the end, its output going where ours goes.
pub(crate) fn status(command: &mut Command) -> Outcome {
    let said = command.status().doing(line(command))?;
    if said.success() {
        return Ok(());
    }
    Err(Failure::new(format!("`{}` ended with {said}", line(command))))
}

/// Becomes that program, so that a signal meant for this one reaches it.
#[cfg(unix)]
pub(crate) fn instead(command: &mut Command) -> Outcome {
    use std::os::unix::process::CommandExt as _;
    let error = command.exec();
    Err(error).doing(line(command))
}

/// Runs to the end: there is no becoming another program here.
#[cfg(not(unix))]
pub(crate) fn instead(command: &mut Command) -> Outcome {
    status(command)
}

/// Runs to the end and hands back what it wrote to stdout; stderr goes where ours goes.
pub(crate) fn output(command: &mut Command) -> Outcome<String> {
    let done = command.stderr(Stdio::inherit()).output().doing(line(command))?;
    if !done.status.success() {
        return Err(Failure::new(format!("`{}` ended with {}", line(command), done.status)));
    }
    String::from_utf8(done.stdout).doing(line(command))
}

/// Whether it runs and ends well; what it says is dropped.
pub(crate) fn works(command: &mut Command) -> bool {
    let quiet = command.stdout(Stdio::null()).stderr(Stdio::null()).stdin(Stdio::null());
    quiet.status().is_ok_and(|status| status.success())
}

/// Runs to the end, passing its stderr on line by line to `watch` as well as to ours.
pub(crate) fn watched(command: &mut Command, mut watch: impl FnMut(&str)) -> Outcome {
    let mut child = command.stderr(Stdio::piped()).spawn().doing(line(command))?;
    if let Some(stderr) = child.stderr.take() {
        for text in BufReader::new(stderr).split(b'\n') {
            let text = String::from_utf8_lossy(&text.doing("reading its output")?).into_owned();
            eprintln!("{text}");
            watch(&text);
        }
    }
    let said = child.wait().doing(line(command))?;
    if said.success() {
        return Ok(());
    }
    Err(Failure::new(format!("`{}` ended with {said}", line(command))))
}

/// The command as one would type it, for messages.
pub(crate) fn line(command: &Command) -> String {
    let words = std::iter::once(command.get_program()).chain(command.get_args());
    words.map(OsStr::to_string_lossy).collect::<Vec<_>>().join(" ")
}
