//! What went wrong, and the way out.

use std::fmt;

/// Result of a subcommand or of one step of it.
pub(crate) type Outcome<T = ()> = Result<T, Failure>;

/// A cause and, where there is one, a hint.
#[derive(Debug)]
pub(crate) struct Failure {
    cause: String,
    hint: Option<String>,
}

impl Failure {
    pub(crate) fn new(cause: impl Into<String>) -> Self {
        Self { cause: cause.into(), hint: None }
    }

    pub(crate) fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }

    /// Several problems of one kind, each on a line of its own; `Ok` when there is none.
    pub(crate) fn list(what: &str, problems: &[String]) -> Outcome {
        if problems.is_empty() {
            return Ok(());
        }
        Err(Self::new(format!("{what}:\n  {}", problems.join("\n  "))))
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "error: {}", self.cause)?;
        match &self.hint {
            None => Ok(()),
            Some(hint) => write!(f, "\nhint: {hint}"),
        }
    }
}

/// Adds what was being done to an error that does not say.
pub(crate) trait Doing<T> {
    fn doing(self, what: impl fmt::Display) -> Outcome<T>;
}

impl<T, E: fmt::Display> Doing<T> for Result<T, E> {
    fn doing(self, what: impl fmt::Display) -> Outcome<T> {
        self.map_err(|error| Failure::new(format!("{what}: {error}")))
    }
}
