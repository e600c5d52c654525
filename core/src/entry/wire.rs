//! Payloads to and from their stored shape: the one place that knows both.

use gudgeon_proto::v1;
use prost::Message as _;

use super::payload::*;
use super::{DocumentId, EntryId, KeyId, Kind};
use crate::quantity::{Quantity, QuantityError};

/// Why a payload cannot be read. The entry is kept all the same; this is a finding.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Unreadable {
    /// The bytes are not the message of its kind.
    #[error("its bytes are not those of a {0}")]
    Bytes(&'static str),
    /// A field that must be there is not, or has an impossible value.
    #[error("its field `{0}` is missing or impossible")]
    Field(&'static str),
    /// A quantity cannot be read.
    #[error("its field `{0}`: {1}")]
    Quantity(&'static str, QuantityError),
    /// A kind this version does not know.
    #[error("its kind, number {0}, is not known to this version")]
    UnknownKind(u32),
}

type Read<T> = Result<T, Unreadable>;

fn entry_id(field: &'static str, bytes: &[u8]) -> Read<EntryId> {
    EntryId::from_slice(bytes).ok_or(Unreadable::Field(field))
}

fn document_id(field: &'static str, bytes: &[u8]) -> Read<DocumentId> {
    DocumentId::from_slice(bytes).ok_or(Unreadable::Field(field))
}

fn key_id(field: &'static str, bytes: &[u8]) -> Read<KeyId> {
    KeyId::from_slice(bytes).ok_or(Unreadable::Field(field))
}

/// Empty bytes mean "none".
fn optional<T>(bytes: &[u8], read: impl FnOnce(&[u8]) -> Read<T>) -> Read<Option<T>> {
    if bytes.is_empty() { Ok(None) } else { read(bytes).map(Some) }
}

fn ids(field: &'static str, list: &[Vec<u8>]) -> Read<Vec<EntryId>> {
    list.iter().map(|id| entry_id(field, id)).collect()
}

fn quantity(field: &'static str, wire: Option<&v1::Quantity>) -> Read<Option<Quantity>> {
    wire.map(|q| Quantity::from_wire(&q.typed, q.unit).map_err(|e| Unreadable::Quantity(field, e)))
        .transpose()
}

fn required(field: &'static str, wire: Option<&v1::Quantity>) -> Read<Quantity> {
    quantity(field, wire)?.ok_or(Unreadable::Field(field))
}

fn roles(list: &[i32]) -> Read<Vec<Role>> {
    list.iter()
        .map(|role| match v1::Role::try_from(*role) {
            Ok(v1::Role::Member) => Ok(Role::Member),
            Ok(v1::Role::Lead) => Ok(Role::Lead),
            Ok(v1::Role::Viewer) => Ok(Role::Viewer),
            Ok(v1::Role::Unspecified) | Err(_) => Err(Unreadable::Field("roles")),
        })
        .collect()
}

fn put_quantity(quantity: &Quantity) -> v1::Quantity {
    v1::Quantity { typed: quantity.typed().to_owned(), unit: quantity.unit().code() }
}

fn put_optional(quantity: Option<&Quantity>) -> Option<v1::Quantity> {
    quantity.map(put_quantity)
}

fn put_ids(ids: &[EntryId]) -> Vec<Vec<u8>> {
    ids.iter().map(|id| id.bytes().to_vec()).collect()
}

fn put_id(id: Option<EntryId>) -> Vec<u8> {
    id.map_or_else(Vec::new, |id| id.bytes().to_vec())
}

fn put_roles(roles: &[Role]) -> Vec<i32> {
    let code = |role: &Role| match role {
        Role::Member => v1::Role::Member,
        Role::Lead => v1::Role::Lead,
        Role::Viewer => v1::Role::Viewer,
    };
    roles.iter().map(|role| code(role).into()).collect()
}

/// Zero on the wire means "unknown".
fn millis(value: i64) -> Option<Millis> {
    (value != 0).then_some(value)
}

macro_rules! payloads {
    ($($variant:ident: $read:ident, $write:ident;)*) => {
        impl Payload {
            /// Reads the payload of a kind.
            ///
            /// # Errors
            /// [`Unreadable`] where the kind is unknown or the bytes do not make sense.
            pub fn read(kind_code: u32, bytes: &[u8]) -> Result<Self, Unreadable> {
                let kind = Kind::from_code(kind_code).ok_or(Unreadable::UnknownKind(kind_code))?;
                match kind {
                    $(Kind::$variant => {
                        let wire = v1::$variant::decode(bytes).map_err(|_| Unreadable::Bytes(kind.name()))?;
                        $read(wire).map(|payload| Self::$variant(payload.into()))
                    })*
                }
            }

            /// Its kind.
            #[must_use]
            pub const fn kind(&self) -> Kind {
                match self { $(Self::$variant(_) => Kind::$variant,)* }
            }

            /// Its bytes, to be signed.
            #[must_use]
            pub fn encode(&self) -> Vec<u8> {
                match self { $(Self::$variant(payload) => $write(payload).encode_to_vec(),)* }
            }
        }
    };
}

payloads! {
    Founding: read_founding, write_founding;
    Person: read_person, write_person;
    Device: read_device, write_device;
    Invite: read_invite, write_invite;
    Removal: read_removal, write_removal;
    Admit: read_admit, write_admit;
    Instrument: read_instrument, write_instrument;
    Definition: read_definition, write_definition;
    RecordListed: read_record_listed, write_record_listed;
    Reading: read_reading, write_reading;
    Operation: read_operation, write_operation;
    PartReceived: read_part_received, write_part_received;
    Fitting: read_fitting, write_fitting;
    Tightening: read_tightening, write_tightening;
    Check: read_check, write_check;
    SignOff: read_sign_off, write_sign_off;
    Void: read_void, write_void;
    Concession: read_concession, write_concession;
    LimitChange: read_limit_change, write_limit_change;
    Decision: read_decision, write_decision;
    Approval: read_approval, write_approval;
    Custody: read_custody, write_custody;
    Assignment: read_assignment, write_assignment;
    Order: read_order, write_order;
    GaugeCheck: read_gauge_check, write_gauge_check;
    Stop: read_stop, write_stop;
    Resume: read_resume, write_resume;
    Note: read_note, write_note;
    Photo: read_photo, write_photo;
    HandOver: read_hand_over, write_hand_over;
    Reopen: read_reopen, write_reopen;
}

fn read_founding(w: v1::Founding) -> Read<Founding> {
    let digest = |bytes: &[u8]| bytes.try_into().map_err(|_| Unreadable::Field("definition_digest"));
    Ok(Founding {
        name: w.name,
        workshop: optional(&w.workshop, |b| document_id("workshop", b))?,
        definition_digest: optional(&w.definition_digest, digest)?,
        nonce: w.nonce,
    })
}

fn write_founding(p: &Founding) -> v1::Founding {
    v1::Founding {
        name: p.name.clone(),
        workshop: p.workshop.map_or_else(Vec::new, |id| id.bytes().to_vec()),
        definition_digest: p.definition_digest.map_or_else(Vec::new, |d| d.to_vec()),
        nonce: p.nonce.clone(),
    }
}

fn read_person(w: v1::Person) -> Read<Person> {
    Ok(Person { name: w.name })
}

fn write_person(p: &Person) -> v1::Person {
    v1::Person { name: p.name.clone() }
}

fn read_device(w: v1::Device) -> Read<Device> {
    Ok(Device {
        key: key_id("key", &w.key)?,
        person: entry_id("person", &w.person)?,
        roles: roles(&w.roles)?,
        label: w.label,
        invite: optional(&w.invite, |b| entry_id("invite", b))?,
        join_signature: w.join_signature,
    })
}

fn write_device(p: &Device) -> v1::Device {
    v1::Device {
        key: p.key.bytes().to_vec(),
        person: p.person.bytes().to_vec(),
        roles: put_roles(&p.roles),
        label: p.label.clone(),
        invite: put_id(p.invite),
        join_signature: p.join_signature.clone(),
    }
}

fn read_invite(w: v1::Invite) -> Read<Invite> {
    Ok(Invite {
        person: optional(&w.person, |b| entry_id("person", b))?,
        person_name: w.person_name,
        roles: roles(&w.roles)?,
        expires: w.expires,
        one_time_key: key_id("one_time_key", &w.one_time_key)?,
        relay: w.relay,
    })
}

fn write_invite(p: &Invite) -> v1::Invite {
    v1::Invite {
        person: put_id(p.person),
        person_name: p.person_name.clone(),
        roles: put_roles(&p.roles),
        expires: p.expires,
        one_time_key: p.one_time_key.bytes().to_vec(),
        relay: p.relay.clone(),
    }
}

fn read_removal(w: v1::Removal) -> Read<Removal> {
    let accepted = |part: &v1::LastAccepted| {
        Ok((document_id("accepted.record", &part.record)?, ids("accepted.entries", &part.entries)?))
    };
    Ok(Removal {
        key: key_id("key", &w.key)?,
        accepted: w.accepted.iter().map(accepted).collect::<Read<_>>()?,
        reason: w.reason,
        lost_device: w.lost_device,
    })
}

fn write_removal(p: &Removal) -> v1::Removal {
    let part = |(record, entries): &(DocumentId, Vec<EntryId>)| v1::LastAccepted {
        record: record.bytes().to_vec(),
        entries: put_ids(entries),
    };
    v1::Removal {
        key: p.key.bytes().to_vec(),
        accepted: p.accepted.iter().map(part).collect(),
        reason: p.reason.clone(),
        lost_device: p.lost_device,
    }
}

fn read_admit(w: v1::Admit) -> Read<Admit> {
    Ok(Admit { entries: ids("entries", &w.entries)?, reason: w.reason })
}

fn write_admit(p: &Admit) -> v1::Admit {
    v1::Admit { entries: put_ids(&p.entries), reason: p.reason.clone() }
}

fn read_instrument(w: v1::Instrument) -> Read<Instrument> {
    Ok(Instrument {
        resolution: quantity("resolution", w.resolution.as_ref())?,
        error_limit: quantity("error_limit", w.error_limit.as_ref())?,
        standard_uncertainty: quantity("standard_uncertainty", w.standard_uncertainty.as_ref())?,
        repeatability: quantity("repeatability", w.repeatability.as_ref())?,
        range_low: quantity("range_low", w.range_low.as_ref())?,
        range_high: quantity("range_high", w.range_high.as_ref())?,
        error_percent: quantity("error_percent", w.error_percent.as_ref())?,
        mark: w.mark,
        sort: w.sort,
        material: w.material,
        master: w.master,
        calibrated_on: millis(w.calibrated_on),
        calibration_due: millis(w.calibration_due),
        calibration_seen: w.calibration_seen,
        owner: w.owner,
    })
}

fn write_instrument(p: &Instrument) -> v1::Instrument {
    v1::Instrument {
        mark: p.mark.clone(),
        sort: p.sort.clone(),
        resolution: put_optional(p.resolution.as_ref()),
        error_limit: put_optional(p.error_limit.as_ref()),
        standard_uncertainty: put_optional(p.standard_uncertainty.as_ref()),
        repeatability: put_optional(p.repeatability.as_ref()),
        range_low: put_optional(p.range_low.as_ref()),
        range_high: put_optional(p.range_high.as_ref()),
        material: p.material.clone(),
        master: p.master.clone(),
        calibrated_on: p.calibrated_on.unwrap_or_default(),
        calibration_due: p.calibration_due.unwrap_or_default(),
        calibration_seen: p.calibration_seen,
        owner: p.owner.clone(),
        error_percent: put_optional(p.error_percent.as_ref()),
    }
}

fn read_definition(w: v1::Definition) -> Read<Definition> {
    let text = String::from_utf8(w.text).map_err(|_| Unreadable::Field("text"))?;
    Ok(Definition { text })
}

fn write_definition(p: &Definition) -> v1::Definition {
    v1::Definition { text: p.text.clone().into_bytes() }
}

fn read_record_listed(w: v1::RecordListed) -> Read<RecordListed> {
    Ok(RecordListed { record: document_id("record", &w.record)?, name: w.name })
}

fn write_record_listed(p: &RecordListed) -> v1::RecordListed {
    v1::RecordListed { record: p.record.bytes().to_vec(), name: p.name.clone() }
}

fn read_reading(w: v1::Reading) -> Read<Reading> {
    Ok(Reading {
        value: required("value", w.value.as_ref())?,
        set_size: quantity("set_size", w.set_size.as_ref())?,
        part_temperature: quantity("part_temperature", w.part_temperature.as_ref())?,
        gauge_temperature: quantity("gauge_temperature", w.gauge_temperature.as_ref())?,
        read_by: optional(&w.read_by, |b| entry_id("read_by", b))?,
        feature: w.feature,
        part: w.part,
        characteristic: w.characteristic,
        station: w.station,
        conditions: w.conditions,
        gauge: w.gauge,
        master: w.master,
        called_out: w.called_out,
        blind: w.blind,
        reading_set: w.reading_set,
        note: w.note,
    })
}

fn write_reading(p: &Reading) -> v1::Reading {
    v1::Reading {
        feature: p.feature.clone(),
        part: p.part.clone(),
        characteristic: p.characteristic.clone(),
        station: p.station.clone(),
        conditions: p.conditions.clone(),
        value: Some(put_quantity(&p.value)),
        set_size: put_optional(p.set_size.as_ref()),
        gauge: p.gauge.clone(),
        master: p.master.clone(),
        part_temperature: put_optional(p.part_temperature.as_ref()),
        gauge_temperature: put_optional(p.gauge_temperature.as_ref()),
        read_by: put_id(p.read_by),
        called_out: p.called_out,
        blind: p.blind,
        reading_set: p.reading_set.clone(),
        note: p.note.clone(),
    }
}

fn read_operation(w: v1::Operation) -> Read<Operation> {
    Ok(Operation {
        done_by: optional(&w.done_by, |b| entry_id("done_by", b))?,
        operation: w.operation,
        features: w.features,
        parts: w.parts,
        note: w.note,
        outside_shop: w.outside_shop,
    })
}

fn write_operation(p: &Operation) -> v1::Operation {
    v1::Operation {
        operation: p.operation.clone(),
        features: p.features.clone(),
        parts: p.parts.clone(),
        note: p.note.clone(),
        done_by: put_id(p.done_by),
        outside_shop: p.outside_shop.clone(),
    }
}

fn read_part_received(w: v1::PartReceived) -> Read<PartReceived> {
    Ok(PartReceived {
        weight: quantity("weight", w.weight.as_ref())?,
        wall: quantity("wall", w.wall.as_ref())?,
        mark: w.mark,
        sort: w.sort,
        batch: w.batch,
        count: w.count,
        note: w.note,
    })
}

fn write_part_received(p: &PartReceived) -> v1::PartReceived {
    v1::PartReceived {
        mark: p.mark.clone(),
        sort: p.sort.clone(),
        batch: p.batch.clone(),
        weight: put_optional(p.weight.as_ref()),
        wall: put_optional(p.wall.as_ref()),
        count: p.count,
        note: p.note.clone(),
    }
}

fn read_fitting(w: v1::Fitting) -> Read<Fitting> {
    let state = match v1::FittingState::try_from(w.state) {
        Ok(v1::FittingState::Allotted) => FittingState::Allotted,
        Ok(v1::FittingState::Fitted) => FittingState::Fitted,
        Ok(v1::FittingState::TakenOut) => FittingState::TakenOut,
        Ok(v1::FittingState::FittingUnspecified) | Err(_) => return Err(Unreadable::Field("state")),
    };
    Ok(Fitting { part: w.part, place: w.place, state, orientation: w.orientation, note: w.note })
}

fn write_fitting(p: &Fitting) -> v1::Fitting {
    let state = match p.state {
        FittingState::Allotted => v1::FittingState::Allotted,
        FittingState::Fitted => v1::FittingState::Fitted,
        FittingState::TakenOut => v1::FittingState::TakenOut,
    };
    v1::Fitting {
        part: p.part.clone(),
        place: p.place.clone(),
        state: state.into(),
        orientation: p.orientation.clone(),
        note: p.note.clone(),
    }
}

fn read_tightening(w: v1::Tightening) -> Read<Tightening> {
    let act = match (v1::TighteningAct::try_from(w.act), w.stage) {
        (Ok(v1::TighteningAct::Nipped), _) => TighteningAct::Nipped,
        (Ok(v1::TighteningAct::Slackened), _) => TighteningAct::Slackened,
        (Ok(v1::TighteningAct::Stage), stage) if stage > 0 => TighteningAct::Stage(stage),
        (Ok(v1::TighteningAct::Stage | v1::TighteningAct::TighteningUnspecified) | Err(_), _) => {
            return Err(Unreadable::Field("act"));
        }
    };
    Ok(Tightening {
        set_point: quantity("set_point", w.set_point.as_ref())?,
        exceptions: w.exceptions.into_iter().map(|e| (e.bolt, e.note)).collect(),
        group: w.group,
        place: w.place,
        act,
        wrench: w.wrench,
        lubricant: w.lubricant,
        note: w.note,
    })
}

fn write_tightening(p: &Tightening) -> v1::Tightening {
    let (act, stage) = match p.act {
        TighteningAct::Nipped => (v1::TighteningAct::Nipped, 0),
        TighteningAct::Stage(stage) => (v1::TighteningAct::Stage, stage),
        TighteningAct::Slackened => (v1::TighteningAct::Slackened, 0),
    };
    let exception = |(bolt, note): &(u32, String)| v1::BoltException { bolt: *bolt, note: note.clone() };
    v1::Tightening {
        group: p.group.clone(),
        place: p.place.clone(),
        act: act.into(),
        stage,
        set_point: put_optional(p.set_point.as_ref()),
        wrench: p.wrench.clone(),
        lubricant: p.lubricant.clone(),
        exceptions: p.exceptions.iter().map(exception).collect(),
        note: p.note.clone(),
    }
}

fn read_check(w: v1::Check) -> Read<Check> {
    Ok(Check { check: w.check, feature: w.feature, passed: w.passed, step: w.step, note: w.note })
}

fn write_check(p: &Check) -> v1::Check {
    v1::Check {
        check: p.check.clone(),
        feature: p.feature.clone(),
        passed: p.passed,
        step: p.step.clone(),
        note: p.note.clone(),
    }
}

fn read_sign_off(w: v1::SignOff) -> Read<SignOff> {
    let meaning = match v1::Meaning::try_from(w.meaning) {
        Ok(v1::Meaning::Done) => Meaning::Done,
        Ok(v1::Meaning::SecondPerson) => Meaning::SecondPerson,
        Ok(v1::Meaning::Unspecified) | Err(_) => return Err(Unreadable::Field("meaning")),
    };
    let verdict = |v: v1::SignedVerdict| SignedVerdict {
        feature: v.feature,
        characteristic: v.characteristic,
        verdict: v.verdict,
        low: v.low,
        high: v.high,
        standard_uncertainty: v.standard_uncertainty,
    };
    Ok(SignOff {
        evidence: ids("evidence", &w.evidence)?,
        verdicts: w.verdicts.into_iter().map(verdict).collect(),
        step: w.step,
        meaning,
        calculation: w.calculation,
        printed_name: w.printed_name,
    })
}

fn write_sign_off(p: &SignOff) -> v1::SignOff {
    let meaning = match p.meaning {
        Meaning::Done => v1::Meaning::Done,
        Meaning::SecondPerson => v1::Meaning::SecondPerson,
    };
    let verdict = |v: &SignedVerdict| v1::SignedVerdict {
        feature: v.feature.clone(),
        characteristic: v.characteristic.clone(),
        verdict: v.verdict,
        low: v.low,
        high: v.high,
        standard_uncertainty: v.standard_uncertainty,
    };
    v1::SignOff {
        step: p.step.clone(),
        meaning: meaning.into(),
        evidence: put_ids(&p.evidence),
        verdicts: p.verdicts.iter().map(verdict).collect(),
        calculation: p.calculation,
        printed_name: p.printed_name.clone(),
    }
}

fn read_void(w: v1::Void) -> Read<Void> {
    Ok(Void { entry: entry_id("entry", &w.entry)?, reason: w.reason })
}

fn write_void(p: &Void) -> v1::Void {
    v1::Void { entry: p.entry.bytes().to_vec(), reason: p.reason.clone() }
}

fn read_concession(w: v1::Concession) -> Read<Concession> {
    Ok(Concession {
        rests_on: ids("rests_on", &w.rests_on)?,
        rule: w.rule,
        feature: w.feature,
        subject: w.subject,
        reason: w.reason,
    })
}

fn write_concession(p: &Concession) -> v1::Concession {
    v1::Concession {
        rule: p.rule.clone(),
        feature: p.feature.clone(),
        subject: p.subject.clone(),
        rests_on: put_ids(&p.rests_on),
        reason: p.reason.clone(),
    }
}

fn read_limit_change(w: v1::LimitChange) -> Read<LimitChange> {
    let rule = match v1::DecisionRule::try_from(w.rule) {
        Ok(v1::DecisionRule::Unspecified) => None,
        Ok(v1::DecisionRule::Strict) => Some(ChosenRule::Strict),
        Ok(v1::DecisionRule::Shared) => Some(ChosenRule::Shared),
        Ok(v1::DecisionRule::Simple) => Some(ChosenRule::Simple),
        Err(_) => return Err(Unreadable::Field("rule")),
    };
    Ok(LimitChange {
        lower: quantity("lower", w.lower.as_ref())?,
        upper: quantity("upper", w.upper.as_ref())?,
        characteristic: w.characteristic,
        feature: w.feature,
        source: w.source,
        rule,
        reason: w.reason,
    })
}

fn write_limit_change(p: &LimitChange) -> v1::LimitChange {
    let rule = match p.rule {
        None => v1::DecisionRule::Unspecified,
        Some(ChosenRule::Strict) => v1::DecisionRule::Strict,
        Some(ChosenRule::Shared) => v1::DecisionRule::Shared,
        Some(ChosenRule::Simple) => v1::DecisionRule::Simple,
    };
    v1::LimitChange {
        characteristic: p.characteristic.clone(),
        feature: p.feature.clone(),
        lower: put_optional(p.lower.as_ref()),
        upper: put_optional(p.upper.as_ref()),
        source: p.source.clone(),
        rule: rule.into(),
        reason: p.reason.clone(),
    }
}

fn read_decision(w: v1::Decision) -> Read<Decision> {
    Ok(Decision {
        replaces: optional(&w.replaces, |b| entry_id("replaces", b))?,
        subject: w.subject,
        text: w.text,
    })
}

fn write_decision(p: &Decision) -> v1::Decision {
    v1::Decision { subject: p.subject.clone(), text: p.text.clone(), replaces: put_id(p.replaces) }
}

fn read_approval(w: v1::Approval) -> Read<Approval> {
    let decision = entry_id("decision", &w.decision)?;
    Ok(Approval { decision, who: w.who, how: w.how, when: w.when })
}

fn write_approval(p: &Approval) -> v1::Approval {
    v1::Approval {
        decision: p.decision.bytes().to_vec(),
        who: p.who.clone(),
        how: p.how.clone(),
        when: p.when.clone(),
    }
}

fn read_custody(w: v1::Custody) -> Read<Custody> {
    Ok(Custody { parts: w.parts, out: w.out, with_whom: w.with_whom, ticket: w.ticket })
}

fn write_custody(p: &Custody) -> v1::Custody {
    v1::Custody {
        parts: p.parts.clone(),
        out: p.out,
        with_whom: p.with_whom.clone(),
        ticket: p.ticket.clone(),
    }
}

fn read_assignment(w: v1::Assignment) -> Read<Assignment> {
    Ok(Assignment { person: entry_id("person", &w.person)?, step: w.step })
}

fn write_assignment(p: &Assignment) -> v1::Assignment {
    v1::Assignment { step: p.step.clone(), person: p.person.bytes().to_vec() }
}

fn read_order(w: v1::Order) -> Read<Order> {
    Ok(Order {
        first: entry_id("first", &w.first)?,
        second: entry_id("second", &w.second)?,
        reason: w.reason,
    })
}

fn write_order(p: &Order) -> v1::Order {
    v1::Order { first: p.first.bytes().to_vec(), second: p.second.bytes().to_vec(), reason: p.reason.clone() }
}

fn read_gauge_check(w: v1::GaugeCheck) -> Read<GaugeCheck> {
    Ok(GaugeCheck {
        nominal: quantity("nominal", w.nominal.as_ref())?,
        observed: quantity("observed", w.observed.as_ref())?,
        gauge: w.gauge,
        master: w.master,
        passed: w.passed,
        reading_set: w.reading_set,
    })
}

fn write_gauge_check(p: &GaugeCheck) -> v1::GaugeCheck {
    v1::GaugeCheck {
        gauge: p.gauge.clone(),
        master: p.master.clone(),
        nominal: put_optional(p.nominal.as_ref()),
        observed: put_optional(p.observed.as_ref()),
        passed: p.passed,
        reading_set: p.reading_set.clone(),
    }
}

fn read_stop(w: v1::Stop) -> Read<Stop> {
    Ok(Stop { step: w.step, feature: w.feature, found: w.found, tag: w.tag })
}

fn write_stop(p: &Stop) -> v1::Stop {
    v1::Stop { step: p.step.clone(), feature: p.feature.clone(), found: p.found.clone(), tag: p.tag.clone() }
}

fn read_resume(w: v1::Resume) -> Read<Resume> {
    Ok(Resume { stop: entry_id("stop", &w.stop)?, note: w.note })
}

fn write_resume(p: &Resume) -> v1::Resume {
    v1::Resume { stop: p.stop.bytes().to_vec(), note: p.note.clone() }
}

fn read_note(w: v1::Note) -> Read<Note> {
    Ok(Note { feature: w.feature, text: w.text })
}

fn write_note(p: &Note) -> v1::Note {
    v1::Note { feature: p.feature.clone(), text: p.text.clone() }
}

fn read_photo(w: v1::Photo) -> Read<Photo> {
    Ok(Photo { feature: w.feature, media_type: w.media_type, data: w.data, caption: w.caption })
}

fn write_photo(p: &Photo) -> v1::Photo {
    v1::Photo {
        feature: p.feature.clone(),
        media_type: p.media_type.clone(),
        data: p.data.clone(),
        caption: p.caption.clone(),
    }
}

fn read_hand_over(w: v1::HandOver) -> Read<HandOver> {
    Ok(HandOver { to: w.to, note: w.note })
}

fn write_hand_over(p: &HandOver) -> v1::HandOver {
    v1::HandOver { to: p.to.clone(), note: p.note.clone() }
}

fn read_reopen(w: v1::Reopen) -> Read<Reopen> {
    Ok(Reopen { reason: w.reason })
}

fn write_reopen(p: &Reopen) -> v1::Reopen {
    v1::Reopen { reason: p.reason.clone() }
}
