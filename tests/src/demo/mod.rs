//! The demo build: an invented engine, built by three people on three homes through the real
//! command line, carried together by file. What goes wrong in it goes wrong on purpose.

mod forge;
pub mod goods;
pub mod shop;
mod walk;

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::time::Instant;

use serde_json::{Value, json};

use gudgeon_core::engine::EXAMPLE;
use shop::{Failure, Shop};
use walk::{PEOPLE, walk};

/// The lead, the machinist, the fitter; and one who leaves.
const NAMES: [(&str, &str); 4] =
    [("ida", "Ida Voss"), ("ben", "Ben Alder"), ("cleo", "Cleo Marsh"), ("dan", "Dan Reed")];

/// Plays the whole build; says what happens through `tell`, and gives the counts at the end.
///
/// # Errors
/// The first command that does not do what the story needs, with what it said.
pub fn play(binary: PathBuf, directory: &Path, tell: &mut dyn FnMut(&str)) -> Result<Value, Failure> {
    let started = Instant::now();
    let mut shop = Shop::open(binary, directory)?;
    tell("Monday. A workshop is founded; four people get keys on their own devices.");
    open_shop(&mut shop)?;
    tell(
        "The engine comes in: marked, stripped, cleaned, crack tested, measured as found. Dan helps, then leaves.",
    );
    leaver(&mut shop, tell)?;
    walk(&mut shop, 5, &|_| true)?;
    progress(&shop, tell)?;

    tell("Parts come in. Crank ground, block bored, by the machinist.");
    machine(&mut shop)?;
    walk(&mut shop, 6, &|_| true)?;
    crankpin(&mut shop, tell)?;
    walk(&mut shop, 7, &|id| id != "big-end-clearance/2")?;
    big_end(&mut shop, tell)?;
    walk(&mut shop, 8, &|_| true)?;
    cold_shop(&shop, tell)?;
    walk(&mut shop, 10, &|_| true)?;
    progress(&shop, tell)?;

    ring_gap(&mut shop, tell)?;
    concession(&mut shop, tell)?;
    forgery(&mut shop, tell)?;
    walk(&mut shop, 17, &|_| true)?;
    tell("Mains by three stages in N·m, rods by two in lbf·ft, the crank turned after each; stretch proven.");
    progress(&shop, tell)?;
    hand_over(&mut shop, tell)?;
    count(&mut shop, started)
}

fn open_shop(shop: &mut Shop) -> Result<(), Failure> {
    let founded = shop.run("ida", &["found", "Millrace Engines", "--lead", "Ida Voss"])?;
    for (mark, sort, rest) in goods::GAUGES {
        let mut words = vec!["gauge", "add", mark, "--sort", sort];
        words.extend(*rest);
        words.extend(["--calibrated", "2026-01-12", "--due", "2036-01-12", "--seen"]);
        shop.run("ida", &words)?;
    }
    let engine = shop.file("engine.toml");
    std::fs::write(&engine, EXAMPLE).map_err(|error| error.to_string())?;
    shop.run("ida", &["start", "Ouse 1.8, no. 17", "--engine", &engine])?;
    for (who, name) in &NAMES[1..] {
        let ask = shop.file(&format!("{who}.ask"));
        if Path::new(&ask).exists() {
            std::fs::remove_file(&ask).map_err(|error| error.to_string())?;
        }
        shop.run(who, &["ask", "--label", &format!("{who}'s phone"), "--to", &ask])?;
        shop.run("ida", &["enrol", &ask, "--name", name])?;
    }
    let root =
        founded["fingerprint"].as_str().ok_or_else(|| format!("no root digits in {founded}"))?.to_owned();
    let bundle = shop.file("monday.gudgeon");
    if Path::new(&bundle).exists() {
        std::fs::remove_file(&bundle).map_err(|error| error.to_string())?;
    }
    shop.run("ida", &["carry", "out", &bundle])?;
    for (who, _) in &NAMES[1..] {
        shop.run(who, &["carry", "in", &bundle, "--root", &root])?;
    }
    Ok(())
}

/// Dan's first entries count; what he writes after he was removed does not.
fn leaver(shop: &mut Shop, tell: &mut dyn FnMut(&str)) -> Result<(), Failure> {
    shop.run("dan", &["note", "galleries brushed through, five plugs in the tray"])?;
    shop.carry("dan", &PEOPLE)?;
    shop.run("ida", &["remove", "Dan Reed", "--reason", "left the shop"])?;
    shop.carry("ida", &PEOPLE)?;
    for micrometres in 0..3 {
        let value = format!("80.30{micrometres} mm");
        let words = [
            "read",
            "bore/2",
            "diameter",
            &value,
            "--at",
            "middle/thrust",
            "--gauge",
            "B1",
            "--both-at",
            "12C",
        ];
        shop.run("dan", &words)?;
    }
    shop.carry("dan", &PEOPLE)?;
    let not_counted = shop.run("ida", &["status"])?["tally"]["not_counted"].clone();
    tell(&format!(
        "Dan's device was removed; {not_counted} entries it wrote later are kept, shown, and do not count."
    ));
    Ok(())
}

