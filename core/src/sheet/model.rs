//! The printed record as plain data. Texts are ready to be read; figures keep their numbers.

use super::date::Moment;
use super::state::State;
use crate::assess::Tally;
use crate::entry::{DocumentId, EntryId, KeyId};
use crate::quantity::Kind;

/// All that is printed, in the order in which it is printed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sheet {
    /// Title block.
    pub title: Title,
    /// Counts.
    pub tally: Tally,
    /// The engine with the state of each shape; none without a definition.
    pub drawing: Option<Drawing>,
    /// What somebody still has to settle, and what is worth knowing.
    pub findings: Vec<FindingRow>,
    /// What a lead accepted.
    pub conceded: Vec<FindingRow>,
    /// Steps by stage of the work.
    pub stages: Vec<StageSheet>,
    /// What was measured and what follows from it.
    pub features: Vec<FeatureSheet>,
    /// Fasteners.
    pub tightenings: Vec<TighteningSheet>,
    /// Parts, and where they are.
    pub parts: Vec<PartRow>,
    /// Decisions, limits set, approvals, orders, stops, custody, hand-over.
    pub decisions: Vec<Event>,
    /// Operations, notes and pictures.
    pub notes: Vec<Event>,
    /// What no longer stands, or never counted.
    pub history: Vec<PastRow>,
    /// People and their keys.
    pub people: Vec<PersonRow>,
    /// Gauges, masters and wrenches that were used.
    pub gauges: Vec<GaugeRow>,
    /// How to check all this.
    pub verify: Verify,
}

/// Who made an entry.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mention {
    /// Name in the workshop's list.
    pub who: String,
    /// When, by their device's clock.
    pub when: Moment,
    /// The entry.
    pub entry: EntryId,
}

/// The title block.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Title {
    /// Name of the record.
    pub record: String,
    /// Name of the workshop.
    pub workshop: String,
    /// Name of the engine's definition.
    pub engine: String,
    /// What the definition says of itself.
    pub note: String,
    /// Layout and main dimensions: name, value.
    pub facts: Vec<(String, String)>,
    /// Whether anything could be judged; why not otherwise.
    pub not_judged: Option<String>,
    /// The hand-over that stands: to whom, by whom.
    pub handed_over: Option<(String, Mention)>,
    /// Latest device time in the record.
    pub latest: Option<Moment>,
}

/// The engine as a line drawing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Drawing {
    /// Cylinders by bank, from the front.
    pub banks: Vec<BankDrawing>,
    /// Main bearings from the front.
    pub mains: Vec<Shape>,
    /// Crankpins from the front.
    pub pins: Vec<PinDrawing>,
    /// Rods by number.
    pub rods: Vec<Shape>,
    /// The crank is drawn from above, because the throws lie level.
    pub crank_from_above: bool,
}

/// One row of cylinders.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BankDrawing {
    /// Its name.
    pub name: String,
    /// Its bores.
    pub bores: Vec<Shape>,
}

/// Something drawn.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shape {
    /// Short label, such as `P2`.
    pub label: String,
    /// Path of the feature, such as `pin/2`; of a rod, the path that its features begin with.
    pub path: String,
    /// Its state.
    pub state: State,
    /// What stands beneath it; may be empty.
    pub caption: String,
}

/// A crankpin.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PinDrawing {
    /// The shape.
    pub shape: Shape,
    /// Where the throw points when cylinder 1 is at the top, in degrees from the drawing's up.
    pub degrees: i64,
    /// The main bearing before it, counted from 1.
    pub after_main: usize,
}

/// A finding.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FindingRow {
    /// Heading.
    pub title: &'static str,
    /// Where; may be empty.
    pub place: String,
    /// Characteristic, step or group; may be empty.
    pub subject: String,
    /// What is the matter.
    pub text: String,
    /// The one thing that settles it.
    pub way_out: String,
    /// How it is drawn.
    pub state: State,
    /// Only worth knowing.
    pub note_only: bool,
    /// Who accepted it, and why.
    pub conceded: Option<(Mention, String)>,
    /// The entries it rests on.
    pub entries: Vec<EntryId>,
}

/// A stage of the work.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StageSheet {
    /// Its number.
    pub number: u8,
    /// Its title.
    pub title: String,
    /// Its steps.
    pub steps: Vec<StepRow>,
}

