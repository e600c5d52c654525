#![allow(clippy::unwrap_used)]
//! Who works here, inviting and letting in, what the browser promises, carrying by hand.

use gudgeon_client::home::Home;
use gudgeon_client::store::{Memory, Mirror};
use gudgeon_client::sync::Code;
use gudgeon_core::engine::EXAMPLE;
use gudgeon_core::entry::payload::{Device, Note, Role};
use gudgeon_core::entry::{Author, Payload};
use gudgeon_core::roster::{Roster, join_request};

use super::super::kit::{
    PIN, Phone, Rehearsed, ann, carried, held, held_on, let_in, reads_diameter, screen, works,
};
use super::super::{About, Event as AppEvent, Storage, who};
use super::*;

fn here() -> Phone {
    let (mut phone, _) = held(|_| Place::People);
    let origin = Some("https://relay.workshop.lan:7474".to_owned());
    phone.send(AppEvent::About(About { origin, build: Some("0a1b2c3d4e5f".to_owned()) }));
    phone
}

fn invites(phone: &mut Phone, name: &str) -> Invited {
    phone.send(Event::Name(name.to_owned()));
    phone.send(Event::Invite);
    screen!(phone, People).invited.unwrap()
}

#[test]
fn who_works_here_and_whose_keys_are_on_this_phone() {
    let view = screen!(here(), People);
    assert_eq!(view.keys.len(), 1);
    assert!(
        view.keys[0].holds && view.keys[0].name == "Ben" && view.keys[0].state == "works, leads",
        "{view:?}"
    );
    let ben = view.people.iter().find(|person| person.name == "Ben").unwrap();
    assert_eq!(ben.roles, "works, leads");
    assert!(ben.devices[0].starts_with("phone of Ben"));
    assert!(view.leads && view.root.is_some());
    assert_eq!(view.build.as_deref(), Some("0a1b2c3d4e5f"));
}

#[test]
fn what_is_to_be_settled_in_the_workshop_is_told_with_its_way_out() {
    let mut phone = here();
    let workshop = phone.app.desk.home().unwrap().workshop().unwrap();
    assert!(screen!(phone, People).findings.is_empty());
    let device = Device {
        key: Author::from_secret(&[8; 32]).key(),
        person: gudgeon_core::entry::EntryId::new([9; 32]),
        roles: vec![Role::Member],
        label: "phone of nobody".to_owned(),
        invite: None,
        join_signature: Vec::new(),
    };
    phone.app.desk.state(workshop, &[Payload::Device(device)], |_| AppEvent::Dismissed);
    phone.send(AppEvent::Dismissed);
    let findings = screen!(phone, People).findings;
    assert!(findings.len() == 1 && findings[0].1.contains("enter the person"), "{findings:?}");
}

#[test]
fn how_much_is_only_here_is_said_for_each_record() {
    let view = screen!(here(), People);
    let record = view.records.iter().find(|row| row.name == "Engine one").unwrap();
    assert_eq!(record.here_only, 2, "founding and definition");
    assert_eq!(view.records.len(), 2);
}

#[test]
fn another_person_joins_on_this_phone() {
    let mut phone = here();
    phone.send(Event::Join);
    assert_eq!(phone.address, "/join");
    assert!(matches!(phone.view().screen, crate::app::ScreenView::Join(_)));
    assert_eq!(phone.view().head.up, Some(Place::People));
}

#[test]
fn an_invite_is_shown_once_it_is_kept_and_its_code_leads_here() {
    let mut phone = here();
    phone.send(Event::Name("Carl".to_owned()));
    phone.send(Event::Role(3));
    phone.holds_back = true;
    phone.send(Event::Invite);
    assert!(screen!(phone, People).invited.is_none(), "not kept yet");
    phone.let_through();
    let view = screen!(phone, People);
    let invited = view.invited.unwrap();
    let code = Code::read(&invited.code).unwrap();
    assert_eq!(code.relay(), "https://relay.workshop.lan:7474");
    let roster = phone.app.desk.roster().unwrap();
    let offer = &roster.invites().values().next().unwrap().offer;
    assert_eq!((offer.one_time_key, &offer.roles[..]), (code.author().key(), &[Role::Viewer][..]));
    assert_eq!((offer.person, offer.person_name.as_str()), (None, "Carl"));
    assert!(view.name.is_empty(), "ready for the next one");
    phone.send(Event::PutAway);
    assert!(screen!(phone, People).invited.is_none());
}

