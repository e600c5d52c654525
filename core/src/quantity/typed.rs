//! One value exactly as typed: its text, its unit, and the exact size the two state.

use std::fmt;

use super::amount::{self, Places};
use super::error::{Problem, quoted};
use super::exact::{self, MAX_DECIMALS, Ratio};
use super::number::{self, Number};
use super::{Amount, Kind, Length, QuantityError, Temperature, Unit};

/// Bytes read of a number with its unit.
const MAX_TEXT_BYTES: usize = 64;

/// A typed number with its unit, of a size that its kind allows.
///
/// The text is kept byte for byte, apart from space around it and the hyphen of `3-11/64`,
/// which is kept as the space it stands for; two quantities are equal when text and unit are. Compare sizes through [`amount`](Self::amount).
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Quantity {
    typed: Box<str>,
    unit: Unit,
    exact: Ratio,
    amount: Amount,
    last_digit: Amount,
    /// Parts of one unit that the last digit counts: 1000 for 80.013.
    bottom: u64,
}

impl Quantity {
    /// Reads a number typed where the unit is already chosen: `80.013`, `80,013`, `3 5/32`.
    ///
    /// One `.` or `,`, always the decimal one; a sign; fractions for inches only; at most 12
    /// digits, before or after the separator; no exponent.
    ///
    /// # Errors
    /// [`QuantityError`] for anything else, and for a value outside the bounds of its kind.
    pub fn parse_number(text: &str, unit: Unit) -> Result<Self, QuantityError> {
        Self::build_typed(text.trim(), unit).map_err(QuantityError::from)
    }

    /// Reads a number with its unit: `80.013 mm`, `80,013mm`, `3 5/32 in`, `3-5/32in`, `-0.4 thou`.
    ///
    /// # Errors
    /// As [`parse_number`](Self::parse_number), and for a unit that is missing, unknown or
    /// could mean two things.
    pub fn parse(text: &str) -> Result<Self, QuantityError> {
        Self::split_and_build(text.trim()).map_err(QuantityError::from)
    }

    /// Reads a number with its unit where it is known what is asked for.
    ///
    /// # Errors
    /// As [`parse`](Self::parse) and [`of_kind`](Self::of_kind); the way out names units of
    /// the kind that is asked for.
    pub fn parse_as(text: &str, wanted: Kind) -> Result<Self, QuantityError> {
        let parsed = Self::split_and_build(text.trim()).map_err(|problem| problem.asked_for(wanted))?;
        parsed.of_kind(wanted)
    }

    /// Reads what was stored: the typed text and the unit's code.
    ///
    /// Takes any input whatever; text with space around it was not written by this program
    /// and is refused.
    ///
    /// # Errors
    /// [`QuantityError`] for an unknown code, and as [`parse_number`](Self::parse_number).
    pub fn from_wire(typed: &str, unit_code: u32) -> Result<Self, QuantityError> {
        let unit = Unit::from_code(unit_code).ok_or(Problem::UnknownCode { code: unit_code })?;
        Self::build(typed, unit).map_err(QuantityError::from)
    }

    fn split_and_build(text: &str) -> Result<Self, Problem> {
        if text.len() > MAX_TEXT_BYTES {
            return Err(Problem::too_long(text, MAX_TEXT_BYTES));
        }
        let end = text.find(|c| !in_number(c)).unwrap_or(text.len());
        let (number, unit_text) = text.split_at(end);
        let (number, unit_text) = (number.trim_end(), unit_text.trim_start());
        if !number.bytes().any(|byte| byte.is_ascii_digit()) {
            return Err(if text.is_empty() { Problem::Empty } else { Problem::not_a_number(text) });
        }
        if is_exponent(unit_text) {
            return Err(Problem::exponent(text));
        }
        let unit = Unit::parse(unit_text).ok_or_else(|| Problem::bad_unit(number, unit_text))?;
        Self::build_typed(number, unit)
    }

    /// Builds from what a person typed. What is kept of `3-11/64` is `3 11/64`: the stored form
    /// is the same for both, and one that has a hyphen stays refused.
    fn build_typed(number: &str, unit: Unit) -> Result<Self, Problem> {
        match number::without_hyphen(number, unit) {
            Some(spaced) => Self::build(&spaced, unit),
            None => Self::build(number, unit),
        }
    }

