//! Sheets of bolts, rings and form beside figures reckoned another way.
#![allow(clippy::unwrap_used)]

use gudgeon_core::work;
use gudgeon_tests::sheets::{self, answer, out, try_work};
use proptest::prelude::*;

fn list(sheet: &str, inputs: &str, output: &str) -> Vec<f64> {
    sheets::list(&answer(sheet, inputs), output)
}

fn word(sheet: &str, inputs: &str, output: &str) -> String {
    sheets::word(&answer(sheet, inputs), output)
}

/// The input that is asked for, and what is said of it.
fn refused(sheet: &str, inputs: &str) -> (String, String) {
    let problem = try_work(sheet, inputs).unwrap_err().problems[0].clone();
    (problem.input, problem.cause + "; " + &problem.hint)
}

#[test]
fn the_last_stage_is_the_makers_figure_and_no_other() {
    assert_eq!(
        list("tightening-plan", "torque=90N.m shares=33;67 step=2N.m largest=110N.m", "stages"),
        [30.0, 60.0, 90.0]
    );
    // 31 lbf·ft by half pounds: 10.85 and 21.7 become 11 and 21.5.
    let feet = list("tightening-plan", "torque=31lbf.ft step=0.5lbf.ft largest=50lbf.ft", "stages-lbf-ft");
    assert_eq!(feet, [11.0, 21.5, 31.0]);
}

#[test]
fn a_wrench_that_cannot_is_refused_and_no_nearest_setting_is_offered() {
    let (input, says) = refused("tightening-plan", "torque=42N.m step=1lbf.ft largest=60lbf.ft");
    assert_eq!(input, "step");
    assert!(says.contains("never the nearest"), "{says}");
    assert_eq!(refused("tightening-plan", "torque=42N.m step=5N.m largest=60N.m").0, "step");
    assert_eq!(refused("tightening-plan", "torque=42N.m step=1N.m largest=40N.m").0, "largest");
    // A stage of 15 N·m is under a fifth of 110 N·m, unless the wrench is marked for it.
    let low = "torque=42N.m shares=35 step=1N.m largest=110N.m";
    assert_eq!(refused("tightening-plan", low).0, "largest");
    assert!(try_work("tightening-plan", &format!("{low} smallest=10N.m")).is_ok());
    // Stages that come out alike or falling.
    assert_eq!(refused("tightening-plan", "torque=42N.m shares=50;51 step=2N.m largest=60N.m").0, "shares");
    assert_eq!(refused("tightening-plan", "torque=42N.m shares=70;40 step=1N.m largest=60N.m").0, "shares");
    assert_eq!(refused("tightening-plan", "torque=42N.m shares=99 step=2N.m largest=60N.m").0, "shares");
}

/// 30.703512 and 52.860342 kN of 60 N·m on M10x1.25 with 0.15 and 0.08 (ISO 16047, computed apart).
#[test]
fn friction_alone_spreads_the_preload() {
    let inputs = "torque=60N.m diameter=10mm pitch=1.25mm friction-low=0.08 friction-high=0.15 head-diameter=12.8mm class=8.8";
    assert!((out("preload-scatter", inputs, "most") - 52.860_342).abs() < 1e-5);
    assert!((out("preload-scatter", inputs, "ratio") - 52.860_342 / 30.703_512).abs() < 1e-6);
    assert!(
        word("preload-scatter", inputs, "says").starts_with("WARNING: beyond"),
        "61.2 mm² by 580 MPa is 35.5 kN"
    );
    let swapped =
        "torque=60N.m diameter=10mm pitch=1.25mm friction-low=0.15 friction-high=0.08 head-diameter=12.8mm";
    assert_eq!(refused("preload-scatter", swapped).0, "friction-low");
}

/// Proof loads of ISO 898-1 Table 5: M10 of 10.9 48.1 kN (rounded there).
#[test]
fn near_and_beyond_the_proof_load_there_is_a_warning() {
    let says = |kn: &str| {
        word("proof-share", &format!("preload={kn}kN diameter=10mm pitch=1.5mm class=10.9"), "says")
    };
    assert!(says("20").starts_with("low"));
    assert!(says("30").starts_with("usual"));
    assert!(says("40").starts_with("high"));
    assert!(says("45").starts_with("WARNING: less than a tenth"));
    assert!(says("49").starts_with("WARNING: beyond"));
    assert_eq!(refused("proof-share", "preload=20kN diameter=10mm class=10.9").0, "pitch");
}

