//! Gauges: what they are worth, their checks, what is due.

use clap::{Args, Subcommand};
use gudgeon_core::assess::{Due, GaugeFacts, Workshop, due, show};
use gudgeon_core::engine::instrument::{INSTRUMENTS, InstrumentSort};
use gudgeon_core::engine::{instrument, material, suggest};
use gudgeon_core::entry::Payload;
use gudgeon_core::entry::payload::{GaugeCheck, Instrument, Millis};
use gudgeon_core::quantity::{Kind, Quantity};
use serde_json::{Value as Json, json};

use super::enter_one;
use super::gauge_again::Before;
use super::gauge_line;
use crate::desk::Desk;
use crate::enter::{Hand, saved};
use crate::failure::Failure;
use crate::out::{Answer, Outcome, columns};
use crate::settings::Settings;
use crate::typed::{maybe, new_mark, one_of, quantity};
use crate::when;

/// How long ahead a calibration is said to be due.
const SOON: Millis = 30 * 24 * 60 * 60 * 1000;

#[derive(Debug, Subcommand)]
pub(crate) enum Gauge {
    /// Add a gauge, or state one anew: the latest statement stands, a lead's before a member's.
    Add(Box<Add>),
    /// Enter a check of a gauge on its master, in the record.
    Check(Check),
}

#[derive(Args, Debug)]
pub(crate) struct Add {
    /// The shop's mark on it.
    mark: String,
    /// What it is, such as outside-micrometer.
    #[arg(long)]
    sort: String,
    /// Smallest step it shows, such as "0.001 mm".
    #[arg(long)]
    resolution: Option<String>,
    /// Largest permissible error, plus or minus, such as "4 µm"; of a wrench "4 %".
    #[arg(long)]
    error: Option<String>,
    /// Standard uncertainty, where it is known as such.
    #[arg(long)]
    uncertainty: Option<String>,
    /// Standard deviation of repeats.
    #[arg(long)]
    repeat: Option<String>,
    /// Sizes it measures, such as "0 mm..25 mm".
    #[arg(long)]
    range: Option<String>,
    /// Mark of the master it is set with.
    #[arg(long, value_name = "MARK")]
    set_with: Option<String>,
    /// When it was calibrated.
    #[arg(long, value_name = "DATE", requires = "due")]
    calibrated: Option<String>,
    /// The last day that holds.
    #[arg(long, value_name = "DATE", requires = "calibrated")]
    due: Option<String>,
    /// Somebody saw the certificate.
    #[arg(long)]
    seen: bool,
    /// What its body is made of; that of its sort otherwise.
    #[arg(long)]
    material: Option<String>,
    /// Whose it is, where not the shop's.
    #[arg(long)]
    owner: Option<String>,
}

#[derive(Args, Debug)]
#[command(group(clap::ArgGroup::new("result").required(true)))]
pub(crate) struct Check {
    /// Mark of the gauge.
    mark: String,
    /// Mark of the master.
    #[arg(long)]
    on: String,
    /// Size of the master.
    #[arg(long)]
    nominal: Option<String>,
    /// What the gauge showed.
    #[arg(long)]
    shows: Option<String>,
    /// It passed.
    #[arg(long, group = "result")]
    passed: bool,
    /// It failed: readings since its last good check are in doubt.
    #[arg(long, group = "result")]
    failed: bool,
    /// The set of readings beside which it stands.
    #[arg(long)]
    set: Option<String>,
}

#[derive(Args, Debug)]
pub(crate) struct Gauges {
    /// Only what is due or soon will be.
    #[arg(long)]
    due: bool,
}

pub(crate) fn gauge(command: Gauge, settings: &Settings) -> Outcome {
    match command {
        Gauge::Add(args) => add(&args, settings),
        Gauge::Check(args) => check(&args, settings),
    }
}

fn add(args: &Add, settings: &Settings) -> Outcome {
    let instrument = instrument_of(args)?;
    let mut desk = Desk::open(settings)?;
    let before = Before::of(&desk, &instrument)?;
    let says = [Payload::Instrument(Box::new(instrument.clone()))];
    let (ids, caveat) = desk.enter_in_workshop(&says, Hand::Own)?;
    let workshop = desk.workshop()?;
    let mut answer = Answer::new();
    let stated = workshop.gauge_calibrated(&args.mark, instrument.calibrated_on);
    if let Some(gauge) = stated.or_else(|| workshop.gauge(&args.mark)) {
        answer.line(worth(gauge, &workshop));
        answer.put("gauge", gauge_json(gauge, &workshop, &[]));
        match lead_line(&desk, &workshop, settings, gauge) {
            Some(line) => answer.say(line),
            None => say_what_is_missing(&mut answer, gauge, &workshop),
        }
    }
    saved(&mut answer, "gauge", &ids, caveat.as_deref());
    if let Some(before) = before {
        before.say(&mut answer, &desk, &instrument)?;
    }
    Ok(answer)
}

