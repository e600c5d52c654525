//! A device without room, for real: the program runs under the shell's limit of file size.
//!
//! The limit answers a write with an error, as a full disk does, and needs no rights.
#![cfg(unix)]
#![allow(clippy::print_stdout, clippy::unwrap_used)]

mod home_common;

use std::path::Path;
use std::process::Command;

use gudgeon_client::Class;
use gudgeon_client::home::Home;
use gudgeon_client::world::Native;
use gudgeon_core::entry::{DocumentId, EntryId};
use home_common::{author, found, note};

const CHILD: &str = "GUDGEON_TEST_CHILD_HOME";

/// Starts this test again with no room beyond `blocks` of 512 or 1,024 bytes a file.
fn child(home: &Path, blocks: u32) -> String {
    let limits = format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$0\" \"$@\"");
    let output = Command::new("sh")
        .args(["-c", &limits])
        .arg(std::env::current_exe().unwrap())
        .args(["--exact", "a_device_without_room_loses_nothing_that_was_saved", "--nocapture"])
        .env(CHILD, home)
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// Writes until there is no room, twice, and looks at what is held after each error.
fn write_until_full(path: &Path) {
    let mut home = Home::open(path, Native).unwrap();
    let record = home.records().next().unwrap();
    for _ in 0..2 {
        let error = loop {
            let words = "as long as a picture ".repeat(400);
            match home.state(record, &author(2), &[note(&words)]) {
                Ok(saved) => saved.entries.iter().for_each(|id| println!("\nsaved {id}")),
                Err(error) => break error,
            }
        };
        assert_eq!((error.code(), error.class()), ("not-saved", Class::Device), "{error}");
        assert!(error.hint().contains("free some room"), "{}", error.hint());
        println!("\nheld {}", home.log(record).unwrap().folded().len());
    }
}

#[test]
fn a_device_without_room_loses_nothing_that_was_saved() {
    if let Some(home) = std::env::var_os(CHILD) {
        return write_until_full(Path::new(&home));
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("home");
    let record: DocumentId = found(&mut Home::create(&path, Native).unwrap());
    let output = child(&path, 2_000);
    let saved: Vec<EntryId> =
        output.lines().filter_map(|line| EntryId::from_hex(line.strip_prefix("saved ")?).ok()).collect();
    let held: Vec<&str> = output.lines().filter_map(|line| line.strip_prefix("held ")).collect();
    assert!(saved.len() > 10, "too few were saved to show anything: {output}");
    assert_eq!(held.last(), Some(&(saved.len() + 1).to_string().as_str()), "{output}");

    let mut home = Home::open(&path, Native).unwrap();
    home.state(record, &author(2), &[note("with room again")]).unwrap();
    let log = home.log(record).unwrap();
    assert_eq!(log.folded().len(), saved.len() + 2);
    assert!(saved.iter().all(|id| log.holds(id)));
    home.document(record).unwrap().check().unwrap();
}
