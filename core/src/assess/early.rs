//! Evidence from before: what was checked, read or pulled too early to say how things are now.
//!
//! It was made before fasteners were pulled that come first, while another part was in, or on a part
//! that has been with somebody since. It stays in the record; the step wants it anew.

use std::sync::Arc;

use super::fold::{Assessment, World};
use super::places::Left;
use super::rise::TURNING;
use super::slack::GROWN;
use super::steps::Evidence;
use super::tightening::{Group, GroupKey};
use crate::engine::{Ask, Asked, Definition, StepInstance, Target};
use crate::entry::payload::Payload;
use crate::log::Ix;

/// What evidence of a step must not come before.
pub(super) struct Before<'a> {
    /// The last act on each group of fasteners that the step comes after.
    pulled: Vec<(GroupKey, Ix)>,
    /// Parts that were fitted where the step, or one before it, asks for one, and left.
    left: Vec<(&'a str, &'a Left)>,
}

impl Assessment {
    /// What evidence of a step must not come before.
    pub(super) fn before_it<'a>(&'a self, definition: &'a Definition, instance: &StepInstance) -> Before<'a> {
        let asks = instance.prerequisites.iter().flat_map(|before| &definition.steps()[*before].asks);
        let pulled = |ask: &Ask| {
            let (Asked::Tightening(group), Target::Feature(place)) = (&ask.asked, ask.target) else {
                return None;
            };
            let key = (Arc::from(group.as_str()), definition.feature_at(place).shared_path());
            let last = *self.groups.get(&key)?.standing.last()?;
            Some((key, last))
        };
        let pulled = if self.groups.is_empty() { Vec::new() } else { asks.filter_map(pulled).collect() };
        let mut left = Vec::new();
        if !self.left.is_empty() {
            for place in &instance.part_places {
                let path = definition.feature_at(*place).path();
                left.extend(self.left.get(path).into_iter().flatten().map(|left| (path, left)));
            }
        }
        Before { pulled, left }
    }

    /// Why a piece of evidence says nothing of how things are now; none: it does.
    pub(super) fn too_early(
        &self,
        world: World,
        ask: &Ask,
        evidence: &Evidence,
        before: &Before,
    ) -> Option<String> {
        if !evidence.met || evidence.entries.is_empty() {
            return None;
        }
        let pulled = || self.before_pulled(world, ask, evidence, &before.pulled);
        let left = || self.before_left(world, ask, evidence, &before.left);
        pulled().or_else(left).or_else(|| match &ask.asked {
            Asked::Read(_) | Asked::Judged(_) => self
                .read_before_it_left(&evidence.entries)
                .or_else(|| self.read_while_tight(&evidence.entries))
                .or_else(|| self.read_grown(&evidence.entries)),
            Asked::Tightening(_) => self.pulled_before_it_left(&evidence.entries),
            Asked::Check(_)
            | Asked::Operation(_)
            | Asked::Part(_)
            | Asked::Decision(_)
            | Asked::Approval(_)
            | Asked::GaugeCheck(_) => None,
        })
    }

    /// A free length that was read while the group was tight.
    fn read_while_tight(&self, entries: &[Ix]) -> Option<String> {
        let tight = |(key, group): (&GroupKey, &Group)| {
            let read = group.read_tight.iter().any(|(ix, _)| entries.contains(ix));
            read.then(|| format!("read while {} stood tightened", key.0))
        };
        self.groups.iter().find_map(tight)
    }

    /// A free length, or what is made of it, of a fastener that is not to be used again.
    fn read_grown(&self, entries: &[Ix]) -> Option<String> {
        let grown = |group: &Group| group.grown.iter().any(|ix| entries.contains(ix));
        self.groups.values().any(grown).then(|| GROWN.to_owned())
    }

    /// A check or a reading of which nothing was made since fasteners were pulled.
    fn before_pulled(
        &self,
        world: World,
        ask: &Ask,
        evidence: &Evidence,
        pulled: &[(GroupKey, Ix)],
    ) -> Option<String> {
        let word = match &ask.asked {
            Asked::Check(_) => "checked",
            Asked::Read(_) => "read",
            // What is made of several readings says itself which of them it needs when.
            Asked::Judged(name) if evidence.entries.iter().all(|ix| is_reading_of(world, *ix, name)) => {
                "read"
            }
            Asked::Judged(_)
            | Asked::Tightening(_)
            | Asked::Operation(_)
            | Asked::Part(_)
            | Asked::Decision(_)
            | Asked::Approval(_)
            | Asked::GaugeCheck(_) => return None,
        };
        let since = |act: Ix| evidence.entries.iter().any(|ix| self.is_before(world, act, *ix));
        let ((group, place), _) = pulled.iter().find(|(_, act)| !since(*act))?;
        Some(format!("{word} before {group} of {place} were pulled"))
    }

    /// A check, or a tightening, made while a part was in that came out since.
    fn before_left(
        &self,
        world: World,
        ask: &Ask,
        evidence: &Evidence,
        left: &[(&str, &Left)],
    ) -> Option<String> {
        let word = match &ask.asked {
            Asked::Check(_) => "checked",
            Asked::Tightening(_) => "pulled",
            // How the crank turned with it in says nothing of how it turns without.
            Asked::Read(name) | Asked::Judged(name) if name == TURNING => "read",
            Asked::Read(_)
            | Asked::Judged(_)
            | Asked::Operation(_)
            | Asked::Part(_)
            | Asked::Decision(_)
            | Asked::Approval(_)
            | Asked::GaugeCheck(_) => return None,
        };
        let while_in = |left: &Left| {
            let between =
                |ix: &Ix| self.is_before(world, left.fitted, *ix) && self.is_before(world, *ix, left.out);
            evidence.entries.iter().any(between)
        };
        let (place, left) = left.iter().find(|(_, left)| while_in(left))?;
        Some(format!("{word} before {} came out of {place}", left.part))
    }
}

fn is_reading_of(world: World, ix: Ix, name: &str) -> bool {
    matches!(&world.log().at(ix).payload, Ok(Payload::Reading(reading)) if reading.characteristic == name)
}
