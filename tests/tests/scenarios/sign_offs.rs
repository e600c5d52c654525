//! Signatures: bound to what was seen, stale once that no longer stands.

use gudgeon_core::entry::payload::Payload;
use gudgeon_core::entry::{EntryId, payload};
use gudgeon_tests::kit::{self, Hand};

use crate::gap;

const STEP: &str = "ring-gap/1/top";
const STALE: &str = "stale-sign-off ring/1/top ring-gap/1/top";
const WITHOUT: &str = "signed-without-evidence ring/1/top ring-gap/1/top";

/// A piston height; limits 0.20 to 0.40 mm, no guard.
fn height(hand: &Hand, value: &str) -> EntryId {
    hand.read("bore/1", "piston-height", "", value).with("F1").under(&["at-top-dead-centre"]).untempered()
}

#[test]
fn a_signature_on_standing_evidence_stands() {
    let shop = kit::open();
    gap(&shop.ann, "0.38 mm");
    let signed = shop.ann.signs(STEP);
    let seen = shop.check();
    seen.finds_besides_order(&[]);
    seen.progress(STEP, "signed");
    assert_eq!(seen.signed_by(STEP), Some(signed));
}

#[test]
fn a_step_signed_without_its_evidence_says_so_and_not_that_something_changed() {
    let shop = kit::open();
    let signed = shop.ann.signs(STEP);
    let seen = shop.check();
    seen.finds_besides_order(&[WITHOUT]);
    seen.rests(WITHOUT, &[signed]);
    seen.says(WITHOUT, "signed by Ann without its evidence: gap judged, ring/1/top: not read");
    seen.progress(STEP, "signed without its evidence");
    let tally = seen.assessment().tally(seen.record());
    assert_eq!((tally.stale_signoffs, tally.signed_without_evidence), (0, 1));
    gap(&shop.ann, "0.38 mm");
    let seen = shop.check();
    seen.finds_besides_order(&[WITHOUT]);
    seen.stale(STEP, "it cites nothing of gap judged, ring/1/top");
    shop.ann.signs(STEP);
    let seen = shop.check();
    seen.finds_besides_order(&[]);
    seen.progress(STEP, "signed");
}

#[test]
fn of_all_that_was_missing_the_first_is_named_and_the_rest_counted() {
    let shop = kit::open();
    shop.ann.signs("piston-clearance/1");
    let finding = "signed-without-evidence bore/1 piston-clearance/1";
    let text = shop.check().finding(finding).text.clone();
    assert!(
        text.starts_with("signed by Ann without its evidence: piston-clearance judged, bore/1"),
        "{text}"
    );
    assert!(text.ends_with(" (and 1 more)"), "{text}");
}

#[test]
fn a_second_person_who_signs_without_the_evidence_is_told_the_same() {
    let shop = kit::open();
    shop.ann.signs("pins-measured/1");
    shop.ann.tells(&shop.ben);
    shop.ben.seconds("pins-measured/1");
    let seen = shop.check();
    let said = "signed by Ann and by Ben without its evidence: diameter read, pin/1: not read";
    let both = "signed-without-evidence pin/1 pins-measured/1";
    seen.finds_besides_order(&[both]);
    assert_eq!(seen.finding(both).text, said);
}

#[test]
fn evidence_that_was_there_and_is_taken_back_is_a_change_and_not_a_signature_without_it() {
    let shop = kit::open();
    let read = gap(&shop.ann, "0.60 mm");
    shop.ann.tells(&shop.max);
    shop.max.concedes("outside", "ring/1/top", "gap", &[read]);
    shop.max.tells(&shop.ann);
    shop.ann.signs(STEP);
    shop.check().finds_besides_order(&["outside ring/1/top gap"]);
    // What a removed key said counts no more, its concessions among it.
    shop.lena.removes(&shop.max, &[]);
    let seen = shop.check();
    seen.finds_besides_order(&["not-counted", "outside ring/1/top gap", STALE]);
    seen.stale(STEP, "gap judged, ring/1/top: outside");
    seen.progress(STEP, "signature no longer stands");
}

