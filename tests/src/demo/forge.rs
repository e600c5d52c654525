//! A forged entry in an honest-looking bundle: what the gate is for.

use gudgeon_core::document::{Actor, Bundle, Carried, ChangeHash, Document};
use gudgeon_core::entry::payload::Payload;
use gudgeon_core::entry::{Author, DocumentId, Envelope, READER, claimed_id, read_checked};
use gudgeon_core::quantity::Quantity;

use super::shop::Failure;

/// What a forger has made.
pub(super) struct Forged {
    /// The bundle with the forged entry in it.
    pub(super) file: Vec<u8>,
    /// The document it is in.
    pub(super) document: DocumentId,
    /// What the forger had of it.
    pub(super) heads: Vec<ChangeHash>,
    /// The change that puts the entry in.
    pub(super) change: Vec<u8>,
}

/// Takes a bundle's last document and adds a reading in the name of the author of one that is
/// there, signed with another key. The changes and the file are whole; the signature is not.
///
/// # Errors
/// Where the bundle cannot be read or holds no reading.
pub(super) fn forge(file: &[u8]) -> Result<Forged, Failure> {
    let words = |error: &dyn std::fmt::Display| error.to_string();
    let bundle = Bundle::read(file).map_err(|e| words(&e))?;
    let (record, others) = bundle.documents().split_last().ok_or("an empty bundle")?;
    let id: DocumentId = record.document();
    let mut document = rebuilt(record);
    let value = forged(&document, id)?;
    let entry = claimed_id(&value).ok_or("too short")?;
    let actor = Actor::from_slice(&[0xF0; 16]).ok_or("no actor")?;
    let heads = document.heads();
    let changes = document.commit(actor, &[(entry, value)]).map_err(|e| words(&e))?;
    let change = changes.first().ok_or("nothing was put in")?.raw().to_vec();
    let mut forged = Bundle::new(bundle.root());
    for other in others {
        forged.add(other.document(), &rebuilt(other));
    }
    forged.add(id, &document);
    Ok(Forged { file: forged.write().map_err(|e| words(&e))?, document: id, heads, change })
}

fn rebuilt(carried: &Carried) -> Document {
    let mut document = Document::new();
    document.receive(carried.changes(), &mut |_, _| Ok(()));
    document
}

fn forged(document: &Document, id: DocumentId) -> Result<Vec<u8>, Failure> {
    let readings = document.entries().filter_map(|put| {
        let entry = read_checked(put.id, put.value, id).ok()?;
        let payload = Payload::read(entry.envelope().kind_code, &entry.envelope().payload).ok()?;
        if let Payload::Reading(reading) = payload { Some((entry, reading)) } else { None }
    });
    let (victim, mut reading) =
        readings.min_by_key(|(entry, _)| entry.id()).ok_or("no reading in the bundle")?;
    reading.value = Quantity::parse("1.000 mm").map_err(|error| error.to_string())?;
    let stranger = Author::from_secret(&[0x66; 32]).sign(Envelope {
        document: Some(id),
        min_reader: READER,
        payload: Payload::Reading(reading).encode(),
        ..victim.envelope().clone()
    });
    // The victim's key in front of a stranger's signature.
    Ok([victim.key().bytes(), &stranger.value()[32..]].concat())
}
