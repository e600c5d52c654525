//! What a value proves, and what a gauge is worth.

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Need, Range, Takes};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::measure::{Accept, Rule, Uncertainty, judge, phi};
use crate::quantity::{Amount, Kind, Unit};

const LENGTHS: Range = Range::from(-2000.0, 2000.0);
const MICROMETRES: Range = Range::from(0.0, 2000.0);
const ABOVE_NOTHING: Range = Range::up_to(2000.0);

/// How probable it is that a value conforms.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conformance {
    /// Probability that the true value lies within the limits, 0 to 1.
    pub probability: f64,
    /// Distance to the nearer limit in standard uncertainties; negative: beyond it.
    pub nearest_z: f64,
}

/// Conformance probability `Phi((U - y)/u) - Phi((L - y)/u)` of a normal value.
///
/// All in one unit; a side without a limit is none. Source: JCGM 106:2012 clause 7.
///
/// # Errors
/// `u` not above nought, limits crossed, or none given.
///
/// ```
/// use gudgeon_core::work::conformance;
/// let found = conformance(50.996, 0.002, (Some(50.98), Some(51.0))).unwrap();
/// assert!((found.probability - 0.977_249_868_052).abs() < 1e-9);
/// ```
pub fn conformance(
    value: f64,
    u: f64,
    (lower, upper): (Option<f64>, Option<f64>),
) -> Result<Conformance, WorkError> {
    if u <= 0.0 || !u.is_finite() {
        return Err(WorkError::of("u", "is not above nought", "a value without uncertainty proves nothing"));
    }
    match (lower, upper) {
        (None, None) => Err(WorkError::of("lower", "neither limit is given", "give lower=... or upper=...")),
        (Some(low), Some(high)) if low > high => Err(WorkError::of(
            "lower",
            format!("the lower limit {low} lies above the upper one {high}"),
            "swap them",
        )),
        _ => {
            let to_upper = upper.map_or(f64::INFINITY, |high| (high - value) / u);
            let to_lower = lower.map_or(f64::INFINITY, |low| (value - low) / u);
            // Both tails taken from one: nothing is lost where the probability is near it.
            let beyond = phi(-to_upper) + phi(-to_lower);
            Ok(Conformance { probability: (1.0 - beyond).max(0.0), nearest_z: to_upper.min(to_lower) })
        }
    }
}

/// Standard uncertainty of a maximum permissible error: `MPE / sqrt 3`, rectangular.
///
/// Source: JCGM 100:2008 4.3.7.
#[must_use]
pub fn from_error_limit(limit: f64) -> f64 {
    limit / libm::sqrt(3.0)
}

/// Standard uncertainty of a resolution: `d / sqrt 12`, rectangular. Source: JCGM 100:2008 F.2.2.1.
#[must_use]
pub fn from_resolution(step: f64) -> f64 {
    step / libm::sqrt(12.0)
}

const fn length(name: &'static str, need: Need, about: &'static str) -> Input {
    Input { name, takes: Takes::Quantity(Unit::Millimetre, LENGTHS), need, about }
}

const fn micrometres(name: &'static str, need: Need, about: &'static str) -> Input {
    Input { name, takes: Takes::Quantity(Unit::Micrometre, MICROMETRES), need, about }
}

/// The rule by which a value is judged.
const RULE: Input = Input {
    name: "rule",
    takes: Takes::Word(&["strict", "shared", "simple"]),
    need: Need::Default("strict", Standing::Published),
    about: "decision rule: guard 1.65 u, 0.825 u, or none",
};

fn rule(given: &Given) -> Rule {
    match given.word(RULE.name) {
        "shared" => Rule::Shared,
        "simple" => Rule::Simple,
        _ => Rule::Strict,
    }
}

