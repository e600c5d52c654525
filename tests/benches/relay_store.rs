//! What it costs the relay to make changes durable, beside what the device itself takes.
#![allow(clippy::unwrap_used, missing_docs)]

use std::fs::File;
use std::io::Write as _;
use std::time::Duration;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use gudgeon_core::entry::DocumentId;
use gudgeon_relay::store::{Append, OnDisk, Options, Store};

/// Bytes of a change that holds one entry: a signed reading takes about so much.
const CHANGE: usize = 400;

/// How many changes go into one flush: one person at work, and a busy office.
const GROUPS: [u64; 2] = [1, 64];

/// Bytes that no compression shortens.
fn change(at: u64) -> Vec<u8> {
    let mut state = at.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1;
    let mut bytes = Vec::with_capacity(CHANGE);
    while bytes.len() < CHANGE {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        bytes.extend(state.to_be_bytes());
    }
    bytes
}

/// The same bytes at the end of a plain file, and `fdatasync`.
fn plain(criterion: &mut Criterion) {
    let directory = tempfile::tempdir().unwrap();
    for group in GROUPS {
        let mut file = File::create(directory.path().join(group.to_string())).unwrap();
        let mut at = 0;
        let mut bench = criterion.benchmark_group("relay_plain_fdatasync");
        bench.throughput(Throughput::Elements(group));
        bench.bench_function(group.to_string(), |bencher| {
            bencher.iter(|| {
                let bytes: Vec<u8> = (at..at + group).flat_map(change).collect();
                at += group;
                file.write_all(&bytes).unwrap();
                file.sync_data().unwrap();
            });
        });
    }
}

/// Changes of eight documents appended, and one flush.
fn flush(criterion: &mut Criterion) {
    for group in GROUPS {
        let directory = tempfile::tempdir().unwrap();
        let mut store = OnDisk::open(directory.path(), Options::default()).unwrap();
        let mut taken = 0;
        let mut bench = criterion.benchmark_group("relay_store_flush");
        bench.throughput(Throughput::Elements(group));
        bench.bench_function(group.to_string(), |bencher| {
            bencher.iter(|| {
                store.append(&(taken..taken + group).map(row).collect::<Vec<_>>()).unwrap();
                taken += group;
                store.flush().unwrap();
            });
        });
    }
}

fn row(number: u64) -> Append {
    let document = DocumentId::new([u8::try_from(number % 8).unwrap(); 32]);
    Append { document, at: number / 8, raw: change(number).into() }
}

/// A record of a thousand changes, read back.
fn load(criterion: &mut Criterion) {
    let directory = tempfile::tempdir().unwrap();
    let mut store = OnDisk::open(directory.path(), Options::default()).unwrap();
    store.append(&(0..8_000).map(row).collect::<Vec<_>>()).unwrap();
    store.flush().unwrap();
    criterion.bench_function("relay_store_load_1000", |bencher| {
        bencher.iter(|| store.load(DocumentId::new([3; 32])).unwrap());
    });
}

criterion_group! {
    name = benches;
    config = Criterion::default().measurement_time(Duration::from_secs(4)).sample_size(30);
    targets = plain, flush, load
}
criterion_main!(benches);
