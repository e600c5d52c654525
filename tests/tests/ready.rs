//! Before work starts: what the build needs and the shop has not.
#![allow(clippy::unwrap_used)]

mod cli_kit;

use std::time::{SystemTime, UNIX_EPOCH};

use cli_kit::{Stage, masked, shop};
use gudgeon_core::engine::instrument;
use gudgeon_core::sheet::Moment;
use gudgeon_tests::demo::goods::GAUGES;
use gudgeon_tests::engines::{ALL, VEE_EIGHT, WET_LINER_FOUR};
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
    assert_eq!(state(&all, "main-bolts (M12x1.75 10.9), stage 3 of 3, 90"), ("there", "W1"));
    assert_eq!(state(&all, "rod-bolts (M9x1 10.9), stage 1 of 2, 28"), ("there", "W1"));
}

/// What a gauge errs by is the same in two readings with it: of a stretch only what it shows is left, and
/// where that is not stated either, the stretch could not be judged.
#[test]
fn a_gauge_without_its_resolution_proves_no_difference_of_two_readings_with_it() {
    let stage = shop();
    let lists = |resolution: &str| {
        stage.must(
            "ann",
            &format!(
                r#"gauge add M1 --sort outside-micrometer{resolution} --error "4 µm" --range "25 mm..50 mm" --calibrated 2020-01-10 --due 2090-01-10 --seen"#
            ),
        );
        needs(&stage)
    };
    let all = lists("");
    let (word, found) = state(&all, "rod-bolts stretch");
    assert_eq!(word, "missing");
    assert!(found.starts_with("the resolution of M1 is not stated"), "{found}");
    let hint = all.iter().find_map(|need| need["hint"].as_str().filter(|hint| hint.contains("gauge add M1")));
    assert!(hint.is_some_and(|hint| hint.contains("--resolution RESOLUTION")), "{hint:?}");
    let all = lists(" --resolution \"0.001 mm\"");
    let (word, found) = state(&all, "rod-bolts stretch");
    assert!(word == "look" && found.contains("proves 0.113 to 0.137"), "{found}");
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
    let (word, found) = state(&all, "rod-bolts (M9x1 10.9), stage 1 of 2, 28");
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
    assert_eq!(state(&needs(&stage), "4 piston, 0.500 mm (0.020 in) over"), ("missing", "0 of 4 entered"));
    for mark in ["A", "B", "C", "D"] {
        stage.must("ann", &format!("part receive piston/{mark} --weight 338g"));
    }
    assert_eq!(state(&needs(&stage), "4 piston"), ("there", "4 entered"));
}

/// A gudgeon for each bore and the washers of the one thrust main are limited, and no step asks for them
/// as parts; one set of bolts a rod, where the maker does not let them be used again.
#[test]
fn parts_that_carry_a_limited_value_and_bolts_used_once_are_counted_too() {
    let stage = shop();
    let all = needs(&stage);
    assert_eq!(state(&all, "4 gudgeon"), ("missing", "0 of 4 entered"));
    assert_eq!(state(&all, "1 thrust-washers"), ("missing", "0 of 1 entered"));
    assert!(!all.iter().any(|need| need["what"].as_str().unwrap().contains("bolt-set")), "used again");
    for mark in ["A", "B", "C", "D"] {
        stage.must("ann", &format!("part receive gudgeon/{mark}"));
    }
    stage.must("ann", "part receive thrust-washers/T");
    let all = needs(&stage);
    assert_eq!(state(&all, "4 gudgeon"), ("there", "4 entered"));
    assert_eq!(state(&all, "1 thrust-washers"), ("there", "1 entered"));
    let example = gudgeon_core::engine::EXAMPLE;
    let once = example.replace("reuse = \"within-growth\"\ngrowth = \"0.05 mm\"", "reuse = \"never\"");
    assert_ne!(once, example);
    assert_eq!(state(&needs(&equipped(&once)), "4 bolt-set"), ("missing", "0 of 4 entered"));
}

