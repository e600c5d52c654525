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
    /// The gauge lets go at its setting, or stands for one size, and shows nothing.
    ShowsNothing,
    /// The gauge was set on something that does not reach the size.
    MasterOutOfRange,
}

impl Remark {
    pub(super) const fn rule(self) -> Rule {
        match self {
            Self::GaugeUnknown => Rule::GaugeUnknown,
            Self::CalibrationUnknown | Self::OutOfCalibration => Rule::GaugeOverdue,
            Self::OutOfRange | Self::MasterOutOfRange => Rule::GaugeRange,
            Self::ShowsNothing => Rule::GaugeShowsNothing,
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
            Self::ShowsNothing => format!("read with {mark}, which is of a sort that shows no size"),
            Self::MasterOutOfRange => {
                format!("{} is outside the range of what {mark} was set on", show::reading(reading))
            }
        }
    }
}

/// All there is to say.
pub(super) fn remarks(
    (noted, moment): (&Noted, Millis),
    row: &Characteristic,
    gauge: Option<&GaugeFacts>,
    master: Option<&GaugeFacts>,
) -> Vec<Remark> {
    let Some(gauge) = gauge else { return vec![Remark::GaugeUnknown] };
    let mut remarks = Vec::new();
    if !gauge.calibrated_at(moment) {
        let known = !gauge.calibrated.is_empty();
        remarks.push(if known { Remark::OutOfCalibration } else { Remark::CalibrationUnknown });
    }
    if !reaches(gauge, row, noted.as_read) {
        remarks.push(Remark::OutOfRange);
    }
    // A ring or a block is of one size, and says nothing of others.
    if master.is_some_and(|master| master.shows && !reaches(master, row, noted.as_read)) {
        remarks.push(Remark::MasterOutOfRange);
    }
    if !gauge.shows {
        remarks.push(Remark::ShowsNothing);
    }
    if gauge.resolution.is_some_and(|resolution| noted.digit > 0 && noted.digit < resolution) {
        remarks.push(Remark::FinerThanGauge);
    }
    remarks
}

/// Whether a size lies in the range of a gauge, as far as that is stated.
fn reaches(gauge: &GaugeFacts, row: &Characteristic, size: i64) -> bool {
    let below = gauge.range.0.is_some_and(|low| low.kind() == row.kind && size < low.base());
    let above = gauge.range.1.is_some_and(|high| high.kind() == row.kind && size > high.base());
    !below && !above
}
