//! Read as slack while, by the record, it was tight: the free length of fasteners.

use super::finding::{Finding, Rule};
use super::fold::{Assessment, World};
use super::subject::SubjectIx;
use super::tightening::{Group, GroupKey};
use crate::entry::payload::{Payload, TighteningAct};
use crate::log::Ix;

/// The length of fasteners with nothing pulling on them.
const FREE_LENGTH: &str = "free-length";

impl Assessment {
    /// Free lengths that were read by somebody who knew that the group had been pulled.
    pub(super) fn read_while_tight(&self, world: World, key: &GroupKey, group: &Group) -> Vec<Finding> {
        let log = world.log();
        let pulled = |ix: &&Ix| {
            matches!(&log.at(**ix).payload, Ok(Payload::Tightening(done))
                if matches!(done.act, TighteningAct::Stage(_)))
        };
        let stages: Vec<Ix> = group.standing.iter().filter(pulled).copied().collect();
        if stages.is_empty() {
            return Vec::new();
        }
        let read = self.subject_at(&key.1).into_iter().flat_map(|ix| self.standing_of(ix, FREE_LENGTH));
        let tight =
            |ix: Ix| stages.iter().copied().find(|stage| log.knows(ix, *stage)).map(|stage| (ix, stage));
        let say = |(ix, stage): (Ix, Ix)| {
            let text = format!("{FREE_LENGTH} was read while {} stood tightened", key.0);
            let ids = self.ids(world, &[ix, stage]);
            Finding::new(Rule::ConditionsMissing, &key.1, FREE_LENGTH, ids, text).with_way_out(Some(
                "slacken the group, read it again, and begin again with the first stage".to_owned(),
            ))
        };
        read.filter_map(tight).map(say).collect()
    }

    /// Readings of a characteristic that stand.
    fn standing_of(&self, ix: SubjectIx, name: &str) -> impl Iterator<Item = Ix> {
        let slots = self.subjects[ix].slots.iter().filter(move |slot| slot.row.name == name);
        let readings = slots.flat_map(|slot| &slot.readings).map(|taken| taken.ix);
        readings.filter(|ix| self.entries[*ix as usize].status.stands())
    }
}