fn instrument_of(args: &Add) -> Result<Instrument, Failure> {
    let sort = sort_of(&args.sort)?;
    let (error_limit, error_percent) = error_of(args.error.as_deref(), sort)?;
    let (range_low, range_high) = range_of(args.range.as_deref(), sort.kind)?;
    Ok(Instrument {
        mark: new_mark(&args.mark)?,
        sort: sort.name.to_owned(),
        resolution: maybe(args.resolution.as_deref(), sort.kind)?,
        error_limit,
        standard_uncertainty: maybe(args.uncertainty.as_deref(), sort.kind)?,
        repeatability: maybe(args.repeat.as_deref(), sort.kind)?,
        range_low,
        range_high,
        material: material_of(args.material.as_deref())?,
        master: args.set_with.as_deref().map(new_mark).transpose()?.unwrap_or_default(),
        calibrated_on: args.calibrated.as_deref().map(when::first_of).transpose()?,
        calibration_due: args.due.as_deref().map(when::last_of).transpose()?,
        calibration_seen: args.seen,
        owner: args.owner.clone().unwrap_or_default(),
        error_percent,
    })
}

fn sort_of(text: &str) -> Result<&'static InstrumentSort, Failure> {
    let known: Vec<&str> = INSTRUMENTS.iter().map(|row| row.name).collect();
    one_of("sort of gauge", text, &known)?;
    instrument::find(text)
        .ok_or_else(|| Failure::usage(format!("`{text}` is no sort of gauge"), suggest(text, &known)))
}

/// An error limit as a size, or in per cent where the sort is given so.
fn error_of(
    text: Option<&str>,
    sort: &InstrumentSort,
) -> Result<(Option<Quantity>, Option<Quantity>), Failure> {
    let Some(text) = text else { return Ok((None, None)) };
    let percent = Quantity::parse(text).ok().filter(|parsed| parsed.kind() == Kind::Ratio);
    if percent.is_some() && sort.percent.is_some() {
        return Ok((None, percent));
    }
    Ok((Some(quantity(text, sort.kind)?), None))
}

fn range_of(text: Option<&str>, kind: Kind) -> Result<(Option<Quantity>, Option<Quantity>), Failure> {
    let Some(text) = text else { return Ok((None, None)) };
    let hint = "write both ends, such as \"0 mm..25 mm\"";
    let (low, high) = text
        .split_once("..")
        .ok_or_else(|| Failure::refused("range", format!("`{text}` is no range"), hint))?;
    let (low, high) = (quantity(low, kind)?, quantity(high, kind)?);
    if low.amount() >= high.amount() {
        return Err(Failure::refused("range", format!("{low} is not below {high}"), hint));
    }
    Ok((Some(low), Some(high)))
}

fn material_of(text: Option<&str>) -> Result<String, Failure> {
    let Some(text) = text else { return Ok(String::new()) };
    let known: Vec<&str> = material::MATERIALS.iter().map(|row| &*row.name).collect();
    Ok(one_of("material", text, &known)?.to_owned())
}

fn check(args: &Check, settings: &Settings) -> Outcome {
    enter_one(settings, |_, sight| {
        let kind = sight.workshop.gauge(&args.mark).and_then(|gauge| gauge.kind);
        let size = |text: Option<&str>| match (text, kind) {
            (None, _) => Ok(None),
            (Some(text), Some(kind)) => quantity(text, kind).map(Some),
            (Some(text), None) => Ok(Some(Quantity::parse(text)?)),
        };
        Ok(Payload::GaugeCheck(GaugeCheck {
            gauge: new_mark(&args.mark)?,
            master: new_mark(&args.on)?,
            nominal: size(args.nominal.as_deref())?,
            observed: size(args.shows.as_deref())?,
            passed: args.passed,
            reading_set: args.set.clone().unwrap_or_default(),
        }))
    })
}

pub(crate) fn gauges(args: &Gauges, settings: &Settings) -> Outcome {
    let desk = Desk::open(settings)?;
    let workshop = desk.workshop()?;
    let due = due(&workshop, desk.now(), SOON);
    let shown = |gauge: &&GaugeFacts| !args.due || due.iter().any(|due| *due.mark == *gauge.mark);
    let listed: Vec<&GaugeFacts> = workshop.gauges().filter(shown).collect();
    let mut rows = vec![["MARK", "SORT", "WORTH", "SET WITH", "CALIBRATION"].map(str::to_owned)];
    rows.extend(listed.iter().map(|gauge| row(gauge, &workshop, &due)));
    let mut answer = Answer::new();
    columns(&rows).iter().for_each(|line| answer.line(line));
    answer.put("gauges", listed.iter().map(|gauge| gauge_json(gauge, &workshop, &due)).collect::<Json>());
    Ok(answer)
}

