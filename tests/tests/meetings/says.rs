//! What people say in a play: work, decisions, and who may what. All invented.

use std::collections::BTreeSet;

use gudgeon_client::home::Home;
use gudgeon_core::entry::payload::{
    Admit, Check, Decision, Device, Payload, Reading, RecordListed, Removal, Role,
};
use gudgeon_core::entry::{DocumentId, EntryId, KeyId};
use gudgeon_core::log::Log;
use gudgeon_core::quantity::Quantity;
use gudgeon_tests::model::rng::Rng;

/// What can be spoken of.
pub(crate) struct Subjects {
    pub(crate) workshop: DocumentId,
    pub(crate) record: DocumentId,
    /// Keys that may be enrolled and removed, each with its own person's entry.
    pub(crate) keys: Vec<(KeyId, EntryId)>,
}

impl Subjects {
    /// Something that a home which holds all it refers to might say, and where.
    pub(crate) fn draw(&self, rng: &mut Rng, home: &Home, number: u32) -> (DocumentId, Payload) {
        match rng.below(40) {
            0..=26 => (self.record, reading(rng)),
            27..=32 => {
                let text = format!("decision {number}");
                let says = Decision { subject: "oversize".to_owned(), text, replaces: None };
                (self.record, Payload::Decision(says))
            }
            33 | 34 => {
                let name = format!("Engine {number}");
                (self.workshop, Payload::RecordListed(RecordListed { record: self.record, name }))
            }
            35..=37 => (self.workshop, self.grant(rng)),
            38 => (self.workshop, self.removal(rng, home)),
            _ => (self.workshop, self.admit(rng, home)),
        }
    }

    /// Mostly a key's own person and both roles, so that contradictions stay the exception.
    fn grant(&self, rng: &mut Rng) -> Payload {
        let (key, own) = rng.pick(&self.keys).unwrap();
        let person = if rng.one_in(10) { rng.pick(&self.keys).unwrap().1 } else { own };
        let roles = match rng.below(8) {
            0 => vec![Role::Member],
            1 => vec![Role::Lead],
            2 => vec![Role::Viewer],
            _ => vec![Role::Member, Role::Lead],
        };
        let device =
            Device { key, person, roles, label: String::new(), invite: None, join_signature: Vec::new() };
        Payload::Device(device)
    }

    /// Mostly with what this home holds of the key, now and then with less: a lost phone.
    fn removal(&self, rng: &mut Rng, home: &Home) -> Payload {
        let (key, _) = rng.pick(&self.keys).unwrap();
        let mut accepted = Vec::new();
        for document in [self.workshop, self.record] {
            let own = of_keys(home.log(document).unwrap(), &[key]);
            let last = if rng.one_in(3) { rng.pick(&own) } else { own.last().copied() };
            accepted.push((document, last.into_iter().collect()));
        }
        Payload::Removal(Removal { key, accepted, reason: String::new(), lost_device: false })
    }

    fn admit(&self, rng: &mut Rng, home: &Home) -> Payload {
        let keys: Vec<KeyId> = self.keys.iter().map(|(key, _)| *key).collect();
        let document = if rng.one_in(2) { self.workshop } else { self.record };
        let held = of_keys(home.log(document).unwrap(), &keys);
        let entries: BTreeSet<EntryId> = (0..2).filter_map(|_| rng.pick(&held)).collect();
        Payload::Admit(Admit { entries: entries.into_iter().collect(), reason: String::new() })
    }
}

/// Entries of these keys in a log, the founding aside.
fn of_keys(log: &Log, keys: &[KeyId]) -> Vec<EntryId> {
    let of_keys = log.folded().iter().filter(|said| keys.contains(&said.key));
    of_keys.map(|said| said.id).filter(|id| DocumentId::from(*id) != log.document()).collect()
}

/// A check that is passed.
pub(crate) fn check(number: u32) -> Payload {
    let (feature, step) = (String::new(), String::new());
    let note = format!("check {number}");
    Payload::Check(Check { check: "turns-free".to_owned(), feature, passed: true, step, note })
}

fn reading(rng: &mut Rng) -> Payload {
    let at = Quantity::parse("20 °C").unwrap();
    Payload::Reading(Box::new(Reading {
        feature: format!("pin/{}", rng.below(4) + 1),
        part: String::new(),
        characteristic: "diameter".to_owned(),
        station: "front/0".to_owned(),
        conditions: Vec::new(),
        value: Quantity::parse(&format!("47.74{} mm", rng.below(9))).unwrap(),
        set_size: None,
        gauge: "M1".to_owned(),
        master: String::new(),
        part_temperature: Some(at.clone()),
        gauge_temperature: Some(at),
        read_by: None,
        called_out: false,
        blind: false,
        reading_set: String::new(),
        note: String::new(),
    }))
}
