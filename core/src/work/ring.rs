//! Ring gaps.

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Need, Range, Takes};
use super::values::converted;
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

const SIZES: Range = Range::up_to(500.0);
const GAPS: Range = Range::from(0.0, 20.0);
pub(super) const EDGES: &str =
    "Ring ends and rails cut: hold them with gloves, break the edges after filing.";

const fn size(name: &'static str, need: Need, about: &'static str) -> Input {
    Input { name, takes: Takes::Quantity(Unit::Millimetre, SIZES), need, about }
}

const fn gap(name: &'static str, need: Need, about: &'static str) -> Input {
    Input { name, takes: Takes::Quantity(Unit::Millimetre, GAPS), need, about }
}

/// The gap of one ring in another bore: `gap + pi (D2 - D1)`; lengths in one unit.
///
/// Source: the ring's length does not change.
#[must_use]
pub fn gap_in_bore(gap: f64, gauged_bore: f64, bore: f64) -> f64 {
    gap + std::f64::consts::PI * (bore - gauged_bore)
}

/// Gap by use, as a share of the bore.
pub(super) static RING_GAP: Worksheet = Worksheet {
    name: "ring-gap",
    title: "a ring gap by rule, and what is to be filed",
    section: Section::Rings,
    inputs: &[
        size("bore", Need::Required, "finished bore"),
        Input {
            name: "factor",
            takes: Takes::Number(Range::from(0.0, 0.03)),
            need: Need::Default("0.0040", Standing::CommonPractice),
            about: "gap by bore; 0.0040 for ordinary use, more where it runs hotter. The maker's figure comes first",
        },
        gap("found", Need::Optional, "gap as found, ring square in this bore"),
    ],
    example: "bore=80.508mm found=0.28mm",
    outputs: &[
        Output { name: "gap", unit: "mm", decimals: 3, about: "gap by the rule" },
        Output { name: "gap-in", unit: "in", decimals: 4, about: "the same" },
        Output { name: "file", unit: "mm", decimals: 3, about: "to take off the ends; nought: wide enough" },
    ],
    formula: "gap = factor x bore; file = gap - found",
    valid: "ring square in its own finished bore, below any ridge, at the tightest part of its travel",
    source: Source { text: "gap factors by use", standing: Standing::CommonPractice },
    mistakes: &[
        "gap set in a bore that is honed afterwards: 3.14 times what the hone takes off",
        "top ring gapped in one bore and fitted in another",
        "radius taken for diameter",
    ],
    cautions: &["The maker's gap comes first; this rule is a default.", EDGES],
    compute: ring_gap,
};

fn ring_gap(given: &Given) -> Result<Answer, WorkError> {
    let gap = given.number("factor")? * given.value("bore", Unit::Millimetre)?;
    let answer =
        Answer::new().number("gap", gap)?.number("gap-in", converted(gap, Unit::Millimetre, Unit::Inch))?;
    match given.maybe("found", Unit::Millimetre) {
        Some(found) => answer.number("file", (gap - found).max(0.0)),
        None => Ok(answer),
    }
}

/// The gap of a ring in another bore.
pub(super) static GAP_IN_BORE: Worksheet = Worksheet {
    name: "gap-in-bore",
    title: "the gap a ring will have in another bore, or after honing",
    section: Section::Rings,
    inputs: &[
        gap("gap", Need::Required, "gap as measured"),
        size("gauged-in", Need::Required, "size of the bore or ring gauge it was measured in"),
        size("bore", Need::Required, "size of the bore it will run in"),
    ],
    example: "gap=0.32mm gauged-in=80.500mm bore=80.515mm",
    outputs: &[
        Output {
            name: "gap",
            unit: "mm",
            decimals: 3,
            about: "gap in that bore; below nought the ends would overlap",
        },
        Output { name: "change", unit: "mm", decimals: 4, about: "pi times the difference of the bores" },
    ],
    formula: "gap' = gap + pi (D' - D)",
    valid: "small differences of bore; ring square",
    source: Source { text: "geometry: the ring keeps its length", standing: Standing::Computed },
    mistakes: &["the factor of pi forgotten: 0.05 mm of bore is 0.16 mm of gap"],
    cautions: &[EDGES],
    compute: in_bore,
};

fn in_bore(given: &Given) -> Result<Answer, WorkError> {
    let mm = Unit::Millimetre;
    let (gauged, bore) = (given.value("gauged-in", mm)?, given.value("bore", mm)?);
    let before = given.value("gap", mm)?;
    let gap = gap_in_bore(before, gauged, bore);
    let answer = Answer::new().number("gap", gap)?.number("change", gap - before)?;
    Ok(answer.note_if(gap < 0.0, "the ends would overlap: it does not fit this bore as it is"))
}

