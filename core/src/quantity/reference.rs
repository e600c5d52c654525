//! Conversions checked against figures from outside; the source stands beside each.
//!
//! Digits are compared as far as both the source and the display (12 decimals) go.

#![allow(clippy::unwrap_used)]

use super::{Amount, Kind, Quantity, Unit};

fn check(typed: &str, unit: Unit, decimals: u8, expected: &str) {
    let quantity = Quantity::parse(typed).unwrap();
    assert_eq!(quantity.show_in(unit, decimals), expected, "{typed}");
}

// NIST SP 811 (2008) B.7.2, worked example; 1 ft = 0.3048 m exactly.
#[test]
fn case_1_01_p_thirty_six_feet_in_metres() {
    check("36 ft", Unit::Metre, 4, "10.9728 m");
    assert!(Quantity::parse("36 ft").unwrap().is_exact());
    assert_eq!(Quantity::parse("36 ft").unwrap().show_in_rounded(Unit::Metre), "11.0 m");
}

// Definitions of the pound and of standard gravity, NIST SP 811 B.8; pint 0.25.3.
#[test]
fn case_1_02_pl_a_pound_force_in_newtons() {
    check("1 lbf", Unit::Newton, 11, "4.44822161526 N");
    // 0.453 592 37 kg * 9.806 65 m/s2, in whole steps of 1e-13 N, is the row's own ratio.
    let scale = Unit::PoundForce.scale();
    let steps = i128::from(scale.num) * 10_000_000 / i128::from(scale.den);
    assert_eq!(steps, 45_359_237 * 980_665);
}

// pint 0.25.3; exact decimal 101.686 346 124 855 03.
#[test]
fn case_1_03_l_pound_feet_in_newton_metres() {
    check("75 lbf·ft", Unit::NewtonMetre, 12, "101.686346124855 N·m");
}

// pint 0.25.3 and exact decimal: 73.756 214 927 726 55 and 885.074 579 132 718 4.
#[test]
fn case_1_04_l_newton_metres_in_pound_feet_and_inches() {
    check("100 N·m", Unit::PoundForceFoot, 12, "73.756214927727 lbf·ft");
    check("100 N·m", Unit::PoundForceInch, 12, "885.074579132718 lbf·in");
    check("1 lbf·ft", Unit::PoundForceInch, 12, "12.000000000000 lbf·in");
}

// pint 0.25.3 and exact decimal: 6.894 757 293 168 361 kPa and 12.755 300 992 361 468 bar.
#[test]
fn case_1_06_l_psi_in_kilopascals_and_bar() {
    check("1 psi", Unit::Kilopascal, 12, "6.894757293168 kPa");
    check("185 psi", Unit::Bar, 12, "12.755300992361 bar");
    check("1 ksi", Unit::Psi, 12, "1000.000000000000 psi");
}

// pint 0.25.3 and exact decimal: 5735.4724 cm3 and 121.925 440 701 275 1 in3.
#[test]
fn case_1_07_l_cubic_inches_and_back() {
    check("350 in3", Unit::CubicCentimetre, 9, "5735.472400000 cm³");
    check("1998 cm3", Unit::CubicInch, 12, "121.925440701275 in³");
}

// Exact: 1 in = 25.4 mm (international yard and pound agreement, 1959).
#[test]
fn case_1_09_c_inches_and_micrometres() {
    check("0.0015 in", Unit::Micrometre, 12, "38.100000000000 µm");
    check("86 mm", Unit::Inch, 12, "3.385826771654 in");
}

// pint 0.25.3; t_F = 1.8 t_C + 32, and a difference without the 32.
#[test]
fn case_1_10_l_temperatures_and_their_differences() {
    check("212 °F", Unit::Celsius, 9, "100.000000000 °C");
    check("20 °C", Unit::Fahrenheit, 9, "68.000000000 °F");
    check("10 K", Unit::FahrenheitChange, 12, "18.000000000000 Δ°F");
}

// NIST SP 811 (2008) App. B.8: factors given there as exact.
#[test]
fn exact_factors_of_sp_811() {
    check("1 lb", Unit::Kilogram, 8, "0.45359237 kg");
    check("16 oz", Unit::Pound, 12, "1.000000000000 lb");
    check("1 oz", Unit::Gram, 9, "28.349523125 g");
    check("1 kgf·m", Unit::NewtonMetre, 5, "9.80665 N·m");
    check("1 kgf", Unit::Newton, 5, "9.80665 N");
    check("1 kgf/cm2", Unit::Kilopascal, 4, "98.0665 kPa");
    check("1 in3", Unit::CubicCentimetre, 6, "16.387064 cm³");
    check("1 in2", Unit::SquareMillimetre, 2, "645.16 mm²");
    check("1 oz·in", Unit::GramMillimetre, 9, "720.077887375 g·mm");
    check("1 ft/min", Unit::MetrePerSecond, 5, "0.00508 m/s");
    check("1 ft/s", Unit::MetrePerSecond, 9, "0.304800000 m/s");
    check("60 arcmin", Unit::Degree, 12, "1.000000000000 deg");
    check("1 ppm/°F", Unit::PerMillionCelsius, 1, "1.8 µm/(m·°C)");
}

// Powers of ten: the prefixes of the SI brochure (9th edition, table 7); the litre is 1 dm³
// (table 8) and the bar 100 kPa (NIST SP 811 B.8).
#[test]
fn decimal_prefixes() {
    check("1 m", Unit::Millimetre, 0, "1000 mm");
    check("1 cm", Unit::Millimetre, 0, "10 mm");
    check("1 mm", Unit::Micrometre, 0, "1000 µm");
    check("1 kg", Unit::Gram, 0, "1000 g");
    check("1 g", Unit::Milligram, 0, "1000 mg");
    check("1 L", Unit::CubicCentimetre, 0, "1000 cm³");
    check("1 cm3", Unit::CubicMillimetre, 0, "1000 mm³");
    check("1 kN", Unit::Newton, 0, "1000 N");
    check("1 GPa", Unit::Megapascal, 0, "1000 MPa");
    check("1 MPa", Unit::Kilopascal, 0, "1000 kPa");
    check("1 kPa", Unit::Pascal, 0, "1000 Pa");
    check("1 bar", Unit::Kilopascal, 0, "100 kPa");
    check("1 cm2", Unit::SquareMillimetre, 0, "100 mm²");
    check("1 g/cm3", Unit::KilogramPerCubicMetre, 0, "1000 kg/m³");
    check("1 g·cm", Unit::GramMillimetre, 0, "10 g·mm");
    check("1 Pa·s", Unit::MillipascalSecond, 0, "1000 mPa·s");
    check("1:1", Unit::Percent, 0, "100 %");
    check("1 %", Unit::PartsPerMillion, 0, "10000 ppm");
}

// The shop's figures for one limit in both units; 1 thou = 25.4 µm exactly, the rounded
// millimetres are arithmetic. Converting the typed value once keeps what twice would lose.
#[test]
fn a_value_is_converted_once_from_what_was_typed() {
    let typed = Quantity::parse("0.001 in").unwrap();
    assert_eq!(typed.show_in_rounded(Unit::Millimetre), "0.03 mm");
    assert_eq!(typed.show_in(Unit::Thou, 1), "1.0 thou");
    assert_eq!(typed.amount(), Amount::new(Kind::Length, 25_400_000));
}
