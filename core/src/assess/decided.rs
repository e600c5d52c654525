//! Decisions made before what they rest on was measured, by somebody who knew of no reading of it.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::finding::{Finding, Rule};
use super::fold::{Assessment, World};
use super::sign_off::and_more;
use crate::engine::{Ask, Asked, Definition, Target, characteristic};
use crate::log::Ix;

impl Assessment {
    /// Findings about the decisions that a step asks for: each that stands, and was made by somebody who
    /// knew of no reading at all for a step that comes first.
    pub(super) fn decided_early(&self, world: World, definition: &Definition, step: usize) -> Vec<Finding> {
        let instance = &definition.steps()[step];
        let feature = instance.feature.map_or("", |at| definition.feature_at(at).path());
        let mut findings = Vec::new();
        for ask in &instance.asks {
            let Asked::Decision(subject) = &ask.asked else { continue };
            for decision in self.decided(world, subject) {
                let unread = self.unread_to(world, definition, step, decision);
                let Some(first) = unread.first() else { continue };
                let (did, more) = (self.did(world, decision), and_more(unread.len() - 1));
                let text = format!("{did}, and nothing had been read for {first}{more}");
                let ids = self.ids(world, &[decision]);
                findings.push(Finding::new(Rule::DecidedEarly, feature, subject, ids, text));
            }
        }
        findings
    }

    /// The steps right before one that ask for readings, of which the author of an entry knew none.
    fn unread_to<'d>(&self, world: World, definition: &'d Definition, step: usize, by: Ix) -> Vec<&'d str> {
        let mut measured: BTreeMap<usize, bool> = BTreeMap::new();
        for before in definition.steps()[step].prerequisites.iter().map(|ix| &definition.steps()[*ix]) {
            for ask in before.asks.iter().filter(|ask| is_read(ask)) {
                let known = measured.entry(before.step).or_default();
                *known = *known || self.knew_reading(world, definition, ask, by);
            }
        }
        let unread = measured.into_iter().filter(|(_, known)| !known);
        unread.map(|(at, _)| &*definition.procedure()[at].id).collect()
    }

    /// Whether the author of an entry knew of a reading that a piece of evidence asks for; of a value made
    /// of several, of any on its feature.
    fn knew_reading(&self, world: World, definition: &Definition, ask: &Ask, by: Ix) -> bool {
        let Target::Feature(at) = ask.target else { return false };
        let feature = definition.feature_at(at);
        let row = characteristic::find(feature.kind(), ask.asked.name());
        let from = (feature.shared_path(), Arc::from(""));
        let subjects = self.subject_of.range(from..).take_while(|((path, _), _)| **path == *feature.path());
        let slots = subjects.flat_map(|(_, ix)| &self.subjects[*ix].slots);
        let mut read = slots
            .filter(|slot| row.is_none_or(|row| slot.row.name == row.name))
            .flat_map(|slot| &slot.readings);
        read.any(|taken| world.log().knows(by, taken.ix))
    }
}

/// Whether a reading on a feature of the engine is asked for.
fn is_read(ask: &Ask) -> bool {
    matches!(ask.asked, Asked::Judged(_) | Asked::Read(_)) && matches!(ask.target, Target::Feature(_))
}
