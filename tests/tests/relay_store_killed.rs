//! A relay's store that is killed at any moment loses nothing that was flushed.
//!
//! Killing shows what the program does; the system's cache outlives it. What the device
//! keeps in a power cut is `relay_power_cut.rs`.
#![allow(clippy::print_stdout, clippy::unwrap_used)]

mod relay_store_kit;

use relay_store_kit::{Dice, Manner, Said, Writer, lost};

const ROUNDS: u64 = 20;

#[test]
fn what_was_flushed_survives_a_kill_at_any_moment() {
    if relay_store_kit::wrote_if_told() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let mut dice = Dice::new();
    let mut said = Said::default();
    for round in 0..ROUNDS {
        let test = "what_was_flushed_survives_a_kill_at_any_moment";
        let mut writer = Writer::start(test, folder.path(), Manner::Honest);
        writer.wait_at_random(&mut dice);
        said.extend(writer.kill());
        assert_eq!(lost(folder.path(), &said), Vec::<String>::new(), "round {round}");
    }
    println!("{} changes and {} backups kept in {ROUNDS} rounds", said.changes(), said.backups.len());
    assert!(said.changes() > 100, "too few to show anything: {}", said.changes());
}

#[test]
fn a_writer_that_never_flushes_is_caught() {
    if relay_store_kit::wrote_if_told() {
        return;
    }
    let mut dice = Dice::new();
    for _ in 0..ROUNDS {
        let folder = tempfile::tempdir().unwrap();
        let test = "a_writer_that_never_flushes_is_caught";
        let mut writer = Writer::start(test, folder.path(), Manner::Careless);
        writer.wait_at_random(&mut dice);
        let said = writer.kill();
        if !lost(folder.path(), &said).is_empty() {
            return;
        }
    }
    panic!("not once in {ROUNDS} rounds");
}
