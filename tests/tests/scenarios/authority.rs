//! Who counts: removals, admits, unknown keys, viewers; copied phones and clocks.

use gudgeon_core::entry::payload::Role;
use gudgeon_tests::kit;

use crate::pin;

#[test]
fn of_a_removed_key_only_what_the_removal_accepts_and_what_that_reaches_counts() {
    let shop = kit::open();
    let first = pin(&shop.ben, "47.740 mm");
    let second = pin(&shop.ben, "47.744 mm");
    shop.lena.removes(&shop.ben, &[second]);
    let late = pin(&shop.ben, "47.760 mm");
    let seen = shop.check();
    seen.finds(&["not-counted"]);
    seen.rests("not-counted", &[late]);
    seen.became(first, "read again", &[second]);
    seen.stand(&[second]);
    seen.became(late, "not counted", &[]);
    seen.value("pin/3", "diameter", "front/0", "47.744 mm");
}

#[test]
fn a_removal_cuts_what_was_made_before_it_but_is_not_named() {
    let shop = kit::open();
    let hidden = pin(&shop.ben, "47.744 mm");
    shop.lena.removes(&shop.ben, &[]);
    let seen = shop.check();
    seen.finds(&["not-counted"]);
    seen.became(hidden, "not counted", &[]);
}

#[test]
fn an_admit_brings_back_an_entry_and_those_before_it() {
    let shop = kit::open();
    let first = shop.ben.did("grind-journal", "pin/3");
    let second = pin(&shop.ben, "47.744 mm");
    let third = pin(&shop.ben, "47.760 mm");
    shop.lena.removes(&shop.ben, &[]);
    shop.lena.admits(&[second]);
    let seen = shop.check();
    seen.finds(&["not-counted"]);
    seen.stand(&[first, second]);
    seen.became(third, "not counted", &[]);
}

#[test]
fn when_a_removal_becomes_known_does_not_matter() {
    let shop = kit::open();
    let ground = pin(&shop.ann, "47.742 mm");
    shop.ann.tells(&shop.ben);
    let kept = pin(&shop.ben, "47.744 mm");
    let cut = shop.ben.voids(kept);
    shop.lena.removes(&shop.ben, &[kept]);
    let seen = shop.check();
    seen.finds(&["not-counted"]);
    seen.stand(&[ground, kept]);
    seen.became(cut, "not counted", &[]);
}

#[test]
fn an_unknown_key_has_no_effect_until_it_is_enrolled() {
    let shop = kit::open();
    let dora = shop.stranger();
    let read = pin(&dora, "47.760 mm");
    let seen = shop.check();
    seen.finds(&["not-counted"]);
    seen.became(read, "not counted", &[]);
    seen.verdict_is_missing("pin/3", "diameter");
    shop.lena.enrols(&dora, "Dora", &[Role::Member]);
    let seen = shop.check();
    seen.finds(&["outside pin/3 diameter"]);
    seen.stand(&[read]);
}

#[test]
fn a_viewer_enters_nothing() {
    let shop = kit::open();
    let read = pin(&shop.vera, "47.744 mm");
    let seen = shop.check();
    seen.finds(&["not-counted"]);
    seen.became(read, "not counted", &[]);
}

#[test]
fn a_lead_who_is_no_member_decides_but_does_not_measure() {
    let shop = kit::open();
    let read = pin(&shop.lena, "47.744 mm");
    let seen = shop.check();
    seen.finds(&["not-counted"]);
    seen.rests("not-counted", &[read]);
}

#[test]
fn a_member_does_not_set_limits() {
    let shop = kit::open();
    pin(&shop.ann, "47.760 mm");
    let limit = shop.ann.sets_limit("diameter", "pin/3", "47.0 mm", "48.0 mm");
    let seen = shop.check();
    seen.finds(&["not-counted", "outside pin/3 diameter"]);
    seen.rests("not-counted", &[limit]);
}

#[test]
fn a_copied_phone_is_a_finding_where_its_ways_part() {
    let shop = kit::open();
    shop.ann.notes("before");
    let copy = shop.ann.copied();
    let here = pin(&shop.ann, "47.742 mm");
    let there = pin(&copy, "47.744 mm");
    let seen = shop.check();
    seen.finds(&["forked-key"]);
    seen.rests("forked-key", &[here, there]);
    seen.value("pin/3", "diameter", "front/0", "47.743 mm");
}

#[test]
fn a_clock_that_runs_backwards_is_a_finding_and_decides_nothing() {
    let shop = kit::open();
    let first = pin(&shop.ann, "47.742 mm");
    shop.wait(-kit::DAY);
    let second = pin(&shop.ann, "47.746 mm");
    let seen = shop.check();
    seen.finds(&["clock-backwards"]);
    seen.rests("clock-backwards", &[second]);
    seen.became(first, "read again", &[second]);
}

#[test]
fn an_accepted_entry_that_still_misses_its_ground_vouches_for_what_it_reaches() {
    let shop = kit::open();
    let lost = shop.carl.notes("never arrives");
    let early = pin(&shop.ben, "47.744 mm");
    shop.carl.tells(&shop.ben);
    let late = shop.ben.notes("knows both");
    shop.lena.removes(&shop.ben, &[late]);
    let seen = shop.check_without(&[lost]);
    seen.finds(&["missing-ground"]);
    seen.rests("missing-ground", &[late]);
    seen.stand(&[early]);
}

/// A removal that names another key's entry keeps nothing by it; whether it is here changes only
/// what is said of the entries that are cut, in whatever order they come.
#[test]
fn an_entry_of_another_key_in_a_removal_vouches_for_nothing_whenever_it_comes() {
    let shop = kit::open();
    let cut = pin(&shop.ben, "47.744 mm");
    shop.ben.tells(&shop.carl);
    let anothers = shop.carl.notes("saw it");
    shop.lena.removes(&shop.ben, &[anothers]);
    let seen = shop.check();
    seen.finds(&["not-counted"]);
    seen.became(cut, "not counted", &[]);
}

/// The last entry that a removal leaves standing may still be on its way: the others wait for it,
/// and whoever looks is told to fetch it.
#[test]
fn what_a_removal_leaves_standing_waits_for_its_last_entry_and_says_so() {
    let shop = kit::open();
    let first = pin(&shop.ben, "47.740 mm");
    let last = shop.ben.notes("the last before the phone went");
    shop.lena.removes(&shop.ben, &[last]);
    let seen = shop.check_without(&[last]);
    seen.finds(&["not-counted"]);
    seen.rests("not-counted", &[first]);
    let finding = seen.finding("not-counted");
    assert!(finding.text.contains("of Ben") && finding.text.contains("not here yet"), "{}", finding.text);
    assert!(finding.hint().contains("carry in"), "{}", finding.hint());
}
