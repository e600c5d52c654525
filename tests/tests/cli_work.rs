//! Work, parts, tightening, signing and what a lead settles.
#![allow(clippy::unwrap_used)]

mod cli_kit;

use cli_kit::{masked, shop};
use gudgeon_core::engine::caution::FOREWORD;

#[test]
fn work_says_what_it_ended() {
    let mut stage = shop();
    let shown = stage.play(
        r#"
        ann> read bore/1 diameter "80.508 mm" --at top/thrust --gauge B1 --both-at 20C
        ann> operation hone bore/1 --by Ben --note "4 µm off"
        ann> operation hone bore/1 --outside "Invented Grinders"
        ann> operation honing bore/1
        ann> operation hone deck/inline
        ann> operation hone bore/9
        ann> operation hone
        ann> history bore/1
        "#,
    );
    masked(|| insta::assert_snapshot!("work", shown));
}

#[test]
fn parts_follow_their_marks() {
    let mut stage = shop();
    let shown = stage.play(
        r#"
        ann> part receive B --sort piston --weight "338 g" --batch L7
        ann> part receive piston/C
        ann> part receive X --sort pistn
        ann> part receive X
        ann> part receive "a b" --sort piston
        ann> part allot B bore/3
        ann> part fit B bore/3 --way "arrow to front"
        ann> part fit C deck/inline
        ann> part fit Z bore/1
        ann> part out B bore/3
        ann> custody out piston/B piston/C --with "Invented Platers"
        ann> custody back B --with "Invented Platers" --ticket "80.457"
        ann> history bore/3
        "#,
    );
    masked(|| insta::assert_snapshot!("parts", shown));
}

#[test]
fn bolts_go_stage_by_stage_with_a_turn_check_after_each() {
    let mut stage = shop();
    let shown = stage.play(
        r#"
        ann> tighten rod-bolts rod/1/bolts rod/2/bolts --nip
        ann> tighten rod-bolts rod/1/bolts rod/2/bolts --stage 1 --set "21 lbf·ft" --wrench W1 --lubricant "moly paste"
        ann> checked turns-free crank
        ann> tighten rod-bolts rod/1/bolts --stage 2 --set "42 N·m" --wrench W1 --lubricant "moly paste"
        ann> tighten rod-bolts rod/2/bolts --stage 2 --set "50 N·m" --wrench W9 --lubricant "engine oil" --except "2: felt soft"
        ann> checked turns-free crank
        ann> tighten rod-bolts rod/2/bolts --slacken
        ann> tighten rod-bolt rod/1/bolts --nip
        ann> tighten rod-bolts rod/1/big-end --nip
        ann> tighten rod-bolts rod/1/bolts --stage 1
        ann> tighten rod-bolts rod/1/bolts
        ann> tighten rod-bolts rod/1/bolts --stage 1 --set "28 mm"
        ann> checked turns-freely crank
        ann> checked turns-free crank --failed --note "tight at 90 degrees"
        ann> history rod/1/bolts
        "#,
    );
    masked(|| insta::assert_snapshot!("tightening", shown));
}

#[test]
fn a_signature_shows_what_it_rests_on_and_goes_stale_with_it() {
    let mut stage = shop();
    let shown = stage.play(
        r#"
        ann> step received
        ann> sign received
        ann> checked photographed
        ann> sign received
        ann> --json sign work-approved
        ann> sign work-approved --anyway
        ann> sign no-such-step
        ben> sign work-approved
        ann> next
        "#,
    );
    masked(|| insta::assert_snapshot!("signing", shown));
    stage.prepare("ann> void {check} --reason \"it was another engine\"");
    let json = stage.must("ann", "--json step received").json();
    assert_eq!(json["step"]["progress"], "signature no longer stands");
    let shown = stage.play("ann> step received");
    masked(|| insta::assert_snapshot!("stale", shown));
}

