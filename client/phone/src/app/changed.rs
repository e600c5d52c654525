//! What changed: what came since this person looked last, by whom, and what of it needs somebody.
//!
//! Every finding of the record is here, each with the one action that settles it. What a person has
//! seen is kept by the newest entries that they saw: all that these rest on was seen.

mod card;
mod looked;
#[cfg(test)]
mod tests;
mod way;

use std::cell::RefCell;
use std::rc::Rc;

use gudgeon_client::home::Saved;
use gudgeon_core::entry::payload::{Concession, Order, Void};
use gudgeon_core::entry::{DocumentId, EntryId, Kind, Payload};

use super::{Buzz, Desk, Effect, Failure, Place};
pub use card::{Card, Line};
use looked::{Looked, Stamp};
pub use way::Way;

/// How it is known which came first, where nobody says otherwise.
const FROM_MEMORY: &str = "from memory of who was there";

/// What is being settled.
pub struct Model {
    record: DocumentId,
    /// The newest entries that were seen when this person looked last; none: never.
    seen: Option<Vec<EntryId>>,
    /// Which card wants words, by its name.
    about: Option<card::Name>,
    /// What rests under it is voided, not conceded.
    voids: bool,
    words: String,
    busy: bool,
    kept: Option<&'static str>,
    problem: Option<Failure>,
    looked: RefCell<Option<(Stamp, Rc<Looked>)>>,
}

/// What may happen.
pub enum Event {
    /// Another place settles it.
    Go(Place),
    /// Of a card that asks "before or after?": whether the first named came first.
    First(usize, bool),
    /// A card is to be conceded, with a reason; the same card once more: not after all.
    Concede(usize),
    /// What a card rests on is to be voided, with a reason; the same card once more: not after all.
    Void(usize),
    /// The reason, or how the order is known.
    Words(String),
    /// Concede it, or void what it rests on.
    KeepWords,
    /// It is durable, or it failed.
    Kept(Result<Saved, Failure>),
    /// All of it was seen.
    Seen,
    /// What was refused was looked at: forget it.
    Forget,
    /// Show what is hidden from this person: their own readings are then not blind.
    Reveal,
    /// That is durable, or it failed.
    Noted(Result<&'static str, Failure>),
}

/// What is to be seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct View {
    /// Who added how much since, and how many need somebody.
    pub summary: String,
    /// What came, the newest last; of many the last ones.
    pub came: Vec<Line>,
    /// How many more came before these.
    pub more: usize,
    /// At how many stations a first person's value is hidden, with all that follows from it.
    pub hidden: usize,
    /// What needs somebody.
    pub open: Vec<Card>,
    /// What is worth knowing, or is conceded.
    pub rest: Vec<Card>,
    /// What was refused and is kept aside: what, and the way out.
    pub refused: Vec<(String, String)>,
    /// Which card wants a reason.
    pub conceding: Option<usize>,
    /// The reason is that of a void.
    pub voids: bool,
    /// As typed.
    pub words: String,
    /// Whether whoever holds the phone may concede.
    pub may_concede: bool,
    /// Whether there is anything that was not seen before.
    pub unseen: bool,
    /// Being kept.
    pub busy: bool,
    /// What was kept last.
    pub kept: Option<&'static str>,
    /// What is wrong.
    pub problem: Option<Failure>,
    /// Why there is nothing to be seen.
    pub nothing: Option<&'static str>,
}

impl Model {
    pub(super) fn open(record: DocumentId, desk: &mut Desk) -> Self {
        desk.look(record);
        Self {
            record,
            seen: seen(record, desk),
            about: None,
            voids: false,
            words: String::new(),
            busy: false,
            kept: None,
            problem: None,
            looked: RefCell::default(),
        }
    }

    pub(super) fn handle(&mut self, event: Event, desk: &mut Desk) {
        match event {
            Event::Go(place) => desk.go(place),
            Event::Concede(at) => self.ask_words(at, false, desk),
            Event::Void(at) => self.ask_words(at, true, desk),
            Event::Words(text) => self.words = text,
            Event::First(..) | Event::KeepWords | Event::Reveal if desk.holder().is_none() => {
                desk.ask_who(Place::Changed(self.record));
            }
            Event::First(..) | Event::KeepWords | Event::Seen | Event::Forget | Event::Reveal
                if self.busy => {}
            Event::First(at, first) => self.order(at, first, desk),
            Event::KeepWords => self.keep_words(desk),
            Event::Kept(Ok(_)) => {
                (self.about, self.words) = (None, String::new());
                self.noted("kept", desk);
            }
            Event::Noted(Ok(what)) => {
                self.seen = seen(self.record, desk);
                self.looked.replace(None);
                self.noted(what, desk);
            }
            Event::Kept(Err(failure)) | Event::Noted(Err(failure)) => {
                self.busy = false;
                self.problem = Some(failure);
                desk.effect(Effect::Buzz(Buzz::Look));
            }
            Event::Reveal => {
                let hidden = desk.blind(self.record).stations_on(None);
                self.begin();
                desk.show(self.record, hidden, |noted| Event::Noted(noted.map(|()| "shown")).into());
            }
            Event::Seen => self.mark_seen(desk),
            Event::Forget => self.forget(desk),
        }
    }

    fn noted(&mut self, what: &'static str, desk: &mut Desk) {
        self.busy = false;
        self.kept = Some(what);
        desk.effect(Effect::Buzz(Buzz::Kept));
    }

    fn begin(&mut self) {
        (self.busy, self.problem, self.kept) = (true, None, None);
    }

