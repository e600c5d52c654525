//! Who is made what, and by whom.

use super::*;

#[test]
fn authority_reaches_from_the_root_through_leads_only() {
    let mut shop = Book::found(0, "Invented Works", None);
    // Said from the far end of the chain first: only the root's word makes the rest stand.
    shop.say(2, device(3, somebody(3), BOTH));
    shop.say(1, device(2, somebody(2), BOTH));
    assert_eq!(shop.read().keys().count(), 0);
    shop.say(0, device(1, somebody(1), BOTH));
    let roster = shop.read();
    assert!([1, 2, 3].into_iter().all(|n| roster.roles_of(key(n)).lead));
}

#[test]
fn a_member_makes_nobody_anything() {
    let mut shop = workshop();
    let by_member = shop.say(2, device(4, somebody(4), LEAD));
    let by_it = shop.say(4, device(5, somebody(5), MEMBER));
    let roster = shop.read();
    assert_eq!(shop.judge(&roster, by_member), Err(NotCounted::NeedsLead(Kind::Device)));
    assert_eq!(shop.judge(&roster, by_it), Err(NotCounted::UnknownKey(key(4))));
    assert_eq!((roster.person_of(key(4)), roster.person_of(key(5))), (None, None));
}

#[test]
fn a_key_can_be_asked_about_before_it_makes_an_entry() {
    let mut shop = workshop();
    shop.say(1, device(4, somebody(4), MEMBER));
    let roster = shop.read();
    assert_eq!(roster.may_make(key(4), Kind::Reading), Ok(()));
    assert_eq!(roster.may_make(key(4), Kind::Decision), Err(NotCounted::NeedsLead(Kind::Decision)));
    assert_eq!(roster.may_make(key(5), Kind::Reading), Err(NotCounted::UnknownKey(key(5))));
}

#[test]
fn nobody_makes_themselves_anything() {
    let mut shop = workshop();
    shop.say(4, device(4, somebody(4), LEAD));
    shop.say(5, device(6, somebody(6), LEAD));
    shop.say(6, device(5, somebody(5), LEAD));
    let roster = shop.read();
    assert!([4, 5, 6].into_iter().all(|n| roster.person_of(key(n)).is_none()));
}

#[test]
fn a_key_given_to_two_persons_counts_for_neither() {
    let mut shop = workshop();
    let first = shop.say(1, device(4, somebody(4), MEMBER));
    let second = shop.say(3, device(4, somebody(5), MEMBER));
    let entered = shop.say(4, instrument("M4", ""));
    let roster = shop.read();
    assert_eq!(shop.judge(&roster, entered), Err(NotCounted::ConflictingGrants(key(4))));
    assert_eq!((roster.person_of(key(4)), roster.roles_of(key(4))), (None, Roles::default()));
    assert!(!roster.may_connect(key(4)) && !roster.same_person(key(4), key(1)));
    let [finding] = conflicts(&roster)[..] else { panic!() };
    assert_eq!(finding.rule, "conflicting-persons");
    assert_eq!(finding.entries.iter().copied().collect::<BTreeSet<_>>(), [first, second].into());
}

#[test]
fn different_roles_leave_what_they_have_in_common() {
    let mut shop = workshop();
    shop.say(1, device(4, somebody(4), BOTH));
    shop.say(3, device(4, somebody(4), MEMBER));
    shop.say(1, device(5, somebody(5), MEMBER));
    shop.say(3, device(5, somebody(5), LEAD));
    let entered = shop.say(5, instrument("M5", ""));
    let roster = shop.read();
    assert_eq!(roster.roles_of(key(4)), Roles { member: true, lead: false, viewer: false });
    assert_eq!(roster.roles_of(key(5)), Roles::default());
    assert_eq!(roster.person_of(key(5)), Some(somebody(5)));
    assert_eq!(shop.judge(&roster, entered), Err(NotCounted::Viewer));
    let rules: Vec<&str> = conflicts(&roster).iter().map(|f| f.rule).collect();
    assert_eq!(rules, ["conflicting-roles", "conflicting-roles"]);
}

