//! Sizes at 20 degC and at the part's own temperature.

use super::answer::Answer;
use super::error::WorkError;
use super::given::{Given, alpha};
use super::input::{Input, Need, Range, Takes};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::engine::material::Material;
use crate::quantity::Unit;

/// Reference temperature (ISO 1:2022), in °C.
pub(super) const REFERENCE: f64 = 20.0;

/// Most that a body may be away from 20 °C for one coefficient.
const NEAR: Range = Range::from(-30.0, 70.0);

const SIZES: Range = Range::up_to(2000.0);

const SOURCE: Source = Source {
    text: "ISO 1:2022 (20 degC); JCGM 100:2008 H.1; Swyt, J. Res. NIST 99 (1994) 31",
    standing: Standing::Published,
};

const TEMPERATURE_MISTAKES: &[&str] = &[
    "correcting only one of the two bodies",
    "the gauge's coefficient used for the part",
    "measuring a block that is warm from washing",
    "correcting steel with steel at one temperature: the sign error is larger than the effect",
];

/// Length at 20 °C of a part read with a gauge: `L (1 + a_g (T_g - 20)) / (1 + a_p (T_p - 20))`.
///
/// Coefficients per °C, temperatures in °C; the result is in the unit of `read`. Holds for
/// soaked bodies within 50 °C of 20 °C. Source: ISO 1:2022, JCGM 100:2008 H.1.
///
/// ```
/// use gudgeon_core::work::at_reference;
/// // An aluminium bore and a steel gauge, both at 30 °C.
/// let size = at_reference(86.0, (21.5e-6, 30.0), (11.5e-6, 30.0));
/// assert!((size - 85.991_401_848_6).abs() < 1e-9);
/// ```
#[must_use]
pub fn at_reference(read: f64, part: (f64, f64), gauge: (f64, f64)) -> f64 {
    read * grown(gauge) / grown(part)
}

/// What a gauge reads now for a part that is to have this size at 20 °C; see [`at_reference`].
#[must_use]
pub fn gauge_target(size: f64, part: (f64, f64), gauge: (f64, f64)) -> f64 {
    size * grown(part) / grown(gauge)
}

/// Standard uncertainty of a correction by one body: `L sqrt((a u(dT))^2 + (dT u(a))^2)`.
///
/// `half_widths`: of the coefficient and of the temperature, rectangular. Unit of `length`.
/// Source: Swyt, J. Res. NIST 99 (1994) 31.
#[must_use]
pub fn correction_uncertainty(length: f64, (alpha, at): (f64, f64), half_widths: (f64, f64)) -> f64 {
    let by_temperature = alpha * half_widths.1 / libm::sqrt(3.0);
    let by_coefficient = (at - REFERENCE) * half_widths.0 / libm::sqrt(3.0);
    length * libm::hypot(by_temperature, by_coefficient)
}

/// What a length of one at 20 °C has become.
pub(super) fn grown((alpha, at): (f64, f64)) -> f64 {
    1.0 + alpha * (at - REFERENCE)
}

const PART: Input =
    Input { name: "part", takes: Takes::Material, need: Need::Required, about: "what the part is made of" };
pub(super) const GAUGE: Input = Input {
    name: "gauge",
    takes: Takes::Material,
    need: Need::Default("tool-steel", Standing::CommonPractice),
    about: "what the gauge is made of",
};
pub(super) const PART_AT: Input = Input {
    name: "part-at",
    takes: Takes::Quantity(Unit::Celsius, NEAR),
    need: Need::Optional,
    about: "temperature of the part",
};
pub(super) const GAUGE_AT: Input = Input {
    name: "gauge-at",
    takes: Takes::Quantity(Unit::Celsius, NEAR),
    need: Need::Optional,
    about: "temperature of the gauge",
};
pub(super) const KNOWN_WITHIN: Input = Input {
    name: "known-within",
    takes: Takes::Quantity(Unit::Kelvin, Range::from(0.0, 20.0)),
    need: Need::Default("1 K", Standing::CommonPractice),
    about: "how well both temperatures are known",
};