/// What a value proves against its limits.
pub(super) static CONFORMANCE: Worksheet = Worksheet {
    name: "conformance",
    title: "what a value proves against its limits",
    section: Section::Decisions,
    inputs: &[
        length("value", Need::Required, "the value, at 20 °C"),
        Input {
            name: "u",
            takes: Takes::Quantity(Unit::Micrometre, ABOVE_NOTHING),
            need: Need::Required,
            about: "its standard uncertainty",
        },
        length("lower", Need::Optional, "lower limit"),
        length("upper", Need::Optional, "upper limit"),
        RULE,
    ],
    example: "value=0.058mm u=3.15um lower=0.040mm upper=0.060mm",
    outputs: &[
        Output { name: "verdict", unit: "", decimals: 0, about: "within, outside, or not proven" },
        Output { name: "rule", unit: "", decimals: 0, about: "the decision rule in force" },
        Output { name: "guard", unit: "µm", decimals: 2, about: "kept clear of each limit" },
        Output { name: "probability", unit: "", decimals: 4, about: "that the true value conforms, 0 to 1" },
        Output {
            name: "z",
            unit: "",
            decimals: 3,
            about: "distance to the nearer limit in u; below nought beyond it",
        },
    ],
    formula: "p = Phi((U - y)/u) - Phi((L - y)/u); within at y in [L + g, U - g], g = 1.65 u, with both tails counted under a tolerance of 4 u",
    valid: "a normal value; u above nought",
    source: Source { text: "ISO 14253-1:2017; JCGM 106:2012 clause 7", standing: Standing::Published },
    mistakes: &[
        "U (k = 2) given for u",
        "in tolerance taken as yes or no right at a limit",
        "the rule not written beside the verdict",
        "resolution taken for accuracy",
    ],
    cautions: &[],
    compute: conform,
};

fn conform(given: &Given) -> Result<Answer, WorkError> {
    let mm = Unit::Millimetre;
    let (value, u_um) = (given.value("value", mm)?, given.value("u", Unit::Micrometre)?);
    let limits = (given.maybe("lower", mm), given.maybe("upper", mm));
    let found = conformance(value, u_um / 1000.0, limits)?;
    let rule = rule(given);
    let base = |name: &str| base(given, name);
    let judged =
        judge(base("value").unwrap_or_default(), uncertainty(given), base("lower"), base("upper"), rule);
    let guard = Amount::new(Kind::Length, judged.guard).to_f64(Unit::Micrometre);
    let answer = Answer::new()
        .word("verdict", judged.verdict.to_string())
        .word("rule", rule.to_string())
        .number("guard", guard.unwrap_or_default())?
        .number("probability", found.probability)?
        .number("z", found.nearest_z)?;
    Ok(answer.note_if(
        judged.accept == Accept::Nowhere,
        "this gauge cannot prove this limit: no value would be proven within",
    ))
}

/// A length as the record judges it, in whole base units.
fn base(given: &Given, name: &str) -> Option<i64> {
    given.quantity(name).map(|quantity| quantity.amount().base())
}

fn uncertainty(given: &Given) -> Option<Uncertainty> {
    base(given, "u").and_then(|u| Uncertainty::new(u).ok())
}

/// What a gauge is worth.
pub(super) static GAUGE_UNCERTAINTY: Worksheet = Worksheet {
    name: "gauge-uncertainty",
    title: "standard uncertainty of a reading from what is known of the gauge",
    section: Section::Decisions,
    inputs: &[
        micrometres("error-limit", Need::Optional, "largest error allowed (MPE), without its sign"),
        micrometres("resolution", Need::Optional, "smallest step it shows"),
        micrometres("repeatability", Need::Optional, "standard deviation of readings of one thing"),
        Input {
            name: "repeats",
            takes: Takes::Whole(1, 1000),
            need: Need::Default("1", Standing::Computed),
            about: "readings that are averaged",
        },
        micrometres("master", Need::Optional, "largest error of what it is set with"),
    ],
    example: "error-limit=4um resolution=1um repeatability=1.5um repeats=3",
    outputs: &[
        Output { name: "u", unit: "µm", decimals: 3, about: "standard uncertainty" },
        Output { name: "expanded", unit: "µm", decimals: 3, about: "U = 2 u" },
        Output { name: "guard", unit: "µm", decimals: 3, about: "1.65 u, kept clear of a limit" },
        Output { name: "most-from", unit: "", decimals: 0, about: "what weighs most" },
    ],
    formula: "u^2 = (MPE/sqrt 3)^2 + (d/sqrt 12)^2 + s^2/n + (MPE_master/sqrt 3)^2",
    valid: "errors rectangular where nothing better is known; s from at least ten readings",
    source: Source { text: "JCGM 100:2008 4.3.7, F.2.2.1, 4.2.3", standing: Standing::Published },
    mistakes: &["resolution taken for accuracy", "the setting standard left out", "U taken for u"],
    cautions: &[],
    compute: gauge_uncertainty,
};

