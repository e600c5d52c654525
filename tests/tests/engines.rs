//! The invented engines of the tests: what each has, how its procedure expands, and that its
//! figures hang together. Counts follow from the layout, worked out by hand.
#![allow(clippy::unwrap_used)]

mod cli_kit;

use std::f64::consts::PI;

use cli_kit::{masked, shop};
use gudgeon_core::assess::Rule;
use gudgeon_core::engine::{Asked, Definition, EXAMPLE, FeatureKind, Liners, Method, Reuse};
use gudgeon_core::quantity::Quantity;
use gudgeon_tests::engines::{ALL, THREE, VEE_EIGHT, WET_LINER_FOUR};
use gudgeon_tests::kit::Walk;

fn read(text: &str) -> Definition {
    let lines = |problems: Vec<gudgeon_core::engine::Problem>| -> String {
        problems.iter().map(|problem| format!("{problem}\n")).collect()
    };
    Definition::parse(text).unwrap_or_else(|problems| panic!("{}", lines(problems)))
}

fn has(engine: &str, counts: &[(FeatureKind, usize)]) {
    let definition = read(engine);
    for (kind, count) in counts {
        assert_eq!(definition.features_of(*kind).len(), *count, "{}: {kind}", definition.name());
    }
}

/// How often a step of that name is done.
fn times(definition: &Definition, id: &str) -> usize {
    definition.steps().iter().filter(|step| definition.step_of(step).id == id).count()
}

fn expands(engine: &str, counts: &[(&str, usize)], in_all: usize) {
    let definition = read(engine);
    for (id, count) in counts {
        assert_eq!(times(&definition, id), *count, "{}: {id}", definition.name());
    }
    assert_eq!(definition.steps().len(), in_all, "{}", definition.name());
}

use FeatureKind as F;

#[test]
fn a_vee_eight_has_eight_of_what_goes_by_cylinder_four_pins_and_two_decks() {
    has(
        VEE_EIGHT,
        &[
            (F::Bore, 8),
            (F::Rod, 8),
            (F::RodBolts, 8),
            (F::Pin, 4),
            (F::Main, 5),
            (F::CamBearing, 5),
            (F::Deck, 2),
            (F::Head, 2),
            (F::Liner, 0),
            (F::Ring, 16),
            (F::Rail, 16),
            (F::Expander, 8),
        ],
    );
    let steps = [
        ("pins-measured", 4),
        ("pin-sizes", 4),
        ("big-end-clearance", 8),
        ("bores-measured", 8),
        ("deck-cut", 2),
        ("ring-gap", 32),
        ("ring-side-clearance", 16),
        ("mains-tightened", 5),
        ("rod-tightened", 8),
        ("rod-bolts-stretch", 8),
        ("cam-bearing-fitted", 5),
        // Block, crank, eight rods, two heads.
        ("crack-tested", 12),
        ("liner-clamped", 0),
    ];
    expands(VEE_EIGHT, &steps, 253);
}

#[test]
fn a_three_has_no_cam_in_the_block_and_no_rails() {
    has(
        THREE,
        &[
            (F::Bore, 3),
            (F::Pin, 3),
            (F::Main, 4),
            (F::CamBearing, 0),
            (F::Deck, 1),
            (F::Ring, 9),
            (F::Rail, 0),
            (F::Expander, 0),
        ],
    );
    let steps = [
        ("pin-sizes", 3),
        ("ring-gap", 9),
        ("main-clearance", 4),
        ("cam-bearing-fitted", 0),
        ("rod-tightened", 3),
        ("rod-bolts-stretch", 0),
        ("crack-tested", 6),
    ];
    expands(THREE, &steps, 119);
}

#[test]
fn a_wet_liner_four_clamps_four_liners_before_the_crank_turns() {
    has(WET_LINER_FOUR, &[(F::Liner, 4), (F::Bore, 4), (F::Pin, 4), (F::Main, 5), (F::CamBearing, 3)]);
    let steps = [
        ("liner-stand-out", 4),
        ("liner-clamped", 4),
        ("mains-tightened", 5),
        ("rod-tightened", 4),
        ("rod-bolts-stretch", 0),
        ("pin-sizes", 4),
    ];
    expands(WET_LINER_FOUR, &steps, 160);
    let four = read(WET_LINER_FOUR);
    let before = |step: &str| -> Vec<String> {
        let step = &four.steps()[four.step_index(step).unwrap()];
        step.prerequisites.iter().map(|&at| four.steps()[at].id.to_string()).collect()
    };
    let clamped = |list: Vec<String>| list.iter().filter(|id| id.starts_with("liner-clamped/")).count();
    assert_eq!(clamped(before("crank-turns")), 4);
    assert!(before("liner-clamped/3").contains(&"liner-stand-out/3".to_owned()));
}

