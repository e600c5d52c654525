#![allow(clippy::unwrap_used)]
//! What must hold on every screen: nothing is called kept before it is, and nothing is lost.

use gudgeon_client::home::Home;
use gudgeon_client::keys::Pin;
use gudgeon_client::store::{Memory, Mirror, Store as _, Trouble};

use super::kit::{PIN, Phone, Rehearsed, held, let_in, rows, screen};
use super::{Effect, Event, Place, Role, ScreenView, join, reading, records, who};

fn bore(record: gudgeon_core::entry::DocumentId) -> Place {
    Place::Reading(record, "bore/1".to_owned(), "diameter".to_owned())
}

fn types(phone: &mut Phone, value: &str) {
    value.chars().for_each(|key| phone.send(reading::Event::Key(key)));
    phone.send(reading::Event::Keep);
}

#[test]
fn an_empty_phone_asks_for_an_invite() {
    let phone = Phone::on(Memory::default(), Place::Start);
    assert_eq!(screen!(phone, Join), join::View::default());
    assert!(!rows(&phone.disk).is_empty(), "the home's own beginning is on the disk");
}

#[test]
fn joining_says_what_is_wrong_with_what_is_typed() {
    let mut phone = Phone::on(Memory::default(), Place::Start);
    phone.send(join::Event::Code("GUDGEON1ABC".to_owned()));
    phone.send(join::Event::Join);
    assert_eq!(screen!(phone, Join).problem.unwrap().code, "bad-code");
}

#[test]
fn a_phone_of_two_people_waits_until_both_are_let_in() {
    let (mut disk, _) = let_in();
    let phone = Phone::on(disk.clone(), Place::Records);
    assert_eq!(screen!(phone, Records).waits, None);
    let mirror = Mirror::of(rows(&disk));
    let mut home = Home::within(Box::new(mirror.clone()), Rehearsed).unwrap();
    home.new_key("phone of Cleo", &Pin::new(PIN).unwrap()).unwrap();
    mirror.take().iter().for_each(|batch| disk.write(batch).unwrap());
    let phone = Phone::on(disk, Place::Records);
    assert!(phone.app.desk.waits_to_be_let_in() && screen!(phone, Records).waits.is_some());
}

#[test]
fn a_reading_is_called_kept_when_it_is_on_the_disk_and_not_before() {
    let (mut phone, record) = held(bore);
    phone.holds_back = true;
    types(&mut phone, "82.51");
    let view = screen!(phone, Reading);
    assert!(view.keeping && view.kept.is_none());
    phone.let_through();
    let view = screen!(phone, Reading);
    let (text, place) = view.kept.unwrap();
    assert!(text.contains("82.51"), "{text}");
    assert_eq!(place, "on this phone");
    assert!(!view.keeping && view.typed.is_empty());
    assert!(phone.seen.iter().any(|effect| matches!(effect, Effect::Buzz(super::Buzz::Kept))));
    let again = phone.killed();
    assert_eq!(again.app.desk.sight(record).unwrap().here_only(), 3, "founding, definition, reading");
}

#[test]
fn killed_while_keeping_the_reading_is_there_whole_or_not_at_all() {
    let (mut phone, record) = held(bore);
    phone.holds_back = true;
    types(&mut phone, "82.51");
    assert!(screen!(phone, Reading).kept.is_none());
    let again = phone.killed();
    assert_eq!(again.app.desk.sight(record).unwrap().here_only(), 2);
}

#[test]
fn a_full_phone_says_so_and_goes_on_from_what_is_truly_there() {
    let (mut phone, record) = held(bore);
    types(&mut phone, "82.51");
    phone.fails = Some(Trouble::Full);
    types(&mut phone, "82.52");
    let message = phone.view().message.unwrap();
    assert_eq!(message.code, "not-stored");
    assert!(message.way_out.contains("free some room"), "{message:?}");
    phone.fails = None;
    phone.send(Event::Dismissed);
    types(&mut phone, "82.53");
    assert!(screen!(phone, Reading).kept.unwrap().0.contains("82.53"));
    let again = phone.killed();
    let log = again.app.desk.sight(record).unwrap().log();
    assert_eq!(log.folded().len(), 4, "founding, definition, the first and the third reading");
}

