//! Rings hot and in their grooves.

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Range, Takes};
use super::ring::EDGES;
use super::values::{count, least, most};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

const WARMER: Range = Range::from(-50.0, 500.0);

/// Gap of a ring when ring and bore are warmer, in the unit of gap and bore:
/// `pi D (1 + a_b dT_b) - (pi D - s)(1 + a_r dT_r)`; below nought the ends butt.
///
/// Coefficient per °C and rise in °C of ring and of bore. Source: linear expansion.
#[must_use]
pub fn hot_gap(gap: f64, bore: f64, ring: (f64, f64), block: (f64, f64)) -> f64 {
    let round = std::f64::consts::PI * bore;
    round * (1.0 + block.0 * block.1) - (round - gap) * (1.0 + ring.0 * ring.1)
}

/// A ring's gap hot.
pub(super) static HOT_RING_GAP: Worksheet = Worksheet {
    name: "hot-ring-gap",
    title: "the gap a ring has left when hot, and whether its ends butt",
    section: Section::Rings,
    inputs: &[
        Input::required(
            "gap",
            Takes::Quantity(Unit::Millimetre, Range::from(0.0, 20.0)),
            "cold, in its own bore",
        ),
        Input::required("bore", Takes::Quantity(Unit::Millimetre, Range::up_to(500.0)), "cold"),
        Input::by_habit("ring-of", Takes::Material, "ductile-iron-60-40-18", "material of the ring"),
        Input::by_habit("bore-of", Takes::Material, "grey-iron", "material of block or liner"),
        Input::required("ring-warmer", Takes::Quantity(Unit::Kelvin, WARMER), "ring, warmer than cold by"),
        Input::required(
            "bore-warmer",
            Takes::Quantity(Unit::Kelvin, WARMER),
            "bore wall, warmer than cold by",
        ),
    ],
    example: "gap=0.34mm bore=80.508mm ring-of=ductile-iron-60-40-18 bore-of=grey-iron ring-warmer=200K bore-warmer=110K",
    outputs: &[
        Output::new("hot", "mm", 3, "gap hot; below nought the ends butt by so much"),
        Output::new("closes", "mm", 3, "cold less hot"),
        Output::new("cold-least", "mm", 3, "cold gap at which the ends just meet when it is so hot"),
        Output::new("says", "", 0, "in words"),
    ],
    formula: "hot = pi D (1 + a_b dT_b) - (pi D - s)(1 + a_r dT_r)",
    valid: "one temperature of the ring and one of the bore, both guessed: this shows the order, the maker's gap has the margin",
    source: Source { text: "linear expansion", standing: Standing::Computed },
    mistakes: &[
        "a negative hot gap shown as none",
        "the bore's growth left out, or taken for the ring's",
        "coefficient of the piston used for the ring",
        "the gap filed down to cold-least: no margin is left",
    ],
    cautions: &["The maker's gap comes first; ends that butt break rings and bores.", EDGES],
    compute: hot_ring_gap,
};

fn hot_ring_gap(given: &Given) -> Result<Answer, WorkError> {
    let body = |material: &'static str, warmer: &'static str| -> Result<(f64, f64), WorkError> {
        Ok((given.alpha(material)?, given.value(warmer, Unit::Kelvin)?))
    };
    let (gap, bore) = (given.value("gap", Unit::Millimetre)?, given.value("bore", Unit::Millimetre)?);
    if gap >= bore {
        let cause = format!("a gap of {gap} mm is no gap in a bore of {bore} mm");
        return Err(WorkError::of("gap", cause, "check both and their units"));
    }
    let (ring, block) = (body("ring-of", "ring-warmer")?, body("bore-of", "bore-warmer")?);
    let hot = hot_gap(gap, bore, ring, block);
    // The ring's own growth takes the gap's part of it too.
    let cold_least = gap - hot / (1.0 + ring.0 * ring.1);
    let says = if hot > 0.0 { "open when hot" } else { "WARNING: the ends butt when hot" };
    Ok(Answer::new()
        .number("hot", hot)?
        .number("closes", gap - hot)?
        .number("cold-least", cold_least.max(0.0))?
        .word("says", says)
        .note("both temperatures are guesses: no verdict on a gap, and no figure to file to"))
}

