//! What became of the findings: new ones, settled ones, and those that only cannot be seen.

use gudgeon_core::assess::{Finding, Rule, Status};
use gudgeon_core::log::Ix;
use gudgeon_core::measure::{Reason, Verdict};

use crate::desk::Sight;

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
