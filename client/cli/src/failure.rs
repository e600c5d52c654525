//! What goes wrong: a stable rule, the cause, the hint, and the exit code.

use gudgeon_client::{Class, HomeError};
use gudgeon_core::engine::UnknownFeature;
use gudgeon_core::quantity::QuantityError;
use gudgeon_core::roster::NotCounted;
use serde_json::{Value as Json, json};

use crate::codes::Exit;

/// A command that did not do what was asked.
#[derive(Debug)]
pub(crate) struct Failure {
    pub(crate) exit: Exit,
    rule: String,
    pub(crate) cause: String,
    hint: String,
    /// Each of several, where more than one thing is wrong.
    problems: Vec<Problem>,
}

/// One of several things that are wrong.
#[derive(Clone, Debug)]
pub(crate) struct Problem {
    /// Where: a line of the input, or words.
    pub(crate) place: String,
    pub(crate) cause: String,
    pub(crate) hint: String,
}

impl From<gudgeon_core::work::Problem> for Problem {
    fn from(problem: gudgeon_core::work::Problem) -> Self {
        Self { place: problem.input, cause: problem.cause, hint: problem.hint }
    }
}

impl Failure {
    pub(crate) fn new(
        exit: Exit,
        rule: impl Into<String>,
        cause: impl Into<String>,
        hint: impl Into<String>,
    ) -> Self {
        let (rule, cause, hint) = (rule.into(), cause.into(), hint.into());
        Self { exit, rule, cause, hint, problems: Vec::new() }
    }

    pub(crate) fn not_found(rule: &str, cause: impl Into<String>, hint: impl Into<String>) -> Self {
        Self::new(Exit::NotFound, rule, cause, hint)
    }

    pub(crate) fn refused(rule: &str, cause: impl Into<String>, hint: impl Into<String>) -> Self {
        Self::new(Exit::Refused, rule, cause, hint)
    }

    pub(crate) fn usage(cause: impl Into<String>, hint: impl Into<String>) -> Self {
        Self::new(Exit::Usage, "usage", cause, hint)
    }

    pub(crate) fn io(doing: &str, path: &std::path::Path, error: &std::io::Error) -> Self {
        let exit = if error.kind() == std::io::ErrorKind::NotFound { Exit::NotFound } else { Exit::Device };
        let cause = format!("{doing} {}: {error}", path.display());
        Self::new(exit, "file", cause, "check that the path is right and that you may use it")
    }

    /// With another way out.
    pub(crate) fn hinting(mut self, hint: impl Into<String>) -> Self {
        self.hint = hint.into();
        self
    }

    /// Adds what is wrong one by one.
    pub(crate) fn with(mut self, problems: Vec<Problem>) -> Self {
        self.problems = problems;
        self
    }

    /// As one of several problems.
    pub(crate) fn at(self, place: impl Into<String>) -> Problem {
        Problem { place: place.into(), cause: self.cause, hint: self.hint }
    }

    pub(crate) fn to_json(&self) -> Json {
        let mut error = json!({
            "rule": self.rule, "cause": self.cause, "hint": self.hint, "code": self.exit.number(),
        });
        if !self.problems.is_empty() {
            let one = |p: &Problem| json!({ "place": p.place, "cause": p.cause, "hint": p.hint });
            error["problems"] = self.problems.iter().map(one).collect();
        }
        json!({ "schema": crate::out::SCHEMA, "error": error })
    }

    pub(crate) fn to_text(&self) -> String {
        let mut text = String::new();
        for Problem { place, cause, hint } in &self.problems {
            text.push_str(&format!("{place}: {cause}\n"));
            if !hint.is_empty() {
                text.push_str(&format!("  hint: {hint}\n"));
            }
        }
        text.push_str(&format!("error: {}\n", self.cause));
        if !self.hint.is_empty() {
            text.push_str(&format!("hint: {}\n", self.hint));
        }
        text
    }
}

impl From<HomeError> for Failure {
    fn from(error: HomeError) -> Self {
        let hint = match error.code() {
            "unconfirmed" => format!("{}: --root DIGITS", error.hint()),
            "no-home" => {
                "make one with `found`, `ask` or `carry in`, or name the right directory with --home"
                    .to_owned()
            }
            _ => error.hint(),
        };
        Self::new(exit_of(&error), error.code(), error.to_string(), hint)
    }
}

fn exit_of(error: &HomeError) -> Exit {
    match (error.class(), error.code()) {
        (Class::Asked, "home-exists" | "key-exists" | "other-format") => Exit::Refused,
        (Class::Asked, "unconfirmed" | "no-workshop") => Exit::NotReady,
        (Class::Asked, _) => Exit::NotFound,
        (Class::Pin, _) => Exit::Pin,
        (Class::Busy, _) => Exit::Busy,
        (Class::Refused, _) => Exit::Refused,
        (Class::Device, _) => Exit::Device,
        (Class::Damaged, _) => Exit::Damaged,
    }
}

impl From<QuantityError> for Failure {
    fn from(error: QuantityError) -> Self {
        Self::refused("quantity", error.cause(), error.hint())
    }
}

impl From<UnknownFeature> for Failure {
    fn from(error: UnknownFeature) -> Self {
        Self::not_found("unknown-feature", error.to_string(), error.hint())
    }
}

impl From<NotCounted> for Failure {
    fn from(reason: NotCounted) -> Self {
        Self::new(Exit::NotAllowed, reason.name(), reason.to_string(), reason.way_out())
    }
}
