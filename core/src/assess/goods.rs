//! Parts on their way: received before they are fitted, out with others, back with a ticket.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::finding::{Finding, Rule};
use super::fold::{Assessment, Placed, Source, World};
use super::order::latest;
use super::places::is_fitted;
use super::status::Status;
use super::subject::Subject;
use super::tightening::is_stage;
use crate::engine::{Definition, part};
use crate::entry::payload::{Custody, Payload};
use crate::log::Ix;

/// A part that is with somebody, or is back and was not measured since.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Away {
    whom: String,
    /// Whether it is out still.
    out: bool,
    /// Readings of it that say nothing of it now.
    readings: BTreeSet<Ix>,
}

/// Checks that cutting ends.
const WASHES: [&str; 2] = ["final-wash", "crank-washed"];

impl Assessment {
    /// Looks at the parts anew.
    pub(super) fn settle_goods(&mut self, world: World) {
        let mut findings = Vec::new();
        self.unreceived(world, &mut findings);
        self.cut_with_part_in(world, &mut findings);
        self.parts_away(world, &mut findings);
        self.put_findings(Source::Goods, findings);
    }

    /// Fitted parts of which nobody entered that they came in.
    fn unreceived(&self, world: World, findings: &mut Vec<Finding>) {
        for (place, parts) in &self.placed {
            for placed in parts.iter().filter(|placed| is_fitted(world, placed.by)) {
                let Some((sort, mark)) = placed.part.split_once('/') else { continue };
                if !self.is_received(world, sort, mark) {
                    let text = format!("{} is fitted at {place}, and was never received", placed.part);
                    let ids = self.ids(world, &[placed.by]);
                    findings.push(Finding::new(Rule::NotReceived, place, &placed.part, ids, text));
                }
            }
        }
    }

    fn is_received(&self, world: World, sort: &str, mark: &str) -> bool {
        let of_mark = |ix: &Ix| match &world.log().at(*ix).payload {
            Ok(Payload::PartReceived(received)) => received.mark == mark,
            _ => false,
        };
        let received = self.parts_received.get(sort).into_iter().flatten();
        received.filter(|ix| of_mark(ix)).any(|ix| self.outer(world.log(), *ix).is_none())
    }

    /// Metal cut where a part is fitted, by somebody who knew that it was.
    fn cut_with_part_in(&self, world: World, findings: &mut Vec<Finding>) {
        let log = world.log();
        let Some(definition) = &self.definition else { return };
        for ix in self.operations.iter().map(|operated| operated.by) {
            let Ok(Payload::Operation(done)) = &log.at(ix).payload else { continue };
            for path in &done.features {
                let here = self.placed.get(path.as_str()).into_iter().flatten();
                let fitted = |placed: &&Placed| log.knows(ix, placed.by) && is_fitted(world, placed.by);
                let Some(placed) = here.into_iter().find(fitted) else { continue };
                if cuts(definition, &done.operation) && self.outer(log, ix).is_none() {
                    let text = format!("{} at {path}, with {} in it", done.operation, placed.part);
                    let ids = self.ids(world, &[ix, placed.by]);
                    findings.push(Finding::new(Rule::CutWithPartIn, path, &placed.part, ids, text));
                }
            }
        }
    }

