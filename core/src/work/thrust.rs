//! Thrust washers from those that are in stock.

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Range, Takes};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

const THICKNESS: Range = Range::up_to(50.0);
const FLOAT: Takes = Takes::Quantity(Unit::Millimetre, Range::from(-5.0, 5.0));

/// Which washers give the wanted end float.
pub(super) static THRUST_WASHERS: Worksheet = Worksheet {
    name: "thrust-washers",
    title: "which thrust washers of those in stock give the wanted end float",
    section: Section::Bearings,
    inputs: &[
        Input::required("float", FLOAT, "end float found, dial on the nose"),
        Input::required(
            "fitted",
            Takes::Quantities(Unit::Millimetre, THICKNESS, 1),
            "thickness of the washers it was found with: one for both sides alike, or front and rear",
        ),
        Input::required(
            "stock",
            Takes::Quantities(Unit::Millimetre, THICKNESS, 1),
            "thicknesses that can be had",
        ),
        Input::required("wanted", FLOAT, "end float that is wanted"),
    ],
    example: "float=0.26mm fitted=2.32mm stock=2.31,2.36,2.41,2.44mm wanted=0.13mm",
    outputs: &[
        Output::new("front", "mm", 3, "washer"),
        Output::new("rear", "mm", 3, "washer"),
        Output::new("float", "mm", 3, "end float with these"),
        Output::new("off", "mm", 3, "that, less what is wanted"),
    ],
    formula: "room = float + fitted front + fitted rear; of all pairs the one whose room - front - rear is nearest to what is wanted",
    valid: "washers flat, faces clean; two alike before two that differ, where both are as near",
    source: Source { text: "arithmetic", standing: Standing::Computed },
    mistakes: &[
        "one washer counted",
        "the float measured with a feeler behind a worn flange",
        "half washers of two thicknesses on one side",
    ],
    cautions: &["Limits are the maker's. Hands out of the crankcase before the crank is levered."],
    compute: washers,
};

fn washers(given: &Given) -> Result<Answer, WorkError> {
    let mm = Unit::Millimetre;
    let fitted = given.list("fitted", mm);
    let both = match fitted[..] {
        [one] => 2.0 * one,
        [front, rear] => front + rear,
        _ => {
            let cause = format!("{} washers for two sides", fitted.len());
            return Err(WorkError::of("fitted", cause, "give one thickness, or front and rear"));
        }
    };
    let (wanted, room) = (given.value("wanted", mm)?, given.value("float", mm)? + both);
    let stock = given.list("stock", mm);
    let pairs =
        stock.iter().enumerate().flat_map(|(at, front)| stock[at..].iter().map(move |rear| (*front, *rear)));
    let off = |(front, rear): &(f64, f64)| room - front - rear - wanted;
    // A nanometre is no difference between pairs; two alike come first then.
    let rank = |pair: &(f64, f64)| ((off(pair).abs() * 1e6).round(), (pair.0 - pair.1).abs());
    let best = pairs.min_by(|a, b| rank(a).partial_cmp(&rank(b)).unwrap_or(std::cmp::Ordering::Equal));
    let Some(best) = best else {
        return Err(WorkError::of("stock", "is empty", "give at least one thickness"));
    };
    let float = room - best.0 - best.1;
    Ok(Answer::new()
        .number("front", best.0)?
        .number("rear", best.1)?
        .number("float", float)?
        .number("off", off(&best))?
        .note_if(float <= 0.0, "no play is left: the crank would bind")
        .note_if(best.0.total_cmp(&best.1).is_ne(), "two that differ: see that the maker allows it"))
}
