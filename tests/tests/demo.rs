//! The demo build over real processes: three homes, a relay where they meet, and what is left.
#![allow(clippy::unwrap_used)]

mod cli_kit;
mod office_kit;

use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command};
use std::time::{Duration, Instant};

use rustix::process::{Pid, Signal, kill_process};
use serde_json::Value;

/// Long enough for the whole play on a busy machine.
const PATIENCE: Duration = Duration::from_secs(300);

#[test]
fn three_people_build_an_engine_and_nothing_is_lost() {
    let directory = tempfile::tempdir().unwrap();
    let played = Command::new(env!("CARGO_BIN_EXE_gudgeon-demo"))
        .args(["--once", "--json"])
        .env("GUDGEON_BIN", cli_kit::program())
        .env("GUDGEON_OFFICE_BIN", office_kit::program())
        .env("GUDGEON_DEMO_DIR", directory.path())
        .output()
        .unwrap();
    let (said, story) =
        (String::from_utf8(played.stdout).unwrap(), String::from_utf8(played.stderr).unwrap());
    assert!(played.status.success(), "{story}");
    assert_eq!(said.lines().count(), 1, "one JSON object on one line: {said}");
    let counts: Value = serde_json::from_str(&said).unwrap();
    let number = |name: &str| counts[name].as_u64().unwrap_or_else(|| panic!("{name} in {counts}"));

    assert_eq!(counts["converged"], true);
    assert_eq!((number("people"), number("lost"), number("open_findings")), (3, 0, 0));
    assert!(number("entries") > 800, "{counts}");
    assert_eq!((number("steps_signed"), number("steps_total")), (158, 158));
    assert_eq!((number("disputed"), number("stale_signoffs"), number("not_proven")), (0, 0, 0));
    assert_eq!((number("outside"), number("not_counted"), number("carried")), (1, 2, 1));
    // The forged entry, at a home and at the relay.
    assert_eq!(number("refused"), 2);
    // The one reading outside, and the two entries of the lost phone.
    assert_eq!(number("conceded"), 3);

    for told in [
        "W1 is out of calibration",
        "W1 is calibrated and comes back: every stage of every bolt has its wrench.",
        "0.250 mm does not clean up; 0.500 mm (+0.020 in) is the smallest that does, with ",
        "is asked first: it would be handed over with 1 of 158 steps not signed and 2 open findings",
        "47.753 mm by Cleo Marrowby (M3)",
        "outvoted, and kept",
        "pull the housing out of shape",
        "as read (not proven)",
        "at 20 degC: within",
        "neither knew of the other",
        "refused (bad-signature), kept aside there",
        "refused (bad-signature), kept aside;",
        "it knows nothing. Ben meets it next and brings it all again",
        "turned away from now on",
        "2 are kept, shown, not counted",
    ] {
        assert!(story.contains(told), "the story does not tell `{told}`:\n{story}");
    }
    let kept = format!("sound, {} entries of workshop and record; 1 refused", number("entries"));
    assert!(story.contains(&kept), "{story}");
    assert!(!answers(directory.path()), "a relay was left running");
    let sheet = std::fs::read_to_string(counts["sheet"].as_str().unwrap()).unwrap();
    assert!(sheet.trim_end().ends_with("</html>") && sheet.contains("Ouse 1.8, no. 17"));
}

/// A demo with its talk in a file; ended with the value, whatever becomes of the test.
struct Demo {
    child: Child,
    directory: tempfile::TempDir,
}

impl Demo {
    fn start() -> Self {
        let directory = tempfile::tempdir().unwrap();
        let talk = std::fs::File::create(directory.path().join("talk")).unwrap();
        let child = Command::new(env!("CARGO_BIN_EXE_gudgeon-demo"))
            .env("GUDGEON_BIN", cli_kit::program())
            .env("GUDGEON_OFFICE_BIN", office_kit::program())
            .env("GUDGEON_DEMO_DIR", directory.path().join("demo"))
            .stderr(talk)
            .spawn()
            .unwrap();
        Self { child, directory }
    }

    fn output(&self) -> PathBuf {
        self.directory.path().join("demo")
    }

