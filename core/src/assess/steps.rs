//! Steps: what evidence there is, who signed, what still stands, what waits for what.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::finding::{Finding, Rule};
use super::fold::{Assessment, Source, World};
use super::judged::Judged;
use super::sign_off::{Signature, Unsigned, signed_before};
use super::subject::SubjectIx;
use crate::engine::{Ask, Asked, Definition, Target};
use crate::entry::payload::{Payload, SignedVerdict};
use crate::log::Ix;
use crate::measure::Verdict;

/// One step on one feature.
#[derive(Clone, Debug)]
pub struct StepState {
    /// Name, such as `big-end-clearance/2`.
    pub id: Arc<str>,
    /// Paths its evidence is on.
    pub(super) paths: BTreeSet<Arc<str>>,
    /// Each piece of evidence.
    pub evidence: Vec<Evidence>,
    /// The signature of the one who did it.
    pub signature: Option<Signature>,
    /// The signature of the second person.
    pub second: Option<Signature>,
    /// Every signature of one who may do it that is not withdrawn, whether it stands or not.
    pub(super) done: Vec<Ix>,
    /// As [`Self::done`], of those who signed as second person.
    pub(super) seconds: Vec<Ix>,
    /// Whether it was found signed before what comes first.
    pub(super) order_broken: bool,
    /// How far it is.
    pub progress: Progress,
    /// Steps it waits for.
    pub waits_for: Vec<usize>,
    /// The step that ends this one on another feature, where it is begun there and not here, and is to be
    /// done on one at a time.
    pub better_after: Option<usize>,
    /// Who it is given to.
    pub assigned: Option<crate::entry::EntryId>,
}

/// A piece of evidence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Evidence {
    /// What is asked for.
    pub asked: Arc<str>,
    /// What there is, or what is missing.
    pub found: String,
    /// Whether it is there.
    pub met: bool,
    /// The entries it rests on.
    pub entries: Vec<Ix>,
    /// The verdicts in it.
    pub verdicts: Vec<SignedVerdict>,
}

/// How far a step is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Progress {
    /// Earlier steps come first.
    Blocked,
    /// It can be worked on.
    Open,
    /// All evidence is there: it can be signed.
    ReadyToSign,
    /// Signed; a second person signs as well.
    WantsSecond,
    /// Signed, and it stands.
    Signed,
    /// Signed, but the ground is gone.
    Stale,
    /// Signed, but without the evidence it asks for.
    WithoutEvidence,
}

impl Progress {
    /// In words.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Blocked => "waits",
            Self::Open => "open",
            Self::ReadyToSign => "ready to sign",
            Self::WantsSecond => "wants a second person",
            Self::Signed => "signed",
            Self::Stale => "signature no longer stands",
            Self::WithoutEvidence => "signed without its evidence",
        }
    }
}

/// What the other steps see of one; see [`Assessment::shown`].
#[derive(PartialEq)]
struct Shown {
    met: Vec<bool>,
    signed: [Option<(Ix, bool, bool)>; 2],
    all: [Vec<Ix>; 2],
    acts: Vec<Vec<Ix>>,
}

/// The steps of a definition, nothing known yet.
pub(super) fn begin(definition: &Definition) -> Vec<StepState> {
    let path = |ask: &Ask| match ask.target {
        Target::Engine => None,
        Target::Feature(at) | Target::PartAt { place: at, .. } => {
            Some(definition.feature_at(at).shared_path())
        }
    };
    let start = |step: &crate::engine::StepInstance| StepState {
        id: Arc::clone(&step.id),
        paths: step.asks.iter().filter_map(path).collect(),
        evidence: Vec::new(),
        signature: None,
        second: None,
        done: Vec::new(),
        seconds: Vec::new(),
        order_broken: false,
        progress: Progress::Blocked,
        waits_for: Vec::new(),
        better_after: None,
        assigned: None,
    };
    definition.steps().iter().map(start).collect()
}

impl Assessment {
    /// Index of a step by name.
    pub(super) fn step_of(&self, id: &str) -> Option<usize> {
        self.definition.as_ref()?.step_index(id)
    }

