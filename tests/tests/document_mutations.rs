//! Thousands of altered changes: none makes the parser panic, and whatever is taken is taken
//! by Automerge as well, to the same heads, bytes and entries.
#![allow(clippy::unwrap_used)]

mod document_kit;

use std::collections::{BTreeMap, BTreeSet};

use document_kit::{Dice, actor, entry, open, seal};
use gudgeon_core::document::{Change, Document, GENESIS, encode, genesis_hash, parse};
use gudgeon_core::entry::EntryId;

/// A document with forks and joins, and changes of one and of many puts.
fn document() -> Document {
    let mut document = Document::new();
    document.commit(actor(1), &[entry(0, 1, 350)]).unwrap();
    let mut fork = document.clone();
    fork.commit(actor(2), &[entry(1, 1, 40), entry(2, 1, 40), entry(3, 1, 60)]).unwrap();
    document.commit(actor(1), &[entry(4, 1, 5)]).unwrap();
    let raws: Vec<_> = fork.changes_from(1).iter().map(|change| change.raw().to_vec()).collect();
    document.receive(&raws, &mut |_, _| Ok(()));
    let many: Vec<_> =
        (10..30).map(|number| entry(number, 1, 30 + usize::try_from(number).unwrap() % 3)).collect();
    document.commit(actor(3), &many).unwrap();
    document
}

/// Alters some bytes: flips, sets, cuts, repeats, or a piece of another change.
fn mutate(bytes: &mut Vec<u8>, donor: &[u8], dice: &mut Dice) {
    for _ in 0..=dice.below(3) {
        if bytes.is_empty() {
            return;
        }
        let at = dice.below(bytes.len());
        let length = dice.below(9).min(bytes.len() - at);
        match dice.below(6) {
            0 => bytes[at] ^= 1 << dice.below(8),
            1 => bytes[at] = [0, 1, 0x7f, 0x80, 0xff, dice.byte()][dice.below(6)],
            2 => drop(bytes.drain(at..at + length)),
            3 => bytes.truncate(at),
            4 => {
                let piece = bytes[at..at + length].to_vec();
                bytes.splice(at..at, piece);
            }
            _ => {
                let from = dice.below(donor.len());
                let piece = &donor[from..(from + length).min(donor.len())];
                bytes.splice(at..at + piece.len().min(bytes.len() - at), piece.iter().copied());
            }
        }
    }
}

/// What is legal must be exactly what the encoder writes and what Automerge reads.
fn legal_holds(raw: &[u8]) -> Option<Change> {
    let change = parse(raw).ok()?;
    let puts: Vec<(EntryId, &[u8])> = change.puts().map(|put| (put.id, put.value)).collect();
    let again = encode(change.actor(), change.seq(), change.start_op(), change.deps(), &puts).unwrap();
    assert_eq!(again, raw);
    let theirs = automerge::Change::from_bytes(raw.to_vec()).unwrap();
    assert_eq!(theirs.raw_bytes(), raw);
    assert_eq!(theirs.hash().0, change.hash().0);
    assert_eq!(theirs.len(), puts.len());
    assert_eq!(theirs.max_op(), change.max_op());
    let decoded = automerge::Change::from(theirs.decode());
    assert_eq!(decoded.raw_bytes(), raw);
    Some(change)
}

#[test]
fn altered_changes_never_panic_and_what_is_taken_is_sound() {
    let document = document();
    let originals: Vec<_> = document.changes_from(0).to_vec();
    let mut dice = Dice::new(2024);
    let (mut legal, mut taken) = (0, 0);
    for round in 0..40_000 {
        let at = dice.below(originals.len());
        let original = originals[at].raw();
        let donor = originals[dice.below(originals.len())].raw();
        let bytes = if round % 4 == 0 {
            let mut raw = original.to_vec();
            mutate(&mut raw, donor, &mut dice);
            raw
        } else {
            let mut content = open(original).to_vec();
            mutate(&mut content, open(donor), &mut dice);
            seal(1, &content)
        };
        if legal_holds(&bytes).is_none() {
            continue;
        }
        legal += 1;
        // into the document as it was before the original was written, and as it is
        for held in [at, originals.len()] {
            let mut copy = Document::new();
            let raws: Vec<_> = originals[..held].iter().map(|change| change.raw().to_vec()).collect();
            copy.receive(&raws, &mut |_, _| Ok(()));
            if !copy.receive(&[&bytes], &mut |_, _| Ok(())).accepted.is_empty() {
                taken += 1;
                copy.check().unwrap();
            }
        }
    }
    assert!(legal > 1000 && taken > 100, "the alterations must reach past the parser: {legal}, {taken}");
}

