//! The program killed at any moment, and two at once on one home: nothing said to be saved is lost.
#![allow(clippy::unwrap_used)]

mod cli_kit;

use std::collections::BTreeSet;
use std::io::{Read as _, Write as _};
use std::process::Stdio;
use std::time::Duration;

use cli_kit::{Stage, shop};

/// Lines of one set: enough that the program works on it for a while.
const LINES: usize = 120;

fn set(round: usize) -> String {
    let stations = ["front/0", "front/60", "front/120", "rear/0", "rear/60", "rear/120"];
    let mut text = "feature,characteristic,station,value,note\n".to_owned();
    for line in 0..LINES {
        let (pin, station) = (line % 4 + 1, stations[line % 6]);
        text.push_str(&format!("pin/{pin},diameter,{station},47.74{} mm,{round}.{line}\n", line % 9));
    }
    text
}

/// Entries of the record by now, as the program tells them.
fn entries(stage: &Stage) -> BTreeSet<String> {
    let status = stage.must("ann", "--json status --whole").json();
    let listed = status["assessment"]["entries"].as_array().unwrap().clone();
    listed.iter().map(|entry| entry["id"].as_str().unwrap().to_owned()).collect()
}

fn ids(stdout: &str) -> Option<BTreeSet<String>> {
    let answer: serde_json::Value = serde_json::from_str(stdout).ok()?;
    Some(answer["saved"].as_array()?.iter().map(|id| id.as_str().unwrap().to_owned()).collect())
}

#[test]
fn killed_while_it_reads_a_set_it_has_saved_all_of_it_or_nothing() {
    let stage = shop();
    let mut known = entries(&stage);
    let (mut whole, mut cut) = (0, 0);
    for round in 0..24_u64 {
        let words = ["--json", "read", "--csv", "-", "--gauge", "M1", "--both-at", "20C"];
        let mut child = stage
            .command("ann")
            .args(words)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let text = set(usize::try_from(round).unwrap());
        child.stdin.take().unwrap().write_all(text.as_bytes()).unwrap();
        // Moments spread over the whole of a run, from the start to past its end.
        std::thread::sleep(Duration::from_millis(4 * round * (1 + round % 5)));
        child.kill().unwrap();
        let mut stdout = String::new();
        child.stdout.take().unwrap().read_to_string(&mut stdout).unwrap();
        child.wait().unwrap();
        let now = entries(&stage);
        assert!(known.is_subset(&now), "round {round}: something is gone");
        let new: BTreeSet<String> = now.difference(&known).cloned().collect();
        if let Some(said) = ids(&stdout) {
            assert_eq!(said, new, "round {round}: what was said to be saved is not what is there");
            whole += 1;
        } else {
            assert!(new.is_empty() || new.len() == LINES, "round {round}: {} of {LINES} saved", new.len());
            cut += 1;
        }
        known = now;
    }
    assert!(cut > 0, "no kill came early enough ({whole} runs ended)");
}

#[test]
fn killed_at_single_commands_it_loses_nothing_it_said_was_saved() {
    let stage = shop();
    let commands = [
        r#"--json note "words""#,
        r#"--json operation hone bore/1"#,
        r#"--json read pin/1 diameter "47.741 mm" --at front/0 --gauge M1 --both-at 20C"#,
        r#"--json checked turns-free crank"#,
        r#"--json part receive piston/B"#,
    ];
    let mut said = BTreeSet::new();
    for round in 0..30_u64 {
        let line = cli_kit::split(commands[usize::try_from(round).unwrap() % commands.len()]);
        let mut child =
            stage.command("ann").args(line).stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
        std::thread::sleep(Duration::from_millis(round * 9 % 140));
        child.kill().unwrap();
        let mut stdout = String::new();
        child.stdout.take().unwrap().read_to_string(&mut stdout).unwrap();
        child.wait().unwrap();
        said.extend(ids(&stdout).unwrap_or_default());
        let there = entries(&stage);
        assert!(said.is_subset(&there), "round {round}: {:?} are lost", said.difference(&there));
    }
}

#[test]
fn two_programs_at_once_on_one_home_both_save() {
    let stage = shop();
    let before = entries(&stage);
    let start = |text: &str| {
        let words = ["--json", "note", text];
        stage.command("ann").args(words).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap()
    };
    let mut said = BTreeSet::new();
    for round in 0..6 {
        let running: Vec<_> = (0..3).map(|at| start(&format!("{round}.{at}"))).collect();
        for child in running {
            let output = child.wait_with_output().unwrap();
            let stdout = String::from_utf8(output.stdout).unwrap();
            assert!(output.status.success(), "{stdout}{}", String::from_utf8_lossy(&output.stderr));
            said.extend(ids(&stdout).unwrap());
        }
    }
    assert_eq!(said.len(), 18);
    let after = entries(&stage);
    assert_eq!(after.difference(&before).cloned().collect::<BTreeSet<_>>(), said);
    // One device under one key: the second waited for the first and knew its entry.
    let findings = stage.must("ann", "--json findings --all").json();
    let rules: Vec<&str> =
        findings["findings"].as_array().unwrap().iter().map(|f| f["rule"].as_str().unwrap()).collect();
    assert!(!rules.contains(&"forked-key"), "{rules:?}");
}

#[test]
fn a_program_that_waits_for_the_home_in_vain_says_who_has_it() {
    let stage = shop();
    let ann = stage.path().join("ann");
    let _held = gudgeon_client::home::Home::open(&ann, gudgeon_client::world::Native).unwrap();
    let ran = stage.run("ann", &["--json", "status"]);
    assert_eq!(ran.status, 8);
    let error = ran.json()["error"].clone();
    assert_eq!(error["rule"], "busy");
    assert!(error["cause"].as_str().unwrap().contains(&std::process::id().to_string()), "{error}");
}
