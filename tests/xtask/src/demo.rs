//! Builds the command line, the relay and the demo build, and plays it.

use crate::failure::{Doing, Outcome};
use crate::metadata::Metadata;
use crate::repo::Repo;
use crate::run;

/// Tells the demo where the command line under test is.
const BINARY: &str = "GUDGEON_BIN";
/// Tells it where the relay under test is. (`GUDGEON_RELAY_` is the relay's own settings.)
const OFFICE: &str = "GUDGEON_OFFICE_BIN";
/// Tells the demo where to put homes, bundles and the printed record.
const OUTPUT: &str = "GUDGEON_DEMO_DIR";

/// Everything after `demo` goes to the demo, which alone writes to stdout.
pub(crate) fn main(repo: &Repo, arguments: &[String]) -> Outcome {
    let metadata = Metadata::read(repo)?;
    let mut cargo = repo.cargo();
    cargo.args(["build", "--package", "gudgeon-cli", "--bin", "gudgeon"]);
    cargo.args(["--package", "gudgeon-relay", "--bin", "gudgeon-relay"]);
    cargo.args(["--package", "gudgeon-tests", "--bin", "gudgeon-demo"]);
    run::status(cargo.stdout(std::io::stderr()))?;
    let built = metadata.target.join("debug");
    let output = metadata.target.join("demo");
    std::fs::create_dir_all(&output).doing(output.display())?;
    let mut demo = run::program(built.join("gudgeon-demo"), repo.root());
    demo.env(BINARY, built.join("gudgeon")).env(OFFICE, built.join("gudgeon-relay"));
    demo.env(OUTPUT, &output).args(arguments);
    run::instead(&mut demo)
}
