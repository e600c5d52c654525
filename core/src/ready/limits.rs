//! Whether the shop's gauges can prove each limit.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::standing::{Lack, Standing, missing, there_or_look};
use super::{Build, Group, Need, Remedy, State};
use crate::assess::{GaugeFacts, LimitInForce, show};
use crate::engine::characteristic::{self, Characteristic};
use crate::engine::derivation::{self, Derivation};
use crate::engine::reads::{self, Suits, Way};
use crate::engine::{DecisionRule, Feature, FeatureKind, Limit, Role};
use crate::measure::{Accept, Rule, Uncertainty, UncertaintyError, combine, difference, judge};
use crate::plan::reach::Sizes;
use crate::quantity::{Amount, Kind, Quantity};

/// Each limit: one line for a kind of feature, a value and its limits.
pub(super) fn provable(build: Build) -> Vec<Need> {
    let mut said: BTreeSet<String> = BTreeSet::new();
    let mut needs = Vec::new();
    for limit in build.definition.limits() {
        let Some(feature) = feature_of(build, limit) else { continue };
        let force = in_force(build, &feature, limit);
        let kind = feature.kind();
        let shown = show::limits(limit.kind, force.lower, force.upper);
        let what = format!("{kind} {}, {shown}", limit.name);
        if said.insert(what.clone()) {
            needs.push(Need { group: Group::Limits, what, state: state(build, kind, limit, &force) });
        }
    }
    needs
}

/// The limit in force on a feature; of one station, which a lead cannot change, the definition's.
fn in_force(build: Build, feature: &Feature, limit: &Limit) -> LimitInForce {
    let own = || LimitInForce {
        lower: limit.lower_amount().map(Amount::base),
        upper: limit.upper.as_ref().map(|upper| upper.amount().base()),
        rule: rule(limit.rule),
        source: limit.source.clone(),
        by: None,
        disputed: Vec::new(),
    };
    let anywhere = limit.station.is_empty();
    let force = build.assessment.limit_in_force(build.record, build.workshop, feature, &limit.name);
    force.filter(|_| anywhere).unwrap_or_else(own)
}

const fn rule(rule: DecisionRule) -> Rule {
    match rule {
        DecisionRule::Strict => Rule::Strict,
        DecisionRule::Shared => Rule::Shared,
        DecisionRule::Simple => Rule::Simple,
    }
}

/// A feature that a limit is for; of parts with free marks any mark will do.
pub(super) fn feature_of(build: Build, limit: &Limit) -> Option<Feature> {
    let own = build.definition.features().iter().find(|feature| limit.is_for(feature));
    own.cloned().or_else(|| build.definition.feature(&limit.feature.replace('*', "A")).ok())
}

/// What reads a value, and how well.
#[derive(Clone, Debug)]
struct Means {
    with: String,
    /// Of one reading; none: its error is stated in per cent.
    u: Option<Uncertainty>,
    percent: Option<Quantity>,
    look: Vec<Lack>,
    /// What it goes back to, and the error that is the same in all that is read by that.
    standard: Option<(Arc<str>, Uncertainty)>,
    /// Whether the step that the gauge shows is stated.
    shows_step: bool,
}

/// Which of several means is taken.
#[derive(Clone, Copy)]
enum Prefer {
    /// One at which nobody has to look first.
    Sure,
    /// The one that errs least.
    Best,
}

fn state(build: Build, kind: FeatureKind, limit: &Limit, force: &LimitInForce) -> State {
    let found = |prefer: Prefer| match derivation::find(kind, &limit.name) {
        Some(row) => of_derived(build, row, prefer),
        None => of_measured(build, kind, limit, force, prefer),
    };
    let sure = match found(Prefer::Sure) {
        Ok(means) => proves(&means, limit.kind, force),
        Err(state) => return state,
    };
    let best = || found(Prefer::Best).ok().and_then(|means| proves(&means, limit.kind, force).ok());
    sure.or_else(|state| best().ok_or(state)).unwrap_or_else(|state| state)
}

