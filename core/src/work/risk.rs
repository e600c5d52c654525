//! Risks of accepting a bad part and of rejecting a good one, over all parts as they come.
//!
//! Where [`conformance`](super::conformance) asks of one reading, this asks of a whole process:
//! how often the two mistakes happen, and which guard brings the first one down to a wanted rate.

use statrs::distribution::{Continuous, Gamma};

use super::error::WorkError;
use super::quantile::normal_quantile;
use crate::measure::phi;

/// How true sizes are spread; lengths in any one unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Process {
    /// Normal: mean and standard deviation.
    Normal(f64, f64),
    /// Gamma: shape and rate, for what cannot be below nought.
    Gamma(f64, f64),
}

/// Lower and upper; a side without one is none.
pub type Sides = (Option<f64>, Option<f64>);

/// How often each mistake happens; all are shares of all parts, 0 to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Risks {
    /// Accepted though outside the limits.
    pub consumer: f64,
    /// Rejected though within them.
    pub producer: f64,
    /// Outside the limits, accepted or not.
    pub outside: f64,
}

/// Where the panels of a spread begin and end, in standard deviations from its mean. What lies
/// beyond weighs less than 1e-16.
const NORMAL: [i8; 19] = [-9, -8, -7, -6, -5, -4, -3, -2, -1, 0, 1, 2, 3, 4, 5, 6, 7, 8, 9];
const GAMMA: [i8; 22] = [-4, -3, -2, -1, 0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 12, 15, 18, 22, 26, 30, 35, 40];
/// Round a limit of acceptance, in standard uncertainties from it.
const EDGE: [i8; 11] = [-8, -5, -3, -2, -1, 0, 1, 2, 3, 5, 8];

/// Gauss-Legendre, eight points: node and weight. Source: Abramowitz and Stegun, table 25.4.
const NODES: [(f64, f64); 4] = [
    (0.183_434_642_495_649_8, 0.362_683_783_378_362),
    (0.525_532_409_916_329, 0.313_706_645_877_887_3),
    (0.796_666_477_413_626_7, 0.222_381_034_453_374_48),
    (0.960_289_856_497_536_3, 0.101_228_536_290_376_26),
];

/// A process that can be integrated over: its density and where it lies.
struct Spread {
    process: Process,
    gamma: Option<Gamma>,
    mean: f64,
    deviation: f64,
}

impl Spread {
    fn of(process: Process) -> Result<Self, WorkError> {
        let spread = |what: &str| WorkError::of("spread", format!("{what} is not above nought"), "give it");
        match process {
            Process::Normal(mean, deviation) if deviation > 0.0 => {
                Ok(Self { process, gamma: None, mean, deviation })
            }
            Process::Normal(..) => Err(spread("the standard deviation")),
            Process::Gamma(shape, rate) if shape >= 1.0 => {
                let gamma = Gamma::new(shape, rate).map_err(|_| spread("the rate"))?;
                let deviation = libm::sqrt(shape) / rate;
                Ok(Self { process, gamma: Some(gamma), mean: shape / rate, deviation })
            }
            Process::Gamma(shape, _) => {
                let cause = format!("a shape of {shape} is below 1: its density has no bound at nought");
                Err(WorkError::of("shape", cause, "give a shape of 1 or more"))
            }
        }
    }

    fn density(&self, x: f64) -> f64 {
        let z = (x - self.mean) / self.deviation;
        let normal = || libm::exp(-0.5 * z * z) / (self.deviation * libm::sqrt(std::f64::consts::TAU));
        self.gamma.as_ref().map_or_else(normal, |gamma| gamma.pdf(x))
    }

    /// Ends of the panels, in order: the spread's own, the limits, and closely round the edges of
    /// acceptance, where the chance of it falls from one to nought within a few `u`.
    fn panels(&self, u: f64, limits: Sides, accept: Sides) -> Vec<f64> {
        let steps: &[i8] = if matches!(self.process, Process::Gamma(..)) { &GAMMA } else { &NORMAL };
        let own = steps.iter().map(|k| self.mean + self.deviation * f64::from(*k));
        let own: Vec<f64> =
            own.map(|x| if matches!(self.process, Process::Gamma(..)) { x.max(0.0) } else { x }).collect();
        let (first, last) = (own[0], own[own.len() - 1]);
        let edges = [accept.0, accept.1].into_iter().flatten();
        let edges = edges.flat_map(|edge| EDGE.iter().map(move |k| edge + u * f64::from(*k)));
        let limits = [limits.0, limits.1].into_iter().flatten();
        let within = |x: &f64| *x >= first && *x <= last;
        let mut ends: Vec<f64> = edges.chain(limits).filter(within).chain(own.iter().copied()).collect();
        ends.sort_by(f64::total_cmp);
        ends
    }
}

/// Global risks of a decision that accepts what reads within `accept`, of parts that should lie
/// within `limits`, read with the standard uncertainty `u` (normal).
///
/// `R_C = integral outside of p(x) P(accept|x)`, `R_P = integral inside of p(x) P(reject|x)`; eight
/// Gauss-Legendre nodes on fixed panels, good to 1e-11. All lengths in one unit. Source: JCGM
/// 106:2012 clause 9.
///
/// # Errors
/// `u` or the spread not above nought; no limit, or limits crossed; a gamma shape below 1.
///
/// ```
/// use gudgeon_core::work::{Process, global_risks};
/// let limits = (Some(-1.0), Some(1.0));
/// let found = global_risks(Process::Normal(0.0, 0.5), 0.125, limits, limits).unwrap();
/// assert!((found.consumer - 0.008_006_084_834).abs() < 1e-9);
/// ```
pub fn global_risks(process: Process, u: f64, limits: Sides, accept: Sides) -> Result<Risks, WorkError> {
    Ok(integrate(&checked(process, u, limits)?, u, limits, accept))
}