/// What is missing is named with the line that supplies it, and the line is typed as it stands.
#[test]
fn what_is_missing_is_named_with_the_command_that_supplies_it() {
    let mut stage = shop();
    let shown = stage.play(
        r#"
        ann> sign received
        ann> checked photographed block
        ann> checked photographed
        ann> checked marked
        ann> sign marked
        ann> sign received
        ann> step pins-measured/1
        ann> step big-end-clearance/2
        ann> step rod-tightened/1
        ann> step piston-clearance/1
        "#,
    );
    masked(|| insta::assert_snapshot!("ways", shown));
    // The home that the line names is the one that was named; nothing needs to be filled in.
    let unnamed = stage
        .command("ann")
        .env_remove("GUDGEON_HOME")
        .args(["--home", "ann", "--json", "sign", "work-approved"])
        .output();
    let answer: serde_json::Value = serde_json::from_slice(&unnamed.unwrap().stdout).unwrap();
    let hint = answer["error"]["problems"][0]["hint"].as_str().unwrap().to_owned();
    assert_eq!(hint, "gudgeon --home ann checked customer-approved");
}

/// One signature is enough; a second one by the same hand is given only where it is meant.
#[test]
fn a_signature_that_stands_is_not_given_again_unnoticed() {
    let mut stage = shop();
    stage.prepare("ann> checked photographed\nann> sign received");
    let entries = |stage: &cli_kit::Stage| {
        stage.must("ann", "--json status").json()["tally"]["entries"].as_u64().unwrap()
    };
    let once = entries(&stage);
    let shown = stage.play("ann> sign received");
    masked(|| insta::assert_snapshot!("signed_already", shown));
    assert_eq!(entries(&stage), once);
    stage.prepare("ann> sign received --again");
    assert_eq!(entries(&stage), once + 1);
    // One that no longer stands is given again without more ado.
    stage.prepare("ann> void {check} --reason slip");
    stage.prepare("ann> checked photographed");
    stage.prepare("ann> sign received");
}

/// A number that moves while somebody works down the list concedes the wrong finding.
#[test]
fn findings_are_numbered_as_shown_and_a_concession_moves_no_number() {
    let mut stage = shop();
    stage.prepare(
        r#"
        ann> read pin/1 diameter "47.7412 mm" --at front/0 --gauge M1 --both-at 20C
        ann> read pin/2 diameter "47.7000 mm" --at front/0 --gauge M1 --both-at 20C
        ann> read pin/3 diameter "47.7001 mm" --at front/0 --gauge M1 --both-at 20C
        "#,
    );
    let shown = |stage: &cli_kit::Stage, line: &str| -> Vec<(u64, String)> {
        let found = stage.must("ann", line).json()["findings"].clone();
        let one = |f: &serde_json::Value| {
            (f["number"].as_u64().unwrap(), format!("{} {}", f["rule"], f["feature"]))
        };
        found.as_array().unwrap().iter().map(one).collect()
    };
    let before = shown(&stage, "--json findings");
    assert_eq!(before.iter().map(|(number, _)| *number).collect::<Vec<_>>(), [1, 2], "{before:?}");
    let all = shown(&stage, "--json findings --all");
    assert_eq!(all.iter().map(|(number, _)| *number).collect::<Vec<_>>(), [1, 2, 3, 4, 5], "{all:?}");
    assert_eq!(all[..2], before[..]);
    stage.prepare("ann> concede 1 --reason \"kept\"");
    assert_eq!(shown(&stage, "--json findings"), before[1..]);
    stage.prepare("ann> concede 2 --reason \"kept\"");
    assert_eq!(shown(&stage, "--json findings"), []);
}

#[test]
fn a_number_means_the_finding_that_was_listed_under_it_whatever_came_since() {
    let mut stage = shop();
    let reads = |pin: u8, size: &str| {
        format!("ann> read pin/{pin} diameter \"{size}\" --at front/0 --gauge M1 --both-at 20C")
    };
    stage.prepare(&reads(3, "47.700 mm"));
    stage.prepare("ann> findings");
    stage.prepare(&reads(1, "47.700 mm"));
    let conceded = stage.must("ann", "concede 1 --reason kept").stdout;
    assert!(conceded.contains("settled: Outside the limits, pin/3"), "pin/1 comes first now: {conceded}");

    stage.prepare("ann> findings");
    stage.prepare(&reads(1, "47.745 mm"));
    let gone = stage.run("ann", &["concede", "1", "--reason", "kept"]);
    assert!(gone.status == 4 && gone.stderr.contains("look again with `findings`"), "{gone:?}");
    let none = stage.run("ann", &["concede", "9", "--reason", "kept"]);
    assert!(none.status == 3 && none.stderr.contains("there is no finding 9"), "{none:?}");
}

