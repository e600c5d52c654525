//! Properties over all units and over any text whatever.

#![allow(clippy::unwrap_used)]

use proptest::prelude::*;

use super::exact::MAX_DECIMALS;
use super::number::MAX_DIGITS;
use super::{Amount, Comparator, Kind, Quantity, Unit};

fn any_unit() -> impl Strategy<Value = Unit> {
    proptest::sample::select(Unit::ALL)
}

/// Two units of one kind.
fn any_pair() -> impl Strategy<Value = (Unit, Unit)> {
    any_unit().prop_flat_map(|unit| {
        let same: Vec<Unit> = Unit::ALL.iter().copied().filter(|u| u.kind() == unit.kind()).collect();
        (Just(unit), proptest::sample::select(same))
    })
}

/// Numbers as people type them; not all lie within the bounds of every kind.
fn any_number() -> impl Strategy<Value = String> {
    "[+-]?(0|[1-9][0-9]{0,5})([.,][0-9]{1,6})?"
}

/// Text that looks almost like a quantity, where the reader's corners are.
fn almost() -> impl Strategy<Value = String> {
    let number = prop_oneof![
        "[-+\u{2212}0-9.,/ eE]{0,40}",
        "[-+\u{2212}]?[0-9]{0,13}[.,]?[0-9]{0,13}",
        "[-+]?([0-9]{1,7}[ -])?[0-9]{1,3}/(2|4|8|16|32|64|128|3)",
    ];
    (number, "( ?(mm|in|µm|°F|psi|lbf·ft|N·m|oz|pcs|:1|x))?").prop_map(|(number, unit)| number + &unit)
}

proptest! {
    #[test]
    fn what_is_shown_reads_back_the_same(number in any_number(), unit in any_unit()) {
        if let Ok(quantity) = Quantity::parse_number(&number, unit) {
            prop_assert_eq!(quantity.typed(), number.as_str());
            prop_assert_eq!(&Quantity::parse(&quantity.to_string()).unwrap(), &quantity);
            prop_assert_eq!(&Quantity::from_wire(quantity.typed(), unit.code()).unwrap(), &quantity);
        }
    }

    #[test]
    fn fractions_read_back_the_same(whole in 0_u32..300, top in 1_u32..128, power in 1_u32..8) {
        let bottom = 2_u32.pow(power);
        let text = format!("{whole} {}/{bottom} in", (top % bottom).max(1));
        let quantity = Quantity::parse(&text).unwrap();
        prop_assert_eq!(&Quantity::parse(&text.replacen(' ', "-", 1)).unwrap(), &quantity);
        prop_assert_eq!(quantity.to_string(), text);
        let inches = i64::from(whole * bottom + (top % bottom).max(1));
        prop_assert_eq!(quantity.amount().base(), inches * 25_400_000_000 / i64::from(bottom));
        prop_assert_eq!(quantity.last_digit().base(), 25_400_000_000 / i64::from(bottom));
    }

    #[test]
    fn its_own_unit_shows_the_digits_typed(whole in 0_u32..100_000, part in 0_u32..1000, unit in any_unit()) {
        let typed = format!("{whole}.{part:03}");
        if let Ok(quantity) = Quantity::parse_number(&typed, unit) {
            prop_assert_eq!(quantity.show_in(unit, 3), format!("{typed}{}{unit}", unit.gap()));
        }
    }

    #[test]
    fn there_and_back_through_any_unit_loses_nothing_it_shows(
        number in any_number(), (from, to) in any_pair()
    ) {
        if let Ok(quantity) = Quantity::parse_number(&number, from) {
            let there = quantity.show_in(to, MAX_DECIMALS);
            let shown: f64 = there.strip_suffix(to.symbol()).unwrap().trim().parse().unwrap();
            let back = Amount::from_f64(shown, to).unwrap();
            // A float keeps 53 bits; the display keeps 1e-12 of the unit.
            let size = i128::from(quantity.amount().base()).abs().max(i128::from(to.scale().off).abs());
            let kept = 2 + size / (1 << 48) + i128::from(to.scale().num / i64::from(to.scale().den)) / 1_000_000_000_000;
            let lost = i128::from(back.base()) - i128::from(quantity.amount().base());
            prop_assert!(lost.abs() <= kept, "{quantity} -> {there}: {lost} of {kept}");
        }
    }

    #[test]
    fn a_rounded_conversion_is_within_half_a_typed_step(number in any_number(), (from, to) in any_pair()) {
        if let Ok(quantity) = Quantity::parse_number(&number, from) {
            let shown = quantity.show_in_rounded(to);
            let figure = shown.strip_suffix(to.symbol()).unwrap().trim().replace(',', ".");
            let back = Amount::from_f64(figure.parse().unwrap(), to).unwrap();
            let lost = i128::from(back.base()) - i128::from(quantity.amount().base());
            let slack = 2 + i128::from(quantity.amount().base()).abs() / (1 << 48);
            let half = i128::from(quantity.last_digit().base()) / 2 + slack;
            // Below the twelfth decimal nothing is shown.
            let floor = i128::from(to.scale().num / i64::from(to.scale().den)) / 1_000_000_000_000;
            prop_assert!(lost.abs() <= half + floor, "{quantity} -> {shown}: {lost} of {half}");
        }
    }

    #[test]
    fn shown_sizes_differ_from_exact_ones_by_half_a_step_at_most(pm in any::<i64>(), decimals in 0_u8..9) {
        let shown = Amount::new(Kind::Length, pm).digits(Unit::Millimetre, decimals).unwrap();
        let digits: i128 = shown.replace('.', "").parse().unwrap();
        let step = 10_i128.pow(9 - u32::from(decimals));
        prop_assert!((digits * step - i128::from(pm)).abs() * 2 <= step);
    }

    #[test]
    fn any_text_is_read_or_refused(text in any::<String>(), code in any::<u32>(), unit in any_unit()) {
        total(&text, code, unit);
    }

    #[test]
    fn almost_any_quantity_is_read_or_refused(text in almost(), unit in any_unit()) {
        total(&text, unit.code(), unit);
    }

    #[test]
    fn a_comparator_adds_exactly(set in 1_i64..9_000_000, dial in -4_999_i64..=4_999) {
        let set_size = Quantity::parse(&format!("{}.{:03} mm", set / 1000, set % 1000)).unwrap();
        let deviation = Quantity::parse(&format!("{dial} µm")).unwrap();
        match Comparator::new(set_size, deviation) {
            Ok(reading) => prop_assert_eq!(reading.size().base(), (set + dial) * 1_000_000),
            Err(_) => prop_assert!(set + dial <= 0),
        }
    }
}

