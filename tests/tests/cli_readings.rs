//! Readings: verdicts at once, sets from files, every problem by its line.
#![allow(clippy::unwrap_used)]

mod cli_kit;

use cli_kit::{Stage, masked, shop};
use gudgeon_client::home::Home;
use gudgeon_client::keys::Pin;
use gudgeon_client::world::Native;
use gudgeon_core::entry::Payload;
use gudgeon_core::entry::payload::Reading;
use gudgeon_core::quantity::Quantity;

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
        ann> read pin/2 diameter "47.742 q" --at front/0
        ann> read pin/2 diameter "47.742 mm" --at front/0 --both-at 20
        ann> read crank turning-torque 3 --at mains/running
        ann> tighten rod-bolts rod/1/bolts --stage 1 --set 28
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

#[test]
fn a_size_of_nothing_or_less_is_refused_where_it_is_typed_and_a_deviation_is_not() {
    let mut stage = shop();
    stage.write(
        "sizes.csv",
        "feature,characteristic,station,value\npin/1,diameter,front/0,47.741\npin/1,diameter,front/60,0\n\
         pin/1,diameter,rear/0,-47.741\ncrank,end-float,,0\n",
    );
    let shown = stage.play(
        r#"
        ann> read pin/2 diameter 0mm --at front/0
        ann> read pin/2 diameter -47.742mm --at front/0
        ann> read bore/1 diameter -0.008mm --at top/thrust
        ann> read crank turning-torque 0N·m --at mains/running
        ann> part receive Z --sort piston --weight 0g
        ann> read chamber/1 volume 0cm3
        ann> read --csv sizes.csv --unit mm
        # these can be meant
        ann> read bore/1 diameter -0.008mm --set-size 80.500mm --at top/thrust --gauge B1 --both-at 20C
        ann> read crank end-float 0mm
        "#,
    );
    masked(|| insta::assert_snapshot!("sizes_of_nothing", shown));
}

/// It may be true, so it is kept; asked about while whoever read it is still there.
#[test]
fn a_slip_of_the_decimal_point_or_the_unit_is_asked_about_and_kept() {
    let mut stage = shop();
    stage.write(
        "slips.csv",
        "feature,characteristic,station,value\npin/1,diameter,front/0,47.741\npin/1,diameter,front/60,4.7741\n\
         pin/4,diameter,rear/0,1.8796\n",
    );
    let shown = stage.play(
        r#"
        ann> read pin/2 diameter 477.42mm --at front/0 --gauge M1 --both-at 20C
        ann> read pin/2 diameter 0.47742mm --at front/60 --gauge M1 --both-at 20C
        ann> read pin/2 diameter 1.8796mm --at front/120 --gauge M1 --both-at 20C
        ann> read pin/2 diameter 47.742in --at rear/0 --gauge M1 --both-at 20C
        ann> read rod/1 centres 14.3mm --gauge M1 --both-at 20C
        ann> read piston/A weight 33.8g
        ann> read --csv slips.csv --unit mm --gauge M1 --both-at 20C
        "#,
    );
    masked(|| insta::assert_snapshot!("slips", shown));
    // Outside its limits, or as it came before the grinding, is no slip.
    for line in [
        r#"--json read pin/3 diameter "47.700 mm" --at front/0 --gauge M1 --both-at 20C"#,
        r#"--json read pin/3 diameter "47.990 mm" --at front/0 --gauge M1 --both-at 20C"#,
        r#"--json read bore/1 diameter "+0.080 mm" --set-size "80.500 mm" --at top/thrust --gauge B1 --both-at 20C"#,
    ] {
        assert_eq!(stage.must("ann", line).json()["asked_about"], serde_json::json!([]), "{line}");
    }
}

/// By another program, or an older one: an entry is judged by its signature, not by its value.
#[test]
fn a_size_of_nothing_that_arrives_otherwise_is_kept() {
    let mut stage = shop();
    {
        let mut home = Home::open(&stage.path().join("ben"), Native).unwrap();
        let key = home.keys().unwrap().remove(0).key;
        let author = home.unlock(key, &Pin::new("2468").unwrap()).unwrap();
        let record = home.records().next().unwrap();
        let reading = Reading {
            feature: "pin/2".to_owned(),
            part: String::new(),
            characteristic: "diameter".to_owned(),
            station: "front/0".to_owned(),
            conditions: Vec::new(),
            value: Quantity::parse("-80 mm").unwrap(),
            set_size: None,
            gauge: "M1".to_owned(),
            master: String::new(),
            part_temperature: None,
            gauge_temperature: None,
            read_by: None,
            called_out: false,
            blind: false,
            reading_set: String::new(),
            note: String::new(),
        };
        home.state(record, &author, &[Payload::Reading(Box::new(reading))]).unwrap();
    }
    stage.prepare("ben> carry out ben.bundle\nann> carry in ben.bundle");
    let entries = stage.must("ann", "--json history pin/2").json()["entries"].clone();
    assert_eq!(entries[0]["status"], "stands", "{entries}");
    assert!(entries[0]["says"].as_str().unwrap().contains("-80 mm"), "{entries}");
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
        ann> read --csv bad.csv --unit mm --gauge M1 --both-at 20C --good-lines --set second
        "#,
    );
    masked(|| insta::assert_snapshot!("sets", shown));
}

