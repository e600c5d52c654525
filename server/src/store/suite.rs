//! What every store must do; each store's tests call these.
#![allow(clippy::unwrap_used)]

use gudgeon_core::document::{ChangeHash, MAX_CHANGE};
use gudgeon_core::entry::{DocumentId, EntryId};

use super::{Append, MAX_REFUSED, MAX_SETTING, RefusedRow, Store, StoreError, Trouble};

/// Sizes of changes that matter: nothing, an entry, a small and a large photo, the most.
pub(crate) const SIZES: [usize; 8] = [0, 1, 100, 16 * 1024, 130_000, 600_000, MAX_CHANGE - 1, MAX_CHANGE];

pub(crate) fn document(number: u8) -> DocumentId {
    DocumentId::new([number; 32])
}

/// A change whose bytes tell its document, position and length.
pub(crate) fn change(number: u8, at: u64, length: usize) -> Append {
    let stamp = [&[number][..], &at.to_be_bytes(), &length.to_be_bytes()].concat();
    let raw: Vec<u8> = stamp.iter().copied().cycle().take(length).collect();
    Append { document: document(number), at, raw: raw.into() }
}

fn raws(rows: &[Append]) -> Vec<Vec<u8>> {
    rows.iter().map(|row| row.raw.to_vec()).collect()
}

fn trouble<T: std::fmt::Debug>(outcome: Result<T, StoreError>) -> Trouble {
    let error = outcome.unwrap_err();
    assert!(!error.hint().is_empty());
    error.trouble()
}

/// Everything that needs no reopening; `new` makes an empty store each time.
pub(crate) fn holds<S: Store>(new: &mut dyn FnMut() -> S) {
    let parts: [fn(&mut dyn Store); 8] = [
        begins_empty,
        keeps_order,
        keeps_documents_apart,
        keeps_every_size,
        takes_the_same_twice,
        refuses_what_is_out_of_place,
        keeps_settings,
        keeps_what_was_refused_within_bounds,
    ];
    parts.iter().for_each(|part| part(&mut new()));
}

fn begins_empty(store: &mut dyn Store) {
    assert_eq!(store.documents().unwrap(), []);
    assert_eq!(store.load(document(1)).unwrap(), Vec::<Vec<u8>>::new());
    assert_eq!(store.refused(document(1)).unwrap(), []);
    store.append(&[]).unwrap();
    store.flush().unwrap();
    assert_eq!(store.cut_at_damage(document(1)).unwrap(), 0);
    assert_eq!(store.documents().unwrap(), []);
}

fn keeps_order(store: &mut dyn Store) {
    let rows: Vec<Append> = (0..300).map(|at| change(7, at, 60)).collect();
    store.append(&rows[..1]).unwrap();
    store.append(&rows[1..270]).unwrap();
    store.flush().unwrap();
    store.append(&rows[270..]).unwrap();
    assert_eq!(store.load(document(7)).unwrap(), raws(&rows));
    let mut seen = Vec::new();
    let ended = store.walk(document(7), &mut |at, _| {
        seen.push(at);
        if at == 3 { Err(StoreError::new(Trouble::Device, "looking", "enough")) } else { Ok(()) }
    });
    assert_eq!((trouble(ended), seen), (Trouble::Device, vec![0, 1, 2, 3]));
}

fn keeps_documents_apart(store: &mut dyn Store) {
    let mixed = [(255, 0), (0, 0), (9, 0), (0, 1), (255, 1), (9, 1), (0, 2)];
    let mixed = mixed.map(|(number, at)| change(number, at, 40));
    store.append(&mixed).unwrap();
    assert_eq!(store.documents().unwrap(), [document(0), document(9), document(255)]);
    for number in [0, 9, 255, 1] {
        let own: Vec<_> = mixed.iter().filter(|row| row.document == document(number)).cloned().collect();
        assert_eq!(store.load(document(number)).unwrap(), raws(&own), "{number}");
    }
}

fn keeps_every_size(store: &mut dyn Store) {
    let rows: Vec<Append> = (0..).zip(SIZES).map(|(at, length)| change(1, at, length)).collect();
    store.append(&rows).unwrap();
    store.flush().unwrap();
    assert_eq!(store.load(document(1)).unwrap(), raws(&rows));
    let total: usize = SIZES.iter().sum();
    assert!(store.size_on_disk().unwrap() >= u64::try_from(total).unwrap());
}

