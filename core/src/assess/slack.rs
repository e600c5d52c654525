//! What is read of fasteners slack and tight: by the record they were the other, or they have grown.

use super::between::NextAct;
use super::finding::{Finding, Rule};
use super::fold::{Assessment, World};
use super::order::latest;
use super::status::Status;
use super::subject::{Slot, Taken};
use super::tightening::{Group, GroupKey, act, another_lubricant, is_last_stage, is_stage};
use crate::engine::{Method, Reuse};
use crate::entry::payload::TighteningAct;
use crate::log::Ix;
use crate::quantity::{Amount, Kind};

/// The length of a fastener with nothing pulling on it.
pub(crate) const FREE_LENGTH: &str = "free-length";

/// What is to be done about a fastener that has grown.
pub(super) const GROWN: &str = "grown beyond the maker's: new bolts";

/// Where a group is proven by its stretch, and nothing is pulled yet.
const READ_NOW: &str = "free length not read: read it now, it cannot be read once pulled";

/// The same once it is pulled.
const NOT_READ: &str = "free length not read before it was pulled, so its stretch cannot be told: slacken evenly, read it, begin again";

/// Its length at its final stage.
pub(super) const TIGHT_LENGTH: &str = "tight-length";

impl Assessment {
    /// Free lengths that were read after the group had been pulled and before it was slackened, each with
    /// the stage.
    pub(super) fn read_tight(&self, world: World, key: &GroupKey, group: &Group) -> Vec<(Ix, Ix)> {
        let stages: Vec<(Ix, Option<Ix>)> = self.stages(world, group).collect();
        if stages.is_empty() {
            return Vec::new();
        }
        let before = |a: Ix, b: Ix| self.is_before(world, a, b);
        // Of two slackenings of which neither is known first, either lets go.
        let slack: Vec<Ix> = group.acts.iter().copied().filter(|ix| self.lets_go(world, *ix)).collect();
        let tight = |ix: Ix| {
            let let_go = |stage: Ix| slack.iter().any(|slack| before(stage, *slack) && before(*slack, ix));
            let held = |(stage, end): &&(Ix, Option<Ix>)| {
                before(*stage, ix) && !end.is_some_and(|end| before(end, ix)) && !let_go(*stage)
            };
            stages.iter().find(held).map(|(stage, _)| (ix, *stage))
        };
        let read = self.slots_of(key, FREE_LENGTH).flat_map(|slot| &slot.readings).map(|taken| taken.ix);
        read.filter(|ix| self.entries[*ix as usize].status.stands()).filter_map(tight).collect()
    }

    /// Findings about them.
    pub(super) fn read_tight_findings(
        &self,
        world: World,
        key: &GroupKey,
        tight: &[(Ix, Ix)],
    ) -> Vec<Finding> {
        let way_out = "slacken the group if it is tight, read it again, and begin again with the first stage";
        let say = |(ix, stage): &(Ix, Ix)| {
            let text = format!("{FREE_LENGTH} was read while {} stood tightened", key.0);
            let ids = self.ids(world, &[*ix, *stage]);
            Finding::new(Rule::ConditionsMissing, &key.1, FREE_LENGTH, ids, text)
                .with_way_out(Some(way_out.to_owned()))
        };
        tight.iter().map(say).collect()
    }

    /// Fasteners that are longer slack than before they were pulled, by more than the maker allows.
    /// Each with the reading that says so.
    pub(super) fn grown(&self, world: World, key: &GroupKey, group: &Group) -> Vec<(Ix, Finding)> {
        let fastener = self.definition.as_ref().and_then(|definition| definition.fastener(&key.0));
        let Some(Reuse::WithinGrowth(allowed)) = fastener.map(|fastener| &fastener.reuse) else {
            return Vec::new();
        };
        let grown = |slot: &Slot| {
            let (new, now) = self.before_and_after(world, group, slot)?;
            let by = now.sized.value - new.sized.value;
            if by <= allowed.amount().base() {
                return None;
            }
            let by = Amount::new(Kind::Length, by).show(Kind::Length.main_unit(), 3);
            let at = &slot.station;
            let text = format!("{at} has grown by {by} since it was new; the maker allows {allowed}");
            let ids = self.ids(world, &[new.ix, now.ix]);
            Some((now.ix, Finding::new(Rule::FastenerGrown, &key.1, at, ids, text)))
        };
        self.slots_of(key, FREE_LENGTH).filter(|slot| slot.fit).filter_map(grown).collect()
    }

