//! Primary forces of two cylinders on one crankpin.

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Range, Takes};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

/// Least and most of the primary force of two equal masses on one pin, in parts of `m r w^2`.
///
/// `angle_deg` lies between the cylinders; `balanced` is the share of both masses that a counterweight
/// balances at the pin's radius. The two vectors add to one of 1 that turns with the crank, less the
/// counterweight, and one of cos V that turns against it. Source: vector sum.
///
/// ```
/// let (least, most) = gudgeon_core::work::vee_primary(90.0, 0.5);
/// assert!(least.abs() < 1e-12 && most.abs() < 1e-12);
/// ```
#[must_use]
pub fn vee_primary(angle_deg: f64, balanced: f64) -> (f64, f64) {
    let (forward, backward) = ((1.0 - 2.0 * balanced).abs(), libm::cos(angle_deg.to_radians()).abs());
    ((forward - backward).abs(), forward + backward)
}

/// Primary forces of a vee pair, and the counterweight that leaves least of them.
pub(super) static VEE_PRIMARY: Worksheet = Worksheet {
    name: "vee-primary",
    title: "primary force of two cylinders on one pin, and what a counterweight can do",
    section: Section::Balance,
    inputs: &[
        Input::required(
            "angle",
            Takes::Quantity(Unit::Degree, Range::from(0.0, 180.0)),
            "between the two cylinders",
        ),
        Input::required(
            "reciprocating",
            Takes::Quantity(Unit::Gram, Range::up_to(20_000.0)),
            "of one cylinder: piston, pin, rings, small end",
        ),
        Input::required("stroke", Takes::Quantity(Unit::Millimetre, Range::up_to(500.0)), "of the crank"),
        Input::required("speed", Takes::Quantity(Unit::Rpm, Range::up_to(30_000.0)), "of the crank"),
        Input::by_habit(
            "factor",
            Takes::Quantity(Unit::Percent, Range::from(0.0, 100.0)),
            "50 %",
            "share of both reciprocating masses that the counterweights balance",
        ),
    ],
    example: "angle=60deg reciprocating=520g stroke=80mm speed=6000rpm",
    outputs: &[
        Output::new("least", "N", 0, "primary force over a turn"),
        Output::new("most", "N", 0, "primary force over a turn"),
        Output::new("against", "N", 0, "what turns against the crank: no counterweight takes it out"),
    ],
    formula: "F = m r w^2 | |1 - 2 f| -+ |cos V| |, least and most; m mass of one cylinder, f share balanced, V angle between the cylinders",
    valid: "equal masses, both rods on one pin; offset pins want their own sum",
    source: Source {
        text: "vector sum; Den Hartog, Mechanical Vibrations, ch. 5 (from memory)",
        standing: Standing::Computed,
    },
    mistakes: &[
        "fifty per cent taken for a rule: it leaves nothing at 90 degrees only",
        "the masses of one cylinder counted for both",
    ],
    cautions: &["Weights come off a crank only as its maker or the balancer says."],
    compute: vee,
};

fn vee(given: &Given) -> Result<Answer, WorkError> {
    let omega = given.value("speed", Unit::Rpm)? * std::f64::consts::PI / 30.0;
    let throw = given.value("stroke", Unit::Millimetre)? / 2000.0;
    let unit = given.value("reciprocating", Unit::Kilogram)? * throw * omega * omega;
    let angle = given.value("angle", Unit::Degree)?;
    let (least, most) = vee_primary(angle, given.value("factor", Unit::Percent)? / 100.0);
    Answer::new()
        .number("least", unit * least)?
        .number("most", unit * most)?
        .number("against", unit * libm::cos(angle.to_radians()).abs())
}