#[test]
fn liner_steps_are_there_with_wet_liners_only() {
    for (name, engine) in ALL {
        let definition = read(engine);
        let wet = definition.layout().liners() == Liners::Wet;
        assert_eq!(wet, name == "wet-liner-four");
        for step in ["liner-stand-out", "liner-clamped"] {
            assert_eq!(times(&definition, step) > 0, wet, "{name}: {step}");
        }
    }
}

/// Nuts on studs and bolts, by torque, stretch and angle; new each time, or used again within a
/// length: each is a group with its own figures, and the procedure asks for the one that is there.
#[test]
fn studs_as_well_as_bolts_are_asked_for_by_the_procedure() {
    let of = |engine: &str, group: &str| {
        let fastener = read(engine).fastener(group).unwrap().clone();
        (fastener.bolts, fastener.method, fastener.stages.len())
    };
    assert_eq!(of(VEE_EIGHT, "main-bolts"), (4, Method::Torque, 3));
    assert_eq!(of(VEE_EIGHT, "rod-bolts"), (2, Method::Stretch, 2));
    assert_eq!(of(THREE, "rod-bolts"), (2, Method::Torque, 2));
    assert_eq!(of(WET_LINER_FOUR, "main-studs"), (2, Method::Torque, 3));
    assert_eq!(of(WET_LINER_FOUR, "head-studs"), (10, Method::Torque, 3));
    assert_eq!(of(WET_LINER_FOUR, "rod-bolts"), (2, Method::Angle, 2));
    let reuse = |engine: &str| read(engine).fastener("rod-bolts").unwrap().reuse.clone();
    assert!(matches!(reuse(THREE), Reuse::Never));
    assert!(matches!(reuse(WET_LINER_FOUR), Reuse::WithinGrowth(_)));

    let four = read(WET_LINER_FOUR);
    assert!(four.fastener("main-bolts").is_none());
    let step = &four.steps()[four.step_index("mains-tightened/5").unwrap()];
    assert_eq!(step.asks[0].asked, Asked::Tightening("main-studs".to_owned()));
    assert!(four.fastener("main-studs").unwrap().faces.contains("nut"));
}

// ---- two rods on a pin

#[test]
fn two_rods_on_a_pin_wait_for_the_one_pin_and_use_its_one_size() {
    let eight = read(VEE_EIGHT);
    let mut walk = Walk::on(VEE_EIGHT);
    while let Some(&step) = walk.open_steps().first() {
        walk.does(step);
    }
    assert!(walk.is_done());
    for pin in 1..=4 {
        let rods: Vec<u8> = eight.layout().rods_of_pin(pin).collect();
        assert_eq!(rods, [2 * pin - 1, 2 * pin]);
        let of_pin = walk.assessment().value(&format!("pin/{pin}"), "diameter").unwrap().readings.clone();
        for rod in rods {
            let step = &eight.steps()[eight.step_index(&format!("big-end-clearance/{rod}")).unwrap()];
            let sizes = eight.step_index(&format!("pin-sizes/{pin}")).unwrap();
            let pins = step.prerequisites.iter().filter(|at| eight.steps()[**at].id.starts_with("pin-sizes"));
            assert_eq!(pins.collect::<Vec<_>>(), [&sizes]);
            let clearance = walk.assessment().value(&format!("rod/{rod}/big-end"), "clearance").unwrap();
            assert!(of_pin.iter().all(|reading| clearance.readings.contains(reading)), "rod {rod}");
        }
    }
}

