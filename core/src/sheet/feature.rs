//! Features: drawn as shapes, and listed with their readings and values.

use std::collections::{BTreeMap, BTreeSet};

use super::model::{
    BankDrawing, Drawing, FeaturePage, FeatureSheet, PinDrawing, ReadingRow, ReadingTable, Shape, StationRow,
};
use super::rest;
use super::sight::Sight;
use super::state::State;
use super::value;
use super::words::{HIDDEN, place, plain};
use crate::assess::{
    Assessment, Correction, FeatureView, Judged, Record, Signature, Slot, Standing, Taken, Workshop, may_see,
    show,
};
use crate::engine::{Definition, Form, Layout, Target};
use crate::entry::payload::{Payload, Reading};
use crate::log::Ix;
use crate::quantity::Quantity;

/// Every feature that something is known of.
pub(super) fn features(sight: &Sight) -> Vec<FeatureSheet> {
    let stale = stale_paths(sight.assessment);
    let known = sight.assessment.features().filter(|view| State::of_feature(view) > State::NotRead);
    known.map(|view| feature(sight, &view, &stale)).collect()
}

/// All that is known of the feature at a path, and of it on each part that was read there; of the readings in
/// `hidden` that they were taken, and nothing that follows from them.
#[must_use]
pub fn feature_page(
    record: &Record,
    workshop: &Workshop,
    assessment: &Assessment,
    path: &str,
    hidden: &BTreeSet<Ix>,
) -> FeaturePage {
    let sight = Sight::new(record, workshop, assessment).without(hidden);
    let stale = stale_paths(assessment);
    let known = assessment.features().filter(|view| view.feature.path() == path);
    FeaturePage {
        title: place(path),
        known: known.map(|view| feature(&sight, &view, &stale)).collect(),
        past: rest::past_on(&sight, path),
        done: rest::done_on(&sight, path),
    }
}

fn feature(sight: &Sight, view: &FeatureView, stale: &BTreeSet<String>) -> FeatureSheet {
    let path = view.feature.path();
    FeatureSheet {
        path: path.to_owned(),
        title: place(path),
        part: view.part.to_owned(),
        state: with_stale(State::of_feature_without(view, sight.hidden()), path, stale),
        values: view
            .values
            .iter()
            .filter(|judged| is_told(judged))
            .map(|judged| value::value(sight, view, judged))
            .collect(),
        tables: tables(sight, view),
    }
}

/// Whether there is a value, or a limit that waits for one.
const fn is_told(judged: &Judged) -> bool {
    judged.low.is_some() || judged.limit.is_some()
}

/// Slots by characteristic, in the order of the table.
fn tables(sight: &Sight, view: &FeatureView) -> Vec<ReadingTable> {
    let mut tables: Vec<ReadingTable> = Vec::new();
    for slot in view.slots {
        let row = station(sight, slot);
        if row.readings.is_empty() {
            continue;
        }
        let name = plain(slot.row.name);
        match tables.last_mut().filter(|table| table.name == name) {
            Some(table) => table.stations.push(row),
            None => tables.push(ReadingTable {
                name,
                about: slot.row.about,
                corrected: slot.row.temperature_matters,
                stations: vec![row],
            }),
        }
    }
    for table in &mut tables {
        sort_stations(sight, view, table);
    }
    tables
}

/// Stations in the order in which they are read; further ones after them, by name.
fn sort_stations(sight: &Sight, view: &FeatureView, table: &mut ReadingTable) {
    let row = view.slots.iter().find(|slot| plain(slot.row.name) == table.name).map(|slot| slot.row);
    let needed =
        row.and_then(|row| sight.assessment.definition().map(|d| d.stations(row))).unwrap_or_default();
    let at = |station: &str| needed.iter().position(|one| **one == *station).unwrap_or(needed.len());
    table.stations.sort_by_key(|row| (at(&row.station), row.station.clone(), row.conditions.clone()));
    for row in &mut table.stations {
        row.station = row.station.replace('/', ", ");
    }
}

