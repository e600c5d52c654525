#![allow(clippy::unwrap_used)]
use super::*;
use crate::keys::Pin;
use gudgeon_core::entry;

#[test]
fn what_was_saved_is_there_after_opening_again() {
    let device = Device::default();
    let (record, before) = {
        let mut home = device.home(1);
        let record = founded(&mut home);
        says(&mut home, record, &ada(), "one");
        home.state(record, &ada(), &[note("two"), note("three")]).unwrap();
        home.set_setting("relay", "box:7878").unwrap();
        (record, ids(&home, record))
    };
    let home = device.home(2);
    assert_eq!(ids(&home, record), before);
    assert_eq!(texts(&home, record), ["one", "three", "two"]);
    assert_eq!(home.records().collect::<Vec<_>>(), [record]);
    assert_eq!(home.root().unwrap(), root().key());
    assert_eq!(home.setting("relay").unwrap().unwrap(), "box:7878");
    assert_eq!(home.setting("format").unwrap(), None);
    home.document(record).unwrap().check().unwrap();
}

#[test]
fn each_statement_knows_the_one_before() {
    let device = Device::default();
    let mut home = device.home(1);
    let record = founded(&mut home);
    home.state(record, &ada(), &[note("one"), note("two")]).unwrap();
    home.state(record, &ada(), &[note("three")]).unwrap();
    let log = home.log(record).unwrap();
    assert_eq!(log.folded().len(), 4);
    assert!(!log.is_forked(ada().key()));
}

#[test]
fn a_full_device_saves_nothing_and_the_next_try_works() {
    let device = Device::default();
    let mut home = device.home(1);
    let record = founded(&mut home);
    says(&mut home, record, &ada(), "before");
    device.set(FULL);
    let error = home.state(record, &ada(), &[note("lost")]).unwrap_err();
    assert_eq!(error.code(), "not-saved");
    assert!(error.hint().contains("free some room"), "{}", error.hint());
    assert_eq!(texts(&home, record), ["before"]);
    device.set(SOUND);
    says(&mut home, record, &ada(), "after");
    assert_eq!(texts(&home, record), ["after", "before"]);
    assert_eq!(texts(&device.home(2), record), ["after", "before"]);
}

#[test]
fn a_device_that_is_not_sure_is_read_again() {
    let device = Device::default();
    let mut home = device.home(1);
    let record = founded(&mut home);
    device.set(UNSURE);
    home.state(record, &ada(), &[note("landed after all")]).unwrap_err();
    device.set(SOUND);
    assert_eq!(texts(&home, record), ["landed after all"]);
    says(&mut home, record, &ada(), "next");
    assert_eq!(texts(&device.home(2), record), ["landed after all", "next"]);
    home.document(record).unwrap().check().unwrap();
}

#[test]
fn a_founding_that_is_not_saved_leaves_no_document() {
    let device = Device::default();
    let mut home = device.home(1);
    device.set(FULL);
    home.found(&root(), founding("Bench Row", None), &[]).unwrap_err();
    assert_eq!((home.workshop(), home.records().count()), (None, 0));
    device.set(SOUND);
    let record = founded(&mut home);
    assert_eq!(home.records().collect::<Vec<_>>(), [record]);
    assert_eq!(device.home(2).workshop(), home.workshop());
}

#[test]
fn a_dead_device_is_said_to_be_dead_and_comes_back() {
    let device = Device::default();
    let mut home = device.home(1);
    let record = founded(&mut home);
    device.set(DEAD);
    home.state(record, &ada(), &[note("lost")]).unwrap_err();
    assert_eq!(home.log(record).unwrap_err().code(), "not-read");
    device.set(SOUND);
    assert_eq!(
        says(&mut home, record, &ada(), "back"),
        *ids(&home, record).iter().max_by_key(|id| { home.log(record).unwrap().place(id) }).unwrap()
    );
}

#[test]
fn entries_saved_twice_are_held_once() {
    let device = Device::default();
    let mut home = device.home(1);
    let record = founded(&mut home);
    let id = says(&mut home, record, &ada(), "once");
    let value = home.document(record).unwrap().entry(&id).unwrap().to_vec();
    let changes = home.document(record).unwrap().len();
    let entry = entry::check(id, &value, record).unwrap();
    home.commit(record, &[entry.clone(), entry]).unwrap();
    assert_eq!(home.document(record).unwrap().len(), changes);
    assert_eq!(texts(&home, record), ["once"]);
}

