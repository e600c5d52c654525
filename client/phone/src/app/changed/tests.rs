#![allow(clippy::unwrap_used)]
//! What changed: what came is told once, and each finding leads to what settles it.

use gudgeon_core::assess::Rule;
use gudgeon_core::document::{ChangeHash, Refused};
use gudgeon_core::engine::{FeatureKind, characteristic};
use gudgeon_core::entry::payload::{Meaning, Note, Operation, Reading, SignOff, Void};
use gudgeon_core::quantity::{Kind as Sort, Quantity};

use super::super::kit::{Phone, ann, carried, held, held_on, let_in, screen};
use super::super::{Event as AppEvent, people};
use super::*;

fn reading(value: &str) -> Payload {
    let row = characteristic::find(FeatureKind::Bore, "diameter").unwrap();
    Payload::Reading(Box::new(Reading {
        feature: "bore/1".to_owned(),
        part: String::new(),
        characteristic: "diameter".to_owned(),
        station: "top/thrust".to_owned(),
        conditions: row.conditions.iter().map(|needed| needed.one_of[0].to_owned()).collect(),
        value: Quantity::parse_as(value, Sort::Length).unwrap().of_kind(Sort::Length).unwrap(),
        set_size: None,
        gauge: String::new(),
        master: String::new(),
        part_temperature: None,
        gauge_temperature: None,
        read_by: None,
        called_out: false,
        blind: false,
        reading_set: String::new(),
        note: String::new(),
    }))
}

fn hone() -> Payload {
    Payload::Operation(Operation {
        operation: "hone".to_owned(),
        features: vec!["bore/1".to_owned()],
        parts: Vec::new(),
        note: String::new(),
        done_by: None,
        outside_shop: String::new(),
    })
}

fn note() -> Payload {
    Payload::Note(Note { feature: "bore/1".to_owned(), text: "light scratch below the ridge".to_owned() })
}

/// Whoever holds the phone states something.
fn states(phone: &mut Phone, record: DocumentId, says: &Payload) {
    phone.app.desk.state(record, std::slice::from_ref(says), |kept| {
        kept.unwrap();
        AppEvent::Dismissed
    });
    phone.send(AppEvent::Dismissed);
}

/// The phone takes in what somebody carried here, and looks what changed.
fn takes_in(phone: &mut Phone, record: DocumentId, file: Vec<u8>) {
    phone.send(AppEvent::Went(Place::People));
    phone.send(people::Event::CarryIn("file".to_owned(), file));
    assert_eq!(screen!(phone, People).problem, None);
    phone.send(AppEvent::Went(Place::Changed(record)));
}

fn at(view: &View, rule: Rule) -> usize {
    view.open.iter().position(|card| card.name.rule == rule).unwrap_or_else(|| panic!("{view:?}"))
}

#[test]
fn what_came_is_told_by_whom_until_it_was_seen_and_that_is_kept() {
    let (mut disk, record) = let_in();
    let (mut hers, ann) = ann(&mut disk);
    let mut phone = held_on(disk, &Place::Changed(record));
    assert!(screen!(phone, Changed).summary.starts_with("You have not looked"));
    phone.send(Event::Seen);
    let view = screen!(phone, Changed);
    assert!(
        view.summary.starts_with("Nothing came") && !view.unseen && view.kept == Some("seen"),
        "{view:?}"
    );
    hers.state(record, &ann, &[note(), note()]).unwrap();
    states(&mut phone, record, &note());
    takes_in(&mut phone, record, carried(&hers));
    let view = screen!(phone, Changed);
    assert!(view.summary.starts_with("Since you looked last, Ann added 2 entries."), "{}", view.summary);
    assert!(view.came.iter().all(|line| line.who == "Ann" && line.text.contains("scratch")), "{view:?}");
    phone.send(Event::Seen);
    let again = held_on(phone.disk, &Place::Changed(record));
    let view = screen!(again, Changed);
    assert!(view.summary.starts_with("Nothing came") && view.came.is_empty() && !view.unseen, "{view:?}");
}

