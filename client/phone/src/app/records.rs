//! The workshop's records, as cards; and how it stands with this phone.
//!
//! A card is made once for each state of its record and kept.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::sync::Arc;

use gudgeon_core::assess::{Progress, Rule};
use gudgeon_core::crew::{is_for, next};
use gudgeon_core::entry::{DocumentId, KeyId};
use gudgeon_core::sheet::{State, place};

use super::blind::Blind;
use super::sight::Sight;
use super::{Desk, Place};

/// Which records are still to be looked at, and what was made of the others.
pub struct Model {
    unlooked: Vec<DocumentId>,
    glances: RefCell<BTreeMap<DocumentId, (Key, Arc<Glance>)>>,
}

/// What a card depends on: the state of its record, and who looks.
type Key = (u64, Option<KeyId>);

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

/// A record on a card.
#[derive(Clone, Debug, PartialEq)]
pub struct Card {
    /// Which.
    pub record: DocumentId,
    /// Its name.
    pub name: String,
    /// What it comes to; none until it was looked at.
    pub glance: Option<Arc<Glance>>,
    /// Entries only on this phone.
    pub here_only: usize,
}

/// A record at a glance.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Glance {
    /// Name of the engine's definition; empty: there is none.
    pub engine: String,
    /// What is next for who holds the phone: where, what.
    pub next: Option<(String, String)>,
    /// Steps signed, of all.
    pub signed: (usize, usize),
    /// What needs a person: how it is drawn, how many, what; the loudest first.
    pub needs: Vec<(State, usize, &'static str)>,
    /// Work that was stopped.
    pub stopped: usize,
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
        Self { unlooked, glances: RefCell::default() }
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

    fn glance(&self, record: DocumentId, sight: &Sight, desk: &Desk) -> Arc<Glance> {
        let key = (sight.revision(), desk.holder());
        let mut glances = self.glances.borrow_mut();
        match glances.get(&record) {
            Some((of, made)) if *of == key => Arc::clone(made),
            Some(_) | None => {
                let made = Arc::new(glance(sight, desk.holder(), &desk.blind(record)));
                glances.insert(record, (key, Arc::clone(&made)));
                made
            }
        }
    }

    pub(super) fn view(&self, desk: &Desk) -> View {
        let card = |(record, name)| {
            let sight = desk.sight(record);
            let glance = sight.map(|sight| self.glance(record, sight, desk));
            Card { record, name, glance, here_only: sight.map_or(0, Sight::here_only) }
        };
        let waits = (desk.has_joined() && desk.waits_to_be_let_in()).then_some(
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

/// What is next for who holds the phone; for anybody, where nobody does.
fn next_for(sight: &Sight, holder: Option<KeyId>) -> Option<(String, String)> {
    let Sight { record, workshop, assessment, .. } = sight;
    let definition = assessment.definition()?;
    let steps = assessment.steps();
    let can = |at: &usize| steps[*at].progress != Progress::Blocked;
    let mine = |at: &usize| holder.is_none_or(|key| is_for(record, workshop, assessment, *at, key));
    let at = next(assessment).filter(can).find(mine)?;
    let instance = &definition.steps()[at];
    let path = instance.feature.map_or("", |ix| definition.feature_at(ix).path());
    let title = &definition.step_of(instance).title;
    let word = steps[at].progress.word();
    Some((place(path), format!("{title} ({word})")))
}

fn glance(sight: &Sight, holder: Option<KeyId>, blind: &Blind) -> Glance {
    let tally = sight.assessment.tally_without(&sight.record, blind.hidden());
    let findings = sight.assessment.findings();
    let open = |rule: Rule| findings.iter().filter(|f| f.rule == rule && f.conceded.is_none()).count();
    let needs = [
        (State::Outside, tally.outside, "outside"),
        (State::Disputed, tally.disputed, "disputed"),
        (State::Disputed, open(Rule::BeforeOrAfter), "before or after?"),
        (State::Stale, tally.stale_signoffs, "stale signature"),
        (State::NotProven, tally.not_proven, "not proven"),
        (State::NotProven, tally.not_judged, "not judged"),
    ];
    Glance {
        engine: sight.assessment.definition().map_or("", |definition| definition.name()).to_owned(),
        next: next_for(sight, holder),
        signed: (tally.steps_signed, tally.steps_total),
        needs: needs.into_iter().filter(|(_, many, _)| *many > 0).collect(),
        stopped: open(Rule::Stopped),
    }
}
