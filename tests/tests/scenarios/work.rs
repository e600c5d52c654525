//! Operations: what they end, and what is asked when nobody knew of the other.

use gudgeon_tests::kit;

use crate::{gap, pin};

#[test]
fn honing_ends_the_bore_and_the_ring_gaps_in_it_and_nothing_else() {
    let shop = kit::open();
    let bore = shop.ann.read("bore/1", "diameter", "top/thrust", "80.500 mm").with("B1").at_20();
    let ring = gap(&shop.ann, "0.38 mm");
    let other = shop.ann.read("bore/2", "diameter", "top/thrust", "80.508 mm").with("B1").at_20();
    let pin = pin(&shop.ann, "47.744 mm");
    shop.ann.tells(&shop.ben);
    let hone = shop.ben.did("hone", "bore/1");
    let seen = shop.check();
    seen.finds(&[]);
    seen.became(bore, "ended", &[hone]);
    seen.became(ring, "ended", &[hone]);
    seen.stand(&[other, pin, hone]);
    seen.value("bore/1", "diameter", "top/thrust", "nothing");
    seen.verdict("bore/1", "diameter", "not judged: not read");
}

#[test]
fn new_rod_bolts_end_the_housing_and_the_tightening_of_that_rod() {
    let shop = kit::open();
    let housing =
        shop.ann.read("rod/2/big-end", "housing-diameter", "vertical", "51.608 mm").with("B1").bare().at_20();
    let wall = shop.ann.read("rod/2/big-end", "shell-wall", "upper", "1.907 mm").with("BM").untempered();
    let nip = shop.ann.tightens("rod-bolts", "rod/2/bolts").nip();
    shop.ann.tells(&shop.ben);
    let bolts = shop.ben.did("rod-bolts-changed", "rod/2/bolts");
    let seen = shop.check();
    seen.finds(&[]);
    seen.became(housing, "ended", &[bolts]);
    seen.became(nip, "ended", &[bolts]);
    seen.stand(&[wall]);
    assert_eq!(seen.tightened("rod-bolts", "rod/2/bolts"), Some((0, false)));
}

#[test]
fn grinding_a_pin_ends_its_sizes_and_the_shells_chosen_for_it() {
    let shop = kit::open();
    let size = pin(&shop.ann, "47.744 mm");
    let wall = shop.ann.read("rod/3/big-end", "shell-wall", "upper", "1.907 mm").with("BM").untempered();
    let other = shop.ann.read("rod/2/big-end", "shell-wall", "upper", "1.907 mm").with("BM").untempered();
    shop.ann.tells(&shop.ben);
    let grind = shop.ben.did("grind-journal", "pin/3");
    let seen = shop.check();
    seen.finds(&[]);
    seen.became(size, "ended", &[grind]);
    seen.became(wall, "ended", &[grind]);
    seen.stand(&[other]);
}

#[test]
fn what_is_read_after_the_work_stands() {
    let shop = kit::open();
    let before = pin(&shop.ann, "47.760 mm");
    let grind = shop.ann.did("grind-journal", "pin/3");
    let after = pin(&shop.ann, "47.744 mm");
    let seen = shop.check();
    seen.finds(&[]);
    seen.became(before, "ended", &[grind]);
    seen.stand(&[after]);
    seen.value("pin/3", "diameter", "front/0", "47.744 mm");
}

#[test]
fn of_two_operations_the_first_took_the_ground_away() {
    let shop = kit::open();
    let size = pin(&shop.ann, "47.760 mm");
    let grind = shop.ann.did("grind-journal", "pin/3");
    shop.ann.did("polish-journal", "pin/3");
    let seen = shop.check();
    seen.became(size, "ended", &[grind]);
}

#[test]
fn neither_knew_of_the_other_so_before_or_after_is_asked() {
    let shop = kit::open();
    let size = pin(&shop.ann, "47.744 mm");
    let grind = shop.ben.did("grind-journal", "pin/3");
    let seen = shop.check();
    seen.finds(&["before-or-after pin/3 diameter"]);
    seen.rests("before-or-after pin/3 diameter", &[size, grind]);
    seen.says(
        "before-or-after pin/3 diameter",
        "diameter at front/0: 47.744 mm by Ann (M1), and Ben logged grind-journal; neither knew of the other",
    );
    seen.became(size, "before or after?", &[grind]);
    seen.verdict("pin/3", "diameter", "not judged: before or after?");
}

#[test]
fn an_order_says_that_the_reading_came_after() {
    let shop = kit::open();
    let size = pin(&shop.ann, "47.744 mm");
    let grind = shop.ben.did("grind-journal", "pin/3");
    shop.everybody_meets();
    shop.carl.orders(grind, size);
    let seen = shop.check();
    seen.finds(&[]);
    seen.stand(&[size]);
    seen.verdict("pin/3", "diameter", "within");
}

