//! What a signature was given without: evidence that its step asks for and it never had.

use std::collections::BTreeSet;

use super::fold::{Assessment, World};
use super::sign_off::{Cause, Signature};
use super::steps::Evidence;
use crate::engine::{Ask, Asked, Definition, Target};
use crate::entry::payload::{Payload, SignOff, SignedVerdict};
use crate::log::Ix;

impl Assessment {
    /// Evidence that the step asks for and the signature does not have.
    ///
    /// What it had when it was given and has no more takes its ground away. What it never had
    /// is something else: nothing has changed since, it was signed without.
    pub(super) fn look_for_more(
        &self,
        world: World,
        step: usize,
        sign_off: &SignOff,
        signature: &mut Signature,
    ) {
        let Some(definition) = self.definition.as_deref().filter(|_| signature.stands()) else { return };
        let mut without: Option<Cause> = None;
        for (ask, evidence) in definition.steps()[step].asks.iter().zip(&self.steps[step].evidence) {
            let Some(text) = lack(world, evidence, sign_off, signature) else { continue };
            if was_there(world, definition, sign_off, ask) {
                return signature.stale.push(Cause::new(Vec::new(), text));
            }
            match &mut without {
                Some(first) => first.more += 1,
                None => without = Some(Cause::without_evidence(text)),
            }
        }
        signature.stale.extend(without);
    }
}

/// What a signature lacks of a piece of evidence; none: nothing.
fn lack(world: World, evidence: &Evidence, sign_off: &SignOff, signature: &Signature) -> Option<String> {
    if !evidence.met {
        return Some(format!("{}: {}", evidence.asked, evidence.found));
    }
    // A verdict is bound through the readings it used; one of them, or one that took its
    // place and agrees, must be among those cited.
    let cited = |ix| signature.read_again.contains(ix) || sign_off.evidence.contains(&world.log().at(*ix).id);
    if !evidence.verdicts.is_empty() {
        // Of each feature that it is made of: another part may be there by now.
        let feature = |ix: &Ix| match &world.log().at(*ix).payload {
            Ok(Payload::Reading(reading)) => Some(reading.feature.as_str()),
            _ => None,
        };
        let seen: BTreeSet<&str> =
            evidence.entries.iter().filter(|ix| cited(ix)).filter_map(feature).collect();
        if seen.is_empty() {
            return Some(format!("it cites nothing of {}", evidence.asked));
        }
        let mut made_of = evidence.entries.iter().filter_map(feature);
        if let Some(unseen) = made_of.find(|path| !seen.contains(path)) {
            return Some(format!(
                "{}: what was read on {unseen} was not there when it was signed",
                evidence.asked
            ));
        }
    }
    let seen = |verdict: &SignedVerdict| {
        let same =
            |s: &SignedVerdict| s.feature == verdict.feature && s.characteristic == verdict.characteristic;
        sign_off.verdicts.iter().any(same)
    };
    let unseen = !evidence.verdicts.iter().all(seen);
    unseen.then(|| format!("{} was not there when it was signed", evidence.asked))
}

/// Whether a signature cites something that served as this piece of evidence when it was given.
fn was_there(world: World, definition: &Definition, sign_off: &SignOff, ask: &Ask) -> bool {
    let on = |path: &str| match ask.target {
        Target::Feature(at) => definition.feature_at(at).path() == path,
        // Another part may be there by now.
        Target::Engine | Target::PartAt { .. } => true,
    };
    if let Asked::Judged(name) = &ask.asked
        && ask.station.is_empty()
    {
        let seen = |verdict: &SignedVerdict| verdict.characteristic == *name && on(&verdict.feature);
        return !sign_off.evidence.is_empty() && sign_off.verdicts.iter().any(seen);
    }
    let cited = sign_off.evidence.iter().filter_map(|id| world.log().get(id)?.payload.as_ref().ok());
    cited.into_iter().any(|payload| serves(payload, ask, on))
}

/// Whether an entry is of the sort that is asked for, and at its place.
fn serves(payload: &Payload, ask: &Ask, on: impl Fn(&str) -> bool) -> bool {
    match (&ask.asked, payload) {
        (Asked::Judged(name) | Asked::Read(name), Payload::Reading(reading)) => {
            let here = ask.station.is_empty() || ask.station == reading.station;
            here && reading.characteristic == *name && on(&reading.feature)
        }
        (Asked::Check(name), Payload::Check(check)) => check.check == *name && on(&check.feature),
        (Asked::Tightening(group), Payload::Tightening(done)) => done.group == *group && on(&done.place),
        (Asked::Operation(name), Payload::Operation(done)) => {
            done.operation == *name && done.features.iter().any(|path| on(path))
        }
        (Asked::Part(sort), Payload::Fitting(fitting)) => {
            fitting.part.split('/').next() == Some(sort) && on(&fitting.place)
        }
        (Asked::Part(sort), Payload::PartReceived(part)) => part.sort == *sort,
        (Asked::Decision(subject), Payload::Decision(decision)) => decision.subject == *subject,
        (Asked::Approval(_), Payload::Approval(_)) | (Asked::GaugeCheck(_), Payload::GaugeCheck(_)) => true,
        _ => false,
    }
}