/// Reads in every way; whatever is accepted must also show in every unit of its kind.
fn total(text: &str, code: u32, unit: Unit) {
    let read = [Quantity::parse(text), Quantity::parse_number(text, unit), Quantity::from_wire(text, code)];
    for result in read {
        match result {
            Ok(quantity) => {
                for &unit in Unit::ALL {
                    assert!(!quantity.show_in(unit, u8::MAX).is_empty());
                    assert!(!quantity.show_in_rounded(unit).is_empty());
                }
            }
            Err(error) => assert!(!error.cause().is_empty() && !error.hint().is_empty()),
        }
    }
}

/// The widest products of reading and showing, worked out with checks for every pair of
/// units: the reason why the code itself may do without them.
#[test]
fn no_pair_of_units_can_overflow() {
    let most = 10_i128.pow(MAX_DIGITS);
    for &from in Unit::ALL {
        let scale = from.scale();
        let read_num = most * i128::from(scale.num) + most * i128::from(scale.off).abs();
        let read_den = 10_u64.pow(MAX_DIGITS).checked_mul(u64::from(scale.den)).unwrap();
        let highest = i128::from(from.kind().highest().base());
        highest.checked_mul(i128::from(read_den)).unwrap();

        for &to in Unit::ALL.iter().filter(|to| to.kind() == from.kind()) {
            let to = to.scale();
            let num = read_num.checked_mul(i128::from(to.den)).unwrap();
            num.checked_add(i128::from(to.off).abs() * i128::from(read_den)).unwrap();
            let den = u128::from(read_den).checked_mul(u128::from(to.num.unsigned_abs())).unwrap();
            // Digit by digit the rest is at most ten times the divisor.
            den.checked_mul(10).unwrap();
        }
    }
}
