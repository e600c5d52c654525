//! The reference cases this room touches: id, tag and source beside each.
//!
//! Tags: C computed from the formula at high precision or by arithmetic, L by a named
//! general-purpose library, P/M a published example recalled from memory (its arithmetic
//! recomputed). Expected digits are the reference's, rounded to our base unit.
#![allow(clippy::unwrap_used)]

use super::judging::{Accept, conformance_probability, judge};
use super::temperature::{Body, Expansion, as_read_at, correction_uncertainty, to_reference};
use super::uncertainty::{Gauge, Uncertainty, combine, difference};
use super::{Form, Rule, Station, Verdict};
use crate::quantity::{Length, Temperature};

const STEEL_E12: i64 = 11_500_000;
/// Grey cast iron, 11.4e-6: Callister, table B.6.
const IRON_E12: i64 = 11_400_000;
/// The demo engine's piston alloy (invented), 19.4e-6.
const PISTON_E12: i64 = 19_400_000;

fn body(alpha_e12: i64, degc: i64) -> Body {
    let at = Temperature::from_micro_celsius(degc * 1_000_000);
    Body::new(Expansion::handbook(alpha_e12).unwrap(), at).unwrap()
}

/// From thousandths of a millimetre, which is what the cases are given in.
fn um(micrometres: i64) -> Length {
    Length::from_um(micrometres).unwrap()
}

fn u(base: i64) -> Uncertainty {
    Uncertainty::new(base).unwrap()
}

fn at_20(read: Length, part: Body, gauge: Body) -> i64 {
    to_reference(read, &part, &gauge).unwrap().pm()
}

// Source: 40-digit evaluation of the formula of ISO 1 and JCGM 100:2008 H.1.
#[test]
fn case_2_01_c_aluminium_block_and_steel_gauge_at_30_degc() {
    let (part, gauge) = (body(21_500_000, 30), body(STEEL_E12, 30));
    // 85.991401848603 mm; tolerance 1e-10 mm = 0.1 pm, so the nearest pm
    assert_eq!(at_20(um(86_000), part, gauge), 85_991_401_849);
    let back = as_read_at(Length::from_pm(85_991_401_849), &part, &gauge).unwrap();
    assert!((back.pm() - 86_000_000_000).abs() <= 1);
}

// Source: 40-digit evaluation.
#[test]
fn case_2_02_c_aluminium_part_at_35_degc_gauge_at_20() {
    let (part, gauge) = (body(23_600_000, 35), body(STEEL_E12, 20));
    // 99.964612527165 mm
    assert_eq!(at_20(um(100_000), part, gauge), 99_964_612_527);
}

// Source: 40-digit evaluation.
#[test]
fn case_2_04_c_warm_piston_at_45_degc_micrometer_at_22() {
    let (part, gauge) = (body(PISTON_E12, 45), body(STEEL_E12, 22));
    // 85.92030573172 mm
    assert_eq!(at_20(um(85_960), part, gauge), 85_920_305_732);
}

// Source: model of Swyt, J. Res. NIST 99 (1994) 31.
#[test]
fn case_2_08_c_uncertainty_of_a_temperature_correction() {
    let part = body(21_500_000, 30);
    let nothing = Body::new(Expansion::new(0, 0).unwrap(), Temperature::REFERENCE).unwrap();
    let whole = correction_uncertainty(um(86_000), &part, &nothing).unwrap();
    // 1.5097022 µm, of which temperature 1.0675206 and coefficient 1.0675206
    assert_eq!(whole.base(), 1_509_702);
    let coefficient = correction_uncertainty(um(86_000), &part.known_within(0).unwrap(), &nothing).unwrap();
    assert_eq!(coefficient.base(), 1_067_521);
    let certain = Expansion::new(21_500_000, 0).unwrap();
    let certain = Body::new(certain, Temperature::from_micro_celsius(30_000_000)).unwrap();
    let temperature = correction_uncertainty(um(86_000), &certain, &nothing).unwrap();
    assert_eq!(temperature.base(), 1_067_521);
}

fn check_probability(y: i64, base: i64, lower: Option<i64>, upper: Option<i64>, expected_e9: u32) {
    let p = conformance_probability(y, u(base), lower, upper).unwrap();
    assert!(p.abs_diff(expected_e9) <= 1, "{p} is not {expected_e9}");
}

// Source: JCGM 106:2012 clause 7 example (published 0.92; inputs from memory). In mV.
#[test]
fn case_3_01_p_m_one_sided_upper_limit() {
    check_probability(-5_470, 50, None, Some(-5_400), 919_243_341);
}

// Source: JCGM 106:2012 clause 7 example (published 0.99; inputs from memory). In tenths.
#[test]
fn case_3_02_p_m_one_sided_lower_limit() {
    check_probability(5_097, 86, Some(4_900), None, 989_009_547);
}

// Source: normal distribution to 30 digits. In µm.
#[test]
fn case_3_07_c_journal_50_980_to_51_000() {
    for (y, p) in [(50_996, 977_249_868), (50_997, 933_192_799), (51_001, 308_537_539)] {
        check_probability(y, 2, Some(50_980), Some(51_000), p);
    }
}

