//! A forged entry in an honest-looking bundle: what the gate is for.

use gudgeon_core::document::{Actor, Bundle, Carried, Document};
use gudgeon_core::entry::payload::Payload;
use gudgeon_core::entry::{Author, DocumentId, Envelope, READER, claimed_id, read_checked};
use gudgeon_core::quantity::Quantity;

use super::shop::Failure;

/// Takes a bundle's last document and adds a reading in the name of the author of one that is
/// there, signed with another key. The changes and the file are whole; the signature is not.
///
/// # Errors
/// Where the bundle cannot be read or holds no reading.
pub(super) fn forge(file: &[u8]) -> Result<Vec<u8>, Failure> {
    let words = |error: &dyn std::fmt::Display| error.to_string();
    let bundle = Bundle::read(file).map_err(|e| words(&e))?;
    let (record, others) = bundle.documents().split_last().ok_or("an empty bundle")?;
    let id: DocumentId = record.document();
    let mut document = rebuilt(record);
    let value = forged(&document, id)?;
    let entry = claimed_id(&value).ok_or("too short")?;
    let actor = Actor::from_slice(&[0xF0; 16]).ok_or("no actor")?;
    document.commit(actor, &[(entry, value)]).map_err(|e| words(&e))?;
    let mut forged = Bundle::new(bundle.root());
    for other in others {
        forged.add(other.document(), &rebuilt(other));
    }
    forged.add(id, &document);
    forged.write().map_err(|e| words(&e))
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
