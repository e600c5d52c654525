//! The normal distribution: the only floats of this room.
//!
//! `libm` is the same code on every target, so the digits are the same on a phone and in
//! the office; they leave rounded to 1e-9.

use std::f64::consts::FRAC_1_SQRT_2;

/// One, in the unit of a probability: 1e-9.
pub const CERTAIN_E9: u32 = 1_000_000_000;

/// Beyond this many standard uncertainties nothing is left of the tail.
const FAR: i128 = 40;

/// Probability that a normal variable lies below `distance / u` standard deviations.
///
/// `distance` and `u` share one unit; `u` is above zero.
pub(super) fn below(distance: i128, u: i64) -> f64 {
    phi(z(distance, u))
}

/// Probability that a normal variable lies below `z` standard deviations; 0 to 1.
pub(crate) fn phi(z: f64) -> f64 {
    0.5 * libm::erfc(-z * FRAC_1_SQRT_2)
}

/// `p` in 1e-9, rounded half to even and kept between 0 and 1.
pub(super) fn to_e9(p: f64) -> u32 {
    let scaled = libm::rint(p.clamp(0.0, 1.0) * f64::from(CERTAIN_E9));
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a whole number from 0 to 1e9; no float converts otherwise"
    )]
    let whole = scaled as u32;
    whole
}

/// `distance / u` with 52 binary digits behind the point, without a lossy cast.
fn z(distance: i128, u: i64) -> f64 {
    const HALF_BITS: u32 = 26;
    let u = i128::from(u.max(1));
    let whole = distance.div_euclid(u);
    if whole.abs() > FAR {
        return small(FAR * whole.signum());
    }
    let fraction = (distance.rem_euclid(u) << (2 * HALF_BITS)) / u;
    let unit = small(1 << HALF_BITS);
    let high = small(fraction >> HALF_BITS) / unit;
    let low = small(fraction % (1 << HALF_BITS)) / unit / unit;
    small(whole) + high + low
}

/// A whole number below 2^31; anything larger would be a mistake and proves nothing.
fn small(n: i128) -> f64 {
    i32::try_from(n).map_or(f64::NAN, f64::from)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn known_points_of_the_distribution() {
        // Phi(0), Phi(1), Phi(1.65), Phi(-1.96), Phi(2): scipy.stats.norm.cdf
        let table = [
            (0, 500_000_000),
            (100, 841_344_746),
            (165, 950_528_532),
            (-196, 24_997_895),
            (200, 977_249_868),
            (900_000, CERTAIN_E9),
            (-900_000, 0),
        ];
        for (distance, p) in table {
            assert_eq!(to_e9(below(distance, 100)), p, "at {distance} hundredths");
        }
    }

    #[test]
    fn what_is_no_number_proves_nothing() {
        assert_eq!(to_e9(f64::NAN), 0);
        assert_eq!(to_e9(1.5), CERTAIN_E9);
        assert_eq!(to_e9(-0.5), 0);
    }
}
