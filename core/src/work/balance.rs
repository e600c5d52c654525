//! Balance: rods on two scales, bobweights, residual unbalance, forces of the moving parts.

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Need, Range, Takes};
use super::values::longer_than_throw;
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

const SPINS: &str =
    "What spins can throw: guards closed, stand out of its plane, the balancer's own instructions first.";
const DRILLING: &str = "How deep a web may be drilled is the maker's figure.";
const GRAMS: Range = Range::from(0.0, 100_000.0);
const SIZES: Range = Range::up_to(5000.0);

const fn grams(name: &'static str, need: Need, about: &'static str) -> Input {
    Input { name, takes: Takes::Quantity(Unit::Gram, GRAMS), need, about }
}

const fn mm(name: &'static str, need: Need, about: &'static str) -> Input {
    Input { name, takes: Takes::Quantity(Unit::Millimetre, SIZES), need, about }
}

/// Amplitudes of the primary and secondary force of one cylinder's reciprocating mass, in N:
/// `m r w^2` and `m r w^2 r/l`.
///
/// Source: Heywood ch. 2; Den Hartog, Mechanical Vibrations ch. 5 (from memory).
#[must_use]
pub fn inertia_forces(mass_kg: f64, throw_mm: f64, rod_mm: f64, rpm: f64) -> (f64, f64) {
    let omega = rpm * std::f64::consts::PI / 30.0;
    let primary = mass_kg * throw_mm / 1000.0 * omega * omega;
    (primary, primary * throw_mm / rod_mm)
}

/// A rod weighed at both ends.
pub(super) static ROD_ENDS: Worksheet = Worksheet {
    name: "rod-ends",
    title: "a rod weighed at both ends, and what to take off to match another",
    section: Section::Balance,
    inputs: &[
        grams("big-end", Need::Required, "big end on the scale, small end hung level"),
        grams("small-end", Need::Required, "small end on the scale, big end hung level"),
        grams("whole", Need::Optional, "the rod whole on one scale: the two ends must make it up"),
        grams("lightest-big", Need::Optional, "lightest big end of the set"),
        grams("lightest-small", Need::Optional, "lightest small end of the set"),
        grams("within", Need::Default("1 g", Standing::CommonPractice), "how near the sum must be"),
    ],
    example: "big-end=418g small-end=178g whole=596.3g lightest-big=416.5g lightest-small=178g",
    outputs: &[
        Output { name: "sum", unit: "g", decimals: 1, about: "both ends" },
        Output {
            name: "apart",
            unit: "g",
            decimals: 1,
            about: "sum less whole: friction, or a rod that is not level",
        },
        Output { name: "off-big", unit: "g", decimals: 1, about: "to take off the big end" },
        Output { name: "off-small", unit: "g", decimals: 1, about: "to take off the small end" },
    ],
    formula: "m = m_big + m_small; off = own less lightest, each end by itself",
    valid: "rod level, pivots free, centres over the scale",
    source: Source {
        text: "statics; matching within 1 to 2 g is common practice",
        standing: Standing::Computed,
    },
    mistakes: &[
        "the rod not level: the ends do not add up",
        "metal taken from the wrong end",
        "bolts or cap left off",
    ],
    cautions: &["Take metal off where the maker allows it, and nowhere else."],
    compute: rod_ends,
};

fn rod_ends(given: &Given) -> Result<Answer, WorkError> {
    let g = |name: &str| given.maybe(name, Unit::Gram);
    let (big, small) = (given.value("big-end", Unit::Gram)?, given.value("small-end", Unit::Gram)?);
    let sum = big + small;
    let mut answer = Answer::new().number("sum", sum)?;
    if let Some(whole) = g("whole") {
        answer = answer.number("apart", sum - whole)?;
        if (sum - whole).abs() > given.value("within", Unit::Gram)? {
            answer =
                answer.note("the ends do not make up the whole: hang it level, free the pivots, weigh again");
        }
    }
    for (output, own, lightest) in
        [("off-big", big, g("lightest-big")), ("off-small", small, g("lightest-small"))]
    {
        if let Some(lightest) = lightest {
            answer = answer.number(output, (own - lightest).max(0.0))?;
        }
    }
    Ok(answer)
}

