//! One at a time: a step begun on one feature before it was through on another.
//!
//! A piston that drags is found by turning the crank while it is the only new one; with two begun,
//! nobody can tell which. Who did not know of the other has done nothing wrong.

use super::finding::{Finding, Rule};
use super::fold::{Assessment, Source, World};
use super::steps::Progress;
use crate::engine::Definition;
use crate::entry::payload::{FittingState, Payload};
use crate::log::{Ix, Log};

/// A step that was begun and is not through.
struct Begun {
    step: usize,
    finished_by: usize,
    /// What was done of it, in order of the evidence.
    acts: Vec<Ix>,
}

impl Assessment {
    /// Looks at every step that is done on one feature at a time.
    pub(super) fn beside_findings(&mut self, world: World, definition: &Definition) {
        let begun: Vec<Begun> =
            (0..self.steps.len()).filter_map(|ix| self.begun_alone(world, definition, ix)).collect();
        for later in &begun {
            self.steps[later.step].better_after = self.under_way(definition, &begun, later);
            let open = |earlier: &&Begun| {
                earlier.step != later.step
                    && definition.steps()[earlier.step].step == definition.steps()[later.step].step
                    && self.steps[earlier.finished_by].progress != Progress::Signed
            };
            let finding =
                begun.iter().filter(open).find_map(|earlier| self.beside(world, definition, earlier, later));
            self.put_findings(Source::Beside(later.step), finding.into_iter().collect());
        }
    }

    /// What is to be signed before a step is begun that nobody has begun yet.
    fn under_way(&self, definition: &Definition, all: &[Begun], one: &Begun) -> Option<usize> {
        let step = |begun: &Begun| definition.steps()[begun.step].step;
        let under_way = |other: &&Begun| {
            step(other) == step(one)
                && !other.acts.is_empty()
                && self.steps[other.finished_by].progress != Progress::Signed
        };
        if !one.acts.is_empty() {
            return None;
        }
        all.iter().find(under_way).map(|other| other.finished_by)
    }

    fn begun_alone(&self, world: World, definition: &Definition, ix: usize) -> Option<Begun> {
        let finished_by = definition.steps()[ix].finished_by?;
        let evidence = self.steps[ix].evidence.iter().filter(|evidence| evidence.met);
        let acts = evidence.flat_map(|evidence| evidence.entries.iter().copied());
        let acts: Vec<Ix> = acts.filter(|act| is_work(world.log(), *act)).collect();
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
        let through = |act: Ix| finished.done.iter().any(|signed| log.knows(act, *signed));
        let act = *later.acts.iter().find(|act| log.knows(**act, first) && !through(**act))?;
        let instance = &definition.steps()[later.step];
        let feature = instance.feature.map_or("", |at| definition.feature_at(at).path());
        let text = format!("begun, and {} was not signed", finished.id);
        Some(Finding::new(Rule::SeveralAtOnce, feature, &instance.id, self.ids(world, &[first, act]), text))
    }
}

/// Choosing a part for a place begins nothing.
fn is_work(log: &Log, ix: Ix) -> bool {
    match &log.at(ix).payload {
        Ok(Payload::Fitting(fitting)) => fitting.state == FittingState::Fitted,
        _ => true,
    }
}
