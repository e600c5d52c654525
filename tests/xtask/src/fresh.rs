//! What a stranger would see: a clone elsewhere, and the README's test command run in it.

use std::time::Instant;

use crate::failure::{Doing, Failure, Outcome};
use crate::repo::Repo;
use crate::{only, run};

const COMMAND: &str = "cargo xtask test";

pub(crate) fn main(repo: &Repo, arguments: &[String]) -> Outcome {
    only(&[], arguments)?;
    let readme = run::output(repo.program("git").args(["show", "HEAD:README.md"]))?;
    let command = command(&readme).ok_or_else(|| {
        Failure::new(format!("the README at HEAD has no line that begins with `{COMMAND}`"))
    })?;
    let place = std::env::temp_dir().join(format!("gudgeon-fresh-{}", std::process::id()));
    let mut clone = repo.program("git");
    clone.args(["clone", "--quiet", "--no-hardlinks"]).arg(repo.root()).arg(&place);
    run::status(&mut clone)?;
    let started = Instant::now();
    eprintln!("fresh: {command} in {}", place.display());
    let mut words = command.split_whitespace();
    let mut run = run::program(words.next().unwrap_or("cargo"), &place);
    // Nothing already built may help.
    run.args(words).env("CARGO_TARGET_DIR", place.join("target"));
    run::status(&mut run).map_err(|f| f.hint(format!("left as it is: {}", place.display())))?;
    println!("passed after {} s from a fresh clone", started.elapsed().as_secs());
    std::fs::remove_dir_all(&place).doing(place.display())
}

/// The README's test command, its comment taken off.
fn command(readme: &str) -> Option<&str> {
    let mut lines = readme.lines().map(|line| line.trim().trim_start_matches("$ "));
    let found = lines.find(|line| line.starts_with(COMMAND))?;
    Some(found.split('#').next().unwrap_or(found).trim())
}

#[cfg(test)]
mod tests {
    use super::command;

    #[test]
    fn the_command_is_read_from_the_readme() {
        let readme = "# Gudgeon\n\n    cargo xtask demo\n    cargo xtask test   # all of it\n";
        assert_eq!(command(readme), Some("cargo xtask test"));
        assert_eq!(command("run it yourself"), None);
    }
}
