//! A relay's store that loses power loses nothing that was flushed, nor a backup; one whose
//! device fills up says so, and goes on once there is room.
//!
//! The store lives on a file system of its own in a file. The writer is stopped, the file is
//! copied as it stands (it holds what the system gave to the device, and nothing that waits
//! in the system's cache), and the copy is mounted and opened. This needs the rights to
//! mount; where they are missing the tests say so and end.
#![cfg(target_os = "linux")]
#![allow(clippy::print_stdout, clippy::unwrap_used)]

mod relay_store_kit;

use std::path::Path;

use gudgeon_tests::mounted::{Mounted, run};
use relay_store_kit::{Dice, Manner, Said, Writer, lost};

const ROUNDS: u64 = 10;
const DEVICE_BYTES: u64 = 1024 * 1024 * 1024;
const SMALL_DEVICE_BYTES: u64 = 160 * 1024 * 1024;
const BALLAST_BYTES: usize = 48 * 1024 * 1024;

/// Copies the image while nothing is written to it, as a device is when the power is gone.
fn copy(image: &Path, to: &Path) {
    let changed = || std::fs::metadata(image).unwrap().modified().unwrap();
    for _ in 0..50 {
        let before = changed();
        run("cp", &["--sparse=always", image.to_str().unwrap(), to.to_str().unwrap()]).unwrap();
        if changed() == before {
            return;
        }
    }
    panic!("the device is never quiet");
}

/// Lets a writer run, cuts the power, and answers what is wrong on the device afterwards.
fn cut(folder: &Path, test: &str, manner: Manner, dice: &mut Dice, said: &mut Said) -> Vec<String> {
    let (image, copied) = (folder.join("image"), folder.join("copied"));
    let mut writer = Writer::start(test, &folder.join("device"), manner);
    writer.wait_at_random(dice);
    run("kill", &["-STOP", &writer.pid().to_string()]).unwrap();
    copy(&image, &copied);
    said.extend(writer.kill());
    let device = Mounted::in_file(&copied, &folder.join("afterwards")).unwrap();
    lost(&device.at, said)
}

/// A folder with a device in it, or why there is none.
fn device(test: &str, bytes: u64) -> Option<(tempfile::TempDir, Mounted)> {
    let folder = tempfile::tempdir().unwrap();
    match Mounted::new_in_file(&folder.path().join("image"), &folder.path().join("device"), bytes) {
        Ok(device) => Some((folder, device)),
        Err(said) => {
            println!("SKIPPED {test}: no file system can be mounted here ({said})");
            None
        }
    }
}

#[test]
fn what_was_flushed_survives_a_power_cut() {
    if relay_store_kit::wrote_if_told() {
        return;
    }
    let test = "what_was_flushed_survives_a_power_cut";
    let Some((folder, _device)) = device(test, DEVICE_BYTES) else { return };
    let (mut dice, mut said) = (Dice::new(), Said::default());
    for round in 0..ROUNDS {
        let wrong = cut(folder.path(), test, Manner::Honest, &mut dice, &mut said);
        assert_eq!(wrong, Vec::<String>::new(), "round {round}");
    }
    println!("{} changes and {} backups kept in {ROUNDS} power cuts", said.changes(), said.backups.len());
    assert!(said.changes() > 100 && !said.backups.is_empty(), "too few to show anything: {said:?}");
}

#[test]
fn a_writer_that_never_flushes_is_caught_by_a_power_cut() {
    if relay_store_kit::wrote_if_told() {
        return;
    }
    let test = "a_writer_that_never_flushes_is_caught_by_a_power_cut";
    let mut dice = Dice::new();
    for _ in 0..ROUNDS {
        let Some((folder, _device)) = device(test, DEVICE_BYTES) else { return };
        let mut said = Said::default();
        if !cut(folder.path(), test, Manner::Careless, &mut dice, &mut said).is_empty() {
            return;
        }
    }
    panic!("not once in {ROUNDS} power cuts");
}

#[test]
fn a_device_that_fills_up_is_told_and_the_store_goes_on_with_room_again() {
    if relay_store_kit::wrote_if_told() {
        return;
    }
    let test = "a_device_that_fills_up_is_told_and_the_store_goes_on_with_room_again";
    let Some((folder, device)) = device(test, SMALL_DEVICE_BYTES) else { return };
    let ballast = device.at.join("ballast");
    std::fs::write(&ballast, vec![1; BALLAST_BYTES]).unwrap();
    let mut said = Said::default();
    said.extend(Writer::start(test, &device.at, Manner::Honest).fails());
    assert_eq!(said.failed.as_deref(), Some("Full"));
    assert_eq!(lost(&device.at, &said), Vec::<String>::new());
    let before = said.changes();
    std::fs::remove_file(ballast).unwrap();
    said.extend(Writer::start(test, &device.at, Manner::Honest).fails());
    assert_eq!(lost(&device.at, &said), Vec::<String>::new());
    assert!(said.changes() > before, "{before} changes before, {} after", said.changes());
    drop((device, folder));
}
