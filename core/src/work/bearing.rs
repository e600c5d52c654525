//! Clearances of plain bearings.

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Need, Range, Takes};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

const SIZES: Range = Range::up_to(500.0);
const UNCERTAINTIES: Range = Range::from(0.0, 1000.0);

/// An oil clearance, lengths in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OilClearance {
    /// Housing bore, caps tightened to the final stage, less both walls and the journal.
    pub clearance_mm: f64,
    /// Clearance by journal diameter, in thousandths.
    pub relative_permille: f64,
}

/// Oil clearance `C = H - w1 - w2 - J`, diametral, in mm; relative clearance `C / J`.
///
/// Negative: an interference. Source: arithmetic.
///
/// ```
/// use gudgeon_core::work::oil_clearance;
/// let clearance = oil_clearance(60.87, (1.958, 1.958), 56.906);
/// assert!((clearance.clearance_mm - 0.048).abs() < 1e-12);
/// ```
#[must_use]
pub fn oil_clearance(housing_mm: f64, walls_mm: (f64, f64), journal_mm: f64) -> OilClearance {
    let clearance_mm = housing_mm - walls_mm.0 - walls_mm.1 - journal_mm;
    OilClearance { clearance_mm, relative_permille: 1000.0 * clearance_mm / journal_mm }
}

const fn size(name: &'static str, about: &'static str, need: Need) -> Input {
    Input { name, takes: Takes::Quantity(Unit::Millimetre, SIZES), need, about }
}

const fn wall(name: &'static str, about: &'static str) -> Input {
    Input {
        name,
        takes: Takes::Quantity(Unit::Millimetre, Range::from(0.0, 50.0)),
        need: Need::Optional,
        about,
    }
}

const fn uncertainty(name: &'static str, about: &'static str) -> Input {
    Input { name, takes: Takes::Quantity(Unit::Micrometre, UNCERTAINTIES), need: Need::Optional, about }
}

/// Oil clearance of a shelled bearing.
pub(super) static OIL_CLEARANCE: Worksheet = Worksheet {
    name: "oil-clearance",
    title: "oil clearance from housing, shells and journal",
    section: Section::Bearings,
    inputs: &[
        size(
            "housing",
            "bare housing, caps at their final stage; or the shelled bore, without walls",
            Need::Required,
        ),
        wall(
            "wall",
            "shell wall at the crown; both shells where `other-wall` is not given; nought: no shells",
        ),
        wall("other-wall", "wall of the other shell"),
        size("journal", "journal at the same clock position", Need::Required),
        uncertainty("u-housing", "standard uncertainty of the housing"),
        uncertainty("u-wall", "standard uncertainty of one wall"),
        uncertainty("u-journal", "standard uncertainty of the journal"),
        uncertainty("shared", "part of housing and journal that is one and the same error: the setting"),
    ],
    example: "housing=61.005mm wall=2.108mm other-wall=2.110mm journal=56.740mm u-housing=2.4um u-wall=1um u-journal=2.3um",
    outputs: &[
        Output {
            name: "clearance",
            unit: "mm",
            decimals: 4,
            about: "diametral; below nought an interference",
        },
        Output { name: "relative", unit: "‰", decimals: 3, about: "clearance by journal diameter" },
        Output { name: "shells", unit: "", decimals: 0, about: "which walls were taken off" },
    ],
    formula: "C = H - w1 - w2 - J; psi = C / J; u^2 = u_H^2 + 2 u_w^2 + u_J^2 - 2 u_s^2",
    valid: "all sizes at one temperature, best 20 °C; housing at full torque, walls at the crown",
    source: Source {
        text: "arithmetic; JCGM 100:2008 5.1.2 for the uncertainty; relative clearance about 0.7 to 1.5 ‰ is from memory",
        standing: Standing::Computed,
    },
    mistakes: &[
        "one wall taken off instead of two",
        "wall at the parting line: eccentric shells are thinner there",
        "radial clearance taken for diametral",
        "the mean judged while one journal is out",
        "housing measured with shells loose or caps slack",
    ],
    cautions: &["Limits are the maker's; this computes, it does not judge."],
    compute: oil,
};

