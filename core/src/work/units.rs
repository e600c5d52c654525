//! One unit into another, exactly.

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Need, Takes};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};

/// One unit into another.
pub(super) static CONVERT: Worksheet = Worksheet {
    name: "convert",
    title: "one unit into another, exactly",
    section: Section::Units,
    inputs: &[
        Input { name: "value", takes: Takes::Anything, need: Need::Required, about: "the value as read" },
        Input { name: "to", takes: Takes::Unit, need: Need::Required, about: "the unit wanted" },
    ],
    example: "value=75lbf.ft to=N.m",
    outputs: &[
        Output { name: "value", unit: "", decimals: 6, about: "the value in the unit wanted" },
        Output {
            name: "rounded",
            unit: "",
            decimals: 0,
            about: "the same with no more digits than were typed",
        },
    ],
    formula: "exact factors: 1 in = 25.4 mm, 1 lb = 0.453 592 37 kg, g_n = 9.806 65 m/s2, t_F = 1.8 t_C + 32",
    valid: "any value that can be typed; the result is the exact one, rounded once",
    source: Source {
        text: "international yard and pound agreement 1959; NIST SP 811 (2008) App. B.7, B.8",
        standing: Standing::Published,
    },
    mistakes: &[
        "lbf·in read as lbf·ft: a factor of 12",
        "kgf·m taken for N·m: a factor of 9.8",
        "adding 32 to a difference of temperatures (give a difference in K or Δ°F)",
        "rounding at each of two conversions",
        "a thou taken for a tenth of a thou",
    ],
    cautions: &[],
    compute: convert,
};

fn convert(given: &Given) -> Result<Answer, WorkError> {
    let (Some(quantity), Some(to)) = (given.quantity("value"), given.unit("to")) else {
        return Err(WorkError::of("value", "is missing", "give value=... and to=..."));
    };
    if quantity.kind() != to.kind() {
        let cause = format!("{to} is a unit of {}, and {quantity} is {}", to.kind(), quantity.kind());
        return Err(WorkError::of("to", cause, "choose a unit of the same kind"));
    }
    let value = given.value("value", to)?;
    Ok(Answer::new()
        .exact("value", value)?
        .counted_in(to.symbol())
        .word("rounded", quantity.show_in_rounded(to)))
}
