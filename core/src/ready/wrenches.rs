//! A wrench for every stage of every group of fasteners.

use super::gauges::trusted;
use super::{Build, Group, Need, State, first_good};
use crate::assess::GaugeFacts;
use crate::engine::{Fastener, Method, instrument};
use crate::quantity::{Amount, Kind, Quantity};

/// Each stage of each group; the last one's method besides.
pub(super) fn stages(build: Build) -> Vec<Need> {
    build.definition.fasteners().iter().flat_map(|fastener| of_group(build, fastener)).collect()
}

fn of_group(build: Build, fastener: &Fastener) -> Vec<Need> {
    let need = |what: String, state: State| Need { group: Group::Wrenches, what, state };
    let torques = fastener.stages.iter().filter(|stage| stage.kind() == Kind::Torque);
    let mut needs: Vec<Need> = torques
        .map(|stage| need(format!("{} at {}", fastener.group, both(stage)), wrench(build, stage)))
        .collect();
    let look = |what: &str| need(format!("{}, last stage", fastener.group), State::Look(what.to_owned()));
    match fastener.method {
        Method::Torque => {}
        Method::Stretch => needs.push(look("a stretch gauge or micrometer that reaches both ends of a bolt")),
        Method::Angle => needs.push(look("an angle gauge, or marks on heads and faces")),
    }
    needs
}

/// A torque in the maker's unit and, in brackets, in the other.
fn both(stage: &Quantity) -> String {
    use crate::quantity::Unit;
    let other = if stage.unit() == Unit::NewtonMetre { Unit::PoundForceFoot } else { Unit::NewtonMetre };
    format!("{stage} ({})", stage.amount().show(other, 1))
}

fn wrench(build: Build, stage: &Quantity) -> State {
    let wrenches = build.workshop.gauges().filter(|gauge| {
        let sort = instrument::find(&gauge.sort);
        sort.is_some_and(|sort| sort.kind == Kind::Torque && sort.percent.is_some())
    });
    match first_good(wrenches.map(|gauge| (gauge, problem(build, gauge, stage.amount())))) {
        Ok(gauge) => State::There(gauge.mark.to_string()),
        Err(reasons) if reasons.is_empty() => State::Missing(
            "the workshop lists no torque wrench".to_owned(),
            "gauge add MARK --sort click-torque-wrench --range \"10 N·m..110 N·m\"".to_owned(),
        ),
        Err(reasons) => {
            State::Missing(reasons.join("; "), "another wrench, or have this one calibrated".to_owned())
        }
    }
}

/// Why a wrench does not suit a set point; none: it does. Source of the lowest share: ISO 6789-1:2017.
fn problem(build: Build, gauge: &GaugeFacts, stage: Amount) -> Option<String> {
    if let Some(trouble) = trusted(build, gauge) {
        return Some(trouble);
    }
    let mark = &gauge.mark;
    let (Some(low), Some(high)) = gauge.range else {
        return Some(format!("{mark}: its range is not entered"));
    };
    if stage.base() < low.base() || stage.base() > high.base() {
        return Some(format!("{mark} does not reach it"));
    }
    let percent = instrument::find(&gauge.sort)?.percent?;
    let lowest = i128::from(high.base()) * i128::from(percent.lowest_percent);
    let share = i128::from(stage.base()) * 100;
    (share < lowest).then(|| format!("{mark}: under {} % of its range", percent.lowest_percent))
}
