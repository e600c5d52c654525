//! Fasteners: stages in order by the maker's figures, turned after each.

use gudgeon_core::assess::NextAct;
use gudgeon_core::entry::EntryId;
use gudgeon_tests::kit::{self, Hand};

const MAIN: (&str, &str) = ("main-bolts", "main/2");

fn stage(hand: &Hand, number: u32, set: &str) -> EntryId {
    hand.tightens(MAIN.0, MAIN.1).stage(number, set)
}

fn turn(hand: &Hand) -> EntryId {
    hand.checks("turns-free", "crank")
}

#[test]
fn all_stages_in_order_turned_after_each_are_complete() {
    let shop = kit::open();
    for (number, set) in [(1, "30 N·m"), (2, "60 N·m"), (3, "90 N·m")] {
        stage(&shop.ann, number, set);
        turn(&shop.ann);
    }
    let seen = shop.check();
    seen.finds(&[]);
    assert_eq!(seen.tightened(MAIN.0, MAIN.1), Some((3, true)));
}

#[test]
fn a_rod_is_nipped_first() {
    let shop = kit::open();
    let rod = || shop.ann.tightens("rod-bolts", "rod/2/bolts");
    rod().nip();
    rod().stage(1, "28 N·m");
    shop.ann.checks("turns-free", "cylinder/2");
    rod().stage(2, "42 N·m");
    shop.ann.checks("turns-free", "cylinder/2");
    let seen = shop.check();
    seen.finds(&[]);
    assert_eq!(seen.tightened("rod-bolts", "rod/2/bolts"), Some((2, true)));
}

#[test]
fn a_rod_without_a_nip_is_out_of_order() {
    let shop = kit::open();
    let first = shop.ann.tightens("rod-bolts", "rod/2/bolts").stage(1, "28 N·m");
    let seen = shop.check();
    seen.finds(&["stages-out-of-order rod/2/bolts rod-bolts"]);
    seen.rests("stages-out-of-order rod/2/bolts rod-bolts", &[first]);
}

#[test]
fn without_the_last_turn_it_is_not_complete() {
    let shop = kit::open();
    stage(&shop.ann, 1, "30 N·m");
    turn(&shop.ann);
    stage(&shop.ann, 2, "60 N·m");
    turn(&shop.ann);
    stage(&shop.ann, 3, "90 N·m");
    let seen = shop.check();
    seen.finds(&[]);
    assert_eq!(seen.tightened(MAIN.0, MAIN.1), Some((3, false)));
}

#[test]
fn a_missing_turn_between_two_stages_is_a_finding() {
    let shop = kit::open();
    let first = stage(&shop.ann, 1, "30 N·m");
    let second = stage(&shop.ann, 2, "60 N·m");
    let seen = shop.check();
    seen.finds(&["turn-check-missing main/2 main-bolts"]);
    seen.rests("turn-check-missing main/2 main-bolts", &[first, second]);
}

#[test]
fn a_skipped_stage_is_a_finding() {
    let shop = kit::open();
    stage(&shop.ann, 1, "30 N·m");
    turn(&shop.ann);
    let last = stage(&shop.ann, 3, "90 N·m");
    let seen = shop.check();
    seen.finds(&["stages-out-of-order main/2 main-bolts"]);
    seen.rests("stages-out-of-order main/2 main-bolts", &[last]);
    assert_eq!(seen.tightened(MAIN.0, MAIN.1), Some((1, false)));
}

#[test]
fn another_figure_than_the_makers_is_a_finding_and_other_units_are_not() {
    let shop = kit::open();
    let wrong = stage(&shop.ann, 1, "40 N·m");
    let seen = shop.check();
    seen.finds(&["set-point main/2 main-bolts"]);
    seen.rests("set-point main/2 main-bolts", &[wrong]);
    let other = kit::open();
    // 22 lbf·ft is 29.8 N·m.
    stage(&other.ann, 1, "22 lbf·ft");
    other.check().finds(&[]);
}

#[test]
fn a_wrench_outside_its_range_or_its_calibration_is_a_finding() {
    let shop = kit::open();
    shop.ann.tightens(MAIN.0, MAIN.1).with("W2").stage(1, "30 N·m");
    shop.check().finds(&["wrench-range main/2 main-bolts"]);
    let other = kit::open();
    other.lena.lists_overdue_wrench("W9");
    other.ann.tightens(MAIN.0, MAIN.1).with("W9").stage(1, "30 N·m");
    other.check().finds(&["gauge-overdue main/2 main-bolts"]);
}