fn row(gauge: &GaugeFacts, workshop: &Workshop, due: &[Due]) -> [String; 5] {
    let set = if gauge.master.is_empty() { "-".to_owned() } else { gauge.master.clone() };
    let mut calibration = calibration(gauge, due);
    if gauge.disputed {
        calibration.push_str("; stated differently, neither knowing of the other");
    }
    [gauge.mark.to_string(), gauge.sort.clone(), uncertainty(gauge, workshop), set, calibration]
}

fn calibration(gauge: &GaugeFacts, due: &[Due]) -> String {
    let until = gauge.calibrated.iter().map(|(_, to)| *to).max();
    let due = due.iter().find(|due| *due.mark == *gauge.mark);
    match (until, due) {
        (None, _) => "not known".to_owned(),
        (Some(until), Some(due)) if due.overdue => format!("OVERDUE since {}", when::day(until)),
        (Some(until), Some(_)) => format!("due soon, until {}", when::day(until)),
        (Some(until), None) => format!("until {}", when::day(until)),
    }
}

fn uncertainty(gauge: &GaugeFacts, workshop: &Workshop) -> String {
    let master = workshop.gauge(&gauge.master);
    let known = if gauge.master.is_empty() || master.is_some() { gauge.set_with(master) } else { None };
    match (known, gauge.kind, percent(gauge)) {
        (Some(u), Some(kind), _) => format!("u {}", show::uncertainty(kind, u.base())),
        (_, _, Some(percent)) => format!("errs by {percent}"),
        _ if !gauge.by_lead => "not proven: no lead has stated it".to_owned(),
        _ => "u not known".to_owned(),
    }
}

/// What a wrench may err by, where that is stated in per cent.
fn percent(gauge: &GaugeFacts) -> Option<String> {
    gauge.error_percent.as_ref().filter(|_| !gauge.disputed).map(ToString::to_string)
}

fn worth(gauge: &GaugeFacts, workshop: &Workshop) -> String {
    format!("gauge {}, {}: {}", gauge.mark, gauge.sort, uncertainty(gauge, workshop))
}

/// Of a gauge that was added on the spot: what a lead enters, so that its readings prove something.
fn lead_line(desk: &Desk, workshop: &Workshop, settings: &Settings, gauge: &GaugeFacts) -> Option<String> {
    if gauge.by_lead {
        return None;
    }
    let enters = gauge_line::sentence(desk, workshop, settings, &gauge.mark)?;
    Some(format!("Its readings prove nothing until {enters}"))
}

/// Says what keeps readings with the gauge from being proven.
fn say_what_is_missing(answer: &mut Answer, gauge: &GaugeFacts, workshop: &Workshop) {
    let needs_master = instrument::find(&gauge.sort).is_some_and(|sort| sort.needs_master);
    if gauge.own.is_none() && percent(gauge).is_none() {
        let until = "Its readings prove nothing until a lead states what it may err by, with --error.";
        answer.say(format!("{until}{}", usual(&gauge.sort, gauge)));
    } else if !gauge.master.is_empty() && workshop.gauge(&gauge.master).is_none() {
        answer.say(format!(
            "Its readings prove nothing until {}, which it is set with, is added too.",
            gauge.master
        ));
    } else if gauge.master.is_empty() && needs_master {
        answer.say("It reads a deviation: name what it is set with, with --set-with, or on each reading with --master.");
    }
}

/// What the table says of a sort, as a hint only.
fn usual(sort: &str, gauge: &GaugeFacts) -> String {
    let size = gauge.range.1.map_or(0, gudgeon_core::quantity::Amount::base);
    let row = instrument::find(sort);
    let said = row.and_then(|row| Some((show::uncertainty(row.kind, row.error_at(size)?), row.source)));
    said.map_or_else(String::new, |(error, source)| {
        format!(" Usual for its sort is an error of up to {error} ({source}).")
    })
}

fn gauge_json(gauge: &GaugeFacts, workshop: &Workshop, due: &[Due]) -> Json {
    let due = due.iter().find(|due| *due.mark == *gauge.mark);
    json!({
        "mark": &*gauge.mark, "sort": gauge.sort, "worth": uncertainty(gauge, workshop), "set_with": gauge.master,
        "by_lead": gauge.by_lead, "disputed": gauge.disputed, "certificate_seen": gauge.seen,
        "calibrated_until": gauge.calibrated.iter().map(|(_, to)| *to).max().map(when::day),
        "overdue": due.is_some_and(|due| due.overdue), "due_soon": due.is_some_and(|due| !due.overdue),
    })
}
