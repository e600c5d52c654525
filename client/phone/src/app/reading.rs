//! Taking one reading: a value typed on the screen's own keys, its station, gauge and temperature.

use gudgeon_client::home::Saved;
use gudgeon_core::assess::show;
use gudgeon_core::engine::{Characteristic, characteristic, condition};
use gudgeon_core::entry::payload::Reading;
use gudgeon_core::entry::{DocumentId, EntryId, Payload};
use gudgeon_core::quantity::{Kind, Quantity};

use super::desk::Where;
use super::{Buzz, Desk, Effect, Failure, Place};

/// What is typed.
#[derive(Default)]
pub struct Model {
    record: Option<DocumentId>,
    feature: String,
    row: Option<&'static Characteristic>,
    station: String,
    typed: String,
    unit: String,
    gauge: String,
    temperature: String,
    conditions: Vec<String>,
    keeping: bool,
    kept: Option<EntryId>,
    problem: Option<Failure>,
}

/// What may happen.
pub enum Event {
    /// A key of the keypad: a digit, `.`, `-`, or `<` that takes one away.
    Key(char),
    /// A whole value, pasted or typed by a gauge.
    Value(String),
    /// Another unit.
    Unit(String),
    /// Another station.
    Station(String),
    /// The gauge's mark.
    Gauge(String),
    /// The temperature of part and gauge.
    Temperature(String),
    /// A condition holds, or not.
    Condition(&'static str),
    /// Keep it.
    Keep,
    /// It is durable, or it failed.
    Kept(Result<Saved, Failure>),
}

/// What is to be seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct View {
    /// The value as typed.
    pub typed: String,
    /// Its unit.
    pub unit: String,
    /// Stations: name, what stands there, whether it is meant.
    pub stations: Vec<(String, String, bool)>,
    /// The gauge's mark, and those known.
    pub gauge: String,
    /// Marks of gauges that the workshop knows.
    pub gauges: Vec<String>,
    /// The temperature as typed.
    pub temperature: String,
    /// What a reading must state: word, what it says, whether it is stated.
    pub conditions: Vec<(&'static str, &'static str, bool)>,
    /// Being kept: the screen says nothing more than that yet.
    pub keeping: bool,
    /// The last reading that was kept, and where it is.
    pub kept: Option<(String, String)>,
    /// What is wrong.
    pub problem: Option<Failure>,
}

impl Model {
    pub(super) fn open(record: DocumentId, feature: &str, name: &str, desk: &mut Desk) -> Self {
        desk.look(record);
        desk.effect(Effect::KeepAwake(true));
        let mut model = Self {
            record: Some(record),
            feature: feature.to_owned(),
            unit: "mm".to_owned(),
            ..Self::default()
        };
        if let Some(definition) = desk.sight(record).and_then(|sight| sight.assessment.definition())
            && let Some(feature) = definition.find_feature(feature)
        {
            model.row = characteristic::find(feature.kind(), name);
            let stations = model.row.map(|row| definition.stations(row)).unwrap_or_default();
            model.station = stations.first().map(|station| station.to_string()).unwrap_or_default();
        }
        model
    }

    pub(super) fn handle(&mut self, event: Event, desk: &mut Desk) {
        match event {
            Event::Key('<') => {
                self.typed.pop();
            }
            Event::Key(key) => self.typed.push(key),
            Event::Value(text) => self.typed = text,
            Event::Unit(unit) => self.unit = unit,
            Event::Station(station) => self.station = station,
            Event::Gauge(mark) => self.gauge = mark,
            Event::Temperature(text) => self.temperature = text,
            Event::Condition(word) => {
                let before = self.conditions.len();
                self.conditions.retain(|other| other != word);
                if self.conditions.len() == before {
                    self.conditions.push(word.to_owned());
                }
            }
            Event::Keep if !self.keeping => self.keep(desk),
            Event::Keep => {}
            Event::Kept(kept) => self.was_kept(kept, desk),
        }
    }

    fn keep(&mut self, desk: &mut Desk) {
        let (Some(record), Some(row)) = (self.record, self.row) else { return };
        if desk.holder().is_none() {
            let here = Place::Reading(record, self.feature.clone(), row.name.to_owned());
            return desk.go(Place::Who(Box::new(here)));
        }
        self.problem = None;
        match self.reading(row) {
            Ok(reading) => {
                self.keeping = true;
                let says = [Payload::Reading(Box::new(reading))];
                desk.state(record, &says, |kept| Event::Kept(kept).into());
            }
            Err(failure) => self.problem = Some(failure),
        }
    }

