//! Fastener groups: stage by stage, with a turn check after each, by the maker's figures.

use std::sync::Arc;

use super::between::NextAct;
use super::finding::{Finding, Rule};
use super::fold::{Assessment, Source, World};
use super::order::Sequence;
use super::status::Status;
use crate::engine::{Fastener, FeatureKind};
use crate::entry::EntryId;
use crate::entry::payload::{Payload, Tightening, TighteningAct};
use crate::log::Ix;
use crate::quantity::Amount;

/// Group and place.
pub(super) type GroupKey = (Arc<str>, Arc<str>);

/// How far a wrench may be set from the maker's figure, so that it can be set in whole units
/// of its own scale, in per cent of the figure. Common practice, no source.
const SET_POINT_PERCENT: i128 = 2;

/// The way out where acts on a group and others knew nothing of each other.
pub(super) const BEGIN_AGAIN: &str = "say which came first, or slacken the group evenly and begin again";

/// One group of fasteners at one place.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Group {
    /// Every act that counts, in order once the group is settled.
    pub(super) acts: Vec<Ix>,
    /// Acts since the last slackening that stand, in order.
    pub(super) standing: Vec<Ix>,
    /// Turn checks that lie after a stage.
    pub(super) turn_checks: Vec<Ix>,
    /// Stages done, in order, from the first.
    pub(super) stages_done: u32,
    /// Every stage and, where asked for, every turn check is done, and nothing is wrong that is not
    /// conceded.
    pub(super) complete: bool,
    /// What comes next.
    pub(super) next: NextAct,
    /// Free lengths that were read while it was tight, each with the stage.
    pub(super) read_tight: Vec<(Ix, Ix)>,
    /// What is to be put right on the slack fasteners before they are pulled again.
    pub(super) to_clean: Option<String>,
    /// Free lengths by which a fastener has grown beyond the maker's, and nobody has conceded it.
    pub(super) grown: Vec<Ix>,
}

impl Assessment {
    /// Computes a group anew: what stands, how far it is, what is wrong.
    pub(super) fn settle_group(&mut self, world: World, key: &GroupKey) {
        let Some(mut group) = self.groups.remove(key) else { return };
        let fates = self.fates_of_acts(world, key, &group.acts);
        // What is found first among them must not hang on the order of arrival.
        group.acts = fates.iter().map(|(ix, _)| *ix).collect();
        group.standing = fates.iter().filter(|(_, status)| status.stands()).map(|(ix, _)| *ix).collect();
        let mut findings = Vec::new();
        self.walk(world, key, &mut group, &mut findings);
        for (ix, status) in fates {
            findings.extend(self.undecided_finding(world, (&key.1, &key.0), ix, &status));
            self.set_status(ix, status);
        }
        group.read_tight = self.read_tight(world, key, &group);
        findings.extend(self.read_tight_findings(world, key, &group.read_tight));
        group.to_clean = self.to_clean(world, key, &group);
        let grown = self.grown(world, key, &group);
        let open = grown.iter().filter(|(_, finding)| self.conceded(world, finding).is_none());
        group.grown = open.map(|(ix, _)| *ix).collect();
        findings.extend(grown.into_iter().map(|(_, finding)| finding));
        self.groups.insert(key.clone(), group);
        self.put_findings(Source::Group(key.clone()), findings);
    }

    /// What became of each act, in order: voided, ended by work, slackened since, or standing.
    fn fates_of_acts(&self, world: World, key: &GroupKey, acts: &[Ix]) -> Vec<(Ix, Status)> {
        let log = world.log();
        let before = |a: Ix, b: Ix| self.is_before(world, a, b);
        let work = self.work_at(world, &key.1, |what| matches!(what, crate::engine::What::Tightening));
        let mut fates: Vec<(Ix, Status)> =
            acts.iter().map(|ix| (*ix, self.fate_under(world, *ix, &work))).collect();
        let slackened: Vec<Ix> = fates
            .iter()
            .filter(|(ix, status)| status.stands() && act(world, *ix) == Some(TighteningAct::Slackened))
            .map(|(ix, _)| *ix)
            .collect();
        for (ix, status) in &mut fates {
            let since = slackened.iter().copied().filter(|slack| before(*ix, *slack));
            if (status.stands() || matches!(status, Status::Undecided(_)))
                && let Some(by) = self.first_of(world, since)
            {
                *status = Status::Ended(by);
            }
        }
        let earlier = |ix: Ix| acts.iter().filter(|other| before(**other, ix)).count();
        fates.sort_by_key(|(ix, _)| (earlier(*ix), log.at(*ix).id));
        fates
    }