fn oil(given: &Given) -> Result<Answer, WorkError> {
    let mm = Unit::Millimetre;
    let (one, other) = (given.maybe("wall", mm), given.maybe("other-wall", mm));
    let (has_one, has_other) = (one.is_some_and(|w| w > 0.0), other.is_some_and(|w| w > 0.0));
    // One shell of two is no bearing: a nought would take its wall for none.
    if let Some((nought, wall)) = match (has_one, has_other) {
        (false, true) => Some(("wall", "other-wall")),
        (true, false) if other.is_some() => Some(("other-wall", "wall")),
        _ => None,
    } {
        let hint = format!("give both walls; for a bore measured with its shells in, {wall}=0mm too");
        return Err(WorkError::of(nought, format!("is none, and {wall} is given"), hint));
    }
    let walls = (one.unwrap_or(0.0), other.or(one).unwrap_or(0.0));
    let found = oil_clearance(given.value("housing", mm)?, walls, given.value("journal", mm)?);
    let (shells, note) = match (has_one, has_other) {
        (false, _) => ("none: housing is the shelled bore", None),
        (true, false) => {
            ("both as the one given", Some("the other shell was taken to be alike; measure both"))
        }
        (true, true) => ("each as given", None),
    };
    let u = uncertainty_of(given, has_one)?;
    let answer = Answer::new()
        .with_uncertainty("clearance", found.clearance_mm, u.map(|u| u / 1000.0))?
        .number("relative", found.relative_permille)?
        .word("shells", shells);
    let answer = note.into_iter().fold(answer, Answer::note);
    let usual = (0.0..=FAR_PERMILLE).contains(&found.relative_permille);
    Ok(answer
        .note_if(found.clearance_mm < 0.0, "below nought: an interference")
        .note_if(found.clearance_mm < 0.0 && has_one, "was the housing measured with its shells in? then give no walls")
        .note_if(!usual, "far from any oil clearance (0.7 to 1.5 ‰ is usual, from memory): check each size; were the walls forgotten?"))
}

/// More than this is no oil clearance of an engine; common practice, no source.
const FAR_PERMILLE: f64 = 5.0;

/// In µm; none where not all of it is given.
fn uncertainty_of(given: &Given, shells: bool) -> Result<Option<f64>, WorkError> {
    let um = |name: &str| given.maybe(name, Unit::Micrometre);
    let (Some(housing), Some(journal)) = (um("u-housing"), um("u-journal")) else { return Ok(None) };
    let wall = match (um("u-wall"), shells) {
        (_, false) => 0.0,
        (Some(wall), true) => wall,
        (None, true) => return Ok(None),
    };
    let shared = um("shared").unwrap_or(0.0);
    if shared > housing.min(journal) {
        let cause = format!("{shared} µm is more than a whole uncertainty");
        return Err(WorkError::of("shared", cause, "it is a part of u-housing and of u-journal"));
    }
    let square = housing * housing + 2.0 * wall * wall + journal * journal - 2.0 * shared * shared;
    Ok(Some(libm::sqrt(square.max(0.0))))
}

/// End float from lengths.
pub(super) static END_FLOAT: Worksheet = Worksheet {
    name: "end-float",
    title: "end float, and the thrust washer for a wanted one",
    section: Section::Bearings,
    inputs: &[
        size("journal", "length between the crank's thrust faces", Need::Required),
        size("housing", "length over the thrust faces of the block", Need::Required),
        size("washer", "thickness of one washer, steel to lining; two are fitted", Need::Required),
        Input {
            name: "wanted",
            takes: Takes::Quantity(Unit::Millimetre, Range::from(0.0, 2.0)),
            need: Need::Optional,
            about: "end float that is wanted",
        },
    ],
    example: "journal=34.04mm housing=29.24mm washer=2.320mm wanted=0.15mm",
    outputs: &[
        Output { name: "end-float", unit: "mm", decimals: 3, about: "travel of the crank" },
        Output {
            name: "washer-wanted",
            unit: "mm",
            decimals: 4,
            about: "thickness of each of two washers for the wanted end float",
        },
    ],
    formula: "e = L - B - 2 t; t = (L - B - e) / 2",
    valid: "washers flat and on clean faces; measured with the dial on the nose, levered fore and aft",
    source: Source { text: "arithmetic", standing: Standing::Computed },
    mistakes: &["one washer counted", "a feeler behind a worn flange", "oil film and grit on the faces"],
    cautions: &["Limits are the maker's. Hands out of the crankcase before it is levered."],
    compute: end_float,
};

fn end_float(given: &Given) -> Result<Answer, WorkError> {
    let mm = Unit::Millimetre;
    let room = given.value("journal", mm)? - given.value("housing", mm)?;
    let float = room - 2.0 * given.value("washer", mm)?;
    let answer = Answer::new().number("end-float", float)?;
    let answer = match given.maybe("wanted", mm) {
        Some(wanted) if wanted < room => answer.number("washer-wanted", (room - wanted) / 2.0)?,
        Some(wanted) => {
            let cause = format!("{wanted} mm leaves no room for washers in {} mm", super::twelve(room));
            return Err(WorkError::of("wanted", cause, "check journal and housing"));
        }
        None => answer,
    };
    Ok(answer.note_if(float < 0.0, "below nought: the crank binds"))
}
