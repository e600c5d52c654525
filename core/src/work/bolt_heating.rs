//! How much warmer a bolt must be to be longer.

use super::answer::Answer;
use super::error::WorkError;
use super::fastener::MAKERS_FIGURE;
use super::given::Given;
use super::input::{Input, Range, Takes};
use super::values::converted;
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

/// How far one coefficient is used, in K.
const ONE_COEFFICIENT: f64 = 50.0;

/// Above this a hardened bolt may be tempered again, in K. From memory: ISO 898-1 has the temper of
/// the hardest class at 380 °C.
const TEMPER: f64 = 300.0;

/// Temperature rise for an elongation.
pub(super) static BOLT_HEATING: Worksheet = Worksheet {
    name: "bolt-heating",
    title: "how much warmer a bolt or stud must be to be so much longer",
    section: Section::Fasteners,
    inputs: &[
        Input::required(
            "elongation",
            Takes::Quantity(Unit::Millimetre, Range::from(0.0, 20.0)),
            "wanted, of the heated length",
        ),
        Input::required("length", Takes::Quantity(Unit::Millimetre, Range::up_to(3000.0)), "that is heated"),
        Input::by_habit("bolt-of", Takes::Material, "steel-4140", "what it is made of"),
        Input::optional(
            "from",
            Takes::Quantity(Unit::Celsius, Range::from(-30.0, 60.0)),
            "its temperature now",
        ),
    ],
    example: "elongation=0.08mm length=120mm bolt-of=steel-4140 from=18C",
    outputs: &[
        Output::new("rise", "K", 1, "warmer by"),
        Output::new("rise-f", "Δ°F", 1, "the same"),
        Output::new("to", "°C", 0, "temperature it must have, where the present one is given"),
    ],
    formula: "dT = dL / (L a)",
    valid: "the whole length at one temperature and free to grow; for a large rise take the coefficient between both temperatures",
    source: Source {
        text: "linear expansion; Wentzell, Machine Design, ch. 6",
        standing: Standing::Published,
    },
    mistakes: &[
        "heat gone into the parts: they grow too",
        "the head or nut heated and not the shank",
        "only a part of the length heated, and the whole put in",
    ],
    cautions: &[
        "Hot work: hot bolts burn and do not look hot. Gloves and face shield; no flame near fuel, oil, solvent or seals; extinguisher to hand.",
        MAKERS_FIGURE,
    ],
    compute: bolt_heating,
};

fn bolt_heating(given: &Given) -> Result<Answer, WorkError> {
    let mm = |name: &'static str| given.value(name, Unit::Millimetre);
    let rise = mm("elongation")? / (mm("length")? * given.alpha("bolt-of")?);
    let answer = Answer::new()
        .number("rise", rise)?
        .number("rise-f", converted(rise, Unit::Kelvin, Unit::FahrenheitChange))?;
    let answer = match given.maybe("from", Unit::Celsius) {
        Some(from) => answer.number("to", from + rise)?,
        None => answer.note("from is not given: no temperature to heat to, only the rise"),
    };
    Ok(answer
        .note_if(
            rise > ONE_COEFFICIENT,
            "a large rise: the coefficient of 20 °C is only near; take that of the range",
        )
        .note_if(
            rise > TEMPER,
            "WARNING: so hot a hardened bolt may lose its temper (from memory): ask the maker",
        ))
}
