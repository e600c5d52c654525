//! A home and a bundle of stored format 1, as the first release wrote them, are read.
//!
//! The files in `home_format_1` were written by [`write_fixture`] and are never written
//! anew: a later format gets a directory of its own beside them. To write those, run this
//! test with `GUDGEON_WRITE_FIXTURE` naming an empty directory.
#![allow(clippy::unwrap_used)]

mod home_common;

use std::path::Path;

use gudgeon_client::home::{Home, fingerprint, read_bundle};
use gudgeon_client::keys::Pin;
use gudgeon_core::document::{Actor, Document};
use gudgeon_core::entry::{DocumentId, Payload};
use home_common::{Rehearsed, author, found, note, root};

/// A home with a setting, two keys, a record and something kept aside; and what it carries.
fn write_fixture(directory: &Path) {
    let mut home = Home::create(&directory.join("home"), Rehearsed::new(1)).unwrap();
    let record = found(&mut home);
    home.set_setting("relay", "box:7878").unwrap();
    home.add_key(&author(2), "bench", &Pin::new("1234").unwrap()).unwrap();
    home.add_key(&author(3), "grinder", &Pin::new("öl und Späne").unwrap()).unwrap();
    home.state(record, &author(2), &[note("one"), note("two")]).unwrap();
    let heads = home.document(record).unwrap().heads();
    home.set_relay_heads(record, &heads).unwrap();
    home.carry_out(&[record], &directory.join("carried.gudgeon")).unwrap();
    home.receive(record, &[forged(&home, record)]).unwrap();
}

/// A change that holds an entry whose signature is of other bytes.
fn forged(home: &Home, record: DocumentId) -> Vec<u8> {
    let entry = home.document(record).unwrap().entries().last().unwrap();
    let mut value = entry.value.to_vec();
    value[40] ^= 1;
    let changes = Document::new().commit(Actor([8; 16]), &[(entry.id, value)]).unwrap();
    changes[0].raw().to_vec()
}

fn texts(home: &Home, record: DocumentId) -> Vec<String> {
    let folded = home.log(record).unwrap().folded().iter();
    let notes = folded.filter_map(|statement| match &statement.payload {
        Ok(Payload::Note(note)) => Some(note.text.clone()),
        Ok(_) | Err(_) => None,
    });
    notes.collect()
}

#[test]
fn format_1_is_read_whole_and_written_on() {
    if let Some(directory) = std::env::var_os("GUDGEON_WRITE_FIXTURE") {
        write_fixture(Path::new(&directory));
    }
    let fixture = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/home_format_1");
    let folder = tempfile::tempdir().unwrap();
    std::fs::copy(fixture.join("home/records.store"), folder.path().join("records.store")).unwrap();

    let mut home = Home::open(folder.path(), Rehearsed::new(2)).unwrap();
    let record = home.records().next().unwrap();
    assert_eq!(home.root().unwrap(), root().key());
    assert_eq!(home.setting("relay").unwrap().unwrap(), "box:7878");
    assert_eq!(texts(&home, record), ["one", "two"]);
    assert_eq!(home.relay_heads(record).unwrap(), home.document(record).unwrap().heads());
    let aside = home.aside(record).unwrap();
    assert_eq!(aside.iter().map(|one| one.rule.as_str()).collect::<Vec<_>>(), ["bad-signature"]);
    for (number, label, pin) in [(2, "bench", "1234"), (3, "grinder", "öl und Späne")] {
        let key = author(number).key();
        assert!(home.keys().unwrap().iter().any(|row| row.key == key && row.label == label));
        assert_eq!(home.unlock(key, &Pin::new(pin).unwrap()).unwrap().key(), key);
    }
    home.state(record, &author(2), &[note("three")]).unwrap();
    drop(home);
    let home = Home::open(folder.path(), Rehearsed::new(3)).unwrap();
    assert_eq!(texts(&home, record), ["one", "two", "three"]);
}

#[test]
fn a_bundle_of_format_1_is_carried_in() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/home_format_1/carried.gudgeon");
    let bundle = read_bundle(&file).unwrap();
    assert_eq!(fingerprint(&bundle.root()), "8a88 e3dd 7409 f195 fd52 db2d 3cba 5d72");
    let folder = tempfile::tempdir().unwrap();
    let mut home = Home::create(folder.path(), Rehearsed::new(4)).unwrap();
    let carried = home.carry_in(&file, Some(root().key())).unwrap();
    assert_eq!(carried.reports.iter().map(|report| report.new.len()).collect::<Vec<_>>(), [1, 3]);
    assert_eq!(texts(&home, carried.reports[1].document), ["one", "two"]);
}
