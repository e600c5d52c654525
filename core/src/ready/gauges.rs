//! The gauges that a definition wants to hand.

use super::{Build, Group, Need, State, first_good};
use crate::assess::{GaugeFacts, show};
use crate::engine::instrument;
use crate::quantity::{Amount, Kind, Quantity};

/// Each instrument that the definition names.
pub(super) fn wanted(build: Build) -> Vec<Need> {
    let one = |wanted: &crate::engine::Wanted| {
        let ends = (wanted.low.as_ref().map(Quantity::amount), wanted.high.as_ref().map(Quantity::amount));
        let range = match (&wanted.low, &wanted.high) {
            (Some(low), Some(high)) => format!(", {low} to {high}"),
            (Some(low), None) => format!(", from {low}"),
            (None, Some(high)) => format!(", up to {high}"),
            (None, None) => String::new(),
        };
        let what = format!("{} for {}{range}", wanted.sort.name, wanted.purpose);
        let of_sort = build.workshop.gauges().filter(|gauge| gauge.sort == wanted.sort.name);
        let state = match first_good(of_sort.map(|gauge| (gauge, problem(build, gauge, ends)))) {
            Ok(gauge) => State::There(named(gauge)),
            Err(reasons) if reasons.is_empty() => State::Missing(
                format!("the workshop lists no {}", wanted.sort.name),
                format!("gauge add MARK --sort {}", wanted.sort.name),
            ),
            Err(reasons) => State::Missing(reasons.join("; "), "calibrate or enter one that does".to_owned()),
        };
        Need { group: Group::Gauges, what, state }
    };
    build.definition.instruments().iter().map(one).collect()
}

/// A gauge by its mark; where it is not known how far it reaches, that.
pub(super) fn named(gauge: &GaugeFacts) -> String {
    match gauge.range {
        (None, None) => format!("{} (its range is not entered)", gauge.mark),
        _ => gauge.mark.to_string(),
    }
}

/// Why a gauge does not serve sizes between these ends; none: it does.
pub(super) fn problem(
    build: Build,
    gauge: &GaugeFacts,
    (low, high): (Option<Amount>, Option<Amount>),
) -> Option<String> {
    let mark = &gauge.mark;
    if let Some(trouble) = trusted(build, gauge) {
        return Some(trouble);
    }
    let (from, to) = gauge.range;
    let below =
        low.zip(from).is_some_and(|(low, from)| low.kind() == from.kind() && low.base() < from.base());
    let above = high.zip(to).is_some_and(|(high, to)| high.kind() == to.kind() && high.base() > to.base());
    if below || above {
        let kind = from.or(to).map_or(Kind::Length, Amount::kind);
        let range = show::limits(kind, from.map(Amount::base), to.map(Amount::base));
        return Some(format!("{mark} reaches {range}"));
    }
    let wants_master = instrument::find(&gauge.sort).is_some_and(|sort| sort.needs_master);
    if !wants_master {
        return None;
    }
    match build.workshop.gauge(&gauge.master) {
        None if gauge.master.is_empty() => Some(format!("{mark}: not said what it is set with")),
        None => Some(format!("{mark} is set with {}, which is not listed", gauge.master)),
        Some(master) => trusted(build, master),
    }
}

/// Why nothing would be proven with a gauge, whatever the size; none: its calibration holds.
pub(super) fn trusted(build: Build, gauge: &GaugeFacts) -> Option<String> {
    let mark = &gauge.mark;
    if gauge.disputed {
        return Some(format!("{mark}: two statements of it differ"));
    }
    if !gauge.by_lead {
        return Some(format!("{mark} was added on the spot, and no lead has entered it"));
    }
    (!gauge.calibrated_at(build.now)).then(|| format!("{mark} is out of calibration, or it is not known"))
}
