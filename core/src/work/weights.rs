//! Sets of even weight: which rod goes with which piston and which pin.

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Range, Takes};
use super::matching::{Goal, choose};
use super::values::{least, places, span};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::{Amount, Unit};

/// Rounds of improvement after which the search is ended in any case.
const ROUNDS: usize = 30;

/// For each list the places chosen, set by set, so that the sums of the sets differ least.
///
/// The shortest list is taken in its order and says how many sets there are; from the others the best
/// are chosen where they are longer. Two lists: the least there is. Three: improved list by list until
/// nothing improves, which need not be the least.
///
/// # Errors
/// A list that is empty.
pub fn even_sets(lists: &[Vec<i64>]) -> Result<Vec<Vec<usize>>, WorkError> {
    let shortest = (0..lists.len()).min_by_key(|at| lists[*at].len()).unwrap_or(0);
    let sets = lists.get(shortest).map_or(0, Vec::len);
    let mut chosen: Vec<Vec<usize>> = vec![Vec::new(); lists.len()];
    let others: Vec<usize> = (0..lists.len()).filter(|at| *at != shortest).collect();
    let listed: Vec<Vec<usize>> = vec![(0..sets).collect(); lists.len()];
    if let Some(own) = chosen.get_mut(shortest) {
        *own = (0..sets).collect();
    }
    for at in &others {
        chosen[*at] = choose_for(lists, &chosen, *at, sets)?;
    }
    // From the order as listed too, so that nothing is made worse than it was.
    let ways = [improved(lists, chosen, &others, sets)?, improved(lists, listed, &others, sets)?];
    let best = ways.into_iter().min_by_key(|way| unevenness(&sums(lists, way, None, sets)));
    Ok(best.unwrap_or_default())
}

/// Sets improved list by list until nothing gets more even.
fn improved(
    lists: &[Vec<i64>],
    mut chosen: Vec<Vec<usize>>,
    others: &[usize],
    sets: usize,
) -> Result<Vec<Vec<usize>>, WorkError> {
    for _ in 0..ROUNDS {
        let before = unevenness(&sums(lists, &chosen, None, sets));
        for at in others {
            let now = unevenness(&sums(lists, &chosen, None, sets));
            let better = choose_for(lists, &chosen, *at, sets)?;
            let kept = std::mem::replace(&mut chosen[*at], better);
            if unevenness(&sums(lists, &chosen, None, sets)) > now {
                chosen[*at] = kept;
            }
        }
        if unevenness(&sums(lists, &chosen, None, sets)) >= before {
            break;
        }
    }
    Ok(chosen)
}

/// The best of one list beside what is chosen of the others.
fn choose_for(
    lists: &[Vec<i64>],
    chosen: &[Vec<usize>],
    at: usize,
    sets: usize,
) -> Result<Vec<usize>, WorkError> {
    let rest = sums(lists, chosen, Some(at), sets);
    let table: Vec<Vec<i64>> =
        rest.iter().map(|sum| lists[at].iter().map(|one| sum.saturating_add(*one)).collect()).collect();
    choose(&table, Goal::LeastSpread)
}

/// What the sets come to, one list left out or none; a list not chosen from yet counts nothing.
fn sums(lists: &[Vec<i64>], chosen: &[Vec<usize>], but: Option<usize>, sets: usize) -> Vec<i64> {
    let counted = || (0..lists.len()).filter(|at| Some(*at) != but);
    let of = |set: usize, at: usize| chosen[at].get(set).map_or(0, |place| lists[at][*place]);
    (0..sets).map(|set| counted().fold(0, |sum: i64, at| sum.saturating_add(of(set, at)))).collect()
}

fn unevenness(sums: &[i64]) -> u64 {
    sums.iter().max().zip(sums.iter().min()).map_or(0, |(most, least)| most.abs_diff(*least))
}

const WEIGHTS: Takes = Takes::Quantities(Unit::Gram, Range::up_to(50_000.0), 1);
const NAMES: [&str; 3] = ["rods", "pistons", "pins"];

/// Which parts make sets of even weight.
pub(super) static EVEN_WEIGHTS: Worksheet = Worksheet {
    name: "even-weights",
    title: "which rods, pistons and pins make sets of even weight",
    section: Section::Matching,
    inputs: &[
        Input::optional("rods", WEIGHTS, "weight of each rod, or of each small end"),
        Input::optional("pistons", WEIGHTS, "weight of each piston"),
        Input::optional("pins", WEIGHTS, "weight of each gudgeon pin"),
    ],
    example: "pistons=412.6,413.9,412.1,414.4g pins=118.3,117.2,118.9,117.6g",
    outputs: &[
        Output::new("rods", "", 0, "for each set in turn, the number of the rod in its list"),
        Output::new("pistons", "", 0, "the number of the piston"),
        Output::new("pins", "", 0, "the number of the pin"),
        Output::new("sums", "g", 2, "weight of each set"),
        Output::new("spread", "g", 2, "heaviest set less lightest"),
        Output::new("take-off", "g", 2, "of each set, to bring all to the lightest"),
    ],
    formula: "least of the heaviest sum less the lightest over all ways of making sets",
    valid: "two lists: no better way exists; three: improved list by list, and a better way may exist. A spread under what the scale shows is no real choice",
    source: Source {
        text: "assignment problem (Kuhn, Munkres); matching within 1 or 2 g is common practice",
        standing: Standing::Computed,
    },
    mistakes: &[
        "pistons moved to even the weight after their bores were honed for them",
        "rings, locks and oil forgotten",
        "metal taken from where the maker allows none",
    ],
    cautions: &["Where metal may come off a piston or rod, and how much, is the maker's figure."],
    compute: even_weights,
};

fn even_weights(given: &Given) -> Result<Answer, WorkError> {
    let typed: Vec<(&'static str, Vec<f64>)> = NAMES
        .into_iter()
        .map(|name| (name, given.list(name, Unit::Gram)))
        .filter(|(_, list)| !list.is_empty())
        .collect();
    if typed.len() < 2 {
        return Err(WorkError::of("pistons", "stand alone", "give two lists or three: rods, pistons, pins"));
    }
    let base = |grams: &f64| Amount::from_f64(*grams, Unit::Gram).map_or(i64::MAX, Amount::base);
    let lists: Vec<Vec<i64>> = typed.iter().map(|(_, list)| list.iter().map(base).collect()).collect();
    let chosen = even_sets(&lists)?;
    let sets = chosen.iter().map(Vec::len).min().unwrap_or(0);
    let weight = |set: usize| -> f64 { typed.iter().zip(&chosen).map(|((_, list), of)| list[of[set]]).sum() };
    let sums: Vec<f64> = (0..sets).map(weight).collect();
    let off: Vec<f64> = sums.iter().map(|sum| sum - least(&sums)).collect();
    let mut answer = Answer::new();
    for ((name, _), of) in typed.iter().zip(&chosen) {
        answer = answer.numbers(name, &places(of))?;
    }
    Ok(answer
        .numbers("sums", &sums)?
        .number("spread", span(&sums))?
        .numbers("take-off", &off)?
        .note_if(typed.len() > 2, "three lists: improved list by list; a better way may exist"))
}
