//! Sizes at the reference temperature of 20 degC, and back.
//!
//! A gauge reads in its own length units, which grow with it; the part grows with its own
//! coefficient. With the indicated length `L_r` (pm), coefficients a (1e-12 per degC) and
//! temperatures T (µdegC) of gauge g and part p:
//!
//! ```text
//! L_20 = L_r (1 + a_g (T_g - 20)) / (1 + a_p (T_p - 20))
//! ```
//!
//! Valid for soaked bodies up to 50 degC away from 20 degC; beyond that a mean coefficient for the
//! range would be needed, so the correction is refused. Source: ISO 1:2022 (reference
//! temperature); JCGM 100:2008 H.1; Swyt, J. Res. NIST 99 (1994) 31 (uncertainty).

use super::round::{div_half_even, sqrt_half_even};
use super::uncertainty::{Uncertainty, UncertaintyError};
use crate::quantity::{Length, Temperature, Unit};

/// Half width of a temperature nobody stated better: 1 degC. Common practice, no source.
pub const DEFAULT_HALF_WIDTH_UK: i64 = 1_000_000;

/// Farthest from 20 degC that one coefficient is used for: 50 degC.
pub const FARTHEST_UK: i64 = 50_000_000;

/// Largest coefficient of expansion: 100e-6 per degC, four times that of aluminium.
pub const LARGEST_ALPHA_E12: i64 = 100_000_000;

/// One, in the unit of coefficient (1e-12) times temperature (1e-6 degC).
const ONE_E18: i128 = 1_000_000_000_000_000_000;

/// Why a size cannot be brought to another temperature.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TemperatureError {
    /// A coefficient of expansion out of range.
    #[error(
        "a coefficient of {alpha_e12}e-12 +- {half_width_e12}e-12 per degC is outside 0 to 100e-6, or uncertain by more than itself; steel is 11.5e-6"
    )]
    Coefficient {
        /// The coefficient, 1e-12 per degC.
        alpha_e12: i64,
        /// Its half width, 1e-12 per degC.
        half_width_e12: i64,
    },
    /// Too far from 20 degC for one coefficient.
    #[error(
        "{} is more than 50 degC away from 20 degC; let it come nearer before it is measured",
        at.show(Unit::Celsius, 3)
    )]
    TooFar {
        /// The temperature.
        at: Temperature,
    },
    /// A half width below zero, or so wide that it says nothing.
    #[error(
        "a temperature known to +- {half_width_uk} µK is outside 0 to 50 degC; state how well it is known, or leave it at 1 degC"
    )]
    HalfWidth {
        /// The half width, µK.
        half_width_uk: i64,
    },
    /// The corrected length does not fit.
    #[error("{} grows past what a length can hold; look for a wrong unit", length.show(Unit::Millimetre, 3))]
    TooLong {
        /// The length before the correction.
        length: Length,
    },
    /// The uncertainty does not fit.
    #[error(transparent)]
    Uncertainty(#[from] UncertaintyError),
}

/// How far above 20 degC, in µK; none where that is too far for one coefficient.
fn within_reach(at: Temperature) -> Option<i64> {
    at.microkelvins_above(Temperature::REFERENCE).filter(|d| (-FARTHEST_UK..=FARTHEST_UK).contains(d))
}

/// Whether a size read at this temperature is too far from 20 degC to be corrected, whatever it is
/// made of: more than 50 degC ([`FARTHEST_UK`]).
#[must_use]
pub fn is_too_far(at: Temperature) -> bool {
    within_reach(at).is_none()
}

/// How much a material grows: coefficient and its half width, in 1e-12 per degC.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Expansion {
    alpha_e12_per_degc: i64,
    half_width_e12_per_degc: i64,
}

