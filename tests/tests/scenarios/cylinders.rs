//! Each cylinder: one at a time, and the turning torque compared with the others.

use gudgeon_core::entry::EntryId;
use gudgeon_core::entry::payload::Payload;
use gudgeon_tests::kit::{self, Hand};

const SLID: &str = "slid-in";

/// The crank turned with this cylinder in; 0: alone.
fn turned(hand: &Hand, cylinder: u8, torque: &str) -> EntryId {
    let station =
        if cylinder == 0 { "mains/running".to_owned() } else { format!("cylinder-{cylinder}/running") };
    hand.read("crank", "turning-torque", &station, torque).under(&["seals-in"]).untempered()
}

#[test]
fn the_next_piston_before_the_last_was_turned_is_found_and_settled_by_finishing_the_last() {
    let shop = kit::open();
    let first = shop.ann.checks(SLID, "cylinder/1");
    let second = shop.ann.checks(SLID, "cylinder/2");
    let seen = shop.check();
    assert_eq!(seen.of_rule("several-at-once"), ["cylinder/2 piston-in/2"]);
    let line = "several-at-once cylinder/2 piston-in/2";
    seen.rests(line, &[first, second]);
    seen.says(line, "begun, and cylinder-turns/1 was not signed");
    turned(&shop.ann, 1, "5 N·m");
    shop.ann.checks("turns-free", "cylinder/1");
    shop.ann.signs("cylinder-turns/1");
    shop.ann.tells(&shop.ben);
    shop.ben.seconds("cylinder-turns/1");
    assert!(shop.check().of_rule("several-at-once").is_empty());
}

/// Before the second is begun, whoever asks what can be done hears what is better done first.
#[test]
fn a_piston_that_is_not_in_yet_waits_better_for_the_one_under_way() {
    let shop = kit::open();
    let better = |seen: &kit::Seen, step: &str| seen.step(step).better_after.map(|at| seen.step_id(at));
    assert_eq!(better(&shop.check(), "piston-in/2"), None);
    shop.ann.checks(SLID, "cylinder/1");
    let seen = shop.check();
    assert_eq!(better(&seen, "piston-in/2").as_deref(), Some("cylinder-turns/1"));
    assert_eq!(better(&seen, "piston-in/1"), None, "it is under way itself");
    shop.ann.checks(SLID, "cylinder/2");
    assert_eq!(better(&shop.check(), "piston-in/2"), None, "it is too late to say");
}

#[test]
fn one_cylinder_after_the_other_is_in_order() {
    let shop = kit::open();
    shop.ann.checks(SLID, "cylinder/1");
    shop.ann.signs("cylinder-turns/1");
    shop.ann.tells(&shop.ben);
    shop.ben.seconds("cylinder-turns/1");
    shop.ben.tells(&shop.ann);
    shop.ann.checks(SLID, "cylinder/2");
    assert!(shop.check().of_rule("several-at-once").is_empty(), "it was signed when the next was begun");
}

#[test]
fn the_next_cylinder_begun_before_the_second_person_looked_at_the_last_is_found() {
    let shop = kit::open();
    shop.ann.checks(SLID, "cylinder/1");
    shop.ann.signs("cylinder-turns/1");
    shop.ann.checks(SLID, "cylinder/2");
    let said = "begun, and cylinder-turns/1 was not signed by a second person";
    shop.check().says("several-at-once cylinder/2 piston-in/2", said);
}

#[test]
fn two_who_did_not_know_of_each_other_are_not_blamed_and_a_part_only_chosen_begins_nothing() {
    let shop = kit::open();
    shop.ann.checks(SLID, "cylinder/1");
    shop.ben.checks(SLID, "cylinder/2");
    shop.ann.allots("rod-shells/S3", "rod/3/big-end");
    assert!(shop.check().of_rule("several-at-once").is_empty());
}

