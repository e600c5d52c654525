//! The whitelist parser: reads exactly what the encoder writes, and nothing else.
//!
//! It does a bounded amount of work for any bytes: no run is unrolled past the number of
//! keys, no length is believed before that many bytes are there, nothing is inflated.
//! Last of all the encoder writes what was read, and the bytes must be the same; the
//! rules before that only give better names to what is wrong.

use std::ops::Range;

use data_encoding::HEXLOWER;

use super::change::Change;
use super::column::{BadSizes, COLUMNS, KEYS, SIZES, VALUES, read_sizes};
use super::encode::{CHANGE_CHUNK, Heading, MAGIC, check, content, hash_of, other_actors};
use super::hash::{Actor, ChangeHash};
use super::limits::{MAX_CHANGE, MAX_DEPS, MAX_PUTS};
use super::number::Reader;
use super::rule::{Illegal, Rule};
use crate::entry::EntryId;

/// Reads one change.
///
/// # Errors
/// [`Illegal`] if core's encoder would not have written these very bytes.
pub fn parse(raw: &[u8]) -> Result<Change, Illegal> {
    let content = open_chunk(raw)?;
    let hash = hash_of(content);
    if raw.get(MAGIC.len()..8) != Some(&hash.bytes()[..4]) {
        return Err(Illegal::new(Rule::Checksum));
    }
    read_content(raw, content, hash).map_err(|illegal| illegal.with_hash(hash))
}

/// Takes off the header; the checksum in it is for the caller.
fn open_chunk(raw: &[u8]) -> Result<&[u8], Illegal> {
    if raw.len() > MAX_CHANGE {
        return Err(Illegal::found(Rule::TooLarge, raw.len()));
    }
    let mut reader = Reader::new(raw);
    let magic = reader.take(MAGIC.len());
    let checksum = reader.take(4);
    if magic != Some(&MAGIC) || checksum.is_none() || reader.byte() != Some(CHANGE_CHUNK) {
        return Err(Illegal::new(Rule::Chunk));
    }
    let length = reader.size().ok_or(Illegal::new(Rule::Number))?;
    if reader.rest().len() != length {
        return Err(Illegal::found(Rule::Length, reader.rest().len()));
    }
    Ok(reader.rest())
}

fn read_content(raw: &[u8], content_bytes: &[u8], hash: ChangeHash) -> Result<Change, Illegal> {
    let mut reader = Reader::new(content_bytes);
    let deps = read_deps(&mut reader)?;
    let actor = read_actor(&mut reader)?;
    let seq = read_number(&mut reader)?;
    let start_op = read_number(&mut reader)?;
    read_constants(&mut reader)?;
    let columns = read_columns(&mut reader)?;
    let ids = read_keys(columns[KEYS])?;
    let sizes = read_sizes(columns[SIZES], ids.len()).map_err(|bad| match bad {
        BadSizes::Shape => Illegal::new(Rule::NotCanonical),
        BadSizes::Kind => Illegal::new(Rule::ValueKind),
    })?;
    let values = cut(columns[VALUES], &sizes)?;
    let puts: Vec<_> = ids.iter().copied().zip(values).collect();

    let heading = Heading { actor, seq, start_op, deps: &deps };
    check(heading, &puts)?;
    if content(heading, &puts) != content_bytes {
        return Err(Illegal::new(Rule::NotCanonical));
    }
    let places = places(raw.len() - tail_length(content_bytes, &columns), &ids, &sizes);
    Ok(Change { hash, actor, seq, start_op, deps: deps.into(), puts: places, raw: raw.into() })
}

fn read_number(reader: &mut Reader<'_>) -> Result<u64, Illegal> {
    reader.unsigned().ok_or(Illegal::new(Rule::Number))
}

fn read_deps(reader: &mut Reader<'_>) -> Result<Vec<ChangeHash>, Illegal> {
    let count = reader.size().ok_or(Illegal::new(Rule::Number))?;
    if count > MAX_DEPS {
        return Err(Illegal::found(Rule::DepsCount, count));
    }
    let bytes = reader.take(32 * count).ok_or(Illegal::new(Rule::Length))?;
    Ok(bytes.chunks_exact(32).filter_map(ChangeHash::from_slice).collect())
}

