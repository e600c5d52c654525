//! The plain model runs, its laws hold for every seed, and the laws can fail.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

use gudgeon_tests::model::laws::{catches, most_repacks};
use gudgeon_tests::model::run::run;
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
fn every_broken_rule_is_noticed() {
    for bug in Bug::ALL {
        let (seed, words) = catches(bug, 400).unwrap();
        println!("{bug:?}: seed {seed}: {words}");
    }
}
