//! Readings: one, or a whole set.

use std::collections::BTreeSet;

use clap::Args;
use gudgeon_core::assess::Judged;
use gudgeon_core::entry::payload::Reading;
use gudgeon_core::entry::{Kind, Payload};
use gudgeon_core::log::Ix;
use serde_json::Value as Json;

use super::read_file;
use super::read_twice;
use super::read_typed::{Typed, missing_conditions};
use super::slip;
use crate::desk::{Desk, Sight};
use crate::enter::Entered;
use crate::failure::Failure;
use crate::file_sort::{self, FileSort};
use crate::out::{Answer, Outcome, progress};
use crate::settings::Settings;
use crate::words;

#[derive(Args, Debug)]
pub(crate) struct Read {
    /// What is measured, such as bore/3, rod/3/big-end or piston/B/skirt.
    #[arg(required_unless_present = "csv")]
    feature: Option<String>,
    /// Which characteristic, such as diameter.
    #[arg(required_unless_present = "csv")]
    characteristic: Option<String>,
    /// The value with its unit, as read; with --set-size the deviation from it.
    #[arg(required_unless_present = "csv", allow_hyphen_values = true)]
    value: Option<String>,
    /// A whole set from a file of values separated by commas, semicolons or tabs, or from stdin with `-`. The first line names the columns:
    /// feature, characteristic, value; and as wanted unit, station, gauge, master, set-size, part-temp, gauge-temp,
    /// both-at, cond, part, read-by, called-out, blind, set, note. Nothing is saved unless every line is good.
    #[arg(long, value_name = "FILE", conflicts_with_all = ["feature", "characteristic", "value"])]
    csv: Option<std::path::PathBuf>,
    /// With --csv: save the good lines though others are not.
    #[arg(long, requires = "csv")]
    good_lines: bool,
    /// With --csv: everything was read again and came out the same; the earlier readings give way.
    #[arg(long, requires = "csv")]
    read_again: bool,
    #[command(flatten)]
    circumstances: Circumstances,
}

/// What holds for a reading; with --csv, for every line that says nothing else.
#[derive(Args, Debug)]
struct Circumstances {
    /// Where on the feature, such as top/thrust.
    #[arg(long, alias = "at", value_name = "STATION", visible_alias = "at")]
    station: Option<String>,
    /// Unit of values typed without one.
    #[arg(long)]
    unit: Option<String>,
    /// Mark of the gauge.
    #[arg(long)]
    gauge: Option<String>,
    /// Mark of what the gauge was set with, where not its own.
    #[arg(long)]
    master: Option<String>,
    /// The size the gauge was set to: the value is the deviation from it.
    #[arg(long, value_name = "SIZE")]
    set_size: Option<String>,
    /// Temperature of the part, such as 12C.
    #[arg(long, value_name = "T", allow_hyphen_values = true)]
    part_temp: Option<String>,
    /// Temperature of the gauge.
    #[arg(long, value_name = "T", allow_hyphen_values = true)]
    gauge_temp: Option<String>,
    /// Temperature of both.
    #[arg(long, value_name = "T", allow_hyphen_values = true, conflicts_with_all = ["part_temp", "gauge_temp"])]
    both_at: Option<String>,
    /// Conditions, such as shells-out,caps-tightened.
    #[arg(long, value_delimiter = ',')]
    cond: Vec<String>,
    /// The part, where the feature does not name it.
    #[arg(long)]
    part: Option<String>,
    /// Who read it, where not the one who signs.
    #[arg(long, value_name = "NAME")]
    read_by: Option<String>,
    /// It was called out across the shop.
    #[arg(long)]
    called_out: bool,
    /// It was read without sight of the first person's value.
    #[arg(long)]
    blind: bool,
    /// Name for readings taken together, between two gauge checks.
    #[arg(long)]
    set: Option<String>,
    /// Words.
    #[arg(long)]
    note: Option<String>,
}

impl Circumstances {
    fn typed(&self) -> Typed {
        let text = |given: &Option<String>| given.clone().unwrap_or_default();
        Typed {
            unit: self.unit.clone(),
            station: text(&self.station),
            gauge: text(&self.gauge),
            master: text(&self.master),
            set_size: self.set_size.clone(),
            part_temp: self.part_temp.clone(),
            gauge_temp: self.gauge_temp.clone(),
            both_at: self.both_at.clone(),
            conditions: self.cond.clone(),
            part: self.part.clone(),
            read_by: self.read_by.clone(),
            called_out: self.called_out,
            blind: self.blind,
            set: text(&self.set),
            note: text(&self.note),
            ..Typed::default()
        }
    }
}

pub(crate) fn read(args: &Read, settings: &Settings) -> Outcome {
    match &args.csv {
        Some(file) => read_set(args, file, settings),
        None => read_one(args, settings),
    }
}