fn station(sight: &Sight, slot: &Slot) -> StationRow {
    let speaks = |taken: &&Taken| sight.assessment.status(taken.ix).speaks();
    let mut taken: Vec<&Taken> = slot.readings.iter().filter(speaks).collect();
    taken.sort_by_key(|taken| sight.rank(taken.ix));
    let all: Vec<Ix> = taken.iter().map(|taken| taken.ix).collect();
    let (stands, u, state) = match &slot.standing {
        _ if !sight.may_see(&all) => (HIDDEN.to_owned(), String::new(), Some(State::InHand)),
        Standing::Value(value) => {
            let u = value.u.map(|u| show::uncertainty(slot.row.kind, u.base()));
            (show::amount(slot.row.kind, value.value), u.unwrap_or_default(), None)
        }
        Standing::Disputed(_) => ("readings differ".to_owned(), String::new(), Some(State::Disputed)),
        Standing::Undecided(..) => ("before or after?".to_owned(), String::new(), Some(State::Disputed)),
        Standing::Empty => ("nothing stands".to_owned(), String::new(), Some(State::NotRead)),
    };
    StationRow {
        station: slot.station.to_string(),
        conditions: slot.conditions.iter().map(|condition| plain(condition)).collect(),
        fit: slot.fit,
        stands,
        u,
        state,
        readings: taken.into_iter().filter_map(|taken| reading(sight, taken)).collect(),
    }
}

fn reading(sight: &Sight, taken: &Taken) -> Option<ReadingRow> {
    let Ok(Payload::Reading(reading)) = &sight.log().at(taken.ix).payload else { return None };
    let temperature = |q: &Option<Quantity>| q.as_ref().map(ToString::to_string).unwrap_or_default();
    let may_see = sight.may_see(&[taken.ix]);
    let seen = |text: String| if may_see { text } else { String::new() };
    Some(ReadingRow {
        typed: if may_see { show::reading(reading) } else { "read".to_owned() },
        read_by: reading.read_by.map_or_else(|| sight.author(taken.ix), |person| sight.name(person)),
        by: sight.mention(taken.ix),
        gauge: gauge(sight, reading, taken.ix),
        part_temperature: temperature(&reading.part_temperature),
        gauge_temperature: temperature(&reading.gauge_temperature),
        corrected: seen(show::amount(taken.row.kind, taken.sized.value)),
        u: seen(taken.sized.u.map(|u| show::uncertainty(taken.row.kind, u.base())).unwrap_or_default()),
        status: sight.assessment.status(taken.ix).word(),
        remarks: seen(remarks(sight, taken, reading)),
    })
}

fn gauge(sight: &Sight, reading: &Reading, ix: Ix) -> String {
    let moment = sight.log().at(ix).device_time;
    let own = sight.workshop.gauge_at(&reading.gauge, moment).map_or("", |gauge| gauge.master.as_str());
    let master = if reading.master.is_empty() { own } else { &reading.master };
    match (reading.gauge.as_str(), master) {
        ("", _) => "not named".to_owned(),
        (gauge, "") => gauge.to_owned(),
        (gauge, master) => format!("{gauge} set on {master}"),
    }
}

fn remarks(sight: &Sight, taken: &Taken, reading: &Reading) -> String {
    let mut said: Vec<String> = Vec::new();
    match taken.sized.correction {
        Correction::NotNeeded | Correction::Applied => {}
        Correction::Missing => said.push("not corrected".to_owned()),
        Correction::TooFar => said.push("too far from 20 °C to correct".to_owned()),
    }
    if reading.blind && !reading.called_out {
        said.push("blind".to_owned());
    }
    if reading.called_out {
        said.push("called out".to_owned());
    }
    if reading.read_by.is_some_and(|person| Some(person) != sight.assessment.person(taken.ix)) {
        said.push(format!("typed by {}", sight.author(taken.ix)));
    }
    if !reading.note.is_empty() {
        said.push(reading.note.clone());
    }
    said.join("; ")
}

/// Paths on which a signature no longer stands.
fn stale_paths(assessment: &Assessment) -> BTreeSet<String> {
    let Some(definition) = assessment.definition() else { return BTreeSet::new() };
    let steps = definition.steps().iter().zip(assessment.steps());
    let stale = steps
        .filter(|(_, step)| [&step.signature, &step.second].into_iter().flatten().any(Signature::is_stale));
    let asked = stale.flat_map(|(instance, _)| {
        let own = instance.feature.into_iter();
        own.chain(instance.asks.iter().filter_map(|ask| match ask.target {
            Target::Feature(at) => Some(at),
            Target::Engine | Target::PartAt { .. } => None,
        }))
    });
    asked.map(|at| definition.feature_at(at).path().to_owned()).collect()
}

fn with_stale(state: State, path: &str, stale: &BTreeSet<String>) -> State {
    if stale.contains(path) { state.max(State::Stale) } else { state }
}

