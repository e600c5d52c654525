//! Exact ratios and the one rounding rule: to the nearest, a tie to the even neighbour.

use std::cmp::Ordering;

/// An exact value in base units: `num / den`, in lowest terms, `den > 0`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) struct Ratio {
    num: i128,
    den: u64,
}

impl Ratio {
    /// Reduces. A nought below the line counts as one; no caller has it.
    pub(super) fn new(num: i128, den: u64) -> Self {
        let den = den.max(1);
        let rest = num.unsigned_abs() % u128::from(den);
        // `rest < den`, so it fits; should it ever not, the ratio is merely left unreduced.
        let common = gcd(den, u64::try_from(rest).unwrap_or(1));
        let num = if common == 1 { num } else { num / i128::from(common) };
        Self { num, den: den / common }
    }

    pub(super) const fn num(self) -> i128 {
        self.num
    }

    pub(super) const fn den(self) -> u64 {
        self.den
    }

    pub(super) const fn is_whole(self) -> bool {
        self.den == 1
    }

    /// To the nearest whole number, a tie to the even one.
    pub(super) fn round(self) -> i128 {
        if self.is_whole() { self.num } else { round(self.num, self.den) }
    }

    pub(super) fn cmp_whole(self, whole: i64) -> Ordering {
        self.num.cmp(&(i128::from(whole) * i128::from(self.den)))
    }
}

/// `num / den` to the nearest whole number, a tie to the even one; `den` is above nought.
pub(super) fn round(num: i128, den: u64) -> i128 {
    let den = i128::from(den);
    let below = num.div_euclid(den);
    let rest = num - below * den;
    below + i128::from(rounds_up(rest.unsigned_abs(), den.unsigned_abs(), below & 1 == 1))
}

/// Whether `rest / den` (less than one) lifts what stands before it; `odd` breaks a tie.
fn rounds_up(rest: u128, den: u128, odd: bool) -> bool {
    match (rest * 2).cmp(&den) {
        Ordering::Less => false,
        Ordering::Equal => odd,
        Ordering::Greater => true,
    }
}

/// Greatest common divisor; that of nought and `a` is `a`.
///
/// By halving and subtracting: every reading takes one, and dividing is several times slower.
pub(super) const fn gcd(a: u64, b: u64) -> u64 {
    if a == 0 || b == 0 {
        return a | b;
    }
    let twos = (a | b).trailing_zeros();
    let mut odd = a >> a.trailing_zeros();
    let mut other = b;
    while other != 0 {
        other >>= other.trailing_zeros();
        let less = if odd < other { odd } else { other };
        other = odd.abs_diff(other);
        odd = less;
    }
    odd << twos
}

/// Decimals that may be shown.
pub(super) const MAX_DECIMALS: u8 = 12;

/// Writes `num / den` to so many decimals, half to even; a rounded nought has no sign.
///
/// Digit by digit, so that nothing overflows while `den` stays below 2^123.
pub(super) fn decimal(num: i128, den: u128, decimals: u8) -> String {
    let decimals = decimals.min(MAX_DECIMALS);
    let mut digits = num.unsigned_abs() / den;
    let mut rest = num.unsigned_abs() % den;
    for _ in 0..decimals {
        rest *= 10;
        digits = digits * 10 + rest / den;
        rest %= den;
    }
    digits += u128::from(rounds_up(rest, den, digits & 1 == 1));

    let width = usize::from(decimals) + 1;
    let mut text = format!("{digits:0width$}");
    if decimals > 0 {
        text.insert(text.len() - usize::from(decimals), '.');
    }
    if num < 0 && digits != 0 {
        text.insert(0, '-');
    }
    text
}

/// Writes `num / den` rounded to a multiple of ten, a hundred and so on, half to even.
pub(super) fn decimal_to_tens(num: i128, den: u128, tens: u32) -> String {
    let step = 10_u128.saturating_pow(tens);
    let mut text = decimal(num, den.saturating_mul(step), 0);
    if text != "0" {
        text.extend(std::iter::repeat_n('0', usize::try_from(tens).unwrap_or(0)));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(num: i128, den: u64, whole: i128, decimals: u8, text: &str) {
        assert_eq!(Ratio::new(num, den).round(), whole, "{num}/{den}");
        assert_eq!(decimal(num, u128::from(den), decimals), text, "{num}/{den}");
    }

    #[test]
    fn a_tie_goes_to_the_even_neighbour_on_both_sides_of_nought() {
        check(1, 2, 0, 0, "0");
        check(3, 2, 2, 0, "2");
        check(5, 2, 2, 0, "2");
        check(-1, 2, 0, 0, "0");
        check(-3, 2, -2, 0, "-2");
        check(-5, 2, -2, 0, "-2");
        check(25, 100, 0, 1, "0.2");
        check(35, 100, 0, 1, "0.4");
    }

    #[test]
    fn what_is_no_tie_goes_to_the_nearest() {
        check(26, 100, 0, 1, "0.3");
        check(-7, 4, -2, 1, "-1.8");
        check(-5, 4, -1, 2, "-1.25");
        check(1, 3, 0, 12, "0.333333333333");
        check(999, 1000, 1, 2, "1.00");
    }

    #[test]
    fn a_rounded_nought_has_no_sign() {
        check(-1, 1000, 0, 2, "0.00");
        check(-1, 1000, 0, 3, "-0.001");
    }

    #[test]
    fn ratios_are_in_lowest_terms() {
        let ratio = Ratio::new(-50, 60);
        assert_eq!((ratio.num(), ratio.den()), (-5, 6));
        let whole = Ratio::new(120, 60);
        assert_eq!((whole.num(), whole.den(), whole.is_whole()), (2, 1, true));
        assert_eq!(Ratio::new(0, 7), Ratio::new(0, 1));
    }

    #[test]
    fn common_divisors_are_found() {
        for (a, b, common) in [(0, 0, 0), (0, 7, 7), (7, 0, 7), (12, 18, 6), (1, 9, 1), (48, 64, 16)] {
            assert_eq!(gcd(a, b), common, "{a} {b}");
        }
        assert_eq!(gcd(u64::MAX, 5), 5);
        assert_eq!(gcd(1 << 63, 1 << 40), 1 << 40);
    }

    #[test]
    fn rounding_to_tens_pads_with_noughts() {
        assert_eq!(decimal_to_tens(819, 10, 1), "80");
        assert_eq!(decimal_to_tens(850, 10, 1), "80");
        assert_eq!(decimal_to_tens(-951, 10, 1), "-100");
        assert_eq!(decimal_to_tens(4, 1, 1), "0");
    }
}
