//! What goes wrong in the demo build, on purpose.

use std::fs;

use serde_json::Value;

use super::shop::{Failure, Shop};
use super::walk::{SHOP_TEMPERATURE, walk};
use super::{PEOPLE, Tell, entries_of, forge, office, progress};

/// Exit code of a command that something else comes before.
const NOT_READY: i32 = 6;

/// Exit code of a command that somebody does not let one do.
const TURNED_AWAY: i32 = 5;

/// Reads one value in the cold shop.
fn read(
    shop: &mut Shop,
    who: &str,
    at: [&str; 3],
    value: &str,
    gauge: &str,
    more: &[&str],
) -> Result<String, Failure> {
    let [feature, characteristic, station] = at;
    let mut words = vec!["read", feature, characteristic, value, "--gauge", gauge];
    words.extend(["--both-at", SHOP_TEMPERATURE]);
    if !station.is_empty() {
        words.extend(["--at", station]);
    }
    words.extend(more);
    shop.enter(who, &words)
}

/// A phone that is lost: what it had entered counts, what it enters later does not.
pub(super) fn lost_phone(shop: &mut Shop, key: &str, tell: Tell) -> Result<(), Failure> {
    shop.run("cleo-old", &["note", "galleries brushed through, five plugs in the tray"])?;
    shop.sync("cleo-old")?;
    shop.merge(&PEOPLE)?;
    shop.run("ida", &["remove", key, "--reason", "lost on the way home", "--lost"])?;
    // Ida's phone is not at the office yet: the relay lets the lost one in once more.
    for value in ["80.300 mm", "80.302 mm"] {
        read(shop, "cleo-old", ["bore/2", "diameter", "middle/thrust"], value, "B1", &[])?;
    }
    let late = shop.sync("cleo-old")?;
    shop.merge(&PEOPLE)?;
    shop.turned_down("cleo-old", &["sync"], TURNED_AWAY)?;
    let not_counted = shop.run("ida", &["status"])?["tally"]["not_counted"].clone();
    tell(&format!(
        "Cleo lost her old phone, and its key was removed. {} entries that somebody made with it later came \
         over the relay before it heard of that. {not_counted} are kept, shown, not counted; the phone is \
         turned away from now on.",
        late["went"]
    ));
    Ok(())
}

/// The relay loses everything, and the homes fill it again.
pub(super) fn wipe(shop: &mut Shop, tell: Tell) -> Result<(), Failure> {
    shop.merge(&PEOPLE)?;
    let before = entries_of(shop, "ida")?;
    shop.wipe_office()?;
    let met = shop.sync("ben")?;
    if met["brought"] != true || met["here_only"] != 0 {
        return Err(format!("the wiped relay was not filled again: {met}"));
    }
    for who in PEOPLE {
        shop.sync(who)?;
        if entries_of(shop, who)? != before {
            return Err(format!("{who} does not hold what was held before the relay was wiped"));
        }
    }
    tell(&format!(
        "The relay is stopped, its directory deleted, and a new one started at the same port: it knows nothing. \
         Ben meets it next and brings it all again, {} entries; nobody has lost one.",
        before.len()
    ));
    Ok(())
}

/// The crank out to be ground, the block bored.
pub(super) fn machine(shop: &mut Shop) -> Result<(), Failure> {
    let numbered = |what: &str, count: u8| (1..=count).map(|n| format!("{what}/{n}")).collect::<Vec<_>>();
    let crank = [numbered("main", 5), numbered("pin", 4)].concat();
    shop.run("ben", &["custody", "out", "crank/K1", "--with", "Invented Grinders"])?;
    let ticket = "mains and pins 0.25 under";
    shop.run("ben", &["custody", "back", "crank/K1", "--with", "Invented Grinders", "--ticket", ticket])?;
    let note = ["--note", "0.50 over, left for honing"];
    for (operation, features, more) in [
        ("grind-journal", crank, &["--outside", "Invented Grinders"][..]),
        ("bore", numbered("bore", 4), &note),
        ("thrust-washers-changed", vec!["main/3".to_owned()], &[]),
    ] {
        let features: Vec<&str> = features.iter().map(String::as_str).collect();
        shop.run("ben", &[&["operation", operation], &features[..], more].concat())?;
    }
    shop.merge(&PEOPLE)
}

