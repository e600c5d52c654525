//! What lies between the acts on a group of fasteners, and what comes next: turn checks, and stops.

use std::sync::Arc;

use super::compute::is_passed;
use super::fold::{Assessment, CheckKey, World};
use super::tightening::GroupKey;
use crate::engine::{Asked, Target};
use crate::entry::payload::Payload;
use crate::log::Ix;

/// The check after each stage.
pub(crate) const TURN_CHECK: &str = "turns-free";

/// What comes next on a group of fasteners.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum NextAct {
    /// Run down by hand and nip.
    Nip,
    /// Pull this stage, counted from 1.
    Stage(u32),
    /// Turn the crank and enter the check.
    Turn,
    /// Slacken evenly and begin again: something was wrong, or it was left part-tightened.
    Slacken,
    /// Nothing: it is done.
    #[default]
    Nothing,
}

impl NextAct {
    /// In words.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Nip => "nip",
            Self::Stage(_) => "stage",
            Self::Turn => "turn",
            Self::Slacken => "slacken",
            Self::Nothing => "nothing",
        }
    }
}

impl Assessment {
    /// The groups of fasteners of which a check is the turn check after a stage: group, place, stages done.
    pub fn turn_check_of(&self, ix: Ix) -> impl Iterator<Item = (&str, &str, u32)> {
        let of = self.groups.iter().filter(move |(_, group)| group.turn_checks.contains(&ix));
        of.map(|((group, place), done)| (&**group, &**place, done.stages_done))
    }

    /// Whether an act lies after one stage and before the next, if there is a next.
    fn lies_between(&self, world: World, act: Ix, (stage, next): (Ix, Option<Ix>)) -> bool {
        let before = |a: Ix, b: Ix| self.is_before(world, a, b);
        before(stage, act) && next.is_none_or(|next| before(act, next))
    }

    /// A stop on the step of this group, after one stage and before the next, if there is a next.
    pub(super) fn stop_between(
        &self,
        world: World,
        key: &GroupKey,
        stage: Ix,
        next: Option<Ix>,
    ) -> Option<Ix> {
        let log = world.log();
        let here = |ix: &Ix| match &log.at(*ix).payload {
            Ok(Payload::Stop(stop)) => stop.step.is_empty() || self.step_tightens(&stop.step, key),
            _ => false,
        };
        let live = self.stops.iter().copied().filter(|ix| self.outer(log, *ix).is_none());
        live.filter(here)
            .filter(|stop| self.lies_between(world, *stop, (stage, next)))
            .min_by_key(|ix| log.at(*ix).id)
    }

    fn step_tightens(&self, step: &str, key: &GroupKey) -> bool {
        let Some(definition) = &self.definition else { return false };
        let Some(at) = definition.step_index(step) else { return false };
        definition.steps()[at].asks.iter().any(|ask| match (&ask.asked, ask.target) {
            (Asked::Tightening(group), Target::Feature(place)) => {
                **group == *key.0 && definition.feature_at(place).path() == &*key.1
            }
            _ => false,
        })
    }

    /// The passed turn check after `stage` and before `next`.
    pub(super) fn turn_check(&self, world: World, key: &GroupKey, stage: Ix, next: Option<Ix>) -> Option<Ix> {
        self.turn_found(world, key, (stage, next), true)
    }

    /// The turn check after `stage` and before `next` that did not pass.
    pub(super) fn bound(&self, world: World, key: &GroupKey, stage: Ix, next: Option<Ix>) -> Option<Ix> {
        self.turn_found(world, key, (stage, next), false)
    }

    fn turn_found(
        &self,
        world: World,
        key: &GroupKey,
        between: (Ix, Option<Ix>),
        passed: bool,
    ) -> Option<Ix> {
        let log = world.log();
        let keys = turned_at(&key.1).map(|at| -> CheckKey { (Arc::from(TURN_CHECK), Arc::from(at)) });
        let mut found: Vec<Ix> = keys
            .filter_map(|key| self.checks.get(&key))
            .flatten()
            .copied()
            .filter(|ix| self.outer(log, *ix).is_none() && is_passed(world, *ix) == passed)
            .filter(|ix| self.lies_between(world, *ix, between))
            .collect();
        found.sort_unstable_by_key(|ix| log.at(*ix).id);
        let earliest = |ix: &&Ix| !found.iter().any(|other| log.knows(**ix, *other));
        found.iter().find(earliest).copied()
    }
}

/// Features on which a turn check of a group counts: the group's own place, the crank, and
/// for the bolts of a rod its cylinder.
pub(super) fn turned_at(place: &str) -> impl Iterator<Item = String> + '_ {
    let cylinder = place.strip_prefix("rod/").and_then(|rest| rest.split('/').next());
    [place.to_owned(), "crank".to_owned()].into_iter().chain(cylinder.map(|n| format!("cylinder/{n}")))
}
