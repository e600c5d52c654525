//! Findings: what a person must look at, each by a rule with its way out.

use crate::entry::EntryId;

/// How a finding weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// Nothing is proven while it stands.
    Stops,
    /// Somebody must settle it before the step counts.
    Settle,
    /// Worth knowing.
    Note,
}

macro_rules! rules {
    ($($(#[$doc:meta])* $rule:ident = $name:literal, $weight:ident, $title:literal, $hint:literal;)*) => {
        /// Rule behind a finding.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Rule { $($(#[$doc])* $rule,)* }

        /// Every rule, in the order in which findings are listed.
        pub const RULES: &[Rule] = &[$(Rule::$rule,)*];

        impl Rule {
            /// Stable name, such as `stale-sign-off`.
            #[must_use]
            pub const fn name(self) -> &'static str {
                match self { $(Self::$rule => $name,)* }
            }

            /// How it weighs.
            #[must_use]
            pub const fn weight(self) -> Weight {
                match self { $(Self::$rule => Weight::$weight,)* }
            }

            /// A few words for a heading.
            #[must_use]
            pub const fn title(self) -> &'static str {
                match self { $(Self::$rule => $title,)* }
            }

            /// The one thing that settles it.
            #[must_use]
            pub const fn hint(self) -> &'static str {
                match self { $(Self::$rule => $hint,)* }
            }
        }
    };
}

