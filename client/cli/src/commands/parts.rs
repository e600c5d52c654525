//! Parts: received, put in their places, out to others and back.

use clap::{Args, Subcommand};
use gudgeon_core::engine::{part as sorts, suggest};
use gudgeon_core::entry::Payload;
use gudgeon_core::entry::payload::{Custody as Moved, Fitting, FittingState, PartReceived};
use gudgeon_core::quantity::Kind;

use super::enter_one;
use crate::desk::{Desk, Sight};
use crate::failure::Failure;
use crate::out::Outcome;
use crate::pick;
use crate::settings::Settings;
use crate::typed::{above_nothing, maybe, new_mark, one_of, part_mark, words};

#[derive(Debug, Subcommand)]
pub(crate) enum Part {
    /// Enter a part that came in.
    Receive(Receive),
    /// Choose a part for a place.
    Allot(Place),
    /// Put a part in a place.
    Fit(Place),
    /// Take a part out of a place.
    Out(Place),
}

#[derive(Args, Debug)]
pub(crate) struct Receive {
    /// Its mark, such as B; or sort and mark, such as piston/B. Several that are alike are one entry each.
    #[arg(required = true, value_name = "MARK")]
    marks: Vec<String>,
    /// What it is, such as piston.
    #[arg(long)]
    sort: Option<String>,
    /// Batch as printed.
    #[arg(long, default_value = "")]
    batch: String,
    /// Its weight.
    #[arg(long)]
    weight: Option<String>,
    /// Wall, of shells.
    #[arg(long)]
    wall: Option<String>,
    /// How many, of a set.
    #[arg(long, default_value_t = 1)]
    count: u32,
    /// Words.
    #[arg(long, default_value = "")]
    note: String,
}

#[derive(Args, Debug)]
pub(crate) struct Place {
    /// The part, such as piston/B.
    part: String,
    /// The place, such as bore/3.
    place: String,
    /// Which way round, such as "arrow to front".
    #[arg(long, default_value = "")]
    way: String,
    /// Words.
    #[arg(long, default_value = "")]
    note: String,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Custody {
    /// Parts go out to somebody.
    Out(Hands),
    /// Parts come back.
    Back(Hands),
}

#[derive(Args, Debug)]
pub(crate) struct Hands {
    /// The parts, such as crank/K1.
    #[arg(required = true)]
    parts: Vec<String>,
    /// With whom.
    #[arg(long)]
    with: String,
    /// What their ticket says: a claim, to be measured again.
    #[arg(long, default_value = "")]
    ticket: String,
}

pub(crate) fn part(command: Part, settings: &Settings) -> Outcome {
    match command {
        Part::Receive(args) => receive(&args, settings),
        Part::Allot(args) => enter_one(settings, |_, sight| placed(&args, FittingState::Allotted, sight)),
        Part::Fit(args) => enter_one(settings, |_, sight| placed(&args, FittingState::Fitted, sight)),
        Part::Out(args) => enter_one(settings, |_, sight| placed(&args, FittingState::TakenOut, sight)),
    }
}

fn receive(args: &Receive, settings: &Settings) -> Outcome {
    let mut desk = Desk::open(settings)?;
    let sight = desk.sight()?;
    let says = args.marks.iter().map(|mark| received(mark, args)).collect::<Result<Vec<_>, _>>()?;
    Ok(desk.enter(sight, &says)?.answer())
}

fn received(mark: &str, args: &Receive) -> Result<Payload, Failure> {
    let (sort, mark) = match (mark.split_once('/'), &args.sort) {
        (Some((sort, mark)), None) => (sort, mark),
        (None, Some(sort)) => (sort.as_str(), mark),
        (Some((of_mark, mark)), Some(sort)) if of_mark == sort => (of_mark, mark),
        (Some((of_mark, _)), Some(sort)) => {
            return Err(Failure::usage(format!("`{of_mark}` and `{sort}` are two sorts"), "give one"));
        }
        (None, None) => {
            return Err(Failure::usage("what the part is is missing", "add --sort, such as --sort piston"));
        }
    };
    let known: Vec<&str> = sorts::PART_SORTS.iter().map(|row| row.name).collect();
    Ok(Payload::PartReceived(PartReceived {
        mark: new_mark(mark)?,
        sort: one_of("sort of part", sort, &known)?.to_owned(),
        batch: args.batch.clone(),
        weight: above_nothing("weight", maybe(args.weight.as_deref(), Kind::Mass)?)?,
        wall: above_nothing("wall", maybe(args.wall.as_deref(), Kind::Length)?)?,
        count: args.count,
        note: args.note.clone(),
    }))
}

fn placed(args: &Place, state: FittingState, sight: &Sight) -> Result<Payload, Failure> {
    let part = part_mark(sight, &args.part)?;
    let place = pick::feature(sight, &args.place)?;
    let sort = sorts::of_mark(&part);
    if let Some(sort) = sort.filter(|sort| !sort.places.contains(&place.kind())) {
        let known: Vec<&str> = sort.places.iter().map(|kind| kind.name()).collect();
        let cause = format!("a {} is not fitted at a {}", sort.name, place.kind());
        return Err(Failure::refused("wrong-place", cause, suggest("", &known)));
    }
    Ok(Payload::Fitting(Fitting {
        part,
        place: place.path().to_owned(),
        state,
        orientation: args.way.clone(),
        note: args.note.clone(),
    }))
}

pub(crate) fn custody(command: Custody, settings: &Settings) -> Outcome {
    let (args, out) = match &command {
        Custody::Out(args) => (args, true),
        Custody::Back(args) => (args, false),
    };
    let mut strangers: Vec<String> = Vec::new();
    let mut answer = enter_one(settings, |_, sight| {
        let parts = args.parts.iter().map(|part| part_mark(sight, part)).collect::<Result<Vec<_>, _>>()?;
        strangers.extend(parts.iter().filter(|part| !is_received(sight, part)).cloned());
        Ok(Payload::Custody(Moved {
            parts,
            out,
            with_whom: words("name", &args.with)?,
            ticket: args.ticket.clone(),
        }))
    })?;
    for part in &strangers {
        let receive = settings.line(&["part", "receive", part]);
        answer
            .say(format!("note: {part} was never received: a slip of its mark? else receive it: {receive}"));
    }
    if !out {
        let whom = args.with.as_str();
        let of = args.parts.first().map_or("PART", String::as_str);
        let work = settings.line(&["operation", "OPERATION", "FEATURE", "--part", of, "--outside", whom]);
        answer.line(format!("enter the work that was done on it: {work}"));
    }
    answer.put("never_received", strangers);
    Ok(answer)
}

/// Whether anybody entered that a part came in.
fn is_received(sight: &Sight, part: &str) -> bool {
    let Some((sort, mark)) = part.split_once('/') else { return false };
    sight.assessment.parts_of(&sight.record, sort).contains(mark)
}
