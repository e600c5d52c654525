//! Three phones and the relay's desk, by the plan's exchange: everybody ends with the same.
#![allow(clippy::unwrap_used)]

use gudgeon_core::document::{Actor, ChangeHash, Document};
use gudgeon_core::entry::{DocumentId, Entry, check};
use gudgeon_relay::{Ask, Desk};
use gudgeon_tests::large::large;

struct Phone {
    document: Document,
    relay_heads: Vec<ChangeHash>,
}

impl Phone {
    fn new() -> Self {
        Self { document: Document::new(), relay_heads: Vec::new() }
    }

    fn write(&mut self, actor: u8, entries: &[Entry]) {
        let actor = Actor::from_slice(&[actor; 16]).unwrap();
        let values: Vec<_> = entries.iter().map(|entry| (entry.id(), entry.value().to_vec())).collect();
        self.document.commit(actor, &values).unwrap();
    }

    /// Exchanges until the relay has nothing more to say.
    fn sync(&mut self, workshop: DocumentId, id: DocumentId, desk: &mut Desk) {
        loop {
            let lacking = self.document.answer(&self.relay_heads, usize::MAX);
            let changes = lacking.changes.iter().map(|change| change.raw().to_vec()).collect();
            let heads = [self.relay_heads.clone(), self.document.heads()].concat();
            let answer = desk.exchange(&Ask { workshop, document: id, heads, changes });
            assert!(answer.refused.is_empty(), "{:?}", answer.refused);
            self.document.receive(&answer.changes, &mut |entry, value| {
                check(entry, value, id).map(drop).map_err(Into::into)
            });
            let forgot = answer.unknown.iter().any(|head| self.document.contains(head));
            // A relay that lost what it had names the heads it does not know: send from the start.
            self.relay_heads = if forgot { Vec::new() } else { answer.heads };
            if !answer.more && !forgot {
                return;
            }
        }
    }
}

fn ids(document: &Document) -> Vec<String> {
    document.entries().map(|put| put.id.to_hex()).collect()
}

#[test]
fn three_phones_end_with_the_same_entries_through_the_desk_and_after_it_is_wiped() {
    let large = large(90);
    let id = large.record_id();
    let mut desk = Desk::new();
    let mut phones = [Phone::new(), Phone::new(), Phone::new()];
    for (number, entries) in (0u8..).zip(large.record.chunks(30)) {
        phones[usize::from(number)].write(number + 1, entries);
    }
    for _ in 0..2 {
        for phone in &mut phones {
            phone.sync(large.workshop_id(), id, &mut desk);
        }
    }
    assert_eq!(ids(desk.document(id).unwrap()).len(), 90);

    let mut desk = Desk::new();
    for phone in &mut phones {
        phone.sync(large.workshop_id(), id, &mut desk);
    }
    for phone in &phones {
        assert_eq!(ids(&phone.document), ids(desk.document(id).unwrap()));
    }
}

#[test]
fn a_forged_entry_is_refused_at_the_desk_and_reaches_nobody() {
    let large = large(10);
    let id = large.record_id();
    let mut forged = Document::new();
    let entry = &large.record[3];
    let mut value = entry.value().to_vec();
    value[40] ^= 1;
    let actor = Actor::from_slice(&[9; 16]).unwrap();
    let changes = forged.commit(actor, &[(entry.id(), value)]).unwrap();
    let mut desk = Desk::new();
    let changes = changes.iter().map(|change| change.raw().to_vec()).collect();
    let answer =
        desk.exchange(&Ask { workshop: large.workshop_id(), document: id, heads: Vec::new(), changes });
    assert_eq!(answer.refused[0].rule, "bad-signature");
    assert!(desk.document(id).is_none());
    assert!(answer.changes.is_empty());
}
