//! Findings about entries as such, and about the record as a whole.

use super::finding::{Finding, Rule};
use super::fold::{Assessment, Source, World};
use super::order::latest;
use super::status::Status;
use crate::engine::characteristic;
use crate::entry::payload::{Concession, Payload};
use crate::entry::{EntryId, Kind, READER};
use crate::log::{Ix, Statement};
use crate::quantity::Comparator;

impl Assessment {
    /// Findings about each entry from place `from` on.
    pub(super) fn settle_entries(&mut self, world: World, from: usize) {
        for (ix, statement) in (0..).zip(world.log().folded()).skip(from) {
            let finding = self.entry_finding(world, ix, statement);
            // New entries have no findings yet.
            if let Some(finding) = finding {
                self.put_findings(Source::Entry(statement.id), vec![finding]);
            }
        }
    }

    fn entry_finding(&self, world: World, ix: Ix, statement: &Statement) -> Option<Finding> {
        let say = |rule: Rule, feature: &str, subject: &str, text: String| {
            Some(Finding::new(rule, feature, subject, vec![statement.id], text))
        };
        let what = statement.kind().map_or("an entry", Kind::name);
        if let Err(why) = &self.entries[ix as usize].counts {
            let text = format!("{what} by {}: {why}", world.workshop.roster().told(statement.key));
            let finding = say(Rule::NotCounted, "", "", text)?;
            return Some(finding.with_way_out(Some(why.way_out().to_owned())));
        }
        if statement.kind().is_none() || statement.min_reader > READER {
            let text = format!("kind {}, for readers from {} on", statement.kind_code, statement.min_reader);
            return say(Rule::UnknownKind, "", "", text);
        }
        // What is withdrawn needs no place any more.
        if self.voids.contains_key(&ix) {
            return None;
        }
        match &statement.payload {
            Err(why) => say(Rule::Unreadable, "", "", format!("{what}: {why}")),
            Ok(Payload::Reading(reading)) => {
                let (rule, text) = self.misplaced(ix, reading)?;
                say(rule, &reading.feature, &reading.characteristic, text)
            }
            Ok(Payload::Operation(operation)) => {
                let definition = self.definition.as_ref()?;
                let unknown = operation.features.iter().find_map(|path| definition.feature(path).err());
                let text = match unknown {
                    Some(unknown) => unknown.to_string(),
                    None if definition.operations().iter().any(|row| row.name == operation.operation) => {
                        return None;
                    }
                    None => format!("{} is no operation of the table: it ends nothing", operation.operation),
                };
                say(
                    Rule::UnknownFeature,
                    operation.features.first().map_or("", String::as_str),
                    &operation.operation,
                    text,
                )
            }
            Ok(Payload::Void(void)) => {
                let reached = world
                    .log()
                    .place(&void.entry)
                    .is_some_and(|t| self.voids.get(&t).is_some_and(|voids| voids.contains(&ix)));
                let text = "a void reaches one's own work, or for a lead anybody's, and only work known to its author";
                if reached { None } else { say(Rule::NotCounted, "", "", text.to_owned()) }
            }
            Ok(Payload::Fitting(fitting)) => {
                let definition = self.definition.as_ref()?;
                definition.feature(&fitting.place).is_err().then_some(())?;
                let text = format!("{} is entered at {}", fitting.part, fitting.place);
                say(Rule::UnknownPlace, &fitting.place, &fitting.part, text)
            }
            Ok(Payload::LimitChange(change)) => {
                let (rule, text) = self.misplaced_limit(change)?;
                say(rule, &change.feature, &change.characteristic, text)
            }
            Ok(_) => None,
        }
    }