/// As spreadsheets save them, in several countries.
#[test]
fn a_set_is_read_as_spreadsheets_write_it() {
    let mut stage = shop();
    stage.write(
        "semicolons.csv",
        "\u{feff}Feature;Characteristic;Station;Value;Both At\r\npin/1; diameter ;front/0;47,741 mm;20C\r\n\
         pin/1;diameter;front/60; \"47,742 mm\" ;20C\r\n",
    );
    stage.write("tabs.csv", "FEATURE\tCHARACTERISTIC\tSTATION\tVALUE\npin/2\tdiameter\tfront/0\t47,741\n");
    stage.write(
        "spaces.csv",
        "feature , Characteristic, station , value\n pin/3, diameter, front/0 , \"47,741\" \n",
    );
    stage.write("wrong.csv", "\u{feff}Feature;Characteristic;Station;Wert\r\n");
    std::fs::write(stage.path().join("latin.csv"), b"feature,characteristic,value\ncrank,runout,20 \xb5m\n")
        .unwrap();
    let shown = stage.play(
        r#"
        ann> read --csv semicolons.csv --gauge M1
        ann> read --csv tabs.csv --unit mm --gauge M1 --both-at 20C
        ann> read --csv spaces.csv --unit mm --gauge M1 --both-at 20C
        ann> read --csv wrong.csv
        ann> read --csv latin.csv
        "#,
    );
    masked(|| insta::assert_snapshot!("spreadsheets", shown));
}

/// Otherwise a file that is sent off twice looks like work that was done twice.
#[test]
fn a_set_given_twice_is_noticed_and_read_again_only_where_that_is_said() {
    let mut stage = shop();
    stage.write("good.csv", GOOD);
    stage
        .write("more.csv", &format!("{}pin/2,diameter,front/0,47.742,\n", &GOOD.replace("47.743", "47.744")));
    let entries =
        |stage: &Stage| stage.must("ann", "--json status").json()["tally"]["entries"].as_u64().unwrap();
    stage.prepare("ann> read --csv good.csv --unit mm --gauge M1 --both-at 20C");
    let once = entries(&stage);
    let shown = stage.play("ann> read --csv good.csv --unit mm --gauge M1 --both-at 20C");
    masked(|| insta::assert_snapshot!("set_twice", shown));
    assert_eq!(entries(&stage), once);
    let again =
        stage.must("ann", "--json read --csv good.csv --unit mm --gauge M1 --both-at 20C --read-again");
    assert_eq!(again.json()["saved"].as_array().unwrap().len(), 6);
    // Another gauge, another reader, another person: nothing of it was said already.
    stage.prepare(
        r#"
        ann> read --csv good.csv --unit mm --gauge M2 --both-at 20C
        ann> read --csv good.csv --unit mm --gauge M2 --both-at 20C --read-by Ben
        ben> read --csv good.csv --unit mm --gauge M2 --both-at 20C
        "#,
    );
    let partly = stage.must("ann", "read --csv more.csv --unit mm --gauge M2 --both-at 20C");
    assert!(partly.stderr.contains("note: lines 3, 4, 5, 6, 8 stood already"), "{}", partly.stderr);
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

#[test]
fn a_finding_that_only_cannot_be_seen_any_more_is_not_called_settled() {
    let mut stage = shop();
    let near = "read pin/2 diameter \"47.736 mm\" --at front/0";
    stage.prepare(&format!(
        "ann> {near} --gauge M1 --both-at 20C\nann> carry out one.bundle\nben> carry in one.bundle"
    ));
    let rules = |json: &serde_json::Value, field: &str| -> Vec<String> {
        let list = json[field].as_array().unwrap().iter();
        list.map(|finding| finding["rule"].as_str().unwrap().to_owned()).collect()
    };
    // Another person's reading that differs, and then the same without its temperatures.
    for (home, line, new) in [
        ("ben", "read pin/2 diameter \"47.748 mm\" --at front/0 --gauge M2 --both-at 20C", "disputed"),
        ("ann", &*format!("{near} --gauge M1"), "not-judged"),
    ] {
        let done = stage.must(home, &format!("--json {line}")).json();
        assert!(rules(&done, "new_findings").contains(&new.to_owned()), "{done}");
        assert_eq!(rules(&done, "settled_findings"), [""; 0], "{done}");
        assert_eq!(rules(&done, "hidden_findings"), ["not-proven"], "{done}");
    }
    stage.prepare("ben> carry out other.bundle");
    let warmer = stage.must("ann", &format!("{near} --gauge M1 --both-at 20C")).stdout;
    assert!(warmer.contains("settled: Not judged, pin/2"), "{warmer}");
    let carried = stage.must("ann", "carry in other.bundle").stdout;
    assert!(carried.contains("not settled, but not judged now: Not proven, pin/2"), "{carried}");
    assert!(!carried.contains("  settled:"), "{carried}");
}

/// The same place under two names would be two places: a slip is asked about, and kept.
#[test]
fn a_free_station_one_slip_from_one_that_was_read_at_is_asked_about() {
    let stage = shop();
    let read = |station: &str| {
        let line = format!(r#"read ring/1/top width "1.730 mm" --at {station} --gauge M1 --both-at 20C"#);
        stage.must("ann", &line).stderr
    };
    assert!(!read("at-the-gap").contains("did you mean"), "the first is no slip of another");
    let asked = read("at-teh-gap");
    let question = "note: width was not read at `at-teh-gap` before: did you mean `at-the-gap`?";
    assert!(asked.contains(question) && asked.contains("it is kept as typed"), "{asked}");
    assert!(!read("at-the-gap").contains("did you mean"));
    assert!(!read("place-1").contains("did you mean"));
    assert!(!read("place-2").contains("did you mean"), "one that only counts otherwise");
}
