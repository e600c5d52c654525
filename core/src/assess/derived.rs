//! The arithmetic of derived values over standing values.
//!
//! Every formula gives both ends of what the stations allow (smallest hole and largest
//! shaft, largest hole and smallest shaft), because the mean hides the tight place.

use super::judged::Span;
use super::standing::Value;
use crate::engine::{Derivation, Formula, Role};
use crate::measure::{Uncertainty, combine, difference};

/// A standing value at its station.
#[derive(Clone, Copy, Debug)]
pub(super) struct Point<'a> {
    pub(super) level: &'a str,
    pub(super) direction: &'a str,
    pub(super) value: &'a Value,
}

/// The standing values of one input, with its stations in the order of the table.
#[derive(Clone, Debug)]
pub(super) struct InputPoints<'a> {
    pub(super) role: Role,
    /// Levels in order, as the table has them.
    pub(super) levels: Vec<&'a str>,
    pub(super) points: Vec<Point<'a>>,
}

/// Which size of a point is meant.
#[derive(Clone, Copy)]
enum Read {
    Corrected,
    AsRead,
}

impl Read {
    fn of(self, point: &Point) -> i64 {
        match self {
            Self::Corrected => point.value.value,
            Self::AsRead => point.value.as_read.unwrap_or(point.value.value),
        }
    }
}

/// Both ends and the uncertainty of the worse known of them.
struct Ends {
    low: i64,
    high: i64,
    u: Option<Uncertainty>,
}

/// What a derivation comes to; none where a point it needs is missing.
pub(super) fn derive(row: &Derivation, inputs: &[InputPoints]) -> Option<Span> {
    let ends = evaluate(row.formula, inputs, Read::Corrected)?;
    let as_read = evaluate(row.formula, inputs, Read::AsRead).map(|ends| (ends.low, ends.high));
    let points = || inputs.iter().flat_map(|input| &input.points);
    let mut readings: Vec<_> = points().flat_map(|p| p.value.readings.iter().copied()).collect();
    readings.sort_unstable();
    readings.dedup();
    Some(Span {
        low: ends.low,
        high: ends.high,
        as_read: as_read.filter(|read| *read != (ends.low, ends.high)),
        u: ends.u,
        uncorrected: points().filter_map(|p| p.value.uncorrected).max(),
        readings,
    })
}

fn evaluate(formula: Formula, inputs: &[InputPoints], read: Read) -> Option<Ends> {
    match formula {
        Formula::OutOfRound => out_of_round(input(inputs, Role::Size)?, read),
        Formula::Taper => taper(input(inputs, Role::Size)?, read),
        Formula::Clearance => {
            clearance(&input(inputs, Role::Outer)?.points, &input(inputs, Role::Inner)?.points, read)
        }
        Formula::OilClearance => oil_clearance(inputs, read),
        Formula::Stretch => stretch(input(inputs, Role::Tight)?, input(inputs, Role::Free)?, read),
    }
}

fn input<'a, 'b>(inputs: &'b [InputPoints<'a>], role: Role) -> Option<&'b InputPoints<'a>> {
    inputs.iter().find(|input| input.role == role)
}

fn extremes<'a, 'b>(points: &'b [Point<'a>], read: Read) -> Option<(&'b Point<'a>, &'b Point<'a>)> {
    let smallest = points.iter().min_by_key(|p| read.of(p))?;
    let largest = points.iter().max_by_key(|p| read.of(p))?;
    Some((smallest, largest))
}

/// Uncertainty of a difference of two points; what they share cancels.
fn apart(a: &Point, b: &Point) -> Option<Uncertainty> {
    let (ua, ub) = (a.value.u?, b.value.u?);
    difference(ua, ub, shared(a, b).min(ua).min(ub)).ok()
}

/// Uncertainty of a sum of two points; what they share counts twice.
fn together(a: &Point, b: &Point) -> Option<Uncertainty> {
    let shared = shared(a, b);
    combine(&[a.value.u?, b.value.u?, shared, shared]).ok()
}

