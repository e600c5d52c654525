//! The gauges that read a characteristic, and what there is to say of each before it is used.

use gudgeon_core::assess::{GaugeFacts, show};
use gudgeon_core::engine::Characteristic;
use gudgeon_core::engine::reads::{Suits, set_on, suits};
use gudgeon_core::entry::Payload;

use super::super::sight::Sight;
use super::GaugeLine;
use super::habit::Habit;

/// The one gauge of the workshop that reads this, where there is only one.
pub(super) fn only_one(sight: &Sight, row: &Characteristic) -> Option<String> {
    let mut fit = sight.workshop.gauges().filter(|gauge| reads(gauge, row).is_some());
    fit.next().filter(|_| fit.next().is_none()).map(|gauge| gauge.mark.to_string())
}

/// How usual it is to read this with such a gauge; none: it is not made for it.
fn reads(gauge: &GaugeFacts, row: &Characteristic) -> Option<usize> {
    match suits(row, &gauge.sort) {
        Suits::Yes(way) => {
            let ways = gudgeon_core::engine::reads::ways(row).unwrap_or_default();
            ways.iter().position(|other| other.sort == way.sort)
        }
        Suits::NotKnown => Some(usize::MAX),
        Suits::No => None,
    }
}

/// Every gauge: those that read this first, of them the usual ones first.
pub(super) fn lines(
    sight: &Sight,
    row: &Characteristic,
    (habit, chosen): (&Habit, &str),
    (expected, now): (Option<i64>, i64),
) -> Vec<GaugeLine> {
    let usual = habit.gauge(row);
    let mut all: Vec<&GaugeFacts> = sight.workshop.gauges().collect();
    all.sort_by_key(|gauge| {
        let mark = &*gauge.mark;
        (
            reads(gauge, row).is_none(),
            mark != usual,
            !habit.has_used(mark),
            reads(gauge, row),
            mark.to_owned(),
        )
    });
    let line = |gauge: &&GaugeFacts| GaugeLine {
        mark: gauge.mark.to_string(),
        about: about(gauge),
        remarks: remarks(sight, gauge, row, (expected, now)),
        reads_this: reads(gauge, row).is_some(),
        chosen: *gauge.mark == *chosen,
    };
    all.iter().map(line).collect()
}

/// Sort, range and what it is worth, on one line.
fn about(gauge: &GaugeFacts) -> String {
    let mut words = vec![gauge.sort.replace('-', " ")];
    let ends = (gauge.range.0, gauge.range.1);
    if let (Some(low), Some(high), Some(kind)) = (ends.0, ends.1, gauge.kind) {
        words.push(show::span(kind, low.base(), high.base()));
    }
    if let (Some(u), Some(kind)) = (gauge.own, gauge.kind) {
        words.push(format!("u {}", show::uncertainty(kind, u.base())));
    }
    words.join(", ")
}

/// What there is to say of a gauge before it is used.
pub(super) fn remarks(
    sight: &Sight,
    gauge: &GaugeFacts,
    row: &Characteristic,
    (expected, now): (Option<i64>, i64),
) -> Vec<String> {
    let reaches = |size: i64| {
        let low = gauge.range.0.is_none_or(|low| low.kind() != row.kind || size >= low.base());
        low && gauge.range.1.is_none_or(|high| high.kind() != row.kind || size <= high.base())
    };
    let too_short = expected.filter(|size| !reaches(*size));
    let out = found_out(sight, &gauge.mark);
    let says = [
        (out, "found out at its last check".to_owned()),
        (reads(gauge, row).is_none(), "not made for this".to_owned()),
        (!gauge.shows, "shows no size".to_owned()),
        (!gauge.by_lead, "no lead has stated it: its readings prove nothing yet".to_owned()),
        (gauge.disputed, "stated differently by two, neither knowing of the other".to_owned()),
        (
            gauge.by_lead && !gauge.disputed && gauge.own.is_none(),
            "what it may err by is not known".to_owned(),
        ),
        (gauge.calibrated.is_empty(), "its calibration is not known".to_owned()),
        (!gauge.calibrated.is_empty() && !gauge.calibrated_at(now), "out of calibration".to_owned()),
        (gauge.master.is_empty() && !set_on(&gauge.sort).is_empty(), "name what it is set on".to_owned()),
        (
            too_short.is_some(),
            format!(
                "does not reach {}",
                too_short.map_or_else(String::new, |size| show::amount(row.kind, size))
            ),
        ),
    ];
    says.into_iter().filter(|(holds, _)| *holds).map(|(_, text)| text).collect()
}

/// Whether a gauge's last check in this record found it out.
fn found_out(sight: &Sight, mark: &str) -> bool {
    let checks = sight.log().folded().iter().rev().filter_map(|statement| match &statement.payload {
        Ok(Payload::GaugeCheck(check)) if check.gauge == mark => Some(check.passed),
        _ => None,
    });
    checks.take(1).any(|passed| !passed)
}

/// Marks of what a gauge of this sort can be set on.
pub(super) fn masters(sight: &Sight, gauge: &str) -> Vec<String> {
    let sort = sight.workshop.gauge(gauge).map(|gauge| gauge.sort.clone()).unwrap_or_default();
    let on = set_on(&sort);
    let fit = sight.workshop.gauges().filter(|other| on.contains(&other.sort.as_str()));
    fit.map(|other| other.mark.to_string()).collect()
}

/// About how large a size is expected to be, from its limits.
pub(super) fn middle(lower: Option<i64>, upper: Option<i64>) -> Option<i64> {
    lower.zip(upper).map(|(low, high)| low.midpoint(high)).or(lower).or(upper)
}
