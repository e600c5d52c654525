//! A home with a workshop of Ada, who leads it, and a record of the example engine. All of it invented.
#![allow(clippy::unwrap_used)] // invented data, known to be good

use gudgeon_client::home::Home;
use gudgeon_core::assess::digest_of;
use gudgeon_core::engine::{Definition, EXAMPLE, characteristic};
use gudgeon_core::entry::payload::{self, Device, Founding, Person, Reading, Role};
use gudgeon_core::entry::{Author, DocumentId, Payload};
use gudgeon_core::quantity::{Kind, Quantity};

/// The workshop and, of an engine of that definition and with that said at its beginning, the record.
///
/// # Panics
/// Where the home does not write.
pub fn founds(home: &mut Home, ada: &Author, engine: &str, more: &[Payload]) -> (DocumentId, DocumentId) {
    let root = Author::from_secret(&[1; 32]);
    let founding = |name: &str, workshop, definition_digest| Founding {
        name: name.into(),
        workshop,
        definition_digest,
        nonce: name.as_bytes().to_vec(),
    };
    let workshop = home.found(&root, founding("Invented Works", None, None), &[]).unwrap().document;
    let person = Payload::Person(Person { name: "Ada".into() });
    let person = home.state(workshop, &root, &[person]).unwrap().entries[0];
    let device = Device {
        key: ada.key(),
        person,
        roles: vec![Role::Lead, Role::Member],
        label: "desk".into(),
        invite: None,
        join_signature: Vec::new(),
    };
    home.state(workshop, &root, &[Payload::Device(device)]).unwrap();
    let definition = Payload::Definition(payload::Definition { text: engine.into() });
    let says = [&[definition][..], more].concat();
    let founding = founding("Engine one", Some(workshop), Some(digest_of(engine)));
    (workshop, home.found(ada, founding, &says).unwrap().document)
}

/// Reads so many times, wherever a length of the example engine is read, over and over: a record of the size
/// of a whole build.
///
/// # Panics
/// Where the home does not write.
pub fn reads_many(home: &mut Home, author: &Author, record: DocumentId, readings: usize) {
    let definition = Definition::parse(EXAMPLE).unwrap();
    let mut places = Vec::new();
    for feature in definition.features() {
        for row in characteristic::of_kind(feature.kind()).iter().filter(|row| row.kind == Kind::Length) {
            let stations = definition.stations(row).iter();
            places.extend(stations.map(|station| (feature.path().to_owned(), row.name, station.to_string())));
        }
    }
    let celsius = || Some(Quantity::parse("20 °C").unwrap());
    let reading = |number: usize| {
        let (feature, name, station) = places[number % places.len()].clone();
        Payload::Reading(Box::new(Reading {
            feature,
            characteristic: name.to_owned(),
            station,
            value: Quantity::parse(&format!("50.{:03} mm", number % 1000)).unwrap(),
            gauge: "M1".to_owned(),
            part_temperature: celsius(),
            gauge_temperature: celsius(),
            part: String::new(),
            conditions: Vec::new(),
            set_size: None,
            master: String::new(),
            read_by: None,
            called_out: false,
            blind: false,
            reading_set: String::new(),
            note: String::new(),
        }))
    };
    let says: Vec<Payload> = (0..readings).map(reading).collect();
    for some in says.chunks(100) {
        home.state(record, author, some).unwrap();
    }
}
