//! One at a time: a step begun on one feature before it was through on another.
//!
//! A piston that drags is found by turning the crank while it is the only new one; with two begun,
//! nobody can tell which. Who did not know of the other has done nothing wrong.

use super::finding::{Finding, Rule};
use super::fold::{Assessment, Source, World};
use super::places::is_fitted;
use super::steps::Progress;
use crate::engine::Definition;
use crate::entry::payload::Payload;
use crate::log::Ix;

/// A step that is done on one feature at a time, and what was done of it.
struct Begun {
    step: usize,
    finished_by: usize,
    /// In order of the evidence; empty: it is not begun.
    acts: Vec<Ix>,
}

impl Assessment {
    /// Looks at every step that is done on one feature at a time.
    pub(super) fn beside_findings(&mut self, world: World, definition: &Definition) {
        let begun: Vec<Begun> =
            (0..self.steps.len()).filter_map(|ix| self.done_of(world, definition, ix)).collect();
        for one in &begun {
            let beside = |other: &&Begun| {
                other.step != one.step
                    && definition.steps()[other.step].step == definition.steps()[one.step].step
                    && !other.acts.is_empty()
                    && self.steps[other.finished_by].progress != Progress::Signed
            };
            let mut under_way = begun.iter().filter(beside);
            let (better_after, finding) = match one.acts.is_empty() {
                true => (under_way.next().map(|other| other.finished_by), None),
                false => (None, under_way.find_map(|other| self.beside(world, definition, other, one))),
            };
            self.steps[one.step].better_after = better_after;
            self.put_findings(Source::Beside(one.step), finding.into_iter().collect());
        }
    }

    fn done_of(&self, world: World, definition: &Definition, ix: usize) -> Option<Begun> {
        let finished_by = definition.steps()[ix].finished_by?;
        let evidence = self.steps[ix].evidence.iter().filter(|evidence| evidence.met);
        let acts = evidence.flat_map(|evidence| evidence.entries.iter().copied());
        let acts: Vec<Ix> = acts.filter(|act| is_work(world, *act)).collect();
        Some(Begun { step: ix, finished_by, acts })
    }

    /// The finding of an act by somebody who knew that the other was begun, and not that it was through.
    fn beside(
        &self,
        world: World,
        definition: &Definition,
        earlier: &Begun,
        later: &Begun,
    ) -> Option<Finding> {
        let log = world.log();
        let first = *earlier.acts.first()?;
        let finished = &self.steps[earlier.finished_by];
        let lacking = |act: Ix| self.unsigned_to(world, definition, earlier.finished_by, act);
        let knowing = later.acts.iter().filter(|act| log.knows(**act, first));
        let (act, what) = knowing.copied().find_map(|act| Some((act, lacking(act)?)))?;
        let instance = &definition.steps()[later.step];
        let feature = instance.feature.map_or("", |at| definition.feature_at(at).path());
        let text = format!("begun, and {}", what.said_of(&finished.id));
        Some(Finding::new(Rule::SeveralAtOnce, feature, &instance.id, self.ids(world, &[first, act]), text))
    }
}

/// Choosing a part for a place begins nothing.
fn is_work(world: World, ix: Ix) -> bool {
    !matches!(world.log().at(ix).payload, Ok(Payload::Fitting(_))) || is_fitted(world, ix)
}
