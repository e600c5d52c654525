//! Findings about values and the readings under them.

use super::finding::{Finding, Rule};
use super::fold::{Assessment, World};
use super::judged::{Judged, Obstacle};
use super::outside;
use super::show;
use super::sized::temperatures_too_far;
use super::standing::Standing;
use super::status::Status;
use super::subject::{Slot, Subject, SubjectIx, Taken};
use super::tightening::{BEGIN_AGAIN, act};
use crate::engine::Definition;
use crate::entry::EntryId;
use crate::entry::payload::{FittingState, Payload, TighteningAct};
use crate::log::Ix;
use crate::measure::{Reason, Verdict};

/// What to supply where there is no verdict, by what stands in its way; none: a finding of its own says.
const fn to_supply(reason: Reason) -> Option<&'static str> {
    match reason {
        Reason::NoUncertainty => Some(
            "a lead states the gauge's error limit and resolution, and those of what it is set on; or read again with a gauge of which they are known",
        ),
        Reason::NoTemperature => Some("read again, and give the temperature of the part and of the gauge"),
        Reason::LimitsCrossed => Some("the lead sets the limit again, the lower figure below the upper"),
        Reason::UnknownEntry => Some("bring this device up to date; until then nothing here is judged"),
        Reason::TemperatureTooFar => Some(TOO_FAR),
        Reason::NoLimit | Reason::Disputed | Reason::Undecided | Reason::NotRead => None,
    }
}

/// What to do about a temperature that is too far from 20 degC to correct from.
const TOO_FAR: &str = "let part and gauge come within 50 degC of 20 degC and read again; if the temperature was mistyped, void the reading and enter it again";

impl Assessment {
    pub(super) fn subject_findings(
        &self,
        world: World,
        definition: &Definition,
        ix: SubjectIx,
    ) -> Vec<Finding> {
        let subject = &self.subjects[ix];
        let mut findings = Vec::new();
        for slot in &subject.slots {
            findings.extend(self.slot_finding(world, subject, slot));
        }
        for judged in &subject.judged {
            findings.extend(self.value_finding(world, subject, judged));
        }
        for (slot, taken) in subject.slots.iter().flat_map(|s| s.readings.iter().map(move |t| (s, t))) {
            match self.entries[taken.ix as usize].status {
                Status::Stands => {
                    let again = !slot.fit && slot.shows && self.read_again_fit(world, (subject, slot), taken);
                    let as_needed = slot.fit || !slot.shows || again;
                    reading_findings(world, definition, (subject, as_needed), taken, &mut findings);
                }
                Status::Doubtful(by) if matches!(slot.standing, Standing::Empty) => {
                    findings.push(self.doubt_finding(world, (subject, slot), taken, by));
                }
                Status::Doubtful(_)
                | Status::NotCounted
                | Status::Voided(_)
                | Status::Superseded(_)
                | Status::Replaced(_)
                | Status::Ended(_)
                | Status::Undecided(_)
                | Status::Disputed
                | Status::Outvoted => {}
            }
        }
        findings
    }

    /// Whether the same person, knowing a reading without its conditions, has read the place again
    /// under them: whatever became of that, it is what the person says of the place.
    fn read_again_fit(&self, world: World, (subject, slot): (&Subject, &Slot), taken: &Taken) -> bool {
        let same =
            |other: &&Slot| other.fit && other.row.name == slot.row.name && *other.station == *slot.station;
        let voided = |ix: Ix| matches!(self.entries[ix as usize].status, Status::Voided(_));
        let again = |later: &Taken| {
            later.person == taken.person && !voided(later.ix) && world.log().knows(later.ix, taken.ix)
        };
        subject.slots.iter().filter(same).flat_map(|other| &other.readings).any(again)
    }

    /// A reading with a gauge that failed, where nothing has been read with another since.
    fn doubt_finding(
        &self,
        world: World,
        (subject, slot): (&Subject, &Slot),
        taken: &Taken,
        by: Ix,
    ) -> Finding {
        let at = if slot.station.is_empty() { String::new() } else { format!(" at {}", slot.station) };
        let (said, found) = (self.said(world, taken.ix), self.did(world, by));
        let text = format!("{}{at}: {said}; {found}, and no good check lies between", taken.row.name);
        let ids = self.ids(world, &[taken.ix, by]);
        Finding::new(Rule::GaugeFailed, subject.feature.path(), taken.row.name, ids, text)
    }