rules! {
    /// An entry of a kind, or for a reader, that this version does not know.
    UnknownKind = "unknown-kind", Stops, "Entry from a newer version",
        "bring this device up to date; until then nothing here is judged";
    /// No definition, or one that cannot be used.
    NoDefinition = "no-definition", Stops, "No usable definition",
        "carry the definition in, or bring this device up to date";
    /// An entry whose ground is not held.
    MissingGround = "missing-ground", Settle, "Entry waits for what it rests on",
        "carry in from the device it came from, or from the office";
    /// An entry without authority.
    NotCounted = "not-counted", Settle, "Entry that does not count",
        "a lead may enrol its key, or admit the entry";
    /// A payload that cannot be read.
    Unreadable = "unreadable", Settle, "Entry that cannot be read",
        "void it and enter it again";
    /// Entries of one key that know nothing of each other.
    ForkedKey = "forked-key", Settle, "Two devices with one key",
        "a copied or restored device: enrol a fresh key there and remove this one";
    /// A key whose clock runs backwards.
    ClockBackwards = "clock-backwards", Note, "Clock that ran backwards",
        "set the clock of that device; the order of work does not depend on it";
    /// A feature that the definition does not have.
    UnknownFeature = "unknown-feature", Settle, "Not of this engine",
        "void it and enter what was meant";
    /// A characteristic that the feature does not have.
    UnknownCharacteristic = "unknown-characteristic", Settle, "Unknown characteristic",
        "void it and enter it under the characteristic that was meant";
    /// A value of another quantity than the characteristic's.
    WrongQuantity = "wrong-quantity", Settle, "The wrong kind of unit",
        "void it and enter it again with the right unit";
    /// A reading without the conditions its characteristic needs.
    ConditionsMissing = "conditions-missing", Settle, "Reading without its conditions",
        "read again under the conditions named";
    /// A gauge that the workshop does not list.
    GaugeUnknown = "gauge-unknown", Settle, "Gauge that is not listed",
        "list the gauge with its error limit, or read again with one that is";
    /// A gauge out of its calibration at the time of the reading.
    GaugeOverdue = "gauge-overdue", Settle, "Gauge out of calibration",
        "have it calibrated, or read again with one that is";
    /// A gauge that failed a check after the reading.
    GaugeFailed = "gauge-failed", Settle, "Gauge failed its check",
        "read again with a gauge that passes";
    /// A size outside what the gauge measures.
    GaugeRange = "gauge-range", Settle, "Size outside the gauge's range",
        "read again with a gauge of the right range";
    /// A reading with something that no size can be read off.
    GaugeShowsNothing = "gauge-shows-nothing", Settle, "Read with something that shows no size",
        "void it and name what it was read with, or read again with a gauge that shows the size";
    /// More digits than the gauge shows.
    FinerThanGauge = "finer-than-gauge", Note, "More digits than the gauge shows",
        "enter what the gauge shows; do not guess between its steps";
    /// Readings of one place that the gauges cannot explain.
    Disputed = "disputed", Settle, "Readings differ by more than the gauges explain",
        "take a third reading";
    /// A reading and an operation that knew nothing of each other.
    BeforeOrAfter = "before-or-after", Settle, "Before or after?",
        "say which came first, or read again";
    /// Orders, limits, decisions or assignments that differ.
    DisputedChoice = "disputed-choice", Settle, "Two leads chose differently",
        "a lead, knowing both, states it once more";
    /// A value outside its limits.
    Outside = "outside", Settle, "Outside the limits",
        "decide: next size, another part, or concede it with the reason";
    /// A value too near a limit for its gauge.
    NotProven = "not-proven", Settle, "Not proven",
        "read with a finer gauge or nearer 20 degC, or have the lead set the decision rule";
    /// A value that cannot be judged.
    NotJudged = "not-judged", Settle, "Not judged",
        "supply what is missing, then it is judged";
    /// A signature whose ground is gone.
    StaleSignOff = "stale-sign-off", Settle, "Signature no longer stands",
        "look at the cause, read again, sign again";
    /// A signature on a step whose evidence was not there when it was given.
    SignedWithoutEvidence = "signed-without-evidence", Settle, "Signed without its evidence",
        "supply what was missing, then sign again";
    /// A signature by somebody who may not, or by the same person twice.
    WrongSigner = "wrong-signer", Settle, "Signature by the wrong person",
        "have it signed by the person the step asks for";
    /// A step signed before its prerequisites.
    OrderBroken = "order-broken", Settle, "Step out of order",
        "sign the earlier step, then this one again";
    /// A step that two people signed, neither knowing of the other.
    SignedByTwo = "signed-by-two", Note, "A step signed by two people",
        "nothing to do where both worked on it; else ask who did it, and the other voids theirs";
    /// Work on a step, begun before what comes first was signed.
    WorkAhead = "work-ahead", Settle, "Work ahead of its order",
        "sign the earlier step if it is done; if it is not, see whether this must be undone for it";
    /// A decision by somebody who knew of no reading that comes before it.
    DecidedEarly = "decided-early", Settle, "Decided before it was measured",
        "measure, then decide anew; a lead may concede it";
    /// A step begun on one feature before it was through on another.
    SeveralAtOnce = "several-at-once", Settle, "The next begun before the last was through",
        "finish the one begun first and turn it: a tight one is found while it is the only new one";
    /// A turning torque that rose otherwise than with the other cylinders.
    UnevenRise = "uneven-rise", Settle, "Turning torque rose unevenly",
        "turn it again; if it is so, find what drags or what is missing before the next goes in";
    /// Stages of a tightening out of order or missing.
    StagesOutOfOrder = "stages-out-of-order", Settle, "Stages out of order",
        "slacken the group and begin again with the first stage";
    /// A stage pulled on a group that was left part-tightened.
    LeftPartTightened = "left-part-tightened", Settle, "Taken up again part-tightened",
        "slacken the group evenly and begin again; fasteners tightened past yield are not used again";
    /// A stage at another figure than the maker's.
    SetPoint = "set-point", Settle, "Wrench set to another figure",
        "slacken the group and begin again at the maker's figure";
    /// A fastener that was not pulled like the others of its group.
    FastenerLeftOut = "fastener-left-out", Settle, "A fastener not pulled like the others",
        "pull the stage again on all of them, or slacken and begin again; a lead may concede it with the reason";
    /// A fastener that has grown by more than the maker allows.
    FastenerGrown = "fastener-grown", Settle, "A fastener grown by more than the maker allows",
        "do not use it again: fit a new set, and measure again what new fasteners change";
    /// A wrench outside its range.
    WrenchRange = "wrench-range", Settle, "Wrench outside its range",
        "slacken and tighten again with a wrench of the right range";
    /// Another lubricant than the fastener asks for.
    Lubricant = "lubricant", Settle, "Another lubricant",
        "slacken, clean, use the lubricant the maker names: it changes the preload";
    /// No turn check between two stages.
    TurnCheckMissing = "turn-check-missing", Settle, "Not turned after a stage",
        "slacken the group evenly and begin again, turning after each stage; or a lead concedes it";
    /// A check that failed.
    CheckFailed = "check-failed", Settle, "Check failed",
        "find the cause, then check again";
    /// One part in two places, or two parts in one.
    PartConflict = "part-conflict", Settle, "Parts and places that do not agree",
        "look where it is, and enter its fitting again";
    /// A part at a place that the engine does not have.
    UnknownPlace = "unknown-place", Settle, "A part at a place the engine does not have",
        "void it and enter the place that was meant";
    /// A part fitted that nobody received.
    NotReceived = "not-received", Settle, "A part fitted that was never received",
        "enter what came, with mark and batch: it can be traced no other way";
    /// Metal cut at a place where a part was fitted.
    CutWithPartIn = "cut-with-part-in", Settle, "Metal cut with a part in place",
        "take the part out, wash, prove the oilways, and measure again what belongs to it";
    /// A part that came back with a ticket and was not measured since.
    TicketUnmeasured = "ticket-unmeasured", Settle, "Back, and not measured since",
        "measure it: what a ticket says is a claim";
    /// A part that left while, by the record, it was built in.
    OutWhileBuiltIn = "out-while-built-in", Settle, "Out, and by the record built in",
        "enter that the group was slackened, with what was taken out; what was built on it is done anew";
    /// A part sent out that was out already.
    OutTwice = "out-twice", Settle, "Sent out while it was out",
        "look where it is, and void the one that is not so; a lead may concede that it went straight on";
    /// A part that is with somebody else.
    PartOut = "part-out", Note, "Out with somebody",
        "readings of it wait until it is back";
    /// Work stopped.
    Stopped = "stopped", Settle, "Work stopped",
        "settle what was found, then resume";
    /// Turned, tightened or checked by somebody who knew that work was stopped.
    WorkUnderStop = "work-under-stop", Settle, "Gone on with under a stop",
        "resume it with what it was, then check again, or slacken and begin again; a lead may concede it";
    /// A concession whose ground is gone.
    ConcessionLapsed = "concession-lapsed", Settle, "Concession lapsed",
        "the lead looks again and decides";
    /// Work entered after the hand-over.
    AfterHandOver = "after-hand-over", Settle, "Work after the hand-over",
        "a lead reopens the record";
    /// A reading since the signature that agrees with it.
    ReadAgain = "read-again", Note, "Read again since, and agrees",
        "nothing to do";
}