#[test]
fn another_lubricant_is_a_finding() {
    let shop = kit::open();
    shop.ann.tightens(MAIN.0, MAIN.1).on("dry").stage(1, "30 N·m");
    shop.check().finds(&["lubricant main/2 main-bolts"]);
}

#[test]
fn slackening_ends_what_was_done_and_it_begins_again() {
    let shop = kit::open();
    let wrong = stage(&shop.ann, 2, "60 N·m");
    let slack = shop.ann.slackens(MAIN.0, MAIN.1);
    let first = stage(&shop.ann, 1, "30 N·m");
    let seen = shop.check();
    seen.finds(&[]);
    seen.became(wrong, "ended", &[slack]);
    seen.stand(&[slack, first]);
    assert_eq!(seen.tightened(MAIN.0, MAIN.1), Some((1, false)));
}

#[test]
fn two_acts_that_did_not_know_of_each_other_are_asked_about_and_never_complete() {
    let shop = kit::open();
    stage(&shop.ann, 1, "30 N·m");
    turn(&shop.ann);
    shop.ann.tells(&shop.ben);
    let one = stage(&shop.ann, 2, "60 N·m");
    let other = shop.ben.slackens(MAIN.0, MAIN.1);
    let seen = shop.check();
    seen.finds(&["before-or-after main/2 main-bolts"]);
    seen.rests("before-or-after main/2 main-bolts", &[one, other]);
    shop.everybody_meets();
    shop.carl.orders(other, one);
    let seen = shop.check();
    // The slackening ended stage 1, so stage 2 was pulled on slack bolts.
    seen.finds(&["stages-out-of-order main/2 main-bolts"]);
}

#[test]
fn an_unknown_group_is_a_finding() {
    let shop = kit::open();
    shop.ann.tightens("hope-bolts", "main/2").stage(1, "30 N·m");
    shop.check().finds(&["unknown-feature main/2 hope-bolts"]);
}

#[test]
fn a_withdrawn_stage_is_not_there() {
    let shop = kit::open();
    stage(&shop.ann, 1, "30 N·m");
    turn(&shop.ann);
    let second = stage(&shop.ann, 2, "60 N·m");
    shop.ann.voids(second);
    let seen = shop.check();
    seen.finds(&[]);
    assert_eq!(seen.tightened(MAIN.0, MAIN.1), Some((1, false)));
}

#[test]
fn signed_tightening_goes_stale_when_the_bolts_are_slackened() {
    let shop = kit::open();
    for (number, set) in [(1, "30 N·m"), (2, "60 N·m"), (3, "90 N·m")] {
        stage(&shop.ann, number, set);
        turn(&shop.ann);
    }
    shop.ann.signs("mains-tightened/2");
    shop.check().finds_besides_order(&[]);
    shop.ann.tells(&shop.ben);
    shop.ben.slackens(MAIN.0, MAIN.1);
    let seen = shop.check();
    seen.finds_besides_order(&["stale-sign-off main/2 mains-tightened/2"]);
    seen.progress("mains-tightened/2", "signature no longer stands");
}

#[test]
fn tightening_and_new_bolts_that_did_not_know_of_each_other_are_asked_about() {
    let shop = kit::open();
    let nip = shop.ann.tightens("rod-bolts", "rod/2/bolts").nip();
    let bolts = shop.ben.did("rod-bolts-changed", "rod/2/bolts");
    let seen = shop.check();
    seen.finds(&["before-or-after rod/2/bolts rod-bolts"]);
    seen.rests("before-or-after rod/2/bolts rod-bolts", &[nip, bolts]);
    seen.says(
        "before-or-after rod/2/bolts rod-bolts",
        "Ann nipped rod-bolts, and Ben logged rod-bolts-changed; neither knew of the other",
    );
}

