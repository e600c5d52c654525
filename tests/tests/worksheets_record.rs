//! Worksheets filled from a record: the same figures as the record's own, and why not where not.
#![allow(clippy::unwrap_used)]

mod cli_kit;

use cli_kit::{Stage, masked, shop};
use gudgeon_core::engine::{characteristic, derivation, dimension};
use gudgeon_core::quantity::Kind;
use gudgeon_core::work::{self, FILLS, Takes, Where};
use serde_json::Value as Json;

/// A main bearing and a big end read through, in a shop at 20 °C.
fn bearings() -> Stage {
    let stage = shop();
    let mut csv = "feature,characteristic,station,value,cond\n".to_owned();
    for (station, size) in [("vertical", "56.602"), ("plus-60", "56.600"), ("minus-60", "56.604")] {
        csv.push_str(&format!("main/2,housing-diameter,{station},{size},caps-tightened shells-out\n"));
    }
    for (station, size) in [("upper", "1.822"), ("lower", "1.824")] {
        csv.push_str(&format!("main/2,shell-wall,{station},{size},\n"));
    }
    for end in ["front", "rear"] {
        for way in ["0", "60", "120"] {
            csv.push_str(&format!("main/2,journal-diameter,{end}/{way},52.90{},\n", way.len()));
        }
    }
    stage.write("main.csv", &csv);
    stage.must(
        "ann",
        r#"gauge add M3 --sort outside-micrometer --resolution "0.001 mm" --error "4 µm" --range "50 mm..75 mm" --calibrated 2020-01-10 --due 2090-01-10 --seen"#,
    );
    stage.must("ann", "read --csv main.csv --unit mm --gauge M3 --both-at 20C");
    stage
}

fn value<'j>(status: &'j Json, path: &str, name: &str) -> &'j Json {
    let features = status["assessment"]["features"].as_array().unwrap();
    let feature = features.iter().find(|feature| feature["path"] == path).unwrap();
    feature["values"].as_array().unwrap().iter().find(|value| value["name"] == name).unwrap()
}

#[test]
fn a_filled_worksheet_comes_to_what_the_record_comes_to() {
    let stage = bearings();
    let status = stage.must("ann", "--json status --whole").json();
    let own = value(&status, "main/2", "clearance");
    let low_mm = own["low_base"].as_f64().unwrap() / 1e9;
    let sheet = stage.must("ann", "--json work oil-clearance --at main/2").json();
    let found = sheet["outputs"]["clearance"]["value"].as_f64().unwrap();
    assert!((found - low_mm).abs() < 1e-9, "{found} {low_mm}");
    // The sheet is not told what two readings with one micrometer share: it says more, never less.
    let (own_u, u) =
        (own["u_base"].as_f64().unwrap() / 1e9, sheet["outputs"]["clearance"]["u"].as_f64().unwrap());
    assert!(u + 1e-9 >= own_u * 0.99, "{u} {own_u}");
    let verdict = stage.must("ann", "--json work conformance --at main/2 --of clearance").json();
    assert_eq!(verdict["outputs"]["verdict"]["value"], own["verdict"]);
    let filled = sheet["from_record"].as_array().unwrap();
    assert!(
        filled
            .iter()
            .any(|filled| filled["input"] == "housing"
                && filled["from"].as_str().unwrap().starts_with("main/2"))
    );
}

/// The same after a lead has chosen how a limit is decided.
#[test]
fn a_verdict_is_by_the_rule_of_the_limit_in_force() {
    let stage = bearings();
    stage.must("ann", "--json work conformance --at main/2 --of clearance");
    for rule in ["shared", "simple", "strict"] {
        let change = format!("limit clearance --feature main/2 --rule {rule} --reason agreed");
        stage.must("ann", &change);
        let status = stage.must("ann", "--json status --whole").json();
        let own = value(&status, "main/2", "clearance");
        let sheet = stage.must("ann", "--json work conformance --at main/2 --of clearance").json();
        assert_eq!(sheet["outputs"]["rule"]["value"], own["limit"]["rule"], "{rule}");
        assert_eq!(sheet["outputs"]["verdict"]["value"], own["verdict"], "{rule}");
        let filled = sheet["from_record"].as_array().unwrap();
        let from = filled.iter().find(|filled| filled["input"] == "rule").unwrap();
        assert_eq!(
            (&from["value"], &from["from"]),
            (&Json::from(rule), &"main/2 clearance, from the limit".into())
        );
        let ratio = stage.must("ann", "--json work test-uncertainty-ratio --at main/2 --of clearance").json();
        assert_eq!(ratio["inputs"]["rule"], rule);
    }
}

