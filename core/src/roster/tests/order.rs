//! The roster does not hang on the order in which entries came.

use super::*;
use crate::entry::Entry;

/// All orders of up to six entries (the count is checked).
fn orders<T: Clone>(items: &[T]) -> Vec<Vec<T>> {
    let Some((last, rest)) = items.split_last() else { return vec![Vec::new()] };
    let mut all = Vec::new();
    for order in orders(rest) {
        for place in 0..=order.len() {
            let mut order = order.clone();
            order.insert(place, last.clone());
            all.push(order);
        }
    }
    all
}

fn read(document: DocumentId, entries: &[Entry]) -> (Roster, BTreeMap<EntryId, Result<(), NotCounted>>) {
    let mut log = Log::new(document);
    entries.iter().for_each(|entry| _ = log.insert(entry));
    let roster = Roster::read(&log);
    let verdicts = (0..).zip(log.folded()).map(|(ix, s)| (s.id, roster.counts(&log, ix))).collect();
    (roster, verdicts)
}

/// Six entries after a founding, in every order; they know only the founding, or each other as said.
fn check_orders(says: impl FnOnce(&mut Book)) {
    let mut shop = Book::found(0, "Invented Works", None);
    says(&mut shop);
    assert!(shop.entries.len() <= 6);
    let first = read(shop.document, &shop.entries);
    let all = orders(&shop.entries);
    assert_eq!(all.len(), (1..=shop.entries.len()).product::<usize>());
    for order in all {
        assert_eq!(read(shop.document, &order), first);
    }
}

#[test]
fn a_chain_of_grants_in_any_order() {
    check_orders(|shop| {
        let root = shop.founding();
        shop.say_after(0, device(1, somebody(1), BOTH), [root]);
        shop.say_after(1, device(2, somebody(2), BOTH), [root]);
        shop.say_after(2, device(3, somebody(3), MEMBER), [root]);
        shop.say_after(2, device(3, somebody(3), BOTH), [root]);
        shop.say_after(3, instrument("M1", ""), [root]);
    });
}

#[test]
fn leads_removing_each_other_in_any_order() {
    check_orders(|shop| {
        let root = shop.founding();
        let one = shop.say_after(0, device(1, somebody(1), BOTH), [root]);
        let two = shop.say_after(1, device(2, somebody(2), BOTH), [one]);
        shop.say_after(1, removal(2, &[]), [two]);
        shop.say_after(2, removal(1, &[(shop.document, &[two])]), [two]);
        shop.say_after(2, admit(&[two]), [two]);
    });
}

#[test]
fn versions_and_contradictions_in_any_order() {
    check_orders(|shop| {
        let root = shop.founding();
        shop.say_after(0, device(1, somebody(1), BOTH), [root]);
        let base = shop.say_after(1, instrument("M1", "a"), []);
        shop.say_after(1, instrument("M1", "b"), [base]);
        shop.say_after(1, instrument("M1", "c"), [base]);
        shop.say_after(1, device(1, somebody(9), BOTH), []);
    });
}

#[test]
fn everything_said_in_order_and_carried_in_reverse() {
    let mut shop = workshop();
    let grant = shop.say(1, device(4, somebody(4), BOTH));
    shop.say(4, instrument("M4", "four"));
    shop.say(3, removal(1, &[(shop.document, &[grant])]));
    shop.say(4, admit(&[grant]));
    let reversed: Vec<Entry> = shop.entries.iter().rev().cloned().collect();
    assert_eq!(read(shop.document, &reversed), read(shop.document, &shop.entries));
}
