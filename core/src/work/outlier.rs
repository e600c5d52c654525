//! A reading that stands out: marked and read again, never left out.

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Need, Range, Takes};
use super::quantile::student_quantile;
use super::repeats::mean_and_deviation;
use super::values::{count, least, most, span};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

/// Critical value of Grubbs' test for `n` readings at a risk of `risk` (0 to 1).
///
/// `(n-1)/sqrt n sqrt(t^2/(n-2+t^2))`, t at `risk/n` for one named end, at `risk/(2n)` for either.
/// Computed, not copied: public tables have misprints. Source: ASTM E178-21; ISO 5725-2:2019 prints
/// the two-sided one.
///
/// # Errors
/// Fewer than three.
pub fn grubbs_critical(n: u32, risk: f64, either_end: bool) -> Result<f64, WorkError> {
    if n < 3 {
        let cause = format!("are {n}, and at least three are needed");
        return Err(WorkError::of("values", cause, "read it again"));
    }
    let n = f64::from(n);
    let tail = risk / if either_end { 2.0 * n } else { n };
    let t = student_quantile(1.0 - tail, n - 2.0);
    Ok((n - 1.0) / libm::sqrt(n) * libm::sqrt(t * t / (n - 2.0 + t * t)))
}

/// Whether a reading stands out.
pub(super) static OUTLIER: Worksheet = Worksheet {
    name: "outlier",
    title: "whether one reading stands out from the others: it is marked and read again, never left out",
    section: Section::Repeats,
    inputs: &[
        Input {
            name: "values",
            takes: Takes::Quantities(Unit::Millimetre, Range::from(-2000.0, 2000.0), 3),
            need: Need::Required,
            about: "the readings, all at one place",
        },
        Input {
            name: "end",
            takes: Takes::Word(&["either", "highest", "lowest"]),
            need: Need::Default("either", Standing::Published),
            about: "which may stand out: either (two-sided), or one named before reading (one-sided)",
        },
        Input {
            name: "risk",
            takes: Takes::Quantity(Unit::Percent, Range::from(0.01, 20.0)),
            need: Need::Default("5 %", Standing::Published),
            about: "how often good readings may be marked",
        },
    ],
    example: "values=47.742,47.743,47.742,47.744,47.743,47.753mm",
    outputs: &[
        Output { name: "says", unit: "", decimals: 0, about: "in words" },
        Output { name: "suspect", unit: "", decimals: 0, about: "its place in the list, counted from one" },
        Output { name: "g", unit: "", decimals: 4, about: "its distance from the mean, in deviations" },
        Output { name: "critical", unit: "", decimals: 4, about: "g above this stands out" },
        Output { name: "test", unit: "", decimals: 0, about: "one-sided or two-sided" },
        Output { name: "mean", unit: "mm", decimals: 4, about: "of all of them" },
        Output {
            name: "deviation",
            unit: "µm",
            decimals: 3,
            about: "standard deviation, n - 1, of all of them",
        },
    ],
    formula: "G = |x - mean| / s; critical (n-1)/sqrt n sqrt(t^2/(n-2+t^2)), t with n - 2 degrees of freedom at risk/n (one-sided) or risk/(2n) (two-sided)",
    valid: "normal readings of one thing; one test for one reading that stands out; two of them can hide each other",
    source: Source { text: "ASTM E178-21; ISO 5725-2:2019 (Grubbs)", standing: Standing::Published },
    mistakes: &[
        "the reading deleted: keep it, mark it, read again and write down why",
        "the test run again on what is left until nothing stands out",
        "taper or different parts tested as if they were repeats",
        "the one-sided figure of one book against the two-sided of another",
        "the end picked after looking: then it is two-sided",
    ],
    cautions: &[],
    compute: outlier,
};

fn outlier(given: &Given) -> Result<Answer, WorkError> {
    let values = given.list("values", Unit::Millimetre);
    let (mean, s) = mean_and_deviation(&values)?;
    let n = u32::try_from(values.len()).unwrap_or(u32::MAX);
    let end = given.word("end");
    let from_mean = |value: f64| match end {
        "highest" => value - mean,
        "lowest" => mean - value,
        _ => (value - mean).abs(),
    };
    let farthest = (0..values.len()).max_by(|a, b| from_mean(values[*a]).total_cmp(&from_mean(values[*b])));
    let suspect = farthest.unwrap_or(0);
    // All alike: the scatter is nought but for the last digit of the sum.
    let alike = span(&values) <= 1e-12 * most(&values).abs().max(least(&values).abs());
    let g = if alike { 0.0 } else { from_mean(values[suspect]) / s };
    let critical = grubbs_critical(n, given.value("risk", Unit::ToOne)?, end == "either")?;
    let place = count(suspect + 1);
    let answer = Answer::new().word("says", says(g, critical, values[suspect]));
    let answer = if alike { answer } else { answer.number("suspect", place)? };
    Ok(answer
        .number("g", g)?
        .number("critical", critical)?
        .word(
            "test",
            if end == "either" { "two-sided: either end" } else { "one-sided: one end, named before" },
        )
        .number("mean", mean)?
        .number("deviation", s * 1000.0)?
        .note_if(
            n == 3,
            "of three readings g is never above 1.1547: the test is nearly useless, read twice more",
        )
        .note_if(alike, "all readings are alike: the gauge's step may be too coarse to show their scatter"))
}

fn says(g: f64, critical: f64, value: f64) -> String {
    if g > critical {
        format!("{value} mm stands out: mark it, keep it, and read again")
    } else {
        "nothing stands out".to_owned()
    }
}
