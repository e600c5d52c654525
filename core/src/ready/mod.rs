//! Before work starts: what a build needs, and what of it the shop has not.
//!
//! Nothing here is a rule that stops anybody; it is what a foreman would look for the evening
//! before. What a machine cannot know is said to be looked at, never taken for there.

mod chosen;
mod gauges;
mod limits;
mod parts;
mod rest;
mod standing;
mod wrenches;

use std::sync::Arc;

use crate::assess::{Assessment, Record, Workshop};
use crate::engine::{Definition, instrument, reads};
use crate::entry::payload::Millis;

/// What a need is about; also the order in which they are listed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    /// Who works here.
    People,
    /// What the lead has to decide first.
    Decisions,
    /// Gauges that the definition wants.
    Gauges,
    /// Gauges that can prove each limit.
    Limits,
    /// Wrenches for every stage.
    Wrenches,
    /// Lubricants of the fasteners.
    Lubricants,
    /// Other tools.
    Tools,
    /// Parts.
    Parts,
}

impl Group {
    /// In words.
    #[must_use]
    pub const fn title(self) -> &'static str {
        match self {
            Self::People => "people",
            Self::Decisions => "decisions",
            Self::Gauges => "gauges",
            Self::Limits => "what the gauges can prove",
            Self::Wrenches => "wrenches",
            Self::Lubricants => "lubricants",
            Self::Tools => "tools",
            Self::Parts => "parts",
        }
    }
}

/// How it stands with a need.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum State {
    /// It is there: what serves it.
    There(String),
    /// It is not: why, and the way out.
    Missing(String, Remedy),
    /// It cannot be known from here: somebody looks; and what would tell.
    Look(String, Remedy),
    /// It is not asked for yet: what comes first.
    Later(String),
}

/// The way out of a need.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Remedy {
    /// There is nothing to say.
    None,
    /// In words.
    Words(String),
    /// A command, word by word, without the program's name; what is to be filled in stands in capitals.
    Run(Vec<String>),
    /// A lead states the gauge of this mark, and all that is lacking of it.
    Enter(Arc<str>),
}

impl Remedy {
    fn run(words: &[&str]) -> Self {
        Self::Run(words.iter().map(ToString::to_string).collect())
    }

    /// The command that lists a gauge of a sort.
    fn add(sort: &str) -> Self {
        let mut words = vec!["gauge", "add", "MARK", "--sort", sort];
        // Between two readings with one gauge its error falls out: what it shows is left.
        if instrument::find(sort).is_some_and(|sort| sort.shows && sort.percent.is_none()) {
            words.extend(["--resolution", "RESOLUTION"]);
        }
        words.extend(["--error", "ERROR", "--range", "LOW..HIGH"]);
        if !reads::set_on(sort).is_empty() {
            words.extend(["--set-with", "MASTER"]);
        }
        words.extend(["--calibrated", "DATE", "--due", "DATE"]);
        Self::run(&words)
    }
}

/// One thing that a build needs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Need {
    /// What it is about.
    pub group: Group,
    /// What, in words.
    pub what: String,
    /// How it stands.
    pub state: State,
}

/// What is asked of.
#[derive(Clone, Copy, Debug)]
struct Build<'b> {
    record: &'b Record,
    workshop: &'b Workshop,
    assessment: &'b Assessment,
    definition: &'b Definition,
    now: Millis,
}

/// Everything that the build of a record needs, in the order of its groups; empty while the record holds
/// no usable definition. `now` is the moment for which calibrations are asked.
#[must_use]
pub fn ready(record: &Record, workshop: &Workshop, assessment: &Assessment, now: Millis) -> Vec<Need> {
    let Some(definition) = assessment.definition() else { return Vec::new() };
    let build = Build { record, workshop, assessment, definition, now };
    let mut needs = rest::people(build);
    needs.extend(rest::decisions(build));
    needs.extend(gauges::wanted(build));
    needs.extend(limits::provable(build));
    needs.extend(wrenches::stages(build));
    needs.extend(rest::lubricants(build));
    needs.extend(rest::tools(build));
    needs.extend(parts::needed(build));
    needs
}
