//! What was refused, kept so that somebody can look at it later; and its written form.

use gudgeon_core::document::{ChangeHash, Refused};
use gudgeon_core::entry::EntryId;

/// Most rows of what was refused kept for one document; the first stay, since the first
/// tells how it began, and a flood must not wash it away.
pub const MAX_REFUSED: usize = 256;

/// Most bytes kept of a rule's name or of a hint.
const MAX_TEXT: usize = 1024;

/// Something that was refused.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RefusedRow {
    /// Name of the change; of bytes too damaged to have one, their SHA-256.
    pub change: ChangeHash,
    /// The entry at fault, if it was an entry.
    pub entry: Option<EntryId>,
    /// Short name of the rule.
    pub rule: String,
    /// What is expected, and the way out.
    pub hint: String,
    /// When it arrived, by the relay's clock (ms since 1970, UTC).
    pub received_at_ms: u64,
}

impl RefusedRow {
    /// A row of what the gate or the document refused.
    #[must_use]
    pub fn new(refused: &Refused, received_at_ms: u64) -> Self {
        Self {
            change: refused.change,
            entry: refused.entry,
            rule: refused.rule.to_owned(),
            hint: refused.hint.clone(),
            received_at_ms,
        }
    }

    /// What tells rows of one document apart: the change, then the entry if there is one.
    /// The same refusal again is the same row.
    pub(super) fn key(&self) -> Vec<u8> {
        let entry = self.entry.iter().flat_map(|entry| entry.bytes());
        self.change.bytes().iter().chain(entry).copied().collect()
    }

    /// Time (8 bytes, big-endian), length of the rule's name (2 bytes), name, hint.
    pub(super) fn value(&self) -> Vec<u8> {
        let (rule, hint) = (clipped(&self.rule), clipped(&self.hint));
        let length = u16::try_from(rule.len()).unwrap_or(u16::MAX);
        [&self.received_at_ms.to_be_bytes()[..], &length.to_be_bytes(), rule.as_bytes(), hint.as_bytes()]
            .concat()
    }

    /// The row that has this key and value, if they are of this form.
    pub(super) fn read(key: &[u8], value: &[u8]) -> Option<Self> {
        let (change, entry) = key.split_at_checked(32)?;
        let entry = if entry.is_empty() { None } else { Some(EntryId::from_slice(entry)?) };
        let (time, rest) = value.split_first_chunk()?;
        let (length, rest) = rest.split_first_chunk()?;
        let (rule, hint) = rest.split_at_checked(usize::from(u16::from_be_bytes(*length)))?;
        Some(Self {
            change: ChangeHash::from_slice(change)?,
            entry,
            rule: String::from_utf8(rule.to_vec()).ok()?,
            hint: String::from_utf8(hint.to_vec()).ok()?,
            received_at_ms: u64::from_be_bytes(*time),
        })
    }
}

/// As much of a text as is kept, in whole characters.
fn clipped(text: &str) -> &str {
    let end = (0..=MAX_TEXT.min(text.len())).rev().find(|end| text.is_char_boundary(*end));
    &text[..end.unwrap_or(0)]
}

/// Rows in the order in which they arrived.
pub(super) fn by_arrival(mut rows: Vec<RefusedRow>) -> Vec<RefusedRow> {
    rows.sort_by_key(|row| (row.received_at_ms, row.key()));
    rows
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn row(entry: Option<EntryId>, hint: &str) -> RefusedRow {
        let hint = hint.to_owned();
        RefusedRow { change: ChangeHash([1; 32]), entry, rule: "signature".into(), hint, received_at_ms: 7 }
    }

    #[test]
    fn a_row_is_read_back_as_it_was_written() {
        for row in [row(None, ""), row(Some(EntryId::new([2; 32])), "20 \u{b0}C; sign again")] {
            assert_eq!(RefusedRow::read(&row.key(), &row.value()).unwrap(), row);
        }
    }

    #[test]
    fn bytes_of_another_form_are_no_row() {
        let row = row(None, "hint");
        assert_eq!(RefusedRow::read(&row.key()[1..], &row.value()), None);
        assert_eq!(RefusedRow::read(&[row.key(), vec![0]].concat(), &row.value()), None);
        for cut in 0..19 {
            assert_eq!(RefusedRow::read(&row.key(), &row.value()[..cut]), None, "{cut}");
        }
    }

    #[test]
    fn a_long_hint_is_clipped_between_two_characters() {
        let long = row(None, &"\u{b5}m ".repeat(1000));
        let kept = RefusedRow::read(&long.key(), &long.value()).unwrap();
        assert!(kept.hint.len() <= MAX_TEXT && kept.hint.len() > MAX_TEXT - 4);
        assert!(long.hint.starts_with(&kept.hint));
    }
}
