//! Choosing which part goes where.

use pathfinding::kuhn_munkres::kuhn_munkres_min;
use pathfinding::matrix::Matrix;

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Need, Range, Takes};
use super::values::{least, most, one_for_each, places, span};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::{Amount, Unit};

const SIZES: Range = Range::up_to(500.0);

/// What a choice is the best by. Always said beside it: they can disagree.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Goal {
    /// Least sum of the deviations from the target.
    LeastSum,
    /// Least largest deviation; of those the least sum.
    LeastLargest,
    /// Least difference between the largest deviation and the smallest, signs counted; of those the
    /// least sum.
    LeastSpread,
}

/// For each bore the piston that is chosen, by place in the list.
///
/// `deviations[bore][piston]` are whole numbers of one unit, with their signs; no fewer pistons than
/// bores.
///
/// # Errors
/// Fewer pistons than bores, or lists of different lengths.
pub fn choose(deviations: &[Vec<i64>], goal: Goal) -> Result<Vec<usize>, WorkError> {
    let few =
        || WorkError::of("pistons", "are fewer than the bores", "give one piston for each bore, or more");
    let columns = deviations.first().map_or(0, Vec::len);
    let uneven = deviations.iter().any(|row| row.len() != columns);
    if deviations.is_empty() || columns < deviations.len() || uneven {
        return Err(few());
    }
    let (low, high) = match goal {
        Goal::LeastSum => (i64::MIN, i64::MAX),
        Goal::LeastLargest => nearest(deviations),
        Goal::LeastSpread => narrowest(deviations),
    };
    least_sum(deviations, low, high).ok_or_else(few)
}

/// The way of least sum among those that keep every deviation from `low` to `high`.
fn least_sum(deviations: &[Vec<i64>], low: i64, high: i64) -> Option<Vec<usize>> {
    // What is outside costs more than all the rest together.
    let most = deviations.iter().flatten().fold(1_i64, |sum, one| sum.saturating_add(one.saturating_abs()));
    let cost = |one: &i64| {
        let off = one.saturating_abs();
        if (low..=high).contains(one) { off } else { most.saturating_add(off) }
    };
    let rows = deviations.iter().map(|row| row.iter().map(cost).collect::<Vec<i64>>());
    Some(kuhn_munkres_min(&Matrix::from_rows(rows).ok()?).1)
}

/// The least bounds about nought under which every bore still finds a piston.
fn nearest(deviations: &[Vec<i64>]) -> (i64, i64) {
    let limits = rising(deviations.iter().flatten().map(|one| one.saturating_abs()));
    let mut pairing = Pairing::new(deviations);
    let found = limits.into_iter().find(|limit| pairing.fill(-limit, *limit)).unwrap_or(i64::MAX);
    (-found, found)
}

/// The narrowest bounds within which every bore finds a piston; of equals the lowest.
fn narrowest(deviations: &[Vec<i64>]) -> (i64, i64) {
    let values = rising(deviations.iter().flatten().copied());
    let mut pairing = Pairing::new(deviations);
    let (mut best, mut top) = ((i64::MIN, i64::MAX), 0);
    for low in &values {
        pairing.drop_below(*low);
        while !pairing.fill(*low, values[top]) {
            top += 1;
            if top == values.len() {
                return best;
            }
        }
        if values[top].abs_diff(*low) < best.1.abs_diff(best.0) {
            best = (*low, values[top]);
        }
    }
    best
}

fn rising(values: impl Iterator<Item = i64>) -> Vec<i64> {
    let mut values: Vec<i64> = values.collect();
    values.sort_unstable();
    values.dedup();
    values
}

/// Bores that have a piston within bounds, kept while the bounds move, so that each move costs little.
struct Pairing<'d> {
    deviations: &'d [Vec<i64>],
    /// For each piston the bore that has it.
    bore_of: Vec<Option<usize>>,
}

impl<'d> Pairing<'d> {
    fn new(deviations: &'d [Vec<i64>]) -> Self {
        let columns = deviations.first().map_or(0, Vec::len);
        Self { deviations, bore_of: vec![None; columns] }
    }

    /// Takes away the pistons whose deviation has fallen below the bounds.
    fn drop_below(&mut self, low: i64) {
        for (piston, bore) in self.bore_of.iter_mut().enumerate() {
            if bore.is_some_and(|bore| self.deviations[bore][piston] < low) {
                *bore = None;
            }
        }
    }

    /// Whether every bore has a piston within the bounds now.
    fn fill(&mut self, low: i64, high: i64) -> bool {
        let served: Vec<usize> = self.bore_of.iter().flatten().copied().collect();
        let mut without = (0..self.deviations.len()).filter(|bore| !served.contains(bore));
        without.all(|bore| self.serve(bore, low, high, &mut vec![false; self.bore_of.len()]))
    }

