//! A large record for measuring: an invented workshop of four, and as many entries as asked
//! for, in the mixture of a real build, by four people who meet now and then. The same for the same number, byte for byte.

use std::collections::BTreeMap;

use gudgeon_core::assess::digest_of;
use gudgeon_core::engine::{Definition, EXAMPLE, Feature, characteristic};
use gudgeon_core::entry::payload::{
    Check, Definition as DefinitionText, Device, Founding, Instrument, Meaning, Note, Operation, Payload,
    Person, Reading, Role, SignOff, Tightening, TighteningAct, Void,
};
use gudgeon_core::entry::{Author, DocumentId, Entry, EntryId, Envelope, KeyId, READER};
use gudgeon_core::log::Log;
use gudgeon_core::quantity::Quantity;

/// A workshop and a record, as signed entries in an order in which each follows its ground.
pub struct Large {
    /// Entries of the workshop.
    pub workshop: Vec<Entry>,
    /// Entries of the record.
    pub record: Vec<Entry>,
}

impl Large {
    /// The workshop's document.
    #[must_use]
    pub fn workshop_id(&self) -> DocumentId {
        self.workshop[0].id().into()
    }

    /// The record's document.
    #[must_use]
    pub fn record_id(&self) -> DocumentId {
        self.record[0].id().into()
    }

    /// A log of entries.
    #[must_use]
    pub fn log(document: DocumentId, entries: &[Entry]) -> Log {
        let mut log = Log::new(document);
        for entry in entries {
            log.insert(entry);
        }
        log
    }
}

/// Writes entries as people do who carry their devices together now and then.
struct Writer {
    document: Option<DocumentId>,
    /// What each author holds.
    held: BTreeMap<KeyId, Log>,
    entries: Vec<Entry>,
    /// How many entries lie between two meetings.
    apart: usize,
    met: usize,
    time: i64,
}

impl Writer {
    const fn meeting_every(apart: usize) -> Self {
        // A Monday morning, invented.
        Self {
            document: None,
            held: BTreeMap::new(),
            entries: Vec::new(),
            apart,
            met: 0,
            time: 1_767_596_400_000,
        }
    }

    fn write(&mut self, author: &Author, payload: &Payload) -> EntryId {
        self.time += 20_000;
        let key = author.key();
        self.greet(key);
        let entry = author.sign(Envelope {
            document: self.document,
            kind_code: payload.kind().code(),
            device_time: self.time,
            min_reader: READER,
            after: self.held.get(&key).map(|log| log.after(key)).unwrap_or_default(),
            payload: payload.encode(),
        });
        let id = entry.id();
        let document = *self.document.get_or_insert_with(|| id.into());
        self.held.entry(key).or_insert_with(|| Log::new(document)).insert(&entry);
        self.entries.push(entry);
        if self.entries.len() >= self.met + self.apart {
            self.meet();
        }
        id
    }

    /// Somebody new is given all there is.
    fn greet(&mut self, key: KeyId) {
        if let Some(document) = self.document
            && !self.held.contains_key(&key)
        {
            self.held.insert(key, Large::log(document, &self.entries));
        }
    }

    fn meet(&mut self) {
        for log in self.held.values_mut() {
            for entry in &self.entries[self.met..] {
                log.insert(entry);
            }
        }
        self.met = self.entries.len();
    }
}

/// A small generator of numbers that look random and are always the same.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).unwrap_or(0) % sides.max(1)
    }
}

/// A record of `count` entries, definition and founding included.
///
/// # Panics
/// Where the example definition or a typed quantity could not be read: a bug.
#[must_use]
#[allow(clippy::unwrap_used)] // invented data, known to be good
pub fn large(count: usize) -> Large {
    let root = Author::from_secret(&[1; 32]);
    let people: Vec<Author> = (2..6).map(|seed| Author::from_secret(&[seed; 32])).collect();
    let mut workshop = Writer::meeting_every(1);
    let founding = Founding { name: "Large".into(), workshop: None, definition_digest: None, nonce: vec![7] };
    let id = workshop.write(&root, &Payload::Founding(founding));
    for (number, author) in people.iter().enumerate() {
        let person = workshop.write(&root, &Payload::Person(Person { name: format!("Person {number}") }));
        let roles = if number == 0 { vec![Role::Member, Role::Lead] } else { vec![Role::Member] };
        let device = Device {
            key: author.key(),
            person,
            roles,
            label: "phone".into(),
            invite: None,
            join_signature: Vec::new(),
        };
        workshop.write(&root, &Payload::Device(device));
    }
    for (mark, sort, master) in
        [("M1", "outside-micrometer", ""), ("B1", "bore-gauge", "M1"), ("W1", "torque-wrench", "")]
    {
        let q = |text: &str| Some(Quantity::parse(text).unwrap());
        let torque = sort == "torque-wrench";
        workshop.write(
            &people[0],
            &Payload::Instrument(Box::new(Instrument {
                mark: mark.into(),
                sort: sort.into(),
                master: master.into(),
                error_limit: if torque { None } else { q("0.004 mm") },
                resolution: if torque { q("1 N·m") } else { q("0.001 mm") },
                calibrated_on: Some(1_760_000_000_000),
                calibration_due: Some(1_790_000_000_000),
                calibration_seen: true,
                ..Instrument::default()
            })),
        );
    }
    let record = write_record(count, &people, id.into());
    Large { workshop: workshop.entries, record }
}

