//! The units: one row each, with wire code, symbol, spellings and exact factor.

use std::fmt;

use super::Kind;

/// How a value in a unit becomes base units: `base = (value * num + off) / den`, exactly.
#[derive(Clone, Copy, Debug)]
pub(super) struct Scale {
    pub(super) num: i64,
    pub(super) den: u32,
    pub(super) off: i64,
}

struct Row {
    code: u32,
    kind: Kind,
    symbol: &'static str,
    scale: Scale,
}

/// Writes the enum and its look-ups from one table. Two rows sharing a code or a spelling
/// do not compile without a warning (unreachable pattern).
macro_rules! units {
    ($($(#[$doc:meta])* $unit:ident = $code:literal, $kind:ident, $symbol:literal $(| $spelling:literal)*,
        $num:literal / $den:literal + $off:literal;)*) => {
        /// A unit, of one kind. Stored by its code, which is frozen for ever: a code is never
        /// changed, and never used again for another unit. 0 is no unit.
        ///
        /// Factors are exact. Sources: international yard and pound agreement of 1959
        /// (1 in = 25.4 mm, 1 lb = 0.453 592 37 kg); NIST SP 811 (2008) App. B.8 and B.9
        /// (standard gravity 9.806 65 m/s², hence 1 lbf = 4.448 221 615 260 5 N;
        /// `t_F = 1.8 t_C + 32`).
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Unit {
            $($(#[$doc])* $unit,)*
        }

        impl Unit {
            /// Every unit, in the order of the table.
            pub const ALL: &[Unit] = &[$(Unit::$unit,)*];

            const fn row(self) -> &'static Row {
                match self {
                    $(Unit::$unit => &Row {
                        code: $code,
                        kind: Kind::$kind,
                        symbol: $symbol,
                        scale: Scale { num: $num, den: $den, off: $off },
                    },)*
                }
            }

            /// The unit of a stored code, if this version knows it.
            #[must_use]
            pub const fn from_code(code: u32) -> Option<Unit> {
                match code {
                    $($code => Some(Unit::$unit),)*
                    _ => None,
                }
            }

            /// The unit of a symbol or an accepted spelling; case counts (`mm`, `MPa`).
            ///
            /// What could mean two things is no unit here: `nm`, `mil`, `min`, `tenth`.
            #[must_use]
            pub fn parse(text: &str) -> Option<Unit> {
                match text {
                    $($symbol $(| $spelling)* => Some(Unit::$unit),)*
                    _ => None,
                }
            }
        }
    };
}

units! {
    // Length, in picometres.
    /// Millimetre.
    Millimetre = 101, Length, "mm", 1_000_000_000 / 1 + 0;
    /// Micrometre; typed with either of the two mu, with `u`, or as micron.
    Micrometre = 102, Length, "µm" | "μm" | "um" | "micron" | "microns", 1_000_000 / 1 + 0;
    /// Inch.
    Inch = 103, Length, "in" | "inch" | "inches" | "\"" | "″", 25_400_000_000 / 1 + 0;
    /// Thousandth of an inch.
    Thou = 104, Length, "thou", 25_400_000 / 1 + 0;
    /// Metre.
    Metre = 105, Length, "m", 1_000_000_000_000 / 1 + 0;
    /// Centimetre.
    Centimetre = 106, Length, "cm", 10_000_000_000 / 1 + 0;
    /// Foot.
    Foot = 107, Length, "ft" | "foot" | "feet", 304_800_000_000 / 1 + 0;

    // Temperature, in micro-degrees Celsius: a point on a scale, so with an offset.
    /// Degree Celsius.
    Celsius = 201, Temperature, "°C" | "degC" | "C" | "℃", 1_000_000 / 1 + 0;
    /// Degree Fahrenheit: °C = (°F - 32) * 5/9.
    Fahrenheit = 202, Temperature, "°F" | "degF" | "F" | "℉", 5_000_000 / 9 + -160_000_000;

    // Temperature difference, in microkelvins: never an offset.
    /// Kelvin, for differences only (a difference of 1 °C is 1 K).
    Kelvin = 301, TemperatureChange, "K" | "Δ°C" | "delta degC", 1_000_000 / 1 + 0;
    /// Difference of one degree Fahrenheit: 5/9 K.
    FahrenheitChange = 302, TemperatureChange, "Δ°F" | "delta degF", 5_000_000 / 9 + 0;

    // Torque, in nanonewton metres.
    /// Newton metre.
    NewtonMetre = 401, Torque, "N·m" | "N⋅m" | "N.m" | "N-m" | "N*m" | "N m" | "Nm",
        1_000_000_000 / 1 + 0;
    /// Pound-force foot: 4.448 221 615 260 5 N * 0.3048 m.
    PoundForceFoot = 402, Torque, "lbf·ft" | "lbf⋅ft" | "lbf.ft" | "lbf-ft" | "lbf*ft" | "lbf ft" | "lbfft"
        | "lb·ft" | "lb.ft" | "lb-ft" | "lb ft" | "lbft" | "ft·lbf" | "ft.lbf" | "ft-lbf" | "ft lbf"
        | "ft·lb" | "ft.lb" | "ft-lb" | "ft lb" | "ftlb" | "ft-lbs" | "ft lbs",
        3_389_544_870_828_501 / 2_500_000 + 0;
    /// Pound-force inch: a twelfth of the pound-force foot.
    PoundForceInch = 403, Torque, "lbf·in" | "lbf⋅in" | "lbf.in" | "lbf-in" | "lbf*in" | "lbf in" | "lbfin"
        | "lb·in" | "lb.in" | "lb-in" | "lb in" | "lbin" | "in·lbf" | "in.lbf" | "in-lbf" | "in lbf"
        | "in·lb" | "in.lb" | "in-lb" | "in lb" | "in-lbs" | "in lbs",
        1_129_848_290_276_167 / 10_000_000 + 0;
    /// Kilogram-force metre: 9.806 65 N·m.
    KilogramForceMetre = 404, Torque, "kgf·m" | "kgf⋅m" | "kgf.m" | "kgf-m" | "kgf*m" | "kgf m" | "kgfm",
        9_806_650_000 / 1 + 0;

    // Mass, in nanograms.
    /// Gram.
    Gram = 501, Mass, "g", 1_000_000_000 / 1 + 0;
    /// Kilogram.
    Kilogram = 502, Mass, "kg", 1_000_000_000_000 / 1 + 0;
    /// Milligram.
    Milligram = 503, Mass, "mg", 1_000_000 / 1 + 0;
    /// Avoirdupois ounce: a sixteenth of the pound. Never a fluid ounce.
    Ounce = 504, Mass, "oz", 28_349_523_125 / 1 + 0;
    /// Avoirdupois pound.
    Pound = 505, Mass, "lb" | "lbs", 453_592_370_000 / 1 + 0;

    // Volume, in 1e-9 cm³.
    /// Cubic centimetre; a millilitre is the same.
    CubicCentimetre = 601, Volume, "cm³" | "cm3" | "cm^3" | "cc" | "mL" | "ml", 1_000_000_000 / 1 + 0;
    /// Cubic inch: 16.387 064 cm³.
    CubicInch = 602, Volume, "in³" | "in3" | "in^3" | "cu in", 16_387_064_000 / 1 + 0;
    /// Litre.
    Litre = 603, Volume, "L" | "l", 1_000_000_000_000 / 1 + 0;
    /// Cubic millimetre.
    CubicMillimetre = 604, Volume, "mm³" | "mm3" | "mm^3", 1_000_000 / 1 + 0;

    // Plane angle, in micro-degrees.
    /// Degree of arc.
    Degree = 701, Angle, "deg" | "°", 1_000_000 / 1 + 0;
    /// Minute of arc: a sixtieth of a degree.
    ArcMinute = 702, Angle, "arcmin", 50_000 / 3 + 0;

    // Force, in micronewtons.
    /// Newton.
    Newton = 801, Force, "N", 1_000_000 / 1 + 0;
    /// Kilonewton.
    Kilonewton = 802, Force, "kN", 1_000_000_000 / 1 + 0;
    /// Pound-force.
    PoundForce = 803, Force, "lbf", 8_896_443_230_521 / 2_000_000 + 0;
    /// Kilogram-force.
    KilogramForce = 804, Force, "kgf", 9_806_650 / 1 + 0;

    // Pressure and stress, in millipascals.
    /// Bar.
    Bar = 901, Pressure, "bar", 100_000_000 / 1 + 0;
    /// Kilopascal.
    Kilopascal = 902, Pressure, "kPa", 1_000_000 / 1 + 0;
    /// Megapascal, which is 1 N/mm².
    Megapascal = 903, Pressure, "MPa" | "N/mm²" | "N/mm2", 1_000_000_000 / 1 + 0;
    /// Gigapascal.
    Gigapascal = 904, Pressure, "GPa", 1_000_000_000_000 / 1 + 0;
    /// Pound-force per square inch: 4.448 221 615 260 5 N / 645.16 mm².
    Psi = 905, Pressure, "psi" | "lbf/in²" | "lbf/in2", 8_896_443_230_521 / 1_290_320 + 0;
    /// Thousand psi.
    Ksi = 906, Pressure, "ksi", 222_411_080_763_025 / 32_258 + 0;
    /// Kilogram-force per square centimetre: 98 066.5 Pa.
    KilogramForcePerSquareCentimetre = 907, Pressure, "kgf/cm²" | "kgf/cm2", 98_066_500 / 1 + 0;
    /// Pascal.
    Pascal = 908, Pressure, "Pa", 1_000 / 1 + 0;

    // Speed of rotation, in 1e-6 rev/min.
    /// Revolution per minute.
    Rpm = 1001, Speed, "rpm" | "r/min" | "rev/min", 1_000_000 / 1 + 0;

    // Velocity, in nanometres per second.
    /// Metre per second.
    MetrePerSecond = 1101, Velocity, "m/s", 1_000_000_000 / 1 + 0;
    /// Foot per minute: 0.005 08 m/s.
    FootPerMinute = 1102, Velocity, "ft/min" | "fpm", 5_080_000 / 1 + 0;
    /// Foot per second.
    FootPerSecond = 1103, Velocity, "ft/s", 304_800_000 / 1 + 0;

    // Acceleration, in nanometres per second squared.
    /// Metre per second squared.
    MetrePerSecondSquared = 1201, Acceleration, "m/s²" | "m/s2" | "m/s^2", 1_000_000_000 / 1 + 0;

    // Area, in square micrometres.
    /// Square millimetre.
    SquareMillimetre = 1301, Area, "mm²" | "mm2" | "mm^2", 1_000_000 / 1 + 0;
    /// Square centimetre.
    SquareCentimetre = 1302, Area, "cm²" | "cm2" | "cm^2", 100_000_000 / 1 + 0;
    /// Square inch: 645.16 mm².
    SquareInch = 1303, Area, "in²" | "in2" | "in^2" | "sq in", 645_160_000 / 1 + 0;

    // Density, in micrograms per cubic centimetre.
    /// Gram per cubic centimetre.
    GramPerCubicCentimetre = 1401, Density, "g/cm³" | "g/cm3" | "g/cc", 1_000_000 / 1 + 0;
    /// Kilogram per cubic metre.
    KilogramPerCubicMetre = 1402, Density, "kg/m³" | "kg/m3", 1_000 / 1 + 0;

    // Coefficient of linear expansion, in 1e-12 per °C.
    /// Millionth per degree Celsius.
    PerMillionCelsius = 1501, Expansion, "µm/(m·°C)" | "µm/m/°C" | "um/m/degC" | "um/(m.degC)"
        | "ppm/°C" | "ppm/degC" | "ppm/K", 1_000_000 / 1 + 0;
    /// Millionth per degree Fahrenheit: 1.8 millionths per degree Celsius.
    PerMillionFahrenheit = 1502, Expansion, "µin/(in·°F)" | "µin/in/°F" | "uin/in/degF" | "uin/(in.degF)"
        | "ppm/°F" | "ppm/degF", 1_800_000 / 1 + 0;

    // Unbalance, in nanogram millimetres.
    /// Gram millimetre.
    GramMillimetre = 1601, Unbalance, "g·mm" | "g⋅mm" | "g.mm" | "g mm", 1_000_000_000 / 1 + 0;
    /// Gram centimetre.
    GramCentimetre = 1602, Unbalance, "g·cm" | "g⋅cm" | "g.cm" | "g cm", 10_000_000_000 / 1 + 0;
    /// Ounce inch, of unbalance: 28.349 523 125 g * 25.4 mm.
    OunceInch = 1603, Unbalance, "oz·in" | "oz⋅in" | "oz.in" | "oz in", 720_077_887_375 / 1 + 0;

    // Dynamic viscosity, in micropascal seconds.
    /// Millipascal second; a centipoise is the same.
    MillipascalSecond = 1701, Viscosity, "mPa·s" | "mPa⋅s" | "mPa.s" | "mPa s" | "cP", 1_000 / 1 + 0;
    /// Pascal second.
    PascalSecond = 1702, Viscosity, "Pa·s" | "Pa⋅s" | "Pa.s" | "Pa s", 1_000_000 / 1 + 0;

    // Ratio, in 1e-9.
    /// So much to one.
    ToOne = 1801, Ratio, ":1", 1_000_000_000 / 1 + 0;
    /// Per cent.
    Percent = 1802, Ratio, "%", 10_000_000 / 1 + 0;
    /// Parts in a million.
    PartsPerMillion = 1803, Ratio, "ppm", 1_000 / 1 + 0;

    // Count, in things.
    /// Pieces.
    Piece = 1901, Count, "pcs" | "pc", 1 / 1 + 0;
}

/// Spellings that mean two things in a shop, and what to write instead.
const AMBIGUOUS: &[(&str, &str)] = &[
    ("nm", "write N·m for a torque, or µm for a length"),
    ("NM", "write N·m for a torque"),
    ("mil", "write thou for thousandths of an inch, or mm"),
    ("mils", "write thou for thousandths of an inch, or mm"),
    ("tenth", "write 0.1 thou for a ten-thousandth of an inch, or 0.1 mm"),
    ("tenths", "write 0.1 thou for a ten-thousandth of an inch, or 0.1 mm"),
    ("min", "write arcmin for minutes of arc"),
    ("'", "write arcmin for minutes of arc, or ft for feet"),
    ("kgm", "write kgf·m for a torque"),
    ("kg.m", "write kgf·m for a torque"),
    ("kg·m", "write kgf·m for a torque"),
    ("fl oz", "write cm³ for a volume; oz is a mass"),
    ("pt", "write L or cm³: pints differ"),
    ("gal", "write L: gallons differ"),
];

impl Unit {
    /// The stored code: never 0, never changed, never used again.
    #[must_use]
    pub const fn code(self) -> u32 {
        self.row().code
    }

    /// The kind of quantity this is a unit of.
    #[must_use]
    pub const fn kind(self) -> Kind {
        self.row().kind
    }

    /// The symbol as shown, such as `µm` or `N·m`.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        self.row().symbol
    }

    /// The exact way to base units.
    pub(super) const fn scale(self) -> Scale {
        self.row().scale
    }

    /// The door to the worksheets: how many of another unit one of this is; steps of the scale
    /// only, so of a temperature it is a difference.
    ///
    /// `None` for a unit of another kind.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "a worksheet's float; each side is rounded once")]
    pub fn in_units_of(self, other: Self) -> Option<f64> {
        let (own, wanted) = (self.scale(), other.scale());
        let top = i128::from(own.num) * i128::from(wanted.den);
        let bottom = i128::from(own.den) * i128::from(wanted.num);
        (self.kind() == other.kind()).then(|| top as f64 / bottom as f64)
    }

    /// Whether sizes are also typed as fractions: inches only.
    pub(super) const fn takes_fractions(self) -> bool {
        matches!(self, Unit::Inch)
    }

    /// What stands between a number and the symbol: `80 mm`, but `9.35:1`.
    pub(super) const fn gap(self) -> &'static str {
        if matches!(self, Unit::ToOne) { "" } else { " " }
    }

    /// What to write instead of a spelling that could mean two things.
    pub(super) fn ambiguous(text: &str) -> Option<&'static str> {
        let hit = AMBIGUOUS.iter().find(|(spelling, _)| *spelling == text);
        hit.map(|(_, way_out)| *way_out)
    }

    /// The unit somebody meant who typed its symbol in the wrong case.
    pub(super) fn meant_by(text: &str) -> Option<Unit> {
        let matches = |unit: &&Unit| unit.symbol().eq_ignore_ascii_case(text);
        Unit::ALL.iter().find(matches).copied()
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, expected: Option<Unit>) {
        assert_eq!(Unit::parse(text), expected, "{text:?}");
    }

    #[test]
    fn every_unit_comes_back_from_its_code_and_its_symbol() {
        for &unit in Unit::ALL {
            assert_eq!(Unit::from_code(unit.code()), Some(unit));
            assert_eq!(Unit::parse(unit.symbol()), Some(unit));
            assert_ne!(unit.code(), 0);
        }
        assert_eq!(Unit::from_code(0), None);
        assert_eq!(Unit::from_code(u32::MAX), None);
    }

    // The written shape is a promise: this list only ever grows at its end.
    #[test]
    fn the_codes_are_frozen() {
        let codes: Vec<String> = Unit::ALL.iter().map(|u| format!("{} {u}", u.code())).collect();
        assert_eq!(
            codes.join(", "),
            "101 mm, 102 µm, 103 in, 104 thou, 105 m, 106 cm, 107 ft, 201 °C, 202 °F, 301 K, \
             302 Δ°F, 401 N·m, 402 lbf·ft, 403 lbf·in, 404 kgf·m, 501 g, 502 kg, 503 mg, 504 oz, \
             505 lb, 601 cm³, 602 in³, 603 L, 604 mm³, 701 deg, 702 arcmin, 801 N, 802 kN, \
             803 lbf, 804 kgf, 901 bar, 902 kPa, 903 MPa, 904 GPa, 905 psi, 906 ksi, 907 kgf/cm², \
             908 Pa, 1001 rpm, 1101 m/s, 1102 ft/min, 1103 ft/s, 1201 m/s², 1301 mm², 1302 cm², \
             1303 in², 1401 g/cm³, 1402 kg/m³, 1501 µm/(m·°C), 1502 µin/(in·°F), 1601 g·mm, \
             1602 g·cm, 1603 oz·in, 1701 mPa·s, 1702 Pa·s, 1801 :1, 1802 %, 1803 ppm, 1901 pcs"
        );
    }

    #[test]
    fn units_are_typed_in_several_ways() {
        check("um", Some(Unit::Micrometre));
        check("\u{3bc}m", Some(Unit::Micrometre));
        check("\u{b5}m", Some(Unit::Micrometre));
        check("\"", Some(Unit::Inch));
        check("degC", Some(Unit::Celsius));
        check("C", Some(Unit::Celsius));
        check("Nm", Some(Unit::NewtonMetre));
        check("ft-lb", Some(Unit::PoundForceFoot));
        check("lbf.ft", Some(Unit::PoundForceFoot));
        check("in-lb", Some(Unit::PoundForceInch));
        check("cm3", Some(Unit::CubicCentimetre));
        check("MPa", Some(Unit::Megapascal));
    }

    #[test]
    fn what_could_mean_two_things_is_no_unit() {
        for (text, _) in AMBIGUOUS {
            check(text, None);
        }
        check("", None);
        check("MM", None);
        check("mpa", None);
        check(" mm", None);
    }

    #[test]
    fn a_factor_is_in_lowest_terms_and_positive() {
        for &unit in Unit::ALL {
            let Scale { num, den, .. } = unit.scale();
            assert!(num > 0 && den > 0, "{unit}");
            let num = num.unsigned_abs();
            assert_eq!(super::super::exact::gcd(num, u64::from(den)), 1, "{unit}");
        }
    }
}
