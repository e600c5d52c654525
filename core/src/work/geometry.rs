//! Displacement, deck and compression.

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Need, Range, Takes};
use super::motion::piston_motion;
use super::values::{converted, longer_than_throw};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

const SIZES: Range = Range::up_to(500.0);

/// Volume of a cylinder in cm³: `pi/4 D^2 H`, lengths in mm.
///
/// ```
/// use gudgeon_core::work::displacement;
/// assert!((displacement(86.0, 86.0) - 499.557_214_218).abs() < 1e-7);
/// ```
#[must_use]
pub fn displacement(diameter_mm: f64, height_mm: f64) -> f64 {
    std::f64::consts::FRAC_PI_4 * diameter_mm * diameter_mm * height_mm / 1000.0
}

/// What is left at top dead centre, in cm³.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Compression {
    /// One cylinder's displacement.
    pub swept: f64,
    /// Chamber in the head.
    pub chamber: f64,
    /// Gasket, compressed.
    pub gasket: f64,
    /// Between crown and deck; negative where the crown stands above the deck.
    pub deck: f64,
    /// Dish in the crown; a dome is negative.
    pub dish: f64,
    /// Above the top ring, beside the crown.
    pub crevice: f64,
}

impl Compression {
    /// All that is left at top dead centre.
    #[must_use]
    pub fn left(&self) -> f64 {
        self.chamber + self.gasket + self.deck + self.dish + self.crevice
    }
}

/// Static compression ratio `(V_s + V_c) / V_c`.
///
/// # Errors
/// Where nothing is left at top dead centre.
pub fn compression_ratio(volumes: &Compression) -> Result<f64, WorkError> {
    let left = volumes.left();
    if left <= 0.0 {
        let cause = format!("{} cm³ are left at top dead centre", super::twelve(left));
        return Err(WorkError::of("chamber", cause, "check the signs: a dome is below nought, a dish above"));
    }
    Ok((volumes.swept + left) / left)
}

const fn mm(name: &'static str, need: Need, about: &'static str) -> Input {
    Input { name, takes: Takes::Quantity(Unit::Millimetre, SIZES), need, about }
}

const fn signed(name: &'static str, unit: Unit, most: f64, need: Need, about: &'static str) -> Input {
    Input { name, takes: Takes::Quantity(unit, Range::from(-most, most)), need, about }
}

/// Displacement of an engine.
pub(super) static DISPLACEMENT: Worksheet = Worksheet {
    name: "displacement",
    title: "displacement from bore and stroke",
    section: Section::Geometry,
    inputs: &[
        mm("bore", Need::Required, "finished bore"),
        mm("stroke", Need::Required, "stroke"),
        Input {
            name: "cylinders",
            takes: Takes::Whole(1, 48),
            need: Need::Default("1", Standing::Computed),
            about: "how many",
        },
    ],
    example: "bore=80.5mm stroke=89mm cylinders=4",
    outputs: &[
        Output { name: "each", unit: "cm³", decimals: 2, about: "one cylinder" },
        Output { name: "all", unit: "cm³", decimals: 1, about: "all of them" },
        Output { name: "all-in3", unit: "in³", decimals: 2, about: "the same" },
    ],
    formula: "V = pi/4 D^2 S z",
    valid: "any; pin offset lengthens the stroke by a few µm only",
    source: Source { text: "geometry", standing: Standing::Computed },
    mistakes: &["stroke taken from a casting mark", "stroke halved twice"],
    cautions: &[],
    compute: displacement_of,
};

fn displacement_of(given: &Given) -> Result<Answer, WorkError> {
    let each = displacement(given.value("bore", Unit::Millimetre)?, given.value("stroke", Unit::Millimetre)?);
    let all = each * given.value("cylinders", Unit::ToOne)?;
    Answer::new()
        .number("each", each)?
        .number("all", all)?
        .number("all-in3", converted(all, Unit::CubicCentimetre, Unit::CubicInch))
}

