//! What each kind of entry says, in our own types. How it is stored is `wire.rs`' affair.

use super::{DocumentId, EntryId, KeyId};
use crate::quantity::Quantity;

/// Milliseconds since 1970-01-01 UTC.
pub type Millis = i64;

/// What an entry says.
#[derive(Clone, Debug, PartialEq, Eq)]
#[allow(missing_docs)] // one variant a kind; documented there
pub enum Payload {
    Founding(Founding),
    Person(Person),
    Device(Device),
    Invite(Invite),
    Removal(Removal),
    Admit(Admit),
    Instrument(Box<Instrument>),
    Definition(Definition),
    RecordListed(RecordListed),
    Reading(Box<Reading>),
    Operation(Operation),
    PartReceived(PartReceived),
    Fitting(Fitting),
    Tightening(Tightening),
    Check(Check),
    SignOff(SignOff),
    Void(Void),
    Concession(Concession),
    LimitChange(LimitChange),
    Decision(Decision),
    Approval(Approval),
    Custody(Custody),
    Assignment(Assignment),
    Order(Order),
    GaugeCheck(GaugeCheck),
    Stop(Stop),
    Resume(Resume),
    Note(Note),
    Photo(Photo),
    HandOver(HandOver),
    Reopen(Reopen),
}

/// First entry of a document.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Founding {
    /// Name of the workshop or of the engine.
    pub name: String,
    /// For a record: its workshop.
    pub workshop: Option<DocumentId>,
    /// For a record: SHA-256 of the definition text.
    pub definition_digest: Option<[u8; 32]>,
    /// Makes two foundings of one name differ.
    pub nonce: Vec<u8>,
}

/// A person; named by the id of this entry.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Person {
    /// Name as printed beside signatures.
    pub name: String,
}

/// What a key may do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// Reads, works, checks, signs.
    Member,
    /// Decides, concedes, hands over, keeps the roster.
    Lead,
    /// Looks on.
    Viewer,
}

/// A key given to a person.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Device {
    /// The key.
    pub key: KeyId,
    /// Id of the person entry.
    pub person: EntryId,
    /// Its roles, for good: a new role is a new key.
    pub roles: Vec<Role>,
    /// Which device, in words.
    pub label: String,
    /// The invite it came by.
    pub invite: Option<EntryId>,
    /// The asking key's signature under the join tag; empty where it was enrolled by hand.
    pub join_signature: Vec<u8>,
}

/// An offer to join.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Invite {
    /// The person, where already entered.
    pub person: Option<EntryId>,
    /// Name of the person otherwise.
    pub person_name: String,
    /// Roles offered.
    pub roles: Vec<Role>,
    /// Last moment it may be taken up.
    pub expires: Millis,
    /// Public half of the one-time key.
    pub one_time_key: KeyId,
    /// Address of the relay.
    pub relay: String,
}

/// The end of a key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Removal {
    /// The key.
    pub key: KeyId,
    /// Per document, the key's last entries that count.
    pub accepted: Vec<(DocumentId, Vec<EntryId>)>,
    /// Why.
    pub reason: String,
    /// The device is lost: the signer could not ask it for its last entries.
    pub lost_device: bool,
}

/// Entries that count although a removal cut them, each with that key's earlier entries.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Admit {
    /// The entries.
    pub entries: Vec<EntryId>,
    /// Why.
    pub reason: String,
}

/// An instrument or setting master of the shop.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Instrument {
    /// The shop's mark on it.
    pub mark: String,
    /// Row of the instrument table.
    pub sort: String,
    /// Smallest step it shows.
    pub resolution: Option<Quantity>,
    /// Largest permissible error, plus or minus.
    pub error_limit: Option<Quantity>,
    /// Standard uncertainty, where known as such.
    pub standard_uncertainty: Option<Quantity>,
    /// Standard deviation of repeats.
    pub repeatability: Option<Quantity>,
    /// Least size it measures.
    pub range_low: Option<Quantity>,
    /// Greatest size it measures.
    pub range_high: Option<Quantity>,
    /// Row of the materials table.
    pub material: String,
    /// Mark of what it is set with; empty where it needs none.
    pub master: String,
    /// When it was calibrated; none where unknown.
    pub calibrated_on: Option<Millis>,
    /// Until when that holds.
    pub calibration_due: Option<Millis>,
    /// Somebody saw the certificate.
    pub calibration_seen: bool,
    /// Whose it is, where not the shop's.
    pub owner: String,
    /// Torque tools: error limit in per cent of the setting.
    pub error_percent: Option<Quantity>,
}

