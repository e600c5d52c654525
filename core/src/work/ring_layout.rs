//! Where to set the ring gaps round the piston, worked out for a pack.
//!
//! Directions in whole steps of [`STEP`] degrees, clockwise from the thrust face seen from the crown:
//! thrust faces at 0 and 180, pin ends at 90 and 270. Nobody sets a gap finer than that by eye.

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Range, Takes};
use super::ring::{EDGES, Spread, between, spread};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

const STEP: i32 = 5;
const ROUND: i32 = 360;
/// Midway between a thrust face and a pin end.
const FARTHEST: i32 = 45;
const MOST_SINGLES: usize = 6;
const MOST_PAIRS: usize = 2;

/// Gap directions in degrees of a pack: `singles` rings of one gap from the crown, then pairs of rails,
/// the two of each opposite; every gap at least `clear` degrees from thrust faces and pin ends.
///
/// The smallest angle between any two is the largest that there is, in steps of 5 degrees; then
/// all stand as clear as that leaves, singles as evenly as they may; then rings that follow each other are farthest apart.
/// None: there is no room so clear. At most six singles and two pairs.
#[must_use]
pub fn ring_layout(singles: usize, pairs: usize, clear: f64) -> Option<Vec<f64>> {
    if singles + pairs == 0 || singles > MOST_SINGLES || pairs > MOST_PAIRS {
        return None;
    }
    let (mut room, (mut apart, mut anchors)) = Room::widest_so_clear(singles, pairs, clear)?;
    // Farther from the faces, as long as it costs no angle between gaps.
    for farther in (1..=FARTHEST / STEP).map(|at| f64::from(at * STEP)).filter(|at| *at > clear) {
        match Room::widest_so_clear(singles, pairs, farther) {
            Some((wider, found)) if found.0 == apart => (room, (apart, anchors)) = (wider, found),
            Some(_) | None => break,
        }
    }
    let mut taken = room.filled(&anchors, apart);
    taken.truncate(if pairs == 0 { singles - 1 } else { singles });
    let (mut free, rails) =
        if pairs == 0 { ([&anchors[..], &taken].concat(), Vec::new()) } else { (taken, anchors) };
    room.even_out(&mut free, &rails);
    let rails: Vec<f64> = rails.into_iter().map(f64::from).collect();
    Some(ordered(&free.into_iter().map(f64::from).collect::<Vec<f64>>(), &rails))
}

fn is_clear(at: i32, clear: f64) -> bool {
    let off = at % 90;
    f64::from(off.min(90 - off)) >= clear
}

/// Where gaps may stand, rising.
struct Room {
    open: Vec<i32>,
}

impl Room {
    /// The places so clear of the faces, and the widest setting in them.
    fn widest_so_clear(singles: usize, pairs: usize, clear: f64) -> Option<(Self, (i32, Vec<i32>))> {
        let open = (0..ROUND / STEP).map(|at| at * STEP).filter(|at| is_clear(*at, clear)).collect();
        let room = Self { open };
        let found = room.widest(singles, pairs)?;
        Some((room, found))
    }

    /// The widest angle between neighbours for which there is room, and the gaps to begin with: the
    /// rails, or the first ring where there are none.
    fn widest(&self, singles: usize, pairs: usize) -> Option<(i32, Vec<i32>)> {
        let wanted = if pairs == 0 { singles.checked_sub(1)? } else { singles };
        let fits = |apart: i32, anchors: &Vec<i32>| {
            neighbours(anchors).all(|(from, to)| to - from >= apart)
                && self.filled(anchors, apart).len() >= wanted
        };
        let beginnings = self.beginnings(pairs);
        // So many gaps are never farther apart than an even share of the round.
        let gaps = i32::try_from(singles + 2 * pairs).ok()?;
        (1..=ROUND / STEP / gaps).rev().map(|steps| steps * STEP).find_map(|apart| {
            let found = beginnings.iter().find(|anchors| fits(apart, anchors))?;
            Some((apart, found.clone()))
        })
    }

    fn beginnings(&self, pairs: usize) -> Vec<Vec<i32>> {
        let half = ROUND / 2;
        let opposite = self.open.iter().filter(|at| **at < half).map(|at| vec![*at, at + half]);
        match pairs {
            0 => self.open.iter().map(|at| vec![*at]).collect(),
            1 => opposite.collect(),
            _ => {
                let one: Vec<Vec<i32>> = opposite.collect();
                let both = |a: &Vec<i32>| -> Vec<Vec<i32>> {
                    one.iter().filter(|b| *b > a).map(|b| [&a[..], &b[..]].concat()).collect()
                };
                one.iter().flat_map(both).collect()
            }
        }
    }

    /// As many more as have room, each as early as it may stand.
    fn filled(&self, anchors: &[i32], apart: i32) -> Vec<i32> {
        let mut taken = Vec::new();
        for (from, to) in neighbours(anchors) {
            let mut last = from;
            for at in self.open.iter().copied().chain(self.open.iter().map(|at| at + ROUND)) {
                if at >= last + apart && at <= to - apart {
                    taken.push(at % ROUND);
                    last = at;
                }
            }
        }
        taken
    }

    /// Moves each towards the middle between its neighbours, where it may stand; no angle that was
    /// smallest gets smaller.
    fn even_out(&self, free: &mut [i32], rails: &[i32]) {
        for _ in 0..8 {
            for at in 0..free.len() {
                let others: Vec<i32> = free
                    .iter()
                    .enumerate()
                    .filter(|(other, _)| *other != at)
                    .map(|(_, x)| *x)
                    .chain(rails.iter().copied())
                    .collect();
                let room =
                    |place: i32| others.iter().map(|other| apart(place, *other)).min().unwrap_or(ROUND);
                let best = self
                    .open
                    .iter()
                    .copied()
                    .fold(free[at], |best, place| if room(place) > room(best) { place } else { best });
                free[at] = best;
            }
        }
    }
}

