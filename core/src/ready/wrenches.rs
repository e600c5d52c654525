//! A wrench for every stage of every group of fasteners.

use super::standing::{Lack, Standing, best};
use super::{Build, Group, Need, Remedy, State};
use crate::assess::{FREE_LENGTH, GaugeFacts};
use crate::engine::instrument::{self, InstrumentSort};
use crate::engine::reads::{self, Way};
use crate::engine::{Fastener, FeatureKind, Method, characteristic};
use crate::quantity::{Amount, Kind, Quantity, Unit};

/// Each stage of each group, in its order; the last one's method besides.
pub(super) fn stages(build: Build) -> Vec<Need> {
    build.definition.fasteners().iter().flat_map(|fastener| of_group(build, fastener)).collect()
}

fn of_group(build: Build, fastener: &Fastener) -> Vec<Need> {
    let need = |what: String, state: State| Need { group: Group::Wrenches, what, state };
    let (group, all) = (&fastener.group, fastener.stages.len());
    let bolt = format!("{} {}", fastener.thread, fastener.class);
    let stage = |(number, stage): (usize, &Quantity)| {
        let what = format!("{group} ({bolt}), stage {number} of {all}, {}", both(stage));
        need(what, if stage.kind() == Kind::Torque { wrench(build, stage) } else { angle(build) })
    };
    let mut needs: Vec<Need> = (1..).zip(&fastener.stages).map(stage).collect();
    if fastener.method == Method::Stretch {
        needs.push(need(format!("{group} ({bolt}), stretch"), lengths(build)));
    }
    needs
}

/// What reads a bolt from end to end, by the sorts that a workshop lists.
fn lengths(build: Build) -> State {
    let row = characteristic::find(FeatureKind::RodBolts, FREE_LENGTH);
    let ways = row.and_then(reads::ways).unwrap_or_default();
    let said = |way: &Way| match way.with {
        "" => way.sort.to_owned(),
        with => format!("{} with {with}", way.sort),
    };
    let what = format!(
        "{}: that it reaches both ends of a bolt",
        ways.iter().map(said).collect::<Vec<_>>().join(", or ")
    );
    let listed = build.workshop.gauges().any(|gauge| ways.iter().any(|way| way.sort == gauge.sort));
    let first = ways.first().filter(|_| !listed);
    State::Look(what, first.map_or(Remedy::None, |way| Remedy::add(way.sort)))
}

/// A torque in the maker's unit and, in brackets, in the other; an angle as it is.
fn both(stage: &Quantity) -> String {
    if stage.kind() != Kind::Torque {
        return stage.to_string();
    }
    let other = if stage.unit() == Unit::NewtonMetre { Unit::PoundForceFoot } else { Unit::NewtonMetre };
    format!("{stage} ({})", stage.amount().show(other, 1))
}

fn of_kind(build: Build<'_>, is: fn(&InstrumentSort) -> bool) -> impl Iterator<Item = &GaugeFacts> {
    build.workshop.gauges().filter(move |gauge| instrument::find(&gauge.sort).is_some_and(is))
}

fn wrench(build: Build, stage: &Quantity) -> State {
    let wrenches = of_kind(build, |sort| sort.kind == Kind::Torque && sort.percent.is_some());
    let all = wrenches.map(|gauge| (gauge.mark.to_string(), standing(build, gauge, stage.amount())));
    let none =
        Lack::new("the workshop lists no torque wrench".to_owned(), Remedy::add("click-torque-wrench"));
    best(all.collect(), none)
}

/// An angle is marked where there is no gauge for it.
fn angle(build: Build) -> State {
    let gauges = of_kind(build, |sort| sort.kind == Kind::Angle);
    let all = gauges.map(|gauge| (gauge.mark.to_string(), Standing::trusted(build, gauge))).collect();
    match best(all, Lack::new(String::new(), Remedy::None)) {
        State::Missing(..) => {
            State::Look("an angle gauge, or marks on heads and faces".to_owned(), Remedy::None)
        }
        state @ (State::There(_) | State::Look(..) | State::Later(_)) => state,
    }
}

/// How a wrench stands with a set point. Source of the lowest share: ISO 6789-1:2017.
fn standing(build: Build, gauge: &GaugeFacts, stage: Amount) -> Standing {
    let mut standing = Standing::of(build, gauge, (Some(stage), Some(stage)));
    let largest = gauge.range.1.filter(|high| high.kind() == stage.kind());
    let percent = instrument::find(&gauge.sort).and_then(|sort| sort.percent);
    if let Some((high, percent)) = largest.zip(percent)
        && i128::from(stage.base()) * 100 < i128::from(high.base()) * i128::from(percent.lowest_percent)
    {
        let text = format!("{}: under {} % of its range", gauge.mark, percent.lowest_percent);
        standing.bad.push(Lack::new(text, Remedy::None));
    }
    if gauge.own.is_none() && gauge.error_percent.is_none() && standing.bad.is_empty() {
        let text = format!("{}: what it may err by is not entered", gauge.mark);
        standing.look.push(Lack::new(text, Remedy::Enter(gauge.mark.clone())));
    }
    standing
}