/// What means can prove; else why they cannot.
fn proves(means: &Means, kind: Kind, force: &LimitInForce) -> Result<State, State> {
    let errs = match (means.u, &means.percent) {
        (Some(u), _) => format!("{} (u {})", means.with, show::uncertainty(kind, u.base())),
        (None, Some(percent)) => format!("{} (errs by {percent})", means.with),
        (None, None) => means.with.clone(),
    };
    if force.rule == Rule::Simple {
        return Ok(there_or_look(format!("{errs}; by the simple rule, with no guard"), &means.look));
    }
    if means.u.is_none() {
        let way_out = "state its error as a size, with --error, or a lead sets the simple rule";
        let why = format!("{errs}: what is stated in per cent proves nothing by this limit's rule");
        return Err(State::Missing(why, Remedy::Words(way_out.to_owned())));
    }
    let middle = force.lower.or(force.upper).unwrap_or_default();
    match judge(middle, means.u, force.lower, force.upper, force.rule).accept {
        Accept::Nowhere => Err(State::Missing(
            format!("{errs} cannot prove it: the tolerance is too narrow for it"),
            Remedy::Words("a better gauge, or a lead sets another decision rule".to_owned()),
        )),
        Accept::Between { low, high } => {
            let text = format!("{errs} proves {}", show::limits(kind, low, high));
            Ok(there_or_look(text, &means.look))
        }
    }
}

/// The gauge that reads a size between limits.
fn of_measured(
    build: Build,
    kind: FeatureKind,
    limit: &Limit,
    force: &LimitInForce,
    prefer: Prefer,
) -> Result<Means, State> {
    let Some(row) = characteristic::find(kind, &limit.name) else {
        let why = format!("no gauge is known here for {kind} {}: look what reads it", limit.name);
        return Err(State::Look(why, Remedy::None));
    };
    by_gauge(build, row, force, prefer)
}

fn by_gauge(
    build: Build,
    row: &Characteristic,
    force: &LimitInForce,
    prefer: Prefer,
) -> Result<Means, State> {
    let mut bad = Vec::new();
    let mut all: Vec<Means> = Vec::new();
    for gauge in build.workshop.gauges() {
        match reads::suits(row, &gauge.sort) {
            Suits::Yes(way) => match means(build, gauge, way, sizes(row, force)) {
                Ok(means) => all.push(means),
                Err(lacks) => bad.push(lacks),
            },
            Suits::No | Suits::NotKnown => {}
        }
    }
    let sure = |means: &Means| matches!(prefer, Prefer::Best) || means.look.is_empty();
    let best = all.into_iter().min_by_key(|means| (!sure(means), means.u.is_none(), means.u));
    best.ok_or_else(|| without(build, row, bad))
}

/// The smallest and largest size to be read. A reading on either side of nought is as large as its digits.
fn sizes(row: &Characteristic, force: &LimitInForce) -> Sizes {
    let ends = force.lower.or(force.upper).zip(force.upper.or(force.lower));
    let Some((low, high)) = ends else { return (None, None) };
    let (small, large) =
        (low.saturating_abs().min(high.saturating_abs()), low.saturating_abs().max(high.saturating_abs()));
    let small = if low < 0 && high > 0 { 0 } else { small };
    (Some(Amount::new(row.kind, small)), Some(Amount::new(row.kind, large)))
}

/// How a gauge reads sizes; else what is bad about it.
fn means(build: Build, gauge: &GaugeFacts, way: Way, sizes: Sizes) -> Result<Means, Vec<Lack>> {
    let (mut standing, master) = Standing::with_master(build, gauge, sizes);
    let u = gauge.set_with(master);
    if standing.bad.is_empty() && u.is_none() && gauge.error_percent.is_none() {
        let unknown = master.filter(|master| gauge.own.is_some() && master.own.is_none()).unwrap_or(gauge);
        let text = format!("the uncertainty of {} is not known", unknown.mark);
        standing.bad.push(Lack::new(text, Remedy::Enter(unknown.mark.clone())));
    }
    if !standing.bad.is_empty() {
        return Err(standing.bad);
    }
    if !way.with.is_empty() {
        let text = format!("with {}: look that it is there", way.with);
        standing.look.push(Lack::new(text, Remedy::None));
    }
    let with = match master {
        Some(master) => format!("{} set on {}", gauge.mark, master.mark),
        None => gauge.mark.to_string(),
    };
    let standard = master.unwrap_or(gauge);
    let shared = standard.systematic.map(|shared| (Arc::clone(&standard.mark), shared));
    let shows_step = gauge.resolution.is_some();
    let percent = gauge.error_percent.clone();
    Ok(Means { with, u, percent, look: standing.look, standard: shared, shows_step })
}

