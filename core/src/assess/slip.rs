//! Slips of typing: a value that would fit if the decimal point or the unit were another.
//!
//! Such a value is kept like any other: it may be true. It is only asked about at once,
//! while whoever read it is still at the machine.

use std::collections::BTreeSet;

use super::fold::Assessment;
use super::show;
use crate::engine::{Definition, Feature, FeatureKind, characteristic, closest};
use crate::entry::payload::Reading;
use crate::quantity::{Amount, Kind, Quantity, Unit};

/// How near a value has to come to what is expected, in hundredths of it.
const NEAR: i128 = 3;

/// What a typed value is multiplied with to undo a slip, as a ratio, and what the slip was.
const SLIPS: [(i128, i128, Slip); 8] = [
    (10, 1, Slip::Decimal),
    (1, 10, Slip::Decimal),
    (100, 1, Slip::Decimal),
    (1, 100, Slip::Decimal),
    (254, 10, Slip::Inch),
    (10, 254, Slip::Inch),
    (1000, 1, Slip::Thousand),
    (1, 1000, Slip::Thousand),
];

/// What may have gone wrong.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Slip {
    Decimal,
    Inch,
    Thousand,
}

impl Slip {
    /// The question to whoever typed it.
    fn question(self, typed: &Quantity, larger: bool) -> &'static str {
        let inches = matches!(typed.unit(), Unit::Inch | Unit::Thou);
        match (self, inches, larger) {
            (Self::Decimal, _, _) => "is the decimal point where it was read?",
            (Self::Inch, false, true) => "was it read in inches, and typed in mm?",
            (Self::Inch, true, false) => "was it read in mm, and typed in inches?",
            (Self::Inch, ..) => "was it converted between mm and inches once too often?",
            (Self::Thousand, ..) => "is it the right unit, a thousandth or the whole?",
        }
    }
}

/// Dimensions that say how large a characteristic is about.
const NOMINALS: [(FeatureKind, &str, &str); 13] = [
    (FeatureKind::Bore, "diameter", "bore"),
    (FeatureKind::Main, "journal-diameter", "main-journal"),
    (FeatureKind::Pin, "diameter", "pin-journal"),
    (FeatureKind::Rod, "centres", "rod-centres"),
    (FeatureKind::Rod, "weight-big", "rod-mass-big"),
    (FeatureKind::Rod, "weight-small", "rod-mass-small"),
    (FeatureKind::Deck, "height", "deck-height"),
    (FeatureKind::Head, "gasket-thickness", "gasket-thickness"),
    (FeatureKind::Chamber, "volume", "chamber-volume"),
    (FeatureKind::Piston, "compression-height", "compression-height"),
    (FeatureKind::Piston, "weight", "piston-mass"),
    (FeatureKind::Gudgeon, "diameter", "gudgeon-diameter"),
    (FeatureKind::Gudgeon, "weight", "gudgeon-mass"),
];

/// What a value is expected to be about: its ends in base units, and where they come from.
struct Expected {
    low: i64,
    high: i64,
    text: String,
}

impl Expected {
    /// Whether `value * over / under` lies within it, give or take a little.
    fn fits(&self, value: i64, over: i128, under: i128) -> bool {
        let scaled = i128::from(value) * over * 100;
        let (low, high) = (i128::from(self.low) * under, i128::from(self.high) * under);
        (low * (100 - NEAR)..=high * (100 + NEAR)).contains(&scaled)
    }
}

impl Assessment {
    /// The question about a reading whose value is far off in a way that typing explains.
    #[must_use]
    pub fn perhaps_a_slip(&self, reading: &Reading) -> Option<String> {
        let definition = self.definition()?;
        let feature = definition.feature(&reading.feature).ok()?;
        let value = reading.value.amount().base();
        // A deviation from a set size is small and of either sign: nothing can be told from it.
        if reading.set_size.is_some() || value <= 0 {
            return None;
        }
        let expected = self.expected(definition, &feature, reading);
        if expected.iter().any(|one| one.fits(value, 1, 1)) {
            return None;
        }
        let kind = reading.value.kind();
        let slips = SLIPS.iter().filter(|(_, _, slip)| kind == Kind::Length || *slip == Slip::Decimal);
        let mut meant = slips.flat_map(|slip| expected.iter().map(move |one| (slip, one)));
        let ((over, under, slip), one) =
            meant.find(|((over, under, _), one)| one.fits(value, *over, *under))?;
        let fitting = i64::try_from(i128::from(value) * over / under).ok()?;
        Some(format!(
            "{} {} of {} is far from {}, and {} would fit: {}",
            reading.feature,
            reading.characteristic,
            reading.value,
            one.text,
            show::amount(kind, fitting),
            slip.question(&reading.value, over > under)
        ))
    }

