//! Installs what is missing, says what it did, and leaves alone what is there.

use std::path::Path;

use crate::failure::{Failure, Outcome};
use crate::repo::Repo;
use crate::{only, run, wasm};

/// A thing the work needs: how to tell that it is there, and how to get it.
pub(crate) struct Need {
    name: &'static str,
    there: fn(&Repo) -> bool,
    get: fn(&Repo) -> Outcome,
}

pub(crate) const RUSTFMT: Need = Need {
    name: "rustfmt",
    there: |repo| run::works(repo.cargo().args(["fmt", "--version"])),
    get: |repo| component(repo, "rustfmt"),
};

pub(crate) const CLIPPY: Need = Need {
    name: "clippy",
    there: |repo| run::works(repo.cargo().args(["clippy", "--version"])),
    get: |repo| component(repo, "clippy"),
};

pub(crate) const NEXTEST: Need = Need {
    name: "cargo-nextest",
    there: |repo| run::works(repo.cargo().args(["nextest", "--version"])),
    get: |repo| run::status(repo.cargo().args(["install", "--locked", "cargo-nextest"])),
};

pub(crate) const WASM: Need = Need {
    name: "wasm32-unknown-unknown",
    there: |repo| wasm::Toolchain::find(repo).is_some(),
    get: get_wasm,
};

/// For the phone app as it is given out: where it cannot be had, the app is larger.
pub(crate) const SMALL_WASM: Need = Need {
    name: "a standard library to build for the phone",
    there: |repo| wasm::Toolchain::debian(repo).is_some(),
    get: |repo| apt(repo, DEBIAN_WASM),
};

pub(crate) const BROWSER: Need = Need {
    name: "chromium (headless)",
    there: |repo| crate::png::browser(repo).is_some(),
    get: |repo| apt(repo, &["chromium-headless-shell"]).or_else(|_| apt(repo, &["chromium"])),
};

/// The whole browser and what drives it: the tests of the phone app need a service worker and a database.
pub(crate) const DRIVEN: Need = Need {
    name: "chromium with chromedriver",
    there: |repo| {
        ["chromium", "chromedriver"].iter().all(|name| run::works(repo.program(name).arg("--version")))
    },
    get: |repo| apt(repo, &["chromium", "chromium-driver"]),
};

/// What takes an authority into the trust of a browser.
pub(crate) const TRUST: Need = Need {
    name: "certutil",
    // It has no call that only answers.
    there: |repo| run::works(repo.program("sh").args(["-c", "command -v certutil"])),
    get: |repo| apt(repo, &["libnss3-tools"]),
};

/// What fetches the rules by which the browser tests look at every screen.
pub(crate) const NPM: Need = Need {
    name: "npm",
    there: |repo| run::works(repo.program("npm").arg("--version")),
    get: |repo| apt(repo, &["npm"]),
};

pub(crate) const PDF_PICTURES: Need = Need {
    name: "pdftoppm",
    there: |repo| run::works(repo.program("pdftoppm").arg("-v")),
    get: |repo| apt(repo, &["poppler-utils"]),
};

/// Packages of Debian that build for wasm32 where rustup cannot fetch the target.
pub(crate) const DEBIAN_WASM: &[&str] = &["rustc-web", "cargo-web", "rust-web-src"];

pub(crate) fn main(repo: &Repo, arguments: &[String]) -> Outcome {
    only(&["--pictures"], arguments)?;
    ensure(repo, &[RUSTFMT, CLIPPY, NEXTEST, WASM])?;
    if arguments.is_empty() { Ok(()) } else { ensure(repo, &[BROWSER, DRIVEN, TRUST, NPM, PDF_PICTURES]) }
}

/// Gets every need that is not there, and says of each how it stands.
pub(crate) fn ensure(repo: &Repo, needs: &[Need]) -> Outcome {
    for Need { name, there, get } in needs {
        if there(repo) {
            eprintln!("setup: {name} is there");
            continue;
        }
        eprintln!("setup: {name} is missing, installing it");
        get(repo)?;
        if !there(repo) {
            return Err(Failure::new(format!("{name} was installed but does not run"))
                .hint("install it by hand, then run this again"));
        }
        eprintln!("setup: installed {name}");
    }
    Ok(())
}

fn component(repo: &Repo, name: &str) -> Outcome {
    run::status(repo.program("rustup").args(["component", "add", name]))
}

fn get_wasm(repo: &Repo) -> Outcome {
    let mut rustup = repo.program("rustup");
    match run::status(rustup.args(["target", "add", "wasm32-unknown-unknown"])) {
        Ok(()) => Ok(()),
        Err(failure) => {
            eprintln!("setup: {failure}");
            eprintln!("setup: trying Debian's packages instead");
            apt(repo, DEBIAN_WASM)
        }
    }
}

fn apt(repo: &Repo, packages: &[&str]) -> Outcome {
    if !Path::new("/usr/bin/apt-get").exists() {
        return Err(Failure::new(format!("no apt-get to install {} with", packages.join(", ")))
            .hint("install them by hand, then run this again"));
    }
    let mut update = repo.program("apt-get");
    run::status(update.arg("update").stdout(std::io::stderr()))?;
    let mut install = repo.program("apt-get");
    install.env("DEBIAN_FRONTEND", "noninteractive").stdout(std::io::stderr());
    install.args(["install", "-y", "--no-install-recommends"]).args(packages);
    run::status(&mut install).map_err(|failure| failure.hint("apt-get needs root"))
}
