//! How long to wait after wrong PINs.

/// Wait after so many wrong PINs in a row, in milliseconds; the last row holds for more.
pub const WAITS: &[i64] = &[0, 0, 0, 5_000, 15_000, 60_000, 5 * 60_000, 15 * 60_000];

/// Milliseconds left to wait, after `tries` wrong PINs of which the last was at `last`.
#[must_use]
pub fn left(tries: u32, last: i64, now: i64) -> i64 {
    let row = usize::try_from(tries).unwrap_or(usize::MAX).min(WAITS.len() - 1);
    let wait = WAITS.get(row).copied().unwrap_or_default();
    let passed = now.saturating_sub(last).max(0);
    wait.saturating_sub(passed).max(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_wait_grows_with_every_wrong_pin_and_ends() {
        assert!(WAITS.is_sorted());
        assert_eq!(left(2, 1_000, 1_000), 0);
        assert_eq!(left(3, 1_000, 1_000), 5_000);
        assert_eq!(left(3, 1_000, 5_999), 1);
        assert_eq!(left(3, 1_000, 6_000), 0);
        assert_eq!(left(7, 0, 0), 15 * 60_000);
        assert_eq!(left(u32::MAX, 0, 0), 15 * 60_000);
        assert_eq!(left(3, i64::MIN, i64::MAX), 0);
    }
}