const fn sizes(name: &'static str, about: &'static str) -> Input {
    Input::required(name, Takes::Quantities(Unit::Millimetre, Range::up_to(50.0), 1), about)
}

const fn limit(name: &'static str, about: &'static str) -> Input {
    Input::optional(name, Takes::Quantity(Unit::Millimetre, Range::from(0.0, 2.0)), about)
}

/// Side clearance of rings.
pub(super) static RING_SIDE: Worksheet = Worksheet {
    name: "ring-side",
    title: "side clearance of rings in their grooves",
    section: Section::Rings,
    inputs: &[
        sizes("grooves", "height of each groove, from the crown; clean, at its narrowest"),
        sizes("rings", "height of each ring, in the same order, at its thickest"),
        limit("least", "the maker's smallest side clearance"),
        limit("most", "the maker's largest"),
    ],
    example: "grooves=1.790,2.030mm rings=1.735,1.985mm least=0.030mm most=0.080mm",
    outputs: &[
        Output::new("clearances", "mm", 3, "groove less ring, of each"),
        Output::new("tightest", "mm", 3, "smallest of them"),
        Output::new("loosest", "mm", 3, "largest of them"),
        Output::new("outside", "", 0, "rings, counted from the crown, outside the maker's limits"),
    ],
    formula: "clearance = groove - ring",
    valid: "keystone rings and worn grooves need the maker's gauge; read all round the groove",
    source: Source { text: "arithmetic", standing: Standing::Computed },
    mistakes: &[
        "carbon left in the groove",
        "a worn groove judged by its mouth",
        "height of the ring taken for its radial thickness",
        "one ring turned over: twisted rings have a top",
    ],
    cautions: &["Limits are the maker's; this takes groove and ring as measured.", EDGES],
    compute: ring_side,
};

fn ring_side(given: &Given) -> Result<Answer, WorkError> {
    let mm = Unit::Millimetre;
    let (grooves, rings) = (given.list("grooves", mm), given.list("rings", mm));
    if grooves.len() != rings.len() {
        let cause = format!("has {} values, and grooves has {}", rings.len(), grooves.len());
        return Err(WorkError::of("rings", cause, "give one ring for each groove, from the crown"));
    }
    let all: Vec<f64> = grooves.iter().zip(&rings).map(|(groove, ring)| groove - ring).collect();
    let (low, high) = (given.maybe("least", mm), given.maybe("most", mm));
    if let (Some(low), Some(high)) = (low, high)
        && low > high
    {
        return Err(WorkError::of(
            "least",
            format!("{low} mm is more than most, {high} mm"),
            "give the smaller one here",
        ));
    }
    let beyond = match (low, high) {
        (None, None) => "not known: no limits given".to_owned(),
        (low, high) => outside(&all, low.unwrap_or(f64::MIN), high.unwrap_or(f64::MAX)),
    };
    let answer = Answer::new()
        .numbers("clearances", &all)?
        .number("tightest", least(&all))?
        .number("loosest", most(&all))?
        .word("outside", beyond)
        .note_if(least(&all) <= 0.0, "nought or below: the ring does not go into its groove");
    let habit = "maker's limits not both given; 0.03 to 0.10 mm is met with (common practice, no source)";
    Ok(answer.note_if(low.is_none() || high.is_none(), habit))
}

/// Those outside, beyond what twelve digits of the sizes leave.
fn outside(all: &[f64], low: f64, high: f64) -> String {
    let rounding = 1e-9;
    let beyond = |value: f64| value < low - rounding || value > high + rounding;
    let named = all.iter().enumerate().filter(|(_, value)| beyond(**value));
    let named: Vec<String> = named.map(|(at, _)| count(at + 1).to_string()).collect();
    if named.is_empty() { "none".to_owned() } else { named.join(", ") }
}
