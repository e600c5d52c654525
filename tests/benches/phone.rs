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
use gudgeon_core::engine::EXAMPLE;
use gudgeon_core::entry::DocumentId;
use gudgeon_phone::app::{App, Effect, Event, Place, Role, reading};
use gudgeon_tests::homes;

/// A disk with a workshop and a record of so many readings, and the record.
fn disk(readings: usize) -> (Mirror, DocumentId) {
    let disk = Mirror::default();
    let mut home = Home::within(Box::new(disk.clone()), Native).unwrap();
    let author = home.new_key("phone of Ada", &Pin::new("2468").unwrap()).unwrap();
    let (_, record) = homes::founds(&mut home, &author, EXAMPLE, &[]);
    homes::reads_many(&mut home, &author, record, readings);
    (disk, record)
}

fn rows(disk: &Mirror) -> Vec<(Table, Row)> {
    let of = |table| disk.scan(table, &[]).unwrap().into_iter().map(move |row| (table, row));
    Table::ALL.iter().copied().flat_map(of).collect()
}

/// Starts the app at a place, to the first view.
fn started(rows: Vec<(Table, Row)>, place: Place) -> App {
    let mut app = App::new(|| Box::new(Native) as Box<dyn World>, place);
    app.handle(Event::Role(Role::Writer));
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