/// Every sort that the list tells a lead to add is one that `gauge add` takes.
#[test]
fn no_sort_is_named_that_cannot_be_listed() {
    let known = |word: &str| instrument::find(word).is_some();
    for (_, engine) in ALL {
        let mut stage = Stage::new();
        stage.write("engine.toml", engine);
        stage.prepare("ann> found \"Invented Works\" --lead Ann\nann> start J1 --engine engine.toml");
        for need in needs(&stage) {
            let hint = need["hint"].as_str().unwrap_or("");
            for (_, after) in hint.match_indices("--sort ").map(|(at, word)| hint.split_at(at + word.len())) {
                let sort = after.split_whitespace().next().unwrap();
                assert!(known(sort), "{sort}: {need}");
            }
            if need["what"].as_str().unwrap().ends_with(", stretch") {
                let found = need["found"].as_str().unwrap();
                let sorts = found.split_once(": ").unwrap().0.split(", or ");
                assert!(sorts.clone().count() > 1, "{found}");
                for sort in sorts {
                    assert!(known(sort.split(' ').next().unwrap()), "{found}");
                }
                assert!(hint.contains("--sort "), "{need}");
            }
        }
    }
}

const GOOD: &str = "--calibrated 2020-01-10 --due 2090-01-10";

/// A shop with every gauge of the demo build, and a record of an engine.
fn equipped(engine: &str) -> Stage {
    let mut stage = Stage::new();
    stage.write("engine.toml", engine);
    let add = |(mark, sort, rest): &(&str, &str, &[&str])| {
        let rest: Vec<String> = rest.iter().map(|word| format!("{word:?}")).collect();
        format!("ann> gauge add {mark} --sort {sort} {} {GOOD}\n", rest.join(" "))
    };
    let gauges: String = GAUGES.iter().map(add).collect();
    stage.prepare(&format!(
        "ann> found \"Invented Works\" --lead Ann\n{gauges}ben> ask --label \"phone of Ben\" --to ben.ask\n\
         ann> enrol ben.ask --name Ben --role member\nann> start J1 --engine engine.toml\n"
    ));
    stage
}

fn of_group<'j>(needs: &'j [Json], group: &str) -> Vec<&'j Json> {
    needs.iter().filter(|need| need["group"] == group).collect()
}

#[test]
fn a_shop_with_its_gauges_hears_what_reads_each_limit_and_what_to_look_at() {
    let mut stage = equipped(gudgeon_core::engine::EXAMPLE);
    let shown = stage.play("ann> ready");
    masked(|| insta::assert_snapshot!("ready_equipped", shown));
}

/// Common practice, no source: who reads what stands in the table of core.
#[test]
fn each_limit_is_read_by_a_gauge_that_is_made_for_it() {
    let all = needs(&equipped(gudgeon_core::engine::EXAMPLE));
    for (what, state_, with) in [
        ("main journal-diameter", "there", "M2 (u "),
        ("main housing-diameter", "there", "B1 set on M2 (u "),
        ("bore diameter", "there", "B1 set on M1 (u "),
        ("main shell-wall", "there", "M5 (u "),
        ("piston-pin-boss diameter", "there", "B2 set on M4 (u "),
        ("crank end-float", "there", "F1 (u "),
        ("rod side-clearance", "there", "F1 (u "),
        ("rail gap", "there", "F1 (u "),
        ("deck flatness", "there", "F2 (u "),
        ("crank runout", "look", "D1 (u "),
        ("bore piston-height", "look", "D1 (u "),
        ("deck height", "look", "H1 (u "),
        ("crank turning-torque", "there", "T1 (u "),
        ("main journal-length", "missing", "the workshop lists no inside-micrometer"),
    ] {
        let (found, by) = state(&all, what);
        assert!(found == state_ && by.starts_with(with), "{what}: {found} {by}");
    }
    let (_, runout) = state(&all, "crank runout");
    assert!(runout.contains("with vee blocks or centres: look that it is there"), "{runout}");
}

