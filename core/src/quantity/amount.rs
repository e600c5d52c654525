//! Sizes in whole base units: what is compared, added and shown.

use std::cmp::Ordering;

use super::exact::{self, Ratio};
use super::{Kind, Unit};

/// Decimals of a limit in a message, before idle noughts are cut off.
const SHORT_DECIMALS: u8 = 3;

/// A size: so many base units of a kind (the base of each kind stands at [`Kind`]).
///
/// Ordered only within one kind. Sums and differences are checked and keep to one kind,
/// but for temperatures: two of them differ by a change, and a change moves one of them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Amount {
    kind: Kind,
    value: i64,
}

impl Amount {
    /// So many base units of a kind.
    #[must_use]
    pub const fn new(kind: Kind, base_units: i64) -> Self {
        Self { kind, value: base_units }
    }

    /// The kind.
    #[must_use]
    pub const fn kind(self) -> Kind {
        self.kind
    }

    /// How many base units of the kind (picometres for a length).
    #[must_use]
    pub const fn base(self) -> i64 {
        self.value
    }

    /// The sum: of one kind, or of a temperature and a change of it.
    ///
    /// `None` for different kinds, for two temperatures, and past the range of an `i64`.
    #[must_use]
    pub fn checked_add(self, other: Self) -> Option<Self> {
        let kind = match (self.kind, other.kind) {
            (Kind::Temperature, Kind::TemperatureChange) | (Kind::TemperatureChange, Kind::Temperature) => {
                Kind::Temperature
            }
            (kind, same) if kind == same && kind != Kind::Temperature => kind,
            _ => return None,
        };
        Some(Self::new(kind, self.value.checked_add(other.value)?))
    }

    /// The difference: of one kind (two temperatures differ by a change), or a temperature
    /// less a change of it.
    ///
    /// `None` for different kinds and past the range of an `i64`.
    #[must_use]
    pub fn checked_sub(self, other: Self) -> Option<Self> {
        let kind = match (self.kind, other.kind) {
            (Kind::Temperature, Kind::TemperatureChange) => Kind::Temperature,
            (kind, same) if kind == same => kind.of_difference(),
            _ => return None,
        };
        Some(Self::new(kind, self.value.checked_sub(other.value)?))
    }

    /// The same with the other sign; `None` for a temperature, which has no opposite.
    #[must_use]
    pub fn checked_neg(self) -> Option<Self> {
        if self.kind == Kind::Temperature {
            return None;
        }
        Some(Self::new(self.kind, self.value.checked_neg()?))
    }

    /// Digits and symbol in a unit, rounded half to even: `80.013 mm`, `-0.4 thou`.
    ///
    /// At most 12 decimals. The minus is a plain `-`, and a rounded nought has none. A unit
    /// of another kind cannot state this size: the kind's main unit is then used instead.
    #[must_use]
    pub fn show(self, unit: Unit, decimals: u8) -> String {
        show(Ratio::new(i128::from(self.value), 1), self.fitting(unit), Places::Decimals(decimals))
    }

    /// As [`show`](Self::show), without the symbol, for columns that carry it at their head.
    ///
    /// `None` for a unit of another kind.
    #[must_use]
    pub fn digits(self, unit: Unit, decimals: u8) -> Option<String> {
        let ratio = Ratio::new(i128::from(self.value), 1);
        (unit.kind() == self.kind).then(|| digits(ratio, unit, Places::Decimals(decimals)))
    }

    /// To three decimals, without idle noughts.
    pub(super) fn show_short(self, unit: Unit) -> String {
        let unit = self.fitting(unit);
        let ratio = Ratio::new(i128::from(self.value), 1);
        let digits = digits(ratio, unit, Places::Decimals(SHORT_DECIMALS));
        let short = digits.trim_end_matches('0').trim_end_matches('.');
        format!("{short}{}{unit}", unit.gap())
    }

    fn fitting(self, unit: Unit) -> Unit {
        if unit.kind() == self.kind { unit } else { self.kind.main_unit() }
    }

    /// The door to the worksheets: the nearest float in a unit. Never stored or compared.
    ///
    /// `None` for a unit of another kind.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "a worksheet's float: 2^53 base units are exact")]
    pub fn to_f64(self, unit: Unit) -> Option<f64> {
        let scale = unit.scale();
        let top = i128::from(self.value) * i128::from(scale.den) - i128::from(scale.off);
        (unit.kind() == self.kind).then(|| top as f64 / scale.num as f64)
    }

    /// The way back from a worksheet: a float in a unit, rounded half to even to base units.
    ///
    /// `None` for what is not finite or past the range of an `i64`.
    #[must_use]
    #[expect(
        clippy::cast_precision_loss,
        clippy::cast_possible_truncation,
        reason = "the float is rounded to a whole number and its range is checked first"
    )]
    pub fn from_f64(value: f64, unit: Unit) -> Option<Self> {
        let scale = unit.scale();
        let base = (value * scale.num as f64 + scale.off as f64) / f64::from(scale.den);
        let whole = base.round_ties_even();
        // 2^63 as a float is exact, and the first value that no longer fits.
        let fits = whole >= i64::MIN as f64 && whole < i64::MAX as f64;
        fits.then(|| Self::new(unit.kind(), whole as i64))
    }
}

impl PartialOrd for Amount {
    /// `None` between kinds.
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        (self.kind == other.kind).then(|| self.value.cmp(&other.value))
    }
}

