//! For tests: a phone of several hands, with wrenches and a short procedure. All of it invented.
#![allow(clippy::unwrap_used)]

use gudgeon_client::home::Home;
use gudgeon_client::keys::Pin;
use gudgeon_client::store::{Memory, Mirror, Store as _};
use gudgeon_core::assess::digest_of;
use gudgeon_core::engine::EXAMPLE;
use gudgeon_core::entry::payload::{Definition, Device, Founding, Instrument, Person, RecordListed, Role};
use gudgeon_core::entry::{Author, DocumentId, KeyId, Payload};
use gudgeon_core::quantity::Quantity;

use super::kit::{PIN, Phone, Rehearsed};
use super::{Place, who};

/// Steps that hang on nothing else, so that a test can work them from the beginning.
const STEPS: &str = r#"
[[step]]
id = "seen"
stage = 1
title = "Seen by two"
evidence = [{ check = "photographed" }]
second-person = true
cautions = ["lifting"]

[[step]]
id = "agreed"
stage = 1
title = "Agreed by the lead"
evidence = [{ decision = "sizes" }, { approval = "sizes" }]
sign = "lead"

[[step]]
id = "mixed"
stage = 1
title = "One of each"
per = ["cylinder"]
evidence = [
    { check = "gaps-staggered" },
    { read = "free-length", on = "rod-bolts" },
    { tightening = "rod-bolts", on = "rod-bolts" },
    { part = "piston", on = "bore" },
    { operation = "hone", on = "bore" },
    { gauge-check = "bore-gauge" },
]
cautions = ["torque", "edges"]
"#;

/// Ben leads, Ada is a member; both have a key on this phone under the same PIN.
pub(super) struct Hands {
    pub(super) phone: Phone,
    pub(super) record: DocumentId,
    pub(super) ben: KeyId,
    pub(super) ada: KeyId,
}

/// The phone, held by Ben, at a place.
pub(super) fn hands(place: impl FnOnce(DocumentId) -> Place) -> Hands {
    hands_on(STEPS, place)
}

/// As [`hands`], with other steps or other fasteners at the end of the definition.
pub(super) fn hands_on(more: &str, place: impl FnOnce(DocumentId) -> Place) -> Hands {
    let (disk, record, ben, ada) = disk(&format!("{EXAMPLE}{more}"));
    let there = place(record);
    let mut phone = Phone::on(disk, Place::Who(Box::new(there.clone())));
    phone.send(who::Event::Choose(ben));
    phone.send(who::Event::Pin(PIN.to_owned()));
    phone.send(who::Event::Open);
    assert_eq!(phone.address, there.address());
    Hands { phone, record, ben, ada }
}

fn disk(engine: &str) -> (Memory, DocumentId, KeyId, KeyId) {
    let mirror = Mirror::default();
    let mut home = Home::within(Box::new(mirror.clone()), Rehearsed).unwrap();
    let root = Author::from_secret(&[1; 32]);
    let founding = |name: &str, workshop, digest| Founding {
        name: name.to_owned(),
        workshop,
        definition_digest: digest,
        nonce: name.as_bytes().to_vec(),
    };
    let workshop = home.found(&root, founding("Invented Works", None, None), &[]).unwrap().document;
    let mut let_in = |name: &str, roles: Vec<Role>| {
        let author = home.new_key(&format!("phone of {name}"), &Pin::new(PIN).unwrap()).unwrap();
        let person = Payload::Person(Person { name: name.to_owned() });
        let person = home.state(workshop, &root, &[person]).unwrap().entries[0];
        let device = Device {
            key: author.key(),
            person,
            roles,
            label: format!("phone of {name}"),
            invite: None,
            join_signature: Vec::new(),
        };
        home.state(workshop, &root, &[Payload::Device(device)]).unwrap();
        author
    };
    let ben = let_in("Ben", vec![Role::Member, Role::Lead]);
    let ada = let_in("Ada", vec![Role::Member]);
    let wrenches = [
        wrench("W1", "20 N·m", "100 N·m"),
        wrench("W2", "10 lbf·ft", "80 lbf·ft"),
        wrench("W3", "60 N·m", "340 N·m"),
    ];
    home.state(workshop, &ben, &wrenches).unwrap();
    let text = Payload::Definition(Definition { text: engine.to_owned() });
    let record = founding("Engine one", Some(workshop), Some(digest_of(engine)));
    let record = home.found(&ben, record, &[text]).unwrap().document;
    let listed = RecordListed { record, name: "Engine one".to_owned() };
    home.state(workshop, &ben, &[Payload::RecordListed(listed)]).unwrap();
    let mut disk = Memory::default();
    mirror.take().iter().for_each(|batch| disk.write(batch).unwrap());
    (disk, record, ben.key(), ada.key())
}

/// A wrench whose calibration holds at the moments of these tests.
fn wrench(mark: &str, low: &str, high: &str) -> Payload {
    Payload::Instrument(Box::new(Instrument {
        mark: mark.to_owned(),
        sort: "click-torque-wrench".to_owned(),
        range_low: Some(Quantity::parse(low).unwrap()),
        range_high: Some(Quantity::parse(high).unwrap()),
        calibrated_on: Some(1_790_000_000_000),
        calibration_due: Some(1_890_000_000_000),
        calibration_seen: true,
        ..Instrument::default()
    }))
}