/// Nothing is known of where the range of B1 ends: somebody looks, and hears how it is entered.
#[test]
fn a_gauge_without_a_range_is_to_be_looked_at() {
    let all = needs(&shop());
    let bores = all.iter().find(|need| need["what"].as_str().unwrap().starts_with("bore-gauge for bores"));
    let bores = bores.unwrap();
    assert_eq!((&bores["state"], &bores["found"]), (&"look".into(), &"B1: its range is not entered".into()));
    let hint = bores["hint"].as_str().unwrap();
    let line = r#" gauge add B1 --sort bore-gauge --resolution "0.001 mm" --error "2 µm" --range LOW..HIGH --set-with R80 --calibrated 2020-01-10 --due 2090-01-10"#;
    assert!(
        hint.starts_with("a lead enters it anew, with what is lacking: gudgeon ") && hint.ends_with(line),
        "{hint}"
    );
    let (word, found) = state(&all, "bore diameter");
    assert!(word == "look" && found.contains("B1 set on R80") && found.contains("R80: its range"), "{found}");
}

/// A fitter's own feeler is there, and proves nothing before a lead has entered it too.
#[test]
fn of_a_gauge_added_on_the_spot_a_lead_hears_what_to_enter() {
    let mut stage = shop();
    let shown = stage.play(
        r#"
        ben> gauge add F9 --sort feeler --error "10 µm" --range "0.05 mm..1 mm" --owner "Ben's own" --calibrated 2020-01-10 --due 2090-01-10
        ben> gauge add F8 --sort feeler
        "#,
    );
    masked(|| insta::assert_snapshot!("ready_on_the_spot", shown));
    stage.prepare("ben> carry out ben.bundle\nann> carry in ben.bundle");
    let hint = |stage: &Stage| {
        let all = needs(stage);
        let gap = all.iter().find(|need| need["what"].as_str().unwrap().starts_with("ring gap")).unwrap();
        (gap["state"].as_str().unwrap().to_owned(), gap["hint"].as_str().unwrap_or("").to_owned())
    };
    let (word, says) = hint(&stage);
    let (before, line) = says.split_once(": gudgeon ").unwrap();
    assert_eq!((word.as_str(), before), ("missing", "a lead enters the same, with what is lacking"));
    assert!(
        line.ends_with(
            "gauge add F8 --sort feeler --resolution RESOLUTION --error ERROR --range LOW..HIGH --calibrated DATE --due DATE"
        ),
        "{line}"
    );
    // The lead types what Ben's phone proposed for the other one.
    let proposed = shown.split_once("a lead enters the same: gudgeon ").unwrap().1.lines().next().unwrap();
    stage.must("ann", proposed);
    assert_eq!(hint(&stage).0, "there");
}

#[test]
fn a_calibration_that_runs_out_within_the_build_is_to_be_looked_at() {
    let stage = shop();
    let now = i64::try_from(SystemTime::now().duration_since(UNIX_EPOCH).unwrap().as_millis()).unwrap();
    let day = |days: i64| Moment(now + days * 86_400_000).day();
    let add = |mark: &str, due: i64| {
        let line =
            r#"--sort outside-micrometer --resolution "0.001 mm" --error "4 µm" --range "50 mm..75 mm""#;
        stage.must("ann", &format!("gauge add {mark} {line} --calibrated 2020-01-10 --due {}", day(due)));
    };
    add("M3", 10);
    let all = needs(&stage);
    let (word, found) = state(&all, "outside-micrometer for main journals");
    let until = format!("M3: its calibration runs out on {}, within the build", day(10));
    assert_eq!((word, found), ("look", until.as_str()));
    // One that holds for long is taken before it.
    add("M4", 400);
    let all = needs(&stage);
    assert_eq!(state(&all, "outside-micrometer for main journals"), ("there", "M4"));
    let (word, found) = state(&all, "main journal-diameter");
    assert!(word == "there" && found.starts_with("M4 (u "), "{found}");
}

