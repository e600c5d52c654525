//! A gudgeon pin in its small end or piston, cold and at temperature.

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Range, Takes};
use super::temperature::{REFERENCE, grown};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

const SIZES: Range = Range::up_to(200.0);
const HEATS: Range = Range::from(-80.0, 400.0);

/// Farther from 20 °C than this one coefficient is only near, in °C.
const NEAR: f64 = 50.0;

/// Pin fit.
pub(super) static PIN_FIT: Worksheet = Worksheet {
    name: "pin-fit",
    title: "pin in a small end or piston: clearance or interference, cold and at temperature",
    section: Section::Bearings,
    inputs: &[
        Input::required(
            "hole",
            Takes::Quantity(Unit::Millimetre, SIZES),
            "small end, bush or piston boss at 20 °C",
        ),
        Input::required("pin", Takes::Quantity(Unit::Millimetre, SIZES), "diameter at 20 °C"),
        Input::required("hole-of", Takes::Material, "material round the hole"),
        Input::by_habit("pin-of", Takes::Material, "steel-4140", "material of the pin"),
        Input::required("hole-at", Takes::Quantity(Unit::Celsius, HEATS), "temperature of the hole"),
        Input::required("pin-at", Takes::Quantity(Unit::Celsius, HEATS), "temperature of the pin"),
        Input::optional(
            "slide",
            Takes::Quantity(Unit::Millimetre, Range::from(0.0, 1.0)),
            "clearance wanted while the pin goes in, it being at pin-at",
        ),
    ],
    example: "hole=22.005mm pin=21.998mm hole-of=piston-alloy-4032 hole-at=90C pin-at=80C",
    outputs: &[
        Output::new("at-20", "mm", 4, "hole less pin at 20 °C; below nought an interference"),
        Output::new("fit", "mm", 4, "hole less pin at those temperatures, each growing freely"),
        Output::new("change", "µm", 1, "the one less the other"),
        Output::new(
            "heat-hole-to",
            "°C",
            0,
            "at which the hole has the clearance wanted for the pin to go in",
        ),
        Output::new("says", "", 0, "in words"),
    ],
    formula: "fit = H (1 + a_h (T_h - 20)) - P (1 + a_p (T_p - 20)); T_h = 20 + ((P_warm + slide) / H - 1) / a_h",
    valid: "free expansion, each part at one temperature; a thin small end that is pressed or a bush that is held grows less",
    source: Source { text: "linear expansion, ISO 1:2022 for the reference", standing: Standing::Computed },
    mistakes: &[
        "a warm piston measured with a cold pin",
        "a floating pin's clearance used for a pressed one",
        "the bush not counted: its bore closes when pressed in",
        "stopping halfway: the rod cools on the pin and grips it there",
    ],
    cautions: &[
        "Hot rods and pistons burn, and a hot pin eye looks cold: gloves, a stop that sets the depth, no flame near oil or solvent.",
        "The maker's fit and temperature come first.",
    ],
    compute: pin_fit,
};

fn pin_fit(given: &Given) -> Result<Answer, WorkError> {
    let mm = |name: &'static str| given.value(name, Unit::Millimetre);
    let at = |name: &'static str| given.value(name, Unit::Celsius);
    let (hole, pin, hole_at, pin_at) = (mm("hole")?, mm("pin")?, at("hole-at")?, at("pin-at")?);
    let warm_pin = pin * grown((given.alpha("pin-of")?, pin_at));
    let fit = hole * grown((given.alpha("hole-of")?, hole_at)) - warm_pin;
    let cold = hole - pin;
    let answer =
        Answer::new().number("at-20", cold)?.number("fit", fit)?.number("change", 1000.0 * (fit - cold))?;
    let answer = match given.maybe("slide", Unit::Millimetre) {
        Some(slide) => {
            let to = REFERENCE + ((warm_pin + slide) / hole - 1.0) / given.alpha("hole-of")?;
            in_reach(answer.number("heat-hole-to", to)?, to)
        }
        None => answer,
    };
    let far = (hole_at - REFERENCE).abs().max((pin_at - REFERENCE).abs()) > NEAR;
    Ok(answer.word("says", words(cold, fit)).note("free expansion only: not the running clearance").note_if(
        far,
        "far from 20 °C: the coefficient of 20 °C is only near; take the maker's for the range",
    ))
}

fn in_reach(answer: Answer, to: f64) -> Answer {
    let hot = "WARNING: so hot a rod or piston may lose its temper or strength (from memory): ask the maker";
    answer.note_if(to > 250.0, hot).note_if(to < -80.0, "no heat is wanted for this: check both sizes")
}

const fn words(cold: f64, warm: f64) -> &'static str {
    match (cold > 0.0, warm > 0.0) {
        (true, true) => "free cold and warm",
        (true, false) => "free cold, held at temperature",
        (false, true) => "held cold, free at temperature",
        (false, false) => "held cold and at temperature",
    }
}