    fn slot_finding(&self, world: World, subject: &Subject, slot: &Slot) -> Option<Finding> {
        let path = subject.feature.path();
        let at = if slot.station.is_empty() { String::new() } else { format!(" at {}", slot.station) };
        match &slot.standing {
            Standing::Value(_) | Standing::Empty => None,
            Standing::Disputed(readings) => {
                let said: Vec<String> = readings.iter().map(|ix| self.said(world, *ix)).collect();
                let text = format!("{}{at}: {}", slot.row.name, said.join("; "));
                Some(Finding::new(Rule::Disputed, path, slot.row.name, self.ids(world, readings), text))
            }
            Standing::Undecided(readings, work) => {
                let mut all = readings.clone();
                all.extend(work);
                let work: Vec<String> = work.iter().map(|ix| self.did(world, *ix)).collect();
                let read: Vec<String> = readings.iter().map(|ix| self.said(world, *ix)).collect();
                let text = format!(
                    "{}{at}: {}, and {}; neither knew of the other",
                    slot.row.name,
                    read.join(", "),
                    work.join(", ")
                );
                Some(Finding::new(Rule::BeforeOrAfter, path, slot.row.name, self.ids(world, &all), text))
            }
        }
    }

    fn value_finding(&self, world: World, subject: &Subject, judged: &Judged) -> Option<Finding> {
        let limit = judged.limit.as_ref()?;
        let path = subject.feature.path();
        let rule = match judged.verdict() {
            Verdict::Within => return None,
            Verdict::Outside => Rule::Outside,
            Verdict::NotProven => Rule::NotProven,
            Verdict::NotJudged(Reason::Disputed) if !limit.disputed.is_empty() => {
                let ids = self.ids(world, &limit.disputed);
                let text = format!("the limit of {} was set to different figures", judged.name);
                return Some(Finding::new(Rule::DisputedChoice, path, judged.name, ids, text));
            }
            // These have findings of their own, or are simply not done yet.
            Verdict::NotJudged(Reason::Disputed | Reason::Undecided | Reason::NotRead | Reason::NoLimit) => {
                return None;
            }
            Verdict::NotJudged(
                Reason::NoUncertainty
                | Reason::NoTemperature
                | Reason::UnknownEntry
                | Reason::LimitsCrossed
                | Reason::TemperatureTooFar,
            ) => Rule::NotJudged,
        };
        let mut ids = self.ids(world, &judged.readings);
        ids.extend(limit.by.map(|ix| world.log().at(ix).id));
        let way_out = match judged.verdict() {
            Verdict::NotJudged(reason) => to_supply(reason),
            Verdict::Outside => outside::way_out(subject.feature.kind(), judged.name),
            Verdict::Within | Verdict::NotProven => None,
        };
        let way_out = way_out.map(str::to_owned);
        let more = Self::too_warm_or_cold(world, judged).unwrap_or_default();
        let text = show::value_against_limit(judged) + &more;
        Some(Finding::new(rule, path, judged.name, ids, text).with_way_out(way_out))
    }

    /// Of a value whose readings cannot be brought to 20 degC: the temperature given.
    fn too_warm_or_cold(world: World, judged: &Judged) -> Option<String> {
        if judged.verdict() != Verdict::NotJudged(Reason::TemperatureTooFar) {
            return None;
        }
        let given = judged.readings.iter().find_map(|ix| match &world.log().at(*ix).payload {
            Ok(Payload::Reading(reading)) => temperatures_too_far(reading).next(),
            _ => None,
        });
        given.map(|(whose, at)| format!("; the {whose} was given at {at}"))
    }

