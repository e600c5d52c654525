//! Computing what was marked: places, work, subjects, values, groups, checks, steps.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::derived::{InputPoints, Point, derive};
use super::finding::Finding;
use super::fold::{Assessment, CheckKey, Dirty, Reach, Source, World};
use super::judged::{Judged, LimitInForce, Obstacle, Span, obstacle, verdict, without};
use super::order::latest;
use super::standing::Value;
use super::status::Status;
use super::subject::{Around, Ending, Slot, Subject, SubjectIx};
use crate::engine::{
    Characteristic, Definition, Derivation, Feature, FeatureKind, FeatureRef, What, characteristic,
    derivation::{self, Input},
};
use crate::entry::payload::{Operation, Payload};
use crate::log::Ix;
use crate::measure::{Judgement, Reason, Rule as DecisionRule, Verdict};

impl Assessment {
    /// Computes what the entries from place `from` on have touched.
    pub(super) fn compute(&mut self, world: World, from: usize) {
        if std::mem::take(&mut self.dirty.places) {
            self.settle_places(world);
        }
        self.settle_choices(world);
        self.settle_operations(world);
        if self.dirty.everything {
            self.dirty.subjects.extend(0..self.subjects.len());
            self.dirty.groups.extend(self.groups.keys().cloned());
            self.dirty.checks.extend(self.checks.keys().cloned());
            self.dirty.steps.extend(0..self.steps.len());
        }
        let dirty = std::mem::take(&mut self.dirty);
        self.dirty.everything = dirty.everything;
        let judged = self.settle_subjects(world, &dirty);
        if dirty.subjects.iter().any(|ix| self.subjects[*ix].feature.kind() == FeatureKind::Crank) {
            self.settle_rises(world);
        }
        for key in &dirty.checks {
            self.settle_check(world, key);
        }
        // A turn check stands between two stages: checks reach all groups.
        let groups: Vec<_> = if dirty.checks.is_empty() {
            let mut groups = dirty.groups;
            groups.extend(self.groups_read(&dirty.subjects));
            groups.into_iter().collect()
        } else {
            self.groups.keys().cloned().collect()
        };
        for key in &groups {
            self.settle_group(world, key);
        }
        // What came back may be measured by any reading.
        if dirty.everything || dirty.goods || !self.custodies.is_empty() {
            self.settle_goods(world);
        }
        // Readings alone reach the steps that ask for them; what else they do to the others is seen there.
        let only_read =
            !dirty.everything && dirty.steps.is_empty() && groups.is_empty() && dirty.checks.is_empty();
        let mut steps = dirty.steps;
        if !groups.is_empty() || !dirty.checks.is_empty() {
            steps.extend(0..self.steps.len());
        }
        steps.extend(self.touched_steps(&judged));
        steps.extend(std::mem::take(&mut self.dirty).steps);
        self.settle_steps(world, &steps, only_read);
        self.settle_entries(world, from);
        self.settle_record(world);
    }

    /// The groups of fasteners on which something was read.
    fn groups_read(&self, subjects: &BTreeSet<SubjectIx>) -> Vec<super::tightening::GroupKey> {
        let bolts = |ix: &&SubjectIx| self.subjects[**ix].feature.kind() == FeatureKind::RodBolts;
        let read: Vec<&str> =
            subjects.iter().filter(bolts).map(|ix| self.subjects[*ix].feature.path()).collect();
        self.groups.keys().filter(|key| read.contains(&&*key.1)).cloned().collect()
    }

    /// Files an entry's new status; steps whose signatures cite it are looked at again.
    pub(super) fn set_status(&mut self, ix: Ix, status: Status) {
        let entry = &mut self.entries[ix as usize];
        if entry.status != status {
            entry.status = status;
            self.dirty.steps(&entry.cited);
        }
    }

    /// Replaces the findings of one source.
    pub(super) fn put_findings(&mut self, source: Source, findings: Vec<Finding>) {
        if findings.is_empty() {
            self.findings.remove(&source);
        } else {
            self.findings.insert(source, findings);
        }
    }

    // ---- work