    /// Why a reading has no place in the definition.
    fn misplaced(&self, ix: Ix, reading: &crate::entry::payload::Reading) -> Option<(Rule, String)> {
        let definition = self.definition.as_ref()?;
        // What was filed passed all of this.
        if self.entries[ix as usize].subject.is_some() {
            return None;
        }
        let kind = match definition.feature(&reading.feature) {
            Ok(feature) => feature.kind(),
            Err(unknown) => return Some((Rule::UnknownFeature, unknown.to_string())),
        };
        let Some(row) = characteristic::find(kind, &reading.characteristic) else {
            let text = format!("{} has no {}", reading.feature, reading.characteristic);
            return Some((Rule::UnknownCharacteristic, text));
        };
        if reading.value.kind() != row.kind {
            let text =
                format!("{} is a {}, not a {}", row.name, row.kind.name(), reading.value.kind().name());
            return Some((Rule::WrongQuantity, text));
        }
        if let Some(Err(impossible)) =
            reading.set_size.clone().map(|set| Comparator::new(set, reading.value.clone()))
        {
            return Some((Rule::WrongQuantity, impossible.to_string()));
        }
        if !definition.allows_station(row, &reading.station) {
            let text = format!("{} has no station `{}` on {}", row.name, reading.station, reading.feature);
            return Some((Rule::UnknownCharacteristic, text));
        }
        None
    }

    /// Findings about the record as a whole; concessions are laid over all findings last.
    pub(super) fn settle_record(&mut self, world: World) {
        let mut findings = Vec::new();
        self.definition_findings(world, &mut findings);
        newer_in_the_workshop(world, &mut findings);
        missing_ground(world, &mut findings);
        forks(world, &mut findings);
        self.clocks(world, &mut findings);
        self.disputed_orders(world, &mut findings);
        self.disputed_choices(world, &mut findings);
        self.part_conflicts(world, &mut findings);
        self.stopped(world, &mut findings);
        self.after_hand_over(world, &mut findings);
        self.lapsed_concessions(world, &mut findings);
        self.put_findings(Source::Record, findings);
        self.concede(world);
    }

    fn definition_findings(&self, world: World, findings: &mut Vec<Finding>) {
        if let Some((id, problems)) = world.record.unusable_definition() {
            let text = problems.first().map_or_else(String::new, ToString::to_string);
            findings.push(Finding::new(Rule::NoDefinition, "", "", vec![*id], text));
        } else if self.definition.is_none() && !world.log().folded().is_empty() {
            let text = "the definition that the founding names is not held".to_owned();
            findings.push(Finding::new(Rule::NoDefinition, "", "", Vec::new(), text));
        }
    }

    /// A key's own entries follow each other, so one look at each is enough; a forked key has
    /// a finding of its own, and no single clock.
    fn clocks(&self, world: World, findings: &mut Vec<Finding>) {
        for (key, (_, first)) in &self.clocks {
            if let Some(first) = first.filter(|_| !world.log().is_forked(*key)) {
                let text = format!("the clock of {} ran backwards", world.workshop.roster().told(*key));
                findings.push(Finding::new(Rule::ClockBackwards, "", "", vec![first], text));
            }
        }
    }

    /// The hand-over that stands: not followed by a reopening that knew it.
    pub(super) fn handed_over(&self, world: World) -> Option<Ix> {
        let log = world.log();
        let open = |ix: Ix| {
            self.reopens.iter().any(|reopen| log.knows(*reopen, ix) && self.outer(log, *reopen).is_none())
        };
        let standing =
            self.hand_overs.iter().copied().filter(|ix| self.outer(log, *ix).is_none() && !open(*ix));
        latest(log, standing).first().copied()
    }

    fn after_hand_over(&self, world: World, findings: &mut Vec<Finding>) {
        let Some(handed) = self.handed_over(world) else { return };
        let log = world.log();
        let late: Vec<Ix> = (0..)
            .zip(log.folded())
            .filter(|(ix, s)| {
                s.kind().is_some_and(|k| k.row().work) && self.counts(*ix) && !log.knows(handed, *ix)
            })
            .map(|(ix, _)| ix)
            .collect();
        if !late.is_empty() {
            let entries = match late.len() {
                1 => "1 entry was".to_owned(),
                several => format!("{several} entries were"),
            };
            let text = format!("{entries} not known when the engine was handed over");
            findings.push(Finding::new(Rule::AfterHandOver, "", "", self.ids(world, &late), text));
        }
    }

    fn lapsed_concessions(&self, world: World, findings: &mut Vec<Finding>) {
        for ix in &self.concessions {
            let (Some(concession), id) = (concession(world, *ix), world.log().at(*ix).id) else { continue };
            if self.outer(world.log(), *ix).is_none() && !self.holds(world, *ix, concession) {
                let text = format!("{} was conceded on what no longer stands", concession.subject);
                let (feature, subject) = (&concession.feature, &concession.subject);
                findings.push(Finding::new(Rule::ConcessionLapsed, feature, subject, vec![id], text));
            }
        }
    }

