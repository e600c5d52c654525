//! Every rule of who counts, one test a rule.
#![allow(clippy::unwrap_used)]

mod admits;
mod findings;
mod grants;
mod lists;
mod order;
mod removals;

use super::test_support::*;
use super::*;
use crate::entry::{Kind, payload};

#[test]
fn the_root_is_the_founding_key_and_nobody() {
    let shop = workshop();
    let roster = shop.read();
    assert_eq!(roster.root(), Some(key(0)));
    assert_eq!(roster.workshop(), shop.document);
    assert_eq!(roster.workshop_name(), Some("Invented Works"));
    assert_eq!(roster.person_of(key(0)), None);
    assert_eq!(roster.roles_of(key(0)), Roles::default());
    assert!(!roster.may_connect(key(0)));
}

#[test]
fn without_its_founding_a_workshop_has_no_root_and_nobody_counts() {
    let shop = workshop();
    let mut log = Log::new(shop.document);
    let entry = author(0).sign(envelope(Some(shop.document), &device(1, somebody(1), BOTH), []));
    log.insert(&entry);
    let roster = Roster::read(&log);
    assert_eq!((roster.root(), roster.workshop_name()), (None, None));
    assert_eq!(roster.counts(&log, 0), Err(NotCounted::UnknownKey(key(0))));
    assert_eq!(roster.person_of(key(1)), None);
}

#[test]
fn each_key_has_its_person_its_name_and_its_roles() {
    let shop = workshop();
    let roster = shop.read();
    let names: Vec<&str> =
        [1, 2, 3].map(|n| roster.name_of(roster.person_of(key(n)).unwrap()).unwrap()).to_vec();
    assert_eq!(names, ["Person 1", "Person 2", "Person 3"]);
    assert_eq!(roster.roles_of(key(1)), Roles { member: true, lead: true, viewer: false });
    assert_eq!(roster.roles_of(key(2)), Roles { member: true, lead: false, viewer: false });
    assert_eq!(roster.roles_of(key(3)), Roles { member: false, lead: true, viewer: false });
    assert_eq!(roster.label_of(key(2)), Some("phone 2"));
    assert_eq!(roster.keys().collect::<BTreeSet<_>>(), [1, 2, 3].map(key).into());
    assert_eq!(roster.people().count(), 3);
    assert_eq!(roster.findings(), []);
}

#[test]
fn each_kind_needs_its_role() {
    let shop = workshop();
    let roster = shop.read();
    let mut record = record(&shop);
    let (lead, member, lead_only, stranger) = (1, 2, 3, 9);
    let fourth = Err(NotCounted::UnknownKey(key(stranger)));
    let void = |entry| Payload::Void(payload::Void { entry, reason: "slip".to_owned() });
    let cases = [
        (check("turns"), Ok(()), Ok(()), Err(NotCounted::NeedsMember(Kind::Check))),
        (decision("+0.5"), Ok(()), Err(NotCounted::NeedsLead(Kind::Decision)), Ok(())),
        (note("cold"), Ok(()), Ok(()), Ok(())),
        (void(somebody(1)), Ok(()), Ok(()), Ok(())),
    ];
    for (says, by_lead, by_member, by_lead_only) in cases {
        let expected = [(lead, by_lead), (member, by_member), (lead_only, by_lead_only), (stranger, fourth)];
        for (by, expected) in expected {
            let id = record.say(by, says.clone());
            assert_eq!(record.judge(&roster, id), expected, "{says:?} by {by}");
        }
    }
}

#[test]
fn a_viewer_enters_nothing() {
    let mut shop = workshop();
    shop.say(1, device(4, somebody(4), VIEWER));
    let id = shop.say(4, instrument("M1", ""));
    let roster = shop.read();
    assert_eq!(shop.judge(&roster, id), Err(NotCounted::Viewer));
    let mut record = record(&shop);
    let id = record.say(4, note("hello"));
    assert_eq!(record.judge(&roster, id), Err(NotCounted::Viewer));
    assert!(roster.may_connect(key(4)), "but looks on");
}

#[test]
fn the_root_signs_in_the_workshop_only() {
    let mut shop = workshop();
    let in_shop = shop.say(0, instrument("M1", ""));
    let mut record = record(&shop);
    let in_record = record.say(0, note("hello"));
    let roster = shop.read();
    assert_eq!(shop.judge(&roster, in_shop), Ok(()));
    assert_eq!(record.judge(&roster, in_record), Err(NotCounted::RootInRecord));
}

#[test]
fn a_kind_counts_only_in_its_own_document() {
    let mut shop = workshop();
    let in_shop = shop.say(1, check("turns"));
    let by_root = shop.say(0, check("turns"));
    let mut record = record(&shop);
    let in_record = record.say(1, device(5, somebody(5), MEMBER));
    let roster = shop.read();
    assert_eq!(shop.judge(&roster, in_shop), Err(NotCounted::WrongDocument(Kind::Check)));
    assert_eq!(shop.judge(&roster, by_root), Err(NotCounted::WrongDocument(Kind::Check)));
    assert_eq!(record.judge(&roster, in_record), Err(NotCounted::WrongDocument(Kind::Device)));
    assert_eq!(roster.person_of(key(5)), None);
}

