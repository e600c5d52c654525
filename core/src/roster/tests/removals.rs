//! Which entries of a removed key stand.

use super::*;

#[test]
fn a_removal_keeps_the_listed_entries_and_what_they_know_of_that_key() {
    let mut shop = workshop();
    let mut record = record(&shop);
    let [first, second, third] = ["one", "two", "three"].map(|text| record.say(2, note(text)));
    let aside = record.say_after(2, note("aside"), []);
    let removal = shop.say(1, removal(2, &[(record.document, &[second])]));
    let roster = shop.read();
    let cut = Err(NotCounted::CutBy(removal));
    let verdicts = [first, second, third, aside].map(|id| record.judge(&roster, id));
    assert_eq!(verdicts, [Ok(()), Ok(()), cut, cut]);
    assert_eq!(roster.removals_of(key(2)).len(), 1);
    assert!(!roster.may_connect(key(2)) && roster.roles_of(key(2)).member);
}

#[test]
fn of_a_document_that_is_not_listed_nothing_stands() {
    let mut shop = workshop();
    let (mut listed, mut other) = (record(&shop), Book::found(3, "Engine two", Some(shop.document)));
    let (in_listed, in_other) = (listed.say(2, note("here")), other.say(2, note("there")));
    let in_shop = shop.say(2, instrument("M2", ""));
    let removal = shop.say(1, removal(2, &[(listed.document, &[in_listed])]));
    let roster = shop.read();
    assert_eq!(listed.judge(&roster, in_listed), Ok(()));
    assert_eq!(other.judge(&roster, in_other), Err(NotCounted::CutBy(removal)));
    assert_eq!(shop.judge(&roster, in_shop), Err(NotCounted::CutBy(removal)));
}

#[test]
fn a_listed_entry_of_another_key_keeps_nothing() {
    let mut shop = workshop();
    let mut record = record(&shop);
    let mine = record.say(2, note("mine"));
    let over = record.say(1, note("I saw it"));
    let removal = shop.say(1, removal(2, &[(record.document, &[over])]));
    assert_eq!(record.judge(&shop.read(), mine), Err(NotCounted::CutBy(removal)));
}

#[test]
fn a_listed_entry_that_still_waits_keeps_what_it_reaches() {
    let mut shop = workshop();
    let mut record = record(&shop);
    let first = record.say(2, note("one"));
    let waiting = record.say_after(2, note("two"), [first, somebody(77)]);
    shop.say(1, removal(2, &[(record.document, &[waiting])]));
    assert!(record.log().place(&waiting).is_none());
    assert_eq!(record.judge(&shop.read(), first), Ok(()));
}

/// Until the last entry that stands is here nobody can know what it reaches, and the reason says so.
#[test]
fn a_listed_entry_that_is_not_here_is_asked_for() {
    let mut shop = workshop();
    let mut record = record(&shop);
    let first = record.say(2, note("one"));
    let says = envelope(Some(record.document), &note("two"), [first]);
    let last = author(2).sign(says.clone()).id();
    let removal = shop.say(1, removal(2, &[(record.document, &[last])]));
    let roster = shop.read();
    assert_eq!(record.judge(&roster, first), Err(NotCounted::CutUntil { removal, last }));
    assert_eq!(record.put(2, says), last);
    assert_eq!(record.judge(&roster, first), Ok(()));
}

#[test]
fn every_removal_of_a_key_must_accept() {
    let mut shop = workshop();
    let mut record = record(&shop);
    let [first, second] = ["one", "two"].map(|text| record.say(2, note(text)));
    shop.say(1, removal(2, &[(record.document, &[second])]));
    let narrow = shop.say_after(3, removal(2, &[(record.document, &[first])]), []);
    let roster = shop.read();
    assert_eq!(record.judge(&roster, first), Ok(()));
    assert_eq!(record.judge(&roster, second), Err(NotCounted::CutBy(narrow)));
}

#[test]
fn late_entries_count_by_what_was_listed_whenever_they_arrive() {
    let mut shop = workshop();
    let mut record = record(&shop);
    let [first, second] = ["one", "two"].map(|text| record.say(2, note(text)));
    let removal = shop.say(1, removal(2, &[(record.document, &[second])]));
    let late = record.say_after(2, note("late"), [first]);
    let later = record.say(2, note("later"));
    let roster = shop.read();
    assert_eq!(record.judge(&roster, first), Ok(()));
    assert_eq!(record.judge(&roster, late), Err(NotCounted::CutBy(removal)));
    assert_eq!(record.judge(&roster, later), Err(NotCounted::CutBy(removal)));
}

#[test]
fn only_who_was_ever_lead_removes() {
    let mut shop = workshop();
    let by_member = shop.say(2, removal(3, &[]));
    let by_stranger = shop.say(9, removal(3, &[]));
    let roster = shop.read();
    assert!(roster.removals_of(key(3)).is_empty() && roster.may_connect(key(3)));
    assert_eq!(shop.judge(&roster, by_member), Err(NotCounted::NeedsLead(Kind::Removal)));
    assert_eq!(shop.judge(&roster, by_stranger), Err(NotCounted::UnknownKey(key(9))));
}

#[test]
fn two_leads_removing_each_other_are_both_removed() {
    let mut shop = workshop();
    let before = shop.log().after(key(1));
    let one = shop.say_after(1, removal(3, &[]), before.clone());
    let three = shop.say_after(3, removal(1, &[]), before);
    let roster = shop.read();
    assert_eq!(shop.judge(&roster, one), Err(NotCounted::CutBy(three)));
    assert_eq!(shop.judge(&roster, three), Err(NotCounted::CutBy(one)));
    assert!(!roster.may_connect(key(1)) && !roster.may_connect(key(3)));
    let rules: Vec<&str> = roster.findings().iter().map(|f| f.rule).collect();
    assert_eq!(rules, ["removal-binds", "removal-binds"]);
}