    /// Parts that are out, and parts that came back and were not measured since.
    fn parts_away(&mut self, world: World, findings: &mut Vec<Finding>) {
        let log = world.log();
        let mut of_part: BTreeMap<&str, Vec<(Ix, &Custody)>> = BTreeMap::new();
        for ix in self.custodies.iter().copied().filter(|ix| self.outer(log, *ix).is_none()) {
            if let Ok(Payload::Custody(custody)) = &log.at(ix).payload {
                custody.parts.iter().for_each(|part| of_part.entry(part).or_default().push((ix, custody)));
            }
        }
        let mut away = BTreeMap::new();
        let mut built_in = BTreeMap::new();
        for (part, mut moves) in of_part {
            // What is found first among them must not hang on the order of arrival.
            moves.sort_unstable_by_key(|(ix, _)| log.at(*ix).id);
            self.left_built_in(world, part, &moves, &mut built_in, findings);
            // Of moves that knew nothing of each other each is the last for somebody.
            for ix in latest(log, moves.iter().map(|(ix, _)| *ix)) {
                let Some((_, custody)) = moves.iter().find(|(other, _)| *other == ix) else { continue };
                findings.extend(self.out_twice(world, part, (ix, custody), &moves));
                let out = moves.iter().filter(|(other, custody)| custody.out && log.knows(ix, *other));
                let left = latest(log, out.map(|(ix, _)| *ix)).first().copied();
                let Some((finding, gone)) = self.away(world, part, (ix, custody), left.unwrap_or(ix)) else {
                    continue;
                };
                if self.conceded(world, &finding).is_none() {
                    away.insert(Arc::from(part), gone);
                }
                findings.push(finding);
            }
        }
        if (&self.away, &self.built_in) != (&away, &built_in) {
            self.away = away;
            self.built_in = built_in;
            let all: Vec<usize> = (0..self.steps.len()).collect();
            self.dirty.steps(&all);
        }
    }

    /// Stages that stand on what holds a part, though it has been away since or was away when they were
    /// pulled.
    fn left_built_in(
        &self,
        world: World,
        part: &str,
        moves: &[(Ix, &Custody)],
        built_in: &mut BTreeMap<Ix, String>,
        findings: &mut Vec<Finding>,
    ) {
        let log = world.log();
        let (Some(definition), Some(sort)) = (&self.definition, part::of_mark(part)) else {
            return;
        };
        let number = self.number_of(part);
        for (key, group) in &self.groups {
            let Ok(place) = definition.feature(&key.1) else { continue };
            let here = number.is_none_or(|number| place.number().is_none_or(|other| other == number));
            if !here || !sort.held_at.contains(&place.kind()) {
                continue;
            }
            let contradicts = |stage: Ix| {
                let out = moves.iter().filter(|(_, custody)| custody.out);
                out.map(|(out, custody)| (*out, custody)).find(|(out, _)| {
                    let back = |back: &&(Ix, &Custody)| {
                        !back.1.out && log.knows(back.0, *out) && log.knows(stage, back.0)
                    };
                    log.knows(*out, stage) || (log.knows(stage, *out) && !moves.iter().any(|m| back(&m)))
                })
            };
            let stands = group.standing.iter().copied().filter(|ix| is_stage(world, *ix));
            let mut found = stands.filter_map(|stage| Some((stage, contradicts(stage)?)));
            let Some((first, (out, custody))) = found.next() else { continue };
            let why = format!("{part} was with {}", custody.with_whom);
            let text = format!("{} of {} stand tightened, and {why}", key.0, key.1);
            let ids = self.ids(world, &[first, out]);
            findings.push(Finding::new(Rule::OutWhileBuiltIn, &key.1, part, ids, text));
            built_in.insert(first, why.clone());
            built_in.extend(found.map(|(stage, _)| (stage, why.clone())));
        }
    }

    /// A part that was sent out by somebody who knew that it was out, and not that it had come back.
    fn out_twice(
        &self,
        world: World,
        part: &str,
        (ix, custody): (Ix, &Custody),
        moves: &[(Ix, &Custody)],
    ) -> Option<Finding> {
        let log = world.log();
        let back = |out: Ix| {
            let returns = moves.iter().filter(|(_, custody)| !custody.out);
            returns.clone().any(|(back, _)| log.knows(*back, out) && log.knows(ix, *back))
        };
        let known = moves.iter().filter(|(out, before)| before.out && log.knows(ix, *out) && !back(*out));
        let out = latest(log, known.map(|(out, _)| *out)).first().copied().filter(|_| custody.out)?;
        let (_, before) = moves.iter().find(|(other, _)| *other == out)?;
        let text = format!(
            "{part} went out to {}, and by the record it was out with {}",
            custody.with_whom, before.with_whom
        );
        Some(Finding::new(Rule::OutTwice, "", part, self.ids(world, &[out, ix]), text))
    }

