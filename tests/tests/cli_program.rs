//! The program itself: help, codes, completions, manual pages; homes, keys and files gone wrong.
#![allow(clippy::unwrap_used)]

mod cli_kit;

use cli_kit::{Stage, masked, shop};

#[test]
fn help_names_every_command_and_the_exit_codes() {
    let stage = Stage::new();
    let help = stage.must("ann", "--help").stdout;
    masked(|| insta::assert_snapshot!("help", help));
    let codes = stage.must("ann", "--json codes").json();
    assert_eq!((&codes["schema"], codes["codes"][0]["name"].as_str()), (&1.into(), Some("done")));
    assert!(stage.must("ann", "--version").stdout.starts_with("gudgeon "));
}

/// Somebody who reads only the README knows that a command is there.
#[test]
fn the_readme_has_a_line_for_every_command() {
    const README: &str = include_str!("../../README.md");
    let stage = Stage::new();
    let commands = |line: &str| -> Vec<String> {
        let help = stage.must("ann", line).stdout;
        let listed = help.lines().skip_while(|line| *line != "Commands:").skip(1);
        let listed = listed.take_while(|line| !line.is_empty()).filter(|line| !line.starts_with("   "));
        let names = listed.filter_map(|line| line.split_whitespace().next()).map(str::to_owned);
        names.filter(|name| name != "help").collect()
    };
    let told = |words: &str| {
        let plain =
            README.replace("gudgeon --home ida ", "gudgeon ").replace("gudgeon --home ben ", "gudgeon ");
        let plain = plain.replace("gudgeon --home cleo ", "gudgeon ");
        plain.contains(&format!("gudgeon {words}")) || plain.contains(&format!("`{words}"))
    };
    let all = commands("--help");
    assert!(all.len() > 40, "{all:?}");
    for name in &all {
        assert!(told(name), "the README has no line for `gudgeon {name}`");
    }
    for family in ["engine", "part", "custody", "gauge", "carry"] {
        for name in commands(&format!("{family} --help")) {
            assert!(
                told(&format!("{family} {name}")),
                "the README has no line for `gudgeon {family} {name}`"
            );
        }
    }
}

#[test]
fn completions_and_manual_pages_are_made() {
    let stage = Stage::new();
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let script = stage.must("ann", &format!("completions {shell}")).stdout;
        for word in ["found", "read", "carry", "hand-over"] {
            assert!(script.contains(word), "{shell} knows no {word}");
        }
    }
    let page = stage.must("ann", "man").stdout;
    assert!(page.contains(".TH gudgeon 1") && page.contains(".SH \"EXIT STATUS\""), "{page}");
    assert!(page.contains("GUDGEON_PIN") && page.contains("not\\-allowed"), "{page}");
    stage.must("ann", "man pages");
    let pages = std::fs::read_dir(stage.path().join("pages")).unwrap().count();
    assert!(pages > 40, "{pages} pages");
}

#[test]
fn every_command_line_that_cannot_be_read_is_told_in_both_ways() {
    let mut stage = Stage::new();
    let shown = stage.play(
        r#"
        ann> nonsense
        ann> --json nonsense
        ann> read --csv x.csv --good-lines pin/1
        ann> gauge check M1 --on R80
        ann> --json enrol
        "#,
    );
    masked(|| insta::assert_snapshot!("usage", shown));
}

#[test]
fn homes_keys_and_files_that_are_not_there_are_named() {
    let mut stage = shop();
    stage.write("torn.bundle", &"gudgeon bundle".repeat(20));
    stage.write("bad.ask", "gudgeon ask 1\nkey 12\nlabel x\nsignature 34\n");
    stage.write(
        "bad.toml",
        &gudgeon_core::engine::EXAMPLE.replace("cylinders = 4", "cylinders = 99").replace("oiled", "x"),
    );
    let shown = stage.play(
        r#"
        none> status
        none> --json status
        none> read pin/1 diameter "47.741 mm" --at front/0
        eve> ask --label "phone of Eve"  --to eve.ask
        eve> status
        ann> --record J9 status
        ann> --as Ben read pin/1 diameter "47.741 mm" --at front/0
        ann GUDGEON_PIN=1111> read pin/1 diameter "47.741 mm" --at front/0 --gauge M1 --both-at 20C
        ann GUDGEON_PIN=1> read pin/1 diameter "47.741 mm" --at front/0 --gauge M1 --both-at 20C
        ann GUDGEON_NEW_PIN=13579> pin
        ann> decide oversize "+0.50"
        ann GUDGEON_PIN=13579> decide oversize "+0.50"
        ann> carry in torn.bundle
        ann> carry in no.bundle
        ann> carry out no/such/directory/x.bundle
        ann> enrol bad.ask --name Eve
        ann> enrol no.ask --name Eve
        ann> engine check bad.toml
        ann> --json engine check bad.toml
        ann> engine check engine.toml
        ann> engine check no.toml
        ann> entry 12
        ann> entry 00000000000
        ann> refused
        "#,
    );
    masked(|| insta::assert_snapshot!("not_there", shown));
}

#[test]
fn every_answer_in_json_is_one_object_with_its_schema() {
    let stage = shop();
    for line in [
        "people",
        "gauges",
        "records",
        "status",
        "status --whole",
        "findings --all",
        "next --mine",
        "step received",
        "history pin/1",
        "refused",
        "codes",
        "engine example",
        "carry out x.bundle",
        "note words",
        "findings",
        "gauge add F1 --sort feeler --error \"10 µm\"",
        "gauge check M1 --on R80 --passed --nominal \"25 mm\" --shows \"25.001 mm\"",
    ] {
        let ran = stage.must("ann", &format!("--json {line}"));
        assert_eq!(ran.stdout.lines().count(), 1, "{line}");
        assert_eq!(ran.json()["schema"], 1, "{line}");
        assert_eq!(ran.stderr, "", "{line}");
    }
}
