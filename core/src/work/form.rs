//! Form of a bore from two-point diameters, and the size that cleans it up.

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Need, Range, Takes};
use super::values::{most, span};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

const SIZES: Range = Range::up_to(500.0);

const fn level(name: &'static str, need: Need, about: &'static str) -> Input {
    Input { name, takes: Takes::Quantities(Unit::Millimetre, SIZES, 2), need, about }
}

/// Out-of-round and taper of a bore.
pub(super) static BORE_FORM: Worksheet = Worksheet {
    name: "bore-form",
    title: "out-of-round and taper from two-point diameters",
    section: Section::BoreForm,
    inputs: &[
        level("top", Need::Required, "diameters below the ridge, the same directions in each list"),
        level("middle", Need::Optional, "diameters in the middle"),
        level("bottom", Need::Optional, "diameters at the end of ring travel"),
    ],
    example: "top=80.512,80.505mm middle=80.508,80.504mm bottom=80.503,80.501mm",
    outputs: &[
        Output {
            name: "out-of-round",
            unit: "mm",
            decimals: 4,
            about: "largest, diametral: largest less smallest at one level",
        },
        Output { name: "out-of-round-at", unit: "mm", decimals: 4, about: "at each level, from the top" },
        Output {
            name: "taper",
            unit: "mm",
            decimals: 4,
            about: "first level less last in each direction; above nought: wider at the top",
        },
        Output { name: "mean-taper", unit: "mm", decimals: 4, about: "mean of those" },
        Output {
            name: "cylindricity-at-least",
            unit: "mm",
            decimals: 4,
            about: "half of largest less smallest of all: the true one is this or more",
        },
        Output {
            name: "oval-missed",
            unit: "%",
            decimals: 1,
            about: "most of an oval that evenly spread directions can miss",
        },
    ],
    formula: "out-of-round = D_max - D_min at a level; taper = D_top - D_bottom in one direction; missed = 1 - cos(180 deg/n) for even n, (1 - cos(180 deg/n))/2 for odd n",
    valid: "two-point sizes are local sizes: odd lobing has one diameter all round and stays unseen; n directions spread evenly over 180 deg",
    source: Source {
        text: "ISO 14405-1:2016 (two-point size), ISO 12181-1:2011, ISO 12180-1:2011; worst case by geometry",
        standing: Standing::Computed,
    },
    mistakes: &[
        "largest less smallest called roundness against a drawing: that one is radial, half of it",
        "the sign of the taper lost",
        "cylindricity claimed from diameters: a bent axis does not show",
        "gauge not rocked for the smallest reading",
    ],
    cautions: &[],
    compute: bore_form,
};

fn bore_form(given: &Given) -> Result<Answer, WorkError> {
    let names = ["top", "middle", "bottom"];
    let levels: Vec<(&str, Vec<f64>)> = names
        .into_iter()
        .map(|name| (name, given.list(name, Unit::Millimetre)))
        .filter(|(_, list)| !list.is_empty())
        .collect();
    let directions = levels[0].1.len();
    if let Some((name, list)) = levels.iter().find(|(_, list)| list.len() != directions) {
        let cause = format!("has {} diameters, and top has {directions}", list.len());
        return Err(WorkError::of(name, cause, "read the same directions at each level"));
    }
    let rounds: Vec<f64> = levels.iter().map(|(_, list)| span(list)).collect();
    let all: Vec<f64> = levels.iter().flat_map(|(_, list)| list.iter().copied()).collect();
    let answer = Answer::new().number("out-of-round", most(&rounds))?.numbers("out-of-round-at", &rounds)?;
    let answer = match &levels[..] {
        [(_, first), .., (_, last)] => {
            let tapers: Vec<f64> = first.iter().zip(last).map(|(a, b)| a - b).collect();
            let mean = tapers.iter().sum::<f64>() / f64::from(u32::try_from(directions).unwrap_or(1));
            answer.numbers("taper", &tapers)?.number("mean-taper", mean)?
        }
        _ => answer.note("one level only: no taper"),
    };
    let answer = answer
        .number("cylindricity-at-least", span(&all) / 2.0)?
        .number("oval-missed", 100.0 * most_missed(directions))?
        .note("three, five or more odd lobes have one diameter all round and are not seen by two points");
    Ok(answer.note_if(directions == 2, "two directions can miss an oval wholly, when they straddle its axes"))
}