/// How far to round.
#[derive(Clone, Copy)]
pub(super) enum Places {
    /// So many decimals.
    Decimals(u8),
    /// To tens (1), hundreds (2) and so on.
    Tens(u32),
}

/// Digits and symbol of an exact size.
pub(super) fn show(base: Ratio, unit: Unit, places: Places) -> String {
    format!("{}{}{unit}", digits(base, unit, places), unit.gap())
}

/// Digits of an exact size in a unit: `(base * den - off) / num`, rounded once.
fn digits(base: Ratio, unit: Unit, places: Places) -> String {
    let scale = unit.scale();
    let base_den = i128::from(base.den());
    let num = base.num() * i128::from(scale.den) - i128::from(scale.off) * base_den;
    let den = u128::from(base.den()) * u128::from(scale.num.unsigned_abs());
    match places {
        Places::Decimals(decimals) => exact::decimal(num, den, decimals),
        Places::Tens(tens) => exact::decimal_to_tens(num, den, tens),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    const fn pm(value: i64) -> Amount {
        Amount::new(Kind::Length, value)
    }

    const fn micro_celsius(value: i64) -> Amount {
        Amount::new(Kind::Temperature, value)
    }

    #[test]
    fn sizes_are_shown_rounded_half_to_even() {
        assert_eq!(pm(80_012_500_000).show(Unit::Millimetre, 3), "80.012 mm");
        assert_eq!(pm(80_013_500_000).show(Unit::Millimetre, 3), "80.014 mm");
        assert_eq!(pm(-10_160_000).show(Unit::Thou, 1), "-0.4 thou");
        assert_eq!(pm(-400_000).show(Unit::Millimetre, 3), "0.000 mm");
        assert_eq!(pm(i64::MIN).show(Unit::Micrometre, 12), "-9223372036854.775808000000 µm");
        assert_eq!(Amount::new(Kind::Ratio, 9_350_000_000).show(Unit::ToOne, 2), "9.35:1");
    }

    #[test]
    fn a_unit_of_another_kind_is_never_shown() {
        assert_eq!(pm(1_500_000_000).show(Unit::Gram, 1), "1.5 mm");
        assert_eq!(pm(1_500_000_000).digits(Unit::Gram, 1), None);
        assert_eq!(pm(1_500_000_000).digits(Unit::Micrometre, 1).unwrap(), "1500.0");
        assert_eq!(pm(1).to_f64(Unit::Gram), None);
    }

    #[test]
    fn sizes_are_ordered_only_within_a_kind() {
        assert!(pm(1) < pm(2));
        let gram = Amount::new(Kind::Mass, 1);
        assert_eq!(pm(1).partial_cmp(&gram), None);
        assert_ne!(pm(1), gram);
    }

    #[test]
    fn sums_keep_to_one_kind_and_do_not_wrap() {
        assert_eq!(pm(2).checked_add(pm(3)), Some(pm(5)));
        assert_eq!(pm(2).checked_sub(pm(3)), Some(pm(-1)));
        assert_eq!(pm(2).checked_neg(), Some(pm(-2)));
        assert_eq!(pm(i64::MAX).checked_add(pm(1)), None);
        assert_eq!(pm(i64::MIN).checked_sub(pm(1)), None);
        assert_eq!(pm(i64::MIN).checked_neg(), None);
        assert_eq!(pm(1).checked_add(Amount::new(Kind::Mass, 1)), None);
        assert_eq!(pm(1).checked_sub(Amount::new(Kind::Mass, 1)), None);
    }

    #[test]
    fn temperatures_differ_by_a_change_and_are_never_added() {
        let change = Amount::new(Kind::TemperatureChange, 10);
        assert_eq!(micro_celsius(30).checked_sub(micro_celsius(20)), Some(change));
        assert_eq!(micro_celsius(20).checked_add(change), Some(micro_celsius(30)));
        assert_eq!(change.checked_add(micro_celsius(20)), Some(micro_celsius(30)));
        assert_eq!(micro_celsius(30).checked_sub(change), Some(micro_celsius(20)));
        assert_eq!(micro_celsius(20).checked_add(micro_celsius(20)), None);
        assert_eq!(change.checked_sub(micro_celsius(20)), None);
        assert_eq!(micro_celsius(20).checked_neg(), None);
    }

    #[test]
    fn floats_come_back_rounded_or_not_at_all() {
        assert_eq!(Amount::from_f64(80.013, Unit::Millimetre), Some(pm(80_013_000_000)));
        assert_eq!(Amount::from_f64(68.0, Unit::Fahrenheit), Some(micro_celsius(20_000_000)));
        for (pieces, whole) in [(2.5, 2), (3.5, 4), (2.6, 3), (-2.6, -3), (-2.5, -2)] {
            assert_eq!(Amount::from_f64(pieces, Unit::Piece), Some(Amount::new(Kind::Count, whole)));
        }
        let edge = 2_f64.powi(63);
        assert_eq!(Amount::from_f64(edge, Unit::Piece), None);
        assert_eq!(Amount::from_f64(-edge, Unit::Piece), Some(Amount::new(Kind::Count, i64::MIN)));
        for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 9.3e9, -9.3e9] {
            assert_eq!(Amount::from_f64(bad, Unit::Millimetre), None, "{bad}");
        }
    }
}
