//! The record as one file to print.

use std::fs::File;
use std::io::Write as _;
use std::path::{Path, PathBuf};

use clap::Args;
use gudgeon_core::sheet::{html, model};

use crate::desk::Desk;
use crate::failure::Failure;
use crate::out::{Answer, Outcome};
use crate::settings::Settings;

#[derive(Args, Debug)]
pub(crate) struct Print {
    /// The HTML file to write; `-` for stdout.
    file: PathBuf,
}

pub(crate) fn print(args: &Print, settings: &Settings) -> Outcome {
    let desk = Desk::open(settings)?;
    let sight = desk.sight()?;
    let page = html(&model(&sight.record, &sight.workshop, &sight.assessment));
    let mut answer = Answer::new();
    answer.put("record", sight.log().document().to_hex());
    answer.put("bytes", page.len());
    if args.file == Path::new("-") {
        answer.raw(&page);
        answer.put("html", page);
        return Ok(answer);
    }
    write(&args.file, &page).map_err(|error| Failure::io("writing", &args.file, &error))?;
    answer.say(format!(
        "Wrote {}, {} KiB: open it in a browser and print it.",
        args.file.display(),
        page.len().div_ceil(1024)
    ));
    answer.put("file", args.file.display().to_string());
    Ok(answer)
}

fn write(path: &Path, page: &str) -> std::io::Result<()> {
    let mut file = File::create(path)?;
    file.write_all(page.as_bytes())?;
    file.sync_all()
}