/// Bobweight for one crankpin.
pub(super) static BOBWEIGHT: Worksheet = Worksheet {
    name: "bobweight",
    title: "bobweight for one crankpin",
    section: Section::Balance,
    inputs: &[
        Input { name: "rods", takes: Takes::Whole(1, 4), need: Need::Required, about: "rods on the pin" },
        grams("rotating", Need::Required, "big end of one rod with shells"),
        grams("reciprocating", Need::Required, "small end, piston, pin, rings and circlips of one cylinder"),
        grams("oil", Need::Default("3 g", Standing::CommonPractice), "oil in the pin, 2 to 4 g"),
        Input {
            name: "factor",
            takes: Takes::Number(Range::from(0.0, 1.0)),
            need: Need::Default("0.5", Standing::CommonPractice),
            about: "share of the reciprocating mass; one half cancels the primary of a 90° vee with shared pins only",
        },
    ],
    example: "rods=2 rotating=454g reciprocating=648g",
    outputs: &[
        Output { name: "bobweight", unit: "g", decimals: 1, about: "for this pin" },
        Output { name: "of-rotating", unit: "g", decimals: 1, about: "the part that rotates, oil included" },
        Output { name: "of-reciprocating", unit: "g", decimals: 1, about: "the part that goes up and down" },
    ],
    formula: "B = n m_rot + oil + factor x n m_rec",
    valid: "factor 0.5 for a 90 degree vee with a shared pin; other angles and split pins want their own; most inline cranks take none",
    source: Source {
        text: "Den Hartog, Mechanical Vibrations ch. 5, from memory",
        standing: Standing::Memory,
    },
    mistakes: &[
        "one rod's shells counted for two",
        "ring or circlip mass forgotten",
        "the factor of a 90° vee used for another angle",
    ],
    cautions: &[SPINS, DRILLING],
    compute: bobweight,
};

fn bobweight(given: &Given) -> Result<Answer, WorkError> {
    let rods = given.value("rods", Unit::ToOne)?;
    let rotating = rods * given.value("rotating", Unit::Gram)? + given.value("oil", Unit::Gram)?;
    let reciprocating = given.number("factor")? * rods * given.value("reciprocating", Unit::Gram)?;
    Answer::new()
        .number("bobweight", rotating + reciprocating)?
        .number("of-rotating", rotating)?
        .number("of-reciprocating", reciprocating)
}

/// Residual unbalance that a grade allows.
pub(super) static RESIDUAL_UNBALANCE: Worksheet = Worksheet {
    name: "residual-unbalance",
    title: "residual unbalance that a balance grade allows, for each plane",
    section: Section::Balance,
    inputs: &[
        Input {
            name: "mass",
            takes: Takes::Quantity(Unit::Kilogram, Range::up_to(9000.0)),
            need: Need::Required,
            about: "of the rotor",
        },
        Input {
            name: "speed",
            takes: Takes::Quantity(Unit::Rpm, Range::up_to(60_000.0)),
            need: Need::Required,
            about: "greatest speed in service",
        },
        Input {
            name: "grade",
            takes: Takes::Number(Range::up_to(4000.0)),
            need: Need::Required,
            about: "G: 16 or 40 for crankshaft drives that are balanced in themselves (ISO 21940-11 Table 1)",
        },
        mm("to-a", Need::Optional, "centre of mass to plane A"),
        mm("to-b", Need::Optional, "centre of mass to plane B"),
    ],
    example: "mass=16kg speed=5500rpm grade=16 to-a=210mm to-b=230mm",
    outputs: &[
        Output { name: "eccentricity", unit: "µm", decimals: 2, about: "of the centre of mass" },
        Output { name: "unbalance", unit: "g·mm", decimals: 0, about: "of the whole rotor" },
        Output { name: "plane-a", unit: "g·mm", decimals: 0, about: "in plane A" },
        Output { name: "plane-b", unit: "g·mm", decimals: 0, about: "in plane B" },
    ],
    formula: "e = 1000 G / w; U = e m; U_A = U L_B / (L_A + L_B), U_B = U L_A / (L_A + L_B)",
    valid: "rigid rotor; centre of mass between the planes",
    source: Source { text: "ISO 21940-11:2016 clause 6, Table 1", standing: Standing::Published },
    mistakes: &[
        "g·cm taken for g·mm, or oz·in: 10 and 720 times",
        "the whole unbalance allowed in each plane",
    ],
    cautions: &[SPINS],
    compute: residual_unbalance,
};

