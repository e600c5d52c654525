//! The assessment from outside: accessors, and one canonical JSON shape.
//!
//! Object keys are sorted and lists are in a fixed order, so the same entries give the same
//! bytes on every machine. This is the only place that knows the JSON names.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use serde_json::{Map, Value as Json, json};

use super::between::NextAct;
use super::finding::{Finding, Rule, Weight};
use super::fold::{Assessment, Source, World};
use super::judged::{Judged, LimitInForce};
use super::record::Record;
use super::sign_off::Signature;
use super::standing::Standing;
use super::status::{PersonId, Status};
use super::steps::{Progress, StepState};
use super::subject::{Slot, Subject};
use super::workshop::Workshop;
use super::{CALCULATION, show};
use crate::engine::{Definition, Feature, FeatureRef};
use crate::entry::EntryId;
use crate::entry::payload::Payload;
use crate::log::{Ix, Log};
use crate::measure::{Reason, Verdict};

/// Version of the JSON shape.
pub const SCHEMA: u32 = 1;

/// One feature of one part, with what is known of it.
#[derive(Clone, Copy, Debug)]
pub struct FeatureView<'a> {
    /// The feature.
    pub feature: &'a Feature,
    /// Mark of the part its readings name; empty: none.
    pub part: &'a str,
    /// Every station that was read.
    pub slots: &'a [Slot],
    /// Every characteristic and derived value.
    pub values: &'a [Judged],
}

impl<'a> FeatureView<'a> {
    /// A characteristic or derived value by name.
    #[must_use]
    pub fn value(&self, name: &str) -> Option<&'a Judged> {
        self.values.iter().find(|judged| judged.name == name)
    }

    /// The stations of a characteristic that were read under the conditions it needs.
    pub fn stations(&self, name: &str) -> impl Iterator<Item = &'a Slot> {
        self.slots.iter().filter(move |slot| slot.fit && slot.row.name == name)
    }

    /// Why a value stands as read where temperature matters; none: it does not.
    #[must_use]
    pub fn uncorrected(&self, name: &str) -> Option<Reason> {
        self.stations(name).filter_map(|slot| slot.value()?.uncorrected).max()
    }
}

/// Counts of an assessment.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Entries held, folded or waiting.
    pub entries: usize,
    /// Entries without authority.
    pub not_counted: usize,
    /// Entries that miss their ground.
    pub waiting: usize,
    /// Stations whose readings differ.
    pub disputed: usize,
    /// Signatures that no longer stand.
    pub stale_signoffs: usize,
    /// Signatures given without the evidence of their step.
    pub signed_without_evidence: usize,
    /// Values too near a limit for their gauge.
    pub not_proven: usize,
    /// Values outside their limits.
    pub outside: usize,
    /// Values that cannot be judged, such as without temperature.
    pub not_judged: usize,
    /// Findings accepted by a lead.
    pub conceded: usize,
    /// Findings that somebody still has to settle.
    pub open_findings: usize,
    /// Steps of the procedure.
    pub steps_total: usize,
    /// Steps signed, and standing.
    pub steps_signed: usize,
}

/// Whether somebody from whom these readings are hidden may see what all of these entries say.
#[must_use]
pub fn may_see(hidden: &BTreeSet<Ix>, entries: &[Ix]) -> bool {
    entries.iter().all(|ix| !hidden.contains(ix))
}

impl Assessment {
    /// The definition, once it is held.
    #[must_use]
    pub fn definition(&self) -> Option<&Definition> {
        self.definition.as_deref()
    }

    /// Whether anything can be judged: a usable definition, and nothing from a newer version.
    #[must_use]
    pub const fn is_judged(&self) -> bool {
        self.definition.is_some() && !self.halted
    }

    /// What became of a folded entry.
    #[must_use]
    pub fn status(&self, ix: Ix) -> &Status {
        &self.entries[ix as usize].status
    }

    /// The person behind a folded entry.
    #[must_use]
    pub fn person(&self, ix: Ix) -> Option<PersonId> {
        self.entries[ix as usize].person
    }