    /// Steps whose evidence is on one of these subjects.
    pub(super) fn touched_steps(&self, subjects: &BTreeSet<SubjectIx>) -> BTreeSet<usize> {
        let paths: BTreeSet<Arc<str>> =
            subjects.iter().map(|ix| self.subjects[*ix].feature.shared_path()).collect();
        let parts = subjects.iter().any(|ix| self.subjects[*ix].feature.mark().is_some());
        let touched = |step: &StepState| {
            step.paths.iter().any(|path| paths.contains(path)) || (parts && !step.paths.is_empty())
        };
        (0..).zip(&self.steps).filter(|(_, step)| touched(step)).map(|(ix, _)| ix).collect()
    }

    /// Looks at the marked steps anew, then at what waits for what; where they were marked by
    /// readings alone, only if that changed anything for the others.
    pub(super) fn settle_steps(&mut self, world: World, marked: &BTreeSet<usize>, only_read: bool) {
        let Some(definition) = self.definition.clone() else { return };
        let mut changed = !only_read && !marked.is_empty();
        for ix in marked {
            let begun = definition.steps()[*ix].finished_by.is_some();
            // What was found of its order is looked for anew with the rest.
            let before = (!changed && !self.steps[*ix].order_broken).then(|| self.shown(*ix, begun));
            self.settle_step(world, &definition, *ix);
            changed = before.is_none_or(|before| before != self.shown(*ix, begun));
        }
        if changed {
            self.propagate(&definition);
            self.order_findings(world, &definition);
            self.ahead_findings(world, &definition);
            self.beside_findings(world, &definition);
        }
    }

    /// What the other steps see of one: which evidence is there, what was done where that begins it, and
    /// what it was signed by.
    fn shown(&self, ix: usize, begun: bool) -> Shown {
        let step = &self.steps[ix];
        let signed = |signature: &Option<Signature>| {
            signature.as_ref().map(|signature| (signature.by, signature.stands(), signature.lacks_evidence()))
        };
        Shown {
            met: step.evidence.iter().map(|evidence| evidence.met).collect(),
            signed: [signed(&step.signature), signed(&step.second)],
            all: [step.done.clone(), step.seconds.clone()],
            acts: step.evidence.iter().filter(|_| begun).map(|evidence| evidence.entries.clone()).collect(),
        }
    }

    fn settle_step(&mut self, world: World, definition: &Definition, ix: usize) {
        let instance = &definition.steps()[ix];
        let before = self.before_it(definition, instance);
        // How things were found stays found.
        let as_found = definition.step_of(instance).as_found;
        let evidence = |ask: &Ask| {
            let evidence = self.evidence(world, definition, ask);
            match self.too_early(world, ask, &evidence, &before).filter(|_| !as_found) {
                Some(found) => {
                    Evidence { found, met: false, entries: Vec::new(), verdicts: Vec::new(), ..evidence }
                }
                None => evidence,
            }
        };
        let evidence: Vec<Evidence> = instance.asks.iter().map(evidence).collect();
        self.steps[ix].evidence = evidence;
        let key = (crate::entry::Kind::Assignment, Arc::clone(&instance.id));
        let choices =
            self.choices.get(&key).map(|list| self.standing_choice(world, list)).unwrap_or_default();
        let agreed = choices.iter().all(|ix| self.entries[*ix as usize].status.stands());
        self.steps[ix].assigned = match choices.first().map(|one| &world.log().at(*one).payload) {
            Some(Ok(Payload::Assignment(assignment))) if agreed => Some(assignment.person),
            _ => None,
        };
        let mut findings = self.settle_signatures(world, definition, ix);
        findings.extend(self.decided_early(world, definition, ix));
        self.put_findings(Source::Step(ix), findings);
    }

    fn evidence(&self, world: World, definition: &Definition, ask: &Ask) -> Evidence {
        let path = match ask.target {
            Target::Engine => String::new(),
            Target::Feature(at) => definition.feature_at(at).path().to_owned(),
            Target::PartAt { place, part } => {
                match self.path_on_part(world, definition.feature_at(place).path(), part) {
                    Ok(path) => path,
                    Err(missing) => return Evidence::missing(ask, "", missing),
                }
            }
        };
        match &ask.asked {
            Asked::Judged(name) => self.judged_evidence(world, ask, &path, name),
            Asked::Read(name) => self.read_evidence(ask, &path, name),
            Asked::Check(name) => self.check_evidence(world, ask, &path, name),
            Asked::Tightening(group) => self.tightening_evidence(ask, &path, group),
            Asked::Operation(name) => self.operation_evidence(world, ask, &path, name),
            Asked::Part(sort) => self.part_evidence(world, ask, &path, sort),
            Asked::Decision(subject) => self.decision_evidence(world, ask, subject),
            Asked::Approval(subject) => self.approval_evidence(world, ask, subject),
            Asked::GaugeCheck(sort) => self.gauge_evidence(world, ask, sort),
        }
    }