/// Something a person must look at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// By which rule.
    pub rule: Rule,
    /// Path of the feature; empty where it is about the record.
    pub feature: String,
    /// Characteristic, step, group or mark.
    pub subject: String,
    /// The entries it rests on, ascending.
    pub ids: Vec<EntryId>,
    /// What is the matter, in one sentence.
    pub text: String,
    /// The concession that accepts it.
    pub conceded: Option<EntryId>,
    /// What settles this one, where its rule's hint does not tell.
    way_out: Option<String>,
}

impl Finding {
    pub(super) fn new(rule: Rule, feature: &str, subject: &str, mut ids: Vec<EntryId>, text: String) -> Self {
        ids.sort_unstable();
        ids.dedup();
        let (feature, subject) = (feature.to_owned(), subject.to_owned());
        Self { rule, feature, subject, ids, text, conceded: None, way_out: None }
    }

    /// The same with a way out of its own, where there is one.
    pub(super) fn with_way_out(self, way_out: Option<String>) -> Self {
        Self { way_out, ..self }
    }

    /// The one thing that settles it: its own way out, else its rule's.
    #[must_use]
    pub fn hint(&self) -> &str {
        self.way_out.as_deref().unwrap_or_else(|| self.rule.hint())
    }

    /// Order of listing: rule, then place, then what it rests on, then the words.
    pub(super) fn order(&self, other: &Self) -> std::cmp::Ordering {
        let places = self.rule.cmp(&other.rule).then_with(|| self.feature.cmp(&other.feature));
        let rest = || self.subject.cmp(&other.subject).then_with(|| self.ids.cmp(&other.ids));
        places.then_with(rest).then_with(|| self.text.cmp(&other.text))
    }

    /// Whether somebody still has to settle it.
    #[must_use]
    pub const fn is_open(&self) -> bool {
        self.conceded.is_none() && !matches!(self.rule.weight(), Weight::Note)
    }
}
