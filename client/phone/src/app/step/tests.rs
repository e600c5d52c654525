#![allow(clippy::unwrap_used)]

use gudgeon_core::entry::DocumentId;

use super::answer::{Event as Answer, Gives};
use super::sign::Event as Sign;
use super::*;
use crate::app::hands::{Hands, hands};
use crate::app::kit::{PIN, screen};
use crate::app::{Event as Any, stop::Event as Stop};

fn step(name: &'static str) -> impl FnOnce(DocumentId) -> Place {
    move |record| Place::Step(record, name.to_owned())
}

fn answers(hands: &mut Hands, piece: usize, gives: Gives) {
    hands.phone.send(Event::Piece(piece));
    hands.phone.send(Event::Answer(Answer::Give(gives)));
}

fn signs(hands: &mut Hands, pin: &str) {
    hands.phone.send(Event::Sign(Sign::Pin(pin.to_owned())));
    hands.phone.send(Event::Sign(Sign::Press));
}

#[test]
fn a_step_says_what_it_needs_and_a_check_is_answered_on_it() {
    let mut hands = hands(step("seen"));
    let view = screen!(hands.phone, Step);
    assert_eq!((view.title.as_str(), view.stage.as_str()), ("Seen by two", "1 Receive"));
    assert_eq!(view.pieces[0].stands, Stands::Missing);
    assert!(view.cautions.iter().any(|text| text.contains("Know the weight")), "{:?}", view.cautions);
    assert!(!view.sign.can && view.sign.why_not.unwrap().contains("photographed"));
    hands.phone.send(Event::Piece(0));
    let (_, answer) = screen!(hands.phone, Step).answer.unwrap();
    assert!(answer.says.contains("photographed as it came"), "{answer:?}");
    answers(&mut hands, 0, Gives::Yes);
    let view = screen!(hands.phone, Step);
    assert_eq!((view.pieces[0].stands, view.answer), (Stands::There, None));
    assert_eq!(view.kept, Some(("yes, kept", "on this phone")));
    assert!(view.sign.can && view.progress == "ready to sign");
    assert!(view.cautions.is_empty(), "said once, before anything was done for it: {:?}", view.cautions);
}

#[test]
fn a_no_is_kept_with_what_was_found_and_never_without() {
    let mut hands = hands(step("seen"));
    answers(&mut hands, 0, Gives::No);
    let view = screen!(hands.phone, Step);
    assert_eq!(view.problem.unwrap().code, "lacking");
    assert!(view.answer.is_some(), "what is typed stays");
    hands.phone.send(Event::Answer(Answer::Note("one side is missing".to_owned())));
    hands.phone.send(Event::Answer(Answer::Give(Gives::No)));
    let view = screen!(hands.phone, Step);
    assert_ne!(view.pieces[0].stands, Stands::There);
    assert!(view.problem.is_none() && view.kept.is_some());
}

#[test]
fn an_answer_is_called_kept_when_it_is_on_the_disk_and_not_before() {
    let mut hands = hands(step("seen"));
    hands.phone.holds_back = true;
    answers(&mut hands, 0, Gives::Yes);
    let view = screen!(hands.phone, Step);
    assert!(view.keeping && view.kept.is_none());
    hands.phone.let_through();
    assert!(screen!(hands.phone, Step).kept.is_some());
}

#[test]
fn two_people_sign_on_the_same_phone_each_with_their_own_key() {
    let mut hands = hands(step("seen"));
    answers(&mut hands, 0, Gives::Yes);
    signs(&mut hands, PIN);
    let view = screen!(hands.phone, Step);
    assert_eq!(view.sign.signed, Some("on this phone"), "{:?}", view.sign);
    assert!(view.sign.second && view.progress == "wants a second person");
    assert_eq!(view.sign.signer.as_deref(), Some("Ada"), "the other one is offered");
    hands.phone.send(Event::Sign(Sign::Signer(hands.ben)));
    let why = screen!(hands.phone, Step).sign.why_not.unwrap();
    assert!(why.contains("Ben signed it already"), "{why}");
    signs(&mut hands, PIN);
    assert_eq!(screen!(hands.phone, Step).sign.problem.unwrap().code, "not-ready");
    hands.phone.send(Event::Sign(Sign::Signer(hands.ada)));
    signs(&mut hands, PIN);
    let view = screen!(hands.phone, Step);
    assert_eq!(view.progress, "signed");
    let said: Vec<_> =
        view.signatures.iter().map(|line| (line.who.as_str(), line.what, line.stands)).collect();
    assert_eq!(said, [("Ben", "did it", true), ("Ada", "second person", true)]);
    assert_eq!(hands.phone.app.desk.holder(), Some(hands.ben), "who holds the phone still does");
}

