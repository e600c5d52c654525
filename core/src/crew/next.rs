//! What is next: the steps that are not through, in the order in which they are looked at.

use crate::assess::{Assessment, Cause, Progress, Record, Signature, StepState, Workshop};
use crate::engine::Signer;
use crate::entry::KeyId;

/// The headings under which steps that are not through are told, in that order.
pub const HEADINGS: [(Progress, &str); 6] = [
    (Progress::Stale, "signed, but no longer standing"),
    (Progress::WithoutEvidence, "signed without its evidence"),
    (Progress::ReadyToSign, "ready to sign"),
    (Progress::WantsSecond, "wants a second person"),
    (Progress::Open, "can be worked on"),
    (Progress::Blocked, "waits"),
];

/// The steps that are not through: heading by heading, within each in the procedure's order.
pub fn next(assessment: &Assessment) -> impl Iterator<Item = usize> + '_ {
    HEADINGS.iter().flat_map(|(progress, _)| under(assessment, *progress))
}

/// The steps under one heading, in the procedure's order.
pub fn under(assessment: &Assessment, progress: Progress) -> impl Iterator<Item = usize> + '_ {
    (0..).zip(assessment.steps()).filter(move |(_, state)| state.progress == progress).map(|(at, _)| at)
}

/// Whether the owner of a key may sign a step next, and it is given to nobody else.
#[must_use]
pub fn is_for(
    record: &Record,
    workshop: &Workshop,
    assessment: &Assessment,
    step: usize,
    key: KeyId,
) -> bool {
    let (Some(state), Some(definition)) = (assessment.steps().get(step), assessment.definition()) else {
        return false;
    };
    let roster = workshop.roster();
    let roles = roster.roles_of(key);
    let may = match definition.step_of(&definition.steps()[step]).sign {
        Signer::Lead => roles.lead,
        Signer::Member => roles.may_enter(),
    };
    let signed_it = |signature: &Signature| roster.same_person(record.log().at(signature.by).key, key);
    match state.progress {
        Progress::WantsSecond => roles.may_enter() && !state.signature.as_ref().is_some_and(signed_it),
        Progress::Blocked
        | Progress::Open
        | Progress::ReadyToSign
        | Progress::Signed
        | Progress::Stale
        | Progress::WithoutEvidence => {
            may && (state.assigned.is_none() || state.assigned == roster.person_of(key))
        }
    }
}

/// What a step still misses, in a few words; empty: nothing.
#[must_use]
pub fn missing(state: &StepState) -> String {
    let asked = state.evidence.iter().filter(|evidence| !evidence.met);
    few(&asked.map(|evidence| format!("{} ({})", evidence.asked, evidence.found)).collect::<Vec<_>>())
}

/// What took the ground of a step's signature away, or what it was given without.
#[must_use]
pub fn cause(state: &StepState) -> Option<String> {
    let both = [&state.signature, &state.second];
    let gone = both.into_iter().flatten().find(|signature| !signature.stands())?;
    gone.stale.first().map(Cause::words)
}

/// `a, b and 3 more`.
#[must_use]
pub fn few<W: AsRef<str>>(words: &[W]) -> String {
    match words {
        [first, second, rest @ ..] if !rest.is_empty() => {
            format!("{}, {} and {} more", first.as_ref(), second.as_ref(), rest.len())
        }
        _ => words.iter().map(AsRef::as_ref).collect::<Vec<_>>().join(", "),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_list_is_told_by_its_first_two() {
        assert_eq!(few::<&str>(&[]), "");
        assert_eq!(few(&["a"]), "a");
        assert_eq!(few(&["a", "b"]), "a, b");
        assert_eq!(few(&["a", "b", "c", "d"]), "a, b and 2 more");
    }
}
