//! Standard uncertainty: of a gauge, of a mean, of a difference of two sizes.
//!
//! Base units throughout; the quantity is the caller's. Source of the rules: JCGM
//! 100:2008 (GUM) 4.3.7 and F.2.2.1 (rectangular limits), 5.1.2 and 5.2.2 (combination).

use super::round::sqrt_half_even;

/// Largest uncertainty that is computed with: ten kilometres for a length.
pub const LARGEST: i64 = 10_000_000_000_000_000;

/// A standard uncertainty u, from zero to [`LARGEST`] base units.
///
/// Zero is possible as a part of a sum; a verdict never believes a whole of zero.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Uncertainty(i64);

/// An expanded uncertainty U = 2 u (coverage factor 2, about 95 %).
///
/// A type of its own, because taking u for U makes every two readings disagree.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Expanded(i64);

/// Why an uncertainty cannot be had.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum UncertaintyError {
    /// A statement about a gauge that no gauge can meet, or a number out of range.
    #[error("{what} of {value} base units is outside {low} to {high}; leave it empty where it is not known")]
    OutOfRange {
        /// What was stated.
        what: &'static str,
        /// The number.
        value: i64,
        /// Smallest that is taken.
        low: i64,
        /// Largest that is taken.
        high: i64,
    },
    /// A sum or a product beyond [`LARGEST`].
    #[error("the combined uncertainty is more than {LARGEST} base units; look for a wrong unit")]
    TooLarge,
    /// The part two sizes share is larger than the whole of one of them.
    #[error(
        "a shared uncertainty of {shared} is more than one of the two it is part of ({a} and {b}); state each with its setting included"
    )]
    SharedTooLarge {
        /// The shared part.
        shared: i64,
        /// The first whole.
        a: i64,
        /// The second whole.
        b: i64,
    },
    /// A mean of nothing.
    #[error("a mean needs at least one value, this has none; read it first")]
    NoValues,
}

impl Uncertainty {
    /// No uncertainty: the neutral part of a sum.
    pub const ZERO: Self = Self(0);

    /// A standard uncertainty in base units, as known.
    ///
    /// # Errors
    /// [`UncertaintyError::OutOfRange`] below zero or above [`LARGEST`].
    pub fn new(u: i64) -> Result<Self, UncertaintyError> {
        within("a standard uncertainty", u, 0).map(Self)
    }

    /// From an error limit (MPE, plus or minus): u = MPE / sqrt 3, rectangular.
    ///
    /// Example: a micrometer of 4 µm has u = 2.309 µm.
    ///
    /// # Errors
    /// [`UncertaintyError::OutOfRange`] unless 1 to [`LARGEST`]: a limit of zero claims a
    /// perfect gauge.
    pub fn from_error_limit(limit: i64) -> Result<Self, UncertaintyError> {
        root(square(within("an error limit", limit, 1)?), 3)
    }

    /// From the smallest step a gauge shows: u = d / sqrt 12, rectangular over one step.
    ///
    /// Example: steps of 1 µm give 0.289 µm.
    ///
    /// # Errors
    /// [`UncertaintyError::OutOfRange`] unless 1 to [`LARGEST`].
    pub fn from_resolution(step: i64) -> Result<Self, UncertaintyError> {
        root(square(within("a resolution", step, 1)?), 12)
    }

    /// Of the mean of `repeats` independent readings: s / sqrt n.
    ///
    /// Only for the part that scatters; what is wrong the same way each time (error limit,
    /// setting) does not shrink with repeats.
    ///
    /// # Errors
    /// [`UncertaintyError::NoValues`] for a mean of none.
    pub fn of_mean(self, repeats: u32) -> Result<Self, UncertaintyError> {
        if repeats == 0 {
            return Err(UncertaintyError::NoValues);
        }
        root(square(self.0), u128::from(repeats))
    }

    /// U = 2 u.
    #[must_use]
    pub const fn expanded(self) -> Expanded {
        Expanded(2 * self.0)
    }

    /// In base units.
    #[must_use]
    pub const fn base(self) -> i64 {
        self.0
    }

    /// Whether it says nothing is uncertain.
    #[must_use]
    pub const fn is_zero(self) -> bool {
        self.0 == 0
    }
}

impl Expanded {
    /// In base units.
    #[must_use]
    pub const fn base(self) -> i64 {
        self.0
    }
}

/// What is known of a gauge, in base units of what it reads.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Gauge {
    /// Largest permissible error, plus or minus.
    pub error_limit: Option<i64>,
    /// Smallest step shown.
    pub resolution: Option<i64>,
    /// Scatter of repeats, as a standard deviation.
    pub repeatability: Option<i64>,
    /// A standard uncertainty known as such; it replaces the sum of the others.
    pub given: Option<i64>,
}