/// A change that a stranger may write: any held changes as deps, not the heads, and any
/// actor's next number; as many puts of known or new entries as it likes.
fn strange_change(document: &Document, dice: &mut Dice) -> Vec<u8> {
    let actor = actor(dice.below(9).to_le_bytes()[0] + 1);
    let held = document.changes_from(0);
    let mut deps = BTreeSet::new();
    for _ in 0..=dice.below(4) {
        let at = dice.below(held.len() + 1);
        deps.insert(held.get(at).map_or(genesis_hash(), Change::hash));
    }
    let own = held.iter().rfind(|change| change.actor() == actor);
    deps.extend(own.map(Change::hash));
    let deps: Vec<_> = deps.into_iter().collect();
    let known = held.iter().filter(|change| deps.contains(&change.hash())).map(Change::max_op);
    let start_op = known.max().unwrap_or(1) + 1;
    let puts: BTreeMap<EntryId, Vec<u8>> = (0..=dice.below(4))
        .map(|_| entry(u32::try_from(dice.below(40)).unwrap(), dice.byte() % 3, 30))
        .collect();
    let puts: Vec<_> = puts.iter().map(|(id, value)| (*id, value.as_slice())).collect();
    encode(actor, own.map_or(0, Change::seq) + 1, start_op, &deps, &puts).unwrap()
}

#[test]
fn any_legal_shape_of_history_is_sound_for_automerge() {
    for seed in 0..60 {
        let mut dice = Dice::new(seed);
        let mut document = Document::new();
        for _ in 0..dice.below(120) {
            let raw = strange_change(&document, &mut dice);
            let received = document.receive(&[&raw], &mut |_, _| Ok(()));
            assert_eq!(received.accepted.len(), 1, "seed {seed}: {:?}", received.refused);
        }
        document.check().unwrap();
        let opened = Document::from_saved(&document.save().unwrap()).unwrap();
        assert_eq!(opened.heads(), document.heads(), "seed {seed}");
    }
}

#[test]
fn bytes_of_no_meaning_never_panic() {
    let mut dice = Dice::new(7);
    for _ in 0..20_000 {
        let length = dice.below(200);
        let noise: Vec<u8> = (0..length).map(|_| dice.byte()).collect();
        assert!(parse(&noise).is_err());
        assert!(parse(&seal(1, &noise)).is_err());
    }
}

#[test]
fn every_cut_and_every_flipped_bit_is_refused_or_sound() {
    let (id, value) = entry(1, 1, 60);
    let raw = encode(actor(1), 1, 2, &[genesis_hash()], &[(id, &value)]).unwrap();
    for end in 0..raw.len() {
        assert!(parse(&raw[..end]).is_err());
    }
    let content = open(&raw);
    for at in 0..content.len() * 8 {
        let mut altered = content.to_vec();
        altered[at / 8] ^= 1 << (at % 8);
        legal_holds(&seal(1, &altered));
        let mut unsealed = raw.clone();
        unsealed[at / 8] ^= 1 << (at % 8);
        assert!(parse(&unsealed).is_err());
    }
}

#[test]
fn the_genesis_is_no_change_like_others() {
    assert!(parse(GENESIS).is_err());
}

#[test]
fn snapshots_of_something_else_are_refused() {
    use automerge::transaction::Transactable;
    let mut other = automerge::Automerge::new_with_encoding(automerge::TextEncoding::UnicodeCodePoint);
    let mut transaction = other.transaction();
    transaction.put(automerge::ROOT, "title", "not ours").unwrap();
    transaction.commit();
    assert!(Document::from_saved(&other.save()).is_err());
    assert!(Document::from_saved(b"no snapshot").is_err());
    let mut ours = document().to_automerge().unwrap();
    let mut transaction = ours.transaction();
    transaction.put(automerge::ROOT, "title", "not ours").unwrap();
    transaction.commit();
    assert!(Document::from_saved(&ours.save()).is_err());
    let empty = Document::from_saved(&Document::new().save().unwrap()).unwrap();
    assert!(empty.is_empty());
    assert_eq!(empty.heads(), [genesis_hash()]);
}
