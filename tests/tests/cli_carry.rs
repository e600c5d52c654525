//! What the gate refuses in a carried file is kept aside and shown; what misses its ground waits.
#![allow(clippy::unwrap_used)]

mod cli_kit;

use cli_kit::{Stage, masked, shop};
use gudgeon_client::home::read_bundle;
use gudgeon_core::document::{Actor, Bundle, Document};
use gudgeon_core::entry::payload::Note;
use gudgeon_core::entry::{Author, DocumentId, EntryId, Envelope, Payload, claimed_id};

/// Carries `from` on, with one value more in its record: without asking any gate.
fn smuggle(stage: &Stage, from: &str, to: &str, value: impl Fn(DocumentId) -> Vec<u8>) {
    let bundle = read_bundle(&stage.path().join(from)).unwrap();
    let mut altered = Bundle::new(bundle.root());
    for (at, carried) in bundle.documents().iter().enumerate() {
        let mut document = Document::new();
        document.receive(carried.changes(), &mut |_, _| Ok(()));
        if at == 1 {
            let value = value(carried.document());
            document.commit(Actor([9; 16]), &[(claimed_id(&value).unwrap(), value)]).unwrap();
        }
        altered.add(carried.document(), &document);
    }
    std::fs::write(stage.path().join(to), altered.write().unwrap()).unwrap();
}

fn note(document: DocumentId, after: Vec<EntryId>) -> Vec<u8> {
    let says = Payload::Note(Note { feature: String::new(), text: "all is well".to_owned() });
    let envelope = Envelope {
        document: Some(document),
        kind_code: says.kind().code(),
        device_time: 1_800_000_000_000,
        min_reader: 1,
        after,
        payload: says.encode(),
    };
    Author::from_secret(&[7; 32]).sign(envelope).value().to_vec()
}

/// Otherwise nobody learns what the file in hand is for.
#[test]
fn a_file_of_another_sort_is_named_with_the_command_that_it_is_for() {
    let mut stage = shop();
    stage.write("set.csv", "Feature;Characteristic;Station;Value\n");
    stage.prepare("ann> print record.html");
    let shown = stage.play(
        r#"
        ann> carry in engine.toml
        ann> carry in ben.ask
        ann> carry in set.csv
        ann> carry in record.html
        ann> enrol shop.bundle --name Cid
        ann> start J2 --engine shop.bundle
        ann> engine check ben.ask
        ann> read --csv engine.toml
        ann> photo set.csv
        "#,
    );
    masked(|| insta::assert_snapshot!("other_files", shown));
}

#[test]
fn a_forged_entry_is_refused_and_the_rest_is_taken() {
    let mut stage = shop();
    stage.prepare(
        r#"
        ben> note "a true word"
        ben> carry out ben.bundle
        "#,
    );
    smuggle(&stage, "ben.bundle", "forged.bundle", |document| {
        let mut value = note(document, Vec::new());
        value[40] ^= 1; // a byte of the signature
        value
    });
    let shown = stage.play(
        r#"
        ann> carry in forged.bundle
        ann> refused
        ann> findings
        ann> carry in forged.bundle
        ann> --json status
        "#,
    );
    masked(|| insta::assert_snapshot!("forged", shown));
}

#[test]
fn an_entry_that_misses_its_ground_waits_and_a_strangers_does_not_count() {
    let mut stage = shop();
    stage.prepare("ben> carry out ben.bundle");
    smuggle(&stage, "ben.bundle", "gap.bundle", |document| note(document, vec![EntryId::new([5; 32])]));
    smuggle(&stage, "ben.bundle", "stranger.bundle", |document| note(document, Vec::new()));
    let shown = stage.play(
        r#"
        ann> carry in gap.bundle
        ann> carry in stranger.bundle
        ann> findings
        "#,
    );
    masked(|| insta::assert_snapshot!("waiting", shown));
}

#[test]
fn three_homes_that_carry_in_any_order_come_to_the_same() {
    let mut stage = shop();
    stage.prepare(
        r#"
        cid> ask --label "tablet of Cid" --to cid.ask
        ann> enrol cid.ask --name Cid
        ann> carry out all.bundle
        ben> carry in all.bundle
        cid> carry in all.bundle --root "{root}"
        ann> read pin/1 diameter "47.741 mm" --at front/0 --gauge M1 --both-at 20C
        ben> operation hone bore/1
        cid> read bore/1 diameter "80.508 mm" --at top/thrust --gauge B1 --both-at 20C
        ann> carry out ann.bundle
        ben> carry out ben.bundle
        cid> carry out cid.bundle
        ann> carry in ben.bundle
        ann> carry in cid.bundle
        ben> carry in cid.bundle
        ben> carry in ann.bundle
        cid> carry in ann.bundle
        cid> carry in ben.bundle
        "#,
    );
    let whole = |home| stage.must(home, "--json status --whole").json()["assessment"].to_string();
    assert_eq!(whole("ann"), whole("ben"));
    assert_eq!(whole("ann"), whole("cid"));
    let rules: Vec<String> = stage.must("ben", "--json findings").json()["findings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|finding| finding["rule"].as_str().unwrap().to_owned())
        .collect();
    assert_eq!(rules, ["before-or-after", "work-ahead"]);
    for home in ["ann", "ben", "cid"] {
        stage.must(home, &format!("print {home}.html"));
    }
    assert_eq!(stage.read("ann.html"), stage.read("cid.html"));
    assert!(stage.read("ann.html").contains("J1"));
}
