//! What somebody chose: limits, decisions, assignments. Of each the latest known stands.

use std::collections::{BTreeMap, BTreeSet};

use super::finding::{Finding, Rule};
use super::fold::{Assessment, World, voided};
use super::limits;
use super::order::latest;
use super::status::Status;
use crate::entry::EntryId;
use crate::entry::payload::Payload;
use crate::log::Ix;

impl Assessment {
    /// Settles what became of every choice; a voided entry of any kind says so as well.
    pub(super) fn settle_choices(&mut self, world: World) {
        let log = world.log();
        let mut fates: Vec<(Ix, Status)> = Vec::new();
        fates.extend(self.voids.iter().map(|(target, voids)| (*target, voided(log, voids))));
        for list in self.choices.values() {
            let newest = self.standing_choice(world, list);
            let settled = if words(world, &newest).len() > 1 { Status::Disputed } else { Status::Stands };
            fates.extend(self.fates_of_choices(world, list, &newest, &settled));
        }
        for list in self.limit_changes.values().flat_map(BTreeMap::values) {
            // A change may state limits, a rule or both; it stands while one of them does.
            for states in [limits::states_bounds, limits::states_rule] {
                let newest = self.newest_stating(world, list, states);
                let stating = |ix: &Ix| limits::change(world, *ix).is_some_and(states);
                let list: Vec<Ix> = list.iter().copied().filter(stating).collect();
                let agreed = limits::agreed(world, &newest);
                let settled = if agreed { Status::Stands } else { Status::Disputed };
                let more = self.fates_of_choices(world, &list, &newest, &settled);
                for (ix, status) in more {
                    match fates.iter_mut().find(|(other, _)| *other == ix) {
                        Some((_, before)) if status == Status::Stands => *before = status,
                        Some(_) => {}
                        None => fates.push((ix, status)),
                    }
                }
            }
        }
        for (ix, status) in fates {
            self.set_status(ix, status);
        }
    }

    /// What became of each live choice of a list, given those that none of the others knew.
    fn fates_of_choices(
        &self,
        world: World,
        list: &[Ix],
        newest: &[Ix],
        settled: &Status,
    ) -> Vec<(Ix, Status)> {
        let log = world.log();
        let live = list.iter().copied().filter(|ix| self.outer(log, *ix).is_none());
        let fate = |ix: Ix| {
            let later = newest.iter().copied().filter(|by| log.knows(*by, ix));
            latest(log, later).first().map_or_else(|| settled.clone(), |by| Status::Replaced(*by))
        };
        live.map(|ix| (ix, fate(ix))).collect()
    }

    /// The latest known of several choices on one subject.
    pub(super) fn standing_choice(&self, world: World, choices: &[Ix]) -> Vec<Ix> {
        let live = choices.iter().copied().filter(|ix| self.outer(world.log(), *ix).is_none());
        latest(world.log(), live)
    }

    pub(super) fn disputed_choices(&self, world: World, findings: &mut Vec<Finding>) {
        for ((kind, subject), choices) in &self.choices {
            let newest = self.standing_choice(world, choices);
            if words(world, &newest).len() > 1 {
                let text =
                    format!("{} on {subject}: stated differently, neither knowing of the other", kind.name());
                let ids: Vec<EntryId> = self.ids(world, &newest);
                findings.push(Finding::new(Rule::DisputedChoice, "", subject, ids, text));
            }
        }
    }

    pub(super) fn disputed_orders(&self, world: World, findings: &mut Vec<Finding>) {
        let log = world.log();
        for (a, b) in self.orders.pairs() {
            if let Some(stated) = self.orders.disputed(log, a, b) {
                // Places follow the order of arrival, which is not to be seen.
                let (a, b) = if log.at(a).id < log.at(b).id { (a, b) } else { (b, a) };
                let text =
                    format!("{} and {}: stated both ways round", self.did(world, a), self.did(world, b));
                let ids = self.ids(world, &stated);
                findings.push(Finding::new(Rule::DisputedChoice, "", "order", ids, text));
            }
        }
    }
}

/// What several choices come to: one word where they agree.
fn words(world: World, choices: &[Ix]) -> BTreeSet<String> {
    let word = |ix: &Ix| match &world.log().at(*ix).payload {
        Ok(Payload::Decision(decision)) => decision.text.clone(),
        Ok(Payload::Assignment(assignment)) => assignment.person.to_hex(),
        _ => String::new(),
    };
    choices.iter().map(word).collect()
}