    /// Every feature on which something is read or derived, in the definition's order, then
    /// features of parts by path.
    pub fn features(&self) -> impl Iterator<Item = FeatureView<'_>> {
        let mut seen: Vec<&Subject> =
            self.subjects.iter().filter(|s| !s.slots.is_empty() || !s.judged.is_empty()).collect();
        let order = |s: &&Subject| {
            (s.feature.ix().is_none(), s.feature.ix(), s.feature.shared_path(), Arc::clone(&s.part))
        };
        seen.sort_by_cached_key(order);
        seen.into_iter().map(view_of)
    }

    /// What is known of the feature at a path, whichever part speaks for it now.
    #[must_use]
    pub fn feature(&self, path: &str) -> Option<FeatureView<'_>> {
        self.subject_at(path).map(|ix| view_of(&self.subjects[ix]))
    }

    /// What is known of the feature that is meant, seen from another, as the parts lie now.
    ///
    /// # Errors
    /// In words: no part is allotted there, or nothing of it is read.
    pub fn seen_from(
        &self,
        record: &Record,
        workshop: &Workshop,
        feature: &Feature,
        meant: FeatureRef,
    ) -> Result<FeatureView<'_>, String> {
        let definition = self.definition().ok_or("the record holds no usable definition")?;
        let ix = self.subject_from(World { record, workshop }, definition, feature, meant)?;
        Ok(view_of(&self.subjects[ix]))
    }

    /// The limits in force for a value of a feature: the definition's, or as a lead changed them.
    #[must_use]
    pub fn limit_in_force(
        &self,
        record: &Record,
        workshop: &Workshop,
        feature: &Feature,
        name: &str,
    ) -> Option<LimitInForce> {
        self.limit(World { record, workshop }, self.definition()?, feature, name, "")
    }

    /// Marks of the parts of a sort that were entered and not voided.
    #[must_use]
    pub fn parts_of<'r>(&self, record: &'r Record, sort: &str) -> BTreeSet<&'r str> {
        let log = record.log();
        let mark = |ix: Ix| match &log.at(ix).payload {
            Ok(Payload::PartReceived(part)) => Some(part.mark.as_str()),
            _ => None,
        };
        self.parts_entered(log, sort).into_iter().filter_map(mark).collect()
    }

    /// A value of a feature by name.
    #[must_use]
    pub fn value(&self, path: &str, name: &str) -> Option<&Judged> {
        self.judged_on(path, name)
    }

    /// The steps, in the procedure's order.
    #[must_use]
    pub fn steps(&self) -> &[StepState] {
        &self.steps
    }

    /// Every finding, by rule, then place.
    #[must_use]
    pub fn findings(&self) -> Vec<&Finding> {
        let mut all: Vec<&Finding> = self.findings.values().flatten().collect();
        all.sort_by(|a, b| a.order(b));
        all.dedup();
        all
    }

    /// The stops of a step that nothing has resumed, ascending.
    #[must_use]
    pub fn open_stops(&self, step: &str) -> Vec<EntryId> {
        let of_record = self.findings.get(&Source::Record).into_iter().flatten();
        let open = of_record.filter(|finding| finding.rule == Rule::Stopped && finding.subject == step);
        let mut stops: Vec<EntryId> = open.flat_map(|finding| finding.ids.iter().copied()).collect();
        stops.sort_unstable();
        stops
    }

    /// Parts at a place, fitted or allotted: mark, and the fitting that says so.
    pub fn parts_in(&self, place: &str) -> impl Iterator<Item = (&str, Ix)> {
        self.placed.get(place).into_iter().flatten().map(|placed| (&*placed.part, placed.by))
    }

    /// Groups of fasteners: group, place, stages done, whether complete.
    pub fn tightenings(&self) -> impl Iterator<Item = (&str, &str, u32, bool)> {
        self.groups.iter().map(|((group, place), g)| (&**group, &**place, g.stages_done, g.complete))
    }

    /// What comes next on a group of fasteners; none where nothing was done on it yet.
    #[must_use]
    pub fn next_act(&self, group: &str, place: &str) -> Option<NextAct> {
        self.groups.get(&(group.into(), place.into())).map(|group| group.next)
    }

    /// Counts, for a glance.
    #[must_use]
    pub fn tally(&self, record: &Record) -> Tally {
        self.tally_without(record, &BTreeSet::new())
    }

    /// The same to somebody from whom these readings are hidden: values that rest on them are not counted.
    #[must_use]
    pub fn tally_without(&self, record: &Record, hidden: &BTreeSet<Ix>) -> Tally {
        let log = record.log();
        let seen = |j: &&Judged| j.limit.is_some() && may_see(hidden, &j.readings);
        let values = || self.subjects.iter().flat_map(|s| &s.judged).filter(seen);
        let with = |wanted: fn(Verdict) -> bool| values().filter(|j| wanted(j.verdict())).count();
        let findings = self.findings();
        let steps_with = |wanted: fn(&Signature) -> bool| {
            let either = |s: &&StepState| [&s.signature, &s.second].into_iter().flatten().any(wanted);
            self.steps.iter().filter(either).count()
        };
        let disputed = |slot: &&Slot| matches!(slot.standing, Standing::Disputed(_));
        Tally {
            entries: log.folded().len() + log.waiting().count(),
            not_counted: self.entries.iter().filter(|e| e.counts.is_err()).count(),
            waiting: log.waiting().count(),
            disputed: self.subjects.iter().flat_map(|s| &s.slots).filter(disputed).count(),
            stale_signoffs: steps_with(Signature::is_stale),
            signed_without_evidence: steps_with(Signature::lacks_evidence),
            not_proven: with(|v| v == Verdict::NotProven),
            outside: with(|v| v == Verdict::Outside),
            not_judged: values()
                .filter(|j| matches!(j.verdict(), Verdict::NotJudged(_)) && j.low.is_some())
                .count(),
            conceded: findings.iter().filter(|f| f.conceded.is_some()).count(),
            open_findings: findings.iter().filter(|f| f.is_open()).count(),
            steps_total: self.steps.len(),
            steps_signed: self.steps.iter().filter(|s| s.progress == Progress::Signed).count(),
        }
    }

    /// The canonical JSON of everything.
    #[must_use]
    pub fn to_json(&self, record: &Record, workshop: &Workshop) -> Json {
        let world = World { record, workshop };
        let log = record.log();
        json!({
            "schema": SCHEMA,
            "calculation": CALCULATION,
            "record": log.document().to_hex(),
            "workshop": workshop.roster().workshop().to_hex(),
            "engine": self.definition.as_ref().map(|d| d.name()),
            "judged": self.is_judged(),
            "handed_over": self.handed_over(world).map(|ix| log.at(ix).id.to_hex()),
            "tally": self.tally_json(record),
            "features": self.features().map(|f| feature_json(log, &f)).collect::<Vec<_>>(),
            "tightenings": self.tightenings_json(log),
            "parts": self.parts_json(log),
            "steps": self.steps.iter().map(|s| self.step_json(world, s)).collect::<Vec<_>>(),
            "findings": self.findings().iter().map(|f| finding_json(f)).collect::<Vec<_>>(),
            "entries": self.entries_json(log),
        })
    }

    /// The canonical bytes: equal for equal entries, on every machine, in any order of arrival.
    #[must_use]
    pub fn to_bytes(&self, record: &Record, workshop: &Workshop) -> Vec<u8> {
        self.to_json(record, workshop).to_string().into_bytes()
    }

    /// Counts as JSON.
    #[must_use]
    pub fn tally_json(&self, record: &Record) -> Json {
        let t = self.tally(record);
        json!({
            "entries": t.entries, "not_counted": t.not_counted, "waiting": t.waiting,
            "disputed": t.disputed, "stale_signoffs": t.stale_signoffs,
            "signed_without_evidence": t.signed_without_evidence, "not_proven": t.not_proven,
            "outside": t.outside, "not_judged": t.not_judged, "conceded": t.conceded,
            "open_findings": t.open_findings,
            "steps_total": t.steps_total, "steps_signed": t.steps_signed,
        })
    }

    fn tightenings_json(&self, log: &Log) -> Json {
        let one = |((group, place), g): (&super::tightening::GroupKey, &super::tightening::Group)| {
            json!({
                "group": &**group, "place": &**place, "stages_done": g.stages_done,
                "complete": g.complete, "next": g.next.word(), "acts": hex_list(log, &g.standing),
            })
        };
        self.groups.iter().map(one).collect()
    }

    fn parts_json(&self, log: &Log) -> Json {
        let at = |placed: &super::fold::Placed| json!({ "part": &*placed.part, "by": log.at(placed.by).id.to_hex() });
        let places = self.placed.iter().filter(|(_, parts)| !parts.is_empty());
        let all: Map<String, Json> =
            places.map(|(place, parts)| (place.to_string(), parts.iter().map(at).collect())).collect();
        Json::Object(all)
    }

    fn step_json(&self, world: World, step: &StepState) -> Json {
        let waits: Vec<&str> = step.waits_for.iter().map(|ix| &*self.steps[*ix].id).collect();
        let evidence = |e: &super::steps::Evidence| json!({ "asked": &*e.asked, "found": e.found, "met": e.met, "entries": hex_list(world.log(), &e.entries) });
        json!({
            "id": &*step.id,
            "progress": step.progress.word(),
            "waits_for": waits,
            "assigned": step.assigned.and_then(|person| world.workshop.roster().name_of(person)),
            "evidence": step.evidence.iter().map(evidence).collect::<Vec<_>>(),
            "signature": step.signature.as_ref().map(|s| self.signature_json(world, s)),
            "second": step.second.as_ref().map(|s| self.signature_json(world, s)),
        })
    }

    fn signature_json(&self, world: World, signature: &Signature) -> Json {
        let statement = world.log().at(signature.by);
        let printed = match &statement.payload {
            Ok(Payload::SignOff(sign_off)) => sign_off.printed_name.as_str(),
            _ => "",
        };
        let stale: Vec<Json> = signature
            .stale
            .iter()
            .map(|cause| json!({ "text": cause.words(), "entries": cause.entries.iter().map(EntryId::to_hex).collect::<Vec<_>>() }))
            .collect();
        json!({
            "entry": statement.id.to_hex(), "by": self.author(world, signature.by), "printed_name": printed,
            "device_time": statement.device_time, "stands": signature.stands(), "stale": stale,
            "without_evidence": signature.lacks_evidence(),
            "read_again": hex_list(world.log(), &signature.read_again),
        })
    }

    fn entries_json(&self, log: &Log) -> Json {
        let mut all: BTreeMap<EntryId, Json> = (0..)
            .zip(&self.entries)
            .map(|(ix, entry): (Ix, _)| {
                let by = hex_list(log, entry.status.causes());
                let why = entry.counts.as_ref().err().map(ToString::to_string);
                let id = log.at(ix).id;
                (id, json!({ "id": id.to_hex(), "status": entry.status.word(), "by": by, "why": why }))
            })
            .collect();
        for waiting in log.waiting() {
            let json =
                json!({ "id": waiting.id.to_hex(), "status": "missing its ground", "by": [], "why": null });
            all.insert(waiting.id, json);
        }
        all.into_values().collect()
    }
}

