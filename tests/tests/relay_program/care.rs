//! Looking after what is kept: check, backup, restore.

use std::path::Path;

use gudgeon_core::entry::DocumentId;
use gudgeon_relay::store::{Append, OnDisk, Options, Store as _};

use crate::program::{Ran, Relay, run};
use crate::relay_kit::client::{Client, bring};
use crate::relay_kit::{Copy, Shop, ids};

fn check(data: &Path) -> Ran {
    run(&["check", "--data", data.to_str().unwrap()])
}

fn back_up(data: &Path, file: &Path) -> Ran {
    run(&["backup", "--data", data.to_str().unwrap(), file.to_str().unwrap()])
}

fn restore(data: &Path, file: &Path) -> Ran {
    run(&["restore", "--data", data.to_str().unwrap(), file.to_str().unwrap()])
}

/// A directory in which a relay has kept a shop of so many entries.
async fn kept(shop: &Shop) -> tempfile::TempDir {
    let data = tempfile::tempdir().unwrap();
    let relay = Relay::start(data.path());
    bring(relay.at, shop).await;
    assert_eq!(relay.stop().code(), Some(0));
    data
}

/// Puts a change into the store behind the relay's back.
fn put(data: &Path, document: DocumentId, raw: &[u8]) {
    let mut store = OnDisk::open(data, Options::default()).unwrap();
    let at = u64::try_from(store.load(document).unwrap().len()).unwrap();
    store.append(&[Append { document, at, raw: raw.into() }]).unwrap();
    store.flush().unwrap();
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_sound_store_is_told_as_sound_with_what_it_holds() {
    let shop = Shop::new(12);
    let data = kept(&shop).await;
    let ran = check(data.path());
    assert_eq!(ran.code, Some(0), "{ran:?}");
    assert!(ran.stdout.contains(&format!("{}  sound", shop.record_id().short())), "{ran:?}");
    assert!(ran.stdout.contains("12 entries") && ran.stdout.contains("2 documents"), "{ran:?}");
}

#[test]
fn one_of_a_kind_is_counted_as_one() {
    let (data, mut shop) = (tempfile::tempdir().unwrap(), Shop::new(12));
    let note = shop.notes(&shop.people[0].clone(), "alone");
    put(data.path(), shop.record_id(), &Copy::new(shop.record_id(), 1).write(&[note])[0]);
    let ran = check(data.path());
    assert!(ran.stdout.contains("1 change, 1 entry\n1 document\n"), "{ran:?}");
    let ran = back_up(data.path(), &data.path().join("b"));
    assert!(ran.stdout.starts_with("1 document, 1 change in "), "{ran:?}");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn an_entry_altered_in_one_bit_of_its_signature_is_found() {
    let mut shop = Shop::new(12);
    let data = kept(&shop).await;
    let note = shop.notes(&shop.people[0].clone(), "altered");
    let altered = Copy::new(shop.record_id(), 1).forge(&note);
    put(data.path(), shop.record_id(), &altered[0]);
    let ran = check(data.path());
    assert_eq!(ran.code, Some(1), "{ran:?}");
    assert!(ran.stdout.contains(&format!("{}  DAMAGED", shop.record_id().short())), "{ran:?}");
    assert!(ran.stderr.contains("bad-signature") && ran.stderr.contains(&note.id().short()), "{ran:?}");
    assert!(ran.stdout.contains(&format!("{}  sound", shop.id().short())), "the other is sound: {ran:?}");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn bytes_that_are_no_change_are_found_and_only_that_document_is_lost() {
    let shop = Shop::new(12);
    let data = kept(&shop).await;
    let mut flipped = Copy::new(shop.record_id(), 1).write(&shop.record[3..4]).remove(0);
    let middle = flipped.len() / 2;
    flipped[middle] ^= 1;
    put(data.path(), shop.record_id(), &flipped);
    let ran = check(data.path());
    assert_eq!(ran.code, Some(1), "{ran:?}");
    let relay = Relay::start(data.path());
    let mut client = Client::open(relay.at, &shop.people[0], shop.id()).await.unwrap();
    let told = client.exchange(shop.record_id(), &[], Vec::new()).await.unwrap_err();
    assert_eq!(told.code(), tonic::Code::DataLoss, "{told}");
    let mut workshop = Copy::new(shop.id(), 1);
    client.sync(&mut workshop).await.unwrap();
    assert_eq!(workshop.ids(), ids(&shop.workshop));
}

#[test]
fn checking_or_backing_up_what_is_not_there_makes_nothing() {
    let around = tempfile::tempdir().unwrap();
    let (data, file) = (around.path().join("data"), around.path().join("backup"));
    for ran in [check(&data), back_up(&data, &file)] {
        assert_eq!(ran.code, Some(2), "{ran:?}");
    }
    assert!(!data.exists() && !file.exists());
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_backup_goes_into_a_new_directory_and_into_no_full_one() {
    let (shop, other) = (Shop::new(12), Shop::stranger());
    let (data, full) = (kept(&shop).await, kept(&other).await);
    let around = tempfile::tempdir().unwrap();
    let (file, new) = (around.path().join("backup"), around.path().join("new"));
    let ran = back_up(data.path(), &file);
    assert_eq!(ran.code, Some(0), "{ran:?}");
    let before = check(full.path()).stdout;
    let refused = restore(full.path(), &file);
    assert_eq!(refused.code, Some(2), "{refused:?}");
    let told = ["not empty: it holds 2 documents", "empty directory", full.path().to_str().unwrap()];
    assert!(told.iter().all(|words| refused.stderr.contains(words)), "{refused:?}");
    assert!(!refused.stderr.contains("fault"), "{refused:?}");
    assert_eq!(check(full.path()).stdout, before, "the full one is as it was");
    let ran = restore(&new, &file);
    assert_eq!(ran.code, Some(0), "{ran:?}");
    assert_eq!(check(&new).stdout, check(data.path()).stdout);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_backup_that_was_altered_is_refused_and_makes_nothing() {
    let data = kept(&Shop::new(12)).await;
    let around = tempfile::tempdir().unwrap();
    let (file, new) = (around.path().join("backup"), around.path().join("new"));
    assert_eq!(back_up(data.path(), &file).code, Some(0));
    let mut bytes = std::fs::read(&file).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    std::fs::write(&file, bytes).unwrap();
    let ran = restore(&new, &file);
    assert_eq!(ran.code, Some(1), "{ran:?}");
    let told = [file.to_str().unwrap(), "altered or cut short", "take another backup"];
    assert!(told.iter().all(|words| ran.stderr.contains(words)), "{ran:?}");
    assert!(!new.exists());
}

#[test]
fn a_backup_that_is_not_there_is_named_and_makes_nothing() {
    let around = tempfile::tempdir().unwrap();
    let (file, new) = (around.path().join("nosuch.bak"), around.path().join("new"));
    let ran = restore(&new, &file);
    assert_eq!(ran.code, Some(2), "{ran:?}");
    assert!(ran.stderr.contains("nosuch.bak") && ran.stderr.contains("cannot be read"), "{ran:?}");
    assert!(!ran.stderr.contains("cables") && !new.exists(), "{ran:?}");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_backup_takes_the_place_of_a_file_only_when_told_to() {
    let data = kept(&Shop::new(12)).await;
    let around = tempfile::tempdir().unwrap();
    let file = around.path().join("mine.txt");
    std::fs::write(&file, "my own words").unwrap();
    let refused = back_up(data.path(), &file);
    assert_eq!(refused.code, Some(2), "{refused:?}");
    assert!(refused.stderr.contains("mine.txt is there already"), "{refused:?}");
    assert!(refused.stderr.contains("--replace"), "{refused:?}");
    assert_eq!(std::fs::read_to_string(&file).unwrap(), "my own words");
    let (at, to) = (data.path().to_str().unwrap(), file.to_str().unwrap());
    let ran = run(&["backup", "--replace", "--data", at, to]);
    assert_eq!(ran.code, Some(0), "{ran:?}");
    assert_eq!(restore(&around.path().join("new"), &file).code, Some(0));
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_damaged_store_is_called_so_with_the_way_out() {
    let data = kept(&Shop::new(12)).await;
    let database = data.path().join("db");
    let length = std::fs::metadata(&database).unwrap().len();
    std::fs::write(&database, vec![b'x'; usize::try_from(length).unwrap()]).unwrap();
    let at = data.path().to_str().unwrap();
    for ran in [check(data.path()), run(&["serve", "--listen", "127.0.0.1:0", "--data", at])] {
        assert_eq!(ran.code, Some(1), "{ran:?}");
        let told = ["the store is damaged", "restore a backup", "the phones fill it again"];
        assert!(told.iter().all(|words| ran.stderr.contains(words)), "{ran:?}");
        assert!(!ran.stderr.contains("None") && !ran.stderr.contains("panicked"), "{ran:?}");
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn an_old_backup_heals_from_a_phone_that_comes_again() {
    let mut shop = Shop::new(12);
    let data = kept(&shop).await;
    let around = tempfile::tempdir().unwrap();
    let (file, new) = (around.path().join("backup"), around.path().join("new"));
    assert_eq!(back_up(data.path(), &file).code, Some(0));

    let mut phone = Copy::new(shop.record_id(), 1);
    let author = shop.people[0].clone();
    let relay = Relay::start(data.path());
    let mut client = Client::open(relay.at, &author, shop.id()).await.unwrap();
    client.sync(&mut phone).await.unwrap();
    for text in ["after", "the", "backup"] {
        phone.write(&[shop.notes(&author, text)]);
        client.sync(&mut phone).await.unwrap();
    }
    relay.kill();

    assert_eq!(restore(&new, &file).code, Some(0));
    let relay = Relay::start(&new);
    let mut fresh = Copy::new(shop.record_id(), 9);
    let mut other = Client::open(relay.at, &shop.people[1], shop.id()).await.unwrap();
    other.sync(&mut fresh).await.unwrap();
    assert_eq!(fresh.ids(), ids(&shop.record[..12]), "the backup is old");
    let mut client = Client::open(relay.at, &author, shop.id()).await.unwrap();
    client.sync(&mut phone).await.unwrap();
    other.sync(&mut fresh).await.unwrap();
    assert_eq!(fresh.ids(), ids(&shop.record));
}
