//! Comparator readings: a dial set on a master, and what it shows from there.

use super::error::{Problem, quoted};
use super::exact::{Ratio, gcd};
use super::{Amount, Kind, Quantity, QuantityError, Unit};

/// The farthest a dial reading may lie from its set size: 5 mm. Common practice, no source:
/// the travel of a plain dial is less, and past it the set size is surely mistyped.
const MAX_DEVIATION: Amount = Amount::new(Kind::Length, 5_000_000_000);

/// A size read as a deviation from a set size, each as typed and in its own unit.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Comparator {
    set: Quantity,
    deviation: Quantity,
    size: Amount,
}

impl Comparator {
    /// A dial set to `set` that shows `deviation`: the size is their sum.
    ///
    /// # Errors
    /// [`QuantityError`] where one is no length, where the set size or the sum is not above
    /// nought, where the deviation is more than 5 mm either way, and where the sum is past
    /// the bounds of a length.
    pub fn new(set: Quantity, deviation: Quantity) -> Result<Self, QuantityError> {
        let set = set.of_kind(Kind::Length)?;
        let deviation = deviation.of_kind(Kind::Length)?;
        let size = sum(&set, &deviation)?;
        Ok(Self { set, deviation, size })
    }

    /// The size the dial was set to, as typed.
    #[must_use]
    pub const fn set(&self) -> &Quantity {
        &self.set
    }

    /// What the dial showed from there, as typed.
    #[must_use]
    pub const fn deviation(&self) -> &Quantity {
        &self.deviation
    }

    /// The size: the exact sum, rounded once to whole picometres, a tie to the even.
    #[must_use]
    pub const fn size(&self) -> Amount {
        self.size
    }

    /// One step of the deviation's last digit: what the dial was read to.
    #[must_use]
    pub const fn last_digit(&self) -> Amount {
        self.deviation.last_digit()
    }
}

fn sum(set: &Quantity, deviation: &Quantity) -> Result<Amount, Problem> {
    let shown = |quantity: &Quantity| quoted(&quantity.to_string());
    if set.exact().cmp_whole(0).is_le() {
        return Err(Problem::SetSize { value: shown(set) });
    }
    let limit = MAX_DEVIATION.base();
    if deviation.exact().cmp_whole(limit).is_gt() || deviation.exact().cmp_whole(-limit).is_lt() {
        let limit = MAX_DEVIATION.show(Unit::Millimetre, 0);
        return Err(Problem::Deviation { value: shown(deviation), limit });
    }
    let size = add(set.exact(), deviation.exact());
    if size.cmp_whole(0).is_le() {
        return Err(Problem::NoSize { set: shown(set), deviation: shown(deviation) });
    }
    let value = || format!("{} with {}", shown(set), shown(deviation));
    let too_long = || Problem::OutOfBounds { value: value(), kind: Kind::Length, unit: set.unit() };
    if size.cmp_whole(Kind::Length.highest().base()).is_gt() {
        return Err(too_long());
    }
    let base = i64::try_from(size.round()).map_err(|_| too_long())?;
    Ok(Amount::new(Kind::Length, base))
}

/// Exact sum. Below the line of a length stand only twos and fives, at most twelve of each,
/// so what both divisors divide is at most 1e12, and nothing here comes near an overflow.
fn add(a: Ratio, b: Ratio) -> Ratio {
    let common = gcd(a.den(), b.den());
    let (a_share, b_share) = (a.den() / common, b.den() / common);
    let num = a.num() * i128::from(b_share) + b.num() * i128::from(a_share);
    Ratio::new(num, a_share * b.den())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    fn read(set: &str, deviation: &str) -> Result<Comparator, QuantityError> {
        Comparator::new(Quantity::parse(set).unwrap(), Quantity::parse(deviation).unwrap())
    }

    fn check(set: &str, deviation: &str, pm: i64) {
        assert_eq!(read(set, deviation).unwrap().size().base(), pm, "{set} {deviation}");
    }

    fn refuse(set: &str, deviation: &str, cause: &str, hint: &str) {
        let error = read(set, deviation).unwrap_err();
        assert_eq!((error.cause().as_str(), error.hint().as_str()), (cause, hint));
    }

    #[test]
    fn the_size_is_the_exact_sum_in_any_two_units() {
        check("80.000 mm", "+0.010 mm", 80_010_000_000);
        check("80.000 mm", "+0.4 thou", 80_010_160_000);
        check("80.000 mm", "-12 µm", 79_988_000_000);
        check("3 5/32 in", "-0.0005 in", 80_156_050_000);
        check("80 mm", "0 thou", 80_000_000_000);
        check("80 mm", "5 mm", 85_000_000_000);
        check("80 mm", "-5 mm", 75_000_000_000);
    }

    #[test]
    fn the_sum_is_rounded_once() {
        // 1.27 pm and 0.4 pm: 1.67 rounds to 2, while 1 and 0 would make 1.
        check("0.00000000005 in", "0.0000004 µm", 2);
        // 2.54 pm and -0.04 pm: a tie at 2.5 goes to the even 2.
        check("0.0000000001 in", "-0.00000004 µm", 2);
    }

    #[test]
    fn both_values_stay_as_typed() {
        let reading = read("80.000 mm", "+0.4 thou").unwrap();
        assert_eq!(reading.set().to_string(), "80.000 mm");
        assert_eq!(reading.deviation().to_string(), "+0.4 thou");
        assert_eq!(reading.last_digit().show(Unit::Thou, 1), "0.1 thou");
    }

    #[test]
    fn impossible_readings_are_refused() {
        refuse(
            "80 mm",
            "+5.001 mm",
            "a dial deviation of +5.001 mm is beyond the travel allowed for: 5 mm either way",
            "check the unit of the deviation, or give the size itself as the reading",
        );
        refuse(
            "80 mm",
            "-0.2 in",
            "a dial deviation of -0.2 in is beyond the travel allowed for: 5 mm either way",
            "check the unit of the deviation, or give the size itself as the reading",
        );
        refuse(
            "-80 mm",
            "0.1 mm",
            "the set size -80 mm is not above nought",
            "give the size of the setting master the dial was set to",
        );
        refuse(
            "0.000 mm",
            "0.1 mm",
            "the set size 0.000 mm is not above nought",
            "give the size of the setting master the dial was set to",
        );
        refuse(
            "3 mm",
            "-3 mm",
            "a set size of 3 mm and a deviation of -3 mm leave no size above nought",
            "check the sign of the deviation and the set size",
        );
        refuse(
            "2 mm",
            "-3 mm",
            "a set size of 2 mm and a deviation of -3 mm leave no size above nought",
            "check the sign of the deviation and the set size",
        );
        refuse(
            "100 m",
            "+1 mm",
            "100 m with +1 mm is outside what a length may be: -100 m to 100 m",
            "check the unit and the decimal point",
        );
        refuse("80 mm", "3 g", "3 g is a mass, where a length is needed", "give a length, such as in mm");
        assert!(read("20 °C", "1 mm").is_err());
    }
}
