//! For tests: a phone of several hands, with wrenches and a short procedure. All of it invented.
#![allow(clippy::unwrap_used)]

use gudgeon_core::engine::EXAMPLE;
use gudgeon_core::entry::payload::{Instrument, Role};
use gudgeon_core::entry::{DocumentId, KeyId, Payload};
use gudgeon_core::quantity::Quantity;

use super::kit::{PIN, Phone, works};
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
    let wrenches = [
        wrench("W1", "20 N·m", "100 N·m"),
        wrench("W2", "10 lbf·ft", "80 lbf·ft"),
        wrench("W3", "60 N·m", "340 N·m"),
    ];
    let people: [(&str, &[Role]); 2] = [("Ben", &[Role::Member, Role::Lead]), ("Ada", &[Role::Member])];
    let (disk, record, keys) = works(&format!("{EXAMPLE}{more}"), &people, &wrenches);
    let (ben, ada) = (keys[0], keys[1]);
    let there = place(record);
    let mut phone = Phone::on(disk, Place::Who(Box::new(there.clone())));
    phone.send(who::Event::Choose(ben));
    phone.send(who::Event::Pin(PIN.to_owned()));
    phone.send(who::Event::Open);
    assert_eq!(phone.address, there.address());
    Hands { phone, record, ben, ada }
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
