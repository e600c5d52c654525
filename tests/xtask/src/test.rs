//! Everything that must pass, in one go: the cheap looks first, then the compilers.

use std::path::PathBuf;
use std::time::{Duration, Instant};

use crate::failure::{Failure, Outcome};
use crate::metadata::Metadata;
use crate::repo::Repo;
use crate::{absences, axe, licences, only, phone, rooms, run, setup, wasm};

/// One thing that must pass; what it hands back stands in the summary.
struct Step {
    name: &'static str,
    /// Part of `--quick` as well.
    quick: bool,
    run: fn(&mut Bench) -> Outcome<String>,
}

const STEPS: &[Step] = &[
    Step { name: "format", quick: true, run: format },
    Step { name: "top level", quick: true, run: |b| rooms::check_top(&b.files) },
    Step { name: "absences", quick: true, run: |b| absences::check(b.repo, &b.files) },
    Step { name: "directions", quick: true, run: |b| rooms::check_directions(b.repo, &b.metadata) },
    Step { name: "licences", quick: true, run: |b| licences::check(b.repo, &b.metadata) },
    Step { name: "clippy", quick: true, run: clippy },
    Step { name: "wasm", quick: false, run: wasm_build },
    Step { name: "phone app", quick: false, run: phone_app },
    Step { name: "programs", quick: true, run: programs },
    Step { name: "tests", quick: true, run: nextest },
    Step { name: "doc tests", quick: false, run: doc_tests },
    Step { name: "documentation", quick: false, run: documentation },
];

/// What the steps work on.
struct Bench<'a> {
    repo: &'a Repo,
    metadata: Metadata,
    files: Vec<String>,
    /// The probe, once it is built.
    probe: Option<PathBuf>,
    /// The phone app, once it is built.
    app: Option<PathBuf>,
    /// The rules of axe-core, once they are fetched.
    axe: Option<PathBuf>,
    /// The last thing the test runner said.
    closing: String,
}

pub(crate) fn main(repo: &Repo, arguments: &[String]) -> Outcome {
    only(&["--quick"], arguments)?;
    let quick = !arguments.is_empty();
    setup::ensure(repo, &[setup::RUSTFMT, setup::CLIPPY, setup::NEXTEST])?;
    if !quick {
        setup::ensure(repo, &[setup::WASM, setup::SMALL_WASM, setup::DRIVEN, setup::TRUST])?;
    }
    let mut bench = Bench {
        repo,
        metadata: Metadata::read(repo)?,
        files: repo.files()?,
        probe: None,
        app: None,
        axe: None,
        closing: String::new(),
    };
    let steps: Vec<&Step> = STEPS.iter().filter(|step| step.quick || !quick).collect();
    let mut summary = Vec::new();
    let failed = run_all(&steps, &mut bench, &mut summary);
    eprintln!("\n{}", summary.join("\n"));
    if !bench.closing.is_empty() {
        println!("{}", bench.closing);
    }
    failed.map_or(Ok(()), Err)
}

/// Runs the steps up to the first that fails; one line of summary for each that ran.
fn run_all(steps: &[&Step], bench: &mut Bench, summary: &mut Vec<String>) -> Option<Failure> {
    for (at, step) in steps.iter().enumerate() {
        eprintln!("\n== {} of {}: {}", at + 1, steps.len(), step.name);
        let started = Instant::now();
        let outcome = (step.run)(bench);
        let (word, note) = match &outcome {
            Ok(note) => ("passed", note.as_str()),
            Err(_) => ("FAILED", ""),
        };
        summary.push(line(word, step.name, started.elapsed(), note));
        if let Err(failure) = outcome {
            let left = steps[at + 1..].iter().map(|step| format!("not run         {}", step.name));
            summary.extend(left);
            return Some(failure);
        }
    }
    None
}

fn line(word: &str, name: &str, took: Duration, note: &str) -> String {
    format!("{word} {:6.1} s  {name:14} {note}", took.as_secs_f64()).trim_end().to_owned()
}

fn format(bench: &mut Bench) -> Outcome<String> {
    run::status(bench.repo.cargo().args(["fmt", "--all", "--check"]))?;
    let mut probe = bench.repo.cargo();
    probe.args(["fmt", "--check", "--manifest-path", "tests/probe/Cargo.toml"]);
    run::status(&mut probe)?;
    Ok(String::new())
}

fn clippy(bench: &mut Bench) -> Outcome<String> {
    let mut cargo = bench.repo.cargo();
    cargo.args(["clippy", "--workspace", "--all-targets", "--", "-D", "warnings"]);
    run::status(&mut cargo)?;
    Ok(String::new())
}

fn wasm_build(bench: &mut Bench) -> Outcome<String> {
    let probe = wasm::build(bench.repo, &bench.metadata)?;
    let bytes = probe.metadata().map_or(0, |metadata| metadata.len());
    bench.probe = Some(probe);
    Ok(format!("probe of {} KB", bytes / 1000))
}

/// As it is given out, so that what is tested is what people get.
fn phone_app(bench: &mut Bench) -> Outcome<String> {
    let app = phone::build(bench.repo, &bench.metadata, false)?;
    let travels = phone::travels(&app)?;
    bench.app = Some(app);
    bench.axe = Some(axe::fetch(bench.repo, &bench.metadata)?);
    Ok(format!("{} KB to download", travels / 1000))
}

/// The programs that the tests of whole processes start. Each such test would build them by
/// itself, and wait for the others to do so, against its own time.
fn programs(bench: &mut Bench) -> Outcome<String> {
    for (package, program) in [("gudgeon-cli", "gudgeon"), ("gudgeon-relay", "gudgeon-relay")] {
        run::status(bench.repo.cargo().args(["build", "--package", package, "--bin", program]))?;
    }
    Ok(String::new())
}

/// With the probe and the app: the `ci` profile, which runs every test. Without: the default one.
fn nextest(bench: &mut Bench) -> Outcome<String> {
    let mut cargo = bench.repo.cargo();
    cargo.args(["nextest", "run", "--workspace"]);
    if let Some(probe) = &bench.probe {
        cargo.args(["--profile", "ci"]).env(wasm::PROBE, probe);
    }
    if let (Some(app), Some(axe)) = (&bench.app, &bench.axe) {
        cargo.env(phone::APP, app).env(axe::AXE, axe);
    }
    let closing = &mut bench.closing;
    run::watched(&mut cargo, |text| {
        if text.trim_start().starts_with("Summary [") {
            text.clone_into(closing);
        }
    })?;
    let counts = bench.closing.split_once(']').map_or("", |(_, counts)| counts.trim());
    Ok(counts.to_owned())
}

fn doc_tests(bench: &mut Bench) -> Outcome<String> {
    run::status(bench.repo.cargo().args(["test", "--quiet", "--doc", "--workspace"]))?;
    Ok(String::new())
}

fn documentation(bench: &mut Bench) -> Outcome<String> {
    let mut cargo = bench.repo.cargo();
    cargo.args(["doc", "--workspace", "--no-deps"]).env("RUSTDOCFLAGS", "-D warnings");
    run::status(&mut cargo)?;
    Ok(String::new())
}