/// A pin of 100 mm² and 100 mm, 207 GPa: 207 kN/mm. 60 degrees of 1.5 mm are 0.25 mm.
#[test]
fn an_angle_stretches_the_bolt_and_presses_the_parts() {
    let bolt = "angle=60deg pitch=1.5mm lengths=100mm diameters=11.283791671mm";
    assert!((out("angle-preload", bolt, "preload") - 51.75).abs() < 1e-6);
    // Parts as stiff as the bolt take half of the turn.
    let halved = format!("{bolt} parts-stiffness=207 snug=5kN");
    assert!((out("angle-preload", &halved, "preload") - 30.875).abs() < 1e-6);
    assert!((out("angle-preload", &halved, "stretch") - 0.125).abs() < 1e-9);
}

#[test]
fn a_formula_is_shown_beside_the_makers_figure_and_never_without_it() {
    let rest =
        "diameter=9mm pitch=1mm yield=940MPa thread-friction=0.11 head-friction=0.11 head-diameter=11.5mm";
    assert_eq!(refused("torque-compared", rest).0, "torque");
    let answer = try_work("torque-compared", &format!("torque=42N.m {rest}")).unwrap();
    assert!(answer.notes().iter().any(|note| note.contains("never to be set")), "{answer:?}");
    assert_eq!(refused("torque-factor", "diameter=9mm").0, "torque");
}

#[test]
fn a_bolt_is_heated_for_a_length_and_a_missing_temperature_is_said() {
    // 100 mm of 12.3e-6 by 50 K: 0.0615 mm.
    let inputs = "elongation=0.0615mm length=100mm bolt-of=steel-4140";
    assert!((out("bolt-heating", &format!("{inputs} from=15C"), "to") - 65.0).abs() < 1e-9);
    let answer = try_work("bolt-heating", inputs).unwrap();
    assert_eq!(answer.get("to"), None);
    assert!(answer.notes().iter().any(|note| note.contains("from is not given")), "{answer:?}");
}

/// A body of support `1 + a cos(n t)` turned in a V with flat faces, a flat foot above it: the two
/// faces set where its middle lies, and the foot rides on the top. By trying every degree.
fn read_in_a_v(angle_deg: f64, lobes: u32) -> f64 {
    let a = 0.001;
    let turn = |by: f64| {
        let reach = |deg: f64| 1.0 + a * (f64::from(lobes) * (deg - by).to_radians()).cos();
        // Faces whose normals point down and out: c . n + reach = const.
        let off = 90.0 - angle_deg / 2.0;
        let (left, right) = (-90.0 - off, -90.0 + off);
        let height = (reach(left) + reach(right)) / 2.0 / off.to_radians().cos();
        height + reach(90.0)
    };
    let all: Vec<f64> = (0..3600).map(|tenth| turn(f64::from(tenth) / 10.0)).collect();
    let (most, least) =
        (all.iter().copied().fold(f64::MIN, f64::max), all.iter().copied().fold(f64::MAX, f64::min));
    (most - least) / (2.0 * a)
}

#[test]
fn a_v_block_reads_what_turning_a_lobed_body_in_it_gives() {
    for angle in [45.0, 60.0, 72.0, 90.0, 108.0, 120.0] {
        for lobes in 2..=12 {
            let (formula, turned) = (work::vblock_factor(angle, lobes).abs(), read_in_a_v(angle, lobes));
            assert!(
                (formula - turned).abs() < 1e-3,
                "{angle} deg, {lobes} lobes: {formula}, turned {turned}"
            );
        }
    }
}

#[test]
fn lobes_that_a_v_block_hides_get_no_figure() {
    let answer = try_work("v-block", "angle=90deg lobes=7 reading=0.001mm").unwrap();
    assert_eq!(answer.get("roundness"), None);
    assert!(answer.notes().iter().any(|note| note.contains("hides")), "{answer:?}");
    assert_eq!(word("v-block", "angle=90deg", "hides"), "7, 9");
    assert!((out("v-block", "angle=90deg lobes=3 reading=0.012mm", "roundness") - 0.006).abs() < 1e-12);
}

#[test]
fn the_table_for_wide_bearings_is_not_drawn_out_beyond_its_ends() {
    assert_eq!(work::wide_bearing_film(1.34), None);
    assert_eq!(work::wide_bearing_film(0.0187), None);
    // Between rows: straight over the logarithm.
    let middle = work::wide_bearing_film((0.264_f64 * 0.121).sqrt()).unwrap();
    assert!((middle - 0.5).abs() < 1e-12);
    let narrow = "journal=50mm width=20mm clearance=0.05mm viscosity=10mPa.s speed=6000rpm load=2500N";
    assert_eq!(try_work("bearing-number", narrow).unwrap().get("film-wide"), None);
}