#[test]
fn a_wrong_pin_signs_nothing_and_the_wait_is_told() {
    let mut hands = hands(step("seen"));
    answers(&mut hands, 0, Gives::Yes);
    for _ in 0..3 {
        signs(&mut hands, "9999");
    }
    let view = screen!(hands.phone, Step);
    let problem = view.sign.problem.unwrap();
    assert_eq!(problem.code, "wrong-pin");
    assert!(problem.way_out.contains("5 s"), "{problem:?}");
    assert!(view.signatures.is_empty() && view.sign.pin.is_empty());
}

#[test]
fn a_button_that_is_let_go_early_signs_nothing_and_a_tap_asks() {
    let mut hands = hands(step("seen"));
    answers(&mut hands, 0, Gives::Yes);
    hands.phone.send(Event::Sign(Sign::Pin(PIN.to_owned())));
    let app = &mut hands.phone.app;
    let effects = app.handle(Event::Sign(Sign::Press).into());
    let held = effects.into_iter().find_map(|effect| {
        if let crate::app::Effect::Later(sign::HOLD, event) = effect { Some(event) } else { None }
    });
    app.handle(Event::Sign(Sign::Release).into());
    app.handle(held.unwrap());
    assert!(!screen!(hands.phone, Step).sign.busy, "the press had ended");
    hands.phone.send(Event::Sign(Sign::Tap));
    assert!(screen!(hands.phone, Step).sign.asks);
    hands.phone.send(Event::Sign(Sign::Confirm));
    assert_eq!(screen!(hands.phone, Step).signatures.len(), 1);
    // The tap that ends a held press asks nothing; that of the second person, on the same screen, does.
    hands.phone.send(Event::Sign(Sign::Tap));
    assert!(!screen!(hands.phone, Step).sign.asks);
    for event in [Sign::Press, Sign::Release, Sign::Tap] {
        hands.phone.send(Event::Sign(event));
    }
    assert!(screen!(hands.phone, Step).sign.asks);
}

#[test]
fn what_takes_the_ground_from_a_signature_is_said_with_it() {
    let mut hands = hands(step("seen"));
    answers(&mut hands, 0, Gives::Yes);
    signs(&mut hands, PIN);
    hands.phone.send(Event::Piece(0));
    hands.phone.send(Event::Answer(Answer::Note("the second side is blurred".to_owned())));
    hands.phone.send(Event::Answer(Answer::Give(Gives::No)));
    let view = screen!(hands.phone, Step);
    assert!(!view.signatures[0].stands && !view.signatures[0].why.is_empty(), "{:?}", view.signatures);
}

#[test]
fn a_member_does_not_sign_what_a_lead_signs() {
    let mut hands = hands(step("agreed"));
    answers(&mut hands, 0, Gives::Decided);
    assert_eq!(screen!(hands.phone, Step).problem.unwrap().code, "lacking");
    hands.phone.send(Event::Answer(Answer::Note("bores +0.50".to_owned())));
    hands.phone.send(Event::Answer(Answer::Give(Gives::Decided)));
    hands.phone.send(Event::Piece(1));
    hands.phone.send(Event::Answer(Answer::Who("the customer".to_owned())));
    hands.phone.send(Event::Answer(Answer::Note("by telephone".to_owned())));
    hands.phone.send(Event::Answer(Answer::Give(Gives::Approved)));
    assert!(screen!(hands.phone, Step).sign.can, "{:?}", screen!(hands.phone, Step));
    hands.phone.send(Event::Sign(Sign::Signer(hands.ada)));
    assert!(screen!(hands.phone, Step).sign.why_not.unwrap().contains("a lead signs this one"));
}

#[test]
fn each_piece_leads_to_the_screen_that_supplies_it() {
    let mut hands = hands(step("mixed/2"));
    let home = Place::Step(hands.record, "mixed/2".to_owned());
    let leads = [
        (0, Place::Rings(hands.record, 2)),
        (1, Place::Reading(hands.record, "rod/2/bolts".to_owned(), "free-length".to_owned())),
        (2, Place::Tighten(hands.record, "rod-bolts".to_owned(), "rod/2/bolts".to_owned())),
    ];
    for (piece, place) in leads {
        hands.phone.send(Event::Piece(piece));
        assert_eq!(hands.phone.address, place.address());
        hands.phone.send(Any::Went(home.clone()));
    }
    for piece in 3..6 {
        hands.phone.send(Event::Piece(piece));
        assert_eq!(screen!(hands.phone, Step).answer.unwrap().0, piece);
    }
}

