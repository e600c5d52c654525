//! Steps expanded for an engine: one instance for each feature, in an order that works.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::characteristic;
use super::fastener::Fastener;
use super::feature::{Feature, FeatureIx, FeatureKind};
use super::layout::Layout;
use super::limit::Limits;
use super::nearest::suggest;
use super::operation::Operation;
use super::part;
use super::places::Places;
use super::problem::Problems;
use super::procedure::{Asked, Evidence, Procedure, Step, suggest_few};
use super::stations::StationTable;
use super::subject::{Subject, names_on};

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
    check_references(procedure, out);
    order(procedure, out);
    let mut expansion = Expansion { procedure, ground, said: BTreeSet::new(), clean, out };
    let mut instances: Vec<StepInstance> = Vec::new();
    for index in 0..expansion.procedure.steps.len() {
        let fresh = expansion.instances(index, &instances);
        instances.extend(fresh);
    }
    instances
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
    let mut waiting = std::mem::take(&mut procedure.steps);
    waiting.sort_by_key(|step| step.stage);
    let mut done: Vec<Step> = Vec::with_capacity(waiting.len());
    while !waiting.is_empty() {
        let free = |step: &Step| {
            let mut before = step.after.iter().chain(&step.after_same);
            before.all(|id| !waiting.iter().any(|other| other.id == *id))
        };
        let Some(at) = waiting.iter().position(free) else {
            refuse_circle(&waiting, out);
            break;
        };
        done.push(waiting.remove(at));
    }
    procedure.steps = done;
}

/// Names the steps of one circle, walking from each to one that it waits for.
fn refuse_circle(waiting: &[Step], out: &mut Problems) {
    let next = |step: &Step| -> Option<&Step> {
        let mut before = step.after.iter().chain(&step.after_same);
        before.find_map(|id| waiting.iter().find(|other| other.id == *id))
    };
    let mut walked: Vec<&Step> = Vec::new();
    let mut at = waiting.first();
    while let Some(step) = at {
        if let Some(start) = walked.iter().position(|other| other.id == step.id) {
            walked.drain(..start);
            break;
        }
        walked.push(step);
        at = next(step);
    }
    let Some(first) = walked.iter().find(|step| step.at.is_some()).or(walked.first()) else {
        return;
    };
    let names: Vec<&str> = walked.iter().map(|step| &*step.id).collect();
    let reason = format!("these wait for each other in a circle: {}", names.join(", "));
    let hint = "take one out of `after` or `after-same`";
    out.add(first.at.unwrap_or(0), place_of(first), reason, hint);
}

struct Expansion<'e, 'g> {
    procedure: &'e Procedure,
    ground: &'e Ground<'g>,
    /// Whether nothing was wrong before: else what the default procedure misses may follow.
    clean: bool,
    /// Complaints made, so that one is not made again for each cylinder.
    said: BTreeSet<(String, String)>,
    out: &'e mut Problems,
}

impl Expansion<'_, '_> {
    fn instances(&mut self, index: usize, earlier: &[StepInstance]) -> Vec<StepInstance> {
        let procedure = self.procedure;
        let places = self.ground.places;
        let step = &procedure.steps[index];
        if step.per.is_empty() {
            return vec![self.instance(index, None, earlier)];
        }
        let on = step.per.iter().flat_map(|&kind| places.of_kind(kind));
        let mut features: Vec<&Feature> = on.collect();
        features.sort_by_key(|feature| feature.place().clone());
        features.into_iter().map(|on| self.instance(index, Some(on), earlier)).collect()
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
        StepInstance {
            id: id.into(),
            step: index,
            feature: feature.and_then(Feature::ix),
            prerequisites: self.prerequisites(step, feature, earlier),
            asks: self.asks(step, feature),
        }
    }

    fn prerequisites(&self, step: &Step, feature: Option<&Feature>, earlier: &[StepInstance]) -> Vec<usize> {
        let instances_of = |id: &String| -> Vec<usize> {
            let named = |at: &usize| self.procedure.steps[earlier[*at].step].id == *id;
            (0..earlier.len()).filter(named).collect()
        };
        let mut list: Vec<usize> = step.after.iter().flat_map(instances_of).collect();
        for id in &step.after_same {
            list.extend(self.same(feature, &instances_of(id), earlier));
        }
        list.sort_unstable();
        list.dedup();
        list
    }

    /// Of some instances, the one on the same feature, or else those on related ones.
    fn same(&self, feature: Option<&Feature>, instances: &[usize], earlier: &[StepInstance]) -> Vec<usize> {
        let Some(feature) = feature else { return instances.to_vec() };
        let exact = instances.iter().find(|&&at| earlier[at].feature == feature.ix());
        if let Some(&exact) = exact {
            return vec![exact];
        }
        let places = self.ground.places;
        let related = |at: &&usize| match earlier[**at].feature {
            None => true,
            Some(ix) => {
                let other = &places.all()[ix.index()];
                let near = places.related(self.ground.layout, feature, other.kind());
                near.iter().any(|near| near.ix() == Some(ix))
            }
        };
        instances.iter().filter(related).copied().collect()
    }

    fn asks(&mut self, step: &Step, feature: Option<&Feature>) -> Vec<Ask> {
        let mut asks = Vec::new();
        for evidence in &step.evidence {
            for (target, kind) in self.targets(evidence, feature) {
                asks.extend(self.ask(step, evidence, feature, target, kind));
            }
        }
        asks
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
            Ok(subject) => Some(Ask { asked: evidence.asked.clone(), subject, target, station }),
            Err((reason, hint)) => {
                let own = self.clean || step.at.is_some();
                if own && self.said.insert((step.id.clone(), reason.clone())) {
                    let at = step.at.map_or(0, |_| evidence.at);
                    self.out.add(at, place_of(step), reason, hint);
                }
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
            (Asked::Decision(_) | Asked::GaugeCheck(_), _) => Ok(None),
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
                Err((reason, "add a [[fastener]], or replace or drop the step".to_owned()))
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

/// What tells the instances of a step apart: the variable part of the path, or all of it
/// where the step is done for features of several shapes.
fn suffix(step: &Step, feature: &Feature) -> String {
    let shape = feature.kind().row().pattern;
    let alike = step.per.iter().all(|kind| kind.row().pattern == shape);
    if alike { feature.suffix() } else { feature.path().to_owned() }
}

fn find_subject(kind: FeatureKind, name: &str) -> Result<Subject, (String, String)> {
    Subject::find(kind, name).ok_or_else(|| {
        let known: Vec<&str> = names_on(kind).collect();
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