#[test]
fn an_order_says_that_the_reading_came_before() {
    let shop = kit::open();
    let size = pin(&shop.ann, "47.744 mm");
    let grind = shop.ben.did("grind-journal", "pin/3");
    shop.everybody_meets();
    shop.carl.orders(size, grind);
    let seen = shop.check();
    seen.finds(&[]);
    seen.became(size, "ended", &[grind]);
}

#[test]
fn contrary_orders_are_disputed_until_somebody_who_knows_both_says_it_again() {
    let shop = kit::open();
    let size = pin(&shop.ann, "47.744 mm");
    let grind = shop.ben.did("grind-journal", "pin/3");
    shop.everybody_meets();
    let one = shop.ann.orders(grind, size);
    let other = shop.ben.orders(size, grind);
    let seen = shop.check();
    seen.finds(&["before-or-after pin/3 diameter", "disputed-choice order"]);
    seen.rests("disputed-choice order", &[one, other]);
    seen.became(size, "before or after?", &[grind]);

    shop.everybody_meets();
    shop.carl.orders(grind, size);
    let seen = shop.check();
    seen.finds(&[]);
    seen.stand(&[size]);
}

#[test]
fn a_later_order_replaces_an_earlier_one_it_knew() {
    let shop = kit::open();
    let size = pin(&shop.ann, "47.744 mm");
    let grind = shop.ben.did("grind-journal", "pin/3");
    shop.everybody_meets();
    shop.ann.orders(grind, size);
    shop.ann.tells(&shop.ben);
    shop.ben.orders(size, grind);
    let seen = shop.check();
    seen.finds(&[]);
    seen.became(size, "ended", &[grind]);
}

#[test]
fn reading_again_settles_before_or_after() {
    let shop = kit::open();
    let size = pin(&shop.ann, "47.760 mm");
    let grind = shop.ben.did("grind-journal", "pin/3");
    shop.everybody_meets();
    let again = pin(&shop.ann, "47.744 mm");
    let seen = shop.check();
    seen.finds(&[]);
    seen.became(size, "read again", &[again]);
    seen.stand(&[grind, again]);
}

#[test]
fn reading_again_by_another_person_settles_it_too_and_both_stay_visible() {
    let shop = kit::open();
    let size = pin(&shop.ann, "47.760 mm");
    let grind = shop.ben.did("grind-journal", "pin/3");
    shop.everybody_meets();
    let again = pin(&shop.carl, "47.744 mm");
    let seen = shop.check();
    seen.finds(&[]);
    seen.became(size, "before or after?", &[grind]);
    seen.stand(&[again]);
    seen.value("pin/3", "diameter", "front/0", "47.744 mm");
}

#[test]
fn an_order_turns_a_known_pair_round_because_work_is_logged_late() {
    let shop = kit::open();
    let size = pin(&shop.ann, "47.744 mm");
    shop.ann.tells(&shop.ben);
    let grind = shop.ben.did("grind-journal", "pin/3");
    shop.ben.tells(&shop.ann);
    assert_eq!(shop.check().status(size).word(), "ended");
    shop.ann.orders(grind, size);
    let seen = shop.check();
    seen.finds(&[]);
    seen.stand(&[size]);
    seen.verdict("pin/3", "diameter", "within");
}

#[test]
fn an_order_settles_its_pair_only() {
    let shop = kit::open();
    let front = pin(&shop.ann, "47.744 mm");
    let rear = shop.ann.read("pin/3", "diameter", "rear/0", "47.744 mm").with("M1").at_20();
    let grind = shop.ben.did("grind-journal", "pin/3");
    shop.everybody_meets();
    shop.carl.orders(grind, front);
    let seen = shop.check();
    seen.finds(&["before-or-after pin/3 diameter"]);
    seen.stand(&[front]);
    seen.became(rear, "before or after?", &[grind]);
}

#[test]
fn two_operations_that_did_not_know_the_reading_are_both_named_whoever_came_first() {
    let shop = kit::open();
    let ring = gap(&shop.ann, "0.38 mm");
    shop.ann.signs("ring-gap/1/top");
    let hone = shop.ben.did("hone", "bore/1");
    let filed = shop.carl.did("ring-filed", "ring/1/top");
    let seen = shop.check();
    seen.finds_besides_order(&["before-or-after ring/1/top gap", "stale-sign-off ring/1/top ring-gap/1/top"]);
    seen.became(ring, "before or after?", &[hone, filed]);
}

#[test]
fn contrary_orders_read_the_same_whichever_entry_arrived_first() {
    let shop = kit::open();
    let first = shop.ann.did("hone", "bore/1");
    let second = shop.ben.did("hone", "bore/2");
    shop.everybody_meets();
    shop.ann.orders(first, second);
    shop.ben.orders(second, first);
    shop.check().finds(&["disputed-choice order"]);
}