fn residual_unbalance(given: &Given) -> Result<Answer, WorkError> {
    let omega = given.value("speed", Unit::Rpm)? * std::f64::consts::PI / 30.0;
    let eccentricity = 1000.0 * given.number("grade")? / omega;
    let unbalance = eccentricity * given.value("mass", Unit::Kilogram)?;
    let answer = Answer::new().number("eccentricity", eccentricity)?.number("unbalance", unbalance)?;
    let at = |name: &str| given.maybe(name, Unit::Millimetre);
    match (at("to-a"), at("to-b")) {
        (Some(a), Some(b)) => {
            answer.number("plane-a", unbalance * b / (a + b))?.number("plane-b", unbalance * a / (a + b))
        }
        (None, None) => Ok(answer),
        (Some(_), None) => Err(WorkError::of("to-b", "is missing", "give both distances, or neither")),
        (None, Some(_)) => Err(WorkError::of("to-a", "is missing", "give both distances, or neither")),
    }
}

/// Metal to take off against an unbalance.
pub(super) static BALANCE_DRILLING: Worksheet = Worksheet {
    name: "balance-drilling",
    title: "mass and depth of hole against an unbalance",
    section: Section::Balance,
    inputs: &[
        Input {
            name: "unbalance",
            takes: Takes::Quantity(Unit::GramMillimetre, Range::up_to(1e8)),
            need: Need::Required,
            about: "as the balancer shows it",
        },
        mm("radius", Need::Required, "crank centre to the middle of the hole"),
        mm("drill", Need::Required, "diameter of the hole"),
        Input {
            name: "density",
            takes: Takes::Quantity(Unit::GramPerCubicCentimetre, Range::from(1.0, 25.0)),
            need: Need::Default("7.85 g/cm3", Standing::CommonPractice),
            about: "of what is drilled; steel 7.85, cast iron about 7.2",
        },
    ],
    example: "unbalance=150g.mm radius=75mm drill=10mm",
    outputs: &[
        Output { name: "mass", unit: "g", decimals: 2, about: "to take off at that radius" },
        Output { name: "depth", unit: "mm", decimals: 2, about: "of a flat-ended hole" },
    ],
    formula: "m = U / r; depth = m / (density x pi/4 d^2)",
    valid: "hole short against its radius; a drill's point takes less",
    source: Source { text: "statics", standing: Standing::Computed },
    mistakes: &["radius to the rim instead of the middle of the hole", "drilled on the light side"],
    cautions: &[DRILLING, SPINS],
    compute: drilling,
};

fn drilling(given: &Given) -> Result<Answer, WorkError> {
    let mass = given.value("unbalance", Unit::GramMillimetre)? / given.value("radius", Unit::Millimetre)?;
    let drill = given.value("drill", Unit::Millimetre)?;
    let area = std::f64::consts::FRAC_PI_4 * drill * drill;
    let density = given.value("density", Unit::GramPerCubicCentimetre)? / 1000.0;
    Answer::new().number("mass", mass)?.number("depth", mass / (density * area))
}

/// Forces of the reciprocating mass.
pub(super) static INERTIA_FORCES: Worksheet = Worksheet {
    name: "inertia-forces",
    title: "primary and secondary force of one cylinder's reciprocating mass",
    section: Section::Balance,
    inputs: &[
        grams("reciprocating", Need::Required, "small end, piston, pin, rings and circlips"),
        mm("stroke", Need::Required, "stroke"),
        mm("rod", Need::Required, "rod, centre to centre"),
        Input {
            name: "speed",
            takes: Takes::Quantity(Unit::Rpm, Range::from(0.0, 20_000.0)),
            need: Need::Required,
            about: "crank speed",
        },
    ],
    example: "reciprocating=648g stroke=89mm rod=143mm speed=5500rpm",
    outputs: &[
        Output { name: "primary", unit: "N", decimals: 0, about: "amplitude, once a turn" },
        Output { name: "secondary", unit: "N", decimals: 0, about: "amplitude, twice a turn" },
    ],
    formula: "primary = m r w^2; secondary = m r w^2 r / l",
    valid: "first two terms of the series; rod longer than the throw",
    source: Source { text: "Heywood ch. 2; Den Hartog ch. 5, from memory", standing: Standing::Memory },
    mistakes: &["grams taken for kilograms", "stroke taken for throw"],
    cautions: &[SPINS],
    compute: forces,
};

fn forces(given: &Given) -> Result<Answer, WorkError> {
    let throw = given.value("stroke", Unit::Millimetre)? / 2.0;
    let rod = given.value("rod", Unit::Millimetre)?;
    longer_than_throw(rod, throw)?;
    let mass = given.value("reciprocating", Unit::Kilogram)?;
    let (primary, secondary) = inertia_forces(mass, throw, rod, given.value("speed", Unit::Rpm)?);
    Answer::new().number("primary", primary)?.number("secondary", secondary)
}