impl Expansion {
    /// A coefficient and its half width (rectangular), both in 1e-12 per degC.
    ///
    /// # Errors
    /// [`TemperatureError::Coefficient`] unless 0 <= half width <= alpha <= 100e-6.
    pub fn new(alpha_e12: i64, half_width_e12: i64) -> Result<Self, TemperatureError> {
        let sound = (0..=LARGEST_ALPHA_E12).contains(&alpha_e12) && (0..=alpha_e12).contains(&half_width_e12);
        if !sound {
            return Err(TemperatureError::Coefficient { alpha_e12, half_width_e12 });
        }
        Ok(Self { alpha_e12_per_degc: alpha_e12, half_width_e12_per_degc: half_width_e12 })
    }

    /// A value from a handbook: half width one tenth of it, because books differ: a NIST
    /// tutorial finds 11.2e-6 to 14.6e-6 given for one steel.
    ///
    /// # Errors
    /// [`TemperatureError::Coefficient`] unless 0 <= alpha <= 100e-6.
    pub fn handbook(alpha_e12: i64) -> Result<Self, TemperatureError> {
        let tenth = div_half_even(i128::from(alpha_e12), 10);
        Self::new(alpha_e12, i64::try_from(tenth).unwrap_or(i64::MAX))
    }

    /// The coefficient, 1e-12 per degC.
    #[must_use]
    pub const fn alpha_e12_per_degc(self) -> i64 {
        self.alpha_e12_per_degc
    }

    /// Its half width, 1e-12 per degC.
    #[must_use]
    pub const fn half_width_e12_per_degc(self) -> i64 {
        self.half_width_e12_per_degc
    }
}

/// A part or a gauge: what it is made of, how warm it is, how well that is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Body {
    expansion: Expansion,
    from_reference_uk: i64,
    half_width_uk: i64,
}

impl Body {
    /// At a temperature known to +- 1 degC ([`DEFAULT_HALF_WIDTH_UK`]).
    ///
    /// # Errors
    /// [`TemperatureError::TooFar`] more than 50 degC away from 20 degC.
    pub fn new(expansion: Expansion, at: Temperature) -> Result<Self, TemperatureError> {
        let from_reference_uk = within_reach(at).ok_or(TemperatureError::TooFar { at })?;
        Ok(Self { expansion, from_reference_uk, half_width_uk: DEFAULT_HALF_WIDTH_UK })
    }

    /// The same with the temperature known to +- `half_width_uk` µK (rectangular).
    ///
    /// # Errors
    /// [`TemperatureError::HalfWidth`] unless 0 to 50 degC.
    pub fn known_within(self, half_width_uk: i64) -> Result<Self, TemperatureError> {
        if !(0..=FARTHEST_UK).contains(&half_width_uk) {
            return Err(TemperatureError::HalfWidth { half_width_uk });
        }
        Ok(Self { half_width_uk, ..self })
    }

    /// 1 + a (T - 20), in 1e-18: 0.995 to 1.005.
    fn growth_e18(&self) -> i128 {
        let alpha = i128::from(self.expansion.alpha_e12_per_degc);
        ONE_E18 + alpha * i128::from(self.from_reference_uk)
    }

    /// (a dT')^2 + (dT a')^2 with the half widths dT' and a', in 1e-36: at most 5e31.
    fn half_widths_squared(&self) -> u128 {
        let product = |a: i64, t: i64| u128::from(a.unsigned_abs()) * u128::from(t.unsigned_abs());
        let by_temperature = product(self.expansion.alpha_e12_per_degc, self.half_width_uk);
        let by_coefficient = product(self.expansion.half_width_e12_per_degc, self.from_reference_uk);
        by_temperature * by_temperature + by_coefficient * by_coefficient
    }
}

/// What an indicated length is at 20 degC.
///
/// Exact in integers, then rounded to 1 pm, half to even. Example: an aluminium block
/// (21.5e-6) and a steel gauge (11.5e-6), both at 30 degC: 86.000 mm read is 85.991402 mm.
///
/// # Errors
/// [`TemperatureError::TooLong`] where the result does not fit.
pub fn to_reference(read: Length, part: &Body, gauge: &Body) -> Result<Length, TemperatureError> {
    scaled(read, gauge.growth_e18(), part.growth_e18())
}

