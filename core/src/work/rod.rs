//! A rod's length from centre to centre.

use super::answer::Answer;
use super::input::{Input, Range, Takes};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

const LENGTH: Takes = Takes::Quantity(Unit::Millimetre, Range::up_to(1000.0));

/// More than this is no rod's error but another length; common practice, no source.
const FAR_MM: f64 = 2.0;

/// Centres of a rod.
pub(super) static ROD_CENTRES: Worksheet = Worksheet {
    name: "rod-centres",
    title: "a rod's length from centre to centre, from the gap between its bores",
    section: Section::Crank,
    inputs: &[
        Input::required("gap", LENGTH, "shortest distance between the two bores, inside"),
        Input::required("big-end", LENGTH, "big end bore, cap tightened as the maker says"),
        Input::required("small-end", LENGTH, "small end bore"),
        Input::optional("wanted", LENGTH, "length the maker gives, or of the other rods"),
    ],
    example: "gap=102.50mm big-end=56.000mm small-end=25.000mm wanted=143.00mm",
    outputs: &[
        Output::new("centres", "mm", 3, "from centre to centre"),
        Output::new("off", "mm", 3, "that, less what is wanted"),
    ],
    formula: "l = g + (D + d) / 2",
    valid: "all three at one temperature, along the beam; a bore out of round by x shifts the centre by up to x / 2",
    source: Source { text: "geometry", standing: Standing::Computed },
    mistakes: &["big end measured with its cap slack", "the gap taken across, not along the beam"],
    cautions: &["How far rods may differ is the maker's figure."],
    compute: |given| {
        let mm = |name: &'static str| given.value(name, Unit::Millimetre);
        let centres = mm("gap")? + (mm("big-end")? + mm("small-end")?) / 2.0;
        let answer = Answer::new().number("centres", centres)?;
        match given.maybe("wanted", Unit::Millimetre) {
            Some(wanted) => Ok(answer.number("off", centres - wanted)?.note_if(
                (centres - wanted).abs() > FAR_MM,
                "far off: the gap is from bore to bore, inside, and neither centre to centre nor over all",
            )),
            None => Ok(answer),
        }
    },
};
