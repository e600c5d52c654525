//! Shells from the grades in stock.

use std::cmp::Reverse;

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Range, Takes};
use super::values::{count, most, one_for_each, places};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::{Amount, Unit};

const SIZES: Takes = Takes::Quantities(Unit::Millimetre, Range::up_to(500.0), 1);
/// Ways looked at before the search is ended where stock is short.
const MOST_WAYS: u32 = 20_000;

/// A pair of grades in a bearing: upper and lower, by place, and the clearance they leave.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Pair {
    upper: usize,
    lower: usize,
    clearance: f64,
    /// Off the target, in base units.
    off: u64,
}

/// Which grades go where.
pub(super) static SHELL_GRADES: Worksheet = Worksheet {
    name: "shell-grades",
    title: "which shell grades of those in stock give the wanted oil clearance, bearing by bearing",
    section: Section::Bearings,
    inputs: &[
        Input::required(
            "housings",
            SIZES,
            "bare housing of each bearing, tightened as the maker says, at 20 °C",
        ),
        Input::required("journals", SIZES, "largest diameter of each journal, at 20 °C, in the same order"),
        Input::required(
            "walls",
            Takes::Quantities(Unit::Millimetre, Range::up_to(50.0), 1),
            "wall at the crown of each grade",
        ),
        Input::optional(
            "stock",
            Takes::Quantities(Unit::Piece, Range::from(0.0, 1000.0), 1),
            "how many half shells of each grade there are; left out: enough",
        ),
        Input::required(
            "clearance",
            Takes::Quantity(Unit::Millimetre, Range::from(0.0, 2.0)),
            "oil clearance that is wanted",
        ),
        Input::optional(
            "lower",
            Takes::Quantity(Unit::Millimetre, Range::from(0.0, 2.0)),
            "least the maker allows",
        ),
        Input::optional(
            "upper",
            Takes::Quantity(Unit::Millimetre, Range::from(0.0, 2.0)),
            "most the maker allows",
        ),
    ],
    example: "housings=61.005,61.009,61.002mm journals=56.740,56.738,56.741mm walls=2.104,2.107,2.110mm stock=2,4,2 clearance=0.050mm lower=0.030mm upper=0.070mm",
    outputs: &[
        Output::new("uppers", "", 0, "for each bearing in turn, the number of the grade of its upper shell"),
        Output::new("lowers", "", 0, "and of its lower one"),
        Output::new("clearances", "mm", 4, "in each bearing"),
        Output::new("largest", "µm", 1, "deviation from what is wanted"),
        Output::new("second-best", "mm", 4, "clearance each bearing would have with its next best pair"),
    ],
    formula: "C = H - w_u - w_l - J; least sum of |C - wanted| over all bearings that the stock allows; of equals two of one grade first",
    valid: "walls as measured or as the maker gives for the grade; which half may be the thicker is the maker's affair",
    source: Source { text: "arithmetic; every pair of grades is tried", standing: Standing::Computed },
    mistakes: &[
        "wall measured at the parting line, where shells are thinner",
        "the mean of all bearings judged while one is out",
        "oil hole in the wrong half after shells were swapped",
    ],
    cautions: &["The maker's clearance and the maker's pairing of grades come first."],
    compute: shell_grades,
};

fn shell_grades(given: &Given) -> Result<Answer, WorkError> {
    let mm = Unit::Millimetre;
    let (housings, journals, walls) =
        (given.list("housings", mm), given.list("journals", mm), given.list("walls", mm));
    let hint = "give one for each housing, in the same order";
    one_for_each("journals", journals.len(), ("housings", housings.len()), hint)?;
    let stock = stock(given, walls.len(), housings.len())?;
    let wanted = given.value("clearance", mm)?;
    let ranked: Vec<Vec<Pair>> = housings
        .iter()
        .zip(&journals)
        .map(|(housing, journal)| ranked(housing - journal, &walls, wanted))
        .collect();
    let (chosen, all_tried) = Search::new(&ranked, stock).run()?;
    let pairs: Vec<&Pair> = chosen.iter().zip(&ranked).map(|(at, pairs)| &pairs[*at]).collect();
    let clearances: Vec<f64> = pairs.iter().map(|pair| pair.clearance).collect();
    let off: Vec<f64> = clearances.iter().map(|clearance| 1000.0 * (clearance - wanted).abs()).collect();
    let next: Vec<f64> = ranked.iter().filter_map(|pairs| pairs.get(1)).map(|pair| pair.clearance).collect();
    let uppers: Vec<usize> = pairs.iter().map(|pair| pair.upper).collect();
    let lowers: Vec<usize> = pairs.iter().map(|pair| pair.lower).collect();
    let answer = Answer::new()
        .numbers("uppers", &places(&uppers))?
        .numbers("lowers", &places(&lowers))?
        .numbers("clearances", &clearances)?
        .number("largest", most(&off))?
        .note_if(!all_tried, "stock is short and there are very many ways: the best of those tried");
    let answer = if next.len() == ranked.len() { answer.numbers("second-best", &next)? } else { answer };
    Ok(outside(given, &clearances).into_iter().fold(answer, Answer::note))
}

