//! Who counts, case by case as the rules put it: hand-written, so that the oracle itself rests on something.
//! Invented data; the expected answers follow from the rules on authority in the plan.
#![allow(clippy::unwrap_used)]

use std::collections::{BTreeMap, BTreeSet};

use gudgeon_tests::model::who::{
    Document, Entries, Entry, Id, Key, Kind, Person, Role, Roles, Verdict, counts,
};

const ROOT: Key = Key(0);
const ANN: Key = Key(1);
const BOB: Key = Key(2);
const CAI: Key = Key(3);
const SHOP: Document = Document::Workshop;
const RECORD: Document = Document::Record(1);
const MEMBER: Roles = Roles { member: true, lead: false };
const LEAD: Roles = Roles { member: true, lead: true };

fn entry(author: Key, document: Document, kind: Kind, after: &[&Entry]) -> Entry {
    Entry::new(author, document, kind, after.iter().map(|entry| entry.id).collect())
}

fn work(author: Key, text: u64, after: &[&Entry]) -> Entry {
    entry(author, RECORD, Kind::Work { needs: Role::Member, text }, after)
}

fn grant(by: Key, key: Key, person: u32, roles: Roles) -> Entry {
    entry(by, SHOP, Kind::Grant { key, person: Person(person), roles }, &[])
}

fn removal(by: Key, key: Key, shop: &[&Entry], record: &[&Entry], after: &[&Entry]) -> Entry {
    let ids = |entries: &[&Entry]| -> BTreeSet<Id> { entries.iter().map(|entry| entry.id).collect() };
    let last = BTreeMap::from([(SHOP, ids(shop)), (RECORD, ids(record))]);
    entry(by, SHOP, Kind::Removal { key, last }, after)
}

fn admit(by: Key, named: &[&Entry]) -> Entry {
    entry(by, SHOP, Kind::Admit { ids: named.iter().map(|entry| entry.id).collect() }, &[])
}

fn judge(entries: &[&Entry]) -> Verdict {
    counts(&Entries::new(ROOT, entries.iter().map(|entry| (*entry).clone())))
}

#[track_caller]
fn check(entries: &[&Entry], counted: &[&Entry]) {
    let named: BTreeSet<Id> = counted.iter().map(|entry| entry.id).collect();
    assert_eq!(judge(entries).counted, named);
}

#[test]
fn work_counts_once_its_key_is_granted_whenever_that_was() {
    let (early, made) = (work(ANN, 1, &[]), grant(ROOT, ANN, 1, MEMBER));
    check(&[&early], &[]);
    check(&[&early, &made], &[&early, &made]);
}

#[test]
fn a_member_grants_nobody() {
    let (made, tried) = (grant(ROOT, ANN, 1, MEMBER), grant(ANN, BOB, 2, MEMBER));
    check(&[&made, &tried, &work(BOB, 1, &[])], &[&made]);
}

#[test]
fn a_removal_keeps_what_it_lists_and_what_that_reaches() {
    let made = grant(ROOT, ANN, 1, MEMBER);
    let first = work(ANN, 1, &[]);
    let last = work(ANN, 2, &[&first]);
    let late = work(ANN, 3, &[&last]);
    let aside = work(ANN, 4, &[&first]);
    let removed = removal(ROOT, ANN, &[], &[&last], &[]);
    check(&[&made, &first, &last, &late, &aside, &removed], &[&made, &first, &last, &removed]);
    let nothing = removal(ROOT, ANN, &[], &[], &[]);
    check(&[&made, &first, &last, &removed, &nothing], &[&made, &removed, &nothing]);
}

#[test]
fn two_leads_who_remove_each_other_are_both_removed() {
    let (ann, bob) = (grant(ROOT, ANN, 1, LEAD), grant(ROOT, BOB, 2, LEAD));
    let (first, second) = (removal(ANN, BOB, &[], &[], &[]), removal(BOB, ANN, &[], &[], &[]));
    let all = [&ann, &bob, &first, &second, &work(ANN, 1, &[]), &work(BOB, 2, &[])];
    check(&all, &[&ann, &bob]);
    assert_eq!(judge(&all).in_force, BTreeSet::from([first.id, second.id]));
}