    /// The first free length of one fastener, and the last one read since the group was pulled.
    fn before_and_after<'a>(
        &self,
        world: World,
        group: &Group,
        slot: &'a Slot,
    ) -> Option<(&'a Taken, &'a Taken)> {
        let log = world.log();
        let before = |a: Ix, b: Ix| self.is_before(world, a, b);
        let speaks = |taken: &&Taken| {
            let ended = matches!(self.entries[taken.ix as usize].status, Status::Ended(_));
            let tight = group.read_tight.iter().any(|(ix, _)| *ix == taken.ix);
            !ended && !tight && self.outer(log, taken.ix).is_none()
        };
        let read: Vec<&Taken> = slot.readings.iter().filter(speaks).collect();
        let last = *latest(log, read.iter().map(|taken| taken.ix)).first()?;
        let now = read.iter().find(|taken| taken.ix == last)?;
        let pulled = |new: &&&Taken| {
            self.stages(world, group).any(|(stage, _)| before(new.ix, stage) && before(stage, now.ix))
        };
        let mut old: Vec<&Taken> = read.iter().filter(pulled).copied().collect();
        old.sort_unstable_by_key(|taken| taken.id);
        let first = |taken: &&&Taken| !old.iter().any(|other| log.knows(taken.ix, other.ix));
        Some((old.iter().find(first)?, now))
    }

    /// What comes first, before anything more is pulled on a group of fasteners; none: nothing.
    #[must_use]
    pub fn comes_first(&self, group: &str, place: &str) -> Option<String> {
        let begun = self.groups.get(&(group.into(), place.into()));
        if begun.is_some_and(|group| !group.grown.is_empty()) {
            return Some(GROWN.to_owned());
        }
        let clean = begun.and_then(|group| group.to_clean.clone());
        let read = self.read_first(group, place, begun).map(str::to_owned);
        let all: Vec<String> = clean.into_iter().chain(read).collect();
        (!all.is_empty()).then(|| all.join("; "))
    }

    /// What is to be said of the free length before anything is pulled.
    fn read_first(&self, group: &str, place: &str, begun: Option<&Group>) -> Option<&'static str> {
        let fastener = self.definition.as_ref()?.fastener(group)?;
        let read = || self.judged_on(place, FREE_LENGTH).is_some_and(super::judged::Judged::is_complete);
        if fastener.method != Method::Stretch || read() {
            return None;
        }
        match begun {
            Some(group) if group.next == NextAct::Slacken => None,
            Some(group) if group.stages_done > 0 => Some(NOT_READ),
            Some(_) | None => Some(READ_NOW),
        }
    }

    /// What is to be put right before a group that was slackened is pulled again: it was on another lubricant,
    /// which stays on the thread, and what was pulled in full on it may have grown.
    pub(super) fn to_clean(&self, world: World, key: &GroupKey, group: &Group) -> Option<String> {
        let fastener = self.definition.as_ref()?.fastener(&key.0)?;
        let [slack] = group.standing[..] else { return None };
        if act(world, slack) != Some(TighteningAct::Slackened) {
            return None;
        }
        let ended = |ix: &Ix| matches!(self.entries[*ix as usize].status, Status::Ended(by) if by == slack);
        let round = || group.acts.iter().copied().filter(ended);
        let wrong = |ix: Ix| another_lubricant(world, fastener, ix);
        let used = round().find_map(wrong)?;
        let mut said = format!("{used} was on it: clean thread and face, and use {}", fastener.lubricant);
        let full = round().any(|ix| is_last_stage(world, fastener, ix));
        let mut read = self.slots_of(key, FREE_LENGTH).flat_map(|slot| &slot.readings).peekable();
        if full && read.peek().is_some() && !read.any(|t| self.is_before(world, slack, t.ix)) {
            said.push_str("; it was pulled in full: read the free length again");
        }
        Some(said)
    }

    /// Stages that were pulled, each with the slackening or the work that ended it.
    fn stages<'a>(
        &'a self,
        world: World<'a>,
        group: &'a Group,
    ) -> impl Iterator<Item = (Ix, Option<Ix>)> + 'a {
        let acts = group.acts.iter().copied().filter(move |ix| is_stage(world, *ix));
        acts.filter_map(|ix| match &self.entries[ix as usize].status {
            Status::Stands => Some((ix, None)),
            Status::Ended(by) => Some((ix, Some(*by))),
            Status::NotCounted
            | Status::Voided(_)
            | Status::Superseded(_)
            | Status::Replaced(_)
            | Status::Doubtful(_)
            | Status::Undecided(_)
            | Status::Disputed
            | Status::Outvoted => None,
        })
    }

    /// Whether an act slackened, and was not withdrawn.
    fn lets_go(&self, world: World, ix: Ix) -> bool {
        let status = &self.entries[ix as usize].status;
        act(world, ix) == Some(TighteningAct::Slackened)
            && (status.stands() || matches!(status, Status::Ended(_)))
    }

    fn slots_of<'a>(&'a self, key: &GroupKey, name: &'static str) -> impl Iterator<Item = &'a Slot> {
        let subject = self.subject_at(&key.1).map(|ix| &self.subjects[ix]);
        subject.into_iter().flat_map(|subject| &subject.slots).filter(move |slot| slot.row.name == name)
    }
}
