//! Layouts expand to the right features, pins and steps.

use super::{Definition, EXAMPLE, FeatureKind, Liners, good, with_layout};
use crate::engine::{Asked, Feature, Target, characteristic};

fn paths(definition: &Definition, kind: FeatureKind) -> Vec<&str> {
    definition.features_of(kind).iter().map(Feature::path).collect()
}

#[test]
fn the_example_parses_and_its_features_are_found_by_path() {
    let four = good(EXAMPLE);
    assert_eq!(four.name(), "Ouse 1.8");
    assert_eq!(paths(&four, FeatureKind::Main), ["main/1", "main/2", "main/3", "main/4", "main/5"]);
    assert_eq!(paths(&four, FeatureKind::Deck), ["deck/inline"]);
    assert_eq!(paths(&four, FeatureKind::Rail).len(), 8);
    assert_eq!(paths(&four, FeatureKind::Liner), [""; 0]);
    for (index, feature) in four.features().iter().enumerate() {
        let found = four.find_feature(feature.path()).unwrap();
        assert_eq!(found, feature);
        assert_eq!(found.ix().unwrap().index(), index);
        assert_eq!(four.feature(feature.path()).as_ref(), Ok(feature));
    }
}

#[test]
fn features_of_parts_match_their_pattern_and_strangers_hear_the_nearest_path() {
    let four = good(EXAMPLE);
    let skirt = four.feature("piston/B/skirt").unwrap();
    assert_eq!((skirt.kind(), skirt.mark()), (FeatureKind::PistonSkirt, Some("B")));
    assert_eq!(four.feature("piston/B/groove/top").unwrap().kind(), FeatureKind::PistonGroove);
    let hint = |path: &str| four.feature(path).unwrap_err().hint();
    assert_eq!(hint("main/6"), "did you mean `main/5`?");
    assert_eq!(hint("rod/3/bigend"), "did you mean `rod/3/big-end`?");
    assert_eq!(hint("piston/B/skrit"), "did you mean `piston/B/skirt`?");
    assert!(four.feature("piston//skirt").is_err());
    assert!(four.feature("piston/a b/skirt").is_err());
    assert!(four.feature(&"main/".repeat(1000)).is_err());
}

#[test]
fn a_vee_eight_with_shared_pins_has_four_pins_and_five_mains() {
    let eight = with_layout(
        r#"
[layout]
form = "vee"
bank-angle = "90 deg"
cylinders = 8
mains = 5
thrust-main = 5
pins = "shared"
firing-order = [1, 8, 4, 3, 6, 5, 7, 2]
[[layout.bank]]
name = "left"
cylinders = [1, 3, 5, 7]
[[layout.bank]]
name = "right"
cylinders = [2, 4, 6, 8]
"#,
        "deck/*",
    );
    let layout = eight.layout();
    assert_eq!(paths(&eight, FeatureKind::Pin), ["pin/1", "pin/2", "pin/3", "pin/4"]);
    assert_eq!(paths(&eight, FeatureKind::Main).len(), 5);
    assert_eq!(paths(&eight, FeatureKind::Deck), ["deck/left", "deck/right"]);
    assert_eq!((layout.pin_of_rod(5), layout.pin_of_rod(6)), (Some(3), Some(3)));
    assert_eq!(layout.rods_of_pin(4).collect::<Vec<_>>(), [7, 8]);
    assert_eq!((layout.pin_of_rod(9), layout.bore_of_rod(9)), (None, None));

    let deck = eight.feature("deck/right").unwrap();
    let bores: Vec<&str> = eight.related(&deck, FeatureKind::Bore).iter().map(|f| f.path()).collect();
    assert_eq!(bores, ["bore/2", "bore/4", "bore/6", "bore/8"]);
}

#[test]
fn a_flat_four_has_a_pin_for_each_rod() {
    let flat = with_layout(
        r#"
[layout]
form = "flat"
cylinders = 4
mains = 3
thrust-main = 3
firing-order = [1, 3, 2, 4]
[[layout.bank]]
name = "right"
cylinders = [1, 3]
[[layout.bank]]
name = "left"
cylinders = [2, 4]
"#,
        "deck/*",
    );
    assert_eq!(paths(&flat, FeatureKind::Pin).len(), 4);
    assert_eq!(paths(&flat, FeatureKind::Main).len(), 3);
    assert_eq!(flat.layout().pin_of_rod(2), Some(2));
    assert_eq!(&*flat.layout().bank_of(4).unwrap().name, "left");
    assert_eq!(paths(&flat, FeatureKind::CamBearing), [""; 0]);
}

