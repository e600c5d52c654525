//! The shell, played: a disk that can be full, an office out of reach, a clock that is set by hand.
#![allow(clippy::unwrap_used)]

use std::cell::Cell;
use std::collections::VecDeque;

use gudgeon_client::home::Home;
use gudgeon_client::keys::Pin;
use gudgeon_client::store::{Memory, Mirror, Row, Store as _, StoreError, Table, Trouble};
use gudgeon_client::sync::{Input, Trouble as Away};
use gudgeon_client::world::{NoRandomness, World};
use gudgeon_core::assess::digest_of;
use gudgeon_core::engine::EXAMPLE;
use gudgeon_core::entry::payload::{
    Definition, Device, Founding, Instrument, Person, RecordListed, Role as Roles,
};
use gudgeon_core::entry::{Author, DocumentId, KeyId, Payload};
use gudgeon_core::quantity::Quantity;

use super::{App, Effect, Event, Place, Role, ScreenView, View};

thread_local! {
    static NOW: Cell<i64> = const { Cell::new(1_800_000_000_000) };
    static AHEAD: Cell<fn(i64) -> i32> = const { Cell::new(|_| 0) };
    static DRAWN: Cell<u64> = const { Cell::new(0) };
}

/// From now on the clocks here are so many minutes ahead of UTC, as it is a moment.
pub(super) fn clocks(now: i64, ahead: fn(i64) -> i32) {
    NOW.set(now);
    AHEAD.set(ahead);
}

/// A clock that moves on by itself, and randomness from a counter.
pub(super) struct Rehearsed;

impl World for Rehearsed {
    fn now(&self) -> i64 {
        NOW.set(NOW.get() + 1_000);
        NOW.get()
    }

    fn minutes_ahead(&self, moment: i64) -> i32 {
        AHEAD.get()(moment)
    }

    fn fill(&self, bytes: &mut [u8]) -> Result<(), NoRandomness> {
        for byte in bytes {
            DRAWN.set(
                DRAWN.get().wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407),
            );
            *byte = DRAWN.get().to_be_bytes()[0];
        }
        Ok(())
    }
}

pub(super) fn world() -> Box<dyn World> {
    Box::new(Rehearsed)
}

pub(super) const PIN: &str = "2468";

/// A phone with its app.
pub(super) struct Phone {
    pub(super) app: App,
    pub(super) disk: Memory,
    /// How the disk fails, if it does.
    pub(super) fails: Option<Trouble>,
    /// What is given to the disk waits there.
    pub(super) holds_back: bool,
    held_back: VecDeque<Vec<gudgeon_client::store::Batch>>,
    pub(super) address: String,
    /// Effects that the kit does not perform.
    pub(super) seen: Vec<Effect>,
}

impl Phone {
    /// An app opened at a place, on what is on a disk.
    pub(super) fn on(disk: Memory, place: Place) -> Self {
        let mut phone = Self {
            app: App::new(world, place),
            disk,
            fails: None,
            holds_back: false,
            held_back: VecDeque::new(),
            address: String::new(),
            seen: Vec::new(),
        };
        phone.send(Event::Role(Role::Writer));
        phone
    }

    /// The app is killed, and opened again where it was.
    pub(super) fn killed(self) -> Self {
        let place = Place::at(&self.address);
        Self::on(self.disk, place)
    }

    pub(super) fn send(&mut self, event: impl Into<Event>) {
        let mut events = VecDeque::from([event.into()]);
        while let Some(event) = events.pop_front() {
            for effect in self.app.handle(event) {
                events.extend(self.perform(effect));
            }
        }
    }

