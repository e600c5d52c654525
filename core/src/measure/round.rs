//! The one rule of rounding: to nearest, a tie to the even neighbour.

use std::cmp::Ordering;

/// `numerator / denominator`, rounded to nearest, a tie to even.
///
/// A tie goes to even so that a long row of halves does not drift upwards
/// (ISO 80000-1:2009 annex B, rule A; from memory). The denominator is at least 1; anything
/// smaller counts as 1.
///
/// ```
/// use gudgeon_core::measure::round::div_half_even;
/// assert_eq!(div_half_even(5, 2), 2);
/// assert_eq!(div_half_even(7, 2), 4);
/// assert_eq!(div_half_even(-5, 2), -2);
/// ```
#[must_use]
pub fn div_half_even(numerator: i128, denominator: i128) -> i128 {
    let denominator = denominator.max(1);
    let floor = numerator.div_euclid(denominator);
    let rest = numerator.rem_euclid(denominator);
    // A subtraction, because doubling `rest` could wrap.
    match rest.cmp(&(denominator - rest)) {
        Ordering::Less => floor,
        Ordering::Equal => floor + floor.rem_euclid(2),
        Ordering::Greater => floor + 1,
    }
}

/// Square root of `numerator / denominator`, rounded to nearest, a tie to even.
///
/// Exact for every value up to 2^125 in the numerator; the denominator is at least 1 (zero
/// counts as 1).
#[must_use]
pub fn sqrt_half_even(numerator: u128, denominator: u128) -> u128 {
    let denominator = denominator.max(1);
    let floor = (numerator / denominator).isqrt();
    // Above the half when n/d > (floor + 1/2)^2, that is 4 n > d (2 floor + 1)^2.
    let middle = 2 * floor + 1;
    let half = denominator.saturating_mul(middle.saturating_mul(middle));
    match numerator.saturating_mul(4).cmp(&half) {
        Ordering::Less => floor,
        Ordering::Equal => floor + floor % 2,
        Ordering::Greater => floor + 1,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tie_goes_to_even_on_both_sides_of_zero() {
        let quotients: Vec<i128> =
            [-7, -5, -3, -1, 1, 3, 5, 7].iter().map(|n| div_half_even(*n, 2)).collect();
        assert_eq!(quotients, [-4, -2, -2, 0, 0, 2, 2, 4]);
    }

    #[test]
    fn what_is_no_tie_goes_to_the_nearest() {
        assert_eq!(div_half_even(8, 3), 3);
        assert_eq!(div_half_even(7, 3), 2);
        assert_eq!(div_half_even(-8, 3), -3);
        assert_eq!(div_half_even(-7, 3), -2);
        assert_eq!(div_half_even(7, 0), 7);
        assert_eq!(div_half_even(7, -3), 7);
    }

    #[test]
    fn the_ends_of_the_range_do_not_wrap() {
        assert_eq!(div_half_even(i128::MAX, i128::MAX), 1);
        assert_eq!(div_half_even(i128::MIN, 1), i128::MIN);
        assert_eq!(div_half_even(i128::MAX - 1, i128::MAX), 1);
        assert_eq!(div_half_even(i128::MIN, i128::MAX), -1);
    }

    #[test]
    fn a_root_goes_to_the_nearest() {
        let roots: Vec<u128> = (0..=13).map(|n| sqrt_half_even(n, 1)).collect();
        assert_eq!(roots, [0, 1, 1, 2, 2, 2, 2, 3, 3, 3, 3, 3, 3, 4]);
        // sqrt(9/4) = 1.5 and sqrt(25/4) = 2.5: both ties go to 2
        assert_eq!(sqrt_half_even(9, 4), 2);
        assert_eq!(sqrt_half_even(25, 4), 2);
        assert_eq!(sqrt_half_even(16, 3), 2);
        let large = 1u128 << 124;
        assert_eq!(sqrt_half_even(large, 1), 1 << 62);
    }

    proptest::proptest! {
        #[test]
        fn a_quotient_is_never_more_than_half_away(n in -(1i128 << 100)..(1i128 << 100), d in 1i128..(1 << 90)) {
            let q = div_half_even(n, d);
            let off = 2 * (n - q * d);
            proptest::prop_assert!(off.abs() <= d);
            if off.abs() == d {
                proptest::prop_assert_eq!(q.rem_euclid(2), 0);
            }
        }

        #[test]
        fn a_root_is_never_more_than_half_away(n in 0u128..(1 << 110), d in 1u128..1000) {
            let r = sqrt_half_even(n, d);
            proptest::prop_assert!(4 * n <= d * (2 * r + 1) * (2 * r + 1));
            if r > 0 {
                proptest::prop_assert!(4 * n >= d * (2 * r - 1) * (2 * r - 1));
            }
        }
    }
}