    /// What is to be said of a part by its last move, and of which readings it takes the worth.
    fn away(
        &self,
        world: World,
        part: &str,
        (ix, custody): (Ix, &Custody),
        left: Ix,
    ) -> Option<(Finding, Away)> {
        let whom = custody.with_whom.clone();
        let ids = self.ids(world, &[ix]);
        if custody.out {
            let text = format!("{part} is with {whom}");
            let readings = self.read_on(world, part, |_| true);
            let text = match readings.len() {
                0 => text,
                1 => text + "; 1 reading of it waits",
                several => text + &format!("; {several} readings of it wait"),
            };
            let gone = Away { whom, out: true, readings };
            return Some((Finding::new(Rule::PartOut, "", part, ids, text), gone));
        }
        let log = world.log();
        let again = !self.read_on(world, part, |reading| log.knows(reading, ix)).is_empty();
        let worked = self.is_worked_on_since(world, part, left);
        // A place that somebody read again since has no old value: theirs took its place, or differs.
        let old = self.read_on(world, part, |reading| !log.knows(reading, ix));
        let unread = if worked { BTreeSet::new() } else { self.not_read_since(world, ix, &old) };
        if again && unread.is_empty() {
            return None;
        }
        let places: BTreeSet<&str> =
            unread.iter().filter_map(|ix| Some(world.record.spot(*ix)?.1.feature.path())).collect();
        let first = places.first().map(|first| {
            let more = super::sign_off::and_more(places.len() - 1);
            format!("enter the work that was done on it, or read it again: {first}{more}; a lead may concede it where nothing of that was touched")
        });
        let text = format!("{part} is back from {whom}{}", told(custody));
        let finding = Finding::new(Rule::TicketUnmeasured, "", part, ids, text).with_way_out(first);
        Some((finding, Away { whom, out: false, readings: unread }))
    }

    /// Readings that stand on what is measured of a part.
    fn read_on(&self, world: World, part: &str, which: impl Fn(Ix) -> bool) -> BTreeSet<Ix> {
        let Some(sort) = part::of_mark(part) else {
            return BTreeSet::new();
        };
        let slots = self
            .subjects
            .iter()
            .filter(|subject| self.is_on(subject, part))
            .flat_map(|subject| &subject.slots);
        let readings = slots.filter(|slot| sort.owns(slot.row)).flat_map(|slot| &slot.readings);
        let stands = |ix: &Ix| self.outer(world.log(), *ix).is_none() && !self.is_ended(*ix);
        readings.map(|taken| taken.ix).filter(|ix| which(*ix) && stands(ix)).collect()
    }

    fn is_ended(&self, ix: Ix) -> bool {
        matches!(self.entries[ix as usize].status, Status::Ended(_))
    }

    /// Of old readings those at whose place nobody who knew that the part was back has read.
    fn not_read_since(&self, world: World, back: Ix, old: &BTreeSet<Ix>) -> BTreeSet<Ix> {
        let log = world.log();
        let again = |ix: &Ix| {
            let (Some(subject), Some((noted, _))) =
                (self.entries[*ix as usize].subject, world.record.spot(*ix))
            else {
                return true;
            };
            let readings = self.subjects[subject].slots.iter().flat_map(|slot| &slot.readings);
            let same =
                |other: Ix| world.record.spot(other).is_some_and(|(other, _)| other.spot == noted.spot);
            readings.map(|taken| taken.ix).any(|other| log.knows(other, back) && same(other))
        };
        old.iter().copied().filter(|ix| !again(ix)).collect()
    }