/// Deck, squish and static compression ratio.
pub(super) static COMPRESSION: Worksheet = Worksheet {
    name: "compression",
    title: "piston height, squish and static compression ratio",
    section: Section::Geometry,
    inputs: &[
        mm("bore", Need::Required, "finished bore"),
        mm("stroke", Need::Required, "stroke"),
        Input {
            name: "chamber",
            takes: Takes::Quantity(Unit::CubicCentimetre, Range::from(0.0, 2000.0)),
            need: Need::Required,
            about: "chamber in the head, plug and valves in",
        },
        mm("gasket-bore", Need::Required, "bore of the gasket"),
        Input {
            name: "gasket",
            takes: Takes::Quantity(Unit::Millimetre, Range::from(0.0, 20.0)),
            need: Need::Required,
            about: "gasket, compressed",
        },
        signed(
            "deck",
            Unit::Millimetre,
            30.0,
            Need::Optional,
            "crown below the deck at the top; above is negative",
        ),
        mm("deck-height", Need::Optional, "crank centre to deck, instead of `deck`"),
        mm("rod", Need::Optional, "centres, with deck-height"),
        mm("compression-height", Need::Optional, "gudgeon centre to crown, with deck-height"),
        signed(
            "dish",
            Unit::CubicCentimetre,
            500.0,
            Need::Default("0 cm3", Standing::Computed),
            "dish in the crown; a dome is negative",
        ),
        signed(
            "crevice",
            Unit::CubicCentimetre,
            50.0,
            Need::Default("0 cm3", Standing::Computed),
            "above the top ring, beside the crown",
        ),
        Input {
            name: "intake-closes",
            takes: Takes::Quantity(Unit::Degree, Range::from(0.0, 150.0)),
            need: Need::Optional,
            about: "after bottom dead centre, with `rod`: gives the effective ratio; say at which lift",
        },
        Input {
            name: "wanted",
            takes: Takes::Number(Range::from(2.0, 30.0)),
            need: Need::Optional,
            about: "ratio that is wanted: says what to take off the deck",
        },
    ],
    example: "bore=80.508mm stroke=89mm chamber=42.5cm3 dish=3.5cm3 crevice=0.4cm3 gasket=1.20mm gasket-bore=82mm deck-height=220.30mm rod=143mm compression-height=32.5mm",
    outputs: &[
        Output { name: "deck", unit: "mm", decimals: 3, about: "crown below the deck; above is negative" },
        Output { name: "squish", unit: "mm", decimals: 3, about: "deck and gasket together" },
        Output { name: "swept", unit: "cm³", decimals: 2, about: "one cylinder" },
        Output { name: "gasket-volume", unit: "cm³", decimals: 3, about: "in the gasket" },
        Output { name: "deck-volume", unit: "cm³", decimals: 3, about: "between crown and deck" },
        Output { name: "left", unit: "cm³", decimals: 3, about: "all that is left at the top" },
        Output { name: "ratio", unit: ":1", decimals: 3, about: "static compression ratio" },
        Output { name: "effective", unit: ":1", decimals: 3, about: "ratio from where the intake closes" },
        Output {
            name: "take-off",
            unit: "mm",
            decimals: 3,
            about: "off the deck for the wanted ratio; below nought: too much is off already",
        },
    ],
    formula: "CR = (V_s + V_c)/V_c; V_c = chamber + pi/4 D_g^2 t + pi/4 D^2 deck + dish + crevice; deck = H - (stroke/2 + rod + height); effective: V_s only from where the intake closes",
    valid: "pin offset neglected (a few µm); chamber measured with plug and valves in",
    source: Source { text: "geometry", standing: Standing::Computed },
    mistakes: &[
        "sign of a dome, or of a crown above the deck",
        "gasket bore taken for the cylinder's",
        "gasket thickness free instead of compressed",
        "pistons of different heights averaged",
        "crevice left out: about 0.1 of the ratio",
    ],
    cautions: &["Clearance to head and valves is the maker's figure: prove it on the trial build."],
    compute: compression,
};

fn deck_of(given: &Given, stroke: f64) -> Result<f64, WorkError> {
    let mm = |name: &str| given.maybe(name, Unit::Millimetre);
    let stack = (mm("deck-height"), mm("rod"), mm("compression-height"));
    match (mm("deck"), stack) {
        // The rod may be there for the effective ratio alone.
        (Some(deck), (None, _, None)) => Ok(deck),
        (None, (Some(height), Some(rod), Some(crown))) => {
            longer_than_throw(rod, stroke / 2.0)?;
            Ok(height - (stroke / 2.0 + rod + crown))
        }
        (Some(_), _) => Err(WorkError::of("deck", "is given beside deck-height", "give one or the other")),
        (None, _) => Err(WorkError::of(
            "deck",
            "is missing",
            "give deck=..., or deck-height=..., rod=... and compression-height=...",
        )),
    }
}

/// Ratio from the volume at which the intake closes, so many degrees after bottom dead centre.
fn effective(
    given: &Given,
    volumes: &Compression,
    (bore, stroke): (f64, f64),
    closes: f64,
) -> Result<f64, WorkError> {
    let rod = given.maybe("rod", Unit::Millimetre).ok_or_else(|| {
        WorkError::of("rod", "is missing", "give the rod from centre to centre for the effective ratio")
    })?;
    let drop = piston_motion(stroke / 2.0, rod, 0.0, 180.0 - closes)?.drop_mm;
    compression_ratio(&Compression { swept: displacement(bore, drop), ..*volumes })
}

fn compression(given: &Given) -> Result<Answer, WorkError> {
    let mm = Unit::Millimetre;
    let (bore, stroke) = (given.value("bore", mm)?, given.value("stroke", mm)?);
    let deck = deck_of(given, stroke)?;
    let thickness = given.value("gasket", mm)?;
    let cc = |name| given.value(name, Unit::CubicCentimetre);
    let volumes = Compression {
        swept: displacement(bore, stroke),
        chamber: cc("chamber")?,
        gasket: displacement(given.value("gasket-bore", mm)?, thickness),
        deck: displacement(bore, deck),
        dish: cc("dish")?,
        crevice: cc("crevice")?,
    };
    let answer = Answer::new()
        .number("deck", deck)?
        .number("squish", deck + thickness)?
        .number("swept", volumes.swept)?
        .number("gasket-volume", volumes.gasket)?
        .number("deck-volume", volumes.deck)?
        .number("left", volumes.left())?
        .number("ratio", compression_ratio(&volumes)?)?;
    let answer = match given.maybe("intake-closes", Unit::Degree) {
        None => answer,
        Some(closes) => answer.number("effective", effective(given, &volumes, (bore, stroke), closes)?)?,
    };
    match given.maybe("wanted", Unit::ToOne) {
        None => Ok(answer),
        Some(wanted) => {
            let surplus = volumes.left() - volumes.swept / (wanted - 1.0);
            answer.number("take-off", surplus / displacement(bore, 1.0))
        }
    }
}
