//! Pictures of HTML files, by a headless browser: phone and A4, light and dark, and the print.
//!
//! The paper of the print is what the page's own `@page` says.

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::failure::{Doing, Failure, Outcome};
use crate::repo::Repo;
use crate::{run, setup};

/// How one picture of a page is taken.
struct View {
    name: &'static str,
    /// Width and height in CSS pixels.
    window: &'static str,
    dark: bool,
}

const VIEWS: &[View] = &[
    View { name: "phone-paper", window: "390,844", dark: false },
    View { name: "phone-dark", window: "390,844", dark: true },
    // A4 at 96 pixels an inch
    View { name: "a4-paper", window: "794,1123", dark: false },
    View { name: "a4-dark", window: "794,1123", dark: true },
];

/// Browsers that would do, the smaller first.
const BROWSERS: &[&str] = &["chromium-headless-shell", "chromium", "chromium-browser"];

/// Nothing but the page: no network of its own, no first run, no GPU.
const FLAGS: &[&str] = &[
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
    "--force-device-scale-factor=2",
];

pub(crate) fn main(repo: &Repo, arguments: &[String]) -> Outcome {
    let (pages, out) = split(arguments)?;
    setup::ensure(repo, &[setup::BROWSER, setup::PDF_PICTURES])?;
    let browser = browser(repo).ok_or_else(|| Failure::new("no browser to take pictures with"))?;
    std::fs::create_dir_all(&out).doing(out.display())?;
    let profile = std::env::temp_dir().join(format!("gudgeon-png-{}", std::process::id()));
    let outcome = pages.iter().try_for_each(|page| picture(repo, browser, &profile, page, &out));
    if profile.exists() {
        std::fs::remove_dir_all(&profile).doing(profile.display())?;
    }
    outcome
}

/// The browser that is installed, if any.
pub(crate) fn browser(repo: &Repo) -> Option<&'static str> {
    BROWSERS.iter().copied().find(|name| run::works(repo.program(name).arg("--version")))
}

/// Pages and the directory that takes their pictures. Paths are as the caller typed them: cargo
/// starts us where the caller stands.
fn split(arguments: &[String]) -> Outcome<(Vec<PathBuf>, PathBuf)> {
    let mut pages = Vec::new();
    let mut out = PathBuf::from(".");
    let mut words = arguments.iter();
    while let Some(word) = words.next() {
        if word != "--out" {
            pages.push(Path::new(word).canonicalize().doing(word)?);
            continue;
        }
        out = words.next().ok_or_else(|| Failure::new("--out needs a directory"))?.into();
    }
    if pages.is_empty() {
        return Err(Failure::new("no page given").hint("cargo xtask png FILE.html... [--out DIR]"));
    }
    let here = std::env::current_dir().doing("finding the current directory")?;
    Ok((pages, here.join(out)))
}

fn picture(repo: &Repo, browser: &str, profile: &Path, page: &Path, out: &Path) -> Outcome {
    let stem = page.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    for view in VIEWS {
        let file = out.join(format!("{stem}-{}.png", view.name));
        let mut command = start(repo, browser, profile);
        command.arg(format!("--window-size={}", view.window));
        // the engine's own setting behind `prefers-color-scheme`: 0 is dark, 1 is light
        let scheme = if view.dark { 0 } else { 1 };
        command.arg(format!("--blink-settings=preferredColorScheme={scheme}"));
        command.arg(format!("--screenshot={}", file.display())).arg(address(page));
        take(&mut command, &file)?;
    }
    let pdf = out.join(format!("{stem}-print.pdf"));
    let mut command = start(repo, browser, profile);
    command.arg("--no-pdf-header-footer").arg(format!("--print-to-pdf={}", pdf.display()));
    take(command.arg(address(page)), &pdf)?;
    let mut pages = repo.program("pdftoppm");
    pages.args(["-png", "-r", "110"]).arg(&pdf).arg(out.join(format!("{stem}-print")));
    run::status(&mut pages)
}

fn start(repo: &Repo, browser: &str, profile: &Path) -> Command {
    let mut command = repo.program(browser);
    command.args(FLAGS).arg(format!("--user-data-dir={}", profile.display()));
    command
}

fn address(page: &Path) -> String {
    format!("file://{}", page.display())
}

/// The browser ends well even when it drew nothing: only the file itself proves the picture.
fn take(command: &mut Command, file: &Path) -> Outcome {
    if file.exists() {
        std::fs::remove_file(file).doing(file.display())?;
    }
    let done = command.output().doing(run::line(command))?;
    if file.exists() {
        println!("{}", file.display());
        return Ok(());
    }
    let said = String::from_utf8_lossy(&done.stderr).into_owned();
    Err(Failure::new(format!("the browser made no {}:\n{said}", file.display())))
}
