//! Steps expanded for an engine: one instance for each feature, in an order that works.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::sync::Arc;

use super::characteristic;
use super::fastener::Fastener;
use super::feature::{Feature, FeatureIx, FeatureKind};
use super::layout::Layout;
use super::limit::Limits;
use super::nearest::{closest, suggest};
use super::operation::Operation;
use super::part;
use super::places::Places;
use super::problem::Problems;
use super::procedure::{Asked, Evidence, Procedure, Step, suggest_few};
use super::stations::StationTable;
use super::subject::Subject;

/// Most steps of a procedure as written.
const MOST_STEPS: usize = 300;

/// Most instances of steps, and most pieces of evidence, on one engine.
const MOST_INSTANCES: usize = 3_000;
const MOST_ASKS: usize = 20_000;

/// A step on one feature.
#[derive(Clone, Debug)]
pub struct StepInstance {
    /// Name, such as `big-end-clearance/2`; the step's own where it is done once.
    pub id: Arc<str>,
    /// Index of the step in [`super::Definition::procedure`].
    pub step: usize,
    /// Its feature; none: the engine as a whole.
    pub feature: Option<FeatureIx>,
    /// Indices of the instances that come before it; all are smaller than its own.
    pub prerequisites: Vec<usize>,
    /// Places at which this step, or one that comes before it on the same cylinder or journal, asks
    /// for a part.
    pub part_places: Vec<FeatureIx>,
    /// The instance that must be signed before this step is begun on another feature.
    pub finished_by: Option<usize>,
    /// What must be there to sign it.
    pub asks: Vec<Ask>,
}

/// A piece of evidence on one feature.
#[derive(Clone, Debug)]
pub struct Ask {
    /// What.
    pub asked: Asked,
    /// The characteristic or derived value, where one is asked for.
    pub subject: Option<Subject>,
    /// Where.
    pub target: Target,
    /// At which station; empty: at every one that is needed.
    pub station: String,
    /// In words, such as `clearance judged, main/2`; of a part's feature without its path.
    pub words: Arc<str>,
}

/// Where evidence is given.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Target {
    /// On the engine as a whole.
    Engine,
    /// On a feature.
    Feature(FeatureIx),
    /// On the part that is fitted, or else allotted, at a place.
    PartAt {
        /// The place.
        place: FeatureIx,
        /// Which feature of the part.
        part: FeatureKind,
    },
}

/// Everything that evidence is checked against.
pub(super) struct Ground<'g> {
    pub(super) layout: &'g Layout,
    pub(super) places: &'g Places,
    pub(super) limits: &'g Limits,
    pub(super) fasteners: &'g [Fastener],
    pub(super) operations: &'g [Operation],
    pub(super) stations: &'g StationTable,
}

/// Expands the steps of a procedure, in their order; problems where evidence cannot be given.
pub(super) fn expand(
    procedure: &mut Procedure,
    ground: &Ground<'_>,
    out: &mut Problems,
) -> Vec<StepInstance> {
    let clean = out.is_empty();
    if procedure.steps.len() > MOST_STEPS {
        let reason = format!("{} steps; at most {MOST_STEPS} are read", procedure.steps.len());
        out.add(0, "procedure", reason, "");
        return Vec::new();
    }
    check_references(procedure, out);
    order(procedure, out);
    let said = BTreeSet::new();
    let mut expansion = Expansion { procedure, ground, said, clean, ranges: BTreeMap::new(), out };
    let mut instances: Vec<StepInstance> = Vec::new();
    let mut asks = 0;
    for index in 0..expansion.procedure.steps.len() {
        let fresh = expansion.instances(index, &instances);
        asks += fresh.iter().map(|instance| instance.asks.len()).sum::<usize>();
        instances.extend(fresh);
        if instances.len() > MOST_INSTANCES || asks > MOST_ASKS {
            let reason =
                format!("more than {MOST_INSTANCES} steps or {MOST_ASKS} pieces of evidence on this engine");
            expansion.out.add(0, "procedure", reason, "");
            break;
        }
    }
    finishes(&mut expansion, &mut instances);
    instances
}

