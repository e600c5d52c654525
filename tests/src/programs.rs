//! The programs that tests of whole processes start, built as the test itself was.

use std::path::PathBuf;
use std::process::Command;

/// Builds a program of a package and answers where it is. `cargo xtask test` has built it before;
/// then this only looks.
///
/// # Panics
/// If it does not build.
#[must_use]
#[allow(clippy::unwrap_used)]
pub fn built(package: &str, program: &str) -> PathBuf {
    let as_this_test: &[&str] = if cfg!(debug_assertions) { &[] } else { &["--release"] };
    let mut cargo = Command::new(env!("CARGO"));
    // What the runner says of this test's own package is not true of the program, and some build scripts are
    // run again for it: the program, with all under it, would be built anew for every test.
    for (name, _) in std::env::vars_os() {
        let text = name.to_string_lossy();
        if text.starts_with("CARGO_PKG_") || text.starts_with("CARGO_MANIFEST_") {
            cargo.env_remove(&name);
        }
    }
    let built = cargo
        .args(["build", "--quiet", "--package", package, "--bin", program])
        .args(as_this_test)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .status()
        .unwrap();
    assert!(built.success());
    // .../debug/deps/this-test -> .../debug/program
    let own = std::env::current_exe().unwrap();
    own.ancestors().nth(2).unwrap().join(format!("{program}{}", std::env::consts::EXE_SUFFIX))
}
