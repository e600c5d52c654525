//! Stories of a shop: who entered what, knowing what; and what everybody then sees.
//!
//! Every story is delivered in every order (see `gudgeon_tests::kit`), so each is a test of
//! order, too. Sizes, marks and people are invented; the limits are those of the example
//! engine. What is expected follows from the plan's rules, worked out by hand.
#![allow(clippy::unwrap_used)]

mod ahead;
mod authority;
mod calibrations;
mod choices;
mod cylinders;
mod fasteners;
mod gauges;
mod hostile;
mod parts;
mod readings;
mod record;
mod sign_offs;
mod stops;
mod work;

use gudgeon_core::entry::EntryId;
use gudgeon_tests::kit::Hand;

/// A crankpin at one station; limits 47.735 to 47.750 mm, guard 1.9 µm.
fn pin(hand: &Hand, value: &str) -> EntryId {
    hand.read("pin/3", "diameter", "front/0", value).with("M1").at_20()
}

/// A ring gap; limits 0.30 to 0.45 mm, u 6.5 µm, guard 5.3 µm.
fn gap(hand: &Hand, value: &str) -> EntryId {
    hand.read("ring/1/top", "gap", "", value).with("F1").under(&["ring-squared"]).untempered()
}