/// That two sizes read with one gauge are told apart by nothing that is stated of it: what it errs by is the
/// same in both, and only the step it shows, or how it repeats, is left of their difference.
fn told_apart(one: &Means, other: &Means) -> Result<(), State> {
    let shared = match (&one.standard, &other.standard) {
        (Some((mark, shared)), Some((of, also))) if mark == of => (*shared).min(*also),
        _ => return Ok(()),
    };
    let (Some(a), Some(b)) = (one.u, other.u) else { return Ok(()) };
    if difference(a, b, shared.min(a).min(b)) != Ok(Uncertainty::ZERO) {
        return Ok(());
    }
    let mark = &one.with;
    Err(match one.shows_step {
        false => State::Missing(
            format!(
                "the resolution of {mark} is not stated, and of two readings with it nothing else is left"
            ),
            Remedy::Enter(Arc::from(mark.as_str())),
        ),
        true => State::Missing(
            format!("of the uncertainty of {mark} nothing is left between two readings with it"),
            Remedy::Words(
                "a lead states its --error and --resolution in place of its --uncertainty".to_owned(),
            ),
        ),
    })
}

/// That no gauge reads a characteristic, for these reasons; or that somebody has to look.
fn without(build: Build, row: &Characteristic, bad: Vec<Vec<Lack>>) -> State {
    let ways = reads::ways(row).unwrap_or_default();
    let strangers = build.workshop.gauges().filter(|gauge| reads::suits(row, &gauge.sort) == Suits::NotKnown);
    let strangers: Vec<&str> = strangers.map(|gauge| &*gauge.mark).collect();
    if !strangers.is_empty() {
        let why = format!("{}: it is not known here what it reads", strangers.join(", "));
        return State::Look(why, Remedy::None);
    }
    let Some(usual) = ways.first() else {
        let why = "no sort of gauge that is listed here reads it: look what does";
        return State::Look(why.to_owned(), Remedy::None);
    };
    let sorts: Vec<&str> = ways.iter().map(|way| way.sort).collect();
    missing(bad, Lack::new(format!("the workshop lists no {}", sorts.join(" or ")), Remedy::add(usual.sort)))
}

/// The uncertainty that a derived value comes to with the gauges for each of its inputs.
fn of_derived(build: Build, row: &Derivation, prefer: Prefer) -> Result<Means, State> {
    let mut all = Vec::new();
    let mut with: Vec<String> = Vec::new();
    let mut look = Vec::new();
    let mut before: Option<Means> = None;
    for input in row.inputs {
        let kind = derivation::input_kind(row, input);
        let name = input.characteristic;
        let unknown = |why: &str| State::Look(format!("a gauge for {kind} {name}: {why}"), Remedy::None);
        let measured = characteristic::find(kind, name).ok_or_else(|| unknown("look what reads it"))?;
        let size = size_of(build, kind, name);
        let means = by_gauge(build, measured, &size.clone().unwrap_or_else(any_size), prefer)?;
        let u = means.u.ok_or_else(|| unknown("its error is stated in per cent"))?;
        // Both shells, and both diameters of a form, are read.
        let twice = matches!(input.role, Role::Wall | Role::Size);
        all.extend(std::iter::repeat_n(u, if twice { 2 } else { 1 }));
        if input.role != Role::Wall {
            // A form is the difference of two sizes of one input.
            let other = if input.role == Role::Size { Some(&means) } else { before.as_ref() };
            if let Some(other) = other {
                told_apart(other, &means)?;
            }
            before = Some(means.clone());
        }
        look.extend(means.look);
        if size.is_none() {
            let text = format!("no limit says how large {kind} {name} is: look that it reaches");
            look.push(Lack::new(text, Remedy::None));
        }
        if !with.contains(&means.with) {
            with.push(means.with);
        }
    }
    let too_large = |error: UncertaintyError| State::Look(error.to_string(), Remedy::None);
    let u = combine(&all).map_err(too_large)?;
    Ok(Means { with: with.join(" + "), u: Some(u), percent: None, look, standard: None, shows_step: true })
}

const fn any_size() -> LimitInForce {
    LimitInForce {
        lower: None,
        upper: None,
        rule: Rule::Strict,
        source: String::new(),
        by: None,
        disputed: Vec::new(),
    }
}

/// The limits of a size that is measured, wherever on the kind they stand.
fn size_of(build: Build, kind: FeatureKind, name: &str) -> Option<LimitInForce> {
    let mut limits = build.definition.limits().iter().filter(|limit| limit.name == name);
    limits.find_map(|limit| {
        let feature = feature_of(build, limit)?;
        (feature.kind() == kind).then(|| in_force(build, &feature, limit))
    })
}
