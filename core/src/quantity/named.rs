//! The two sizes that measuring turns on, as types of their own.

use super::error::Problem;
use super::{Amount, Kind, QuantityError, Unit};

/// A length in whole picometres.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Length(i64);

/// A temperature in whole micro-degrees Celsius.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Temperature(i64);

impl Length {
    /// No length.
    pub const ZERO: Self = Self(0);

    /// So many picometres.
    #[must_use]
    pub const fn from_pm(pm: i64) -> Self {
        Self(pm)
    }

    /// So many micrometres; `None` past the range.
    #[must_use]
    pub const fn from_um(um: i64) -> Option<Self> {
        match um.checked_mul(1_000_000) {
            Some(pm) => Some(Self(pm)),
            None => None,
        }
    }

    /// In picometres.
    #[must_use]
    pub const fn pm(self) -> i64 {
        self.0
    }

    /// The sum; `None` past the range.
    #[must_use]
    pub fn checked_add(self, other: Self) -> Option<Self> {
        self.0.checked_add(other.0).map(Self)
    }

    /// The difference; `None` past the range.
    #[must_use]
    pub fn checked_sub(self, other: Self) -> Option<Self> {
        self.0.checked_sub(other.0).map(Self)
    }

    /// The same with the other sign; `None` past the range.
    #[must_use]
    pub fn checked_neg(self) -> Option<Self> {
        self.0.checked_neg().map(Self)
    }

    /// As an amount.
    #[must_use]
    pub const fn amount(self) -> Amount {
        Amount::new(Kind::Length, self.0)
    }

    /// As [`Amount::show`].
    #[must_use]
    pub fn show(self, unit: Unit, decimals: u8) -> String {
        self.amount().show(unit, decimals)
    }
}

impl Temperature {
    /// 20 °C, where sizes are stated (ISO 1:2022).
    pub const REFERENCE: Self = Self(20_000_000);

    /// So many micro-degrees Celsius.
    #[must_use]
    pub const fn from_micro_celsius(micro_celsius: i64) -> Self {
        Self(micro_celsius)
    }

    /// In micro-degrees Celsius.
    #[must_use]
    pub const fn micro_celsius(self) -> i64 {
        self.0
    }

    /// Microkelvins above (or, negative, below) another; `None` past the range.
    #[must_use]
    pub fn microkelvins_above(self, other: Self) -> Option<i64> {
        self.0.checked_sub(other.0)
    }

    /// As an amount.
    #[must_use]
    pub const fn amount(self) -> Amount {
        Amount::new(Kind::Temperature, self.0)
    }

    /// As [`Amount::show`].
    #[must_use]
    pub fn show(self, unit: Unit, decimals: u8) -> String {
        self.amount().show(unit, decimals)
    }
}

impl From<Length> for Amount {
    fn from(length: Length) -> Self {
        length.amount()
    }
}

impl From<Temperature> for Amount {
    fn from(temperature: Temperature) -> Self {
        temperature.amount()
    }
}

impl TryFrom<Amount> for Length {
    type Error = QuantityError;

    fn try_from(amount: Amount) -> Result<Self, QuantityError> {
        of_kind(amount, Kind::Length).map(Self)
    }
}

impl TryFrom<Amount> for Temperature {
    type Error = QuantityError;

    fn try_from(amount: Amount) -> Result<Self, QuantityError> {
        of_kind(amount, Kind::Temperature).map(Self)
    }
}

fn of_kind(amount: Amount, wanted: Kind) -> Result<i64, QuantityError> {
    let found = amount.kind();
    if found == wanted {
        return Ok(amount.base());
    }
    let value = amount.show_short(found.main_unit());
    Err(Problem::WrongKind { value, found, wanted }.into())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    #[test]
    fn lengths_and_temperatures_come_back_from_amounts_of_their_kind_only() {
        let length = Length::from_pm(42);
        assert_eq!(Length::try_from(length.amount()).unwrap(), length);
        let warm = Temperature::from_micro_celsius(20_000_000);
        assert_eq!(Temperature::try_from(Amount::from(warm)).unwrap(), Temperature::REFERENCE);

        let refused = Length::try_from(warm.amount()).unwrap_err();
        assert_eq!(refused.cause(), "20 °C is a temperature, where a length is needed");
        assert_eq!(refused.hint(), "give a length, such as in mm");
        assert!(Temperature::try_from(Amount::from(length)).is_err());
    }

    #[test]
    fn lengths_do_not_wrap() {
        let most = Length::from_pm(i64::MAX);
        assert_eq!(most.checked_add(Length::from_pm(1)), None);
        assert_eq!(Length::from_pm(i64::MIN).checked_sub(Length::from_pm(1)), None);
        assert_eq!(Length::from_pm(i64::MIN).checked_neg(), None);
        assert_eq!(Length::from_um(i64::MAX), None);
        assert_eq!(Length::from_um(3).unwrap().show(Unit::Millimetre, 3), "0.003 mm");
    }
}
