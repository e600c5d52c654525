//! Sorts of instruments, with what they may err by where nobody knows better.
//!
//! Defaults to start from, never a calibration: an instrument of the shop states its own.

use crate::quantity::Kind;

/// Largest permissible error up to a size.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ErrorLimit {
    /// Sizes up to this, in base units of the kind.
    pub up_to: i64,
    /// Largest permissible error, plus or minus, in base units of the kind.
    pub error: i64,
}

/// Row of the table of instruments.
#[derive(Clone, Copy, Debug)]
pub struct InstrumentSort {
    /// Name, such as `outside-micrometer`.
    pub name: &'static str,
    /// What it measures.
    pub kind: Kind,
    /// Error limits by range, smallest first; empty where none is known.
    pub limits: &'static [ErrorLimit],
    /// Error limit in per cent of the reading, for torque tools: above and up to `knee`.
    pub percent: Option<Percent>,
    /// Step of its display, in base units; what is usual.
    pub resolution: i64,
    /// Material of its body in the materials table; none where it does not matter.
    pub material: Option<&'static str>,
    /// Whether it reads a deviation from a master it is set with.
    pub needs_master: bool,
    /// Whether a size can be read off it; one that lets go at its setting, or stands for one
    /// size, shows none.
    pub shows: bool,
    /// Where the figures come from.
    pub source: &'static str,
}

/// Error limit of a torque tool.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Percent {
    /// Per cent of the reading above the knee.
    pub above: u8,
    /// Per cent of the reading at and below the knee.
    pub below: u8,
    /// The knee, in base units.
    pub knee: i64,
    /// Lowest usable setting, in per cent of the tool's largest.
    pub lowest_percent: u8,
}

const fn mm(mm: i64) -> i64 {
    mm * 1_000_000_000
}

const fn um(um: i64) -> i64 {
    um * 1_000_000
}

const fn within(up_to: i64, error: i64) -> ErrorLimit {
    ErrorLimit { up_to, error }
}

const MICROMETER: &[ErrorLimit] = &[within(mm(50), um(4)), within(mm(100), um(5)), within(mm(150), um(6))];
const CALIPER: &[ErrorLimit] = &[within(mm(200), um(30))];
const FEELER: &[ErrorLimit] = &[within(um(100), um(5)), within(um(500), um(10)), within(mm(1), um(16))];

/// ISO 6789-1:2017: 4 % above 10 N·m, 6 % at or below it; used from a fifth of the range.
const TORQUE: Percent = Percent { above: 4, below: 6, knee: 10_000_000_000, lowest_percent: 20 };

const DIN_863: &str = "DIN 863-1 table";
const ISO_6789: &str = "ISO 6789-1:2017 for click tools of class A; from memory for others";
const PRACTICE: &str = "common practice, no source";
const STEEL: Option<&str> = Some("tool-steel");

/// An instrument for lengths, of steel.
const fn length(
    name: &'static str,
    limits: &'static [ErrorLimit],
    resolution: i64,
    source: &'static str,
) -> InstrumentSort {
    InstrumentSort {
        name,
        kind: Kind::Length,
        limits,
        percent: None,
        resolution,
        material: STEEL,
        needs_master: false,
        shows: true,
        source,
    }
}

/// An instrument whose body does not matter.
const fn other(
    name: &'static str,
    kind: Kind,
    limits: &'static [ErrorLimit],
    resolution: i64,
    source: &'static str,
) -> InstrumentSort {
    InstrumentSort { kind, material: None, ..length(name, limits, resolution, source) }
}

impl InstrumentSort {
    const fn set_with_master(self) -> Self {
        Self { needs_master: true, ..self }
    }

    const fn without_display(self) -> Self {
        Self { shows: false, ..self }
    }

    const fn wrench(self) -> Self {
        Self { percent: Some(TORQUE), ..self }
    }

    /// The error limit at a size in base units, where the table has one.
    ///
    /// A torque tool's is its per cent of the size, rounded up.
    #[must_use]
    pub fn error_at(&self, size: i64) -> Option<i64> {
        let size = size.checked_abs()?;
        if let Some(percent) = self.percent {
            let share = if size > percent.knee { percent.above } else { percent.below };
            return Some(size.checked_mul(i64::from(share))?.checked_add(99)? / 100);
        }
        let limit = self.limits.iter().find(|limit| size <= limit.up_to);
        limit.map(|limit| limit.error)
    }
}