// Source: normal distribution. In tenths of a µm.
#[test]
fn case_3_09_c_clearance_0_040_to_0_070() {
    for (y, p) in [(450, 866_739_723), (550, 999_141_879)] {
        check_probability(y, 45, Some(400), Some(700), p);
    }
}

/// A gauge of an error limit in µm with a scatter of 1.5 µm.
fn gauge(error_limit_um: i64) -> Uncertainty {
    let gauge = Gauge {
        error_limit: Some(error_limit_um * 1_000_000),
        repeatability: Some(1_500_000),
        ..Gauge::default()
    };
    gauge.standard(1).unwrap().unwrap()
}

// Source: uncertainties 3.2.3 and GTC 1.5.1.
#[test]
fn case_3_10_l_clearance_with_the_bore_gauge_set_by_another_micrometer() {
    let setting = Uncertainty::from_error_limit(5_000_000).unwrap();
    let bore = combine(&[gauge(4), setting]).unwrap();
    let clearance = difference(bore, gauge(5), Uncertainty::ZERO).unwrap();
    // u 5.14781507 µm, U 10.29563014 µm; each of four roots was rounded to 1 pm
    assert!((clearance.base() - 5_147_815).abs() <= 1);
    assert!((clearance.expanded().base() - 10_295_630).abs() <= 2);
}

// Source: reference section 3, text (case 3.11): U falls from 10.3 to 6.3 µm.
#[test]
fn case_3_11_l_clearance_with_the_bore_gauge_set_by_the_same_micrometer() {
    let setting = Uncertainty::from_error_limit(5_000_000).unwrap();
    let bore = combine(&[gauge(4), setting]).unwrap();
    let clearance = difference(bore, gauge(5), setting).unwrap();
    // sqrt(16/3 + 2 * 1.5^2) = 3.135815 µm
    assert!((clearance.base() - 3_135_815).abs() <= 1);
    assert_eq!((clearance.expanded().base() + 50_000) / 100_000, 63);
}

// Source: JCGM 100:2008 F.2.2.1 and 4.3.7.
#[test]
fn case_3_12_l_standard_uncertainty_of_error_limit_and_resolution() {
    for (limit, expected) in [(4_000_000, 2_309_401), (5_000_000, 2_886_751), (20_000_000, 11_547_005)] {
        assert_eq!(Uncertainty::from_error_limit(limit).unwrap().base(), expected);
    }
    for (step, expected) in [(1_000_000, 288_675), (10_000_000, 2_886_751), (2_540_000, 733_235)] {
        assert_eq!(Uncertainty::from_resolution(step).unwrap().base(), expected);
    }
}

// Source: arithmetic.
#[test]
fn case_4_05_c_three_levels_in_two_directions() {
    let levels = [[86_012, 86_018], [86_008, 86_011], [86_003, 86_005]];
    let stations: Vec<Station> = (0u16..)
        .zip(levels)
        .flat_map(|(level, pair)| {
            (0u16..).zip(pair).map(move |(direction, d)| Station { level, direction, diameter: um(d) })
        })
        .collect();
    let form = Form::from_stations(&stations).unwrap();
    assert_eq!(form.out_of_round, [(0, um(6)), (1, um(3)), (2, um(2))]);
    assert_eq!(form.worst_out_of_round(), Some(um(6)));
    assert_eq!(form.taper, [(0, um(9)), (1, um(13))]);
    assert_eq!(form.mean_taper, Some(um(11)));
    assert_eq!(form.cylindricity_at_least, Length::from_pm(7_500_000));
}

// Invented demo data, checked by hand: bore 80.508 and piston 80.450 read at 12 degC with
// steel gauges; limits 0.040 to 0.060 mm, u 3.15 µm.
#[test]
fn demo_a_cold_shop_clearance_is_not_proven_as_read_and_within_at_20_degc() {
    let judged = |clearance_pm| {
        judge(clearance_pm, Some(u(3_150_000)), Some(40_000_000), Some(60_000_000), Rule::Strict)
    };
    let as_read = judged(um(58).pm());
    assert_eq!(as_read.verdict, Verdict::NotProven);
    let Accept::Between { low: Some(low), high: Some(high) } = as_read.accept else {
        panic!("{:?}", as_read.accept);
    };
    // 1.65 * 3.15 = 5.1975 µm: provable 0.0452 to 0.0548
    assert_eq!((low, high), (45_197_500, 54_802_500));

    let steel = body(STEEL_E12, 12);
    let bore = at_20(um(80_508), body(IRON_E12, 12), steel);
    let piston = at_20(um(80_450), body(PISTON_E12, 12), steel);
    assert_eq!(Length::from_pm(bore).show(crate::quantity::Unit::Millimetre, 3), "80.508 mm");
    assert_eq!(Length::from_pm(piston).show(crate::quantity::Unit::Millimetre, 3), "80.455 mm");
    let clearance = Length::from_pm(bore - piston);
    assert_eq!(clearance.show(crate::quantity::Unit::Millimetre, 3), "0.053 mm");
    assert_eq!(judged(clearance.pm()).verdict, Verdict::Within);
}
