//! The maker's torque beside what formulas say. For comparison, never to be set.

use super::answer::Answer;
use super::error::WorkError;
use super::fastener::{MAKERS_FIGURE, torque};
use super::given::Given;
use super::input::{Input, Range, Takes};
use super::preload::{FRICTION, HEAD_DIAMETER};
use super::thread::{DIAMETER, PER_INCH, PITCH, pitch_diameter, stress_diameter, thread};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

const ONLY: &str = "For comparison with the maker's figure only, never to be set on a wrench.";
const STRESSES: Range = Range::up_to(3000.0);

/// A tightening by formula: for comparison with the maker's figure only.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ByFormula {
    /// Preload in N.
    pub preload: f64,
    /// Torque in N·m.
    pub torque: f64,
}

/// Preload at which stretch and twist together reach `share` of the yield stress in MPa, and the
/// torque that makes it; thread of diameter and pitch in mm, friction in the thread and under the
/// head, mean diameter under the head in mm. For comparison only. Source: VDI 2230-1:2015 5.4.
#[must_use]
pub fn at_share_of_yield(
    (diameter, pitch): (f64, f64),
    yield_stress: f64,
    share: f64,
    (thread, head): (f64, f64),
    mean: f64,
) -> ByFormula {
    let (d2, d0) = (pitch_diameter(diameter, pitch), stress_diameter(diameter, pitch));
    let twist = 1.5 * d2 / d0 * (pitch / (std::f64::consts::PI * d2) + 1.155 * thread);
    let area = std::f64::consts::FRAC_PI_4 * d0 * d0;
    let preload = area * share * yield_stress / libm::sqrt(1.0 + 3.0 * twist * twist);
    let lever = 0.16 * pitch + 0.58 * d2 * thread + head * mean / 2.0;
    ByFormula { preload, torque: preload * lever / 1000.0 }
}

/// Torque of a preload by a torque factor, `T = K D F`; any units that match. For comparison only.
#[must_use]
pub fn torque_by_factor(factor: f64, diameter: f64, preload: f64) -> f64 {
    factor * diameter * preload
}

const fn friction(name: &'static str, about: &'static str) -> Input {
    Input::required(name, Takes::Number(FRICTION), about)
}

/// The maker's torque beside that of a share of yield.
pub(super) static TORQUE_COMPARED: Worksheet = Worksheet {
    name: "torque-compared",
    title: "the maker's torque beside a share of yield by formula, for comparison only",
    section: Section::Fasteners,
    inputs: &[
        torque("torque", "the maker's figure, to be compared"),
        DIAMETER,
        PITCH,
        PER_INCH,
        Input::required(
            "yield",
            Takes::Quantity(Unit::Megapascal, STRESSES),
            "0.2 % yield stress; 640 of 8.8, 940 of 10.9, 1100 of 12.9 MPa",
        ),
        Input::by_habit("share", Takes::Number(Range::from(0.1, 1.0)), "0.9", "of the yield stress"),
        friction("thread-friction", "by thread and lubricant; 0.08 to 0.16 oiled"),
        friction("head-friction", "under the head"),
        HEAD_DIAMETER,
    ],
    example: "torque=42N.m diameter=9mm pitch=1mm yield=940MPa thread-friction=0.11 head-friction=0.11 head-diameter=11.5mm",
    outputs: &[
        Output::new("maker-by-formula", "%", 0, "the maker's figure by the formula's"),
        Output::new("compared-torque", "N·m", 1, "by formula: for comparison with the maker's figure only"),
        Output::new("compared-preload", "kN", 2, "by formula, at that share of yield"),
        Output::new("says", "", 0, "in words"),
    ],
    formula: "F = A0 share Rp / sqrt{1 + 3 [1.5 d2/d0 (P/(pi d2) + 1.155 mu_G)]^2}; M = F (0.16 P + 0.58 d2 mu_G + mu_K D/2); d0 = (d2 + d3)/2",
    valid: "full shanks with 60 degree threads; a necked shank yields earlier; friction is known to some 20 % at best",
    source: Source { text: "VDI 2230-1:2015 5.4", standing: Standing::Published },
    mistakes: &[
        "the formula's torque set in place of the maker's",
        "friction of dry threads for oiled ones",
        "a difference taken for a mistake of the maker: the joint and not the bolt may set the limit",
    ],
    cautions: &[MAKERS_FIGURE, ONLY],
    compute: torque_compared,
};

