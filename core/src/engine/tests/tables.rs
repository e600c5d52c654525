//! The tables agree with each other.

use super::{Definition, EXAMPLE, good, with_layout};
use crate::engine::feature::FEATURES;
use crate::engine::file;
use crate::engine::operation::{What, built_in};
use crate::engine::pattern::{FeaturePattern, variable};
use crate::engine::problem::Problems;
use crate::engine::procedure::{DEFAULT, Procedure};
use crate::engine::{FeatureKind, Subject, characteristic, condition, material, part};

fn kinds_meant(feature: &str) -> Vec<FeatureKind> {
    let pattern = FeaturePattern::filled(feature, |_| None);
    let meant = FEATURES.iter().filter(|row| pattern.may_match_shape(row.pattern));
    meant.map(|row| row.kind).collect()
}

fn checks() -> Vec<String> {
    let procedure = Procedure::built_in(&mut Problems::default());
    procedure.checks.into_iter().map(|check| check.name).collect()
}

#[test]
fn the_default_procedure_has_no_problem_of_its_own() {
    let mut out = Problems::default();
    let procedure = Procedure::built_in(&mut out);
    assert_eq!(out.into_list(DEFAULT), []);
    let numbers: Vec<u8> = procedure.stages.iter().map(|stage| stage.number).collect();
    assert!(numbers.into_iter().eq(1..=18));
    for stage in &procedure.stages {
        assert!(procedure.steps.iter().any(|step| step.stage == stage.number), "{}", stage.title);
    }
}

#[test]
fn every_check_of_the_procedure_is_asked_for_or_ended_by_an_operation() {
    let text = DEFAULT.to_owned();
    for check in checks() {
        let asked = text.contains(&format!("check = \"{check}\""));
        let ended = built_in().iter().flat_map(|row| &row.ends).any(|ends| ends.what.ends_check(&check));
        assert!(asked || ended, "{check}");
    }
}

#[test]
fn what_operations_end_exists() {
    let checks = checks();
    for operation in built_in() {
        for ends in &operation.ends {
            let kinds = kinds_meant(&ends.feature);
            let at = format!("{} on {}: {}", operation.name, operation.on, ends.feature);
            assert!(!kinds.is_empty(), "{at}");
            assert!(!ends.reason.is_empty(), "{at}");
            for name in ends.feature.split('/').filter_map(variable) {
                assert!(crate::engine::operation::fills(operation.on, name), "{at}");
            }
            match &ends.what {
                What::Characteristics(names) => {
                    for name in names {
                        let found = kinds.iter().any(|&on| characteristic::find(on, name).is_some());
                        assert!(found, "{at}: {name}");
                    }
                }
                What::Checks(names) => assert!(names.iter().all(|n| checks.contains(n)), "{at}"),
                What::EveryCharacteristic => {
                    assert!(kinds.iter().any(|&on| !characteristic::of_kind(on).is_empty()), "{at}");
                }
                What::Tightening => {}
            }
        }
    }
}

#[test]
fn each_operation_is_one_row_on_a_kind_of_feature() {
    let rows = built_in();
    for (index, row) in rows.iter().enumerate() {
        let same = |other: &&crate::engine::Operation| (&other.name, other.on) == (&row.name, row.on);
        assert!(!rows[..index].iter().any(|other| same(&other)), "{} on {}", row.name, row.on);
        assert!(!row.ends.is_empty(), "{}", row.name);
    }
}

fn ended(engine: &Definition, operation: &str, path: &str, fitted: Option<u8>) -> Vec<String> {
    let touched = engine.feature(path).unwrap();
    let mut lines = Vec::new();
    for ended in engine.ends_fitted(operation, &touched, fitted) {
        for feature in engine.features().iter().filter(|feature| ended.features.matches(feature)) {
            for subject in characteristic::of_kind(feature.kind()) {
                if ended.what.ends_reading(subject.name) {
                    lines.push(format!("{feature} {}", subject.name));
                }
            }
        }
    }
    lines
}

