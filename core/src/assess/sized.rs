//! One reading as a size: at 20 degC where that matters, with its uncertainty.

use std::sync::Arc;

use super::spot::Noted;
use super::workshop::Gauges;
use crate::engine::Characteristic;
use crate::entry::payload::{Millis, Reading};
use crate::measure::{
    Body, Expansion, Reason, Uncertainty, combine, correction_uncertainty, is_too_far, to_reference,
};
use crate::quantity::{Length, Quantity, Temperature};

/// A reading's worth.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sized {
    /// As read, in base units.
    pub as_read: i64,
    /// At 20 degC where that matters and can be told; else as read.
    pub value: i64,
    /// Standard uncertainty; none where the gauge's is not known.
    pub u: Option<Uncertainty>,
    /// The error it shares with other readings that go back to the same standard.
    pub common: Option<Common>,
    /// What was done about temperature.
    pub correction: Correction,
}

/// An error shared by all readings that go back to one standard.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Common {
    /// Mark of the standard.
    pub mark: Arc<str>,
    /// The shared part.
    pub u: Uncertainty,
}

/// What was done about temperature.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Correction {
    /// It does not matter here.
    NotNeeded,
    /// Corrected to 20 degC.
    Applied,
    /// A temperature or an expansion is not known: not corrected.
    Missing,
    /// A temperature is too far from 20 degC for one coefficient: not corrected.
    TooFar,
}

impl Correction {
    /// Why a size is not judged; none: it is what it would be at 20 degC.
    #[must_use]
    pub const fn hinders(self) -> Option<Reason> {
        match self {
            Self::NotNeeded | Self::Applied => None,
            Self::Missing => Some(Reason::NoTemperature),
            Self::TooFar => Some(Reason::TemperatureTooFar),
        }
    }
}

/// Sizes a reading of that moment of its own device.
pub(super) fn size(
    (noted, moment): (&Noted, Millis),
    row: &Characteristic,
    part: Option<Expansion>,
    gauges: &Gauges,
) -> Sized {
    let as_read = noted.as_read;
    let gauge = gauges.at(noted.gauge, moment).filter(|gauge| gauge.kind.is_none_or(|kind| kind == row.kind));
    let (named, master) = gauges.master_of((noted, moment), gauge);
    // A master that is named but not known leaves the uncertainty unknown.
    let u = if named && master.is_none() { None } else { gauge.and_then(|gauge| gauge.set_with(master)) };
    let standard = if named { master } else { gauge };
    let common = standard.and_then(|g| Some(Common { mark: Arc::clone(&g.mark), u: g.systematic? }));
    let plain = Sized { as_read, value: as_read, u, common, correction: Correction::NotNeeded };
    if !row.temperature_matters {
        return plain;
    }
    if noted.at.iter().flatten().any(|at| is_too_far(*at)) {
        return Sized { correction: Correction::TooFar, ..plain };
    }
    let bodies = body(part, noted.at[0]).zip(body(gauge.and_then(|g| g.expansion), noted.at[1]));
    match bodies.and_then(|(part, gauge)| corrected(&plain, &part, &gauge)) {
        Some((value, u)) => Sized { value, u, correction: Correction::Applied, ..plain },
        None => Sized { correction: Correction::Missing, ..plain },
    }
}

/// The temperatures of a reading that are too far from 20 degC to correct from: whose, and how warm.
pub(super) fn temperatures_too_far(reading: &Reading) -> impl Iterator<Item = (&'static str, &Quantity)> {
    let given = [("part", &reading.part_temperature), ("gauge", &reading.gauge_temperature)];
    let given = given.into_iter().filter_map(|(whose, at)| Some((whose, at.as_ref()?)));
    given.filter(|(_, at)| at.temperature().is_ok_and(is_too_far))
}

fn body(expansion: Option<Expansion>, at: Option<Temperature>) -> Option<Body> {
    Body::new(expansion?, at?).ok()
}

/// The size at 20 degC and its uncertainty.
fn corrected(plain: &Sized, part: &Body, gauge: &Body) -> Option<(i64, Option<Uncertainty>)> {
    let read = Length::from_pm(plain.as_read);
    let value = to_reference(read, part, gauge).ok()?.pm();
    let u = match plain.u {
        None => None,
        Some(u) => Some(combine(&[u, correction_uncertainty(read, part, gauge).ok()?]).ok()?),
    };
    Some((value, u))
}