fn torque_compared(given: &Given) -> Result<Answer, WorkError> {
    let maker = given.value("torque", Unit::NewtonMetre)?;
    let thread = thread(given)?;
    let found = at_share_of_yield(
        (thread.diameter, thread.pitch),
        given.value("yield", Unit::Megapascal)?,
        given.number("share")?,
        (given.number("thread-friction")?, given.number("head-friction")?),
        given.value("head-diameter", Unit::Millimetre)?,
    );
    let by = maker / found.torque;
    let says = match by {
        by if by > 1.1 => {
            "the maker goes further than this: past yield on purpose, another bolt, or a slip: ask"
        }
        by if by < 0.5 => "the maker stays far below this: a weaker joint, another bolt, or a slip: ask",
        _ => "of the order to be expected; the maker's figure is set",
    };
    Ok(Answer::new()
        .number("maker-by-formula", 100.0 * by)?
        .number("compared-torque", found.torque)?
        .number("compared-preload", found.preload / 1000.0)?
        .word("says", says)
        .note(ONLY))
}

/// Preload of the maker's torque by a torque factor.
pub(super) static TORQUE_FACTOR: Worksheet = Worksheet {
    name: "torque-factor",
    title: "preload of the maker's torque by a torque factor, for comparison only",
    section: Section::Fasteners,
    inputs: &[
        Input::required(
            "torque",
            Takes::Quantity(Unit::NewtonMetre, Range::up_to(5000.0)),
            "the maker's figure",
        ),
        DIAMETER,
        Input::by_habit(
            "factor",
            Takes::Number(Range::from(0.05, 0.6)),
            "0.2",
            "torque factor K; 0.2 dry, 0.15 oiled, of this lubricant where it is known",
        ),
        Input::optional(
            "area",
            Takes::Quantity(Unit::SquareMillimetre, Range::up_to(10_000.0)),
            "stress area, for the share of the proof stress",
        ),
        Input::optional("proof", Takes::Quantity(Unit::Megapascal, STRESSES), "proof stress"),
    ],
    example: "torque=42N.m diameter=9mm factor=0.15 area=51.05mm2 proof=830MPa",
    outputs: &[
        Output::new("preload", "kN", 2, "with this factor"),
        Output::new("of-proof", "%", 0, "stress by proof stress"),
    ],
    formula: "F = T / (K D); of-proof = F / (A S_p)",
    valid: "one factor holds for one thread, one lubricant and one washer; by torque alone preload scatters by 25 to 30 % (from memory)",
    source: Source { text: "Wentzell, Machine Design, ch. 6; Shigley ch. 8", standing: Standing::Published },
    mistakes: &["factor of one lubricant used with another", "a torque worked out backwards from this"],
    cautions: &[MAKERS_FIGURE, ONLY],
    compute: torque_factor,
};

fn torque_factor(given: &Given) -> Result<Answer, WorkError> {
    let torque = given.value("torque", Unit::NewtonMetre)?;
    let preload =
        torque / torque_by_factor(given.number("factor")?, given.value("diameter", Unit::Metre)?, 1.0);
    let answer = Answer::new().number("preload", preload / 1000.0)?;
    let area = given.maybe("area", Unit::SquareMillimetre);
    match area.zip(given.maybe("proof", Unit::Megapascal)) {
        Some((area, proof)) => answer.number("of-proof", 100.0 * preload / (area * proof)),
        None => Ok(answer.note("area and proof not both given: no share of the proof stress")),
    }
}
