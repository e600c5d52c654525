//! What there is to say of a reading by itself, whatever else was read: of its gauge.

use super::finding::Rule;
use super::show;
use super::spot::Noted;
use super::workshop::GaugeFacts;
use crate::engine::Characteristic;
use crate::entry::payload::{Millis, Reading};

/// One thing to say of a reading and its gauge.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Remark {
    /// No gauge is named, or none that is listed.
    GaugeUnknown,
    /// Nobody says when the gauge was calibrated.
    CalibrationUnknown,
    /// The gauge was out of calibration at that moment of the reading's own device.
    OutOfCalibration,
    /// The size is outside what the gauge measures.
    OutOfRange,
    /// The value has more digits than the gauge shows.
    FinerThanGauge,
}

impl Remark {
    pub(super) const fn rule(self) -> Rule {
        match self {
            Self::GaugeUnknown => Rule::GaugeUnknown,
            Self::CalibrationUnknown | Self::OutOfCalibration => Rule::GaugeOverdue,
            Self::OutOfRange => Rule::GaugeRange,
            Self::FinerThanGauge => Rule::FinerThanGauge,
        }
    }

    pub(super) fn text(self, reading: &Reading) -> String {
        let mark = &reading.gauge;
        match self {
            Self::GaugeUnknown if mark.is_empty() => "no gauge was named".to_owned(),
            Self::GaugeUnknown => format!("gauge {mark} is not listed"),
            Self::CalibrationUnknown => {
                format!("read with {mark}: its calibration is not known at the time of the reading")
            }
            Self::OutOfCalibration => {
                format!("read with {mark}: it was out of calibration at the time of the reading")
            }
            Self::OutOfRange => format!("{} is outside the range of {mark}", show::reading(reading)),
            Self::FinerThanGauge => format!("{} has more digits than {mark} shows", show::reading(reading)),
        }
    }
}

/// All there is to say.
pub(super) fn remarks(
    (noted, moment): (&Noted, Millis),
    row: &Characteristic,
    gauge: Option<&GaugeFacts>,
) -> Vec<Remark> {
    let Some(gauge) = gauge else { return vec![Remark::GaugeUnknown] };
    let mut remarks = Vec::new();
    if !gauge.calibrated_at(moment) {
        let known = !gauge.calibrated.is_empty();
        remarks.push(if known { Remark::OutOfCalibration } else { Remark::CalibrationUnknown });
    }
    let below = gauge.range.0.is_some_and(|low| low.kind() == row.kind && noted.as_read < low.base());
    let above = gauge.range.1.is_some_and(|high| high.kind() == row.kind && noted.as_read > high.base());
    if below || above {
        remarks.push(Remark::OutOfRange);
    }
    if gauge.resolution.is_some_and(|resolution| noted.digit > 0 && noted.digit < resolution) {
        remarks.push(Remark::FinerThanGauge);
    }
    remarks
}