fn read_one(args: &Read, settings: &Settings) -> Outcome {
    let text = |given: &Option<String>| given.clone().unwrap_or_default();
    let typed = Typed {
        feature: text(&args.feature),
        characteristic: text(&args.characteristic),
        value: text(&args.value),
        ..args.circumstances.typed()
    };
    let mut desk = Desk::open(settings)?;
    let sight = desk.sight()?;
    let reading = typed.reading(&sight).map_err(several)?;
    let entered = desk.enter(sight, &[Payload::Reading(Box::new(reading.clone()))])?;
    let mut answer = Answer::new();
    entered.say_saved(&mut answer);
    slip::say(&mut answer, settings, &entered, &[(None, &reading)]);
    say_conditions(&mut answer, &entered.after, [&reading].into_iter());
    if let Some(ix) = entered.first() {
        let status = entered.after.assessment.status(ix);
        if !status.stands() {
            answer.line(words::fate(&entered.after, ix));
        }
        answer.put("status", status.word());
    }
    add_values(&mut answer, &entered);
    entered.add_changes(&mut answer);
    Ok(answer)
}

/// One failure as it is; several as one with all of them.
fn several(mut failures: Vec<Failure>) -> Failure {
    match failures.len() {
        1 => failures.remove(0),
        count => {
            let problems = failures.into_iter().map(|failure| failure.at("this reading")).collect();
            Failure::refused(
                "bad-reading",
                format!("{count} things are wrong with this reading"),
                "mend them all",
            )
            .with(problems)
        }
    }
}

fn read_set(args: &Read, file: &std::path::Path, settings: &Settings) -> Outcome {
    let mut desk = Desk::open(settings)?;
    let sight = desk.sight()?;
    file_sort::wanted(file, FileSort::Readings, settings)?;
    let set = read_file::read(file, &args.circumstances.typed(), &sight)?;
    let (good, bad) = (set.readings, set.problems);
    if !bad.is_empty() && !args.good_lines || good.is_empty() {
        let cause = match bad.len() {
            0 => "there is no reading in it".to_owned(),
            wrong => format!(
                "{} wrong; nothing of {} is saved",
                words::count(wrong, "thing is", "things are"),
                words::count(set.lines, "line", "lines"),
            ),
        };
        let hint = "mend them, or save the good lines alone with --good-lines";
        return Err(Failure::refused("bad-lines", cause, hint).with(bad));
    }
    if good.len() > 500 {
        progress(&format!("signing {} readings", good.len()));
    }
    let said = read_twice::said_already(&sight, desk.key_for(&[Kind::Reading])?.key, &good);
    if said.len() == good.len() && !args.read_again {
        return Err(read_twice::nothing_new(file, &sight, &said).with(bad));
    }
    let says: Vec<Payload> =
        good.iter().map(|(_, reading)| Payload::Reading(Box::new(reading.clone()))).collect();
    let entered = desk.enter(sight, &says)?;
    let mut answer = Answer::new();
    for problem in &bad {
        answer.say(format!("not saved: {}: {}", problem.place, problem.cause));
    }
    entered.say_saved(&mut answer);
    if !args.read_again {
        read_twice::say(&mut answer, &said);
    }
    answer.put("said_already", said.iter().map(|said| said.line).collect::<Vec<_>>());
    answer.put("lines", set.lines);
    answer.put("not_saved", bad.len());
    let lines: Vec<_> = good.iter().map(|(line, reading)| (Some(*line), reading)).collect();
    slip::say(&mut answer, settings, &entered, &lines);
    say_conditions(&mut answer, &entered.after, good.iter().map(|(_, reading)| reading));
    add_values(&mut answer, &entered);
    entered.add_changes(&mut answer);
    Ok(answer)
}

fn say_conditions<'r>(answer: &mut Answer, sight: &Sight, readings: impl Iterator<Item = &'r Reading>) {
    let Some(definition) = sight.assessment.definition() else { return };
    let said = readings.filter_map(|reading| {
        let missing = missing_conditions(definition, reading)?;
        Some(format!(
            "note: {} {} is kept, but not judged without {missing}",
            reading.feature, reading.characteristic
        ))
    });
    said.collect::<BTreeSet<_>>().iter().for_each(|line| answer.say(line));
}

/// Adds every value that rests on one of the new readings, with its verdict.
fn add_values(answer: &mut Answer, entered: &Entered) {
    let new: BTreeSet<Ix> = entered.places().collect();
    let features = entered.after.assessment.features();
    let resting =
        |value: &&Judged| value.readings.iter().any(|ix| new.contains(ix)) || value.obstacle_names(&new);
    let mut json = Vec::new();
    for view in features {
        for value in view.values.iter().filter(resting) {
            answer.line(words::value(view.feature.path(), value));
            json.push(words::value_json(view.feature.path(), value));
        }
    }
    answer.put("values", Json::Array(json));
}

/// Whether the obstacle in the way of a value names one of these readings.
trait Named {
    fn obstacle_names(&self, new: &BTreeSet<Ix>) -> bool;
}

impl Named for Judged {
    fn obstacle_names(&self, new: &BTreeSet<Ix>) -> bool {
        use gudgeon_core::assess::Obstacle;
        match &self.obstacle {
            Some(Obstacle::Disputed(readings) | Obstacle::Undecided(readings, _)) => {
                readings.iter().any(|ix| new.contains(ix))
            }
            Some(Obstacle::Missing(_)) | None => false,
        }
    }
}