/// A step.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StepRow {
    /// Name, such as `big-end-clearance/2`.
    pub id: String,
    /// What is done.
    pub title: String,
    /// Where; empty: the engine.
    pub place: String,
    /// How far it is.
    pub progress: &'static str,
    /// How it is drawn.
    pub state: State,
    /// Who it is given to.
    pub assigned: Option<String>,
    /// Signatures, the doer's first.
    pub signatures: Vec<SignatureRow>,
    /// Evidence that is missing.
    pub missing: Vec<String>,
}

/// A signature.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SignatureRow {
    /// The name as the signer had it printed.
    pub printed_name: String,
    /// Who made the entry, and when.
    pub by: Mention,
    /// What it means.
    pub meaning: &'static str,
    /// The key that signed.
    pub key: KeyId,
    /// The entries it cites.
    pub evidence: usize,
    /// Why it does not stand: what took its ground away, or what it was given without; empty: it does.
    pub stale: Vec<String>,
    /// Nothing took its ground away: it was given without the evidence of its step.
    pub without_evidence: bool,
    /// Read again since, and it agrees.
    pub read_again: bool,
}

/// A feature.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FeatureSheet {
    /// Path, such as `rod/3/big-end`.
    pub path: String,
    /// In words.
    pub title: String,
    /// The part that was measured there; may be empty.
    pub part: String,
    /// The loudest state on it.
    pub state: State,
    /// Values with verdicts.
    pub values: Vec<ValueSheet>,
    /// Readings by characteristic.
    pub tables: Vec<ReadingTable>,
}

/// All that is known of one feature.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct FeaturePage {
    /// In words.
    pub title: String,
    /// What stands; several where readings name several parts, none where nothing is read.
    pub known: Vec<FeatureSheet>,
    /// Readings that no longer stand or never counted, in the order of telling.
    pub past: Vec<PastRow>,
    /// What was done there, decided on it or noted, in the order of telling.
    pub done: Vec<Event>,
}

/// A value, measured or derived.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ValueSheet {
    /// In words.
    pub name: String,
    /// Value, or the span over the stations.
    pub value: String,
    /// The same from sizes as read, where temperature made a difference.
    pub as_read: String,
    /// Standard uncertainty.
    pub u: String,
    /// Limits.
    pub limits: String,
    /// Decision rule.
    pub rule: String,
    /// Where the limits come from.
    pub limit_source: String,
    /// Who set them anew.
    pub limit_by: Option<Mention>,
    /// Verdict in words.
    pub verdict: String,
    /// How it is drawn.
    pub state: State,
    /// Who accepted it, and why.
    pub conceded: Option<(Mention, String)>,
    /// What stands in the way.
    pub hindrance: String,
    /// Stations with a standing value, and stations needed.
    pub stations: (usize, usize),
    /// How it follows from readings; none: measured directly.
    pub derived: Option<Derived>,
    /// The picture to scale.
    pub figure: Option<VerdictFigure>,
}

/// How a value was derived.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Derived {
    /// The formula.
    pub formula: &'static str,
    /// Where it comes from.
    pub source: &'static str,
    /// What went in: name, place, value.
    pub inputs: Vec<(String, String, String)>,
}

/// The numbers of a verdict, in base units of their kind.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VerdictFigure {
    /// The kind.
    pub kind: Kind,
    /// Smallest over the stations.
    pub low: i64,
    /// Largest.
    pub high: i64,
    /// Half the bar: what the rule asks for either side.
    pub guard: i64,
    /// Lower limit.
    pub lower: Option<i64>,
    /// Upper limit.
    pub upper: Option<i64>,
    /// State, for its colour.
    pub state: State,
}

/// Readings of one characteristic.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReadingTable {
    /// In words.
    pub name: String,
    /// What it is.
    pub about: &'static str,
    /// Whether sizes are corrected to 20 degrees.
    pub corrected: bool,
    /// By station.
    pub stations: Vec<StationRow>,
}