#[test]
fn a_rise_of_the_turning_torque_is_told_and_one_unlike_the_others_is_found() {
    let shop = kit::open();
    let torques = ["2.0 N·m", "4.8 N·m", "7.5 N·m", "14.0 N·m", "16.9 N·m"];
    let read: Vec<EntryId> = (0..).zip(torques).map(|(n, torque)| turned(&shop.ann, n, torque)).collect();
    let seen = shop.check();
    assert_eq!(seen.of_rule("uneven-rise"), ["crank cylinder-3/running"]);
    let line = "uneven-rise crank cylinder-3/running";
    seen.rests(line, &[read[2], read[3]]);
    seen.says(line, "at cylinder-3/running it rose by 6.5 N·m; the middle one of all cylinders is 2.8 N·m");
    let found = |step: &str| seen.step(step).evidence[0].found.clone();
    assert_eq!(found("cylinder-turns/1"), "read, 2.8 N·m more than before it");
    assert_eq!(found("cylinder-turns/3"), "read, 6.5 N·m more than before it");
}

#[test]
fn cylinders_may_be_filled_in_any_order_and_a_figure_read_again_moves_none() {
    let shop = kit::open();
    turned(&shop.ann, 0, "2.0 N·m");
    turned(&shop.ann, 3, "5.0 N·m");
    turned(&shop.ann, 1, "14.0 N·m");
    turned(&shop.ann, 2, "11.0 N·m");
    assert_eq!(shop.check().of_rule("uneven-rise"), ["crank cylinder-1/running", "crank cylinder-2/running"]);
    turned(&shop.ann, 1, "8.0 N·m");
    assert!(shop.check().of_rule("uneven-rise").is_empty(), "3.0, 3.0 and 3.0 more");
}

#[test]
fn a_rise_much_less_than_the_others_is_found_too_and_two_cylinders_are_no_comparison() {
    let shop = kit::open();
    for (cylinder, torque) in [(0, "2.0 N·m"), (1, "5.0 N·m"), (2, "5.5 N·m")] {
        turned(&shop.ann, cylinder, torque);
    }
    assert!(shop.check().of_rule("uneven-rise").is_empty());
    turned(&shop.ann, 4, "8.6 N·m");
    assert_eq!(
        shop.check().of_rule("uneven-rise"),
        ["crank cylinder-2/running"],
        "a ring left out turns light"
    );
}

#[test]
fn what_two_phones_turned_apart_is_compared_with_nothing() {
    let shop = kit::open();
    turned(&shop.ann, 0, "2.0 N·m");
    shop.ann.tells(&shop.ben);
    turned(&shop.ann, 1, "5.0 N·m");
    turned(&shop.ben, 2, "4.9 N·m");
    let seen = shop.check();
    let found = seen.step("cylinder-turns/2").evidence[0].found.clone();
    assert_eq!(found, "read, 2.9 N·m more than before it", "Ben knew of the crank alone");
    shop.ann.tells(&shop.ben);
    turned(&shop.ben, 3, "8.0 N·m");
    let found = shop.check().step("cylinder-turns/3").evidence[0].found.clone();
    assert_eq!(found, "read", "which of the two was in last is not known");
}

#[test]
fn the_approval_is_of_the_decision_that_stands() {
    let shop = kit::open();
    let first = shop.lena.decides("sizes", "+0.50");
    let on = |seen: &kit::Seen| seen.step("sizes-decided").evidence[1].found.clone();
    assert_eq!(on(&shop.check()), "not approved");
    shop.lena.enters_approval(first);
    assert_eq!(on(&shop.check()), "approved");
    shop.lena.signs("sizes-decided");
    shop.check().finds_besides_order(&[]);
    let second = shop.lena.decides("sizes", "+0.75");
    let seen = shop.check();
    assert_eq!(on(&seen), "not approved as it is decided now");
    seen.finds_besides_order(&["stale-sign-off sizes-decided"]);
    shop.lena.enters_approval(second);
    shop.lena.signs("sizes-decided");
    shop.check().finds_besides_order(&[]);
}

#[test]
fn an_approval_of_a_decision_that_its_author_did_not_hold_approves_nothing() {
    let shop = kit::open();
    let decided = shop.lena.decides("sizes", "+0.50");
    let stranger = shop.lena.second_phone(&shop.lena, &[gudgeon_core::entry::payload::Role::Lead]);
    stranger.enters_approval(decided);
    let seen = shop.check();
    assert_eq!(seen.step("sizes-decided").evidence[1].found, "not approved as it is decided now");
}

