//! What turning a bolt on past snug makes of preload.

use super::answer::Answer;
use super::error::WorkError;
use super::fastener::MAKERS_FIGURE;
use super::given::Given;
use super::input::{Input, Need, Range, Takes};
use super::preload::{DIAMETERS, LENGTHS, MODULUS, bolt_stiffness};
use super::thread::PITCH;
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

/// Preload that turning on by an angle adds: `(P a/360) / (1/k_b + 1/k_m)`.
///
/// Angle in degrees, pitch in mm, stiffnesses of bolt and of the parts in kN/mm, none: parts that do
/// not give; the result in kN. Source: statics of two springs; Shigley ch. 8.
#[must_use]
pub fn preload_of_angle(angle_deg: f64, pitch: f64, bolt: f64, parts: Option<f64>) -> f64 {
    let gives = 1.0 / bolt + parts.map_or(0.0, |parts| 1.0 / parts);
    pitch * angle_deg / 360.0 / gives
}

/// Preload from an angle past snug.
pub(super) static ANGLE_PRELOAD: Worksheet = Worksheet {
    name: "angle-preload",
    title: "what preload the maker's angle past snug adds, while the bolt springs back",
    section: Section::Fasteners,
    inputs: &[
        Input::required(
            "angle",
            Takes::Quantity(Unit::Degree, Range::from(0.0, 720.0)),
            "the maker's, past snug",
        ),
        Input { need: Need::Required, about: "of the thread", ..PITCH },
        LENGTHS,
        DIAMETERS,
        MODULUS,
        Input::optional(
            "parts-stiffness",
            Takes::Number(Range::up_to(100_000.0)),
            "of the parts held together, in kN/mm; without it they do not give",
        ),
        Input::by_habit(
            "snug",
            Takes::Quantity(Unit::Kilonewton, Range::from(0.0, 1000.0)),
            "0 kN",
            "preload before the angle",
        ),
    ],
    example: "angle=60deg pitch=1mm lengths=28;14mm diameters=8.0,8.4mm parts-stiffness=700 snug=8kN",
    outputs: &[
        Output::new("preload", "kN", 2, "with what it had when snug"),
        Output::new("added", "kN", 2, "by the angle"),
        Output::new("stretch", "mm", 4, "of the bolt by the angle"),
        Output::new("advance", "mm", 4, "of the thread: pitch by turn"),
    ],
    formula: "F = snug + (P a / 360) / (1/k_b + 1/k_m); 1/k_b = sum L_i / (A_i E)",
    valid: "below yield and all joints closed when snug; past yield the bolt holds less than this says",
    source: Source { text: "two springs in line; Shigley ch. 8", standing: Standing::Published },
    mistakes: &[
        "the angle counted from before the joint is closed",
        "an angle procedure worked out backwards from this",
        "the wrench's twist counted as turn of the bolt",
        "a bolt meant to go past yield judged by this",
    ],
    cautions: &[
        MAKERS_FIGURE,
        "Bolts tightened past yield are used as often as the maker allows, mostly once.",
    ],
    compute: angle_preload,
};

fn angle_preload(given: &Given) -> Result<Answer, WorkError> {
    let bolt = bolt_stiffness(given)?;
    let parts = given.maybe("parts-stiffness", Unit::ToOne);
    let (angle, pitch) = (given.value("angle", Unit::Degree)?, given.value("pitch", Unit::Millimetre)?);
    let added = preload_of_angle(angle, pitch, bolt, parts);
    let answer = Answer::new()
        .number("preload", given.value("snug", Unit::Kilonewton)? + added)?
        .number("added", added)?
        .number("stretch", added / bolt)?
        .number("advance", pitch * angle / 360.0)?
        .note("while the bolt springs back: past yield it holds less; compare with proof-share");
    Ok(answer.note_if(parts.is_none(), "the parts were taken not to give: this is the most it can be"))
}
