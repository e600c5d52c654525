//! A gauge stated again: which calibration speaks for which reading.
//!
//! The pin's limits are 47.735 to 47.750 mm. An error limit of 4 µm proves 47.744 mm within;
//! one of 40 µm proves nothing of it.

use gudgeon_core::assess::{Due, due};
use gudgeon_core::entry::EntryId;
use gudgeon_tests::kit::{self, Hand, Seen};

use crate::gap;

const FINE: &str = "0.004 mm";
const COARSE: &str = "0.040 mm";

fn pin(hand: &Hand, number: u8) -> EntryId {
    hand.read(&format!("pin/{number}"), "diameter", "front/0", "47.744 mm").with("K").at_20()
}

/// The day, counted from the opening, to which a gauge is calibrated.
fn due_on(seen: &Seen, mark: &str) -> Option<i64> {
    let all = due(seen.workshop(), i64::MAX, 0);
    let until = all.into_iter().find(|due: &Due| due.mark == mark)?.until?;
    Some((until - kit::OPENING) / kit::DAY)
}

#[test]
fn a_new_calibration_leaves_earlier_readings_as_they_were() {
    let shop = kit::open();
    shop.lena.calibrates("K", FINE, Some(-30));
    pin(&shop.ann, 3);
    shop.check().verdict("pin/3", "diameter", "within");
    shop.lena.calibrates("K", COARSE, Some(10));
    let seen = shop.check();
    seen.finds(&[]);
    seen.verdict("pin/3", "diameter", "within");
    assert_eq!(due_on(&seen, "K"), Some(375), "what is due is the newest calibration's");
    shop.wait(20 * kit::DAY);
    pin(&shop.ann, 2);
    let seen = shop.check();
    seen.finds(&["not-proven pin/2 diameter"]);
    seen.verdict("pin/3", "diameter", "within");
}

#[test]
fn a_calibration_stated_late_speaks_from_its_own_date_on() {
    let shop = kit::open();
    shop.lena.calibrates("K", FINE, Some(-30));
    shop.wait(20 * kit::DAY);
    pin(&shop.ann, 3);
    shop.lena.calibrates("K", COARSE, Some(10));
    shop.check().finds(&["not-proven pin/3 diameter"]);
    // One stated still later of an older date changes nothing, and is not what is due.
    shop.lena.calibrates("K", FINE, Some(-60));
    let seen = shop.check();
    seen.finds(&["not-proven pin/3 diameter"]);
    assert_eq!(due_on(&seen, "K"), Some(375));
}

#[test]
fn the_newest_calibration_decides_whether_a_reading_is_overdue() {
    let shop = kit::open();
    shop.lena.calibrates("K", FINE, Some(-30));
    shop.lena.calibrates("K", FINE, Some(400));
    shop.wait(350 * kit::DAY);
    pin(&shop.ann, 3);
    shop.check().finds(&["gauge-overdue pin/3 diameter"]);
    shop.wait(60 * kit::DAY);
    pin(&shop.ann, 2);
    shop.check().finds(&["gauge-overdue pin/3 diameter"]);
}

#[test]
fn a_correction_of_the_same_calibration_reaches_its_readings_and_their_signatures() {
    let shop = kit::open();
    gap(&shop.ann, "0.38 mm");
    shop.ann.signs("ring-gap/1/top");
    shop.check().finds_besides_order(&[]);
    shop.lena.calibrates("F1", "0.200 mm", Some(-30));
    let seen = shop.check();
    seen.finds_besides_order(&["not-proven ring/1/top gap", "stale-sign-off ring/1/top ring-gap/1/top"]);
    let words = "ring/1/top gap was within when it was signed and is not proven now";
    seen.stale("ring-gap/1/top", words);
}

#[test]
fn before_the_first_calibration_the_first_speaks_and_is_found_overdue() {
    let shop = kit::open();
    shop.lena.calibrates("K", COARSE, Some(20));
    shop.lena.calibrates("K", FINE, Some(10));
    pin(&shop.ann, 3);
    let seen = shop.check();
    seen.finds(&["gauge-overdue pin/3 diameter"]);
    seen.verdict("pin/3", "diameter", "within");
}

#[test]
fn what_is_stated_without_a_date_speaks_where_no_dated_one_does() {
    let shop = kit::open();
    shop.lena.calibrates("K", COARSE, Some(10));
    shop.lena.calibrates("K", COARSE, None);
    shop.lena.calibrates("K", FINE, None);
    pin(&shop.ann, 3);
    let seen = shop.check();
    seen.verdict("pin/3", "diameter", "within");
    let overdue = "read with K: its calibration is not known at the time of the reading";
    seen.says("gauge-overdue pin/3 diameter", overdue);
    shop.wait(20 * kit::DAY);
    pin(&shop.ann, 2);
    shop.check().verdict("pin/2", "diameter", "not proven");
}

#[test]
fn one_calibration_stated_differently_at_once_proves_nothing_until_it_is_stated_once_more() {
    let shop = kit::open();
    shop.lena.calibrates_while(("K", FINE, -30), &shop.max, ("K", COARSE, -30));
    pin(&shop.ann, 3);
    shop.check().verdict("pin/3", "diameter", "not judged: uncertainty not known");
    shop.lena.calibrates("K", FINE, Some(-30));
    let seen = shop.check();
    seen.finds(&[]);
    seen.verdict("pin/3", "diameter", "within");
}

#[test]
fn two_calibrations_stated_at_once_are_two_and_not_disputed() {
    let shop = kit::open();
    shop.lena.calibrates_while(("K", FINE, -30), &shop.max, ("K", COARSE, 10));
    pin(&shop.ann, 3);
    let seen = shop.check();
    seen.finds(&[]);
    seen.verdict("pin/3", "diameter", "within");
}

#[test]
fn a_members_calibration_does_not_speak_beside_a_leads() {
    let shop = kit::open();
    shop.lena.calibrates("K", FINE, Some(-30));
    shop.ann.calibrates("K", COARSE, Some(-10));
    pin(&shop.ann, 3);
    let seen = shop.check();
    seen.finds(&[]);
    seen.verdict("pin/3", "diameter", "within");
    assert_eq!(due_on(&seen, "K"), Some(335));
}

#[test]
fn a_bore_gauge_is_worth_what_its_ring_was_when_it_read() {
    let shop = kit::open();
    let read = |bore: &str| {
        let reading = shop.ann.read(bore, "diameter", "top/thrust", "+0.008 mm");
        reading.from_set("80.500 mm").with("B1").at_20()
    };
    read("bore/1");
    shop.lena.calibrates("S1", "0.100 mm", Some(10));
    shop.check().verdict("bore/1", "diameter", "within");
    shop.wait(20 * kit::DAY);
    read("bore/2");
    let seen = shop.check();
    seen.verdict("bore/1", "diameter", "within");
    seen.verdict("bore/2", "diameter", "not proven");
}
