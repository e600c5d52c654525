//! Crank and rod geometry, cam timing, and the hatch of a hone.

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Need, Range, Takes};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

const SIZES: Range = Range::up_to(3000.0);
const SMALL: Range = Range::from(-10.0, 10.0);
const ROUND: Range = Range::from(-180.0, 360.0);

const fn mm(name: &'static str, about: &'static str) -> Input {
    Input { name, takes: Takes::Quantity(Unit::Millimetre, SIZES), need: Need::Required, about }
}

const fn degrees(name: &'static str, about: &'static str) -> Input {
    Input { name, takes: Takes::Quantity(Unit::Degree, ROUND), need: Need::Required, about }
}

/// Stroke and index of a crankpin.
pub(super) static CRANK_THROW: Worksheet = Worksheet {
    name: "crank-throw",
    title: "stroke, throw and index error from heights of a crankpin",
    section: Section::Crank,
    inputs: &[
        mm("highest", "height of the pin at its highest"),
        mm("lowest", "height of the pin at its lowest"),
        Input {
            name: "off-height",
            takes: Takes::Quantity(Unit::Millimetre, SMALL),
            need: Need::Optional,
            about: "at a quarter turn: height of this pin less that of the one it should match",
        },
    ],
    example: "highest=128.415mm lowest=39.415mm off-height=0.03mm",
    outputs: &[
        Output { name: "stroke", unit: "mm", decimals: 3, about: "highest less lowest" },
        Output { name: "throw", unit: "mm", decimals: 3, about: "half of it" },
        Output {
            name: "index-error",
            unit: "deg",
            decimals: 4,
            about: "how far the pin is turned out of place",
        },
    ],
    formula: "stroke = h_max - h_min; throw = stroke / 2; index error = asin(dh / throw)",
    valid: "blocks of one height, crank level, pins of one diameter",
    source: Source { text: "geometry", standing: Standing::Computed },
    mistakes: &["blocks of different height", "stroke taken from a casting mark", "dial stem on an oil hole"],
    cautions: &["Know the weight of the crank: two people or a hoist."],
    compute: crank_throw,
};

fn crank_throw(given: &Given) -> Result<Answer, WorkError> {
    let (high, low) = (given.value("highest", Unit::Millimetre)?, given.value("lowest", Unit::Millimetre)?);
    if high <= low {
        let cause = format!("{high} mm is not above the lowest, {low} mm");
        return Err(WorkError::of("highest", cause, "swap them"));
    }
    let throw = (high - low) / 2.0;
    let answer = Answer::new().number("stroke", high - low)?.number("throw", throw)?;
    match given.maybe("off-height", Unit::Millimetre) {
        Some(off) if off.abs() >= throw => {
            Err(WorkError::of("off-height", format!("{off} mm is not less than the throw"), "check it"))
        }
        Some(off) => answer.number("index-error", libm::asin(off / throw).to_degrees()),
        None => Ok(answer),
    }
}

/// Runout and what it means.
pub(super) static RUNOUT: Worksheet = Worksheet {
    name: "runout",
    title: "eccentricity or bow from a dial's total reading",
    section: Section::Crank,
    inputs: &[Input {
        name: "reading",
        takes: Takes::Quantity(Unit::Millimetre, Range::from(0.0, 20.0)),
        need: Need::Required,
        about: "largest less smallest reading in one turn",
    }],
    example: "reading=0.024mm",
    outputs: &[Output {
        name: "eccentricity",
        unit: "mm",
        decimals: 4,
        about: "at most: roundness is in it as well",
    }],
    formula: "e = TIR / 2",
    valid: "dial square on; V-blocks can hide or add lobes",
    source: Source { text: "geometry", standing: Standing::Computed },
    mistakes: &[
        "total reading and eccentricity swapped: a factor of 2",
        "dial off square: 10 degrees reads 1.5 % high",
    ],
    cautions: &["Straightening is work for those who do it: crack test after it."],
    compute: |given| {
        Answer::new().number("eccentricity", given.value("reading", Unit::Millimetre)? / 2.0).map(|answer| {
            answer.note("an out-of-round journal is in the reading too: eccentricity is this or less")
        })
    },
};