    /// States which came first, for every two that did not know of each other.
    fn order(&mut self, at: usize, first: bool, desk: &mut Desk) {
        let Some(card) = self.card(at, desk) else { return };
        let typed = self.words.trim();
        let known =
            if self.about.as_ref() == Some(&card.name) && !typed.is_empty() { typed } else { FROM_MEMORY };
        let order = |(one, other): (EntryId, EntryId)| {
            let (first, second) = if first { (one, other) } else { (other, one) };
            Payload::Order(Order { first, second, reason: known.to_owned() })
        };
        let says: Vec<Payload> = card.pairs.iter().copied().map(order).collect();
        if !says.is_empty() {
            self.begin();
            desk.state(self.record, &says, |kept| Event::Kept(kept).into());
        }
    }

    /// The words that a concession or a void needs are asked for; of the same once more: not after all.
    fn ask_words(&mut self, at: usize, voids: bool, desk: &Desk) {
        let name = self.card(at, desk).map(|card| card.name);
        self.about = name.filter(|name| self.about.as_ref() != Some(name) || self.voids != voids);
        self.voids = voids;
        self.words.clear();
    }

    fn keep_words(&mut self, desk: &mut Desk) {
        let looked = self.look(desk);
        let mut cards = looked.open.iter().chain(&looked.rest);
        let Some(card) = cards.find(|card| Some(&card.name) == self.about.as_ref()) else { return };
        let reason = self.words.trim().to_owned();
        if reason.is_empty() {
            let (cause, way_out) = if self.voids {
                ("what is voided needs its reason", "say in a few words why it does not count")
            } else {
                ("a concession needs its reason", "say why it is accepted: it is printed beside the finding")
            };
            self.problem = Some(Failure::new("no-reason", cause, way_out));
            return;
        }
        let card::Name { rule, feature, subject, ids } = card.name.clone();
        let says = if self.voids {
            let of = desk.sight(self.record).zip(desk.holder());
            let own = |id: &&EntryId| of.is_some_and(|(sight, key)| sight.is_by(id, key));
            let Some(entry) = ids.iter().rfind(own).copied() else {
                let way_out = "whoever entered it voids it; or a lead concedes it, with the reason";
                self.problem = Some(Failure::new("not-own", "somebody else entered this", way_out));
                return;
            };
            Payload::Void(Void { entry, reason })
        } else {
            let rule = rule.name().to_owned();
            Payload::Concession(Concession { rule, feature, subject, rests_on: ids, reason })
        };
        self.begin();
        desk.state(self.record, &[says], |kept| Event::Kept(kept).into());
    }

    fn mark_seen(&mut self, desk: &mut Desk) {
        let Some(sight) = desk.sight(self.record) else { return };
        let newest: Vec<String> = sight.log().heads().map(|id| id.to_hex()).collect();
        let (name, value) = (setting(self.record, desk), newest.join(" "));
        self.begin();
        desk.act(
            move |home| home.set_setting(&name, &value),
            |noted| Event::Noted(noted.map(|()| "seen")).into(),
        );
    }

    fn forget(&mut self, desk: &mut Desk) {
        let record = self.record;
        self.begin();
        desk.act(
            move |home| {
                home.forget_aside(record)?;
                home.workshop().map_or(Ok(()), |workshop| home.forget_aside(workshop))
            },
            |noted| Event::Noted(noted.map(|()| "forgotten")).into(),
        );
    }

    fn card(&self, at: usize, desk: &Desk) -> Option<Card> {
        self.look(desk).open.get(at).cloned()
    }

    /// What there is to be seen, gathered anew only where something has come.
    fn look(&self, desk: &Desk) -> Rc<Looked> {
        let stamp = Stamp::of(self.record, desk);
        if let Some((_, looked)) = self.looked.borrow().as_ref().filter(|(of, _)| *of == stamp) {
            return Rc::clone(looked);
        }
        let looked = Rc::new(Looked::at(self.record, self.seen.as_deref(), desk));
        self.looked.replace(Some((stamp, Rc::clone(&looked))));
        looked
    }

    pub(super) fn view(&self, desk: &Desk) -> View {
        let Some(sight) = desk.sight(self.record) else {
            return View { nothing: Some("this record is not on this phone yet"), ..View::default() };
        };
        let looked = self.look(desk);
        let may = |key| sight.workshop.roster().may_make(key, Kind::Concession).is_ok();
        View {
            summary: looked.summary.clone(),
            came: looked.came.clone(),
            more: looked.more,
            hidden: desk.blind(self.record).count(),
            open: looked.open.clone(),
            rest: looked.rest.clone(),
            refused: looked.refused.clone(),
            conceding: looked.open.iter().position(|card| Some(&card.name) == self.about.as_ref()),
            voids: self.voids,
            words: self.words.clone(),
            may_concede: desk.holder().is_some_and(may),
            unseen: looked.unseen,
            busy: self.busy,
            kept: self.kept,
            problem: self.problem.clone(),
            nothing: None,
        }
    }
}

/// Under which it is kept what somebody has seen of a record: by person, not by key.
fn setting(record: DocumentId, desk: &Desk) -> String {
    let person = |key| desk.roster().and_then(|roster| roster.person_of(key));
    let who = desk.holder().map_or_else(
        || "anybody".to_owned(),
        |key| person(key).map_or_else(|| key.to_hex(), |person| person.to_hex()),
    );
    format!("seen/{}/{who}", record.to_hex())
}

fn seen(record: DocumentId, desk: &Desk) -> Option<Vec<EntryId>> {
    let kept = desk.home()?.setting(&setting(record, desk)).ok()??;
    Some(kept.split_whitespace().filter_map(|hex| EntryId::from_hex(hex).ok()).collect())
}