/// Polishing one pin takes the ground from both of its rods, and from no other.
#[test]
fn work_on_a_shared_pin_ends_both_its_clearances() {
    let mut walk = Walk::on(VEE_EIGHT);
    while let Some(&step) = walk.open_steps().first() {
        walk.does(step);
    }
    let before = walk.assessment().findings().len();
    assert_eq!(before, 0);
    walk.shop().max.did("polish-journal", "pin/2");
    walk.look();
    let findings = walk.assessment().findings();
    let stale = findings.iter().filter(|finding| finding.rule == Rule::StaleSignOff);
    let mut steps: Vec<&str> = stale.map(|finding| &*finding.subject).collect();
    steps.sort_unstable();
    steps.dedup();
    let turned = ["crank-turns", "crank-washed", "cylinder-turns"];
    steps.retain(|step| !turned.iter().any(|turned| step.starts_with(turned)));
    assert_eq!(steps, ["big-end-clearance/3", "big-end-clearance/4", "pin-sizes/2"]);
}

// ---- figures

struct Figures(Definition);

impl Figures {
    /// Cubic centimetres or millimetres.
    fn dimension(&self, name: &str) -> f64 {
        let size = self.0.dimension(name).map(Quantity::amount);
        size.map_or(0.0, |amount| amount.to_f64(amount.kind().main_unit()).unwrap())
    }

    /// Lower and upper limit in nanometres.
    fn limit(&self, path: &str, name: &str) -> (i64, i64) {
        let limit = self.0.limit(&self.0.feature(path).unwrap(), name, "").unwrap();
        let nm = |amount: gudgeon_core::quantity::Amount| amount.base() / 1_000;
        (nm(limit.lower_amount().unwrap()), nm(limit.upper_amount().unwrap()))
    }

    /// Housing less two walls less journal, smallest and largest.
    fn oil(&self, housing: &str, (journal, name): (&str, &str)) -> (i64, i64) {
        let (hole, wall) = (self.limit(housing, "housing-diameter"), self.limit(housing, "shell-wall"));
        let journal = self.limit(journal, name);
        (hole.0 - 2 * wall.1 - journal.1, hole.1 - 2 * wall.0 - journal.0)
    }
}

fn within(inner: (i64, i64), outer: (i64, i64)) -> bool {
    inner.0 >= outer.0 && inner.1 <= outer.1
}

/// Swept volume (pi/4) B^2 S and ratio 1 + V / v (Heywood, ch. 2); what is expected of each
/// invented engine was worked out by hand from its own figures.
#[test]
fn volumes_and_ratios_are_as_invented() {
    for (engine, litres, ratio) in [
        (EXAMPLE, 1.812, 9.35),
        (VEE_EIGHT, 5.301, 9.49),
        (THREE, 1.123, 9.93),
        (WET_LINER_FOUR, 2.238, 9.11),
    ] {
        let figures = Figures(read(engine));
        let size = |name: &str| figures.dimension(name);
        let area = |bore: f64| PI / 4.0 * bore * bore;
        let bore = size("bore") + size("oversize");
        let swept = area(bore) * size("stroke") / 1000.0;
        let cylinders = f64::from(figures.0.layout().cylinders());
        let name = figures.0.name();
        assert!((swept * cylinders / 1000.0 - litres).abs() < 0.001, "{name}: {}", swept * cylinders);
        let stack = size("stroke") / 2.0 + size("rod-centres") + size("compression-height");
        let clearance = size("deck-height") - stack;
        let gasket = area(size("gasket-bore")) * size("gasket-thickness") / 1000.0;
        let fixed = size("chamber-volume") + size("dish-volume") + size("crevice-volume");
        let left = fixed + gasket + area(bore) * clearance / 1000.0;
        assert!((1.0 + swept / left - ratio).abs() < 0.01, "{name}: {}", 1.0 + swept / left);
        // The piston stands where the limits say.
        let height = figures.limit("bore/1", "piston-height");
        let middle = f64::from(i32::try_from(height.0 + height.1).unwrap()) / 2.0 / 1e6;
        assert!((clearance - middle).abs() < 1e-6, "{name}: {clearance} and {middle}");
    }
}

