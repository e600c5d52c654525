//! The file with which a key asks to be enrolled by hand: four lines of text.
//!
//! ```text
//! gudgeon ask 1
//! key 64 hexadecimal digits
//! label phone of Ben
//! signature 128 hexadecimal digits, over "gudgeon ask v1" and the label
//! ```
//!
//! It only asks: the signature shows that the file is whole and that the asker has the
//! key. The lead who enrols it should have it from the person's own hand.

use std::path::Path;

use data_encoding::HEXLOWER;
use gudgeon_core::entry::{Author, KeyId, tagged_signature_stands};

use crate::failure::Failure;

/// Tag under which asks are signed; no other signature uses it.
const TAG: &[u8] = b"gudgeon ask v1";

const FIRST_LINE: &str = "gudgeon ask 1";

/// Longest file that is read, in bytes.
const LONGEST: usize = 4096;

/// A key that asks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct AskFile {
    key: KeyId,
    label: String,
    signature: [u8; 64],
}

impl AskFile {
    pub(crate) fn new(author: &Author, label: &str) -> Self {
        let label = label.replace(char::is_control, " ");
        let signature = author.sign_tagged(TAG, &[label.as_bytes()]);
        Self { key: author.key(), label, signature }
    }

    pub(crate) const fn key(&self) -> KeyId {
        self.key
    }

    pub(crate) fn label(&self) -> &str {
        &self.label
    }

    pub(crate) fn to_text(&self) -> String {
        let signature = HEXLOWER.encode(&self.signature);
        format!("{FIRST_LINE}\nkey {}\nlabel {}\nsignature {signature}\n", self.key, self.label)
    }

    pub(crate) fn read(path: &Path) -> Result<Self, Failure> {
        let bytes = std::fs::read(path).map_err(|error| Failure::io("reading", path, &error))?;
        let text = String::from_utf8(bytes).ok().filter(|text| text.len() <= LONGEST);
        text.as_deref().and_then(Self::parse).ok_or_else(|| {
            let cause = format!("{} is no whole ask of a key", path.display());
            Failure::refused("bad-ask", cause, "have it made again with `ask` and copied again")
        })
    }

    fn parse(text: &str) -> Option<Self> {
        let mut lines = text.lines();
        if lines.next()? != FIRST_LINE {
            return None;
        }
        let key = KeyId::from_hex(lines.next()?.strip_prefix("key ")?).ok()?;
        let label = lines.next()?.strip_prefix("label ")?.to_owned();
        let signature = HEXLOWER.decode(lines.next()?.strip_prefix("signature ")?.as_bytes()).ok()?;
        let signature = signature.try_into().ok()?;
        tagged_signature_stands(&key, TAG, &[label.as_bytes()], &signature).then_some(Self {
            key,
            label,
            signature,
        })
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn an_ask_is_read_back_and_an_altered_one_is_not() {
        let ask = AskFile::new(&Author::from_secret(&[7; 32]), "phone of Ben");
        let text = ask.to_text();
        assert_eq!(AskFile::parse(&text), Some(ask));
        assert_eq!(AskFile::parse(&text.replace("Ben", "Bob")), None);
        assert_eq!(AskFile::parse(&text[..text.len() - 3]), None);
        assert_eq!(AskFile::parse(""), None);
    }

    #[test]
    fn a_label_stays_on_its_line() {
        let ask = AskFile::new(&Author::from_secret(&[7; 32]), "phone\nkey of Ben");
        assert_eq!(AskFile::parse(&ask.to_text()), Some(ask));
    }
}
