//! An uncertainty budget: parts with their degrees of freedom into one expanded uncertainty.

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Need, Range, Takes};
use super::quantile::two_sided;
use super::values::count;
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

/// One part of a budget: its share of the uncertainty and how well that is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    /// Sensitivity times standard uncertainty, in the unit of the result.
    pub u: f64,
    /// Degrees of freedom; infinite: known without doubt.
    pub freedom: f64,
}

/// Combined standard uncertainty and its effective degrees of freedom (infinite where every part is
/// known without doubt).
///
/// `u_c^2 = sum u_i^2`; `nu = u_c^4 / sum (u_i^4 / nu_i)`. Source: JCGM 100:2008 5.1.2, G.4.1
/// (Welch-Satterthwaite). Parts are taken as independent.
///
/// ```
/// use gudgeon_core::work::{BudgetPart, combine};
/// let parts = [BudgetPart { u: 3.0, freedom: 4.0 }, BudgetPart { u: 4.0, freedom: f64::INFINITY }];
/// let (u, freedom) = combine(&parts);
/// assert!((u - 5.0).abs() < 1e-12 && (freedom - 625.0 * 4.0 / 81.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn combine(parts: &[Part]) -> (f64, f64) {
    let u = libm::sqrt(parts.iter().map(|part| part.u * part.u).sum());
    // By shares, so that nothing is lost of the smallest and the largest figures.
    let doubt: f64 = parts.iter().map(|part| libm::pow(part.u / u, 4.0) / part.freedom).sum();
    (u, if doubt > 0.0 { 1.0 / doubt } else { f64::INFINITY })
}

/// What a product of two inputs adds to the uncertainty beside its first-order terms:
/// `factor u_a u_b`, for `y = .. + factor a b`.
///
/// It counts where both estimates lie near nought, so that the first-order terms say nothing.
/// Source: JCGM 100:2008 5.1.2 note, H.1.7.
#[must_use]
pub fn pair_term(factor: f64, u_a: f64, u_b: f64) -> f64 {
    factor * u_a * u_b
}

const WELL_KNOWN: f64 = 1_000_000.0;

const fn list(name: &'static str, takes: Takes, need: Need, about: &'static str) -> Input {
    Input { name, takes, need, about }
}

/// A budget.
pub(super) static UNCERTAINTY_BUDGET: Worksheet = Worksheet {
    name: "uncertainty-budget",
    title: "many uncertainties into one, with degrees of freedom and the factor k they ask for",
    section: Section::Decisions,
    inputs: &[
        list(
            "u",
            Takes::Quantities(Unit::Micrometre, Range::from(0.0, 2000.0), 1),
            Need::Required,
            "standard uncertainty of each part",
        ),
        list(
            "sensitivity",
            Takes::Quantities(Unit::ToOne, Range::from(-1e6, 1e6), 1),
            Need::Optional,
            "by how much the result moves for each, in the same order; 1 where left out",
        ),
        list(
            "freedom",
            Takes::Quantities(Unit::ToOne, Range::from(1.0, WELL_KNOWN), 1),
            Need::Optional,
            "degrees of freedom of each: readings less one; 1000000 where known without doubt, as all are where left out",
        ),
        list(
            "pairs",
            Takes::Quantities(Unit::Micrometre, Range::from(0.0, 2000.0), 1),
            Need::Optional,
            "second-order terms: for each product of two parts its factor times both uncertainties",
        ),
        Input {
            name: "level",
            takes: Takes::Quantity(Unit::Percent, Range::from(50.0, 99.99)),
            need: Need::Default("95 %", Standing::Published),
            about: "share of the values that the expanded uncertainty is to cover",
        },
    ],
    example: "u=2.3,0.6,1.2um freedom=1000000;9;4 level=95%",
    outputs: &[
        Output { name: "u", unit: "µm", decimals: 3, about: "combined standard uncertainty" },
        Output {
            name: "freedom",
            unit: "",
            decimals: 1,
            about: "effective degrees of freedom; not given where all parts are known without doubt",
        },
        Output { name: "k", unit: "", decimals: 3, about: "factor for that level" },
        Output { name: "expanded", unit: "µm", decimals: 3, about: "U = k u" },
        Output { name: "shares", unit: "%", decimals: 1, about: "of each part, of u squared; pairs last" },
        Output { name: "most-from", unit: "", decimals: 0, about: "part that weighs most, counted from one" },
    ],
    formula: "u_c^2 = sum (c_i u_i)^2 + sum pairs^2; nu = u^4 / sum ((c_i u_i)^4 / nu_i); U = k u_c, k = t((1 + level)/2, nu)",
    valid: "independent parts; nu cut down to a whole number before t is taken, and counted from the first-order parts alone",
    source: Source { text: "JCGM 100:2008 5.1.2, G.4.1, G.6.4, H.1", standing: Standing::Published },
    mistakes: &[
        "U (k = 2) given for u",
        "k = 2 with three or four readings: it is 4.3 or 3.2",
        "one micrometer in two parts taken as two: what is shared adds up, or cancels, before it is squared",
        "a part left out because its estimate is nought",
    ],
    cautions: &[],
    compute: budget,
};

fn budget(given: &Given) -> Result<Answer, WorkError> {
    let parts = parts(given)?;
    let pairs = given.list("pairs", Unit::Micrometre);
    let (first, freedom) = combine(&parts);
    let squares: Vec<f64> = parts.iter().map(|part| part.u).chain(pairs).map(|u| u * u).collect();
    let u = libm::sqrt(squares.iter().sum());
    if first <= 0.0 {
        let hint = "give at least one uncertainty above nought with a sensitivity other than nought";
        return Err(WorkError::of("u", "leaves nothing: every part is nought", hint));
    }
    let k = two_sided(given.value("level", Unit::ToOne)?, libm::floor(freedom + 1e-9));
    let shares: Vec<f64> = squares.iter().map(|square| 100.0 * square / (u * u)).collect();
    let most = (0..shares.len()).max_by(|a, b| shares[*a].total_cmp(&shares[*b])).unwrap_or(0);
    let answer = Answer::new().number("u", u)?;
    let known = freedom < WELL_KNOWN;
    let answer = if known { answer.number("freedom", freedom)? } else { answer };
    Ok(answer
        .number("k", k)?
        .number("expanded", k * u)?
        .numbers("shares", &shares)?
        .number("most-from", count(most + 1))?
        .note_if(!known, "every part was taken as known without doubt: k is the normal one")
        .note_if(known && freedom < 4.0, "k is large because little was read: a few more readings help most"))
}

/// Each part times its sensitivity, with its freedom.
fn parts(given: &Given) -> Result<Vec<Part>, WorkError> {
    let us = given.list("u", Unit::Micrometre);
    let along = |name: &'static str, missing: f64| {
        let all = given.list(name, Unit::ToOne);
        if all.is_empty() {
            return Ok(vec![missing; us.len()]);
        }
        if all.len() == us.len() {
            return Ok(all);
        }
        let cause = format!("has {} values, and u has {}", all.len(), us.len());
        Err(WorkError::of(name, cause, "give one for each part, in the same order"))
    };
    let (sensitivities, freedoms) = (along("sensitivity", 1.0)?, along("freedom", f64::INFINITY)?);
    let part = |((u, c), freedom): ((&f64, f64), f64)| {
        let freedom = if freedom < WELL_KNOWN { freedom } else { f64::INFINITY };
        Part { u: (u * c).abs(), freedom }
    };
    Ok(us.iter().zip(sensitivities).zip(freedoms).map(part).collect())
}