/// Bend or twist of a rod.
pub(super) static ROD_BEND: Worksheet = Worksheet {
    name: "rod-bend",
    title: "bend or twist of a rod from a bar through its eyes",
    section: Section::Crank,
    inputs: &[
        Input {
            name: "difference",
            takes: Takes::Quantity(Unit::Millimetre, SMALL),
            need: Need::Required,
            about: "between the ends of the bar",
        },
        mm("bar", "length between the points that were read"),
    ],
    example: "difference=0.03mm bar=150mm",
    outputs: &[
        Output { name: "per-100", unit: "mm", decimals: 3, about: "for each 100 mm of bar" },
        Output { name: "angle", unit: "deg", decimals: 4, about: "as an angle" },
    ],
    formula: "per 100 mm = 100 d / L; angle = atan(d / L)",
    valid: "bars that fit the eyes; cap at full torque, shells out",
    source: Source {
        text: "geometry; 0.03 to 0.05 mm of bend and 0.05 to 0.10 mm of twist per 100 mm are common practice",
        standing: Standing::Computed,
    },
    mistakes: &["bend and twist mixed up", "read at one length, judged per 100 mm", "cap not tightened"],
    cautions: &["Limits are the maker's."],
    compute: |given| {
        let slope = given.value("difference", Unit::Millimetre)? / given.value("bar", Unit::Millimetre)?;
        Answer::new().number("per-100", 100.0 * slope)?.number("angle", libm::atan(slope).to_degrees())
    },
};

/// Lobe centres, durations, separation.
pub(super) static CAM_TIMING: Worksheet = Worksheet {
    name: "cam-timing",
    title: "lobe centres, durations, separation and overlap",
    section: Section::Cam,
    inputs: &[
        degrees("intake-opens", "before top dead centre"),
        degrees("intake-closes", "after bottom dead centre"),
        degrees("exhaust-opens", "before bottom dead centre"),
        degrees("exhaust-closes", "after top dead centre"),
    ],
    example: "intake-opens=25deg intake-closes=65deg exhaust-opens=68deg exhaust-closes=22deg",
    outputs: &[
        Output { name: "intake-centre", unit: "deg", decimals: 1, about: "crank, after top dead centre" },
        Output { name: "exhaust-centre", unit: "deg", decimals: 1, about: "crank, before top dead centre" },
        Output { name: "intake-duration", unit: "deg", decimals: 1, about: "crank" },
        Output { name: "exhaust-duration", unit: "deg", decimals: 1, about: "crank" },
        Output { name: "separation", unit: "deg", decimals: 2, about: "between the lobes, cam" },
        Output { name: "advance", unit: "deg", decimals: 2, about: "separation less intake centre" },
        Output { name: "overlap", unit: "deg", decimals: 1, about: "both open, crank" },
    ],
    formula: "intake centre = (180 + C - O)/2; exhaust centre = (180 + O - C)/2; duration = O + 180 + C; separation = mean of the centres; overlap = O_intake + C_exhaust",
    valid: "all four at one stated lift; the middle between equal lifts is the centre, not the peak, of an unsymmetrical lobe",
    source: Source { text: "geometry; terms of SAE J604, from memory", standing: Standing::Computed },
    mistakes: &[
        "degrees after bottom entered as after top",
        "cam degrees taken for crank degrees",
        "two different lifts",
        "the wheel turned backwards: chain and gears have play",
    ],
    cautions: &[
        "Turn by hand only, everybody clear; a piston that meets a stop or a valve must not be forced.",
    ],
    compute: cam_timing,
};

fn cam_timing(given: &Given) -> Result<Answer, WorkError> {
    let at = |name: &'static str| given.value(name, Unit::Degree);
    let (io, ic) = (at("intake-opens")?, at("intake-closes")?);
    let (eo, ec) = (at("exhaust-opens")?, at("exhaust-closes")?);
    let (intake, exhaust) = ((180.0 + ic - io) / 2.0, (180.0 + eo - ec) / 2.0);
    let separation = (intake + exhaust) / 2.0;
    Answer::new()
        .number("intake-centre", intake)?
        .number("exhaust-centre", exhaust)?
        .number("intake-duration", io + 180.0 + ic)?
        .number("exhaust-duration", eo + 180.0 + ec)?
        .number("separation", separation)?
        .number("advance", separation - intake)?
        .number("overlap", io + ec)
}