/// An excess of 0.05 pi mm is an interference of 0.05 mm; on 60 mm a strain of 0.05/59.95.
#[test]
fn crush_is_the_excess_by_pi_and_none_is_said() {
    let inputs = "stand-out=0.078539816mm housing=60mm wall=2mm width=20mm modulus=207GPa";
    assert!((out("shell-crush", inputs, "interference") - 0.05).abs() < 1e-8);
    assert!((out("shell-crush", inputs, "pressed") - 207_000.0 * 0.05 / 59.95).abs() < 1e-3);
    assert!((out("shell-crush", inputs, "at-each-joint") - 207.0 * 0.05 / 59.95 * 40.0).abs() < 1e-4);
    assert!(word("shell-crush", "stand-out=-0.01mm housing=60mm", "says").starts_with("NO crush"));
    assert_eq!(refused("shell-crush", "stand-out=2mm housing=10mm").0, "stand-out");
}

#[test]
fn a_pin_is_held_cold_and_goes_in_warm() {
    // 22 mm of 12e-6 steel by 200 K grows 0.0528 mm: 0.03 mm held cold is free by 0.0228.
    let inputs = "hole=21.97mm pin=22.00mm hole-of=12e-6/K+-0% pin-of=12e-6/K+-0% hole-at=220C pin-at=20C slide=0.02mm";
    assert!((out("pin-fit", inputs, "at-20") + 0.03).abs() < 1e-12);
    assert!((out("pin-fit", inputs, "fit") - (21.97 * (1.0 + 12e-6 * 200.0) - 22.0)).abs() < 1e-9);
    assert_eq!(word("pin-fit", inputs, "says"), "held cold, free at temperature");
    // At the temperature it names, the clearance is the one wanted.
    let to = out("pin-fit", inputs, "heat-hole-to");
    let there = inputs.replace("hole-at=220C", &format!("hole-at={to:.6}C"));
    assert!((out("pin-fit", &there, "fit") - 0.02).abs() < 1e-7);
    assert_eq!(refused("pin-fit", "hole=22mm pin=22mm hole-of=steel-4140 hole-at=20C").0, "pin-at");
}

#[test]
fn ends_that_butt_are_shown_as_butting_and_not_as_no_gap() {
    let inputs = "bore=80mm ring-of=12e-6/K+-0% bore-of=12e-6/K+-0% ring-warmer=200K bore-warmer=100K";
    // pi 80 x 12e-6 x 100 = 0.3016 mm closes, but for the gap's own share.
    let with = |gap: f64| format!("gap={gap:.6}mm {inputs}");
    let hot = out("hot-ring-gap", &with(0.2), "hot");
    assert!((hot - (0.2 * 1.0024 - 0.301_592_895)).abs() < 1e-6);
    assert!(word("hot-ring-gap", &with(0.2), "says").starts_with("WARNING"));
    let least = out("hot-ring-gap", &with(0.2), "cold-least");
    assert!(out("hot-ring-gap", &with(least), "hot").abs() < 1e-6);
    // Warm alike, of one material: only the gap itself grows.
    assert!((work::hot_gap(0.3, 80.0, (12e-6, 100.0), (12e-6, 100.0)) - 0.3 * 1.0012).abs() < 1e-9);
}

#[test]
fn each_ring_has_its_side_clearance() {
    let inputs = "grooves=1.790,2.030,3.02mm rings=1.735,1.985,3.03mm least=0.050mm most=0.080mm";
    let found = list("ring-side", inputs, "clearances");
    for (found, wanted) in found.iter().zip([0.055, 0.045, -0.01]) {
        assert!((found - wanted).abs() < 1e-9);
    }
    assert_eq!(word("ring-side", inputs, "outside"), "2, 3");
    assert_eq!(refused("ring-side", "grooves=1.790,2.030mm rings=1.735mm").0, "rings");
}

fn apart(a: f64, b: f64) -> f64 {
    let apart = (a - b).rem_euclid(360.0);
    apart.min(360.0 - apart)
}

#[test]
fn every_pack_is_set_clear_and_spread_with_its_rails_opposite() {
    for rings in 1..=6 {
        for rails in [0, 2, 4] {
            if rings + rails < 2 {
                continue;
            }
            let gaps = list("ring-layout", &format!("rings={rings} rails={rails}"), "gaps");
            assert_eq!(gaps.len(), rings + rails);
            for gap in &gaps {
                let off = [0.0, 90.0, 180.0, 270.0].map(|face| apart(*gap, face));
                assert!(off.iter().all(|off| *off >= 20.0), "{rings} + {rails}: {gaps:?}");
            }
            for pair in gaps[rings..].chunks(2) {
                assert!((apart(pair[0], pair[1]) - 180.0).abs() < 1e-9, "{rings} + {rails}: {gaps:?}");
            }
            let least =
                gaps.iter().enumerate().flat_map(|(at, a)| gaps[at + 1..].iter().map(move |b| apart(*a, *b)));
            let least = least.fold(360.0, f64::min);
            let inputs = format!("rings={rings} rails={rails}");
            assert!((least - out("ring-layout", &inputs, "least-apart")).abs() < 1e-9);
            assert!(least >= 20.0, "{rings} + {rails}: {gaps:?}");
        }
    }
}