#[allow(clippy::unwrap_used)] // as above
fn write_record(count: usize, people: &[Author], workshop: DocumentId) -> Vec<Entry> {
    let definition = Definition::parse(EXAMPLE).unwrap();
    let places = places(&definition);
    let mut dice = Dice(42);
    let mut record = Writer::meeting_every(40);
    record.write(
        &people[0],
        &Payload::Founding(Founding {
            name: "Large record".into(),
            workshop: Some(workshop),
            definition_digest: Some(digest_of(EXAMPLE)),
            nonce: vec![9],
        }),
    );
    record.write(&people[0], &Payload::Definition(DefinitionText { text: EXAMPLE.to_owned() }));
    let mut readings: Vec<EntryId> = Vec::new();
    while record.entries.len() < count {
        let author = &people[dice.roll(people.len())];
        let payload = match dice.roll(100) {
            0..80 => reading(&places[dice.roll(places.len())], &mut dice),
            80..90 => sign_off(&definition, &readings, &mut dice),
            90..92 => operation(&mut dice),
            92..95 => check(&mut dice),
            95..97 => tightening(&mut dice),
            97 if !readings.is_empty() => {
                let entry = readings[dice.roll(readings.len())];
                Payload::Void(Void { entry, reason: "typed wrong".into() })
            }
            _ => Payload::Note(Note {
                feature: String::new(),
                text: "galleries brushed, plugs counted".into(),
            }),
        };
        let id = record.write(author, &payload);
        if matches!(payload, Payload::Reading(_)) {
            readings.push(id);
        }
    }
    record.entries
}

/// Everywhere that a length is read.
fn places(definition: &Definition) -> Vec<(Feature, &'static str, String, Vec<String>)> {
    let mut places = Vec::new();
    for feature in definition.features() {
        for row in characteristic::of_kind(feature.kind()) {
            if row.kind != gudgeon_core::quantity::Kind::Length {
                continue;
            }
            let conditions: Vec<String> =
                definition.missing_conditions(row, &[]).map(|one_of| one_of[0].to_owned()).collect();
            for station in definition.stations(row) {
                places.push((feature.clone(), row.name, station.to_string(), conditions.clone()));
            }
        }
    }
    places
}

#[allow(clippy::unwrap_used)] // as above
fn reading(
    (feature, name, station, conditions): &(Feature, &str, String, Vec<String>),
    dice: &mut Dice,
) -> Payload {
    let at = Quantity::parse("14.5 °C").unwrap();
    let micrometres = dice.roll(9);
    Payload::Reading(Box::new(Reading {
        feature: feature.path().to_owned(),
        part: String::new(),
        characteristic: (*name).to_owned(),
        station: station.clone(),
        conditions: conditions.clone(),
        value: Quantity::parse(&format!("51.60{micrometres} mm")).unwrap(),
        set_size: None,
        gauge: if dice.roll(2) == 0 { "M1".into() } else { "B1".into() },
        master: String::new(),
        part_temperature: Some(at.clone()),
        gauge_temperature: Some(at),
        read_by: None,
        called_out: false,
        blind: false,
        reading_set: "morning".into(),
        note: String::new(),
    }))
}

fn sign_off(definition: &Definition, readings: &[EntryId], dice: &mut Dice) -> Payload {
    let steps = definition.steps();
    let from = readings.len().saturating_sub(6);
    Payload::SignOff(SignOff {
        step: steps[dice.roll(steps.len())].id.to_string(),
        meaning: Meaning::Done,
        evidence: readings[from..].to_vec(),
        verdicts: Vec::new(),
        calculation: gudgeon_core::assess::CALCULATION,
        printed_name: "A. Person".into(),
    })
}

fn operation(dice: &mut Dice) -> Payload {
    let number = dice.roll(4) + 1;
    let (operation, feature) = match dice.roll(3) {
        0 => ("hone", format!("bore/{number}")),
        1 => ("rod-bolts-changed", format!("rod/{number}")),
        _ => ("polish-journal", format!("pin/{number}")),
    };
    Payload::Operation(Operation {
        operation: operation.into(),
        features: vec![feature],
        parts: Vec::new(),
        note: String::new(),
        done_by: None,
        outside_shop: String::new(),
    })
}

fn check(dice: &mut Dice) -> Payload {
    Payload::Check(Check {
        check: "turns-free".into(),
        feature: format!("cylinder/{}", dice.roll(4) + 1),
        passed: dice.roll(10) > 0,
        step: String::new(),
        note: String::new(),
    })
}

#[allow(clippy::unwrap_used)] // as above
fn tightening(dice: &mut Dice) -> Payload {
    let stage = if dice.roll(2) == 0 { 1 } else { 2 };
    Payload::Tightening(Tightening {
        group: "rod-bolts".into(),
        place: format!("rod/{}/bolts", dice.roll(4) + 1),
        act: TighteningAct::Stage(stage),
        set_point: Some(Quantity::parse(if stage == 1 { "28 N·m" } else { "42 N·m" }).unwrap()),
        wrench: "W1".into(),
        lubricant: "moly paste".into(),
        exceptions: Vec::new(),
        note: String::new(),
    })
}
