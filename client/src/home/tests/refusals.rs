#![allow(clippy::unwrap_used)]
//! Every refusal of a home, with its stable name and a way out.
use super::*;
use crate::error::{Class, HomeError};
use crate::home::fingerprint;
use crate::keys::Pin;
use crate::world::{NoRandomness, World};
use std::fmt::Debug;
use std::path::Path;

fn refused<T: Debug>(outcome: Result<T, HomeError>, code: &str, class: Class) -> HomeError {
    let error = outcome.unwrap_err();
    assert_eq!((error.code(), error.class()), (code, class), "{error}");
    assert!(!error.hint().is_empty());
    error
}

#[test]
fn a_directory_without_a_home_or_with_one() {
    let folder = Folder::new();
    let directory = folder.file("deep/home");
    refused(Home::open(&directory, Rehearsed::new(1)), "no-home", Class::Asked);
    assert!(!directory.exists(), "looking for a home makes none");
    drop(Home::create(&directory, Rehearsed::new(1)).unwrap());
    refused(Home::create(&directory, Rehearsed::new(1)), "home-exists", Class::Asked);
    drop(Home::open(&directory, Rehearsed::new(1)).unwrap());
    let in_the_way = folder.file("file");
    std::fs::write(&in_the_way, "not a directory").unwrap();
    refused(Home::create(&in_the_way, Rehearsed::new(1)), "device", Class::Device);
}

#[test]
fn a_home_that_is_in_use() {
    let folder = Folder::new();
    let _home = Home::create(&folder.file("home"), Rehearsed::new(1)).unwrap();
    let second = Home::open_within(&folder.file("home"), Rehearsed::new(1), std::time::Duration::ZERO);
    let error = refused(second, "busy", Class::Busy);
    assert!(error.to_string().contains("home is in use by process"), "{error}");
}

#[test]
fn a_store_of_another_format_or_damaged() {
    let device = Device::default();
    drop(device.home(1));
    let set = |name: &str, value: &[u8]| {
        let mut batch = Batch::new();
        batch.put(Table::Settings, name.as_bytes(), value);
        device.memory.lock().unwrap().write(&batch).unwrap();
    };
    let open = || Home::within(Box::new(device.clone()), Rehearsed::new(1));
    set("actor", b"short");
    refused(open(), "damaged", Class::Damaged);
    set("actor", &[1; 16]);
    set("workshop", b"short");
    refused(open(), "damaged", Class::Damaged);
    set("format", b"2");
    let error = refused(open(), "other-format", Class::Asked);
    assert_eq!(error.to_string(), "the home is of format 2; this program reads format 1");
    let folder = Folder::new();
    drop(Home::create(&folder.file("home"), Rehearsed::new(1)).unwrap());
    std::fs::write(folder.file("home/records.store"), vec![7; 5000]).unwrap();
    refused(Home::open(&folder.file("home"), Rehearsed::new(1)), "not-read", Class::Damaged);
}

#[test]
fn entries_that_have_no_place_here() {
    let mut home = Device::default().home(1);
    let foreign = founding("Foreign engine", Some(DocumentId::new([5; 32])));
    refused(home.found(&ada(), foreign.clone(), &[]), "no-workshop", Class::Asked);
    refused(home.root(), "no-workshop", Class::Asked);
    let record = founded(&mut home);
    refused(home.found(&ada(), foreign, &[]), "other-workshop", Class::Refused);
    refused(home.found(&ada(), founding("Second", None), &[]), "other-workshop", Class::Refused);
    let unknown = DocumentId::new([6; 32]);
    refused(home.state(unknown, &ada(), &[note("x")]), "unknown-record", Class::Asked);
    refused(home.receive(unknown, &[b"x"]), "unknown-record", Class::Asked);
    refused(home.log(unknown), "unknown-record", Class::Asked);
    refused(home.aside(unknown), "unknown-record", Class::Asked);
    refused(home.relay_heads(unknown), "unknown-record", Class::Asked);

    let id = says(&mut home, record, &ada(), "of the record");
    let value = home.document(record).unwrap().entry(&id).unwrap().to_vec();
    let entry = gudgeon_core::entry::check(id, &value, record).unwrap();
    let workshop = home.workshop().unwrap();
    refused(home.commit(workshop, &[entry]), "other-record", Class::Refused);
    let large = note(&"x".repeat(700_000));
    let error =
        refused(home.state(record, &ada(), &[note("small"), large]), "entry-too-long", Class::Refused);
    assert!(error.hint().contains("smaller"), "{}", error.hint());
    assert_eq!(texts(&home, record), ["of the record"]);
}

#[test]
fn a_founding_that_cannot_be_read() {
    let mut home = Device::default().home(1);
    let envelope = gudgeon_core::entry::Envelope {
        document: None,
        kind_code: 1,
        device_time: 0,
        min_reader: 1,
        after: vec![],
        payload: vec![0xff],
    };
    let entry = ada().sign(envelope);
    refused(home.commit(entry.id().into(), &[entry]), "bad-founding", Class::Refused);
}