/// An engine definition.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Definition {
    /// TOML text.
    pub text: String,
}

/// A record of this workshop.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RecordListed {
    /// The record.
    pub record: DocumentId,
    /// Its name.
    pub name: String,
}

/// One value, read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reading {
    /// Path of the feature, such as `bore/3`.
    pub feature: String,
    /// Mark of the part, where the path does not carry it.
    pub part: String,
    /// Row of the characteristics table.
    pub characteristic: String,
    /// Where on the feature, such as `middle/thrust`.
    pub station: String,
    /// Under which conditions, such as `caps tightened`.
    pub conditions: Vec<String>,
    /// The value, or the deviation where `set_size` is given.
    pub value: Quantity,
    /// Comparator: the size it was set to.
    pub set_size: Option<Quantity>,
    /// Mark of the gauge.
    pub gauge: String,
    /// Mark of what it was set with, where not the gauge's own.
    pub master: String,
    /// Temperature of the part; missing means not corrected.
    pub part_temperature: Option<Quantity>,
    /// Temperature of the gauge; missing means not corrected.
    pub gauge_temperature: Option<Quantity>,
    /// Who read it; none: the author.
    pub read_by: Option<EntryId>,
    /// Called out across the shop: not blind.
    pub called_out: bool,
    /// Read without sight of the first person's value.
    pub blind: bool,
    /// Readings taken together, between two gauge checks.
    pub reading_set: String,
    /// Words.
    pub note: String,
}

/// Work that changes a part.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Operation {
    /// Row of the operations table.
    pub operation: String,
    /// The features worked on.
    pub features: Vec<String>,
    /// The parts worked on or brought in.
    pub parts: Vec<String>,
    /// Words.
    pub note: String,
    /// Who did it; none: the author.
    pub done_by: Option<EntryId>,
    /// Name of the outside shop.
    pub outside_shop: String,
}

/// A part that came in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PartReceived {
    /// Its mark.
    pub mark: String,
    /// What it is, such as `piston`.
    pub sort: String,
    /// Batch as printed.
    pub batch: String,
    /// Weight.
    pub weight: Option<Quantity>,
    /// Wall, for shells.
    pub wall: Option<Quantity>,
    /// How many, for sets.
    pub count: u32,
    /// Words.
    pub note: String,
}

/// How far a fitting went.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum FittingState {
    /// Chosen for the place.
    Allotted,
    /// In the place.
    Fitted,
    /// Out of the place again.
    TakenOut,
}

/// A part put in a place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fitting {
    /// Mark of the part.
    pub part: String,
    /// Path of the place, such as `bore/3`.
    pub place: String,
    /// How far.
    pub state: FittingState,
    /// Which way round.
    pub orientation: String,
    /// Words.
    pub note: String,
}

/// What was done to a group of fasteners.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum TighteningAct {
    /// Run down by hand and nipped.
    Nipped,
    /// One stage, all bolts.
    Stage(u32),
    /// Slackened.
    Slackened,
}

/// One act on a group of fasteners.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tightening {
    /// Fastener group of the definition.
    pub group: String,
    /// Path of the place.
    pub place: String,
    /// What was done.
    pub act: TighteningAct,
    /// What the wrench was set to.
    pub set_point: Option<Quantity>,
    /// Mark of the wrench.
    pub wrench: String,
    /// What was on thread and face.
    pub lubricant: String,
    /// Bolts that went otherwise: number and words.
    pub exceptions: Vec<(u32, String)>,
    /// Words.
    pub note: String,
}

/// A check, passed or not.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Check {
    /// Name of the check, such as `turns-freely`.
    pub check: String,
    /// Path of the feature.
    pub feature: String,
    /// Whether it passed.
    pub passed: bool,
    /// The step it was made for.
    pub step: String,
    /// What was found.
    pub note: String,
}

/// What a signature means.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Meaning {
    /// I did it.
    Done,
    /// I, another person, checked it.
    SecondPerson,
}