/// One crankpin read apart by more than the gauges explain, settled by a third reading.
pub(super) fn crankpin(shop: &mut Shop, tell: Tell) -> Result<(), Failure> {
    let pin = ["pin/3", "diameter", "front/0"];
    for (who, value) in [("ben", "47.742 mm"), ("cleo", "47.753 mm")] {
        read(shop, who, pin, value, "M3", &["--blind"])?;
    }
    shop.merge(&PEOPLE)?;
    let found = finding(shop, "ida", "disputed", "")?;
    tell(&format!(
        "Ben and Cleo read the ground pins apart from each other. Once all have met the relay: {found}."
    ));
    read(shop, "ida", pin, "47.743 mm", "M3", &["--blind"])?;
    shop.merge(&PEOPLE)?;
    let outvoted = status_of(shop, "ben", "pin/3", "outvoted")?;
    tell(&format!(
        "Ida reads a third time, blind: 47.743 mm. Ben's stands with hers; outvoted, and kept: {outvoted}."
    ));
    Ok(())
}

/// A big end signed by the fitter while the machinist, offline, changed its bolts.
pub(super) fn big_end(shop: &mut Shop, tell: Tell) -> Result<(), Failure> {
    tell(
        "Cleo signs the clearance of big end 2. Ben, out of reach at the press, changes that rod's bolts and resizes it.",
    );
    shop.run("cleo", &["sign", "big-end-clearance/2"])?;
    shop.run("ben", &["operation", "rod-bolts-changed", "rod/2", "--note", "new bolts, old ones stretched"])?;
    shop.run("ben", &["operation", "rod-resized", "rod/2"])?;
    shop.merge(&PEOPLE)?;
    let found = finding(shop, "cleo", "stale-sign-off", "big-end-clearance/2")?;
    tell(&format!("At the next meeting, big end 2: {found}. The housing is read again and signed again."));
    Ok(())
}

