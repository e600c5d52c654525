//! Records, instruments and invites.

use super::*;

#[test]
fn of_instrument_versions_the_latest_known_stands() {
    let mut shop = workshop();
    let old = shop.say(1, instrument("M1", "shop"));
    let new = shop.say(2, instrument("M1", "fitter"));
    shop.say(9, instrument("M1", "stranger"));
    let roster = shop.read();
    let versions = &roster.instruments()["M1"];
    assert_eq!(versions.all().iter().map(|v| v.id).collect::<BTreeSet<_>>(), [old, new].into());
    let latest = versions.latest().unwrap();
    assert_eq!((latest.id, latest.says.owner.as_str(), latest.by_lead), (new, "fitter", false));
    assert!(versions.all().iter().any(|v| v.id == old && v.by_lead && v.by == key(1)));
}

#[test]
fn concurrent_versions_that_differ_are_both_newest_and_none_stands() {
    let mut shop = workshop();
    let base = shop.say(0, instrument("M1", "shop"));
    let one = shop.say_after(1, instrument("M1", "one"), [base]);
    let two = shop.say_after(3, instrument("M1", "two"), [base]);
    let roster = shop.read();
    let versions = &roster.instruments()["M1"];
    assert_eq!(versions.latest(), None);
    assert_eq!(versions.newest().map(|v| v.id).collect::<BTreeSet<_>>(), [one, two].into());
}

#[test]
fn concurrent_versions_that_agree_stand_by_the_leads_word() {
    let mut shop = workshop();
    let base = shop.say(0, instrument("M1", "shop"));
    for text in ["a", "b", "c"] {
        shop.say_after(2, instrument("M2", text), [base]);
    }
    shop.say_after(2, instrument("M1", "same"), [base]);
    let by_lead = shop.say_after(3, instrument("M1", "same"), [base]);
    let roster = shop.read();
    assert_eq!(roster.instruments()["M1"].latest().map(|v| v.id), Some(by_lead));
    assert_eq!(roster.instruments()["M2"].newest().count(), 3);
}

#[test]
fn records_are_listed_by_leads() {
    let mut shop = workshop();
    let (one, two) = (DocumentId::new([1; 32]), DocumentId::new([2; 32]));
    shop.say(1, listed(one, "Engine one"));
    shop.say(1, listed(one, "Engine one, again"));
    shop.say(2, listed(two, "Not a lead's"));
    let roster = shop.read();
    assert_eq!(roster.records().keys().copied().collect::<Vec<_>>(), [one]);
    assert_eq!(roster.records()[&one].latest().unwrap().says, "Engine one, again");
}

#[test]
fn the_latest_known_label_of_a_key_is_shown() {
    let mut shop = workshop();
    let mut named = |label: &str| {
        let Payload::Device(mut says) = device(4, somebody(4), MEMBER) else { panic!() };
        says.label = label.to_owned();
        shop.say(1, Payload::Device(says))
    };
    named("blue phone");
    named("green phone");
    assert_eq!(shop.read().label_of(key(4)), Some("green phone"));
}

#[test]
fn invites_by_leads_are_listed_with_who_came_by_them() {
    let mut shop = workshop();
    let (good, bad) = (shop.say(1, invite(MEMBER, 5_000)), shop.say(2, invite(BOTH, 5_000)));
    let request = join_request(&author(4), shop.document, good);
    let person = shop.say(1, person("Person 4"));
    shop.say(1, Payload::Device(request.device(person, Roles::of(MEMBER), "phone".to_owned())));
    let roster = shop.read();
    assert_eq!(roster.invites()[&good].used_by, [key(4)].into());
    assert_eq!(roster.invites()[&good].by, key(1));
    assert!(!roster.invites().contains_key(&bad));
    assert_eq!(roster.invites()[&good].offer.expires, 5_000);
}

#[test]
fn an_invite_is_open_to_its_last_moment_and_until_somebody_came_by_it() {
    let mut shop = workshop();
    let id = shop.say(1, invite(MEMBER, 5_000));
    let offered = shop.read().invites()[&id].clone();
    assert!(offered.is_open_at(5_000) && !offered.is_open_at(5_001));
    let person = shop.say(1, person("Person 4"));
    let request = join_request(&author(4), shop.document, id);
    shop.say(1, Payload::Device(request.device(person, Roles::of(MEMBER), "phone".to_owned())));
    assert!(!shop.read().invites()[&id].is_open_at(0));
}

pub(super) fn invite(roles: &[payload::Role], expires: i64) -> Payload {
    Payload::Invite(payload::Invite {
        person: None,
        person_name: "Person 4".to_owned(),
        roles: roles.to_vec(),
        expires,
        one_time_key: key(100),
        relay: String::new(),
    })
}
