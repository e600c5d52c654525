//! The one gate: shape, id, signature, document, size. State-free; nothing about authority.

use gudgeon_proto::v1;
use prost::Message as _;

use super::body::{Entry, Envelope, MAX_AFTER, MAX_ENTRY, id_of, signature_stands, split};
use super::{DocumentId, EntryId, Kind};

/// Why the gate refused a value.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, thiserror::Error)]
pub enum Refusal {
    /// Fewer bytes than a key and a signature.
    #[error("{0} bytes are too few for an entry: a key, a signature and a body take at least 97")]
    TooShort(usize),
    /// More bytes than an entry may have.
    #[error("{0} bytes are more than an entry may have ({MAX_ENTRY})")]
    TooLong(usize),
    /// The id it was kept under is not its own.
    #[error("the entry is kept under an id that is not its own")]
    WrongId,
    /// The signature does not stand.
    #[error("the signature does not fit the key and the body")]
    BadSignature,
    /// The envelope cannot be read.
    #[error("the body cannot be read as an entry")]
    BadBody,
    /// The document field is neither empty nor 32 bytes.
    #[error("the record field has {0} bytes instead of 32")]
    BadDocumentField(usize),
    /// It belongs to another record.
    #[error("the entry belongs to another record")]
    OtherDocument,
    /// No document named, and it is not this document's founding.
    #[error("only the founding entry of this very record may leave its record field empty")]
    NotTheFounding,
    /// Kind zero.
    #[error("the entry has no kind")]
    NoKind,
    /// Too many ids in `after`.
    #[error("{0} ids in `after` are more than {MAX_AFTER}")]
    AfterTooLong(usize),
    /// An id in `after` is not 32 bytes.
    #[error("an id in `after` is not 32 bytes long")]
    AfterBadId,
    /// Ids in `after` not ascending, or repeated.
    #[error("the ids in `after` are not in ascending order, each once")]
    AfterUnsorted,
}

impl Refusal {
    /// Every rule by its name.
    pub const RULES: [&'static str; 12] = [
        Self::TooShort(0).rule(),
        Self::TooLong(0).rule(),
        Self::WrongId.rule(),
        Self::BadSignature.rule(),
        Self::BadBody.rule(),
        Self::BadDocumentField(0).rule(),
        Self::OtherDocument.rule(),
        Self::NotTheFounding.rule(),
        Self::NoKind.rule(),
        Self::AfterTooLong(0).rule(),
        Self::AfterBadId.rule(),
        Self::AfterUnsorted.rule(),
    ];

    /// Stable short name of the rule.
    #[must_use]
    pub const fn rule(self) -> &'static str {
        match self {
            Self::TooShort(_) => "entry-too-short",
            Self::TooLong(_) => "entry-too-long",
            Self::WrongId => "wrong-id",
            Self::BadSignature => "bad-signature",
            Self::BadBody => "bad-body",
            Self::BadDocumentField(_) => "bad-record-field",
            Self::OtherDocument => "other-record",
            Self::NotTheFounding => "not-the-founding",
            Self::NoKind => "no-kind",
            Self::AfterTooLong(_) => "after-too-long",
            Self::AfterBadId => "after-bad-id",
            Self::AfterUnsorted => "after-unsorted",
        }
    }

    /// The way out.
    #[must_use]
    pub const fn hint(self) -> &'static str {
        match self {
            Self::TooLong(_) => "make the picture or the text smaller and enter it again",
            Self::OtherDocument | Self::NotTheFounding => "carry it to the record it was made for",
            Self::TooShort(_)
            | Self::WrongId
            | Self::BadSignature
            | Self::BadBody
            | Self::BadDocumentField(_)
            | Self::NoKind
            | Self::AfterTooLong(_)
            | Self::AfterBadId
            | Self::AfterUnsorted => "it was altered or damaged on its way; have its author enter it again",
        }
    }
}

/// Checks all but the signature: for values whose check is remembered.
///
/// # Errors
/// The first rule that does not hold.
pub fn read_checked(id: EntryId, value: &[u8], document: DocumentId) -> Result<Entry, Refusal> {
    if value.len() > MAX_ENTRY {
        return Err(Refusal::TooLong(value.len()));
    }
    let parts = split(value).ok_or(Refusal::TooShort(value.len()))?;
    if id_of(&parts.key, parts.body) != id {
        return Err(Refusal::WrongId);
    }
    let envelope = read_envelope(parts.body)?;
    check_document(&envelope, id, document)?;
    Ok(Entry::from_parts(id, parts.key, envelope, value.to_vec()))
}

/// The gate: everything that must hold before an entry is stored, wherever it came from.
///
/// # Errors
/// The first rule that does not hold.
pub fn check(id: EntryId, value: &[u8], document: DocumentId) -> Result<Entry, Refusal> {
    let entry = read_checked(id, value, document)?;
    let parts = split(value).ok_or(Refusal::TooShort(value.len()))?;
    if signature_stands(&parts) { Ok(entry) } else { Err(Refusal::BadSignature) }
}

fn check_document(envelope: &Envelope, id: EntryId, document: DocumentId) -> Result<(), Refusal> {
    match envelope.document {
        Some(named) if named == document => Ok(()),
        Some(_) => Err(Refusal::OtherDocument),
        None if envelope.kind() == Some(Kind::Founding) && DocumentId::from(id) == document => Ok(()),
        None => Err(Refusal::NotTheFounding),
    }
}

fn read_envelope(body: &[u8]) -> Result<Envelope, Refusal> {
    let body = v1::Body::decode(body).map_err(|_| Refusal::BadBody)?;
    let document = match body.record.len() {
        0 => None,
        32 => DocumentId::from_slice(&body.record),
        other => return Err(Refusal::BadDocumentField(other)),
    };
    if body.kind == 0 {
        return Err(Refusal::NoKind);
    }
    Ok(Envelope {
        document,
        kind_code: body.kind,
        device_time: body.device_time,
        min_reader: body.min_reader,
        after: read_after(&body.after)?,
        payload: body.payload,
    })
}

fn read_after(ids: &[Vec<u8>]) -> Result<Vec<EntryId>, Refusal> {
    if ids.len() > MAX_AFTER {
        return Err(Refusal::AfterTooLong(ids.len()));
    }
    let ids: Vec<EntryId> =
        ids.iter().map(|id| EntryId::from_slice(id)).collect::<Option<_>>().ok_or(Refusal::AfterBadId)?;
    if ids.is_sorted_by(|a, b| a < b) { Ok(ids) } else { Err(Refusal::AfterUnsorted) }
}
