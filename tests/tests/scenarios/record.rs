//! The record as a whole: newer versions, missing ground, hand-over, stops.

use gudgeon_core::entry::payload::{Note, Payload};
use gudgeon_tests::kit;

use crate::{gap, pin};

#[test]
fn a_counted_entry_of_unknown_kind_leaves_the_whole_record_not_judged() {
    let shop = kit::open();
    pin(&shop.ann, "47.744 mm");
    let newer = shop.ann.says_raw(200, 1, b"anything");
    let seen = shop.check();
    seen.finds(&["not-judged pin/3 diameter", "unknown-kind"]);
    seen.rests("unknown-kind", &[newer]);
    seen.verdict("pin/3", "diameter", "not judged: an entry this version does not know");
    assert!(!seen.assessment().is_judged());
}

#[test]
fn an_entry_for_a_later_reader_is_not_read_by_this_one() {
    let shop = kit::open();
    let read = gap(&shop.ann, "0.38 mm");
    let note = Payload::Note(Note { feature: String::new(), text: "hm".into() });
    shop.ann.says_raw(note.kind().code(), 2, &note.encode());
    let void = Payload::Void(gudgeon_core::entry::payload::Void { entry: read, reason: "?".into() });
    shop.ann.says_raw(void.kind().code(), 2, &void.encode());
    let seen = shop.check();
    seen.finds(&["not-judged ring/1/top gap", "unknown-kind", "unknown-kind"]);
    seen.stand(&[read]);
}

#[test]
fn an_unknown_kind_by_an_unknown_key_halts_nothing() {
    let shop = kit::open();
    pin(&shop.ann, "47.744 mm");
    shop.stranger().says_raw(200, 9, b"anything");
    let seen = shop.check();
    seen.finds(&["not-counted"]);
    seen.verdict("pin/3", "diameter", "within");
}

#[test]
fn a_newer_entry_in_the_workshop_leaves_its_records_not_judged() {
    let shop = kit::open();
    pin(&shop.ann, "47.744 mm");
    let newer = shop.lena.rules_raw(200, 1, b"anything");
    let seen = shop.check();
    seen.finds(&["not-judged pin/3 diameter", "unknown-kind"]);
    seen.rests("unknown-kind", &[newer]);
    seen.verdict("pin/3", "diameter", "not judged: an entry this version does not know");
}

#[test]
fn nothing_is_signed_for_good_while_the_record_is_not_judged() {
    let shop = kit::open();
    shop.ann.checks("photographed", "");
    shop.ann.signs("received");
    shop.ann.says_raw(200, 1, b"anything");
    let seen = shop.check();
    assert_eq!(seen.assessment().tally(seen.record()).steps_signed, 0);
}

#[test]
fn an_entry_whose_ground_is_not_held_waits() {
    let shop = kit::open();
    let first = pin(&shop.ann, "47.744 mm");
    let second = shop.ann.did("grind-journal", "pin/3");
    let third = pin(&shop.ben, "47.744 mm");
    let seen = shop.check_without(&[first]);
    seen.finds(&["missing-ground"]);
    seen.rests("missing-ground", &[second]);
    seen.stand(&[third]);
}

#[test]
fn work_after_the_hand_over_is_a_finding_until_a_lead_reopens() {
    let shop = kit::open();
    pin(&shop.ann, "47.744 mm");
    shop.ann.tells(&shop.lena);
    shop.lena.hands_over();
    shop.check().finds(&[]);
    let late = gap(&shop.ben, "0.38 mm");
    let seen = shop.check();
    seen.finds(&["after-hand-over"]);
    seen.rests("after-hand-over", &[late]);
    shop.lena.reopens();
    shop.check().finds(&[]);
}

#[test]
fn reopening_without_knowing_of_the_hand_over_opens_nothing() {
    let shop = kit::open();
    shop.lena.hands_over();
    shop.max.reopens();
    gap(&shop.ben, "0.38 mm");
    shop.check().finds(&["after-hand-over"]);
}

#[test]
fn a_stop_stays_until_it_is_resumed() {
    let shop = kit::open();
    let stop = shop.ann.stops("piston-in/2", "cylinder/2", "a change of feel");
    let seen = shop.check();
    seen.finds(&["stopped cylinder/2 piston-in/2"]);
    seen.rests("stopped cylinder/2 piston-in/2", &[stop]);
    seen.says("stopped cylinder/2 piston-in/2", "Ann stopped: a change of feel [do not turn]");
    shop.ann.tells(&shop.ben);
    shop.ben.resumes(stop);
    shop.check().finds(&[]);
}

#[test]
fn a_step_waits_for_the_ones_before_it() {
    let shop = kit::open();
    let seen = shop.check();
    seen.progress("received", "open");
    seen.progress("marked", "waits");
    shop.ann.checks("photographed", "");
    shop.check().progress("received", "ready to sign");
    shop.ann.signs("received");
    let seen = shop.check();
    seen.progress("received", "signed");
    seen.progress("marked", "open");
}