    /// Finds what each new operation ends, and files that with the subjects.
    fn settle_operations(&mut self, world: World) {
        let Some(definition) = self.definition.clone() else { return };
        let from = if self.dirty.everything { 0 } else { self.operations_filed };
        if from == 0 {
            for subject in &mut self.subjects {
                subject.endings.clear();
            }
        }
        // Work is alike over and over: what one hone of bore 3 reaches, the next one does.
        let mut known: BTreeMap<Touched, Arc<Reach>> = BTreeMap::new();
        for at in from..self.operations.len() {
            let by = self.operations[at].by;
            let Some(operation) = operation(world, by) else { continue };
            let touched = (&*operation.operation, &operation.features[..], &operation.parts[..]);
            let reach = match known.get(&touched) {
                Some(reach) => Arc::clone(reach),
                None => {
                    let reach = Arc::new(self.reach(&definition, operation));
                    known.insert(touched, Arc::clone(&reach));
                    reach
                }
            };
            for (number, what) in &reach.subjects {
                self.subjects[*number].endings.push(Ending { by, what: what.clone() });
                self.dirty.subject(*number);
            }
            if !self.dirty.everything {
                let groups = self.groups.keys().filter(|key| reach.is_at(&key.1));
                self.dirty.groups.extend(groups.cloned());
                let checks = self.checks.keys().filter(|key| reach.is_at(&key.1));
                self.dirty.checks.extend(checks.cloned());
            }
            self.operations[at].reach = reach;
        }
        self.operations_filed = self.operations.len();
        self.file_slackenings(world, &definition, if from == 0 { 0 } else { self.slackenings_filed });
    }

    /// What was read of fasteners when they were tight is past once they are slackened.
    fn file_slackenings(&mut self, world: World, definition: &Definition, from: usize) {
        for at in from..self.slackenings.len() {
            let by = self.slackenings[at];
            let Ok(Payload::Tightening(done)) = &world.log().at(by).payload else { continue };
            let Some(at) = definition.feature(&done.place).ok().and_then(|feature| feature.ix()) else {
                continue;
            };
            let what = What::Characteristics(vec![super::slack::TIGHT_LENGTH.to_owned()]);
            self.subjects[at.index()].endings.push(Ending { by, what });
            self.dirty.subject(at.index());
        }
        self.slackenings_filed = self.slackenings.len();
    }

    fn reach(&self, definition: &Definition, operation: &Operation) -> Reach {
        let mut reach = Reach::default();
        for path in operation.features.iter().chain(&operation.parts) {
            let Ok(feature) = definition.feature(path) else { continue };
            let fitted = feature.mark().and_then(|_| self.fitted_in(part_of(path)));
            let touched = definition.ends_fitted(&operation.operation, &feature, fitted);
            reach.ends.extend(touched.into_iter().map(|e| (e.features, e.what.clone(), e.reason.to_owned())));
        }
        let readings = |what: &What| matches!(what, What::Characteristics(_) | What::EveryCharacteristic);
        for (pattern, what, _) in &reach.ends {
            if !readings(what) {
                reach.other_ends.push((pattern.clone(), what.clone()));
                continue;
            }
            let here = |(_, subject): &(usize, &Subject)| pattern.matches(&subject.feature);
            let reached = self.subjects.iter().enumerate().filter(here);
            reach.subjects.extend(reached.map(|(number, _)| (number, what.clone())));
        }
        reach
    }

    /// The operations that end checks or tightenings at a place.
    pub(super) fn work_at(&self, world: World, place: &str, reaches: impl Fn(&What) -> bool) -> Vec<Ix> {
        let hits = |reach: &Reach| {
            reach.other_ends.iter().any(|(pattern, what)| reaches(what) && pattern.matches_path(place))
        };
        let reaching =
            self.operations.iter().filter(|operated| hits(&operated.reach)).map(|operated| operated.by);
        reaching.filter(|by| self.outer(world.log(), *by).is_none()).collect()
    }

    /// What became of a check or a tightening, with the work that ends such at its place.
    pub(super) fn fate_under(&self, world: World, ix: Ix, work: &[Ix]) -> Status {
        let log = world.log();
        if let Some(status) = self.outer(log, ix) {
            return status;
        }
        match self.orders.after_work(log, ix, work.iter().copied()) {
            Err(by) => Status::Ended(by),
            Ok(unsettled) if !unsettled.is_empty() => Status::Undecided(unsettled),
            Ok(_) => Status::Stands,
        }
    }

    fn settle_check(&mut self, world: World, key: &CheckKey) {
        let Some(all) = self.checks.get(key).cloned() else { return };
        let log = world.log();
        let work = self.work_at(world, &key.1, |what| what.ends_check(&key.0));
        let mut fates: Vec<(Ix, Status)> =
            all.iter().map(|ix| (*ix, self.fate_under(world, *ix, &work))).collect();
        let standing: Vec<Ix> = fates.iter().filter(|(_, s)| s.stands()).map(|(ix, _)| *ix).collect();
        for (ix, status) in &mut fates {
            let later = standing.iter().copied().filter(|other| log.knows(*other, *ix));
            // A turn check between two stages stays part of the story, whatever came later.
            let open = matches!(status, Status::Undecided(_)) || status.stands() && !is_passed(world, *ix);
            if open && let Some(by) = latest(log, later).first() {
                *status = Status::Superseded(*by);
            }
        }
        let mut findings = Vec::new();
        for (ix, status) in &fates {
            if status.stands() && !is_passed(world, *ix) {
                findings.push(self.failed_check(world, key, *ix));
            }
            findings.extend(self.undecided_finding(world, (&key.1, &key.0), *ix, status));
        }
        for (ix, status) in fates {
            self.set_status(ix, status);
        }
        self.put_findings(Source::Check(key.clone()), findings);
    }