/// A stop is said of a step; its words are the fitter's.
#[test]
fn a_group_left_part_tightened_is_slackened_and_begun_again() {
    let shop = kit::open();
    let main = || shop.ann.tightens("main-bolts", "main/2");
    let turn = || shop.ann.checks("turns-free", "crank");
    main().stage(1, "30 N·m");
    turn();
    let stop = shop.ann.stops("mains-tightened/2", "main/2", "end of the day");
    shop.ann.resumes(stop);
    let on_top = main().stage(2, "60 N·m");
    let seen = shop.check();
    seen.finds(&["left-part-tightened main/2 main-bolts"]);
    seen.rests("left-part-tightened main/2 main-bolts", &[stop, on_top]);
    let said = "work stopped after stage 1, and the next stage was pulled on top of it";
    seen.says("left-part-tightened main/2 main-bolts", said);
    shop.ann.slackens("main-bolts", "main/2");
    for (number, set) in [(1, "30 N·m"), (2, "60 N·m"), (3, "90 N·m")] {
        main().stage(number, set);
        turn();
    }
    let seen = shop.check();
    seen.finds(&[]);
    assert_eq!(seen.tightened("main-bolts", "main/2"), Some((3, true)));
}

#[test]
fn a_stop_of_other_work_or_after_the_last_stage_asks_for_no_slackening() {
    let shop = kit::open();
    let main = || shop.ann.tightens("main-bolts", "main/2");
    let turn = || shop.ann.checks("turns-free", "crank");
    main().stage(1, "30 N·m");
    turn();
    let stop = shop.ann.stops("mains-tightened/3", "main/3", "another main");
    shop.ann.resumes(stop);
    for (number, set) in [(2, "60 N·m"), (3, "90 N·m")] {
        main().stage(number, set);
        turn();
    }
    let stop = shop.ann.stops("mains-tightened/2", "main/2", "end of the day");
    shop.ann.resumes(stop);
    main().stage(3, "90 N·m");
    turn();
    shop.check().finds(&[]);
}

#[test]
fn a_part_fitted_must_have_been_received_and_at_a_place_that_is_there() {
    let shop = kit::open();
    shop.ann.receives("piston/A");
    shop.ann.fits("piston/A", "bore/1");
    let unknown = shop.ann.fits("piston/B", "bore/2");
    shop.ann.allots("piston/C", "bore/3");
    let nowhere = shop.ann.fits("rod-shells/D", "rod/9/big-end");
    let seen = shop.check();
    assert_eq!(seen.of_rule("not-received"), ["bore/2 piston/B", "rod/9/big-end rod-shells/D"]);
    seen.rests("not-received bore/2 piston/B", &[unknown]);
    seen.says("not-received bore/2 piston/B", "piston/B is fitted at bore/2, and was never received");
    seen.finds(&["unknown-place rod/9/big-end rod-shells/D"]);
    shop.ann.voids(nowhere);
    let received = shop.ben.receives("piston/B");
    let seen = shop.check();
    assert!(seen.of_rule("not-received").is_empty(), "it may be entered by anybody, and later");
    seen.finds(&[]);
    shop.ben.voids(received);
    assert_eq!(shop.check().of_rule("not-received"), ["bore/2 piston/B"]);
}

#[test]
fn metal_cut_with_a_part_in_place_is_found_until_the_part_is_out() {
    let shop = kit::open();
    shop.ann.receives("piston/A");
    let fitted = shop.ann.fits("piston/A", "bore/1");
    let honed = shop.ann.did("hone", "bore/1");
    let seen = shop.check();
    seen.finds(&["cut-with-part-in bore/1 piston/A"]);
    seen.rests("cut-with-part-in bore/1 piston/A", &[fitted, honed]);
    seen.says("cut-with-part-in bore/1 piston/A", "hone at bore/1, with piston/A in it");
    shop.ann.takes_out("piston/A", "bore/1");
    shop.check().finds(&[]);
}

#[test]
fn whoever_did_not_know_of_the_part_cut_in_good_faith_and_what_cuts_nothing_is_nothing() {
    let shop = kit::open();
    shop.ann.receives("piston/A");
    shop.ann.fits("piston/A", "bore/1");
    shop.ben.did("hone", "bore/1");
    shop.ann.fits("main-shells/M1", "main/1");
    shop.ann.did("main-shells-changed", "main/1");
    assert!(shop.check().of_rule("cut-with-part-in").is_empty());
}

