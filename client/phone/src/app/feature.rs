//! One feature: each value on its limits, every reading with who, when and with what, where it is, and
//! what became of those that no longer stand.
//!
//! What core tells of the feature is made once for each state of the record and kept.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use gudgeon_client::home::Saved;
use gudgeon_core::assess::Assessment;
use gudgeon_core::engine::{Characteristic, Definition, characteristic};
use gudgeon_core::entry::payload::Void;
use gudgeon_core::entry::{DocumentId, EntryId, KeyId, Payload};
use gudgeon_core::sheet::{FeaturePage, Moment, State, feature_page, place, plain};

use super::blind::Blind;
use super::desk::Where;
use super::sight::Sight;
use super::{Buzz, Desk, Effect, Failure, Place};

/// Which feature, what was made of it last, and what is being withdrawn.
pub struct Model {
    record: DocumentId,
    path: String,
    seen: RefCell<Option<(Key, Arc<Seen>)>>,
    voiding: Option<EntryId>,
    reason: String,
    busy: bool,
    kept: Option<EntryId>,
    problem: Option<Failure>,
}

/// What the page depends on: the state of the record, and who looks.
type Key = (u64, Option<KeyId>);

/// What may happen.
pub enum Event {
    /// A reading of one's own is to be withdrawn, or after all not.
    Void(Option<EntryId>),
    /// Why.
    Reason(String),
    /// Withdraw it.
    Withdraw,
    /// The void is durable, or it failed.
    Voided(Result<Saved, Failure>),
    /// Show what is hidden here: one's own readings are then not blind.
    Reveal,
    /// It is remembered that it was shown, or not.
    Revealed(Result<(), Failure>),
}

/// What is to be seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct View {
    /// Why there is nothing to be seen.
    pub nothing: Option<&'static str>,
    /// Everything that follows from the record.
    pub seen: Arc<Seen>,
    /// Each moment that is told, as the clocks here show it.
    pub when: BTreeMap<Moment, String>,
    /// Where each entry that is told is.
    pub places: BTreeMap<EntryId, Where>,
    /// The reading that is being withdrawn.
    pub voiding: Option<EntryId>,
    /// Why, as typed.
    pub reason: String,
    /// The void is being kept.
    pub busy: bool,
    /// Where the last void is, once it is kept.
    pub kept: Option<&'static str>,
    /// What is wrong.
    pub problem: Option<Failure>,
}

/// Everything that follows from the record.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Seen {
    /// What core tells of it.
    pub page: FeaturePage,
    /// The loudest state on it.
    pub state: Option<State>,
    /// What can be read on it.
    pub reads: Vec<Read>,
    /// At how many stations a first person's value is hidden.
    pub hidden: usize,
    /// The entries of who holds the phone that can be withdrawn.
    pub own: Vec<EntryId>,
    /// What belongs to the same place: in words, how it is drawn, where it leads.
    pub beside: Vec<(String, State, Place)>,
    /// Every entry that is told.
    entries: Vec<EntryId>,
    /// Every moment that is told.
    moments: BTreeSet<Moment>,
}

/// Something that can be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Read {
    /// In words.
    pub name: String,
    /// What it is.
    pub about: &'static str,
    /// Stations with a standing value, and stations needed.
    pub stations: (usize, usize),
    /// Where it is read.
    pub place: Place,
}

impl Model {
    pub(super) fn open(record: DocumentId, path: &str, desk: &mut Desk) -> Self {
        desk.look(record);
        Self {
            record,
            path: path.to_owned(),
            seen: RefCell::default(),
            voiding: None,
            reason: String::new(),
            busy: false,
            kept: None,
            problem: None,
        }
    }

    pub(super) fn handle(&mut self, event: Event, desk: &mut Desk) {
        match event {
            Event::Void(entry) => {
                self.voiding = entry;
                self.problem = None;
                self.reason.clear();
            }
            Event::Reason(text) => self.reason = text,
            Event::Withdraw if !self.busy => self.withdraw(desk),
            Event::Withdraw => {}
            Event::Voided(Ok(saved)) => {
                self.busy = false;
                self.voiding = None;
                self.reason.clear();
                self.kept = saved.entries.first().copied();
                desk.effect(Effect::Buzz(Buzz::Kept));
            }
            Event::Reveal if desk.holder().is_none() => {
                let here = Place::Feature(self.record, self.path.clone());
                desk.go(Place::Who(Box::new(here)));
            }
            Event::Reveal => {
                let hidden = desk.blind(self.record).stations_on(Some(&self.path));
                desk.show(self.record, hidden, |done| Event::Revealed(done).into());
            }
            Event::Revealed(Ok(())) => {}
            Event::Voided(Err(failure)) | Event::Revealed(Err(failure)) => {
                self.busy = false;
                self.problem = Some(failure);
                desk.effect(Effect::Buzz(Buzz::Look));
            }
        }
    }