#[test]
fn what_failed_takes_everything_behind_it_along() {
    let (mut phone, record) = held(bore);
    phone.holds_back = true;
    types(&mut phone, "82.51");
    phone.send(records::Event::Look); // of another screen: dropped
    phone.fails = Some(Trouble::Device);
    phone.let_through();
    assert!(screen!(phone, Reading).kept.is_none());
    phone.fails = None;
    assert_eq!(phone.killed().app.desk.sight(record).unwrap().log().folded().len(), 2);
}

#[test]
fn a_second_tab_looks_on_and_takes_over() {
    let (disk, record) = let_in();
    let mut first = Phone::on(disk.clone(), Place::Records);
    let mut second = Phone::on(disk, bore(record));
    second.send(Event::Role(Role::Follower));
    assert!(second.view().head.following);
    second.app.desk.hold(gudgeon_core::entry::Author::from_secret(&[9; 32]));
    types(&mut second, "82.51");
    assert_eq!(screen!(second, Reading).problem.unwrap().code, "following");
    first.send(Event::Went(Place::Who(Box::new(bore(record)))));
    first.send(who::Event::Pin(PIN.to_owned()));
    first.send(who::Event::Open);
    types(&mut first, "82.52");
    second.disk = first.disk.clone();
    second.send(Event::Changed);
    assert_eq!(second.app.desk.sight(record).unwrap().log().folded().len(), 3, "it follows");
    second.send(Event::Role(Role::Writer));
    assert!(!second.view().head.following);
}

#[test]
fn a_wrong_pin_is_counted_on_the_disk() {
    let (disk, _) = let_in();
    let mut phone = Phone::on(disk, Place::Who(Box::new(Place::Records)));
    phone.send(who::Event::Pin("0000".to_owned()));
    phone.send(who::Event::Open);
    assert_eq!(screen!(phone, Who).problem.unwrap().code, "wrong-pin");
    assert_eq!(phone.killed().app.desk.keys()[0].wrong_tries, 1);
}

#[test]
fn a_browser_that_forgot_is_told_of() {
    let mut phone = Phone::on(Memory::default(), Place::Start);
    phone.send(Event::Rows { rows: Vec::new(), lost: true });
    assert_eq!(phone.view().message.unwrap().code, "lost");
}

#[test]
fn records_are_listed_and_looked_at() {
    let (phone, record) = held(|_| Place::Records);
    let view = screen!(phone, Records);
    assert_eq!(view.cards.len(), 1);
    assert_eq!((view.cards[0].record, view.cards[0].name.as_str()), (record, "Engine one"));
    let glance = view.cards[0].glance.clone().unwrap();
    assert_eq!(glance.signed.0, 0);
    assert!(glance.signed.1 > 50 && glance.next.is_some() && glance.needs.is_empty(), "{glance:?}");
    assert_eq!(view.cards[0].here_only, 2);
    assert_eq!(view.waits, None);
}

#[test]
fn a_step_that_is_not_ready_says_what_is_missing() {
    let (mut phone, _) = held(Place::Record);
    let seen = screen!(phone, Record).seen;
    let to_step = |line: &super::record::Line| matches!(line.action.1, Place::Step(..));
    let open = seen.next.iter().find(|line| to_step(line)).unwrap().action.1.clone();
    phone.send(Event::Went(open));
    let view = screen!(phone, Step);
    assert!(!view.sign.can && view.sign.why_not.is_some(), "{view:?}");
    assert!(matches!(phone.view().screen, ScreenView::Step(_)));
}

#[test]
fn moments_are_told_by_the_clocks_here_with_the_day_where_it_is_not_today() {
    // The last Sunday of October 2027 in the middle of Europe: at 01:00 UTC the clocks go back an hour.
    const BACK: i64 = 1_824_944_400_000;
    const HOUR: i64 = 3_600_000;
    let (phone, _) = held(Place::Record);
    super::kit::clocks(BACK + 21 * HOUR + HOUR / 2, |moment| if moment < BACK { 120 } else { 60 });
    let when = |moment| phone.app.desk.when(moment);
    assert_eq!(when(BACK + 20 * HOUR), "22:00");
    assert_eq!((when(BACK - HOUR / 2), when(BACK + HOUR / 2)), ("02:30".to_owned(), "02:30".to_owned()));
    // Summer time: midnight here is 22:00 UTC of the day before.
    assert_eq!(
        (when(BACK - 3 * HOUR), when(BACK - 3 * HOUR - 1)),
        ("00:00".to_owned(), "2027-10-30 23:59".to_owned())
    );
    assert_eq!(when(BACK - 30 * HOUR), "2027-10-29 21:00".to_owned());
}