#[test]
fn a_lead_settles_concedes_and_hands_over() {
    let mut stage = shop();
    let shown = stage.play(
        r#"
        ann> read pin/2 diameter "47.700 mm" --at front/0 --gauge M1 --both-at 20C
        ann> findings
        ann> concede 9 --reason "none"
        ann> concede 1 --reason "the customer keeps this crank"
        ann> findings
        ann> findings --all
        ann> concede 1 --reason "once more"
        ann> concede --rule outsied --reason "none"
        ann> concede --rule outside --feature pin/3 --reason "none"
        ann> limit diameter --feature pin/2 --lower "47.690 mm" --upper "47.750 mm" --source "Ann" --reason "shells are matched"
        ann> limit diameter --feature pin/2 --lower "47.8 mm" --upper "47.7 mm" --reason "none"
        ann> limit diameter --feature pin/2 --reason "none"
        ann> limit diamter --rule simple --reason "none"
        ann> decide oversize "+0.50"
        ann> decide oversize "+0.75"
        ann> approve {decision} --who "the customer" --how "by telephone" --when "Monday"
        ann> approve {reading} --who "the customer" --how "by telephone"
        ann> assign received Ben
        ann> assign received Nobody
        ann> stop received --found "a crack" --tag "do not turn"
        ann> findings
        ann> resume {stop} --note "it was a scratch"
        ann> resume {decision}
        ann> order --first {reading} --second {decision} --reason "the clock on the wall"
        ann> order --first {reading} --second {reading} --reason "none"
        ann> void {decision} --reason "none"
        ann> void {reading} --reason "wrong pin"
        ann> void ab --reason "none"
        ann> note "the block is warm" --feature block
        ann> note "  "
        ann> photo engine.toml
        ann> hand-over --to "the customer"
        ann> hand-over --to "the customer" --as-it-stands
        ann> read pin/2 diameter "47.741 mm" --at front/0 --gauge M1 --both-at 20C
        ann> reopen --reason "it came back"
        ann> entry {reopen}
        ann> status
        "#,
    );
    masked(|| insta::assert_snapshot!("settling", shown));
}

#[test]
fn a_hand_over_with_something_left_is_refused_or_recorded_as_it_stands_and_printed_so() {
    let mut stage = shop();
    stage.prepare("ann> stop received --found \"a crack\"");
    let entries = |stage: &cli_kit::Stage| {
        stage.must("ann", "--json status").json()["tally"]["entries"].as_u64().unwrap()
    };
    let before = entries(&stage);
    let steps = stage.must("ann", "--json status").json()["tally"]["steps_total"].as_u64().unwrap();
    let left = format!("{steps} of {steps} steps not signed and 1 open finding");
    let refused = stage.run("ann", &["--json", "hand-over", "--to", "the owner"]);
    assert_eq!(refused.status, 6, "{refused:?}");
    let error = &refused.json()["error"];
    assert_eq!(error["rule"], "left-open");
    assert!(error["cause"].as_str().unwrap().contains(&left), "{error}");
    assert!(error["hint"].as_str().unwrap().ends_with("--as-it-stands"), "{error}");
    let places: Vec<&str> = error["problems"]
        .as_array()
        .unwrap()
        .iter()
        .map(|problem| problem["place"].as_str().unwrap())
        .collect();
    assert_eq!((places[0], places[5], places[6], places.len()), ("received", "steps", "open finding", 7));
    assert_eq!(entries(&stage), before, "nothing was saved");

    let handed = stage.must("ann", "--json hand-over --to \"the owner\" --as-it-stands").json();
    assert_eq!(handed["left_open"], left.as_str());
    let sheet = stage.must("ann", "print -").stdout;
    assert!(sheet.contains("Handed over to the owner on "), "{sheet}");
    assert!(sheet.contains(&format!("0 steps of {steps} signed, 1 open finding.")), "{sheet}");
    assert!(sheet.contains("<ul class=\"unsigned\">"), "{sheet}");
}