#[test]
fn work_since_then_makes_a_signature_stale_and_is_named() {
    let shop = kit::open();
    let read = gap(&shop.ann, "0.38 mm");
    let signed = shop.ann.signs(STEP);
    shop.ann.tells(&shop.ben);
    let hone = shop.ben.did("hone", "bore/1");
    let seen = shop.check();
    seen.finds_besides_order(&[STALE]);
    seen.rests(STALE, &[read, signed, hone]);
    seen.progress(STEP, "signature no longer stands");
    seen.stale(
        STEP,
        "ring/1/top gap, 0.38 mm by Ann (F1) was ended when Ben logged hone: a ring gap grows by pi times \
         what the bore grows",
    );
}

#[test]
fn work_that_did_not_know_makes_it_stale_until_settled() {
    let shop = kit::open();
    let read = gap(&shop.ann, "0.38 mm");
    shop.ann.signs(STEP);
    let hone = shop.ben.did("hone", "bore/1");
    let seen = shop.check();
    seen.finds_besides_order(&["before-or-after ring/1/top gap", STALE]);
    seen.stale(
        STEP,
        "ring/1/top gap, 0.38 mm by Ann (F1): Ben logged hone, and neither knew of the other; before or after?",
    );
    shop.everybody_meets();
    shop.carl.orders(hone, read);
    let seen = shop.check();
    seen.finds_besides_order(&[]);
    seen.progress(STEP, "signed");
}

#[test]
fn a_void_of_the_evidence_makes_it_stale() {
    let shop = kit::open();
    let read = gap(&shop.ann, "0.38 mm");
    let signed = shop.ann.signs(STEP);
    let void = shop.ann.voids(read);
    let seen = shop.check();
    seen.finds_besides_order(&[STALE]);
    seen.rests(STALE, &[read, signed, void]);
    seen.stale(STEP, "ring/1/top gap, 0.38 mm by Ann (F1): Ann voided it (mistyped)");
}

#[test]
fn a_dispute_over_the_evidence_makes_it_stale() {
    let shop = kit::open();
    gap(&shop.ann, "0.38 mm");
    shop.ann.signs(STEP);
    gap(&shop.ben, "0.44 mm");
    let seen = shop.check();
    seen.finds_besides_order(&["disputed ring/1/top gap", STALE]);
    seen.stale(STEP, "ring/1/top gap, 0.38 mm by Ann (F1) is disputed");
}

#[test]
fn being_outvoted_makes_it_stale() {
    let shop = kit::open();
    gap(&shop.ann, "0.38 mm");
    shop.ann.signs(STEP);
    gap(&shop.ben, "0.42 mm");
    gap(&shop.carl, "0.42 mm");
    let seen = shop.check();
    seen.finds_besides_order(&[STALE]);
    seen.stale(
        STEP,
        "ring/1/top gap, 0.38 mm by Ann (F1) is outvoted by readings that agree on another value",
    );
}

#[test]
fn another_limit_changes_the_verdict_and_makes_it_stale() {
    let shop = kit::open();
    gap(&shop.ann, "0.38 mm");
    shop.ann.signs(STEP);
    shop.lena.sets_limit("gap", "ring/1/top", "0.40 mm", "0.50 mm");
    let seen = shop.check();
    seen.finds_besides_order(&["outside ring/1/top gap", STALE]);
    seen.stale(STEP, "ring/1/top gap was within when it was signed and is outside now");
}

#[test]
fn another_limit_with_the_same_verdict_leaves_it_standing() {
    let shop = kit::open();
    gap(&shop.ann, "0.38 mm");
    shop.ann.signs(STEP);
    shop.lena.sets_limit("gap", "ring/1/top", "0.25 mm", "0.50 mm");
    let seen = shop.check();
    seen.finds_besides_order(&[]);
    seen.progress(STEP, "signed");
}

#[test]
fn reading_again_and_agreeing_is_shown_and_takes_nothing_away() {
    let shop = kit::open();
    gap(&shop.ann, "0.38 mm");
    let signed = shop.ann.signs(STEP);
    let again = gap(&shop.ann, "0.39 mm");
    let seen = shop.check();
    seen.finds_besides_order(&["read-again ring/1/top ring-gap/1/top"]);
    seen.rests("read-again ring/1/top ring-gap/1/top", &[signed, again]);
    seen.progress(STEP, "signed");
}

#[test]
fn reading_again_and_differing_makes_it_stale() {
    let shop = kit::open();
    gap(&shop.ann, "0.38 mm");
    shop.ann.signs(STEP);
    gap(&shop.ann, "0.42 mm");
    let seen = shop.check();
    seen.finds_besides_order(&[STALE]);
    seen.stale(STEP, "ring/1/top gap, 0.38 mm by Ann (F1) was read again and differs: Ann read 0.42 mm");
}

