//! Entries taken in although a removal cut them off.

use super::*;

/// A record with three notes of member 2, who was then removed with nothing.
fn cut_off() -> (Book, Book, [EntryId; 3], EntryId) {
    let mut shop = workshop();
    let mut record = record(&shop);
    let notes = ["one", "two", "three"].map(|text| record.say(2, note(text)));
    let removal = shop.say(1, removal(2, &[]));
    (shop, record, notes, removal)
}

#[test]
fn an_admit_takes_in_the_entry_and_that_keys_earlier_ones() {
    let (mut shop, record, [first, second, third], removal) = cut_off();
    shop.say(3, admit(&[second]));
    let roster = shop.read();
    let verdicts = [first, second, third].map(|id| record.judge(&roster, id));
    assert_eq!(verdicts, [Ok(()), Ok(()), Err(NotCounted::CutBy(removal))]);
}

#[test]
fn an_admit_takes_in_no_other_keys_entries() {
    let mut shop = workshop();
    let mut record = record(&shop);
    let theirs = record.say(3, note("theirs"));
    let mine = record.say(2, note("mine"));
    shop.say(0, removal(2, &[]));
    let removal = shop.say(0, removal(3, &[]));
    shop.say(1, admit(&[mine]));
    let roster = shop.read();
    assert_eq!(record.judge(&roster, mine), Ok(()));
    assert_eq!(record.judge(&roster, theirs), Err(NotCounted::CutBy(removal)));
}

#[test]
fn only_the_root_and_leads_admit() {
    for (by, expected) in [(0, true), (1, true), (2, false), (9, false)] {
        let (mut shop, record, [first, ..], _) = cut_off();
        shop.say(by, admit(&[first]));
        assert_eq!(record.judge(&shop.read(), first).is_ok(), expected, "by {by}");
    }
}

#[test]
fn an_admitted_entry_still_needs_its_role() {
    let (mut shop, mut record, _, _) = cut_off();
    let id = record.say(2, decision("+0.5"));
    shop.say(1, admit(&[id]));
    assert_eq!(record.judge(&shop.read(), id), Err(NotCounted::NeedsLead(Kind::Decision)));
}

#[test]
fn an_admitted_grant_makes_its_key_count() {
    let mut shop = workshop();
    let grant = shop.say(3, device(4, somebody(4), MEMBER));
    shop.say(1, removal(3, &[]));
    assert_eq!(shop.read().person_of(key(4)), None);
    shop.say(1, admit(&[grant]));
    assert!(shop.read().roles_of(key(4)).member);
}

#[test]
fn a_cut_off_admit_admits_nothing() {
    let (mut shop, record, [first, ..], _) = cut_off();
    shop.say(3, admit(&[first]));
    shop.say(1, removal(3, &[]));
    assert!(record.judge(&shop.read(), first).is_err());
}

#[test]
fn an_admit_that_was_itself_admitted_admits_nothing() {
    let (mut shop, record, [first, ..], _) = cut_off();
    let inner = shop.say(3, admit(&[first]));
    shop.say(1, removal(3, &[]));
    shop.say(1, admit(&[inner]));
    let roster = shop.read();
    assert_eq!(shop.judge(&roster, inner), Ok(()));
    assert!(record.judge(&roster, first).is_err());
    assert!(roster.findings().iter().any(|f| f.rule == "without-effect" && f.entries == [inner]));
}

#[test]
fn a_lead_only_by_an_admitted_grant_admits_nothing() {
    let (mut shop, record, [first, ..], _) = cut_off();
    let grant = shop.say(3, device(4, somebody(4), LEAD));
    shop.say(1, removal(3, &[]));
    shop.say(1, admit(&[grant]));
    let by_it = shop.say(4, admit(&[first]));
    let roster = shop.read();
    assert!(roster.roles_of(key(4)).lead);
    assert_eq!(shop.judge(&roster, by_it), Ok(()));
    assert!(record.judge(&roster, first).is_err());
}

#[test]
fn two_leads_admitting_each_other_stay_out() {
    let mut shop = workshop();
    let before = shop.log().after(key(1));
    let first = shop.say_after(1, removal(3, &[]), before.clone());
    let second = shop.say_after(3, removal(1, &[]), before);
    let one = shop.say(1, admit(&[second]));
    let three = shop.say(3, admit(&[first, one]));
    let roster = shop.read();
    assert!([first, second, one, three].iter().all(|id| shop.judge(&roster, *id).is_err()));
    shop.say(0, admit(&[one, three]));
    let roster = shop.read();
    assert!([one, three].iter().all(|id| shop.judge(&roster, *id).is_ok()), "the root takes them in");
    assert!(!roster.may_connect(key(1)), "removed they stay");
}

#[test]
fn a_removal_that_the_root_cut_off_binds_nobody_even_when_admitted() {
    let mut shop = workshop();
    let wrong = shop.say(1, removal(2, &[]));
    shop.say(0, removal(1, &[]));
    shop.say(0, admit(&[wrong]));
    let roster = shop.read();
    assert_eq!(shop.judge(&roster, wrong), Ok(()));
    assert!(roster.removals_of(key(2)).is_empty());
    assert!(roster.findings().iter().any(|f| f.rule == "without-effect" && f.entries == [wrong]));
}