/// Housing and journal read, shells not; a housing read with its shells in.
#[test]
fn a_bare_housing_without_its_shells_is_no_clearance() {
    let mut stage = shop();
    stage.write(
        "bare.csv",
        "feature,characteristic,station,value,cond\n\
         main/2,housing-diameter,vertical,56.602,caps-tightened shells-out\n\
         main/2,journal-diameter,front/0,52.903,\n\
         main/3,housing-diameter,vertical,52.951,caps-tightened shells-in\n",
    );
    stage.must("ann", "read --csv bare.csv --unit mm --both-at 20C");
    let shown = stage.play(
        r#"
        ann> work oil-clearance --at main/2
        ann> work oil-clearance --at main/2 wall=1.823mm
        ann> work oil-clearance --at main/2 other-wall=1.823mm
        ann> work oil-clearance --at main/2 housing=52.951mm
        ann> work hot-clearance --at main/2 warmer=70K
        ann> work oil-clearance --at main/3
        ann> work conformance --at main/3 --of housing-diameter
        ann> work conformance --at main/3 --of clearance
        ann> work oil-clearance --at main/2 housing=52.951mm wall=0mm other-wall=1.823mm
        ann> work oil-clearance --at main/2 housing=52.951mm wall=0mm
        ann> work conformance --at main/2 --of clearence
        ann> work conformance --at ring/1 --of gap
        ann> work ring-gap --at ring/1
        ann> work ring-gap --at mian/2
        ann> work oil-clearance --at elsewhere
        ann> work bolts
        ann> work oil-clearence
        ann> work nothing-of-the-sort
        ann> work compression-estimate ratio=8,4:1 temperature=300K
        ann> work surely-over limit=0.15mm u=0.05
        ann> work surely-over limit=0.15mm u=5um
        ann> work rod-centres gap=143mm big-end=56mm small-end=25mm wanted=143mm
        ann> work ring-side grooves=1.735mm rings=1.790mm
        ann> work hot-ring-gap gap=0.34mm bore=80.508mm ring-warmer=360F bore-warmer=110C
        "#,
    );
    masked(|| insta::assert_snapshot!("worksheets_refused", shown));
}

#[test]
fn numbers_for_machines_end_where_the_figures_do() {
    let stage = shop();
    let sheet = stage.must("ann", "--json work ring-side grooves=1.790,2.030mm rings=1.783,1.985mm").json();
    assert_eq!(sheet["outputs"]["clearances"]["value"].to_string(), "[0.007,0.045]");
    let exact = stage.must("ann", "--json work convert value=0.001um to=m").json();
    assert_eq!(exact["outputs"]["value"]["value"].to_string(), "1e-9");
}

#[test]
fn what_is_typed_comes_first_and_what_is_missing_says_why() {
    let mut stage = bearings();
    let shown = stage.play(
        r#"
        ann> work oil-clearance --at main/2
        ann> work oil-clearance --at main/2 journal=52.890mm
        ann> work oil-clearance --at main/3
        ann> work oil-clearance --at bore/1
        ann> work oil-clearance --at mian/2
        ann> work conformance --at main/2
        ann> work conformance --at main/2 --of clearance
        ann> work conformance --at main/2 --of roundness
        ann> work displacement --record nothing
        ann> work displacement --record J1
        ann> work convert --record J1
        ann> work match-pistons --record J1
        ann> work hot-clearance --at main/2 warmer=70K
        ann> work shell-grades --at main/2
        "#,
    );
    masked(|| insta::assert_snapshot!("worksheets_record", shown));
}

#[test]
fn every_row_fills_an_input_that_is_there_from_a_value_of_its_kind() {
    for row in FILLS {
        let sheet = work::find(row.sheet).unwrap_or_else(|| panic!("no worksheet {}", row.sheet));
        let input = sheet.inputs.iter().find(|input| input.name == row.input);
        let takes = input.unwrap_or_else(|| panic!("{} takes no {}", row.sheet, row.input)).takes;
        let wanted = match takes {
            Takes::Quantity(unit, _) | Takes::Quantities(unit, _, _) => Some(unit.kind()),
            Takes::Number(_)
            | Takes::Whole(..)
            | Takes::Word(_)
            | Takes::Material
            | Takes::Unit
            | Takes::Anything => None,
        };
        let kind_of = |on, name: &str| {
            let read = characteristic::find(on, name).map(|row| row.kind);
            read.or_else(|| derivation::find(on, name).map(|_| Kind::Length))
        };
        let kind = match row.from {
            Where::Dimensions(names) => {
                let kinds = names
                    .iter()
                    .map(|name| dimension::DIMENSIONS.iter().find(|row| row.name == *name).unwrap().kind);
                kinds.reduce(|a, b| {
                    assert_eq!(a, b, "{row:?}");
                    a
                })
            }
            Where::Here(on, meant, name, _) | Where::Each(on, meant, name, _) => {
                let on = derivation::kind_meant(on, meant);
                Some(kind_of(on, name).unwrap_or_else(|| panic!("{row:?}")))
            }
            Where::Least(on, name) | Where::Parts(on, name, _) => {
                Some(kind_of(on, name).unwrap_or_else(|| panic!("{row:?}")))
            }
            Where::Cylinders | Where::Material(..) | Where::Judged(_) => None,
        };
        if let Some(kind) = kind {
            assert_eq!(Some(kind), wanted, "{row:?}");
        }
    }
}