/// Most of an oval's diametral out-of-round that `n` directions, evenly spread over 180°, can miss.
///
/// The diameters of an oval follow cos 2φ, where the directions lie 360/n apart. For even n they lie
/// in opposite pairs, and at worst the nearest is half a step off the axis: `2 cos(180°/n)` of 2 is
/// seen. For odd n at worst one lies on an axis and the two opposite are half a step off the other:
/// `1 + cos(180°/n)`.
fn most_missed(n: usize) -> f64 {
    let n = u32::try_from(n).unwrap_or(u32::MAX).max(1);
    let half_step = libm::cos(std::f64::consts::PI / f64::from(n));
    let seen = if n % 2 == 0 { 2.0 * half_step } else { 1.0 + half_step };
    1.0 - seen / 2.0
}

/// The smallest bore that cleans up, and the oversize for it.
pub(super) static CLEAN_UP: Worksheet = Worksheet {
    name: "clean-up",
    title: "smallest size that cleans up all bores, and the next oversize",
    section: Section::BoreForm,
    inputs: &[
        Input {
            name: "worn",
            takes: Takes::Quantities(Unit::Millimetre, SIZES, 1),
            need: Need::Required,
            about: "largest diameter found in each bore",
        },
        Input {
            name: "standard",
            takes: Takes::Quantity(Unit::Millimetre, SIZES),
            need: Need::Required,
            about: "bore as it was made",
        },
        Input {
            name: "stock",
            takes: Takes::Quantity(Unit::Millimetre, Range::from(0.0, 1.0)),
            need: Need::Default("0.05 mm", Standing::CommonPractice),
            about: "left for honing, on the diameter",
        },
        Input {
            name: "oversizes",
            takes: Takes::Quantities(Unit::Millimetre, Range::from(0.0, 10.0), 1),
            need: Need::Default("0.25,0.50,0.75,1.00 mm", Standing::CommonPractice),
            about: "what can be had, on the diameter",
        },
        Input {
            name: "one-sided",
            takes: Takes::Word(&["yes", "no"]),
            need: Need::Default("yes", Standing::CommonPractice),
            about: "yes: wear all on one wall and the centre kept, so it counts twice",
        },
    ],
    example: "worn=80.14,80.09,80.11,80.08mm standard=80.00mm",
    outputs: &[
        Output {
            name: "needed",
            unit: "mm",
            decimals: 3,
            about: "smallest finished size that cleans up the worst bore",
        },
        Output { name: "oversize", unit: "mm", decimals: 3, about: "the next that can be had" },
        Output { name: "size", unit: "mm", decimals: 3, about: "standard with that oversize" },
        Output { name: "to-spare", unit: "mm", decimals: 3, about: "what is left over" },
    ],
    formula: "needed = S + k (W - S) + h; k = 2 with the centre kept and wear on one wall, else 1",
    valid: "wear measured below the ridge at its worst; the block can be bored so far: wall thickness is the maker's affair",
    source: Source {
        text: "geometry; keeping the centre is common practice, no source",
        standing: Standing::Computed,
    },
    mistakes: &[
        "wear on one wall counted once: the boring bar keeps the centre",
        "no stock left for honing",
        "the best bore taken instead of the worst",
    ],
    cautions: &["How far a block may be bored is the maker's figure; measure the wall where in doubt."],
    compute: clean_up,
};

fn clean_up(given: &Given) -> Result<Answer, WorkError> {
    let mm = Unit::Millimetre;
    let standard = given.value("standard", mm)?;
    let worst = most(&given.list("worn", mm));
    if worst < standard {
        let cause = format!("the worst bore {worst} mm is smaller than the standard {standard} mm");
        return Err(WorkError::of("worn", cause, "check both sizes"));
    }
    let times = if given.word("one-sided") == "yes" { 2.0 } else { 1.0 };
    let needed = standard + times * (worst - standard) + given.value("stock", mm)?;
    let mut oversizes = given.list("oversizes", mm);
    oversizes.sort_by(f64::total_cmp);
    let answer = Answer::new().number("needed", needed)?;
    // A picometre: what binary fractions leave over is no lack of metal.
    let fits = |oversize: &f64| standard + oversize + 1e-9 >= needed;
    Ok(match oversizes.iter().copied().find(fits) {
        Some(oversize) => answer
            .number("oversize", oversize)?
            .number("size", standard + oversize)?
            .number("to-spare", (standard + oversize - needed).max(0.0))?,
        None => answer.note("none of these oversizes cleans up: a liner, or a larger piston"),
    })
}