/// Every sort of instrument.
pub static INSTRUMENTS: [InstrumentSort; 25] = [
    length("outside-micrometer", MICROMETER, um(1), DIN_863),
    length("bench-micrometer", MICROMETER, um(1), DIN_863),
    length("depth-micrometer", MICROMETER, um(1), "as an outside micrometer, from memory"),
    length("inside-micrometer", MICROMETER, um(1), "as an outside micrometer, from memory"),
    length("ball-micrometer", MICROMETER, um(1), "as an outside micrometer, from memory"),
    length("gauge-block", &[within(mm(75), 500_000)], 0, "ISO 3650 grade 1, DIN 861 table").without_display(),
    length("setting-ring", &[within(mm(100), um(2))], 0, PRACTICE).without_display(),
    length("caliper", CALIPER, um(10), "DIN 862; ISO 13385-1:2019"),
    length("depth-gauge", &[within(mm(200), um(50))], um(10), "DIN 862: 20 um more for depth"),
    length("bore-gauge", &[within(mm(300), um(5))], um(1), "JIS B 7515, from memory").set_with_master(),
    // Taken out of the hole and measured: what it errs by is the feel, which only its user knows.
    length("telescopic-gauge", &[], um(1), "none known: state its own").set_with_master(),
    length("dial-indicator", &[within(mm(10), um(17))], um(10), "DIN 878, from memory"),
    length("lever-indicator", &[within(um(800), um(13))], um(10), "DIN 2270, from memory"),
    length("feeler", FEELER, um(10), "DIN 2275, BS 957, JIS B 7524, from memory, low confidence"),
    length("straight-edge-and-feeler", FEELER, um(10), "as feeler leaves, from memory"),
    length("plastic-strip", &[within(um(200), um(25))], um(25), PRACTICE),
    length("height-gauge", CALIPER, um(10), "as a caliper, from memory"),
    length("roughness-tester", &[], 10_000, "none known: state its own"),
    other("click-torque-wrench", Kind::Torque, &[], 1_000_000_000, ISO_6789).wrench().without_display(),
    other("dial-torque-wrench", Kind::Torque, &[], 500_000_000, ISO_6789).wrench(),
    other("beam-torque-wrench", Kind::Torque, &[], 500_000_000, ISO_6789).wrench(),
    other("angle-gauge", Kind::Angle, &[within(360_000_000, 2_000_000)], 1_000_000, PRACTICE),
    other("scale", Kind::Mass, &[within(2_000_000_000_000, 500_000_000)], 100_000_000, PRACTICE),
    other("burette", Kind::Volume, &[within(100_000_000_000, 100_000_000)], 100_000_000, PRACTICE),
    other("thermometer", Kind::Temperature, &[within(100_000_000, 500_000)], 100_000, PRACTICE),
];

/// The sort of that name.
#[must_use]
pub fn find(name: &str) -> Option<&'static InstrumentSort> {
    INSTRUMENTS.iter().find(|sort| sort.name == name)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::super::material;
    use super::*;

    #[test]
    fn names_differ_ranges_rise_and_materials_exist() {
        for (index, sort) in INSTRUMENTS.iter().enumerate() {
            assert!(!INSTRUMENTS[..index].iter().any(|other| other.name == sort.name));
            assert!(sort.limits.windows(2).all(|pair| pair[0].up_to < pair[1].up_to));
            assert!(sort.material.is_none_or(|name| material::find(name).is_some()));
            assert_eq!(sort.kind == Kind::Torque, sort.percent.is_some(), "{}", sort.name);
        }
    }

    // DIN 863-1 table: 4, 5 and 6 um up to 50, 100 and 150 mm.
    #[test]
    fn a_micrometer_errs_by_its_range() {
        let micrometer = find("outside-micrometer").unwrap();
        assert_eq!(micrometer.error_at(mm(50)), Some(um(4)));
        assert_eq!(micrometer.error_at(mm(50) + 1), Some(um(5)));
        assert_eq!(micrometer.error_at(mm(151)), None);
    }

    // ISO 6789-1:2017: 4 % above 10 N·m, 6 % at or below.
    #[test]
    fn a_torque_wrench_errs_by_per_cent_of_its_setting() {
        let wrench = find("click-torque-wrench").unwrap();
        assert_eq!(wrench.error_at(90_000_000_000), Some(3_600_000_000));
        assert_eq!(wrench.error_at(10_000_000_000), Some(600_000_000));
    }
}