/// The engine, each shape with the loudest state of all that belongs to it, as it looks to somebody from whom
/// the readings in `hidden` are hidden; none without a definition.
#[must_use]
pub fn drawing(assessment: &Assessment, hidden: &BTreeSet<Ix>) -> Option<Drawing> {
    let definition = assessment.definition()?;
    let states = states(assessment, definition, hidden);
    let layout = definition.layout();
    let shape = |label: String, paths: &[String], caption: String| {
        let belongs = |path: &str| paths.iter().any(|own| is_under(path, own));
        let state = states.iter().filter(|(path, _)| belongs(path)).map(|(_, state)| *state).max();
        let path = paths.first().cloned().unwrap_or_default();
        Shape { label, path, state: state.unwrap_or(State::NotRead), caption }
    };
    let bore = |number: &u8| {
        let paths = [format!("bore/{number}"), format!("ring/{number}"), format!("liner/{number}")];
        shape(number.to_string(), &paths, caption(assessment, &paths[0], hidden))
    };
    let numbered = |label: &str, path: &str, number: u8| {
        shape(format!("{label}{number}"), &[format!("{path}/{number}")], String::new())
    };
    Some(Drawing {
        banks: layout
            .banks()
            .iter()
            .map(|bank| BankDrawing {
                name: bank.name.to_string(),
                bores: bank.cylinders.iter().map(bore).collect(),
            })
            .collect(),
        mains: (1..=layout.mains()).map(|number| numbered("M", "main", number)).collect(),
        pins: (1..=layout.pin_count())
            .map(|number| PinDrawing {
                shape: numbered("P", "pin", number),
                degrees: throw(layout, number),
                after_main: after_main(layout, number),
            })
            .collect(),
        rods: (1..=layout.cylinders()).map(|number| numbered("R", "rod", number)).collect(),
        crank_from_above: matches!(layout.form(), Form::Flat),
    })
}

fn is_under(path: &str, own: &str) -> bool {
    path.strip_prefix(own).is_some_and(|rest| rest.is_empty() || rest.starts_with('/'))
}

fn states(
    assessment: &Assessment,
    definition: &Definition,
    hidden: &BTreeSet<Ix>,
) -> BTreeMap<String, State> {
    let stale = stale_paths(assessment);
    let mut states: BTreeMap<String, State> = stale.iter().map(|path| (path.clone(), State::Stale)).collect();
    for view in assessment.features().filter(|view| definition.find_feature(view.feature.path()).is_some()) {
        let path = view.feature.path();
        let state = with_stale(State::of_feature_without(&view, hidden), path, &stale);
        states.entry(path.to_owned()).and_modify(|known| *known = (*known).max(state)).or_insert(state);
    }
    states
}

/// The bore's diameter, or how much of it is read.
fn caption(assessment: &Assessment, path: &str, hidden: &BTreeSet<Ix>) -> String {
    let Some(judged) = assessment.value(path, "diameter") else { return "not read".to_owned() };
    match (judged.low, judged.high) {
        (Some(_), Some(_)) if !may_see(hidden, &judged.readings) => "read once".to_owned(),
        (Some(low), Some(high)) if judged.is_complete() => {
            let span = show::span(judged.kind, low, high);
            span.rsplit_once(' ').map_or(span.clone(), |(digits, _)| digits.replace(" to ", "–"))
        }
        _ => format!("{} of {} read", judged.stations.0, judged.stations.1),
    }
}

/// Where a throw points when cylinder 1 fires, in degrees clockwise from the drawing's up.
///
/// From the firing order of a four-stroke, evenly spaced; of a shared pin, by its first rod.
fn throw(layout: &Layout, pin: u8) -> i64 {
    let Some(rod) = layout.rods_of_pin(pin).next() else { return 0 };
    let fires = layout.firing_order().iter().position(|cylinder| *cylinder == rod).unwrap_or(0);
    let turned = i64::try_from(fires).unwrap_or(0) * 720 / i64::from(layout.cylinders().max(1));
    let leans = |cylinder: u8| -> i64 {
        let second = layout.banks().get(1).is_some_and(|bank| bank.cylinders.contains(&cylinder));
        let side = if second { 1 } else { -1 };
        match layout.form() {
            Form::Inline => 0,
            Form::Vee { bank_angle } => side * whole_degrees(bank_angle) / 2,
            Form::Flat => {
                if second {
                    180
                } else {
                    0
                }
            }
        }
    };
    (leans(rod) - turned).rem_euclid(360)
}

/// To the nearest degree: enough for a drawing.
fn whole_degrees(angle: &Quantity) -> i64 {
    (angle.amount().base() + 500_000).div_euclid(1_000_000)
}

/// The main before a pin: pins are spread evenly between the mains.
fn after_main(layout: &Layout, pin: u8) -> usize {
    let bays = usize::from(layout.mains().max(2)) - 1;
    let pins = usize::from(layout.pin_count().max(1));
    (usize::from(pin).saturating_sub(1)) * bays / pins + 1
}