impl Gauge {
    /// Standard uncertainty of the mean of `repeats` readings with this gauge.
    ///
    /// u^2 = MPE^2/3 + d^2/12 + s^2/n. `None` where neither an error limit nor a given
    /// uncertainty is known: resolution and repeatability alone say how finely a gauge
    /// speaks, not whether it is right. Where the gauge was set with a master, [`combine`]
    /// this with the uncertainty of the setting.
    ///
    /// Example: MPE 4 µm, step 1 µm, s 1.5 µm, one reading: u = 2.769 µm.
    ///
    /// # Errors
    /// [`UncertaintyError`] for a part out of range or a mean of no readings.
    pub fn standard(&self, repeats: u32) -> Result<Option<Uncertainty>, UncertaintyError> {
        if let Some(given) = self.given {
            return within("a standard uncertainty", given, 1).map(|u| Some(Uncertainty(u)));
        }
        let Some(limit) = self.error_limit else {
            return Ok(None);
        };
        let mut parts = vec![Uncertainty::from_error_limit(limit)?];
        if let Some(step) = self.resolution {
            parts.push(Uncertainty::from_resolution(step)?);
        }
        let scatter = Uncertainty::new(self.repeatability.unwrap_or(0))?;
        parts.push(scatter.of_mean(repeats)?);
        combine(&parts).map(Some)
    }
}

/// Root sum of squares of independent parts.
///
/// # Errors
/// [`UncertaintyError::TooLarge`] beyond [`LARGEST`].
pub fn combine(parts: &[Uncertainty]) -> Result<Uncertainty, UncertaintyError> {
    root(sum_of_squares(parts)?, 1)
}

/// Of a difference (or a sum) of two sizes: u^2 = ua^2 + ub^2 - 2 us^2.
///
/// `shared` is the part that is the same error in both and cancels in the difference: the
/// setting, where both gauges were set on one master, or where the bore gauge was set in
/// the micrometer that measured the journal. Zero where nothing is shared. It is part of
/// both `a` and `b`. For a sum pass zero: there a shared error does not cancel.
///
/// Example: two micrometers of 5 µm, a bore gauge of 4 µm set in one of them, scatter
/// 1.5 µm each: U = 10.3 µm; with one micrometer for both, U = 6.3 µm.
///
/// # Errors
/// [`UncertaintyError::SharedTooLarge`] where the shared part is more than a whole.
pub fn difference(
    a: Uncertainty,
    b: Uncertainty,
    shared: Uncertainty,
) -> Result<Uncertainty, UncertaintyError> {
    if shared > a || shared > b {
        return Err(UncertaintyError::SharedTooLarge { shared: shared.0, a: a.0, b: b.0 });
    }
    root(square(a.0) + square(b.0) - 2 * square(shared.0), 1)
}

/// Of the mean of a group of agreeing values: the root mean square of the members' u.
///
/// No credit for averaging. For any correlation r <= 1 between the members
/// u(mean) = (1/n) sqrt(sum r ui uj) <= (1/n) sum ui <= sqrt(sum ui^2 / n), so this is
/// never too small, whatever the members share. u / sqrt n would hold only for independent
/// gauges, and in one shop they are commonly set on the same master; the smallest member's
/// u would be too hopeful as soon as a coarser gauge has moved the mean.
///
/// # Errors
/// [`UncertaintyError::NoValues`] for an empty group.
pub fn of_group(members: &[Uncertainty]) -> Result<Uncertainty, UncertaintyError> {
    let count = u128::try_from(members.len()).map_err(|_| UncertaintyError::TooLarge)?;
    if count == 0 {
        return Err(UncertaintyError::NoValues);
    }
    root(sum_of_squares(members)?, count)
}

fn within(what: &'static str, value: i64, low: i64) -> Result<i64, UncertaintyError> {
    if (low..=LARGEST).contains(&value) {
        return Ok(value);
    }
    Err(UncertaintyError::OutOfRange { what, value, low, high: LARGEST })
}

/// At most 1e32 for a value up to [`LARGEST`].
pub(super) fn square(value: i64) -> u128 {
    let size = u128::from(value.unsigned_abs());
    size * size
}

fn sum_of_squares(parts: &[Uncertainty]) -> Result<u128, UncertaintyError> {
    parts
        .iter()
        .try_fold(0u128, |sum, part| sum.checked_add(square(part.0)))
        .ok_or(UncertaintyError::TooLarge)
}

