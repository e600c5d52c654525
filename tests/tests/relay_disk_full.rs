//! A relay whose disk fills up says so by name, keeps nothing that it does not answer for, goes
//! on giving out what it has, and with room again takes everything that waited.
//!
//! The disk is a small file system in memory. Mounting one needs rights; where they are missing
//! the test says so and ends: the store double in `relay_service/durable.rs` tells the same story.
#![cfg(target_os = "linux")]
#![allow(clippy::print_stdout, clippy::unwrap_used)]

mod relay_kit;

#[allow(dead_code)] // shared with the tests of the program
#[path = "relay_program/program.rs"]
mod program;

use std::io::Write as _;
use std::path::Path;

use gudgeon_core::entry::Entry;
use gudgeon_tests::mounted::Mounted;
use tonic::Code;

use program::{Relay, run};
use relay_kit::client::{Client, bring};
use relay_kit::{Copy, Shop, ids};

/// Room for the store with what it leaves free for its own upkeep, the ballast beside it, and
/// some photos.
const DISK: &str = "size=96m";
const BALLAST: usize = 36 * 1024 * 1024;

/// Bytes of one photo.
const PHOTO: usize = 600 * 1024;

/// More photos than fit.
const MOST: u8 = 120;

/// Writes until there is no room at all.
fn fill(file: &Path) {
    let mut file = std::fs::File::create(file).unwrap();
    while file.write_all(&[1; 4096]).is_ok() {}
}

/// The shop's record with one more photo, by people[0].
fn photo(shop: &mut Shop, number: u8) -> Entry {
    let author = shop.people[0].clone();
    shop.photographs(&author, number, PHOTO);
    shop.record.last().unwrap().clone()
}

/// What somebody else gets from the relay.
async fn seen(relay: &Relay, shop: &Shop) -> Copy {
    let mut theirs = Copy::new(shop.record_id(), 9);
    let mut other = Client::open(relay.at, &shop.people[1], shop.id()).await.unwrap();
    other.sync(&mut theirs).await.unwrap();
    theirs
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_full_disk_is_told_by_name_and_with_room_again_everything_that_waited_is_taken() {
    let folder = tempfile::tempdir().unwrap();
    let disk = match Mounted::in_memory(&folder.path().join("disk"), DISK) {
        Ok(disk) => disk,
        Err(said) => return println!("SKIPPED: no file system can be mounted here ({said})"),
    };
    let (data, ballast) = (disk.at.join("data"), disk.at.join("ballast"));
    let mut shop = Shop::new(5);
    let relay = Relay::start(&data);
    bring(relay.at, &shop).await;
    std::fs::write(&ballast, vec![1; BALLAST]).unwrap();

    let mut client = Client::open(relay.at, &shop.people[0], shop.id()).await.unwrap();
    let mut mine = Copy::new(shop.record_id(), 1);
    client.sync(&mut mine).await.unwrap();
    let mut answered = shop.record.clone();
    let told = loop {
        let number = u8::try_from(shop.record.len()).unwrap();
        assert!(number < MOST, "the disk does not fill up");
        mine.write(&[photo(&mut shop, number)]);
        match client.sync(&mut mine).await {
            Ok(_) => answered = shop.record.clone(),
            Err(told) => break told,
        }
    };
    assert_eq!(told.code(), Code::ResourceExhausted, "{told}");
    assert!(told.message().contains("free some room on this device"), "{told}");
    assert!(answered.len() > 6, "some fitted");

    // Somebody else takes the last byte, and more comes: told again, and shown to nobody.
    let last = disk.at.join("last");
    fill(&last);
    for _ in 0..3 {
        let number = u8::try_from(shop.record.len()).unwrap();
        mine.write(&[photo(&mut shop, number)]);
        let told = client.sync(&mut mine).await.unwrap_err();
        assert_eq!(told.code(), Code::ResourceExhausted, "{told}");
    }
    let theirs = seen(&relay, &shop).await;
    assert_eq!(theirs.ids(), ids(&answered), "what was answered is given out, and nothing else");

    std::fs::remove_file(&last).unwrap();
    std::fs::remove_file(&ballast).unwrap();
    client.sync(&mut mine).await.unwrap();
    assert_eq!(seen(&relay, &shop).await.ids(), ids(&shop.record));
    assert_eq!(relay.stop().code(), Some(0));
    let checked = run(&["check", "--data", data.to_str().unwrap()]);
    assert_eq!(checked.code, Some(0), "{checked:?}");
}
