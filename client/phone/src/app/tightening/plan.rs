//! The plan of a group: every act in order and how far it is, the bolts as drawn, what is known of them.

use std::collections::BTreeMap;

use gudgeon_core::assess::NextAct;
use gudgeon_core::engine::{Fastener, FeatureKind, Method, Reuse};
use gudgeon_core::entry::Payload;
use gudgeon_core::entry::payload::{Tightening, TighteningAct};
use gudgeon_core::log::Ix;
use gudgeon_core::quantity::Kind;

use super::{Bolt, BoltState};
use crate::app::Desk;
use crate::app::sight::Sight;

/// The check after each stage.
pub(super) const TURNS: &str = "turns-free";

/// One act of the plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// What.
    pub name: String,
    /// How.
    pub how: String,
    /// How far.
    pub state: LineState,
    /// Who did it, and when by their phone.
    pub by: String,
}

/// How far an act of the plan is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LineState {
    /// Done.
    Done,
    /// It comes next.
    Now,
    /// Later.
    Later,
    /// It is begun again from the start.
    Undone,
}

impl LineState {
    /// In words.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Done => "done",
            Self::Now => "now",
            Self::Later => "later",
            Self::Undone => "again",
        }
    }
}

/// What comes next on a group.
pub(super) fn next(sight: &Sight, fastener: &Fastener, place: &str) -> NextAct {
    let first = if fastener.nip { NextAct::Nip } else { NextAct::Stage(1) };
    sight.assessment.next_act(&fastener.group, place).unwrap_or(first)
}

/// Stages done of a group at a place.
pub(super) fn stages_done(sight: &Sight, group: &str, place: &str) -> u32 {
    let mut all = sight.assessment.tightenings();
    all.find(|(of, at, ..)| *of == group && *at == place).map_or(0, |(_, _, done, _)| done)
}

/// Acts on a group, at one place or at all, in the order in which they are held.
pub(super) fn acts<'s>(
    sight: &'s Sight,
    group: &'s str,
    place: Option<&'s str>,
) -> impl Iterator<Item = (&'s Tightening, Ix)> {
    (0..).zip(sight.log().folded()).filter_map(move |(ix, statement)| match &statement.payload {
        Ok(Payload::Tightening(act)) if act.group == group && place.is_none_or(|at| at == act.place) => {
            Some((act, ix))
        }
        Ok(_) | Err(_) => None,
    })
}

/// Mains and rods are turned after every stage; heads and covers are not.
const fn is_turned(fastener: &Fastener) -> bool {
    matches!(fastener.place, FeatureKind::Main | FeatureKind::RodBolts)
}

/// Every act in order, and how far it is.
pub(super) fn lines(fastener: &Fastener, desk: &Desk, sight: &Sight, place: &str) -> Vec<Line> {
    let next = next(sight, fastener, place);
    let plan = plan(fastener);
    let at = plan.iter().position(|act| is_next(*act, next, stages_done(sight, &fastener.group, place)));
    let state = |index: usize| match (next, at) {
        (NextAct::Nothing, _) => LineState::Done,
        (NextAct::Slacken, _) | (_, None) => LineState::Undone,
        (_, Some(at)) if index < at => LineState::Done,
        (_, Some(at)) if index == at => LineState::Now,
        (_, Some(_)) => LineState::Later,
    };
    let line = |(index, act): (usize, &Act)| {
        let state = state(index);
        let by =
            if state == LineState::Done { by(*act, desk, sight, fastener, place) } else { String::new() };
        Line { name: act.name(fastener), how: act.how(fastener), state, by }
    };
    plan.iter().enumerate().map(line).collect()
}

/// An act of the plan.
#[derive(Clone, Copy)]
enum Act {
    Nip,
    Stage(u32),
    Turn(u32),
}

impl Act {
    fn name(self, fastener: &Fastener) -> String {
        match self {
            Self::Nip => "Nip".to_owned(),
            Self::Stage(number) => fastener.stage(number).map(ToString::to_string).unwrap_or_default(),
            Self::Turn(_) => "Turns freely?".to_owned(),
        }
    }