    /// Finds the bore a piston, moving others on where that helps (an augmenting path).
    fn serve(&mut self, bore: usize, low: i64, high: i64, tried: &mut [bool]) -> bool {
        for piston in 0..tried.len() {
            if tried[piston] || !(low..=high).contains(&self.deviations[bore][piston]) {
                continue;
            }
            tried[piston] = true;
            if self.bore_of[piston].is_none_or(|other| self.serve(other, low, high, tried)) {
                self.bore_of[piston] = Some(bore);
                return true;
            }
        }
        false
    }
}

/// Pistons to bores.
pub(super) static MATCH_PISTONS: Worksheet = Worksheet {
    name: "match-pistons",
    title: "which piston goes in which bore",
    section: Section::Matching,
    inputs: &[
        Input {
            name: "bores",
            takes: Takes::Quantities(Unit::Millimetre, SIZES, 1),
            need: Need::Required,
            about: "smallest diameter of each bore, at 20 °C",
        },
        Input {
            name: "pistons",
            takes: Takes::Quantities(Unit::Millimetre, SIZES, 1),
            need: Need::Required,
            about: "skirt of each piston at 20 °C; there may be more than bores",
        },
        Input {
            name: "clearance",
            takes: Takes::Quantities(Unit::Millimetre, Range::from(0.0, 2.0), 1),
            need: Need::Required,
            about: "that is wanted: one for all bores, or one for each",
        },
        Input {
            name: "goal",
            takes: Takes::Word(&["least-sum", "least-largest", "least-spread"]),
            need: Need::Default("least-largest", Standing::CommonPractice),
            about: "least sum of the deviations, least largest one, or least spread between them",
        },
    ],
    example: "bores=80.512,80.505,80.508,80.510mm pistons=80.455,80.460,80.452,80.457,80.462mm clearance=0.050mm",
    outputs: &[
        Output {
            name: "pistons",
            unit: "",
            decimals: 0,
            about: "for each bore in turn, the number of the piston in the list",
        },
        Output { name: "clearances", unit: "mm", decimals: 4, about: "in each bore" },
        Output { name: "sum", unit: "µm", decimals: 1, about: "of the deviations from what is wanted" },
        Output { name: "largest", unit: "µm", decimals: 1, about: "deviation" },
        Output {
            name: "spread",
            unit: "µm",
            decimals: 1,
            about: "largest deviation less smallest, signs counted",
        },
        Output { name: "goal", unit: "", decimals: 0, about: "what the choice is best by" },
    ],
    formula: "d = bore - piston - clearance; over all ways of giving each bore a piston: least sum of |d|, least largest |d|, or least largest d less smallest d",
    valid: "all sizes at one temperature; differences under the uncertainty of the readings are no real choice",
    source: Source { text: "assignment problem (Kuhn, Munkres)", standing: Standing::Published },
    mistakes: &[
        "rounded before matching",
        "pairs swapped after the crowns were marked",
        "weights and direction forgotten",
        "a mean bore where one level is tight",
    ],
    cautions: &["The maker's clearance comes first."],
    compute: match_pistons,
};

fn match_pistons(given: &Given) -> Result<Answer, WorkError> {
    let mm = Unit::Millimetre;
    let (bores, pistons) = (given.list("bores", mm), given.list("pistons", mm));
    let wanted = for_each(&given.list("clearance", mm), bores.len())?;
    let clearance = |bore: usize, piston: usize| bores[bore] - pistons[piston];
    let deviation = |bore: usize, piston: usize| {
        Amount::from_f64(clearance(bore, piston) - wanted[bore], mm).map_or(i64::MAX, Amount::base)
    };
    let row = |bore: usize| (0..pistons.len()).map(|piston| deviation(bore, piston)).collect();
    let table: Vec<Vec<i64>> = (0..bores.len()).map(row).collect();
    let goal = match given.word("goal") {
        "least-sum" => Goal::LeastSum,
        "least-spread" => Goal::LeastSpread,
        _ => Goal::LeastLargest,
    };
    let chosen = choose(&table, goal)?;
    let clearances: Vec<f64> =
        chosen.iter().enumerate().map(|(bore, piston)| clearance(bore, *piston)).collect();
    let signed: Vec<f64> =
        clearances.iter().zip(&wanted).map(|(found, wanted)| 1000.0 * (found - wanted)).collect();
    let off: Vec<f64> = signed.iter().map(|off| off.abs()).collect();
    let answer = Answer::new()
        .numbers("pistons", &places(&chosen))?
        .numbers("clearances", &clearances)?
        .number("sum", off.iter().sum())?
        .number("largest", most(&off))?
        .number("spread", span(&signed))?
        .word("goal", given.word("goal"));
    Ok(answer.note_if(least(&clearances) < 0.0, "a piston is larger than its bore: it does not go in"))
}

/// One target for all, or one for each.
fn for_each(wanted: &[f64], bores: usize) -> Result<Vec<f64>, WorkError> {
    if let [one] = wanted {
        return Ok(vec![*one; bores]);
    }
    one_for_each("clearance", wanted.len(), ("bores", bores), "give one for all bores, or one for each")?;
    Ok(wanted.to_vec())
}
