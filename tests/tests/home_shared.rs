//! Several programs on one home at the same time.
#![allow(clippy::unwrap_used)]

mod home_common;

use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use gudgeon_client::home::Home;
use gudgeon_client::world::Native;
use home_common::{author, found, ids, note};

const CHILD: &str = "GUDGEON_TEST_CHILD_HOME";
const CHILDREN: u8 = 4;
const EACH: usize = 15;

fn child(number: u8, home: &Path) -> Child {
    let test = "programs_that_take_turns_on_one_home_lose_nothing";
    Command::new(std::env::current_exe().unwrap())
        .args(["--exact", test, "--nocapture", "--test-threads=1"])
        .env(CHILD, home)
        .env("GUDGEON_TEST_CHILD_NUMBER", number.to_string())
        .stdout(Stdio::null())
        .spawn()
        .unwrap()
}

/// One command after the other, each opening the home anew as a command line does.
fn write_some(home: &Path) {
    let number: u8 = std::env::var("GUDGEON_TEST_CHILD_NUMBER").unwrap().parse().unwrap();
    for i in 0..EACH {
        let mut home = Home::open_within(home, Native, Duration::from_secs(120)).unwrap();
        let record = home.records().next().unwrap();
        home.state(record, &author(number), &[note(&format!("{number}.{i}"))]).unwrap();
    }
}

#[test]
fn programs_that_take_turns_on_one_home_lose_nothing() {
    if let Some(home) = std::env::var_os(CHILD) {
        return write_some(Path::new(&home));
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("home");
    let mut home = Home::create(&path, Native).unwrap();
    let record = found(&mut home);
    let actor = home.actor();
    drop(home);
    let children: Vec<Child> = (2..2 + CHILDREN).map(|number| child(number, &path)).collect();
    for mut child in children {
        assert!(child.wait().unwrap().success());
    }
    let home = Home::open(&path, Native).unwrap();
    assert_eq!(ids(&home, record).len(), 1 + usize::from(CHILDREN) * EACH);
    assert_eq!(home.log(record).unwrap().forked_keys().count(), 0);
    assert_eq!(home.actor(), actor);
    let document = home.document(record).unwrap();
    assert!(document.changes_from(0).iter().all(|change| change.actor() == actor));
    document.check().unwrap();
}

#[test]
fn a_home_in_use_says_by_whom_after_waiting() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("home");
    let home = Home::create(&path, Native).unwrap();
    let error = Home::open_within(&path, Native, Duration::from_millis(50)).unwrap_err();
    assert_eq!(error.code(), "busy");
    assert!(error.to_string().contains(&format!("process {}", std::process::id())), "{error}");
    drop(home);
    Home::open_within(&path, Native, Duration::ZERO).unwrap();
}