#[test]
fn read_and_signed_again_it_stands_again() {
    let shop = kit::open();
    gap(&shop.ann, "0.38 mm");
    shop.ann.signs(STEP);
    shop.ann.did("ring-filed", "ring/1/top");
    gap(&shop.ann, "0.40 mm");
    let second = shop.ann.signs(STEP);
    let seen = shop.check();
    seen.finds_besides_order(&[]);
    seen.progress(STEP, "signed");
    assert_eq!(seen.signed_by(STEP), Some(second));
}

#[test]
fn a_voided_signature_is_none() {
    let shop = kit::open();
    gap(&shop.ann, "0.38 mm");
    let signed = shop.ann.signs(STEP);
    shop.ann.voids(signed);
    let seen = shop.check();
    seen.finds(&[]);
    assert_eq!(seen.signed_by(STEP), None);
}

#[test]
fn the_second_person_is_another_person() {
    let shop = kit::open();
    height(&shop.ann, "0.30 mm");
    shop.ann.signs("piston-height/1");
    let twice = shop.ann.seconds("piston-height/1");
    let wrong = "wrong-signer bore/1 piston-height/1";
    let seen = shop.check();
    seen.finds_besides_order(&[wrong]);
    seen.rests(wrong, &[twice]);
    seen.says(wrong, "Ann signed as second person what they signed themselves");
    seen.progress("piston-height/1", "wants a second person");

    shop.ann.tells(&shop.ben);
    shop.ben.seconds("piston-height/1");
    let seen = shop.check();
    seen.progress("piston-height/1", "signed");
}

#[test]
fn a_step_for_the_lead_is_signed_by_a_lead() {
    let shop = kit::open();
    shop.ann.checks("customer-approved", "");
    let signed = shop.ann.signs("work-approved");
    let seen = shop.check();
    seen.finds_besides_order(&["wrong-signer work-approved"]);
    seen.rests("wrong-signer work-approved", &[signed]);
    shop.ann.tells(&shop.lena);
    shop.lena.signs("work-approved");
    let seen = shop.check();
    seen.progress("work-approved", "signed");
}

#[test]
fn signing_before_the_earlier_step_is_out_of_order_until_signed_again() {
    let shop = kit::open();
    shop.ann.checks("photographed", "");
    shop.ann.checks("marked", "");
    let early = shop.ann.signs("marked");
    let seen = shop.check();
    seen.finds(&["order-broken marked"]);
    seen.rests("order-broken marked", &[early]);
    seen.says("order-broken marked", "signed before received");
    shop.ann.signs("received");
    shop.check().finds(&["order-broken marked"]);
    shop.ann.signs("marked");
    let seen = shop.check();
    seen.finds(&[]);
    seen.progress("marked", "signed");
}

#[test]
fn a_withdrawn_signature_does_not_count_as_the_earlier_step() {
    let shop = kit::open();
    shop.ann.checks("photographed", "");
    let received = shop.ann.signs("received");
    shop.ann.voids(received);
    shop.ann.checks("marked", "");
    shop.ann.signs("marked");
    shop.check().finds(&["order-broken marked"]);
}

#[test]
fn what_the_signer_did_not_hold_is_no_ground() {
    let shop = kit::open();
    gap(&shop.ann, "0.38 mm");
    let unseen = gap(&shop.ben, "0.38 mm");
    shop.ann.says(&Payload::SignOff(payload::SignOff {
        step: STEP.into(),
        meaning: payload::Meaning::Done,
        evidence: vec![unseen],
        verdicts: Vec::new(),
        calculation: 1,
        printed_name: "Ann".into(),
    }));
    let seen = shop.check();
    seen.finds_besides_order(&[STALE]);
    let words = format!("it cites entry {}, which its signer did not hold", unseen.short());
    seen.stale(STEP, &words);
}

#[test]
fn a_signature_that_cites_nothing_is_bound_to_nothing_and_does_not_stand() {
    let shop = kit::open();
    gap(&shop.ann, "0.38 mm");
    let verdicts = shop.check().assessment().verdict_on("ring/1/top", "gap").into_iter().collect();
    shop.ann.says(&Payload::SignOff(payload::SignOff {
        step: STEP.into(),
        meaning: payload::Meaning::Done,
        evidence: Vec::new(),
        verdicts,
        calculation: 1,
        printed_name: "Ann".into(),
    }));
    let seen = shop.check();
    seen.finds_besides_order(&[WITHOUT]);
    seen.stale(STEP, "it cites nothing of gap judged, ring/1/top");
}

