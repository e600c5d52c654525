//! Standing values: what the readings of one station come to.

use gudgeon_core::entry::payload::Role;
use gudgeon_tests::kit::{self, Hand};

/// A crankpin at one station with a 4 µm micrometer: u is 2.33 µm, so two such readings
/// agree up to 6.6 µm apart.
fn pin(hand: &Hand, value: &str, gauge: &str) -> gudgeon_core::entry::EntryId {
    hand.read("pin/3", "diameter", "front/0", value).with(gauge).at_20()
}

const PIN: (&str, &str, &str) = ("pin/3", "diameter", "front/0");

fn stands_at(seen: &kit::Seen, value: &str) {
    seen.value(PIN.0, PIN.1, PIN.2, value);
}

#[test]
fn one_person_alone_stands() {
    let shop = kit::open();
    let only = pin(&shop.ann, "47.744 mm", "M1");
    let seen = shop.check();
    seen.finds(&[]);
    seen.stand(&[only]);
    stands_at(&seen, "47.744 mm");
    seen.verdict("pin/3", "diameter", "within");
}

#[test]
fn two_who_agree_stand_at_their_mean() {
    let shop = kit::open();
    let first = pin(&shop.ann, "47.742 mm", "M1");
    let second = pin(&shop.ben, "47.746 mm", "M2");
    let seen = shop.check();
    seen.finds(&[]);
    seen.stand(&[first, second]);
    stands_at(&seen, "47.744 mm");
}

#[test]
fn two_who_differ_are_disputed() {
    let shop = kit::open();
    let first = pin(&shop.ann, "47.738 mm", "M1");
    let second = pin(&shop.ben, "47.746 mm", "M2");
    let seen = shop.check();
    seen.finds(&["disputed pin/3 diameter"]);
    seen.rests("disputed pin/3 diameter", &[first, second]);
    seen.became(first, "disputed", &[]);
    seen.became(second, "disputed", &[]);
    stands_at(&seen, "disputed");
    seen.verdict("pin/3", "diameter", "not judged: disputed");
}

#[test]
fn a_third_reading_settles_a_dispute_and_the_outvoted_stays_visible() {
    let shop = kit::open();
    let first = pin(&shop.ann, "47.738 mm", "M1");
    let second = pin(&shop.ben, "47.746 mm", "M2");
    shop.everybody_meets();
    let third = pin(&shop.carl, "47.745 mm", "M3");
    let seen = shop.check();
    seen.finds(&[]);
    seen.became(first, "outvoted", &[]);
    seen.stand(&[second, third]);
    // The mean of 47.746 and 47.745, half to even in picometres, shown to a micrometre.
    stands_at(&seen, "47.746 mm");
}

#[test]
fn a_chain_in_which_the_ends_do_not_agree_is_a_tie_and_stays_disputed() {
    let shop = kit::open();
    let low = pin(&shop.ann, "47.738 mm", "M1");
    let middle = pin(&shop.ben, "47.743 mm", "M2");
    let high = pin(&shop.carl, "47.748 mm", "M3");
    let seen = shop.check();
    seen.finds(&["disputed pin/3 diameter"]);
    seen.rests("disputed pin/3 diameter", &[low, middle, high]);
    stands_at(&seen, "disputed");
}

#[test]
fn two_against_two_is_a_tie() {
    let shop = kit::open();
    pin(&shop.ann, "47.736 mm", "M1");
    pin(&shop.ben, "47.737 mm", "M2");
    pin(&shop.carl, "47.747 mm", "M3");
    pin(&shop.max, "47.748 mm", "M1");
    let seen = shop.check();
    seen.finds(&["disputed pin/3 diameter"]);
    stands_at(&seen, "disputed");
}

#[test]
fn a_reading_without_uncertainty_is_in_no_group() {
    let shop = kit::open();
    let first = pin(&shop.ann, "47.742 mm", "M1");
    let second = pin(&shop.ben, "47.744 mm", "M2");
    let borrowed = pin(&shop.carl, "47.743 mm", "BORROWED");
    let seen = shop.check();
    seen.finds(&[]);
    seen.stand(&[first, second]);
    seen.became(borrowed, "outvoted", &[]);
    stands_at(&seen, "47.743 mm");
}

#[test]
fn alone_without_uncertainty_it_stands_but_is_not_judged() {
    let shop = kit::open();
    let only = pin(&shop.ann, "47.743 mm", "BORROWED");
    let seen = shop.check();
    seen.finds(&["gauge-unknown pin/3 diameter", "not-judged pin/3 diameter"]);
    seen.says("gauge-unknown pin/3 diameter", "gauge BORROWED is not listed");
    seen.stand(&[only]);
    stands_at(&seen, "47.743 mm");
    seen.verdict("pin/3", "diameter", "not judged: uncertainty not known");
}

