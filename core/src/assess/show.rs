//! Amounts in words: one rule for how many digits, used by findings, screens and sheets.

use super::judged::Judged;
use crate::entry::payload::Reading;
use crate::quantity::{Amount, Kind, Unit};

/// Unit and decimals in which a quantity is shown in sentences and on sheets.
#[must_use]
#[allow(clippy::wildcard_enum_match_arm)] // any other kind is shown in its main unit
pub const fn unit_of(kind: Kind) -> (Unit, u8) {
    match kind {
        Kind::Length => (Unit::Millimetre, 3),
        Kind::Torque => (Unit::NewtonMetre, 1),
        Kind::Mass => (Unit::Gram, 1),
        Kind::Volume => (Unit::CubicCentimetre, 2),
        Kind::Angle => (Unit::Degree, 2),
        Kind::Temperature => (Unit::Celsius, 1),
        _ => (kind.main_unit(), 3),
    }
}

/// An amount with its unit.
#[must_use]
pub fn amount(kind: Kind, base: i64) -> String {
    let (unit, decimals) = unit_of(kind);
    Amount::new(kind, base).show(unit, decimals)
}

/// An uncertainty: for lengths in micrometres to a tenth.
#[must_use]
pub fn uncertainty(kind: Kind, base: i64) -> String {
    if kind == Kind::Length {
        return Amount::new(kind, base).show(Unit::Micrometre, 1);
    }
    amount(kind, base)
}

/// Both ends of a value; one figure where they are the same.
#[must_use]
pub fn span(kind: Kind, low: i64, high: i64) -> String {
    let (unit, decimals) = unit_of(kind);
    let digits = |base: i64| Amount::new(kind, base).digits(unit, decimals).unwrap_or_default();
    if digits(low) == digits(high) {
        amount(kind, low)
    } else {
        format!("{} to {}", digits(low), amount(kind, high))
    }
}

/// Limits, such as `0.040 to 0.060 mm` or `at most 3.0 N·m`.
#[must_use]
pub fn limits(kind: Kind, lower: Option<i64>, upper: Option<i64>) -> String {
    match (lower, upper) {
        (Some(lower), Some(upper)) => span(kind, lower, upper),
        (Some(lower), None) => format!("at least {}", amount(kind, lower)),
        (None, Some(upper)) => format!("at most {}", amount(kind, upper)),
        (None, None) => "no limit".to_owned(),
    }
}

/// A reading as typed; a comparator reading as set size and deviation.
#[must_use]
pub fn reading(reading: &Reading) -> String {
    match &reading.set_size {
        None => reading.value.to_string(),
        Some(set) => format!("{set} {}", signed(&reading.value.to_string())),
    }
}

fn signed(text: &str) -> String {
    if text.starts_with(['+', '-']) { text.to_owned() } else { format!("+{text}") }
}

/// A judged value, its limits, its uncertainty and the rule that decides.
#[must_use]
pub fn value_against_limit(judged: &Judged) -> String {
    let value = match (judged.low, judged.high) {
        (Some(low), Some(high)) => span(judged.kind, low, high),
        _ => "no value".to_owned(),
    };
    let mut text = format!("{} {value}", judged.name);
    if let Some(limit) = &judged.limit {
        text.push_str(&format!(", limits {}", limits(judged.kind, limit.lower, limit.upper)));
    }
    match judged.u {
        Some(u) => text.push_str(&format!(", u {}", uncertainty(judged.kind, u.base()))),
        None => text.push_str(", uncertainty not known"),
    }
    if let Some(guard) = judged.guard().filter(|_| judged.u.is_some()) {
        text.push_str(&format!(", guard {}", uncertainty(judged.kind, guard)));
    }
    text.push_str(&format!(": {}", judged.verdict()));
    text
}
