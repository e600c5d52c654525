//! Before work starts: what the build needs and the shop has not.
#![allow(clippy::unwrap_used)]

mod cli_kit;

use cli_kit::{Stage, masked, shop};
use serde_json::Value as Json;

fn needs(stage: &Stage) -> Vec<Json> {
    stage.must("ann", "--json ready").json()["needs"].as_array().unwrap().clone()
}

fn state<'j>(needs: &'j [Json], what: &str) -> (&'j str, &'j str) {
    let need = needs.iter().find(|need| need["what"].as_str().unwrap().starts_with(what));
    let need = need.unwrap_or_else(|| panic!("{what} is not asked for: {needs:#?}"));
    (need["state"].as_str().unwrap(), need["found"].as_str().unwrap())
}

#[test]
fn a_new_shop_hears_all_that_is_missing() {
    let mut stage = shop();
    let shown = stage.play(
        r#"
        ann> ready
        ann> ready --missing
        "#,
    );
    masked(|| insta::assert_snapshot!("ready", shown));
}

#[test]
fn a_gauge_that_reaches_and_is_good_enough_is_there_and_says_what_it_proves() {
    let stage = shop();
    let before = needs(&stage);
    assert_eq!(state(&before, "outside-micrometer for crankpins").0, "there");
    assert_eq!(state(&before, "outside-micrometer for main journals").0, "missing", "M1 ends at 50 mm");
    stage.must(
        "ann",
        r#"gauge add M3 --sort outside-micrometer --resolution "0.001 mm" --error "4 µm" --range "50 mm..75 mm" --calibrated 2020-01-10 --due 2090-01-10 --seen"#,
    );
    let after = needs(&stage);
    assert_eq!(state(&after, "outside-micrometer for main journals"), ("there", "M3"));
    // 15 µm of tolerance, u 2.33 µm, and the example's shared rule: half of 1.65 u off either end.
    let (state_, found) = state(&after, "pin diameter");
    assert!(state_ == "there" && found.contains("proves 47.737 to 47.748 mm"), "{found}");
}

#[test]
fn a_gauge_whose_calibration_has_run_out_or_that_is_too_coarse_is_not_there() {
    let stage = shop();
    stage.must(
        "ann",
        r#"gauge add M3 --sort outside-micrometer --resolution "0.01 mm" --error "10 µm" --range "50 mm..75 mm" --calibrated 2020-01-10 --due 2090-01-10 --seen"#,
    );
    let (state_, found) = {
        let all = needs(&stage);
        let (a, b) = state(&all, "main journal-diameter");
        (a.to_owned(), b.to_owned())
    };
    assert!(state_ == "missing" && found.contains("M3") && found.contains("cannot prove"), "{found}");
    stage.must(
        "ann",
        r#"gauge add W2 --sort click-torque-wrench --range "20 N·m..200 N·m" --error "4 %" --calibrated 2019-01-10 --due 2020-01-10"#,
    );
    let all = needs(&stage);
    // W1 reaches 100 N·m; 90 is within, and 28 is above a fifth of it.
    assert_eq!(state(&all, "main-bolts at 90"), ("there", "W1"));
    assert_eq!(state(&all, "rod-bolts at 28"), ("there", "W1"));
}

/// A wrench at the bottom of its range does not count, nor one that is out of calibration.
#[test]
fn a_wrench_too_large_or_overdue_does_not_serve_a_stage() {
    let mut stage = Stage::new();
    stage.write("engine.toml", gudgeon_core::engine::EXAMPLE);
    stage.prepare(
        r#"
        ann> found "Invented Works" --lead Ann
        ann> gauge add W1 --sort click-torque-wrench --error "4 %" --range "10 N·m..300 N·m" --calibrated 2020-01-10 --due 2090-01-10
        ann> gauge add W2 --sort click-torque-wrench --error "4 %" --range "5 N·m..50 N·m" --calibrated 2020-01-10 --due 2021-01-10
        ann> start J1 --engine engine.toml
        "#,
    );
    let all = needs(&stage);
    let (word, found) = state(&all, "rod-bolts at 28");
    assert!(
        word == "missing" && found.contains("under 20 %") && found.contains("W2 is out of calibration"),
        "{found}"
    );
    assert_eq!(state(&all, "a second person").0, "missing");
    assert_eq!(state(&all, "a lead").0, "there");
}

#[test]
fn parts_are_counted_as_they_come_in() {
    let stage = shop();
    assert_eq!(state(&needs(&stage), "4 piston"), ("missing", "0 of 4 entered"));
    for mark in ["A", "B", "C", "D"] {
        stage.must("ann", &format!("part receive piston/{mark} --weight 338g"));
    }
    assert_eq!(state(&needs(&stage), "4 piston"), ("there", "4 entered"));
}
