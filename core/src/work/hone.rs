//! What to hone to, piston by piston.

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Range, Takes};
use super::temperature::{GAUGE, GAUGE_AT, PART_AT, bodies, body, gauge_target};
use super::values::one_for_each;
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

const SIZES: Range = Range::up_to(500.0);

/// The size each bore is honed to.
pub(super) static HONE_TO: Worksheet = Worksheet {
    name: "hone-to",
    title: "the size to hone each bore to, for its piston and a wanted clearance",
    section: Section::BoreForm,
    inputs: &[
        Input::required(
            "pistons",
            Takes::Quantities(Unit::Millimetre, SIZES, 1),
            "skirt of each piston at 20 °C",
        ),
        Input::required(
            "clearance",
            Takes::Quantity(Unit::Millimetre, Range::from(0.0, 2.0)),
            "that is wanted, skirt in bore, at 20 °C",
        ),
        Input::optional(
            "bores",
            Takes::Quantities(Unit::Millimetre, SIZES, 1),
            "smallest diameter of each bore now, at 20 °C, in the order of the pistons",
        ),
        Input::optional("part", Takes::Material, "what the bore wall is made of"),
        PART_AT,
        GAUGE,
        GAUGE_AT,
    ],
    example: "pistons=80.455,80.460,80.452,80.457mm clearance=0.050mm bores=80.470,80.466,80.468,80.471mm part=grey-iron part-at=31C gauge-at=21C",
    outputs: &[
        Output::new("sizes", "mm", 4, "to hone each bore to, at 20 °C"),
        Output::new("left", "µm", 1, "to come off the diameter of each"),
        Output::new(
            "gauge-reads",
            "mm",
            4,
            "what the gauge reads at that size, block and gauge as warm as they are",
        ),
    ],
    formula: "D = d + c; the gauge reads D (1 + a_p (T_p - 20)) / (1 + a_g (T_g - 20))",
    valid: "skirt measured at the height its maker names; let the honing heat go out before the last strokes",
    source: Source { text: "arithmetic; ISO 1:2022 for 20 °C", standing: Standing::Computed },
    mistakes: &[
        "honed to size while the block is warm from honing",
        "the mean of a bore taken where its smallest place counts",
        "one size for all bores where the pistons differ",
    ],
    cautions: &["The piston maker's clearance comes first. Stop the hone before a gauge or a hand goes in."],
    compute: hone_to,
};

fn hone_to(given: &Given) -> Result<Answer, WorkError> {
    let mm = Unit::Millimetre;
    let (pistons, bores) = (given.list("pistons", mm), given.list("bores", mm));
    let clearance = given.value("clearance", mm)?;
    let sizes: Vec<f64> = pistons.iter().map(|piston| piston + clearance).collect();
    let mut answer = Answer::new().numbers("sizes", &sizes)?;
    if !bores.is_empty() {
        let hint = "give one for each piston, in the same order";
        one_for_each("bores", bores.len(), ("pistons", sizes.len()), hint)?;
        let left: Vec<f64> = sizes.iter().zip(&bores).map(|(size, bore)| 1000.0 * (size - bore)).collect();
        let over = left.iter().any(|left| *left < 0.0);
        answer = answer
            .numbers("left", &left)?
            .note_if(over, "below nought: that bore is too large for this piston already");
    }
    if given.material("part").is_none() {
        return Ok(answer.note(
            "gauge readings not corrected: give part, part-at and gauge-at for what the gauge reads now",
        ));
    }
    let Some((part, gauge)) = bodies(given)? else {
        return Ok(answer.note(
            "gauge readings not corrected: give part-at and gauge-at; a missing temperature is never taken for 20 °C",
        ));
    };
    let reads: Vec<f64> = sizes.iter().map(|size| gauge_target(*size, body(&part), body(&gauge))).collect();
    answer.numbers("gauge-reads", &reads)
}
