//! Parts: where each one is, and values that follow it.

use gudgeon_core::engine::EXAMPLE;
use gudgeon_tests::kit;

const SKIRT: &str = "piston/A/skirt";

#[test]
fn a_value_is_read_on_the_part_that_is_allotted() {
    let shop = kit::open();
    shop.ann.read("bore/1", "diameter", "top/thrust", "80.508 mm").with("B1").at_20();
    shop.ann.read(SKIRT, "diameter", "", "80.457 mm").with("M100").at_20();
    shop.ann.read("piston/B/skirt", "diameter", "", "80.400 mm").with("M100").at_20();
    let before = shop.check();
    before.verdict("bore/1", "piston-clearance", "not judged: not read");
    shop.ann.allots("piston/A", "bore/1");
    let seen = shop.check();
    seen.verdict("bore/1", "piston-clearance", "within");
    shop.ann.takes_out("piston/A", "bore/1");
    shop.ann.fits("piston/B", "bore/1");
    let seen = shop.check();
    seen.verdict("bore/1", "piston-clearance", "outside");
}

#[test]
fn a_part_that_moves_is_in_its_new_place_only() {
    let shop = kit::open();
    let first = shop.ann.fits("piston/A", "bore/1");
    let second = shop.ann.fits("piston/A", "bore/2");
    let seen = shop.check();
    seen.finds(&[]);
    let at =
        |place: &str| seen.assessment().parts_in(place).map(|(part, _)| part.to_owned()).collect::<Vec<_>>();
    assert_eq!(at("bore/1"), Vec::<String>::new());
    assert_eq!(at("bore/2"), ["piston/A"]);
    seen.became(first, "replaced", &[second]);
}

#[test]
fn one_part_fitted_at_two_places_by_two_people_is_a_finding_until_looked_at() {
    let shop = kit::open();
    let one = shop.ann.fits("piston/A", "bore/1");
    let other = shop.ben.fits("piston/A", "bore/2");
    let conflict = "part-conflict bore/1 piston/A";
    let seen = shop.check();
    seen.finds(&[conflict]);
    seen.rests(conflict, &[one, other]);
    seen.says(conflict, "piston/A is entered at bore/1 and at bore/2");
    shop.everybody_meets();
    shop.carl.fits("piston/A", "bore/2");
    let seen = shop.check();
    seen.finds(&[]);
    assert_eq!(seen.assessment().parts_in("bore/1").count(), 0);
}

#[test]
fn two_pistons_in_one_bore_are_a_finding() {
    let shop = kit::open();
    let one = shop.ann.fits("piston/A", "bore/1");
    let other = shop.ann.fits("piston/B", "bore/1");
    let seen = shop.check();
    seen.finds(&["part-conflict bore/1 piston"]);
    seen.rests("part-conflict bore/1 piston", &[one, other]);
}

#[test]
fn of_two_pistons_chosen_for_one_bore_the_other_is_to_be_allotted_elsewhere() {
    let shop = kit::open();
    shop.ann.allots("piston/A", "bore/1");
    shop.ann.allots("piston/B", "bore/1");
    let line = "part-conflict bore/1 piston";
    let seen = shop.check_lightly();
    let hint = seen.finding(line).hint();
    assert!(hint.contains("allot the one that is not for bore/1 elsewhere"), "{hint}");
    shop.ann.allots("piston/B", "bore/2");
    shop.check_lightly().finds(&[]);
}

#[test]
fn a_part_taken_out_is_nowhere() {
    let shop = kit::open();
    shop.ann.fits("piston/A", "bore/1");
    shop.ann.takes_out("piston/A", "bore/1");
    let seen = shop.check();
    seen.finds(&[]);
    assert_eq!(seen.assessment().parts_in("bore/1").count(), 0);
}

#[test]
fn a_withdrawn_fitting_puts_the_part_back() {
    let shop = kit::open();
    shop.ann.fits("piston/A", "bore/1");
    let moved = shop.ann.fits("piston/A", "bore/2");
    shop.ann.voids(moved);
    let seen = shop.check();
    seen.finds(&[]);
    assert_eq!(seen.assessment().parts_in("bore/1").count(), 1);
}

#[test]
fn allotted_and_then_fitted_in_one_place_both_stand() {
    let shop = kit::open();
    let allotted = shop.ann.allots("piston/A", "bore/1");
    let fitted = shop.ann.fits("piston/A", "bore/1");
    let seen = shop.check();
    seen.finds(&[]);
    seen.stand(&[allotted, fitted]);
    let by: Vec<_> =
        seen.assessment().parts_in("bore/1").map(|(_, by)| seen.record().log().at(by).id).collect();
    assert_eq!(by, [fitted]);
}

