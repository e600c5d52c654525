//! Entries that pass the gate and mean harm: they are facts, and break nothing.

use gudgeon_core::entry::payload::{self, Payload};
use gudgeon_core::entry::{EntryId, KINDS, Kind};
use gudgeon_tests::kit::{self, Hand};

use crate::pin;

#[test]
fn a_garbage_payload_of_any_kind_is_a_finding() {
    for row in KINDS {
        let shop = kit::open();
        let read = pin(&shop.ann, "47.744 mm");
        for by in [&shop.ann, &shop.max] {
            by.says_raw(row.kind.code(), 1, &[0xff; 40]);
            by.says_raw(row.kind.code(), 1, &[]);
            by.says_raw(row.kind.code(), 0, &[0x0a, 0x03, b'p', b'i', b'n']);
        }
        shop.check_lightly().stand(&[read]);
    }
}

fn order(by: &Hand, first: EntryId, second: EntryId) {
    by.says(&Payload::Order(payload::Order { first, second, reason: String::new() }));
}

#[test]
fn orders_about_unknown_ids_and_about_oneself_do_nothing() {
    let shop = kit::open();
    let read = pin(&shop.ann, "47.744 mm");
    let nobody = EntryId::new([9; 32]);
    order(&shop.ann, nobody, read);
    order(&shop.ann, read, nobody);
    order(&shop.ann, read, read);
    order(&shop.ann, nobody, nobody);
    let seen = shop.check();
    seen.finds(&[]);
    seen.stand(&[read]);
}

#[test]
fn voids_concessions_resumes_and_signatures_on_unknown_ids_do_nothing() {
    let shop = kit::open();
    let nobody = EntryId::new([9; 32]);
    let void = shop.ann.voids(nobody);
    shop.ann.resumes(nobody);
    shop.ann.says(&Payload::SignOff(payload::SignOff {
        step: "received".into(),
        meaning: payload::Meaning::Done,
        evidence: vec![nobody, nobody],
        verdicts: vec![payload::SignedVerdict {
            feature: "pin/999".into(),
            characteristic: "girth".into(),
            verdict: u32::MAX,
            low: i64::MIN,
            high: i64::MAX,
            standard_uncertainty: -1,
        }],
        calculation: u32::MAX,
        printed_name: String::new(),
    }));
    shop.max.concedes("outside", "", "", &[nobody]);
    shop.max.concedes("no-such-rule", "pin/3", "diameter", &[]);
    let seen = shop.check();
    seen.finds(&[
        "concession-lapsed",
        "concession-lapsed pin/3 diameter",
        "not-counted",
        "stale-sign-off received",
    ]);
    seen.rests("not-counted", &[void]);
}

#[test]
fn a_signature_for_an_unknown_step_does_nothing() {
    let shop = kit::open();
    shop.ann.says(&Payload::SignOff(payload::SignOff {
        step: "no-such-step/7".into(),
        meaning: payload::Meaning::SecondPerson,
        evidence: Vec::new(),
        verdicts: Vec::new(),
        calculation: 0,
        printed_name: "x".into(),
    }));
    shop.check().finds(&[]);
}

#[test]
fn huge_and_odd_words_are_carried_and_shown() {
    let shop = kit::open();
    let long = "ä\u{0}/*{n}%\u{202e}".repeat(4_000);
    let (feature, name) = (long.as_str(), long.as_str());
    shop.ann.read(feature, name, name, "1 mm").with(name).under(&[name, name]).of(name).at_20();
    shop.ann.read("pin/3", "diameter", "front/0", "47.744 mm").with(name).of(name).at_20();
    shop.ann.did(name, feature);
    shop.ann.fits(name, feature);
    shop.ann.fails(name, feature);
    shop.ann.tightens(name, feature).on(name).stage(u32::MAX, "30 N·m");
    shop.ann.stops(name, feature, name);
    shop.max.sets_limit(name, feature, "1 mm", "");
    shop.max.decides(name, name);
    let seen = shop.check_lightly();
    assert!(seen.assessment().findings().len() >= 5);
}

#[test]
fn odd_paths_of_parts_and_places_do_nothing() {
    let shop = kit::open();
    for part in ["", "/", "piston/", "piston//", "/piston", "piston/A/skirt/more", "piston"] {
        for place in ["", "/", "bore/", "bore/0", "bore/999999", "bore/1"] {
            shop.ann.fits(part, place);
        }
        shop.ann.did("piston-machined", part);
        shop.ann.read(part, "diameter", "", "80 mm").of(part).at_20();
    }
    let _ = shop.check_lightly();
}

#[test]
fn the_largest_sizes_and_limits_do_not_overflow() {
    let shop = kit::open();
    for (station, value) in [("front/0", "999999 mm"), ("front/60", "-999999 mm"), ("rear/0", "0 mm")] {
        if gudgeon_core::quantity::Quantity::parse(value).is_ok() {
            shop.ann.read("pin/3", "diameter", station, value).with("M1").at("1000 °C");
        }
    }
    shop.ann.read("pin/3", "diameter", "rear/60", "9000 mm").with("M1").at("-273.15 °C");
    shop.max.sets_limit("diameter", "pin/3", "9000 mm", "-9000 mm");
    let seen = shop.check();
    assert!(seen.assessment().value("pin/3", "diameter").is_some());
}

#[test]
fn a_founding_or_roster_entry_inside_a_record_does_not_count() {
    let shop = kit::open();
    for kind in [Kind::Founding, Kind::Person, Kind::Device, Kind::Removal, Kind::Admit, Kind::Instrument] {
        shop.max.says_raw(kind.code(), 1, &[]);
    }
    shop.check().finds(&["not-counted"; 6]);
}
