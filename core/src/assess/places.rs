//! Where each part is: of every part the latest known fitting stands, wherever it was.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::finding::{Finding, Rule};
use super::fold::{Assessment, Placed, World};
use super::order::latest;
use super::status::Status;
use super::subject::SubjectIx;
use crate::engine::{FeatureKind, part};
use crate::entry::payload::{Fitting, FittingState, Payload};
use crate::log::{Ix, Log};

/// A part that was fitted at a place, and left it.
#[derive(Clone, Debug)]
pub(super) struct Left {
    pub(super) part: Arc<str>,
    pub(super) fitted: Ix,
    pub(super) out: Ix,
}

impl Assessment {
    /// Settles every fitting: what stands, and so what is where.
    pub(super) fn settle_places(&mut self, world: World) {
        let log = world.log();
        let mut by_part: BTreeMap<&str, Vec<(Ix, &Fitting)>> = BTreeMap::new();
        for ix in self.fittings.values().flatten().copied() {
            if self.outer(log, ix).is_none()
                && let Some(fitting) = fitting(world, ix)
            {
                by_part.entry(&fitting.part).or_default().push((ix, fitting));
            }
        }
        let mut placed: BTreeMap<Arc<str>, Vec<Placed>> = BTreeMap::new();
        self.left.clear();
        for (part, fittings) in by_part {
            self.note_left(log, part, &fittings);
            let standing: Vec<(Ix, &Fitting)> = fittings
                .iter()
                .copied()
                .filter(|(ix, one)| match replaced(log, *ix, one, &fittings) {
                    Some(by) => {
                        self.set_status(*ix, Status::Replaced(by));
                        false
                    }
                    None => {
                        self.set_status(*ix, Status::Stands);
                        one.state != FittingState::TakenOut
                    }
                })
                .collect();
            let mut places: BTreeMap<&str, Vec<Ix>> = BTreeMap::new();
            for (ix, one) in standing {
                places.entry(&one.place).or_default().push(ix);
            }
            for (place, list) in places {
                if let Some(by) = latest(log, list.into_iter()).first() {
                    let here = Placed { part: Arc::from(part), by: *by };
                    placed.entry(Arc::from(place)).or_default().push(here);
                }
            }
        }
        // What is found first among them must not hang on the order of arrival.
        let by_id = |left: &Left| (log.at(left.fitted).id, log.at(left.out).id);
        self.left.values_mut().for_each(|left| left.sort_unstable_by_key(by_id));
        self.placed = placed;
        self.dirty.everything = true;
        self.operations_filed = 0;
    }

    /// Notes where a part was fitted and came out again, or went elsewhere, by somebody who knew.
    fn note_left(&mut self, log: &Log, part: &str, fittings: &[(Ix, &Fitting)]) {
        for (ix, fitted) in fittings.iter().filter(|(_, one)| one.state == FittingState::Fitted) {
            let leaves = |(by, other): &&(Ix, &Fitting)| {
                let away = other.state == FittingState::TakenOut || other.place != fitted.place;
                away && log.knows(*by, *ix)
            };
            for (out, _) in fittings.iter().filter(leaves) {
                let left = Left { part: Arc::from(part), fitted: *ix, out: *out };
                self.left.entry(Arc::from(&*fitted.place)).or_default().push(left);
            }
        }
    }

    /// The parts of one sort at a place, fitted ones before those only allotted.
    pub(super) fn parts_at(&self, world: World, place: &str, sort: &str) -> Vec<&Placed> {
        let all = self.placed.get(place).into_iter().flatten();
        let of_sort = |p: &&Placed| sort_of(&p.part) == Some(sort);
        let fitted = |p: &&Placed| is_fitted(world, p.by);
        let of_sort: Vec<&Placed> = all.filter(of_sort).collect();
        let fitted: Vec<&Placed> = of_sort.iter().copied().filter(fitted).collect();
        if fitted.is_empty() { of_sort } else { fitted }
    }

    /// Parts of a sort that were received, and not voided since.
    pub(super) fn parts_entered(&self, log: &Log, sort: &str) -> Vec<Ix> {
        let received = self.parts_received.get(sort).into_iter().flatten().copied();
        received.filter(|ix| self.outer(log, *ix).is_none()).collect()
    }

    /// Path of a feature of the one part of its sort at a place; what is missing, otherwise.
    pub(super) fn path_on_part(
        &self,
        world: World,
        place: &str,
        part: FeatureKind,
    ) -> Result<String, String> {
        let pattern = part.row().pattern;
        let sort = part::carrying(part).map_or("part", |sort| sort.name);
        match self.parts_at(world, place, sort)[..] {
            [one] => Ok(pattern.replace("{mark}", mark_of(&one.part))),
            [] => Err(format!("no {sort} is allotted to {place}")),
            _ => Err(format!("more than one {sort} is at {place}")),
        }
    }

