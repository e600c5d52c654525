//! Whether values of one thing agree, and which of them speak for it.
//!
//! Two values are compatible when |E_n| <= 1, E_n = (a - b) / sqrt(Ua^2 + Ub^2) with
//! expanded U (ISO 13528:2022; ISO/IEC 17043). Nothing comes off for what two gauges
//! share, so two readings on one master may be called compatible a little too readily.

use super::round::div_half_even;
use super::uncertainty::{Expanded, square};

/// Most values that are searched for a group.
pub const MOST_MEMBERS: usize = 12;

/// More values than are searched: disputed without search.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "{count} values stand against each other, at most {MOST_MEMBERS} are compared; void those that are not meant"
)]
pub struct TooMany {
    /// How many there were.
    pub count: usize,
}

/// Which of several values agree.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Agreement {
    /// One largest group of mutually compatible values: places in the list, ascending.
    Group(Vec<usize>),
    /// Two or more groups of the same largest size: which one speaks is for people.
    Tie,
    /// No two values are compatible, or there are fewer than two.
    Apart,
}

/// (a - b)^2 <= Ua^2 + Ub^2, in integers, for every value.
#[must_use]
pub fn compatible(a: (i64, Expanded), b: (i64, Expanded)) -> bool {
    let apart = u128::from(a.0.abs_diff(b.0));
    // At most (2^64 - 1)^2 on the left and 8e32 on the right: both fit.
    apart * apart <= square(a.1.base()) + square(b.1.base())
}

/// The largest group of at least two values that are compatible each with each.
///
/// Compatibility does not carry over (a with b and b with c, but not a with c), so the
/// search is over sets. The answer names the same values in whatever order they are given.
///
/// # Errors
/// [`TooMany`] above [`MOST_MEMBERS`] values.
pub fn largest_group(values: &[(i64, Expanded)]) -> Result<Agreement, TooMany> {
    let count = values.len();
    if count > MOST_MEMBERS {
        return Err(TooMany { count });
    }
    let friends: Vec<u16> = values.iter().map(|a| mask(values.iter().map(|b| compatible(*a, *b)))).collect();
    let groups = (0..1u16 << count).filter(|set| set.count_ones() >= 2 && is_group(*set, &friends));
    let mut best = Agreement::Apart;
    let mut best_size = 0;
    for set in groups {
        let size = set.count_ones();
        if size > best_size {
            best_size = size;
            best = Agreement::Group(places(set).collect());
        } else if size == best_size {
            best = Agreement::Tie;
        }
    }
    Ok(best)
}

/// Mean of the values, half to even; none for an empty list.
///
/// The sum is exact, so the order of the values does not matter.
#[must_use]
pub fn mean(values: &[i64]) -> Option<i64> {
    let count = i128::try_from(values.len()).ok().filter(|n| *n > 0)?;
    let sum: i128 = values.iter().map(|v| i128::from(*v)).sum();
    i64::try_from(div_half_even(sum, count)).ok()
}

fn is_group(set: u16, friends: &[u16]) -> bool {
    places(set).all(|i| friends.get(i).is_some_and(|f| set & !f == 0))
}

fn mask(bits: impl Iterator<Item = bool>) -> u16 {
    bits.enumerate().fold(0, |set, (i, bit)| if bit { set | 1 << i } else { set })
}

fn places(set: u16) -> impl Iterator<Item = usize> {
    (0..MOST_MEMBERS).filter(move |i| set >> i & 1 == 1)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::measure::uncertainty::{LARGEST, Uncertainty};
    use proptest::prelude::*;

    /// Values in µm, each with u = 1 µm, so two are compatible up to 2.83 µm apart.
    fn micrometres(values: &[i64]) -> Vec<(i64, Expanded)> {
        let u = Uncertainty::new(1_000_000).unwrap().expanded();
        values.iter().map(|v| (v * 1_000_000, u)).collect()
    }

    fn check(values: &[i64], expected: &Agreement) {
        assert_eq!(largest_group(&micrometres(values)).as_ref(), Ok(expected), "{values:?}");
    }

    #[test]
    fn the_largest_group_speaks_and_a_tie_does_not() {
        check(&[], &Agreement::Apart);
        check(&[7], &Agreement::Apart);
        check(&[0, 2], &Agreement::Group(vec![0, 1]));
        check(&[0, 3], &Agreement::Apart);
        check(&[0, 9, 1], &Agreement::Group(vec![0, 2]));
        check(&[0, 2, 4], &Agreement::Tie);
        check(&[0, 1, 9, 10], &Agreement::Tie);
        check(&[0, 1, 9, 10, 11], &Agreement::Group(vec![2, 3, 4]));
        check(&[5; 12], &Agreement::Group((0..12).collect()));
    }

    #[test]
    fn thirteen_values_are_not_searched() {
        let refused = largest_group(&micrometres(&[5; 13])).unwrap_err();
        assert_eq!(refused, TooMany { count: 13 });
    }

    #[test]
    fn the_limit_itself_is_compatible() {
        let three = Uncertainty::new(3).unwrap().expanded();
        let four = Uncertainty::new(4).unwrap().expanded();
        assert!(compatible((0, three), (10, four)));
        assert!(!compatible((0, three), (11, four)));
    }

    #[test]
    fn a_mean_is_exact_and_goes_to_even() {
        assert_eq!(mean(&[]), None);
        assert_eq!(mean(&[1, 2]), Some(2));
        assert_eq!(mean(&[2, 3]), Some(2));
        assert_eq!(mean(&[i64::MAX, i64::MAX]), Some(i64::MAX));
        assert_eq!(mean(&[i64::MIN, i64::MIN]), Some(i64::MIN));
    }

    prop_compose! {
        fn any_value()(v in any::<i64>(), u in 0..=LARGEST) -> (i64, Expanded) {
            (v, Uncertainty::new(u).unwrap().expanded())
        }
    }

    prop_compose! {
        fn near_value()(v in 0i64..40, u in 1i64..6) -> (i64, Expanded) {
            (v, Uncertainty::new(u).unwrap().expanded())
        }
    }

    proptest! {
        #[test]
        fn compatibility_is_symmetric_and_never_overflows(a in any_value(), b in any_value()) {
            prop_assert_eq!(compatible(a, b), compatible(b, a));
            prop_assert!(compatible(a, a));
        }

        #[test]
        fn a_group_is_compatible_and_nobody_else_fits(
            values in prop::collection::vec(near_value(), 0..9)
        ) {
            if let Agreement::Group(members) = largest_group(&values).unwrap() {
                prop_assert!(members.len() >= 2);
                for a in &members {
                    for b in &members {
                        prop_assert!(compatible(values[*a], values[*b]));
                    }
                }
                for other in (0..values.len()).filter(|i| !members.contains(i)) {
                    prop_assert!(members.iter().any(|m| !compatible(values[*m], values[other])));
                }
            }
        }

        #[test]
        fn the_order_of_the_values_does_not_matter(
            values in prop::collection::vec(near_value(), 0..9)
        ) {
            let reversed: Vec<_> = values.iter().rev().copied().collect();
            let there = largest_group(&values).unwrap();
            let back = match largest_group(&reversed).unwrap() {
                Agreement::Group(members) => Agreement::Group(
                    members.iter().rev().map(|i| values.len() - 1 - i).collect(),
                ),
                Agreement::Tie => Agreement::Tie,
                Agreement::Apart => Agreement::Apart,
            };
            prop_assert_eq!(there, back);
        }
    }
}
