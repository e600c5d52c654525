//! Plain bearings under load, and rings pressed into each other. For comparison, never a verdict.

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Need, Range, Takes};
use super::wide_bearing::wide_bearing_film;
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

const SIZES: Range = Range::up_to(2000.0);

const fn mm(name: &'static str, need: Need, about: &'static str) -> Input {
    Input { name, takes: Takes::Quantity(Unit::Millimetre, SIZES), need, about }
}

/// A journal bearing under steady load, in SI units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bearing {
    /// Journal diameter, m.
    pub diameter: f64,
    /// Bearing width, m.
    pub width: f64,
    /// Diametral clearance, m.
    pub clearance: f64,
    /// Dynamic viscosity, Pa·s.
    pub viscosity: f64,
    /// Revolutions a second.
    pub speed: f64,
    /// Load, N.
    pub load: f64,
}

impl Bearing {
    /// Load on the projected area, Pa: `W / (D B)`.
    #[must_use]
    pub fn pressure(&self) -> f64 {
        self.load / (self.diameter * self.width)
    }

    /// Sommerfeld number `S = (r/c)^2 mu N / P`, c radial. Source: Shigley ch. 12.
    #[must_use]
    pub fn sommerfeld(&self) -> f64 {
        let relative = self.diameter / self.clearance;
        relative * relative * self.viscosity * self.speed / self.pressure()
    }
}

/// `S (L/D)^2` of a short bearing at an eccentricity ratio from 0 to 1 (Ocvirk).
#[must_use]
pub fn short_bearing(eccentricity: f64) -> f64 {
    let rest = 1.0 - eccentricity * eccentricity;
    let pi = std::f64::consts::PI;
    rest * rest / (pi * eccentricity * libm::sqrt(pi * pi * rest + 16.0 * eccentricity * eccentricity))
}

/// The eccentricity ratio at which [`short_bearing`] has this value: it falls all the way, so by halving.
fn eccentricity_of(value: f64) -> f64 {
    let (mut low, mut high) = (1e-12, 1.0);
    for _ in 0..200 {
        let middle = (low + high) / 2.0;
        if short_bearing(middle) > value { low = middle } else { high = middle }
    }
    (low + high) / 2.0
}

/// Widths by diameters at which the table for equal ones is a comparison.
const AS_WIDE: std::ops::RangeInclusive<f64> = 0.9..=1.1;

/// Bearing number, for comparison.
pub(super) static BEARING_NUMBER: Worksheet = Worksheet {
    name: "bearing-number",
    title: "Sommerfeld number and short-bearing film, for comparison only",
    section: Section::Bearings,
    inputs: &[
        mm("journal", Need::Required, "journal diameter"),
        mm("width", Need::Required, "bearing width"),
        Input {
            name: "clearance",
            takes: Takes::Quantity(Unit::Millimetre, Range::up_to(5.0)),
            need: Need::Required,
            about: "diametral, not radial",
        },
        Input {
            name: "viscosity",
            takes: Takes::Quantity(Unit::MillipascalSecond, Range::up_to(100_000.0)),
            need: Need::Required,
            about: "dynamic, at the oil's temperature in the bearing",
        },
        Input {
            name: "speed",
            takes: Takes::Quantity(Unit::Rpm, Range::up_to(50_000.0)),
            need: Need::Required,
            about: "of the journal",
        },
        Input {
            name: "load",
            takes: Takes::Quantity(Unit::Newton, Range::up_to(5e6)),
            need: Need::Required,
            about: "steady",
        },
    ],
    example: "journal=47.745mm width=22mm clearance=0.045mm viscosity=10mPa.s speed=4000rpm load=6000N",
    outputs: &[
        Output { name: "pressure", unit: "MPa", decimals: 3, about: "load on the projected area" },
        Output {
            name: "sommerfeld",
            unit: "",
            decimals: 4,
            about: "S, with radial clearance and revolutions a second",
        },
        Output {
            name: "load-number",
            unit: "",
            decimals: 4,
            about: "So = 1 / (2 pi S), which grows with load",
        },
        Output { name: "eccentricity", unit: "", decimals: 4, about: "of a short bearing, 0 to 1" },
        Output { name: "film", unit: "µm", decimals: 2, about: "thinnest, of a short bearing" },
        Output::new(
            "film-wide",
            "µm",
            2,
            "thinnest, of one about as wide as its journal; inside the table only",
        ),
    ],
    formula: "S = (r/c)^2 mu N / P, P = W/(D B); S (B/D)^2 = (1-e^2)^2 / (pi e sqrt(pi^2 (1-e^2) + 16 e^2)); h = c (1 - e)",
    valid: "steady load only: an engine's bearings are loaded dynamically, so this compares and never judges; short bearing up to B/D of about 0.5",
    source: Source {
        text: "Shigley, Mechanical Engineering Design, ch. 12; ISO 7902-1:2020 (steady load); Ocvirk short bearing; Raimondi and Boyd 1958 (from memory)",
        standing: Standing::Published,
    },
    mistakes: &[
        "radial clearance given for diametral: S changes by 4",
        "rev/min taken for rev/s",
        "S and So mixed up: one falls as the other grows",
    ],
    cautions: &["For comparison only, never a verdict on a bearing; the maker's clearance comes first."],
    compute: bearing_number,
};

