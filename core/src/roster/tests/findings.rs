//! What the roster asks a person to look at.

use super::lists::invite;
use super::*;

fn rules(roster: &Roster) -> Vec<&'static str> {
    roster.findings().iter().map(|f| f.rule).collect()
}

/// Lead 1 admits key `number` by the invite, as a member.
fn came_by(shop: &mut Book, number: u8, invite: EntryId) -> EntryId {
    let person = shop.say(1, person("Somebody new"));
    let request = join_request(&author(number), shop.document, invite);
    shop.say(1, Payload::Device(request.device(person, Roles::of(MEMBER), "phone".to_owned())))
}

#[test]
fn a_clean_join_is_no_finding() {
    let mut shop = workshop();
    let offer = shop.say(1, invite(MEMBER, 5_000));
    came_by(&mut shop, 4, offer);
    let roster = shop.read();
    assert!(roster.roles_of(key(4)).member);
    assert_eq!((roster.findings(), roster.join_findings()), (&[][..], vec![]));
}

#[test]
fn an_expired_or_twice_used_invite_is_a_finding_and_no_more() {
    let mut shop = workshop();
    let late = shop.say(1, invite(MEMBER, 999));
    let twice = shop.say(1, invite(MEMBER, 5_000));
    let expired = came_by(&mut shop, 4, late);
    let (one, two) = (came_by(&mut shop, 5, twice), came_by(&mut shop, 6, twice));
    let roster = shop.read();
    assert!([4, 5, 6].into_iter().all(|n| roster.roles_of(key(n)).member));
    let told: Vec<(&str, BTreeSet<EntryId>)> =
        roster.findings().iter().map(|f| (f.rule, f.entries.iter().copied().collect())).collect();
    let expected =
        [("invite-expired", [late, expired].into()), ("invite-used-twice", [twice, one, two].into())];
    assert_eq!(told, expected);
}

#[test]
fn an_invite_taken_up_as_something_else_is_a_finding() {
    let mut shop = workshop();
    let offer = shop.say(1, invite(VIEWER, 5_000));
    came_by(&mut shop, 4, offer);
    assert_eq!(rules(&shop.read()), ["invite-differs"]);
}

#[test]
fn an_invite_that_does_not_count_is_a_finding() {
    let mut shop = workshop();
    let by_member = shop.say(2, invite(MEMBER, 5_000));
    came_by(&mut shop, 4, by_member);
    came_by(&mut shop, 5, somebody(66));
    let roster = shop.read();
    assert_eq!(rules(&roster), ["not-counted", "unknown-invite", "unknown-invite"]);
    assert!(roster.roles_of(key(4)).member, "the lead's word admits");
}

#[test]
fn a_join_signature_that_does_not_stand_is_a_finding() {
    let mut shop = workshop();
    let offer = shop.say(1, invite(MEMBER, 5_000));
    let other = shop.say(1, invite(MEMBER, 6_000));
    let entered = shop.say(1, person("Somebody new"));
    let good = join_request(&author(4), shop.document, offer);
    let by_another =
        JoinRequest { signature: join_request(&author(5), shop.document, offer).signature, ..good.clone() };
    let for_another_invite =
        JoinRequest { signature: join_request(&author(4), shop.document, other).signature, ..good.clone() };
    let for_another_shop = JoinRequest {
        signature: join_request(&author(4), DocumentId::new([5; 32]), offer).signature,
        ..good.clone()
    };
    assert!(good.stands());
    for bad in [by_another, for_another_invite, for_another_shop] {
        assert!(!bad.stands());
        let mut log = shop.log().clone();
        let says = Payload::Device(bad.device(entered, Roles::of(MEMBER), String::new()));
        let entry = author(1).sign(envelope(Some(shop.document), &says, log.after(key(1))));
        log.insert(&entry);
        let roster = Roster::read(&log);
        let [finding] = &roster.join_findings()[..] else { panic!() };
        assert_eq!((finding.rule, &finding.keys), ("join-signature", &vec![key(4)]));
        assert!(finding.entries.contains(&entry.id()) && finding.entries.contains(&offer));
        assert!(roster.roles_of(key(4)).member, "the lead's word admits");
    }
}