#[test]
fn a_three_cylinder_has_three_of_everything_that_goes_by_cylinder() {
    let three = with_layout(
        "[layout]\nform = \"inline\"\ncylinders = 3\nmains = 4\nthrust-main = 3\nfiring-order = [1, 2, 3]\n",
        "deck/inline",
    );
    for kind in [FeatureKind::Bore, FeatureKind::Pin, FeatureKind::RodBolts, FeatureKind::Chamber] {
        assert_eq!(paths(&three, kind).len(), 3, "{kind}");
    }
    let torque = characteristic::find(FeatureKind::Crank, "turning-torque").unwrap();
    let stations: Vec<&str> = three.stations(torque).iter().map(|station| &**station).collect();
    let wanted = ["mains/running", "cylinder-1/running", "cylinder-2/running", "cylinder-3/running"];
    assert_eq!(stations, wanted);
    assert!(three.allows_station(torque, "mains/breakaway"));
    assert!(!three.allows_station(torque, "cylinder-4/running"));
}

#[test]
fn wet_liners_are_features_and_their_bores_are_measured_clamped() {
    let wet = with_layout(
        "[layout]\nform = \"inline\"\ncylinders = 4\nmains = 5\nthrust-main = 3\nliners = \"wet\"\nfiring-order = [1, 3, 4, 2]\n",
        "deck/inline",
    );
    assert_eq!(wet.layout().liners(), Liners::Wet);
    assert_eq!(paths(&wet, FeatureKind::Liner), ["liner/1", "liner/2", "liner/3", "liner/4"]);
    let turns = &wet.steps()[wet.step_index("crank-turns").unwrap()];
    let clamped = wet.step_index("liner-clamped/4").unwrap();
    assert!(turns.prerequisites.contains(&clamped));
    // The cut moves deck and liner seats, and so ends a stand-out measured before it.
    let stand_out = &wet.steps()[wet.step_index("liner-stand-out/2").unwrap()];
    let before: Vec<&str> = stand_out.prerequisites.iter().map(|&at| &*wet.steps()[at].id).collect();
    assert_eq!(before, ["honed/2", "deck-cut/inline"]);
    let bore = characteristic::find(FeatureKind::Bore, "diameter").unwrap();
    let missing: Vec<_> = wet.missing_conditions(bore, &[]).collect();
    assert_eq!(missing, [["liner-clamped"]]);
    assert_eq!(wet.missing_conditions(bore, &["liner-clamped".to_owned()]).count(), 0);
    assert_eq!(good(EXAMPLE).missing_conditions(bore, &[]).count(), 0);
}

#[test]
fn steps_are_expanded_in_an_order_that_works_and_found_by_name() {
    let four = good(EXAMPLE);
    for (index, step) in four.steps().iter().enumerate() {
        assert!(step.prerequisites.iter().all(|&before| before < index), "{}", step.id);
        assert_eq!(four.step_index(&step.id), Some(index));
    }
    let clearance = &four.steps()[four.step_index("big-end-clearance/2").unwrap()];
    let before: Vec<&str> = clearance.prerequisites.iter().map(|&at| &*four.steps()[at].id).collect();
    assert_eq!(before, ["pin-sizes/2", "big-end-sizes/2"]);
    assert_eq!(four.step_index("big-end-clearance/5"), None);
    assert!(four.step_index("crack-tested/block").is_some());
    assert!(four.step_index("crack-tested/rod/2").is_some());
    assert!(four.step_index("deck-cut/inline").is_some() && four.step_index("sweep").is_some());
    let rail = &four.steps()[four.step_index("ring-gap/3/rail-lower").unwrap()];
    assert_eq!(four.step_of(rail).id, "ring-gap");
}

#[test]
fn evidence_is_asked_on_the_feature_of_the_same_cylinder() {
    let four = good(EXAMPLE);
    let ask = |step: &str, at: usize| four.steps()[four.step_index(step).unwrap()].asks[at].clone();
    let bolts = ask("rod-tightened/3", 0);
    assert_eq!(bolts.asked, Asked::Tightening("rod-bolts".to_owned()));
    let place = four.find_feature("rod/3/bolts").unwrap().ix().unwrap();
    assert_eq!(bolts.target, Target::Feature(place));
    let torque = ask("cylinder-turns/2", 0);
    assert_eq!(torque.station, "cylinder-2/running");
    let skirt = ask("piston-measured/4", 1);
    let place = four.find_feature("bore/4").unwrap().ix().unwrap();
    assert_eq!(skirt.target, Target::PartAt { place, part: FeatureKind::PistonSkirt });
}

