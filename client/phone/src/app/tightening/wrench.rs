//! The wrench in the hand: which can be set to a figure, and how the figure reads on its scale.

use gudgeon_core::assess::GaugeFacts;
use gudgeon_core::engine::instrument;
use gudgeon_core::quantity::{Kind, Quantity, Unit};
use gudgeon_core::sheet::Moment;

use crate::app::Desk;
use crate::app::sight::Sight;

/// A wrench to choose.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Its mark.
    pub mark: String,
    /// Whether it can be set to the figure, and its calibration holds.
    pub fits: bool,
    /// Its range.
    pub range: String,
    /// Its calibration, and what speaks against it.
    pub remarks: Vec<String>,
}

/// The tools for a figure, those that fit first.
pub(super) fn lines(desk: &Desk, sight: &Sight, set: &Quantity) -> Vec<Line> {
    let is_tool =
        |gauge: &&GaugeFacts| instrument::find(&gauge.sort).is_some_and(|sort| sort.kind == set.kind());
    let now = desk.now();
    let tools = sight.workshop.gauges().filter(is_tool);
    let mut lines: Vec<Line> = tools.map(|gauge| line(gauge, sight, set, now)).collect();
    lines.sort_by(|a, b| (!a.fits, &a.mark).cmp(&(!b.fits, &b.mark)));
    lines
}

fn line(gauge: &GaugeFacts, sight: &Sight, set: &Quantity, now: i64) -> Line {
    let (low, high) = scale(sight, &gauge.mark);
    let mut against = out_of_range(gauge, set);
    if !gauge.calibrated_at(now) {
        against.push("out of calibration, or it is not known".to_owned());
    }
    let fits = against.is_empty();
    let until = gauge.calibrated.iter().map(|(_, to)| *to).max().filter(|_| gauge.calibrated_at(now));
    let until = until.map(|to| format!("calibrated until {}", Moment(to).day()));
    let unseen = (!gauge.seen).then(|| "nobody saw its certificate".to_owned());
    Line {
        mark: gauge.mark.to_string(),
        fits,
        range: range(low.as_ref(), high.as_ref()),
        remarks: against.into_iter().chain(until).chain(unseen).collect(),
    }
}

/// Source of the lowest share of the range: ISO 6789-1:2017.
fn out_of_range(gauge: &GaugeFacts, set: &Quantity) -> Vec<String> {
    let set = set.amount();
    let (low, high) = gauge.range;
    if low.is_some_and(|low| set.base() < low.base()) {
        return vec!["the figure is below its range".to_owned()];
    }
    if high.is_some_and(|high| set.base() > high.base()) {
        return vec!["the figure is above its range".to_owned()];
    }
    let lowest =
        instrument::find(&gauge.sort).and_then(|sort| sort.percent).map(|percent| percent.lowest_percent);
    let under = |(high, percent): (gudgeon_core::quantity::Amount, u8)| {
        let share = i128::from(high.base()) * i128::from(percent);
        (i128::from(set.base()) * 100 < share)
            .then(|| format!("the figure is under {percent} % of its range"))
    };
    high.zip(lowest).and_then(under).into_iter().collect()
}

fn range(low: Option<&Quantity>, high: Option<&Quantity>) -> String {
    match (low, high) {
        (Some(low), Some(high)) => format!("{low} to {high}"),
        (None, Some(high)) => format!("up to {high}"),
        (Some(low), None) => format!("from {low}"),
        (None, None) => "its range is not entered".to_owned(),
    }
}

/// The ends of a wrench's scale, as they were entered.
fn scale(sight: &Sight, mark: &str) -> (Option<Quantity>, Option<Quantity>) {
    let says = sight.workshop.roster().instruments().get(mark).and_then(|versions| versions.latest());
    says.map_or((None, None), |version| (version.says.range_low.clone(), version.says.range_high.clone()))
}

/// The maker's figure as it reads on the scale of a wrench: verbatim where the unit is the maker's, or no
/// wrench is chosen; else converted, to a tenth.
pub(super) fn shown(sight: &Sight, mark: &str, wanted: &Quantity, now: i64) -> Quantity {
    let known = sight.workshop.gauge_at(mark.trim(), now).is_some();
    let (low, high) = if known { scale(sight, mark.trim()) } else { (None, None) };
    let unit = high.or(low).map(|end| end.unit()).filter(|unit| unit.kind() == wanted.kind());
    match unit {
        Some(unit) if unit != wanted.unit() => {
            let digits = wanted.amount().digits(unit, 1);
            let read = digits.and_then(|digits| Quantity::parse_number(&digits, unit).ok());
            read.unwrap_or_else(|| wanted.clone())
        }
        Some(_) | None => wanted.clone(),
    }
}

/// The figure in the other unit, and the maker's own where it was converted.
pub(super) fn beneath(shown: &Quantity, wanted: &Quantity) -> String {
    if shown.kind() != Kind::Torque {
        return String::new();
    }
    if shown.unit() != wanted.unit() {
        return format!("the maker's figure: {wanted}");
    }
    let other = if shown.unit() == Unit::NewtonMetre { Unit::PoundForceFoot } else { Unit::NewtonMetre };
    wanted.amount().show(other, 1)
}