fn machine(shop: &mut Shop) -> Result<(), Failure> {
    let numbered = |what: &str, count: u8| (1..=count).map(|n| format!("{what}/{n}")).collect::<Vec<_>>();
    for (operation, features, note) in [
        ("grind-journal", numbered("main", 5), "0.25 under"),
        ("grind-journal", numbered("pin", 4), "0.25 under"),
        ("bore", numbered("bore", 4), "0.50 over, left for honing"),
    ] {
        let mut words = vec!["work", operation];
        words.extend(features.iter().map(String::as_str));
        words.extend(["--note", note]);
        shop.run("ben", &words)?;
    }
    shop.carry("ben", &PEOPLE)
}

/// One crankpin read apart by more than the gauges explain, settled by a third reading.
fn crankpin(shop: &mut Shop, tell: &mut dyn FnMut(&str)) -> Result<(), Failure> {
    let read = |value: &str| -> Vec<String> {
        [
            "read",
            "pin/3",
            "diameter",
            value,
            "--at",
            "front/0",
            "--gauge",
            "M3",
            "--both-at",
            "12C",
            "--blind",
        ]
        .map(str::to_owned)
        .to_vec()
    };
    for (who, value) in [("ben", "47.742 mm"), ("cleo", "47.753 mm")] {
        let words = read(value);
        shop.run(who, &words.iter().map(String::as_str).collect::<Vec<_>>())?;
    }
    shop.carry("ben", &PEOPLE)?;
    shop.carry("cleo", &PEOPLE)?;
    let found = finding(shop, "ida", "disputed")?;
    tell(&format!("First merge: {found}. The lead reads a third time, blind."));
    let words = read("47.743 mm");
    shop.run("ida", &words.iter().map(String::as_str).collect::<Vec<_>>())?;
    shop.carry("ida", &PEOPLE)
}

/// A big end signed by the fitter while the machinist, offline, changed its bolts.
fn big_end(shop: &mut Shop, tell: &mut dyn FnMut(&str)) -> Result<(), Failure> {
    shop.run("ben", &["work", "rod-bolts-changed", "rod/2", "--note", "new bolts, old ones stretched"])?;
    shop.run("ben", &["work", "rod-resized", "rod/2"])?;
    shop.run("cleo", &["sign", "big-end-clearance/2"])?;
    shop.carry("cleo", &PEOPLE)?;
    shop.carry("ben", &PEOPLE)?;
    let found = finding_on(shop, "cleo", "stale-sign-off", "big-end-clearance/2")?;
    tell(&format!("Second merge, big end 2: {found}. The housing is read again and signed again."));
    Ok(())
}

/// A cold shop is worth more than the tolerance.
fn cold_shop(shop: &Shop, tell: &mut dyn FnMut(&str)) -> Result<(), Failure> {
    let sight = shop.look("cleo")?;
    let value =
        sight.assessment.value("bore/1", "piston-clearance").ok_or("no piston clearance of bore 1")?;
    let as_read = value.as_read.ok_or("temperature made no difference")?;
    let limit = value.limit.as_ref().ok_or("no limit")?;
    let cold = gudgeon_core::measure::judge_range(
        as_read.0,
        as_read.1,
        value.u,
        limit.lower,
        limit.upper,
        limit.rule,
    );
    let span = |ends: (i64, i64)| gudgeon_core::assess::show::span(value.kind, ends.0, ends.1);
    let decided = value.low.zip(value.high).map(span).unwrap_or_default();
    tell(&format!(
        "Piston clearance in bore 1 at 12 degC: {} as read ({}); {decided} at 20 degC: {}.",
        span(as_read),
        cold.verdict,
        value.verdict()
    ));
    Ok(())
}

/// A hone and a ring gap that knew nothing of each other.
fn ring_gap(shop: &mut Shop, tell: &mut dyn FnMut(&str)) -> Result<(), Failure> {
    let gap = [
        "read",
        "ring/1/top",
        "gap",
        "0.37 mm",
        "--gauge",
        "F1",
        "--both-at",
        "12C",
        "--cond",
        "ring-squared",
    ];
    let gap = shop.enter("cleo", &gap)?;
    let hone = shop.enter("ben", &["work", "hone", "bore/1", "--note", "a few strokes more, for finish"])?;
    shop.carry("cleo", &PEOPLE)?;
    shop.carry("ben", &PEOPLE)?;
    let found = finding(shop, "cleo", "before-or-after")?;
    tell(&format!(
        "Ring gap, cylinder 1: {found}. Cleo says the hone came first; bore 1 is read and signed again."
    ));
    let words =
        ["order", "--first", &hone, "--second", &gap, "--reason", "the hone was off the block when I gapped"];
    shop.run("cleo", &words)?;
    shop.carry("cleo", &PEOPLE)
}

