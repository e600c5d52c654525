//! What became of the findings: new ones, settled ones, and those that only cannot be seen.

use std::collections::BTreeMap;

use gudgeon_core::assess::{Finding, Record, Rule, Status, Workshop, assess};
use gudgeon_core::entry::DocumentId;
use gudgeon_core::log::Ix;
use gudgeon_core::measure::{Reason, Verdict};
use serde_json::Value as Json;

use crate::desk::{Desk, Sight};
use crate::failure::Failure;
use crate::out::Answer;
use crate::words;

/// What every record held comes to.
pub(crate) type Sights = BTreeMap<DocumentId, Sight>;

/// Every record held, as it is now.
pub(crate) fn sights(desk: &Desk) -> Result<Sights, Failure> {
    desk.home.records().map(|id| Ok((id, desk.sight_of(id)?))).collect()
}

/// What became of the findings.
pub(crate) struct Changes<'s> {
    /// Only after.
    pub(crate) new: Vec<&'s Finding>,
    /// Gone: not merely stated anew.
    pub(crate) settled: Vec<&'s Finding>,
    /// Not seen only because what it rests on cannot be judged any more.
    pub(crate) hidden: Vec<&'s Finding>,
}

/// What is said of a hidden finding.
pub(crate) const NOT_SEEN: &str = "not settled, but not judged now";

/// Tells what changed for people in one record, by rule; whether anything did.
pub(crate) fn add_changes(answer: &mut Answer, json: &mut Json, before: Option<&Sight>, now: &Sight) -> bool {
    let empty = nothing_of(now);
    let before = before.unwrap_or(&empty);
    let Changes { new, settled, hidden } = changed(before, now);
    let lists = [
        ("new", new, "new_findings"),
        ("settled", settled, "settled_findings"),
        (NOT_SEEN, hidden, "hidden_findings"),
    ];
    let mut any = false;
    for (word, list, field) in lists {
        let open: Vec<&Finding> = list.into_iter().filter(|finding| finding.is_open()).collect();
        any |= !open.is_empty();
        open.iter().for_each(|finding| answer.line(format!("  {word}: {}", words::finding(finding))));
        json[field] = open.into_iter().map(words::finding_json).collect();
    }
    any
}

fn nothing_of(sight: &Sight) -> Sight {
    let record = Record::new(sight.log().document());
    let workshop: Workshop = sight.workshop.clone();
    let assessment = assess(&record, &workshop);
    Sight { record, workshop, assessment }
}

/// Compares the findings before and after.
pub(crate) fn changed<'s>(before: &'s Sight, after: &'s Sight) -> Changes<'s> {
    let (old, new) = (before.assessment.findings(), after.assessment.findings());
    let come: Vec<&Finding> =
        new.iter().filter(|finding| finding.conceded.is_none() && !old.contains(finding)).copied().collect();
    let restated = |finding: &Finding| {
        let same = |other: &&Finding| {
            (other.rule, &other.feature, &other.subject) == (finding.rule, &finding.feature, &finding.subject)
        };
        come.iter().any(same)
    };
    let gone = old
        .iter()
        .filter(|finding| finding.conceded.is_none() && !new.contains(finding) && !restated(finding));
    let (hidden, settled) = gone.copied().partition(|finding| is_hidden(finding, after));
    Changes { new: come, settled, hidden }
}

/// Whether a finding on a value or its readings may come back when these are judged again.
fn is_hidden(finding: &Finding, after: &Sight) -> bool {
    const OF_VALUES: [Rule; 3] = [Rule::Outside, Rule::NotProven, Rule::NotJudged];
    const OF_READINGS: [Rule; 5] = [
        Rule::ConditionsMissing,
        Rule::GaugeUnknown,
        Rule::GaugeOverdue,
        Rule::GaugeRange,
        Rule::FinerThanGauge,
    ];
    let of_value = OF_VALUES.contains(&finding.rule);
    let in_doubt = |ix: Ix| {
        matches!(after.assessment.status(ix), Status::Disputed | Status::Undecided(_) | Status::Doubtful(_))
    };
    let doubtful = || finding.ids.iter().filter_map(|id| after.log().place(id)).any(in_doubt);
    ((of_value || OF_READINGS.contains(&finding.rule)) && doubtful())
        || (of_value && is_unjudged(after, &finding.feature, &finding.subject))
}

/// Whether something else than a reading or a limit is missing to judge a value.
fn is_unjudged(sight: &Sight, feature: &str, name: &str) -> bool {
    let feature = sight.assessment.feature(feature);
    let value = feature.and_then(|feature| feature.values.iter().find(|value| value.name == name));
    value.is_some_and(|value| match value.verdict() {
        Verdict::NotJudged(reason) => !matches!(reason, Reason::NotRead | Reason::NoLimit),
        Verdict::Within | Verdict::NotProven | Verdict::Outside => false,
    })
}
