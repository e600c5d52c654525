//! What the invented build measures: one row a place, the figures of the invented engine.
//!
//! All of it is invented, and hangs together by arithmetic only: no maker's figure is here.

/// When a reading is taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Phase {
    /// As the engine came in.
    Found,
    /// As it is made.
    Made,
}

/// What is read on features of one shape.
pub struct Row {
    shape: &'static str,
    characteristic: &'static str,
    found: &'static str,
    made: &'static str,
    unit: &'static str,
    /// How much stations and, after it, places differ, in units of the last digit.
    spread: (u32, u32),
    /// Gauge, and what it is set with where not always the same.
    pub gauge: &'static str,
    /// Setting master.
    pub master: &'static str,
}

const fn row(
    shape: &'static str,
    characteristic: &'static str,
    found: &'static str,
    made: &'static str,
    unit: &'static str,
    spread: (u32, u32),
    gauge: (&'static str, &'static str),
) -> Row {
    Row { shape, characteristic, found, made, unit, spread, gauge: gauge.0, master: gauge.1 }
}

/// Wear of a bore as it came, in thousandths of a millimetre over its least worn place.
const WEAR: [(&str, u32); 6] = [
    ("top/thrust", 28),
    ("top/axial", 11),
    ("middle/thrust", 15),
    ("middle/axial", 6),
    ("bottom/thrust", 4),
    ("bottom/axial", 0),
];

const NO: &str = "";

/// The readings of the build.
const ROWS: &[Row] = &[
    row("bore/*", "diameter", "80.108", "80.506", "mm", (2, 1), ("B1", "M1")),
    row("bore/*", "piston-height", "0.40", "0.30", "mm", (0, 0), ("D1", NO)),
    row("piston/*/skirt", "diameter", "80.450", "80.450", "mm", (0, 0), ("M1", NO)),
    row("piston/*/pin-boss", "diameter", "22.005", "22.005", "mm", (1, 0), ("B2", "M4")),
    row("gudgeon/*", "diameter", "21.997", "21.997", "mm", (1, 0), ("M4", NO)),
    row("main/*", "journal-diameter", "56.984", "56.737", "mm", (1, 2), ("M2", NO)),
    row("main/*", "housing-diameter", "61.008", "61.008", "mm", (1, 2), ("B1", "M2")),
    row("main/*", "shell-wall", "2.109", "2.109", "mm", (0, 0), ("M5", NO)),
    row("pin/*", "diameter", "47.979", "47.742", "mm", (1, 2), ("M3", NO)),
    row("rod/*/big-end", "housing-diameter", "51.607", "51.607", "mm", (1, 2), ("B1", "M2")),
    row("rod/*/big-end", "shell-wall", "1.907", "1.907", "mm", (0, 0), ("M5", NO)),
    row("rod/*/small-end", "diameter", "22.013", "22.013", "mm", (1, 0), ("B2", "M4")),
    row("rod/*/bolts", "free-length", "48.004", "48.004", "mm", (0, 2), ("M3", NO)),
    row("rod/*/bolts", "tight-length", "48.129", "48.129", "mm", (0, 2), ("M3", NO)),
    row("rod/*", "side-clearance", "0.25", "0.25", "mm", (0, 2), ("F1", NO)),
    row("rod/*", "weight-big", "418", "418", "g", (0, 1), ("S1", NO)),
    row("rod/*", "weight-small", "178", "178", "g", (0, 1), ("S1", NO)),
    row("deck/*", "height", "220.40", "220.30", "mm", (0, 0), ("H1", NO)),
    row("deck/*", "flatness", "0.03", "0.03", "mm", (0, 0), ("F2", NO)),
    row("crank", "end-float", "0.22", "0.15", "mm", (0, 0), ("D1", NO)),
    row("crank", "turning-torque", "2.0", "2.0", "N·m", (0, 0), ("T1", NO)),
    row("ring/*/top", "gap", "0.37", "0.37", "mm", (0, 2), ("F1", NO)),
    row("ring/*/second", "gap", "0.42", "0.42", "mm", (0, 2), ("F1", NO)),
    row("ring/*/rail-upper", "gap", "0.62", "0.62", "mm", (0, 3), ("F1", NO)),
    row("ring/*/rail-lower", "gap", "0.64", "0.64", "mm", (0, 3), ("F1", NO)),
    row("ring/*/top", "side-clearance", "0.06", "0.06", "mm", (0, 0), ("F1", NO)),
    row("ring/*/second", "side-clearance", "0.05", "0.05", "mm", (0, 0), ("F1", NO)),
];

/// Mark, sort, and the rest of `gauge add`.
pub type Gauge = (&'static str, &'static str, &'static [&'static str]);

/// The wrench whose calibration has run out when the build begins.
pub(super) const OVERDUE: &str = "W1";

/// Day of calibration, and until when it holds.
pub(super) const CALIBRATED: (&str, &str) = ("2026-01-12", "2036-01-12");

/// The same of a gauge that is overdue.
pub(super) const RUN_OUT: (&str, &str) = ("2024-01-12", "2025-01-12");

