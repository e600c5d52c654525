//! A program that is killed at any moment loses nothing that it said was saved.
//!
//! The test starts itself again as the program to be killed: the child, told by an
//! environment variable, writes in a loop and prints the name of each entry once it is
//! saved. Killing shows what the program and the file do; a power cut is another matter
//! and rests on the store's fsync.
#![allow(clippy::print_stdout, clippy::unwrap_used)]

mod home_common;

use std::io::{BufRead as _, BufReader, Write as _};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use gudgeon_client::home::Home;
use gudgeon_client::world::Native;
use gudgeon_core::entry::{DocumentId, EntryId};
use home_common::{Dice, author, found, note};

const CHILD: &str = "GUDGEON_TEST_CHILD_HOME";
const ROUNDS: u64 = 40;

/// Starts this very test again as the child on a home.
fn child(test: &str, home: &Path) -> Child {
    Command::new(std::env::current_exe().unwrap())
        .args(["--exact", test, "--nocapture", "--test-threads=1"])
        .env(CHILD, home)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

/// Lets the child run for a while, kills it and answers the names it printed whole.
fn run_and_kill(mut child: Child, run_for: Duration) -> Vec<EntryId> {
    let output = BufReader::new(child.stdout.take().unwrap());
    let reader = std::thread::spawn(move || {
        let lines = output.lines().map_while(Result::ok);
        lines.filter_map(|line| EntryId::from_hex(line.strip_prefix("saved ")?).ok()).collect()
    });
    std::thread::sleep(run_for);
    child.kill().unwrap();
    child.wait().unwrap();
    reader.join().unwrap()
}

fn say(line: &str) {
    let mut out = std::io::stdout().lock();
    writeln!(out, "{line}").unwrap();
    out.flush().unwrap();
}

/// Writes statements until it is killed, single ones and sets.
fn write_for_ever(home: &Path) -> ! {
    let mut home = Home::open(home, Native).unwrap();
    let record = home.records().next().unwrap();
    let start = home.log(record).unwrap().folded().len();
    for round in start.. {
        let says: Vec<_> = (0..=round % 4).map(|i| note(&format!("{round}.{i}"))).collect();
        let saved = home.state(record, &author(2), &says).unwrap();
        saved.entries.iter().for_each(|id| say(&format!("\nsaved {id}")));
    }
    unreachable!("an endless count")
}

#[test]
fn what_was_said_to_be_saved_survives_a_kill_at_any_moment() {
    if let Some(home) = std::env::var_os(CHILD) {
        write_for_ever(Path::new(&home));
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("home");
    let mut home = Home::create(&path, Native).unwrap();
    let record = found(&mut home);
    drop(home);
    let seed = u64::from(std::process::id());
    println!("seed {seed}");
    let mut dice = Dice(seed);
    let mut said: Vec<EntryId> = Vec::new();
    for _ in 0..ROUNDS {
        let moment = Duration::from_micros(5_000 + dice.below(145_000));
        let child = child("what_was_said_to_be_saved_survives_a_kill_at_any_moment", &path);
        said.extend(run_and_kill(child, moment));
        must_hold_all(&path, record, &said);
    }
    Home::open(&path, Native).unwrap().document(record).unwrap().check().unwrap();
    println!("{} entries said to be saved in {ROUNDS} rounds", said.len());
    assert!(said.len() > 20, "too few were saved to show anything: {}", said.len());
}

fn must_hold_all(path: &Path, record: DocumentId, said: &[EntryId]) {
    let home = Home::open(path, Native).unwrap();
    let log = home.log(record).unwrap();
    let lost = said.iter().filter(|id| log.place(id).is_none()).count();
    assert_eq!(lost, 0, "of {} entries said to be saved", said.len());
    assert_eq!(log.waiting().count(), 0, "an entry came without its ground");
    assert!(!log.is_forked(author(2).key()), "a statement did not know the one before");
}

/// Makes homes one after the other until it is killed.
fn create_for_ever(homes: &Path) -> ! {
    for number in 0_u64.. {
        let home = Home::create(&homes.join(number.to_string()), Native).unwrap();
        drop(home);
        say(&format!("\nmade {number}"));
    }
    unreachable!("an endless count")
}

#[test]
fn a_creation_that_was_killed_leaves_a_home_or_none_and_can_be_done_again() {
    if let Some(homes) = std::env::var_os(CHILD) {
        create_for_ever(Path::new(&homes));
    }
    let mut dice = Dice(u64::from(std::process::id()));
    for _ in 0..20 {
        let folder = tempfile::tempdir().unwrap();
        let test = "a_creation_that_was_killed_leaves_a_home_or_none_and_can_be_done_again";
        run_and_kill(child(test, folder.path()), Duration::from_micros(10_000 + dice.below(60_000)));
        for entry in std::fs::read_dir(folder.path()).unwrap() {
            let path = entry.unwrap().path();
            match Home::open(&path, Native) {
                Ok(home) => assert_eq!(home.records().count(), 0),
                Err(error) => {
                    assert_eq!(error.code(), "no-home", "{error}");
                    Home::create(&path, Native).unwrap();
                }
            }
        }
    }
}