/// What is said of bearings outside the maker's limits.
fn outside(given: &Given, clearances: &[f64]) -> Vec<String> {
    let limit = |name: &str| given.maybe(name, Unit::Millimetre);
    let bad = |clearance: f64| {
        limit("lower").is_some_and(|lower| clearance < lower)
            || limit("upper").is_some_and(|upper| clearance > upper)
    };
    let bearings = clearances.iter().enumerate().filter(|(_, clearance)| bad(**clearance));
    bearings.map(|(at, _)| format!("bearing {}: no pair in stock keeps the maker's limits", at + 1)).collect()
}

/// Half shells of each grade; none given: as many as there could be use for.
fn stock(given: &Given, grades: usize, bearings: usize) -> Result<Vec<usize>, WorkError> {
    let typed = given.list("stock", Unit::Piece);
    if typed.is_empty() {
        return Ok(vec![2 * bearings; grades]);
    }
    one_for_each("stock", typed.len(), ("grades", grades), "give one for each grade, in the same order")?;
    let needed = count(2 * bearings);
    let whole = |n: &f64| (0..=2 * bearings).rev().find(|whole| count(*whole) <= n.min(needed)).unwrap_or(0);
    Ok(typed.iter().map(whole).collect())
}

/// Every pair of grades for a bearing with so much room between housing and journal, best first.
fn ranked(room: f64, walls: &[f64], wanted: f64) -> Vec<Pair> {
    let pair = |upper: usize, lower: usize| {
        let clearance = room - walls[upper] - walls[lower];
        let off = Amount::from_f64(clearance - wanted, Unit::Millimetre);
        Pair { upper, lower, clearance, off: off.map_or(u64::MAX, |off| off.base().unsigned_abs()) }
    };
    let mut pairs: Vec<Pair> = (0..walls.len())
        .flat_map(|upper| (upper..walls.len()).map(move |lower| (upper, lower)))
        .map(|(u, l)| pair(u, l))
        .collect();
    pairs.sort_by_key(|pair| (pair.off, Reverse(pair.upper == pair.lower), pair.upper, pair.lower));
    pairs
}

/// Bearing by bearing, best pair first, turning back where it can no longer be better.
struct Search<'r> {
    ranked: &'r [Vec<Pair>],
    stock: Vec<usize>,
    /// The least that the bearings from each one on can come to.
    at_least: Vec<u64>,
    chosen: Vec<usize>,
    best: Option<(u64, Vec<usize>)>,
    ways: u32,
}

impl<'r> Search<'r> {
    fn new(ranked: &'r [Vec<Pair>], stock: Vec<usize>) -> Self {
        let mut at_least = vec![0_u64; ranked.len() + 1];
        for at in (0..ranked.len()).rev() {
            let least = ranked[at].first().map_or(0, |pair| pair.off);
            at_least[at] = at_least[at + 1].saturating_add(least);
        }
        Self { ranked, stock, at_least, chosen: Vec::new(), best: None, ways: 0 }
    }

    /// The pair chosen for each bearing, and whether all ways were looked at.
    fn run(mut self) -> Result<(Vec<usize>, bool), WorkError> {
        self.from(0);
        let hint = "give more of them, or leave stock out to see what to order";
        let few = || WorkError::of("stock", "does not have two half shells for every bearing", hint);
        let (_, chosen) = self.best.ok_or_else(few)?;
        Ok((chosen, self.ways < MOST_WAYS))
    }

    fn from(&mut self, off: u64) {
        let bearing = self.chosen.len();
        if bearing == self.ranked.len() {
            self.best = Some((off, self.chosen.clone()));
            return;
        }
        for (at, pair) in self.ranked[bearing].iter().enumerate() {
            let reached = off.saturating_add(pair.off);
            let bound = reached.saturating_add(self.at_least[bearing + 1]);
            if self.ways == MOST_WAYS || self.best.as_ref().is_some_and(|(best, _)| bound >= *best) {
                return;
            }
            if self.take(pair) {
                self.ways += 1;
                self.chosen.push(at);
                self.from(reached);
                self.chosen.pop();
                self.give_back(pair);
            }
        }
    }

    fn take(&mut self, pair: &Pair) -> bool {
        let needed = if pair.upper == pair.lower { 2 } else { 1 };
        if self.stock[pair.upper] < needed || self.stock[pair.lower] < 1 {
            return false;
        }
        self.stock[pair.upper] -= 1;
        self.stock[pair.lower] -= 1;
        true
    }

    fn give_back(&mut self, pair: &Pair) {
        self.stock[pair.upper] += 1;
        self.stock[pair.lower] += 1;
    }
}