#[test]
fn a_record_is_founded_by_a_lead_for_this_workshop() {
    let shop = workshop();
    let roster = shop.read();
    let by_lead = record(&shop);
    assert_eq!(by_lead.judge(&roster, by_lead.founding()), Ok(()));
    let by_member = Book::found(2, "Engine two", Some(shop.document));
    let needs_lead = Err(NotCounted::NeedsLead(Kind::Founding));
    assert_eq!(by_member.judge(&roster, by_member.founding()), needs_lead);
    let mut elsewhere = Book::found(1, "Engine three", Some(DocumentId::new([5; 32])));
    let other = Err(NotCounted::OtherWorkshop(Some(DocumentId::new([5; 32]))));
    assert_eq!(elsewhere.judge(&roster, elsewhere.founding()), other);
    let work = elsewhere.say(2, note("hello"));
    assert_eq!(elsewhere.judge(&roster, work), other, "nor does work in it");
    let mut nowhere = Book::found(1, "Engine four", None);
    let work = nowhere.say(2, note("hello"));
    assert_eq!(nowhere.judge(&roster, work), Err(NotCounted::OtherWorkshop(None)));
}

#[test]
fn a_document_has_one_founding() {
    let mut shop = workshop();
    let again = payload::Founding {
        name: "Usurped Works".to_owned(),
        workshop: None,
        definition_digest: None,
        nonce: vec![2],
    };
    let by_root = shop.say(0, Payload::Founding(again.clone()));
    let by_lead = shop.say(1, Payload::Founding(again));
    let roster = shop.read();
    assert_eq!(shop.judge(&roster, by_root), Err(NotCounted::SecondFounding));
    assert_eq!(shop.judge(&roster, by_lead), Err(NotCounted::SecondFounding));
    assert_eq!((roster.root(), roster.workshop_name()), (Some(key(0)), Some("Invented Works")));
}

#[test]
fn a_later_grant_makes_earlier_entries_count() {
    let mut shop = workshop();
    let mut record = record(&shop);
    let early = record.say(7, note("before anybody knew me"));
    assert_eq!(record.judge(&shop.read(), early), Err(NotCounted::UnknownKey(key(7))));
    shop.say(3, device(7, somebody(7), MEMBER));
    assert_eq!(record.judge(&shop.read(), early), Ok(()));
}

#[test]
fn device_time_decides_nothing() {
    let mut shop = workshop();
    let mut at = |by, time, says: &Payload| {
        let after = shop.log().after(key(by));
        let mut envelope = envelope(Some(shop.document), says, after);
        envelope.device_time = time;
        shop.put(by, envelope)
    };
    let grant = at(1, i64::MAX, &device(7, somebody(7), MEMBER));
    let late = at(7, i64::MIN, &instrument("M7", ""));
    at(3, i64::MIN, &removal(1, &[]));
    let roster = shop.read();
    assert!(matches!(shop.judge(&roster, grant), Err(NotCounted::CutBy(_))));
    assert_eq!(shop.judge(&roster, late), Err(NotCounted::UnknownKey(key(7))));
}

#[test]
fn a_kind_of_a_later_version_counts_for_who_may_enter_anything() {
    let mut shop = workshop();
    shop.say(1, device(4, somebody(4), VIEWER));
    let mut strange = |by| {
        let mut envelope = envelope(Some(shop.document), &note(""), []);
        envelope.kind_code = 9_999;
        shop.put(by, envelope)
    };
    let (by_member, by_viewer) = (strange(2), strange(4));
    let roster = shop.read();
    assert_eq!(shop.judge(&roster, by_member), Ok(()));
    assert_eq!(shop.judge(&roster, by_viewer), Err(NotCounted::Viewer));
    assert_eq!(roster.unjudged().iter().copied().collect::<Vec<_>>(), [by_member]);
}

#[test]
fn what_is_meant_for_a_later_reader_is_not_acted_upon() {
    let mut shop = workshop();
    let mut envelope = envelope(Some(shop.document), &device(7, somebody(7), MEMBER), []);
    envelope.min_reader = READER + 1;
    let id = shop.put(1, envelope);
    let roster = shop.read();
    assert_eq!(shop.judge(&roster, id), Ok(()));
    assert!(roster.unjudged().contains(&id));
    assert_eq!(roster.person_of(key(7)), None);
}

#[test]
fn every_reason_has_a_name_words_and_a_way_out() {
    let (id, document) = (somebody(1), Some(DocumentId::new([1; 32])));
    let reasons = [
        NotCounted::UnknownKey(key(1)),
        NotCounted::ConflictingGrants(key(1)),
        NotCounted::Viewer,
        NotCounted::NeedsLead(Kind::Decision),
        NotCounted::NeedsMember(Kind::Reading),
        NotCounted::CutBy(id),
        NotCounted::CutUntil { removal: id, last: id },
        NotCounted::RootInRecord,
        NotCounted::SecondFounding,
        NotCounted::OtherWorkshop(document),
        NotCounted::WrongDocument(Kind::Device),
    ];
    let names: BTreeSet<&str> = reasons.iter().map(|reason| reason.name()).collect();
    assert_eq!(names.len(), reasons.len());
    assert!(reasons.iter().all(|reason| !reason.to_string().is_empty() && !reason.way_out().is_empty()));
    let words = NotCounted::NeedsLead(Kind::Decision).to_string();
    assert_eq!(words, "a decision needs a lead, and its key is no lead's");
}