#[test]
fn the_same_grant_twice_is_no_conflict() {
    let mut shop = workshop();
    shop.say(1, device(4, somebody(4), MEMBER));
    shop.say_after(3, device(4, somebody(4), MEMBER), []);
    let roster = shop.read();
    assert!(roster.roles_of(key(4)).member);
    assert!(conflicts(&roster).is_empty());
}

#[test]
fn a_wrong_grant_that_does_not_count_takes_nothing_away() {
    let mut shop = workshop();
    shop.say(2, device(3, somebody(9), LEAD));
    shop.say(8, device(1, somebody(9), VIEWER));
    let roster = shop.read();
    assert!(roster.roles_of(key(1)).lead && roster.roles_of(key(3)).lead);
}

#[test]
fn a_wrong_grant_is_taken_back_by_removing_its_signer_without_it() {
    let mut shop = workshop();
    let good = shop.say(3, device(4, somebody(4), MEMBER));
    shop.say(3, device(1, somebody(9), BOTH));
    assert_eq!(shop.read().person_of(key(1)), None);
    shop.say(0, removal(3, &[(shop.document, &[good])]));
    let roster = shop.read();
    assert!(roster.roles_of(key(1)).lead && roster.roles_of(key(4)).member);
}

#[test]
fn who_gives_their_own_key_away_is_nobody() {
    let mut shop = workshop();
    let own = shop.say(3, device(3, somebody(9), LEAD));
    let given = shop.say(3, device(4, somebody(4), MEMBER));
    let roster = shop.read();
    assert_eq!(roster.person_of(key(3)), None);
    assert_eq!(shop.judge(&roster, own), Err(NotCounted::ConflictingGrants(key(3))));
    assert_eq!(shop.judge(&roster, given), Err(NotCounted::ConflictingGrants(key(3))));
    assert_eq!(roster.person_of(key(4)), None);
}

#[test]
fn a_lead_who_gives_up_the_role_no_longer_leads_but_works() {
    let mut shop = workshop();
    shop.say(1, device(1, shop.read().person_of(key(1)).unwrap(), MEMBER));
    let roster = shop.read();
    assert_eq!(roster.roles_of(key(1)), Roles { member: true, lead: false, viewer: false });
}

#[test]
fn two_leads_who_contradict_each_other_are_both_nobody() {
    let mut shop = workshop();
    shop.say(1, device(3, somebody(9), LEAD));
    shop.say_after(3, device(1, somebody(9), BOTH), []);
    let roster = shop.read();
    assert_eq!((roster.person_of(key(1)), roster.person_of(key(3))), (None, None));
    assert!(roster.roles_of(key(2)).member, "the root's other words stand");
}

#[test]
fn the_root_key_is_given_to_nobody() {
    let mut shop = workshop();
    let id = shop.say(1, device(0, somebody(4), BOTH));
    let mut record = record(&shop);
    let entered = record.say(0, check("turns"));
    let roster = shop.read();
    assert_eq!((roster.person_of(key(0)), roster.label_of(key(0))), (None, None));
    assert_eq!(record.judge(&roster, entered), Err(NotCounted::RootInRecord));
    let [finding] = roster.findings() else { panic!() };
    assert_eq!((finding.rule, finding.entries.as_slice()), ("root-key-granted", [id].as_slice()));
}

#[test]
fn one_person_may_hold_several_keys() {
    let mut shop = workshop();
    shop.say(1, device(4, somebody(4), MEMBER));
    shop.say(1, device(5, somebody(4), VIEWER));
    let roster = shop.read();
    assert!(roster.same_person(key(4), key(5)) && !roster.same_person(key(4), key(1)));
    assert!(roster.same_person(key(8), key(8)) && !roster.same_person(key(8), key(9)));
}

fn conflicts(roster: &Roster) -> Vec<&RosterFinding> {
    roster.findings().iter().filter(|f| f.rule.starts_with("conflicting-")).collect()
}
