//! Whether the shop's gauges can prove each limit.

use std::collections::BTreeSet;

use super::gauges::{named, problem};
use super::{Build, Group, Need, State};
use crate::assess::{LimitInForce, show};
use crate::engine::characteristic::{self, Characteristic};
use crate::engine::derivation::{self, Derivation};
use crate::engine::{Feature, FeatureKind, Limit, Role, instrument};
use crate::measure::{Accept, Uncertainty, combine, judge};
use crate::quantity::{Amount, Kind};

/// Each limit of a length: one line for a kind of feature and a value.
pub(super) fn provable(build: Build) -> Vec<Need> {
    let mut said: BTreeSet<(FeatureKind, &str)> = BTreeSet::new();
    let mut needs = Vec::new();
    for limit in build.definition.limits().iter().filter(|limit| limit.kind == Kind::Length) {
        let Some(feature) = feature_of(build, limit) else { continue };
        let Some(force) = in_force(build, &feature, &limit.name) else { continue };
        if !said.insert((feature.kind(), &limit.name)) {
            continue;
        }
        let found = match derivation::find(feature.kind(), &limit.name) {
            Some(row) => of_derived(build, row),
            None => of_measured(build, feature.kind(), &limit.name, &force),
        };
        let what = format!("{} {}, {}", feature.kind(), limit.name, limits(&force));
        needs.push(Need { group: Group::Limits, what, state: state(found, &force) });
    }
    needs
}

fn limits(force: &LimitInForce) -> String {
    show::limits(Kind::Length, force.lower, force.upper)
}

fn in_force(build: Build, feature: &Feature, name: &str) -> Option<LimitInForce> {
    build.assessment.limit_in_force(build.record, build.workshop, feature, name)
}

/// A feature that a limit is for; of parts with free marks any mark will do.
fn feature_of(build: Build, limit: &Limit) -> Option<Feature> {
    let own = build.definition.features().iter().find(|feature| limit.is_for(feature));
    own.cloned().or_else(|| build.definition.feature(&limit.feature.replace('*', "A")).ok())
}

/// A gauge, and the uncertainty of one reading with it; or how it stands without one.
type Found = Result<(String, Uncertainty), State>;

fn missing(why: String) -> State {
    State::Missing(why, "add or calibrate a gauge for it".to_owned())
}

fn state(found: Found, force: &LimitInForce) -> State {
    let (with, u) = match found {
        Ok(found) => found,
        Err(state) => return state,
    };
    let middle = force.lower.or(force.upper).unwrap_or_default();
    let known = show::uncertainty(Kind::Length, u.base());
    match judge(middle, Some(u), force.lower, force.upper, force.rule).accept {
        Accept::Nowhere => State::Missing(
            format!("{with} (u {known}) cannot prove it: the tolerance is too narrow for it"),
            "a better gauge, or a lead sets another decision rule".to_owned(),
        ),
        Accept::Between { low, high } => {
            State::There(format!("{with} (u {known}) proves {}", show::limits(Kind::Length, low, high)))
        }
    }
}

/// The gauge with the least uncertainty that reaches the limits.
fn of_measured(build: Build, kind: FeatureKind, name: &str, force: &LimitInForce) -> Found {
    let Some(row) = characteristic::find(kind, name) else {
        return Err(missing(format!("{name} is not measured")));
    };
    let ends = (force.lower.or(force.upper), force.upper.or(force.lower));
    let amount = |base: Option<i64>| base.map(|base| Amount::new(Kind::Length, base));
    let ends = (amount(ends.0), amount(ends.1));
    let mut reasons = Vec::new();
    let mut best: Option<(String, Uncertainty)> = None;
    for gauge in build.workshop.gauges().filter(|gauge| fits(row, &gauge.sort)) {
        if let Some(problem) = problem(build, gauge, ends) {
            reasons.push(problem);
            continue;
        }
        let master = build.workshop.gauge(&gauge.master);
        match gauge.set_with(master) {
            Some(u) if best.as_ref().is_none_or(|(_, least)| u < *least) => {
                best = Some((named(gauge), u));
            }
            Some(_) => {}
            None => reasons.push(format!("the uncertainty of {} is not known", gauge.mark)),
        }
    }
    let none = || match reasons.is_empty() {
        true => missing("the workshop lists no gauge that suits it".to_owned()),
        false => missing(reasons.join("; ")),
    };
    best.ok_or_else(none)
}

/// Whether a sort of gauge is used for such a size: comparators where it is read as a deviation.
fn fits(row: &Characteristic, sort: &str) -> bool {
    let Some(sort) = instrument::find(sort) else { return false };
    // A setting ring or a block is a standard, not a gauge: it has neither a display nor a master.
    sort.kind == row.kind && sort.needs_master == row.comparator && sort.resolution > 0
}

/// The uncertainty that a derived value comes to with the best gauge for each of its inputs.
fn of_derived(build: Build, row: &Derivation) -> Found {
    let mut all = Vec::new();
    let mut with = Vec::new();
    for input in row.inputs {
        let kind = derivation::input_kind(row, input);
        let size = size_of(build, kind, input.characteristic);
        let look = || {
            State::Look(format!("a gauge for {kind} {}: no limit says how large it is", input.characteristic))
        };
        let force = size.ok_or_else(look)?;
        let (mark, u) = of_measured(build, kind, input.characteristic, &force)?;
        // Both shells, and both diameters of a form, are read.
        let twice = matches!(input.role, Role::Wall | Role::Size);
        all.extend(std::iter::repeat_n(u, if twice { 2 } else { 1 }));
        if !with.contains(&mark) {
            with.push(mark);
        }
    }
    let u = combine(&all).map_err(|error| missing(error.to_string()))?;
    Ok((with.join(" and "), u))
}

/// The limits of a size that is measured, wherever on the kind they stand.
fn size_of(build: Build, kind: FeatureKind, name: &str) -> Option<LimitInForce> {
    let mut limits = build.definition.limits().iter().filter(|limit| limit.name == name);
    limits.find_map(|limit| {
        let feature = feature_of(build, limit)?;
        (feature.kind() == kind).then(|| in_force(build, &feature, name)).flatten()
    })
}
