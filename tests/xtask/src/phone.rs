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
    let module = module(repo, metadata, dev)?;
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

/// What a profile is built with.
struct Way {
    profile: &'static str,
    toolchain: Toolchain,
    flags: &'static [&'static str],
    environment: &'static [(&'static str, &'static str)],
}

/// Views of one type each instead of a type of their own: a tenth less to carry, and sooner built.
const ERASED: &str = "--cfg=erase_components";

/// The standard library is built with the app, small, and a failure of the program stops it without a word:
/// another tenth less. What stopped it is said by a build with `--dev`.
const SMALL: &[&str] = &[ERASED, "-Zunstable-options", "-Cpanic=immediate-abort", "-Zlocation-detail=none"];
const SMALL_LIBRARY: &[(&str, &str)] =
    &[("CARGO_UNSTABLE_BUILD_STD", "std"), ("CARGO_UNSTABLE_BUILD_STD_FEATURES", "optimize_for_size")];

impl Way {
    fn find(repo: &Repo, dev: bool) -> Outcome<Self> {
        if dev {
            let toolchain = any(repo)?;
            return Ok(Self { profile: "phone-dev", toolchain, flags: &[ERASED], environment: &[] });
        }
        if let Some(toolchain) = Toolchain::debian(repo) {
            return Ok(Self { profile: "phone-small", toolchain, flags: SMALL, environment: SMALL_LIBRARY });
        }
        let packages = setup::DEBIAN_WASM.join(" ");
        eprintln!("phone: larger by a tenth than after `apt-get install {packages}`");
        Ok(Self { profile: "phone-small", toolchain: any(repo)?, flags: &[ERASED], environment: &[] })
    }
}

fn any(repo: &Repo) -> Outcome<Toolchain> {
    Toolchain::find(repo).ok_or_else(|| {
        Failure::new(format!("nothing here builds for {TARGET}")).hint("run `cargo xtask setup`")
    })
}

fn module(repo: &Repo, metadata: &Metadata, dev: bool) -> Outcome<PathBuf> {
    let Way { profile, toolchain, flags, environment } = Way::find(repo, dev)?;
    let mut cargo = toolchain.cargo(repo, repo.path("").as_path());
    cargo.env("CARGO_TARGET_DIR", &metadata.target);
    cargo.env("CARGO_ENCODED_RUSTFLAGS", flags.join("\x1f")).envs(environment.iter().copied());
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
