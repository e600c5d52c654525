//! How the turning torque rose with each cylinder, compared with the others.

use super::finding::{Finding, Rule};
use super::fold::{Assessment, Source, World};
use super::order::latest;
use super::show::amount;
use crate::engine::FeatureKind;
use crate::log::{Ix, Log};
use crate::quantity::Kind;

/// The characteristic, and the station of the crank alone.
pub(super) const TURNING: &str = "turning-torque";
const ALONE: &str = "mains/running";

/// A rise is uneven above this many times, or below this part of, the middle one of all
/// (common practice, no source).
const TIMES: i64 = 2;

/// Cylinders that it takes for a comparison.
const COMPARED: usize = 3;

/// What the crank took to turn at one station.
struct Turned<'a> {
    station: &'a str,
    /// In base units of torque.
    torque: i64,
    /// The first reading there ever was: when it was turned with this cylinder new. One read again
    /// later says what it was, not when.
    first: Ix,
    /// What stands.
    by: &'a [Ix],
}

/// The rise with one cylinder.
#[derive(Clone, Debug)]
pub(super) struct Rise {
    /// The station, such as `cylinder-2/running`.
    pub(super) station: String,
    /// In base units of torque; below nothing where it fell.
    pub(super) rise: i64,
    /// The readings of it, and those of the station before it.
    pub(super) by: Vec<Ix>,
}

impl Assessment {
    /// The rise with each cylinder whose reading followed another. Cylinders may be filled in any
    /// order: what a reading rose from is the last one that its reader knew of.
    fn rises_now(&self, world: World) -> Vec<Rise> {
        let log = world.log();
        let turned = self.turned(world);
        let rise = |one: &Turned<'_>| {
            let known = turned.iter().filter(|other| log.knows(one.first, other.first));
            let [before] = latest(log, known.map(|other| other.first))[..] else { return None };
            let before = turned.iter().find(|other| other.first == before)?;
            let by = [one.by, before.by].concat();
            Some(Rise { station: one.station.to_owned(), rise: one.torque - before.torque, by })
        };
        turned.iter().filter(|one| one.station != ALONE).filter_map(rise).collect()
    }

    /// Standing readings of the crank's turning torque, running.
    fn turned(&self, world: World) -> Vec<Turned<'_>> {
        let cranks = self.subjects.iter().filter(|subject| subject.feature.kind() == FeatureKind::Crank);
        let slots = cranks.flat_map(|crank| &crank.slots).filter(|slot| slot.fit && slot.row.name == TURNING);
        let running = slots.filter(|slot| slot.station.ends_with("/running"));
        let turned = running.filter_map(|slot| {
            let value = slot.value()?;
            let first = first(world.log(), slot.readings.iter().map(|taken| taken.ix))?;
            Some(Turned { station: &slot.station, torque: value.value, first, by: &value.readings })
        });
        turned.collect()
    }

    /// Finds the rises anew, and those that are much more, or much less, than with the other cylinders.
    pub(super) fn settle_rises(&mut self, world: World) {
        self.rises = self.rises_now(world);
        let findings = self.uneven_rises(world);
        self.put_findings(Source::Rises, findings);
    }

    fn uneven_rises(&self, world: World) -> Vec<Finding> {
        let Some(middle) = middle(self.rises.iter().map(|rise| rise.rise).collect()) else {
            return Vec::new();
        };
        let is_uneven =
            |one: &&Rise| one.rise > middle.saturating_mul(TIMES) || one.rise.saturating_mul(TIMES) < middle;
        let tell = |one: &Rise| {
            let (rise, middle) = (torque(one.rise), torque(middle));
            let text =
                format!("at {} it rose by {rise}; the middle one of all cylinders is {middle}", one.station);
            Finding::new(Rule::UnevenRise, "crank", &one.station, self.ids(world, &one.by), text)
        };
        self.rises.iter().filter(is_uneven).map(tell).collect()
    }
}

impl Rise {
    /// In words, such as `2.8 N·m more`.
    pub(super) fn words(&self) -> String {
        let way = if self.rise < 0 { "less" } else { "more" };
        format!("{} {way}", torque(self.rise.abs()))
    }
}

/// The entry that knows none of the others; of several the one of the smallest name.
fn first(log: &Log, all: impl Iterator<Item = Ix>) -> Option<Ix> {
    let all: Vec<Ix> = all.collect();
    let earliest = |ix: &&Ix| !all.iter().any(|other| log.knows(**ix, *other));
    all.iter().filter(earliest).min_by_key(|ix| log.at(**ix).id).copied()
}

/// The middle one of enough rises; of an even number the lower of the two in the middle.
fn middle(mut rises: Vec<i64>) -> Option<i64> {
    rises.sort_unstable();
    if rises.len() < COMPARED { None } else { rises.get((rises.len() - 1) / 2).copied() }
}

fn torque(base: i64) -> String {
    amount(Kind::Torque, base)
}