/// The sort of part is named in the plural, what is measured of one in the singular.
#[test]
fn what_is_measured_of_a_thrust_washer_is_found_where_the_washers_are() {
    let step = "\n[[step]]\nid = \"washers\"\nstage = 6\ntitle = \"Washers\"\nper = [\"main\"]\n\
                evidence = [{ judged = \"thickness\", on = \"thrust-washer\" }]\n";
    let shop = kit::open_on(&format!("{EXAMPLE}{step}"));
    shop.ann.allots("thrust-washers/T1", "main/3");
    let read = shop.ann.read("thrust-washer/T1", "thickness", "", "2.320 mm").with("BM").at_20();
    let seen = shop.check();
    seen.stand(&[read]);
    seen.progress("washers/3", "ready to sign");
    assert!(!seen.has_step("washers/2"), "no washers sit there");
}

/// That one piston slid in says nothing of the next; nor does a rod pulled up with the other in.
#[test]
fn what_was_checked_and_pulled_with_a_part_in_is_done_anew_when_it_came_out() {
    let shop = kit::open();
    let rod = || shop.ann.tightens("rod-bolts", "rod/2/bolts");
    shop.ann.receives("piston/A");
    shop.ann.checks("compressor-right", "cylinder/2");
    shop.ann.fits("piston/A", "bore/2");
    let slides = || {
        shop.ann.checks("slid-in", "cylinder/2");
        rod().nip();
        for (number, set) in [(1, "28 N·m"), (2, "42 N·m")] {
            rod().stage(number, set);
            shop.ann.checks("turns-free", "crank");
        }
    };
    slides();
    let found = |seen: &kit::Seen| {
        let of = |step: &str, at: usize| seen.step(step).evidence[at].found.clone();
        [of("piston-in/2", 0), of("piston-in/2", 1), of("rod-tightened/2", 0)]
    };
    let pulled = "all 2 stages, turned after each";
    assert_eq!(found(&shop.check()), ["passed", "passed", pulled]);
    // Moved to another bore, it came out of this one.
    shop.ann.fits("piston/A", "bore/3");
    let out = |word: &str| format!("{word} before piston/A came out of bore/2");
    assert_eq!(found(&shop.check()), ["passed".to_owned(), out("checked"), out("pulled")]);
    shop.ann.receives("piston/B");
    shop.ann.fits("piston/B", "bore/2");
    shop.ann.slackens("rod-bolts", "rod/2/bolts");
    slides();
    assert_eq!(found(&shop.check()), ["passed", "passed", pulled]);
}

#[test]
fn a_part_fitted_where_another_was_chosen_is_found() {
    let shop = kit::open();
    shop.ann.receives("piston/A");
    shop.ann.receives("piston/B");
    let chosen = shop.ann.allots("piston/A", "bore/1");
    let fitted = shop.ann.fits("piston/B", "bore/1");
    let seen = shop.check();
    let line = "part-conflict bore/1 piston";
    seen.rests(line, &[chosen, fitted]);
    seen.says(line, "piston/B is fitted at bore/1, for which piston/A was chosen");
    shop.ann.takes_out("piston/A", "bore/1");
    assert!(shop.check().of_rule("part-conflict").is_empty());
}

#[test]
fn a_part_sent_out_by_somebody_who_knew_that_it_was_out_is_found() {
    const LINE: &str = "out-twice crank/K1";
    let shop = kit::open();
    shop.ann.receives("crank/K1");
    let first = shop.ann.moves("crank/K1", true, "");
    assert!(shop.check().of_rule("out-twice").is_empty());
    shop.ann.tells(&shop.max);
    let again = shop.max.moves("crank/K1", true, "");
    let seen = shop.check();
    seen.rests(LINE, &[first, again]);
    seen.says(LINE, "crank/K1 went out to a grinder, and by the record it was out with a grinder");
    let conceded = shop.max.concedes("out-twice", "", "crank/K1", &[first, again]);
    assert_eq!(shop.check().conceded(LINE), Some(conceded));
    shop.max.moves("crank/K1", false, "ground");
    assert!(shop.check().of_rule("out-twice").is_empty(), "it is back, and measured again");
    shop.max.moves("crank/K1", true, "");
    assert!(shop.check().of_rule("out-twice").is_empty(), "it had come back in between");
}

/// Neither knew of the other; and a slip is withdrawn.
#[test]
fn two_who_sent_a_part_out_apart_are_not_blamed_and_a_slip_is_withdrawn() {
    let shop = kit::open();
    shop.ann.receives("crank/K1");
    shop.ann.tells(&shop.ben);
    shop.ann.moves("crank/K1", true, "");
    shop.ben.moves("crank/K1", true, "");
    assert!(shop.check().of_rule("out-twice").is_empty());
    shop.everybody_meets();
    let slip = shop.ben.moves("crank/K1", true, "");
    assert_eq!(shop.check().of_rule("out-twice"), ["crank/K1"]);
    shop.ben.voids(slip);
    assert!(shop.check().of_rule("out-twice").is_empty());
}
