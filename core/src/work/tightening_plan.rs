//! Stages up to the maker's final torque. The last is that figure, never another.

use super::answer::Answer;
use super::error::WorkError;
use super::fastener::{MAKERS_FIGURE, PULL, TORQUES, torque};
use super::given::Given;
use super::input::{Input, Range, Takes};
use super::values::converted;
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

/// How near to a whole number of steps the final figure must lie: what a unit's own rounding leaves.
const WHOLE: f64 = 1e-6;

/// Part of a wrench's range that is not used where its smallest torque is not given.
const UNUSED: f64 = 0.2;

/// Torques of the stages, the last exactly `last`; the others the nearest whole number of `step`.
///
/// `shares` of `last` for the stages before it, above 0 and below 1; torques in one unit.
///
/// # Errors
/// A final figure that this step cannot set, or two stages that come out alike or falling.
pub fn tightening_plan(last: f64, shares: &[f64], step: f64) -> Result<Vec<f64>, WorkError> {
    let steps = last / step;
    if (steps - libm::round(steps)).abs() > WHOLE || steps < 1.0 - WHOLE {
        let cause = "does not come out at the maker's figure: this wrench cannot be set to it";
        let hint = "take a wrench that can, or give the maker's own figure in this wrench's unit; never the nearest setting";
        return Err(WorkError::of("step", cause, hint));
    }
    let mut stages: Vec<f64> = shares.iter().map(|share| libm::round(share * steps) * step).collect();
    stages.push(last);
    let before = std::iter::once(&0.0).chain(&stages);
    if before.zip(&stages).any(|(before, stage)| *stage <= *before + step * WHOLE) {
        let cause = "come out alike or falling when rounded to what the wrench can be set to";
        return Err(WorkError::of("shares", cause, "give fewer stages, each larger, or take a finer wrench"));
    }
    Ok(stages)
}

/// Stages up to the maker's figure.
pub(super) static TIGHTENING_PLAN: Worksheet = Worksheet {
    name: "tightening-plan",
    title: "stages up to the maker's final torque, as the wrench can be set",
    section: Section::Fasteners,
    inputs: &[
        torque("torque", "the maker's final figure, in the maker's unit"),
        Input::by_habit(
            "shares",
            Takes::Quantities(Unit::Percent, Range::from(1.0, 99.0), 1),
            "35;70",
            "of the final figure in per cent, for the stages before the last; the maker's stages come first",
        ),
        torque("step", "what the wrench's setting goes by, such as 1 N·m or 0.5 lbf·ft"),
        torque("largest", "the wrench's largest torque"),
        Input::optional(
            "smallest",
            Takes::Quantity(Unit::NewtonMetre, TORQUES),
            "the wrench's smallest marked torque; a fifth of the largest where not given (common practice)",
        ),
    ],
    example: "torque=42N.m shares=50 step=1N.m largest=60N.m",
    outputs: &[
        Output::new("stages", "N·m", 1, "set at each stage; the last is the maker's figure"),
        Output::new("stages-lbf-ft", "lbf·ft", 1, "the same"),
        Output::new("shares", "%", 0, "of the final figure, as set"),
    ],
    formula: "stage = share x final, to the nearest step of the wrench; last stage = final",
    valid: "torque alone: bolts tightened by angle, stretch or past yield follow the maker's procedure and no plan of shares",
    source: Source { text: "stages by shares of the final figure", standing: Standing::CommonPractice },
    mistakes: &[
        "the last stage rounded to what the wrench happens to have",
        "a stage below what the wrench is made for",
        "one bolt taken to the last stage before all have had the one before",
        "the stages of another engine's maker",
    ],
    cautions: &[MAKERS_FIGURE, PULL, "A bolt past yield is never slackened and tightened again."],
    compute: plan,
};

fn plan(given: &Given) -> Result<Answer, WorkError> {
    let torque = |name: &'static str| given.value(name, Unit::NewtonMetre);
    let (last, largest) = (torque("torque")?, torque("largest")?);
    if last > largest {
        let cause = format!("{largest} N·m is less than the maker's {last} N·m");
        return Err(WorkError::of("largest", cause, "take a larger wrench"));
    }
    let shares: Vec<f64> = given.list("shares", Unit::ToOne);
    let stages = tightening_plan(last, &shares, torque("step")?)?;
    let smallest = given.maybe("smallest", Unit::NewtonMetre).unwrap_or(UNUSED * largest);
    if let Some(low) = stages.iter().find(|stage| **stage < smallest) {
        let cause = format!("a stage of {} N·m is below this wrench's {smallest} N·m", super::twelve(*low));
        let hint =
            "take a smaller wrench for that stage, or leave the stage out; smallest=... where it is marked";
        return Err(WorkError::of("largest", cause, hint));
    }
    let feet: Vec<f64> =
        stages.iter().map(|stage| converted(*stage, Unit::NewtonMetre, Unit::PoundForceFoot)).collect();
    let percent: Vec<f64> = stages.iter().map(|stage| 100.0 * stage / last).collect();
    Answer::new().numbers("stages", &stages)?.numbers("stages-lbf-ft", &feet)?.numbers("shares", &percent)
}