    fn judged_evidence(&self, world: World, ask: &Ask, path: &str, name: &str) -> Evidence {
        let one = if ask.station.is_empty() { None } else { self.judged_at(world, path, name, &ask.station) };
        let whole = if ask.station.is_empty() { self.judged_on(path, name) } else { None };
        let Some(judged) = one.as_ref().or(whole) else {
            return Evidence::missing(ask, path, "not read".to_owned());
        };
        let conceded = self.is_conceded(world, path, judged);
        let verdict_good = matches!(judged.verdict(), Verdict::Within) || conceded;
        Evidence {
            met: judged.is_complete() && verdict_good,
            found: found(judged, conceded),
            entries: judged.readings.clone(),
            // A signature binds to whole values; one station is bound by its readings.
            verdicts: whole.map(|judged| signed_verdict(path, judged)).into_iter().collect(),
            asked: asked(ask, path),
        }
    }

    /// Whether a concession accepts the verdict as it is.
    pub(super) fn is_conceded(&self, world: World, path: &str, judged: &Judged) -> bool {
        let rule = match judged.verdict() {
            Verdict::Within => return false,
            Verdict::Outside => Rule::Outside,
            Verdict::NotProven => Rule::NotProven,
            Verdict::NotJudged(_) => Rule::NotJudged,
        };
        if self.concessions.is_empty() {
            return false;
        }
        let mut ids = self.ids(world, &judged.readings);
        ids.extend(judged.limit.as_ref().and_then(|l| l.by).map(|ix| world.log().at(ix).id));
        let finding = Finding::new(rule, path, judged.name, ids, String::new());
        !finding.ids.is_empty() && self.conceded(world, &finding).is_some()
    }

    fn read_evidence(&self, ask: &Ask, path: &str, name: &str) -> Evidence {
        let Some(judged) = self.judged_on(path, name) else {
            return Evidence::missing(ask, path, "not read".to_owned());
        };
        if ask.station.is_empty() {
            return Evidence {
                met: judged.is_complete(),
                found: found(judged, false),
                entries: judged.readings.clone(),
                verdicts: Vec::new(),
                asked: asked(ask, path),
            };
        }
        match self.value_at(path, name, &ask.station) {
            Some(readings) => Evidence::met(ask, path, self.read_words(name, &ask.station), readings),
            None => Evidence::missing(ask, path, format!("not read at {}", ask.station)),
        }
    }

    /// What is said of a value that only has to be read.
    fn read_words(&self, name: &str, station: &str) -> String {
        let rise = self.rises.iter().find(|rise| name == super::rise::TURNING && rise.station == station);
        rise.map_or_else(|| "read".to_owned(), |rise| format!("read, {} than before it", rise.words()))
    }

    /// Readings of the standing value at one station.
    fn value_at(&self, path: &str, name: &str, station: &str) -> Option<Vec<Ix>> {
        let subject = &self.subjects[self.subject_at(path)?];
        let here =
            |slot: &&super::subject::Slot| slot.fit && slot.row.name == name && *slot.station == *station;
        subject.slots.iter().filter(here).find_map(|slot| slot.value()).map(|value| value.readings.clone())
    }

    fn check_evidence(&self, world: World, ask: &Ask, path: &str, name: &str) -> Evidence {
        let key = (Arc::from(name), Arc::from(path));
        let live = self
            .checks
            .get(&key)
            .into_iter()
            .flatten()
            .copied()
            .filter(|ix| self.entries[*ix as usize].status.stands());
        let newest = super::order::latest(world.log(), live);
        let passed =
            |ix: &Ix| matches!(&world.log().at(*ix).payload, Ok(Payload::Check(check)) if check.passed);
        match newest.first() {
            None => Evidence::missing(ask, path, "not checked".to_owned()),
            Some(_) if !newest.iter().all(passed) => Evidence::missing(ask, path, "did not pass".to_owned()),
            Some(_) => Evidence::met(ask, path, "passed".to_owned(), newest),
        }
    }