fn read_actor(reader: &mut Reader<'_>) -> Result<Actor, Illegal> {
    let length = reader.size().ok_or(Illegal::new(Rule::Number))?;
    if length != 16 {
        return Err(Illegal::found(Rule::ActorLength, length));
    }
    let bytes = reader.take(16).and_then(Actor::from_slice);
    bytes.ok_or(Illegal::new(Rule::Length))
}

/// Time, message and other actors: the same in every change.
fn read_constants(reader: &mut Reader<'_>) -> Result<(), Illegal> {
    for rule in [Rule::Time, Rule::Message] {
        match reader.byte() {
            Some(0) => {}
            Some(_) => return Err(Illegal::new(rule)),
            None => return Err(Illegal::new(Rule::Length)),
        }
    }
    let expected = other_actors();
    if !reader.rest().starts_with(&expected) {
        return Err(Illegal::new(Rule::OtherActors));
    }
    reader.take(expected.len());
    Ok(())
}

/// The eight columns, from a table that must list exactly them.
fn read_columns<'a>(reader: &mut Reader<'a>) -> Result<[&'a [u8]; COLUMNS.len()], Illegal> {
    if reader.size() != Some(COLUMNS.len()) {
        return Err(Illegal::new(Rule::Columns));
    }
    let mut sizes = [0; COLUMNS.len()];
    for ((spec, _), size) in COLUMNS.iter().zip(&mut sizes) {
        if reader.byte() != Some(*spec) {
            return Err(Illegal::new(Rule::Columns));
        }
        *size = reader.size().ok_or(Illegal::new(Rule::Number))?;
    }
    let mut columns: [&[u8]; COLUMNS.len()] = [&[]; COLUMNS.len()];
    for (column, size) in columns.iter_mut().zip(sizes) {
        *column = reader.take(size).ok_or(Illegal::new(Rule::Columns))?;
    }
    if !reader.rest().is_empty() {
        return Err(Illegal::found(Rule::ExtraBytes, reader.rest().len()));
    }
    Ok(columns)
}

/// One literal run of entry ids.
fn read_keys(column: &[u8]) -> Result<Vec<EntryId>, Illegal> {
    let mut reader = Reader::new(column);
    let run = reader.run().ok_or(Illegal::new(Rule::PutCount))?;
    let count = usize::from(run.unsigned_abs());
    if run >= 0 || count > MAX_PUTS {
        return Err(Illegal::found(Rule::PutCount, count));
    }
    let mut ids = Vec::with_capacity(count);
    for _ in 0..count {
        ids.push(read_key(&mut reader).ok_or(Illegal::new(Rule::Key))?);
    }
    match reader.rest() {
        [] => Ok(ids),
        _ => Err(Illegal::new(Rule::PutCount)),
    }
}

fn read_key(reader: &mut Reader<'_>) -> Option<EntryId> {
    if reader.size()? != 64 {
        return None;
    }
    let digits = reader.take(64)?;
    let mut id = [0; 32];
    HEXLOWER.decode_mut(digits, &mut id).ok()?;
    Some(EntryId::new(id))
}

fn cut<'a>(column: &'a [u8], sizes: &[usize]) -> Result<Vec<&'a [u8]>, Illegal> {
    let mut reader = Reader::new(column);
    let mut values = Vec::with_capacity(sizes.len());
    for size in sizes {
        values.push(reader.take(*size).ok_or(Illegal::new(Rule::NotCanonical))?);
    }
    Ok(values)
}

/// Bytes from the first value to the end of the change.
fn tail_length(content: &[u8], columns: &[&[u8]; COLUMNS.len()]) -> usize {
    let tail: usize = columns.iter().skip(VALUES).map(|column| column.len()).sum();
    tail.min(content.len())
}

/// Where in the raw bytes each value lies.
fn places(start: usize, ids: &[EntryId], sizes: &[usize]) -> std::sync::Arc<[(EntryId, Range<usize>)]> {
    let mut at = start;
    ids.iter()
        .zip(sizes)
        .map(|(id, size)| {
            let from = at;
            at += size;
            (*id, from..at)
        })
        .collect()
}
