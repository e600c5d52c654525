//! Pictures of every screen of the phone app, both themes, by the test that looks at them.

use crate::failure::{Doing, Failure, Outcome};
use crate::metadata::Metadata;
use crate::repo::Repo;
use crate::{axe, phone, run, setup};

/// Tells the test where the pictures go.
const FOLDER: &str = "GUDGEON_SCREENS";

pub(crate) fn main(repo: &Repo, arguments: &[String]) -> Outcome {
    let out = match arguments {
        [] => std::path::PathBuf::from("screens"),
        [flag, folder] if flag == "--out" => std::path::PathBuf::from(folder),
        _ => return Err(Failure::new("screens takes nothing, or --out DIR")),
    };
    setup::ensure(repo, &[setup::NEXTEST, setup::WASM, setup::DRIVEN])?;
    std::fs::create_dir_all(&out).doing(out.display())?;
    let out = out.canonicalize().doing(out.display())?;
    let metadata = Metadata::read(repo)?;
    let (app, axe) = (phone::build(repo, &metadata, true)?, axe::fetch(repo, &metadata)?);
    let mut cargo = repo.cargo();
    cargo.args(["nextest", "run", "--profile", "ci", "-p", "gudgeon-tests", "--test", "browser_screens"]);
    run::status(cargo.env(phone::APP, app).env(axe::AXE, axe).env(FOLDER, &out))?;
    println!("{}", out.display());
    Ok(())
}
