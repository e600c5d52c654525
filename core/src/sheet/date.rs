//! Moments as people write them. No clock: a moment is what some device said it was.

use std::fmt;

/// Milliseconds since 1970-01-01 UTC by some device's clock; shown as `2026-02-03T13:40:05Z`.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Moment(pub i64);

impl Moment {
    /// The day alone: `2026-02-03`.
    #[must_use]
    pub fn day(self) -> String {
        let (year, month, day) = civil(self.0.div_euclid(86_400_000));
        format!("{year:04}-{month:02}-{day:02}")
    }

    /// To the second, with a space: `2026-02-03 13:40:05Z`.
    #[must_use]
    pub fn spaced(self) -> String {
        format!("{} {}", self.day(), self.clock())
    }

    /// As a clock on the wall shows it that is so many minutes ahead of UTC: `2026-02-03` and `13:40`.
    #[must_use]
    pub fn on_the_wall(self, minutes_ahead: i32) -> (String, String) {
        let there = Self(self.0.saturating_add(i64::from(minutes_ahead) * 60_000));
        let minute = there.0.div_euclid(60_000).rem_euclid(1440);
        (there.day(), format!("{:02}:{:02}", minute / 60, minute % 60))
    }

    fn clock(self) -> String {
        let second = self.0.div_euclid(1000).rem_euclid(86_400);
        format!("{:02}:{:02}:{:02}Z", second / 3600, second / 60 % 60, second % 60)
    }
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}T{}", self.day(), self.clock())
    }
}

impl fmt::Debug for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

/// Year, month and day of a count of days since 1970-01-01, in the Gregorian calendar.
///
/// Counts in eras of 400 years (146 097 days) that begin on a 1 March, so that the leap day
/// is the last of its year; within such a year the months begin on day (153 m + 2) / 5.
const fn civil(days: i64) -> (i64, i64, i64) {
    // 0000-03-01 lies 719 468 days before 1970-01-01.
    let shifted = days + 719_468;
    let (era, day_of_era) = (shifted.div_euclid(146_097), shifted.rem_euclid(146_097));
    let year_of_era = (day_of_era - day_of_era / 1460 + day_of_era / 36_524 - day_of_era / 146_096) / 365;
    let day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let march_month = (5 * day_of_year + 2) / 153;
    let day = day_of_year - (153 * march_month + 2) / 5 + 1;
    let month = if march_month < 10 { march_month + 3 } else { march_month - 9 };
    let year = year_of_era + era * 400 + if month <= 2 { 1 } else { 0 };
    (year, month, day)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moments_are_shown_in_utc() {
        // Seconds since 1970 of well-known moments (Unix time as POSIX defines it).
        for (seconds, shown) in [
            (0, "1970-01-01T00:00:00Z"),
            (-1, "1969-12-31T23:59:59Z"),
            (951_782_400, "2000-02-29T00:00:00Z"),
            (1_000_000_000, "2001-09-09T01:46:40Z"),
            (1_234_567_890, "2009-02-13T23:31:30Z"),
            (2_147_483_647, "2038-01-19T03:14:07Z"),
            (4_107_542_400, "2100-03-01T00:00:00Z"),
        ] {
            assert_eq!(Moment(seconds * 1000).to_string(), shown);
        }
        assert_eq!(Moment(1_000_000_000_999).spaced(), "2001-09-09 01:46:40Z");
    }

    #[test]
    fn a_clock_on_the_wall_is_ahead_of_utc_or_behind_it() {
        let moment = Moment(1_234_567_890_000); // 2009-02-13T23:31:30Z
        for (ahead, day, clock) in [
            (0, "2009-02-13", "23:31"),
            (60, "2009-02-14", "00:31"),
            (345, "2009-02-14", "05:16"), // a quarter of an hour off the hour, as in Nepal
            (-420, "2009-02-13", "16:31"),
        ] {
            assert_eq!(moment.on_the_wall(ahead), (day.to_owned(), clock.to_owned()), "{ahead}");
        }
    }

    #[test]
    fn any_number_is_some_moment() {
        for millis in [i64::MIN, i64::MAX] {
            assert!(Moment(millis).to_string().ends_with('Z'));
        }
    }

    #[test]
    fn days_follow_each_other_by_the_calendar_s_own_rule() {
        let leap = |year: i64| year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
        let (mut year, mut month, mut day) = (1970, 1, 1);
        for count in 0..200_000 {
            assert_eq!(civil(count), (year, month, day));
            let last = match month {
                2 => 28 + i64::from(leap(year)),
                4 | 6 | 9 | 11 => 30,
                _ => 31,
            };
            day += 1;
            if day > last {
                (month, day) = (month + 1, 1);
            }
            if month > 12 {
                (year, month) = (year + 1, 1);
            }
        }
    }
}