    /// The subject that speaks for a feature now: of the one part that is there, where that is
    /// read under its mark, else the feature's own.
    pub(super) fn subject_at(&self, path: &str) -> Option<SubjectIx> {
        let path: Arc<str> = Arc::from(path);
        let of_part = |part: Arc<str>| self.subject_of.get(&(Arc::clone(&path), part)).copied();
        let marked = match self.placed.get(&path).map(Vec::as_slice) {
            Some([one]) => of_part(Arc::clone(&one.part)),
            _ => None,
        };
        marked.or_else(|| of_part(Arc::from("")))
    }

    /// Number of the cylinder in whose bore a part sits.
    pub(super) fn fitted_in(&self, part: &str) -> Option<u8> {
        let here = |(place, parts): (&Arc<str>, &Vec<Placed>)| {
            let number = place.strip_prefix("bore/")?.parse().ok()?;
            parts.iter().any(|p| &*p.part == part).then_some(number)
        };
        self.placed.iter().find_map(here)
    }

    /// Parts that are in two places, and places with two parts of one sort.
    pub(super) fn part_conflicts(&self, world: World, findings: &mut Vec<Finding>) {
        let mut places: BTreeMap<&str, Vec<(&str, Ix)>> = BTreeMap::new();
        for (place, parts) in &self.placed {
            for placed in parts {
                places.entry(&placed.part).or_default().push((place, placed.by));
            }
        }
        for (part, at) in places.into_iter().filter(|(_, at)| at.len() > 1) {
            let ids: Vec<Ix> = at.iter().map(|(_, by)| *by).collect();
            let words: Vec<&str> = at.iter().map(|(place, _)| *place).collect();
            let text = format!("{part} is entered at {}", words.join(" and at "));
            findings.push(Finding::new(Rule::PartConflict, at[0].0, part, self.ids(world, &ids), text));
        }
        for (place, parts) in &self.placed {
            let mut sorts: Vec<&str> = parts.iter().filter_map(|placed| sort_of(&placed.part)).collect();
            sorts.dedup();
            for sort in sorts.into_iter().filter(|sort| part::find(sort).is_some()) {
                let here = self.parts_at(world, place, sort);
                findings.extend(self.not_as_chosen(world, place, sort, &here));
                if here.len() > 1 {
                    let ids: Vec<Ix> = here.iter().map(|placed| placed.by).collect();
                    let words: Vec<&str> = here.iter().map(|placed| &*placed.part).collect();
                    let text = format!("{} are entered at {place}", words.join(" and "));
                    let chosen = here.iter().all(|placed| !is_fitted(world, placed.by));
                    let way_out = chosen.then(|| {
                        format!("several are chosen for one place: allot the one that is not for {place} elsewhere")
                    });
                    let finding = Finding::new(Rule::PartConflict, place, sort, self.ids(world, &ids), text);
                    findings.push(finding.with_way_out(way_out));
                }
            }
        }
    }

    /// A part fitted by somebody who knew that another one was chosen for the place.
    fn not_as_chosen(&self, world: World, place: &str, sort: &str, here: &[&Placed]) -> Option<Finding> {
        let [fitted] = *here else { return None };
        let all = self.placed.get(place).into_iter().flatten().filter(|one| sort_of(&one.part) == Some(sort));
        let mut chosen = all.filter(|one| one.part != fitted.part && world.log().knows(fitted.by, one.by));
        let chosen = chosen.next().filter(|_| is_fitted(world, fitted.by))?;
        let text = format!("{} is fitted at {place}, for which {} was chosen", fitted.part, chosen.part);
        let ids = self.ids(world, &[fitted.by, chosen.by]);
        let way_out =
            format!("fit {}, or enter that it was taken out of the choice for {place}", chosen.part);
        Some(Finding::new(Rule::PartConflict, place, sort, ids, text).with_way_out(Some(way_out)))
    }
}

/// The later fitting that replaced this one: of the part elsewhere, or out of here.
fn replaced(log: &Log, ix: Ix, one: &Fitting, all: &[(Ix, &Fitting)]) -> Option<Ix> {
    let later = all.iter().filter(|(other, says)| {
        let out = says.state == FittingState::TakenOut;
        let here = says.place == one.place;
        // Allotted and then fitted in one place is the same place still.
        let same = here && !out && one.state != FittingState::TakenOut;
        log.knows(*other, ix) && !same && (here || !out)
    });
    latest(log, later.map(|(other, _)| *other)).first().copied()
}

/// `B` of `piston/B`.
fn mark_of(part: &str) -> &str {
    part.split_once('/').map_or(part, |(_, mark)| mark)
}

/// `piston` of `piston/B`.
fn sort_of(part: &str) -> Option<&str> {
    part.split_once('/').map(|(sort, _)| sort)
}

/// Whether an entry says that a part is in its place, not only chosen for it.
pub(super) fn is_fitted(world: World, ix: Ix) -> bool {
    fitting(world, ix).is_some_and(|fitting| fitting.state == FittingState::Fitted)
}

fn fitting<'w>(world: World<'w>, ix: Ix) -> Option<&'w Fitting> {
    match &world.log().at(ix).payload {
        Ok(Payload::Fitting(fitting)) => Some(fitting),
        _ => None,
    }
}