    /// An act or a check and work of which neither knew of the other; at a place, of a name.
    pub(super) fn undecided_finding(
        &self,
        world: World,
        (place, name): (&str, &str),
        ix: Ix,
        status: &Status,
    ) -> Option<Finding> {
        let Status::Undecided(work) = status else { return None };
        let done: Vec<String> = work.iter().map(|by| self.did(world, *by)).collect();
        let text = format!("{}, and {}; neither knew of the other", self.did(world, ix), done.join(", "));
        let mut ids = self.ids(world, work);
        ids.extend(self.ids(world, &[ix]));
        let again =
            if act(world, ix).is_some() { BEGIN_AGAIN } else { "say which came first, or check again" };
        let finding = Finding::new(Rule::BeforeOrAfter, place, name, ids, text);
        Some(finding.with_way_out(Some(again.to_owned())))
    }

    pub(super) fn ids(&self, world: World, list: &[Ix]) -> Vec<EntryId> {
        list.iter().map(|ix| world.log().at(*ix).id).collect()
    }

    /// `47.748 mm by Ann (M1)`.
    pub(super) fn said(&self, world: World, ix: Ix) -> String {
        let statement = world.log().at(ix);
        let Ok(Payload::Reading(reading)) = &statement.payload else { return String::new() };
        let who = reading
            .read_by
            .and_then(|person| world.workshop.roster().name_of(person))
            .unwrap_or_else(|| self.author(world, ix));
        let gauge = if reading.gauge.is_empty() { "no gauge named" } else { &reading.gauge };
        format!("{} by {who} ({gauge})", show::reading(reading))
    }

    /// `Ben logged hone`.
    pub(super) fn did(&self, world: World, ix: Ix) -> String {
        let what = match &world.log().at(ix).payload {
            Ok(Payload::Operation(operation)) => format!("logged {}", operation.operation),
            Ok(Payload::Void(void)) => format!("voided it ({})", void.reason),
            Ok(Payload::Reading(reading)) => format!("read {}", show::reading(reading)),
            Ok(Payload::GaugeCheck(check)) => format!("found gauge {} out", check.gauge),
            Ok(Payload::Tightening(done)) => match done.act {
                TighteningAct::Nipped => format!("nipped {}", done.group),
                TighteningAct::Stage(number) => format!("pulled stage {number} of {}", done.group),
                TighteningAct::Slackened => format!("slackened {}", done.group),
            },
            Ok(Payload::Fitting(fitting)) => {
                let how = match fitting.state {
                    FittingState::Allotted => "allotted",
                    FittingState::Fitted => "fitted",
                    FittingState::TakenOut => "took out",
                };
                format!("{how} {} at {}", fitting.part, fitting.place)
            }
            Ok(Payload::Decision(decision)) => format!("decided {}", decision.text),
            Ok(Payload::Check(check)) => format!("checked {}", check.check),
            _ => "entered something".to_owned(),
        };
        format!("{} {what}", self.author(world, ix))
    }
}

/// What is the matter with one standing reading; `as_needed`: its conditions are those its
/// characteristic needs, or it was read again under them.
fn reading_findings(
    world: World,
    definition: &Definition,
    (subject, as_needed): (&Subject, bool),
    taken: &Taken,
    findings: &mut Vec<Finding>,
) {
    if as_needed && taken.remarks.is_empty() {
        return;
    }
    let statement = world.log().at(taken.ix);
    let Ok(Payload::Reading(reading)) = &statement.payload else { return };
    let mut say = |rule: Rule, text: String| {
        findings.push(Finding::new(rule, subject.feature.path(), taken.row.name, vec![statement.id], text));
    };
    if !as_needed {
        let missing: Vec<String> = definition
            .missing_conditions(taken.row, &reading.conditions)
            .map(|one_of| one_of.join(" or "))
            .collect();
        say(Rule::ConditionsMissing, format!("{} was read without {}", taken.row.name, missing.join(", ")));
    }
    for remark in &taken.remarks {
        say(remark.rule(), remark.text(reading));
    }
}

impl Judged {
    /// What stands in the way, in words.
    #[must_use]
    pub fn hindrance(&self) -> Option<String> {
        Some(match self.obstacle.as_ref()? {
            Obstacle::Disputed(_) => "readings differ".to_owned(),
            Obstacle::Undecided(..) => "before or after?".to_owned(),
            Obstacle::Missing(what) => what.clone(),
        })
    }
}
