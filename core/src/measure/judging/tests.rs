#![allow(clippy::unwrap_used)]
use super::*;
use crate::measure::uncertainty::LARGEST;
use proptest::prelude::*;

fn u(base: i64) -> Uncertainty {
    Uncertainty::new(base).unwrap()
}

fn between(low: i64, high: i64) -> Accept {
    Accept::Between { low: Some(low), high: Some(high) }
}

/// Limits 1000 to 2000, u = 100: guard 165.
fn check(rule: Rule, value: i64, verdict: Verdict) {
    let judged = judge(value, Some(u(100)), Some(1000), Some(2000), rule);
    assert_eq!(judged.verdict, verdict, "{value} by {rule}");
}

#[test]
fn the_strict_guard_lies_on_both_sides_of_each_limit() {
    for (value, verdict) in [
        (834, Verdict::Outside),
        (835, Verdict::NotProven),
        (1164, Verdict::NotProven),
        (1165, Verdict::Within),
        (1835, Verdict::Within),
        (1836, Verdict::NotProven),
        (2165, Verdict::NotProven),
        (2166, Verdict::Outside),
    ] {
        check(Rule::Strict, value, verdict);
    }
}

#[test]
fn the_shared_guard_is_half_and_the_simple_rule_has_none() {
    // 0.825 * 100 = 82.5, half to even 82
    check(Rule::Shared, 1081, Verdict::NotProven);
    check(Rule::Shared, 1082, Verdict::Within);
    check(Rule::Shared, 918, Verdict::NotProven);
    check(Rule::Shared, 917, Verdict::Outside);
    check(Rule::Simple, 999, Verdict::Outside);
    check(Rule::Simple, 1000, Verdict::Within);
    check(Rule::Simple, 2000, Verdict::Within);
    check(Rule::Simple, 2001, Verdict::Outside);
}

#[test]
fn one_limit_is_judged_alone() {
    let judged = judge(835, Some(u(100)), None, Some(1000), Rule::Strict);
    assert_eq!(judged.verdict, Verdict::Within);
    assert_eq!(judged.accept, Accept::Between { low: None, high: Some(835) });
    let judged = judge(1164, Some(u(100)), Some(1000), None, Rule::Strict);
    assert_eq!(judged.verdict, Verdict::NotProven);
}

#[test]
fn what_cannot_be_judged_says_why() {
    let reason = |value, u, lower, upper, rule| judge(value, u, lower, upper, rule).verdict;
    assert_eq!(reason(5, None, Some(1), Some(9), Rule::Strict), Verdict::NotJudged(Reason::NoUncertainty));
    assert_eq!(
        reason(5, Some(Uncertainty::ZERO), Some(1), None, Rule::Shared),
        Verdict::NotJudged(Reason::NoUncertainty)
    );
    assert_eq!(reason(5, Some(u(1)), None, None, Rule::Simple), Verdict::NotJudged(Reason::NoLimit));
    assert_eq!(
        reason(5, Some(u(1)), Some(9), Some(1), Rule::Simple),
        Verdict::NotJudged(Reason::LimitsCrossed)
    );
    assert_eq!(reason(5, None, Some(1), Some(9), Rule::Simple), Verdict::Within);
}

#[test]
fn under_four_u_both_limits_count() {
    // Smallest k with Phi(3.95 - k) - Phi(-k) >= 0.95: 1.850 757 (bisection of the formula in another language).
    let width = 3_950_000;
    let judged = judge(width / 2, Some(u(1_000_000)), Some(0), Some(width), Rule::Strict);
    assert!(judged.both_tails);
    assert_eq!(judged.verdict, Verdict::Within);
    assert!((judged.guard - GUARD_AT_3_95).abs() <= 2, "{}", judged.guard);
    assert_eq!(judged.accept, between(judged.guard, width - judged.guard));
    let wide = judge(2_000_000, Some(u(1_000_000)), Some(0), Some(4_000_000), Rule::Strict);
    assert!(!wide.both_tails);
    assert_eq!(wide.guard, 1_650_000);
}

#[test]
fn a_gauge_too_coarse_proves_nothing_within_but_still_finds_the_far_outside() {
    let judged = |value| judge(value, Some(u(1000)), Some(0), Some(100), Rule::Strict);
    let middle = judged(50);
    // 4 % chance of conforming in the middle, yet a value between the limits is not "outside".
    assert_eq!(middle.verdict, Verdict::NotProven);
    assert_eq!(middle.accept, Accept::Nowhere);
    assert!(2 * middle.guard > 100);
    assert_eq!(judged(1750).verdict, Verdict::NotProven);
    assert_eq!(judged(1751).verdict, Verdict::Outside);
    assert_eq!(judged(-1651).verdict, Verdict::Outside);
}

#[test]
fn a_range_is_as_good_as_its_worse_end() {
    let range = |low, high| judge_range(low, high, Some(u(100)), Some(1000), Some(2000), Rule::Strict);
    assert_eq!(range(1200, 1800).verdict, Verdict::Within);
    assert_eq!(range(1200, 1900).verdict, Verdict::NotProven);
    assert_eq!(range(1100, 1800).verdict, Verdict::NotProven);
    assert_eq!(range(1100, 2300).verdict, Verdict::Outside);
}