    /// The first of some acts: what came after it ended nothing any more; by id where neither is known first.
    fn first_of(&self, world: World, acts: impl Iterator<Item = Ix> + Clone) -> Option<Ix> {
        let first = |ix: &Ix| !acts.clone().any(|other| self.is_before(world, other, *ix));
        acts.clone().filter(first).min_by_key(|ix| world.log().at(*ix).id)
    }

    fn walk(&self, world: World, key: &GroupKey, group: &mut Group, findings: &mut Vec<Finding>) {
        let Some(definition) = &self.definition else { return };
        let Some(fastener) = definition.fastener(&key.0) else {
            let ids = group.acts.iter().map(|ix| world.log().at(*ix).id).collect();
            let text = format!("{} is not a fastener group of the definition", key.0);
            findings.push(Finding::new(Rule::UnknownFeature, &key.1, &key.0, ids, text));
            return;
        };
        let turned = wants_turning(fastener.place);
        let mut walk =
            Walk { world, key, fastener, findings, nipped: false, done: 0, last: None, left_out: None };
        group.turn_checks.clear();
        for ix in group.standing.clone() {
            let Some(step) = tightening(world, ix) else { continue };
            if let (Some(last), TighteningAct::Stage(_)) = (walk.last, step.act)
                && walk.is_part_way()
                && let Some(stop) = self.stop_between(world, key, last, Some(ix))
            {
                walk.left_part_tightened(stop, ix);
            }
            if turned && let (Some(last), TighteningAct::Stage(_)) = (walk.last, step.act) {
                match self.turn_check(world, key, last, Some(ix)) {
                    Some(check) => group.turn_checks.push(check),
                    None => walk.missed_turn(last, ix, self.bound(world, key, last, Some(ix)).is_some()),
                }
            }
            walk.act(ix, step);
        }
        walk.say_left_out();
        let (done, last, nipped) = (walk.done, walk.last, walk.nipped);
        let asked = self.unsettled_acts(world, key, &group.standing);
        if !asked.is_empty() {
            // In which order to walk is not known, so nothing else can be said.
            *findings = asked;
        }
        let all = usize::try_from(done).is_ok_and(|done| done >= fastener.stages.len());
        let final_check = last.and_then(|last| self.turn_check(world, key, last, None));
        group.turn_checks.extend(final_check);
        group.stages_done = done;
        let turned_last = final_check.is_some() || !turned;
        let accepted = findings.iter().all(|finding| self.conceded(world, finding).is_some());
        group.complete = all && turned_last && accepted;
        let halted = last.is_some_and(|last| {
            let stopped = !all && self.stop_between(world, key, last, None).is_some();
            stopped || (!turned_last && self.bound(world, key, last, None).is_some())
        });
        group.next = match () {
            () if !accepted || halted => NextAct::Slacken,
            () if fastener.nip && !nipped && done == 0 => NextAct::Nip,
            () if last.is_some() && !turned_last => NextAct::Turn,
            () if !all => NextAct::Stage(done + 1),
            () => NextAct::Nothing,
        };
    }

    /// Acts of which neither knew of the other: before or after?
    fn unsettled_acts(&self, world: World, key: &GroupKey, acts: &[Ix]) -> Vec<Finding> {
        let mut findings = Vec::new();
        for (at, a) in acts.iter().enumerate() {
            for b in &acts[at + 1..] {
                if self.orders.sequence(world.log(), *a, *b) == Sequence::Unsettled {
                    let (one, other) = (self.did(world, *a), self.did(world, *b));
                    let text = format!("{one}, and {other}; neither knew of the other");
                    let ids = self.ids(world, &[*a, *b]);
                    let finding = Finding::new(Rule::BeforeOrAfter, &key.1, &key.0, ids, text);
                    findings.push(finding.with_way_out(Some(BEGIN_AGAIN.to_owned())));
                }
            }
        }
        findings
    }
}