#[test]
fn extremes_of_the_parts_stay_within_the_clearances() {
    for (name, engine) in ALL.into_iter().filter(|(name, _)| *name != "example") {
        let figures = Figures(read(engine));
        let limit = |path: &str, name: &str| figures.limit(path, name);
        let thrust = figures.0.layout().thrust_main();
        let main = figures.oil("main/1", ("main/1", "journal-diameter"));
        assert!(within(main, limit("main/1", "clearance")), "{name}: {main:?}");
        let rod = figures.oil("rod/1/big-end", ("pin/1", "diameter"));
        assert!(within(rod, limit("rod/1/big-end", "clearance")), "{name}: {rod:?}");
        let (bore, skirt) = (limit("bore/1", "diameter"), limit("piston/A/skirt", "diameter"));
        let piston = (bore.0 - skirt.1, bore.1 - skirt.0);
        assert!(within(piston, limit("bore/1", "piston-clearance")), "{name}: {piston:?}");
        let (journal, block) = (
            limit(&format!("main/{thrust}"), "journal-length"),
            limit(&format!("main/{thrust}"), "housing-length"),
        );
        let washer = limit("thrust-washer/A", "thickness");
        let float = (journal.0 - block.1 - 2 * washer.1, journal.1 - block.0 - 2 * washer.0);
        assert!(within(float, limit("crank", "end-float")), "{name}: {float:?}");
        // All the rods of one pin lie side by side on it.
        let rods = i64::try_from(figures.0.layout().rods_of_pin(1).count()).unwrap();
        let (pin, width) = (limit("pin/1", "length"), limit("rod/1/big-end", "width"));
        let side = (pin.0 - rods * width.1, pin.1 - rods * width.0);
        assert!(within(side, limit("rod/1", "side-clearance")), "{name}: {side:?}");
        // A gudgeon turns in its bush, and is the closer in the piston.
        let gudgeon = limit("gudgeon/A", "diameter");
        let (boss, bush) = (limit("piston/A/pin-boss", "diameter"), limit("rod/1/small-end", "diameter"));
        assert!(gudgeon.1 < boss.0 && boss.0 < bush.0 && boss.1 < bush.1, "{name}");
    }
}

// ---- the program

#[test]
fn the_program_checks_them_and_starts_a_record_of_each() {
    let mut stage = shop();
    for (name, engine) in ALL {
        stage.write(&format!("{name}.toml"), engine);
    }
    let shown = stage.play(
        r#"
        ann> engine check vee-eight.toml
        ann> engine check three.toml
        ann> engine check wet-liner-four.toml
        ann> start V8 --engine vee-eight.toml
        ann> start I3 --engine three.toml
        ann> start W4 --engine wet-liner-four.toml
        ann> --record V8 step big-end-clearance/4
        ann> --record I3 step rod-tightened/3
        ann> --record W4 step crank-turns
        ann> --record W4 step mains-tightened/2
        "#,
    );
    masked(|| insta::assert_snapshot!("engines", shown));
}

/// Edits of a shop: a step given again with less, one dropped on which others lean, a slip of an id, an
/// operation that ends less, and a check that says something else.
const EDITS: &str = r#"
[[check]]
name = "swept"
says = "looked over"

[[step]]
id = "cylinder-turns"
stage = 15
title = "Turn it"
per = ["cylinder"]
after-same = ["rod-tightened"]
evidence = [{ check = "turns-free" }]

[[step]]
id = "pin-size"
stage = 7
title = "Crankpin sizes, our way"
per = ["pin"]
evidence = [{ judged = "diameter" }]

[[operation]]
name = "hone"
on = ["bore"]
[[operation.ends]]
feature = "bore/{n}"
characteristics = ["diameter"]
reason = "our way"

[[dropped-step]]
id = "thrust-and-seals"
reason = "no seals on this one"
"#;

#[test]
fn what_an_edit_of_the_procedure_takes_away_is_told_and_it_loads_all_the_same() {
    let mut stage = shop();
    stage.write("ours.toml", &format!("{EXAMPLE}{EDITS}"));
    let shown = stage.play(
        r#"
        ann> engine check ours.toml
        ann> start J2 --engine ours.toml
        "#,
    );
    masked(|| insta::assert_snapshot!("edits", shown));
    let edits = stage.must("ann", "--json engine check ours.toml").json()["edits"].clone();
    let lost = |place: &str| {
        let edit = edits.as_array().unwrap().iter().find(|edit| edit["place"] == place);
        edit.unwrap_or_else(|| panic!("{place}: {edits}"))["lost"].to_string()
    };
    assert!(lost("step cylinder-turns").contains("a second person signs it"));
    assert!(lost("step cylinder-turns").contains("see every hand out of the crankcase"));
    assert!(lost("step thrust-and-seals").contains("it comes before mains-tightened"));
    assert!(lost("operation hone on bore").contains("it ends gap of ring/{n}/*"));
    let plain = stage.must("ann", "--json engine check engine.toml");
    assert_eq!(plain.json()["edits"], serde_json::json!([]));
}
