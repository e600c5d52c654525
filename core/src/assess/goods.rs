//! Parts on their way: received before they are fitted, out with others, back with a ticket.

use std::collections::BTreeMap;

use super::finding::{Finding, Rule};
use super::fold::{Assessment, Placed, Source, World};
use super::order::latest;
use super::places::is_fitted;
use crate::engine::{Definition, part};
use crate::entry::payload::{Custody, Payload};
use crate::log::Ix;

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
    fn parts_away(&self, world: World, findings: &mut Vec<Finding>) {
        let log = world.log();
        let mut of_part: BTreeMap<&str, Vec<(Ix, &Custody)>> = BTreeMap::new();
        for ix in self.custodies.iter().copied().filter(|ix| self.outer(log, *ix).is_none()) {
            if let Ok(Payload::Custody(custody)) = &log.at(ix).payload {
                custody.parts.iter().for_each(|part| of_part.entry(part).or_default().push((ix, custody)));
            }
        }
        for (part, moves) in of_part {
            // Of moves that knew nothing of each other each is the last for somebody.
            for ix in latest(log, moves.iter().map(|(ix, _)| *ix)) {
                let Some((_, custody)) = moves.iter().find(|(other, _)| *other == ix) else { continue };
                let (rule, text) = if custody.out {
                    (Rule::PartOut, format!("{part} is with {}", custody.with_whom))
                } else if self.is_measured_since(world, part, ix) {
                    continue;
                } else {
                    (
                        Rule::TicketUnmeasured,
                        format!("{part} is back from {}{}", custody.with_whom, told(custody)),
                    )
                };
                findings.push(Finding::new(rule, "", part, self.ids(world, &[ix]), text));
            }
        }
    }

    /// Whether somebody who knew that a part was back has read anything on it.
    fn is_measured_since(&self, world: World, part: &str, back: Ix) -> bool {
        let log = world.log();
        let (sort, mark) = part.split_once('/').unwrap_or((part, ""));
        let measured = part::find(sort).map_or(&[][..], |sort| sort.measured);
        let number = self.number_of(part);
        self.subjects.iter().any(|subject| {
            let feature = &subject.feature;
            let own = feature.mark() == Some(mark)
                && part::carrying(feature.kind()).is_some_and(|s| s.name == sort);
            let of_engine = measured.contains(&feature.kind())
                && number.is_none_or(|number| feature.number().is_none_or(|other| other == number));
            let readings = || subject.slots.iter().flat_map(|slot| &slot.readings);
            (own || of_engine || &*subject.part == part)
                && readings().any(|taken| log.knows(taken.ix, back) && self.outer(log, taken.ix).is_none())
        })
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