#[test]
fn a_ticket_is_a_claim_until_what_came_back_is_measured() {
    let shop = kit::open();
    shop.ann.moves("crank/K1", true, "");
    let seen = shop.check();
    seen.finds(&["part-out crank/K1"]);
    seen.says("part-out crank/K1", "crank/K1 is with a grinder");
    let back = shop.ann.moves("crank/K1", false, "pins 0.25 under");
    let seen = shop.check();
    seen.finds(&["ticket-unmeasured crank/K1"]);
    seen.rests("ticket-unmeasured crank/K1", &[back]);
    let said = "crank/K1 is back from a grinder, whose ticket says `pins 0.25 under`";
    seen.says("ticket-unmeasured crank/K1", said);
    // Ben has not heard that it is back: what he reads may have been read before.
    crate::pin(&shop.ben, "47.742 mm");
    shop.check().finds(&["ticket-unmeasured crank/K1"]);
    crate::pin(&shop.ann, "47.743 mm");
    shop.check().finds(&[]);
}

#[test]
fn a_piston_that_came_back_is_measured_on_itself() {
    let shop = kit::open();
    shop.ann.moves("piston/A", true, "");
    shop.ann.moves("piston/A", false, "coated");
    crate::pin(&shop.ann, "47.743 mm");
    shop.ann.read("piston/B/skirt", "diameter", "", "80.455 mm").with("M80").at_20();
    assert_eq!(shop.check().of_rule("ticket-unmeasured"), ["piston/A"], "another piston was measured");
    shop.ann.read("piston/A/skirt", "diameter", "", "80.455 mm").with("M80").at_20();
    assert!(shop.check().of_rule("ticket-unmeasured").is_empty());
}

#[test]
fn an_approval_alone_changes_nothing_else() {
    let shop = kit::open();
    let decided = shop.lena.decides("sizes", "+0.50");
    shop.lena.enters_approval(decided);
    shop.lena.says(&Payload::Note(gudgeon_core::entry::payload::Note {
        feature: String::new(),
        text: "the customer will call again".into(),
    }));
    shop.check().finds(&[]);
}

/// A pin read before the crank went out says nothing of it now, whatever was read of another pin since.
#[test]
fn what_was_read_of_a_part_before_it_was_with_somebody_does_not_count_until_read_again_or_worked_on() {
    let shop = kit::open();
    let read = |value: &str| {
        for station in ["front/0", "front/60", "front/120", "rear/0", "rear/60", "rear/120"] {
            shop.ann.read("pin/1", "diameter", station, value).with("M1").at_20();
        }
    };
    let found = |seen: &kit::Seen| seen.step("pin-sizes/1").evidence[0].found.clone();
    read("47.744 mm");
    crate::pin(&shop.ann, "47.744 mm");
    shop.ann.moves("crank/K1", true, "");
    assert_eq!(found(&shop.check()), "read before crank/K1 was with a grinder");
    shop.ann.moves("crank/K1", false, "polished");
    read("47.743 mm");
    let seen = shop.check();
    assert_eq!(found(&seen), "within");
    assert_eq!(seen.of_rule("ticket-unmeasured"), ["crank/K1"]);
    let way_out = seen.finding("ticket-unmeasured crank/K1").hint();
    assert!(way_out.starts_with("enter the work that was done on it, or read it again: pin/3;"), "{way_out}");
    crate::pin(&shop.ann, "47.743 mm");
    assert!(shop.check().of_rule("ticket-unmeasured").is_empty());
}

#[test]
fn work_that_was_entered_on_a_part_that_was_out_says_what_became_of_the_rest() {
    let shop = kit::open();
    crate::pin(&shop.ann, "47.744 mm");
    shop.ann.read("main/1", "journal-diameter", "front/0", "54.960 mm").with("M75").at_20();
    shop.ann.moves("crank/K1", true, "");
    shop.ann.moves("crank/K1", false, "pin 3 polished");
    shop.ann.did("polish-journal", "pin/3");
    assert_eq!(shop.check().of_rule("ticket-unmeasured"), ["crank/K1"], "the ticket is not measured");
    crate::pin(&shop.ann, "47.742 mm");
    assert!(shop.check().of_rule("ticket-unmeasured").is_empty());
}

