//! Worksheets as a test calls them: inputs in one line, outputs by name.

use gudgeon_core::work::{self, Answer, Value, WorkError};

/// Computes a worksheet from inputs as typed, with blanks between.
///
/// # Errors
/// As the worksheet says.
///
/// # Panics
/// Where there is no such worksheet.
pub fn try_work(sheet: &str, inputs: &str) -> Result<Answer, WorkError> {
    let texts: Vec<&str> = inputs.split_whitespace().collect();
    let found = work::find(sheet).unwrap_or_else(|| panic!("no worksheet {sheet}"));
    found.work(&texts).map(|(_, answer)| answer)
}

/// The same where it must compute.
///
/// # Panics
/// Where it does not.
#[must_use]
pub fn answer(sheet: &str, inputs: &str) -> Answer {
    try_work(sheet, inputs).unwrap_or_else(|error| panic!("{sheet} {inputs}: {error}"))
}

/// One number.
///
/// # Panics
/// Where the answer has none of that name.
#[must_use]
pub fn out(sheet: &str, inputs: &str, output: &str) -> f64 {
    answer(sheet, inputs).get(output).unwrap_or_else(|| panic!("{sheet} {inputs} gives no {output}"))
}

fn value<'a>(answer: &'a Answer, output: &str) -> &'a Value {
    let found = answer.outputs().iter().find(|out| out.name == output);
    &found.unwrap_or_else(|| panic!("there is no {output}")).value
}

/// Several numbers.
///
/// # Panics
/// Where it is no list.
#[must_use]
pub fn list(answer: &Answer, output: &str) -> Vec<f64> {
    match value(answer, output) {
        Value::Numbers(all) => all.clone(),
        Value::Number(..) | Value::Word(_) => panic!("{output} is no list"),
    }
}

/// A word.
///
/// # Panics
/// Where it is none.
#[must_use]
pub fn word(answer: &Answer, output: &str) -> String {
    match value(answer, output) {
        Value::Word(word) => word.clone(),
        Value::Number(..) | Value::Numbers(_) => panic!("{output} is no word"),
    }
}