fn gauge_uncertainty(given: &Given) -> Result<Answer, WorkError> {
    let um = |name: &str| given.maybe(name, Unit::Micrometre);
    let repeats = given.value("repeats", Unit::ToOne)?;
    let step = um("resolution").map(from_resolution);
    let scatter = um("repeatability").map(|s| s / libm::sqrt(repeats));
    // As the record does for its gauges: scatter may hold the steps already, which is on the safe side.
    let parts = [
        ("the error limit", um("error-limit").map(from_error_limit)),
        ("resolution", step),
        ("repeats", scatter),
        ("the setting master", um("master").map(from_error_limit)),
    ];
    let known: Vec<(&str, f64)> = parts.iter().filter_map(|(name, u)| Some((*name, (*u)?))).collect();
    let u = libm::sqrt(known.iter().map(|(_, u)| u * u).sum());
    let most = known.iter().max_by(|a, b| a.1.total_cmp(&b.1));
    let Some((most, _)) = most.filter(|_| u > 0.0) else {
        let hint = "give error-limit, resolution or repeatability";
        return Err(WorkError::of("error-limit", "nothing is known of the gauge", hint));
    };
    let answer = Answer::new()
        .number("u", u)?
        .number("expanded", 2.0 * u)?
        .number("guard", 1.65 * u)?
        .word("most-from", *most);
    Ok(answer
        .note_if(um("error-limit").is_none(), "without an error limit this is repeatability, not accuracy"))
}

/// Uncertainty of a clearance, with or without a shared setting.
pub(super) static CLEARANCE_UNCERTAINTY: Worksheet = Worksheet {
    name: "clearance-uncertainty",
    title: "uncertainty of a clearance: bore gauge set by another micrometer, or by the same",
    section: Section::Decisions,
    inputs: &[
        micrometres("micrometer", Need::Required, "largest error of the micrometer on the journal"),
        Input {
            name: "set-in",
            takes: Takes::Word(&["the-same", "another"]),
            need: Need::Required,
            about: "the micrometer in which the bore gauge was set",
        },
        micrometres("setting", Need::Optional, "largest error of the other micrometer, where it was another"),
        micrometres("bore-gauge", Need::Required, "largest error of the bore gauge over its travel"),
        micrometres(
            "scatter-bore",
            Need::Default("0 µm", Standing::Computed),
            "standard deviation in the bore",
        ),
        micrometres(
            "scatter-journal",
            Need::Default("0 µm", Standing::Computed),
            "standard deviation on the journal",
        ),
    ],
    example: "micrometer=5um set-in=the-same bore-gauge=4um scatter-bore=1.5um scatter-journal=1.5um",
    outputs: &[
        Output { name: "u", unit: "µm", decimals: 3, about: "standard uncertainty of the clearance" },
        Output { name: "expanded", unit: "µm", decimals: 3, about: "U = 2 u" },
        Output { name: "setting", unit: "", decimals: 0, about: "shared, or separate" },
    ],
    formula: "separate: u^2 = (m^2 + m2^2 + b^2)/3 + s1^2 + s2^2; shared: the setting error is in both and cancels: u^2 = b^2/3 + s1^2 + s2^2",
    valid: "one size, one temperature; the same place on the micrometer's screw",
    source: Source { text: "JCGM 100:2008 5.1.2, 5.2.2", standing: Standing::Published },
    mistakes: &[
        "U added instead of squares",
        "two micrometers taken for one",
        "journal far in size from where the gauge was set",
    ],
    cautions: &[],
    compute: clearance_uncertainty,
};

