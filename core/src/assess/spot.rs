//! Where readings belong: found once, when the record takes an entry in.
//!
//! A station is read over and over, by several people and after every cut. Its spot is
//! resolved against the definition the first time; after that a reading is filed by number.

use std::cmp::Ordering;
use std::sync::Arc;

use super::workshop::MarkNumber;
use crate::engine::{Characteristic, Definition, Feature, characteristic};
use crate::entry::payload::{Payload, Reading};
use crate::log::{Ix, Log};
use crate::quantity::{Comparator, Quantity, Temperature};

/// One station of one part's feature, under one set of conditions.
#[derive(Clone, Debug)]
pub(super) struct Spot {
    pub(super) feature: Feature,
    /// Mark of the part, where the path does not carry it.
    pub(super) part: Arc<str>,
    pub(super) row: &'static Characteristic,
    pub(super) station: Arc<str>,
    /// Sorted, each once.
    pub(super) conditions: Arc<[Arc<str>]>,
    /// Whether those are the conditions the characteristic needs.
    pub(super) fit: bool,
}

impl Spot {
    /// How it lies to a reading's own words; `conditions` are sorted, each once.
    fn lies(&self, reading: &Reading, conditions: &[&str]) -> Ordering {
        let place = self.feature.path().cmp(&reading.feature).then_with(|| (*self.part).cmp(&*reading.part));
        let what = || self.row.name.cmp(&*reading.characteristic);
        let at = || (*self.station).cmp(&*reading.station);
        let under = || self.conditions.iter().map(|c| &**c).cmp(conditions.iter().copied());
        place.then_with(what).then_with(at).then_with(under)
    }
}

/// Number of a spot, by the order of arrival: to look it up, never to decide or to show.
pub(super) type SpotNumber = u32;

/// What sizing needs of a reading, side by side with the next one's: a record is mostly
/// readings, and their words lie all over memory.
#[derive(Clone, Debug)]
pub(super) struct Noted {
    pub(super) spot: SpotNumber,
    pub(super) gauge: MarkNumber,
    /// What it says the gauge was set with, where not the gauge's own.
    pub(super) master: Option<MarkNumber>,
    /// In base units.
    pub(super) as_read: i64,
    /// What the last digit counts, in base units.
    pub(super) digit: i64,
    /// Part and gauge, as far as given.
    pub(super) at: [Option<Temperature>; 2],
    /// Somebody else than the author read it.
    pub(super) called_by_another: bool,
}

/// The spots of a record, and what each entry reads there.
#[derive(Clone, Debug, Default)]
pub(super) struct Spots {
    all: Vec<Spot>,
    /// Numbers in the order of [`Spot::lies`].
    in_order: Vec<SpotNumber>,
    marks: Vec<String>,
    of_entry: Vec<Option<Noted>>,
}

impl Spots {
    /// What an entry reads, if it reads something that this engine has.
    pub(super) fn of(&self, ix: Ix) -> Option<(&Noted, &Spot)> {
        let noted = self.of_entry.get(ix as usize)?.as_ref()?;
        Some((noted, &self.all[noted.spot as usize]))
    }

    /// Marks of gauges, by number.
    pub(super) fn marks(&self) -> &[String] {
        &self.marks
    }

    /// Notes the entries that are new in the log.
    pub(super) fn take_in(&mut self, log: &Log, definition: &Definition) {
        for statement in &log.folded()[self.of_entry.len()..] {
            let noted = match &statement.payload {
                Ok(Payload::Reading(reading)) => self.note(definition, reading),
                _ => None,
            };
            self.of_entry.push(noted);
        }
    }

    /// None: it is of nothing that this engine has, in a unit of something else, or a comparator
    /// reading that cannot be.
    fn note(&mut self, definition: &Definition, reading: &Reading) -> Option<Noted> {
        let spot = self.number(definition, reading)?;
        if reading.value.kind() != self.all[spot as usize].row.kind {
            return None;
        }
        let as_read = as_read(reading)?;
        let gauge = self.mark(&reading.gauge);
        let master = if reading.master.is_empty() { None } else { Some(self.mark(&reading.master)) };
        Some(noted(reading, spot, as_read, (gauge, master)))
    }

    fn mark(&mut self, mark: &str) -> MarkNumber {
        self.marks.iter().position(|known| known == mark).unwrap_or_else(|| {
            self.marks.push(mark.to_owned());
            self.marks.len() - 1
        })
    }

    fn number(&mut self, definition: &Definition, reading: &Reading) -> Option<SpotNumber> {
        let mut conditions: Vec<&str> = reading.conditions.iter().map(String::as_str).collect();
        conditions.sort_unstable();
        conditions.dedup();
        let lies = |number: &SpotNumber| self.all[*number as usize].lies(reading, &conditions);
        match self.in_order.binary_search_by(lies) {
            Ok(at) => Some(self.in_order[at]),
            Err(at) => {
                let spot = resolve(definition, reading, &conditions)?;
                let number = SpotNumber::try_from(self.all.len()).ok()?;
                self.all.push(spot);
                self.in_order.insert(at, number);
                Some(number)
            }
        }
    }
}

/// What sizing needs of a reading that is in no record: number 0 stands for its gauge, 1 for what it
/// says the gauge was set with.
pub(super) fn unfiled(definition: &Definition, reading: &Reading) -> Option<(Noted, Spot)> {
    let mut conditions: Vec<&str> = reading.conditions.iter().map(String::as_str).collect();
    conditions.sort_unstable();
    conditions.dedup();
    let spot = resolve(definition, reading, &conditions)?;
    if reading.value.kind() != spot.row.kind {
        return None;
    }
    let master = (!reading.master.is_empty()).then_some(1);
    Some((noted(reading, 0, as_read(reading)?, (0, master)), spot))
}

fn noted(
    reading: &Reading,
    spot: SpotNumber,
    as_read: i64,
    (gauge, master): (MarkNumber, Option<MarkNumber>),
) -> Noted {
    let celsius = |at: &Option<Quantity>| at.as_ref()?.temperature().ok();
    Noted {
        spot,
        as_read,
        gauge,
        master,
        digit: reading.value.last_digit().base(),
        at: [celsius(&reading.part_temperature), celsius(&reading.gauge_temperature)],
        called_by_another: reading.read_by.is_some(),
    }
}

fn as_read(reading: &Reading) -> Option<i64> {
    match &reading.set_size {
        None => Some(reading.value.amount().base()),
        Some(set) => Comparator::new(set.clone(), reading.value.clone()).ok().map(|c| c.size().base()),
    }
}

fn resolve(definition: &Definition, reading: &Reading, conditions: &[&str]) -> Option<Spot> {
    let feature = definition.feature(&reading.feature).ok()?;
    let row = characteristic::find(feature.kind(), &reading.characteristic)?;
    definition.allows_station(row, &reading.station).then(|| Spot {
        feature,
        part: Arc::from(reading.part.as_str()),
        row,
        station: Arc::from(reading.station.as_str()),
        conditions: conditions.iter().map(|c| Arc::from(*c)).collect(),
        fit: definition.missing_conditions(row, &reading.conditions).next().is_none(),
    })
}
