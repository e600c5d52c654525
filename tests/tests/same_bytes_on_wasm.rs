//! Core answers with the same bytes on wasm32 and on this machine.
//!
//! Needs the probe that `cargo xtask wasm` builds; fails where it is not there.
#![allow(clippy::unwrap_used)]

use gudgeon_core::document::{Actor, Bundle, Document};
use gudgeon_core::entry::{Author, DocumentId, EntryId, Envelope, Payload, READER, claimed_id, payload};
use wasmi::{Engine, Linker, Memory, Module, Store, TypedFunc};

#[path = "../probe/src/answer.rs"]
mod answer;

/// The probe, running.
struct Probe {
    store: Store<()>,
    memory: Memory,
    alloc: TypedFunc<u32, u32>,
    run: TypedFunc<(u32, u32), u64>,
    free: TypedFunc<(u32, u32), ()>,
}

impl Probe {
    fn start() -> Self {
        let path = std::env::var("GUDGEON_PROBE").expect(
            "GUDGEON_PROBE is not set: run `cargo xtask test`, or set it to the path that \
             `cargo xtask wasm` prints",
        );
        let bytes = std::fs::read(&path).expect("GUDGEON_PROBE names no file: run `cargo xtask wasm`");
        let engine = Engine::default();
        let module = Module::new(&engine, &bytes).unwrap();
        assert_eq!(module.imports().count(), 0, "core must ask nothing of a browser");
        let mut store = Store::new(&engine, ());
        let instance = Linker::new(&engine).instantiate_and_start(&mut store, &module).unwrap();
        Self {
            memory: instance.get_memory(&store, "memory").unwrap(),
            alloc: instance.get_typed_func(&store, "probe_alloc").unwrap(),
            run: instance.get_typed_func(&store, "probe_run").unwrap(),
            free: instance.get_typed_func(&store, "probe_free").unwrap(),
            store,
        }
    }

    fn answer(&mut self, question: &[u8]) -> Vec<u8> {
        let length = u32::try_from(question.len()).unwrap();
        let place = self.alloc.call(&mut self.store, length).unwrap();
        self.memory.write(&mut self.store, usize::try_from(place).unwrap(), question).unwrap();
        let packed = self.run.call(&mut self.store, (place, length)).unwrap();
        let place = u32::try_from(packed >> 32).unwrap();
        let length = u32::try_from(packed & u64::from(u32::MAX)).unwrap();
        let mut answer = vec![0; usize::try_from(length).unwrap()];
        self.memory.read(&self.store, usize::try_from(place).unwrap(), &mut answer).unwrap();
        self.free.call(&mut self.store, (place, length)).unwrap();
        answer
    }
}

/// Asks both what the gate says of values, and hands back the answer they agree on.
fn check(document: DocumentId, values: &[Vec<u8>]) -> String {
    let mut question = vec![answer::GATE];
    question.extend(document.bytes());
    for value in values {
        question.extend(u32::try_from(value.len()).unwrap().to_le_bytes());
        question.extend(value);
    }
    agreed(&mut Probe::start(), &question)
}

fn check_bundle(probe: &mut Probe, file: &[u8]) -> String {
    agreed(probe, &[&[answer::BUNDLE], file].concat())
}

fn agreed(probe: &mut Probe, question: &[u8]) -> String {
    let here = String::from_utf8(answer::answer(question)).unwrap();
    let there = String::from_utf8(probe.answer(question)).unwrap();
    let lines = here.lines().zip(there.lines()).enumerate();
    for (at, (here, there)) in lines {
        assert_eq!(here, there, "value {at}");
    }
    assert_eq!(here, there, "one says more than the other");
    here
}

/// A founding and what follows it, by one author; all of it invented.
fn entries() -> (DocumentId, Vec<Vec<u8>>) {
    let author = Author::from_secret(&[7; 32]);
    let founding = Payload::Founding(payload::Founding {
        name: "Bench engine".to_owned(),
        workshop: None,
        definition_digest: Some([3; 32]),
        nonce: vec![1, 2, 3, 4],
    });
    let founding = author.sign(envelope(None, &founding, Vec::new()));
    let document = DocumentId::from(founding.id());
    let note = Payload::Note(payload::Note {
        feature: "bore/3".to_owned(),
        text: "0,02 mm spürbar oben ± ½".to_owned(),
    });
    let mut unknown = envelope(Some(document), &note, vec![founding.id()]);
    unknown.kind_code = 40_000;
    unknown.min_reader = READER + 1;
    let stranger = envelope(Some(DocumentId::new([9; 32])), &note, vec![founding.id()]);
    let note = author.sign(envelope(Some(document), &note, vec![founding.id()]));
    let values = [founding, note, author.sign(unknown), author.sign(stranger)];
    (document, values.map(|entry| entry.value().to_vec()).to_vec())
}

