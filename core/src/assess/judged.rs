//! Judged values: one characteristic, or one derived value, of one feature, over its stations.

use super::standing::{Standing, Value};
use super::subject::Slot;
use crate::engine::Derivation;
use crate::log::Ix;
use crate::measure::{Judgement, Reason, Rule as DecisionRule, Uncertainty, Verdict, judge_range};
use crate::quantity::Kind;

/// Limits in force for one value.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LimitInForce {
    /// Lower limit, in base units.
    pub lower: Option<i64>,
    /// Upper limit, in base units.
    pub upper: Option<i64>,
    /// Decision rule in force.
    pub rule: DecisionRule,
    /// Where the limits come from.
    pub source: String,
    /// The limit change that set them; none: the definition.
    pub by: Option<Ix>,
    /// Concurrent limit changes that differ.
    pub disputed: Vec<Ix>,
}

/// What stands in the way of a value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Obstacle {
    /// Readings differ.
    Disputed(Vec<Ix>),
    /// Before or after? Readings, operations.
    Undecided(Vec<Ix>, Vec<Ix>),
    /// Something has not been read yet: what.
    Missing(String),
}

/// A judged value.
#[derive(Clone, Debug)]
pub struct Judged {
    /// Characteristic or derived value.
    pub name: &'static str,
    /// Its quantity.
    pub kind: Kind,
    /// Smallest over the stations, in base units; none where there is an obstacle.
    pub low: Option<i64>,
    /// Largest over the stations.
    pub high: Option<i64>,
    /// Standard uncertainty of either end, the larger.
    pub u: Option<Uncertainty>,
    /// The same value from sizes as read, where temperature made a difference.
    pub as_read: Option<(i64, i64)>,
    /// The verdict and the guard band it used.
    pub judgement: Judgement,
    /// The limits.
    pub limit: Option<LimitInForce>,
    /// Readings it rests on.
    pub readings: Vec<Ix>,
    /// Stations with a standing value, and stations needed.
    pub stations: (usize, usize),
    /// What stands in the way.
    pub obstacle: Option<Obstacle>,
    /// The derivation; none: measured directly.
    pub derivation: Option<&'static Derivation>,
}

impl Judged {
    /// The verdict.
    #[must_use]
    pub const fn verdict(&self) -> Verdict {
        self.judgement.verdict
    }

    /// The guard the verdict was reached with; none where there is no verdict.
    #[must_use]
    pub const fn guard(&self) -> Option<i64> {
        match self.verdict() {
            Verdict::NotJudged(_) => None,
            Verdict::Within | Verdict::NotProven | Verdict::Outside => Some(self.judgement.guard),
        }
    }

    /// Whether every needed station has a standing value.
    #[must_use]
    pub const fn is_complete(&self) -> bool {
        self.obstacle.is_none() && self.stations.0 >= self.stations.1
    }
}

/// What a value comes to before limits: both ends, what they rest on.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Span {
    pub(super) low: i64,
    pub(super) high: i64,
    pub(super) as_read: Option<(i64, i64)>,
    pub(super) u: Option<Uncertainty>,
    pub(super) uncorrected: Option<Reason>,
    pub(super) readings: Vec<Ix>,
}

impl Span {
    /// The span of the standing values of a characteristic.
    pub(super) fn over<'a>(values: impl Iterator<Item = &'a Value> + Clone) -> Option<Self> {
        let low = values.clone().map(|v| v.value).min()?;
        let high = values.clone().map(|v| v.value).max()?;
        let read = |v: &Value| v.as_read.unwrap_or(v.value);
        let as_read = values.clone().map(read).min().zip(values.clone().map(read).max());
        let mut readings: Vec<Ix> = values.clone().flat_map(|v| v.readings.iter().copied()).collect();
        readings.sort_unstable();
        let us: Option<Vec<Uncertainty>> = values.clone().map(|v| v.u).collect();
        Some(Self {
            low,
            high,
            as_read: as_read.filter(|ends| *ends != (low, high)),
            u: us.and_then(|us| us.into_iter().max()),
            uncorrected: values.clone().filter_map(|v| v.uncorrected).max(),
            readings,
        })
    }
}

/// The first obstacle among the slots of a characteristic.
pub(super) fn obstacle<'a>(slots: impl Iterator<Item = &'a Slot>) -> Option<Obstacle> {
    let mut undecided = None;
    for slot in slots {
        match &slot.standing {
            Standing::Disputed(readings) => return Some(Obstacle::Disputed(readings.clone())),
            Standing::Undecided(readings, work) => {
                undecided.get_or_insert_with(|| Obstacle::Undecided(readings.clone(), work.clone()));
            }
            Standing::Value(_) | Standing::Empty => {}
        }
    }
    undecided
}

/// The verdict on a span under a limit.
pub(super) fn verdict(span: &Span, limit: Option<&LimitInForce>) -> Judgement {
    let Some(limit) = limit else {
        return Judgement::not_judged(Reason::NoLimit, DecisionRule::default());
    };
    if !limit.disputed.is_empty() {
        return Judgement::not_judged(Reason::Disputed, limit.rule);
    }
    if let Some(reason) = span.uncorrected {
        // Of an unknown gauge the expansion is not known either: the gauge comes first.
        let by_gauge = span.u.is_none() && limit.rule != DecisionRule::Simple;
        let by_gauge = by_gauge && reason == Reason::NoTemperature;
        return Judgement::not_judged(if by_gauge { Reason::NoUncertainty } else { reason }, limit.rule);
    }
    judge_range(span.low, span.high, span.u, limit.lower, limit.upper, limit.rule)
}

/// The verdict where there is no value.
pub(super) const fn without(obstacle: &Obstacle, rule: DecisionRule) -> Judgement {
    let reason = match obstacle {
        Obstacle::Disputed(_) => Reason::Disputed,
        Obstacle::Undecided(..) => Reason::Undecided,
        Obstacle::Missing(_) => Reason::NotRead,
    };
    Judgement::not_judged(reason, rule)
}
