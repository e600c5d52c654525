//! Voids, concessions, limits, decisions, assignments: of each the latest known stands.

use gudgeon_core::entry::payload::ChosenRule;
use gudgeon_tests::kit;

use crate::{gap, pin};

const OUTSIDE: &str = "outside pin/3 diameter";

#[test]
fn ones_own_work_can_be_withdrawn() {
    let shop = kit::open();
    let read = pin(&shop.ann, "47.760 mm");
    let void = shop.ann.voids(read);
    let seen = shop.check();
    seen.finds(&[]);
    seen.became(read, "voided", &[void]);
}

#[test]
fn anothers_work_cannot_be_withdrawn_by_a_member() {
    let shop = kit::open();
    let read = pin(&shop.ann, "47.744 mm");
    shop.ann.tells(&shop.ben);
    let void = shop.ben.voids(read);
    let seen = shop.check();
    seen.finds(&["not-counted"]);
    seen.rests("not-counted", &[void]);
    seen.stand(&[read]);
}

#[test]
fn anothers_work_can_be_withdrawn_by_a_lead() {
    let shop = kit::open();
    let read = pin(&shop.ann, "47.760 mm");
    shop.ann.tells(&shop.lena);
    let void = shop.lena.voids(read);
    let seen = shop.check();
    seen.finds(&[]);
    seen.became(read, "voided", &[void]);
}

#[test]
fn of_several_voids_each_is_told_with_its_author_and_reason() {
    let shop = kit::open();
    let read = gap(&shop.ann, "0.38 mm");
    shop.ann.signs("ring-gap/1/top");
    shop.everybody_meets();
    let first = shop.ann.voids_because(read, "wrong ring");
    shop.ann.tells(&shop.max);
    let second = shop.max.voids_because(read, "ring not squared");
    let apart = shop.lena.voids_because(read, "gauge was bent");
    let seen = shop.check();
    seen.became(read, "voided", &[first, second, apart]);
    let cause = &seen.step("ring-gap/1/top").signature.as_ref().unwrap().stale[0];
    for said in
        ["Ann voided it (wrong ring)", "Max voided it (ring not squared)", "Lena voided it (gauge was bent)"]
    {
        assert!(cause.text.contains(said), "{}", cause.text);
    }
    for void in [first, second, apart] {
        assert!(cause.entries.contains(&void));
    }
    let sheet = gudgeon_core::sheet::model(seen.record(), seen.workshop(), seen.assessment());
    let row = sheet.history.iter().find(|row| row.by.entry == read).unwrap();
    for reason in ["wrong ring", "ring not squared", "gauge was bent"] {
        assert!(row.why.contains(&format!("voided an entry: {reason}")), "{}", row.why);
    }
}

#[test]
fn ones_own_work_on_another_phone_is_ones_own() {
    let shop = kit::open();
    let tablet = shop.ann.second_phone(&shop.lena, &[gudgeon_core::entry::payload::Role::Member]);
    let read = pin(&shop.ann, "47.760 mm");
    shop.ann.tells(&tablet);
    let void = tablet.voids(read);
    let seen = shop.check();
    seen.finds(&[]);
    seen.became(read, "voided", &[void]);
}

#[test]
fn a_void_is_not_itself_voided() {
    let shop = kit::open();
    let read = pin(&shop.ann, "47.760 mm");
    let void = shop.ann.voids(read);
    let again = shop.ann.voids(void);
    let seen = shop.check();
    seen.finds(&["not-counted"]);
    seen.rests("not-counted", &[again]);
    seen.became(read, "voided", &[void]);
}

#[test]
fn what_one_did_not_hold_one_does_not_withdraw() {
    let shop = kit::open();
    let read = pin(&shop.ann, "47.744 mm");
    let void = shop.lena.voids(read);
    let seen = shop.check();
    seen.finds(&["not-counted"]);
    seen.rests("not-counted", &[void]);
    seen.stand(&[read]);
}

#[test]
fn withdrawing_an_operation_brings_back_what_it_had_ended() {
    let shop = kit::open();
    let read = pin(&shop.ann, "47.744 mm");
    let grind = shop.ann.did("grind-journal", "pin/3");
    assert_eq!(shop.check().status(read).word(), "ended");
    let void = shop.ann.voids(grind);
    let seen = shop.check();
    seen.finds(&[]);
    seen.stand(&[read]);
    seen.became(grind, "voided", &[void]);
}