#[test]
fn seen_is_said_when_it_is_on_the_disk_and_not_before() {
    let (mut phone, _) = held(Place::Changed);
    phone.holds_back = true;
    phone.send(Event::Seen);
    let view = screen!(phone, Changed);
    assert!(view.busy && view.kept.is_none());
    phone.let_through();
    assert_eq!(screen!(phone, Changed).kept, Some("seen"));
}

/// Ben reads a bore while Ann, who knows nothing of it, hones it.
fn honed_apart() -> (Phone, DocumentId) {
    let (mut disk, record) = let_in();
    let (mut hers, ann) = ann(&mut disk);
    hers.state(record, &ann, &[hone()]).unwrap();
    let mut phone = held_on(disk, &Place::Changed(record));
    phone.send(Event::Seen);
    states(&mut phone, record, &reading("80.01mm"));
    takes_in(&mut phone, record, carried(&hers));
    (phone, record)
}

#[test]
fn before_or_after_is_settled_by_one_of_two_buttons() {
    for first in [true, false] {
        let (mut phone, record) = honed_apart();
        let view = screen!(phone, Changed);
        let at = at(&view, Rule::BeforeOrAfter);
        let card = &view.open[at];
        assert!(card.new && card.time.iter().any(|line| line.who == "Ann"), "{card:?}");
        let Way::Order(one, other) = &card.way else { panic!("{card:?}") };
        assert_eq!((one.as_str(), other.as_str()), ("the reading", "hone"));
        phone.send(Event::First(at, first));
        let view = screen!(phone, Changed);
        assert_eq!(view.kept, Some("kept"));
        assert!(view.open.iter().all(|card| card.name.rule != Rule::BeforeOrAfter), "{view:?}");
        let sight = phone.app.desk.sight(record).unwrap();
        let read =
            (0..).zip(sight.log().folded()).find(|(_, said)| said.kind() == Some(Kind::Reading)).unwrap().0;
        // Read before it was honed, it says nothing of the bore any more.
        assert_eq!(sight.assessment.status(read).word() == "ended", first);
    }
}

#[test]
fn nobody_who_has_not_said_who_they_are_settles_anything() {
    let (mut phone, record) = honed_apart();
    let at = at(&screen!(phone, Changed), Rule::BeforeOrAfter);
    phone.app.desk.let_go();
    phone.send(Event::First(at, true));
    assert_eq!(phone.address, Place::Who(Box::new(Place::Changed(record))).address());
}

#[test]
fn every_finding_is_there_and_leads_somewhere() {
    let (mut phone, record) = honed_apart();
    states(&mut phone, record, &reading("80.02mm"));
    let view = screen!(phone, Changed);
    let sight = phone.app.desk.sight(record).unwrap();
    assert_eq!(view.open.len() + view.rest.len(), sight.assessment.findings().len());
    let card = view.open.iter().find(|card| card.name.rule == Rule::GaugeUnknown);
    let Way::Go(place, _) = &card.unwrap().way else { panic!("{card:?}") };
    assert_eq!(*place, Place::Reading(record, "bore/1".to_owned(), "diameter".to_owned()));
    phone.send(Event::Go(place.clone()));
    assert_eq!(phone.address, place.address());
}

#[test]
fn a_lead_concedes_with_a_reason_and_not_without() {
    let (mut phone, record) = held(Place::Changed);
    states(&mut phone, record, &reading("80.01mm"));
    let view = screen!(phone, Changed);
    assert!(view.may_concede);
    let at = at(&view, Rule::GaugeUnknown);
    phone.send(Event::Concede(at));
    assert_eq!(screen!(phone, Changed).conceding, Some(at));
    phone.send(Event::KeepWords);
    assert_eq!(screen!(phone, Changed).problem.unwrap().code, "no-reason");
    phone.send(Event::Words("read once only to see how far it is worn".to_owned()));
    phone.send(Event::KeepWords);
    let view = screen!(phone, Changed);
    assert!(view.rest.iter().any(|card| card.name.rule == Rule::GaugeUnknown && card.conceded), "{view:?}");
    assert!(view.conceding.is_none() && view.words.is_empty() && view.kept == Some("kept"));
}

