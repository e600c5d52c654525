//! The questions the probe is asked, and core's answers. Compiled for wasm32 by the probe and
//! for this machine by the test that compares the two.
//!
//! The first byte of a question says what is asked: a new question is a letter and a function.

use std::fmt::Write as _;

use gudgeon_core::assess::{Record, Workshop, assess};
use gudgeon_core::document::{Bundle, Carried, Document};
use gudgeon_core::entry::{DocumentId, EntryId, Payload, check, claimed_id, read_checked};
use gudgeon_core::log::Log;

/// Followed by 32 bytes of document id, then values, each behind its length (4 bytes, little
/// endian): what does the gate say of each?
pub(crate) const GATE: u8 = b'g';

/// Followed by a bundle file: what is in it, and what is taken of it?
pub(crate) const BUNDLE: u8 = b'b';

/// Followed by a bundle file whose first document is the workshop: what follows from it?
pub(crate) const ASSESS: u8 = b'a';

/// What core says. Refusals are answers too: they must read the same everywhere.
#[must_use]
pub(crate) fn answer(question: &[u8]) -> Vec<u8> {
    let mut said = String::new();
    match question.split_first() {
        Some((&GATE, rest)) => gate(rest, &mut said),
        Some((&BUNDLE, file)) => bundle(file, &mut said),
        Some((&ASSESS, file)) => assessment(file, &mut said),
        _ => said.push_str("no question"),
    }
    said.into_bytes()
}

/// Adds a line; writing to a string cannot fail.
macro_rules! say {
    ($said:expr, $($words:tt)*) => {
        let _ = writeln!($said, $($words)*);
    };
}

fn gate(question: &[u8], said: &mut String) {
    let (document, mut rest) = question.split_at_checked(32).unwrap_or_default();
    let Some(document) = DocumentId::from_slice(document) else {
        say!(said, "no document");
        return;
    };
    while let Some((value, after)) = next(rest) {
        match claimed_id(value) {
            Some(id) => value_of(id, value, document, said),
            None => {
                say!(said, "claims no id");
            }
        }
        rest = after;
    }
}

fn next(bytes: &[u8]) -> Option<(&[u8], &[u8])> {
    let (length, rest) = bytes.split_first_chunk::<4>()?;
    rest.split_at_checked(usize::try_from(u32::from_le_bytes(*length)).ok()?)
}

fn value_of(id: EntryId, value: &[u8], document: DocumentId, said: &mut String) {
    match check(id, value, document) {
        Err(refusal) => {
            say!(said, "{id} refused: {refusal} ({})", refusal.rule());
        }
        Ok(entry) => {
            let envelope = entry.envelope();
            let payload = Payload::read(envelope.kind_code, &envelope.payload);
            say!(said, "{id} kept: {envelope:?} says {payload:?}");
        }
    }
}

fn bundle(file: &[u8], said: &mut String) {
    match Bundle::read(file) {
        Err(error) => {
            say!(said, "no bundle: {error}");
        }
        Ok(bundle) => {
            say!(said, "of {}", bundle.root());
            bundle.documents().iter().for_each(|carried| take(carried, said));
        }
    }
}

/// Takes a document as a phone would, then has Automerge save it.
fn take(carried: &Carried, said: &mut String) {
    let id = carried.document();
    let mut document = Document::new();
    let received = document.receive(carried.changes(), &mut |entry, value| {
        check(entry, value, id).map(drop).map_err(Into::into)
    });
    say!(said, "{id}: {received:?}");
    say!(said, "heads {:?}, second opinion {:?}", document.heads(), document.check());
    for put in document.entries() {
        value_of(put.id, put.value, id, said);
    }
    say!(said, "saved {:?}", document.save());
}

/// The assessment and the printed record of every document after the first.
fn assessment(file: &[u8], said: &mut String) {
    let Ok(bundle) = Bundle::read(file) else {
        say!(said, "no bundle");
        return;
    };
    let Some((workshop, records)) = bundle.documents().split_first() else {
        say!(said, "an empty bundle");
        return;
    };
    let workshop = Workshop::read(log(workshop));
    for carried in records {
        let record = Record::read(log(carried));
        let assessment = assess(&record, &workshop);
        say!(said, "{}", assessment.to_json(&record, &workshop));
    }
}

/// The entries of a carried document. Signatures were asked for elsewhere; here it is the
/// arithmetic that must agree, over more entries than a check each would allow.
fn log(carried: &Carried) -> Log {
    let id = carried.document();
    let mut log = Log::new(id);
    let mut document = Document::new();
    document.receive(carried.changes(), &mut |entry, value| {
        log.insert(&read_checked(entry, value, id)?);
        Ok(())
    });
    log
}