/// The gauges of the shop.
pub const GAUGES: &[Gauge] = &[
    ("M1", "outside-micrometer", &["--resolution", "0.001mm", "--error", "4um", "--range", "75 mm..100 mm"]),
    ("M2", "outside-micrometer", &["--resolution", "0.001mm", "--error", "4um", "--range", "50 mm..75 mm"]),
    ("M3", "outside-micrometer", &["--resolution", "0.001mm", "--error", "4um", "--range", "25 mm..50 mm"]),
    ("M4", "outside-micrometer", &["--resolution", "0.001mm", "--error", "4um", "--range", "0 mm..25 mm"]),
    ("M5", "ball-micrometer", &["--resolution", "0.001mm", "--error", "4um", "--range", "0 mm..25 mm"]),
    (
        "B1",
        "bore-gauge",
        &[
            "--resolution",
            "0.001mm",
            "--error",
            "4um",
            "--repeat",
            "1um",
            "--range",
            "50 mm..150 mm",
            "--set-with",
            "M1",
        ],
    ),
    (
        "B2",
        "bore-gauge",
        &[
            "--resolution",
            "0.001mm",
            "--error",
            "4um",
            "--repeat",
            "1um",
            "--range",
            "18 mm..35 mm",
            "--set-with",
            "M4",
        ],
    ),
    ("D1", "dial-indicator", &["--resolution", "0.01mm", "--error", "17um", "--range", "0 mm..10 mm"]),
    ("F1", "feeler", &["--resolution", "0.01mm", "--error", "10um", "--range", "0 mm..1 mm"]),
    (
        "F2",
        "straight-edge-and-feeler",
        &["--resolution", "0.01mm", "--error", "10um", "--range", "0 mm..1 mm"],
    ),
    ("H1", "height-gauge", &["--resolution", "0.01mm", "--error", "30um", "--range", "0 mm..300 mm"]),
    ("S1", "scale", &["--resolution", "1g", "--error", "0.5g", "--range", "0 g..2000 g"]),
    (
        "T1",
        "beam-torque-wrench",
        &["--resolution", "0.1 N·m", "--error", "0.2 N·m", "--range", "0 N·m..20 N·m"],
    ),
    ("W1", "click-torque-wrench", &["--resolution", "1 N·m", "--error", "4 %", "--range", "20 N·m..100 N·m"]),
    (
        "W2",
        "click-torque-wrench",
        &["--resolution", "1 lbf·ft", "--error", "4 %", "--range", "10 lbf·ft..60 lbf·ft"],
    ),
];

/// The row of a place.
#[must_use]
pub fn find(path: &str, characteristic: &str) -> Option<&'static Row> {
    ROWS.iter().find(|row| row.characteristic == characteristic && has_shape(path, row.shape))
}

fn has_shape(path: &str, shape: &str) -> bool {
    let (mut a, mut b) = (path.split('/'), shape.split('/'));
    loop {
        match (a.next(), b.next()) {
            (None, None) => return true,
            (Some(part), Some(wanted)) if wanted == "*" || part == wanted => {}
            _ => return false,
        }
    }
}

impl Row {
    /// The value as typed, with its unit, at a station of this number; `shift` is another hand's.
    #[must_use]
    pub fn value(&self, phase: Phase, path: &str, station: &str, number: u32, shift: u32) -> String {
        let place = path.split('/').find_map(|word| word.parse::<u32>().ok()).unwrap_or(0);
        // The crank turns heavier with every piston.
        let cylinder = station.strip_prefix("cylinder-").and_then(|rest| rest.get(..1)?.parse::<u32>().ok());
        if let Some(cylinder) = cylinder.filter(|_| self.characteristic == "turning-torque") {
            return format!("{}.0 {}", 2 + 3 * cylinder, self.unit);
        }
        let (stations, places) = self.spread;
        let lean = place % (places + 1);
        let scatter = (number + shift) % (stations + 1);
        let worn =
            WEAR.iter().find(|(at, _)| phase == Phase::Found && self.shape == "bore/*" && *at == station);
        let (base, add) = match (phase, worn) {
            (Phase::Found, Some((_, wear))) => (self.found, wear + scatter + place),
            (Phase::Found, None) => (self.found, scatter + lean),
            (Phase::Made, _) => (self.made, scatter + lean),
        };
        format!("{} {}", plus(base, add), self.unit)
    }
}

/// Adds to the last digit of a number as typed, which has no sign.
fn plus(number: &str, add: u32) -> String {
    let decimals = number.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    let digits: u64 = number.replace('.', "").parse().unwrap_or(0);
    let width = decimals + usize::from(decimals > 0);
    let sum = format!("{:0width$}", digits + u64::from(add));
    let (whole, rest) = sum.split_at(sum.len() - decimals);
    if rest.is_empty() { whole.to_owned() } else { format!("{whole}.{rest}") }
}

#[cfg(test)]
mod tests {
    use super::plus;

    #[test]
    fn a_last_digit_carries_over() {
        assert_eq!(plus("80.108", 31), "80.139");
        assert_eq!(plus("0.98", 3), "1.01");
        assert_eq!(plus("418", 2), "420");
    }
}
