//! The question the probe is asked, and core's answer. Compiled for wasm32 by the probe and for
//! this machine by the test that compares the two.

use std::fmt::Write as _;

use gudgeon_core::entry::{DocumentId, Payload, check, claimed_id};

/// Makes a question: a document, and values that may or may not be entries of it.
///
/// Shape: 32 bytes of document id, then each value behind its length (4 bytes, little endian).
#[must_use]
#[allow(dead_code, reason = "the probe only answers")]
pub(crate) fn question(document: DocumentId, values: &[Vec<u8>]) -> Vec<u8> {
    let mut bytes = document.bytes().to_vec();
    for value in values {
        let length = u32::try_from(value.len()).unwrap_or(u32::MAX);
        bytes.extend(length.to_le_bytes());
        bytes.extend(value);
    }
    bytes
}

/// What core makes of each value, one line each: refusals must read the same everywhere too.
#[must_use]
pub(crate) fn answer(question: &[u8]) -> Vec<u8> {
    let Some((document, mut rest)) = question.split_at_checked(32) else {
        return b"no document".to_vec();
    };
    let Some(document) = DocumentId::from_slice(document) else {
        return b"no document".to_vec();
    };
    let mut lines = String::new();
    while let Some((value, after)) = next(rest) {
        // writing to a string cannot fail
        let _ = writeln!(lines, "{}", gate(document, value));
        rest = after;
    }
    lines.into_bytes()
}

fn next(bytes: &[u8]) -> Option<(&[u8], &[u8])> {
    let (length, rest) = bytes.split_first_chunk::<4>()?;
    rest.split_at_checked(usize::try_from(u32::from_le_bytes(*length)).ok()?)
}

fn gate(document: DocumentId, value: &[u8]) -> String {
    let Some(id) = claimed_id(value) else {
        return "claims no id".to_owned();
    };
    match check(id, value, document) {
        Err(refusal) => format!("{id} refused: {refusal} ({})", refusal.rule()),
        Ok(entry) => {
            let envelope = entry.envelope();
            let payload = Payload::read(envelope.kind_code, &envelope.payload);
            format!("{id} kept: {envelope:?} says {payload:?}")
        }
    }
}