#[test]
fn what_a_role_does_not_allow_is_refused_before_the_pin() {
    let mut stage = shop();
    let shown = stage.play(
        r#"
        ann> read pin/2 diameter "47.700 mm" --at front/0 --gauge M1 --both-at 20C
        ann> carry out a.bundle
        ben> carry in a.bundle
        ben> decide oversize "+0.50"
        ben> limit diameter --rule simple --reason "none"
        ben> concede 1 --reason "none"
        ben> void {reading} --reason "none"
        ben> assign received Ben
        ben> hand-over --to "the customer"
        "#,
    );
    masked(|| insta::assert_snapshot!("roles", shown));
}

/// A mark speaks for every reading that names it: whoever states it anew should know of how many.
#[test]
fn a_gauge_stated_anew_says_whether_it_is_a_calibration_or_a_correction_and_what_changed() {
    let mut stage = shop();
    stage.prepare(
        r#"
        ann> read pin/1 diameter "47.742 mm" --at front/0 --gauge M1 --both-at 20C
        ann> read bore/1 diameter "+0.008 mm" --set-size "80.500 mm" --at top/thrust --gauge B1 --both-at 20C
        "#,
    );
    let shown = stage.play(
        r#"
        ann> gauge add M1 --sort outside-micrometer --resolution "0.001 mm" --error "4 µm" --calibrated 2026-01-10 --due 2091-01-10
        ann> gauge add M1 --sort outside-micrometer --resolution "0.001 mm" --error "40 µm" --calibrated 2026-01-10 --due 2091-01-10
        ann> gauge add M1 --sort outside-micrometer --resolution "0.001 mm" --error "40 µm" --calibrated 2026-01-10 --due 2091-01-10
        ann> gauge add R80 --sort setting-ring --error "2 µm"
        ann> gauge add M7 --sort outside-micrometer --resolution "0.001 mm" --error "4 µm"
        "#,
    );
    masked(|| insta::assert_snapshot!("gauge_again", shown));
    let json = stage
        .must("ann", "--json gauge add M1 --sort outside-micrometer --resolution 0.001mm --error 4µm --calibrated 2026-01-10 --due 2091-01-10")
        .json();
    assert_eq!(json["stated_before"]["readings"], 1, "{json}");
    assert_eq!(json["stated_before"]["verdicts_changed"].as_array().unwrap().len(), 1, "{json}");
}

#[test]
fn a_failed_gauge_check_puts_its_readings_in_doubt() {
    let mut stage = shop();
    let shown = stage.play(
        r#"
        ann> gauge check M1 --on R25 --nominal "25.000 mm" --shows "25.000 mm" --passed
        ann> read pin/1 diameter "47.740 mm" --at front/0 --gauge M1 --both-at 20C
        ann> gauge check M1 --on R25 --nominal "25.000 mm" --shows "25.009 mm" --failed
        ann> history pin/1
        ann> gauge check M1 --on R25 --nominal "25 g" --passed
        ann> gauge check M1 --on R25
        "#,
    );
    masked(|| insta::assert_snapshot!("gauge_check", shown));
}

#[test]
fn a_picture_is_kept_as_it_is_and_one_too_large_is_refused() {
    let mut stage = shop();
    let png = [b"\x89PNG\r\n\x1a\n".as_slice(), &[0; 4096]].concat();
    std::fs::write(stage.path().join("small.png"), &png).unwrap();
    std::fs::write(stage.path().join("large.png"), png.repeat(200)).unwrap();
    let shown = stage.play(
        r#"
        ann> photo small.png --feature block --caption "as it came"
        ann> photo large.png
        ann> history block
        "#,
    );
    masked(|| insta::assert_snapshot!("pictures", shown));
}

