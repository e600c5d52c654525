//! Sentences with several parts: a reading, an act on fasteners.

use gudgeon_core::entry::EntryId;
use gudgeon_core::entry::payload::{Payload, Reading, Tightening, TighteningAct};
use gudgeon_core::quantity::Quantity;

use super::hand::Hand;

fn quantity(text: &str) -> Quantity {
    Quantity::parse(text).expect("a quantity of the story")
}

/// A reading that is being called out; it ends with a temperature.
#[must_use]
pub struct Reads<'h> {
    by: &'h Hand,
    reading: Reading,
}

impl<'h> Reads<'h> {
    pub(super) fn new(by: &'h Hand, feature: &str, characteristic: &str, station: &str, value: &str) -> Self {
        let reading = Reading {
            feature: feature.into(),
            part: String::new(),
            characteristic: characteristic.into(),
            station: station.into(),
            conditions: Vec::new(),
            value: quantity(value),
            set_size: None,
            gauge: String::new(),
            master: String::new(),
            part_temperature: None,
            gauge_temperature: None,
            read_by: None,
            called_out: false,
            blind: false,
            reading_set: String::new(),
            note: String::new(),
        };
        Self { by, reading }
    }

    /// With which gauge.
    pub fn with(mut self, gauge: &str) -> Self {
        self.reading.gauge = gauge.into();
        self
    }

    /// Set on something else than the gauge's own master.
    pub fn set_on(mut self, master: &str) -> Self {
        self.reading.master = master.into();
        self
    }

    /// The value is a deviation from this set size.
    pub fn from_set(mut self, set: &str) -> Self {
        self.reading.set_size = Some(quantity(set));
        self
    }

    /// Under which conditions.
    pub fn under(mut self, conditions: &[&str]) -> Self {
        self.reading.conditions.extend(conditions.iter().map(|&word| word.to_owned()));
        self
    }

    /// Cap tightened, shells out.
    pub fn bare(self) -> Self {
        self.under(&["caps-tightened", "shells-out"])
    }

    /// Of which part.
    pub fn of(mut self, part: &str) -> Self {
        self.reading.part = part.into();
        self
    }

    /// Read by somebody else, who called it out.
    pub fn called_by(self, person: &Hand) -> Self {
        self.called_by_id(person.person())
    }

    /// Read by whoever has this id.
    pub fn called_by_id(mut self, person: EntryId) -> Self {
        self.reading.read_by = Some(person);
        self.reading.called_out = true;
        self
    }

    /// The part at this temperature; the gauge may be at another.
    pub fn part_at(mut self, temperature: &str) -> Self {
        self.reading.part_temperature = Some(quantity(temperature));
        self
    }

    /// The gauge at this temperature.
    pub fn gauge_at(mut self, temperature: &str) -> Self {
        self.reading.gauge_temperature = Some(quantity(temperature));
        self
    }

    /// Part and gauge at 20 °C.
    pub fn at_20(self) -> EntryId {
        self.at("20 °C")
    }

    /// Part and gauge at one temperature.
    pub fn at(self, both: &str) -> EntryId {
        self.part_at(both).gauge_at(both).untempered()
    }

    /// Without another word on temperature.
    pub fn untempered(self) -> EntryId {
        self.by.says(&Payload::Reading(Box::new(self.reading)))
    }
}

/// An act on a group of fasteners; it ends with the act.
#[must_use]
pub struct Tightens<'h> {
    by: &'h Hand,
    act: Tightening,
}

impl<'h> Tightens<'h> {
    pub(super) fn new(by: &'h Hand, group: &str, place: &str) -> Self {
        let lubricant = if group == "main-bolts" { "engine oil" } else { "moly paste" };
        let act = Tightening {
            group: group.into(),
            place: place.into(),
            act: TighteningAct::Nipped,
            set_point: None,
            wrench: "W1".into(),
            lubricant: lubricant.into(),
            exceptions: Vec::new(),
            note: String::new(),
        };
        Self { by, act }
    }

    /// With another wrench.
    pub fn with(mut self, wrench: &str) -> Self {
        self.act.wrench = wrench.into();
        self
    }

    /// With another lubricant.
    pub fn on(mut self, lubricant: &str) -> Self {
        self.act.lubricant = lubricant.into();
        self
    }

    /// A fastener that went otherwise than the others.
    pub fn except(mut self, number: u32, words: &str) -> Self {
        self.act.exceptions.push((number, words.into()));
        self
    }

    /// A stage, with what the wrench was set to.
    pub fn stage(mut self, number: u32, set_point: &str) -> EntryId {
        self.act.set_point = Some(quantity(set_point));
        self.act(TighteningAct::Stage(number))
    }

    /// Nipped by hand.
    pub fn nip(self) -> EntryId {
        self.act(TighteningAct::Nipped)
    }

    pub(super) fn act(mut self, act: TighteningAct) -> EntryId {
        self.act.act = act;
        self.by.says(&Payload::Tightening(self.act))
    }
}
