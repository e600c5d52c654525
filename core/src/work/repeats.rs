//! Readings taken again, by one person or by two.

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Need, Range, Takes};
use super::quantile::two_sided;
use super::values::span;
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

const LENGTHS: Range = Range::from(-2000.0, 2000.0);
const EXPANDED: Range = Range::up_to(2000.0);

/// Mean and standard deviation (n - 1) of at least two values.
///
/// # Errors
/// Fewer than two.
pub fn mean_and_deviation(values: &[f64]) -> Result<(f64, f64), WorkError> {
    let few = || WorkError::of("values", "are fewer than two", "read it again");
    let n = f64::from(u32::try_from(values.len()).map_err(|_| few())?);
    if values.len() < 2 {
        return Err(few());
    }
    let mean = values.iter().sum::<f64>() / n;
    let squares: f64 = values.iter().map(|value| (value - mean) * (value - mean)).sum();
    Ok((mean, libm::sqrt(squares / (n - 1.0))))
}

/// Mean and scatter of repeats.
pub(super) static REPEATS: Worksheet = Worksheet {
    name: "repeats",
    title: "mean and scatter of readings of one thing",
    section: Section::Repeats,
    inputs: &[
        Input {
            name: "values",
            takes: Takes::Quantities(Unit::Millimetre, LENGTHS, 2),
            need: Need::Required,
            about: "the readings, all at one place",
        },
        Input {
            name: "level",
            takes: Takes::Quantity(Unit::Percent, Range::from(50.0, 99.99)),
            need: Need::Default("95 %", Standing::Published),
            about: "how sure the mean is to lie within what is given for it",
        },
    ],
    example: "values=47.742,47.743,47.742,47.744,47.743mm",
    outputs: &[
        Output {
            name: "mean",
            unit: "mm",
            decimals: 4,
            about: "with its standard uncertainty from the scatter alone",
        },
        Output { name: "deviation", unit: "µm", decimals: 3, about: "standard deviation, n - 1" },
        Output { name: "span", unit: "µm", decimals: 2, about: "largest less smallest" },
        Output {
            name: "mean-within",
            unit: "µm",
            decimals: 2,
            about: "to either side of the mean, at that level",
        },
        Output { name: "t", unit: "", decimals: 3, about: "Student's factor for so few readings" },
    ],
    formula: "s^2 = sum (x - mean)^2 / (n - 1); u(mean) = s / sqrt n; mean within t u, t((1 + level)/2, n - 1)",
    valid: "one place, one person, one gauge; scatter alone, the gauge's own error is not in it",
    source: Source { text: "JCGM 100:2008 4.2, G.3", standing: Standing::Published },
    mistakes: &[
        "top and bottom of a taper averaged as repeats",
        "s with n instead of n - 1",
        "k = 2 for two or three readings: Student's factor is 12.7 or 4.3",
        "a reading that differs left out: mark it and read again",
    ],
    cautions: &[],
    compute: repeats,
};

fn repeats(given: &Given) -> Result<Answer, WorkError> {
    let values = given.list("values", Unit::Millimetre);
    let (mean, s) = mean_and_deviation(&values)?;
    let n = f64::from(u32::try_from(values.len()).unwrap_or(u32::MAX));
    let (u, t) = (s / libm::sqrt(n), two_sided(given.value("level", Unit::ToOne)?, n - 1.0));
    Answer::new()
        .with_uncertainty("mean", mean, Some(u))?
        .number("deviation", s * 1000.0)?
        .number("span", span(&values) * 1000.0)?
        .number("mean-within", t * u * 1000.0)?
        .number("t", t)
}

/// Whether two people agree.
pub(super) static AGREEMENT: Worksheet = Worksheet {
    name: "agreement",
    title: "whether two readings by two people agree",
    section: Section::Repeats,
    inputs: &[
        Input {
            name: "first",
            takes: Takes::Quantity(Unit::Millimetre, LENGTHS),
            need: Need::Required,
            about: "one reading",
        },
        Input {
            name: "second",
            takes: Takes::Quantity(Unit::Millimetre, LENGTHS),
            need: Need::Required,
            about: "the other",
        },
        Input {
            name: "u-first",
            takes: Takes::Quantity(Unit::Micrometre, EXPANDED),
            need: Need::Required,
            about: "standard uncertainty of the one",
        },
        Input {
            name: "u-second",
            takes: Takes::Quantity(Unit::Micrometre, EXPANDED),
            need: Need::Required,
            about: "and of the other",
        },
    ],
    example: "first=47.742mm second=47.748mm u-first=2.3um u-second=2.3um",
    outputs: &[
        Output { name: "e-n", unit: "", decimals: 3, about: "difference by the expanded uncertainties" },
        Output { name: "difference", unit: "µm", decimals: 2, about: "first less second" },
        Output { name: "says", unit: "", decimals: 0, about: "in words" },
    ],
    formula: "E_n = (a - b) / sqrt(U_a^2 + U_b^2), U = 2 u; they agree while |E_n| <= 1",
    valid: "two gauges that share nothing; where both used one micrometer its error is in both and the rule is too kind",
    source: Source { text: "ISO 13528:2022, ISO/IEC 17043 (E_n)", standing: Standing::Published },
    mistakes: &[
        "standard uncertainties put in for expanded: everything disagrees",
        "a called-out second reading taken for a blind one",
    ],
    cautions: &[],
    compute: agreement,
};

fn agreement(given: &Given) -> Result<Answer, WorkError> {
    let um = |name: &'static str| given.value(name, Unit::Micrometre);
    let difference = um("first")? - um("second")?;
    let e = difference / (2.0 * libm::hypot(um("u-first")?, um("u-second")?));
    let says = if e.abs() <= 1.0 { "agree" } else { "differ by more than the gauges explain: read again" };
    Ok(Answer::new().number("e-n", e)?.number("difference", difference)?.word("says", says))
}
