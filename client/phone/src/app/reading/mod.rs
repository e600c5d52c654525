//! Taking readings: a value typed on the screen's own keys, where, with what and under which
//! conditions it was read; judged while it is typed, kept, and on to the next station.
//!
//! What the person is not asked twice is in `habit.rs`, the order of the stations in `route.rs`,
//! the way from keys to a reading in `typed.rs`. Nothing typed is refused because it is unlikely:
//! it is kept, and said at once what there is to say of it.

mod checks;
mod circumstances;
mod gauges;
mod habit;
mod route;
mod seen;
mod setting;
mod show;
#[cfg(test)]
mod tests;
mod typed;
mod view;

use std::collections::BTreeSet;

use gudgeon_client::home::Saved;
use gudgeon_core::engine::{Characteristic, Feature, characteristic, condition};
use gudgeon_core::entry::payload::{Reading, Void};
use gudgeon_core::entry::{DocumentId, EntryId, Payload};
use gudgeon_core::measure::Verdict;
use gudgeon_core::quantity::{Kind, Quantity, Unit};

use super::sight::Sight;
use super::{Buzz, Desk, Effect, Failure, Place};
use checks::Checks;
use habit::Habit;
pub use route::{Order, Spot};
pub(super) use show::title;
pub use view::{
    CheckView, Choice, Drawing, GaugeLine, Kept, Mark, Outline, PersonLine, StationLine, Tile, VerdictView,
    View,
};

/// The words by which a reading is taken back, one tap each.
pub const SLIPS: [&str; 4] = ["typed wrong", "wrong station", "wrong gauge", "read badly"];

/// What is shown in the place of the keypad.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Panel {
    /// The keypad.
    #[default]
    Keys,
    /// Stations and features, and their order.
    Stations,
    /// The gauges, and the check of the one in hand.
    Gauge,
    /// Temperatures of part and gauge.
    Temperature,
    /// What a reading must state.
    Conditions,
    /// Who read it.
    People,
    /// Units, set size, what to set the gauge to.
    Dial,
    /// A note, and the part that was in hand.
    Note,
    /// The words by which the last reading is taken back.
    Back,
}

