//! Whether a value is proven to lie within its limits.
//!
//! With the standard uncertainty u and a guard g = 1.65 u (probability 95 % at one limit):
//! *within* is proven inside the tolerance reduced by g at each limit, *outside* is proven
//! beyond the tolerance extended by g, and between them nothing is proven. Source: ISO
//! 14253-1:2017 (decision rule), JCGM 106:2012 clause 7 (conformance probability).
//!
//! All numbers of one call are in one base unit.

use super::normal::{below, to_e9};
use super::round::div_half_even;
use super::uncertainty::Uncertainty;
use super::verdict::{Reason, Rule, Terms, Verdict};

/// Where a value would be proven within.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Accept {
    /// Nowhere: the gauge is too coarse for the tolerance, or nothing was judged.
    Nowhere,
    /// Between these, both included; `None` on a side without a limit.
    Between {
        /// Smallest value that is proven within.
        low: Option<i64>,
        /// Largest value that is proven within.
        high: Option<i64>,
    },
}

/// A verdict and what it was reached with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Judgement {
    /// The verdict.
    pub verdict: Verdict,
    /// The rule in force: always shown beside the verdict.
    pub rule: Rule,
    /// Half the length of the bar to draw at the value: inside both limits means within,
    /// clear of them means outside, across one means not proven.
    pub guard: i64,
    /// Where a value would be proven within.
    pub accept: Accept,
    /// Whether the tolerance is under 4 u, so that both limits count at once.
    pub both_tails: bool,
}

impl Judgement {
    /// No judgement, for this reason.
    #[must_use]
    pub const fn not_judged(reason: Reason, rule: Rule) -> Self {
        Self {
            verdict: Verdict::NotJudged(reason),
            rule,
            guard: 0,
            accept: Accept::Nowhere,
            both_tails: false,
        }
    }
}

/// The tolerance with at least one limit, in the wide integers the sums need.
struct Limits {
    lower: Option<i128>,
    upper: Option<i128>,
}

impl Limits {
    fn new(lower: Option<i64>, upper: Option<i64>) -> Result<Self, Reason> {
        match (lower, upper) {
            (None, None) => Err(Reason::NoLimit),
            (Some(low), Some(high)) if low > high => Err(Reason::LimitsCrossed),
            _ => Ok(Self { lower: lower.map(i128::from), upper: upper.map(i128::from) }),
        }
    }

    fn width(&self) -> Option<i128> {
        Some(self.upper? - self.lower?)
    }

    /// Whether `value` with a bar of `guard` either way lies inside the limits.
    fn hold(&self, value: i128, guard: i128) -> bool {
        self.lower.is_none_or(|low| value - guard >= low)
            && self.upper.is_none_or(|high| value + guard <= high)
    }

    /// Whether that bar is clear of the tolerance on one side.
    fn clear(&self, value: i128, guard: i128) -> bool {
        self.lower.is_some_and(|low| value + guard < low)
            || self.upper.is_some_and(|high| value - guard > high)
    }

    /// Conformance probability of `value` in 1e-9.
    fn probability_e9(&self, value: i128, u: i64) -> u32 {
        let to_upper = self.upper.map_or(1.0, |high| below(high - value, u));
        let to_lower = self.lower.map_or(0.0, |low| below(low - value, u));
        to_e9(to_upper - to_lower)
    }

    fn accept(&self, guard: i128) -> Accept {
        if self.width().is_some_and(|width| 2 * guard > width) {
            return Accept::Nowhere;
        }
        Accept::Between {
            low: self.lower.map(|low| saturated(low + guard)),
            high: self.upper.map(|high| saturated(high - guard)),
        }
    }
}

/// Judges `value` with standard uncertainty `u` against its limits by `rule`.
///
/// Where the tolerance is under 4 u both limits count at once: within asks for a
/// conformance probability of 95 % (79.5 % shared), which widens the guard until, under
/// 3.92 u, nothing can be proven within. Outside stays at one tail (1.65 u beyond a
/// limit): there the probability of conforming is under 5 % whatever the other limit
/// does, while counting both would call a value *between* the limits outside as soon as
/// the tolerance is narrow enough against u, which is the gauge's fault, not the part's.
///
/// [`Rule::Simple`] needs no uncertainty. Never fails: what cannot be judged says so.
///
/// Example: clearance 0.058 mm, limits 0.040 to 0.060 mm, u = 3.15 µm, strict: not proven;
/// 0.053 mm is within.
#[must_use]
pub fn judge(
    value: i64,
    u: Option<Uncertainty>,
    lower: Option<i64>,
    upper: Option<i64>,
    rule: Rule,
) -> Judgement {
    let limits = match Limits::new(lower, upper) {
        Ok(limits) => limits,
        Err(reason) => return Judgement::not_judged(reason, rule),
    };
    let value = i128::from(value);
    let Some(terms) = rule.terms() else {
        return simple(value, &limits);
    };
    let Some(u) = u.filter(|u| !u.is_zero()) else {
        return Judgement::not_judged(Reason::NoUncertainty, rule);
    };
    let Guards { inward, outward, both_tails } = Guards::new(&limits, u, &terms);
    let verdict = if limits.hold(value, inward) {
        Verdict::Within
    } else if limits.clear(value, outward) {
        Verdict::Outside
    } else {
        Verdict::NotProven
    };
    let guard = if limits.hold(value, 0) { inward } else { outward };
    Judgement { verdict, rule, guard: saturated(guard), accept: limits.accept(inward), both_tails }
}

