//! How a piston moves: the exact slider-crank, without pin offset.

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Need, Range, Takes};
use super::values::longer_than_throw;
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

/// Where a piston is and how it moves at one crank angle; down is positive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motion {
    /// Below top dead centre, mm.
    pub drop_mm: f64,
    /// Downward, m/s.
    pub velocity_m_s: f64,
    /// Downward, m/s².
    pub acceleration_m_s2: f64,
}

/// Exact slider-crank at `angle_deg` after top dead centre.
///
/// `s = r cos t + sqrt(l² - r² sin² t)`, drop `r + l - s`; velocity and acceleration are its
/// derivatives. Source: Heywood, Internal Combustion Engine Fundamentals, ch. 2.
///
/// # Errors
/// A rod not longer than the throw.
pub fn piston_motion(throw_mm: f64, rod_mm: f64, rpm: f64, angle_deg: f64) -> Result<Motion, WorkError> {
    longer_than_throw(rod_mm, throw_mm)?;
    let (angle, lambda) = (angle_deg.to_radians(), throw_mm / rod_mm);
    let (sin, cos) = (libm::sin(angle), libm::cos(angle));
    let omega = rpm * std::f64::consts::PI / 30.0;
    let root = libm::sqrt(1.0 - lambda * lambda * sin * sin);
    // 1 - cos and 1 - sqrt(1 - x²) written so that nothing is lost near the top.
    let half = libm::sin(angle / 2.0);
    let drop_mm = throw_mm * 2.0 * half * half + rod_mm * lambda * lambda * sin * sin / (1.0 + root);
    let r = throw_mm / 1000.0;
    let bend = lambda * libm::cos(2.0 * angle) + lambda * lambda * lambda * sin * sin * sin * sin;
    Ok(Motion {
        drop_mm,
        velocity_m_s: r * omega * sin * (1.0 + lambda * cos / root),
        acceleration_m_s2: r * omega * omega * (cos + bend / (root * root * root)),
    })
}

/// Where a piston is at a crank angle.
pub(super) static PISTON_MOTION: Worksheet = Worksheet {
    name: "piston-motion",
    title: "piston height, speed and acceleration at a crank angle",
    section: Section::Geometry,
    inputs: &[
        Input {
            name: "stroke",
            takes: Takes::Quantity(Unit::Millimetre, Range::up_to(1000.0)),
            need: Need::Required,
            about: "stroke",
        },
        Input {
            name: "rod",
            takes: Takes::Quantity(Unit::Millimetre, Range::up_to(3000.0)),
            need: Need::Required,
            about: "rod, centre to centre",
        },
        Input {
            name: "speed",
            takes: Takes::Quantity(Unit::Rpm, Range::from(0.0, 20_000.0)),
            need: Need::Default("0 rpm", Standing::Computed),
            about: "crank speed",
        },
        Input {
            name: "angle",
            takes: Takes::Quantity(Unit::Degree, Range::from(-360.0, 720.0)),
            need: Need::Required,
            about: "crank angle after top dead centre",
        },
    ],
    example: "stroke=89mm rod=143mm speed=5500rpm angle=74deg",
    outputs: &[
        Output { name: "drop", unit: "mm", decimals: 3, about: "below top dead centre" },
        Output { name: "velocity", unit: "m/s", decimals: 3, about: "downward" },
        Output { name: "acceleration", unit: "m/s²", decimals: 1, about: "downward" },
        Output { name: "mean-speed", unit: "m/s", decimals: 2, about: "of the piston: 2 S N" },
    ],
    formula: "s = r cos t + sqrt(l^2 - r^2 sin^2 t); drop = r + l - s; v, a its derivatives; mean = 2 S N",
    valid: "no pin offset; rigid parts, no clearances",
    source: Source {
        text: "Heywood, Internal Combustion Engine Fundamentals, ch. 2; Khurmi & Gupta ch. 15",
        standing: Standing::Published,
    },
    mistakes: &[
        "mean speed taken for the greatest",
        "the two-term series used past 60 degrees",
        "stroke taken for throw",
    ],
    cautions: &[],
    compute: motion,
};

fn motion(given: &Given) -> Result<Answer, WorkError> {
    let (stroke, rpm) = (given.value("stroke", Unit::Millimetre)?, given.value("speed", Unit::Rpm)?);
    let angle = given.value("angle", Unit::Degree)?;
    let found = piston_motion(stroke / 2.0, given.value("rod", Unit::Millimetre)?, rpm, angle)?;
    Answer::new()
        .number("drop", found.drop_mm)?
        .number("velocity", found.velocity_m_s)?
        .number("acceleration", found.acceleration_m_s2)?
        .number("mean-speed", 2.0 * stroke / 1000.0 * rpm / 60.0)
}
