//! What is wrong with the inputs of a worksheet: all of it at once.

use std::fmt;

/// One thing that is wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// Name of the input, as the worksheet or the person calls it.
    pub input: String,
    /// The value, and the limit it breaks.
    pub cause: String,
    /// The way out.
    pub hint: String,
}

/// Why a worksheet gives no answer; never empty.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WorkError {
    /// Every problem, in the order of the inputs.
    pub problems: Vec<Problem>,
}

impl WorkError {
    /// One problem with an input.
    #[must_use]
    pub fn of(input: &str, cause: impl Into<String>, hint: impl Into<String>) -> Self {
        let problem = Problem { input: input.to_owned(), cause: cause.into(), hint: hint.into() };
        Self { problems: vec![problem] }
    }
}

impl fmt::Display for WorkError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let line = |problem: &Problem| format!("{}: {}", problem.input, problem.cause);
        f.write_str(&self.problems.iter().map(line).collect::<Vec<_>>().join("\n"))
    }
}

impl std::error::Error for WorkError {}