#[test]
fn a_wash_and_cutting_that_did_not_know_of_each_other_are_asked_about() {
    let shop = kit::open();
    let washed = shop.ann.checks("final-wash", "block");
    let cut = shop.ben.did("deck-cut", "deck/inline");
    let seen = shop.check();
    seen.finds(&["before-or-after block final-wash"]);
    seen.became(washed, "before or after?", &[cut]);
    shop.everybody_meets();
    let again = shop.ann.checks("final-wash", "block");
    let seen = shop.check();
    seen.finds(&[]);
    seen.stand(&[again]);
}

#[test]
fn slackening_settles_what_was_asked_about_the_acts_before_it() {
    let shop = kit::open();
    let nip = shop.ann.tightens("rod-bolts", "rod/2/bolts").nip();
    shop.ben.did("rod-bolts-changed", "rod/2/bolts");
    shop.everybody_meets();
    let slack = shop.ann.slackens("rod-bolts", "rod/2/bolts");
    let seen = shop.check();
    seen.finds(&[]);
    seen.became(nip, "ended", &[slack]);
}

/// What comes next on the mains' group, after what was said.
fn next(shop: &kit::Shop) -> Option<NextAct> {
    shop.check().next_act(MAIN.0, MAIN.1)
}

#[test]
fn what_comes_next_is_to_pull_to_turn_or_to_slacken() {
    let shop = kit::open();
    assert_eq!(next(&shop), None);
    stage(&shop.ann, 1, "30 N·m");
    assert_eq!(next(&shop), Some(NextAct::Turn));
    turn(&shop.ann);
    assert_eq!(next(&shop), Some(NextAct::Stage(2)));
    let stop = shop.ann.stops("mains-tightened/2", "main/2", "end of the day");
    assert_eq!(next(&shop), Some(NextAct::Slacken), "before anybody pulls on top of it");
    shop.ann.resumes(stop);
    assert_eq!(next(&shop), Some(NextAct::Slacken));
    shop.ann.slackens(MAIN.0, MAIN.1);
    for (number, set) in [(1, "30 N·m"), (2, "60 N·m"), (3, "90 N·m")] {
        assert_eq!(next(&shop), Some(NextAct::Stage(number)));
        stage(&shop.ann, number, set);
        turn(&shop.ann);
    }
    assert_eq!(next(&shop), Some(NextAct::Nothing));
}

#[test]
fn a_rod_is_nipped_again_after_it_was_slackened() {
    let shop = kit::open();
    shop.ann.tightens("rod-bolts", "rod/2/bolts").nip();
    shop.ann.slackens("rod-bolts", "rod/2/bolts");
    assert_eq!(shop.check().next_act("rod-bolts", "rod/2/bolts"), Some(NextAct::Nip));
}

#[test]
fn a_crank_that_bound_is_slackened_and_never_pulled_on() {
    let shop = kit::open();
    stage(&shop.ann, 1, "30 N·m");
    shop.ann.checked("turns-free", "crank", false);
    assert_eq!(next(&shop), Some(NextAct::Slacken));
    stage(&shop.ann, 2, "60 N·m");
    let seen = shop.check();
    let said = "the next stage was pulled although the crank did not turn freely";
    seen.says("turn-check-missing main/2 main-bolts", said);
}

#[test]
fn a_bolt_that_was_not_pulled_like_the_others_is_found_until_the_stage_is_pulled_on_all() {
    let shop = kit::open();
    for (number, set) in [(1, "30 N·m"), (2, "60 N·m")] {
        stage(&shop.ann, number, set);
        turn(&shop.ann);
    }
    let short = shop.ann.tightens(MAIN.0, MAIN.1).except(2, "stopped short").stage(3, "90 N·m");
    turn(&shop.ann);
    let line = "fastener-left-out main/2 main-bolts";
    let seen = shop.check();
    seen.finds(&[line]);
    seen.rests(line, &[short]);
    seen.says(line, "fastener 2: stopped short");
    assert_eq!(seen.tightened(MAIN.0, MAIN.1), Some((3, false)));
    stage(&shop.ann, 3, "90 N·m");
    turn(&shop.ann);
    let seen = shop.check();
    seen.finds(&[]);
    assert_eq!(seen.tightened(MAIN.0, MAIN.1), Some((3, true)));
}

