//! What can be measured: one row a kind, with its base unit and the bounds of the possible.

use std::fmt;

use super::{Amount, Unit};

/// One row of the table: everything that is said of a kind, once.
struct Row {
    /// The word in messages, with its article.
    name: &'static str,
    /// The unit a size is shown in where nobody chose another.
    main_unit: Unit,
    /// Smallest and largest typed value, in base units.
    bounds: (i64, i64),
    /// The way out when a value lies beyond them.
    hint: &'static str,
}

/// Writes the enum, its list and its rows from one table.
macro_rules! kinds {
    ($($(#[$doc:meta])* $kind:ident: $name:literal, $unit:ident, $low:expr, $high:expr, $hint:literal;)*) => {
        /// A kind of quantity. Sizes of different kinds are never compared or added.
        ///
        /// The base unit of each kind is named with it: an [`Amount`] counts whole base
        /// units in an `i64`. Bounds refuse the impossible, not the unlikely. Absolute zero
        /// is physics; every other bound is common practice, no source, and far outside
        /// any engine that a shop can lift.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Kind {
            $($(#[$doc])* $kind,)*
        }

        impl Kind {
            /// Every kind, in the order of the table.
            pub const ALL: &[Kind] = &[$(Kind::$kind,)*];

            const fn row(self) -> &'static Row {
                match self {
                    $(Kind::$kind => &Row {
                        name: $name,
                        main_unit: Unit::$unit,
                        bounds: ($low, $high),
                        hint: $hint,
                    },)*
                }
            }
        }
    };
}

kinds! {
    /// Length; base: 1 pm. Within ±100 m: wide enough for the 36 ft of a published check.
    Length: "a length", Millimetre, -100_000_000_000_000, 100_000_000_000_000,
        "check the unit and the decimal point";
    /// Temperature of something; base: 1 µ°C. From absolute zero to 1000 °C.
    Temperature: "a temperature", Celsius, -273_150_000, 1_000_000_000,
        "check the sign and the unit (°C or °F)";
    /// Difference of two temperatures; base: 1 µK. Within ±2000 K.
    TemperatureChange: "a temperature difference", Kelvin, -2_000_000_000, 2_000_000_000,
        "check the unit: a difference in °F is 1.8 times the one in K";
    /// Torque; base: 1 nN·m. 0 to 100 kN·m.
    Torque: "a torque", NewtonMetre, 0, 100_000_000_000_000,
        "give the size without a sign, and check the unit (lbf·ft or lbf·in)";
    /// Mass; base: 1 ng. 0 to 9000 kg.
    Mass: "a mass", Gram, 0, 9_000_000_000_000_000,
        "a mass is not negative; tare the scale or check the unit";
    /// Volume; base: 1e-9 cm³. Within ±1000 L; a dome may count as negative.
    Volume: "a volume", CubicCentimetre, -1_000_000_000_000_000, 1_000_000_000_000_000,
        "check the unit (cm³ or in³) and the decimal point";
    /// Plane angle; base: 1 µ°. Within ±3600 deg, ten turns.
    Angle: "an angle", Degree, -3_600_000_000, 3_600_000_000,
        "count whole turns apart and give the rest in degrees";
    /// Force; base: 1 µN. Within ±10 MN.
    Force: "a force", Newton, -10_000_000_000_000, 10_000_000_000_000,
        "check the unit (N, kN or lbf)";
    /// Pressure, stress or modulus; base: 1 mPa. Within ±1000 GPa.
    Pressure: "a pressure or stress", Bar, -1_000_000_000_000_000, 1_000_000_000_000_000,
        "check the unit (kPa, MPa, bar or psi)";
    /// Speed of rotation; base: 1e-6 rev/min. 0 to 100 000 rev/min.
    Speed: "a speed of rotation", Rpm, 0, 100_000_000_000,
        "give the speed in rev/min without a sign";
    /// Velocity along a line; base: 1 nm/s. Within ±10 000 m/s.
    Velocity: "a velocity", MetrePerSecond, -10_000_000_000_000, 10_000_000_000_000,
        "check the unit (m/s or ft/min)";
    /// Acceleration along a line; base: 1 nm/s². Within ±1e8 m/s².
    Acceleration: "an acceleration", MetrePerSecondSquared, -100_000_000_000_000_000,
        100_000_000_000_000_000,
        "check the decimal point";
    /// Area; base: 1 µm². 0 to 100 m².
    Area: "an area", SquareMillimetre, 0, 100_000_000_000_000,
        "an area is not negative; check the unit (mm² or in²)";
    /// Density; base: 1 µg/cm³. 0 to 30 g/cm³.
    Density: "a density", GramPerCubicCentimetre, 0, 30_000_000,
        "check the unit: water is 1 g/cm³ or 1000 kg/m³";
    /// Coefficient of linear expansion; base: 1e-12 per °C. Within ±1000e-6 per °C.
    Expansion: "a coefficient of expansion", PerMillionCelsius, -1_000_000_000, 1_000_000_000,
        "give millionths per degree, such as 11.5 for steel";
    /// Unbalance; base: 1 ng·mm. 0 to 100 kg·m.
    Unbalance: "an unbalance", GramMillimetre, 0, 100_000_000_000_000_000,
        "an unbalance is not negative; check the unit (g·mm, g·cm or oz·in)";
    /// Dynamic viscosity; base: 1 µPa·s. 0 to 1e6 Pa·s.
    Viscosity: "a viscosity", MillipascalSecond, 0, 1_000_000_000_000,
        "give the dynamic viscosity in mPa·s";
    /// Ratio of two like things; base: 1e-9. Within ±1e6.
    Ratio: "a ratio", ToOne, -1_000_000_000_000_000, 1_000_000_000_000_000,
        "check whether the figure is in %";
    /// Number of things; base: one thing. 0 to 1 000 000, whole.
    Count: "a count", Piece, 0, 1_000_000,
        "count whole things, without a sign";
}

impl Kind {
    /// The kind in words, with its article: "a length".
    #[must_use]
    pub const fn name(self) -> &'static str {
        self.row().name
    }

    /// The unit sizes of this kind are shown in where nobody chose another.
    #[must_use]
    pub const fn main_unit(self) -> Unit {
        self.row().main_unit
    }

    /// The smallest value that may be typed.
    #[must_use]
    pub const fn lowest(self) -> Amount {
        Amount::new(self, self.row().bounds.0)
    }

    /// The largest value that may be typed.
    #[must_use]
    pub const fn highest(self) -> Amount {
        Amount::new(self, self.row().bounds.1)
    }

    /// What to do about a value outside the bounds.
    pub(super) const fn hint(self) -> &'static str {
        self.row().hint
    }

    /// The kind of a difference of two such values: points on a scale differ by a change.
    #[must_use]
    pub const fn of_difference(self) -> Kind {
        if matches!(self, Kind::Temperature) { Kind::TemperatureChange } else { self }
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_has_bounds_a_hint_and_a_main_unit_of_its_own() {
        for &kind in Kind::ALL {
            assert!(kind.lowest() < kind.highest(), "{kind}");
            assert!(!kind.hint().is_empty(), "{kind}");
            assert_eq!(kind.main_unit().kind(), kind, "{kind}");
        }
    }

    // Absolute zero is -273.15 °C by definition (SI brochure, 9th edition, 2.3.1).
    #[test]
    fn the_lowest_temperature_is_absolute_zero() {
        assert_eq!(Kind::Temperature.lowest().show(Unit::Celsius, 2), "-273.15 °C");
        assert_eq!(Kind::Temperature.lowest().show(Unit::Fahrenheit, 2), "-459.67 °F");
    }
}
