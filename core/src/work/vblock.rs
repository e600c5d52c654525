//! What a V-block shows of the lobes of a shaft.

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Range, Takes};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

/// The lobes that are looked at: 2 is an oval.
const LOBES: std::ops::RangeInclusive<u32> = 2..=12;

/// A factor below this hides lobes: a tenth of them is lost in the dial's own error.
const HIDDEN: f64 = 0.1;

/// What a dial above a V-block of this angle reads of `lobes`, by their true radial span:
/// `F = 1 + (-1)^n cos(n g) / cos g`, g = 90 deg less half the angle.
///
/// The dial stands on the line that halves the V, above the shaft; a factor below nought reads
/// turned round, so its size counts. Small lobes against the radius. Source: the three-point method
/// of ISO 4292 (values from memory); from the support function of the shape.
///
/// ```
/// use gudgeon_core::work::vblock_factor;
/// assert!((vblock_factor(90.0, 3) - 2.0).abs() < 1e-12);
/// ```
#[must_use]
pub fn vblock_factor(angle_deg: f64, lobes: u32) -> f64 {
    let g = (90.0 - angle_deg / 2.0).to_radians();
    let sign = if lobes.is_multiple_of(2) { 1.0 } else { -1.0 };
    1.0 + sign * libm::cos(f64::from(lobes) * g) / libm::cos(g)
}

/// Which lobes a V-block shows.
pub(super) static V_BLOCK: Worksheet = Worksheet {
    name: "v-block",
    title: "which lobes of a shaft a V-block shows, hides or magnifies",
    section: Section::BoreForm,
    inputs: &[
        Input::required(
            "angle",
            Takes::Quantity(Unit::Degree, Range::from(30.0, 150.0)),
            "between the faces of the V",
        ),
        Input::optional("lobes", Takes::Whole(2, 50), "of the shaft, where they are known; 2 is an oval"),
        Input::optional(
            "reading",
            Takes::Quantity(Unit::Millimetre, Range::from(0.0, 10.0)),
            "largest less smallest on the dial in one turn",
        ),
    ],
    example: "angle=90deg lobes=3 reading=0.012mm",
    outputs: &[
        Output::new(
            "factors",
            "",
            3,
            "reading by the true radial span, for 2 to 12 lobes; below nought: turned round",
        ),
        Output::new("magnifies", "", 0, "lobes that read more than they are"),
        Output::new("shows", "", 0, "lobes that read as much or less"),
        Output::new("hides", "", 0, "lobes that do not show"),
        Output::new("factor", "", 3, "of the lobes given"),
        Output::new("roundness", "mm", 4, "radial span of the lobes given, by the reading"),
    ],
    formula: "F = 1 + (-1)^n cos(n g) / cos g, g = 90 deg - angle/2; roundness = reading / |F|",
    valid: "dial above, on the line that halves the V; lobes small and evenly spread; two V-blocks under a bent shaft add the bend",
    source: Source {
        text: "support function of a lobed shape; three-point method of ISO 4292:1985, values from memory",
        standing: Standing::Computed,
    },
    mistakes: &[
        "the reading called roundness without knowing the lobes",
        "an odd-lobed shaft passed by a micrometer alone: two points never see it",
        "bend and lobes mixed: runout on V-blocks has both",
    ],
    cautions: &["A shaft on V-blocks rolls off: chock it, turn it by hand, fingers out of the V."],
    compute: v_block,
};

fn v_block(given: &Given) -> Result<Answer, WorkError> {
    let angle = given.value("angle", Unit::Degree)?;
    let all: Vec<(u32, f64)> = LOBES.map(|n| (n, vblock_factor(angle, n))).collect();
    let named = |keep: &dyn Fn(f64) -> bool| {
        let lobes = all.iter().filter(|(_, factor)| keep(factor.abs())).map(|(n, _)| n.to_string());
        let lobes: Vec<String> = lobes.collect();
        if lobes.is_empty() { "none up to 12".to_owned() } else { lobes.join(", ") }
    };
    let factors: Vec<f64> = all.iter().map(|(_, factor)| *factor).collect();
    let just = 1.0 + 1e-9;
    let answer = Answer::new()
        .numbers("factors", &factors)?
        .word("magnifies", named(&|size| size > just))
        .word("shows", named(&|size| (HIDDEN..=just).contains(&size)))
        .word("hides", named(&|size| size < HIDDEN));
    let Ok(lobes) = given.whole("lobes") else {
        return Ok(answer.note("lobes not given: measure in two V-blocks of different angles and compare"));
    };
    of_lobes(answer, vblock_factor(angle, lobes), given.maybe("reading", Unit::Millimetre))
}

fn of_lobes(answer: Answer, factor: f64, reading: Option<f64>) -> Result<Answer, WorkError> {
    let answer = answer.number("factor", factor)?;
    match reading {
        Some(_) if factor.abs() < HIDDEN => Ok(answer
            .note("this V-block hides these lobes: the reading says nothing of them; take another angle")),
        Some(reading) => answer.number("roundness", reading / factor.abs()),
        None => Ok(answer),
    }
}