/// What a lead has accepted, with a reason, holds up nobody.
#[test]
fn a_group_whose_fault_is_conceded_is_complete() {
    let shop = kit::open();
    for (number, set) in [(1, "30 N·m"), (2, "60 N·m"), (3, "90 N·m")] {
        shop.ann.tightens(MAIN.0, MAIN.1).on("engine oil of another grade").stage(number, set);
        turn(&shop.ann);
    }
    let seen = shop.check();
    assert_eq!(seen.tightened(MAIN.0, MAIN.1), Some((3, false)));
    assert_eq!(seen.of_rule("lubricant").len(), 3);
    shop.ann.tells(&shop.lena);
    for ground in seen.grounds_of("lubricant") {
        shop.lena.concedes("lubricant", MAIN.1, MAIN.0, &ground);
    }
    assert_eq!(shop.check().tightened(MAIN.0, MAIN.1), Some((3, true)));
}

#[test]
fn what_a_bolt_was_nipped_with_stays_on_its_thread() {
    let shop = kit::open();
    shop.ann.tightens("rod-bolts", "rod/2/bolts").on("engine oil").nip();
    shop.check().finds(&["lubricant rod/2/bolts rod-bolts"]);
}

#[test]
fn a_free_length_that_was_read_with_the_bolts_tight_is_found_until_they_were_slackened_for_it() {
    let shop = kit::open();
    let free = || {
        let reads = shop.ann.read("rod/2/bolts", "free-length", "bolt-1", "48.000 mm");
        reads.with("M1").under(&["bolt-free"]).at_20()
    };
    free();
    assert!(shop.check().of_rule("conditions-missing").is_empty());
    let stage = shop.ann.tightens("rod-bolts", "rod/2/bolts").stage(1, "28 N·m");
    let read = free();
    let line = "conditions-missing rod/2/bolts free-length";
    let seen = shop.check();
    seen.rests(line, &[read, stage]);
    seen.says(line, "free-length was read while rod-bolts stood tightened");
    // Slackened, it was still read tight; only read again it says anything.
    shop.ann.slackens("rod-bolts", "rod/2/bolts");
    shop.check().rests(line, &[read, stage]);
    free();
    assert!(shop.check().of_rule("conditions-missing").is_empty());
}

/// Each round is ended by its own slackening: the second says nothing of what was read slack after the first.
#[test]
fn a_free_length_read_between_two_rounds_stays_read_slack_when_the_second_is_slackened_too() {
    let shop = kit::open();
    let rod = || shop.ann.tightens("rod-bolts", "rod/2/bolts");
    let free = |bolt: &str| {
        shop.ann
            .read("rod/2/bolts", "free-length", bolt, "48.000 mm")
            .with("M1")
            .under(&["bolt-free"])
            .at_20()
    };
    let pulled = rod().stage(1, "28 N·m");
    let slack = shop.ann.slackens("rod-bolts", "rod/2/bolts");
    let read = [free("bolt-1"), free("bolt-2")];
    shop.ann.signs("rod-bolts-free/2");
    rod().nip();
    let again = rod().stage(1, "28 N·m");
    shop.ann.checks("turns-free", "crank");
    let second = shop.ann.slackens("rod-bolts", "rod/2/bolts");
    let seen = shop.check();
    seen.finds_besides_order(&[]);
    seen.stand(&read);
    seen.became(pulled, "ended", &[slack]);
    seen.became(again, "ended", &[second]);
}

#[test]
fn of_two_slackenings_that_did_not_know_of_each_other_either_lets_go() {
    let shop = kit::open();
    shop.ann.tightens("rod-bolts", "rod/2/bolts").stage(1, "28 N·m");
    shop.ann.tells(&shop.ben);
    shop.ann.slackens("rod-bolts", "rod/2/bolts");
    shop.ben.slackens("rod-bolts", "rod/2/bolts");
    for hand in [&shop.ann, &shop.ben] {
        hand.read("rod/2/bolts", "free-length", "bolt-1", "48.000 mm")
            .with("M1")
            .under(&["bolt-free"])
            .at_20();
    }
    assert!(shop.check().of_rule("conditions-missing").is_empty());
}

#[test]
fn a_tight_length_is_past_once_the_bolts_are_slackened() {
    let shop = kit::open();
    shop.ann.tightens("rod-bolts", "rod/2/bolts").stage(1, "28 N·m");
    let tight = shop.ann.read("rod/2/bolts", "tight-length", "bolt-1", "48.120 mm");
    let tight = tight.with("M1").under(&["bolt-tight"]).at_20();
    shop.check().stand(&[tight]);
    let slack = shop.ann.slackens("rod-bolts", "rod/2/bolts");
    shop.check().became(tight, "ended", &[slack]);
}

