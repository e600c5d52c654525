//! The columns of a change that puts entries into the map, in the order they are stored.
//!
//! Run-length columns hold runs: a count above zero and the value repeated, or a count
//! below zero and that many values. Automerge writes a run wherever two neighbours are
//! equal and a literal elsewhere; so must we.

use super::encode::PutRef;
use super::number::{Reader, write_signed, write_size, write_unsigned};

/// Column number times 16 plus column type, and what writes the column.
type Column = (u8, fn(&[PutRef<'_>], &mut Vec<u8>));

/// Index into the change's actors, itself first: the genesis actor is the second.
const GENESIS_INDEX: u8 = 1;
/// Counter of the genesis operation.
const MAP_COUNTER: u8 = 1;
/// Action number of a put.
const PUT: u8 = 1;
/// No predecessors.
const NONE: u8 = 0;
/// Type of a bytes value, in the low four bits of its length.
const BYTES: u64 = 7;

/// Position of the columns that are read back.
pub(super) const KEYS: usize = 2;
pub(super) const SIZES: usize = 5;
pub(super) const VALUES: usize = 6;

/// Every column of a legal change, in order; the omitted ones are empty.
pub(super) const COLUMNS: [Column; 8] = [
    (0x01, |puts, out| write_same(GENESIS_INDEX, puts, out)), // object, actor
    (0x02, |puts, out| write_same(MAP_COUNTER, puts, out)),   // object, counter
    (0x15, write_keys),                                       // key
    (0x34, |puts, out| write_size(puts.len(), out)),          // insert: never
    (0x42, |puts, out| write_same(PUT, puts, out)),           // action
    (0x56, write_sizes),                                      // kind and size of the value
    (0x57, write_values),                                     // the values
    (0x70, |puts, out| write_same(NONE, puts, out)),          // count of predecessors
];

/// One small number for every put.
fn write_same(value: u8, puts: &[PutRef<'_>], out: &mut Vec<u8>) {
    match puts.len() {
        1 => write_count(1, true, out),
        count => write_count(count, false, out),
    }
    out.push(value);
}

fn write_count(count: usize, literal: bool, out: &mut Vec<u8>) {
    let count = i64::try_from(count).unwrap_or(i64::MAX);
    write_signed(if literal { -count } else { count }, out);
}

/// The keys differ, so they are one literal run.
fn write_keys(puts: &[PutRef<'_>], out: &mut Vec<u8>) {
    write_count(puts.len(), true, out);
    for (id, _) in puts {
        out.push(64);
        out.extend_from_slice(&hex(id.bytes()));
    }
}

fn hex(bytes: &[u8; 32]) -> [u8; 64] {
    let mut digits = [0; 64];
    data_encoding::HEXLOWER.encode_mut(bytes, &mut digits);
    digits
}

fn write_sizes(puts: &[PutRef<'_>], out: &mut Vec<u8>) {
    let mut rest = puts;
    while let Some((_, first)) = rest.first() {
        let same = rest.iter().take_while(|(_, value)| value.len() == first.len()).count();
        let taken = if same > 1 { same } else { literal_length(rest) };
        write_count(taken, same == 1, out);
        let (run, after) = rest.split_at(taken);
        let told = if same > 1 { &run[..1] } else { run };
        for (_, value) in told {
            write_unsigned(kind_and_size(value), out);
        }
        rest = after;
    }
}

/// How many values stand before the next two of equal size.
fn literal_length(puts: &[PutRef<'_>]) -> usize {
    puts.windows(2).position(|pair| pair[0].1.len() == pair[1].1.len()).unwrap_or(puts.len())
}

fn kind_and_size(value: &[u8]) -> u64 {
    u64::try_from(value.len()).unwrap_or(u64::MAX) << 4 | BYTES
}

fn write_values(puts: &[PutRef<'_>], out: &mut Vec<u8>) {
    for (_, value) in puts {
        out.extend_from_slice(value);
    }
}

/// Why a column of sizes cannot be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum BadSizes {
    /// Cut short, more or fewer than the keys, or not minimal.
    Shape,
    /// A value that is not bytes.
    Kind,
}

/// Reads exactly `count` sizes; never does more work than that, whatever a run claims.
pub(super) fn read_sizes(column: &[u8], count: usize) -> Result<Vec<usize>, BadSizes> {
    let mut reader = Reader::new(column);
    let mut sizes = Vec::with_capacity(count);
    while sizes.len() < count {
        let run = reader.run().ok_or(BadSizes::Shape)?;
        let length = usize::from(run.unsigned_abs());
        if length > count - sizes.len() {
            return Err(BadSizes::Shape);
        }
        match run {
            0 => return Err(BadSizes::Kind), // a run of nulls
            1.. => {
                let size = read_size(&mut reader)?;
                sizes.extend(std::iter::repeat_n(size, length));
            }
            _ => {
                for _ in 0..length {
                    sizes.push(read_size(&mut reader)?);
                }
            }
        }
    }
    reader.rest().is_empty().then_some(sizes).ok_or(BadSizes::Shape)
}

fn read_size(reader: &mut Reader<'_>) -> Result<usize, BadSizes> {
    let kind_and_size = reader.size().ok_or(BadSizes::Shape)?;
    let is_bytes = kind_and_size & 15 == 7;
    is_bytes.then_some(kind_and_size >> 4).ok_or(BadSizes::Kind)
}
