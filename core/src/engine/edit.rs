//! What a definition changes of the program's own procedure, and which guard is lost by it.
//!
//! A shop may change anything; it is to know what it gave up. Nothing here refuses.

use super::feature::FeatureKind;
use super::nearest::nearest;
use super::operation::{Ends, Operation, What, built_in};
use super::procedure::{Evidence, Signer, Step};

/// How a row of the program's own came to differ.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Changed {
    /// A row of its own.
    Added,
    /// Given again, whole.
    Replaced,
    /// Not done here.
    Dropped,
}

impl Changed {
    /// In a word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Added => "added",
            Self::Replaced => "replaced",
            Self::Dropped => "dropped",
        }
    }
}

/// One change of the procedure, its checks or its operations.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Edit {
    /// How.
    pub changed: Changed,
    /// What, such as `step honed`.
    pub place: String,
    /// Why, of a dropped step; else empty.
    pub reason: String,
    /// What held before and holds no longer, in words.
    pub lost: Vec<String>,
    /// What was perhaps meant, where an added name is near one of the program's own; else empty.
    pub hint: String,
}

impl Edit {
    /// A row added beside those of these names.
    pub(super) fn added<'k>(
        what: &str,
        name: &str,
        known: impl IntoIterator<Item = &'k str>,
        on: &str,
    ) -> Self {
        let near = nearest(name, known);
        let hint = near.map_or_else(String::new, |near| {
            format!("it stands beside `{near}`, which stays as it is; did you mean that one?")
        });
        Self {
            changed: Changed::Added,
            place: format!("{what} {name}{on}"),
            reason: String::new(),
            lost: Vec::new(),
            hint,
        }
    }

    pub(super) fn replaced(place: String, lost: Vec<String>) -> Self {
        Self { changed: Changed::Replaced, place, reason: String::new(), lost, hint: String::new() }
    }

    /// A step that is not done; `after` names those that came after it.
    pub(super) fn dropped(step: &Step, reason: &str, after: &[&str]) -> Self {
        let mut lost = guards(step);
        if !after.is_empty() {
            lost.push(format!("it comes before {}", after.join(", ")));
        }
        let place = format!("step {}", step.id);
        Self { changed: Changed::Dropped, place, reason: reason.to_owned(), lost, hint: String::new() }
    }

    /// Whether something that held before is given up.
    #[must_use]
    pub fn loses(&self) -> bool {
        !self.lost.is_empty()
    }
}

/// What a step guards that another one in its place does not.
pub(super) fn lost(before: &Step, now: &Step) -> Vec<String> {
    let all = |step: &Step| [guards(step), places(step)].concat();
    let kept = all(now);
    all(before).into_iter().filter(|guard| !kept.contains(guard)).collect()
}

/// All that a step asks for and says, in words that are the same where the guard is.
fn guards(step: &Step) -> Vec<String> {
    let said = [
        (step.second_person, "a second person signs it"),
        (step.blind, "the second reading is blind"),
        (step.sign == Signer::Lead, "a lead signs it"),
    ];
    let said = said.iter().filter(|(holds, _)| *holds).map(|(_, words)| (*words).to_owned());
    let asked = step.evidence.iter().map(asked);
    let cautions = step.cautions.iter().map(|caution| format!("caution: {}", caution.text));
    said.chain(asked).chain(cautions).collect()
}

/// Where it stands among the others: a dropped one leaves its place to those that waited for it.
fn places(step: &Step) -> Vec<String> {
    let after = step.after.iter().chain(&step.after_same).map(|id| format!("it comes after {id}"));
    let one = step.one_at_a_time.iter().map(|last| format!("one at a time, until {last} is signed"));
    let per = step.per.iter().map(|kind| format!("it is done for each {kind}"));
    after.chain(one).chain(per).collect()
}

fn asked(evidence: &Evidence) -> String {
    let on = evidence.on.map_or_else(String::new, |kind| format!(" on {kind}"));
    let at = evidence.station.as_ref().map_or_else(String::new, |station| format!(" at {station}"));
    format!("it asks for: {}{on}{at}", evidence.asked.on(""))
}

/// An operation of a definition beside the program's own.
pub(super) fn of_operation(operation: &Operation) -> Edit {
    let on = format!(" on {}", operation.on);
    let rows = built_in();
    let own = rows.iter().find(|row| (&row.name, row.on) == (&operation.name, operation.on));
    match own {
        Some(own) => {
            let place = format!("operation {}{on}", operation.name);
            Edit::replaced(place, no_longer_ended(&own.ends, &operation.ends))
        }
        None => Edit::added("operation", &operation.name, names_on(&rows, operation.on), &on),
    }
}

fn names_on(rows: &[Operation], on: FeatureKind) -> impl Iterator<Item = &str> {
    rows.iter().filter(move |row| row.on == on).map(|row| row.name.as_str())
}

fn no_longer_ended(before: &[Ends], now: &[Ends]) -> Vec<String> {
    let all = |ends: &[Ends]| ends.iter().flat_map(ended).collect::<Vec<String>>();
    let kept = all(now);
    all(before).into_iter().filter(|words| !kept.contains(words)).collect()
}

fn ended(ends: &Ends) -> Vec<String> {
    let of = &ends.feature;
    match &ends.what {
        What::Characteristics(names) => names.iter().map(|name| format!("it ends {name} of {of}")).collect(),
        What::EveryCharacteristic => vec![format!("it ends every reading of {of}")],
        What::Tightening => vec![format!("it ends the tightening of {of}")],
        What::Checks(names) => names.iter().map(|name| format!("it ends check {name} of {of}")).collect(),
    }
}
