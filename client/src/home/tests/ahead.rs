//! What was checked ahead is taken in as if it were checked then, and what failed is refused.

use gudgeon_core::document::{Actor, Document};

use super::super::Ahead;
use super::*;

/// A home that holds the workshop, and the changes of a record that it does not hold.
fn away() -> (Home, DocumentId, Vec<Vec<u8>>) {
    let mut from = Device::default().home(1);
    let record = founded(&mut from);
    for text in ["one", "two", "three"] {
        says(&mut from, record, &ada(), text);
    }
    let mut to = Device::default().home(2);
    let workshop = from.workshop().unwrap();
    to.receive(workshop, &raws(from.document(workshop).unwrap())).unwrap();
    let changes = raws(from.document(record).unwrap());
    (to, record, changes)
}

fn raws(document: &Document) -> Vec<Vec<u8>> {
    document.changes_from(0).iter().map(|change| change.raw().to_vec()).collect()
}

#[test]
fn it_goes_slice_by_slice_and_is_then_taken_in() {
    let (mut home, record, changes) = away();
    let mut ahead = Ahead::of(&home, record, &changes);
    let mut left = vec![ahead.left()];
    while ahead.left() > 0 {
        home.check_ahead(&mut ahead, 3);
        left.push(ahead.left());
    }
    assert_eq!(left, [4, 1, 0]);
    let report = home.receive(record, &changes).unwrap();
    assert_eq!((report.new.len(), report.refused.len()), (4, 0));
    assert_eq!(Ahead::of(&home, record, &changes).left(), 0, "what is held waits for no check");
}

#[test]
fn a_forged_value_is_refused_though_it_was_looked_at_ahead() {
    let (mut home, record, changes) = away();
    let mut sound = Document::new();
    sound.receive(&changes, &mut |_, _| Ok(()));
    let mut puts: Vec<(EntryId, Vec<u8>)> = sound.entries().map(|put| (put.id, put.value.to_vec())).collect();
    let last = puts.iter_mut().find(|(id, _)| DocumentId::from(*id) != record).unwrap();
    let forged = last.0;
    last.1[40] ^= 1; // within the signature
    let mut document = Document::new();
    let put: Vec<(EntryId, &[u8])> = puts.iter().map(|(id, value)| (*id, value.as_slice())).collect();
    document.commit(Actor([9; 16]), &put).unwrap();
    let changes = raws(&document);
    let mut ahead = Ahead::of(&home, record, &changes);
    home.check_ahead(&mut ahead, usize::MAX);
    let report = home.receive(record, &changes).unwrap();
    assert!(report.refused.iter().any(|refused| refused.entry == Some(forged)), "{report:?}");
    assert!(!ids(&home, record).contains(&forged));
}