/// Four gaps 90 degrees apart stand 45 degrees from all faces, and not as near as they may.
#[test]
fn gaps_keep_as_clear_of_the_faces_as_costs_no_angle_between_them() {
    let inputs = "rings=2 rails=2";
    for (name, wanted) in [("least-apart", 90.0), ("to-thrust", 45.0), ("to-pin", 45.0)] {
        assert!((out("ring-layout", inputs, name) - wanted).abs() < 1e-9, "{name}");
    }
}

/// The sheet that checks a setting finds nothing in the one that is worked out.
#[test]
fn the_usual_packs_as_worked_out_pass_the_check_of_a_setting() {
    for pack in ["rings=2 rails=2", "rings=3", "rings=2 rails=0", "rings=3 rails=0", "rings=1 rails=2"] {
        let gaps: Vec<String> = list("ring-layout", pack, "gaps").iter().map(ToString::to_string).collect();
        assert_eq!(
            word("ring-setting", &format!("gaps={}deg", gaps.join(",")), "says"),
            "spread",
            "{pack}: {gaps:?}"
        );
    }
}

/// No setting of two rings and two opposite rails, in steps of 5 degrees, has a wider smallest angle.
#[test]
fn no_other_setting_of_a_pack_has_a_wider_smallest_angle() {
    let open: Vec<f64> =
        (0..72).map(|at| f64::from(at) * 5.0).filter(|at| (20.0..=70.0).contains(&(at % 90.0))).collect();
    for rings in [2_usize, 3] {
        let found = out("ring-layout", &format!("rings={rings} rails=2"), "least-apart");
        let least = |gaps: &[f64]| {
            gaps.iter()
                .enumerate()
                .flat_map(|(at, a)| gaps[at + 1..].iter().map(move |b| apart(*a, *b)))
                .fold(360.0, f64::min)
        };
        let mut best = 0.0_f64;
        for rail in &open {
            for a in &open {
                for b in open.iter().filter(|b| *b > a) {
                    let mut gaps = vec![*rail, rail + 180.0, *a, *b];
                    if rings == 2 {
                        best = best.max(least(&gaps));
                    } else if least(&gaps) > best {
                        for c in open.iter().filter(|c| *c > b) {
                            gaps.push(*c);
                            best = best.max(least(&gaps));
                            gaps.pop();
                        }
                    }
                }
            }
        }
        assert!((found - best).abs() < 1e-9, "{rings} rings: {found}, by trying {best}");
    }
}

#[test]
fn a_pack_that_has_no_room_or_no_pairs_is_named() {
    assert_eq!(refused("ring-layout", "rings=6 rails=2 clear-of=45deg").0, "clear-of");
    assert_eq!(refused("ring-layout", "rings=2 rails=3").0, "rails");
    assert_eq!(refused("ring-layout", "rings=1 rails=0").0, "rings");
}

proptest! {
    #[test]
    fn preload_falls_as_friction_grows(low in 0.03..0.4_f64, more in 0.01..0.09_f64, torque in 5.0..200.0_f64) {
        let preload = |mu: f64| work::preload_of_torque(torque, (10.0, 1.25), mu, mu, 12.8);
        prop_assert!(preload(low + more) < preload(low));
    }

    #[test]
    fn stretches_of_two_shanks_in_line_add(a in 1.0..200.0_f64, b in 1.0..200.0_f64, area in 10.0..200.0_f64) {
        let stretch = |steps: &[(f64, f64)]| 1.0 / work::stiffness(steps, 207.0);
        let apart = stretch(&[(a, area)]) + stretch(&[(b, area)]);
        prop_assert!((stretch(&[(a, area), (b, area)]) - apart).abs() < 1e-9 * apart);
    }

    #[test]
    fn stages_rise_by_whole_steps_to_exactly_the_makers_figure(steps in 4..400_u32, step in 1..20_u32, share in 10..90_u32) {
        let step = f64::from(step) / 4.0;
        let last = f64::from(steps) * step;
        if let Ok(stages) = work::tightening_plan(last, &[f64::from(share) / 100.0], step) {
            let [first, end] = stages[..] else { panic!("{stages:?}") };
            prop_assert_eq!(end.to_bits(), last.to_bits());
            prop_assert!(0.0 < first && first < end);
            prop_assert!((first / step - (first / step).round()).abs() < 1e-9);
            prop_assert!((first - last * f64::from(share) / 100.0).abs() <= step / 2.0 + 1e-9);
        }
    }
}