    /// Waits until it has said so.
    fn says(&mut self, words: &str) -> String {
        let until = Instant::now() + PATIENCE;
        loop {
            let talk = std::fs::read_to_string(self.directory.path().join("talk")).unwrap();
            if talk.contains(words) {
                return talk;
            }
            assert!(self.child.try_wait().unwrap().is_none(), "it ended without `{words}`:\n{talk}");
            assert!(Instant::now() < until, "it does not say `{words}`:\n{talk}");
            std::thread::sleep(Duration::from_millis(20));
        }
    }

    /// Tells it to end, and waits until it has.
    fn told(&mut self, signal: Signal) -> Option<i32> {
        kill_process(Pid::from_child(&self.child), signal).unwrap();
        self.child.wait().unwrap().code()
    }
}

impl Drop for Demo {
    fn drop(&mut self) {
        if let Ok(None) = self.child.try_wait() {
            // Not outright: it would leave its relay.
            let _gone = kill_process(Pid::from_child(&self.child), Signal::TERM);
            let _waited = self.child.wait();
        }
    }
}

#[test]
fn told_to_end_in_the_middle_of_the_play_it_takes_its_relay_with_it() {
    for signal in [Signal::TERM, Signal::INT] {
        let mut demo = Demo::start();
        demo.says("as found");
        assert!(answers(&demo.output()), "the relay runs");
        assert_eq!(demo.told(signal), Some(128 + signal.as_raw()));
        assert!(!answers(&demo.output()), "the relay was left running");
    }
}

#[test]
fn after_the_play_the_relay_stays_for_the_homes_until_it_is_told_to_end() {
    let mut demo = Demo::start();
    demo.says("The relay runs until");
    let on = |home: &str, words: &[&str]| {
        let mut command = Command::new(cli_kit::program());
        command
            .env("GUDGEON_PIN", "2468")
            .arg("--home")
            .arg(demo.output().join("homes").join(home))
            .args(words);
        let ran = command.output().unwrap();
        assert!(ran.status.success(), "{home} {words:?}: {ran:?}");
        String::from_utf8(ran.stdout).unwrap()
    };
    on("ben", &["note", "hello from Ben"]);
    let brought: Value = serde_json::from_str(&on("ben", &["sync", "--json"])).unwrap();
    assert_eq!(brought["went"], 1, "{brought}");
    let heard: Value = serde_json::from_str(&on("ida", &["watch", "--meetings", "1", "--json"])).unwrap();
    assert_eq!(heard["came"], 1, "{heard}");
    assert!(on("cleo", &["status"]).contains("158"), "its steps are told");
    assert_eq!(demo.told(Signal::TERM), Some(0));
    assert!(!answers(&demo.output()), "the relay was left running");
}

#[test]
fn without_the_command_line_it_says_how_to_run_it() {
    let demo = || {
        let mut demo = Command::new(env!("CARGO_BIN_EXE_gudgeon-demo"));
        demo.env_remove("GUDGEON_BIN").env_remove("GUDGEON_OFFICE_BIN").env_remove("GUDGEON_DEMO_DIR");
        demo
    };
    let alone = demo().output().unwrap();
    assert_eq!(alone.status.code(), Some(2));
    assert!(String::from_utf8(alone.stderr).unwrap().contains("cargo xtask demo"));

    let directory = tempfile::tempdir().unwrap();
    let missing = directory.path().join("no-gudgeon");
    for name in ["GUDGEON_BIN", "GUDGEON_OFFICE_BIN"] {
        let lost = demo()
            .env("GUDGEON_BIN", cli_kit::program())
            .env("GUDGEON_OFFICE_BIN", office_kit::program())
            .env("GUDGEON_DEMO_DIR", directory.path())
            .env(name, &missing)
            .output()
            .unwrap();
        assert_eq!(lost.status.code(), Some(1), "{name}");
        assert!(String::from_utf8(lost.stderr).unwrap().contains("no-gudgeon"), "{name}");
        // Here a relay was started before the command line was missed; it ended with it.
        if name == "GUDGEON_BIN" {
            assert!(!answers(directory.path()), "a relay was left running");
        }
    }
}

/// Whether anybody answers where the demo's relay last said that it listens.
fn answers(directory: &Path) -> bool {
    let log = std::fs::read_to_string(directory.join("office.log")).unwrap();
    let (_, after) = log.rsplit_once("127.0.0.1:").expect("the relay logs where it listens");
    let port: String = after.chars().take_while(char::is_ascii_digit).collect();
    TcpStream::connect(("127.0.0.1", port.parse::<u16>().unwrap())).is_ok()
}