fn takes_the_same_twice(store: &mut dyn Store) {
    let rows = [change(1, 0, 100), change(1, 1, 40_000), change(1, 2, 0)];
    store.append(&rows[..2]).unwrap();
    store.append(&rows).unwrap();
    store.flush().unwrap();
    store.append(&[rows[1].clone(), rows[1].clone(), rows[0].clone()]).unwrap();
    assert_eq!(store.load(document(1)).unwrap(), raws(&rows));
}

fn refuses_what_is_out_of_place(store: &mut dyn Store) {
    let rows = [change(1, 0, 100), change(1, 1, 40_000)];
    store.append(&rows).unwrap();
    let other = |at, length| change(1, at, length);
    for wrong in [other(0, 99), other(1, 39_999), other(1, 40_001), other(1, 0), other(3, 10)] {
        let good = change(2, 0, 10);
        let said = format!("{} {}", wrong.at, wrong.raw.len());
        assert_eq!(trouble(store.append(&[good, wrong])), Trouble::Unfit, "{said}");
    }
    let twice = [change(3, 0, 10), change(3, 0, 11)];
    assert_eq!(trouble(store.append(&twice)), Trouble::Unfit);
    assert_eq!(store.load(document(1)).unwrap(), raws(&rows));
    assert_eq!(store.documents().unwrap(), [document(1)], "of a refused batch nothing is put in");
    store.append(&[change(1, 2, 5), change(2, 0, 10)]).unwrap();
    assert_eq!(store.load(document(1)).unwrap().len(), 3);
}

fn keeps_settings(store: &mut dyn Store) {
    let before = store.settings().unwrap().len();
    assert_eq!(store.setting("relay-key").unwrap(), None);
    store.set_setting("relay-key", b"first").unwrap();
    store.set_setting("relay-key-2", b"").unwrap();
    store.set_setting("relay-key", b"second").unwrap();
    store.flush().unwrap();
    assert_eq!(store.setting("relay-key").unwrap().unwrap(), b"second");
    assert_eq!(store.setting("relay-key-2").unwrap().unwrap(), b"");
    assert_eq!(store.setting("relay").unwrap(), None);
    assert_eq!(store.settings().unwrap().len(), before + 2);
    store.clear_setting("relay-key-2").unwrap();
    store.clear_setting("relay-key-2").unwrap();
    assert_eq!(store.setting("relay-key-2").unwrap(), None);
    assert!(store.settings().unwrap().is_sorted());
    assert_eq!(trouble(store.set_setting("large", &vec![0; MAX_SETTING])), Trouble::Unfit);
    assert_eq!(store.documents().unwrap(), []);
}

pub(crate) fn refused(number: u8, time: u64, entry: Option<u8>) -> RefusedRow {
    RefusedRow {
        change: ChangeHash([number; 32]),
        entry: entry.map(|entry| EntryId::new([entry; 32])),
        rule: "signature".to_owned(),
        hint: "sign the entry with the key it names".to_owned(),
        received_at_ms: time,
    }
}

fn keeps_what_was_refused_within_bounds(store: &mut dyn Store) {
    assert!(store.keep_refused(document(1), &refused(9, 1, None)).unwrap());
    assert!(store.keep_refused(document(1), &refused(9, 2, Some(1))).unwrap());
    assert!(store.keep_refused(document(1), &refused(3, 3, None)).unwrap());
    assert!(!store.keep_refused(document(1), &refused(9, 4, None)).unwrap(), "the same again");
    assert!(store.keep_refused(document(2), &refused(9, 5, None)).unwrap());
    let expected = [refused(9, 1, None), refused(9, 2, Some(1)), refused(3, 3, None)];
    assert_eq!(store.refused(document(1)).unwrap(), expected);
    for number in 0..=u8::MAX {
        store.keep_refused(document(1), &refused(number, 10, Some(7))).unwrap();
    }
    store.flush().unwrap();
    let kept = store.refused(document(1)).unwrap();
    assert_eq!(kept.len(), MAX_REFUSED);
    assert_eq!(kept[..3], expected, "the first stay");
    assert_eq!(store.refused(document(2)).unwrap(), [refused(9, 5, None)]);
    assert_eq!(store.refused_documents().unwrap(), [document(1), document(2)]);
    assert_eq!(store.documents().unwrap(), [], "what is refused makes no document");
}

