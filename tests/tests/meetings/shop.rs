//! The invented shop of the play.

use gudgeon_client::home::Home;
use gudgeon_core::assess::digest_of;
use gudgeon_core::engine::EXAMPLE;
use gudgeon_core::entry::payload::{Definition, Device, Founding, Instrument, Person, RecordListed, Role};
use gudgeon_core::entry::{Author, EntryId, KeyId, Payload};
use gudgeon_core::quantity::Quantity;

use crate::NOW;
use crate::says::Subjects;

/// Secret of the workshop's root.
pub(crate) const ROOT: [u8; 32] = [77; 32];

/// Secret of the key that carries changes to the relay in the play.
pub(crate) const COURIER: [u8; 32] = [50; 32];

/// Secret of somebody of whom nobody knows.
pub(crate) const STRANGER: [u8; 32] = [66; 32];

pub(crate) fn key(secret: [u8; 32]) -> KeyId {
    Author::from_secret(&secret).key()
}

fn device(key: KeyId, person: EntryId, roles: &[Role]) -> Payload {
    let (label, join_signature) = (String::new(), Vec::new());
    Payload::Device(Device { key, person, roles: roles.to_vec(), label, invite: None, join_signature })
}

fn gauge() -> Payload {
    let quantity = |text: &str| Some(Quantity::parse(text).unwrap());
    Payload::Instrument(Box::new(Instrument {
        mark: "M1".to_owned(),
        sort: "outside-micrometer".to_owned(),
        error_limit: quantity("0.004 mm"),
        resolution: quantity("0.001 mm"),
        calibrated_on: Some(NOW - 1),
        calibration_due: Some(NOW + 1),
        calibration_seen: true,
        ..Instrument::default()
    }))
}

/// Founds a workshop of three leads, with a courier, a gauge and one record; answers both
/// documents, and each of the three keys and the stranger's with its person.
pub(crate) fn found(home: &mut Home, seed: u64) -> Subjects {
    let (root, lead) = (Author::from_secret(&ROOT), Author::from_secret(&[1; 32]));
    let founding = |name: &str, workshop| Founding {
        name: name.to_owned(),
        workshop,
        definition_digest: workshop.map(|_| digest_of(EXAMPLE)),
        nonce: seed.to_be_bytes().to_vec(),
    };
    let workshop = home.found(&root, founding("Shop", None), &[]).unwrap().document;
    let mut keys = Vec::new();
    for secret in [[1; 32], [2; 32], [3; 32], STRANGER, COURIER] {
        let person = Payload::Person(Person { name: format!("Person {}", secret[0]) });
        keys.push((key(secret), home.state(workshop, &root, &[person]).unwrap().entries[0]));
    }
    // First of all: of a workshop that is half there, whoever was enrolled first may bring the rest.
    let courier = keys.pop().unwrap();
    home.state(workshop, &root, &[device(courier.0, courier.1, &[Role::Member])]).unwrap();
    for (key, person) in &keys[..3] {
        home.state(workshop, &root, &[device(*key, *person, &[Role::Member, Role::Lead])]).unwrap();
    }
    let defined = [Payload::Definition(Definition { text: EXAMPLE.to_owned() })];
    let record = home.found(&lead, founding("Engine", Some(workshop)), &defined).unwrap().document;
    let listed = RecordListed { record, name: "Engine".to_owned() };
    home.state(workshop, &lead, &[Payload::RecordListed(listed)]).unwrap();
    // By the root: a gauge is a member's business or a lead's, for which the model has no word.
    home.state(workshop, &root, &[gauge()]).unwrap();
    Subjects { workshop, record, keys }
}