fn view_of(subject: &Subject) -> FeatureView<'_> {
    FeatureView {
        feature: &subject.feature,
        part: &subject.part,
        slots: &subject.slots,
        values: &subject.judged,
    }
}

/// Ids of entries, ascending.
fn hex_list(log: &Log, list: &[Ix]) -> Vec<String> {
    let mut ids: Vec<EntryId> = list.iter().map(|ix| log.at(*ix).id).collect();
    ids.sort_unstable();
    ids.iter().map(EntryId::to_hex).collect()
}

fn feature_json(log: &Log, view: &FeatureView) -> Json {
    json!({
        "path": view.feature.path(),
        "part": view.part,
        "stations": view.slots.iter().map(|slot| slot_json(log, slot)).collect::<Vec<_>>(),
        "values": view.values.iter().map(|value| value_json(log, value)).collect::<Vec<_>>(),
    })
}

fn slot_json(log: &Log, slot: &Slot) -> Json {
    let (state, value, u, readings) = match &slot.standing {
        Standing::Value(v) => ("value", Some(v.value), v.u.map(|u| u.base()), hex_list(log, &v.readings)),
        Standing::Disputed(readings) => ("disputed", None, None, hex_list(log, readings)),
        Standing::Undecided(readings, _) => ("before or after?", None, None, hex_list(log, readings)),
        Standing::Empty => ("nothing stands", None, None, Vec::new()),
    };
    json!({
        "characteristic": slot.row.name,
        "station": &*slot.station,
        "conditions": slot.conditions.iter().map(|c| &**c).collect::<Vec<_>>(),
        "state": state,
        "base": value,
        "text": value.map(|base| show::amount(slot.row.kind, base)),
        "u_base": u,
        "readings": readings,
    })
}

