//! Several people on the phone app in a real browser: one phone that two use, and two phones whose
//! work meets later.
#![allow(clippy::unwrap_used)]

mod browser_kit;

use browser_kit::PIN;
use browser_kit::shop::{Phone, Shop, step};

const PIN_OF_CLEO: &str = "1357";

#[test]
fn a_second_person_reads_blind_and_signs_on_the_same_phone_with_their_own_key_and_pin() {
    let mut shop = Shop::opens();
    let phone = shop.phone_of("Ben");
    phone.at_bore(1, "20");
    phone.reads_bore(1, ["80.508", "80.507", "80.509", "80.506", "80.510", "80.508"]);

    phone.goes("/people");
    phone.presses("Join another person to this phone");
    shop.lets_in(&phone, "Cleo", PIN_OF_CLEO);
    phone.held_by("Cleo", PIN_OF_CLEO);

    // What Ben read is not to be seen before Cleo has read.
    phone.at_bore(1, "20");
    phone.says("bore 1: top, thrust");
    phone.says("read by another: hidden until you have read");
    assert!(!phone.text().contains("80.508"), "{}", phone.text());
    phone.gauge_reads("80.509", "bore 1 top thrust 80.509 mm");
    phone.presses_at("//button[contains(@class,'r-place')]");
    phone.says("Ben 80.508 mm");
    assert!(!phone.text().contains("80.507"), "the next one is still hidden: {}", phone.text());
    phone.presses("Back to the keys");
    for (station, value) in [
        ("top axial", "80.508"),
        ("middle thrust", "80.508"),
        ("middle axial", "80.507"),
        ("bottom thrust", "80.509"),
        ("bottom axial", "80.509"),
    ] {
        phone.gauge_reads(value, &format!("bore 1 {station} {value} mm"));
    }

    // Cleo has the phone in hand; Ben signs on it first, with his own PIN.
    phone.goes("step/bores-measured/1");
    phone.presses("Ben");
    phone.signs("Ben", PIN);
    phone.says("Sign as second person");
    phone.types("PIN of Cleo", PIN);
    phone.presses("Hold to sign as Cleo");
    phone.presses("Sign without holding");
    phone.says("this is not the PIN of key phone of Cleo");
    phone.signs("Cleo", PIN_OF_CLEO);
    phone.says("it is signed, and the signature stands");
    phone.says("all at the office");

    let sheet = shop.lead_knows();
    let blind: Vec<bool> = shop.lead.read().into_iter().map(|reading| reading.blind).collect();
    assert_eq!(blind, [[false; 6], [true; 6]].concat());
    let step = step(&sheet, "bores-measured/1");
    let signed: Vec<_> = step.signatures.iter().map(|one| (&*one.by.who, &*one.printed_name)).collect();
    assert_eq!((step.progress, signed), ("signed", vec![("Ben", "Ben"), ("Cleo", "Cleo")]));
    assert_ne!(step.signatures[0].key, step.signatures[1].key);
    drop(phone);
    shop.ends();
}

/// Both phones print the same record.
fn agree(one: &Phone, other: &Phone) {
    for phone in [one, other] {
        phone.goes("print");
    }
    // What Cleo alone has read is shown to Ben on his word.
    one.presses("Show it; mine is then not blind");
    one.until("the printed record on both", || {
        let printed = one.printed();
        !printed.is_empty() && printed == other.printed()
    });
}

#[test]
fn two_phones_that_did_not_know_of_each_other_make_a_signature_stale_and_settle_it() {
    let mut shop = Shop::opens();
    let (bens, cleos) = (shop.phone_of("Ben"), shop.phone_of("Cleo"));
    shop.office_closes();

    // Ben hones the first bore, reads it and signs; Cleo, who knows nothing of it, hones it too.
    bens.goes("step/honed/1");
    bens.presses_at("//button[contains(., 'log the work')]");
    bens.presses("Log the work");
    bens.says("work logged");
    bens.at_bore(1, "20");
    bens.reads_bore(1, ["80.508", "80.507", "80.509", "80.506", "80.510", "80.508"]);
    bens.goes("step/honed/1");
    bens.signs("Ben", PIN);
    bens.says("stands");
    cleos.goes("step/honed/1");
    cleos.presses_at("//button[contains(., 'log the work')]");
    cleos.presses("Log the work");
    cleos.says("work logged, on this phone");

    shop.office_opens();
    for phone in [&bens, &cleos] {
        phone.says("all at the office");
        phone.goes("step/honed/1");
        phone.says("no longer stands");
    }

    // What changed asks Cleo which came first, once she gives up reading blind, and leads on to the step.
    cleos.goes("changed");
    cleos.presses("Show it; mine is then not blind");
    cleos.presses("First the reading, then hone");
    cleos.says("kept");
    cleos.presses("See the cause, sign again");
    assert_eq!(cleos.place(), "step/honed/1");
    cleos.presses_at("//button[contains(., 'read')][contains(., 'diameter')]");
    assert_eq!(cleos.place(), "read/bore/1/diameter");
    cleos.at_bore(1, "20");
    cleos.reads_bore(1, ["80.515", "80.514", "80.515", "80.513", "80.514", "80.514"]);
    cleos.goes("step/honed/1");
    cleos.signs("Cleo", PIN);
    for phone in [&bens, &cleos] {
        phone.goes("step/honed/1");
        phone.says("it is signed, and the signature stands");
        phone.says("all at the office");
    }
    agree(&bens, &cleos);
    let sheet = shop.lead_knows();
    assert_eq!(step(&sheet, "honed/1").progress, "signed");
    assert_eq!(step(&sheet, "honed/1").signatures.last().unwrap().by.who, "Cleo");
    drop((bens, cleos));
    shop.ends();
}
