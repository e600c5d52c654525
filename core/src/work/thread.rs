//! Screw threads: sizes, stress areas and proof stresses.

use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Range, Takes};
use super::values::converted;
use crate::quantity::Unit;

/// Nominal diameter.
pub(super) const DIAMETER: Input = Input::required(
    "diameter",
    Takes::Quantity(Unit::Millimetre, Range::from(1.0, 100.0)),
    "of the thread, nominal, such as 10 mm or 3/8 in",
);
/// Pitch, where it is metric.
pub(super) const PITCH: Input =
    Input::optional("pitch", Takes::Quantity(Unit::Millimetre, Range::from(0.2, 10.0)), "of a metric thread");
/// Threads per inch, where it is not.
pub(super) const PER_INCH: Input =
    Input::optional("per-inch", Takes::Number(Range::from(2.0, 100.0)), "threads per inch of an inch thread");
/// Property class.
pub(super) const CLASS: Input = Input::optional(
    "class",
    Takes::Word(&["8.8", "9.8", "10.9", "12.9", "grade-5", "grade-8"]),
    "property class, for the proof load",
);

/// Pitch diameter of a 60 degree thread: `d2 = d - 3/8 sqrt 3 P`, in the unit of both. Source: ISO 898-1.
pub(super) fn pitch_diameter(diameter: f64, pitch: f64) -> f64 {
    diameter - 0.649_519_052_838 * pitch
}

/// Diameter whose circle is the stress area: `(d2 + d3)/2`, in the unit of both. Source: ISO 898-1.
pub(super) fn stress_diameter(diameter: f64, pitch: f64) -> f64 {
    f64::midpoint(pitch_diameter(diameter, pitch), diameter - 1.226_869_322_028 * pitch)
}

/// Whether a pitch leaves anything of a diameter, both in one unit.
pub(super) fn leaves_a_core(diameter: f64, pitch: f64) -> bool {
    1.3 * pitch < diameter
}

/// What to say where it leaves nothing, in mm.
pub(super) fn no_core(diameter_mm: f64, pitch_mm: f64) -> WorkError {
    let cause = format!("a pitch of {pitch_mm} mm leaves nothing of {diameter_mm} mm");
    WorkError::of("pitch", cause, "check both")
}

/// Tensile stress area of a metric thread in mm²: `pi/4 ((d2 + d3)/2)^2`. Source: ISO 898-1.
#[must_use]
pub fn stress_area_metric(diameter_mm: f64, pitch_mm: f64) -> f64 {
    let d0 = stress_diameter(diameter_mm, pitch_mm);
    std::f64::consts::FRAC_PI_4 * d0 * d0
}

/// Tensile stress area of an inch thread in in²: `0.7854 (D - 0.9743/n)^2`. Source: ASME B1.1.
#[must_use]
#[expect(clippy::approx_constant, reason = "the figure that the standard prints")]
pub fn stress_area_inch(diameter_in: f64, threads_per_inch: f64) -> f64 {
    let d = diameter_in - 0.9743 / threads_per_inch;
    0.7854 * d * d
}

/// A thread as given, in mm and mm².
#[derive(Clone, Copy, Debug)]
pub(super) struct Thread {
    pub(super) diameter: f64,
    pub(super) pitch: f64,
    pub(super) area: f64,
}

/// The thread of `diameter` and one of `pitch` and `per-inch`.
///
/// # Errors
/// Both or neither, or a thread that leaves no core.
pub(super) fn thread(given: &Given) -> Result<Thread, WorkError> {
    let diameter = given.value("diameter", Unit::Millimetre)?;
    match (given.maybe("pitch", Unit::Millimetre), given.maybe("per-inch", Unit::ToOne)) {
        (Some(pitch), None) if leaves_a_core(diameter, pitch) => {
            Ok(Thread { diameter, pitch, area: stress_area_metric(diameter, pitch) })
        }
        (Some(pitch), None) => Err(no_core(diameter, pitch)),
        (None, Some(n)) => inch_thread(diameter, given.value("diameter", Unit::Inch)?, n),
        (Some(_), Some(_)) => {
            Err(WorkError::of("per-inch", "is given beside a pitch", "give one of the two"))
        }
        (None, None) => {
            let hint = "give pitch=1.25mm, or per-inch=24 for an inch thread";
            Err(WorkError::of("pitch", "is missing", hint))
        }
    }
}

fn inch_thread(diameter: f64, inches: f64, n: f64) -> Result<Thread, WorkError> {
    if !leaves_a_core(inches, 1.0 / n) {
        let cause = format!("{n} threads per inch leave nothing of {diameter} mm");
        return Err(WorkError::of("per-inch", cause, "check both"));
    }
    let area = converted(stress_area_inch(inches, n), Unit::SquareInch, Unit::SquareMillimetre);
    Ok(Thread { diameter, pitch: 25.4 / n, area })
}

/// Proof stress in MPa: class, up to this diameter in mm, above it; nought: not in the table. Source: ISO 898-1:2013 Table 3;
/// SAE J429 (85 and 120 ksi).
const PROOF: [(&str, f64, f64, f64); 6] = [
    ("8.8", 16.0, 580.0, 600.0),
    ("9.8", 16.0, 650.0, 0.0),
    ("10.9", 39.0, 830.0, 0.0),
    ("12.9", 39.0, 970.0, 0.0),
    ("grade-5", 25.4, 586.054_369_919, 0.0),
    ("grade-8", 38.1, 827.370_875_180, 0.0),
];

/// Proof load in kN of the `class`; none: no class is given.
///
/// # Errors
/// A class that is not made in this diameter.
pub(super) fn proof_load(given: &Given, thread: &Thread) -> Result<Option<f64>, WorkError> {
    let class = given.word("class");
    let Some((_, up_to, small, large)) = PROOF.iter().find(|(row, ..)| *row == class) else {
        return Ok(None);
    };
    let stress = if thread.diameter <= *up_to { *small } else { *large };
    if stress <= 0.0 {
        let cause = format!("{class} is not made above {up_to} mm");
        return Err(WorkError::of("class", cause, "leave class out, and take the maker's figure"));
    }
    Ok(Some(thread.area * stress / 1000.0))
}
