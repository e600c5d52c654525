//! Every refusal of a typed quantity: its cause and its way out, word for word.

#![allow(clippy::unwrap_used)]

use super::{Kind, Quantity, Unit};

/// Text -> cause and hint of its refusal.
fn refuse(text: &str, cause: &str, hint: &str) {
    let error = Quantity::parse(text).unwrap_err();
    assert_eq!((error.cause().as_str(), error.hint().as_str()), (cause, hint), "{text:?}");
    assert_eq!(error.to_string(), cause);
}

const PLAIN: &str = "type digits with one decimal point or comma, such as 80.013; inches also as 3 5/32";

#[test]
fn what_is_no_number_is_refused() {
    refuse("  ", "nothing was typed where a number is needed", PLAIN);
    for text in ["mm", "NaN mm", "inf mm", "- mm", "+-. mm"] {
        refuse(text, &format!("`{text}` is not a number"), PLAIN);
    }
    for text in ["--3", "- 3", "3-", "3-4", "1 234", "3 . 5", "+-1"] {
        refuse(&format!("{text} mm"), &format!("`{text}` is not a number"), PLAIN);
    }
    let out_in_full = "write the number out in full, or choose a smaller or larger unit";
    refuse("1e3 mm", "`1e3 mm` has an exponent", out_in_full);
    assert_eq!(Quantity::parse_number("1e3", Unit::Millimetre).unwrap_err().cause(), "`1e3` has an exponent");
    refuse("1.5E-6 m", "`1.5E-6 m` has an exponent", out_in_full);
}

#[test]
fn separators_that_leave_doubt_are_refused() {
    let way_out = "leave thousands unmarked: 1234.5 or 1234,5";
    for text in ["1,234.5", "1.234.567", "1..5", "1,,5"] {
        let cause = format!("`{text}` has more than one `.` or `,`, so its size is not clear");
        refuse(&format!("{text} mm"), &cause, way_out);
    }
    refuse(
        "80. mm",
        "`80.` ends with its decimal separator, so its last digit is not known",
        "write 80.0 or leave the separator off",
    );
}

#[test]
fn more_digits_than_are_kept_are_refused() {
    let way_out = "leave off the digits the gauge cannot show, or choose a fitting unit";
    for (text, digits) in [("1234567890123", 13), ("80.00000000001", 13), ("0.0000000000001", 13)] {
        let cause =
            format!("`{text}` has {digits} digits; at most 12 are kept, before or after the separator");
        refuse(&format!("{text} mm"), &cause, way_out);
    }
    let long = "0".repeat(33);
    refuse(
        &format!("{long} mm"),
        &format!("`{long}` has 33 bytes; at most 32 are read"),
        "a number has at most 32 characters; leave notes out",
    );
    assert!(Quantity::parse(&"1".repeat(65)).unwrap_err().cause().contains("65 bytes"));
}

#[test]
fn fractions_are_for_inches_and_proper() {
    refuse(
        "5/32 mm",
        "`5/32` is a fraction, and fractions are for inches, not for mm",
        "type a decimal, or give the size in inches",
    );
    let cause = "`3-5/32` is a fraction, and fractions are for inches, not for mm";
    refuse("3-5/32 mm", cause, "type a decimal, or give the size in inches");
    for text in [
        "5/33", "3-5/33", "3-5/4", "3--1/2", "3-1-1/2", "3 -1/2", "3- 1/2", "0.5-1/2", "5/4", "0/4", "1/0",
        "3.5 1/2", "1/2/4", "/2", "1/", "1/256", "4/ 8",
    ] {
        refuse(
            &format!("{text} in"),
            &format!("`{text}` is not a fraction of an inch in halves to 128ths"),
            "write it like 3 5/32 or 1/64, or as a decimal",
        );
    }
}

#[test]
fn units_that_leave_doubt_are_refused() {
    refuse("80.013", "`80.013` has no unit", "add the unit, such as 80.013 mm");
    let inches = "add the unit, such as 11/64 in; fractions are for inches";
    refuse("11/64", "`11/64` has no unit", inches);
    let warm = Quantity::parse_as("1/2", Kind::Temperature).unwrap_err();
    assert_eq!(warm.hint(), "type a decimal with its unit, such as in °C");
    refuse(
        "80 parsec",
        "`parsec` is not a known unit",
        "use a unit such as mm, µm, in, thou, °C, N·m, lbf·ft, g, cm³ or deg",
    );
    refuse("80 MM", "`MM` is not a known unit", "write mm; large and small letters differ");
    refuse("30 nm", "`nm` could mean more than one unit", "write N·m for a torque, or µm for a length");
    refuse(
        "2 tenths",
        "`tenths` could mean more than one unit",
        "write 0.1 thou for a ten-thousandth of an inch, or 0.1 mm",
    );
}

#[test]
fn the_impossible_is_refused_with_its_bounds() {
    refuse(
        "120000 mm",
        "120000 mm is outside what a length may be: -100000 mm to 100000 mm",
        "check the unit and the decimal point",
    );
    refuse(
        "-459.68 °F",
        "-459.68 °F is outside what a temperature may be: -459.67 °F to 1832 °F",
        "check the sign and the unit (°C or °F)",
    );
    refuse(
        "-0.1 g",
        "-0.1 g is outside what a mass may be: 0 g to 9000000 g",
        "a mass is not negative; tare the scale or check the unit",
    );
    refuse("3.5 pcs", "3.5 pcs is not a whole number of things", "count whole things, without a sign");
    for &kind in Kind::ALL {
        let text = format!("-999999999999{}{}", kind.main_unit().gap(), kind.main_unit());
        let error = Quantity::parse(&text).unwrap_err();
        assert!(error.cause().contains("is outside what"), "{}", error.cause());
        assert_eq!(error.hint(), kind.hint());
    }
}

#[test]
fn stored_text_is_refused_when_this_program_cannot_have_written_it() {
    let refused = |typed: &str, code| Quantity::from_wire(typed, code).unwrap_err().cause();
    assert_eq!(refused("1", 0), "unit code 0 is not known to this version");
    assert_eq!(refused("1", u32::MAX), "unit code 4294967295 is not known to this version");
    assert_eq!(refused(" 1", 101), "` 1` is not a number");
    assert_eq!(refused("", 101), "nothing was typed where a number is needed");
    assert_eq!(refused("1 mm", 101), "`1 mm` is not a number");
}

#[test]
fn a_quantity_of_another_kind_is_refused_by_name() {
    let error = Quantity::parse("20 °C").unwrap().of_kind(Kind::Length).unwrap_err();
    assert_eq!(error.cause(), "20 °C is a temperature, where a length is needed");
    assert_eq!(error.hint(), "give a length, such as in mm");
}