    fn how(self, fastener: &Fastener) -> String {
        match self {
            Self::Nip => "by hand, all evenly".to_owned(),
            Self::Turn(_) => "all the way round, no tight place".to_owned(),
            Self::Stage(number) => {
                let angle = fastener.stage(number).is_some_and(|stage| stage.kind() == Kind::Angle);
                let how = if angle { "by angle from there, each alike" } else { "evenly, in order" };
                format!("stage {number} of {}, {how}", fastener.stages.len())
            }
        }
    }
}

fn plan(fastener: &Fastener) -> Vec<Act> {
    let nip = fastener.nip.then_some(Act::Nip);
    let stage = |number| [Some(Act::Stage(number)), is_turned(fastener).then_some(Act::Turn(number))];
    let stages = (1..).zip(&fastener.stages).flat_map(|(number, _)| stage(number)).flatten();
    nip.into_iter().chain(stages).collect()
}

fn is_next(act: Act, next: NextAct, done: u32) -> bool {
    match (act, next) {
        (Act::Nip, NextAct::Nip) => true,
        (Act::Stage(number), NextAct::Stage(wanted)) => number == wanted,
        (Act::Turn(number), NextAct::Turn) => number == done,
        (Act::Nip | Act::Stage(_) | Act::Turn(_), _) => false,
    }
}

/// Who did an act that stands, and when.
fn by(act: Act, desk: &Desk, sight: &Sight, fastener: &Fastener, place: &str) -> String {
    let wanted = match act {
        Act::Nip => TighteningAct::Nipped,
        Act::Stage(number) => TighteningAct::Stage(number),
        Act::Turn(_) => return String::new(),
    };
    let standing = acts(sight, &fastener.group, Some(place))
        .filter(|(done, ix)| done.act == wanted && sight.assessment.status(*ix).stands());
    let said = |(done, ix): (&Tightening, Ix)| {
        let statement = sight.log().at(ix);
        let wrench = if done.wrench.is_empty() { String::new() } else { format!(", wrench {}", done.wrench) };
        let when = desk.when(statement.device_time);
        format!("{}, {when}{wrench}", desk.name_of_key(statement.key))
    };
    standing.last().map(said).unwrap_or_default()
}

/// What comes next in words, and what is on the button.
pub(super) fn words(fastener: &Fastener, act: NextAct, apart: usize) -> (String, String) {
    let all = match (fastener.bolts, apart) {
        (1, 0) => "it".to_owned(),
        (2, 0) => "both".to_owned(),
        (bolts, 0) => format!("all {bolts}"),
        (bolts, apart) => format!("{} of {bolts}", usize::from(bolts).saturating_sub(apart)),
    };
    let stages = fastener.stages.len();
    match act {
        NextAct::Nip => ("Run down by hand and nip".to_owned(), format!("Nipped, {all}")),
        NextAct::Stage(number) => {
            let angle = fastener.stage(number).is_some_and(|stage| stage.kind() == Kind::Angle);
            let (by, button) = if angle { (", by angle", "Turned") } else { ("", "Tightened") };
            (format!("Stage {number} of {stages}{by}, {all}"), format!("{button}, {all}"))
        }
        NextAct::Turn => ("Turn it all the way round".to_owned(), String::new()),
        NextAct::Slacken => {
            let words = "Slacken evenly, in steps, against the order; then begin again";
            (words.to_owned(), format!("Slackened, {all}"))
        }
        NextAct::Nothing => ("Every stage is done".to_owned(), "Back to the step".to_owned()),
    }
}

/// The bolts as drawn: where they are is a scheme, the numbers are the order in which they are pulled.
pub(super) fn bolts(
    fastener: &Fastener,
    sight: &Sight,
    place: &str,
    apart: &BTreeMap<u32, String>,
) -> Vec<Bolt> {
    let done = stages_done(sight, &fastener.group, place);
    let all = usize::try_from(done).is_ok_and(|done| done >= fastener.stages.len());
    let left_out: Vec<u32> = acts(sight, &fastener.group, Some(place))
        .filter(|(act, ix)| {
            matches!(act.act, TighteningAct::Stage(_)) && sight.assessment.status(*ix).stands()
        })
        .last()
        .map(|(act, _)| act.exceptions.iter().map(|(number, _)| *number).collect())
        .unwrap_or_default();
    let state = |number: u32| match () {
        () if apart.contains_key(&number) || left_out.contains(&number) => BoltState::Apart,
        () if all => BoltState::Tight,
        () if done > 0 => BoltState::PartWay,
        () => BoltState::Slack,
    };
    let count = u32::from(fastener.bolts);
    let bolt = |number| Bolt { number, at: seat(number, count), state: state(number) };
    let mut bolts: Vec<Bolt> = (1..=count).map(bolt).collect();
    bolts.sort_by_key(|bolt| bolt.at);
    bolts
}