/// Check of where the gaps stand round the piston.
pub(super) static RING_SETTING: Worksheet = Worksheet {
    name: "ring-setting",
    title: "check of where the ring gaps stand round the piston",
    section: Section::Rings,
    inputs: &[
        Input {
            name: "gaps",
            takes: Takes::Quantities(Unit::Degree, Range::from(0.0, 360.0), 2),
            need: Need::Required,
            about: "each gap, clockwise from the thrust face seen from the crown, rings from the top and rails last",
        },
        Input {
            name: "clear-of",
            takes: Takes::Quantity(Unit::Degree, Range::from(0.0, 45.0)),
            need: Need::Default("20 deg", Standing::CommonPractice),
            about: "to keep clear of thrust faces and pin ends",
        },
        Input {
            name: "apart",
            takes: Takes::Quantity(Unit::Degree, Range::from(0.0, 180.0)),
            need: Need::Default("60 deg", Standing::CommonPractice),
            about: "least between two gaps that follow each other down the piston",
        },
    ],
    example: "gaps=45,225,135,315deg",
    outputs: &[
        Output { name: "least-apart", unit: "deg", decimals: 1, about: "between any two gaps" },
        Output {
            name: "least-following",
            unit: "deg",
            decimals: 1,
            about: "between two that follow each other down the piston",
        },
        Output { name: "to-thrust", unit: "deg", decimals: 1, about: "nearest of them to a thrust face" },
        Output { name: "to-pin", unit: "deg", decimals: 1, about: "nearest of them to a pin end" },
        Output { name: "says", unit: "", decimals: 0, about: "in words" },
    ],
    formula: "angle between a and b = min(|a - b|, 360 - |a - b|); thrust faces at 0 and 180, pin ends at 90 and 270",
    valid: "gaps as set before the piston goes in; rings turn in service",
    source: Source { text: "gaps spread, no two in line", standing: Standing::CommonPractice },
    mistakes: &[
        "two gaps in line",
        "a gap over the pin end or on the thrust face",
        "rails of the oil ring with their gaps together",
    ],
    cautions: &["The maker's setting comes first.", EDGES],
    compute: ring_setting,
};

/// Between two directions, in degrees, 0 to 180.
pub(super) fn between(a: f64, b: f64) -> f64 {
    let apart = (a - b).abs();
    apart.min(360.0 - apart)
}

/// How gaps stand to each other and to the faces, in degrees.
#[derive(Clone, Copy, Debug)]
pub(super) struct Spread {
    /// Least between any two.
    pub(super) any: f64,
    /// Least between two that follow each other.
    pub(super) following: f64,
    /// Nearest to a thrust face.
    pub(super) thrust: f64,
    /// Nearest to a pin end.
    pub(super) pin: f64,
}

/// Of at least two gaps, from the top.
pub(super) fn spread(gaps: &[f64]) -> Spread {
    let least = |all: &mut dyn Iterator<Item = f64>| all.fold(360.0, f64::min);
    let pairs =
        gaps.iter().enumerate().flat_map(|(at, a)| gaps[at + 1..].iter().map(move |b| between(*a, *b)));
    let to = |faces: [f64; 2]| least(&mut gaps.iter().flat_map(|gap| faces.map(|face| between(*gap, face))));
    Spread {
        any: least(&mut { pairs }),
        following: least(&mut gaps.windows(2).map(|pair| between(pair[0], pair[1]))),
        thrust: to([0.0, 180.0]),
        pin: to([90.0, 270.0]),
    }
}

fn ring_setting(given: &Given) -> Result<Answer, WorkError> {
    let Spread { any, following, thrust, pin } = spread(&given.list("gaps", Unit::Degree));
    let clear = given.value("clear-of", Unit::Degree)?;
    let says = match () {
        () if any < 1.0 => "two gaps are in line: turn one",
        () if following < given.value("apart", Unit::Degree)? => {
            "two gaps that follow each other are too near"
        }
        () if thrust < clear => "a gap stands on a thrust face",
        () if pin < clear => "a gap stands over a pin end",
        () => "spread",
    };
    Ok(Answer::new()
        .number("least-apart", any)?
        .number("least-following", following)?
        .number("to-thrust", thrust)?
        .number("to-pin", pin)?
        .word("says", says))
}