// ISO/IEC 18004: a finder pattern is 7 by 7, its outer ring dark; here four light modules lie before it.
#[test]
fn the_square_has_its_finder_patterns_and_its_quiet_zone() {
    let invited = invites(&mut here(), "Carl");
    let mut dark = std::collections::BTreeSet::new();
    for run in invited.square.split('M').skip(1) {
        let (at, rest) = run.split_once('h').unwrap();
        let (x, y) = at.split_once(' ').unwrap();
        let (x, y): (usize, usize) = (x.parse().unwrap(), y.parse().unwrap());
        let long: usize = rest.split_once('v').unwrap().0.parse().unwrap();
        dark.extend((x..x + long).map(|x| (x, y)));
    }
    let far = invited.side - 4 - 7;
    for (left, top) in [(4, 4), (far, 4), (4, far)] {
        for at in 0..7 {
            for place in [(left + at, top), (left + at, top + 6), (left, top + at), (left + 6, top + at)] {
                assert!(dark.contains(&place), "{place:?}");
            }
        }
        assert!(!dark.contains(&(left + 1, top + 1)) && dark.contains(&(left + 3, top + 3)));
    }
    let inside = 4..invited.side - 4;
    assert!(dark.iter().all(|(x, y)| inside.contains(x) && inside.contains(y)));
}

#[test]
fn an_invite_for_somebody_known_is_for_another_device_of_theirs() {
    let mut phone = here();
    invites(&mut phone, "ben");
    let roster = phone.app.desk.roster().unwrap();
    let offer = &roster.invites().values().next().unwrap().offer;
    assert_eq!(offer.person, roster.people().find(|(_, name)| *name == "Ben").map(|(id, _)| id));
}

#[test]
fn an_invite_says_what_is_missing() {
    let mut phone = here();
    phone.send(Event::Invite);
    assert_eq!(screen!(phone, People).problem.unwrap().code, "no-name");
    let (mut phone, _) = held(|_| Place::People);
    phone.send(Event::Name("Carl".to_owned()));
    phone.send(Event::Invite);
    assert_eq!(screen!(phone, People).problem.unwrap().code, "no-relay");
    phone.app.desk.let_go();
    phone.send(Event::Invite);
    assert_eq!(phone.address, "/who/people");
}

#[test]
fn who_asks_by_an_invite_is_let_in_by_hand() {
    let mut phone = here();
    let code = Code::read(&invites(&mut phone, "Carl").code).unwrap();
    phone.send(Event::CarryOut);
    let Some(Effect::GiveOut { bytes, name, .. }) = phone.seen.last() else { panic!("not given out") };
    assert_eq!(name, "Invented-Works.gudgeon");
    let mut his = Home::within(Box::new(Mirror::default()), Rehearsed).unwrap();
    let root = phone.app.desk.home().unwrap().root().unwrap();
    his.carry_in_bytes("file", bytes, Some(root)).unwrap();
    let roster = Roster::read(his.log(code.workshop()).unwrap());
    let (invite, offer) = roster.invites().iter().next().unwrap();
    let carl = Author::from_secret(&[7; 32]);
    let device = Device {
        key: carl.key(),
        person: *invite,
        roles: offer.offer.roles.clone(),
        label: "phone of Carl".to_owned(),
        invite: Some(*invite),
        join_signature: join_request(&carl, code.workshop(), *invite).signature.to_vec(),
    };
    his.state(code.workshop(), &carl, &[Payload::Device(device)]).unwrap();
    phone.send(Event::CarryIn("from Carl".to_owned(), carried(&his)));
    let view = screen!(phone, People);
    assert_eq!(view.asks.len(), 1);
    assert_eq!((view.asks[0].who.as_str(), &view.asks[0].why), ("Carl, phone of Carl", &None));
    phone.send(Event::LetIn(carl.key()));
    let view = screen!(phone, People);
    assert!(view.asks.is_empty() && view.kept.unwrap().contains("Carl"));
    let row = view.people.iter().find(|person| person.name == "Carl").unwrap();
    assert_eq!(row.roles, "works");
}

#[test]
fn a_file_is_taken_in_with_a_report_and_a_broken_one_changes_nothing() {
    let (mut disk, record) = let_in();
    let (mut hers, ann) = ann(&mut disk);
    let note = Payload::Note(Note { feature: String::new(), text: "waits for shells".to_owned() });
    hers.state(record, &ann, &vec![note; 60]).unwrap();
    let file = carried(&hers);
    let mut phone = held_on(disk, &Place::People);
    let before = phone.app.desk.home().unwrap().log(record).unwrap().folded().len();
    for broken in [&b"something else"[..], &file[..file.len() / 2], b""] {
        phone.send(Event::CarryIn("letter.txt".to_owned(), broken.to_vec()));
        let view = screen!(phone, People);
        assert!(view.problem.unwrap().cause.starts_with("letter.txt: ") && view.busy.is_none());
    }
    assert_eq!(phone.app.desk.home().unwrap().log(record).unwrap().folded().len(), before);
    phone.send(Event::CarryIn("from Ann".to_owned(), file.clone()));
    let view = screen!(phone, People);
    let report = view.report.unwrap();
    let line = report.lines.iter().find(|line| line.document == record).unwrap();
    assert_eq!((report.summary.as_str(), line.counts.as_str()), ("60 new", "60 new"));
    assert!(line.is_record && line.refused.is_empty() && view.problem.is_none());
    phone.send(Event::CarryIn("from Ann".to_owned(), file));
    assert_eq!(screen!(phone, People).report.unwrap().summary, "0 new", "the same again brings nothing");
    let again = held_on(phone.disk, &Place::People);
    assert_eq!(again.app.desk.home().unwrap().log(record).unwrap().folded().len(), before + 60);
}