/// Where a bolt is drawn, row and column: up to two side by side, more in two rows from the middle outwards,
/// the next one always across. A scheme: which bolt is which, the maker's picture says.
fn seat(number: u32, count: u32) -> (u32, u32) {
    if count <= 2 {
        return (0, number - 1);
    }
    let columns = count.div_ceil(2);
    let (pair, row) = ((number - 1) / 2, (number - 1) % 2);
    let (middle, away) = ((columns - 1) / 2, pair.div_ceil(2));
    let left = (pair % 2 == 1) == (columns % 2 == 1);
    (row, if left { middle.saturating_sub(away) } else { middle + away })
}

/// What is known of the group, a line each.
pub(super) fn facts(fastener: &Fastener) -> Vec<String> {
    let method = match fastener.method {
        Method::Torque => "tightened by torque",
        Method::Stretch => {
            "tightened by torque, proven by stretch: read the free length before the first stage"
        }
        Method::Angle => {
            "tightened by torque first, then by angle: the angle counts, not the torque that is felt"
        }
    };
    let reuse = match &fastener.reuse {
        Reuse::Never => "not used again".to_owned(),
        Reuse::Allowed => "may be used again".to_owned(),
        Reuse::WithinGrowth(limit) => format!("used again up to a growth of {limit}"),
    };
    vec![
        format!("{} {}, {}", fastener.thread, fastener.class, reuse),
        format!("{} on {}", fastener.lubricant, fastener.faces),
        method.to_owned(),
        format!("the maker's figures: {}", fastener.source),
    ]
}

/// Lengths that are read of the bolts, where they are proven by stretch.
pub(super) fn lengths(fastener: &Fastener) -> Vec<(&'static str, &'static str)> {
    let read = fastener.method == Method::Stretch && fastener.place == FeatureKind::RodBolts;
    if read { LENGTHS.to_vec() } else { Vec::new() }
}

const LENGTHS: [(&str, &str); 2] = [
    ("free-length", "before the first stage, slack"),
    ("tight-length", "after the last stage, for the stretch"),
];

/// The other places of the group, and how far each is.
pub(super) fn others(fastener: &Fastener, sight: &Sight, place: &str) -> Vec<(String, String)> {
    let features =
        sight.assessment.definition().map_or(&[][..], |definition| definition.features_of(fastener.place));
    let all = fastener.stages.len();
    let others = features.iter().filter(|feature| feature.path() != place);
    let far = |path: &str| match next(sight, fastener, path) {
        NextAct::Nothing => "done".to_owned(),
        NextAct::Slacken => "to be slackened".to_owned(),
        NextAct::Turn => format!("{} of {all}, to be turned", stages_done(sight, &fastener.group, path)),
        NextAct::Nip | NextAct::Stage(_) => format!("{} of {all}", stages_done(sight, &fastener.group, path)),
    };
    others.map(|feature| (feature.path().to_owned(), far(feature.path()))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Drawn by hand: ten bolts lie 9 5 1 3 7 over 10 6 2 4 8 or its mirror, eight with the first pair
    /// left of the middle.
    #[test]
    fn bolts_lie_from_the_middle_outwards_and_across() {
        let row = |row: u32, count: u32| -> Vec<u32> {
            let mut all: Vec<(u32, u32)> = (1..=count)
                .map(|number| (seat(number, count), number))
                .filter(|((of, _), _)| *of == row)
                .map(|((_, column), number)| (column, number))
                .collect();
            all.sort_unstable();
            all.into_iter().map(|(_, number)| number).collect()
        };
        assert_eq!((row(0, 10), row(1, 10)), (vec![7, 3, 1, 5, 9], vec![8, 4, 2, 6, 10]));
        assert_eq!((row(0, 8), row(1, 8)), (vec![5, 1, 3, 7], vec![6, 2, 4, 8]));
        assert_eq!((row(0, 2), row(0, 1), row(1, 5)), (vec![1, 2], vec![1], vec![4, 2]));
    }
}