    fn tightening_evidence(&self, ask: &Ask, path: &str, name: &str) -> Evidence {
        let Some(group) = self.groups.get(&(Arc::from(name), Arc::from(path))) else {
            return Evidence::missing(ask, path, "not begun".to_owned());
        };
        if !group.complete {
            let far = format!("{} stages done, not complete", group.stages_done);
            return Evidence::missing(ask, path, far);
        }
        let mut entries = group.standing.clone();
        entries.extend(&group.turn_checks);
        Evidence::met(ask, path, format!("all {} stages, turned after each", group.stages_done), entries)
    }

    fn operation_evidence(&self, world: World, ask: &Ask, path: &str, name: &str) -> Evidence {
        let here = |ix: &Ix| match &world.log().at(*ix).payload {
            Ok(Payload::Operation(op)) => {
                op.operation == name && (path.is_empty() || op.features.iter().any(|on| on == path))
            }
            _ => false,
        };
        let live = self.operations.iter().map(|op| op.by).filter(|ix| self.outer(world.log(), *ix).is_none());
        let done = super::order::latest(world.log(), live.filter(here));
        match done.is_empty() {
            true => Evidence::missing(ask, path, "not logged".to_owned()),
            false => Evidence::met(ask, path, "logged".to_owned(), done),
        }
    }

    fn part_evidence(&self, world: World, ask: &Ask, path: &str, sort: &str) -> Evidence {
        if !path.is_empty() {
            let here = self.parts_at(world, path, sort);
            if let [one] = here[..] {
                return Evidence::met(ask, path, one.part.to_string(), vec![one.by]);
            }
        }
        if !path.is_empty() && self.parts_at(world, path, sort).len() > 1 {
            return Evidence::missing(ask, path, format!("more than one {sort} is entered at {path}"));
        }
        let live = self.parts_entered(world.log(), sort);
        match live.is_empty() || !path.is_empty() {
            true => Evidence::missing(ask, path, format!("no {sort} entered")),
            false => Evidence::met(ask, path, format!("{} entered", live.len()), live),
        }
    }

    /// What stands on a subject of decisions.
    pub(super) fn decided(&self, world: World, subject: &str) -> Vec<Ix> {
        let key = (crate::entry::Kind::Decision, Arc::from(subject));
        self.choices.get(&key).map(|list| self.standing_choice(world, list)).unwrap_or_default()
    }

    fn decision_evidence(&self, world: World, ask: &Ask, subject: &str) -> Evidence {
        let choices = self.decided(world, subject);
        if choices.is_empty() {
            return Evidence::missing(ask, "", "not decided".to_owned());
        }
        match choices.iter().all(|ix| self.entries[*ix as usize].status.stands()) {
            true => Evidence::met(ask, "", "decided".to_owned(), choices),
            false => Evidence::missing(ask, "", "decided differently".to_owned()),
        }
    }

    /// The customer's word on the decision that stands: on another it says nothing of this one.
    fn approval_evidence(&self, world: World, ask: &Ask, subject: &str) -> Evidence {
        let log = world.log();
        let choices = self.decided(world, subject);
        let on = |ix: &Ix, decision: Ix| match &log.at(*ix).payload {
            Ok(Payload::Approval(approval)) => {
                approval.decision == log.at(decision).id && log.knows(*ix, decision)
            }
            _ => false,
        };
        let live: Vec<Ix> =
            self.approvals.iter().copied().filter(|ix| self.outer(log, *ix).is_none()).collect();
        let word = |decision: &Ix| live.iter().copied().find(|ix| on(ix, *decision));
        match choices.iter().map(word).collect::<Option<Vec<Ix>>>() {
            _ if choices.is_empty() => Evidence::missing(ask, "", "nothing is decided yet".to_owned()),
            Some(all) => Evidence::met(ask, "", "approved".to_owned(), all),
            None if live.is_empty() => Evidence::missing(ask, "", "not approved".to_owned()),
            None => Evidence::missing(ask, "", "not approved as it is decided now".to_owned()),
        }
    }

    fn gauge_evidence(&self, world: World, ask: &Ask, sort: &str) -> Evidence {
        let of_sort = |mark: &Arc<str>| world.workshop.gauge(mark).is_some_and(|gauge| gauge.sort == sort);
        let good = self
            .good_gauge_checks
            .iter()
            .filter(|(mark, _)| of_sort(mark))
            .flat_map(|(_, list)| list.iter().copied());
        let live: Vec<Ix> = good.filter(|ix| self.outer(world.log(), *ix).is_none()).collect();
        match live.is_empty() {
            true => Evidence::missing(ask, "", "no passed check".to_owned()),
            false => Evidence::met(ask, "", "passed".to_owned(), live),
        }
    }