    fn build(typed: &str, unit: Unit) -> Result<Self, Problem> {
        let number = number::read(typed, unit)?;
        let exact = in_base_units(number, unit);
        let kind = unit.kind();
        let out_of_bounds = || Problem::OutOfBounds { value: with_unit(typed, unit), kind, unit };

        if exact.cmp_whole(kind.lowest().base()).is_lt() || exact.cmp_whole(kind.highest().base()).is_gt() {
            return Err(out_of_bounds());
        }
        if kind == Kind::Count && !exact.is_whole() {
            return Err(Problem::NotWhole { value: with_unit(typed, unit) });
        }
        let base = i64::try_from(exact.round()).map_err(|_| out_of_bounds())?;
        let step = i64::try_from(step(number, unit)).map_err(|_| out_of_bounds())?;
        Ok(Self {
            typed: typed.into(),
            unit,
            exact,
            amount: Amount::new(kind, base),
            last_digit: Amount::new(kind.of_difference(), step),
            bottom: number.bottom,
        })
    }

    /// The number as it was typed.
    #[must_use]
    pub fn typed(&self) -> &str {
        &self.typed
    }

    /// The unit it was typed in.
    #[must_use]
    pub const fn unit(&self) -> Unit {
        self.unit
    }

    /// The kind of its unit.
    #[must_use]
    pub const fn kind(&self) -> Kind {
        self.unit.kind()
    }

    /// The size in whole base units: the exact value rounded to the nearest, a tie to the even.
    #[must_use]
    pub const fn amount(&self) -> Amount {
        self.amount
    }

    /// Whether [`amount`](Self::amount) is the exact value, with nothing rounded away.
    #[must_use]
    pub const fn is_exact(&self) -> bool {
        self.exact.is_whole()
    }

    /// One step of the last typed digit: 0.001 mm for `80.013 mm`, 1/64 in for `1/64 in`.
    ///
    /// Rounded as the amount is, so it may be nought where digits are finer than the base
    /// unit. Of a temperature it is a temperature difference.
    #[must_use]
    pub const fn last_digit(&self) -> Amount {
        self.last_digit
    }

    /// This quantity, if it is of the kind wanted.
    ///
    /// # Errors
    /// [`QuantityError`] naming both kinds.
    pub fn of_kind(self, wanted: Kind) -> Result<Self, QuantityError> {
        let found = self.kind();
        if found == wanted {
            return Ok(self);
        }
        Err(Problem::WrongKind { value: quoted(&self.to_string()), found, wanted }.into())
    }

    /// The size as a length.
    ///
    /// # Errors
    /// [`QuantityError`] for another kind.
    pub fn length(&self) -> Result<Length, QuantityError> {
        Length::try_from(self.amount)
    }

    /// The size as a temperature.
    ///
    /// # Errors
    /// [`QuantityError`] for another kind.
    pub fn temperature(&self) -> Result<Temperature, QuantityError> {
        Temperature::try_from(self.amount)
    }

    /// The door to the worksheets: the exact value in a unit, as the nearest float.
    ///
    /// Unlike the one of [`Amount`] nothing was rounded to base units before. `None` for a unit
    /// of another kind.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "a worksheet's float; each side is rounded once")]
    pub fn to_f64(&self, unit: Unit) -> Option<f64> {
        let (scale, den) = (unit.scale(), i128::from(self.exact.den()));
        let top = self.exact.num() * i128::from(scale.den) - i128::from(scale.off) * den;
        let bottom = den * i128::from(scale.num);
        (unit.kind() == self.kind()).then(|| top as f64 / bottom as f64)
    }

    /// The exact value in another unit, rounded once, half to even; see [`Amount::show`].
    #[must_use]
    pub fn show_in(&self, unit: Unit, decimals: u8) -> String {
        amount::show(self.exact, self.fitting(unit), Places::Decimals(decimals))
    }

    /// The value in another unit with the digits that the typed ones justify.
    ///
    /// Rule: the last digit shown is the largest decimal step not above the last digit typed,
    /// so the conversion rounds no more coarsely than the person did, and claims at most one
    /// digit more: 36 ft is 11.0 m. Source: NIST SP 811 (2008) App. B.7 (rounding error of
    /// the original and of the converted value matched). In its own unit it stands as typed.
    #[must_use]
    pub fn show_in_rounded(&self, unit: Unit) -> String {
        let unit = self.fitting(unit);
        if unit == self.unit {
            return self.to_string();
        }
        amount::show(self.exact, unit, self.justified(unit))
    }