/// The guard of the test above, in millionths of u.
const GUARD_AT_3_95: i64 = 1_850_757;

prop_compose! {
    fn near_case()(
        u in 1i64..5000, lower in -20_000i64..20_000, width in 0i64..30_000, value in -60_000i64..60_000
    ) -> (i64, i64, i64, i64) {
        (value, u, lower, lower + width)
    }
}

fn any_rule() -> impl Strategy<Value = Rule> {
    prop::sample::select(&Rule::ALL[..])
}

proptest! {
    #[test]
    fn within_always_means_94_percent_and_outside_at_most_5((value, base, lower, upper) in near_case()) {
        // u of a thousand units and more: below, rounding the guard to a whole unit shows.
        let base = base + 1000;
        let judged = judge(value, Some(u(base)), Some(lower), Some(upper), Rule::Strict);
        let p = conformance_probability(value, u(base), Some(lower), Some(upper)).unwrap();
        match judged.verdict {
            Verdict::Within => prop_assert!(p >= 940_000_000, "{p}"),
            Verdict::Outside => prop_assert!(p <= 50_000_000, "{p}"),
            Verdict::NotProven => {}
            Verdict::NotJudged(reason) => prop_assert!(false, "{reason}"),
        }
        if judged.both_tails && judged.verdict == Verdict::Within {
            prop_assert!(p >= 950_000_000, "{p}");
        }
    }

    #[test]
    fn the_bar_the_accepted_zone_and_the_word_agree(
        (value, base, lower, upper) in near_case(), rule in any_rule()
    ) {
        let judged = judge(value, Some(u(base)), Some(lower), Some(upper), rule);
        let inside = value - judged.guard >= lower && value + judged.guard <= upper;
        let clear = value + judged.guard < lower || value - judged.guard > upper;
        prop_assert_eq!(judged.verdict == Verdict::Within, inside);
        prop_assert_eq!(judged.verdict == Verdict::Outside, clear);
        let accepted = match judged.accept {
            Accept::Nowhere => false,
            Accept::Between { low, high } => low.unwrap() <= value && value <= high.unwrap(),
        };
        prop_assert_eq!(accepted, inside);
    }

    #[test]
    fn the_probability_falls_towards_a_single_limit_and_is_half_at_it(
        base in 1i64..1_000_000, limit in -1_000_000i64..1_000_000, gap in 0i64..1_000_000, step in 0i64..1_000_000
    ) {
        let p = |value| conformance_probability(value, u(base), None, Some(limit)).unwrap();
        prop_assert!(p(limit - gap) >= p(limit - gap + step));
        prop_assert_eq!(p(limit), 500_000_000);
        let far = conformance_probability(limit, u(base), Some(limit - 8 * base), Some(limit)).unwrap();
        prop_assert_eq!(far, 500_000_000);
    }

    #[test]
    fn the_probability_falls_from_the_middle_to_either_side(
        base in 1i64..10_000, half in 0i64..30_000, away in 0i64..50_000, step in 0i64..5_000
    ) {
        let p = |value| conformance_probability(value, u(base), Some(-half), Some(half)).unwrap();
        prop_assert!(p(away) >= p(away + step));
        prop_assert!(p(away).abs_diff(p(-away)) <= 1);
    }

    #[test]
    fn a_coarser_gauge_never_turns_not_proven_into_within(
        (value, base, lower, upper) in near_case(), rule in any_rule(), more in 0i64..2000
    ) {
        let fine = judge(value, Some(u(base)), Some(lower), Some(upper), rule).verdict;
        let coarse = judge(value, Some(u(base + more)), Some(lower), Some(upper), rule).verdict;
        if fine != Verdict::Within {
            prop_assert!(coarse != Verdict::Within);
        }
    }

    #[test]
    fn any_numbers_at_all_are_judged_without_overflow(
        value in any::<i64>(), other in any::<i64>(), lower in any::<Option<i64>>(),
        upper in any::<Option<i64>>(), base in 0..=LARGEST, rule in any_rule()
    ) {
        let judged = judge_range(value, other, Some(u(base)), lower, upper, rule);
        prop_assert_eq!(Verdict::from_code(judged.verdict.code()), Some(judged.verdict));
        if let Some(p) = conformance_probability(value, u(base), lower, upper) {
            prop_assert!(p <= 1_000_000_000);
        }
    }
}

#[test]
fn the_ends_of_the_integers_are_judged_without_overflow() {
    let ends = [i64::MIN, -1, 0, 1, i64::MAX];
    for value in ends {
        for lower in ends {
            for upper in ends {
                for base in [1, LARGEST] {
                    for rule in Rule::ALL {
                        let judged = judge(value, Some(u(base)), Some(lower), Some(upper), rule);
                        let crossed = judged.verdict == Verdict::NotJudged(Reason::LimitsCrossed);
                        assert_eq!(crossed, lower > upper);
                        let p = conformance_probability(value, u(base), Some(lower), Some(upper));
                        assert_eq!(p.is_none(), crossed);
                    }
                }
            }
        }
    }
}
