//! What compression does to pressure and temperature: to teach and to compare, not to judge by.

use super::air;
use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Range, Takes};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

const EXPONENT: Takes = Takes::Number(Range::from(1.0, 1.5));
const PRESSURE: Takes = Takes::Quantity(Unit::Bar, Range::up_to(500.0));
/// What the air presses with where a gauge reads nought, in bar; common practice, no source.
const AIR: f64 = 1.013;
/// Kelvins of 0 °C.
const ICE: f64 = 273.15;

/// Pressure in parts of the first, and temperature in K, after compression by `ratio` from `from_k`.
///
/// `p2/p1 = r^n`, `T2 = T1 r^(n-1)`. Source: the polytropic law; n of real engines 1.25 to 1.35,
/// Heywood ch. 9-10 (from memory).
///
/// ```
/// let (pressure, temperature) = gudgeon_core::work::polytropic(9.0, 1.3, 300.0);
/// assert!((pressure - 17.3986384044).abs() < 1e-9 && (temperature - 579.95461348).abs() < 1e-6);
/// ```
#[must_use]
pub fn polytropic(ratio: f64, exponent: f64, from_k: f64) -> (f64, f64) {
    (libm::pow(ratio, exponent), from_k * libm::pow(ratio, exponent - 1.0))
}

/// Pressure and temperature at the top.
pub(super) static COMPRESSION_ESTIMATE: Worksheet = Worksheet {
    name: "compression-estimate",
    title: "pressure and temperature that compression makes: to compare, never to judge by",
    section: Section::Geometry,
    inputs: &[
        Input::required(
            "ratio",
            Takes::Number(Range::from(1.0, 30.0)),
            "effective ratio, from where the intake closes",
        ),
        Input::by_habit("exponent", EXPONENT, "1.3", "1.4 without heat loss, 1.25 to 1.35 in engines"),
        Input::by_habit(
            "pressure",
            PRESSURE,
            "1.013 bar",
            "at the start, absolute: gauge pressure and the air's",
        ),
        Input::by_habit(
            "temperature",
            Takes::Quantity(Unit::Celsius, Range::from(-40.0, 150.0)),
            "27 °C",
            "of the charge at the start",
        ),
    ],
    example: "ratio=8.4 exponent=1.3",
    outputs: &[
        Output::new("times", "", 2, "pressure at the end in parts of that at the start"),
        Output::new("pressure", "bar", 1, "at the end, absolute"),
        Output::new("gauge", "bar", 1, "at the end, as a gauge reads where the air has 1.013 bar"),
        Output::new("temperature", "°C", 0, "at the end"),
        Output::new(
            "air-pressure",
            "bar",
            1,
            "of real air without any heat loss or leak: the most there can be",
        ),
        Output::new("air-temperature", "°C", 0, "of real air without any heat loss or leak"),
    ],
    formula: "p2 = p1 r^n, T2 = T1 r^(n - 1), absolute; real air: constant entropy",
    valid: "slow enough, tight, without fuel; leakage, heat loss, cranking speed and the gauge's own volume are not in it",
    source: Source {
        text: "polytropic law; n from Heywood ch. 9-10 (from memory); real air: Lemmon et al., J. Phys. Chem. Ref. Data 29 (2000) 331",
        standing: Standing::Published,
    },
    mistakes: &[
        "gauge pressure in the power law",
        "the static ratio taken for a cranking test",
        "1.4 taken for what an engine does",
    ],
    cautions: &[
        "A cranking engine is judged by its maker's figures and by its cylinders alike, not by this.",
    ],
    compute: estimate,
};

fn estimate(given: &Given) -> Result<Answer, WorkError> {
    let (ratio, exponent) = (given.number("ratio")?, given.number("exponent")?);
    let (start, from_k) =
        (given.value("pressure", Unit::Bar)?, given.value("temperature", Unit::Celsius)? + ICE);
    let (times, end_k) = polytropic(ratio, exponent, from_k);
    let answer = Answer::new()
        .number("times", times)?
        .number("pressure", start * times)?
        .number("gauge", start * times - AIR)?
        .number("temperature", end_k - ICE)?
        .note("to compare, never to judge an engine by");
    match air::compressed(from_k, start * 1e5, ratio) {
        Some((end_k, end_pa)) => {
            answer.number("air-pressure", end_pa / 1e5)?.number("air-temperature", end_k - ICE)
        }
        None => Ok(answer.note("too dense or too hot for the figures of real air")),
    }
}

/// The ratio from two pressures on the way up.
pub(super) static RATIO_FROM_PRESSURES: Worksheet = Worksheet {
    name: "ratio-from-pressures",
    title: "compression ratio from two pressures on the way up",
    section: Section::Geometry,
    inputs: &[
        Input::required(
            "early-at",
            Takes::Quantity(Unit::Percent, Range::from(0.0, 99.0)),
            "how much of the stroke is done",
        ),
        Input::required("early", PRESSURE, "pressure there, absolute"),
        Input::required(
            "late-at",
            Takes::Quantity(Unit::Percent, Range::from(1.0, 100.0)),
            "how much of the stroke is done",
        ),
        Input::required("late", PRESSURE, "pressure there, absolute"),
        Input::by_habit("exponent", EXPONENT, "1.3", "of the compression"),
    ],
    example: "early-at=10% early=1.3bar late-at=80% late=5.1bar",
    outputs: &[Output::new("ratio", ":1", 2, "whole volume by what is left at the top")],
    formula: "(V_c + (1 - a) V_s) / (V_c + (1 - b) V_s) = (p_b / p_a)^(1/n); r = 1 + V_s / V_c; a and b shares of the stroke done",
    valid: "valves shut at both places, no leak, one exponent between them",
    source: Source {
        text: "polytropic law; the way of H N Gupta, Example 2.2",
        standing: Standing::Published,
    },
    mistakes: &["gauge pressures", "the first place before the intake closes"],
    cautions: &["To compare, never to judge an engine by."],
    compute: from_pressures,
};

fn from_pressures(given: &Given) -> Result<Answer, WorkError> {
    let done = |name: &'static str| given.value(name, Unit::Percent).map(|percent| percent / 100.0);
    let (early, late) = (done("early-at")?, done("late-at")?);
    if late <= early {
        return Err(WorkError::of(
            "late-at",
            "is not later than early-at",
            "swap the two, with their pressures",
        ));
    }
    let rise = given.value("late", Unit::Bar)? / given.value("early", Unit::Bar)?;
    let times = libm::pow(rise, 1.0 / given.number("exponent")?);
    let (over, under) = (times - 1.0, (1.0 - early) - times * (1.0 - late));
    if over <= 0.0 || under <= 0.0 {
        let cause = format!("a rise of {:.2} times cannot be between these two places", rise);
        return Err(WorkError::of("late", cause, "check both pressures, absolute, and both places"));
    }
    Answer::new().number("ratio", 1.0 + over / under)
}