    fn failed_check(&self, world: World, key: &CheckKey, ix: Ix) -> Finding {
        let statement = world.log().at(ix);
        let note = match &statement.payload {
            Ok(Payload::Check(check)) if !check.note.is_empty() => format!(": {}", check.note),
            _ => String::new(),
        };
        let text = format!("{} did not pass at {}{note}", key.0, key.1);
        Finding::new(super::finding::Rule::CheckFailed, &key.1, &key.0, vec![statement.id], text)
    }

    // ---- values

    /// Settles what was touched and judges it and all that reads it; says which.
    fn settle_subjects(&mut self, world: World, dirty: &Dirty) -> BTreeSet<SubjectIx> {
        for ix in &dirty.subjects {
            self.settle_subject(world, *ix);
        }
        let mut values: BTreeSet<SubjectIx> = dirty.subjects.clone();
        for ix in &dirty.subjects {
            values.extend(self.readers[*ix].iter().copied());
        }
        for ix in &values {
            self.judge_subject(world, *ix);
        }
        values
    }

    fn settle_subject(&mut self, world: World, ix: SubjectIx) {
        let empty = super::subject::Subject::new(self.subjects[ix].feature.clone(), "");
        let mut subject = std::mem::replace(&mut self.subjects[ix], empty);
        let outer = |entry: Ix| self.outer(world.log(), entry);
        let around = Around { log: world.log(), orders: &self.orders, outer: &outer };
        let statuses = subject.settle(&around);
        self.subjects[ix] = subject;
        for (entry, status) in statuses {
            self.set_status(entry, status);
        }
    }

    /// Judges every characteristic and derived value of a subject anew.
    fn judge_subject(&mut self, world: World, ix: SubjectIx) {
        let Some(definition) = self.definition.clone() else { return };
        let kind = self.subjects[ix].feature.kind();
        let mut judged = Vec::new();
        for row in characteristic::of_kind(kind) {
            judged.extend(self.judge_characteristic(world, &definition, ix, row));
        }
        for row in derivation::of_kind(kind) {
            let (value, read_from) = self.judge_derivation(world, &definition, ix, row);
            judged.extend(value);
            for source in read_from {
                self.readers[source].insert(ix);
            }
        }
        if self.halted {
            for value in judged.iter_mut().filter(|value| value.low.is_some()) {
                value.judgement = Judgement::not_judged(Reason::UnknownEntry, value.judgement.rule);
            }
        }
        self.subjects[ix].judged = judged;
        let findings = self.subject_findings(world, &definition, ix);
        self.put_findings(Source::Subject(ix), findings);
    }

    fn judge_characteristic(
        &self,
        world: World,
        definition: &Definition,
        ix: SubjectIx,
        row: &'static Characteristic,
    ) -> Option<Judged> {
        let subject = &self.subjects[ix];
        let slots = || subject.slots.iter().filter(|slot| slot.fit && slot.row.name == row.name);
        slots().next()?;
        let needed = definition.stations(row);
        let values = || slots().filter_map(Slot::value);
        let read = needed.iter().filter(|station| values_at(slots(), station)).count();
        let span = Span::over(values());
        let (span, limit) = self.worst_station(world, definition, ix, row, span);
        let span = span.map(|span| outside_or_all(span, limit.as_ref(), values()));
        let missing = || Obstacle::Missing("not read since it was changed".to_owned());
        let obstacle = obstacle(slots()).or_else(|| span.is_none().then(missing));
        let stations = (read, needed.len());
        Some(judged(row.name, row.kind, span, limit, obstacle, stations, None))
    }