fn bearing_number(given: &Given) -> Result<Answer, WorkError> {
    let metres = |name: &'static str| given.value(name, Unit::Metre);
    let bearing = Bearing {
        diameter: metres("journal")?,
        width: metres("width")?,
        clearance: metres("clearance")?,
        viscosity: given.value("viscosity", Unit::PascalSecond)?,
        speed: given.value("speed", Unit::Rpm)? / 60.0,
        load: given.value("load", Unit::Newton)?,
    };
    if bearing.clearance >= bearing.diameter {
        return Err(WorkError::of("clearance", "is not less than the journal", "check both units"));
    }
    let s = bearing.sommerfeld();
    let slender = bearing.width / bearing.diameter;
    let eccentricity = eccentricity_of(s * slender * slender);
    let answer = Answer::new()
        .number("pressure", bearing.pressure() / 1e6)?
        .number("sommerfeld", s)?
        .number("load-number", 1.0 / (2.0 * std::f64::consts::PI * s))?
        .number("eccentricity", eccentricity)?
        .number("film", bearing.clearance / 2.0 * (1.0 - eccentricity) * 1e6)?
        .note("steady load, for comparison only: an engine's bearings are loaded dynamically");
    let answer = match wide_bearing_film(s).filter(|_| AS_WIDE.contains(&slender)) {
        Some(share) => answer
            .number("film-wide", bearing.clearance / 2.0 * share * 1e6)?
            .note("film-wide: Raimondi-Boyd table for width = diameter, from memory; for comparison only"),
        None => answer,
    };
    Ok(answer.note_if(slender > 0.5, "wider than half its diameter: the short bearing says too little film"))
}

/// Pressure and stresses of two rings pressed together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Press {
    /// Contact pressure, in the unit of the moduli.
    pub pressure: f64,
    /// How much the inner ring's bore closes, on the diameter.
    pub closes: f64,
    /// Hoop stress of the inner ring at its bore; below nought: pressed.
    pub inner_hoop: f64,
    /// Hoop stress of the outer ring at the joint.
    pub outer_hoop: f64,
}