#[test]
fn withdrawing_the_latest_reading_brings_back_the_one_before() {
    let shop = kit::open();
    let first = pin(&shop.ann, "47.744 mm");
    let second = pin(&shop.ann, "47.760 mm");
    shop.ann.voids(second);
    let seen = shop.check();
    seen.finds(&[]);
    seen.stand(&[first]);
}

#[test]
fn a_lead_accepts_what_is_outside() {
    let shop = kit::open();
    let read = pin(&shop.ann, "47.760 mm");
    shop.ann.tells(&shop.lena);
    assert!(shop.check().conceded(OUTSIDE).is_none());
    let concession = shop.lena.concedes("outside", "pin/3", "diameter", &[read]);
    let seen = shop.check();
    seen.finds(&[OUTSIDE]);
    assert_eq!(seen.conceded(OUTSIDE), Some(concession));
    assert_eq!(seen.assessment().tally(seen.record()).open_findings, 0);
}

#[test]
fn a_concession_lapses_with_what_it_rests_on() {
    let shop = kit::open();
    let read = pin(&shop.ann, "47.760 mm");
    shop.ann.tells(&shop.lena);
    let concession = shop.lena.concedes("outside", "pin/3", "diameter", &[read]);
    shop.lena.tells(&shop.ann);
    pin(&shop.ann, "47.770 mm");
    let seen = shop.check();
    seen.finds(&["concession-lapsed pin/3 diameter", OUTSIDE]);
    seen.rests("concession-lapsed pin/3 diameter", &[concession]);
    assert_eq!(seen.conceded(OUTSIDE), None);
}

#[test]
fn a_concession_does_not_cover_a_reading_that_came_after_it() {
    let shop = kit::open();
    let read = pin(&shop.ann, "47.760 mm");
    shop.ann.tells(&shop.lena);
    shop.lena.concedes("outside", "pin/3", "diameter", &[read]);
    pin(&shop.ben, "47.761 mm");
    let seen = shop.check();
    seen.finds(&[OUTSIDE]);
    assert_eq!(seen.conceded(OUTSIDE), None);
}

#[test]
fn of_two_concessions_the_same_is_named_whichever_came_first() {
    let shop = kit::open();
    let read = pin(&shop.ann, "47.760 mm");
    shop.everybody_meets();
    let one = shop.lena.concedes("outside", "pin/3", "diameter", &[read]);
    let other = shop.max.concedes("outside", "pin/3", "diameter", &[read]);
    let seen = shop.check();
    assert_eq!(seen.conceded(OUTSIDE), Some(one.min(other)));
}

#[test]
fn a_dispute_can_be_conceded_and_a_further_reading_ends_that() {
    let shop = kit::open();
    let one = pin(&shop.ann, "47.738 mm");
    let other = pin(&shop.ben, "47.747 mm");
    shop.everybody_meets();
    let concession = shop.lena.concedes("disputed", "pin/3", "diameter", &[one, other]);
    let seen = shop.check();
    seen.finds(&["disputed pin/3 diameter"]);
    assert_eq!(seen.conceded("disputed pin/3 diameter"), Some(concession));
    pin(&shop.carl, "47.743 mm");
    let seen = shop.check();
    assert_eq!(seen.conceded("disputed pin/3 diameter"), None);
}

#[test]
fn a_stale_signature_can_be_conceded() {
    let shop = kit::open();
    let read = gap(&shop.ann, "0.38 mm");
    let signed = shop.ann.signs("ring-gap/1/top");
    let filed = shop.ann.did("ring-filed", "ring/1/top");
    shop.ann.tells(&shop.lena);
    let rests = [read, signed, filed];
    let concession = shop.lena.concedes("stale-sign-off", "ring/1/top", "ring-gap/1/top", &rests);
    let seen = shop.check();
    seen.finds_besides_order(&["stale-sign-off ring/1/top ring-gap/1/top"]);
    assert_eq!(seen.conceded("stale-sign-off ring/1/top ring-gap/1/top"), Some(concession));
}

