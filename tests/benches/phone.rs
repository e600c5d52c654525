//! The phone app without the phone: what a key, an opening and a start cost with a large record.
//!
//! No browser: the app's own part of what `cargo xtask phone --figures` measures, with one key of the same
//! app on an empty record as the limit beside it.
#![allow(clippy::unwrap_used, missing_docs)]

use std::hint::black_box;

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use gudgeon_client::home::Home;
use gudgeon_client::keys::Pin;
use gudgeon_client::store::{Mirror, Row, Store as _, Table};
use gudgeon_client::world::{Native, World};
use gudgeon_core::assess::digest_of;
use gudgeon_core::engine::{Definition, EXAMPLE, characteristic};
use gudgeon_core::entry::payload::{self, Device, Founding, Person, Reading, Role};
use gudgeon_core::entry::{Author, DocumentId, Payload};
use gudgeon_core::quantity::{Kind, Quantity};
use gudgeon_phone::app::{App, Effect, Event, Place, Role as Tab, reading};

/// A disk with a workshop and a record of so many readings, and the record.
fn disk(readings: usize) -> (Mirror, DocumentId) {
    let disk = Mirror::default();
    let mut home = Home::within(Box::new(disk.clone()), Native).unwrap();
    let root = Author::from_secret(&[1; 32]);
    let author = home.new_key("phone of Ada", &Pin::new("2468").unwrap()).unwrap();
    let founding = |name: &str, workshop, definition_digest| Founding {
        name: name.into(),
        workshop,
        definition_digest,
        nonce: name.as_bytes().to_vec(),
    };
    let workshop = home.found(&root, founding("Invented Works", None, None), &[]).unwrap().document;
    let person = Payload::Person(Person { name: "Ada".into() });
    let person = home.state(workshop, &root, &[person]).unwrap().entries[0];
    let device = Device {
        key: author.key(),
        person,
        roles: vec![Role::Lead, Role::Member],
        label: "desk".into(),
        invite: None,
        join_signature: Vec::new(),
    };
    home.state(workshop, &root, &[Payload::Device(device)]).unwrap();
    let definition = Payload::Definition(payload::Definition { text: EXAMPLE.into() });
    let founding = founding("Engine one", Some(workshop), Some(digest_of(EXAMPLE)));
    let record = home.found(&author, founding, &[definition]).unwrap().document;
    let says: Vec<Payload> = all_over().cycle().take(readings).enumerate().map(reading_of).collect();
    for some in says.chunks(100) {
        home.state(record, &author, some).unwrap();
    }
    (disk, record)
}

/// Every place of the engine where a length is read.
fn all_over() -> impl Iterator<Item = (String, &'static str, String)> + Clone {
    let definition = Definition::parse(EXAMPLE).unwrap();
    let mut places = Vec::new();
    for feature in definition.features() {
        for row in characteristic::of_kind(feature.kind()).iter().filter(|row| row.kind == Kind::Length) {
            let stations = definition.stations(row).iter();
            places.extend(stations.map(|station| (feature.path().to_owned(), row.name, station.to_string())));
        }
    }
    places.into_iter()
}

fn reading_of((number, (feature, name, station)): (usize, (String, &'static str, String))) -> Payload {
    let celsius = || Some(Quantity::parse("20 °C").unwrap());
    Payload::Reading(Box::new(Reading {
        feature,
        characteristic: name.to_owned(),
        station,
        value: Quantity::parse(&format!("50.{:03} mm", number % 1000)).unwrap(),
        gauge: "M1".to_owned(),
        part_temperature: celsius(),
        gauge_temperature: celsius(),
        part: String::new(),
        conditions: Vec::new(),
        set_size: None,
        master: String::new(),
        read_by: None,
        called_out: false,
        blind: false,
        reading_set: String::new(),
        note: String::new(),
    }))
}

fn rows(disk: &Mirror) -> Vec<(Table, Row)> {
    let of = |table| disk.scan(table, &[]).unwrap().into_iter().map(move |row| (table, row));
    Table::ALL.iter().copied().flat_map(of).collect()
}

/// Starts the app at a place, to the first view.
fn started(rows: Vec<(Table, Row)>, place: Place) -> App {
    let mut app = App::new(|| Box::new(Native) as Box<dyn World>, place);
    app.handle(Event::Role(Tab::Writer));
    let mut events = vec![Event::Rows { rows, lost: false }];
    while let Some(event) = events.pop() {
        let effects = app.handle(event);
        for effect in effects {
            if matches!(effect, Effect::Store(_)) {
                events.push(Event::Stored);
            } else if let Effect::Later(0..1_000, event) = effect {
                events.push(event);
            }
        }
    }
    black_box(app.view());
    app
}

fn phone(bench: &mut Criterion) {
    for readings in [0, 1_000, 3_000] {
        let (disk, record) = disk(readings);
        let all = rows(&disk);
        let mut group = bench.benchmark_group(format!("phone, {readings} readings"));
        group.sample_size(10);
        group.bench_function("start at the engine", |bench| {
            bench.iter_batched(
                || all.clone(),
                |rows| started(rows, Place::Record(record)),
                BatchSize::LargeInput,
            );
        });
        let place = Place::at(&format!("#/record/{}/read/pin/3/diameter", record.to_hex()));
        let mut app = started(all.clone(), place);
        group.bench_function("a key", |bench| {
            bench.iter(|| {
                app.handle(Event::from(reading::Event::Key('5')));
                black_box(app.view());
                app.handle(Event::from(reading::Event::Key('<')));
                black_box(app.view())
            });
        });
        group.finish();
    }
}

criterion_group!(benches, phone);
criterion_main!(benches);