/// A reading brought to 20 °C.
pub(super) static SIZE_AT_20: Worksheet = Worksheet {
    name: "size-at-20",
    title: "a reading brought to 20 °C",
    section: Section::Temperature,
    inputs: &[
        Input {
            name: "read",
            takes: Takes::Quantity(Unit::Millimetre, SIZES),
            need: Need::Required,
            about: "what the gauge reads",
        },
        PART,
        PART_AT,
        GAUGE,
        GAUGE_AT,
        KNOWN_WITHIN,
    ],
    example: "read=80.508mm part=grey-iron part-at=12C gauge-at=14C",
    outputs: &[
        Output {
            name: "size",
            unit: "mm",
            decimals: 4,
            about: "size at 20 °C, or as read where a temperature is missing",
        },
        Output { name: "correction", unit: "µm", decimals: 2, about: "what is added to the reading" },
        Output { name: "corrected", unit: "", decimals: 0, about: "yes, or not corrected" },
    ],
    formula: "L20 = L (1 + a_g (T_g - 20)) / (1 + a_p (T_p - 20)); L reading, a coefficient per °C, T temperature in °C, g gauge, p part",
    valid: "bodies soaked at their temperature, within 50 °C of 20 °C; a block wants hours, a piston about one (common practice)",
    source: SOURCE,
    mistakes: TEMPERATURE_MISTAKES,
    cautions: &[],
    compute: size_at_20,
};

fn size_at_20(given: &Given) -> Result<Answer, WorkError> {
    let read = given.value("read", Unit::Millimetre)?;
    let Some((part, gauge)) = bodies(given)? else {
        return Ok(Answer::new().number("size", read)?.word("corrected", "not corrected").note(
            "not corrected: give part-at and gauge-at; a missing temperature is never taken for 20 °C",
        ));
    };
    let size = at_reference(read, body(&part), body(&gauge));
    let u = libm::hypot(part.uncertainty(read, given)?, gauge.uncertainty(read, given)?);
    Ok(Answer::new()
        .with_uncertainty("size", size, Some(u))?
        .number("correction", (size - read) * 1000.0)?
        .word("corrected", "yes")
        .note("u is of the correction alone; the gauge's own is not in it"))
}

/// A material and its temperature.
pub(super) struct Body<'g> {
    pub(super) material: &'g Material,
    pub(super) at: f64,
}

pub(super) fn body(body: &Body) -> (f64, f64) {
    (alpha(body.material), body.at)
}

impl Body<'_> {
    pub(super) fn uncertainty(&self, length: f64, given: &Given) -> Result<f64, WorkError> {
        let half_width = alpha(self.material) * f64::from(self.material.half_width_percent) / 100.0;
        let known = given.value("known-within", Unit::Kelvin)?;
        Ok(correction_uncertainty(length, body(self), (half_width, known)))
    }
}

/// Both bodies; none where a temperature is missing.
pub(super) fn bodies(given: &Given) -> Result<Option<(Body<'_>, Body<'_>)>, WorkError> {
    let (part, gauge) = (given.made_of("part")?, given.made_of("gauge")?);
    let at = given.maybe("part-at", Unit::Celsius).zip(given.maybe("gauge-at", Unit::Celsius));
    Ok(at.map(|(p, g)| (Body { material: part, at: p }, Body { material: gauge, at: g })))
}

/// What the gauge in hand should read now.
pub(super) static GAUGE_TARGET: Worksheet = Worksheet {
    name: "gauge-target",
    title: "what the gauge should read now, at the part's own temperature",
    section: Section::Temperature,
    inputs: &[
        Input {
            name: "size",
            takes: Takes::Quantity(Unit::Millimetre, SIZES),
            need: Need::Required,
            about: "the size that is wanted at 20 °C",
        },
        PART,
        Input { need: Need::Required, ..PART_AT },
        GAUGE,
        Input { need: Need::Required, ..GAUGE_AT },
        KNOWN_WITHIN,
    ],
    example: "size=80.500mm part=grey-iron part-at=34C gauge-at=21C",
    outputs: &[
        Output { name: "target", unit: "mm", decimals: 4, about: "what the gauge should read" },
        Output { name: "difference", unit: "µm", decimals: 2, about: "target less the size at 20 °C" },
    ],
    formula: "L = L20 (1 + a_p (T_p - 20)) / (1 + a_g (T_g - 20))",
    valid: "as size-at-20; let hone and coolant heat go out of the part first",
    source: SOURCE,
    mistakes: TEMPERATURE_MISTAKES,
    cautions: &[],
    compute: target,
};