#[test]
fn a_bolt_that_has_grown_by_more_than_the_maker_allows_is_not_used_again() {
    let shop = kit::open();
    let free = |length: &str| {
        shop.ann.read("rod/2/bolts", "free-length", "bolt-1", length).with("M1").under(&["bolt-free"]).at_20()
    };
    let new = free("48.000 mm");
    shop.ann.tightens("rod-bolts", "rod/2/bolts").stage(1, "28 N·m");
    shop.ann.slackens("rod-bolts", "rod/2/bolts");
    free("48.040 mm");
    assert!(shop.check().of_rule("fastener-grown").is_empty());
    let grown = free("48.090 mm");
    let seen = shop.check();
    let line = "fastener-grown rod/2/bolts bolt-1";
    seen.rests(line, &[new, grown]);
    seen.says(line, "bolt-1 has grown by 0.090 mm since it was new; the maker allows 0.05 mm");
    shop.ann.did("rod-bolts-changed", "rod/2");
    assert!(shop.check().of_rule("fastener-grown").is_empty());
}

/// One bolt's length, slack and new, then after a round that pulled it long.
fn grown(shop: &kit::Shop) {
    let free = |length: &str| {
        for bolt in ["bolt-1", "bolt-2"] {
            let reads = shop.ann.read("rod/2/bolts", "free-length", bolt, length);
            reads.with("M1").under(&["bolt-free"]).at_20();
        }
    };
    free("48.000 mm");
    shop.ann.tightens("rod-bolts", "rod/2/bolts").stage(1, "28 N·m");
    shop.ann.slackens("rod-bolts", "rod/2/bolts");
    free("48.090 mm");
}

#[test]
fn what_rests_on_a_grown_bolt_is_not_ready_to_sign_until_new_ones_are_in() {
    let shop = kit::open();
    grown(&shop);
    let said = "grown beyond the maker's: new bolts";
    // Pulled all the same, its stretch says nothing either, and the finding stays.
    shop.ann.tightens("rod-bolts", "rod/2/bolts").nip();
    for bolt in ["bolt-1", "bolt-2"] {
        let reads = shop.ann.read("rod/2/bolts", "tight-length", bolt, "48.215 mm");
        reads.with("M1").under(&["bolt-tight"]).at_20();
    }
    let seen = shop.check();
    assert_eq!(seen.step("rod-bolts-stretch/2").evidence[0].found, said);
    assert_eq!(seen.step("rod-bolts-free/2").evidence[0].found, said);
    assert_eq!(seen.comes_first("rod-bolts", "rod/2/bolts").as_deref(), Some(said));
    assert_eq!(seen.of_rule("fastener-grown").len(), 2);
    shop.ann.did("rod-bolts-changed", "rod/2");
    let seen = shop.check();
    assert!(seen.of_rule("fastener-grown").is_empty());
    assert!(seen.step("rod-bolts-free/2").evidence[0].found.contains("not read"));
}

#[test]
fn a_lead_who_concedes_the_growth_of_a_bolt_lets_it_be_signed() {
    let shop = kit::open();
    grown(&shop);
    shop.everybody_meets();
    let found = shop.lena.finds();
    let grown = found.iter().filter(|finding| finding.rule.name() == "fastener-grown");
    let grounds: Vec<Vec<EntryId>> = grown.map(|finding| finding.ids.clone()).collect();
    for (bolt, ground) in ["bolt-1", "bolt-2"].into_iter().zip(grounds) {
        shop.lena.concedes("fastener-grown", "rod/2/bolts", bolt, &ground);
    }
    let seen = shop.check();
    assert!(seen.step("rod-bolts-free/2").evidence[0].met);
    assert_eq!(seen.step("rod-bolts-free/2").evidence[0].found, "not judged: no limit");
    assert_eq!(seen.comes_first("rod-bolts", "rod/2/bolts"), None);
}