    fn perform(&mut self, effect: Effect) -> Option<Event> {
        match effect {
            Effect::Store(batches) => {
                self.held_back.push_back(batches);
                if self.holds_back { None } else { self.reach_disk() }
            }
            Effect::Read => Some(Event::Rows { rows: rows(&self.disk), lost: false }),
            Effect::Ask(_) => Some(Event::Answered(Input::Failed(Away::Offline("no network".to_owned())))),
            // What comes much later does not come while a test looks.
            Effect::Later(milliseconds, event) => (milliseconds < 1_000).then_some(event),
            Effect::Address { place, .. } => {
                self.address = place.address();
                None
            }
            other @ (Effect::Watch(_)
            | Effect::KeepAwake(_)
            | Effect::Buzz(_)
            | Effect::AskToKeep
            | Effect::GiveOut { .. }
            | Effect::Print
            | Effect::Update) => {
                self.seen.push(other);
                None
            }
        }
    }

    /// The oldest of what was held back reaches the disk, or not.
    fn reach_disk(&mut self) -> Option<Event> {
        let batches = self.held_back.pop_front()?;
        if let Some(trouble) = self.fails {
            self.held_back.clear();
            return Some(Event::NotStored(StoreError::new(trouble, "writing", "no room")));
        }
        batches.iter().for_each(|batch| self.disk.write(batch).unwrap());
        Some(Event::Stored)
    }

    /// All that was held back reaches the disk, or not.
    pub(super) fn let_through(&mut self) {
        self.holds_back = false;
        while let Some(event) = self.reach_disk() {
            self.send(event);
        }
    }

    pub(super) fn view(&self) -> View {
        self.app.view()
    }
}

/// The view of the screen that must be open.
macro_rules! screen {
    ($phone:expr, $Name:ident) => {
        match $phone.view().screen {
            $crate::app::ScreenView::$Name(view) => view,
            other => panic!("another screen is open: {other:?}"),
        }
    };
}
pub(super) use screen;

pub(super) fn rows(disk: &Memory) -> Vec<(Table, Row)> {
    let of = |table: Table| disk.scan(table, b"").unwrap().into_iter().map(move |row| (table, row));
    Table::ALL.iter().copied().flat_map(of).collect()
}

/// The disk of a phone that was let in: one workshop, one key under [`PIN`], one record of the
/// example engine. Everything in it is invented.
pub(super) fn let_in() -> (Memory, DocumentId) {
    let (disk, record, _) = works(EXAMPLE, &[("Ben", &[Roles::Member, Roles::Lead])], &[]);
    (disk, record)
}

/// The disk of a phone of these people, each with a key under [`PIN`]: one workshop with these
/// instruments, one record of an engine. The first of them leads.
pub(super) fn works(
    engine: &str,
    people: &[(&str, &[Roles])],
    instruments: &[Payload],
) -> (Memory, DocumentId, Vec<KeyId>) {
    let mirror = Mirror::default();
    let mut home = Home::within(Box::new(mirror.clone()), Rehearsed).unwrap();
    let founding = |name: &str, workshop, digest| Founding {
        name: name.to_owned(),
        workshop,
        definition_digest: digest,
        nonce: name.as_bytes().to_vec(),
    };
    let founded = home.found(&root(), founding("Invented Works", None, None), &[]);
    let workshop = founded.unwrap().document;
    let mut authors = Vec::new();
    for (name, roles) in people {
        let author = home.new_key(&format!("phone of {name}"), &Pin::new(PIN).unwrap()).unwrap();
        enrols(&mut home, name, &author, roles);
        authors.push(author);
    }
    let lead = &authors[0];
    if !instruments.is_empty() {
        home.state(workshop, lead, instruments).unwrap();
    }
    let text = Payload::Definition(Definition { text: engine.to_owned() });
    let record = founding("Engine one", Some(workshop), Some(digest_of(engine)));
    let record = home.found(lead, record, &[text]).unwrap().document;
    let listed = RecordListed { record, name: "Engine one".to_owned() };
    home.state(workshop, lead, &[Payload::RecordListed(listed)]).unwrap();
    let mut disk = Memory::default();
    mirror.take().iter().for_each(|batch| disk.write(batch).unwrap());
    (disk, record, authors.iter().map(Author::key).collect())
}

