//! The demo build over real processes: three homes, files carried by hand, and what is left.
#![allow(clippy::unwrap_used)]

mod cli_kit;

use std::process::Command;

use serde_json::Value;

#[test]
fn three_people_build_an_engine_and_nothing_is_lost() {
    let directory = tempfile::tempdir().unwrap();
    let played = Command::new(env!("CARGO_BIN_EXE_gudgeon-demo"))
        .args(["--once", "--json"])
        .env("GUDGEON_BIN", cli_kit::program())
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
    assert_eq!((number("steps_signed"), number("steps_total")), (154, 154));
    assert_eq!((number("disputed"), number("stale_signoffs"), number("not_proven")), (0, 0, 0));
    assert_eq!((number("outside"), number("refused"), number("not_counted")), (1, 1, 2));
    // The one reading outside, and the two entries of the lost phone.
    assert_eq!(number("conceded"), 3);

    for told in [
        "47.753 mm by Cleo Marrowby (M3)",
        "outvoted, and kept",
        "pull the housing out of shape",
        "as read (not proven)",
        "at 20 degC: within",
        "neither knew of the other",
        "refused (bad-signature",
        "kept, shown, not counted",
    ] {
        assert!(story.contains(told), "the story does not tell `{told}`:\n{story}");
    }
    let sheet = std::fs::read_to_string(counts["sheet"].as_str().unwrap()).unwrap();
    assert!(sheet.trim_end().ends_with("</html>") && sheet.contains("Ouse 1.8, no. 17"));
}

#[test]
fn without_the_command_line_it_says_how_to_run_it() {
    let demo = || {
        let mut demo = Command::new(env!("CARGO_BIN_EXE_gudgeon-demo"));
        demo.env_remove("GUDGEON_BIN").env_remove("GUDGEON_DEMO_DIR");
        demo
    };
    let alone = demo().output().unwrap();
    assert_eq!(alone.status.code(), Some(2));
    assert!(String::from_utf8(alone.stderr).unwrap().contains("cargo xtask demo"));

    let directory = tempfile::tempdir().unwrap();
    let missing = directory.path().join("no-gudgeon");
    let lost =
        demo().env("GUDGEON_BIN", &missing).env("GUDGEON_DEMO_DIR", directory.path()).output().unwrap();
    assert_eq!(lost.status.code(), Some(1));
    assert!(String::from_utf8(lost.stderr).unwrap().contains("no-gudgeon"));
}