#[test]
fn a_key_that_removes_itself_is_nothing_to_look_at_unless_somebody_elses_removal_leaves_that_out() {
    let mut shop = workshop();
    let own = shop.say(1, removal(1, &[(shop.document, &[])]));
    let roster = shop.read();
    assert_eq!(shop.judge(&roster, own), Err(NotCounted::CutBy(own)));
    assert!(!roster.may_connect(key(1)), "it binds");
    assert!(roster.findings().is_empty(), "{:?}", roster.findings());
    // Said twice, and known to another who removes it too: still nothing.
    shop.say(1, removal(1, &[]));
    let all: Vec<EntryId> = shop.log().after(key(1)).into_iter().collect();
    shop.say(3, removal(1, &[(shop.document, &all)]));
    assert!(shop.read().findings().is_empty(), "{:?}", shop.read().findings());
    // Left out by another: whoever held the key may have meant harm.
    shop.say(3, removal(1, &[]));
    let rules: Vec<&str> = shop.read().findings().iter().map(|f| f.rule).collect();
    assert_eq!(rules, ["removal-binds", "removal-binds"]);
}

#[test]
fn only_the_root_cuts_a_removal_off() {
    let mut shop = workshop();
    let wrong = shop.say(1, removal(2, &[]));
    shop.say(3, removal(1, &[]));
    assert_eq!(shop.read().removals_of(key(2)).len(), 1, "a lead's removal of its signer does not");
    shop.say(0, removal(1, &[]));
    let roster = shop.read();
    assert!(roster.removals_of(key(2)).is_empty());
    assert!(matches!(shop.judge(&roster, wrong), Err(NotCounted::CutBy(_))));
}

#[test]
fn a_removal_that_the_root_left_standing_binds() {
    let mut shop = workshop();
    let good = shop.say(1, removal(2, &[]));
    let wrong = shop.say(1, removal(3, &[]));
    shop.say(0, removal(1, &[(shop.document, &[good])]));
    let roster = shop.read();
    assert_eq!(roster.removals_of(key(2)).len(), 1);
    assert!(roster.removals_of(key(3)).is_empty());
    assert!(matches!(shop.judge(&roster, wrong), Err(NotCounted::CutBy(_))));
}

#[test]
fn leads_made_by_a_key_the_root_cut_off_never_were() {
    let mut shop = workshop();
    let before = shop.say(1, device(4, somebody(4), LEAD));
    shop.say(1, device(5, somebody(5), LEAD));
    shop.say(4, removal(2, &[]));
    shop.say(5, removal(3, &[]));
    shop.say(0, removal(1, &[(shop.document, &[before])]));
    let roster = shop.read();
    assert_eq!(roster.removals_of(key(2)).len(), 1);
    assert!(roster.removals_of(key(3)).is_empty());
}

#[test]
fn leads_made_by_a_key_another_lead_removed_were_lead_once() {
    let mut shop = workshop();
    shop.say(1, device(4, somebody(4), LEAD));
    shop.say(4, removal(2, &[]));
    shop.say(3, removal(1, &[]));
    let roster = shop.read();
    assert_eq!(roster.person_of(key(4)), None, "the grant is cut");
    assert_eq!(roster.removals_of(key(2)).len(), 1, "but what it removed stays removed");
}

#[test]
fn grants_of_a_removed_lead_stand_where_accepted() {
    let mut shop = workshop();
    let kept = shop.say(1, device(4, somebody(4), MEMBER));
    shop.say(1, device(5, somebody(5), MEMBER));
    shop.say(3, removal(1, &[(shop.document, &[kept])]));
    let roster = shop.read();
    assert!(roster.roles_of(key(4)).member);
    assert_eq!(roster.person_of(key(5)), None);
}

#[test]
fn the_root_cannot_be_removed() {
    let mut shop = workshop();
    shop.say(1, removal(0, &[]));
    shop.say(0, removal(0, &[]));
    let grant = shop.say(0, device(4, somebody(4), MEMBER));
    let roster = shop.read();
    assert_eq!(shop.judge(&roster, grant), Ok(()));
    assert!(roster.roles_of(key(4)).member);
    let removed = roster.findings().iter().filter(|f| f.rule == "root-key-removed");
    assert_eq!(removed.count(), 2);
}

#[test]
fn one_document_named_twice_keeps_both_lists() {
    let mut shop = workshop();
    let mut record = record(&shop);
    let one = record.say_after(2, note("one"), []);
    let two = record.say_after(2, note("two"), []);
    shop.say(1, removal(2, &[(record.document, &[one]), (record.document, &[two])]));
    let roster = shop.read();
    assert_eq!((record.judge(&roster, one), record.judge(&roster, two)), (Ok(()), Ok(())));
}

/// Whichever of the two is looked at first, the other one cuts what it keeps.
#[test]
fn two_removals_with_nothing_in_common_leave_nothing() {
    let mut shop = workshop();
    let mut record = record(&shop);
    let one = record.say_after(2, note("one"), []);
    let two = record.say_after(2, note("two"), []);
    let keeps_one = shop.say(1, removal(2, &[(record.document, &[one])]));
    let keeps_two = shop.say(3, removal(2, &[(record.document, &[two])]));
    let roster = shop.read();
    assert_eq!(record.judge(&roster, one), Err(NotCounted::CutBy(keeps_two)));
    assert_eq!(record.judge(&roster, two), Err(NotCounted::CutBy(keeps_one)));
}