/// Finds for each step that is done on one feature at a time the instance that ends it there.
fn finishes(expansion: &mut Expansion<'_, '_>, instances: &mut [StepInstance]) {
    for at in 0..instances.len() {
        let step = &expansion.procedure.steps[instances[at].step];
        let Some(last) = &step.one_at_a_time else { continue };
        let range = expansion.ranges.get(last.as_str()).cloned().unwrap_or(0..0);
        let mut same = range.filter(|other| instances[*other].feature == instances[at].feature);
        let found = same.next().filter(|_| instances[at].feature.is_some());
        if found.is_none() && expansion.said.insert((step.id.clone(), last.clone())) {
            let reason = format!("`one-at-a-time` names `{last}`, which is not a step on the same features");
            let known: Vec<&str> = expansion.procedure.steps.iter().map(|step| &*step.id).collect();
            let near = if known.contains(&&**last) { String::new() } else { suggest_few(last, &known) };
            let way_out = "name a step with the same `per`, or leave it out";
            let hint = if near.is_empty() { way_out } else { &near };
            // Of a step that nobody changed the place is where the other was dropped.
            let dropped = expansion.procedure.dropped.iter().find(|(id, _)| id == last).map(|(_, at)| *at);
            let (at, hint) = match (step.at, dropped) {
                (None, Some(dropped)) => (dropped, "replace this step first, without its `one-at-a-time`"),
                (at, _) => (at.unwrap_or(0), hint),
            };
            expansion.out.add(at, place_of(step), reason, hint);
        }
        instances[at].finished_by = found;
    }
}

fn place_of(step: &Step) -> String {
    format!("step {}", step.id)
}

fn check_references(procedure: &Procedure, out: &mut Problems) {
    let known: Vec<&str> = procedure.steps.iter().map(|step| &*step.id).collect();
    for step in &procedure.steps {
        for id in step.after.iter().chain(&step.after_same) {
            if !known.contains(&id.as_str()) {
                let reason = format!("it comes after `{}`, which is no step", super::name::short(id));
                out.add(step.at.unwrap_or(0), place_of(step), reason, suggest_few(id, &known));
            }
        }
        if let Some(kind) = step.per.iter().find(|kind| kind.is_part()) {
            let reason = format!("`per` names {kind}, which is on parts with free marks");
            let hint = "do it per bore and ask for evidence `on` the part";
            out.add(step.at.unwrap_or(0), place_of(step), reason, hint);
        }
    }
}

/// Sorts steps by stage and place in the text, but each after those it waits for.
fn order(procedure: &mut Procedure, out: &mut Problems) {
    procedure.steps.sort_by_key(|step| step.stage);
    let before = waits(&procedure.steps);
    let mut done = vec![false; before.len()];
    let mut sequence: Vec<usize> = Vec::with_capacity(before.len());
    while sequence.len() < before.len() {
        let free = |&at: &usize| !done[at] && before[at].iter().all(|&other| done[other]);
        let Some(at) = (0..before.len()).find(free) else {
            refuse_circle(&procedure.steps, &before, &done, out);
            break;
        };
        done[at] = true;
        sequence.push(at);
    }
    let mut steps: Vec<Option<Step>> = std::mem::take(&mut procedure.steps).into_iter().map(Some).collect();
    procedure.steps = sequence.into_iter().filter_map(|at| steps[at].take()).collect();
}

/// For each step, the indices of those it waits for.
fn waits(steps: &[Step]) -> Vec<Vec<usize>> {
    let index: BTreeMap<&str, usize> = (0..).zip(steps).map(|(at, step)| (&*step.id, at)).collect();
    let of = |step: &Step| {
        let ids = step.after.iter().chain(&step.after_same);
        ids.filter_map(|id| index.get(id.as_str()).copied()).collect()
    };
    steps.iter().map(of).collect()
}

