//! Work logged: operations, stops and resumes, words and pictures.

use std::path::PathBuf;

use clap::Args;
use gudgeon_core::engine::{Definition, Feature, suggest};
use gudgeon_core::entry::payload::{
    Note as Words, Operation, Photo as Picture, Resume as Resumed, Stop as Stopped,
};
use gudgeon_core::entry::{EntryId, Kind, Payload};

use super::enter_one;
use crate::codes::Exit;
use crate::desk::{Desk, Sight};
use crate::failure::Failure;
use crate::file_sort::{self, FileSort, picture_type};
use crate::out::{Answer, Outcome};
use crate::pick;
use crate::settings::Settings;
use crate::typed::{part_mark, words};
use crate::words::short_ids;

#[derive(Args, Debug)]
pub(crate) struct Work {
    /// The operation, such as hone.
    operation: String,
    /// What was worked on, such as bore/3 or piston/B.
    #[arg(required_unless_present = "part")]
    features: Vec<String>,
    /// Parts worked on or brought in, such as piston/B.
    #[arg(long)]
    part: Vec<String>,
    /// Who did it, where not the one who signs.
    #[arg(long, value_name = "NAME")]
    by: Option<String>,
    /// Name of the outside shop that did it.
    #[arg(long, value_name = "SHOP")]
    outside: Option<String>,
    /// Words.
    #[arg(long)]
    note: Option<String>,
}

#[derive(Args, Debug)]
pub(crate) struct Stop {
    /// The step that stops.
    step: String,
    /// What was found.
    #[arg(long)]
    found: String,
    /// A tag that everybody sees, such as "do not turn: stage 1".
    #[arg(long)]
    tag: Option<String>,
    /// Where it was found.
    #[arg(long)]
    feature: Option<String>,
}

#[derive(Args, Debug)]
pub(crate) struct Resume {
    /// The step that stopped, or the first digits of the stop.
    stop: String,
    /// What it was, and what was done about it.
    #[arg(long)]
    note: Option<String>,
}

#[derive(Args, Debug)]
pub(crate) struct Note {
    /// The words.
    text: String,
    /// On which feature; the engine otherwise.
    #[arg(long)]
    feature: Option<String>,
}

#[derive(Args, Debug)]
pub(crate) struct Photo {
    /// A JPEG, PNG or WebP picture of at most 600 KiB.
    file: PathBuf,
    /// On which feature; the engine otherwise.
    #[arg(long)]
    feature: Option<String>,
    /// What it shows.
    #[arg(long, default_value = "")]
    caption: String,
}

pub(crate) fn work(args: &Work, settings: &Settings) -> Outcome {
    let mut desk = Desk::open(settings)?;
    let sight = desk.sight()?;
    let operation = operation_of(args, &sight)?;
    let entered = desk.enter(sight, &[Payload::Operation(operation)])?;
    let mut answer = Answer::new();
    entered.say_saved(&mut answer);
    if !entered.add_ended(&mut answer) {
        answer.line("nothing ended by it");
    }
    entered.add_changes(&mut answer);
    Ok(answer)
}

fn operation_of(args: &Work, sight: &Sight) -> Result<Operation, Failure> {
    let features =
        args.features.iter().map(|path| pick::feature(sight, path)).collect::<Result<Vec<_>, _>>()?;
    let parts = args.part.iter().map(|part| part_mark(sight, part)).collect::<Result<Vec<_>, _>>()?;
    for feature in &features {
        check_operation(sight, &args.operation, feature)?;
    }
    if features.is_empty() {
        check_name(sight, &args.operation)?;
    }
    Ok(Operation {
        operation: args.operation.clone(),
        features: features.iter().map(|feature| feature.path().to_owned()).collect(),
        parts,
        note: args.note.clone().unwrap_or_default(),
        done_by: args.by.as_deref().map(|name| pick::person(sight.roster(), name)).transpose()?,
        outside_shop: args.outside.clone().unwrap_or_default(),
    })
}

fn check_operation(sight: &Sight, name: &str, feature: &Feature) -> Result<(), Failure> {
    let definition = sight.definition()?;
    let kind = feature.kind();
    if definition.operation(name, kind).is_some() {
        return Ok(());
    }
    let rows = definition.operations().iter().filter(|row| row.on == kind);
    let known: Vec<&str> = rows.map(|row| row.name.as_str()).collect();
    let hint = match (begins_with(name, &known), elsewhere(definition, name)) {
        (Some(hint), _) => hint,
        (None, Some(hint)) if known.is_empty() => hint,
        (None, Some(hint)) => format!("{hint}; on a {kind}: {}", known.join(", ")),
        (None, None) if known.is_empty() => format!("no operation is logged on a {kind}"),
        (None, None) => suggest(name, &known),
    };
    Err(Failure::not_found("unknown-operation", format!("`{name}` is not done on a {kind}"), hint))
}

/// `grind` means `grind-journal`, where that is done.
fn begins_with(name: &str, known: &[&str]) -> Option<String> {
    let near: Vec<String> =
        known.iter().filter(|row| row.starts_with(name)).map(|row| format!("`{row}`")).collect();
    (!near.is_empty()).then(|| format!("did you mean {}?", near.join(" or ")))
}

