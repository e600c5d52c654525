//! Choosing which part goes where.

use pathfinding::kuhn_munkres::kuhn_munkres_min;
use pathfinding::matrix::Matrix;

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Need, Range, Takes};
use super::values::{least, most, span};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::{Amount, Unit};

const SIZES: Range = Range::up_to(500.0);

/// What a choice is the best by. Always said beside it: the two can disagree.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Goal {
    /// Least sum of the deviations from the target.
    LeastSum,
    /// Least largest deviation; of those the least sum.
    LeastLargest,
}

/// For each bore the piston that is chosen, by place in the list.
///
/// `deviations[bore][piston]` are whole numbers of one unit, above nought or nought; no fewer
/// pistons than bores. Ties go to the smaller place in the list, so that the order of storage
/// decides nothing that a person did not type.
///
/// # Errors
/// Fewer pistons than bores, or lists of different lengths.
pub fn choose(deviations: &[Vec<i64>], goal: Goal) -> Result<Vec<usize>, WorkError> {
    let few =
        || WorkError::of("pistons", "are fewer than the bores", "give one piston for each bore, or more");
    let columns = deviations.first().map_or(0, Vec::len);
    if deviations.is_empty() || columns < deviations.len() {
        return Err(few());
    }
    let solve = |most: i64| {
        // What is beyond the most costs more than all the rest together.
        let beyond = deviations.iter().flatten().fold(1_i64, |sum, one| sum.saturating_add(*one));
        let cost = |one: i64| if one > most { beyond.saturating_add(one) } else { one };
        let rows = deviations.iter().map(|row| row.iter().map(|one| cost(*one)).collect::<Vec<i64>>());
        let matrix = Matrix::from_rows(rows).map_err(|_| few())?;
        Ok(kuhn_munkres_min(&matrix).1)
    };
    let largest = |chosen: &[usize]| {
        chosen.iter().enumerate().map(|(bore, piston)| deviations[bore][*piston]).max().unwrap_or(0)
    };
    if goal == Goal::LeastSum {
        return solve(i64::MAX);
    }
    let mut limits: Vec<i64> = deviations.iter().flatten().copied().collect();
    limits.sort_unstable();
    limits.dedup();
    // The least limit under which every bore still finds a piston: by halving.
    let (mut low, mut high) = (0, limits.len() - 1);
    while low < high {
        let middle = low.midpoint(high);
        if largest(&solve(limits[middle])?) <= limits[middle] { high = middle } else { low = middle + 1 }
    }
    solve(limits[low])
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
            takes: Takes::Quantity(Unit::Millimetre, Range::from(0.0, 2.0)),
            need: Need::Required,
            about: "that is wanted in every bore",
        },
        Input {
            name: "goal",
            takes: Takes::Word(&["least-sum", "least-largest"]),
            need: Need::Default("least-largest", Standing::CommonPractice),
            about: "least sum of the deviations, or least largest one",
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
        Output { name: "spread", unit: "µm", decimals: 1, about: "largest clearance less smallest" },
        Output { name: "goal", unit: "", decimals: 0, about: "what the choice is best by" },
    ],
    formula: "least sum, or least largest, of |bore - piston - clearance| over all ways of giving each bore a piston",
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
    let (bores, pistons, wanted) =
        (given.list("bores", mm), given.list("pistons", mm), given.value("clearance", mm)?);
    let clearance = |bore: usize, piston: usize| bores[bore] - pistons[piston];
    let deviation = |bore: usize, piston: usize| {
        let off = (clearance(bore, piston) - wanted).abs();
        Amount::from_f64(off, mm).map_or(i64::MAX, Amount::base)
    };
    let row = |bore: usize| (0..pistons.len()).map(|piston| deviation(bore, piston)).collect();
    let table: Vec<Vec<i64>> = (0..bores.len()).map(row).collect();
    let goal = if given.word("goal") == "least-sum" { Goal::LeastSum } else { Goal::LeastLargest };
    let chosen = choose(&table, goal)?;
    let clearances: Vec<f64> =
        chosen.iter().enumerate().map(|(bore, piston)| clearance(bore, *piston)).collect();
    let off: Vec<f64> = clearances.iter().map(|clearance| 1000.0 * (clearance - wanted).abs()).collect();
    let numbers: Vec<f64> =
        chosen.iter().map(|at| f64::from(u32::try_from(at + 1).unwrap_or(u32::MAX))).collect();
    let answer = Answer::new()
        .numbers("pistons", &numbers)?
        .numbers("clearances", &clearances)?
        .number("sum", off.iter().sum())?
        .number("largest", most(&off))?
        .number("spread", 1000.0 * span(&clearances))?
        .word("goal", given.word("goal"));
    Ok(answer.note_if(least(&clearances) < 0.0, "a piston is larger than its bore: it does not go in"))
}