/// A gap that is too wide, accepted by the lead with a reason.
fn concession(shop: &mut Shop, tell: &mut dyn FnMut(&str)) -> Result<(), Failure> {
    let gap = [
        "read",
        "ring/4/second",
        "gap",
        "0.53 mm",
        "--gauge",
        "F1",
        "--both-at",
        "12C",
        "--cond",
        "ring-squared",
    ];
    shop.run("cleo", &gap)?;
    shop.carry("cleo", &PEOPLE)?;
    let found = finding(shop, "ida", "outside")?;
    let words = [
        "concede",
        "--rule",
        "outside",
        "--feature",
        "ring/4/second",
        "--subject",
        "gap",
        "--reason",
        "second ring, 0.03 over; no other of its size to be had; the customer agrees",
    ];
    shop.run("ida", &words)?;
    tell(&format!("Ring 4, second: {found}. Conceded by the lead, with the reason."));
    shop.carry("ida", &PEOPLE)
}

/// A bundle with a forged entry: refused at the gate, kept aside, the rest taken.
fn forgery(shop: &mut Shop, tell: &mut dyn FnMut(&str)) -> Result<(), Failure> {
    let honest = shop.file("from-ida.gudgeon");
    let bytes = std::fs::read(&honest).map_err(|error| error.to_string())?;
    let file = shop.file("forged.gudgeon");
    std::fs::write(&file, forge::forge(&bytes)?).map_err(|error| error.to_string())?;
    shop.run("cleo", &["carry", "in", &file])?;
    let refused = shop.run("cleo", &["refused"])?;
    let first = &refused["refused"][0];
    tell(&format!(
        "A forged entry was carried in: refused ({}), kept aside; nothing else is touched.",
        first["rule"]
    ));
    Ok(())
}

fn hand_over(shop: &mut Shop, tell: &mut dyn FnMut(&str)) -> Result<(), Failure> {
    walk(shop, 18, &|_| true)?;
    shop.run(
        "ida",
        &["hand-over", "--to", "the customer", "--note", "priming and first-start notes in the box"],
    )?;
    shop.carry("ida", &PEOPLE)?;
    let sheet = shop.file("record.html");
    shop.run("ida", &["print", &sheet])?;
    tell(&format!("Handed over, with the printed record: {sheet}"));
    progress(shop, tell)
}

/// The text of the first finding of a rule.
fn finding(shop: &mut Shop, who: &str, rule: &str) -> Result<String, Failure> {
    finding_on(shop, who, rule, "")
}

fn finding_on(shop: &mut Shop, who: &str, rule: &str, subject: &str) -> Result<String, Failure> {
    let said = shop.run(who, &["findings"])?;
    let all = said["findings"].as_array().cloned().unwrap_or_default();
    let found = all
        .iter()
        .find(|finding| finding["rule"] == rule && (subject.is_empty() || finding["subject"] == subject));
    let text = found.and_then(|finding| finding["text"].as_str()).map(str::to_owned);
    text.ok_or_else(|| format!("{who} has no finding {rule}: {said}"))
}

fn progress(shop: &Shop, tell: &mut dyn FnMut(&str)) -> Result<(), Failure> {
    let sight = shop.look("ida")?;
    let tally = sight.assessment.tally(&sight.record);
    tell(&format!(
        "    {} entries, {} of {} steps signed, {} findings to settle",
        tally.entries, tally.steps_signed, tally.steps_total, tally.open_findings
    ));
    Ok(())
}

fn count(shop: &mut Shop, started: Instant) -> Result<Value, Failure> {
    let sights = PEOPLE.iter().map(|who| shop.look(who)).collect::<Result<Vec<_>, _>>()?;
    let ids = |sight: &shop::Sight| -> BTreeSet<String> {
        let logs = [sight.record.log(), sight.workshop.log()];
        logs.iter().flat_map(|log| log.folded()).map(|statement| statement.id.to_hex()).collect()
    };
    let held: Vec<BTreeSet<String>> = sights.iter().map(ids).collect();
    let same = held.windows(2).all(|pair| pair[0] == pair[1]);
    let converged = same && sights.windows(2).all(|pair| pair[0].bytes() == pair[1].bytes());
    let all: BTreeSet<&String> = held.iter().flatten().collect();
    let lost = shop.said_saved.iter().filter(|id| !all.contains(id)).count();
    let mut refused = 0;
    for who in PEOPLE {
        refused += shop.run(who, &["refused"])?["refused"].as_array().map_or(0, Vec::len);
    }
    let people = shop.run("ida", &["people"])?["people"].as_array().map_or(0, Vec::len);
    let tally = shop.run("ida", &["status"])?["tally"].clone();
    let seconds = started.elapsed().as_millis() / 100;
    Ok(json!({
        "people": people, "entries": tally["entries"], "converged": converged, "lost": lost,
        "disputed": tally["disputed"], "stale_signoffs": tally["stale_signoffs"],
        "not_proven": tally["not_proven"], "outside": tally["outside"], "refused": refused,
        "not_counted": tally["not_counted"], "conceded": tally["conceded"],
        "steps_total": tally["steps_total"], "steps_signed": tally["steps_signed"],
        "sheet": shop.file("record.html"), "seconds": format!("{}.{}", seconds / 10, seconds % 10).parse::<f64>().ok(),
        "commands": shop.commands,
    }))
}