#[test]
fn a_limit_for_one_feature_outweighs_one_for_all() {
    let shop = kit::open();
    pin(&shop.ann, "47.760 mm");
    shop.ann.read("pin/2", "diameter", "front/0", "47.760 mm").with("M1").at_20();
    shop.lena.sets_limit("diameter", "pin/3", "47.735 mm", "47.770 mm");
    shop.lena.sets_limit("diameter", "", "47.735 mm", "47.755 mm");
    let seen = shop.check();
    seen.verdict("pin/3", "diameter", "within");
    seen.verdict("pin/2", "diameter", "outside");
    seen.finds(&["outside pin/2 diameter"]);
}

#[test]
fn a_later_limit_replaces_the_one_it_knew() {
    let shop = kit::open();
    pin(&shop.ann, "47.760 mm");
    let first = shop.lena.sets_limit("diameter", "pin/3", "47.735 mm", "47.770 mm");
    let second = shop.lena.sets_limit("diameter", "pin/3", "47.735 mm", "47.755 mm");
    let seen = shop.check();
    seen.finds(&[OUTSIDE]);
    seen.became(first, "replaced", &[second]);
}

#[test]
fn concurrent_limits_that_differ_are_disputed_until_a_lead_who_knows_both_sets_one() {
    let shop = kit::open();
    pin(&shop.ann, "47.744 mm");
    let one = shop.lena.sets_limit("diameter", "pin/3", "47.735 mm", "47.750 mm");
    let other = shop.max.sets_limit("diameter", "pin/3", "47.735 mm", "47.740 mm");
    let seen = shop.check();
    seen.finds(&["disputed-choice pin/3 diameter"]);
    seen.rests("disputed-choice pin/3 diameter", &[one, other]);
    seen.verdict("pin/3", "diameter", "not judged: disputed");
    shop.everybody_meets();
    shop.max.sets_limit("diameter", "pin/3", "47.735 mm", "47.750 mm");
    let seen = shop.check();
    seen.finds(&[]);
    seen.verdict("pin/3", "diameter", "within");
}

#[test]
fn concurrent_limits_that_say_the_same_are_one() {
    let shop = kit::open();
    pin(&shop.ann, "47.760 mm");
    shop.lena.sets_limit("diameter", "pin/3", "47.735 mm", "47.770 mm");
    shop.max.sets_limit("diameter", "pin/3", "47.7350 mm", "47.77 mm");
    let seen = shop.check();
    seen.finds(&[]);
    seen.verdict("pin/3", "diameter", "within");
}

#[test]
fn a_decision_rule_alone_leaves_the_limits() {
    let shop = kit::open();
    pin(&shop.ann, "47.749 mm");
    shop.check().finds(&["not-proven pin/3 diameter"]);
    shop.lena.sets_rule("diameter", "", ChosenRule::Simple);
    let seen = shop.check();
    seen.finds(&[]);
    seen.verdict("pin/3", "diameter", "within");
}

#[test]
fn a_limit_in_another_quantity_is_no_limit() {
    let shop = kit::open();
    pin(&shop.ann, "47.744 mm");
    let wrong = shop.lena.sets_limit("diameter", "pin/3", "30 N·m", "60 N·m");
    let seen = shop.check();
    seen.finds(&["wrong-quantity pin/3 diameter"]);
    seen.rests("wrong-quantity pin/3 diameter", &[wrong]);
    seen.verdict("pin/3", "diameter", "within");
}

#[test]
fn decisions_that_differ_are_disputed_until_one_is_stated_knowing_both() {
    let shop = kit::open();
    let one = shop.lena.decides("sizes", "+0.25");
    let other = shop.max.decides("sizes", "+0.50");
    let seen = shop.check();
    seen.finds(&["disputed-choice sizes"]);
    seen.rests("disputed-choice sizes", &[one, other]);
    seen.became(one, "disputed", &[]);
    shop.everybody_meets();
    let last = shop.lena.decides("sizes", "+0.50");
    let seen = shop.check();
    seen.finds(&[]);
    seen.became(one, "replaced", &[last]);
    seen.stand(&[last]);
}

