//! Stops: work that waits to be resumed, and what was gone on with all the same.
//!
//! Only who knew of a stop, and of nobody's having resumed it, is found to have gone on under it.

use std::sync::Arc;

use super::between::{TURN_CHECK, turned_at};
use super::finding::{Finding, Rule};
use super::fold::{Assessment, CheckKey, World};
use super::rise::TURNING;
use super::sign_off::and_more;
use super::tightening::act;
use crate::engine::{Ask, Asked, Definition, FeatureKind, Target};
use crate::entry::payload::{Payload, Stop, TighteningAct};
use crate::log::Ix;

impl Assessment {
    /// Every stop that nothing has resumed, and what was done under any.
    pub(super) fn stopped(&self, world: World, findings: &mut Vec<Finding>) {
        let log = world.log();
        for ix in self.stops.iter().copied().filter(|ix| self.outer(log, *ix).is_none()) {
            let Ok(Payload::Stop(stop)) = &log.at(ix).payload else { continue };
            let resumes = self.resumes_of(world, ix);
            let tag = if stop.tag.is_empty() { String::new() } else { format!(" [{}]", stop.tag) };
            let found = format!("{}{tag}", stop.found);
            if resumes.is_empty() {
                let text = format!("{} stopped: {found}", self.author(world, ix));
                let ids = self.ids(world, &[ix]);
                findings.push(Finding::new(Rule::Stopped, &stop.feature, &stop.step, ids, text));
            }
            let under = self.gone_on_with(world, (ix, stop), &resumes);
            if let Some(first) = under.first() {
                let (did, more) = (self.did(world, *first), and_more(under.len() - 1));
                let text = format!("{did}{more}, knowing that it was stopped: {found}");
                let ids = self.ids(world, &[&[ix], &under[..]].concat());
                findings.push(Finding::new(Rule::WorkUnderStop, &stop.feature, &stop.step, ids, text));
            }
        }
    }

    /// What resumed a stop, by somebody who knew of it.
    fn resumes_of(&self, world: World, stop: Ix) -> Vec<Ix> {
        let log = world.log();
        let of_it = |ix: &Ix| match &log.at(*ix).payload {
            Ok(Payload::Resume(resume)) => log.place(&resume.stop) == Some(stop) && log.knows(*ix, stop),
            _ => false,
        };
        self.resumes.iter().copied().filter(of_it).filter(|ix| self.outer(log, *ix).is_none()).collect()
    }

    /// What stands of the work that a stop holds up, by those who knew of it and of no resuming; the
    /// first first.
    fn gone_on_with(&self, world: World, (ix, stop): (Ix, &Stop), resumes: &[Ix]) -> Vec<Ix> {
        let log = world.log();
        let Some(definition) = &self.definition else { return Vec::new() };
        let held = Held { definition, stop };
        let pulled = |ix: &Ix| !matches!(act(world, *ix), Some(TighteningAct::Slackened));
        let groups = self.groups.iter().filter(|(key, _)| held.tightens(key));
        let tightened = groups.flat_map(|(_, group)| group.standing.iter().copied().filter(pulled));
        let resumed = |act: Ix| resumes.iter().any(|resume| log.knows(act, *resume));
        let under = |act: &Ix| log.knows(*act, ix) && !resumed(*act);
        let checks = self.checks.iter().filter(|(key, _)| held.checks(key)).flat_map(|(_, list)| {
            // Checked again since it was resumed, it is known how it is.
            let again = |one: Ix| {
                list.iter().any(|ix| log.knows(*ix, one) && resumed(*ix) && self.outer(log, *ix).is_none())
            };
            list.iter().copied().filter(move |one| !again(*one))
        });
        let crank = self.subjects.iter().filter(|subject| subject.feature.kind() == FeatureKind::Crank);
        let slots = crank.flat_map(|subject| &subject.slots).filter(|slot| slot.row.name == TURNING);
        let turned = slots.filter(|_| held.turning()).flat_map(|slot| &slot.readings).map(|taken| taken.ix);
        let stands = |ix: &Ix| self.entries[*ix as usize].status.stands();
        let all = tightened.chain(checks).chain(turned);
        let all: Vec<Ix> = all.filter(under).filter(stands).collect();
        let earlier = |one: Ix| all.iter().filter(|other| log.knows(one, **other)).count();
        let mut placed: Vec<_> = all.iter().map(|one| (earlier(*one), log.at(*one).id, *one)).collect();
        placed.sort_unstable();
        placed.into_iter().map(|(.., one)| one).collect()
    }
}

/// What a stop holds up: its step, or everything where it names none; with a tag nothing turns.
struct Held<'a> {
    definition: &'a Definition,
    stop: &'a Stop,
}

impl Held<'_> {
    /// Whether nothing is to be turned: whoever goes by sees the tag.
    fn turning(&self) -> bool {
        self.stop.step.is_empty() || !self.stop.tag.trim().is_empty()
    }

    fn asks(&self) -> &[Ask] {
        let step = self.definition.step_index(&self.stop.step);
        step.map_or(&[], |at| &self.definition.steps()[at].asks)
    }

    fn tightens(&self, (group, place): &(Arc<str>, Arc<str>)) -> bool {
        self.stop.step.is_empty()
            || self.asks().iter().any(|ask| {
                matches!(&ask.asked, Asked::Tightening(name) if **name == **group)
                    && self.path(ask) == &**place
            })
    }

    fn checks(&self, (name, feature): &CheckKey) -> bool {
        let turns = |ask: &Ask| {
            matches!(ask.asked, Asked::Tightening(_)) && turned_at(self.path(ask)).any(|at| *at == **feature)
        };
        let asked = |ask: &Ask| {
            matches!(&ask.asked, Asked::Check(asked) if **asked == **name) && self.path(ask) == &**feature
        };
        let turn = **name == *TURN_CHECK;
        self.stop.step.is_empty()
            || (turn && self.turning())
            || self.asks().iter().any(|ask| asked(ask) || (turn && turns(ask)))
    }

    fn path(&self, ask: &Ask) -> &str {
        match ask.target {
            Target::Feature(at) => self.definition.feature_at(at).path(),
            Target::Engine | Target::PartAt { .. } => "",
        }
    }
}
