#![allow(clippy::unwrap_used)]

use gudgeon_core::entry::DocumentId;

use super::plan::LineState;
use super::*;
use crate::app::hands::{Hands, hands, hands_on};
use crate::app::kit::screen;
use crate::app::stop::Event as Stop;

fn rod(record: DocumentId) -> Place {
    Place::Tighten(record, "rod-bolts".to_owned(), "rod/3/bolts".to_owned())
}

fn main_cap(record: DocumentId) -> Place {
    Place::Tighten(record, "main-bolts".to_owned(), "main/3".to_owned())
}

fn view(hands: &Hands) -> View {
    screen!(hands.phone, Tightening)
}

fn oil(hands: &mut Hands) {
    let wanted = view(hands).lubricant.0;
    hands.phone.send(Event::Lubricant(wanted));
}

fn last(hands: &Hands) -> Tightening {
    let log = hands.phone.app.desk.sight(hands.record).unwrap().log();
    match &log.folded().last().unwrap().payload {
        Ok(Payload::Tightening(done)) => done.clone(),
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_rod_goes_stage_by_stage_one_tap_each_and_turns_after_each() {
    let mut hands = hands(rod);
    assert_eq!(view(&hands).next.act, NextAct::Nip);
    assert_eq!(view(&hands).next.button, "Nipped, both");
    oil(&mut hands);
    hands.phone.send(Event::Done);
    let seen = view(&hands);
    assert_eq!(
        (seen.next.figure.as_str(), seen.next.unit, seen.next.beneath.as_str()),
        ("28", "N·m", "20.7 lbf·ft")
    );
    hands.phone.send(Event::Wrench("W1".to_owned()));
    hands.phone.send(Event::Done);
    assert_eq!(view(&hands).kept, Some(("stage kept", "on this phone")));
    assert_eq!(view(&hands).next.act, NextAct::Turn, "{:?}", view(&hands));
    hands.phone.send(Event::Done);
    assert_eq!(view(&hands).next.act, NextAct::Turn, "only the turn check settles it");
    hands.phone.send(Event::Turns(true));
    assert_eq!(view(&hands).next.figure, "42");
    assert_eq!(view(&hands).wrench, "W1", "it stays in the hand");
    hands.phone.send(Event::Done);
    hands.phone.send(Event::Turns(true));
    let seen = view(&hands);
    assert_eq!(seen.next.act, NextAct::Nothing);
    assert!(seen.wrong.is_empty(), "{:?}", seen.wrong);
    assert!(seen.lines.iter().all(|line| line.state == LineState::Done), "{:?}", seen.lines);
    assert!(seen.lines[1].by.starts_with("Ben, ") && seen.lines[1].by.ends_with("wrench W1"));
    assert!(seen.bolts.iter().all(|bolt| bolt.state == BoltState::Tight));
    hands.phone.send(Event::Done);
    assert_eq!(hands.phone.address, Place::Step(hands.record, "mixed/3".to_owned()).address());
}

#[test]
fn nothing_is_pulled_before_the_lubricant_is_said() {
    let mut hands = hands(rod);
    assert_eq!(view(&hands).lubricant, ("moly paste".to_owned(), None));
    hands.phone.send(Event::Done);
    let problem = view(&hands).problem.unwrap();
    assert!(problem.code == "lubricant" && problem.way_out.contains("moly paste"), "{problem:?}");
    hands.phone.send(Event::Lubricant("engine oil".to_owned()));
    hands.phone.send(Event::Done);
    assert_eq!(last(&hands).lubricant, "engine oil");
    assert!(view(&hands).wrong[0].0.contains("asks for moly paste"), "{:?}", view(&hands).wrong);
}

#[test]
fn the_figure_stands_in_the_unit_of_the_wrench_and_the_makers_beneath() {
    let mut hands = hands(main_cap);
    oil(&mut hands);
    hands.phone.send(Event::Wrench("W2".to_owned()));
    let next = view(&hands).next;
    // 30 N·m over 1.355 818 N·m for each lbf·ft is 22.127.
    assert_eq!(
        (next.figure.as_str(), next.unit, next.beneath.as_str()),
        ("22.1", "lbf·ft", "the maker's figure: 30 N·m")
    );
    hands.phone.send(Event::Done);
    assert_eq!(last(&hands).set_point.unwrap().to_string(), "22.1 lbf·ft");
    assert!(view(&hands).wrong.is_empty(), "{:?}", view(&hands).wrong);
}

// 1 890 000 000 s are 21 875 days; 2030 begins 40 days later (60 years of 365 and 15 leap days).
#[test]
fn a_wrench_that_cannot_be_set_to_it_says_why() {
    let hands = hands(main_cap);
    let lines = view(&hands).wrenches;
    let of = |mark: &str| lines.iter().find(|line| line.mark == mark).unwrap();
    assert!(of("W1").fits && of("W1").range == "20 N·m to 100 N·m");
    assert!(of("W1").remarks[0].starts_with("calibrated until 2029-11-22"), "{:?}", of("W1").remarks);
    assert!(!of("W3").fits && of("W3").remarks[0].contains("below its range"), "{:?}", of("W3").remarks);
    assert_eq!(lines.last().unwrap().mark, "W3", "those that fit come first");
}

#[test]
fn a_wrench_set_otherwise_is_kept_as_it_was_set() {
    let mut hands = hands(main_cap);
    oil(&mut hands);
    hands.phone.send(Event::Wrench("W1".to_owned()));
    hands.phone.send(Event::Set("35".to_owned()));
    hands.phone.send(Event::Done);
    assert_eq!(last(&hands).set_point.unwrap().to_string(), "35 N·m");
    assert!(view(&hands).wrong[0].0.contains("the maker's figure is 30 N·m"), "{:?}", view(&hands).wrong);
    assert_eq!(view(&hands).next.act, NextAct::Slacken);
}

#[test]
fn a_bolt_that_went_otherwise_is_said_by_its_number_and_with_words() {
    let mut hands = hands(main_cap);
    oil(&mut hands);
    hands.phone.send(Event::Wrench("W1".to_owned()));
    hands.phone.send(Event::Bolt(2));
    assert_eq!(view(&hands).next.button, "Tightened, 1 of 2");
    hands.phone.send(Event::Done);
    assert_eq!(view(&hands).problem.unwrap().code, "exception");
    hands.phone.send(Event::BoltWords(2, "went soft".to_owned()));
    hands.phone.send(Event::Done);
    assert_eq!(last(&hands).exceptions, [(2, "went soft".to_owned())]);
    let bolts = view(&hands).bolts;
    assert_eq!((bolts[0].state, bolts[1].state), (BoltState::PartWay, BoltState::Apart));
    assert!(view(&hands).apart.is_empty(), "said, and out of the hand");
}

#[test]
fn what_does_not_turn_is_said_with_where_it_binds_and_sends_back_to_the_start() {
    let mut hands = hands(main_cap);
    oil(&mut hands);
    hands.phone.send(Event::Wrench("W1".to_owned()));
    hands.phone.send(Event::Done);
    hands.phone.send(Event::Turns(false));
    assert!(view(&hands).bound && view(&hands).problem.unwrap().code == "bound");
    hands.phone.send(Event::Note("tight once a turn".to_owned()));
    hands.phone.send(Event::Turns(false));
    let seen = view(&hands);
    assert_eq!(
        (seen.next.act, seen.kept),
        (NextAct::Slacken, Some(("does not turn freely, kept", "on this phone")))
    );
    assert!(seen.lines.iter().all(|line| line.state == LineState::Undone));
    hands.phone.send(Event::Done);
    assert_eq!(last(&hands).act, TighteningAct::Slackened);
    assert_eq!(view(&hands).next.act, NextAct::Stage(1));
}

#[test]
fn a_stop_for_the_night_is_tagged_and_a_part_tightened_group_begins_again() {
    let mut hands = hands(rod);
    oil(&mut hands);
    hands.phone.send(Event::Done);
    hands.phone.send(Event::Wrench("W1".to_owned()));
    hands.phone.send(Event::Done);
    hands.phone.send(Event::Turns(true));
    hands.phone.send(Event::Stop(Stop::ForToday));
    let tag = view(&hands).slip.unwrap().tag.unwrap();
    assert!(tag.contains("rod-bolts at rod/3/bolts: 1 of 2 stages"), "{tag}");
    hands.phone.send(Event::Stop(Stop::Keep));
    let seen = view(&hands);
    assert!(seen.stops[0].here && seen.stops[0].tag == tag);
    assert_eq!(seen.next.act, NextAct::Slacken);
}

#[test]
fn lengths_the_other_places_and_the_cautions_are_at_hand() {
    let mut hands = hands(rod);
    let seen = view(&hands);
    assert!(seen.cautions.iter().any(|text| text.starts_with("Pull, do not push")), "{:?}", seen.cautions);
    assert_eq!(seen.others.len(), 3);
    assert_eq!(seen.others[0], ("rod/1/bolts".to_owned(), "0 of 2".to_owned()));
    assert!(seen.facts.iter().any(|fact| fact.contains("proven by stretch")), "{:?}", seen.facts);
    hands.phone.send(Event::Length("free-length"));
    let read = Place::Reading(hands.record, "rod/3/bolts".to_owned(), "free-length".to_owned());
    assert_eq!(hands.phone.address, read.address());
}

/// A group that is turned by angle; figures invented.
const BY_ANGLE: &str = r#"
[[fastener]]
group = "head-bolts"
where = "head"
bolts = 10
thread = "M11x1.5"
class = "10.9"
lubricant = "engine oil"
faces = "thread and under the head"
order = "from the middle outwards"
method = "angle"
stages = ["40 N·m", "90 deg"]
reuse = "never"
source = "invented for a test"
"#;

#[test]
fn an_angle_is_shown_as_an_angle_and_never_as_a_torque() {
    let mut hands = hands_on(BY_ANGLE, |record| {
        Place::Tighten(record, "head-bolts".to_owned(), "head/inline".to_owned())
    });
    assert_eq!(view(&hands).bolts.len(), 10, "{:?}", view(&hands));
    oil(&mut hands);
    hands.phone.send(Event::Wrench("W1".to_owned()));
    hands.phone.send(Event::Done);
    let next = view(&hands).next;
    assert_eq!(next.act, NextAct::Stage(2), "heads are not turned in between");
    assert_eq!((next.figure.as_str(), next.beneath.as_str()), ("90", ""));
    assert_eq!(view(&hands).wrench, "", "no torque wrench is set to an angle");
    assert!(next.words.contains("by angle") && next.button == "Turned, all 10", "{next:?}");
    assert!(view(&hands).facts.iter().any(|fact| fact.contains("the angle counts")));
}
