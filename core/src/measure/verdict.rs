//! The words of a judgement: rule, reason, verdict, and their stable numbers.

use std::fmt;

/// How much of the doubt a limit is guarded against.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Rule {
    /// Guard g = 1.65 u: 95 % at one limit (ISO 14253-1:2017).
    #[default]
    Strict,
    /// Guard halved: maker and user share the doubt.
    Shared,
    /// No guard: the value alone decides, and nothing is proven by it.
    Simple,
}

/// What a rule asks for.
pub(super) struct Terms {
    /// Guard at one limit, in thousandths of u.
    pub(super) one_tail_e3: i128,
    /// Half of the narrowest tolerance that can prove anything, in thousandths of u.
    pub(super) both_tails_e3: i128,
    /// The conformance probability that decides where both tails count.
    pub(super) probability_e9: u32,
}

impl Rule {
    pub(super) const ALL: [Self; 3] = [Self::Strict, Self::Shared, Self::Simple];

    /// Stable number, as stored.
    #[must_use]
    pub const fn code(self) -> u32 {
        match self {
            Self::Strict => 1,
            Self::Shared => 2,
            Self::Simple => 3,
        }
    }

    /// The rule of a stored number.
    #[must_use]
    pub fn from_code(code: u32) -> Option<Self> {
        Self::ALL.into_iter().find(|rule| rule.code() == code)
    }

    /// Shared: half of 1.65 is 0.825; Phi(0.825) = 0.7953 and two tails of that are at 1.268.
    pub(super) const fn terms(self) -> Option<Terms> {
        match self {
            Self::Strict => {
                Some(Terms { one_tail_e3: 1_650, both_tails_e3: 1_960, probability_e9: 950_000_000 })
            }
            Self::Shared => {
                Some(Terms { one_tail_e3: 825, both_tails_e3: 1_268, probability_e9: 795_300_000 })
            }
            Self::Simple => None,
        }
    }
}

impl fmt::Display for Rule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Strict => "strict, guard 1.65 u (ISO 14253-1)",
            Self::Shared => "shared, guard 0.825 u",
            Self::Simple => "simple, no guard",
        })
    }
}

/// Why there is no verdict.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Reason {
    /// The gauge's uncertainty is not known (or was given as zero).
    NoUncertainty,
    /// A temperature is missing where it matters.
    NoTemperature,
    /// There is no limit.
    NoLimit,
    /// A counted entry is of a kind or version this program does not know.
    UnknownEntry,
    /// The lower limit lies above the upper one.
    LimitsCrossed,
    /// A temperature too far from 20 degC to correct.
    TemperatureTooFar,
    /// Readings disagree and nothing settles it.
    Disputed,
    /// Before or after an operation: not yet settled.
    Undecided,
    /// Nothing stands: it has not been read, or not since it was changed.
    NotRead,
}

impl Reason {
    /// In the order of their codes, which start at 0 and never change.
    const ALL: [Self; 9] = [
        Self::NoUncertainty,
        Self::NoTemperature,
        Self::NoLimit,
        Self::UnknownEntry,
        Self::LimitsCrossed,
        Self::TemperatureTooFar,
        Self::Disputed,
        Self::Undecided,
        Self::NotRead,
    ];

    const fn code(self) -> u32 {
        match self {
            Self::NoUncertainty => 0,
            Self::NoTemperature => 1,
            Self::NoLimit => 2,
            Self::UnknownEntry => 3,
            Self::LimitsCrossed => 4,
            Self::TemperatureTooFar => 5,
            Self::Disputed => 6,
            Self::Undecided => 7,
            Self::NotRead => 8,
        }
    }
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::NoUncertainty => "uncertainty not known",
            Self::NoTemperature => "temperature missing",
            Self::NoLimit => "no limit",
            Self::UnknownEntry => "an entry this version does not know",
            Self::LimitsCrossed => "lower limit above upper limit",
            Self::TemperatureTooFar => "more than 50 degC away from 20 degC, too far to correct",
            Self::Disputed => "disputed",
            Self::Undecided => "before or after?",
            Self::NotRead => "not read",
        })
    }
}

