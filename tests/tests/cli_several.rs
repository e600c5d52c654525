//! Several of a kind in one command: one entry each, all of them or none.
#![allow(clippy::unwrap_used)]

mod cli_kit;

use cli_kit::{Ran, shop};

fn saved(ran: &Ran) -> usize {
    ran.json()["saved"].as_array().unwrap().len()
}

#[test]
fn a_check_a_part_and_a_signature_are_entered_for_each_that_is_named() {
    let mut stage = shop();
    stage.prepare(
        r#"
        ann> checked photographed
        ann> checked customer-approved
        ann> checked marked
        ann> read crank end-float "0.2 mm"
        "#,
    );
    let signed = stage.must("ann", "--json sign received");
    assert_eq!(signed.json()["steps"][0]["step"], "received");
    let signed = stage.must("ann", "--json sign work-approved marked as-found-end-float");
    assert_eq!(saved(&signed), 3);
    let json = signed.json();
    let steps = json["steps"].as_array().unwrap();
    assert!(steps.iter().all(|step| step["progress"] == "signed"), "{json}");
    assert_eq!(steps[2]["rests_on"][0]["asked"], "end-float read, crank");
    assert_eq!(saved(&stage.must("ann", "--json checked crack-test block crank rod/1 rod/2")), 4);
    assert_eq!(saved(&stage.must("ann", "--json part receive piston/A piston/B --batch L7")), 2);
}

#[test]
fn one_that_is_not_ready_or_not_there_keeps_all_from_being_entered() {
    let mut stage = shop();
    stage.prepare("ann> checked photographed");
    let entries =
        |stage: &cli_kit::Stage| stage.must("ann", "--json status").json()["tally"]["entries"].clone();
    let before = entries(&stage);
    for (line, rule, place) in [
        ("--json sign received marked", "not-ready", "check marked"),
        ("--json checked crack-test block rod/9", "unknown-feature", ""),
        ("--json part receive piston/A pistn/B", "unknown-sort-of-part", ""),
    ] {
        let ran = stage.run("ann", &cli_kit::split(line).iter().map(String::as_str).collect::<Vec<_>>());
        assert_ne!(ran.status, 0, "{line}");
        let error = &ran.json()["error"];
        assert_eq!(error["rule"], rule, "{line}");
        assert_eq!(error["problems"][0]["place"].as_str().unwrap_or_default(), place, "{line}");
    }
    assert_eq!(entries(&stage), before);
}