    /// The reading that is meant.
    fn reading(&self, row: &Characteristic) -> Result<Reading, Failure> {
        let text = format!("{}{}", self.typed, self.unit);
        let value = Quantity::parse_as(&text, row.kind)?.of_kind(row.kind)?;
        let temperature = match self.temperature.trim() {
            "" => None,
            text => Some(Quantity::parse_as(&format!("{text}C"), Kind::Temperature)?),
        };
        Ok(Reading {
            feature: self.feature.clone(),
            part: String::new(),
            characteristic: row.name.to_owned(),
            station: self.station.clone(),
            conditions: self.conditions.clone(),
            value,
            set_size: None,
            gauge: self.gauge.trim().to_owned(),
            master: String::new(),
            part_temperature: temperature.clone(),
            gauge_temperature: temperature,
            read_by: None,
            called_out: false,
            blind: false,
            reading_set: String::new(),
            note: String::new(),
        })
    }

    fn was_kept(&mut self, kept: Result<Saved, Failure>, desk: &mut Desk) {
        self.keeping = false;
        match kept {
            Ok(saved) => {
                self.kept = saved.entries.first().copied();
                self.typed.clear();
                self.next_station(desk);
                desk.effect(Effect::Buzz(Buzz::Kept));
            }
            Err(failure) => {
                self.problem = Some(failure);
                desk.effect(Effect::Buzz(Buzz::Look));
            }
        }
    }

    /// Stations advance by themselves.
    fn next_station(&mut self, desk: &Desk) {
        let stations = self.stations(desk);
        let at = stations.iter().position(|station| *station == self.station);
        if let Some(next) = at.and_then(|at| stations.get(at + 1)) {
            self.station.clone_from(next);
        }
    }

    fn stations(&self, desk: &Desk) -> Vec<String> {
        let sight = self.record.and_then(|record| desk.sight(record));
        let definition = sight.and_then(|sight| sight.assessment.definition());
        let stations = definition.zip(self.row).map(|(definition, row)| definition.stations(row));
        stations.unwrap_or_default().iter().map(|station| station.to_string()).collect()
    }

    pub(super) fn view(&self, desk: &Desk) -> View {
        let (Some(record), Some(row)) = (self.record, self.row) else { return View::default() };
        let Some(sight) = desk.sight(record) else { return View::default() };
        let at = |station: &str| {
            let view = sight.assessment.feature(&self.feature);
            let slot = view.and_then(|view| view.stations(row.name).find(|slot| &*slot.station == station));
            slot.map_or_else(String::new, |slot| format!("{} read", slot.readings.len()))
        };
        let stations = self.stations(desk).into_iter();
        let conditions = row.conditions.iter().flat_map(|needed| needed.one_of.iter().copied());
        let condition = |word: &'static str| {
            let about = condition::find(word).map_or("", |row| row.about);
            (word, about, self.conditions.iter().any(|stated| stated == word))
        };
        View {
            typed: self.typed.clone(),
            unit: self.unit.clone(),
            stations: stations.map(|name| (name.clone(), at(&name), name == self.station)).collect(),
            gauge: self.gauge.clone(),
            gauges: sight.workshop.roster().instruments().keys().cloned().collect(),
            temperature: self.temperature.clone(),
            conditions: conditions.map(condition).collect(),
            keeping: self.keeping,
            kept: self.kept.map(|entry| kept(desk, record, entry)),
            problem: self.problem.clone(),
        }
    }
}

/// The reading as it stands in the record, and where it is.
fn kept(desk: &Desk, record: DocumentId, entry: EntryId) -> (String, String) {
    let statement = desk.sight(record).and_then(|sight| sight.log().get(&entry));
    let text = match statement.map(|statement| &statement.payload) {
        Some(Ok(Payload::Reading(reading))) => format!("{} {}", reading.station, show::reading(reading)),
        Some(Ok(_) | Err(_)) | None => entry.short(),
    };
    let place = desk.whereabouts(record, entry);
    let why = if let Where::Refused(why) = &place { format!(": {why}") } else { String::new() };
    (text.trim().to_owned(), format!("{}{why}", place.words()))
}