#[test]
fn the_root_cuts_what_a_removed_lead_wrote_later_and_another_lead_cannot() {
    let (ann, cai) = (grant(ROOT, ANN, 1, LEAD), grant(ROOT, CAI, 3, MEMBER));
    let struck = removal(ANN, CAI, &[], &[], &[]);
    let done = work(CAI, 1, &[]);
    let cut = removal(ROOT, ANN, &[], &[], &[]);
    check(&[&ann, &cai, &struck, &done, &cut], &[&ann, &cai, &done, &cut]);
    let (bob, by_bob) = (grant(ROOT, BOB, 2, LEAD), removal(BOB, ANN, &[], &[], &[]));
    check(&[&ann, &bob, &cai, &struck, &done, &by_bob], &[&ann, &bob, &cai, &by_bob]);
}

#[test]
fn an_admit_brings_back_an_entry_and_the_same_key_s_earlier_ones() {
    let (ann, bob) = (grant(ROOT, ANN, 1, LEAD), grant(ROOT, BOB, 2, MEMBER));
    let first = work(BOB, 1, &[]);
    let last = work(BOB, 2, &[&first]);
    let later = work(BOB, 3, &[&last]);
    let removed = removal(ROOT, BOB, &[], &[], &[]);
    let let_in = admit(ANN, &[&last]);
    let all = [&ann, &bob, &first, &last, &later, &removed, &let_in];
    check(&all, &[&ann, &bob, &first, &last, &removed, &let_in]);
}

#[test]
fn an_admit_that_needs_an_admit_admits_nothing() {
    let (ann, bob) = (grant(ROOT, ANN, 1, LEAD), grant(ROOT, BOB, 2, MEMBER));
    let (done, gone) = (work(BOB, 1, &[]), removal(ROOT, BOB, &[], &[], &[]));
    let cut = removal(ROOT, ANN, &[], &[], &[]);
    let by_removed = admit(ANN, &[&done]);
    let of_that = admit(ROOT, &[&by_removed]);
    let all = [&ann, &bob, &done, &gone, &cut, &by_removed, &of_that];
    check(&all, &[&ann, &bob, &gone, &cut, &by_removed, &of_that]);
}

#[test]
fn a_key_of_two_persons_counts_for_nobody_and_of_two_roles_for_both_only() {
    let (one, two) = (grant(ROOT, ANN, 1, LEAD), grant(ROOT, ANN, 2, LEAD));
    check(&[&one, &two, &work(ANN, 1, &[])], &[&one, &two]);
    let less = grant(ROOT, ANN, 1, MEMBER);
    let (done, tried) = (work(ANN, 1, &[]), grant(ANN, BOB, 2, MEMBER));
    check(&[&one, &less, &done, &tried], &[&one, &less, &done]);
}

#[test]
fn a_grant_by_a_key_of_two_persons_speaks_against_nobody() {
    let (one, two) = (grant(ROOT, ANN, 1, LEAD), grant(ROOT, ANN, 2, LEAD));
    let (wrong, right) = (grant(ANN, BOB, 7, MEMBER), grant(ROOT, BOB, 2, MEMBER));
    let done = work(BOB, 1, &[]);
    check(&[&one, &two, &wrong, &right, &done], &[&one, &two, &right, &done]);
}

#[test]
fn a_key_that_grants_itself_to_another_person_counts_for_nobody() {
    let (made, itself) = (grant(ROOT, ANN, 1, LEAD), grant(ANN, ANN, 2, LEAD));
    check(&[&made, &itself, &work(ANN, 1, &[])], &[&made]);
}

#[test]
fn a_removal_without_its_ground_has_no_effect_yet() {
    let (made, done) = (grant(ROOT, ANN, 1, MEMBER), work(ANN, 1, &[]));
    let ground = grant(ROOT, BOB, 2, MEMBER);
    let removed = removal(ROOT, ANN, &[], &[], &[&ground]);
    check(&[&made, &done, &removed], &[&made, &done]);
    check(&[&made, &done, &removed, &ground], &[&made, &removed, &ground]);
}

#[test]
fn a_roster_act_in_a_record_has_no_effect() {
    let kind = Kind::Grant { key: ANN, person: Person(1), roles: MEMBER };
    check(&[&entry(ROOT, RECORD, kind, &[]), &work(ANN, 1, &[])], &[]);
}

#[test]
fn two_entries_of_one_key_that_do_not_know_each_other_are_a_fork() {
    let first = work(ANN, 1, &[]);
    let (left, right) = (work(ANN, 2, &[&first]), work(ANN, 3, &[&first]));
    let pair = (left.id.min(right.id), left.id.max(right.id));
    assert_eq!(judge(&[&first, &left, &right]).forks, BTreeSet::from([pair]));
}
