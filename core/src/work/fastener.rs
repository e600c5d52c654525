//! Bolts and wrenches. Never a torque in place of the maker's.

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Need, Range, Takes};
use super::values::converted;
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

pub(super) const MAKERS_FIGURE: &str =
    "The torque, the stages and the lubricant are the maker's figures; nothing here replaces them.";
const PULL: &str = "Pull, do not push; check the socket; brace for a break.";
pub(super) const TORQUES: Range = Range::up_to(2000.0);

/// A torque that must be given.
pub(super) const fn torque(name: &'static str, about: &'static str) -> Input {
    Input { name, takes: Takes::Quantity(Unit::NewtonMetre, TORQUES), need: Need::Required, about }
}

/// What to set a wrench to with an extension: `T L / (L + E cos b)`.
///
/// `torque`: wanted at the bolt, any unit; `lever` from drive to hand and `extension` in one
/// unit; `angle_deg` between them, 0 straight on. Source: statics.
///
/// ```
/// use gudgeon_core::work::crow_foot_setting;
/// assert!((crow_foot_setting(100.0, 400.0, 50.0, 0.0) - 88.888_888_889).abs() < 1e-7);
/// ```
#[must_use]
pub fn crow_foot_setting(torque: f64, lever: f64, extension: f64, angle_deg: f64) -> f64 {
    torque * lever / (lever + extension * libm::cos(angle_deg.to_radians()))
}

/// Pitch diameter of a 60 degree thread: `d2 = d - 3/8 sqrt 3 P`, in the unit of both. Source: ISO 898-1.
pub(super) fn pitch_diameter(diameter: f64, pitch: f64) -> f64 {
    diameter - 0.649_519_052_838 * pitch
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
    let (d2, d3) = (pitch_diameter(diameter_mm, pitch_mm), diameter_mm - 1.226_869_322_028 * pitch_mm);
    std::f64::consts::FRAC_PI_4 * ((d2 + d3) / 2.0) * ((d2 + d3) / 2.0)
}

/// Tensile stress area of an inch thread in in²: `0.7854 (D - 0.9743/n)^2`. Source: ASME B1.1.
#[must_use]
#[expect(clippy::approx_constant, reason = "the figure that the standard prints")]
pub fn stress_area_inch(diameter_in: f64, threads_per_inch: f64) -> f64 {
    let d = diameter_in - 0.9743 / threads_per_inch;
    0.7854 * d * d
}

/// What to set a wrench to with an open-end extension.
pub(super) static CROW_FOOT: Worksheet = Worksheet {
    name: "crow-foot",
    title: "wrench setting with an open-end extension",
    section: Section::Fasteners,
    inputs: &[
        torque("torque", "the maker's figure, at the bolt"),
        Input {
            name: "lever",
            takes: Takes::Quantity(Unit::Millimetre, Range::up_to(3000.0)),
            need: Need::Required,
            about: "from the square drive to the middle of the grip",
        },
        Input {
            name: "extension",
            takes: Takes::Quantity(Unit::Millimetre, Range::from(0.0, 500.0)),
            need: Need::Required,
            about: "from the square drive to the bolt",
        },
        Input {
            name: "angle",
            takes: Takes::Quantity(Unit::Degree, Range::from(0.0, 180.0)),
            need: Need::Default("0 deg", Standing::Computed),
            about: "between handle and extension: 0 straight on, 90 square, 180 folded back",
        },
    ],
    example: "torque=42N.m lever=300mm extension=45mm",
    outputs: &[
        Output { name: "set", unit: "N·m", decimals: 1, about: "what the wrench is set to" },
        Output { name: "set-lbf-ft", unit: "lbf·ft", decimals: 1, about: "the same" },
    ],
    formula: "T_set = T L / (L + E cos b)",
    valid: "hand in the middle of the grip; L longer than E",
    source: Source { text: "statics", standing: Standing::Computed },
    mistakes: &[
        "corrected at 90 degrees, where nothing is to be corrected",
        "lever measured to the end of the handle",
        "extension measured from its end instead of the bolt",
    ],
    cautions: &[MAKERS_FIGURE, PULL],
    compute: crow_foot,
};

fn crow_foot(given: &Given) -> Result<Answer, WorkError> {
    let torque = given.value("torque", Unit::NewtonMetre)?;
    let (lever, extension) =
        (given.value("lever", Unit::Millimetre)?, given.value("extension", Unit::Millimetre)?);
    if extension >= lever {
        let cause = format!("an extension of {extension} mm is not shorter than the lever of {lever} mm");
        return Err(WorkError::of("extension", cause, "measure both from the square drive"));
    }
    let set = crow_foot_setting(torque, lever, extension, given.value("angle", Unit::Degree)?);
    Answer::new()
        .number("set", set)?
        .number("set-lbf-ft", converted(set, Unit::NewtonMetre, Unit::PoundForceFoot))
}