#[test]
fn a_home_joins_only_the_workshop_that_was_confirmed() {
    let mut home = Device::default().home(1);
    founded(&mut home);
    let folder = Folder::new();
    let file = folder.file("a.gudgeon");
    home.carry_out(&[], &file).unwrap();
    let mut other = Device::default().home(2);
    let error = refused(other.carry_in(&file, None), "unconfirmed", Class::Asked);
    assert!(error.to_string().contains(&fingerprint(&root().key())), "{error}");
    refused(other.carry_in(&file, Some(ada().key())), "other-root", Class::Refused);
    assert_eq!(other.workshop(), None);
    let workshop = other.found(&ben(), founding("Other", None), &[]).unwrap().document;
    refused(other.carry_in(&file, Some(root().key())), "other-workshop", Class::Refused);
    assert_eq!(other.workshop(), Some(workshop));
    refused(Device::default().home(3).carry_out(&[], &file), "no-workshop", Class::Asked);
    let unknown = DocumentId::new([6; 32]);
    refused(home.carry_out(&[unknown], &file), "unknown-record", Class::Asked);
}

#[test]
fn a_file_that_is_no_whole_bundle() {
    let mut home = Device::default().home(1);
    let record = founded(&mut home);
    let folder = Folder::new();
    let file = folder.file("a.gudgeon");
    refused(home.carry_in(&file, None), "device", Class::Device);
    home.carry_out(&[record], &file).unwrap();
    let whole = std::fs::read(&file).unwrap();
    let mut try_bytes = |bytes: &[u8]| {
        std::fs::write(&file, bytes).unwrap();
        refused(home.carry_in(&file, None), "bad-bundle", Class::Refused);
    };
    for end in (0..whole.len()).step_by(7) {
        try_bytes(&whole[..end]);
    }
    for at in (0..whole.len()).step_by(11) {
        let mut altered = whole.clone();
        altered[at] ^= 4;
        try_bytes(&altered);
    }
    try_bytes(&[whole.as_slice(), b"more"].concat());
    std::fs::write(&file, &whole).unwrap();
    home.carry_in(&file, None).unwrap();
}

#[test]
fn a_bundle_that_is_not_what_it_says() {
    let mut home = Device::default().home(1);
    let record = founded(&mut home);
    let workshop = home.workshop().unwrap();
    let folder = Folder::new();
    let file = folder.file("a.gudgeon");
    let documents =
        |home: &Home| (home.document(workshop).unwrap().clone(), home.document(record).unwrap().clone());
    let (of_workshop, of_record) = documents(&home);
    write(root().key(), &[], &file);
    refused(home.carry_in(&file, None), "bad-bundle", Class::Refused);
    write(ada().key(), &[(workshop, &of_workshop)], &file);
    refused(home.carry_in(&file, None), "bad-bundle", Class::Refused);
    write(root().key(), &[(workshop, &of_record)], &file);
    refused(home.carry_in(&file, None), "bad-bundle", Class::Refused);
    let empty = gudgeon_core::document::Document::new();
    write(root().key(), &[(workshop, &of_workshop), (DocumentId::new([5; 32]), &empty)], &file);
    refused(home.carry_in(&file, None), "unknown-record", Class::Asked);
}

#[test]
fn a_bundle_that_cannot_be_written_leaves_what_was_there() {
    let mut home = Device::default().home(1);
    founded(&mut home);
    let folder = Folder::new();
    refused(home.carry_out(&[], &folder.file("no/such/place")), "device", Class::Device);
    let taken = folder.file("a directory");
    std::fs::create_dir(&taken).unwrap();
    refused(home.carry_out(&[], &taken), "device", Class::Device);
    assert_eq!(std::fs::read_dir(folder.file("")).unwrap().count(), 1, "nothing unfinished is left");
    refused(home.carry_in(Path::new("/"), None), "device", Class::Device);
}

#[test]
fn keys_that_are_here_already_or_not_at_all() {
    let mut home = Device::default().home(1);
    let pin = Pin::new("1111").unwrap();
    let key = home.new_key("Ada", &pin).unwrap();
    refused(home.add_key(&key, "Ada again", &pin), "key-exists", Class::Asked);
    refused(home.unlock(ben().key(), &pin), "unknown-key", Class::Asked);
    let short: Result<Pin, HomeError> = Pin::new("1").map_err(|e| crate::error::Kind::from(e).into());
    refused(short, "pin-too-short", Class::Pin);
    let wrong = Pin::new("2222").unwrap();
    for code in ["wrong-pin", "wrong-pin", "wrong-pin", "pin-too-soon"] {
        refused(home.unlock(key.key(), &wrong), code, Class::Pin);
    }
    refused(home.unlock(key.key(), &pin), "pin-too-soon", Class::Pin);
}

#[test]
fn a_device_without_randomness() {
    struct NoDice;
    impl World for NoDice {
        fn now(&self) -> i64 {
            0
        }
        fn fill(&self, _: &mut [u8]) -> Result<(), NoRandomness> {
            Err(NoRandomness)
        }
    }
    let device = Device::default();
    refused(Home::within(Box::new(device.clone()), NoDice), "no-randomness", Class::Device);
    drop(device.home(1));
    let mut home = Home::within(Box::new(device), NoDice).unwrap();
    refused(home.new_key("Ada", &Pin::new("1111").unwrap()), "no-randomness", Class::Device);
}
