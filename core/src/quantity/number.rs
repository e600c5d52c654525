//! Reads the number people type: digits with one `.` or `,`, or a fraction of an inch.

use super::Unit;
use super::error::Problem;

/// Bytes a typed number may have: twelve digits, a sign, and room for leading noughts.
pub(super) const MAX_NUMBER_BYTES: usize = 32;
/// Digits from the first that is not nought; also digits after the separator.
pub(super) const MAX_DIGITS: u32 = 12;
/// Digits of each part of a fraction.
const MAX_FRACTION_DIGITS: usize = 6;
/// Divisors on a rule, and one finer.
const DIVISORS: [u64; 7] = [2, 4, 8, 16, 32, 64, 128];

/// A typed number: `top / bottom`, where one part in `bottom` is its last digit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Number {
    /// Whether it has a minus sign (also before a nought).
    pub(super) negative: bool,
    pub(super) top: u64,
    /// A power of ten up to 1e12, or the divisor of a fraction. Not reduced.
    pub(super) bottom: u64,
}

/// Reads a number typed for `unit`, with no space around it.
pub(super) fn read(text: &str, unit: Unit) -> Result<Number, Problem> {
    if text.is_empty() {
        return Err(Problem::Empty);
    }
    if text.len() > MAX_NUMBER_BYTES {
        return Err(Problem::too_long(text, MAX_NUMBER_BYTES));
    }
    let (negative, body) = split_sign(text);
    let (top, bottom) = match body.split_once('/') {
        None => decimal(text, body)?,
        Some(_) if !unit.takes_fractions() => return Err(Problem::fraction_unit(text, unit)),
        Some((left, right)) => fraction(left, right).ok_or_else(|| Problem::bad_fraction(text))?,
    };
    Ok(Number { negative, top, bottom })
}

/// `3-11/64` as `3 11/64`, where that is a size: so people write it in the shop.
pub(super) fn without_hyphen(text: &str, unit: Unit) -> Option<String> {
    let (_, body) = split_sign(text);
    let (whole, fraction) = body.split_once('-')?;
    let is_hyphen = small(whole).is_some() && fraction.starts_with(|c: char| c.is_ascii_digit());
    let sign = text.strip_suffix(body)?;
    let spaced = format!("{sign}{whole} {fraction}");
    (is_hyphen && fraction.contains('/') && read(&spaced, unit).is_ok()).then_some(spaced)
}

/// Takes the sign off; U+2212 is what some keyboards give for a minus.
fn split_sign(text: &str) -> (bool, &str) {
    if let Some(body) = text.strip_prefix('-').or_else(|| text.strip_prefix('\u{2212}')) {
        (true, body)
    } else {
        (false, text.strip_prefix('+').unwrap_or(text))
    }
}

/// What was met on the way through a decimal number.
#[derive(Default)]
struct Digits {
    value: u64,
    significant: u32,
    places: u32,
    separators: u32,
    any: bool,
}

impl Digits {
    fn take(&mut self, digit: u8) {
        self.any = true;
        if self.significant > 0 || digit != 0 {
            self.significant += 1;
        }
        if self.significant <= MAX_DIGITS {
            self.value = self.value * 10 + u64::from(digit);
        }
        if self.separators > 0 {
            self.places += 1;
        }
    }
}

fn decimal(text: &str, body: &str) -> Result<(u64, u64), Problem> {
    let mut seen = Digits::default();
    for byte in body.bytes() {
        match byte {
            b'0'..=b'9' => seen.take(byte - b'0'),
            b'.' | b',' => seen.separators += 1,
            b'e' | b'E' if seen.any => return Err(Problem::exponent(text)),
            _ => return Err(Problem::not_a_number(text)),
        }
    }
    if !seen.any {
        return Err(Problem::not_a_number(text));
    }
    if seen.separators > 1 {
        return Err(Problem::two_separators(text));
    }
    if seen.separators == 1 && seen.places == 0 {
        return Err(Problem::unfinished(text));
    }
    if seen.significant.max(seen.places) > MAX_DIGITS {
        return Err(Problem::too_many_digits(text, seen.significant.max(seen.places)));
    }
    Ok((seen.value, 10_u64.pow(seen.places)))
}

/// `5/32`, or `3 5/32` split at its stroke.
fn fraction(left: &str, right: &str) -> Option<(u64, u64)> {
    let (whole, top) = match left.rsplit_once(' ') {
        Some((whole, top)) => (small(whole.trim_end_matches(' '))?, small(top)?),
        None => (0, small(left)?),
    };
    let bottom = small(right)?;
    let proper = DIVISORS.contains(&bottom) && (1..bottom).contains(&top);
    proper.then_some((whole * bottom + top, bottom))
}

fn small(text: &str) -> Option<u64> {
    let plain = !text.is_empty()
        && text.len() <= MAX_FRACTION_DIGITS
        && text.bytes().all(|byte| byte.is_ascii_digit());
    plain.then(|| text.parse().ok()).flatten()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    fn check(text: &str, negative: bool, top: u64, bottom: u64) {
        let number = read(text, Unit::Inch).unwrap();
        assert_eq!(number, Number { negative, top, bottom }, "{text:?}");
    }

    #[test]
    fn decimals_keep_the_place_of_the_last_digit() {
        check("80.013", false, 80_013, 1000);
        check("80,013", false, 80_013, 1000);
        check("80.10", false, 8010, 100);
        check("0.0005", false, 5, 10_000);
        check(".5", false, 5, 10);
        check("007", false, 7, 1);
        check("-0.4", true, 4, 10);
        check("\u{2212}0,4", true, 4, 10);
        check("+0.010", false, 10, 1000);
        check("-0", true, 0, 1);
        check("999999999999", false, 999_999_999_999, 1);
        check("0.000000000001", false, 1, 1_000_000_000_000);
        check("00000000000000000000000000000001", false, 1, 1);
    }

    #[test]
    fn fractions_keep_their_divisor() {
        check("5/32", false, 5, 32);
        check("3 5/32", false, 101, 32);
        check("3   5/32", false, 101, 32);
        check("-1/64", true, 1, 64);
        check("2/64", false, 2, 64);
        check("1 1/128", false, 129, 128);
    }
}
