//! The clearance of two parts that were read at temperatures of their own.

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Range, Takes};
use super::temperature::{Body, KNOWN_WITHIN, at_reference, body};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

const SIZE: Takes = Takes::Quantity(Unit::Millimetre, Range::up_to(2000.0));
const NEAR: Takes = Takes::Quantity(Unit::Celsius, Range::from(-30.0, 70.0));

/// Clearance of two parts, each read at its own temperature.
pub(super) static CLEARANCE_AT_20: Worksheet = Worksheet {
    name: "clearance-at-20",
    title: "clearance at 20 °C of two parts, each read at its own temperature",
    section: Section::Temperature,
    inputs: &[
        Input::required("hole", SIZE, "what the gauge in the hole reads"),
        Input::required("hole-of", Takes::Material, "what the part with the hole is made of"),
        Input::optional("hole-at", NEAR, "temperature of that part"),
        Input::optional("hole-gauge-at", NEAR, "temperature of the gauge in the hole"),
        Input::required("shaft", SIZE, "what the gauge on the shaft or piston reads"),
        Input::required("shaft-of", Takes::Material, "what the shaft or piston is made of"),
        Input::optional("shaft-at", NEAR, "temperature of the shaft"),
        Input::optional("shaft-gauge-at", NEAR, "temperature of the gauge on it"),
        Input::by_habit("gauge", Takes::Material, "tool-steel", "what both gauges are made of"),
        KNOWN_WITHIN,
    ],
    example: "hole=80.508mm hole-of=grey-iron hole-at=12C hole-gauge-at=14C shaft=80.461mm shaft-of=piston-alloy-4032 shaft-at=26C shaft-gauge-at=22C",
    outputs: &[
        Output::new("clearance", "mm", 4, "at 20 °C, or as read where a temperature is missing"),
        Output::new("as-read", "mm", 4, "one reading less the other"),
        Output::new("correction", "µm", 1, "what temperature makes of it"),
        Output::new("corrected", "", 0, "yes, or not corrected"),
    ],
    formula: "C = H (1 + a_g (T_hg - 20)) / (1 + a_h (T_h - 20)) - S (1 + a_g (T_sg - 20)) / (1 + a_s (T_s - 20)); H hole, S shaft, hg and sg their gauges",
    valid: "each body soaked at its temperature, within 50 °C of 20 °C",
    source: Source {
        text: "ISO 1:2022 (20 degC); JCGM 100:2008 H.1; Swyt, J. Res. NIST 99 (1994) 31",
        standing: Standing::Published,
    },
    mistakes: &[
        "a piston from a warm room against a bore from a cold one",
        "only one of the two parts corrected",
    ],
    cautions: &["The maker's clearances come first."],
    compute: clearance,
};

fn clearance(given: &Given) -> Result<Answer, WorkError> {
    let mm = |name: &'static str| given.value(name, Unit::Millimetre);
    let (hole, shaft) = (mm("hole")?, mm("shaft")?);
    let as_read = hole - shaft;
    let pairs = both(given, "hole-of", ["hole-at", "hole-gauge-at"])?.zip(both(
        given,
        "shaft-of",
        ["shaft-at", "shaft-gauge-at"],
    )?);
    let Some((of_hole, of_shaft)) = pairs else {
        return Ok(Answer::new()
            .number("clearance", as_read)?
            .number("as-read", as_read)?
            .word("corrected", "not corrected")
            .note("not corrected: give all four temperatures; a missing one is never taken for 20 °C"));
    };
    let at_20 = |read: f64, pair: &[Body; 2]| at_reference(read, body(&pair[0]), body(&pair[1]));
    let found = at_20(hole, &of_hole) - at_20(shaft, &of_shaft);
    let mut square = 0.0;
    for (read, pair) in [(hole, &of_hole), (shaft, &of_shaft)] {
        for one in pair {
            let u = one.uncertainty(read, given)?;
            square += u * u;
        }
    }
    let answer = Answer::new()
        .with_uncertainty("clearance", found, Some(libm::sqrt(square)))?
        .number("as-read", as_read)?
        .number("correction", 1000.0 * (found - as_read))?
        .word("corrected", "yes")
        .note("u is of the corrections alone; the gauges' own is not in it");
    Ok(answer.note_if(found < 0.0, "below nought: an interference"))
}

/// A part and its gauge; none where a temperature is missing.
fn both<'g>(
    given: &'g Given,
    of: &'static str,
    at: [&'static str; 2],
) -> Result<Option<[Body<'g>; 2]>, WorkError> {
    let (part, gauge) = (given.made_of(of)?, given.made_of("gauge")?);
    let at = at.map(|name| given.maybe(name, Unit::Celsius));
    let [Some(part_at), Some(gauge_at)] = at else { return Ok(None) };
    Ok(Some([Body { material: part, at: part_at }, Body { material: gauge, at: gauge_at }]))
}