// Rods resized because new bolts pull the housing out of shape: the model case.
#[test]
fn new_rod_bolts_end_the_housing_of_that_rod_alone() {
    let four = good(EXAMPLE);
    let lines = ended(&four, "rod-bolts-changed", "rod/3/bolts", None);
    assert!(lines.contains(&"rod/3/big-end housing-diameter".to_owned()), "{lines:?}");
    assert!(lines.contains(&"rod/3/bolts free-length".to_owned()));
    assert!(!lines.iter().any(|line| line.starts_with("rod/2")), "{lines:?}");
    assert!(!lines.iter().any(|line| line.starts_with("pin/")), "{lines:?}");
}

#[test]
fn a_hone_ends_its_bore_and_its_ring_gaps() {
    let four = good(EXAMPLE);
    let lines = ended(&four, "hone", "bore/2", None);
    assert!(lines.contains(&"bore/2 diameter".to_owned()));
    assert!(lines.contains(&"ring/2/top gap".to_owned()));
    assert!(lines.contains(&"ring/2/rail-lower gap".to_owned()));
    assert!(!lines.iter().any(|line| line.contains("/1")), "{lines:?}");
    let wash = |ended: &crate::engine::Ended<'_>| ended.what.ends_check("final-wash");
    assert!(four.ends("hone", &four.feature("bore/2").unwrap()).iter().any(wash));
    assert!(four.ends("hone", &four.feature("crank").unwrap()).is_empty());
    assert!(four.ends("polish", &four.feature("bore/2").unwrap()).is_empty());
}

#[test]
fn a_deck_cut_ends_the_heights_of_its_bank() {
    let vee = with_layout(
        "[layout]\nform = \"vee\"\nbank-angle = \"90 deg\"\ncylinders = 4\nmains = 3\nthrust-main = 2\npins = \"shared\"\nfiring-order = [1, 3, 4, 2]\nbank = [{ name = \"left\", cylinders = [1, 2] }, { name = \"right\", cylinders = [3, 4] }]\n",
        "deck/*",
    );
    let lines = ended(&vee, "deck-cut", "deck/right", None);
    let heights: Vec<&String> = lines.iter().filter(|line| line.ends_with("piston-height")).collect();
    assert_eq!(heights, ["bore/3 piston-height", "bore/4 piston-height"]);
    let ground = ended(&vee, "grind-journal", "pin/2", None);
    assert!(ground.contains(&"rod/2/big-end shell-wall".to_owned()), "{ground:?}");
    assert!(ground.contains(&"rod/4/big-end shell-wall".to_owned()), "{ground:?}");
}

#[test]
fn a_machined_piston_ends_what_follows_it_only_where_it_sits() {
    let four = good(EXAMPLE);
    assert_eq!(ended(&four, "piston-machined", "piston/B", None), [""; 0]);
    let fitted = ended(&four, "piston-machined", "piston/B", Some(3));
    assert!(fitted.contains(&"bore/3 piston-height".to_owned()), "{fitted:?}");
    let skirt = four.feature("piston/B/skirt").unwrap();
    let other = four.feature("piston/C/skirt").unwrap();
    let ended = four.ends("piston-machined", &four.feature("piston/B").unwrap());
    let ends_of = |feature| ended.iter().any(|ended| ended.features.matches(feature));
    assert!(ends_of(&skirt) && !ends_of(&other));
}

#[test]
fn materials_of_roles_and_parts_with_marks_exist() {
    for row in &material::ROLES {
        assert!(row.default.is_none_or(|name| material::find(name).is_some()), "{}", row.key);
    }
    for condition in &condition::CONDITIONS {
        assert!(!condition.about.is_empty());
    }
    assert_eq!(part::carrying(FeatureKind::Gudgeon).unwrap().name, "gudgeon");
    assert!(Subject::find(FeatureKind::Bore, "piston-clearance").is_some());
    let mut out = Problems::default();
    assert!(!file::read(DEFAULT, &mut out).is_empty());
}
