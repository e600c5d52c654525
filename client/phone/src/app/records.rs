//! The workshop's records, as cards; and how it stands with this phone.

use gudgeon_core::entry::DocumentId;

use super::{Desk, Place};

/// Which records are still to be looked at.
pub struct Model {
    unlooked: Vec<DocumentId>,
}

/// What may happen.
pub enum Event {
    /// The screen was drawn: look at the next record.
    Look,
    /// A record was tapped.
    Open(DocumentId),
    /// Who holds the phone?
    Who,
}

/// What is to be seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct View {
    /// One for each record.
    pub cards: Vec<Card>,
    /// Whether this phone waits to be let in, and what settles it.
    pub waits: Option<&'static str>,
    /// The workshop's root digits, to be compared with the printed ones.
    pub root: Option<String>,
    /// Who holds the phone.
    pub holder: Option<String>,
}

/// A record at a glance.
#[derive(Clone, Debug, PartialEq)]
pub struct Card {
    /// Which.
    pub record: DocumentId,
    /// Its name.
    pub name: String,
    /// How far it is and what wants a person; empty until it was looked at.
    pub lines: Vec<String>,
    /// Entries only on this phone.
    pub here_only: usize,
}

impl Model {
    /// The records are listed at once, and looked at one by one.
    pub(super) fn open(desk: &mut Desk) -> Self {
        let mut unlooked: Vec<_> = desk.records().into_iter().map(|(id, _)| id).collect();
        unlooked.retain(|id| desk.sight(*id).is_none());
        unlooked.reverse();
        if !unlooked.is_empty() {
            desk.once_drawn(Event::Look);
        }
        Self { unlooked }
    }

    pub(super) fn handle(&mut self, event: Event, desk: &mut Desk) {
        match event {
            Event::Look => {
                if let Some(record) = self.unlooked.pop() {
                    desk.look(record);
                }
                if !self.unlooked.is_empty() {
                    desk.once_drawn(Event::Look);
                }
            }
            Event::Open(record) => desk.go(Place::Record(record)),
            Event::Who => desk.go(Place::Who(Box::new(Place::Records))),
        }
    }

    pub(super) fn view(&self, desk: &Desk) -> View {
        let card =
            |(record, name)| Card { record, name, lines: lines(desk, record), here_only: here(desk, record) };
        let waits = (desk.has_joined() && !desk.is_let_in()).then_some(
            "this phone has asked to be let in: it happens when the lead who invited meets the office next",
        );
        View {
            cards: desk.records().into_iter().map(card).collect(),
            waits,
            root: super::join::root_digits(desk),
            holder: desk.holder_name(),
        }
    }
}

fn here(desk: &Desk, record: DocumentId) -> usize {
    desk.sight(record).map_or(0, super::sight::Sight::here_only)
}

fn lines(desk: &Desk, record: DocumentId) -> Vec<String> {
    let Some(sight) = desk.sight(record) else { return Vec::new() };
    let tally = sight.assessment.tally(&sight.record);
    let counts = [
        (tally.outside, "outside"),
        (tally.not_proven, "not proven"),
        (tally.disputed, "disputed"),
        (tally.stale_signoffs, "stale"),
        (tally.open_findings, "to look at"),
    ];
    let mut lines = vec![format!("{} of {} steps signed", tally.steps_signed, tally.steps_total)];
    let named = counts.iter().filter(|(count, _)| *count > 0).map(|(count, word)| format!("{count} {word}"));
    lines.push(named.collect::<Vec<_>>().join(", "));
    lines.retain(|line| !line.is_empty());
    lines
}