#[test]
fn an_invite_with_no_signature_and_a_signature_with_no_invite_are_findings() {
    let mut shop = workshop();
    let offer = shop.say(1, invite(MEMBER, 5_000));
    let entered = shop.say(1, person("Somebody new"));
    let mut says =
        join_request(&author(4), shop.document, offer).device(entered, Roles::of(MEMBER), String::new());
    says.join_signature.clear();
    shop.say(1, Payload::Device(says));
    let mut says =
        join_request(&author(5), shop.document, offer).device(entered, Roles::of(MEMBER), String::new());
    says.invite = None;
    shop.say(1, Payload::Device(says));
    assert_eq!(shop.read().join_findings().len(), 2);
}

#[test]
fn a_device_of_an_unknown_person_is_a_finding() {
    let mut shop = workshop();
    let by_member = shop.say(2, person("Not entered by a lead"));
    shop.say(1, device(4, by_member, MEMBER));
    shop.say(1, device(5, somebody(5), MEMBER));
    let roster = shop.read();
    assert_eq!(rules(&roster), ["not-counted", "unknown-person", "unknown-person"]);
    assert_eq!(roster.person_of(key(4)), Some(by_member), "whose key it is does not hang on the name");
    assert_eq!(roster.name_of(by_member), None);
}

#[test]
fn what_does_not_count_says_why_and_the_way_out() {
    let mut shop = workshop();
    let id = shop.say(2, listed(DocumentId::new([1; 32]), "Engine"));
    let roster = shop.read();
    let [finding] = roster.findings() else { panic!() };
    assert_eq!((finding.rule, finding.entries.as_slice()), ("not-counted", [id].as_slice()));
    assert_eq!(finding.words, "a record-listed needs a lead, and its key is no lead's");
    assert_eq!(finding.way_out, "a lead enters it");
}

#[test]
fn what_cannot_be_read_or_judged_is_a_finding() {
    let mut shop = workshop();
    let mut damaged = envelope(Some(shop.document), &device(4, somebody(4), MEMBER), []);
    damaged.payload = vec![0xff];
    shop.put(1, damaged);
    let mut later = envelope(Some(shop.document), &instrument("M1", ""), []);
    later.min_reader = READER + 1;
    shop.put(1, later);
    let roster = shop.read();
    assert_eq!(rules(&roster), ["cannot-judge", "unreadable"]);
    assert!(roster.instruments().is_empty() && roster.person_of(key(4)).is_none());
}

/// Key `number` asks by an invite, with an entry of its own.
fn asks(shop: &mut Book, number: u8, invite: EntryId, label: &str) -> EntryId {
    let request = join_request(&author(number), shop.document, invite);
    shop.say(number, Payload::Device(request.device(invite, Roles::of(MEMBER), label.to_owned())))
}

#[test]
fn a_key_that_asks_is_named_until_it_is_let_in() {
    let mut shop = workshop();
    let offer = shop.say(1, invite(MEMBER, 5_000));
    let ask = asks(&mut shop, 4, offer, "phone");
    let roster = shop.read();
    let [finding] = roster.findings() else { panic!("{:?}", roster.findings()) };
    assert_eq!((finding.rule, &finding.keys), ("asks-to-join", &vec![key(4)]));
    assert!(finding.entries.contains(&ask) && finding.words.contains("phone (key "), "{finding:?}");
    came_by(&mut shop, 4, offer);
    assert_eq!(rules(&shop.read()), Vec::<&str>::new());
}

