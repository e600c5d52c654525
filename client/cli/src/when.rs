//! Moments: always UTC, as ISO 8601 writes them.

use gudgeon_core::entry::payload::Millis;
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::failure::Failure;

/// Milliseconds of a day, less one: to its last moment.
const LAST_OF_DAY: i64 = 24 * 60 * 60 * 1000 - 1;

/// `2026-01-10T09:30:00Z`.
pub(crate) fn moment(millis: Millis) -> String {
    let moment = Timestamp::from_second(millis.div_euclid(1000));
    moment.map_or_else(|_| format!("{millis} ms"), |moment| moment.to_string())
}

/// `2026-01-10`.
pub(crate) fn day(millis: Millis) -> String {
    moment(millis).chars().take_while(|c| *c != 'T').collect()
}

/// The first moment of a day.
pub(crate) fn first_of(text: &str) -> Result<Millis, Failure> {
    let bad = |_| {
        let cause = format!("`{text}` is not a date");
        Failure::refused("date", cause, "write it as year-month-day, such as 2026-01-10")
    };
    let date: Date = text.trim().parse().map_err(bad)?;
    let midnight = TimeZone::UTC.to_timestamp(date.at(0, 0, 0, 0)).map_err(bad)?;
    Ok(midnight.as_millisecond())
}

/// The last moment of a day.
pub(crate) fn last_of(text: &str) -> Result<Millis, Failure> {
    first_of(text).map(|first| first + LAST_OF_DAY)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    // 2000-03-01 is 11017 days after 1970-01-01: 30 years of 365, 7 leap days (72 to 96),
    // then 31 + 29 days of a leap year.
    #[test]
    fn days_begin_and_end_at_midnight_utc() {
        assert_eq!(first_of("2000-03-01").unwrap(), 11_017 * 86_400_000);
        assert_eq!(last_of(" 2000-03-01 ").unwrap(), 11_018 * 86_400_000 - 1);
        assert_eq!(day(11_018 * 86_400_000 - 1), "2000-03-01");
        assert_eq!(moment(1_001), "1970-01-01T00:00:01Z");
        assert!(first_of("2001-02-29").is_err());
    }
}