/// Readings at one station under one set of conditions.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StationRow {
    /// Where; empty: the only one.
    pub station: String,
    /// Under which conditions.
    pub conditions: Vec<String>,
    /// Whether those are the ones it needs.
    pub fit: bool,
    /// The standing value; or what stands in its place.
    pub stands: String,
    /// Its standard uncertainty.
    pub u: String,
    /// How it is drawn, where it is not a plain value.
    pub state: Option<State>,
    /// The readings.
    pub readings: Vec<ReadingRow>,
}

/// A reading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReadingRow {
    /// As typed.
    pub typed: String,
    /// Who read it.
    pub read_by: String,
    /// Who entered it, and when.
    pub by: Mention,
    /// Gauge, and what it was set with.
    pub gauge: String,
    /// Temperature of the part.
    pub part_temperature: String,
    /// Temperature of the gauge.
    pub gauge_temperature: String,
    /// At 20 degrees where that matters.
    pub corrected: String,
    /// Its standard uncertainty.
    pub u: String,
    /// What became of it.
    pub status: &'static str,
    /// Blind, called out, words.
    pub remarks: String,
}

/// A group of fasteners at one place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TighteningSheet {
    /// In words.
    pub title: String,
    /// Thread, class, lubricant and the rest: name, value.
    pub facts: Vec<(String, String)>,
    /// How far it is.
    pub progress: String,
    /// Whether all of it is done.
    pub complete: bool,
    /// What was done, in order.
    pub rows: Vec<TighteningRow>,
}

/// One act, or a check between acts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TighteningRow {
    /// What was done.
    pub what: String,
    /// The maker's figure, in both units.
    pub wanted: String,
    /// What the wrench was set to, as typed.
    pub set: String,
    /// The same in the other unit.
    pub other: String,
    /// Mark of the wrench.
    pub wrench: String,
    /// What was on thread and face.
    pub lubricant: String,
    /// Bolts that went otherwise, and words.
    pub remarks: String,
    /// It is a check between acts.
    pub is_check: bool,
    /// By whom.
    pub by: Mention,
}

/// A part.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PartRow {
    /// Its mark.
    pub mark: String,
    /// What it is.
    pub sort: String,
    /// Batch, weight, wall, count, words.
    pub about: Vec<String>,
    /// Where it is.
    pub place: String,
    /// Who received it; none: it is known by its fitting only.
    pub received: Option<Mention>,
}

/// Something that happened.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Event {
    /// Sort of entry.
    pub kind: String,
    /// What it says.
    pub text: String,
    /// By whom.
    pub by: Mention,
}

/// An entry that no longer stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PastRow {
    /// Sort of entry.
    pub kind: String,
    /// What it said.
    pub text: String,
    /// By whom.
    pub by: Mention,
    /// What became of it.
    pub status: &'static str,
    /// Why.
    pub why: String,
    /// The entries behind that, where there are any.
    pub causes: Vec<Event>,
}

/// A person.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PersonRow {
    /// Name.
    pub name: String,
    /// Keys.
    pub keys: Vec<KeyRow>,
}

/// A key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeyRow {
    /// The key.
    pub key: KeyId,
    /// Its roles.
    pub roles: String,
    /// Which device.
    pub device: String,
    /// Why it was removed.
    pub removed: Option<String>,
    /// Entries in this record.
    pub entries: usize,
}

/// An instrument.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GaugeRow {
    /// The shop's mark.
    pub mark: String,
    /// What it is.
    pub sort: String,
    /// What it can do: range, step, uncertainty, master.
    pub facts: Vec<String>,
    /// When it was calibrated, until when.
    pub calibrated: Vec<(Moment, Moment)>,
    /// What weakens it.
    pub doubts: Vec<&'static str>,
}

/// How to check the record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Verify {
    /// The record: id of its founding entry.
    pub record: DocumentId,
    /// The workshop.
    pub workshop: DocumentId,
    /// The workshop's root key, on which all authority rests.
    pub root: Option<KeyId>,
    /// Entries held in the record.
    pub entries: usize,
    /// Digest over their ids ([`super::digest_of_ids`]).
    pub entries_digest: String,
    /// Entries held in the workshop's document.
    pub workshop_entries: usize,
    /// Digest over their ids.
    pub workshop_digest: String,
    /// SHA-256 of the definition text.
    pub definition_digest: Option<String>,
    /// Version of the calculation.
    pub calculation: u32,
}