    fn fitting(&self, unit: Unit) -> Unit {
        if unit.kind() == self.kind() { unit } else { self.unit }
    }

    /// The coarsest decimal place whose step is not above one step of the typed last digit.
    fn justified(&self, unit: Unit) -> Places {
        let (from, to) = (self.unit.scale(), unit.scale());
        let step = u128::from(from.num.unsigned_abs()) * u128::from(to.den);
        let one = u128::from(self.bottom) * u128::from(from.den) * u128::from(to.num.unsigned_abs());

        let tens_fit = |tens: &u32| one.checked_mul(10_u128.pow(*tens)).is_some_and(|ten| ten <= step);
        if let Some(tens) = (1..=u32::from(MAX_DECIMALS)).take_while(tens_fit).last() {
            return Places::Tens(tens);
        }
        let fine_enough =
            |places: &u8| step.checked_mul(10_u128.pow(u32::from(*places))).is_none_or(|fine| fine >= one);
        Places::Decimals((0..MAX_DECIMALS).find(fine_enough).unwrap_or(MAX_DECIMALS))
    }

    pub(super) const fn exact(&self) -> Ratio {
        self.exact
    }
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}{}", self.typed, self.unit.gap(), self.unit)
    }
}

fn with_unit(typed: &str, unit: Unit) -> String {
    format!("{typed}{}{unit}", unit.gap())
}

/// Exactly, by the unit's row: `(value * num + off) / den`.
fn in_base_units(number: Number, unit: Unit) -> Ratio {
    let scale = unit.scale();
    let size = i128::from(number.top) * i128::from(scale.num);
    let signed = if number.negative { -size } else { size };
    let num = signed + i128::from(scale.off) * i128::from(number.bottom);
    Ratio::new(num, number.bottom * u64::from(scale.den))
}

/// One step of the last digit in base units; a difference, so without the unit's offset.
fn step(number: Number, unit: Unit) -> i128 {
    let scale = unit.scale();
    exact::round(i128::from(scale.num), number.bottom * u64::from(scale.den))
}

/// What may stand before the unit. No unit begins with one of these.
const fn in_number(c: char) -> bool {
    matches!(c, '0'..='9' | '.' | ',' | '/' | ' ' | '+' | '-' | '\u{2212}')
}

