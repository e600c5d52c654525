//! One reading as a size: at 20 degC where that matters, with its uncertainty.

use std::sync::Arc;

use super::workshop::{GaugeFacts, Workshop};
use crate::engine::Characteristic;
use crate::entry::payload::{Millis, Reading};
use crate::measure::{
    Body, Expansion, Reason, Uncertainty, combine, correction_uncertainty, is_too_far, to_reference,
};
use crate::quantity::{Comparator, Length, Quantity, Temperature};

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

/// Sizes a reading with this gauge, of that moment of its own device; none where a comparator reading is impossible.
pub(super) fn size(
    (reading, moment): (&Reading, Millis),
    row: &Characteristic,
    part: Option<Expansion>,
    (gauge, workshop): (Option<&GaugeFacts>, &Workshop),
) -> Option<Sized> {
    let as_read = as_read(reading)?;
    let gauge = gauge.filter(|gauge| gauge.kind.is_none_or(|kind| kind == row.kind));
    let master_mark = match (&reading.master, gauge) {
        (mark, _) if !mark.is_empty() => mark.as_str(),
        (_, Some(gauge)) => gauge.master.as_str(),
        (_, None) => "",
    };
    let master = workshop.gauge_at(master_mark, moment);
    // A master that is named but not known leaves the uncertainty unknown.
    let u = if master_mark.is_empty() || master.is_some() {
        gauge.and_then(|gauge| gauge.set_with(master))
    } else {
        None
    };
    let standard = if master_mark.is_empty() { gauge } else { master };
    let common = standard.and_then(|g| Some(Common { mark: Arc::clone(&g.mark), u: g.systematic? }));
    let plain = Sized { as_read, value: as_read, u, common, correction: Correction::NotNeeded };
    if !row.temperature_matters {
        return Some(plain);
    }
    if temperatures_too_far(reading).next().is_some() {
        return Some(Sized { correction: Correction::TooFar, ..plain });
    }
    let bodies = body(part, reading.part_temperature.as_ref())
        .zip(body(gauge.and_then(|g| g.expansion), reading.gauge_temperature.as_ref()));
    Some(match bodies {
        Some((part, gauge)) => corrected(plain.clone(), &part, &gauge)
            .unwrap_or(Sized { correction: Correction::Missing, ..plain }),
        None => Sized { correction: Correction::Missing, ..plain },
    })
}

fn as_read(reading: &Reading) -> Option<i64> {
    match &reading.set_size {
        None => Some(reading.value.amount().base()),
        Some(set) => Comparator::new(set.clone(), reading.value.clone()).ok().map(|c| c.size().base()),
    }
}

/// The temperatures of a reading that are too far from 20 degC to correct from: whose, and how warm.
pub(super) fn temperatures_too_far(reading: &Reading) -> impl Iterator<Item = (&'static str, &Quantity)> {
    let given = [("part", &reading.part_temperature), ("gauge", &reading.gauge_temperature)];
    let given = given.into_iter().filter_map(|(whose, at)| Some((whose, at.as_ref()?)));
    given.filter(|(_, at)| at.temperature().is_ok_and(is_too_far))
}

fn body(expansion: Option<Expansion>, at: Option<&Quantity>) -> Option<Body> {
    let temperature: Temperature = at?.temperature().ok()?;
    Body::new(expansion?, temperature).ok()
}

fn corrected(plain: Sized, part: &Body, gauge: &Body) -> Option<Sized> {
    let read = Length::from_pm(plain.as_read);
    let value = to_reference(read, part, gauge).ok()?.pm();
    let u = match plain.u {
        None => None,
        Some(u) => Some(combine(&[u, correction_uncertainty(read, part, gauge).ok()?]).ok()?),
    };
    Some(Sized { value, u, correction: Correction::Applied, ..plain })
}