    /// The question about a station in free words at which nobody has read, where it is one slip of the
    /// hand from one at which somebody has: the same place under two names is two places.
    #[must_use]
    pub fn perhaps_another_station(&self, reading: &Reading) -> Option<String> {
        let kind = self.definition()?.feature(&reading.feature).ok()?.kind();
        let row = characteristic::find(kind, &reading.characteristic).filter(|row| row.stations.free)?;
        let alike = self.subjects.iter().filter(|subject| subject.feature.kind() == kind);
        let slots = alike.flat_map(|subject| &subject.slots).filter(|slot| slot.row.name == row.name);
        let known: BTreeSet<&str> = slots.map(|slot| &*slot.station).collect();
        let station = reading.station.as_str();
        let (near, far) = closest(station, known.into_iter().filter(|known| !known.is_empty()))?;
        // One that only counts otherwise is another place.
        let letters = |text: &str| text.chars().filter(|c| !c.is_ascii_digit()).collect::<String>();
        let slip = far == 1 && station.chars().count() > 2 && letters(near) != letters(station);
        slip.then(|| format!("{} was not read at `{station}` before: did you mean `{near}`?", row.name))
    }

    /// The limits in force, and the nominal size where the definition has one.
    fn expected(&self, definition: &Definition, feature: &Feature, reading: &Reading) -> Vec<Expected> {
        let kind = reading.value.kind();
        let value = self.value(feature.path(), &reading.characteristic);
        let in_force = value.and_then(|value| value.limit.as_ref()).map(|limit| (limit.lower, limit.upper));
        let given = || {
            let limit = definition.limit(feature, &reading.characteristic, &reading.station)?;
            let base = |amount: Option<Amount>| amount.map(Amount::base);
            Some((base(limit.lower_amount()), base(limit.upper_amount())))
        };
        let mut all = Vec::new();
        if let Some((lower, upper)) = in_force.or_else(given) {
            let above = |end: Option<i64>| end.filter(|end| *end > 0);
            if let Some(high) = above(upper).or_else(|| above(lower)) {
                let text = format!("its limits, {}", show::limits(kind, lower, upper));
                all.push(Expected { low: above(lower).unwrap_or(high), high, text });
            }
        }
        let named = |(on, name, _): &&(FeatureKind, &str, &str)| {
            *on == feature.kind() && *name == reading.characteristic
        };
        let row = NOMINALS.iter().find(named);
        if let Some(size) = row.and_then(|(_, _, dimension)| definition.dimension(dimension)) {
            let base = size.amount().base();
            all.push(Expected { low: base, high: base, text: format!("its nominal size, {size}") });
        }
        all
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use crate::engine::dimension::DIMENSIONS;

    use super::*;

    #[test]
    fn every_nominal_is_a_dimension_of_a_characteristic_of_its_kind() {
        for (on, name, dimension) in NOMINALS {
            let row = characteristic::find(on, name).unwrap_or_else(|| panic!("{on} {name}"));
            let size = DIMENSIONS.iter().find(|row| row.name == dimension).unwrap();
            assert_eq!(row.kind, size.kind, "{dimension}");
        }
    }

    #[test]
    fn a_value_fits_within_three_hundredths_of_what_is_expected() {
        let expected = Expected { low: 1000, high: 2000, text: String::new() };
        for (value, fits) in [(970, true), (969, false), (2060, true), (2061, false)] {
            assert_eq!(expected.fits(value, 1, 1), fits, "{value}");
        }
        assert!(expected.fits(100, 10, 1) && expected.fits(10_000, 1, 10) && !expected.fits(90, 10, 1));
    }
}