/// Whether what follows the number is `e3`, `E-6` or the like.
fn is_exponent(rest: &str) -> bool {
    let after = rest.strip_prefix(['e', 'E']).map(|rest| rest.trim_start_matches(['+', '-']));
    after.is_some_and(|digits| digits.starts_with(|c: char| c.is_ascii_digit()))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    /// Text -> as shown, base units, base units of one last digit, exact.
    fn check(text: &str, shown: &str, base: i64, last_digit: i64, exact: bool) {
        let quantity = Quantity::parse(text).unwrap();
        assert_eq!(quantity.to_string(), shown, "{text:?}");
        assert_eq!(quantity.amount().base(), base, "{text:?}");
        assert_eq!(quantity.last_digit().base(), last_digit, "{text:?}");
        assert_eq!(quantity.is_exact(), exact, "{text:?}");
    }

    #[test]
    fn lengths_are_read_as_people_type_them() {
        check("80.013 mm", "80.013 mm", 80_013_000_000, 1_000_000, true);
        check("80,013mm", "80,013 mm", 80_013_000_000, 1_000_000, true);
        check("80.013\u{a0}mm", "80.013 mm", 80_013_000_000, 1_000_000, true);
        check("  80.10 mm ", "80.10 mm", 80_100_000_000, 10_000_000, true);
        check("3 5/32 in", "3 5/32 in", 80_168_750_000, 793_750_000, true);
        check("1/64\"", "1/64 in", 396_875_000, 396_875_000, true);
        check("-0.4 thou", "-0.4 thou", -10_160_000, 2_540_000, true);
        check("+0.010 mm", "+0.010 mm", 10_000_000, 1_000_000, true);
        check("\u{2212}3 um", "\u{2212}3 µm", -3_000_000, 1_000_000, true);
        check("0.00000001 in", "0.00000001 in", 254, 254, true);
        check("0.0000000001 in", "0.0000000001 in", 3, 3, false);
    }

    #[test]
    fn other_kinds_are_read_too() {
        check("68 degF", "68 °F", 20_000_000, 555_556, true);
        check("12.5 °C", "12.5 °C", 12_500_000, 100_000, true);
        check("31 ft-lb", "31 lbf·ft", 42_030_356_398, 1_355_817_948, false);
        check("596 g", "596 g", 596_000_000_000, 1_000_000_000, true);
        check("42.5 cc", "42.5 cm³", 42_500_000_000, 100_000_000, true);
        check("9.35:1", "9.35:1", 9_350_000_000, 10_000_000, true);
        check("4 %", "4 %", 40_000_000, 10_000_000, true);
        check("16 pcs", "16 pcs", 16, 1, true);
        check("10 arcmin", "10 arcmin", 166_667, 16_667, false);
        check("6500 rpm", "6500 rpm", 6_500_000_000, 1_000_000, true);
    }

    #[test]
    fn a_step_of_a_temperature_is_a_difference() {
        let warm = Quantity::parse("68.0 °F").unwrap();
        assert_eq!(warm.last_digit().kind(), Kind::TemperatureChange);
        assert_eq!(warm.last_digit().show(Unit::FahrenheitChange, 1), "0.1 Δ°F");
    }

    #[test]
    fn bounds_are_themselves_allowed() {
        check("100 m", "100 m", 100_000_000_000_000, 1_000_000_000_000, true);
        check("-273.15 °C", "-273.15 °C", -273_150_000, 10_000, true);
        check("-459.67 °F", "-459.67 °F", -273_150_000, 5_556, true);
        check("0 g", "0 g", 0, 1_000_000_000, true);
        check("-0 g", "-0 g", 0, 1_000_000_000, true);
    }

    #[test]
    fn what_was_stored_is_read_back_the_same() {
        let typed = Quantity::parse("3 5/32 in").unwrap();
        let stored = Quantity::from_wire(typed.typed(), typed.unit().code()).unwrap();
        assert_eq!(stored, typed);
        assert_eq!(stored.length().unwrap(), Length::from_pm(80_168_750_000));
        assert!(stored.temperature().is_err());
        assert!(stored.clone().of_kind(Kind::Length).is_ok());
    }

    #[test]
    fn a_hyphen_before_a_fraction_is_the_space_it_stands_for() {
        let spaced = Quantity::parse("3 11/64 in").unwrap();
        for text in ["3-11/64in", "3-11/64 in", "3-11/64\"", " 3-11/64 in "] {
            assert_eq!(Quantity::parse(text).unwrap(), spaced, "{text:?}");
        }
        assert_eq!(Quantity::parse_number("3-11/64", Unit::Inch).unwrap(), spaced);
        assert_eq!(Quantity::parse("-3-11/64 in").unwrap(), Quantity::parse("-3 11/64 in").unwrap());
        assert_eq!(spaced.amount().base(), 203 * 25_400_000_000 / 64);
        assert!(Quantity::from_wire("3-11/64", Unit::Inch.code()).is_err());
    }

    #[test]
    fn a_conversion_keeps_the_digits_the_original_justifies() {
        let rounded = |text: &str, unit| Quantity::parse(text).unwrap().show_in_rounded(unit);
        assert_eq!(rounded("80.013 mm", Unit::Inch), "3.15012 in");
        assert_eq!(rounded("80.013 mm", Unit::Millimetre), "80.013 mm");
        assert_eq!(rounded("80,013 mm", Unit::Millimetre), "80,013 mm");
        assert_eq!(rounded("0.001 in", Unit::Millimetre), "0.03 mm");
        assert_eq!(rounded("0.0016 in", Unit::Micrometre), "41 µm");
        assert_eq!(rounded("3 5/32 in", Unit::Millimetre), "80.2 mm");
        assert_eq!(rounded("5 in3", Unit::CubicCentimetre), "80 cm³");
        assert_eq!(rounded("80.0 µm", Unit::Millimetre), "0.0800 mm");
        assert_eq!(rounded("8 cm", Unit::Millimetre), "80 mm");
        assert_eq!(rounded("2.5:1", Unit::Percent), "250 %");
        assert_eq!(rounded("68 °F", Unit::Celsius), "20.0 °C");
        assert_eq!(rounded("90 N·m", Unit::PoundForceFoot), "66.4 lbf·ft");
        assert_eq!(rounded("90 N·m", Unit::Gram), "90 N·m");
        assert_eq!(rounded("5 m", Unit::Micrometre), "5000000 µm");
        assert_eq!(rounded("0.000001 µm", Unit::Metre), "0.000000000001 m");
    }
}