#[test]
fn a_lead_may_concede_that_nothing_of_what_was_read_before_was_touched() {
    let shop = kit::open();
    let read = |pin: &str| {
        for station in ["front/0", "front/60", "front/120", "rear/0", "rear/60", "rear/120"] {
            shop.ann.read(pin, "diameter", station, "47.744 mm").with("M1").at_20();
        }
    };
    read("pin/1");
    shop.ann.moves("crank/K1", true, "");
    shop.ann.moves("crank/K1", false, "balanced");
    let found = || shop.check().step("pin-sizes/1").evidence[0].found.clone();
    assert_eq!(found(), "read before crank/K1 was with a grinder");
    shop.ann.tells(&shop.lena);
    let finding = shop.check().finding("ticket-unmeasured crank/K1").clone();
    shop.lena.concedes("ticket-unmeasured", &finding.feature, &finding.subject, &finding.ids);
    assert_eq!(found(), "within");
}

/// The journal is the crank's, the housing the block's.
#[test]
fn what_is_read_beside_a_part_that_is_out_stays() {
    let shop = kit::open();
    let read =
        || shop.ann.read("main/1", "housing-diameter", "front/0", "61.005 mm").bare().with("B1").at_20();
    read();
    shop.ann.moves("crank/K1", true, "");
    shop.ann.moves("crank/K1", false, "pins 0.25 under");
    read();
    let seen = shop.check();
    assert_eq!(seen.of_rule("ticket-unmeasured"), ["crank/K1"], "a housing is no journal");
    assert!(!seen.finding("ticket-unmeasured crank/K1").hint().contains("main/1"));
}

#[test]
fn a_signature_on_what_was_read_before_a_part_was_away_does_not_come_back_when_it_is_read_again() {
    let shop = kit::open();
    let read = || crate::pin(&shop.ann, "47.744 mm");
    let first = read();
    shop.ann.signs_citing("pin-sizes/3", &[first]);
    shop.ann.moves("crank/K1", true, "");
    shop.ann.moves("crank/K1", false, "polished");
    read();
    let said = "pin/3 diameter at front/0, 47.744 mm by Ann (M1) was read before crank/K1 was with a grinder";
    assert!(shop.check().finding("stale-sign-off pin/3 pin-sizes/3").text.ends_with(said));
}

#[test]
fn a_crank_that_went_out_while_its_mains_stood_tightened_was_by_the_record_built_in() {
    let shop = kit::open();
    let main = || shop.ann.tightens("main-bolts", "main/2");
    for (number, set) in [(1, "30 N·m"), (2, "60 N·m"), (3, "90 N·m")] {
        main().stage(number, set);
        shop.ann.checks("turns-free", "crank");
    }
    let met = |seen: &kit::Seen| seen.step("mains-tightened/2").evidence[0].found.clone();
    shop.ann.moves("crank/K1", true, "");
    let seen = shop.check();
    assert_eq!(seen.of_rule("out-while-built-in"), ["main/2 crank/K1"]);
    let line = "out-while-built-in main/2 crank/K1";
    seen.says(line, "main-bolts of main/2 stand tightened, and crank/K1 was with a grinder");
    assert_eq!(met(&seen), "stood tightened while crank/K1 was with a grinder");
    shop.ann.moves("crank/K1", false, "polished");
    assert_eq!(shop.check().of_rule("out-while-built-in"), ["main/2 crank/K1"], "back, it is no looser");
    shop.ann.slackens("main-bolts", "main/2");
    let seen = shop.check();
    assert!(seen.of_rule("out-while-built-in").is_empty());
    assert_eq!(met(&seen), "0 stages done, not complete");
}

/// Of two who sent it out, neither knowing of the other, and of stages pulled at once, the same is named
/// in every order of arrival: `check` folds them in many.
#[test]
fn a_part_that_two_sent_out_at_once_is_told_alike_on_every_phone() {
    let shop = kit::open();
    shop.ann.tightens("main-bolts", "main/2").stage(1, "30 N·m");
    crate::pin(&shop.ann, "47.744 mm");
    shop.ann.tells(&shop.ben);
    shop.ann.moves("crank/K1", true, "");
    shop.ben.moves("crank/K1", true, "");
    assert_eq!(shop.check().of_rule("out-while-built-in"), ["main/2 crank/K1"]);
    shop.ben.tells(&shop.ann);
    crate::pin(&shop.ann, "47.744 mm");
    assert_eq!(shop.check().of_rule("out-while-built-in"), ["main/2 crank/K1"]);
}