fn root(numerator: u128, denominator: u128) -> Result<Uncertainty, UncertaintyError> {
    i64::try_from(sqrt_half_even(numerator, denominator))
        .ok()
        .filter(|u| *u <= LARGEST)
        .map(Uncertainty)
        .ok_or(UncertaintyError::TooLarge)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use proptest::prelude::*;

    fn u(base: i64) -> Uncertainty {
        Uncertainty::new(base).unwrap()
    }

    #[test]
    fn a_gauge_of_unknown_error_has_no_uncertainty() {
        let gauge = Gauge { resolution: Some(1_000_000), repeatability: Some(500_000), ..Gauge::default() };
        assert_eq!(gauge.standard(3), Ok(None));
    }

    #[test]
    fn the_parts_of_a_gauge_add_as_squares_and_only_scatter_shrinks_with_repeats() {
        let gauge = Gauge {
            error_limit: Some(4_000_000),
            resolution: Some(1_000_000),
            repeatability: Some(1_500_000),
            given: None,
        };
        // sqrt(16/3 + 1/12 + 2.25) = 2.768875, sqrt(16/3 + 1/12 + 2.25/9) = 2.380476 µm
        assert_eq!(gauge.standard(1).unwrap().unwrap().base(), 2_768_875);
        assert_eq!(gauge.standard(9).unwrap().unwrap().base(), 2_380_476);
        assert_eq!(gauge.standard(0), Err(UncertaintyError::NoValues));
    }

    #[test]
    fn a_given_uncertainty_replaces_the_parts() {
        let gauge = Gauge { error_limit: Some(4_000_000), given: Some(900_000), ..Gauge::default() };
        assert_eq!(gauge.standard(1).unwrap().unwrap().base(), 900_000);
    }

    #[test]
    fn a_perfect_gauge_is_refused_with_the_way_out() {
        let refused = Gauge { error_limit: Some(0), ..Gauge::default() };
        let message = refused.standard(1).unwrap_err().to_string();
        assert_eq!(
            message,
            "an error limit of 0 base units is outside 1 to 10000000000000000; leave it empty where it is not known"
        );
        let given = Gauge { given: Some(0), ..Gauge::default() };
        assert!(given.standard(1).is_err());
        assert!(Uncertainty::new(-1).is_err());
        assert!(Uncertainty::from_resolution(-5).is_err());
    }

    #[test]
    fn a_shared_part_larger_than_the_whole_is_refused() {
        assert!(matches!(
            difference(u(3), u(5), u(4)),
            Err(UncertaintyError::SharedTooLarge { shared: 4, .. })
        ));
        assert_eq!(difference(u(4), u(4), u(4)), Ok(Uncertainty::ZERO));
    }

    #[test]
    fn a_group_gets_no_credit_for_averaging() {
        assert_eq!(of_group(&[u(5), u(5), u(5)]), Ok(u(5)));
        assert_eq!(of_group(&[u(1), u(7)]), Ok(u(5)));
        assert_eq!(of_group(&[]), Err(UncertaintyError::NoValues));
    }

    #[test]
    fn the_largest_values_are_refused_or_computed_never_wrapped() {
        let most = u(LARGEST);
        assert_eq!(combine(&[most, most]), Err(UncertaintyError::TooLarge));
        assert_eq!(of_group(&[most; 12]), Ok(most));
        assert_eq!(most.expanded().base(), 2 * LARGEST);
        assert!(Uncertainty::new(i64::MAX).is_err());
        assert!(Uncertainty::from_error_limit(i64::MIN).is_err());
    }

    proptest! {
        #[test]
        fn the_groups_u_lies_between_its_members_and_above_their_mean(
            members in prop::collection::vec(0..=LARGEST, 1..12)
        ) {
            let group: Vec<Uncertainty> = members.iter().map(|m| u(*m)).collect();
            let all = i128::from(of_group(&group).unwrap().base());
            let sum: i128 = members.iter().map(|m| i128::from(*m)).sum();
            let count = i128::try_from(members.len()).unwrap();
            prop_assert!(all <= i128::from(*members.iter().max().unwrap()));
            prop_assert!((all + 1) * count > sum);
        }

        #[test]
        fn a_difference_is_symmetric_and_a_shared_part_only_lowers_it(
            a in 0..LARGEST / 4, b in 0..LARGEST / 4, part in 0..=1000i64
        ) {
            let shared = u(a.min(b) / 1000 * part);
            let with = difference(u(a), u(b), shared).unwrap();
            prop_assert_eq!(difference(u(b), u(a), shared), Ok(with));
            prop_assert!(with <= difference(u(a), u(b), Uncertainty::ZERO).unwrap());
            prop_assert_eq!(combine(&[u(a), u(b)]), difference(u(a), u(b), Uncertainty::ZERO));
        }
    }
}
