//! A file carried by hand between two phones with no relay.
//!
//! The line `gudgeon bundle 1`, SHA-256 of the rest, then a `Bundle` of `record.proto`: the
//! workshop's root key and the raw changes of workshop and records. Never a saved Automerge
//! document, which would reach its loader unchecked. What is read is as untrusted as what
//! comes over the wire: it goes through [`Document::receive`] and the gate.

use gudgeon_proto::v1;
use prost::Message as _;
use sha2::{Digest, Sha256};

use super::index::Document;
use super::limits::{BUNDLE_BYTES, BUNDLE_CHANGES, BUNDLE_DOCUMENTS};
use super::number::Reader;
use crate::entry::{DocumentId, KeyId};

const NAME: &[u8] = b"gudgeon bundle ";
const LINE: &[u8] = b"gudgeon bundle 1\n";
const DIGEST: usize = 32;

/// Why a file is not read as a bundle, or not written as one.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum BundleError {
    /// Something else.
    #[error("this file is not a bundle; choose the file that `carry out` wrote")]
    NotABundle,
    /// The end is missing.
    #[error("the bundle is cut short; copy the file again, to its end")]
    CutShort,
    /// The content is not what was written.
    #[error("the bundle is damaged; copy the file again")]
    Damaged,
    /// Written by a later release.
    #[error("the bundle is of form {0}, this release reads form 1; update, then carry it in again")]
    Newer(u32),
    /// Past the size of a bundle.
    #[error("the bundle has {0} bytes, more than {BUNDLE_BYTES}; carry fewer records at a time")]
    TooLarge(usize),
    /// Too many documents.
    #[error("the bundle has more than {BUNDLE_DOCUMENTS} documents; carry fewer records at a time")]
    TooManyDocuments,
    /// Too many changes.
    #[error("the bundle has more than {BUNDLE_CHANGES} changes; carry fewer records at a time")]
    TooManyChanges,
    /// Whole, and yet not what a bundle says.
    #[error("the bundle is whole but badly written: {0} is not 32 bytes long; have it carried out again")]
    BadName(&'static str),
}

/// What is carried: the workshop first, then records.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bundle {
    root: KeyId,
    documents: Vec<Carried>,
}

/// One document of a bundle.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Carried {
    document: DocumentId,
    changes: Vec<Vec<u8>>,
}

impl Bundle {
    /// An empty bundle of the workshop with this root key.
    #[must_use]
    pub const fn new(root: KeyId) -> Self {
        Self { root, documents: Vec::new() }
    }

    /// Adds all changes of a document.
    pub fn add(&mut self, id: DocumentId, document: &Document) {
        let changes = document.changes_from(0).iter().map(|change| change.raw().to_vec()).collect();
        self.documents.push(Carried { document: id, changes });
    }

    /// Root key of the workshop it comes from: compare it before anything else.
    #[must_use]
    pub const fn root(&self) -> KeyId {
        self.root
    }

    /// Its documents, in the order they were added.
    #[must_use]
    pub fn documents(&self) -> &[Carried] {
        &self.documents
    }

    /// The bytes of the file.
    ///
    /// # Errors
    /// [`BundleError`] if it would be too large to be read again.
    pub fn write(&self) -> Result<Vec<u8>, BundleError> {
        let documents = self.documents.iter().map(|carried| v1::BundleDocument {
            document: carried.document.bytes().to_vec(),
            changes: carried.changes.clone(),
        });
        let message = v1::Bundle { root: self.root.bytes().to_vec(), documents: documents.collect() };
        let content = message.encode_to_vec();
        let size = LINE.len() + DIGEST + content.len();
        if size > BUNDLE_BYTES {
            return Err(BundleError::TooLarge(size));
        }
        measure(&content)?;
        Ok([LINE, &Sha256::digest(&content), &content].concat())
    }

    /// Reads the bytes of a file.
    ///
    /// # Errors
    /// [`BundleError`] says what is wrong with it and what to do.
    pub fn read(file: &[u8]) -> Result<Self, BundleError> {
        if file.len() > BUNDLE_BYTES {
            return Err(BundleError::TooLarge(file.len()));
        }
        let sealed = read_line(file)?;
        let (digest, content) = sealed.split_at_checked(DIGEST).ok_or(BundleError::CutShort)?;
        let whole = Sha256::digest(content)[..] == *digest;
        match measure(content) {
            Err(BundleError::CutShort) if whole => return Err(BundleError::Damaged),
            Ok(()) if !whole => return Err(BundleError::Damaged),
            measured => measured?,
        }
        let message = v1::Bundle::decode(content).map_err(|_| BundleError::Damaged)?;
        let root = KeyId::from_slice(&message.root).ok_or(BundleError::BadName("the root key"))?;
        let documents = message.documents.into_iter().map(read_document).collect::<Result<_, _>>()?;
        Ok(Self { root, documents })
    }
}

impl Carried {
    /// Name of the workshop or record.
    #[must_use]
    pub const fn document(&self) -> DocumentId {
        self.document
    }

    /// Raw changes for [`Document::receive`], unchecked.
    #[must_use]
    pub fn changes(&self) -> &[Vec<u8>] {
        &self.changes
    }
}

fn read_document(message: v1::BundleDocument) -> Result<Carried, BundleError> {
    let document = DocumentId::from_slice(&message.document).ok_or(BundleError::BadName("a record"))?;
    Ok(Carried { document, changes: message.changes })
}

/// Takes off the first line, which tells the form.
fn read_line(file: &[u8]) -> Result<&[u8], BundleError> {
    if let Some(sealed) = file.strip_prefix(LINE) {
        return Ok(sealed);
    }
    if LINE.starts_with(file) {
        return Err(BundleError::CutShort);
    }
    match file.strip_prefix(NAME).and_then(read_form) {
        Some(form) if form > 1 => Err(BundleError::Newer(form)),
        _ => Err(BundleError::NotABundle),
    }
}

/// A number of at most nine digits and the end of the line.
fn read_form(rest: &[u8]) -> Option<u32> {
    let end = rest.iter().take(10).position(|byte| *byte == b'\n')?;
    std::str::from_utf8(&rest[..end]).ok()?.parse().ok()
}

/// Counts documents and changes before any memory is given to them.
fn measure(content: &[u8]) -> Result<(), BundleError> {
    let mut changes = 0;
    let documents = fields(content, |document| {
        changes += fields(document, |_| Ok(()))?;
        if changes > BUNDLE_CHANGES { Err(BundleError::TooManyChanges) } else { Ok(()) }
    })?;
    if documents > BUNDLE_DOCUMENTS { Err(BundleError::TooManyDocuments) } else { Ok(()) }
}

/// Number of the repeated field in both messages of a bundle.
const REPEATED: u64 = 2;

/// Walks over the fields of a protobuf message; counts the repeated one and visits it.
fn fields(
    message: &[u8],
    mut visit: impl FnMut(&[u8]) -> Result<(), BundleError>,
) -> Result<usize, BundleError> {
    let mut reader = Reader::new(message);
    let mut count = 0;
    while !reader.rest().is_empty() {
        let key = reader.unsigned().ok_or(BundleError::CutShort)?;
        let field = match key & 7 {
            0 => reader.unsigned().map(|_| &[][..]),
            1 => reader.take(8),
            2 => reader.size().and_then(|size| reader.take(size)),
            5 => reader.take(4),
            _ => return Err(BundleError::Damaged),
        };
        let field = field.ok_or(BundleError::CutShort)?;
        if key == REPEATED << 3 | 2 {
            count += 1;
            visit(field)?;
        }
    }
    Ok(count)
}