/// Thick cylinders of one material pressed together: joint `d`, outside `outer`, bore `inner`, diametral
/// interference `delta`; lengths in one unit. Source: Lamé; Shigley ch. 3.
///
/// # Errors
/// Diameters that do not lie one within the other.
pub fn press_fit(
    (inner, d, outer): (f64, f64, f64),
    delta: f64,
    modulus: f64,
    poisson: f64,
) -> Result<Press, WorkError> {
    if !(inner < d && d < outer) {
        let cause = format!("bore {inner}, joint {d} and outside {outer} mm do not lie one within the other");
        return Err(WorkError::of("joint", cause, "give bore < joint < outside"));
    }
    let (square, bore, out) = (d * d, inner * inner, outer * outer);
    let outside = (out + square) / (out - square) + poisson;
    let inside = (square + bore) / (square - bore) - poisson;
    let pressure = delta * modulus / (d * (outside + inside));
    Ok(Press {
        pressure,
        closes: 2.0 * pressure * square * inner / (modulus * (square - bore)),
        inner_hoop: -2.0 * pressure * square / (square - bore),
        outer_hoop: pressure * (out + square) / (out - square),
    })
}

/// A liner pressed into a block.
pub(super) static PRESS_FIT: Worksheet = Worksheet {
    name: "press-fit",
    title: "a liner or bush pressed in: pressure, and how much its bore closes",
    section: Section::Bearings,
    inputs: &[
        mm("bore", Need::Required, "bore of the liner or bush"),
        mm("joint", Need::Required, "diameter of the joint"),
        mm("outside", Need::Required, "outside of what it is pressed into"),
        Input {
            name: "interference",
            takes: Takes::Quantity(Unit::Millimetre, Range::from(0.0, 2.0)),
            need: Need::Required,
            about: "diametral",
        },
        Input {
            name: "modulus",
            takes: Takes::Quantity(Unit::Gigapascal, Range::up_to(500.0)),
            need: Need::Default("110 GPa", Standing::CommonPractice),
            about: "of both; grey iron about 110, steel 207",
        },
        Input {
            name: "poisson",
            takes: Takes::Number(Range::from(0.0, 0.49)),
            need: Need::Default("0.26", Standing::CommonPractice),
            about: "of both; grey iron about 0.26, steel 0.3",
        },
    ],
    example: "bore=80.5mm joint=86mm outside=104mm interference=0.05mm",
    outputs: &[
        Output { name: "pressure", unit: "MPa", decimals: 3, about: "at the joint" },
        Output { name: "closes", unit: "µm", decimals: 2, about: "bore smaller by, on the diameter" },
        Output {
            name: "inner-hoop",
            unit: "MPa",
            decimals: 2,
            about: "hoop stress at the bore; below nought: pressed",
        },
        Output {
            name: "outer-hoop",
            unit: "MPa",
            decimals: 2,
            about: "hoop stress of the outer part at the joint",
        },
    ],
    formula: "p = delta / {d [((Do^2+d^2)/(Do^2-d^2)+nu)/E + ((d^2+di^2)/(d^2-di^2)-nu)/E]}; closes = 2 p d^2 di / (E (d^2-di^2))",
    valid: "one material, one length, elastic, round outside; ribs and water jackets break it. A thin shell's crush: interference is the excess by pi",
    source: Source { text: "Lamé thick cylinders; Shigley ch. 3", standing: Standing::Published },
    mistakes: &["radial interference given for diametral", "bore finished before pressing in"],
    cautions: &[
        "Press square, guard up, nobody in line; heat and cold burn. The maker's interference comes first.",
    ],
    compute: press,
};

fn press(given: &Given) -> Result<Answer, WorkError> {
    let mm = |name: &'static str| given.value(name, Unit::Millimetre);
    let sizes = (mm("bore")?, mm("joint")?, mm("outside")?);
    let modulus = given.value("modulus", Unit::Megapascal)?;
    let found = press_fit(sizes, mm("interference")?, modulus, given.number("poisson")?)?;
    Answer::new()
        .number("pressure", found.pressure)?
        .number("closes", found.closes * 1000.0)?
        .number("inner-hoop", found.inner_hoop)?
        .number("outer-hoop", found.outer_hoop)
}
