//! Core and the probe for wasm32.
//!
//! The probe is built with core, so one build proves that core builds for wasm32, that it
//! links, and (by the test that runs the probe) that it says the same bytes there.

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::failure::{Doing, Failure, Outcome};
use crate::metadata::Metadata;
use crate::repo::Repo;
use crate::{only, run, setup};

/// Tells the test that runs the probe where the probe is.
pub(crate) const PROBE: &str = "GUDGEON_PROBE";

pub(crate) const TARGET: &str = "wasm32-unknown-unknown";

/// No random source: the probe supplies one that always fails.
const FLAGS: &str = "--cfg=getrandom_backend=\"custom\"";

pub(crate) fn main(repo: &Repo, arguments: &[String]) -> Outcome {
    only(&[], arguments)?;
    setup::ensure(repo, &[setup::WASM])?;
    let probe = build(repo, &Metadata::read(repo)?)?;
    println!("{}", probe.display());
    Ok(())
}

/// Builds the probe afresh and says where it is.
pub(crate) fn build(repo: &Repo, metadata: &Metadata) -> Outcome<PathBuf> {
    let toolchain = Toolchain::find(repo).ok_or_else(|| {
        Failure::new(format!("nothing here builds for {TARGET}")).hint("run `cargo xtask setup`")
    })?;
    let directory = repo.path("tests/probe");
    // The probe has a workspace of its own; its lock file is always made from the main one, so
    // that both are built with the same versions. Cargo takes out what the probe has no use for.
    let (from, to) = (repo.path("Cargo.lock"), directory.join("Cargo.lock"));
    std::fs::copy(&from, &to).doing("copying Cargo.lock to tests/probe")?;
    let target = metadata.target.join("probe");
    let mut cargo = toolchain.cargo(repo, &directory);
    cargo.env("CARGO_TARGET_DIR", &target).env("CARGO_ENCODED_RUSTFLAGS", FLAGS);
    cargo.args(["build", "--release", "--target", TARGET]);
    run::status(&mut cargo)?;
    let probe = target.join(TARGET).join("release/gudgeon_probe.wasm");
    if probe.exists() {
        return Ok(probe);
    }
    Err(Failure::new(format!("{} was not built", probe.display())))
}

/// What can build for wasm32 on this machine.
pub(crate) enum Toolchain {
    /// The toolchain in use has the target.
    Rustup,
    /// Debian's compiler has the target's parts; it links with the linker of the toolchain in use.
    Debian { linker: PathBuf },
}

const DEBIAN_RUSTC: &str = "/usr/bin/rustc";
const DEBIAN_CARGO: &str = "/usr/bin/cargo";

impl Toolchain {
    pub(crate) fn find(repo: &Repo) -> Option<Self> {
        if has_target(&sysroot(&mut repo.program("rustc")).ok()?) {
            return Some(Self::Rustup);
        }
        Self::debian(repo)
    }

    /// Debian's: its standard library is there as source, and is built with the program.
    pub(crate) fn debian(repo: &Repo) -> Option<Self> {
        let linker = linker(repo, &sysroot(&mut repo.program("rustc")).ok()?).ok()?;
        let debian = sysroot_of_debian(repo)?;
        let source = debian.join("lib/rustlib/src/rust/library/std/Cargo.toml");
        let whole = source.exists() && Path::new(DEBIAN_CARGO).exists() && linker.exists();
        whole.then_some(Self::Debian { linker })
    }

    pub(crate) fn cargo(&self, repo: &Repo, directory: &Path) -> Command {
        match self {
            Self::Rustup => {
                let mut cargo = repo.cargo();
                cargo.current_dir(directory);
                cargo
            }
            Self::Debian { linker } => {
                let mut cargo = run::program(DEBIAN_CARGO, directory);
                cargo.env("RUSTC", DEBIAN_RUSTC).env("RUSTC_BOOTSTRAP", "1");
                cargo.env("CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_LINKER", linker);
                cargo.env("CARGO_UNSTABLE_BUILD_STD", "std,panic_abort");
                cargo
            }
        }
    }
}

fn has_target(sysroot: &Path) -> bool {
    sysroot.join("lib/rustlib").join(TARGET).join("lib").is_dir()
}

fn sysroot(rustc: &mut Command) -> Outcome<PathBuf> {
    Ok(PathBuf::from(run::output(rustc.args(["--print", "sysroot"]))?.trim_end()))
}

fn sysroot_of_debian(repo: &Repo) -> Option<PathBuf> {
    if !Path::new(DEBIAN_RUSTC).exists() {
        return None;
    }
    sysroot(&mut repo.program(DEBIAN_RUSTC)).ok()
}

fn linker(repo: &Repo, sysroot: &Path) -> Outcome<PathBuf> {
    let said = run::output(repo.program("rustc").arg("-vV"))?;
    let host = said.lines().find_map(|line| line.strip_prefix("host: "));
    let host = host.ok_or_else(|| Failure::new("rustc -vV names no host"))?;
    Ok(sysroot.join("lib/rustlib").join(host).join("bin/rust-lld"))
}