#[test]
fn how_things_were_found_stays_signed_when_they_are_changed_knowingly() {
    let shop = kit::open();
    shop.ann.read("crank", "end-float", "", "0.20 mm").with("F1").untempered();
    shop.ann.signs("as-found-end-float");
    shop.ann.tells(&shop.ben);
    shop.ben.did("thrust-washers-changed", "main/3");
    let seen = shop.check();
    seen.finds_besides_order(&[]);
    seen.progress("as-found-end-float", "signed");
}

#[test]
fn a_check_that_later_fails_takes_the_ground_away() {
    let shop = kit::open();
    shop.ann.checks("photographed", "");
    shop.ann.signs("received");
    let failed = shop.ann.fails("photographed", "");
    let seen = shop.check();
    seen.finds(&["check-failed photographed", "stale-sign-off received"]);
    seen.rests("check-failed photographed", &[failed]);
    seen.stale("received", "check photographed: did not pass");
}

#[test]
fn another_decision_makes_a_signature_on_the_first_stale() {
    let shop = kit::open();
    let first = shop.lena.decides("sizes", "+0.50");
    shop.lena.enters_approval(first);
    shop.lena.signs("sizes-decided");
    let seen = shop.check();
    seen.finds_besides_order(&[]);
    let second = shop.lena.decides("sizes", "+0.75");
    let seen = shop.check();
    seen.finds_besides_order(&["stale-sign-off sizes-decided"]);
    seen.became(first, "replaced", &[second]);
    seen.stale("sizes-decided", "the decision on sizes was replaced: Lena decided +0.75");
}

#[test]
fn another_part_makes_a_signature_on_the_first_stale() {
    let shop = kit::open();
    let fitted = shop.ann.fits("main-shells/A", "main/2");
    shop.ann.checks("shells-seated", "main/2");
    shop.ann.signs("main-shells-in/2");
    shop.check().finds_besides_order(&[]);
    let out = shop.ann.takes_out("main-shells/A", "main/2");
    shop.ann.fits("main-shells/B", "main/2");
    let seen = shop.check();
    seen.finds_besides_order(&["stale-sign-off main/2 main-shells-in/2"]);
    seen.became(fitted, "replaced", &[out]);
    seen.stale(
        "main-shells-in/2",
        "main-shells/A at main/2 was replaced: Ann took out main-shells/A at main/2",
    );
}

#[test]
fn a_gauge_check_is_evidence_wherever_it_was_made() {
    let shop = kit::open();
    let step = "piston-clearance/1";
    let asks = |seen: &kit::Seen| seen.step(step).evidence.iter().filter(|e| e.met).count();
    assert_eq!(asks(&shop.check()), 0);
    shop.ann.notes("setting the bore gauge");
    shop.ann.tries_gauge("B1", true);
    assert_eq!(asks(&shop.check()), 1);
}

#[test]
fn a_signature_goes_stale_with_whatever_it_cites() {
    let shop = kit::open();
    shop.ann.checks("photographed", "");
    let read = gap(&shop.ann, "0.38 mm");
    shop.ann.says(&Payload::SignOff(payload::SignOff {
        step: "received".into(),
        meaning: payload::Meaning::Done,
        evidence: vec![read],
        verdicts: Vec::new(),
        calculation: 1,
        printed_name: "Ann".into(),
    }));
    shop.check().progress("received", "signed");
    gap(&shop.ann, "0.44 mm");
    shop.check().progress("received", "signature no longer stands");
}

#[test]
fn a_step_for_the_lead_is_not_done_before_by_a_members_signature() {
    let shop = kit::open();
    shop.ann.checks("customer-approved", "");
    shop.ann.signs("work-approved");
    shop.ann.tells(&shop.lena);
    shop.lena.decides("sizes", "+0.50");
    shop.lena.signs("sizes-decided");
    let seen = shop.check();
    let broken = &seen.finding("order-broken sizes-decided").text;
    assert!(broken.starts_with("signed before work-approved"), "{broken}");
}

