#![allow(clippy::unwrap_used)]

use super::*;
use crate::app::hands::{Hands, hands};
use crate::app::kit::screen;

fn dial() -> Hands {
    hands(|record| Place::Rings(record, 3))
}

fn view(hands: &Hands) -> View {
    screen!(hands.phone, Rings)
}

fn put(hands: &mut Hands, to: &[i32]) {
    for (ring, to) in to.iter().enumerate() {
        let from = view(hands).gaps[ring].at.unwrap_or(0);
        hands.phone.send(Event::Move(ring, to - from));
    }
}

#[test]
fn every_ring_with_a_gap_is_on_the_dial_and_none_is_set_by_itself() {
    let seen = view(&dial());
    let names: Vec<_> = seen.gaps.iter().map(|gap| gap.name.as_str()).collect();
    assert_eq!(names, ["top", "second", "rail-upper", "rail-lower"]);
    assert!(seen.gaps.iter().all(|gap| gap.at.is_none() && gap.guide.is_some()), "{:?}", seen.gaps);
    assert!(!seen.right && seen.says == "not set yet: top, second, rail-upper, rail-lower", "{}", seen.says);
    assert!(seen.beside.unwrap().starts_with("expander: its joint"));
    assert!(seen.source.contains("common practice, no source"), "{}", seen.source);
}

// Angles by hand: 45 and 225 are 180 apart, 225 and 135 are 90, 135 and 315 are 180; all are 45 from
// a thrust face and from a pin end.
#[test]
fn gaps_that_stand_apart_are_entered_with_their_angles() {
    let mut hands = dial();
    put(&mut hands, &[45, 225, 135, 315]);
    let seen = view(&hands);
    assert!(seen.right, "{}", seen.says);
    let angles: Vec<_> = seen.angles.iter().map(|(_, angle)| angle.as_str()).collect();
    assert_eq!(angles, ["90°", "90°", "45°", "45°"]);
    hands.phone.send(Event::Keep);
    let seen = view(&hands);
    assert_eq!(seen.kept, Some("on this phone"));
    assert!(seen.entered.unwrap().contains("gaps-staggered"), "the step has it");
    let log = hands.phone.app.desk.sight(hands.record).unwrap().log();
    let Ok(Payload::Check(check)) = &log.folded().last().unwrap().payload else { panic!("no check") };
    assert_eq!((check.check.as_str(), check.feature.as_str(), check.passed), (CHECK, "cylinder/3", true));
    assert!(check.note.ends_with("top 45, second 225, rail-upper 135, rail-lower 315"), "{}", check.note);
    hands.phone.send(Event::Step);
    assert_eq!(hands.phone.address, Place::Step(hands.record, check_step(&hands)).address());
}

fn check_step(hands: &Hands) -> String {
    let log = hands.phone.app.desk.sight(hands.record).unwrap().log();
    match &log.folded().last().unwrap().payload {
        Ok(Payload::Check(check)) => check.step.clone(),
        other => panic!("{other:?}"),
    }
}

#[test]
fn what_is_wrong_is_said_and_nothing_is_entered() {
    let mut hands = dial();
    let before = hands.phone.app.desk.sight(hands.record).unwrap().log().folded().len();
    let wrong = [
        ([45, 45, 135, 315], "two gaps are in line: turn one"),
        ([45, 80, 200, 315], "two gaps that follow each other are too near"),
        ([5, 225, 135, 315], "a gap stands on a thrust face"),
        ([45, 225, 95, 315], "a gap stands over a pin end"),
    ];
    for (gaps, says) in wrong {
        put(&mut hands, &gaps);
        assert_eq!(view(&hands).says, says);
        hands.phone.send(Event::Keep);
        assert_eq!(view(&hands).problem.unwrap().cause, says);
    }
    assert_eq!(hands.phone.app.desk.sight(hands.record).unwrap().log().folded().len(), before);
}

#[test]
fn a_gap_is_dragged_by_a_finger_in_steps_and_only_while_it_is_held() {
    let mut hands = dial();
    hands.phone.send(Event::Drag(700, 700));
    assert!(view(&hands).gaps[1].at.is_none());
    hands.phone.send(Event::Take(1));
    for ((right, up), at) in
        [((0, 900), 0), ((700, 700), 45), ((900, 0), 90), ((0, -900), 180), ((-900, 10), 270)]
    {
        hands.phone.send(Event::Drag(right, up));
        assert_eq!(view(&hands).gaps[1].at, Some(at));
    }
    hands.phone.send(Event::Drag(10, 10));
    assert_eq!(view(&hands).gaps[1].at, Some(270), "in the middle a finger says no direction");
    hands.phone.send(Event::Let);
    hands.phone.send(Event::Drag(0, 900));
    assert_eq!(view(&hands).gaps[1].at, Some(270));
}

#[test]
fn the_marks_of_the_guide_are_a_setting_that_passes() {
    let mut hands = dial();
    (0..4).for_each(|ring| hands.phone.send(Event::ToMark(ring)));
    assert!(view(&hands).right, "{:?}", view(&hands));
    hands.phone.send(Event::Move(0, -5));
    assert_eq!(view(&hands).gaps[0].at, view(&hands).gaps[0].guide.map(|at| (at - 5).rem_euclid(360)));
}
