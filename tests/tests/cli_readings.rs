//! Readings: verdicts at once, sets from files, every problem by its line.
#![allow(clippy::unwrap_used)]

mod cli_kit;

use cli_kit::{masked, shop};

#[test]
fn a_reading_is_saved_whatever_it_says_and_judged_at_once() {
    let mut stage = shop();
    let shown = stage.play(
        r#"
        ann> read pin/2 diameter "47.742 mm" --at front/0 --gauge M1 --both-at 20C
        # outside is a fact
        ann> read pin/2 diameter "47.700 mm" --at front/60 --gauge M1 --both-at 20C
        # in inches, with a decimal comma
        ann> read pin/2 diameter "1,8795 in" --at front/60 --gauge M1 --both-at 68F
        # a comparator in a cold shop
        ann> read bore/1 diameter "+0.008 mm" --set-size "80.500 mm" --at top/thrust --gauge B1 --both-at 12C
        # no temperature, no gauge, no conditions
        ann> read pin/3 diameter "47.742 mm" --at front/0
        ann> read rod/1/big-end housing-diameter "51.604 mm" --at vertical --gauge B1 --both-at 20C
        ann> --json read pin/4 diameter "47.742 mm" --at front/0 --gauge M1 --both-at 20C --read-by Ben --called-out
        "#,
    );
    masked(|| insta::assert_snapshot!("readings", shown));
}

#[test]
fn what_cannot_be_meant_is_refused_with_the_way_out() {
    let mut stage = shop();
    let before = stage.must("ann", "--json status").json()["tally"]["entries"].clone();
    let shown = stage.play(
        r#"
        ann> read pin/9 diameter "47.742 mm" --at front/0
        ann> read pin/2 diamter "47.742 mm" --at front/0
        ann> read pin/2 diameter "47.742 mm" --at frnt/0
        ann> read pin/2 diameter "47.742 mm"
        ann> read pin/2 diameter 47.742 --at front/0
        ann> read pin/2 diameter "47.742 N·m" --at front/0
        ann> read pin/2 diameter "4e1 mm" --at front/0
        ann> read pin/2 diameter "47.742 mm" --at front/0 --both-at "-300 C"
        ann> read rod/1/big-end housing-diameter "51.604 mm" --at vertical --cond shell-out
        ann> read pin/2 diameter "47.742 mm" --at front/0 --read-by Bne
        ann> read pin/2 diameter "47.742 mm" --at front/0 --part Z
        ann> read bore/1 diameter "+40 mm" --set-size "80.500 mm" --at top/thrust
        ann> read pin/2 diamter 47.742 --at front/0 --both-at 20Q
        ann> --json read pin/2 diamter 47.742 --at front/0
        ann> read pin/2
        ann> --json read pin/2
        "#,
    );
    masked(|| insta::assert_snapshot!("reading_refusals", shown));
    assert_eq!(stage.must("ann", "--json status").json()["tally"]["entries"], before);
}

const GOOD: &str = "\
# one line for each station
feature,characteristic,station,value,blind
pin/1,diameter,front/0,47.741,no
pin/1,diameter,front/60,47.742,yes
pin/1,diameter,front/120,47.742,
pin/1,diameter,rear/0,\"47,741\",
pin/1,diameter,rear/60,47.743 mm,
pin/1,diameter,rear/120,1.8796 in,
";

#[test]
fn a_set_is_saved_whole_or_every_problem_is_named_by_its_line() {
    let mut stage = shop();
    stage.write("good.csv", GOOD);
    stage.write(
        "bad.csv",
        &GOOD
            .replace("front/60", "fornt/60")
            .replace("\"47,741\"", "47,741")
            .replace("1.8796 in", "1.8796 in,,x"),
    );
    stage.write("columns.csv", "feature,charakteristic,station\npin/1,diameter,front/0\n");
    stage.write("empty.csv", "feature,characteristic,value\n");
    let shown = stage.play(
        r#"
        ann> read --csv bad.csv --unit mm --gauge M1 --both-at 20C
        ann> --json read --csv bad.csv --unit mm --gauge M1 --both-at 20C
        ann> read --csv columns.csv
        ann> read --csv empty.csv
        ann> read --csv none.csv
        ann> read --csv good.csv --unit parsec
        ann> status
        ann> read --csv good.csv --unit mm --gauge M1 --both-at 20C
        ann> read --csv bad.csv --unit mm --gauge M1 --both-at 20C --good-lines
        "#,
    );
    masked(|| insta::assert_snapshot!("sets", shown));
}

#[test]
fn two_people_apart_are_disputed_after_the_merge_and_a_third_reading_settles_it() {
    let mut stage = shop();
    stage.prepare(
        r#"
        ann> read pin/2 diameter "47.742 mm" --at front/0 --gauge M1 --both-at 20C
        ben> read pin/2 diameter "47.728 mm" --at front/0 --gauge M2 --both-at 20C
        ben> carry out ben.bundle
        "#,
    );
    let carried = stage.must("ann", "--json carry in ben.bundle").json();
    assert_eq!(carried["new"], 1);
    let new = &carried["documents"][1]["new_findings"];
    assert_eq!((new.as_array().unwrap().len(), new[0]["rule"].as_str()), (1, Some("disputed")));
    assert_eq!(stage.must("ann", "--json status").json()["tally"]["disputed"], 1);
    stage.prepare(
        r#"
        cid> ask --label "tablet of Cid" --to cid.ask
        ann> enrol cid.ask --name Cid
        ann> carry out all.bundle
        cid> carry in all.bundle --root "{root}"
        "#,
    );
    let third = stage
        .must("cid", r#"--json read pin/2 diameter "47.741 mm" --at front/0 --gauge M1 --both-at 20C"#)
        .json();
    assert_eq!(third["settled_findings"][0]["rule"], "disputed");
    let shown = stage.play("cid> history pin/2\ncid> findings\n");
    masked(|| insta::assert_snapshot!("third_reading", shown));
}