#[test]
fn two_that_ask_by_one_invite_are_one_finding_and_a_removal_settles_it() {
    let mut shop = workshop();
    let offer = shop.say(1, invite(MEMBER, 5_000));
    asks(&mut shop, 4, offer, "one");
    asks(&mut shop, 5, offer, "another");
    assert_eq!(rules(&shop.read()), ["two-ask-by-one-invite"]);
    shop.say(1, removal(5, &[]));
    assert_eq!(rules(&shop.read()), ["asks-to-join"]);
    assert!(!shop.read().is_unknown(key(5)), "it is not let in any more");
}

#[test]
fn who_is_left_of_two_that_asked_is_not_let_in_by_itself() {
    let mut shop = workshop();
    let offer = shop.say(1, invite(MEMBER, 5_000));
    let why = |shop: &Book| by_hand(&shop.read(), shop.log(), offer, Some(4_000));
    asks(&mut shop, 4, offer, "one");
    asks(&mut shop, 4, offer, "one, once more");
    assert_eq!(why(&shop), None, "one key that asks twice is one");
    asks(&mut shop, 5, offer, "another");
    shop.say(1, removal(5, &[]));
    assert_eq!(why(&shop), Some(ByHand::SeveralAsked(2)), "the removed one counts");
    let roster = shop.read();
    let [finding] = roster.findings() else { panic!("{:?}", roster.findings()) };
    assert!(finding.words.contains("by which 2 devices asked"), "{finding:?}");
    assert!(finding.way_out.starts_with("if it is theirs, `let-in`"), "{finding:?}");
    shop.say(1, device(4, somebody(4), MEMBER));
    let away: Vec<KeyId> = turned_away(&shop.read(), shop.log()).iter().map(|ask| ask.device.key).collect();
    assert_eq!((away, asking(&shop.read(), shop.log()).len()), (vec![key(5)], 0));
}

#[test]
fn nobody_is_let_in_by_itself_once_the_inviter_leads_no_more_or_the_invite_has_run_out() {
    let mut shop = workshop();
    let offer = shop.say(3, invite(MEMBER, 5_000));
    asks(&mut shop, 4, offer, "phone");
    let why = |shop: &Book, now| by_hand(&shop.read(), shop.log(), offer, now);
    assert_eq!((why(&shop, Some(5_000)), why(&shop, None)), (None, None));
    assert_eq!(why(&shop, Some(5_001)), Some(ByHand::RunOut));
    shop.say(1, removal(3, &[(shop.document, &[offer])]));
    assert_eq!(why(&shop, Some(5_000)), Some(ByHand::InviterGone));
    let words = shop.read().findings()[0].words.clone();
    assert!(words.contains("leads no more"), "{words}");
}

#[test]
fn a_device_entry_that_asks_for_another_key_or_without_its_signature_is_not_an_ask() {
    let mut shop = workshop();
    let offer = shop.say(1, invite(MEMBER, 5_000));
    let request = join_request(&author(5), shop.document, offer);
    shop.say(4, Payload::Device(request.device(offer, Roles::of(MEMBER), "phone".to_owned())));
    let forged = JoinRequest { key: key(6), ..request };
    shop.say(6, Payload::Device(forged.device(offer, Roles::of(MEMBER), "phone".to_owned())));
    assert_eq!(rules(&shop.read()), ["not-counted", "not-counted"]);
}

/// Asking is not granting, even by somebody who may grant by now.
#[test]
fn a_new_lead_let_in_by_an_invite_leads_although_their_asking_names_no_person() {
    let mut shop = workshop();
    let offer = shop.say(1, invite(LEAD, 5_000));
    let request = join_request(&author(4), shop.document, offer);
    shop.say(4, Payload::Device(request.device(offer, Roles::of(LEAD), "phone".to_owned())));
    let person = shop.say(1, person("Somebody new"));
    shop.say(1, Payload::Device(request.device(person, Roles::of(LEAD), "phone".to_owned())));
    let roster = shop.read();
    assert_eq!(roster.person_of(key(4)), Some(person));
    assert!(roster.leads_now(key(4)));
    assert_eq!((rules(&roster), roster.join_findings()), (vec![], vec![]));
}