/// Names the steps of one circle, walking from each to one that it waits for.
fn refuse_circle(steps: &[Step], before: &[Vec<usize>], done: &[bool], out: &mut Problems) {
    let mut walked: Vec<usize> = Vec::new();
    let mut at = done.iter().position(|done| !done);
    while let Some(step) = at {
        if let Some(start) = walked.iter().position(|&other| other == step) {
            walked.drain(..start);
            break;
        }
        walked.push(step);
        at = before[step].iter().copied().find(|&other| !done[other]);
    }
    let edited = walked.iter().copied().find(|&at| steps[at].at.is_some());
    let Some(first) = edited.or(walked.first().copied()) else { return };
    let names: Vec<&str> = walked.iter().map(|&at| &*steps[at].id).collect();
    let reason = format!("these wait for each other in a circle: {}", names.join(", "));
    let edited = &steps[first];
    let named = edited.after.iter().map(|id| ("after", id));
    let named = named.chain(edited.after_same.iter().map(|id| ("after-same", id)));
    let closes = named.into_iter().find(|(_, id)| names.contains(&id.as_str()));
    let hint = closes.map_or_else(
        || "take one out of `after` or `after-same`".to_owned(),
        |(list, id)| format!("take `{id}` out of `{list}` of `{}`, or another link of the circle", edited.id),
    );
    out.add(steps[first].at.unwrap_or(0), place_of(&steps[first]), reason, hint);
}

struct Expansion<'e, 'g> {
    procedure: &'e Procedure,
    ground: &'e Ground<'g>,
    /// Whether nothing was wrong before: else what the default procedure misses may follow.
    clean: bool,
    /// Instances of each step expanded so far.
    ranges: BTreeMap<&'e str, Range<usize>>,
    /// Complaints made, so that one is not made again for each cylinder.
    said: BTreeSet<(String, String)>,
    out: &'e mut Problems,
}