/// On what an operation is done that is not done here.
fn elsewhere(definition: &Definition, name: &str) -> Option<String> {
    let rows = definition.operations().iter();
    let rows: Vec<_> = rows.filter(|row| !name.is_empty() && row.name.starts_with(name)).collect();
    let first = rows.first()?;
    let same = rows.iter().filter(|row| row.name == first.name);
    let mut on: Vec<&str> =
        same.filter_map(|row| definition.features_of(row.on).first()).map(Feature::path).collect();
    on.dedup();
    (!on.is_empty())
        .then(|| format!("`{}` is logged on what was worked on, such as {}", first.name, on.join(", ")))
}

fn check_name(sight: &Sight, name: &str) -> Result<(), Failure> {
    let mut known: Vec<&str> = sight.definition()?.operations().iter().map(|row| row.name.as_str()).collect();
    known.dedup();
    if known.contains(&name) {
        return Ok(());
    }
    Err(Failure::not_found("unknown-operation", format!("`{name}` is no operation"), suggest(name, &known)))
}

pub(crate) fn stop(args: &Stop, settings: &Settings) -> Outcome {
    enter_one(settings, |_, sight| {
        let step = pick::step(sight, &args.step)?;
        Ok(Payload::Stop(Stopped {
            step: sight.assessment.steps()[step].id.to_string(),
            feature: optional_feature(sight, args.feature.as_deref())?,
            found: words("finding", &args.found)?,
            tag: args.tag.clone().unwrap_or_default(),
        }))
    })
}

pub(crate) fn resume(args: &Resume, settings: &Settings) -> Outcome {
    enter_one(settings, |_, sight| {
        let stop = stop_meant(sight, &args.stop)?;
        Ok(Payload::Resume(Resumed { stop, note: what_it_was(args, settings)? }))
    })
}

/// A stop without an end to its story is a question to everybody who reads the record later.
fn what_it_was(args: &Resume, settings: &Settings) -> Result<String, Failure> {
    let note = args.note.as_deref().unwrap_or_default().trim();
    if !note.is_empty() {
        return Ok(note.to_owned());
    }
    let cause = "work that was stopped is taken up again with what was found; nothing is saved";
    let way_out = settings.line(&["resume", &args.stop, "--note", "WHAT IT WAS"]);
    Err(Failure::new(Exit::Usage, "no-note", cause, format!("say what it was: {way_out}")))
}

/// The one stop of a step that nothing has resumed, or the stop with these digits.
fn stop_meant(sight: &Sight, text: &str) -> Result<EntryId, Failure> {
    const FINDINGS: &str = "`findings` tells what is stopped";
    let open = sight.assessment.open_stops(text);
    match open[..] {
        [stop] => return Ok(stop),
        [] if sight.definition()?.step_index(text).is_some() => {
            return Err(Failure::not_found("not-stopped", format!("step {text} is not stopped"), FINDINGS));
        }
        [] => {}
        [..] => {
            let cause = format!("step {text} was stopped {} times", open.len());
            return Err(Failure::usage(cause, format!("give the digits of one: {}", short_ids(&open))));
        }
    }
    let stop = pick::entry(sight.log(), text).map_err(|failure| no_stop(sight, text, failure))?;
    let kind = sight.log().held(&stop).and_then(gudgeon_core::log::Statement::kind);
    if kind == Some(Kind::Stop) {
        return Ok(stop);
    }
    Err(Failure::refused("not-a-stop", format!("entry {} is no stop", stop.short()), FINDINGS))
}

/// What is neither digits of an entry nor a step may be a slip of a step's name.
fn no_stop(sight: &Sight, text: &str, failure: Failure) -> Failure {
    let known: Vec<&str> = sight.assessment.steps().iter().map(|step| &*step.id).collect();
    let near = pick::perhaps_a_slip(text, &known);
    if near.is_empty() { failure } else { failure.hinting(near) }
}

pub(crate) fn note(args: &Note, settings: &Settings) -> Outcome {
    enter_one(settings, |_, sight| {
        let feature = optional_feature(sight, args.feature.as_deref())?;
        Ok(Payload::Note(Words { feature, text: words("note", &args.text)? }))
    })
}

pub(crate) fn photo(args: &Photo, settings: &Settings) -> Outcome {
    enter_one(settings, |_, sight| {
        let feature = optional_feature(sight, args.feature.as_deref())?;
        file_sort::wanted(&args.file, FileSort::Picture, settings)?;
        let data = std::fs::read(&args.file).map_err(|error| Failure::io("reading", &args.file, &error))?;
        let media_type = picture_type(&data).ok_or_else(|| {
            let cause = format!("{} is no JPEG, PNG or WebP picture", args.file.display());
            Failure::refused("not-a-picture", cause, "save it as one of these first")
        })?;
        Ok(Payload::Photo(Picture {
            feature,
            media_type: media_type.to_owned(),
            data,
            caption: args.caption.clone(),
        }))
    })
}

fn optional_feature(sight: &Sight, path: Option<&str>) -> Result<String, Failure> {
    let feature = path.map(|path| pick::feature(sight, path)).transpose()?;
    Ok(feature.map_or_else(String::new, |feature| feature.path().to_owned()))
}