/// What is proven of a value.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Verdict {
    /// Within the limits, proven as the rule asks.
    Within,
    /// In the guard band around a limit: neither is proven.
    NotProven,
    /// No verdict can be had.
    NotJudged(Reason),
    /// Outside the limits, proven as the rule asks.
    Outside,
}

impl Verdict {
    /// Codes of "not judged" start here.
    const NOT_JUDGED: u32 = 16;

    /// Stable number, as signed and stored.
    #[must_use]
    pub const fn code(self) -> u32 {
        match self {
            Self::Within => 1,
            Self::NotProven => 2,
            Self::Outside => 3,
            Self::NotJudged(reason) => Self::NOT_JUDGED + reason.code(),
        }
    }

    /// The verdict of a stored number.
    #[must_use]
    pub fn from_code(code: u32) -> Option<Self> {
        let judged = [Self::Within, Self::NotProven, Self::Outside];
        let not_judged = Reason::ALL.into_iter().map(Self::NotJudged);
        let mut all = judged.into_iter().chain(not_judged);
        all.find(|verdict| verdict.code() == code)
    }

    /// Order for "the worst of several": within, not proven, not judged, outside.
    ///
    /// Not judged is worse than not proven, because less is known; outside is worst, because
    /// that much is known.
    #[must_use]
    pub const fn badness(self) -> u8 {
        match self {
            Self::Within => 0,
            Self::NotProven => 1,
            Self::NotJudged(_) => 2,
            Self::Outside => 3,
        }
    }
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Within => f.write_str("within"),
            Self::NotProven => f.write_str("not proven"),
            Self::Outside => f.write_str("outside"),
            Self::NotJudged(reason) => write!(f, "not judged: {reason}"),
        }
    }
}

/// The worst of several verdicts; of two "not judged" the one with the smaller code.
#[must_use]
pub fn worst(verdicts: impl IntoIterator<Item = Verdict>) -> Option<Verdict> {
    let order = |v: &Verdict| (v.badness(), std::cmp::Reverse(v.code()));
    verdicts.into_iter().max_by_key(order)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_kept_for_ever_and_read_back() {
        let codes: Vec<(u32, String)> =
            (0..64).filter_map(Verdict::from_code).map(|v| (v.code(), v.to_string())).collect();
        let expected = [
            (1, "within"),
            (2, "not proven"),
            (3, "outside"),
            (16, "not judged: uncertainty not known"),
            (17, "not judged: temperature missing"),
            (18, "not judged: no limit"),
            (19, "not judged: an entry this version does not know"),
            (20, "not judged: lower limit above upper limit"),
            (21, "not judged: more than 50 degC away from 20 degC, too far to correct"),
            (22, "not judged: disputed"),
            (23, "not judged: before or after?"),
            (24, "not judged: not read"),
        ];
        let expected: Vec<(u32, String)> = expected.iter().map(|(c, w)| (*c, (*w).into())).collect();
        assert_eq!(codes, expected);
        let rules: Vec<Option<Rule>> = (0..5).map(Rule::from_code).collect();
        let known = [Some(Rule::Strict), Some(Rule::Shared), Some(Rule::Simple)];
        assert_eq!(rules, [&[None], &known[..], &[None]].concat());
    }

    #[test]
    fn outside_is_worst_then_not_judged_then_not_proven() {
        let no_limit = Verdict::NotJudged(Reason::NoLimit);
        let no_u = Verdict::NotJudged(Reason::NoUncertainty);
        assert_eq!(worst([]), None);
        assert_eq!(worst([Verdict::Within, Verdict::NotProven]), Some(Verdict::NotProven));
        assert_eq!(worst([no_limit, Verdict::NotProven]), Some(no_limit));
        assert_eq!(worst([no_limit, Verdict::Outside, no_u]), Some(Verdict::Outside));
        assert_eq!(worst([no_limit, no_u]), worst([no_u, no_limit]));
        assert_eq!(worst([no_limit, no_u]), Some(no_u));
    }
}
