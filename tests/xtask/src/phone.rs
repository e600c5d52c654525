//! The phone app: its module for wasm32, bound and laid out as the relay serves it.

use std::path::{Path, PathBuf};

use crate::failure::{Doing, Failure, Outcome};
use crate::metadata::Metadata;
use crate::repo::Repo;
use crate::wasm::{TARGET, Toolchain};
use crate::{only, run, setup};

/// Tells the tests that start a browser, and the relay's build, where the app is.
pub(crate) const APP: &str = "GUDGEON_PHONE_DIST";

pub(crate) fn main(repo: &Repo, arguments: &[String]) -> Outcome {
    only(&["--dev", "--figures"], arguments)?;
    setup::ensure(repo, &[setup::WASM])?;
    let asked = |flag: &str| arguments.iter().any(|argument| argument == flag);
    let app = build(repo, &Metadata::read(repo)?, asked("--dev"))?;
    if asked("--figures") {
        return figures(repo, &app);
    }
    println!("{}", app.display());
    Ok(())
}

/// What the app costs a phone, in a browser of this machine.
fn figures(repo: &Repo, app: &Path) -> Outcome {
    setup::ensure(repo, &[setup::NEXTEST, setup::DRIVEN])?;
    println!("download: {} KB, packed", travels(app)? / 1000);
    let mut cargo = repo.cargo();
    cargo.args([
        "nextest",
        "run",
        "--profile",
        "figures",
        "-p",
        "gudgeon-tests",
        "--test",
        "browser_figures",
    ]);
    run::status(cargo.arg("--no-capture").env(APP, app))
}

/// Builds and lays out the app, and says where it is. `dev`: sooner, larger and slower.
pub(crate) fn build(repo: &Repo, metadata: &Metadata, dev: bool) -> Outcome<PathBuf> {
    let module = module(repo, metadata, if dev { "phone-dev" } else { "phone-small" })?;
    let out = metadata.target.join("phone");
    let mut bundle = repo.cargo();
    bundle.args(["run", "--quiet", "--package", "gudgeon-phone-bundle", "--"]);
    bundle.arg(module).arg(repo.path("client/phone/page")).arg(&out);
    // The last tenth of size costs most of the time.
    bundle.arg(if dev { "4" } else { "11" });
    run::status(&mut bundle)?;
    Ok(out)
}

/// Bytes of all files of the app as they travel: packed where that is less.
pub(crate) fn travels(app: &Path) -> Outcome<u64> {
    let size = |path: &Path| path.metadata().map(|metadata| metadata.len()).doing(path.display());
    let mut all = 0;
    for entry in std::fs::read_dir(app).doing(app.display())? {
        let path = entry.doing(app.display())?.path();
        let packed =
            path.with_file_name(format!("{}.br", path.file_name().unwrap_or_default().to_string_lossy()));
        if packed.exists() {
            all += size(&packed)?;
        } else if path.extension().is_none_or(|end| end != "br") {
            all += size(&path)?;
        }
    }
    Ok(all)
}

fn module(repo: &Repo, metadata: &Metadata, profile: &str) -> Outcome<PathBuf> {
    let toolchain = Toolchain::find(repo).ok_or_else(|| {
        Failure::new(format!("nothing here builds for {TARGET}")).hint("run `cargo xtask setup`")
    })?;
    let mut cargo = toolchain.cargo(repo, repo.path("").as_path());
    cargo.env("CARGO_TARGET_DIR", &metadata.target);
    cargo.args(["rustc", "--package", "gudgeon-phone", "--lib", "--crate-type", "cdylib"]);
    cargo.args(["--profile", profile, "--target", TARGET]);
    run::status(&mut cargo)?;
    let module = Path::new(TARGET).join(profile).join("gudgeon_phone.wasm");
    let module = metadata.target.join(module);
    if module.exists() {
        return Ok(module);
    }
    Err(Failure::new(format!("{} was not built", module.display())))
}