/// Top dead centre by a positive stop.
pub(super) static TOP_DEAD_CENTRE: Worksheet = Worksheet {
    name: "top-dead-centre",
    title: "top dead centre from a positive stop",
    section: Section::Cam,
    inputs: &[
        degrees("one-way", "wheel where the piston touches the stop turning one way, before top"),
        degrees("other-way", "and turning the other way, after top"),
    ],
    example: "one-way=27.5deg other-way=24.5deg",
    outputs: &[
        Output {
            name: "move-by",
            unit: "deg",
            decimals: 2,
            about: "turn the pointer so far towards `after`; below nought: towards `before`",
        },
        Output { name: "span", unit: "deg", decimals: 1, about: "between the two" },
    ],
    formula: "true top lies in the middle: move = (after - before) / 2, both as degrees from the wheel's nought",
    valid: "the stop untouched between the two; the dial alone cannot find the top: within 0.01 mm of it the crank turns a degree and more",
    source: Source { text: "geometry", standing: Standing::Computed },
    mistakes: &["stop moved between the two readings", "the piston driven hard into the stop"],
    cautions: &["Turn by hand only, slowly, everybody clear."],
    compute: |given| {
        let (before, after) =
            (given.value("one-way", Unit::Degree)?, given.value("other-way", Unit::Degree)?);
        Answer::new().number("move-by", (after - before) / 2.0)?.number("span", after + before)
    },
};

/// Cross-hatch of a hone.
pub(super) static CROSS_HATCH: Worksheet = Worksheet {
    name: "cross-hatch",
    title: "cross-hatch angle of a hone, and strokes for a wanted one",
    section: Section::Honing,
    inputs: &[
        mm("bore", "bore"),
        Input {
            name: "speed",
            takes: Takes::Quantity(Unit::Rpm, Range::up_to(2000.0)),
            need: Need::Required,
            about: "of the hone",
        },
        mm("travel", "length of one stroke"),
        Input {
            name: "strokes",
            takes: Takes::Number(Range::up_to(1000.0)),
            need: Need::Optional,
            about: "double strokes (down and up) a minute",
        },
        Input {
            name: "wanted",
            takes: Takes::Quantity(Unit::Degree, Range::from(1.0, 150.0)),
            need: Need::Optional,
            about: "angle that is wanted, included",
        },
    ],
    example: "bore=80.5mm speed=180rpm travel=120mm strokes=60 wanted=45deg",
    outputs: &[
        Output { name: "angle", unit: "deg", decimals: 1, about: "included, from the plane across the bore" },
        Output { name: "to-the-axis", unit: "deg", decimals: 1, about: "the same quoted to the bore's axis" },
        Output {
            name: "strokes-wanted",
            unit: "",
            decimals: 1,
            about: "double strokes a minute for the wanted angle",
        },
    ],
    formula: "angle = 2 atan(v_a / v_p), v_a = 2 L f, v_p = pi D n",
    valid: "in the middle of the travel; near its ends the angle is less",
    source: Source {
        text: "geometry; 30 to 45 degrees included is common practice",
        standing: Standing::Computed,
    },
    mistakes: &[
        "the angle to the axis or the half angle quoted without saying so",
        "single strokes counted for double ones",
    ],
    cautions: &["The maker's finish comes first. Hands out before the hone turns."],
    compute: cross_hatch,
};

fn cross_hatch(given: &Given) -> Result<Answer, WorkError> {
    let around =
        std::f64::consts::PI * given.value("bore", Unit::Millimetre)? * given.value("speed", Unit::Rpm)?;
    let travel = given.value("travel", Unit::Millimetre)?;
    let (strokes, wanted) = (given.maybe("strokes", Unit::ToOne), given.maybe("wanted", Unit::Degree));
    if strokes.is_none() && wanted.is_none() {
        return Err(WorkError::of(
            "strokes",
            "is missing",
            "give strokes=..., or wanted=... for the strokes to use",
        ));
    }
    let mut answer = Answer::new();
    if let Some(strokes) = strokes {
        let angle = 2.0 * libm::atan(2.0 * travel * strokes / around).to_degrees();
        answer = answer.number("angle", angle)?.number("to-the-axis", 180.0 - angle)?;
    }
    match wanted {
        Some(wanted) => {
            answer.number("strokes-wanted", around * libm::tan(wanted.to_radians() / 2.0) / (2.0 * travel))
        }
        None => Ok(answer),
    }
}
