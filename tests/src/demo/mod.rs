//! The demo build: an invented engine, built by three people on three homes through the real
//! command line, which meet at a real relay. What goes wrong in it goes wrong on purpose.
//!
//! Workshop, people, engine and every figure are invented.

mod before;
pub mod ended;
mod forge;
pub mod goods;
pub mod office;
mod plan;
mod scenes;
pub mod shop;
mod walk;

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::time::Instant;

use serde_json::{Value, json};

use gudgeon_core::document::{Bundle, Document};
use gudgeon_core::engine::EXAMPLE;
use shop::{Failure, Programs, Shop};
use walk::walk;

/// The three who meet at the relay: the lead, the machinist, the fitter. Homes and names.
pub const NAMES: [(&str, &str); 3] =
    [("ida", "Ida Vossbrink"), ("ben", "Ben Aldermoor"), ("cleo", "Cleo Marrowby")];

/// Their homes.
const PEOPLE: [&str; 3] = [NAMES[0].0, NAMES[1].0, NAMES[2].0];

/// Hears the story.
type Tell<'t> = &'t mut dyn FnMut(&str);

fn name_of(who: &str) -> &'static str {
    NAMES.iter().find(|(home, _)| *home == who).map_or("", |(_, name)| name)
}

/// What a play comes to.
#[derive(Debug)]
pub struct Played {
    /// The counts, all of them from the homes and the relay as they are left.
    pub counts: Value,
    /// The address of the relay, which the homes keep; it is stopped.
    pub url: String,
}

/// Plays the whole build; says what happens through `tell`.
///
/// # Errors
/// The first command that does not do what the story needs, with what it said.
pub fn play(programs: Programs, directory: &Path, tell: Tell) -> Result<Played, Failure> {
    let started = Instant::now();
    let mut shop = Shop::open(programs, directory)?;
    let shop = &mut shop;
    tell(
        "Millrace Engines founds its workshop: Ida the lead, Ben the machinist, Cleo the fitter, each on a phone of their own. Ben is entered by hand and gets the workshop as a file; Cleo joins by an invite; they meet at the relay.",
    );
    let old_phone = open_shop(shop)?;
    before::ready(shop, tell)?;
    tell(
        "An Ouse 1.8 comes in: marked, stripped, cleaned, crack tested; Cleo and Ben measure it as found, each blind to the other.",
    );
    scenes::lost_phone(shop, &old_phone, tell)?;
    walk(shop, 4, &|_| true)?;
    before::oversizes(shop, tell)?;
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

    scenes::wipe(shop, tell)?;
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
    Ok(Played { counts: count(shop, started, tell)?, url: shop.office.url.clone() })
}

/// Founds the workshop, lists its gauges, starts the record, lets everybody in.
/// Gives the key of the fitter's old phone.
fn open_shop(shop: &mut Shop) -> Result<String, Failure> {
    let founded = shop.run("ida", &["found", "Millrace Engines", "--lead", name_of("ida")])?;
    for gauge in goods::GAUGES {
        let overdue = gauge.0 == goods::OVERDUE;
        list_gauge(shop, gauge, if overdue { goods::RUN_OUT } else { goods::CALIBRATED })?;
    }
    let engine = shop.file("engine.toml");
    fs::write(&engine, EXAMPLE).map_err(|error| error.to_string())?;
    shop.run("ida", &["start", "Ouse 1.8, no. 17", "--engine", &engine])?;
    let root = founded["fingerprint"].as_str().ok_or_else(|| format!("no root digits in {founded}"))?;
    let ask = shop.carried_file("ben.ask");
    shop.run("ben", &["ask", "--label", "Ben's phone", "--to", &ask])?;
    shop.run("ida", &["enrol", &ask, "--name", name_of("ben")])?;
    shop.first_sync("ida")?;
    shop.hand_over_file("ida", "ben", root)?;
    shop.first_sync("ben")?;
    invite(shop, "cleo", "Cleo's phone")?;
    invite(shop, "cleo-old", "Cleo's old phone")
}

/// The lead lists a gauge, calibrated and due at these dates.
fn list_gauge(shop: &mut Shop, gauge: &goods::Gauge, dates: (&str, &str)) -> Result<(), Failure> {
    let (mark, sort, rest) = gauge;
    let dates = ["--calibrated", dates.0, "--due", dates.1, "--seen"];
    shop.run("ida", &[&["gauge", "add", mark, "--sort", sort], *rest, &dates].concat())?;
    Ok(())
}

/// The lead invites the fitter, who joins from a home and is let in. Gives its key.
fn invite(shop: &mut Shop, home: &str, label: &str) -> Result<String, Failure> {
    let invited = shop.run("ida", &["invite", name_of("cleo")])?;
    let code = invited["code"].as_str().ok_or_else(|| format!("no code in {invited}"))?;
    shop.sync("ida")?;
    let joined = shop.run(home, &["join", code, "--label", label])?;
    let let_in = shop.sync("ida")?;
    let key = joined["key"].as_str().ok_or_else(|| format!("no key in {joined}"))?;
    if let_in["let_in"][0] != key {
        return Err(format!("{label} was not let in: {let_in}"));
    }
    shop.sync(home)?;
    Ok(key.to_owned())
}

/// Where the record stands, as the lead's home says it.
fn progress(shop: &mut Shop, tell: Tell) -> Result<(), Failure> {
    let tally = tally(shop)?;
    tell(&format!(
        "    {} entries, {} of {} steps signed, {} findings to settle; {} meetings with the relay so far",
        tally["entries"], tally["steps_signed"], tally["steps_total"], tally["open_findings"], shop.meetings
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

/// The counts, all of them from the homes and the relay as they are left.
fn count(shop: &mut Shop, started: Instant, tell: Tell) -> Result<Value, Failure> {
    let (mut held, mut assessed, mut refused) = (Vec::new(), Vec::new(), 0);
    for who in PEOPLE {
        held.push(entries_of(shop, who)?);
        assessed.push(shop.said(who, &["status", "--whole"])?);
        refused += shop.run(who, &["refused"])?["refused"].as_array().map_or(0, Vec::len);
    }
    let kept = shop.office.close()?;
    tell(&format!(
        "The relay is stopped and checks what it keeps: sound, {} entries of workshop and record; {} refused, kept aside.",
        kept.entries.len(),
        kept.refused
    ));
    refused += kept.refused;
    held.push(kept.entries);
    let converged =
        held.iter().all(|ids| *ids == held[0]) && assessed.iter().all(|said| *said == assessed[0]);
    let everywhere = |id: &&String| held.iter().all(|ids| ids.contains(*id));
    let lost = shop.said_saved.iter().filter(|id| !everywhere(id)).count();
    let people = shop.run("ida", &["people"])?["people"].as_array().map_or(0, Vec::len);
    let tally = tally(shop)?;
    let tenths = started.elapsed().as_millis() / 100;
    let mut counts = json!({
        "people": people, "entries": held[0].iter().filter(everywhere).count(), "converged": converged, "lost": lost, "refused": refused,
        "sheet": shop.file("record.html"), "commands": shop.commands, "carried": shop.carried,
        "seconds": format!("{}.{}", tenths / 10, tenths % 10).parse::<f64>().ok(),
    });
    let from_tally = ["disputed", "stale_signoffs", "not_proven", "outside", "not_counted", "conceded"];
    for name in from_tally.iter().chain(&["steps_total", "steps_signed", "open_findings"]) {
        counts[*name] = tally[*name].clone();
    }
    Ok(counts)
}
