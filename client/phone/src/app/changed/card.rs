//! One finding as a card: what is the matter, what led to it, and the one action that settles it.

use std::collections::BTreeSet;

use gudgeon_core::assess::{Finding, Rule, Status};
use gudgeon_core::entry::payload::{FittingState, Payload};
use gudgeon_core::entry::{DocumentId, EntryId};
use gudgeon_core::log::Ix;
use gudgeon_core::sheet;

use super::super::sight::Sight;
use super::way::{About, Way, way};

/// What makes two findings the same.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Name {
    /// By which rule.
    pub rule: Rule,
    /// Path of the feature.
    pub feature: String,
    /// Characteristic, step, group or mark.
    pub subject: String,
    /// What it rests on.
    pub ids: Vec<EntryId>,
}

/// An entry on a line of time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// When, by the device of who made it.
    pub when: String,
    /// By whom.
    pub who: String,
    /// What it says.
    pub text: String,
}

/// A finding.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Card {
    /// Which finding.
    pub name: Name,
    /// How it is drawn: a class of the style sheet.
    pub state: &'static str,
    /// A few words for its head.
    pub title: &'static str,
    /// Where, in words.
    pub place: String,
    /// What is the matter.
    pub text: String,
    /// What settles it, in words.
    pub hint: String,
    /// What led to it.
    pub time: Vec<Line>,
    /// The action.
    pub way: Way,
    /// Two by two, what knew nothing of each other.
    pub pairs: Vec<(EntryId, EntryId)>,
    /// Whether it rests on something that was not seen before.
    pub new: bool,
    /// Whether it rests on anything that a concession could rest on.
    pub can_concede: bool,
    /// Whether it is conceded.
    pub conceded: bool,
}

impl Card {
    /// A finding of a record; the line of time is added by whoever has told the entries.
    pub(super) fn of(finding: &Finding, record: DocumentId, sight: &Sight) -> Self {
        let pairs = pairs(finding, sight);
        let subject = if finding.text.starts_with(&finding.subject) { "" } else { &finding.subject };
        let place: Vec<String> = [sheet::place(&finding.feature), sheet::plain(subject)].into();
        let place: Vec<String> = place.into_iter().filter(|word| !word.is_empty()).collect();
        Self {
            name: Name {
                rule: finding.rule,
                feature: finding.feature.clone(),
                subject: finding.subject.clone(),
                ids: finding.ids.clone(),
            },
            state: state(finding.rule),
            title: finding.rule.title(),
            place: place.join(", "),
            text: finding.text.clone(),
            hint: finding.hint().to_owned(),
            time: Vec::new(),
            way: settles(finding, &pairs, record, sight),
            pairs: pairs.iter().map(|(a, b)| (sight.log().at(*a).id, sight.log().at(*b).id)).collect(),
            new: false,
            can_concede: !finding.ids.is_empty(),
            conceded: finding.conceded.is_some(),
        }
    }
}

/// The entries that led to a finding: those it rests on, and what took a signature's ground away.
pub(super) fn led_to(finding: &Finding, sight: &Sight) -> BTreeSet<Ix> {
    let steps = sight.assessment.steps().iter().filter(|step| *step.id == *finding.subject);
    let signatures = steps.flat_map(|step| step.signature.iter().chain(&step.second));
    let stale = finding.rule == Rule::StaleSignOff;
    let causes = signatures.filter(|_| stale).flat_map(|signature| &signature.stale);
    let ids = finding.ids.iter().chain(causes.flat_map(|cause| &cause.entries));
    ids.filter_map(|id| sight.log().place(id)).collect()
}

/// Of "before or after?": what is asked about, against the work.
fn pairs(finding: &Finding, sight: &Sight) -> Vec<(Ix, Ix)> {
    if finding.rule == Rule::DisputedChoice {
        return finding.ids.iter().filter_map(|id| ordered(*id, sight)).take(1).collect();
    }
    if finding.rule != Rule::BeforeOrAfter {
        return Vec::new();
    }
    let all: Vec<Ix> = finding.ids.iter().filter_map(|id| sight.log().place(id)).collect();
    let mut pairs = Vec::new();
    for ix in &all {
        if let Status::Undecided(work) = sight.assessment.status(*ix) {
            pairs.extend(work.iter().filter(|by| all.contains(by)).map(|by| (*ix, *by)));
        }
    }
    // Acts on a group of fasteners: two that the finding names.
    match (&pairs[..], &all[..]) {
        ([], [one, other]) => vec![(*one, *other)],
        _ => pairs,
    }
}

/// What an order is of.
fn ordered(id: EntryId, sight: &Sight) -> Option<(Ix, Ix)> {
    let Ok(Payload::Order(order)) = &sight.log().get(&id)?.payload else { return None };
    sight.log().place(&order.first).zip(sight.log().place(&order.second))
}

/// The one action: saying which came first, where that is asked; else what the rule's row finds.
fn settles(finding: &Finding, pairs: &[(Ix, Ix)], record: DocumentId, sight: &Sight) -> Way {
    if let Some((one, other)) = pairs.first() {
        return Way::Order(noun(*one, sight), noun(*other, sight));
    }
    let Finding { rule, feature, subject, ids, .. } = finding;
    way(&About { record, rule: *rule, feature, subject, ids }, sight)
}

/// What an entry is called on a button.
fn noun(ix: Ix, sight: &Sight) -> String {
    #[allow(clippy::wildcard_enum_match_arm, reason = "no other kind is asked about")]
    match &sight.log().at(ix).payload {
        Ok(Payload::Operation(operation)) => sheet::plain(&operation.operation),
        Ok(Payload::Reading(_)) => "the reading".to_owned(),
        Ok(Payload::Tightening(done)) => format!("the tightening of {}", sheet::plain(&done.group)),
        Ok(Payload::Fitting(fitting)) => match fitting.state {
            FittingState::TakenOut => format!("taking out {}", fitting.part),
            FittingState::Allotted | FittingState::Fitted => format!("fitting {}", fitting.part),
        },
        Ok(Payload::Check(check)) => format!("the check {}", sheet::plain(&check.check)),
        Ok(Payload::GaugeCheck(check)) => format!("the check of gauge {}", check.gauge),
        Ok(Payload::Void(_)) => "the void".to_owned(),
        _ => format!("entry {}", sight.log().at(ix).id.short()),
    }
}

/// Rules that are drawn as what they are about; the others are drawn as not proven.
const STATES: [(Rule, &str); 6] = [
    (Rule::Outside, "outside"),
    (Rule::Disputed, "disputed"),
    (Rule::DisputedChoice, "disputed"),
    (Rule::StaleSignOff, "stale"),
    (Rule::SignedWithoutEvidence, "stale"),
    (Rule::ConcessionLapsed, "stale"),
];

/// How a rule is drawn.
fn state(rule: Rule) -> &'static str {
    STATES.iter().find(|(of, _)| *of == rule).map_or("not-proven", |(_, state)| *state)
}
