//! Bolts and wrenches. Never a torque in place of the maker's.

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Need, Range, Takes};
use super::thread::{CLASS, DIAMETER, PER_INCH, PITCH, proof_load, thread};
use super::values::converted;
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

pub(super) const MAKERS_FIGURE: &str =
    "The torque, the stages and the lubricant are the maker's figures; nothing here replaces them.";
pub(super) const PULL: &str = "Pull, do not push; check the socket; brace for a break.";
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
    inputs: &[DIAMETER, PITCH, PER_INCH, CLASS],
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

fn stress_area(given: &Given) -> Result<Answer, WorkError> {
    let thread = thread(given)?;
    let answer = Answer::new()
        .number("area", thread.area)?
        .number("area-in2", converted(thread.area, Unit::SquareMillimetre, Unit::SquareInch))?;
    match proof_load(given, &thread)? {
        Some(load) => answer.number("proof-load", load),
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