#[test]
fn a_step_that_two_people_signed_apart_is_told_and_nobody_is_refused() {
    let shop = kit::open();
    let photo = shop.ann.checks("photographed", "");
    shop.ann.tells(&shop.ben);
    let (anns, bens) = (shop.ann.signs("received"), shop.ben.signs("received"));
    let seen = shop.check();
    seen.finds(&["signed-by-two received"]);
    seen.rests("signed-by-two received", &[anns, bens]);
    seen.progress("received", "signed");
    shop.ben.voids(bens);
    let seen = shop.check();
    seen.finds(&[]);
    seen.progress("received", "signed");
    seen.stand(&[photo]);
}

#[test]
fn a_second_signature_by_somebody_who_knew_of_the_first_is_no_matter() {
    let shop = kit::open();
    shop.ann.checks("photographed", "");
    shop.ann.signs("received");
    shop.ann.tells(&shop.ben);
    shop.ben.signs("received");
    shop.check().finds(&[]);
}

#[test]
fn a_step_signed_before_the_second_signature_on_an_earlier_one_is_out_of_order() {
    let shop = kit::open();
    for step in ["mains-measured/1", "mains-measured/2"] {
        shop.ann.signs_citing(step, &[]);
    }
    shop.ann.tells(&shop.ben);
    shop.ben.seconds_citing("mains-measured/1", &[]);
    shop.ben.tells(&shop.lena);
    shop.lena.signs_citing("work-approved", &[]);
    shop.lena.signs("sizes-decided");
    let seen = shop.check();
    let broken = &seen.finding("order-broken sizes-decided").text;
    assert!(broken.contains("the second signature on mains-measured/2"), "{broken}");
}

/// Who was second to a signature that fell may sign first the next time.
#[test]
fn whoever_was_second_may_sign_first_when_it_has_to_be_signed_again() {
    let shop = kit::open();
    shop.ann.signs_citing("mains-measured/1", &[]);
    shop.ann.tells(&shop.ben);
    shop.ben.seconds_citing("mains-measured/1", &[]);
    shop.ben.signs_citing("mains-measured/1", &[]);
    assert!(shop.check().of_rule("wrong-signer").is_empty());
}

/// What took the ground away took it from both: it is told once, with both signers.
#[test]
fn one_finding_names_both_signers_of_a_step_that_fell() {
    let step = "\n[[step]]\nid = \"looked-at\"\nstage = 1\ntitle = \"Looked at\"\n\
                evidence = [{ check = \"photographed\" }, { read = \"diameter\", on = \"pin\" }]\nper = [\"pin\"]\n\
                second-person = true\n";
    let shop = kit::open_on(&format!("{}{step}", gudgeon_core::engine::EXAMPLE));
    let read = crate::pin(&shop.ann, "47.744 mm");
    let first = shop.ann.signs_citing("looked-at/3", &[read]);
    shop.ann.tells(&shop.ben);
    let second = shop.ben.seconds_citing("looked-at/3", &[read]);
    let ground = shop.ben.did("grind-journal", "pin/3");
    let seen = shop.check();
    let line = "stale-sign-off pin/3 looked-at/3";
    seen.rests(line, &[read, first, second, ground]);
    let said = &seen.finding(line).text;
    assert!(said.starts_with("signed by Ann and by Ben: pin/3 diameter at front/0"), "{said}");
    assert_eq!(seen.finding(line).hint(), "look at the cause, read again, sign again");
}

/// Where nothing is read, nobody is told to read again.
#[test]
fn the_way_out_is_for_what_it_is_about() {
    let shop = kit::open();
    let decided = shop.lena.decides("sizes", "+0.50");
    shop.lena.enters_approval(decided);
    shop.lena.signs("sizes-decided");
    shop.lena.decides("sizes", "+0.75");
    let way_out = |line: &str| shop.check().finding(line).hint().to_owned();
    assert_eq!(
        way_out("stale-sign-off sizes-decided"),
        "look at the cause, do again what no longer stands, sign again"
    );
    shop.ann.tightens("main-bolts", "main/2").stage(1, "30 N·m");
    shop.ben.tightens("main-bolts", "main/2").stage(1, "30 N·m");
    let apart = way_out("before-or-after main/2 main-bolts");
    assert_eq!(apart, "say which came first, or slacken the group evenly and begin again");
    shop.carl.tightens("main-bolts", "main/1").with("W9").stage(1, "30 N·m");
    let unlisted = way_out("gauge-unknown main/1 main-bolts");
    assert!(unlisted.starts_with("list the wrench") && !unlisted.contains("read"), "{unlisted}");
}