#[test]
fn a_forgotten_check_is_made_again_and_an_altered_value_is_damage() {
    let device = Device::default();
    let record = founded(&mut device.home(1));
    let mut batch = Batch::new();
    batch.remove_all(Table::Checked, b"");
    device.memory.lock().unwrap().write(&batch).unwrap();
    assert_eq!(device.home(2).log(record).unwrap().folded().len(), 1);

    let mut altered = device.memory.lock().unwrap().scan(Table::Changes, &[0, 0, 0, 1]).unwrap();
    let (key, value) = &mut altered[0];
    let last = value.len() - 1;
    value[last] ^= 1;
    let mut batch = Batch::new();
    batch.put(Table::Changes, key, value);
    device.memory.lock().unwrap().write(&batch).unwrap();
    let home = device.home(3);
    let error = home.log(record).unwrap_err();
    assert_eq!(error.code(), "damaged");
    assert!(error.hint().contains("carry the record in"), "{}", error.hint());
    assert!(home.log(home.workshop().unwrap()).is_ok());
}

#[test]
fn a_signature_is_not_taken_on_trust_because_a_row_says_so() {
    let device = Device::default();
    let record = founded(&mut device.home(1));
    let forged = forge(record);
    let mut document = device.home(1).document(record).unwrap().clone();
    let change = document.commit(gudgeon_core::document::Actor([9; 16]), &[forged]).unwrap().remove(0);
    let mut batch = Batch::new();
    batch.put(Table::Changes, &[0, 0, 0, 1, 0, 0, 0, 1], change.raw());
    device.memory.lock().unwrap().write(&batch).unwrap();
    assert_eq!(device.home(2).log(record).unwrap_err().code(), "damaged");
}

/// An entry whose signature is of other bytes.
pub(super) fn forge(record: DocumentId) -> (EntryId, Vec<u8>) {
    let device = Device::default();
    let mut home = device.home(77);
    founded(&mut home);
    let id = says(&mut home, record, &ada(), "forged");
    let mut value = home.document(record).unwrap().entry(&id).unwrap().to_vec();
    value[40] ^= 1;
    (id, value)
}

#[test]
fn the_relay_heads_are_kept_by_document() {
    let device = Device::default();
    let mut home = device.home(1);
    let record = founded(&mut home);
    let heads = home.document(record).unwrap().heads();
    assert_eq!(home.relay_heads(record).unwrap(), []);
    home.set_relay_heads(record, &heads).unwrap();
    assert_eq!(device.home(2).relay_heads(record).unwrap(), heads);
    assert_eq!(device.home(2).relay_heads(home.workshop().unwrap()).unwrap(), []);
}

#[test]
fn a_shared_phone_keeps_several_keys_each_under_its_own_pin() {
    let device = Device::default();
    let mut home = device.home(1);
    let (first, second) = (Pin::new("1111").unwrap(), Pin::new("2222").unwrap());
    let ada = home.new_key("Ada", &first).unwrap();
    let ben = home.new_key("Ben", &second).unwrap();
    assert_ne!(ada.key(), ben.key());
    assert_eq!(home.unlock(ada.key(), &first).unwrap().secret(), ada.secret());
    assert_eq!(home.unlock(ben.key(), &first).unwrap_err().code(), "wrong-pin");
    let wrong: Vec<_> =
        device.home(2).keys().unwrap().into_iter().map(|k| (k.label, k.wrong_tries)).collect();
    assert!(wrong.contains(&("Ada".to_owned(), 0)) && wrong.contains(&("Ben".to_owned(), 1)));
    home.change_pin(ben.key(), &second, &first).unwrap();
    assert_eq!(home.unlock(ben.key(), &first).unwrap().key(), ben.key());
    assert_eq!(home.keys().unwrap().iter().map(|key| key.wrong_tries).sum::<u32>(), 0);
}

#[test]
fn a_wrong_pin_that_cannot_be_counted_is_not_answered() {
    let device = Device::default();
    let mut home = device.home(1);
    let key = home.new_key("Ada", &Pin::new("1111").unwrap()).unwrap().key();
    device.set(FULL);
    assert_eq!(home.unlock(key, &Pin::new("0000").unwrap()).unwrap_err().code(), "not-saved");
}
