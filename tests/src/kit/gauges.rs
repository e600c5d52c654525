//! The gauges of the invented shop.
#![allow(clippy::unwrap_used)]

use gudgeon_core::entry::payload::{Instrument, Payload};
use gudgeon_core::quantity::Quantity;

use super::hand::Hand;
use super::world::{DAY, OPENING};

/// Mark, sort, step, error limit, least, greatest, set with.
type Row = (&'static str, &'static str, &'static str, &'static str, &'static str, &'static str, &'static str);

/// In calibration for a year around the opening.
const GAUGES: [Row; 12] = [
    ("M1", "outside-micrometer", "0.001 mm", "0.004 mm", "25 mm", "50 mm", ""),
    ("M2", "outside-micrometer", "0.001 mm", "0.004 mm", "25 mm", "50 mm", ""),
    ("M3", "outside-micrometer", "0.001 mm", "0.004 mm", "25 mm", "50 mm", ""),
    ("M75", "outside-micrometer", "0.001 mm", "0.005 mm", "50 mm", "75 mm", ""),
    ("M100", "outside-micrometer", "0.001 mm", "0.005 mm", "75 mm", "100 mm", ""),
    ("B1", "bore-gauge", "0.001 mm", "0.002 mm", "50 mm", "100 mm", "S1"),
    ("S1", "setting-ring", "", "0.002 mm", "50 mm", "100 mm", ""),
    ("BM", "ball-micrometer", "0.001 mm", "0.003 mm", "0 mm", "25 mm", ""),
    ("F1", "feeler", "0.01 mm", "0.010 mm", "0.03 mm", "1.00 mm", ""),
    ("W1", "click-torque-wrench", "1 N·m", "", "20 N·m", "100 N·m", ""),
    ("W2", "click-torque-wrench", "1 N·m", "", "5 N·m", "25 N·m", ""),
    ("BW", "beam-torque-wrench", "0.5 N·m", "0.5 N·m", "0 N·m", "50 N·m", ""),
];

pub(super) fn list(lead: &Hand) {
    for row in GAUGES {
        lead.rules(&Payload::Instrument(Box::new(instrument(row))));
    }
    let overdue = Instrument {
        mark: "OLD".into(),
        calibrated_on: Some(OPENING - 800 * DAY),
        calibration_due: Some(OPENING - 400 * DAY),
        ..instrument(GAUGES[0])
    };
    lead.rules(&Payload::Instrument(Box::new(overdue)));
    let dull =
        Instrument { mark: "DULL".into(), error_limit: None, resolution: None, ..instrument(GAUGES[0]) };
    lead.rules(&Payload::Instrument(Box::new(dull)));
}

/// An instrument of that row.
fn instrument((mark, sort, step, error, low, high, master): Row) -> Instrument {
    let quantity = |text: &str| (!text.is_empty()).then(|| Quantity::parse(text).unwrap());
    Instrument {
        mark: mark.into(),
        sort: sort.into(),
        resolution: quantity(step),
        error_limit: quantity(error),
        range_low: quantity(low),
        range_high: quantity(high),
        master: master.into(),
        calibrated_on: Some(OPENING - 30 * DAY),
        calibration_due: Some(OPENING + 335 * DAY),
        calibration_seen: true,
        ..Instrument::default()
    }
}

/// A gauge like M1 under another mark, as somebody lists it on the spot.
pub(super) fn like_m1(mark: &str) -> Instrument {
    Instrument { mark: mark.into(), ..instrument(GAUGES[0]) }
}

/// The gauge of that mark (one like M1 where there is none), with another error limit and
/// calibrated for a year from that day on, counted from the opening; none: it is not said when.
pub(super) fn calibrated(mark: &str, error: &str, on: Option<i64>) -> Instrument {
    let row = GAUGES.iter().find(|row| row.0 == mark).unwrap_or(&GAUGES[0]);
    Instrument {
        mark: mark.into(),
        error_limit: Some(Quantity::parse(error).unwrap()),
        calibrated_on: on.map(|day| OPENING + day * DAY),
        calibration_due: on.map(|day| OPENING + (day + 365) * DAY),
        ..instrument(*row)
    }
}

/// A torque wrench whose calibration ran out.
pub(super) fn overdue_wrench(mark: &str) -> Instrument {
    let wrench = GAUGES.iter().find(|row| row.0 == "W1").unwrap();
    Instrument {
        mark: mark.into(),
        calibrated_on: Some(OPENING - 800 * DAY),
        calibration_due: Some(OPENING - 400 * DAY),
        ..instrument(*wrench)
    }
}

/// Gauges that prove any limit of any engine, where a story is not about gauges.
const GOOD_FOR_ALL: [Row; 7] = [
    ("ANY-LENGTH", "outside-micrometer", "0.0001 mm", "0.001 mm", "0 mm", "500 mm", ""),
    ("ANY-MASS", "scale", "1 g", "0.5 g", "0 g", "5000 g", ""),
    ("ANY-TORQUE", "beam-torque-wrench", "0.0001 N·m", "0.1 N·m", "0 N·m", "50 N·m", ""),
    ("ANY-VOLUME", "burette", "0.1 cm3", "0.1 cm3", "0 cm3", "100 cm3", ""),
    ("ANY-ANGLE", "angle-gauge", "0.1 deg", "0.1 deg", "0 deg", "360 deg", ""),
    ("ANY-WRENCH", "click-torque-wrench", "1 N·m", "", "5 N·m", "250 N·m", ""),
    ("ANY-BORE", "bore-gauge", "0.001 mm", "0.002 mm", "10 mm", "200 mm", "S1"),
];

pub(super) fn list_good_for_all(lead: &Hand) {
    for row in GOOD_FOR_ALL {
        lead.rules(&Payload::Instrument(Box::new(instrument(row))));
    }
}