#[test]
fn of_assignments_the_latest_known_stands() {
    let shop = kit::open();
    shop.lena.assigns("received", &shop.ann);
    shop.lena.assigns("received", &shop.ben);
    let seen = shop.check();
    seen.finds(&[]);
    assert_eq!(seen.step("received").assigned, Some(shop.ben.person()));
    shop.max.assigns("received", &shop.carl);
    let seen = shop.check();
    seen.finds(&["disputed-choice received"]);
    assert_eq!(seen.step("received").assigned, None);
}

#[test]
fn limits_and_decision_rule_are_set_apart_and_neither_undoes_the_other() {
    let shop = kit::open();
    pin(&shop.ann, "47.769 mm");
    let rule = shop.lena.sets_rule("diameter", "pin/3", ChosenRule::Simple);
    let limit = shop.lena.sets_limit("diameter", "pin/3", "47.735 mm", "47.770 mm");
    let seen = shop.check();
    seen.finds(&[]);
    seen.stand(&[rule, limit]);
    shop.lena.sets_rule("diameter", "pin/3", ChosenRule::Strict);
    let seen = shop.check();
    seen.finds(&["not-proven pin/3 diameter"]);
}

#[test]
fn a_rule_for_one_feature_keeps_the_limit_set_for_all() {
    let shop = kit::open();
    pin(&shop.ann, "47.769 mm");
    shop.lena.sets_limit("diameter", "", "47.735 mm", "47.770 mm");
    shop.lena.sets_rule("diameter", "pin/3", ChosenRule::Simple);
    let seen = shop.check();
    seen.finds(&[]);
    seen.verdict("pin/3", "diameter", "within");
}

#[test]
fn decisions_that_say_the_same_are_one() {
    let shop = kit::open();
    let one = shop.lena.decides("sizes", "+0.50");
    let other = shop.max.decides("sizes", "+0.50");
    let seen = shop.check();
    seen.finds(&[]);
    seen.stand(&[one, other]);
    let decided = &seen.step("sizes-decided").evidence[0];
    assert_eq!((decided.met, decided.entries.len()), (true, 2));
}

/// Each step of the example's own procedure that is measured before sizes are decided, by one reading.
fn measures(hand: &gudgeon_tests::kit::Hand) {
    for (feature, name, station, value) in [
        ("main/1", "journal-diameter", "front/0", "56.740 mm"),
        ("pin/3", "diameter", "front/0", "47.744 mm"),
        ("bore/1", "diameter", "top/thrust", "80.140 mm"),
        ("deck/inline", "height", "front", "220.40 mm"),
    ] {
        hand.read(feature, name, station, value).with("M1").at_20();
    }
}

/// Only what a lead knew counts: readings that were made and not here yet are none.
#[test]
fn a_decision_before_anything_was_measured_is_found_until_it_is_made_anew() {
    const LINE: &str = "decided-early sizes";
    let shop = kit::open();
    measures(&shop.ann);
    let early = shop.lena.decides("sizes", "+0.50");
    let seen = shop.check();
    assert_eq!(seen.of_rule("decided-early"), ["sizes"]);
    seen.rests(LINE, &[early]);
    let said = "Lena decided +0.50, and nothing had been read for mains-measured (and 3 more)";
    seen.says(LINE, said);
    assert!(seen.step("sizes-decided").evidence[0].met, "it is taken all the same");
    shop.ann.tells(&shop.lena);
    assert_eq!(shop.check().of_rule("decided-early"), ["sizes"], "that they came since changes nothing");
    shop.lena.decides("sizes", "+0.50");
    assert!(shop.check().of_rule("decided-early").is_empty());
}

#[test]
fn a_lead_may_concede_a_decision_before_its_measurements() {
    let shop = kit::open();
    pin(&shop.max, "47.744 mm");
    let early = shop.max.decides("sizes", "+0.50");
    shop.check().says(
        "decided-early sizes",
        "Max decided +0.50, and nothing had been read for mains-measured (and 2 more)",
    );
    shop.max.tells(&shop.lena);
    let conceded = shop.lena.concedes("decided-early", "", "sizes", &[early]);
    assert_eq!(shop.check().conceded("decided-early sizes"), Some(conceded));
}

/// No step asks for it, so nothing comes before it.
#[test]
fn a_decision_that_no_step_asks_for_is_never_early() {
    let shop = kit::open();
    shop.lena.decides("colour", "grey");
    assert!(shop.check().of_rule("decided-early").is_empty());
}