/// A cold shop is worth more than the tolerance.
pub(super) fn cold_shop(shop: &Shop, tell: Tell) -> Result<(), Failure> {
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
pub(super) fn ring_gap(shop: &mut Shop, tell: Tell) -> Result<(), Failure> {
    let gap = read(shop, "cleo", ["ring/1/top", "gap", ""], "0.37 mm", "F1", &["--cond", "ring-squared"])?;
    let hone =
        shop.enter("ben", &["operation", "hone", "bore/1", "--note", "a few strokes more, for finish"])?;
    shop.merge(&PEOPLE)?;
    let found = finding(shop, "cleo", "before-or-after", "")?;
    tell(&format!("Ring gap, cylinder 1: {found}."));
    let reason = "the hone was off the block when I gapped";
    shop.run("cleo", &["order", "--first", &hone, "--second", &gap, "--reason", reason])?;
    tell("Cleo was there: the hone came first, so the gap stands. Bore 1 is read again and signed again.");
    shop.merge(&PEOPLE)
}

/// A gap that is too wide, accepted by the lead with a reason.
pub(super) fn concession(shop: &mut Shop, tell: Tell) -> Result<(), Failure> {
    read(shop, "cleo", ["ring/4/second", "gap", ""], "0.53 mm", "F1", &["--cond", "ring-squared"])?;
    shop.catch_up("ida", &PEOPLE)?;
    let found = finding(shop, "ida", "outside", "")?;
    let reason = "second ring, 0.03 over; no other of its size to be had; the customer agrees";
    let which = ["--rule", "outside", "--feature", "ring/4/second", "--subject", "gap"];
    shop.run("ida", &[&["concede"], &which[..], &["--reason", reason]].concat())?;
    tell(&format!("Second ring of cylinder 4: {found}. Conceded by Ida: {reason}."));
    shop.merge(&PEOPLE)
}

/// A forged entry, in a bundle and at the relay: refused by the same gate, kept aside, the rest taken.
pub(super) fn forgery(shop: &mut Shop, tell: Tell) -> Result<(), Failure> {
    let bytes = fs::read(shop.carry_out("ben")?).map_err(|error| error.to_string())?;
    let file = shop.carried_file("forged.gudgeon");
    let forged = forge::forge(&bytes)?;
    fs::write(&file, &forged.file).map_err(|error| error.to_string())?;
    let at_relay = office::offer(&shop.home("ben"), &shop.office.url, &forged)?;
    let [at_relay] = &at_relay[..] else {
        return Err(format!("the relay should have refused one entry: {at_relay:?}"));
    };
    shop.run("cleo", &["carry", "in", &file])?;
    let refused = shop.run("cleo", &["refused"])?;
    let rule =
        refused["refused"][0]["rule"].as_str().ok_or_else(|| format!("nothing was refused: {refused}"))?;
    tell(&format!(
        "Somebody brings the relay an entry in Ben's or Cleo's name that neither signed: refused ({}), kept \
         aside there. The same in a bundle carried to Cleo by hand: refused ({rule}), kept aside; all else in \
         it is taken.",
        at_relay.rule
    ));
    shop.merge(&PEOPLE)
}

/// What is still open is looked at one by one, and the engine is handed over.
pub(super) fn hand_over(shop: &mut Shop, tell: Tell) -> Result<(), Failure> {
    let too_soon = shop.turned_down("ida", &["hand-over", "--to", "the customer"], NOT_READY)?;
    tell(&format!("Ida would hand the engine over, and is asked first: {too_soon}."));
    let open = shop.run("ida", &["findings"])?;
    for finding in open["findings"].as_array().into_iter().flatten() {
        let (number, rule) = (finding["number"].to_string(), &finding["rule"]);
        if rule != "not-counted" {
            return Err(format!("something is left to settle: {finding}"));
        }
        let reason = "the lost phone; nobody here made it, and bore 2 was read twice since";
        shop.run("ida", &["concede", &number, "--reason", reason])?;
    }
    tell(
        "Ida accepts what the lost phone left behind, so nothing is left to settle, and hands the engine over.",
    );
    shop.merge(&PEOPLE)?;
    walk(shop, 18, &|_| true)?;
    let note = "priming and first-start notes in the box";
    shop.run("ida", &["hand-over", "--to", "the customer", "--note", note])?;
    shop.merge(&PEOPLE)?;
    let sheet = shop.file("record.html");
    shop.run("ida", &["print", &sheet])?;
    progress(shop, tell)
}

/// The text of the first finding of a rule, on a subject where one is named.
fn finding(shop: &mut Shop, who: &str, rule: &str, subject: &str) -> Result<String, Failure> {
    let said = shop.run(who, &["findings"])?;
    let fits =
        |finding: &&Value| finding["rule"] == rule && (subject.is_empty() || finding["subject"] == subject);
    let found = said["findings"].as_array().into_iter().flatten().find(fits);
    let text = found.and_then(|finding| finding["text"].as_str()).map(str::to_owned);
    text.ok_or_else(|| format!("{who} has no finding {rule}: {said}"))
}

/// What the first entry on a feature with this status says.
fn status_of(shop: &mut Shop, who: &str, feature: &str, status: &str) -> Result<String, Failure> {
    let said = shop.run(who, &["history", feature])?;
    let found = said["entries"].as_array().into_iter().flatten().find(|entry| entry["status"] == status);
    let text = found.and_then(|entry| entry["says"].as_str()).map(str::to_owned);
    text.ok_or_else(|| format!("nothing on {feature} is {status}: {said}"))
}