/// A judged value.
fn value_json(log: &Log, judged: &Judged) -> Json {
    let limit = judged.limit.as_ref().map(|limit| {
        json!({
            "lower_base": limit.lower, "upper_base": limit.upper,
            "text": show::limits(judged.kind, limit.lower, limit.upper),
            "rule": limit.rule.to_string(), "source": limit.source,
            "by": limit.by.map(|ix| log.at(ix).id.to_hex()),
        })
    });
    let text = judged.low.zip(judged.high).map(|(low, high)| show::span(judged.kind, low, high));
    let as_read = judged.as_read.map(|(low, high)| show::span(judged.kind, low, high));
    json!({
        "name": judged.name,
        "kind": judged.kind.name(),
        "low_base": judged.low, "high_base": judged.high, "text": text, "as_read": as_read,
        "u_base": judged.u.map(|u| u.base()),
        "u_text": judged.u.map(|u| show::uncertainty(judged.kind, u.base())),
        "guard_base": judged.guard(),
        "verdict": judged.verdict().to_string(), "verdict_code": judged.verdict().code(),
        "limit": limit,
        "stations_read": judged.stations.0, "stations_needed": judged.stations.1,
        "hindrance": judged.hindrance(),
        "formula": judged.derivation.map(|row| row.text),
        "source": judged.derivation.map(|row| row.source),
        "readings": hex_list(log, &judged.readings),
    })
}

fn finding_json(finding: &Finding) -> Json {
    let weight = match finding.rule.weight() {
        Weight::Stops => "stops",
        Weight::Settle => "settle",
        Weight::Note => "note",
    };
    json!({
        "rule": finding.rule.name(), "title": finding.rule.title(), "weight": weight,
        "feature": finding.feature, "subject": finding.subject,
        "text": finding.text, "hint": finding.hint(),
        "entries": finding.ids.iter().map(EntryId::to_hex).collect::<Vec<_>>(),
        "conceded": finding.conceded.map(|id| id.to_hex()),
    })
}