    /// Whether somebody who knew that a part had left entered work on it.
    fn is_worked_on_since(&self, world: World, part: &str, left: Ix) -> bool {
        let log = world.log();
        let Some(definition) = &self.definition else { return false };
        let sort = part::of_mark(part);
        let of_sort = |path: &str| {
            let kind = definition.feature(path).ok().map(|feature| feature.kind());
            kind.is_some_and(|kind| {
                sort.is_some_and(|s| s.measured.contains(&kind) || s.places.contains(&kind))
            })
        };
        let on = |ix: Ix| match &log.at(ix).payload {
            Ok(Payload::Operation(done)) => {
                done.parts.iter().any(|named| named == part)
                    || done.features.iter().any(|path| path.starts_with(part) || of_sort(path))
            }
            _ => false,
        };
        let mut work = self.operations.iter().map(|operated| operated.by);
        work.any(|by| log.knows(by, left) && self.outer(log, by).is_none() && on(by))
    }

    /// Why a tightening does not count: the part that it holds has been away.
    pub(super) fn pulled_before_it_left(&self, entries: &[Ix]) -> Option<String> {
        let why = entries.iter().find_map(|ix| self.built_in.get(ix))?;
        Some(format!("stood tightened while {why}"))
    }

    /// The part that was away between two readings of it, if one was.
    pub(super) fn away_between<'w>(
        &self,
        world: World<'w>,
        (earlier, later): (Ix, Ix),
    ) -> Option<(&'w str, &'w str)> {
        let log = world.log();
        let subject = self.entries[earlier as usize].subject?;
        let (_, spot) = world.record.spot(earlier)?;
        let of = |part: &&'w String| {
            let sort = part::of_mark(part);
            sort.is_some_and(|sort| sort.owns(spot.row)) && self.is_on(&self.subjects[subject], part)
        };
        let between =
            self.custodies.iter().copied().filter(|ix| {
                log.knows(*ix, earlier) && log.knows(later, *ix) && self.outer(log, *ix).is_none()
            });
        let away = between.filter_map(|ix| match &log.at(ix).payload {
            Ok(Payload::Custody(custody)) if custody.out => {
                Some((log.at(ix).id, custody.parts.iter().find(of)?, custody.with_whom.as_str()))
            }
            _ => None,
        });
        away.min_by_key(|(id, ..)| *id).map(|(_, part, whom)| (part.as_str(), whom))
    }

    /// Whether a feature is one on a part.
    fn is_on(&self, subject: &Subject, part: &str) -> bool {
        let mark = part.split_once('/').map_or("", |(_, mark)| mark);
        match subject.feature.mark() {
            Some(of) => of == mark,
            None => {
                let number = self.number_of(part);
                number.is_none_or(|number| subject.feature.number().is_none_or(|other| other == number))
            }
        }
    }

    /// Why a piece of evidence does not count: what was read of a part before it was with somebody.
    pub(super) fn read_before_it_left(&self, entries: &[Ix]) -> Option<String> {
        let (part, away) =
            self.away.iter().find(|(_, away)| entries.iter().any(|ix| away.readings.contains(ix)))?;
        Some(format!("read before {part} was with {}", away.whom))
    }

    /// The part of which a reading was made while it is out with somebody, and with whom.
    #[must_use]
    pub fn read_while_away(&self, ix: Ix) -> Option<(&str, &str)> {
        let waits = |(_, away): &(&Arc<str>, &Away)| away.out && away.readings.contains(&ix);
        self.away.iter().find(waits).map(|(part, away)| (&**part, away.whom.as_str()))
    }

    /// The cylinder or journal at which a part sits or is to sit.
    fn number_of(&self, part: &str) -> Option<u8> {
        let here = |(place, parts): (&std::sync::Arc<str>, &Vec<Placed>)| {
            let number = place.split('/').nth(1)?.parse().ok()?;
            parts.iter().any(|placed| &*placed.part == part).then_some(number)
        };
        self.placed.iter().find_map(here)
    }
}

/// Whether an operation leaves chips: it ends a wash.
fn cuts(definition: &Definition, operation: &str) -> bool {
    let named = definition.operations().iter().filter(|row| row.name == operation);
    named.flat_map(|row| &row.ends).any(|ends| WASHES.iter().any(|wash| ends.what.ends_check(wash)))
}

fn told(custody: &Custody) -> String {
    let ticket = custody.ticket.trim();
    if ticket.is_empty() { String::new() } else { format!(", whose ticket says `{ticket}`") }
}
