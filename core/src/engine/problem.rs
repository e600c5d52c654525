//! What is wrong with a definition: all of it at once, each with its place and a way out.

use std::fmt;

/// One thing wrong with a definition text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// Line of the text, counted from 1.
    pub line: usize,
    /// Character of the line, counted from 1.
    pub column: usize,
    /// Where it is in the trade's words, such as `fastener rod-bolts, stage 2`.
    pub place: String,
    /// What is wrong: the value and the limit.
    pub reason: String,
    /// The way out; empty where the reason says it already.
    pub hint: String,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { line, column, place, reason, hint } = self;
        write!(f, "{line}:{column}: {place}: {reason}")?;
        if hint.is_empty() {
            return Ok(());
        }
        write!(f, " ({hint})")
    }
}

/// Problems gathered while a text is read; positions are byte offsets until the end.
#[derive(Debug, Default)]
pub(super) struct Problems(Vec<(usize, Problem)>);

impl Problems {
    /// Adds one problem at a byte offset.
    pub(super) fn add(
        &mut self,
        at: usize,
        place: impl Into<String>,
        reason: impl Into<String>,
        hint: impl Into<String>,
    ) {
        let problem =
            Problem { line: 0, column: 0, place: place.into(), reason: reason.into(), hint: hint.into() };
        self.0.push((at, problem));
    }

    /// How much is wrong so far.
    pub(super) fn count(&self) -> usize {
        self.0.len()
    }

    /// Whether nothing is wrong so far.
    pub(super) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The problems in the order of the text, with lines and columns.
    pub(super) fn into_list(mut self, text: &str) -> Vec<Problem> {
        self.0.sort_by_key(|&(at, _)| at);
        let locate = |(at, problem): (usize, Problem)| {
            let (line, column) = line_column(text, at);
            Problem { line, column, ..problem }
        };
        self.0.into_iter().map(locate).collect()
    }
}

fn line_column(text: &str, at: usize) -> (usize, usize) {
    let before = text.get(..at).unwrap_or(text);
    let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
    let line = before.matches('\n').count() + 1;
    (line, before[line_start..].chars().count() + 1)
}