#[test]
fn the_free_length_of_what_is_proven_by_stretch_comes_before_the_nip() {
    let shop = kit::open();
    let first = |shop: &kit::Shop| shop.check().comes_first("rod-bolts", "rod/2/bolts");
    shop.ann.tightens("rod-bolts", "rod/2/bolts").nip();
    let said = "free length not read: read it now, it cannot be read once pulled";
    assert_eq!(first(&shop).as_deref(), Some(said));
    shop.ann.tightens("rod-bolts", "rod/2/bolts").stage(1, "28 N·m");
    assert!(first(&shop).unwrap().ends_with("slacken evenly, read it, begin again"));
    assert_eq!(shop.check().comes_first("main-bolts", "main/2"), None, "what is proven by torque");
}

#[test]
fn what_another_lubricant_asks_for_stays_said_when_it_is_slackened() {
    let shop = kit::open();
    let pulled = shop.ann.tightens(MAIN.0, MAIN.1).on("dry").stage(1, "30 N·m");
    shop.ann.slackens(MAIN.0, MAIN.1);
    let first = shop.check().comes_first(MAIN.0, MAIN.1);
    assert_eq!(first.as_deref(), Some("dry was on it: clean thread and face, and use engine oil"));
    stage(&shop.ann, 1, "30 N·m");
    shop.ann.voids(pulled);
    assert_eq!(shop.check().comes_first(MAIN.0, MAIN.1), None);
}

/// What was found before the bolts were pulled says nothing of how it turns now.
#[test]
fn a_check_or_a_reading_made_before_the_bolts_were_pulled_does_not_count_for_what_comes_after() {
    let shop = kit::open();
    let found = || {
        let seen = shop.check();
        [0, 1].map(|at: usize| seen.step("cylinder-turns/2").evidence[at].found.clone())
    };
    let turns = || {
        let reads = shop.ann.read("crank", "turning-torque", "cylinder-2/running", "8 N·m");
        reads.with("BW").under(&["seals-in"]).untempered();
        shop.ann.checks("turns-free", "cylinder/2");
    };
    turns();
    assert_eq!(found(), ["read", "passed"]);
    let rod = || shop.ann.tightens("rod-bolts", "rod/2/bolts");
    rod().nip();
    rod().stage(1, "28 N·m");
    shop.ann.checks("turns-free", "crank");
    rod().stage(2, "42 N·m");
    shop.ann.checks("turns-free", "crank");
    let early = |word: &str| format!("{word} before rod-bolts of rod/2/bolts were pulled");
    assert_eq!(found(), [early("read"), early("checked")]);
    turns();
    assert_eq!(found(), ["read", "passed"]);
}

#[test]
fn a_signature_on_how_it_turned_falls_when_the_bolts_are_pulled_again() {
    let shop = kit::open();
    let rod = || shop.ann.tightens("rod-bolts", "rod/2/bolts");
    let pulls = || {
        rod().nip();
        rod().stage(1, "28 N·m");
        shop.ann.checks("turns-free", "crank");
        rod().stage(2, "42 N·m");
        shop.ann.checks("turns-free", "crank");
    };
    pulls();
    shop.ann
        .read("crank", "turning-torque", "cylinder-2/running", "8 N·m")
        .with("BW")
        .under(&["seals-in"])
        .untempered();
    shop.ann.checks("turns-free", "cylinder/2");
    shop.ann.signs("cylinder-turns/2");
    shop.check().progress("cylinder-turns/2", "wants a second person");
    shop.ann.slackens("rod-bolts", "rod/2/bolts");
    pulls();
    let seen = shop.check();
    seen.progress("cylinder-turns/2", "signature no longer stands");
    let said = "signed by Ann: turning-torque read, crank: read before rod-bolts of rod/2/bolts were pulled";
    seen.says("stale-sign-off cylinder/2 cylinder-turns/2", said);
}

#[test]
fn a_free_length_read_after_two_pulled_at_once_is_told_alike_on_every_phone() {
    let shop = kit::open();
    shop.ann.tightens("rod-bolts", "rod/2/bolts").stage(1, "28 N·m");
    shop.ben.tightens("rod-bolts", "rod/2/bolts").stage(1, "28 N·m");
    shop.ben.tells(&shop.ann);
    let reads = shop.ann.read("rod/2/bolts", "free-length", "bolt-1", "48.000 mm");
    reads.with("M1").under(&["bolt-free"]).at_20();
    assert_eq!(shop.check().of_rule("conditions-missing"), ["rod/2/bolts free-length"]);
}