/// Walking through the acts of a group in order.
struct Walk<'a, 'w> {
    world: World<'w>,
    key: &'a GroupKey,
    fastener: &'a Fastener,
    findings: &'a mut Vec<Finding>,
    nipped: bool,
    done: u32,
    last: Option<Ix>,
    /// The last stage, where it was not pulled on every fastener alike.
    left_out: Option<Ix>,
}

impl Walk<'_, '_> {
    fn act(&mut self, ix: Ix, step: &Tightening) {
        match step.act {
            TighteningAct::Nipped => {
                self.nipped = true;
                // What it is nipped with stays on the thread; nothing named says nothing.
                if !step.lubricant.trim().is_empty() {
                    self.lubricant(ix, step);
                }
            }
            TighteningAct::Slackened => {}
            TighteningAct::Stage(number) => self.stage(ix, number, step),
        }
    }

    fn stage(&mut self, ix: Ix, number: u32, step: &Tightening) {
        if self.fastener.nip && !self.nipped && self.done == 0 {
            self.say(Rule::StagesOutOfOrder, ix, "the first stage was pulled without a nip before it".into());
            self.nipped = true;
        }
        // The same stage pulled once more is a check of it, not a mistake.
        if number == self.done + 1 || number == self.done {
            self.done = number;
        } else {
            let text = format!("stage {number} was pulled after stage {}", self.done);
            self.say(Rule::StagesOutOfOrder, ix, text);
        }
        self.last = Some(ix);
        self.left_out = (!step.exceptions.is_empty()).then_some(ix);
        self.set_point(ix, number, step);
        self.wrench(ix, step);
        self.lubricant(ix, step);
    }

    fn set_point(&mut self, ix: Ix, number: u32, step: &Tightening) {
        let Some(wanted) = self.fastener.stage(number) else {
            let text = format!("the definition has {} stages, not {number}", self.fastener.stages.len());
            return self.say(Rule::StagesOutOfOrder, ix, text);
        };
        let Some(set) = &step.set_point else {
            let text = format!("stage {number}: no set point entered; the maker's figure is {wanted}");
            return self.say(Rule::SetPoint, ix, text);
        };
        if !near(set.amount(), wanted.amount()) {
            let text = format!("stage {number}: the wrench was set to {set}; the maker's figure is {wanted}");
            self.say(Rule::SetPoint, ix, text);
        }
    }

    fn wrench(&mut self, ix: Ix, step: &Tightening) {
        let moment = self.world.log().at(ix).device_time;
        let Some(wrench) = self.world.workshop.gauge_at(&step.wrench, moment) else {
            let (text, way_out) = if step.wrench.is_empty() {
                ("no wrench was named".to_owned(), "void it, and enter it again with the wrench")
            } else {
                let text = format!("wrench {} is not listed in the workshop", step.wrench);
                (
                    text,
                    "list the wrench with its range and calibration, or slacken and begin again with one that is listed",
                )
            };
            return self.say_with(Rule::GaugeUnknown, ix, text, way_out);
        };
        if !wrench.calibrated_at(moment) {
            let text = format!("wrench {} was out of calibration, or it is not known", step.wrench);
            let way_out =
                "have it calibrated, or slacken and begin again with one that is; a lead may concede it";
            self.say_with(Rule::GaugeOverdue, ix, text, way_out);
        }
        let outside = |set: Amount| {
            let kind = wrench.kind.is_none_or(|kind| kind == set.kind());
            let low = wrench.range.0.is_some_and(|low| set.base() < low.base());
            let high = wrench.range.1.is_some_and(|high| set.base() > high.base());
            kind && (low || high)
        };
        if let Some(set) = &step.set_point
            && outside(set.amount())
        {
            let text = format!("{set} is outside the range of wrench {}", step.wrench);
            self.say(Rule::WrenchRange, ix, text);
        }
    }

    fn lubricant(&mut self, ix: Ix, step: &Tightening) {
        let wanted = &self.fastener.lubricant;
        if is_another(step, self.fastener) {
            let used = if step.lubricant.is_empty() { "none named" } else { &step.lubricant };
            self.say(Rule::Lubricant, ix, format!("lubricant: {used}; the definition asks for {wanted}"));
        }
    }

