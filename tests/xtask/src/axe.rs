//! The rules of axe-core, with which the browser tests look at every screen: a tool of the tests,
//! fetched by npm as its lock file says, laid beside what is built, and never given out.

use std::path::PathBuf;

use crate::failure::{Doing, Outcome};
use crate::metadata::Metadata;
use crate::repo::Repo;
use crate::{run, setup};

/// Tells the tests where it is.
pub(crate) const AXE: &str = "GUDGEON_AXE";

/// Where its package and lock file stand.
const FROM: &str = "tests/axe";

/// Fetches it, unless what the lock file asks for is there already; says where it is.
pub(crate) fn fetch(repo: &Repo, metadata: &Metadata) -> Outcome<PathBuf> {
    let folder = metadata.target.join("axe");
    let script = folder.join("node_modules/axe-core/axe.min.js");
    let lock = repo.read(format!("{FROM}/package-lock.json"))?;
    let is_there = std::fs::read_to_string(folder.join("package-lock.json")).is_ok_and(|had| had == lock);
    if is_there && script.exists() {
        return Ok(script);
    }
    setup::ensure(repo, &[setup::NPM])?;
    std::fs::create_dir_all(&folder).doing(folder.display())?;
    for name in ["package.json", "package-lock.json"] {
        let from = repo.path(FROM).join(name);
        std::fs::copy(&from, folder.join(name)).doing(from.display())?;
    }
    let mut npm = repo.program("npm");
    npm.args(["ci", "--ignore-scripts", "--no-audit", "--no-fund"]).current_dir(&folder);
    run::status(npm.stdout(std::io::stderr()))?;
    Ok(script)
}