fn checked(process: Process, u: f64, limits: Sides) -> Result<Spread, WorkError> {
    if u <= 0.0 || !u.is_finite() {
        return Err(WorkError::of("u", "is not above nought", "a reading without uncertainty risks nothing"));
    }
    match limits {
        (None, None) => Err(WorkError::of("lower", "neither limit is given", "give lower=... or upper=...")),
        (Some(low), Some(high)) if low >= high => {
            let cause = format!("the lower limit {low} is not below the upper one {high}");
            Err(WorkError::of("lower", cause, "swap them"))
        }
        _ => Spread::of(process),
    }
}

fn integrate(spread: &Spread, u: f64, limits: Sides, accept: Sides) -> Risks {
    let (consumer, rejected_outside) = shares(spread, u, limits, accept, false);
    let (_, producer) = shares(spread, u, limits, accept, true);
    Risks { consumer, producer, outside: consumer + rejected_outside }
}

/// Accepted and rejected, of the parts that lie inside the limits or of those outside.
fn shares(spread: &Spread, u: f64, (lower, upper): Sides, accept: Sides, inside: bool) -> (f64, f64) {
    let (mut accepted, mut rejected) = (0.0, 0.0);
    for pair in spread.panels(u, (lower, upper), accept).windows(2) {
        let (half, middle) = ((pair[1] - pair[0]) / 2.0, f64::midpoint(pair[0], pair[1]));
        let within = lower.is_none_or(|low| middle > low) && upper.is_none_or(|high| middle < high);
        if within != inside {
            continue;
        }
        for (node, weight) in NODES.iter().flat_map(|(at, weight)| [(*at, *weight), (-*at, *weight)]) {
            let x = middle + half * node;
            let share = spread.density(x) * weight * half;
            let above = accept.1.map_or(0.0, |high| phi((x - high) / u));
            let beyond = (above + accept.0.map_or(0.0, |low| phi((low - x) / u))).min(1.0);
            accepted += share * (1.0 - beyond);
            rejected += share * beyond;
        }
    }
    (accepted, rejected)
}

/// Limits drawn in by a guard; out of order where it eats the whole tolerance.
#[must_use]
pub fn drawn_in(limits: Sides, guard: f64) -> Sides {
    (limits.0.map(|low| low + guard), limits.1.map(|high| high - guard))
}

/// Steps of the search for a guard; each halves what is left at the least every other time.
const STEPS: u32 = 60;

/// The guard kept clear of each limit that brings the consumer's risk down to `wanted`; nought
/// where it is as low without one.
///
/// # Errors
/// As [`global_risks`]; `wanted` not above nought.
pub fn guard_for_risk(process: Process, u: f64, limits: Sides, wanted: f64) -> Result<f64, WorkError> {
    let spread = checked(process, u, limits)?;
    if wanted <= 0.0 || !wanted.is_finite() {
        return Err(WorkError::of("wanted", "is not above nought", "no guard takes away all risk"));
    }
    // Above nought while the guard is too small; in logarithms it is nearly straight.
    let excess = |guard: f64| {
        let (risk, _) = shares(&spread, u, limits, drawn_in(limits, guard), false);
        libm::log(risk.max(f64::MIN_POSITIVE) / wanted)
    };
    let mut low = (0.0, excess(0.0));
    if low.1 <= 0.0 {
        return Ok(0.0);
    }
    // Beyond 40 u nothing outside is accepted, and a guard of half the tolerance accepts nothing.
    let most = match limits {
        (Some(lower), Some(upper)) => (40.0 * u).min((upper - lower) / 2.0),
        _ => 40.0 * u,
    };
    let mut high = (u.min(most), excess(u.min(most)));
    while high.1 > 0.0 && high.0 < most {
        low = high;
        let wider = (2.0 * high.0).min(most);
        high = (wider, excess(wider));
    }
    Ok(root(excess, low, high))
}

/// Where a falling function crosses nought between two points: false position, the end that stays
/// weighed by half (Illinois).
fn root(excess: impl Fn(f64) -> f64, mut low: (f64, f64), mut high: (f64, f64)) -> f64 {
    if high.1 > 0.0 {
        return high.0;
    }
    for _ in 0..STEPS {
        let at = high.0 - high.1 * (high.0 - low.0) / (high.1 - low.1);
        let found = excess(at);
        if found.abs() < 1e-10 || (high.0 - low.0) <= 1e-13 * high.0 {
            return at;
        }
        if found > 0.0 {
            low = (at, found);
            high.1 /= 2.0;
        } else {
            high = (at, found);
            low.1 /= 2.0;
        }
    }
    high.0
}

/// The reading from which on it is `sure` (0 to 1) that an upper limit is exceeded, where `u` is a
/// share of the reading: `limit / (1 - z share)`; none where the share is so large that no reading is.
///
/// Source: JCGM 106:2012 8.3.3 (guarded rejection).
#[must_use]
pub fn guarded_rejection(limit: f64, share: f64, sure: f64) -> Option<f64> {
    let left = 1.0 - normal_quantile(sure) * share;
    (left > 0.0).then(|| limit / left)
}
