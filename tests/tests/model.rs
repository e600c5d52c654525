//! The plain model runs, its laws hold for every seed, and every one of the laws can fail.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

use std::collections::BTreeSet;

use gudgeon_tests::model::laws::{LAWS, broken, most_repacks};
use gudgeon_tests::model::run::{play, run};
use gudgeon_tests::model::{Bug, World};

/// How many seeds a plain run tries. `GUDGEON_SEEDS` sets another number, `GUDGEON_SEED` replays one.
const SEEDS: u64 = 300;

fn number(name: &str) -> Option<u64> {
    std::env::var(name).ok().map(|text| text.parse().unwrap())
}

fn seeds() -> Vec<u64> {
    match number("GUDGEON_SEED") {
        Some(seed) => vec![seed],
        None => (0..number("GUDGEON_SEEDS").unwrap_or(SEEDS)).collect(),
    }
}

#[test]
fn every_law_holds_for_every_seed() {
    let worlds: Vec<World> = seeds().into_iter().map(|seed| run(seed, None).unwrap()).collect();
    let sum = |count: fn(&World) -> usize| worlds.iter().map(count).sum::<usize>();
    println!(
        "{} seeds: {} entries, {} lost and named, {} forged, {} repacks of at most {}",
        worlds.len(),
        sum(|w| w.ledger.written.len()),
        sum(|w| w.ledger.lost.len()),
        sum(|w| w.forged.len()),
        sum(|w| w.tally.repacks),
        sum(most_repacks),
    );
}

#[test]
fn every_broken_rule_is_noticed_and_every_law_notices_something() {
    let mut failed = BTreeSet::new();
    for bug in Bug::ALL {
        let seen: BTreeSet<&str> =
            (0..30).flat_map(|seed| broken(&play(seed, Some(bug)).0)).map(|(law, _)| law).collect();
        println!("{bug:?} breaks: {seen:?}");
        assert!(!seen.is_empty(), "no law notices {bug:?}");
        failed.extend(seen);
    }
    assert_eq!(failed, LAWS.iter().map(|(name, _)| *name).collect());
}