/// What the gauge should read now on a part that is `size` at 20 degC: the inverse of
/// [`to_reference`].
///
/// Example: the block above, meant to be 85.991402 mm at 20 degC, reads 86.000 mm.
///
/// # Errors
/// [`TemperatureError::TooLong`] where the result does not fit.
pub fn as_read_at(size: Length, part: &Body, gauge: &Body) -> Result<Length, TemperatureError> {
    scaled(size, part.growth_e18(), gauge.growth_e18())
}

/// Standard uncertainty that the correction of `length` adds.
///
/// u = L sqrt((a u(T))^2 + ((T - 20) u(a))^2) for the part and the same for the gauge,
/// added as squares; u = half width / sqrt 3 for both temperature and coefficient. Part
/// and gauge are taken as independent; where both were soaked together the temperatures
/// err together and largely cancel, so this is then on the safe side.
///
/// Example: 86 mm, 21.5e-6 +- 10 %, 30 degC +- 1 degC: 1.510 µm for that one body.
///
/// # Errors
/// [`TemperatureError::Uncertainty`] where the result does not fit.
pub fn correction_uncertainty(
    length: Length,
    part: &Body,
    gauge: &Body,
) -> Result<Uncertainty, TemperatureError> {
    let squares = part.half_widths_squared() + gauge.half_widths_squared();
    let too_large = TemperatureError::Uncertainty(UncertaintyError::TooLarge);
    let relative = i128::try_from(sqrt_half_even(squares, 3)).map_err(|_| too_large)?;
    // At most 9.3e18 times 6e15.
    let u = div_half_even(i128::from(length.pm().unsigned_abs()) * relative, ONE_E18);
    let u = i64::try_from(u).map_err(|_| too_large)?;
    Uncertainty::new(u).map_err(|_| too_large)
}