#[test]
fn a_second_person_is_somebody_else_and_signs_after_the_first() {
    let mut stage = shop();
    let shown = stage.play(
        r#"
        ann> sign pins-measured/1 --second --anyway
        ann> sign pins-measured/1 --anyway
        ann> sign pins-measured/1 --second --anyway
        ann> carry out signed.bundle
        ben> carry in signed.bundle
        ben> sign pins-measured/1 --second --anyway
        ben> step pins-measured/1
        "#,
    );
    masked(|| insta::assert_snapshot!("second_person", shown));
}

#[test]
fn what_is_voided_already_is_told_with_who_did_it_and_nothing_is_saved() {
    let mut stage = shop();
    stage.prepare(r#"ann> read pin/2 diameter "47.742 mm" --at front/0 --gauge M1 --both-at 20C"#);
    stage.prepare(r#"ann> void {reading} --reason "wrong pin""#);
    let entries = |stage: &cli_kit::Stage| {
        stage.must("ann", "--json status").json()["tally"]["entries"].as_u64().unwrap()
    };
    let before = entries(&stage);
    let reading = stage.word("reading").to_owned();
    let again = stage.run("ann", &["void", &reading, "--reason", "wrong pin"]);
    assert_eq!(again.status, 4, "{again:?}");
    let told = format!("entry {reading} is voided already, by Ann ({}): wrong pin", stage.word("void"));
    assert!(again.stderr.contains(&told) && again.stderr.contains("nothing was saved"), "{again:?}");
    assert_eq!(entries(&stage), before);
}

#[test]
fn a_stop_is_resumed_by_its_step_and_by_its_digits_where_there_are_several() {
    let mut stage = shop();
    stage.prepare(r#"ann> stop received --found "a crack""#);
    let first = stage.word("stop").to_owned();
    let found = stage.must("ann", "findings").stdout;
    assert!(
        found
            .contains("settle what was found, then resume: gudgeon resume received --note \"WHAT IT WAS\"\n"),
        "{found}"
    );
    let twice = stage.must("ann", r#"stop received --found "another""#).stdout;
    assert!(!twice.contains("resume received"), "{twice}");
    let unclear = stage.run("ann", &["resume", "received"]);
    assert_eq!(unclear.status, 2, "{unclear:?}");
    assert!(unclear.stderr.contains("was stopped 2 times") && unclear.stderr.contains(&first), "{unclear:?}");
    let found = stage.must("ann", "findings").stdout;
    assert!(found.contains(&format!("gudgeon resume {first} --note")), "{found}");
    stage.must("ann", &format!("resume {first} --note \"a scratch\""));
    let done = stage.must("ann", "--json resume received --note \"a scratch, too\"").json();
    assert_eq!(done["settled_findings"][0]["rule"], "stopped", "{done}");
    let no_more = stage.run("ann", &["resume", "received"]);
    assert_eq!(no_more.status, 3, "{no_more:?}");
    assert!(no_more.stderr.contains("step received is not stopped"), "{no_more:?}");
}

#[test]
fn one_of_a_kind_is_told_as_one() {
    let mut stage = shop();
    stage.prepare(
        r#"
        ann> read pin/2 diameter "47.700 mm" --at front/0 --gauge M1 --both-at 20C
        ann> concede 1 --reason "the customer keeps this crank"
        ann> stop received --found "a crack"
        "#,
    );
    let shown = stage.must("ann", "status").stdout;
    let lines: Vec<&str> = shown.lines().map(str::trim).collect();
    assert!(lines.contains(&"1  open finding") && lines.contains(&"1  finding conceded"), "{shown}");
    stage.write("one.csv", "feature,characteristic,value,station,gauge\npin/9,diameter,47.7 mm,front/0,M1\n");
    let refused = stage.run("ann", &["read", "--csv", "one.csv"]);
    assert!(refused.stderr.contains("1 thing is wrong; nothing of 1 line is saved"), "{refused:?}");
}

/// A stop tells what was found; that it goes on tells what it was.
#[test]
fn stopped_work_is_not_taken_up_again_without_a_word() {
    let mut stage = shop();
    stage.prepare(r#"ann> stop received --found "a crack""#);
    for wordless in [&["--json", "resume", "received"][..], &["--json", "resume", "received", "--note", "  "]]
    {
        let refused = stage.run("ann", wordless);
        assert_eq!(refused.status, 2, "{refused:?}");
        let error = &refused.json()["error"];
        assert_eq!(error["rule"], "no-note");
        let hint = error["hint"].as_str().unwrap();
        assert!(hint.ends_with(r#"gudgeon resume received --note "WHAT IT WAS""#), "{hint}");
    }
    let findings = stage.must("ann", "--json findings").json();
    assert_eq!(findings["findings"][0]["rule"], "stopped", "nothing was saved: {findings}");
    let done = stage.must("ann", r#"--json resume received --note "it was a scratch""#).json();
    assert_eq!(done["settled_findings"][0]["rule"], "stopped", "{done}");
}

/// The lead listed it yesterday; this phone has not met the office since.
#[test]
fn a_gauge_not_listed_here_may_be_listed_in_newer_papers() {
    let mut stage = shop();
    stage.prepare(
        r#"
        ann> gauge add W7 --sort click-torque-wrench --error "4 %" --range "10 N·m..100 N·m" --calibrated 2020-01-10 --due 2090-01-10
        ben> tighten main-bolts main/1 --stage 1 --set "30 N·m" --wrench W7 --lubricant "engine oil"
        ben> tighten main-bolts main/2 --stage 1 --set "30 N·m" --lubricant "engine oil"
        ben> read pin/1 diameter "47.7412 mm" --at front/0 --gauge M9 --both-at 20C
        "#,
    );
    let found = stage.must("ben", "--json findings").json()["findings"].clone();
    let hints = |feature: &str| -> Vec<String> {
        let all = found.as_array().unwrap().iter();
        let here = all.filter(|f| f["rule"] == "gauge-unknown" && f["feature"] == feature);
        here.map(|f| f["hint"].as_str().unwrap().to_owned()).collect()
    };
    let old = "the workshop's papers here are old: `sync`, or `carry in` a newer file";
    assert!(hints("main/1").iter().any(|hint| hint.contains(old)), "{found}");
    assert!(hints("pin/1").iter().any(|hint| hint.contains(old)), "{found}");
    // No mark was given: no papers list that.
    assert!(hints("main/2").iter().all(|hint| !hint.contains(old)) && !hints("main/2").is_empty(), "{found}");
    stage.prepare("ann> carry out new.bundle\nben> carry in new.bundle");
    let after = stage.must("ben", "--json findings").json()["findings"].clone();
    let still =
        after.as_array().unwrap().iter().any(|f| f["rule"] == "gauge-unknown" && f["feature"] == "main/1");
    assert!(!still, "the papers list it now: {after}");
}

#[test]
fn a_part_that_never_came_in_is_told_when_it_goes_out() {
    let mut stage = shop();
    stage.prepare("ann> part receive piston/B");
    let known = stage.must("ann", r#"custody out piston/B --with "Invented Platers""#);
    assert!(!known.stderr.contains("never received"), "{known:?}");
    let stranger = stage.must("ann", r#"custody out crank/K9 piston/B --with "Invented Grinders""#);
    assert!(
        stranger.stderr.contains("note: crank/K9 was never received")
            && stranger.stderr.contains("gudgeon part receive crank/K9\n"),
        "{stranger:?}"
    );
    let json = stage.must("ann", r#"--json custody back crank/K9 --with "Invented Grinders""#).json();
    assert_eq!(json["never_received"], serde_json::json!(["crank/K9"]));
    stage.must("ann", "part receive crank/K9");
    let json = stage.must("ann", r#"--json custody out crank/K9 --with "Invented Grinders""#).json();
    assert_eq!(json["never_received"], serde_json::json!([]));
}

/// What is a slip of the hand is told with the name that was meant.
#[test]
fn a_mistyped_name_of_a_step_or_a_decision_is_told_with_the_nearest() {
    let mut stage = shop();
    stage.prepare("ann> stop received --found \"a crack\"");
    let hint = |line: &[&str]| {
        let ran = stage.run("ann", line);
        assert_ne!(ran.status, 0, "{ran:?}");
        ran.json()["error"]["hint"].as_str().unwrap().to_owned()
    };
    assert_eq!(hint(&["--json", "resume", "recieved", "--note", "x"]), "did you mean `received`?");
    let approve = ["--json", "approve", "size", "--who", "the customer", "--how", "by telephone"];
    assert_eq!(hint(&approve), "did you mean `sizes`?");
    let approve = ["--json", "approve", "sizes", "--who", "the customer", "--how", "by telephone"];
    assert_eq!(hint(&approve), "a lead decides first, with `decide`");
    let slip = stage.must("ann", "decide size \"+0.50\"").stderr;
    let told = "note: no step asks for a decision on `size`: did you mean `sizes`?\n";
    assert!(slip.contains(told), "{slip}");
    for good in ["sizes", "colour-of-the-block"] {
        let said = stage.must("ann", &format!("decide {good} \"+0.50\"")).stderr;
        assert!(!said.contains("no step asks"), "{said}");
    }
}

/// The cautions of the step at hand, where hands are: common practice, no source.
#[test]
fn an_act_says_what_to_mind_with_it_and_an_innocuous_reading_says_nothing() {
    let mut stage = shop();
    let hands = "Call clear and see every hand out of the crankcase before it turns.";
    let torque = "Pull, do not push; socket fully on; be braced in case something breaks.";
    let edges = "Ring ends, fresh chamfers and fresh-cut decks cut: gloves, break the edges.";
    let springs = "Eye protection; point circlips and springs away from faces.";
    let bar = "One person at the bar; hair, rags and gloves away from what turns.";
    let stones = "Goggles; stones and spindle turn: nothing loose near them, hands out until they stand.";
    let (nip, tighten) = ("--nip", r#"--stage 1 --set "30 N·m" --wrench W1 --lubricant "engine oil""#);
    stage.prepare("ann> stop piston-in/3 --found \"it resists\"");
    let acts: [(String, &[&str]); 16] = [
        (r#"read pin/1 diameter "47.741 mm" --at front/0 --gauge M1 --both-at 20C"#.to_owned(), &[]),
        (r#"read bore/1 diameter "80.141 mm" --at top/thrust --gauge B1 --both-at 20C"#.to_owned(), &[]),
        (r#"read crank end-float "0.15 mm" --gauge F1"#.to_owned(), &[bar]),
        (r#"read ring/1/top gap "0.35 mm" --gauge F1"#.to_owned(), &[edges]),
        (r#"read ring/1/top gap "0.36 mm" --gauge F1"#.to_owned(), &[]),
        (r#"read ring/2/top gap "0.36 mm" --gauge F1"#.to_owned(), &[edges]),
        ("operation hone bore/1".to_owned(), &[stones, edges]),
        ("operation hone bore/1".to_owned(), &[]),
        ("operation hone bore/2".to_owned(), &[stones, edges]),
        ("part allot ring-set/R1 bore/1".to_owned(), &[]),
        ("part fit ring-set/R1 bore/1".to_owned(), &[edges, springs]),
        (format!("tighten main-bolts main/1 main/2 {nip}"), &[torque, hands]),
        (format!("tighten main-bolts main/1 {tighten}"), &[torque, hands]),
        ("tighten main-bolts main/1 --slacken".to_owned(), &[torque, hands]),
        ("checked turns-free crank".to_owned(), &[hands, bar]),
        ("note \"nothing to mind\"".to_owned(), &[]),
    ];
    for (act, wanted) in acts {
        let said = stage.must("ann", &act).stderr;
        let cautions: Vec<&str> = said.lines().filter_map(|line| line.strip_prefix("caution: ")).collect();
        assert_eq!(cautions, wanted, "{act}");
        assert_eq!(said.matches(FOREWORD).count(), usize::from(!wanted.is_empty()), "{act}: {said}");
    }
    let json = stage.must("ann", r#"--json resume piston-in/3 --note "a ring was caught""#).json();
    let resists = json["cautions"][0].as_str().unwrap();
    assert!(resists.starts_with("Never drive a piston that resists"), "{json}");
}

/// Both did it, both signed, each on a phone that had not met the other.
#[test]
fn a_step_signed_by_two_apart_shows_both_and_what_the_other_does() {
    let mut stage = shop();
    stage.prepare(
        r#"
        ann> sign pins-measured/1 --anyway
        ben> sign pins-measured/1 --anyway
        ben> carry out ben.bundle
        ann> carry in ben.bundle
        "#,
    );
    let shown = stage.must("ann", "step pins-measured/1").stdout;
    let other = if shown.contains("\nsigned: Ann, ") { "Ben" } else { "Ann" };
    assert!(shown.contains(&format!("\nsigned too: {other}, ")), "{shown}");
    let way = format!(
        "neither knew of the other; one signature of the one who did it is enough; \
         {other} saw it too: as second person gudgeon sign pins-measured/1 --second\n"
    );
    assert!(shown.contains(&way), "{shown}");
    let json = stage.must("ann", "--json step pins-measured/1").json();
    assert_eq!(json["signed_too"].as_array().unwrap().len(), 1, "{json}");
    let plain = stage.must("ann", "--json step pins-measured/2").json();
    assert_eq!(plain["signed_too"], serde_json::json!([]));
}

/// Whoever signed cannot be the second person, and both who signed are named wherever the step is.
#[test]
fn who_may_be_the_second_person_is_told_and_both_who_signed_are_named() {
    let mut stage = shop();
    let own = "[[step]]\nid = \"seen\"\nstage = 1\ntitle = \"Seen by two\"\n\
               evidence = [{ check = \"photographed\" }]\nsecond-person = true\n";
    stage.write("own.toml", &format!("{}{own}", gudgeon_core::engine::EXAMPLE));
    stage.prepare("ann> start J2 --engine own.toml\nann> --record J2 checked photographed");
    let signed = stage.must("ann", "--record J2 sign seen").stdout;
    let who = "seen wants a second person, not Ann but one of Ben: gudgeon --record J2 sign seen --second";
    assert!(stage.must("ann", "--record J2 step seen").stdout.contains(who), "{signed}");
    let next = stage.must("ann", "--record J2 next").stdout;
    assert!(next.contains("seen: Seen by two; signed by Ann\n"), "{next}");
    let status = stage.must("ann", "--record J2 status").stdout;
    assert!(status.contains("1  more signed by one, wants a second person"), "{status}");
    stage.prepare(
        "ann> --record J2 carry out two.bundle\nben> carry in two.bundle\nben> --record J2 sign seen --second",
    );
    let step = stage.must("ben", "--record J2 step seen").stdout;
    assert!(step.contains("\nsigned: Ann, ") && step.contains("\nsecond person: Ben, "), "{step}");
    assert!(!stage.must("ben", "--record J2 status").stdout.contains("second person"));
}

/// What was gone on with under a stop, and a part sent out twice, are told to whoever does it, at once.
#[test]
fn going_on_under_a_stop_and_sending_out_twice_are_told_at_once() {
    let mut stage = shop();
    let shown = stage.play(
        r#"
        ann> stop mains-tightened/2 --found "the crank binds" --tag "do not turn"
        ann> checked turns-free crank
        ann> resume mains-tightened/2 --note "a shell had a burr"
        ann> checked turns-free crank
        ann> part receive crank/K1
        ann> custody out crank/K1 --with "Invented Grinders"
        ann> custody out crank/K1 --with "Invented Balancers"
        ann> decide sizes "+0.500 mm, bore 80.500 mm"
        "#,
    );
    masked(|| insta::assert_snapshot!("gone_on", shown));
}