fn target(given: &Given) -> Result<Answer, WorkError> {
    let size = given.value("size", Unit::Millimetre)?;
    let Some((part, gauge)) = bodies(given)? else {
        return Err(WorkError::of("part-at", "is missing", "give part-at and gauge-at"));
    };
    let target = gauge_target(size, body(&part), body(&gauge));
    let u = libm::hypot(part.uncertainty(size, given)?, gauge.uncertainty(size, given)?);
    Answer::new().with_uncertainty("target", target, Some(u))?.number("difference", (target - size) * 1000.0)
}

/// Clearance of a shelled bearing at another temperature, each part growing freely.
pub(super) static HOT_CLEARANCE: Worksheet = Worksheet {
    name: "hot-clearance",
    title: "oil clearance cold and warm, each part growing freely",
    section: Section::Temperature,
    inputs: &[
        Input {
            name: "housing",
            takes: Takes::Quantity(Unit::Millimetre, SIZES),
            need: Need::Required,
            about: "housing bore at 20 °C",
        },
        Input {
            name: "wall",
            takes: Takes::Quantity(Unit::Millimetre, Range::from(0.0, 50.0)),
            need: Need::Default("0 mm", Standing::Computed),
            about: "shell wall at the crown at 20 °C; nought for a bore without shells",
        },
        Input {
            name: "journal",
            takes: Takes::Quantity(Unit::Millimetre, SIZES),
            need: Need::Required,
            about: "journal, piston or pin at 20 °C",
        },
        Input {
            name: "housing-of",
            takes: Takes::Material,
            need: Need::Required,
            about: "material of the housing",
        },
        Input {
            name: "shell-of",
            takes: Takes::Material,
            need: Need::Default("steel-1040", Standing::CommonPractice),
            about: "material of the shells",
        },
        Input {
            name: "journal-of",
            takes: Takes::Material,
            need: Need::Required,
            about: "material of the journal",
        },
        Input {
            name: "warmer",
            takes: Takes::Quantity(Unit::Kelvin, Range::from(-80.0, 300.0)),
            need: Need::Required,
            about: "how much warmer than 20 °C all of it is",
        },
    ],
    example: "housing=61.005mm wall=2.108mm journal=56.740mm housing-of=grey-iron journal-of=steel-4140 warmer=70K",
    outputs: &[
        Output { name: "at-20", unit: "mm", decimals: 4, about: "clearance at 20 °C" },
        Output { name: "warm", unit: "mm", decimals: 4, about: "clearance warm, free expansion only" },
        Output { name: "change", unit: "µm", decimals: 1, about: "warm less at 20 °C" },
    ],
    formula: "C = H (1 + a_h dT) - 2 w (1 + a_s dT) - J (1 + a_j dT)",
    valid: "free expansion only: housings restrain shells, skirts are cammed and tapered; not the running clearance",
    source: Source { text: "linear expansion, ISO 1:2022 for the reference", standing: Standing::Computed },
    mistakes: &[
        "free expansion taken for the running clearance",
        "one temperature for parts that run at different ones",
        "coefficient of 20 °C used far above 100 °C",
    ],
    cautions: &["Hot parts burn, and a hot pin eye looks cold. The maker's clearances come first."],
    compute: hot_clearance,
};

fn hot_clearance(given: &Given) -> Result<Answer, WorkError> {
    let (housing, journal) =
        (given.value("housing", Unit::Millimetre)?, given.value("journal", Unit::Millimetre)?);
    let (wall, warmer) = (given.value("wall", Unit::Millimetre)?, given.value("warmer", Unit::Kelvin)?);
    let clearance = |dt: f64| -> Result<f64, WorkError> {
        let housing = housing * (1.0 + given.alpha("housing-of")? * dt);
        let walls = 2.0 * wall * (1.0 + given.alpha("shell-of")? * dt);
        Ok(housing - walls - journal * (1.0 + given.alpha("journal-of")? * dt))
    };
    let (cold, warm) = (clearance(0.0)?, clearance(warmer)?);
    let answer = Answer::new()
        .number("at-20", cold)?
        .number("warm", warm)?
        .number("change", (warm - cold) * 1000.0)?
        .note("free expansion only: not the running clearance");
    Ok(answer.note_if(warm < 0.0, "below nought: an interference when warm"))
}