fn apart(a: i32, b: i32) -> i32 {
    let apart = (a - b).rem_euclid(ROUND);
    apart.min(ROUND - apart)
}

/// Each and the next one round, the latter counted on beyond a turn.
fn neighbours(anchors: &[i32]) -> impl Iterator<Item = (i32, i32)> {
    let mut sorted = anchors.to_vec();
    sorted.sort_unstable();
    let first = sorted.first().copied().unwrap_or_default() + ROUND;
    let next: Vec<i32> = sorted.iter().copied().skip(1).chain([first]).collect();
    sorted.into_iter().zip(next)
}

/// The order of the singles in which rings that follow each other stand farthest apart; rails behind.
fn ordered(free: &[f64], rails: &[f64]) -> Vec<f64> {
    let mut best: (f64, Vec<f64>) = (-1.0, Vec::new());
    let mut ways = vec![Vec::new()];
    for _ in free {
        ways = ways.iter().flat_map(|way: &Vec<f64>| longer(way, free)).collect();
    }
    for way in ways {
        let all = [&way[..], rails].concat();
        let least = all.windows(2).map(|pair| between(pair[0], pair[1])).fold(360.0, f64::min);
        if least > best.0 {
            best = (least, all);
        }
    }
    best.1
}

/// One more of those that are not in it yet.
fn longer(way: &[f64], free: &[f64]) -> Vec<Vec<f64>> {
    let left = free.iter().filter(|at| way.iter().all(|used| between(*used, **at) > 0.5));
    left.map(|at| [way, &[*at]].concat()).collect()
}

/// Where to set the gaps.
pub(super) static RING_LAYOUT: Worksheet = Worksheet {
    name: "ring-layout",
    title: "where to set the ring gaps round the piston, for any pack",
    section: Section::Rings,
    inputs: &[
        Input::required(
            "rings",
            Takes::Whole(1, 6),
            "with one gap each: compression rings, scraper, one-piece oil ring",
        ),
        Input::by_habit(
            "rails",
            Takes::Whole(0, 4),
            "2",
            "of oil rings in pieces: none, 2 or 4; the two of a pair are set opposite",
        ),
        Input::by_habit(
            "clear-of",
            Takes::Quantity(Unit::Degree, Range::from(0.0, 45.0)),
            "20 deg",
            "to keep clear of thrust faces and pin ends",
        ),
    ],
    example: "rings=2 rails=2",
    outputs: &[
        Output::new(
            "gaps",
            "deg",
            0,
            "clockwise from the thrust face seen from the crown, rings from the top and rails last",
        ),
        Output::new("least-apart", "deg", 0, "between any two gaps"),
        Output::new("least-following", "deg", 0, "between two that follow each other down the piston"),
        Output::new("to-thrust", "deg", 0, "nearest of them to a thrust face"),
        Output::new("to-pin", "deg", 0, "nearest of them to a pin end"),
        Output::new("where", "", 0, "in words"),
    ],
    formula: "rails of a pair opposite; of all settings in steps of 5 deg that keep clear of 0, 90, 180 and 270 deg the one whose smallest angle between any two is largest, then farthest from those, then neighbours farthest apart down the piston",
    valid: "gaps as set before the piston goes in; rings turn in service. Rings with a peg or a maker's mark go where that says",
    source: Source { text: "gaps spread, no two in line", standing: Standing::CommonPractice },
    mistakes: &[
        "counted against the clock, or seen from the skirt: the picture is turned round",
        "thrust face mistaken for the other side",
        "rails set with their gaps together, or over the expander's joint",
        "rings turned while the compressor goes on: look again",
    ],
    cautions: &["The maker's setting comes first.", EDGES],
    compute: layout,
};

fn layout(given: &Given) -> Result<Answer, WorkError> {
    let whole = |name: &'static str| given.whole(name).map(|n| usize::try_from(n).unwrap_or(usize::MAX));
    let (rings, rails) = (whole("rings")?, whole("rails")?);
    if rails % 2 != 0 {
        let cause = format!("{rails} do not make pairs");
        return Err(WorkError::of("rails", cause, "give 0, 2 or 4; a one-piece oil ring counts under rings"));
    }
    if rings + rails < 2 {
        return Err(WorkError::of(
            "rings",
            "one gap has nothing to be apart from",
            "give all rings of the pack",
        ));
    }
    let clear = given.value("clear-of", Unit::Degree)?;
    let gaps = ring_layout(rings, rails / 2, clear).ok_or_else(|| {
        let cause = format!("{clear} deg leaves no room for {} gaps apart", rings + rails);
        WorkError::of("clear-of", cause, "give a smaller angle")
    })?;
    let Spread { any, following, thrust, pin } = spread(&gaps);
    let named = |(at, gap): (usize, &f64)| {
        if at < rings {
            format!("ring {} at {gap}", at + 1)
        } else {
            format!("rail {} at {gap}", at + 1 - rings)
        }
    };
    let named: Vec<String> = gaps.iter().enumerate().map(named).collect();
    Ok(Answer::new()
        .numbers("gaps", &gaps)?
        .number("least-apart", any)?
        .number("least-following", following)?
        .number("to-thrust", thrust)?
        .number("to-pin", pin)?
        .word("where", named.join(", "))
        .note_if(rails > 0, "the expander's joint away from both its rails' gaps"))
}