/// Loses the change at a position, or a part of it.
pub(crate) type Lose<'a, S> = dyn FnMut(&mut S, DocumentId, u64) + 'a;

/// A damaged document stops neither the others nor what is before the damage.
pub(crate) fn bears_damage<S: Store>(store: &mut S, lose: &mut Lose<'_, S>) {
    let rows: Vec<Append> = (0..5).map(|at| change(2, at, 50_000)).collect();
    let others = [change(1, 0, 10), change(3, 0, 10)];
    store.append(&rows).unwrap();
    store.append(&others).unwrap();
    store.flush().unwrap();
    lose(store, document(2), 2);
    let mut seen = Vec::new();
    let outcome = store.walk(document(2), &mut |_, raw| {
        seen.push(raw.to_vec());
        Ok(())
    });
    assert_eq!(trouble(outcome), Trouble::Damaged);
    assert_eq!(seen, raws(&rows[..2]));
    let said = store.load(document(2)).unwrap_err().to_string();
    assert!(said.contains("change 2") && said.contains(&document(2).short()), "{said}");
    assert_eq!(store.documents().unwrap(), [document(1), document(2), document(3)]);
    assert_eq!(store.load(document(1)).unwrap(), raws(&others[..1]));
    assert_eq!(store.load(document(3)).unwrap(), raws(&others[1..]));
    is_cut_and_filled_again(store, &rows);
}

fn is_cut_and_filled_again(store: &mut dyn Store, rows: &[Append]) {
    assert_eq!(store.cut_at_damage(document(2)).unwrap(), 2);
    assert_eq!(store.load(document(2)).unwrap(), raws(&rows[..2]));
    assert_eq!(store.cut_at_damage(document(2)).unwrap(), 2, "a sound document is left alone");
    store.append(&[change(2, 2, 70_000)]).unwrap();
    store.flush().unwrap();
    assert_eq!(store.load(document(2)).unwrap().len(), 3);
    assert_eq!(store.load(document(1)).unwrap().len(), 1);
}

/// Fills a store, for [`is_filled`] after it was opened again.
pub(crate) fn fill(store: &mut dyn Store) {
    let rows: Vec<Append> = (0..).zip(SIZES).map(|(at, length)| change(1, at, length)).collect();
    store.append(&rows).unwrap();
    store.append(&[change(2, 0, 300)]).unwrap();
    store.set_setting("relay-key", b"kept").unwrap();
    store.keep_refused(document(3), &refused(1, 2, Some(3))).unwrap();
    store.flush().unwrap();
}

/// Whether everything of [`fill`] is there and nothing else, and more can be put in.
pub(crate) fn is_filled(store: &mut dyn Store) {
    let rows: Vec<Append> = (0..).zip(SIZES).map(|(at, length)| change(1, at, length)).collect();
    assert_eq!(store.documents().unwrap(), [document(1), document(2)]);
    assert_eq!(store.load(document(1)).unwrap(), raws(&rows));
    assert_eq!(store.load(document(2)).unwrap(), raws(&[change(2, 0, 300)]));
    assert_eq!(store.settings().unwrap(), [("relay-key".to_owned(), b"kept".to_vec())]);
    assert_eq!(store.refused_documents().unwrap(), [document(3)]);
    assert_eq!(store.refused(document(3)).unwrap(), [refused(1, 2, Some(3))]);
    store.append(&rows[3..]).unwrap();
    assert_eq!(trouble(store.append(&[change(2, 0, 301)])), Trouble::Unfit);
    assert_eq!(trouble(store.append(&[change(2, 2, 300)])), Trouble::Unfit);
    store.append(&[change(2, 1, 300)]).unwrap();
    store.flush().unwrap();
    assert_eq!(store.load(document(2)).unwrap().len(), 2);
}
