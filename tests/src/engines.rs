//! Invented engines beside the example, each for what it has that the example has not.
//!
//! No maker ever built them; a test checks that their figures hang together.

use gudgeon_core::engine::EXAMPLE;

/// A vee-eight in inches: two rods on each crankpin, two decks, four bolts in a main cap.
pub const VEE_EIGHT: &str = include_str!("../engines/vee-eight.toml");

/// A three-cylinder: no cam in the block, oil rings of one piece, rod bolts by torque.
pub const THREE: &str = include_str!("../engines/three.toml");

/// A four with wet liners: studs in block and deck, rod bolts by angle.
pub const WET_LINER_FOUR: &str = include_str!("../engines/wet-liner-four.toml");

/// Every engine that a procedure is tried on: a short name, and its definition.
pub const ALL: [(&str, &str); 4] =
    [("example", EXAMPLE), ("vee-eight", VEE_EIGHT), ("three", THREE), ("wet-liner-four", WET_LINER_FOUR)];
