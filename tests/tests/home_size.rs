//! What a record of 3,000 entries takes on disk; with `--nocapture` also how long it opens.
//!
//! `cargo test --release -p gudgeon-tests --test home_size -- --nocapture`
#![allow(clippy::print_stdout, clippy::unwrap_used)]

mod home_common;

use std::time::Instant;

use gudgeon_client::home::Home;
use gudgeon_client::world::Native;
use home_common::{author, found, note};

const ENTRIES: u64 = 3_000;

/// Bytes on disk that one entry, saved by itself, may take; about a quarter is slack.
const BYTES_PER_ENTRY: u64 = 2_048;

#[test]
fn a_record_of_3000_entries_stays_small_on_disk() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("home");
    let mut home = Home::create(&path, Native).unwrap();
    let record = found(&mut home);
    drop(home);
    let size = || std::fs::metadata(path.join("records.store")).unwrap().len();
    let empty = size();

    let mut home = Home::open(&path, Native).unwrap();
    let start = Instant::now();
    for number in 0..ENTRIES {
        let text = format!("journal {number} of the invented engine, as long as a reading");
        home.state(record, &author(2), &[note(&text)]).unwrap();
    }
    println!("save one entry, durable: {:?} on average", start.elapsed() / 3_000);
    let raw: usize = home.document(record).unwrap().changes_from(0).iter().map(|c| c.raw().len()).sum();
    drop(home);

    for _ in 0..10 {
        let start = Instant::now();
        let home = Home::open(&path, Native).unwrap();
        let opened = start.elapsed();
        assert_eq!(home.log(record).unwrap().folded().len(), 3_001);
        println!("open the home {opened:?}, with the record of 3,000 entries {:?}", start.elapsed());
    }
    let per_entry = (size() - empty) / ENTRIES;
    println!(
        "on disk: empty {empty} bytes, full {} bytes, {per_entry} bytes an entry, of which {} raw change",
        size(),
        raw / 3_000
    );
    assert!(per_entry <= BYTES_PER_ENTRY, "{per_entry} bytes an entry");
}