    fn withdraw(&mut self, desk: &mut Desk) {
        let Some(entry) = self.voiding else { return };
        let reason = self.reason.trim();
        if reason.is_empty() {
            let way_out = "say in a few words why, such as: a slip of typing";
            self.problem = Some(Failure::new("no-reason", "a reading is withdrawn with a reason", way_out));
            return;
        }
        self.problem = None;
        self.busy = true;
        let void = Void { entry, reason: reason.to_owned() };
        desk.state(self.record, &[Payload::Void(void)], |kept| Event::Voided(kept).into());
    }

    pub(super) fn view(&self, desk: &Desk) -> View {
        let Some(sight) = desk.sight(self.record) else {
            return View { nothing: Some("this record is not on this phone yet"), ..View::default() };
        };
        let seen = self.seen(sight, desk);
        let whereabouts = |entry: &EntryId| (*entry, desk.whereabouts(self.record, *entry));
        View {
            nothing: None,
            places: seen.entries.iter().map(whereabouts).collect(),
            when: seen.moments.iter().map(|moment| (*moment, desk.when(moment.0))).collect(),
            seen,
            voiding: self.voiding,
            reason: self.reason.clone(),
            busy: self.busy,
            kept: self.kept.map(|entry| desk.whereabouts(self.record, entry).words()),
            problem: self.problem.clone(),
        }
    }

    fn seen(&self, sight: &Sight, desk: &Desk) -> Arc<Seen> {
        let key = (sight.revision(), desk.holder());
        let mut seen = self.seen.borrow_mut();
        match &*seen {
            Some((of, made)) if *of == key => Arc::clone(made),
            Some(_) | None => {
                let made = Arc::new(see(self.record, &self.path, sight, desk));
                *seen = Some((key, Arc::clone(&made)));
                made
            }
        }
    }
}

fn see(record: DocumentId, path: &str, sight: &Sight, desk: &Desk) -> Seen {
    let Sight { record: entries, workshop, assessment, .. } = sight;
    let (holder, blind) = (desk.holder(), desk.blind(record));
    let page = feature_page(entries, workshop, assessment, path, blind.hidden());
    let readings = page.known.iter().flat_map(|known| &known.tables).flat_map(|table| &table.stations);
    let standing: Vec<EntryId> = readings.flat_map(|row| &row.readings).map(|row| row.by.entry).collect();
    let own = |entry: &&EntryId| holder.is_some_and(|holder| sight.is_by(entry, holder));
    let past = page.past.iter().map(|row| row.by.entry);
    let done = page.done.iter().map(|row| row.by.entry);
    Seen {
        state: page.known.iter().map(|known| known.state).max(),
        reads: reads(record, path, assessment),
        own: standing.iter().filter(own).copied().collect(),
        hidden: blind.stations_on(Some(path)).len(),
        beside: assessment.definition().map(|d| beside(record, path, sight, d, &blind)).unwrap_or_default(),
        moments: moments(&page),
        entries: standing.iter().copied().chain(past).chain(done).collect(),
        page,
    }
}

/// Every moment that is told on a page.
fn moments(page: &FeaturePage) -> BTreeSet<Moment> {
    let tables = page.known.iter().flat_map(|known| &known.tables);
    let readings = tables.flat_map(|table| &table.stations).flat_map(|row| &row.readings).map(|row| &row.by);
    let values = page.known.iter().flat_map(|known| &known.values);
    let set = values.flat_map(|value| value.limit_by.iter().chain(value.conceded.iter().map(|(by, _)| by)));
    let past =
        page.past.iter().flat_map(|row| std::iter::once(&row.by).chain(row.causes.iter().map(|by| &by.by)));
    let all = readings.chain(set).chain(past).chain(page.done.iter().map(|done| &done.by));
    all.map(|mention| mention.when).collect()
}

/// What can be read on a feature, in the order of the table.
fn reads(record: DocumentId, path: &str, assessment: &Assessment) -> Vec<Read> {
    let feature = assessment.definition().and_then(|definition| definition.feature(path).ok());
    let rows: &[Characteristic] =
        feature.as_ref().map_or(&[], |feature| characteristic::of_kind(feature.kind()));
    let needed = |row| assessment.definition().map_or(1, |definition| definition.stations(row).len().max(1));
    let read = |row: &'static Characteristic| Read {
        name: plain(row.name),
        about: row.about,
        stations: assessment.value(path, row.name).map_or_else(|| (0, needed(row)), |judged| judged.stations),
        place: Place::Reading(record, path.to_owned(), row.name.to_owned()),
    };
    rows.iter().map(read).collect()
}