    /// The span and limit that decide: of all stations together where one limit is for all,
    /// else of the station that comes off worst under its own.
    fn worst_station(
        &self,
        world: World,
        definition: &Definition,
        ix: SubjectIx,
        row: &'static Characteristic,
        all: Option<Span>,
    ) -> (Option<Span>, Option<LimitInForce>) {
        let feature = &self.subjects[ix].feature;
        if !definition.has_station_limits(feature, row.name) {
            return (all, self.limit(world, definition, feature, row.name, ""));
        }
        let slots = self.subjects[ix].slots.iter().filter(|slot| slot.fit && slot.row.name == row.name);
        let one = |slot: &Slot| {
            let span = Span::over(slot.value().into_iter())?;
            let limit = self.limit(world, definition, feature, row.name, &slot.station)?;
            Some((verdict(&span, Some(&limit)).verdict.badness(), span, limit))
        };
        match slots.filter_map(one).max_by_key(|(badness, ..)| *badness) {
            Some((_, span, limit)) => (Some(span), Some(limit)),
            None => (all, None),
        }
    }

    /// One station of a characteristic, under its own limit.
    pub(super) fn judged_at(&self, world: World, path: &str, name: &str, station: &str) -> Option<Judged> {
        let definition = self.definition.as_ref()?;
        let subject = &self.subjects[self.subject_at(path)?];
        let here = |slot: &&Slot| slot.fit && slot.row.name == name && *slot.station == *station;
        let slot = subject.slots.iter().find(here)?;
        let limit = self.limit(world, definition, &subject.feature, name, station);
        let span = Span::over(slot.value().into_iter());
        let missing = || Obstacle::Missing("not read since it was changed".to_owned());
        let obstacle = obstacle(std::iter::once(slot)).or_else(|| span.is_none().then(missing));
        let read = usize::from(span.is_some());
        Some(judged(slot.row.name, slot.row.kind, span, limit, obstacle, (read, 1), None))
    }

    /// A derived value, and the subjects it was read from.
    fn judge_derivation(
        &self,
        world: World,
        definition: &Definition,
        ix: SubjectIx,
        row: &'static Derivation,
    ) -> (Option<Judged>, Vec<SubjectIx>) {
        let feature = &self.subjects[ix].feature;
        let sources: Vec<Result<SubjectIx, String>> =
            row.inputs.iter().map(|input| self.source(world, definition, ix, input)).collect();
        let read_from: Vec<SubjectIx> = sources.iter().filter_map(|s| s.as_ref().ok().copied()).collect();
        if !read_from.iter().any(|source| !self.subjects[*source].slots.is_empty()) {
            return (None, read_from);
        }
        let mut points = Vec::new();
        let mut hindrance = None;
        let mut stations = (0, 0);
        for (input, source) in row.inputs.iter().zip(&sources) {
            match source {
                Err(missing) => {
                    hindrance.get_or_insert(Obstacle::Missing(missing.clone()));
                }
                Ok(source) => {
                    let (input, found, count) = self.points(definition, *source, input);
                    stations = (stations.0 + count.0, stations.1 + count.1);
                    hindrance = hindrance.or(found);
                    points.push(input);
                }
            }
        }
        let kind = crate::quantity::Kind::Length;
        let span = if hindrance.is_none() { derive(row, &points) } else { None };
        let missing = || Obstacle::Missing("not all stations it needs are read".to_owned());
        let hindrance = hindrance.or_else(|| span.is_none().then(missing));
        let limit = self.limit(world, definition, feature, row.name, "");
        (Some(judged(row.name, kind, span, limit, hindrance, stations, Some(row))), read_from)
    }

    /// The subject on which an input is read now.
    pub(super) fn source(
        &self,
        world: World,
        definition: &Definition,
        ix: SubjectIx,
        input: &Input,
    ) -> Result<SubjectIx, String> {
        if input.from == FeatureRef::Same {
            return Ok(ix);
        }
        self.subject_from(world, definition, &self.subjects[ix].feature, input.from)
    }

    /// The subject that another feature is seen from, as the parts lie now.
    pub(super) fn subject_from(
        &self,
        world: World,
        definition: &Definition,
        feature: &Feature,
        from: FeatureRef,
    ) -> Result<SubjectIx, String> {
        let number = feature.number();
        let path: Arc<str> = match from {
            FeatureRef::Same => feature.shared_path(),
            FeatureRef::PinOfRod => {
                let pin = number.and_then(|n| definition.layout().pin_of_rod(n)).unwrap_or_default();
                Arc::from(format!("pin/{pin}"))
            }
            FeatureRef::SameNumber(kind) => Arc::from(numbered(kind, number)),
            FeatureRef::PartAt { place, part } => {
                let place = numbered(place, number);
                Arc::from(self.path_on_part(world, &place, part)?)
            }
        };
        self.subject_at(&path).ok_or_else(|| format!("{path} is not read"))
    }