fn root() -> Author {
    Author::from_secret(&[1; 32])
}

/// The root enters a person of that name with a key.
fn enrols(home: &mut Home, name: &str, author: &Author, roles: &[Roles]) {
    let workshop = home.workshop().unwrap();
    let person = Payload::Person(Person { name: name.to_owned() });
    let person = home.state(workshop, &root(), &[person]).unwrap().entries[0];
    let device = Device {
        key: author.key(),
        person,
        roles: roles.to_vec(),
        label: format!("phone of {name}"),
        invite: None,
        join_signature: Vec::new(),
    };
    home.state(workshop, &root(), &[Payload::Device(device)]).unwrap();
}

/// Ann, a member, enters the workshop on this disk; her own home, and her key. She is invented.
pub(super) fn ann(disk: &mut Memory) -> (Home, Author) {
    let mirror = Mirror::of(rows(disk));
    let mut home = Home::within(Box::new(mirror.clone()), Rehearsed).unwrap();
    let ann = Author::from_secret(&[2; 32]);
    enrols(&mut home, "Ann", &ann, &[Roles::Member]);
    mirror.take().iter().for_each(|batch| disk.write(batch).unwrap());
    let mut hers = Home::within(Box::new(Mirror::default()), Rehearsed).unwrap();
    hers.carry_in_bytes("file", &carried(&home), Some(home.root().unwrap())).unwrap();
    (hers, ann)
}

/// All that a home has, as a file.
pub(super) fn carried(home: &Home) -> Vec<u8> {
    home.carry_out_bytes(&home.records().collect::<Vec<_>>()).unwrap()
}

/// A gauge that shows a thousandth, with a standard uncertainty of 1 µm.
pub(super) fn gauge(mark: &str, sort: &str, range: (&str, &str), master: &str) -> Payload {
    let size = |text: &str| Some(Quantity::parse(text).unwrap());
    Payload::Instrument(Box::new(Instrument {
        mark: mark.to_owned(),
        sort: sort.to_owned(),
        resolution: size("0.001 mm"),
        error_limit: None,
        standard_uncertainty: size("1 µm"),
        repeatability: None,
        range_low: size(range.0),
        range_high: size(range.1),
        material: String::new(),
        master: master.to_owned(),
        calibrated_on: Some(1_700_000_000_000),
        calibration_due: Some(1_900_000_000_000),
        calibration_seen: true,
        owner: String::new(),
        error_percent: None,
    }))
}

/// A phone that was let in and is held by the owner of its key, at a place.
pub(super) fn held(place: impl FnOnce(DocumentId) -> Place) -> (Phone, DocumentId) {
    let (disk, record) = let_in();
    (held_on(disk, &place(record)), record)
}

/// The phone of a disk, held by the owner of its key, at a place.
pub(super) fn held_on(disk: Memory, there: &Place) -> Phone {
    let mut phone = Phone::on(disk, Place::Who(Box::new(there.clone())));
    phone.send(super::who::Event::Pin(PIN.to_owned()));
    phone.send(super::who::Event::Open);
    assert_eq!(phone.address, there.address());
    assert!(!matches!(phone.view().screen, ScreenView::Who(_)));
    phone
}

/// A diameter is read by who holds the phone, without gauge or temperature, and kept.
pub(super) fn reads_diameter(
    phone: &mut Phone,
    record: DocumentId,
    feature: &str,
    station: &str,
    value: &str,
) {
    let reading = gudgeon_core::entry::payload::Reading {
        feature: feature.to_owned(),
        part: String::new(),
        characteristic: "diameter".to_owned(),
        station: station.to_owned(),
        conditions: Vec::new(),
        value: Quantity::parse(value).unwrap(),
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
    phone.app.desk.state(record, &[Payload::Reading(Box::new(reading))], |_| Event::Dismissed);
    phone.send(Event::Dismissed);
}
