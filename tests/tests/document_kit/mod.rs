//! Shared by the document tests: invented entries, and a forge for changes.
//!
//! The forge is a second writer of the chunk, independent of core's, that can write what
//! core's never would, with a checksum that is right.
#![allow(dead_code, clippy::unwrap_used)]

use gudgeon_core::document::{Actor, ChangeHash, GENESIS_ACTOR, Received, Refusal, genesis_hash};
use gudgeon_core::entry::EntryId;
use sha2::{Digest, Sha256};

/// An invented entry: one byte that stands for the signature, then a body. The id covers
/// the body only, as a true entry's does.
pub(crate) fn entry(number: u32, signature: u8, length: usize) -> (EntryId, Vec<u8>) {
    let mut body = number.to_be_bytes().to_vec();
    body.resize(length.max(5) - 1, number.to_le_bytes()[0]);
    let id = EntryId::new(Sha256::digest(&body).into());
    let mut value = vec![signature];
    value.extend(body);
    (id, value)
}

/// The gate of the invented entries.
pub(crate) fn gate(id: EntryId, value: &[u8]) -> Result<(), Refusal> {
    let body = value.get(1..).unwrap_or_default();
    if id == EntryId::new(Sha256::digest(body).into()) {
        return Ok(());
    }
    Err(Refusal { rule: "wrong-id", hint: "the id is not that of the body".to_owned() })
}

/// An actor; some sort before the genesis actor and some after it.
pub(crate) fn actor(number: u8) -> Actor {
    Actor([number.wrapping_mul(37); 16])
}

pub(crate) fn rules(received: &Received) -> Vec<&'static str> {
    received.refused.iter().map(|refused| refused.rule).collect()
}

/// A small generator of numbers (xorshift), so that a failing run can be repeated.
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1)
    }

    pub(crate) fn below(&mut self, limit: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 >> 20).unwrap() % limit.max(1)
    }

    pub(crate) fn byte(&mut self) -> u8 {
        self.below(256).to_le_bytes()[0]
    }

    pub(crate) fn shuffle<T>(&mut self, items: &mut [T]) {
        for at in (1..items.len()).rev() {
            items.swap(at, self.below(at + 1));
        }
    }
}

/// The parts of a change, each free to be wrong.
#[derive(Clone)]
pub(crate) struct Forged {
    pub(crate) deps: Vec<ChangeHash>,
    pub(crate) actor: Vec<u8>,
    pub(crate) seq: u64,
    pub(crate) start_op: u64,
    pub(crate) time: i64,
    pub(crate) message: Vec<u8>,
    pub(crate) other_actors: Vec<Vec<u8>>,
    pub(crate) columns: Vec<(u64, Vec<u8>)>,
    pub(crate) extra: Vec<u8>,
}

pub(crate) const OBJECT_COUNTER: usize = 1;
pub(crate) const KEY: usize = 2;
pub(crate) const INSERT: usize = 3;
pub(crate) const ACTION: usize = 4;
pub(crate) const SIZE: usize = 5;
pub(crate) const VALUE: usize = 6;

impl Forged {
    /// A sound change on the genesis that puts one entry.
    pub(crate) fn sound(id: EntryId, value: &[u8]) -> Self {
        let mut size = vec![0x7f];
        unsigned(u64::try_from(value.len()).unwrap() << 4 | 7, &mut size);
        Self {
            deps: vec![genesis_hash()],
            actor: actor(7).bytes().to_vec(),
            seq: 1,
            start_op: 2,
            time: 0,
            message: vec![],
            other_actors: vec![GENESIS_ACTOR.bytes().to_vec()],
            columns: vec![
                (0x01, vec![0x7f, 1]),
                (0x02, vec![0x7f, 1]),
                (0x15, keys(&[&id.to_hex()])),
                (0x34, vec![1]),
                (0x42, vec![0x7f, 1]),
                (0x56, size),
                (0x57, value.to_vec()),
                (0x70, vec![0x7f, 0]),
            ],
            extra: vec![],
        }
    }

    pub(crate) fn content(&self) -> Vec<u8> {
        let mut out = Vec::new();
        count(self.deps.len(), &mut out);
        for dep in &self.deps {
            out.extend(dep.bytes());
        }
        prefixed(&self.actor, &mut out);
        unsigned(self.seq, &mut out);
        unsigned(self.start_op, &mut out);
        signed(self.time, &mut out);
        prefixed(&self.message, &mut out);
        count(self.other_actors.len(), &mut out);
        for other in &self.other_actors {
            prefixed(other, &mut out);
        }
        count(self.columns.len(), &mut out);
        for (spec, data) in &self.columns {
            unsigned(*spec, &mut out);
            count(data.len(), &mut out);
        }
        for (_, data) in &self.columns {
            out.extend(data);
        }
        out.extend(&self.extra);
        out
    }

    pub(crate) fn build(&self) -> Vec<u8> {
        seal(1, &self.content())
    }
}

/// A literal run of keys.
pub(crate) fn keys(names: &[&str]) -> Vec<u8> {
    let mut column = Vec::new();
    signed(-i64::try_from(names.len()).unwrap(), &mut column);
    for name in names {
        prefixed(name.as_bytes(), &mut column);
    }
    column
}

/// Puts a header with the right checksum before the content of a chunk.
pub(crate) fn seal(chunk_type: u8, content: &[u8]) -> Vec<u8> {
    let mut typed = vec![chunk_type];
    count(content.len(), &mut typed);
    typed.extend(content);
    let digest = Sha256::digest(&typed);
    let mut chunk = vec![0x85, 0x6f, 0x4a, 0x83];
    chunk.extend(&digest[..4]);
    chunk.extend(typed);
    chunk
}

/// The content of a chunk with a header of this application's making.
pub(crate) fn open(chunk: &[u8]) -> &[u8] {
    let length = chunk[9..].iter().position(|byte| byte & 0x80 == 0).unwrap();
    &chunk[9 + length + 1..]
}

pub(crate) fn unsigned(mut value: u64, out: &mut Vec<u8>) {
    while value >= 0x80 {
        out.push(value.to_le_bytes()[0] | 0x80);
        value >>= 7;
    }
    out.push(value.to_le_bytes()[0]);
}

pub(crate) fn signed(mut value: i64, out: &mut Vec<u8>) {
    while !(-64..64).contains(&value) {
        out.push(value.to_le_bytes()[0] | 0x80);
        value >>= 7;
    }
    out.push(value.to_le_bytes()[0] & 0x7f);
}

fn count(value: usize, out: &mut Vec<u8>) {
    unsigned(u64::try_from(value).unwrap(), out);
}

fn prefixed(bytes: &[u8], out: &mut Vec<u8>) {
    count(bytes.len(), out);
    out.extend(bytes);
}
