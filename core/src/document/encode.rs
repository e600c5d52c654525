//! Core's own writer of a change: the definition of a legal one.

use sha2::{Digest, Sha256};

use super::column::COLUMNS;
use super::genesis::{GENESIS_ACTOR, GENESIS_OP};
use super::hash::{Actor, ChangeHash};
use super::limits::{MAX_CHANGE, MAX_DEPS, MAX_ENTRY, MAX_OP, MAX_PUTS, MAX_SEQ};
use super::number::{write_size, write_unsigned};
use super::rule::{Illegal, Rule};
use crate::entry::EntryId;

/// An entry to be put: its id and its bytes.
pub(super) type PutRef<'a> = (EntryId, &'a [u8]);

/// First bytes of every chunk.
pub(super) const MAGIC: [u8; 4] = [0x85, 0x6f, 0x4a, 0x83];
/// Chunk type of an uncompressed change.
pub(super) const CHANGE_CHUNK: u8 = 1;

/// What a change says beside its entries.
#[derive(Clone, Copy)]
pub(super) struct Heading<'a> {
    pub(super) actor: Actor,
    pub(super) seq: u64,
    pub(super) start_op: u64,
    pub(super) deps: &'a [ChangeHash],
}

/// Writes the one legal form of a change.
///
/// `deps` and the ids of `puts` are sorted and without repeats; `seq` counts the actor's
/// changes from 1 and `start_op` the operations from 2.
///
/// # Errors
/// [`Illegal`] names the rule that the arguments break: the same rules that
/// [`parse`](super::parse) holds against bytes.
pub fn encode(
    actor: Actor,
    seq: u64,
    start_op: u64,
    deps: &[ChangeHash],
    puts: &[(EntryId, &[u8])],
) -> Result<Vec<u8>, Illegal> {
    let heading = Heading { actor, seq, start_op, deps };
    check(heading, puts)?;
    let content = content(heading, puts);
    let mut chunk = header(hash_of(&content), content.len());
    chunk.extend_from_slice(&content);
    if chunk.len() > MAX_CHANGE {
        return Err(Illegal::found(Rule::TooLarge, chunk.len()));
    }
    Ok(chunk)
}

/// The rules that are about what is said, not about how it is written.
pub(super) fn check(heading: Heading<'_>, puts: &[PutRef<'_>]) -> Result<(), Illegal> {
    check_heading(heading, puts.len())?;
    if !puts.is_sorted_by(|a, b| a.0 < b.0) {
        return Err(Illegal::new(Rule::KeyOrder));
    }
    for (_, value) in puts {
        if value.is_empty() {
            return Err(Illegal::new(Rule::EntryEmpty));
        }
        if value.len() > MAX_ENTRY {
            return Err(Illegal::found(Rule::EntryTooLarge, value.len()));
        }
    }
    Ok(())
}

fn check_heading(heading: Heading<'_>, puts: usize) -> Result<(), Illegal> {
    if heading.deps.is_empty() || heading.deps.len() > MAX_DEPS {
        return Err(Illegal::found(Rule::DepsCount, heading.deps.len()));
    }
    if !heading.deps.is_sorted_by(|a, b| a < b) {
        return Err(Illegal::new(Rule::DepsOrder));
    }
    if heading.actor == GENESIS_ACTOR {
        return Err(Illegal::new(Rule::ActorGenesis));
    }
    if heading.seq == 0 || heading.seq > MAX_SEQ {
        return Err(Illegal::new(Rule::Seq));
    }
    if puts == 0 || puts > MAX_PUTS {
        return Err(Illegal::found(Rule::PutCount, puts));
    }
    let last_op = u64::try_from(puts).ok().and_then(|n| heading.start_op.checked_add(n - 1));
    match last_op {
        Some(last) if heading.start_op > GENESIS_OP && last <= MAX_OP => Ok(()),
        _ => Err(Illegal::new(Rule::StartOp)),
    }
}

/// Everything after the header. Total for any arguments, so that the parser can compare.
pub(super) fn content(heading: Heading<'_>, puts: &[PutRef<'_>]) -> Vec<u8> {
    let (sizes, data) = columns(puts);
    let mut out = Vec::with_capacity(128 + 32 * heading.deps.len() + data.len());
    write_size(heading.deps.len(), &mut out);
    for dep in heading.deps {
        out.extend_from_slice(dep.bytes());
    }
    write_actor(heading.actor, &mut out);
    write_unsigned(heading.seq, &mut out);
    write_unsigned(heading.start_op, &mut out);
    out.extend_from_slice(&[0, 0]); // time, length of the message
    out.extend_from_slice(&other_actors());
    write_size(COLUMNS.len(), &mut out);
    for ((spec, _), size) in COLUMNS.iter().zip(sizes) {
        out.push(*spec);
        write_size(size, &mut out);
    }
    out.extend_from_slice(&data);
    out
}

/// Size of each column, and all of them one after the other.
fn columns(puts: &[PutRef<'_>]) -> ([usize; COLUMNS.len()], Vec<u8>) {
    let values: usize = puts.iter().map(|(_, value)| value.len()).sum();
    let mut data = Vec::with_capacity(values + 70 * puts.len() + 32);
    let sizes = COLUMNS.map(|(_, write)| {
        let start = data.len();
        write(puts, &mut data);
        data.len() - start
    });
    (sizes, data)
}

fn write_actor(actor: Actor, out: &mut Vec<u8>) {
    out.push(16);
    out.extend_from_slice(actor.bytes());
}

/// The list of other actors: one, the genesis.
pub(super) fn other_actors() -> [u8; 18] {
    let mut list = [0; 18];
    list[0] = 1;
    list[1] = 16;
    list[2..].copy_from_slice(GENESIS_ACTOR.bytes());
    list
}

/// Name of the change with this content.
pub(super) fn hash_of(content: &[u8]) -> ChangeHash {
    let mut head = vec![CHANGE_CHUNK];
    write_size(content.len(), &mut head);
    let digest = Sha256::new().chain_update(head).chain_update(content).finalize();
    ChangeHash(digest.into())
}

/// Magic, checksum, type and length.
pub(super) fn header(hash: ChangeHash, length: usize) -> Vec<u8> {
    let mut out = Vec::with_capacity(16 + length);
    out.extend_from_slice(&MAGIC);
    out.extend_from_slice(&hash.bytes()[..4]);
    out.push(CHANGE_CHUNK);
    write_size(length, &mut out);
    out
}
