//! Work ahead of its order: what is hard to undo, begun before what comes first was signed.

use gudgeon_tests::kit;

const ROD: (&str, &str) = ("rod-bolts", "rod/2/bolts");
const STEP: &str = "cylinder/2 rod-tightened/2";

#[test]
fn bolts_pulled_before_the_piston_is_signed_in_are_found_with_the_step_that_was_skipped() {
    let shop = kit::open();
    let nip = shop.ann.tightens(ROD.0, ROD.1).nip();
    let seen = shop.check();
    seen.finds_ahead(&[STEP]);
    let line = format!("work-ahead {STEP}");
    seen.rests(&line, &[nip]);
    let said = "begun, and big-end-clearance/2, piston-in/2 and rod-bolts-free/2 were not signed";
    seen.says(&line, said);
}

#[test]
fn work_by_somebody_who_knew_of_the_signatures_is_in_order_whatever_became_of_them() {
    let shop = kit::open();
    for step in ["piston-in/2", "big-end-clearance/2", "rod-bolts-free/2"] {
        shop.ann.signs(step);
    }
    shop.ann.tells(&shop.ben);
    shop.ben.seconds("big-end-clearance/2");
    shop.ben.tells(&shop.ann);
    shop.ann.tightens(ROD.0, ROD.1).nip();
    shop.check().finds_ahead(&[]);
}

#[test]
fn a_step_that_its_second_person_has_not_signed_is_no_leave_to_begin() {
    let shop = kit::open();
    for step in ["piston-in/2", "big-end-clearance/2", "rod-bolts-free/2"] {
        shop.ann.signs(step);
    }
    shop.ann.tightens(ROD.0, ROD.1).nip();
    let seen = shop.check();
    seen.finds_ahead(&[STEP]);
    let said = "begun, and big-end-clearance/2 was not signed by a second person";
    seen.says(&format!("work-ahead {STEP}"), said);
}

#[test]
fn a_signature_that_the_fitter_did_not_know_of_is_no_leave_to_begin() {
    let shop = kit::open();
    for step in ["piston-in/2", "big-end-clearance/2", "rod-bolts-free/2"] {
        shop.ann.signs(step);
    }
    shop.ben.tightens(ROD.0, ROD.1).nip();
    shop.check().finds_ahead(&[STEP]);
}

#[test]
fn work_that_is_withdrawn_or_slackened_is_ahead_of_nothing() {
    let shop = kit::open();
    let nip = shop.ann.tightens(ROD.0, ROD.1).nip();
    shop.ann.voids(nip);
    shop.check().finds_ahead(&[]);
    shop.ann.did("hone", "bore/1");
    shop.check().finds_ahead(&["bore/1 honed/1"]);
}

#[test]
fn a_part_that_is_fitted_counts_and_one_that_is_only_allotted_does_not() {
    let shop = kit::open();
    shop.ann.allots("piston/A", "bore/1");
    shop.ann.read("bore/1", "diameter", "top/thrust", "80.508 mm").with("B1").at_20();
    shop.check().finds_ahead(&[]);
    shop.ann.fits("piston/A", "bore/1");
    shop.check().finds_ahead(&["bore/1 piston-measured/1", "cylinder/1 piston-dressed/1"]);
}
