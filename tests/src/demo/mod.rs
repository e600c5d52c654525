//! The demo build: an invented engine, built by three people on three homes through the real
//! command line, carried together by file. What goes wrong in it goes wrong on purpose.
//!
//! Workshop, people, engine and every figure are invented.

mod forge;
pub mod goods;
mod plan;
mod scenes;
pub mod shop;
mod walk;

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::Instant;

use serde_json::{Value, json};

use gudgeon_core::document::{Bundle, Document};
use gudgeon_core::engine::EXAMPLE;
use shop::{Failure, Shop};
use walk::walk;

/// The three who carry to each other: the lead, the machinist, the fitter. Homes and names.
pub const NAMES: [(&str, &str); 3] =
    [("ida", "Ida Vossbrink"), ("ben", "Ben Aldermoor"), ("cleo", "Cleo Marrowby")];

/// Their homes.
const PEOPLE: [&str; 3] = [NAMES[0].0, NAMES[1].0, NAMES[2].0];

/// Hears the story.
type Tell<'t> = &'t mut dyn FnMut(&str);

fn name_of(who: &str) -> &'static str {
    NAMES.iter().find(|(home, _)| *home == who).map_or("", |(_, name)| name)
}

/// Plays the whole build; says what happens through `tell`, and gives the counts at the end.
///
/// # Errors
/// The first command that does not do what the story needs, with what it said.
pub fn play(binary: PathBuf, directory: &Path, tell: Tell) -> Result<Value, Failure> {
    let started = Instant::now();
    let mut shop = Shop::open(binary, directory)?;
    let shop = &mut shop;
    tell(
        "Millrace Engines founds its workshop: Ida the lead, Ben the machinist, Cleo the fitter, each on a phone of their own.",
    );
    let old_phone = open_shop(shop)?;
    tell(
        "An Ouse 1.8 comes in: marked, stripped, cleaned, crack tested; Cleo and Ben measure it as found, each blind to the other.",
    );
    scenes::lost_phone(shop, &old_phone, tell)?;
    walk(shop, 5, &|_| true)?;
    progress(shop, tell)?;

    tell(
        "Ida decides with the customer: +0.50, -0.25. The crank goes out to be ground, Ben bores the block, parts come in.",
    );
    scenes::machine(shop)?;
    walk(shop, 6, &|_| true)?;
    scenes::crankpin(shop, tell)?;
    walk(shop, 7, &|id| id != "big-end-clearance/2")?;
    scenes::big_end(shop, tell)?;
    walk(shop, 8, &|_| true)?;
    progress(shop, tell)?;

    scenes::cold_shop(shop, tell)?;
    walk(shop, 10, &|_| true)?;
    scenes::ring_gap(shop, tell)?;
    scenes::concession(shop, tell)?;
    scenes::forgery(shop, tell)?;
    walk(shop, 17, &|_| true)?;
    tell(
        "Washed, oilways proven, and together it goes: mains by three stages in N·m, rods by two in lbf·ft, turned after each; bolt stretch proven.",
    );
    progress(shop, tell)?;
    scenes::hand_over(shop, tell)?;
    count(shop, started)
}

/// Founds the workshop, lists its gauges, starts the record, lets everybody in.
/// Gives the key of the fitter's old phone.
fn open_shop(shop: &mut Shop) -> Result<String, Failure> {
    let founded = shop.run("ida", &["found", "Millrace Engines", "--lead", name_of("ida")])?;
    for (mark, sort, rest) in goods::GAUGES {
        let dates = ["--calibrated", "2026-01-12", "--due", "2036-01-12", "--seen"];
        shop.run("ida", &[&["gauge", "add", mark, "--sort", sort], *rest, &dates].concat())?;
    }
    let engine = shop.file("engine.toml");
    fs::write(&engine, EXAMPLE).map_err(|error| error.to_string())?;
    shop.run("ida", &["start", "Ouse 1.8, no. 17", "--engine", &engine])?;
    let mut key = String::new();
    let homes = [
        ("ben", "ben", "Ben's phone"),
        ("cleo", "cleo", "Cleo's phone"),
        ("cleo-old", "cleo", "Cleo's old phone"),
    ];
    for (home, who, label) in homes {
        let ask = shop.carried_file(&format!("{home}.ask"));
        let asked = shop.run(home, &["ask", "--label", label, "--to", &ask])?;
        shop.run("ida", &["enrol", &ask, "--name", name_of(who)])?;
        asked["key"].as_str().unwrap_or_default().clone_into(&mut key);
    }
    let root = founded["fingerprint"].as_str().ok_or_else(|| format!("no root digits in {founded}"))?;
    shop.join("ida", &homes.map(|(home, ..)| home), root)?;
    Ok(key)
}

/// Where the record stands, as the lead's home says it.
fn progress(shop: &mut Shop, tell: Tell) -> Result<(), Failure> {
    let tally = tally(shop)?;
    tell(&format!(
        "    {} entries, {} of {} steps signed, {} findings to settle; {} files carried so far",
        tally["entries"], tally["steps_signed"], tally["steps_total"], tally["open_findings"], shop.carried
    ));
    Ok(())
}

fn tally(shop: &mut Shop) -> Result<Value, Failure> {
    Ok(shop.run("ida", &["status"])?["tally"].clone())
}

/// Every entry, of the workshop and of the record, that a home carries out.
fn entries_of(shop: &mut Shop, who: &str) -> Result<BTreeSet<String>, Failure> {
    let file = fs::read(shop.carry_out(who)?).map_err(|error| error.to_string())?;
    let bundle = Bundle::read(&file).map_err(|error| error.to_string())?;
    let mut ids = BTreeSet::new();
    for carried in bundle.documents() {
        let mut document = Document::new();
        document.receive(carried.changes(), &mut |_, _| Ok(()));
        ids.extend(document.entries().map(|put| put.id.to_hex()));
    }
    Ok(ids)
}

/// The counts, all of them from the homes as they are left.
fn count(shop: &mut Shop, started: Instant) -> Result<Value, Failure> {
    let (mut held, mut assessed, mut refused) = (Vec::new(), Vec::new(), 0);
    for who in PEOPLE {
        held.push(entries_of(shop, who)?);
        assessed.push(shop.said(who, &["status", "--whole"])?);
        refused += shop.run(who, &["refused"])?["refused"].as_array().map_or(0, Vec::len);
    }
    let converged =
        held.iter().all(|ids| *ids == held[0]) && assessed.iter().all(|said| *said == assessed[0]);
    let kept = |id: &&String| held.iter().any(|ids| ids.contains(*id));
    let lost = shop.said_saved.iter().filter(|id| !kept(id)).count();
    let people = shop.run("ida", &["people"])?["people"].as_array().map_or(0, Vec::len);
    let tally = tally(shop)?;
    let tenths = started.elapsed().as_millis() / 100;
    let mut counts = json!({
        "people": people, "converged": converged, "lost": lost, "refused": refused,
        "sheet": shop.file("record.html"), "commands": shop.commands, "carried": shop.carried,
        "seconds": format!("{}.{}", tenths / 10, tenths % 10).parse::<f64>().ok(),
    });
    let from_tally =
        ["entries", "disputed", "stale_signoffs", "not_proven", "outside", "not_counted", "conceded"];
    for name in from_tally.iter().chain(&["steps_total", "steps_signed", "open_findings"]) {
        counts[*name] = tally[*name].clone();
    }
    Ok(counts)
}