/// The features of the same cylinder, rod or journal, and the parts that lie there.
fn beside(
    record: DocumentId,
    path: &str,
    sight: &Sight,
    definition: &Definition,
    blind: &Blind,
) -> Vec<(String, State, Place)> {
    let Ok(feature) = definition.feature(path) else { return Vec::new() };
    let near = definition.features().iter().filter(|other| {
        feature.number().is_some() && other.number() == feature.number() && other.path() != path
    });
    let near = near.filter(|other| are_of_one(&feature, other));
    let view = |path: &str| sight.assessment.feature(path);
    let seen = |view| State::of_feature_without(&view, blind.hidden());
    let state = |path: &str| view(path).map_or(State::NotRead, seen);
    let here = |path: &str| (place(path), state(path), Place::Feature(record, path.to_owned()));
    near.map(|other| here(other.path())).collect()
}

/// Whether two features of one number belong together: a main bearing is of no cylinder, nor a cam bearing.
fn are_of_one(one: &gudgeon_core::engine::Feature, other: &gudgeon_core::engine::Feature) -> bool {
    use gudgeon_core::engine::FeatureKind::{CamBearing, Main, Pin};
    let apart = [Main, CamBearing, Pin];
    !apart.contains(&one.kind()) && !apart.contains(&other.kind())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::super::kit::{Phone, held, reads_diameter, screen};
    use super::*;

    /// A phone that has read bore 1 once, at its first station, and shows the bore.
    fn read_once() -> (Phone, DocumentId) {
        let (mut phone, record) = held(|record| Place::Feature(record, "bore/1".to_owned()));
        reads_diameter(&mut phone, record, "bore/1", "top/thrust", "80.51 mm");
        (phone, record)
    }

    #[test]
    fn a_feature_that_nobody_read_says_what_can_be_read() {
        let (phone, record) = held(|record| Place::Feature(record, "bore/1".to_owned()));
        let seen = screen!(phone, Feature).seen;
        let diameter = seen.reads.iter().find(|read| read.name == "diameter").unwrap();
        assert_eq!(diameter.place, Place::Reading(record, "bore/1".to_owned(), "diameter".to_owned()));
        assert!(diameter.stations.0 == 0 && diameter.stations.1 > 1, "{diameter:?}");
        assert!(seen.page.known.is_empty() && seen.page.past.is_empty());
        assert!(seen.beside.iter().any(|(title, ..)| title == "Rod 1, big end"), "{:?}", seen.beside);
        assert!(seen.beside.iter().all(|(title, ..)| title != "Main 1"));
    }

    #[test]
    fn a_reading_is_told_with_who_read_it_and_where_it_is() {
        let (phone, _) = read_once();
        let view = screen!(phone, Feature);
        let table = &view.seen.page.known[0].tables[0];
        let row = &table.stations[0].readings[0];
        assert!(row.typed.contains("80.51") && row.read_by == "Ben", "{row:?}");
        assert_eq!(view.places[&row.by.entry], Where::Here);
        assert_eq!(view.seen.own, [row.by.entry]);
    }

    #[test]
    fn a_reading_is_withdrawn_with_a_reason_and_called_so_when_that_is_kept() {
        let (mut phone, _) = read_once();
        let entry = screen!(phone, Feature).seen.own[0];
        phone.send(Event::Void(Some(entry)));
        phone.send(Event::Withdraw);
        assert_eq!(screen!(phone, Feature).problem.unwrap().code, "no-reason");
        phone.send(Event::Reason("a slip of typing".to_owned()));
        phone.holds_back = true;
        phone.send(Event::Withdraw);
        let view = screen!(phone, Feature);
        assert!(view.busy && view.kept.is_none() && view.voiding == Some(entry));
        phone.let_through();
        let view = screen!(phone, Feature);
        assert!(!view.busy && view.voiding.is_none());
        assert_eq!(view.kept, Some("on this phone"));
        let past = &view.seen.page.past[0];
        assert_eq!((past.status, past.by.entry), ("voided", entry));
        assert!(past.why.contains("a slip of typing"), "{past:?}");
    }

    #[test]
    fn a_void_that_is_not_kept_is_not_called_kept() {
        let (mut phone, _) = read_once();
        let entry = screen!(phone, Feature).seen.own[0];
        phone.send(Event::Void(Some(entry)));
        phone.send(Event::Reason("a slip of typing".to_owned()));
        phone.fails = Some(gudgeon_client::store::Trouble::Full);
        phone.send(Event::Withdraw);
        assert_eq!(phone.view().message.unwrap().code, "not-stored");
        assert!(screen!(phone, Feature).kept.is_none());
    }

    #[test]
    fn what_another_read_cannot_be_withdrawn_here() {
        let (mut phone, _) = read_once();
        assert!(!screen!(phone, Feature).seen.own.is_empty());
        phone.app.desk.let_go();
        assert!(screen!(phone, Feature).seen.own.is_empty());
    }
}