/// A verdict as the signer saw it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SignedVerdict {
    /// Path of the feature.
    pub feature: String,
    /// Characteristic or derived value.
    pub characteristic: String,
    /// Stable code of the verdict.
    pub verdict: u32,
    /// Smallest over the stations, in the base unit of its quantity.
    pub low: i64,
    /// Largest over the stations.
    pub high: i64,
    /// Its standard uncertainty, in the same unit.
    pub standard_uncertainty: i64,
}

/// A signature over the evidence of a step.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SignOff {
    /// The step, such as `big-end-clearance/2`.
    pub step: String,
    /// What it means.
    pub meaning: Meaning,
    /// Ids of everything the verdicts used.
    pub evidence: Vec<EntryId>,
    /// The verdicts.
    pub verdicts: Vec<SignedVerdict>,
    /// Version of the calculation that gave them.
    pub calculation: u32,
    /// The signer's name as printed.
    pub printed_name: String,
}

/// An entry withdrawn.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Void {
    /// Which.
    pub entry: EntryId,
    /// Why.
    pub reason: String,
}

/// A finding accepted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Concession {
    /// Name of the finding's rule.
    pub rule: String,
    /// Path of the feature.
    pub feature: String,
    /// Characteristic or step.
    pub subject: String,
    /// What it rests on; it lapses with them.
    pub rests_on: Vec<EntryId>,
    /// Why.
    pub reason: String,
}

/// Which decision rule; none leaves it as it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum ChosenRule {
    /// Guard band inside both limits.
    Strict,
    /// Guard band halved.
    Shared,
    /// No guard band.
    Simple,
}

/// A limit set anew.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LimitChange {
    /// Characteristic or derived value.
    pub characteristic: String,
    /// Path of the feature; empty: all that have it.
    pub feature: String,
    /// Lower limit.
    pub lower: Option<Quantity>,
    /// Upper limit.
    pub upper: Option<Quantity>,
    /// Where it comes from.
    pub source: String,
    /// Decision rule.
    pub rule: Option<ChosenRule>,
    /// Why.
    pub reason: String,
}

/// What the lead decided.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Decision {
    /// About what, such as `oversize`.
    pub subject: String,
    /// What.
    pub text: String,
    /// The decision it replaces.
    pub replaces: Option<EntryId>,
}

/// The customer's word.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Approval {
    /// On which decision.
    pub decision: EntryId,
    /// Who.
    pub who: String,
    /// How it was given.
    pub how: String,
    /// When, in words.
    pub when: String,
}

/// Parts out to somebody, or back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Custody {
    /// Their marks.
    pub parts: Vec<String>,
    /// Out, or back in.
    pub out: bool,
    /// With whom.
    pub with_whom: String,
    /// Their ticket: a claim, to be measured again.
    pub ticket: String,
}

/// A step given to a person.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Assignment {
    /// The step.
    pub step: String,
    /// The person.
    pub person: EntryId,
}

/// `first` happened before `second`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Order {
    /// The earlier.
    pub first: EntryId,
    /// The later.
    pub second: EntryId,
    /// How it is known.
    pub reason: String,
}

/// A gauge tried on its master.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GaugeCheck {
    /// Mark of the gauge.
    pub gauge: String,
    /// Mark of the master.
    pub master: String,
    /// Size of the master.
    pub nominal: Option<Quantity>,
    /// What the gauge showed.
    pub observed: Option<Quantity>,
    /// Whether it passed.
    pub passed: bool,
    /// Which readings it stands beside.
    pub reading_set: String,
}

/// Work stopped.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stop {
    /// The step.
    pub step: String,
    /// Path of the feature.
    pub feature: String,
    /// What was found.
    pub found: String,
    /// A tag that everybody sees.
    pub tag: String,
}

/// Work taken up again.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Resume {
    /// The stop it ends.
    pub stop: EntryId,
    /// Words.
    pub note: String,
}

/// Words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Note {
    /// Path of the feature; empty: the engine.
    pub feature: String,
    /// The words.
    pub text: String,
}

/// A picture.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Photo {
    /// Path of the feature; empty: the engine.
    pub feature: String,
    /// Such as `image/jpeg`.
    pub media_type: String,
    /// The picture.
    pub data: Vec<u8>,
    /// What it shows.
    pub caption: String,
}

/// The engine handed over.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HandOver {
    /// To whom.
    pub to: String,
    /// Words.
    pub note: String,
}

/// The record opened again.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reopen {
    /// Why.
    pub reason: String,
}
