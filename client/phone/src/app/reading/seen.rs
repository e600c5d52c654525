//! Who has read what already, and what of it may be shown before the second person has read.

use gudgeon_core::assess::{PersonId, Slot, Standing, Taken, show};
use gudgeon_core::entry::{EntryId, Payload};
use gudgeon_core::sheet::State;

use super::super::blind::Blind;
use super::super::sight::Sight;
use super::{Desk, Model, Spot};

/// What is to be said of one station.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Said {
    /// How it is drawn.
    pub(super) state: Option<State>,
    /// Who read what; the first person's value is hidden while the second one reads.
    pub(super) text: String,
    /// Something is hidden.
    pub(super) hidden: bool,
}

impl Model {
    /// Who reads: who holds the phone, unless another one calls it out.
    pub(super) fn person(&self, desk: &Desk) -> Option<PersonId> {
        let own = || self.sight(desk)?.workshop.roster().person_of(desk.holder()?);
        self.reader.or_else(own)
    }

    fn slots<'s>(&self, sight: &'s Sight, spot: &Spot) -> impl Iterator<Item = &'s Slot> {
        let name = self.row.map(|row| row.name);
        let station = spot.station.clone();
        let of_part = || {
            let mut all = sight.assessment.features();
            all.find(|view| view.feature.path() == spot.feature && view.part == self.part)
        };
        // The part in hand, where one is named; else whichever speaks for the place now.
        let view = if self.part.is_empty() { sight.assessment.feature(&spot.feature) } else { of_part() };
        let slots = view.map(|view| view.slots).unwrap_or_default();
        slots.iter().filter(move |slot| Some(slot.row.name) == name && *slot.station == *station)
    }

    /// The readings of a station that still speak.
    fn live<'s>(&self, sight: &'s Sight, spot: &Spot) -> impl Iterator<Item = &'s Taken> {
        let all = self.slots(sight, spot).flat_map(|slot| &slot.readings);
        all.filter(|taken| sight.assessment.status(taken.ix).speaks())
    }

    /// Whether a person has read this station.
    pub(super) fn is_read(&self, sight: &Sight, person: Option<PersonId>, spot: &Spot) -> bool {
        self.live(sight, spot).any(|taken| Some(taken.person) == person)
    }

    /// What is kept from whoever stands here: who holds the phone, and who calls it out to them.
    pub(super) fn blind(&self, desk: &Desk) -> Blind {
        let Some((record, sight)) = self.record.zip(self.sight(desk)) else { return Blind::default() };
        let holder = desk.blind(record);
        match self.reader {
            Some(reader) => holder.and(Blind::of_person(sight, Some(reader), &desk.shown(record))),
            None => holder,
        }
    }

    /// Whether another person's value is kept from this one until theirs is in.
    pub(super) fn is_hidden(&self, sight: &Sight, blind: &Blind, spot: &Spot) -> bool {
        let now = || sight.assessment.feature(&spot.feature).map_or("", |view| view.part);
        let part = if self.part.is_empty() { now() } else { &self.part };
        self.row.is_some_and(|row| blind.hides((&spot.feature, part), row.name, &spot.station))
    }

    /// What is to be said of a station.
    pub(super) fn said(
        &self,
        sight: &Sight,
        (person, blind): (Option<PersonId>, &Blind),
        spot: &Spot,
    ) -> Said {
        if self.is_hidden(sight, blind, spot) {
            let text = "read by another: hidden until you have read".to_owned();
            return Said { state: Some(State::InHand), text, hidden: true };
        }
        let texts: Vec<String> =
            self.live(sight, spot).filter_map(|taken| self.one(sight, person, taken)).collect();
        let disputed = self.slots(sight, spot).any(|slot| matches!(slot.standing, Standing::Disputed(_)));
        let state = if disputed { Some(State::Disputed) } else { (!texts.is_empty()).then_some(State::Read) };
        Said { state, text: texts.join("; "), hidden: false }
    }

    fn one(&self, sight: &Sight, person: Option<PersonId>, taken: &Taken) -> Option<String> {
        let Ok(Payload::Reading(reading)) = &sight.log().at(taken.ix).payload else { return None };
        let value = show::reading(reading);
        if Some(taken.person) == person {
            return Some(value);
        }
        let name = sight.workshop.roster().name_of(taken.person).unwrap_or("somebody unknown");
        Some(format!("{name} {value}"))
    }

    /// What a new reading does to the values that rest on it, those apart that would betray a value that is
    /// hidden.
    pub(super) fn follows(sight: &Sight, blind: &Blind, entry: EntryId) -> Vec<(&'static str, String)> {
        let Some(ix) = sight.log().place(&entry) else { return Vec::new() };
        let views = sight.assessment.features();
        let resting = views.flat_map(|view| view.values).filter(|value| value.readings.contains(&ix));
        let limited = resting.filter(|value| value.limit.is_some() && blind.may_see_value(value));
        limited.map(|value| (State::of_value(value).class(), show::value_against_limit(value))).collect()
    }
}