    /// The standing values of an input, what stands in the way, and stations read and needed.
    pub(super) fn points<'a>(
        &'a self,
        definition: &'a Definition,
        source: SubjectIx,
        input: &Input,
    ) -> (InputPoints<'a>, Option<Obstacle>, (usize, usize)) {
        let subject = &self.subjects[source];
        let slots = || subject.slots.iter().filter(|s| s.fit && s.row.name == input.characteristic);
        let row = characteristic::find(subject.feature.kind(), input.characteristic);
        let needed = row.map(|row| definition.stations(row)).unwrap_or_default();
        let read = needed.iter().filter(|station| values_at(slots(), station)).count();
        let points: Vec<Point> = slots()
            .filter_map(|slot| {
                let (level, direction) = slot.row.stations.split(&slot.station);
                Some(Point { level, direction, value: slot.value()? })
            })
            .collect();
        let missing = || {
            let path = subject.feature.path();
            Obstacle::Missing(format!("{} of {path} is not read", input.characteristic))
        };
        let hindrance = obstacle(slots()).or_else(|| points.is_empty().then(missing));
        // All levels of the table in its order, read or not: a taper is from end to end.
        let mut levels: Vec<&str> = Vec::new();
        for (row, station) in needed.iter().filter_map(|station| Some((row?, station))) {
            let (level, _) = row.stations.split(station);
            if !levels.contains(&level) {
                levels.push(level);
            }
        }
        (InputPoints { role: input.role, levels, points }, hindrance, (read, needed.len()))
    }

    /// What is read on a feature, by name, whichever part speaks for it.
    pub(super) fn judged_on(&self, path: &str, name: &str) -> Option<&Judged> {
        let subject = &self.subjects[self.subject_at(path)?];
        subject.judged.iter().find(|judged| judged.name == name)
    }
}

pub(super) fn judged(
    name: &'static str,
    kind: crate::quantity::Kind,
    span: Option<Span>,
    limit: Option<super::judged::LimitInForce>,
    obstacle: Option<Obstacle>,
    stations: (usize, usize),
    derivation: Option<&'static Derivation>,
) -> Judged {
    let rule = limit.as_ref().map_or_else(DecisionRule::default, |limit| limit.rule);
    let judgement = match (&obstacle, &span) {
        (Some(obstacle), _) => without(obstacle, rule),
        (None, Some(span)) => verdict(span, limit.as_ref()),
        (None, None) => without(&Obstacle::Missing(String::new()), rule),
    };
    let span = if obstacle.is_some() { None } else { span };
    Judged {
        name,
        kind,
        low: span.as_ref().map(|s| s.low),
        high: span.as_ref().map(|s| s.high),
        u: span.as_ref().and_then(|s| s.u),
        as_read: span.as_ref().and_then(|s| s.as_read),
        readings: span.map(|s| s.readings).unwrap_or_default(),
        judgement,
        limit,
        stations,
        obstacle,
        derivation,
    }
}

/// The span of all values; or of those alone that can be judged, where they are outside by
/// themselves: a reading that proves nothing must not hide one that proves the worst.
fn outside_or_all<'a>(
    all: Span,
    limit: Option<&LimitInForce>,
    values: impl Iterator<Item = &'a Value> + Clone,
) -> Span {
    if !matches!(verdict(&all, limit).verdict, Verdict::NotJudged(_)) {
        return all;
    }
    let judged = values.filter(|value| value.u.is_some() && value.uncorrected.is_none());
    let outside = |span: &Span| verdict(span, limit).verdict == Verdict::Outside;
    Span::over(judged).filter(outside).unwrap_or(all)
}

fn values_at<'a>(mut slots: impl Iterator<Item = &'a Slot>, station: &str) -> bool {
    slots.any(|slot| *slot.station == *station && slot.value().is_some())
}

/// Operation, features and parts of an operation entry.
type Touched<'a> = (&'a str, &'a [String], &'a [String]);

fn operation<'w>(world: World<'w>, ix: Ix) -> Option<&'w Operation> {
    match &world.log().at(ix).payload {
        Ok(Payload::Operation(operation)) => Some(operation),
        _ => None,
    }
}

fn numbered(kind: FeatureKind, number: Option<u8>) -> String {
    kind.row().pattern.replace("{n}", &number.unwrap_or_default().to_string())
}

/// `piston/B` of `piston/B/skirt`.
fn part_of(path: &str) -> &str {
    let mut slashes = path.match_indices('/').map(|(at, _)| at);
    slashes.nth(1).map_or(path, |at| &path[..at])
}

/// Whether an entry is a check that passed.
pub(super) fn is_passed(world: World, ix: Ix) -> bool {
    matches!(&world.log().at(ix).payload, Ok(Payload::Check(check)) if check.passed)
}
