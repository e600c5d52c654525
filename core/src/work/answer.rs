//! What a worksheet gives: numbers that are numbers, words, and notes.
//!
//! Floats leave by one rule: twelve significant digits, to the nearest ([`twelve`]). Nothing
//! that is no number leaves at all.

use super::error::WorkError;
use super::worksheet::Worksheet;

/// One output's value.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// A number, with its standard uncertainty where that is known; both in the output's unit.
    Number(f64, Option<f64>),
    /// Several.
    Numbers(Vec<f64>),
    /// A word or a sentence.
    Word(String),
}

/// One output.
#[derive(Clone, Debug, PartialEq)]
pub struct Out {
    /// Name, as the row has it.
    pub name: &'static str,
    /// The value.
    pub value: Value,
    /// Its unit, where that depends on the inputs; the row's otherwise.
    pub unit: Option<&'static str>,
}

/// Digits behind the last one that is shown which a number may still say something with.
const BEYOND_SHOWN: usize = 8;

impl Out {
    /// Its unit; empty for a word or a bare number.
    #[must_use]
    pub fn unit_in(&self, sheet: &Worksheet) -> &'static str {
        self.unit.or_else(|| Some(sheet.output(self.name)?.unit)).unwrap_or_default()
    }

    /// The value in words, with as many decimals as its row shows: `0.0525 mm, u 0.0021 mm`.
    #[must_use]
    pub fn words(&self, sheet: &Worksheet) -> String {
        let decimals = usize::from(sheet.output(self.name).map_or(6, |row| row.decimals));
        let signed = |value: f64| {
            let digits = format!("{value:.decimals$}");
            // Nought is nought, on whichever side rounding left it.
            let nought = digits.chars().all(|c| matches!(c, '-' | '0' | '.'));
            if nought { digits.trim_start_matches('-').to_owned() } else { digits }
        };
        let unit = self.unit_in(sheet);
        let unit = if unit.is_empty() || unit == ":1" { unit.to_owned() } else { format!(" {unit}") };
        match &self.value {
            Value::Number(value, None) => format!("{}{unit}", signed(*value)),
            Value::Number(value, Some(u)) => format!("{}{unit}, u {}{unit}", signed(*value), signed(*u)),
            Value::Numbers(all) => {
                let all: Vec<String> = all.iter().map(|value| signed(*value)).collect();
                format!("{}{unit}", all.join(", "))
            }
            Value::Word(word) => word.clone(),
        }
    }

    /// A number of this output as it is given out: without what subtracting floats left behind the
    /// eighth digit after those that are shown. In a unit that depends on the inputs, as it is.
    #[must_use]
    pub fn rounded(&self, sheet: &Worksheet, value: f64) -> f64 {
        let row = if self.unit.is_none() { sheet.output(self.name) } else { None };
        row.map_or(value, |row| rounded(value, row.decimals))
    }
}

/// A number of which so many decimals are shown, as it is given out for machines: without what floats left
/// behind the eighth digit after those.
#[must_use]
pub fn rounded(value: f64, decimals: u8) -> f64 {
    let digits = usize::from(decimals) + BEYOND_SHOWN;
    // Nought without its sign: `-0.0` is no size.
    format!("{value:.digits$}").parse().map_or(value, |rounded: f64| rounded + 0.0)
}

/// All outputs by name, and what else should be known.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Answer {
    outputs: Vec<Out>,
    notes: Vec<String>,
}

impl Answer {
    /// Nothing yet.
    #[must_use]
    pub const fn new() -> Self {
        Self { outputs: Vec::new(), notes: Vec::new() }
    }

    /// With a number.
    ///
    /// # Errors
    /// What is no finite number, naming the output.
    pub fn number(self, name: &'static str, value: f64) -> Result<Self, WorkError> {
        self.with_uncertainty(name, value, None)
    }

    /// With a number that is exact to the nearest float, and stays so: a converted unit.
    ///
    /// # Errors
    /// What is no finite number, naming the output.
    pub fn exact(self, name: &'static str, value: f64) -> Result<Self, WorkError> {
        finite(name, value)?;
        Ok(self.push(name, Value::Number(value, None)))
    }

    /// With a number and its standard uncertainty.
    ///
    /// # Errors
    /// What is no finite number, naming the output.
    pub fn with_uncertainty(self, name: &'static str, value: f64, u: Option<f64>) -> Result<Self, WorkError> {
        let u = u.map(|u| finite(name, u)).transpose()?;
        Ok(self.push(name, Value::Number(finite(name, value)?, u)))
    }

    /// With several numbers.
    ///
    /// # Errors
    /// What is no finite number, naming the output.
    pub fn numbers(self, name: &'static str, values: &[f64]) -> Result<Self, WorkError> {
        let values = values.iter().map(|value| finite(name, *value)).collect::<Result<_, _>>()?;
        Ok(self.push(name, Value::Numbers(values)))
    }

    /// With a word.
    #[must_use]
    pub fn word(self, name: &'static str, word: impl Into<String>) -> Self {
        self.push(name, Value::Word(word.into()))
    }

    /// The output before in a unit that depends on the inputs.
    #[must_use]
    pub fn counted_in(mut self, unit: &'static str) -> Self {
        if let Some(last) = self.outputs.last_mut() {
            last.unit = Some(unit);
        }
        self
    }

    fn push(mut self, name: &'static str, value: Value) -> Self {
        self.outputs.push(Out { name, value, unit: None });
        self
    }

    /// With a note, where it applies.
    #[must_use]
    pub fn note_if(self, applies: bool, note: impl Into<String>) -> Self {
        if applies { self.note(note) } else { self }
    }

    /// With a note.
    #[must_use]
    pub fn note(mut self, note: impl Into<String>) -> Self {
        self.notes.push(note.into());
        self
    }

    /// The outputs, in order.
    #[must_use]
    pub fn outputs(&self) -> &[Out] {
        &self.outputs
    }

    /// The notes.
    #[must_use]
    pub fn notes(&self) -> &[String] {
        &self.notes
    }

    /// A number by name.
    #[must_use]
    pub fn get(&self, name: &str) -> Option<f64> {
        match &self.outputs.iter().find(|out| out.name == name)?.value {
            Value::Number(value, _) => Some(*value),
            Value::Numbers(_) | Value::Word(_) => None,
        }
    }
}

fn finite(name: &str, value: f64) -> Result<f64, WorkError> {
    if value.is_finite() {
        return Ok(twelve(value));
    }
    let hint = "these inputs do not go together; check each value and its unit";
    Err(WorkError::of(name, "comes out as no number", hint))
}

/// A number with twelve significant digits, to the nearest.
#[must_use]
pub fn twelve(value: f64) -> f64 {
    format!("{value:.11e}").parse().unwrap_or(value)
}
