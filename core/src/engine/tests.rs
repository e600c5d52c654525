//! Whole definitions: what parses, how it expands, and what is refused.
#![allow(clippy::unwrap_used)]

use super::*;

mod expands;
mod figures;
mod refusals;
mod tables;

/// A text that has no problem.
fn good(text: &str) -> Definition {
    match Definition::parse(text) {
        Ok(definition) => definition,
        Err(problems) => panic!("{}", lines(&problems)),
    }
}

fn lines(problems: &[Problem]) -> String {
    problems.iter().map(|problem| format!("{problem}\n")).collect()
}

/// The layout table of the example, for replacing it whole.
fn example_layout() -> &'static str {
    let start = EXAMPLE.find("[layout]").unwrap();
    let end = EXAMPLE.find("[dimensions]").unwrap();
    &EXAMPLE[start..end]
}

/// The example with another layout, and what its limits name adapted.
fn with_layout(layout: &str, deck: &str) -> Definition {
    let text = EXAMPLE.replace(example_layout(), layout).replace("deck/inline", deck);
    good(&text)
}