impl<'e> Expansion<'e, '_> {
    fn instances(&mut self, index: usize, earlier: &[StepInstance]) -> Vec<StepInstance> {
        let procedure: &'e Procedure = self.procedure;
        let places = self.ground.places;
        let step = &procedure.steps[index];
        let fresh: Vec<StepInstance> = if step.per.is_empty() {
            vec![self.instance(index, None, earlier)]
        } else {
            let on = step.per.iter().flat_map(|&kind| places.of_kind(kind));
            let mut features: Vec<&Feature> = on.collect();
            features.sort_by_key(|feature| feature.place().clone());
            let done = features.into_iter().filter(|on| self.is_done_at(step, on));
            let done: Vec<&Feature> = done.collect();
            done.into_iter().map(|on| self.instance(index, Some(on), earlier)).collect()
        };
        self.ranges.insert(&step.id, earlier.len()..earlier.len() + fresh.len());
        fresh
    }

    /// Not where all that a step asks for is of a part that sits elsewhere.
    fn is_done_at(&self, step: &Step, feature: &Feature) -> bool {
        let here = |evidence: &Evidence| {
            let targets = self.targets(evidence, Some(feature));
            targets.is_empty() || targets.iter().any(|(target, _)| self.is_here(evidence, *target))
        };
        step.evidence.is_empty() || step.evidence.iter().any(here)
    }

    /// Not where a part, or a feature of one, is asked for at a place where none is fitted.
    fn is_here(&self, evidence: &Evidence, target: Target) -> bool {
        let (sort, place) = match (&evidence.asked, target) {
            (_, Target::PartAt { place, part }) => (part::carrying(part), place),
            (Asked::Part(name), Target::Feature(place)) => (part::find(name), place),
            (_, Target::Feature(_) | Target::Engine) => return true,
        };
        let place = &self.ground.places.all()[place.index()];
        // A part at a kind of place where none ever is gets its own complaint.
        sort.is_none_or(|sort| {
            !sort.places.contains(&place.kind()) || self.ground.layout.carries(sort.name, place)
        })
    }

    fn instance(
        &mut self,
        index: usize,
        feature: Option<&Feature>,
        earlier: &[StepInstance],
    ) -> StepInstance {
        let step = &self.procedure.steps[index];
        let suffix = feature.map(|feature| suffix(step, feature)).unwrap_or_default();
        let id = if suffix.is_empty() { step.id.clone() } else { format!("{}/{suffix}", step.id) };
        let prerequisites = self.prerequisites(step, feature, earlier);
        let asks = self.asks(step, feature);
        StepInstance {
            id: id.into(),
            step: index,
            feature: feature.and_then(Feature::ix),
            part_places: self.part_places(feature, &asks, &prerequisites, earlier),
            prerequisites,
            finished_by: None,
            asks,
        }
    }

    fn part_places(
        &self,
        feature: Option<&Feature>,
        asks: &[Ask],
        prerequisites: &[usize],
        earlier: &[StepInstance],
    ) -> Vec<FeatureIx> {
        let number = |ix: &FeatureIx| self.ground.places.all()[ix.index()].number();
        let of_feature = feature.and_then(Feature::number);
        let own = asks.iter().filter_map(|ask| match (&ask.asked, ask.target) {
            (Asked::Part(_), Target::Feature(place)) => Some(place),
            _ => None,
        });
        let before = prerequisites.iter().flat_map(|at| earlier[*at].part_places.iter().copied());
        let before = before.filter(|place| of_feature.is_some() && number(place) == of_feature);
        let all: BTreeSet<FeatureIx> = own.chain(before).collect();
        all.into_iter().collect()
    }

    fn prerequisites(&self, step: &Step, feature: Option<&Feature>, earlier: &[StepInstance]) -> Vec<usize> {
        let instances_of = |id: &String| self.ranges.get(id.as_str()).cloned().unwrap_or(0..0);
        let mut list: Vec<usize> = step.after.iter().flat_map(instances_of).collect();
        for id in &step.after_same {
            list.extend(self.same(feature, instances_of(id), earlier));
        }
        list.sort_unstable();
        list.dedup();
        list
    }

    /// Of the instances of a step, the one on the same feature, or else those on related ones.
    fn same(
        &self,
        feature: Option<&Feature>,
        mut instances: Range<usize>,
        earlier: &[StepInstance],
    ) -> Vec<usize> {
        let Some(feature) = feature else { return instances.collect() };
        let exact = instances.clone().find(|&at| earlier[at].feature == feature.ix());
        if let Some(exact) = exact {
            return vec![exact];
        }
        let on = |at: usize| earlier[at].feature;
        let places = self.ground.places;
        let mut near: Vec<FeatureIx> = Vec::new();
        let mut kinds: Vec<FeatureKind> =
            instances.clone().filter_map(on).map(|ix| places.all()[ix.index()].kind()).collect();
        kinds.dedup();
        for kind in kinds {
            let related = places.related(self.ground.layout, feature, kind);
            near.extend(related.into_iter().filter_map(Feature::ix));
        }
        instances.by_ref().filter(|&at| on(at).is_none_or(|ix| near.contains(&ix))).collect()
    }

    fn asks(&mut self, step: &Step, feature: Option<&Feature>) -> Vec<Ask> {
        let mut asks = Vec::new();
        for evidence in &step.evidence {
            let targets = self.targets(evidence, feature);
            if let Some(why) = nowhere(evidence, &targets) {
                let hint = "leave it out, or ask for it on another kind".to_owned();
                self.refuse(step, evidence, why, hint);
                continue;
            }
            let here: Vec<_> =
                targets.into_iter().filter(|(target, _)| self.is_here(evidence, *target)).collect();
            for (target, kind) in here {
                asks.extend(self.ask(step, evidence, feature, target, kind));
            }
        }
        asks
    }

    /// Notes a complaint on a piece of evidence, once for all cylinders.
    fn refuse(&mut self, step: &Step, evidence: &Evidence, reason: String, hint: String) {
        let own = self.clean || step.at.is_some();
        if own && self.said.insert((step.id.clone(), reason.clone())) {
            let at = step.at.map_or(0, |_| evidence.at);
            self.out.add(at, place_of(step), reason, hint);
        }
    }

    /// Where a piece of evidence is given, with the kind of feature that is.
    fn targets(&self, evidence: &Evidence, feature: Option<&Feature>) -> Vec<(Target, Option<FeatureKind>)> {
        let own = |feature: &Feature| feature.ix().map(|ix| (Target::Feature(ix), Some(feature.kind())));
        let Some(kind) = evidence.on else {
            return vec![feature.and_then(own).unwrap_or((Target::Engine, None))];
        };
        let sits = part::carrying(kind).map(|sort| sort.places[0]);
        let place_kind = sits.unwrap_or(kind);
        let places = self.ground.places;
        let near: Vec<&Feature> = match feature {
            Some(feature) => places.related(self.ground.layout, feature, place_kind),
            None => places.of_kind(place_kind).iter().collect(),
        };
        let target = |place: FeatureIx| match sits {
            Some(_) => Target::PartAt { place, part: kind },
            None => Target::Feature(place),
        };
        near.iter().filter_map(|near| near.ix()).map(|ix| (target(ix), Some(kind))).collect()
    }

    fn ask(
        &mut self,
        step: &Step,
        evidence: &Evidence,
        feature: Option<&Feature>,
        target: Target,
        kind: Option<FeatureKind>,
    ) -> Option<Ask> {
        let number = feature.and_then(Feature::number).map_or_else(String::new, |n| n.to_string());
        let station = evidence.station.as_deref().unwrap_or("").replace("{n}", &number);
        let checked = self.check(&evidence.asked, target, kind, &station);
        match checked {
            Ok(subject) => {
                let path = match target {
                    Target::Feature(at) => self.ground.places.all()[at.index()].path(),
                    Target::Engine | Target::PartAt { .. } => "",
                };
                let words = Arc::from(evidence.asked.on(path));
                Some(Ask { asked: evidence.asked.clone(), subject, target, station, words })
            }
            Err((reason, hint)) => {
                self.refuse(step, evidence, reason, hint);
                None
            }
        }
    }

    /// Whether somebody can give this evidence; else the complaint and the way out.
    fn check(
        &self,
        asked: &Asked,
        target: Target,
        kind: Option<FeatureKind>,
        station: &str,
    ) -> Result<Option<Subject>, (String, String)> {
        match (asked, kind) {
            (Asked::Decision(_) | Asked::Approval(_) | Asked::GaugeCheck(_), _) => Ok(None),
            (Asked::Check(name), _) => self.check_check(name),
            (_, None) => {
                let reason = format!("`{}` is asked of the engine as a whole", asked.name());
                Err((reason, "say on which kind of feature with `on`".to_owned()))
            }
            (Asked::Judged(name), Some(kind)) => {
                let subject = find_subject(kind, name)?;
                self.check_station(subject, station)?;
                self.check_limit(target, kind, name, station)?;
                Ok(Some(subject))
            }
            (Asked::Read(name), Some(kind)) => {
                let subject = find_measured(kind, name)?;
                self.check_station(subject, station)?;
                Ok(Some(subject))
            }
            (Asked::Tightening(group), Some(kind)) => self.check_group(group, kind),
            (Asked::Operation(name), Some(kind)) => self.check_operation(name, kind),
            (Asked::Part(name), Some(kind)) => check_part(name, kind),
        }
    }

    fn check_check(&self, name: &str) -> Result<Option<Subject>, (String, String)> {
        let known: Vec<&str> = self.procedure.checks.iter().map(|check| &*check.name).collect();
        if known.contains(&name) {
            return Ok(None);
        }
        let hint = suggest_few(name, &known);
        Err((format!("it asks for the check `{name}`, which is not known"), hint))
    }

    fn check_station(&self, subject: Subject, station: &str) -> Result<(), (String, String)> {
        let Subject::Measured(row) = subject else { return Ok(()) };
        if station.is_empty() || self.ground.stations.allows(row, station) {
            return Ok(());
        }
        let known: Vec<&str> = self.ground.stations.needed(row).iter().map(|s| &**s).collect();
        let reason = format!("`{}` on {} has no station `{station}`", row.name, row.on);
        Err((reason, suggest(station, &known)))
    }

    fn check_limit(
        &self,
        target: Target,
        kind: FeatureKind,
        name: &str,
        station: &str,
    ) -> Result<(), (String, String)> {
        let covered = match target {
            Target::Feature(ix) => {
                let feature = &self.ground.places.all()[ix.index()];
                self.ground.limits.find(feature, name, station).is_some()
            }
            Target::PartAt { .. } | Target::Engine => self.ground.limits.covers(kind, name),
        };
        if covered {
            return Ok(());
        }
        let reason = format!("`{name}` on {kind} is to be judged, but no limit covers it");
        Err((reason, "add a [[limit]], or replace or drop the step".to_owned()))
    }

    fn check_group(&self, group: &str, kind: FeatureKind) -> Result<Option<Subject>, (String, String)> {
        let found = self.ground.fasteners.iter().find(|fastener| fastener.group == group);
        match found {
            Some(fastener) if fastener.place == kind => Ok(None),
            Some(fastener) => {
                let reason = format!("`{group}` sits at {}, not at {kind}", fastener.place);
                Err((reason, format!("ask for it on = \"{}\"", fastener.place)))
            }
            None => {
                let reason = format!("it asks for the tightening of `{group}`, which is not given");
                // Names of groups are alike: `head-bolts` is no slip of `main-bolts`.
                let known = self.ground.fasteners.iter().map(|fastener| &*fastener.group);
                let near = closest(group, known).filter(|&(_, far)| far <= 2);
                let near = near.map_or_else(String::new, |(name, _)| format!("did you mean `{name}`? else "));
                let way_out = "add a [[fastener]], or replace or drop the step";
                Err((reason, format!("{near}{way_out}")))
            }
        }
    }

    fn check_operation(&self, name: &str, kind: FeatureKind) -> Result<Option<Subject>, (String, String)> {
        let on_kind = self.ground.operations.iter().filter(|row| row.on == kind);
        let known: Vec<&str> = on_kind.map(|row| &*row.name).collect();
        if known.contains(&name) {
            return Ok(None);
        }
        let reason = format!("the operation `{name}` is not done on {kind}");
        Err((reason, suggest(name, &known)))
    }
}