/// `length * times / over`: at most 9.3e18 * 1.005e18, which i128 holds with room.
fn scaled(length: Length, times: i128, over: i128) -> Result<Length, TemperatureError> {
    let exact = div_half_even(i128::from(length.pm()) * times, over);
    i64::try_from(exact).map(Length::from_pm).map_err(|_| TemperatureError::TooLong { length })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use proptest::prelude::*;

    const DEGC: i64 = 1_000_000;
    const MM: i64 = 1_000_000_000;
    const STEEL: i64 = 11_500_000;

    fn pm(pm: i64) -> Length {
        Length::from_pm(pm)
    }

    fn degc(udegc: i64) -> Temperature {
        Temperature::from_micro_celsius(udegc)
    }

    fn body(alpha_e12: i64, udegc: i64) -> Body {
        Body::new(Expansion::handbook(alpha_e12).unwrap(), degc(udegc)).unwrap()
    }

    #[test]
    fn equal_materials_at_one_temperature_need_no_correction() {
        let steel = body(STEEL, 31 * DEGC);
        assert_eq!(to_reference(pm(50 * MM), &steel, &steel), Ok(pm(50 * MM)));
    }

    #[test]
    fn what_is_out_of_range_is_refused_with_value_limit_and_way_out() {
        let steel = Expansion::handbook(STEEL).unwrap();
        assert!(Body::new(steel, degc(70 * DEGC)).is_ok());
        assert!(Body::new(steel, degc(-30 * DEGC)).is_ok());
        let hot = Body::new(steel, degc(70 * DEGC + 1_000)).unwrap_err();
        assert_eq!(
            hot.to_string(),
            "70.001 °C is more than 50 degC away from 20 degC; let it come nearer before it is measured"
        );
        assert!(Body::new(steel, degc(i64::MIN)).is_err());
        assert!(Body::new(steel, degc(i64::MAX)).is_err());
        assert!(body(STEEL, 0).known_within(-1).is_err());
        assert!(body(STEEL, 0).known_within(i64::MAX).is_err());
        assert!(Expansion::new(-1, 0).is_err());
        assert!(Expansion::new(100, 101).is_err());
        assert!(Expansion::handbook(i64::MAX).is_err());
        assert!(Expansion::handbook(i64::MIN).is_err());
    }

    #[test]
    fn the_largest_lengths_are_refused_or_computed_never_wrapped() {
        let cold = body(LARGEST_ALPHA_E12, -30 * DEGC);
        let hot = body(0, 70 * DEGC);
        let refused = Err(TemperatureError::TooLong { length: pm(i64::MAX) });
        assert_eq!(to_reference(pm(i64::MAX), &cold, &hot), refused);
        assert!(to_reference(pm(i64::MIN), &cold, &hot).is_err());
        assert!(as_read_at(pm(i64::MAX), &cold, &hot).is_ok());
        let vague = cold.known_within(FARTHEST_UK).unwrap();
        assert!(correction_uncertainty(pm(i64::MIN), &vague, &vague).is_err());
        assert!(correction_uncertainty(pm(10_000 * MM), &vague, &vague).is_ok());
    }

    #[test]
    fn a_temperature_known_better_leaves_only_the_coefficient() {
        let part = body(21_500_000, 30 * DEGC).known_within(0).unwrap();
        let gauge = body(STEEL, 20 * DEGC).known_within(0).unwrap();
        let u = correction_uncertainty(pm(86 * MM), &part, &gauge).unwrap();
        // 86 mm * 10 degC * 2.15e-6 / sqrt 3 = 1.0675206 µm
        assert_eq!(u.base(), 1_067_521);
    }

    prop_compose! {
        fn any_body()(alpha in 0..=LARGEST_ALPHA_E12, udegc in -30 * DEGC..=70 * DEGC) -> Body {
            body(alpha, udegc)
        }
    }

    /// L (1 + a_g dT_g - a_p dT_p), in pm.
    fn linear(read_pm: i64, part: &Body, gauge: &Body) -> i128 {
        let growth = gauge.growth_e18() - part.growth_e18();
        i128::from(read_pm) + div_half_even(i128::from(read_pm) * growth, ONE_E18)
    }

    proptest! {
        // The bound is reference section 18's; metals of an engine, both bodies at one temperature.
        #[test]
        fn the_exact_correction_is_linear_within_0_03_um_per_100_mm_up_to_25_degc(
            part in 8_000_000..24_000_000i64, gauge in 8_000_000..24_000_000i64, away in -25 * DEGC..=25 * DEGC
        ) {
            let (part, gauge) = (body(part, 20 * DEGC + away), body(gauge, 20 * DEGC + away));
            let exact = i128::from(to_reference(pm(100 * MM), &part, &gauge).unwrap().pm());
            prop_assert!((exact - linear(100 * MM, &part, &gauge)).abs() <= 30_000);
        }

        #[test]
        fn what_a_gauge_should_read_is_the_inverse(
            size in -10_000 * MM..10_000 * MM, part in any_body(), gauge in any_body()
        ) {
            let read = as_read_at(pm(size), &part, &gauge).unwrap();
            let back = to_reference(read, &part, &gauge).unwrap();
            prop_assert!((back.pm() - size).abs() <= 1);
        }

        #[test]
        fn a_warmer_part_is_never_larger_at_20_degc(
            read in 1..1_000 * MM, part in any_body(), gauge in any_body(), alpha in 0..=LARGEST_ALPHA_E12,
            cool in -30 * DEGC..=70 * DEGC, more in 0..=20 * DEGC
        ) {
            let warm = (cool + more).min(70 * DEGC);
            let at = |udegc| to_reference(pm(read), &body(alpha, udegc), &gauge).unwrap();
            prop_assert!(at(warm) <= at(cool));
            prop_assert!(correction_uncertainty(pm(read), &part, &gauge).is_ok());
        }
    }
}
