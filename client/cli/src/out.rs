//! What a command answers: data for stdout, talk for stderr, one JSON object with `--json`.

use std::fmt::Display;
use std::io::Write as _;

use serde_json::{Map, Value as Json};

use crate::failure::Failure;

/// Version of the JSON shape of every command.
pub(crate) const SCHEMA: u32 = 1;

/// How a command comes out.
pub(crate) type Outcome = Result<Answer, Failure>;

/// What a command answers.
#[derive(Debug, Default)]
pub(crate) struct Answer {
    text: String,
    talk: String,
    json: Map<String, Json>,
}

impl Answer {
    pub(crate) fn new() -> Self {
        Self::default()
    }

    /// Adds a line of data.
    pub(crate) fn line(&mut self, line: impl Display) {
        self.text.push_str(&format!("{line}\n"));
    }

    /// Adds the data of another answer.
    pub(crate) fn lines_of(&mut self, other: &Self) {
        self.text.push_str(&other.text);
    }

    /// Adds data as it stands.
    pub(crate) fn raw(&mut self, text: &str) {
        self.text.push_str(text);
    }

    /// Adds a line of talk.
    pub(crate) fn say(&mut self, line: impl Display) {
        self.talk.push_str(&format!("{line}\n"));
    }

    /// Puts a field of the JSON object.
    pub(crate) fn put(&mut self, name: &str, value: impl Into<Json>) {
        self.json.insert(name.to_owned(), value.into());
    }

    /// Writes it out; a reader that has gone away is no error.
    pub(crate) fn show(mut self, json: bool) -> std::io::Result<()> {
        let text = if json {
            self.json.insert("schema".to_owned(), SCHEMA.into());
            format!("{}\n", Json::Object(self.json))
        } else {
            write_to(std::io::stderr(), &self.talk)?;
            self.text
        };
        write_to(std::io::stdout(), &text)
    }
}

/// Writes an error: as JSON to stdout, else as words to stderr.
pub(crate) fn show_failure(failure: &Failure, json: bool) -> std::io::Result<()> {
    if json {
        write_to(std::io::stdout(), &format!("{}\n", failure.to_json()))
    } else {
        write_to(std::io::stderr(), &failure.to_text())
    }
}

fn write_to(mut to: impl std::io::Write, text: &str) -> std::io::Result<()> {
    let written = to.write_all(text.as_bytes()).and_then(|()| to.flush());
    match written {
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => Ok(()),
        other => other,
    }
}

/// Says how far something long has come.
pub(crate) fn progress(line: &str) {
    // Talk that cannot be shown is no reason to stop the work.
    if let Err(error) = writeln!(std::io::stderr(), "{line}") {
        tracing::debug!(%error, "progress not shown");
    }
}

/// Words in lines of at most so many columns; a longer word has a line of its own.
pub(crate) fn wrapped(text: &str, columns: usize) -> Vec<String> {
    let mut lines: Vec<String> = vec![String::new()];
    for word in text.split(' ') {
        match lines.last_mut() {
            Some(line) if line.is_empty() => line.push_str(word),
            Some(line) if line.chars().count() + 1 + word.chars().count() <= columns => {
                line.push(' ');
                line.push_str(word);
            }
            Some(_) | None => lines.push(word.to_owned()),
        }
    }
    lines
}

/// Rows in columns, each as wide as its widest cell; the last one free.
pub(crate) fn columns<const N: usize>(rows: &[[String; N]]) -> Vec<String> {
    let width = |at: usize| rows.iter().map(|row| row[at].chars().count()).max().unwrap_or(0);
    let widths: Vec<usize> = (0..N).map(width).collect();
    let line = |row: &[String; N]| {
        let cells = row.iter().zip(&widths).map(|(cell, width)| format!("{cell:<width$}"));
        cells.collect::<Vec<_>>().join("  ").trim_end().to_owned()
    };
    rows.iter().map(line).collect()
}