#[test]
fn a_part_is_received_with_its_fitting_and_chosen_again_by_its_mark() {
    let mut hands = hands(step("mixed/2"));
    answers(&mut hands, 3, Gives::Fitted);
    assert_eq!(screen!(hands.phone, Step).problem.unwrap().code, "lacking");
    hands.phone.send(Event::Answer(Answer::Mark("B".to_owned())));
    hands.phone.send(Event::Answer(Answer::Give(Gives::Fitted)));
    assert_eq!(screen!(hands.phone, Step).pieces[3].stands, Stands::There);
    hands.phone.send(Any::Went(Place::Step(hands.record, "mixed/3".to_owned())));
    hands.phone.send(Event::Piece(3));
    let (_, answer) = screen!(hands.phone, Step).answer.unwrap();
    assert_eq!(answer.choices, [("B".to_owned(), "at bore/2".to_owned(), false)]);
}

#[test]
fn work_is_logged_where_the_step_asks_for_it() {
    let mut hands = hands(step("mixed/2"));
    answers(&mut hands, 4, Gives::Done);
    let view = screen!(hands.phone, Step);
    assert_eq!((view.pieces[4].stands, view.kept), (Stands::There, Some(("work logged", "on this phone"))));
}

#[test]
fn what_resists_stops_the_step_with_words_and_a_tag_and_is_resumed_with_what_it_was() {
    let mut hands = hands(step("seen"));
    answers(&mut hands, 0, Gives::Yes);
    hands.phone.send(Event::Stop(Stop::Resists));
    hands.phone.send(Event::Stop(Stop::Keep));
    assert_eq!(screen!(hands.phone, Step).problem.unwrap().code, "no-words");
    hands.phone.send(Event::Stop(Stop::Words("third ring hangs on the deck".to_owned())));
    hands.phone.send(Event::Stop(Stop::Keep));
    let view = screen!(hands.phone, Step);
    assert_eq!((view.slip, view.kept), (None, Some(("stopped, and tagged", "on this phone"))));
    assert!(view.stops[0].here && view.stops[0].found == "third ring hangs on the deck", "{:?}", view.stops);
    assert!(view.stops[0].tag.contains("do not force") && view.stops[0].by.starts_with("Ben, "));
    assert!(!view.sign.can && view.sign.why_not.unwrap().contains("stopped"));
    let stop = view.stops[0].stop;
    hands.phone.send(Any::Went(Place::Step(hands.record, "agreed".to_owned())));
    assert!(!screen!(hands.phone, Step).stops[0].here, "the tag is seen on every step");
    hands.phone.send(Any::Went(Place::Step(hands.record, "seen".to_owned())));
    hands.phone.send(Event::Stop(Stop::Resume(stop)));
    hands.phone.send(Event::Stop(Stop::Keep));
    assert_eq!(screen!(hands.phone, Step).problem.unwrap().code, "no-words");
    hands.phone.send(Event::Stop(Stop::Words("compressor was too large".to_owned())));
    hands.phone.send(Event::Stop(Stop::Keep));
    let view = screen!(hands.phone, Step);
    assert!(view.stops.is_empty() && view.sign.can, "{view:?}");
}

#[test]
fn stopping_for_the_day_says_how_far_it_is() {
    let mut hands = hands(step("mixed/2"));
    answers(&mut hands, 4, Gives::Done);
    hands.phone.send(Event::Stop(Stop::ForToday));
    let slip = screen!(hands.phone, Step).slip.unwrap();
    assert_eq!(slip.tag.as_deref(), Some("left for today: mixed/2, 1 of 6 there"));
    hands.phone.send(Event::Stop(Stop::Keep));
    assert_eq!(screen!(hands.phone, Step).stops.len(), 1);
}

#[test]
fn nobody_enters_anything_before_saying_who_they_are() {
    let mut hands = hands(step("seen"));
    hands.phone.app.desk.let_go();
    answers(&mut hands, 0, Gives::Yes);
    let here = Place::Who(Box::new(Place::Step(hands.record, "seen".to_owned())));
    assert_eq!(hands.phone.address, here.address());
}