/// The error that two points have in common: they go back to one standard.
fn shared(a: &Point, b: &Point) -> Uncertainty {
    match (&a.value.common, &b.value.common) {
        (Some(a), Some(b)) if a.mark == b.mark => a.u.min(b.u),
        _ => Uncertainty::ZERO,
    }
}

fn out_of_round(size: &InputPoints, read: Read) -> Option<Ends> {
    let levels = size.points.iter().map(|p| p.level).collect::<std::collections::BTreeSet<_>>();
    let spread = |level: &str| {
        let at: Vec<Point> = size.points.iter().filter(|p| p.level == level).copied().collect();
        let (smallest, largest) = extremes(&at, read)?;
        (at.len() > 1).then(|| Ends::single(read.of(largest) - read.of(smallest), apart(largest, smallest)))
    };
    levels.into_iter().filter_map(spread).max_by_key(|ends| ends.high)
}

fn taper(size: &InputPoints, read: Read) -> Option<Ends> {
    // One level alone has no taper, not one of nought.
    let (first, last) = (size.levels.first()?, size.levels.last().filter(|_| size.levels.len() > 1)?);
    let at = |level: &str, way: &str| size.points.iter().find(|p| p.level == level && p.direction == way);
    let ways = size.points.iter().map(|p| p.direction).collect::<std::collections::BTreeSet<_>>();
    let of = |way: &str| {
        let (top, bottom) = (at(first, way)?, at(last, way)?);
        Some(Ends::single(read.of(top) - read.of(bottom), apart(top, bottom)))
    };
    ways.into_iter().filter_map(of).max_by_key(|ends| (ends.high.unsigned_abs(), ends.high))
}

fn clearance(outer: &[Point], inner: &[Point], read: Read) -> Option<Ends> {
    let (hole_small, hole_large) = extremes(outer, read)?;
    let (shaft_small, shaft_large) = extremes(inner, read)?;
    Some(Ends {
        low: read.of(hole_small) - read.of(shaft_large),
        high: read.of(hole_large) - read.of(shaft_small),
        u: larger(apart(hole_small, shaft_large), apart(hole_large, shaft_small)),
    })
}

fn oil_clearance(inputs: &[InputPoints], read: Read) -> Option<Ends> {
    let bare = clearance(&input(inputs, Role::Housing)?.points, &input(inputs, Role::Journal)?.points, read)?;
    let walls = &input(inputs, Role::Wall)?.points;
    let at = |station: &str| walls.iter().find(|p| p.level == station || p.direction == station);
    let (upper, lower) = at("upper").zip(at("lower"))?;
    let both = read.of(upper) + read.of(lower);
    let u = bare.u.zip(together(upper, lower)).and_then(|(a, b)| combine(&[a, b]).ok());
    Some(Ends { low: bare.low - both, high: bare.high - both, u })
}

fn stretch(tight: &InputPoints, free: &InputPoints, read: Read) -> Option<Ends> {
    let of = |point: &Point| {
        let same = |p: &&Point| (p.level, p.direction) == (point.level, point.direction);
        let slack = free.points.iter().find(same)?;
        Some(Ends::single(read.of(point) - read.of(slack), apart(point, slack)))
    };
    tight.points.iter().filter_map(of).reduce(|a, b| Ends {
        low: a.low.min(b.low),
        high: a.high.max(b.high),
        u: larger(a.u, b.u),
    })
}

impl Ends {
    const fn single(value: i64, u: Option<Uncertainty>) -> Self {
        Self { low: value, high: value, u }
    }
}

/// The larger of two uncertainties; unknown where either is.
fn larger(a: Option<Uncertainty>, b: Option<Uncertainty>) -> Option<Uncertainty> {
    a.zip(b).map(|(a, b)| a.max(b))
}