#[test]
fn a_record_that_is_not_here_is_said() {
    let (phone, _) = held(|_| Place::Changed(DocumentId::new([9; 32])));
    assert!(screen!(phone, Changed).nothing.is_some());
}

#[test]
fn what_was_refused_is_told_with_its_way_out_until_it_was_looked_at() {
    let (mut phone, record) = held(Place::Changed);
    let refused = Refused {
        change: ChangeHash::from_slice(&[3; 32]).unwrap(),
        entry: Some(EntryId::new([4; 32])),
        rule: "signature-stands",
        hint: "enter it again".to_owned(),
    };
    phone.app.desk.act(
        move |home| home.keep_refusals(record, &[refused], &[]),
        |kept| {
            kept.unwrap();
            AppEvent::Dismissed
        },
    );
    phone.send(AppEvent::Dismissed);
    let view = screen!(phone, Changed);
    assert_eq!(view.refused.len(), 1);
    assert!(view.refused[0].0.ends_with("signature stands") && view.refused[0].1 == "enter it again");
    phone.send(Event::Forget);
    let view = screen!(phone, Changed);
    assert!(view.refused.is_empty() && view.kept == Some("forgotten"), "{view:?}");
}

#[test]
fn a_signature_that_no_longer_stands_shows_what_took_its_ground_away_and_leads_to_its_step() {
    let (mut phone, record) = held(Place::Changed);
    states(&mut phone, record, &reading("80.01mm"));
    let sight = phone.app.desk.sight(record).unwrap();
    let step = sight.assessment.steps()[0].id.to_string();
    let read = sight.log().heads().next().unwrap();
    let sign_off = SignOff {
        step: step.clone(),
        meaning: Meaning::Done,
        evidence: vec![read],
        verdicts: Vec::new(),
        calculation: gudgeon_core::assess::CALCULATION,
        printed_name: "Ben".to_owned(),
    };
    states(&mut phone, record, &Payload::SignOff(sign_off));
    let void = Void { entry: read, reason: "read on the wrong bore".to_owned() };
    states(&mut phone, record, &Payload::Void(void));
    let view = screen!(phone, Changed);
    let card = &view.open[at(&view, Rule::StaleSignOff)];
    assert_eq!(
        (card.state, &card.way),
        ("stale", &Way::Go(Place::Step(record, step), "See the cause, sign again"))
    );
    let told: Vec<&str> = card.time.iter().map(|line| line.text.as_str()).collect();
    let place = |words: &str| told.iter().position(|text| text.contains(words));
    assert!(place("signed").unwrap() < place("wrong bore").unwrap(), "{told:?}");
}

#[test]
fn what_was_entered_amiss_is_voided_on_its_card_with_a_reason_and_only_by_who_entered_it() {
    let (mut phone, record) = held(Place::Changed);
    let Payload::Reading(read) = reading("80.01mm") else { panic!() };
    states(
        &mut phone,
        record,
        &Payload::Reading(Box::new(Reading { feature: "bore/99".to_owned(), ..*read })),
    );
    let view = screen!(phone, Changed);
    let card = at(&view, Rule::UnknownFeature);
    assert!(matches!(view.open[card].way, Way::Void(_)), "{:?}", view.open[card]);
    phone.send(Event::Void(card));
    let view = screen!(phone, Changed);
    assert!(view.conceding == Some(card) && view.voids);
    phone.send(Event::KeepWords);
    assert_eq!(screen!(phone, Changed).problem.unwrap().code, "no-reason");
    phone.send(Event::Words("there is no such bore".to_owned()));
    phone.send(Event::KeepWords);
    let view = screen!(phone, Changed);
    assert!(view.kept == Some("kept") && view.open.iter().all(|card| card.name.rule != Rule::UnknownFeature));
}