    /// Whether everything that a concession rests on is as it was when it was conceded.
    fn holds(&self, world: World, ix: Ix, concession: &Concession) -> bool {
        !concession.rests_on.is_empty()
            && concession.rests_on.iter().all(|id| {
                world.log().place(id).is_some_and(|place| {
                    world.log().knows(ix, place) && self.as_conceded(world, ix, &concession.rule, place)
                })
            })
    }

    /// Whether an entry stands, or fell to something that the lead knew and conceded: a
    /// dispute, a stale signature, a failed gauge rest on what does not stand.
    fn as_conceded(&self, world: World, ix: Ix, rule: &str, place: Ix) -> bool {
        let status = &self.entries[place as usize].status;
        let on = |rules: &[Rule]| rules.iter().any(|other| other.name() == rule);
        match status {
            Status::Stands => true,
            Status::NotCounted => on(&[Rule::NotCounted]),
            Status::Disputed | Status::Outvoted => {
                on(&[Rule::Disputed, Rule::DisputedChoice, Rule::StaleSignOff])
            }
            Status::Voided(_)
            | Status::Superseded(_)
            | Status::Replaced(_)
            | Status::Ended(_)
            | Status::Doubtful(_)
            | Status::Undecided(_) => {
                // A bolt has grown over its length when new, which is past.
                on(&[Rule::StaleSignOff, Rule::GaugeFailed, Rule::BeforeOrAfter, Rule::FastenerGrown])
                    && status.causes().iter().all(|by| world.log().knows(ix, *by))
            }
        }
    }

    /// The concession that accepts a finding: the same rule, place and subject, resting on at
    /// least what the finding rests on, all of it standing.
    pub(super) fn conceded(&self, world: World, finding: &Finding) -> Option<EntryId> {
        let accepting = self.concessions.iter().filter_map(|ix| {
            let concession = concession(world, *ix)?;
            let fits = concession.rule == finding.rule.name()
                && concession.feature == finding.feature
                && concession.subject == finding.subject
                && finding.ids.iter().all(|id| concession.rests_on.contains(id));
            (fits && self.outer(world.log(), *ix).is_none() && self.holds(world, *ix, concession))
                .then(|| world.log().at(*ix).id)
        });
        accepting.min()
    }

    fn concede(&mut self, world: World) {
        if self.concessions.is_empty() {
            return;
        }
        let mut findings = std::mem::take(&mut self.findings);
        for finding in findings.values_mut().flatten() {
            finding.conceded = self.conceded(world, finding);
        }
        self.findings = findings;
    }
}

fn concession<'w>(world: World<'w>, ix: Ix) -> Option<&'w Concession> {
    match &world.log().at(ix).payload {
        Ok(Payload::Concession(concession)) => Some(concession),
        _ => None,
    }
}

/// While the workshop holds an entry from a newer version, nothing in it is proven.
fn newer_in_the_workshop(world: World, findings: &mut Vec<Finding>) {
    for id in world.workshop.roster().unjudged() {
        let text = "the workshop holds an entry of a newer version".to_owned();
        findings.push(Finding::new(Rule::UnknownKind, "", "", vec![*id], text));
    }
}

fn missing_ground(world: World, findings: &mut Vec<Finding>) {
    for statement in world.log().waiting() {
        let what = statement.kind().map_or("an entry", Kind::name);
        let by = world.workshop.roster().told(statement.key);
        let text = format!("{what} by {by} rests on entries that are not here");
        findings.push(Finding::new(Rule::MissingGround, "", "", vec![statement.id], text));
    }
}

fn forks(world: World, findings: &mut Vec<Finding>) {
    for (key, ids) in world.log().forks() {
        let ids = ids.into_iter().collect();
        let by = world.workshop.roster().told(key);
        let text = format!("{by} wrote on two devices, neither knowing of the other");
        findings.push(Finding::new(Rule::ForkedKey, "", "", ids, text));
    }
}