    /// Whether some stages are done, and not all.
    fn is_part_way(&self) -> bool {
        self.done > 0 && usize::try_from(self.done).is_ok_and(|done| done < self.fastener.stages.len())
    }

    fn left_part_tightened(&mut self, stop: Ix, next: Ix) {
        let ids = vec![self.id(stop), self.id(next)];
        let text =
            format!("work stopped after stage {}, and the next stage was pulled on top of it", self.done);
        self.findings.push(Finding::new(Rule::LeftPartTightened, &self.key.1, &self.key.0, ids, text));
    }

    fn say_left_out(&mut self) {
        let Some(ix) = self.left_out else { return };
        let Some(step) = tightening(self.world, ix) else { return };
        let one = |(number, words): &(u32, String)| format!("fastener {number}: {words}");
        self.say(Rule::FastenerLeftOut, ix, step.exceptions.iter().map(one).collect::<Vec<_>>().join("; "));
    }

    fn missed_turn(&mut self, last: Ix, next: Ix, bound: bool) {
        let ids = vec![self.id(last), self.id(next)];
        let text = if bound {
            "the next stage was pulled although the crank did not turn freely"
        } else {
            "the next stage was pulled without turning the crank in between"
        };
        let text = text.to_owned();
        self.findings.push(Finding::new(Rule::TurnCheckMissing, &self.key.1, &self.key.0, ids, text));
    }

    fn say(&mut self, rule: Rule, ix: Ix, text: String) {
        let ids = vec![self.id(ix)];
        self.findings.push(Finding::new(rule, &self.key.1, &self.key.0, ids, text));
    }

    /// The same, where the hint of the rule is for what is read.
    fn say_with(&mut self, rule: Rule, ix: Ix, text: String, way_out: &str) {
        let finding = Finding::new(rule, &self.key.1, &self.key.0, vec![self.id(ix)], text);
        self.findings.push(finding.with_way_out(Some(way_out.to_owned())));
    }

    fn id(&self, ix: Ix) -> EntryId {
        self.world.log().at(ix).id
    }
}

fn is_another(step: &Tightening, fastener: &Fastener) -> bool {
    !step.lubricant.trim().eq_ignore_ascii_case(fastener.lubricant.trim())
}

/// The lubricant that an act names, where it is another than the maker's.
pub(super) fn another_lubricant(world: World, fastener: &Fastener, ix: Ix) -> Option<String> {
    let step = tightening(world, ix).filter(|step| !step.lubricant.trim().is_empty())?;
    is_another(step, fastener).then(|| step.lubricant.trim().to_owned())
}

/// Whether an act pulled the last stage.
pub(super) fn is_last_stage(world: World, fastener: &Fastener, ix: Ix) -> bool {
    let last = |number: u32| usize::try_from(number).is_ok_and(|number| number >= fastener.stages.len());
    matches!(act(world, ix), Some(TighteningAct::Stage(number)) if last(number))
}

fn near(set: Amount, wanted: Amount) -> bool {
    let apart = i128::from(set.base()) - i128::from(wanted.base());
    set.kind() == wanted.kind() && apart.abs() * 100 <= i128::from(wanted.base()).abs() * SET_POINT_PERCENT
}

/// Mains and rods are turned after every stage; heads and covers are not.
const fn wants_turning(place: FeatureKind) -> bool {
    matches!(place, FeatureKind::Main | FeatureKind::RodBolts)
}

fn tightening<'w>(world: World<'w>, ix: Ix) -> Option<&'w Tightening> {
    match &world.log().at(ix).payload {
        Ok(Payload::Tightening(done)) => Some(done),
        _ => None,
    }
}

/// What was done to a group of fasteners, where an entry says such a thing.
pub(super) fn act(world: World, ix: Ix) -> Option<TighteningAct> {
    tightening(world, ix).map(|done| done.act)
}

/// Whether an entry says that a stage was pulled.
pub(super) fn is_stage(world: World, ix: Ix) -> bool {
    matches!(act(world, ix), Some(TighteningAct::Stage(_)))
}