#[test]
fn a_file_is_called_taken_in_when_it_is_on_the_disk_and_not_before() {
    let (mut disk, record) = let_in();
    let (mut hers, ann) = ann(&mut disk);
    let note = Payload::Note(Note { feature: String::new(), text: "waits for shells".to_owned() });
    hers.state(record, &ann, &[note]).unwrap();
    let mut phone = held_on(disk, &Place::People);
    phone.holds_back = true;
    phone.send(Event::CarryIn("from Ann".to_owned(), carried(&hers)));
    let view = screen!(phone, People);
    assert!(view.busy.is_some() && view.report.is_none() && view.kept.is_none());
    phone.let_through();
    assert_eq!(screen!(phone, People).report.unwrap().summary, "1 new");
}

#[test]
fn what_the_browser_promises_is_said_and_it_is_asked_for_more() {
    let mut phone = here();
    let storage = |keeps| AppEvent::Storage(Storage { keeps, room: Some((1_500_000, 2_000_000_000)) });
    phone.send(storage(Some(false)));
    let view = screen!(phone, People);
    assert!(view.can_ask && view.storage.contains("may forget"));
    assert_eq!(view.room.as_deref(), Some("1 MB of 2000 MB taken"));
    phone.send(Event::AskToKeep);
    assert!(matches!(phone.seen.last(), Some(Effect::AskToKeep)));
    phone.send(storage(Some(true)));
    assert!(!screen!(phone, People).can_ask);
}

#[test]
fn a_file_that_could_not_be_given_out_is_said() {
    let mut phone = here();
    phone.send(AppEvent::NotGiven("no room".to_owned()));
    assert_eq!(phone.view().message.unwrap().code, "not-given");
}

#[test]
fn what_one_phone_gives_out_another_takes_in_and_gives_back_with_its_own() {
    let people: [(&str, &[Role]); 2] = [("Ben", &[Role::Member, Role::Lead]), ("Ann", &[Role::Member])];
    let (disk, record, keys) = works(EXAMPLE, &people, &[]);
    let there = Place::Feature(record, "bore/1".to_owned());
    let held_by = |key, disk: &Memory| {
        let mut phone = Phone::on(disk.clone(), Place::Who(Box::new(there.clone())));
        phone.send(who::Event::Choose(key));
        phone.send(who::Event::Pin(PIN.to_owned()));
        phone.send(who::Event::Open);
        phone
    };
    let gives = |phone: &mut Phone| {
        phone.send(AppEvent::Went(Place::People));
        phone.send(Event::CarryOut);
        let Some(Effect::GiveOut { bytes, media, .. }) = phone.seen.pop() else { panic!("not given out") };
        assert_eq!(media, "application/octet-stream");
        bytes
    };
    let takes = |phone: &mut Phone, bytes: Vec<u8>| {
        phone.send(AppEvent::Went(Place::People));
        phone.send(Event::CarryIn("file".to_owned(), bytes));
        let view = screen!(phone, People);
        assert!(view.problem.is_none() && view.kept.as_deref() == Some("taken in"), "{:?}", view.problem);
        view.report.unwrap().summary
    };
    let mut one = held_by(keys[0], &disk);
    reads_diameter(&mut one, record, "bore/1", "top/thrust", "80.51 mm");
    let mut other = held_by(keys[1], &disk);
    reads_diameter(&mut other, record, "bore/2", "top/thrust", "80.52 mm");
    assert_eq!(takes(&mut other, gives(&mut one)), "1 new");
    assert_eq!(takes(&mut one, gives(&mut other)), "1 new");
    for phone in [&one, &other] {
        let log = phone.app.desk.home().unwrap().log(record).unwrap();
        let read = log.folded().iter().filter(|said| matches!(said.payload, Ok(Payload::Reading(_))));
        assert_eq!(read.count(), 2);
    }
}
