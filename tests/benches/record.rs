//! What the record's own work costs; budgets stand in `cargo xtask bench`.
#![allow(missing_docs, clippy::unwrap_used)]

use std::hint::black_box;
use std::time::Instant;

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use gudgeon_client::home::Home;
use gudgeon_client::world::Native;
use gudgeon_core::assess::{Record, Workshop, assess};
use gudgeon_core::document::{Actor, Bundle, Document, parse};
use gudgeon_core::entry::{Entry, Payload, check, read_checked};
use gudgeon_tests::engines::VEE_EIGHT;
use gudgeon_tests::kit::Walk;
use gudgeon_tests::large::{Large, large};

fn fold(c: &mut Criterion) {
    let large = large(3_001);
    let workshop = Workshop::read(Large::log(large.workshop_id(), &large.workshop));
    let (last, rest) = large.record.split_last().unwrap();
    let before = Record::read(Large::log(large.record_id(), rest));
    let mut after = before.clone();
    after.insert(last);
    // Giving the assessment back to the system is not assessing; below it is left out as well.
    c.bench_function("assess_cold_3000", |b| {
        b.iter_with_large_drop(|| black_box(assess(&before, &workshop)));
    });

    let folded = assess(&before, &workshop);
    c.bench_function("assess_one_more", |b| {
        b.iter_batched_ref(
            || folded.clone(),
            |assessment| assessment.update(&after, &workshop),
            BatchSize::LargeInput,
        );
    });
    c.bench_function("assessment_to_json_3000", |b| b.iter(|| folded.to_bytes(&before, &workshop)));
    c.bench_function("read_log_3000", |b| b.iter(|| Record::read(Large::log(large.record_id(), rest))));
}

/// A vee-eight built to its end by the whole procedure, two people reading everything, and a third
/// reading again until there are so many entries.
fn built_vee_eight(count: usize) -> (Vec<Entry>, Vec<Entry>) {
    let mut walk = Walk::on(VEE_EIGHT).read_twice();
    while let Some(&step) = walk.open_steps().first() {
        walk.does(step);
    }
    assert!(walk.is_done());
    let shop = walk.shop();
    shop.everybody_meets();
    let held = shop.entries();
    let log = Large::log(held[0].id().into(), &held);
    let readings = log.folded().iter().filter_map(|statement| match &statement.payload {
        Ok(Payload::Reading(reading)) => Some(reading),
        _ => None,
    });
    for reading in readings.cycle().take(count.saturating_sub(held.len())) {
        shop.carl.says(&Payload::Reading(reading.clone()));
    }
    let (workshop, record) = walk.entries();
    assert_eq!(record.len(), count, "{} entries before the third person", held.len());
    (workshop, record)
}

fn fold_vee_eight(c: &mut Criterion) {
    let (workshop, record) = built_vee_eight(3_001);
    let workshop = Workshop::read(Large::log(workshop[0].id().into(), &workshop));
    let (last, rest) = record.split_last().unwrap();
    let before = Record::read(Large::log(record[0].id().into(), rest));
    let mut after = before.clone();
    after.insert(last);
    c.bench_function("assess_cold_vee_eight_3000", |b| {
        b.iter_with_large_drop(|| black_box(assess(&before, &workshop)));
    });
    let folded = assess(&before, &workshop);
    c.bench_function("assess_one_more_vee_eight", |b| {
        b.iter_batched_ref(
            || folded.clone(),
            |assessment| assessment.update(&after, &workshop),
            BatchSize::LargeInput,
        );
    });
}

fn gate(c: &mut Criterion) {
    let large = large(200);
    let entry = &large.record[150];
    let (id, document) = (entry.id(), large.record_id());
    c.bench_function("gate_with_signature", |b| b.iter(|| check(id, black_box(entry.value()), document)));
    c.bench_function("gate_remembered", |b| b.iter(|| read_checked(id, black_box(entry.value()), document)));
}

fn changes(c: &mut Criterion) {
    let large = large(200);
    let mut document = Document::new();
    let actor = Actor::from_slice(&[3; 16]).unwrap();
    for entry in &large.record {
        document.commit(actor, &[(entry.id(), entry.value().to_vec())]).unwrap();
    }
    let raw = document.changes_from(150)[0].raw().to_vec();
    c.bench_function("parse_change", |b| b.iter(|| parse(black_box(&raw))));
}

/// A home with the large record, as somebody has it who carried it in.
fn home(c: &mut Criterion) {
    let large = large(3_000);
    let mut bundle = Bundle::new(large.workshop[0].key());
    for (number, entries) in [(1, &large.workshop), (2, &large.record)] {
        let mut document = Document::new();
        let actor = Actor::from_slice(&[number; 16]).unwrap();
        for entry in entries {
            document.commit(actor, &[(entry.id(), entry.value().to_vec())]).unwrap();
        }
        bundle.add(entries[0].id().into(), &document);
    }
    let directory = tempfile::tempdir().unwrap();
    let file = directory.path().join("large.gudgeon");
    std::fs::write(&file, bundle.write().unwrap()).unwrap();
    let place = directory.path().join("home");
    let mut home = Home::create(&place, Native).unwrap();
    home.carry_in(&file, Some(large.workshop[0].key())).unwrap();
    drop(home);
    let record = large.record_id();
    c.bench_function("open_3000_from_disk", |b| {
        // Closing syncs the file, and is not what is asked here.
        b.iter_custom(|rounds| {
            (0..rounds)
                .map(|_| {
                    let started = Instant::now();
                    let home = Home::open(&place, Native).unwrap();
                    assert_eq!(home.log(record).unwrap().folded().len(), 3_000);
                    started.elapsed()
                })
                .sum()
        });
    });
}

criterion_group!(benches, fold, fold_vee_eight, gate, changes, home);
criterion_main!(benches);
