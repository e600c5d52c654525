//! How hard a pair of shells is pressed into its housing.

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Range, Takes};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

const HEIGHTS: Range = Range::from(-1.0, 2.0);

/// Diametral interference of an excess circumference: `S / pi`, in its unit. Source: geometry.
#[must_use]
pub const fn crush_interference(excess: f64) -> f64 {
    excess / std::f64::consts::PI
}

/// Crush of a pair of shells.
pub(super) static SHELL_CRUSH: Worksheet = Worksheet {
    name: "shell-crush",
    title: "crush of a pair of shells: interference, and how hard they are pressed",
    section: Section::Bearings,
    inputs: &[
        Input::required(
            "stand-out",
            Takes::Quantity(Unit::Millimetre, HEIGHTS),
            "of one shell's end above the joint, other end flush; below nought: it lies under it",
        ),
        Input::optional(
            "other-stand-out",
            Takes::Quantity(Unit::Millimetre, HEIGHTS),
            "of the other shell; as the first where not given",
        ),
        Input::required(
            "housing",
            Takes::Quantity(Unit::Millimetre, Range::up_to(500.0)),
            "bare housing bore",
        ),
        Input::optional("wall", Takes::Quantity(Unit::Millimetre, Range::up_to(50.0)), "of the shell"),
        Input::optional("width", Takes::Quantity(Unit::Millimetre, Range::up_to(500.0)), "of the shell"),
        Input::by_habit(
            "modulus",
            Takes::Quantity(Unit::Gigapascal, Range::up_to(500.0)),
            "207 GPa",
            "of the shell's back, steel about 207",
        ),
    ],
    example: "stand-out=0.045mm other-stand-out=0.050mm housing=61.005mm wall=2.108mm width=22mm",
    outputs: &[
        Output::new("excess", "mm", 4, "circumference of both beyond the housing's"),
        Output::new("interference", "mm", 4, "diametral"),
        Output::new("pressed", "MPa", 1, "hoop stress in a housing that does not give: the most it can be"),
        Output::new(
            "at-each-joint",
            "kN",
            2,
            "force that closes the shells, of one bearing on each joint face",
        ),
        Output::new("says", "", 0, "in words"),
    ],
    formula: "S = sum of stand-outs; interference = S / pi; stress = E S / (pi D - S); force = stress x wall x width",
    valid: "thin shells, flush at the other end under the maker's checking load; the housing gives, so the true stress is less",
    source: Source {
        text: "geometry and elastic ring; the maker's crush counts",
        standing: Standing::Computed,
    },
    mistakes: &[
        "crush of one shell taken for the pair's",
        "burrs or dirt under the joint or behind the shell read as crush",
        "shell ends or caps filed to make it fit",
        "spread taken for crush: that is its free width",
    ],
    cautions: &["The maker's crush comes first. Shell ends and joint faces are never filed; edges cut."],
    compute: shell_crush,
};

fn shell_crush(given: &Given) -> Result<Answer, WorkError> {
    let mm = |name: &str| given.maybe(name, Unit::Millimetre);
    let (one, housing) =
        (given.value("stand-out", Unit::Millimetre)?, given.value("housing", Unit::Millimetre)?);
    let excess = one + mm("other-stand-out").unwrap_or(one);
    let round = std::f64::consts::PI * housing;
    if excess >= round / 10.0 {
        let cause = format!("{excess} mm is more than a tenth of the housing's circumference");
        return Err(WorkError::of("stand-out", cause, "check it and the housing, and their units"));
    }
    let stress = given.value("modulus", Unit::Megapascal)? * (excess / (round - excess)).max(0.0);
    let says =
        if excess > 0.0 { "the shells are pressed" } else { "NO crush: the shells can turn in this housing" };
    let answer = Answer::new()
        .number("excess", excess)?
        .number("interference", crush_interference(excess))?
        .number("pressed", stress)?;
    let answer = match mm("wall").zip(mm("width")) {
        Some((wall, width)) => answer.number("at-each-joint", stress * wall * width / 1000.0)?,
        None => answer.note("wall and width not both given: no force on the joint"),
    };
    let alike = mm("other-stand-out").is_none();
    Ok(answer.word("says", says).note_if(alike, "the other shell was taken to be alike; measure both"))
}