fn envelope(document: Option<DocumentId>, payload: &Payload, after: Vec<EntryId>) -> Envelope {
    Envelope {
        document,
        kind_code: payload.kind().code(),
        device_time: 1_700_000_000_000,
        min_reader: READER,
        after,
        payload: payload.encode(),
    }
}

#[test]
fn entries_that_are_kept_and_refused_read_the_same() {
    let (document, values) = entries();
    let said = check(document, &values);
    assert_eq!(said.matches(" kept: ").count(), 3, "{said}");
    assert_eq!(said.matches("(other-record)").count(), 1, "{said}");
}

#[test]
fn every_damaged_byte_is_refused_in_the_same_words() {
    let (document, values) = entries();
    let whole = &values[1];
    let damaged: Vec<Vec<u8>> = (0..whole.len())
        .map(|at| {
            let mut value = whole.clone();
            value[at] ^= 0x41;
            value
        })
        .collect();
    let said = check(document, &damaged);
    assert_eq!(said.lines().count(), whole.len());
    assert_eq!(said.matches(" kept: ").count(), 0, "{said}");
}

#[test]
fn every_cut_value_is_refused_in_the_same_words() {
    let (document, values) = entries();
    let whole = &values[0];
    let cut: Vec<Vec<u8>> = (0..whole.len()).map(|at| whole[..at].to_vec()).collect();
    let said = check(document, &cut);
    assert_eq!(said.lines().count(), whole.len());
    assert_eq!(said.matches(" kept: ").count(), 0, "{said}");
}

/// A founding and a note, each committed on a device of its own.
fn bundle() -> Vec<u8> {
    let (id, values) = entries();
    let mut document = Document::new();
    for (device, value) in values.iter().take(2).enumerate() {
        let actor = Actor([u8::try_from(device).unwrap() + 1; 16]);
        document.commit(actor, &[(claimed_id(value).unwrap(), value)]).unwrap();
    }
    let mut bundle = Bundle::new(Author::from_secret(&[7; 32]).key());
    bundle.add(id, &document);
    bundle.write().unwrap()
}

#[test]
fn a_carried_bundle_is_taken_and_saved_as_the_same_bytes() {
    let said = check_bundle(&mut Probe::start(), &bundle());
    assert_eq!(said.matches(" kept: ").count(), 2, "{said}");
    assert!(said.contains("refused: []") && said.contains("second opinion Ok(())"), "{said}");
    assert!(said.contains("saved Ok(["), "{said}");
}

#[test]
fn a_bundle_damaged_anywhere_is_refused_in_the_same_words() {
    let file = bundle();
    let mut probe = Probe::start();
    for at in 0..file.len() {
        let mut damaged = file.clone();
        damaged[at] ^= 0x41;
        let said = check_bundle(&mut probe, &damaged);
        assert!(said.starts_with("no bundle: "), "byte {at}: {said}");
    }
}

#[test]
fn a_large_record_comes_to_the_same_assessment() {
    let large = gudgeon_tests::large::large(800);
    let mut bundle = Bundle::new(large.workshop[0].key());
    for entries in [&large.workshop, &large.record] {
        let mut document = Document::new();
        let actor = Actor::from_slice(&[5; 16]).unwrap();
        let values: Vec<_> = entries.iter().map(|entry| (entry.id(), entry.value().to_vec())).collect();
        document.commit(actor, &values).unwrap();
        bundle.add(DocumentId::from(entries[0].id()), &document);
    }
    let said = agreed(&mut Probe::start(), &[&[answer::ASSESS], &bundle.write().unwrap()[..]].concat());
    for word in ["\"verdict\":\"within\"", "stale-sign-off", "before or after?", "disputed"] {
        assert!(said.contains(word), "the large record shows no {word}");
    }
}