/// Stress area of a thread, and load by proof stress.
pub(super) static STRESS_AREA: Worksheet = Worksheet {
    name: "stress-area",
    title: "stress area of a thread and its proof load",
    section: Section::Fasteners,
    inputs: &[
        Input {
            name: "diameter",
            takes: Takes::Quantity(Unit::Millimetre, Range::from(1.0, 100.0)),
            need: Need::Required,
            about: "nominal, such as 10 mm or 3/8 in",
        },
        Input {
            name: "pitch",
            takes: Takes::Quantity(Unit::Millimetre, Range::from(0.2, 10.0)),
            need: Need::Optional,
            about: "of a metric thread",
        },
        Input {
            name: "per-inch",
            takes: Takes::Number(Range::from(2.0, 100.0)),
            need: Need::Optional,
            about: "threads per inch of an inch thread",
        },
        Input {
            name: "class",
            takes: Takes::Word(&["8.8", "9.8", "10.9", "12.9", "grade-5", "grade-8"]),
            need: Need::Optional,
            about: "property class, for the proof load",
        },
    ],
    example: "diameter=9mm pitch=1mm class=10.9",
    outputs: &[
        Output { name: "area", unit: "mm²", decimals: 2, about: "tensile stress area" },
        Output { name: "area-in2", unit: "in²", decimals: 5, about: "the same" },
        Output { name: "proof-load", unit: "kN", decimals: 1, about: "area by proof stress" },
    ],
    formula: "metric: A = pi/4 ((d2 + d3)/2)^2, d2 = d - 0.649519 P, d3 = d - 1.226869 P; inch: A = 0.7854 (D - 0.9743/n)^2; load = A S_p",
    valid: "standard 60 degree threads; shanks necked below the thread are weaker than this",
    source: Source {
        text: "ISO 898-1:2013 9.1.6.1 and Table 3; ASME B1.1; SAE J429. Printed loads are rounded: within 0.5 %",
        standing: Standing::Published,
    },
    mistakes: &[
        "stress area used for the stretch of a necked shank",
        "pitch and threads per inch mixed up",
        "a bolt's class guessed from its looks",
    ],
    cautions: &[MAKERS_FIGURE],
    compute: stress_area,
};

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

fn stress_area(given: &Given) -> Result<Answer, WorkError> {
    let (diameter, inches) =
        (given.value("diameter", Unit::Millimetre)?, given.value("diameter", Unit::Inch)?);
    let metric = given.maybe("pitch", Unit::Millimetre);
    let inch = given.maybe("per-inch", Unit::ToOne);
    let area = match (metric, inch) {
        (Some(pitch), None) if leaves_a_core(diameter, pitch) => stress_area_metric(diameter, pitch),
        (Some(pitch), None) => return Err(no_core(diameter, pitch)),
        (None, Some(n)) if leaves_a_core(inches, 1.0 / n) => {
            converted(stress_area_inch(inches, n), Unit::SquareInch, Unit::SquareMillimetre)
        }
        (None, Some(n)) => {
            let cause = format!("{n} threads per inch leave nothing of {diameter} mm");
            return Err(WorkError::of("per-inch", cause, "check both"));
        }
        (Some(_), Some(_)) => {
            return Err(WorkError::of("per-inch", "is given beside a pitch", "give one of the two"));
        }
        (None, None) => {
            return Err(WorkError::of(
                "pitch",
                "is missing",
                "give pitch=1.25mm, or per-inch=24 for an inch thread",
            ));
        }
    };
    let answer = Answer::new()
        .number("area", area)?
        .number("area-in2", converted(area, Unit::SquareMillimetre, Unit::SquareInch))?;
    let row = PROOF.iter().find(|(class, ..)| *class == given.word("class"));
    match row {
        Some((_, up_to, small, large)) => {
            let stress = if diameter <= *up_to { *small } else { *large };
            if stress <= 0.0 {
                let cause = format!("{} is not made above {up_to} mm", given.word("class"));
                return Err(WorkError::of("class", cause, "leave class out, and take the maker's figure"));
            }
            answer.number("proof-load", area * stress / 1000.0)
        }
        None => Ok(answer),
    }
}

/// Whether a wrench suits a job.
pub(super) static WRENCH: Worksheet = Worksheet {
    name: "wrench",
    title: "whether a torque wrench suits a job",
    section: Section::Fasteners,
    inputs: &[
        torque("torque", "the maker's figure"),
        torque("largest", "the wrench's largest torque"),
        Input {
            name: "error",
            takes: Takes::Number(Range::from(0.0, 50.0)),
            need: Need::Optional,
            about: "its largest error in per cent; 4 above 10 N·m and 6 below where not given",
        },
    ],
    example: "torque=42N.m largest=110N.m",
    outputs: &[
        Output { name: "of-range", unit: "%", decimals: 0, about: "the job by the wrench's largest" },
        Output { name: "error", unit: "N·m", decimals: 2, about: "how far it may be out" },
        Output { name: "says", unit: "", decimals: 0, about: "in words" },
    ],
    formula: "of-range = T / T_max; usable from 20 % to 100 %",
    valid: "adjustable click and dial wrenches, calibrated within twelve months or 5000 pulls (from memory)",
    source: Source {
        text: "ISO 6789-1:2017; 20 to 100 % of the range is practice",
        standing: Standing::Memory,
    },
    mistakes: &[
        "a wrench used under a fifth of its range",
        "a click wrench used to read turning torque",
        "set back and forth under load",
    ],
    cautions: &[MAKERS_FIGURE, PULL],
    compute: wrench,
};

fn wrench(given: &Given) -> Result<Answer, WorkError> {
    let torque = given.value("torque", Unit::NewtonMetre)?;
    let share = torque / given.value("largest", Unit::NewtonMetre)?;
    let by_class = if torque > 10.0 { 4.0 } else { 6.0 };
    let percent = given.maybe("error", Unit::ToOne).unwrap_or(by_class);
    let says = match share {
        share if share > 1.0 => "beyond this wrench",
        share if share < 0.2 => "under a fifth of its range: take a smaller wrench",
        _ => "suits",
    };
    Ok(Answer::new()
        .number("of-range", 100.0 * share)?
        .number("error", torque * percent / 100.0)?
        .word("says", says))
}