/// What a lead decides comes before the definition's own oversize.
#[test]
fn the_ring_compressor_and_the_parts_are_for_the_bore_that_is_decided() {
    let stage = shop();
    let all = needs(&stage);
    assert_eq!(state(&all, "ring compressor for a bore of 80.500 mm").0, "look");
    stage.must("ann", r#"decide oversize "+0.750 mm, bore 80.750 mm""#);
    let all = needs(&stage);
    let tool = "ring compressor for a bore of 80.750 mm, as decided; the definition says 80.500 mm";
    assert_eq!(state(&all, tool).0, "look");
    assert_eq!(state(&all, "4 piston, 0.750 mm (0.030 in) over").0, "missing");
    assert_eq!(state(&all, "5 main-shells, 0.250 mm (0.010 in) under").0, "missing");
}

#[test]
fn a_vee_eight_and_a_wet_liner_four_ask_for_what_is_theirs() {
    for (name, engine) in [("ready_vee_eight", VEE_EIGHT), ("ready_wet_liner_four", WET_LINER_FOUR)] {
        let mut stage = equipped(engine);
        let shown = stage.play("ann> ready");
        masked(|| insta::assert_snapshot!(name, shown));
    }
}

#[test]
fn every_engine_has_every_group_of_needs() {
    for (_, engine) in ALL {
        let all = needs(&equipped(engine));
        for group in
            ["people", "decisions", "what the gauges can prove", "wrenches", "lubricants", "tools", "parts"]
        {
            assert!(!of_group(&all, group).is_empty(), "{group}");
        }
        for need in &all {
            let hint = need["hint"].as_str().unwrap_or("");
            let lost = need["state"] == "missing" && hint.is_empty();
            assert!(!lost, "a way out of {need}");
        }
    }
}

/// The example's main bolts have no nip, its rod bolts have.
#[test]
fn a_nip_is_proposed_where_the_definition_has_one() {
    let stage = shop();
    let way_out = |step: &str| stage.must("ann", &format!("step {step}")).stdout;
    let mains = way_out("mains-tightened/1");
    assert!(mains.contains(r#"tighten main-bolts main/1 --stage 1 --set "30 N·m""#), "{mains}");
    assert!(!mains.contains("--nip"), "{mains}");
    let rods = way_out("rod-tightened/1");
    assert!(rods.contains("tighten rod-bolts rod/1/bolts --nip"), "{rods}");
}

/// Sizes are chosen from what was measured: before that nobody is asked to choose.
#[test]
fn a_decision_is_asked_for_once_its_ground_is_there() {
    let waits = needs(&shop());
    let first =
        "once work-approved, mains-measured, pins-measured, bores-measured and decks-measured are signed";
    assert_eq!(state(&waits, "sizes"), ("later", first));
    assert_eq!(state(&waits, "sizes, approved"), ("later", first));
    let own = "[[step]]\nid = \"sizes-decided\"\nstage = 5\ntitle = \"Sizes\"\nafter = [\"received\"]\n\
               evidence = [{ decision = \"sizes\" }, { approval = \"sizes\" }]\nsign = \"lead\"\n";
    let mut stage = equipped(&format!("{}{own}", gudgeon_core::engine::EXAMPLE));
    assert_eq!(state(&needs(&stage), "sizes"), ("later", "once received is signed"));
    let shown = stage.must("ann", "ready --missing");
    assert!(!shown.stdout.contains("sizes") && shown.stderr.ends_with(", 2 later\n"), "{shown:?}");
    stage.prepare("ann> checked photographed\nann> sign received");
    let asked = needs(&stage);
    assert_eq!(state(&asked, "sizes"), ("missing", "not decided; a lead decides"));
    assert_eq!(state(&asked, "sizes, approved"), ("later", "once sizes is decided"));
    stage.prepare("ann> decide sizes \"+0.50\"");
    let asked = needs(&stage);
    assert_eq!(state(&asked, "sizes"), ("there", "decided"));
    assert_eq!(state(&asked, "sizes, approved").0, "missing");
}