#[test]
fn reading_again_replaces_what_the_same_person_read() {
    let shop = kit::open();
    let before = pin(&shop.ann, "47.738 mm", "M1");
    let again = pin(&shop.ann, "47.746 mm", "M1");
    let seen = shop.check();
    seen.finds(&[]);
    seen.became(before, "read again", &[again]);
    seen.stand(&[again]);
    stands_at(&seen, "47.746 mm");
}

#[test]
fn ones_own_concurrent_readings_that_agree_come_to_their_mean() {
    let shop = kit::open();
    let tablet = shop.ann.second_phone(&shop.lena, &[Role::Member]);
    let first = pin(&shop.ann, "47.742 mm", "M1");
    let second = pin(&tablet, "47.744 mm", "M1");
    let seen = shop.check();
    seen.finds(&[]);
    seen.stand(&[first, second]);
    stands_at(&seen, "47.743 mm");
}

#[test]
fn ones_own_concurrent_readings_that_differ_are_disputed_until_read_again() {
    let shop = kit::open();
    let tablet = shop.ann.second_phone(&shop.lena, &[Role::Member]);
    let first = pin(&shop.ann, "47.738 mm", "M1");
    let second = pin(&tablet, "47.747 mm", "M1");
    let seen = shop.check();
    seen.finds(&["disputed pin/3 diameter"]);
    seen.rests("disputed pin/3 diameter", &[first, second]);

    tablet.tells(&shop.ann);
    let again = pin(&shop.ann, "47.746 mm", "M1");
    let seen = shop.check();
    seen.finds(&[]);
    seen.became(first, "read again", &[again]);
    seen.became(second, "read again", &[again]);
    stands_at(&seen, "47.746 mm");
}

#[test]
fn one_person_does_not_outvote_another_by_reading_on_two_phones() {
    let shop = kit::open();
    let tablet = shop.ann.second_phone(&shop.lena, &[Role::Member]);
    pin(&shop.ann, "47.738 mm", "M1");
    pin(&tablet, "47.739 mm", "M1");
    pin(&shop.ben, "47.748 mm", "M2");
    let seen = shop.check();
    seen.finds(&["disputed pin/3 diameter"]);
    stands_at(&seen, "disputed");
}

#[test]
fn more_than_twelve_at_once_are_disputed_without_search() {
    let shop = kit::open();
    let mut readings = vec![pin(&shop.ann, "47.744 mm", "M1")];
    for number in 0..12 {
        let newcomer = shop.stranger();
        shop.lena.enrols(&newcomer, &format!("Temp {number}"), &[Role::Member]);
        if number == 11 {
            let seen = shop.check();
            seen.finds(&[]);
            stands_at(&seen, "47.744 mm");
        }
        readings.push(pin(&newcomer, "47.744 mm", "M2"));
    }
    let seen = shop.check();
    seen.finds(&["disputed pin/3 diameter"]);
    seen.rests("disputed pin/3 diameter", &readings);
}

#[test]
fn a_called_out_reading_is_that_of_the_one_who_read() {
    let shop = kit::open();
    let called = shop.ben.read(PIN.0, PIN.1, PIN.2, "47.738 mm").with("M1").called_by(&shop.ann).at_20();
    shop.ben.tells(&shop.ann);
    let again = pin(&shop.ann, "47.746 mm", "M1");
    let seen = shop.check();
    seen.finds(&[]);
    seen.became(called, "read again", &[again]);
}

#[test]
fn nobody_becomes_two_persons_by_naming_a_reader_who_does_not_exist() {
    let shop = kit::open();
    let ghost = gudgeon_core::entry::EntryId::new([7; 32]);
    let first = shop.ann.read(PIN.0, PIN.1, PIN.2, "47.738 mm").with("M1").called_by_id(ghost).at_20();
    let second = pin(&shop.ann, "47.739 mm", "M1");
    let other = pin(&shop.ben, "47.748 mm", "M2");
    let seen = shop.check();
    seen.finds(&["disputed pin/3 diameter"]);
    seen.became(first, "read again", &[second]);
    seen.rests("disputed pin/3 diameter", &[second, other]);
}

#[test]
fn stations_are_apart_and_the_value_runs_over_all_of_them() {
    let shop = kit::open();
    for (station, value) in [("front/0", "47.742 mm"), ("front/60", "47.744 mm"), ("rear/0", "47.740 mm")] {
        shop.ann.read("pin/3", "diameter", station, value).with("M1").at_20();
    }
    let seen = shop.check();
    seen.finds(&[]);
    let judged = seen.assessment().value("pin/3", "diameter").unwrap();
    assert_eq!((judged.low, judged.high), (Some(47_740_000_000), Some(47_744_000_000)));
    assert_eq!(judged.stations, (3, 6));
    let taper = seen.assessment().value("pin/3", "taper").unwrap();
    assert_eq!(taper.low, Some(2_000_000));
}