/// The reading that was kept last.
struct Last {
    entry: EntryId,
    spot: Spot,
    taken_back: bool,
    /// What it does to values that rest on it.
    follows: Vec<(&'static str, String)>,
}

/// What is typed.
#[derive(Default)]
pub struct Model {
    record: Option<DocumentId>,
    spot: Spot,
    row: Option<&'static Characteristic>,
    /// What is on the way to the store was meant for here.
    keeping_at: Spot,
    /// Its station had been read by the same person before: everything is read again.
    again: bool,
    typed: String,
    habit: Habit,
    dial: bool,
    set_size: String,
    gauge: String,
    master: String,
    part_at: String,
    /// Empty: as warm as the part.
    gauge_at: String,
    conditions: BTreeSet<&'static str>,
    /// Somebody else reads, and calls it out; none: who holds the phone.
    reader: Option<EntryId>,
    blind: bool,
    /// What else there is to say of this one reading.
    note: String,
    /// The part in hand, such as `liner/A`; empty: none is named.
    part: String,
    target: String,
    panel: Panel,
    checks: Checks,
    keeping: bool,
    last: Option<Last>,
    problem: Option<Failure>,
}

/// What may happen.
pub enum Event {
    /// A key: a digit, `.`, `-` (a second one takes the first away), `<` that takes one away; from
    /// a keyboard or a gauge that types also letters of a unit.
    Key(char),
    /// A whole value, pasted.
    Value(String),
    /// The enter key of a keyboard or a gauge: keep it, if there is anything.
    Enter,
    /// Another thing is shown in the place of the keypad.
    Panel(Panel),
    /// Another unit.
    Unit(Unit),
    /// The deviation from a set size is typed, or the size itself.
    Dial(bool),
    /// The size the dial was set to.
    SetSize(String),
    /// The size meant at 20 °C, to set the gauge to.
    Target(String),
    /// The gauge was set to that.
    UseTarget,
    /// Another station.
    Station(String),
    /// Another feature.
    Feature(String),
    /// Another order of stations.
    Order(Order),
    /// The gauge's mark.
    Gauge(String),
    /// The mark of what it was set on.
    Master(String),
    /// The temperature of the part.
    PartAt(String),
    /// The temperature of the gauge; empty: the same.
    GaugeAt(String),
    /// A condition holds, or not.
    Condition(&'static str),
    /// Who read it.
    Reader(Option<EntryId>),
    /// Show the first person's value: the second one is then not blind.
    Reveal,
    /// It is remembered that it was shown, or not.
    Revealed(Result<(), Failure>),
    /// A note on this one reading.
    Note(String),
    /// The part that is in hand; empty: none is named.
    Part(String),
    /// The gauge was checked: it is good, or out.
    Check(bool),
    /// The check is durable, or it failed.
    Checked(bool, Result<Saved, Failure>),
    /// Keep it.
    Keep,
    /// It is durable, or it failed.
    Kept(Result<Saved, Failure>),
    /// Take the last one back, with a word.
    TakeBack(&'static str),
    /// That is durable, or it failed.
    TookBack(Result<Saved, Failure>),
    /// What is not asked twice was remembered, or not.
    Remembered(Result<(), Failure>),
}

impl Model {
    pub(crate) fn open(record: DocumentId, feature: &str, name: &str, desk: &mut Desk) -> Self {
        desk.look(record);
        desk.effect(Effect::KeepAwake(true));
        let spot = Spot { feature: feature.to_owned(), station: String::new() };
        let mut model = Self { record: Some(record), spot, ..Self::default() };
        let definition = desk.sight(record).and_then(|sight| sight.assessment.definition());
        let feature = definition.and_then(|definition| definition.feature(feature).ok());
        model.row = feature.and_then(|feature| characteristic::find(feature.kind(), name));
        if let Some(row) = model.row {
            model.fill_in(row, desk);
        }
        model
    }

    /// Fills in what was stated before, and goes to the first station that is still to be read.
    fn fill_in(&mut self, row: &'static Characteristic, desk: &Desk) {
        let now = desk.now();
        if let (Some(home), Some(key)) = (desk.home(), desk.holder()) {
            self.habit = Habit::of(home, key);
        }
        (self.part_at, self.gauge_at) = self.habit.temperatures(now);
        self.set_size = self.habit.set_size(row, now).to_owned();
        self.dial = !self.set_size.is_empty();
        let Some(sight) = self.record.and_then(|record| desk.sight(record)) else { return };
        let usual = self.habit.gauge(row);
        let known = usual.is_empty() || sight.workshop.gauge(usual).is_some();
        self.gauge = if known { usual.to_owned() } else { String::new() };
        if self.gauge.is_empty() {
            self.gauge = gauges::only_one(sight, row).unwrap_or_default();
        }
        self.count_checks(sight, now);
        let stations = self.stations(sight);
        let me = self.person(desk);
        let open = |station: &&String| !self.is_read(sight, me, &self.at(station));
        let first = stations.iter().find(open).or(stations.first());
        self.spot.station = first.cloned().unwrap_or_default();
    }

    /// Who holds the phone is known now: what is typed stays as it was meant, what is not said yet is filled in.
    pub(crate) fn came_back(&mut self, desk: &Desk) {
        let (Some(row), Some(home), Some(key)) = (self.row, desk.home(), desk.holder()) else { return };
        let (now, units) = (desk.now(), (self.habit.unit(row.kind), self.habit.dial_unit()));
        self.habit = Habit::of(home, key);
        if !self.typed.is_empty() {
            self.habit.set_unit(units.0);
            self.habit.set_dial_unit(units.1);
        }
        let (part_at, gauge_at) = self.habit.temperatures(now);
        if self.part_at.is_empty() && self.gauge_at.is_empty() {
            (self.part_at, self.gauge_at) = (part_at, gauge_at);
        }
        if self.gauge.is_empty() {
            let usual = self.habit.gauge(row).to_owned();
            self.take_gauge(&usual, desk);
        }
    }

    pub(crate) fn handle(&mut self, event: Event, desk: &mut Desk) {
        let Some(row) = self.row else { return };
        match event {
            Event::Key(key) => {
                self.panel = Panel::Keys;
                self.key(key);
            }
            Event::Value(text) => {
                self.panel = Panel::Keys;
                self.problem = None;
                self.typed = text.trim().to_owned();
            }
            Event::Enter if self.typed.is_empty() => {}
            Event::Enter | Event::Keep if !self.keeping => self.keep(row, desk),
            Event::Enter | Event::Keep => {}
            Event::Kept(kept) => self.was_kept(row, kept, desk),
            Event::Check(passed) => self.check(row, passed, desk),
            Event::Checked(passed, done) => self.was_checked(passed, done, desk),
            Event::TakeBack(word) => self.take_back(word, desk),
            Event::TookBack(done) => self.took_back(done, desk),
            Event::Reveal => self.reveal(row, desk),
            Event::Remembered(Ok(())) | Event::Revealed(Ok(())) => {}
            Event::Remembered(Err(failure)) | Event::Revealed(Err(failure)) => self.problem = Some(failure),
            Event::Panel(panel) => {
                self.panel = if self.panel == panel { Panel::Keys } else { panel };
                self.remember(row, desk);
            }
            Event::Station(station) => self.go_to(Spot { station, ..self.spot.clone() }, row, desk),
            Event::Feature(feature) => self.go_to(Spot { feature, ..self.spot.clone() }, row, desk),
            Event::Order(order) => self.habit.set_order(order),
            Event::Gauge(mark) => self.take_gauge(&mark, desk),
            change @ (Event::Unit(_)
            | Event::Dial(_)
            | Event::SetSize(_)
            | Event::Target(_)
            | Event::UseTarget
            | Event::Master(_)
            | Event::PartAt(_)
            | Event::GaugeAt(_)
            | Event::Condition(_)
            | Event::Reader(_)
            | Event::Note(_)
            | Event::Part(_)) => self.set(change, row, desk),
        }
    }

    /// What only changes what stands on the screen.
    #[allow(clippy::wildcard_enum_match_arm, reason = "`handle` gives it these alone")]
    fn set(&mut self, event: Event, row: &'static Characteristic, desk: &Desk) {
        self.problem = None;
        match event {
            Event::Unit(unit) if self.is_dial(row) => self.habit.set_dial_unit(unit),
            Event::Unit(unit) => self.habit.set_unit(unit),
            Event::Dial(dial) => {
                self.dial = dial && row.kind == Kind::Length;
                if self.dial && self.set_size.is_empty() {
                    self.panel = Panel::Dial;
                }
            }
            Event::SetSize(text) => self.set_size = text,
            Event::Target(text) => self.target = text,
            Event::UseTarget => self.use_target(row, desk),
            Event::Master(mark) => self.master = mark,
            Event::PartAt(text) => self.part_at = text,
            Event::GaugeAt(text) => self.gauge_at = text,
            Event::Condition(word) => self.turn_condition(row, word, desk),
            Event::Reader(person) => self.reader = person,
            Event::Note(text) => self.note = text,
            Event::Part(part) => self.part = part,
            _ => {}
        }
    }

    /// One of several that exclude each other takes the place of the other.
    fn turn_condition(&mut self, row: &Characteristic, word: &'static str, desk: &Desk) {
        if self.conditions.remove(word) {
            return;
        }
        for one_of in self.needed(row, desk).into_iter().filter(|one_of| one_of.contains(&word)) {
            one_of.iter().for_each(|other| {
                self.conditions.remove(other);
            });
        }
        if condition::find(word).is_some() {
            self.conditions.insert(word);
        }
    }

    /// The conditions that are asked for on this engine: of each list one.
    fn needed(&self, row: &Characteristic, desk: &Desk) -> Vec<&'static [&'static str]> {
        let definition = self.sight(desk).and_then(|sight| sight.assessment.definition());
        let none: [String; 0] = [];
        definition.map(|definition| definition.missing_conditions(row, &none).collect()).unwrap_or_default()
    }

    /// Shows the first person's value at the station at hand, once it is remembered that it was shown.
    fn reveal(&mut self, row: &'static Characteristic, desk: &mut Desk) {
        let Some(record) = self.record else { return };
        if desk.holder().is_none() {
            let here = Place::Reading(record, self.spot.feature.clone(), row.name.to_owned());
            return desk.ask_who(here);
        }
        let blind = self.blind(desk);
        let here = blind.stations_at(&self.spot.feature, row.name, &self.spot.station);
        desk.show(record, here, |done| Event::Revealed(done).into());
    }

    fn take_gauge(&mut self, mark: &str, desk: &Desk) {
        self.problem = None;
        mark.trim().clone_into(&mut self.gauge);
        self.master.clear();
        let now = desk.now();
        if let Some(sight) = self.record.and_then(|record| desk.sight(record)) {
            self.count_checks(sight, now);
        }
    }

    // ---- keeping

    fn keep(&mut self, row: &'static Characteristic, desk: &mut Desk) {
        let Some(record) = self.record else { return };
        if desk.holder().is_none() {
            let here = Place::Reading(record, self.spot.feature.clone(), row.name.to_owned());
            return desk.ask_who(here);
        }
        self.problem = None;
        let me = self.person(desk);
        if let Some(sight) = self.sight(desk) {
            self.again = self.is_read(sight, me, &self.spot);
            self.blind = self.reader.is_none() && self.is_hidden(sight, &self.blind(desk), &self.spot);
        }
        match self.reading(row) {
            Ok(reading) => {
                self.keeping = true;
                self.keeping_at = self.spot.clone();
                let reading = Reading { reading_set: self.open_set(desk.now()), ..reading };
                self.remember(row, desk);
                let says = [Payload::Reading(Box::new(reading))];
                desk.state(record, &says, |kept| Event::Kept(kept).into());
            }
            Err(failure) => self.problem = Some(failure),
        }
    }

    fn was_kept(&mut self, row: &'static Characteristic, kept: Result<Saved, Failure>, desk: &mut Desk) {
        self.keeping = false;
        let saved = match kept {
            Ok(saved) => saved,
            Err(failure) => return self.look(failure, desk),
        };
        let Some(entry) = saved.entries.first().copied() else { return };
        self.checks.readings += 1;
        self.typed.clear();
        self.note.clear();
        let (outside, follows) = match self.sight(desk) {
            Some(sight) => (is_outside(sight, entry), Self::follows(sight, &self.blind(desk), entry)),
            None => (false, Vec::new()),
        };
        let spot = std::mem::take(&mut self.keeping_at);
        self.last = Some(Last { entry, spot: spot.clone(), taken_back: false, follows });
        desk.effect(Effect::Buzz(if outside { Buzz::Look } else { Buzz::Kept }));
        if self.spot == spot {
            self.go_on(row, desk);
        }
    }

    fn look(&mut self, failure: Failure, desk: &mut Desk) {
        self.problem = Some(failure);
        desk.effect(Effect::Buzz(Buzz::Look));
    }

    /// Stations advance by themselves: to the next that is still to be read.
    fn go_on(&mut self, row: &'static Characteristic, desk: &mut Desk) {
        let next = self.sight(desk).and_then(|sight| {
            let definition = sight.assessment.definition()?;
            let feature = definition.feature(&self.spot.feature).ok()?;
            let route = route::route(definition, &feature, row, self.habit.order());
            let me = self.person(desk);
            let read = |spot: &Spot| self.is_read(sight, me, spot);
            let next = if self.again {
                route::following(&route, &self.spot)
            } else {
                route::next_open(&route, &self.spot, read)
            };
            next.cloned()
        });
        if let Some(spot) = next {
            self.go_to(spot, row, desk);
        }
    }

    fn go_to(&mut self, spot: Spot, row: &'static Characteristic, desk: &mut Desk) {
        self.problem = None;
        if self.panel == Panel::Stations {
            self.panel = Panel::Keys;
        }
        let moved = spot.feature != self.spot.feature;
        if moved {
            // Another place has another part.
            self.part.clear();
        }
        self.spot = spot;
        if let (true, Some(record)) = (moved, self.record) {
            desk.moved(Place::Reading(record, self.spot.feature.clone(), row.name.to_owned()));
        }
    }

    /// Remembers what is not to be asked twice.
    fn remember(&mut self, row: &'static Characteristic, desk: &mut Desk) {
        let now = desk.now();
        self.habit.set_gauge(row, &self.gauge);
        self.habit.set_temperatures((&self.part_at, &self.gauge_at), now);
        let set_size = if self.dial { self.set_size.as_str() } else { "" };
        self.habit.put_set_size(row, set_size, now);
        let Some(key) = desk.holder() else { return };
        let habit = self.habit.clone();
        desk.act(move |home| habit.keep(home, key), |kept| Event::Remembered(kept).into());
    }

    // ---- taking back

    fn take_back(&mut self, word: &str, desk: &mut Desk) {
        let (Some(record), Some(last), false) = (self.record, &self.last, self.keeping) else { return };
        if last.taken_back {
            return;
        }
        self.keeping = true;
        self.panel = Panel::Keys;
        let void = Payload::Void(Void { entry: last.entry, reason: word.to_owned() });
        desk.state(record, &[void], |done| Event::TookBack(done).into());
    }

    fn took_back(&mut self, done: Result<Saved, Failure>, desk: &mut Desk) {
        self.keeping = false;
        let (Some(last), Some(row)) = (&mut self.last, self.row) else { return };
        match done {
            Ok(_) => {
                last.taken_back = true;
                last.follows.clear();
                let spot = last.spot.clone();
                desk.effect(Effect::Buzz(Buzz::Kept));
                self.go_to(spot, row, desk);
            }
            Err(failure) => self.look(failure, desk),
        }
    }

    // ---- looking around

    fn sight<'d>(&self, desk: &'d Desk) -> Option<&'d Sight> {
        desk.sight(self.record?)
    }