/// Why a piece of evidence has no one place where it can be given.
fn nowhere(evidence: &Evidence, targets: &[(Target, Option<FeatureKind>)]) -> Option<String> {
    let kind = evidence.on?;
    let asked = evidence.asked.name();
    let by_ring = kind.is_part() && kind.row().pattern.ends_with("{ring}");
    match (by_ring, targets.is_empty()) {
        (true, _) => Some(format!("`{asked}` is asked on {kind}, of which a part has several")),
        (_, true) => Some(format!("`{asked}` is asked on {kind}, which this engine has not")),
        _ => None,
    }
}

/// What tells the instances of a step apart: the variable part of the path, or all of it
/// where the step is done for features of several shapes.
fn suffix(step: &Step, feature: &Feature) -> String {
    let shape = feature.kind().row().pattern;
    let alike = step.per.iter().all(|kind| kind.row().pattern == shape);
    if alike { feature.suffix() } else { feature.path().to_owned() }
}

fn find_subject(kind: FeatureKind, name: &str) -> Result<Subject, (String, String)> {
    Subject::find(kind, name).ok_or_else(|| {
        let known: Vec<&str> = Subject::names_on(kind).collect();
        (format!("`{name}` is not measured on {kind}"), suggest(name, &known))
    })
}

fn find_measured(kind: FeatureKind, name: &str) -> Result<Subject, (String, String)> {
    characteristic::find(kind, name).map(Subject::Measured).ok_or_else(|| {
        let known: Vec<&str> = characteristic::of_kind(kind).iter().map(|row| row.name).collect();
        (format!("`{name}` is not read on {kind}"), suggest(name, &known))
    })
}

fn check_part(name: &str, kind: FeatureKind) -> Result<Option<Subject>, (String, String)> {
    let places = part::find(name).map_or(&[][..], |sort| sort.places);
    if places.contains(&kind) {
        return Ok(None);
    }
    let known: Vec<&str> = places.iter().map(|kind| kind.name()).collect();
    Err((format!("a {name} is not fitted at {kind}"), format!("it goes to {}", known.join(", "))))
}
