//! What is due today: the one question that needs a clock, which is an argument.

use super::workshop::Workshop;
use crate::entry::payload::Millis;

/// A calibration that has run out, or soon will.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Due {
    /// Mark of the instrument.
    pub mark: String,
    /// Last moment of its newest calibration; none: not known.
    pub until: Option<Millis>,
    /// Whether that moment has passed, or is not known.
    pub overdue: bool,
}

/// Instruments whose calibration is not known, has run out at `now`, or will `within`
/// milliseconds. By mark.
#[must_use]
pub fn due(workshop: &Workshop, now: Millis, within: Millis) -> Vec<Due> {
    let until = |calibrated: &[(Millis, Millis)]| calibrated.iter().map(|(_, to)| *to).max();
    workshop
        .gauges()
        .map(|gauge| (gauge, until(&gauge.calibrated)))
        .filter(|(_, until)| until.is_none_or(|until| until < now.saturating_add(within)))
        .map(|(gauge, until)| Due {
            mark: gauge.mark.to_string(),
            until,
            overdue: until.is_none_or(|until| until < now),
        })
        .collect()
}