    /// Sets the progress of every step from its signatures and those before it.
    fn propagate(&mut self, definition: &Definition) {
        for (ix, instance) in definition.steps().iter().enumerate() {
            let wants_second = definition.step_of(instance).second_person;
            let signed = |step: &StepState| step.progress == Progress::Signed;
            let waits: Vec<usize> = instance
                .prerequisites
                .iter()
                .copied()
                .filter(|before| !signed(&self.steps[*before]))
                .collect();
            let step = &mut self.steps[ix];
            step.progress = match &step.signature {
                Some(signature) if !signature.stands() => fallen(signature),
                Some(_) if !wants_second => Progress::Signed,
                Some(_) => match &step.second {
                    Some(second) if second.stands() => Progress::Signed,
                    Some(second) => fallen(second),
                    None => Progress::WantsSecond,
                },
                None if !waits.is_empty() => Progress::Blocked,
                None if !self.halted && step.evidence.iter().all(|e| e.met) => Progress::ReadyToSign,
                None => Progress::Open,
            };
            step.waits_for = waits;
        }
    }

    /// Signed steps whose prerequisites were not signed before them.
    fn order_findings(&mut self, world: World, definition: &Definition) {
        let log = world.log();
        for (ix, instance) in definition.steps().iter().enumerate() {
            let Some(signature) = &self.steps[ix].signature else { continue };
            let lacking = |before: &usize| {
                let what = self.unsigned_to(world, definition, *before, signature.by)?;
                Some((&*definition.steps()[*before].id, what))
            };
            let missing: Vec<(&str, Unsigned)> = instance.prerequisites.iter().filter_map(lacking).collect();
            if missing.is_empty() && !self.steps[ix].order_broken {
                continue;
            }
            let mut findings = self.findings.remove(&Source::Step(ix)).unwrap_or_default();
            findings.retain(|finding| finding.rule != Rule::OrderBroken);
            if !missing.is_empty() {
                let text = signed_before(&missing);
                let feature = instance.feature.map_or("", |at| definition.feature_at(at).path());
                let ids = vec![log.at(signature.by).id];
                findings.push(Finding::new(Rule::OrderBroken, feature, &instance.id, ids, text));
            }
            self.steps[ix].order_broken = !missing.is_empty();
            self.put_findings(Source::Step(ix), findings);
        }
    }
}

fn fallen(signature: &Signature) -> Progress {
    if signature.lacks_evidence() { Progress::WithoutEvidence } else { Progress::Stale }
}

fn found(judged: &Judged, conceded: bool) -> String {
    let conceded = if conceded { ", conceded" } else { "" };
    match judged.hindrance() {
        Some(hindrance) => hindrance,
        None if !judged.is_complete() => {
            format!("{} of {} stations read", judged.stations.0, judged.stations.1)
        }
        None => format!("{}{conceded}", judged.verdict()),
    }
}

/// What a signer sees of a value.
pub(super) fn signed_verdict(path: &str, judged: &Judged) -> SignedVerdict {
    SignedVerdict {
        feature: path.to_owned(),
        characteristic: judged.name.to_owned(),
        verdict: judged.verdict().code(),
        low: judged.low.unwrap_or_default(),
        high: judged.high.unwrap_or_default(),
        standard_uncertainty: judged.u.map_or(0, |u| u.base()),
    }
}

/// What is asked for in words; of a part's feature with the path that the part has now.
fn asked(ask: &Ask, path: &str) -> Arc<str> {
    match ask.target {
        Target::PartAt { .. } if !path.is_empty() => Arc::from(ask.asked.on(path)),
        Target::PartAt { .. } | Target::Engine | Target::Feature(_) => Arc::clone(&ask.words),
    }
}

impl Evidence {
    fn missing(ask: &Ask, path: &str, found: String) -> Self {
        Self { asked: asked(ask, path), found, met: false, entries: Vec::new(), verdicts: Vec::new() }
    }

    fn met(ask: &Ask, path: &str, found: String, entries: Vec<Ix>) -> Self {
        Self { asked: asked(ask, path), found, met: true, entries, verdicts: Vec::new() }
    }
}