#[test]
fn of_two_shared_pin_rods_each_waits_for_the_one_pin() {
    let vee = with_layout(
        "[layout]\nform = \"vee\"\nbank-angle = \"60 deg\"\ncylinders = 2\nmains = 3\nthrust-main = 3\npins = \"shared\"\nfiring-order = [1, 2]\nbank = [{ name = \"front\", cylinders = [1] }, { name = \"rear\", cylinders = [2] }]\n",
        "deck/*",
    );
    for step in ["big-end-clearance/1", "big-end-clearance/2"] {
        let step = &vee.steps()[vee.step_index(step).unwrap()];
        let pin = vee.step_index("pin-sizes/1").unwrap();
        assert!(step.prerequisites.contains(&pin), "{}", step.id);
    }
}

/// One main carries the thrust washers (main 3 of the example): the others are not asked for them.
#[test]
fn a_thrust_washer_is_asked_for_where_the_thrust_sits() {
    let step = |evidence: &str| {
        format!(
            "{EXAMPLE}\n[[step]]\nid = \"washers\"\nstage = 14\ntitle = \"Thrust washers\"\nper = [\"main\"]\nevidence = [{evidence}]\n"
        )
    };
    let washer = r#"{ read = "thickness", on = "thrust-washer" }, { part = "thrust-washers" }"#;
    let alone = good(&step(washer));
    assert_eq!(alone.step_index("washers/1"), None, "nothing is asked there");
    let thrust = &alone.steps()[alone.step_index("washers/3").unwrap()];
    let place = alone.find_feature("main/3").unwrap().ix().unwrap();
    let targets: Vec<Target> = thrust.asks.iter().map(|ask| ask.target).collect();
    let part = FeatureKind::ThrustWasher;
    assert_eq!(targets, [Target::PartAt { place, part }, Target::Feature(place)]);

    let beside = good(&step(&format!("{washer}, {{ read = \"fillet-radius\" }}")));
    let asks = |id: &str| beside.steps()[beside.step_index(id).unwrap()].asks.len();
    assert_eq!((asks("washers/1"), asks("washers/3"), asks("washers/5")), (1, 3, 1));

    let of_crank = good(
        &step(washer)
            .replace("per = [\"main\"]", "per = [\"crank\"]")
            .replace(r#"{ part = "thrust-washers" }"#, r#"{ part = "thrust-washers", on = "main" }"#),
    );
    let crank = &of_crank.steps()[of_crank.step_index("washers").unwrap()];
    let targets: Vec<Target> = crank.asks.iter().map(|ask| ask.target).collect();
    assert_eq!(targets, [Target::PartAt { place, part }, Target::Feature(place)]);
}

/// The example with what it shows as comments in force: lines whose `#` no space follows.
fn uncommented() -> String {
    let line = |line: &str| match line.strip_prefix('#') {
        Some(rest) if !rest.is_empty() && !rest.starts_with(' ') => format!("{rest}\n"),
        Some(_) | None => format!("{line}\n"),
    };
    EXAMPLE.lines().map(line).collect()
}

#[test]
fn what_the_example_shows_as_comments_holds_once_it_is_uncommented() {
    let text = uncommented();
    for table in ["check", "step", "operation", "operation.ends", "dropped-step"] {
        assert!(text.contains(&format!("\n[[{table}]]\n")), "{table}");
    }
    let (plain, edited) = (good(EXAMPLE), good(&text));
    let step = |engine: &Definition, id: &str| {
        engine.step_index(id).map(|at| engine.step_of(&engine.steps()[at]).clone())
    };
    assert!(step(&plain, "followers-kept").is_none());
    let added = step(&edited, "followers-kept").unwrap();
    assert_eq!((added.after, added.cautions[0].id), (vec!["marked".to_owned()], "oil"));
    let second = |engine: &Definition| step(engine, "crank-balanced").unwrap().second_person;
    assert!(!second(&plain) && second(&edited));
    let rod = |engine: &Definition| engine.ends("shot-peen", &engine.feature("rod/2").unwrap()).len();
    assert_eq!((rod(&plain), rod(&edited)), (0, 2));
    assert!(step(&plain, "timing").is_some() && step(&edited, "timing").is_none());
    assert_eq!(plain.steps().len(), edited.steps().len());
}
