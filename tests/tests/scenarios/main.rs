//! Stories of a shop: who entered what, knowing what; and what everybody then sees.
//!
//! Every story is delivered in every order (see `gudgeon_tests::kit`), so each is a test of
//! order, too. Sizes, marks and people are invented; the limits are those of the example
//! engine. What is expected follows from the plan's rules, worked out by hand.
#![allow(clippy::unwrap_used)]

mod readings;
