//! The bores as they were found: how far worn, and which of them are not known.

use std::sync::Arc;

use crate::assess::{FeatureView, Status, show};
use crate::engine::{Feature, FeatureKind, FeatureRef, characteristic};
use crate::measure::Uncertainty;
use crate::quantity::{Amount, Kind};
use crate::work::InRecord;

/// A bore so much over its size as made, at its smallest place, was bored before (common practice,
/// no source): wear leaves a place below the ridge or above it that is nearly as made.
const BORED_BEFORE: i64 = 150_000_000;

/// A bore that is measured.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bore {
    /// Its path, such as `bore/2`.
    pub path: Arc<str>,
    /// Its largest diameter, at 20 degC where that could be corrected.
    pub largest: Amount,
    /// Its smallest.
    pub smallest: Amount,
    /// Standard uncertainty of either, where the gauge is known.
    pub u: Option<Uncertainty>,
}

/// All bores of an engine.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Bores {
    /// Those that are measured, in the order of the cylinders.
    pub found: Vec<Bore>,
    /// How many bores there are.
    pub count: usize,
    /// Stations that are read of those that are measured, and that all bores have.
    pub stations: (usize, usize),
    /// Why others, or places of them, are not known: one sentence a bore.
    pub unknown: Vec<String>,
    /// What should be known of the figures.
    pub remarks: Vec<String>,
    /// Why it should be said what the bores were last bored to, where nobody has said it: a sentence.
    pub ask_made: Option<String>,
    /// Whether a bore was worked on since it was first read, so that what stands now is no wear.
    pub(super) no_wear: bool,
}

impl Bores {
    /// The bore that is worn most; of several the first.
    #[must_use]
    pub fn worst(&self) -> Option<&Bore> {
        self.found.iter().reduce(|a, b| if b.largest.base() > a.largest.base() { b } else { a })
    }

    /// The bore that is worn least; of several the first.
    #[must_use]
    pub fn best(&self) -> Option<&Bore> {
        self.found.iter().min_by_key(|bore| bore.largest.base())
    }

    /// What the plan rests on, where not everything is measured: how many of how many.
    #[must_use]
    pub fn rests_on(&self) -> Option<String> {
        let (read, all) = self.stations;
        let some = self.found.len() < self.count || read < all;
        (some && !self.found.is_empty()).then(|| {
            format!("{} of {} bores are measured, at {read} of {all} stations", self.found.len(), self.count)
        })
    }

    /// The larger uncertainty of all of them; none where one is not known.
    pub(super) fn u(&self) -> Option<Uncertainty> {
        let all: Option<Vec<Uncertainty>> = self.found.iter().map(|bore| bore.u).collect();
        all?.into_iter().max()
    }
}

/// Reads all bores of a record; `made_known`: somebody has said what they were last bored to.
pub(super) fn read(place: &InRecord, made: Amount, made_known: bool) -> Bores {
    let mut bores = Bores::default();
    for feature in place.definition.features_of(FeatureKind::Bore) {
        bores.count += 1;
        bores.stations.1 += stations_of(place, feature);
        match one(place, feature, &mut bores.remarks) {
            Ok((bore, (read, needed))) => {
                bores.stations.0 += read;
                if read < needed {
                    let path = &bore.path;
                    bores.unknown.push(format!("{path} diameter: {read} of {needed} stations are read"));
                }
                if !made_known && worked_on(place, feature) {
                    bores.unknown.push(format!(
                        "{feature} was worked on since it was first read: what stands now is no wear"
                    ));
                    bores.no_wear = true;
                    bores.ask_made = Some("bores were worked on since they were first read".to_owned());
                }
                bores.found.push(bore);
            }
            Err(why) => bores.unknown.push(why),
        }
    }
    let before = bored_before(&bores, made).filter(|_| !made_known);
    bores.ask_made = before.or(bores.ask_made);
    bores
}

/// How many stations the size of a bore is read at.
fn stations_of(place: &InRecord, feature: &Feature) -> usize {
    let row = characteristic::find(feature.kind(), "diameter");
    row.map_or(0, |row| place.definition.stations(row).len())
}

type Read = (Bore, (usize, usize));

fn one(place: &InRecord, feature: &Feature, remarks: &mut Vec<String>) -> Result<Read, String> {
    let not_read = || format!("{feature} diameter is not read");
    let view = seen(place, feature).ok_or_else(not_read)?;
    let judged = view.value("diameter").ok_or_else(not_read)?;
    if let Some(why) = judged.hindrance() {
        return Err(format!("{feature} diameter: {why}"));
    }
    let (low, high) = judged.low.zip(judged.high).ok_or_else(not_read)?;
    if let Some(reason) = view.uncorrected("diameter") {
        remarks.push(format!("{feature} diameter stands as read, not at 20 degC: {reason}"));
    }
    if judged.u.is_none() {
        remarks.push(format!("{feature} diameter: what its gauge may err by is not known"));
    }
    let length = |base| Amount::new(Kind::Length, base);
    let path = feature.shared_path();
    Ok((Bore { path, largest: length(high), smallest: length(low), u: judged.u }, judged.stations))
}

fn seen<'r>(place: &InRecord<'r>, feature: &Feature) -> Option<FeatureView<'r>> {
    place.assessment.seen_from(place.record, place.workshop, feature, FeatureRef::Same).ok()
}

/// Whether work has ended earlier readings of a bore's size.
fn worked_on(place: &InRecord, feature: &Feature) -> bool {
    let Some(view) = seen(place, feature) else { return false };
    let readings = view.slots.iter().filter(|slot| slot.row.name == "diameter").flat_map(|s| &s.readings);
    readings.into_iter().any(|taken| matches!(place.assessment.status(taken.ix), Status::Ended(_)))
}

fn bored_before(bores: &Bores, made: Amount) -> Option<String> {
    let over = |bore: &Bore| bore.smallest.base().saturating_sub(made.base());
    let least = bores.found.iter().map(over).min().filter(|least| *least >= BORED_BEFORE)?;
    let size = |base| show::amount(Kind::Length, base);
    let over = format!("at least {} over {}", size(least), size(made.base()));
    let what = match bores.rests_on() {
        None => format!("every bore is {over} at its smallest place"),
        Some(rests) => format!("{rests}: all of it is {over}"),
    };
    Some(format!("{what}: bored before? (common practice, no source)"))
}