/// Judges a value that is only known to lie from `low` to `high`: the worse of both ends.
///
/// Example: the smallest and the largest diameter of one journal.
#[must_use]
pub fn judge_range(
    low: i64,
    high: i64,
    u: Option<Uncertainty>,
    lower: Option<i64>,
    upper: Option<i64>,
    rule: Rule,
) -> Judgement {
    let at_low = judge(low, u, lower, upper, rule);
    let at_high = judge(high, u, lower, upper, rule);
    if at_high.verdict.badness() > at_low.verdict.badness() { at_high } else { at_low }
}

/// Probability, in 1e-9, that the true value lies within the limits.
///
/// p_c = Phi((T_U - y)/u) - Phi((T_L - y)/u), value y, limits T, normal, nothing known
/// beforehand (JCGM 106:2012 clause 7). A missing limit is infinitely far. None where u
/// is zero, no limit is given, or they are crossed.
///
/// Example: journal 50.980 to 51.000 mm, u = 2 µm, y = 50.996 mm: 0.977 249 868.
#[must_use]
pub fn conformance_probability(
    value: i64,
    u: Uncertainty,
    lower: Option<i64>,
    upper: Option<i64>,
) -> Option<u32> {
    let limits = Limits::new(lower, upper).ok()?;
    (!u.is_zero()).then(|| limits.probability_e9(i128::from(value), u.base()))
}

fn simple(value: i128, limits: &Limits) -> Judgement {
    let inside = limits.hold(value, 0);
    Judgement {
        verdict: if inside { Verdict::Within } else { Verdict::Outside },
        rule: Rule::Simple,
        guard: 0,
        accept: limits.accept(0),
        both_tails: false,
    }
}

/// How far a value must keep from a limit.
struct Guards {
    /// Inside, to be proven within.
    inward: i128,
    /// Beyond, to be proven outside.
    outward: i128,
    both_tails: bool,
}

impl Guards {
    fn new(limits: &Limits, u: Uncertainty, terms: &Terms) -> Self {
        let outward = times_e3(u, terms.one_tail_e3);
        let narrow = limits.width().filter(|width| *width < 4 * i128::from(u.base()));
        let inward = narrow.map_or(outward, |width| two_tailed_guard(limits, width, u, terms));
        Self { inward, outward, both_tails: narrow.is_some() }
    }
}

/// The smallest guard at which the conformance probability reaches what the rule asks; more
/// than half the tolerance where it never does.
///
/// The probability grows from a limit to the middle, so this is a search by halves.
fn two_tailed_guard(limits: &Limits, width: i128, u: Uncertainty, terms: &Terms) -> i128 {
    let reaches = |guard: i128| {
        let at = limits.lower.unwrap_or_default() + guard;
        limits.probability_e9(at, u.base()) >= terms.probability_e9
    };
    let half = width / 2;
    if !reaches(half) {
        return times_e3(u, terms.both_tails_e3).max(half + 1);
    }
    let (mut short, mut enough) = (times_e3(u, terms.one_tail_e3).min(half) - 1, half);
    while enough - short > 1 {
        let middle = short + (enough - short) / 2;
        if reaches(middle) {
            enough = middle;
        } else {
            short = middle;
        }
    }
    enough
}

fn times_e3(u: Uncertainty, factor_e3: i128) -> i128 {
    div_half_even(i128::from(u.base()) * factor_e3, 1000)
}

/// Only an accept limit can reach past i64, and only where no i64 lies beyond it.
fn saturated(wide: i128) -> i64 {
    let kept = wide.clamp(i128::from(i64::MIN), i128::from(i64::MAX));
    i64::try_from(kept).unwrap_or_default()
}

#[cfg(test)]
mod tests;