fn clearance_uncertainty(given: &Given) -> Result<Answer, WorkError> {
    let um = |name: &'static str| given.value(name, Unit::Micrometre);
    let same = given.word("set-in") == "the-same";
    let micrometers = match (same, given.maybe("setting", Unit::Micrometre)) {
        (true, None) => [0.0; 2],
        (false, Some(other)) => [from_error_limit(um("micrometer")?), from_error_limit(other)],
        (true, Some(_)) => {
            let hint = "leave it out, or write set-in=another";
            return Err(WorkError::of("setting", "is given, and set-in says the same micrometer", hint));
        }
        (false, None) => {
            let hint = "give setting=..., the largest error of the micrometer that set the bore gauge";
            return Err(WorkError::of("setting", "is missing", hint));
        }
    };
    let rest = [from_error_limit(um("bore-gauge")?), um("scatter-bore")?, um("scatter-journal")?];
    let u = libm::sqrt(micrometers.iter().chain(&rest).map(|u| u * u).sum());
    Ok(Answer::new()
        .number("u", u)?
        .number("expanded", 2.0 * u)?
        .word("setting", if same { "shared" } else { "separate" }))
}

/// Tolerance against uncertainty.
pub(super) static TEST_UNCERTAINTY_RATIO: Worksheet = Worksheet {
    name: "test-uncertainty-ratio",
    title: "whether a gauge is fine enough for a tolerance",
    section: Section::Decisions,
    inputs: &[
        length("lower", Need::Required, "lower limit"),
        length("upper", Need::Required, "upper limit"),
        Input {
            name: "u",
            takes: Takes::Quantity(Unit::Micrometre, ABOVE_NOTHING),
            need: Need::Required,
            about: "standard uncertainty of a reading",
        },
        RULE,
    ],
    example: "lower=56.730mm upper=56.745mm u=2.3um",
    outputs: &[
        Output { name: "ratio", unit: "", decimals: 2, about: "tolerance by 2 U" },
        Output {
            name: "provable",
            unit: "µm",
            decimals: 1,
            about: "what is left of the tolerance with the guard of the rule at each limit",
        },
        Output { name: "says", unit: "", decimals: 0, about: "in words" },
    ],
    formula: "TUR = (upper - lower) / (2 U), U = 2 u; provable = (upper - lower) - 2 g; g = 1.65 u by the strict rule, under a tolerance of 4 u more: Phi((T - g)/u) - Phi(-g/u) = 0.95; 0.825 u by the shared one, none by the simple one",
    valid: "symmetrical tolerance, normal error",
    source: Source {
        text: "4 to 1 is the usual floor (ANSI/NCSL Z540.3, from memory); ISO 14253-1:2017 for the guard",
        standing: Standing::Memory,
    },
    mistakes: &["10 to 1 by habit where 4 to 1 will do", "u taken for U"],
    cautions: &[],
    compute: ratio,
};

fn ratio(given: &Given) -> Result<Answer, WorkError> {
    let mm = Unit::Millimetre;
    let (lower, upper) = (given.value("lower", mm)?, given.value("upper", mm)?);
    let u = given.value("u", Unit::Micrometre)?;
    let tolerance = (upper - lower) * 1000.0;
    if tolerance <= 0.0 {
        let cause = format!("the lower limit {lower} mm is not below the upper one {upper} mm");
        return Err(WorkError::of("lower", cause, "swap them"));
    }
    let ratio = tolerance / (4.0 * u);
    let provable = provable(given);
    let says = match provable {
        None => "this gauge cannot prove this limit",
        Some(_) if ratio < 4.0 => "coarse: much of the tolerance cannot be proven",
        Some(_) => "fine enough",
    };
    let answer = Answer::new()
        .number("ratio", ratio)?
        .number("provable", provable.unwrap_or(0.0))?
        .word("says", says)
        .note_if(
            rule(given) == Rule::Simple,
            "by the simple rule the value alone decides: nothing is proven",
        );
    Ok(answer)
}

/// Width in µm of where the record's own rule finds a value proven within; none: nowhere.
fn provable(given: &Given) -> Option<f64> {
    let (lower, upper) = (base(given, "lower")?, base(given, "upper")?);
    match judge(lower, uncertainty(given), Some(lower), Some(upper), rule(given)).accept {
        Accept::Between { low: Some(low), high: Some(high) } => {
            Amount::new(Kind::Length, high.saturating_sub(low)).to_f64(Unit::Micrometre)
        }
        Accept::Between { .. } | Accept::Nowhere => None,
    }
}