    fn at(&self, station: &str) -> Spot {
        Spot { station: station.to_owned(), ..self.spot.clone() }
    }

    fn feature(&self, sight: &Sight) -> Option<Feature> {
        sight.assessment.definition()?.feature(&self.spot.feature).ok()
    }

    fn stations(&self, sight: &Sight) -> Vec<String> {
        let definition = sight.assessment.definition();
        let stations = definition.zip(self.row).map(|(definition, row)| definition.stations(row));
        stations.unwrap_or_default().iter().map(|station| station.to_string()).collect()
    }

    /// What the gauge in hand is set on: as named here, or its own.
    fn set_on(&self, sight: &Sight) -> Option<String> {
        let own = sight.workshop.gauge(&self.gauge).map(|gauge| gauge.master.clone());
        let named = Some(self.master.trim().to_owned()).filter(|master| !master.is_empty());
        named.or(own).filter(|master| !master.is_empty())
    }
}

/// Whether a reading that was kept is outside its limits by itself.
fn is_outside(sight: &Sight, entry: EntryId) -> bool {
    let Some(statement) = sight.log().get(&entry) else { return false };
    let Ok(Payload::Reading(reading)) = &statement.payload else { return false };
    let would = sight.assessment.would_be(&sight.record, &sight.workshop, reading, statement.device_time);
    would.is_some_and(|would| would.missing.is_empty() && would.judged.verdict() == Verdict::Outside)
}

/// A size in base units of the row's kind, as a quantity in a unit.
fn shown(kind: Kind, base: i64, unit: Unit, decimals: u8) -> Option<Quantity> {
    let digits = gudgeon_core::quantity::Amount::new(kind, base).digits(unit, decimals)?;
    Quantity::parse_number(&digits, unit).ok()
}
