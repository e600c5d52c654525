//! A gauge stated anew under its mark: a new calibration or a correction, and what that changes.

use gudgeon_core::assess::{Judged, Workshop};
use gudgeon_core::entry::Payload;
use gudgeon_core::entry::payload::Instrument;
use gudgeon_core::log::Statement;
use gudgeon_core::roster::Version;
use serde_json::{Value as Json, json};

use crate::desk::{Desk, Sight};
use crate::failure::Failure;
use crate::out::Answer;
use crate::when;

/// Most verdicts that are named one by one.
const FEW: usize = 12;

/// What was held before the gauge was stated anew.
pub(super) struct Before {
    stated: Instrument,
    records: Vec<Sight>,
}

impl Before {
    /// None where nothing was stated under the mark.
    pub(super) fn of(desk: &Desk, now: &Instrument) -> Result<Option<Self>, Failure> {
        let workshop = desk.workshop()?;
        let Some(stated) = stated_before(&workshop, now) else { return Ok(None) };
        let records =
            desk.records()?.into_iter().map(|(id, _)| desk.sight_of(id)).collect::<Result<_, _>>()?;
        Ok(Some(Self { stated, records }))
    }

    /// Says what the new statement is, how many readings it speaks for, and which verdicts it changed.
    pub(super) fn say(&self, answer: &mut Answer, desk: &Desk, now: &Instrument) -> Result<(), Failure> {
        let workshop = desk.workshop()?;
        let used: usize = self.records.iter().map(|sight| readings_under(sight, &workshop, now)).sum();
        let (word, text) = self.sort_of(now);
        answer.say(format!("{} was stated already: {text}.", now.mark));
        answer.say(match used {
            0 => "No reading held here rests on it.".to_owned(),
            1 => "1 reading held here rests on it, and is judged by what is stated now.".to_owned(),
            several => {
                format!("{several} readings held here rest on it, and are judged by what is stated now.")
            }
        });
        let mut changed = Vec::new();
        for before in &self.records {
            let after = desk.sight_of(before.log().document())?;
            changed.extend(changes(before, &after));
        }
        for line in changed.iter().take(FEW) {
            answer.line(format!("verdict changed: {line}"));
        }
        if changed.len() > FEW {
            answer.line(format!("and {} more", changed.len() - FEW));
        }
        answer.put("stated_before", json!({ "as": word, "readings": used, "verdicts_changed": changed.iter().cloned().collect::<Json>() }));
        Ok(())
    }

    /// Whether this is another calibration or the same one, put right.
    fn sort_of(&self, now: &Instrument) -> (&'static str, String) {
        let day = when::day;
        match (self.stated.calibrated_on, now.calibrated_on) {
            (Some(before), Some(after)) if after > before => (
                "calibration",
                format!(
                    "this is its new calibration, from {} on; the one of {} stays for the time it held",
                    day(after),
                    day(before)
                ),
            ),
            (Some(before), Some(after)) if after < before => (
                "earlier-calibration",
                format!(
                    "this is an earlier calibration, of {}, entered after the one of {}",
                    day(after),
                    day(before)
                ),
            ),
            (Some(before), Some(_)) => {
                let word = if self.stated == *now { "says the same again" } else { "corrects it" };
                ("correction", format!("this {word}, for the same calibration of {}", day(before)))
            }
            (None, Some(after)) => {
                ("calibration", format!("this is its first calibration with a date, of {}", day(after)))
            }
            (Some(before), None) => (
                "correction",
                format!(
                    "this names no date of calibration, so it speaks only for readings before the first; the one of {} stays",
                    day(before)
                ),
            ),
            (None, None) => ("correction", "this corrects it; no calibration is named".to_owned()),
        }
    }
}

/// What was stated of the same calibration; else what was stated last.
fn stated_before(workshop: &Workshop, now: &Instrument) -> Option<Instrument> {
    let all = workshop.roster().instruments().get(&now.mark)?;
    let same = all.all().iter().filter(|version| version.says.calibrated_on == now.calibrated_on);
    let log = workshop.log();
    let knows = |later: &Version<Instrument>, earlier: &Version<Instrument>| {
        log.place(&later.id).zip(log.place(&earlier.id)).is_some_and(|(a, b)| log.knows(a, b))
    };
    let newest = same.clone().find(|version| !same.clone().any(|other| knows(other, version)));
    let stated = newest.or_else(|| all.latest()).or_else(|| all.newest().next())?;
    Some(stated.says.clone())
}

/// Readings for which that statement speaks: with the gauge, or with one that was set with it.
fn readings_under(sight: &Sight, workshop: &Workshop, now: &Instrument) -> usize {
    let with = |statement: &&Statement| match &statement.payload {
        Ok(Payload::Reading(reading)) => {
            let moment = statement.device_time;
            let at = |mark: &str| workshop.gauge_at(mark, moment);
            let set_with = at(&reading.gauge).map(|gauge| gauge.master.as_str());
            let master = if reading.master.is_empty() { set_with } else { Some(reading.master.as_str()) };
            let named = reading.gauge == now.mark || master == Some(now.mark.as_str());
            named && at(&now.mark).is_some_and(|gauge| gauge.calibrated_on == now.calibrated_on)
        }
        _ => false,
    };
    sight.log().folded().iter().filter(with).count()
}

/// `Ouse 17, pin/2 diameter: within, now not proven`.
fn changes(before: &Sight, after: &Sight) -> Vec<String> {
    let mut changed = Vec::new();
    for view in after.assessment.features() {
        let path = view.feature.path();
        for value in view.values {
            let old = before.assessment.value(path, value.name).map(Judged::verdict);
            if let Some(old) = old.filter(|old| *old != value.verdict()) {
                changed.push(format!(
                    "{}, {path} {}: was {old}, is {}",
                    after.name(),
                    value.name,
                    value.verdict()
                ));
            }
        }
    }
    changed
}
