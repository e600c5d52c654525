//! The worksheets that choose parts, read a surface or bring two temperatures together: against
//! trying every way, against general libraries, and against the rest of the registry.
#![allow(clippy::unwrap_used, clippy::cast_precision_loss)]

mod cli_kit;

use gudgeon_core::work::{self, Answer, Goal};
use gudgeon_tests::sheets::{answer, list, out, try_work};
use nalgebra::{Matrix4, Vector4};
use proptest::collection::vec;
use proptest::prelude::*;

fn has_note(answer: &Answer, words: &str) -> bool {
    answer.notes().iter().any(|note| note.contains(words))
}

fn fault(sheet: &str, inputs: &str) -> String {
    try_work(sheet, inputs).unwrap_err().problems[0].input.clone()
}

/// Every way of giving each of `rows` one of `columns`, each at most once.
fn ways(rows: usize, columns: usize) -> Vec<Vec<usize>> {
    (0..rows).fold(vec![Vec::new()], |ways, _| {
        let with = |way: Vec<usize>| {
            let free = (0..columns).filter(|at| !way.contains(at)).collect::<Vec<_>>();
            free.into_iter().map(move |at| [way.clone(), vec![at]].concat())
        };
        ways.into_iter().flat_map(with).collect()
    })
}

fn spread(values: &[i64]) -> i64 {
    values.iter().max().unwrap() - values.iter().min().unwrap()
}

proptest! {
    #[test]
    fn the_least_spread_is_least_of_all_ways_and_of_those_its_sum(table in vec(vec(-40..40_i64, 5), 4)) {
        let of = |way: &[usize]| -> Vec<i64> { way.iter().enumerate().map(|(row, at)| table[row][*at]).collect() };
        let sum = |values: &[i64]| values.iter().map(|value| value.abs()).sum::<i64>();
        let chosen = of(&work::choose(&table, Goal::LeastSpread).unwrap());
        let least = ways(4, 5).iter().map(|way| spread(&of(way))).min().unwrap();
        prop_assert_eq!(spread(&chosen), least);
        let ends = (*chosen.iter().min().unwrap(), *chosen.iter().max().unwrap());
        for way in ways(4, 5) {
            let values = of(&way);
            if values.iter().all(|value| (ends.0..=ends.1).contains(value)) {
                prop_assert!(sum(&chosen) <= sum(&values));
            }
        }
    }

    #[test]
    fn two_lists_make_the_evenest_sets_there_are(a in vec(300..340_i64, 4), b in vec(100..130_i64, 5)) {
        let sets = work::even_sets(&[a.clone(), b.clone()]).unwrap();
        let sums = |first: &[usize], second: &[usize]| -> Vec<i64> {
            first.iter().zip(second).map(|(one, other)| a[*one] + b[*other]).collect()
        };
        let least = ways(4, 5).iter().map(|way| spread(&sums(&[0, 1, 2, 3], way))).min().unwrap();
        prop_assert_eq!(spread(&sums(&sets[0], &sets[1])), least);
    }

    #[test]
    fn three_lists_are_never_made_more_uneven_than_as_listed(a in vec(500..540_i64, 6), b in vec(300..340_i64, 6), c in vec(100..130_i64, 6)) {
        let sets = work::even_sets(&[a.clone(), b.clone(), c.clone()]).unwrap();
        for list in &sets {
            let mut places = list.clone();
            places.sort_unstable();
            prop_assert_eq!(places, (0..6).collect::<Vec<_>>());
        }
        let made: Vec<i64> = (0..6).map(|set| a[sets[0][set]] + b[sets[1][set]] + c[sets[2][set]]).collect();
        let listed: Vec<i64> = (0..6).map(|set| a[set] + b[set] + c[set]).collect();
        prop_assert!(spread(&made) <= spread(&listed));
    }

    /// All ways of two half shells a bearing, by trying; stock counted.
    #[test]
    fn shells_are_the_best_that_stock_allows(rooms in vec(4240..4290_i64, 3), stock in vec(0..4_usize, 3)) {
        let walls = [2104_i64, 2110, 2116];
        let pairs: Vec<(usize, usize)> = (0..3).flat_map(|u| (u..3).map(move |l| (u, l))).collect();
        let off = |room: i64, pair: (usize, usize)| (room - walls[pair.0] - walls[pair.1] - 50).abs();
        let mut least: Option<i64> = None;
        for way in 0..216_usize {
            let chosen = [pairs[way % 6], pairs[way / 6 % 6], pairs[way / 36]];
            let used = |grade: usize| chosen.iter().map(|p| usize::from(p.0 == grade) + usize::from(p.1 == grade)).sum::<usize>();
            if (0..3).all(|grade| used(grade) <= stock[grade]) {
                let sum = rooms.iter().zip(chosen).map(|(room, pair)| off(*room, pair)).sum();
                least = Some(least.map_or(sum, |least: i64| least.min(sum)));
            }
        }
        let mm = |um: i64| format!("{:.3}", um as f64 / 1000.0);
        let housings = rooms.iter().map(|room| mm(56_740 + room)).collect::<Vec<_>>().join(",");
        let stock = stock.iter().map(ToString::to_string).collect::<Vec<_>>().join(",");
        let inputs = format!("housings={housings}mm journals=56.740,56.740,56.740mm walls=2.104,2.110,2.116mm stock={stock} clearance=0.050mm");
        match (try_work("shell-grades", &inputs), least) {
            (Ok(found), Some(least)) => {
                let sum: f64 = list(&found, "clearances").iter().map(|c| 1000.0 * (c - 0.050).abs()).sum();
                prop_assert!((sum - least as f64).abs() < 1e-6, "{} {}", sum, least);
            }
            (Err(error), None) => prop_assert_eq!(&error.problems[0].input, "stock"),
            (found, least) => prop_assert!(false, "{:?} {:?}", found, least),
        }
    }

    /// The construction of ISO 13565-2 by looking everywhere: 4,000 secants, areas as sums of strips.
    #[test]
    fn the_plateau_is_what_looking_everywhere_finds(core in 0.5..3.0_f64, peak in 0.2..2.0_f64, valley in 0.5..4.0_f64, first in 3.0..20.0_f64, last in 65.0..92.0_f64) {
        let curve = [(0.0, core + peak), (first, core), (last, 0.0), (100.0, -valley)];
        let found = work::plateau(&curve).unwrap();
        let height = |at: f64| {
            let pair = curve.windows(2).find(|pair| at <= pair[1].0).unwrap_or(&curve[2..]);
            pair[0].1 + (pair[1].1 - pair[0].1) * (at - pair[0].0) / (pair[1].0 - pair[0].0)
        };
        let fall = |start: f64| height(start) - height(start + 40.0);
        let start = (0..=6000).map(|at| f64::from(at) / 100.0).fold(0.0, |best, at| if fall(at) < fall(best) - 1e-9 { at } else { best });
        let (top, bottom) = (height(start) + fall(start) * start / 40.0, height(start) - fall(start) * (100.0 - start) / 40.0);
        prop_assert!((found.rk - (top - bottom)).abs() < 0.02 * (top - bottom), "{:?} {} {}", found, top, bottom);
        let strips = || (0..100_000).map(|at| f64::from(at) / 1000.0 + 0.0005);
        let over: f64 = strips().map(|at| (height(at) - top).max(0.0) * 0.001).sum();
        let under: f64 = strips().map(|at| (bottom - height(at)).max(0.0) * 0.001).sum();
        prop_assert!((found.rpk * found.mr1 / 2.0 - over).abs() < 0.02 * over + 0.05, "{:?} {}", found, over);
        prop_assert!((found.rvk * (100.0 - found.mr2) / 2.0 - under).abs() < 0.02 * under + 0.05, "{:?} {}", found, under);
    }

    /// Two rings pressed together: the four conditions of Lamé's two cylinders, solved as they stand.
    #[test]
    fn a_press_fit_is_what_the_conditions_at_the_walls_say(joint in 40.0..120.0_f64, wall in 3.0..20.0_f64, around in 3.0..30.0_f64, tight in 0.01..0.08_f64) {
        let (inner, outer) = (joint - 2.0 * wall, joint + 2.0 * around);
        let (modulus, poisson) = (110_000.0, 0.26);
        // Stress across A - B / r², growth of the radius r/E ((1 - nu) A + (1 + nu) B / r²).
        let across = |r: f64| (1.0, -1.0 / (r * r));
        let grows = |r: f64| (r / modulus * (1.0 - poisson), (1.0 + poisson) / (modulus * r));
        let (a, b, d) = (across(inner / 2.0), across(outer / 2.0), across(joint / 2.0));
        let g = grows(joint / 2.0);
        let conditions = Matrix4::new(
            a.0, a.1, 0.0, 0.0, // nothing presses on the bore
            0.0, 0.0, b.0, b.1, // nor on the outside
            d.0, d.1, -d.0, -d.1, // both press alike at the joint
            -g.0, -g.1, g.0, g.1, // and share the interference
        );
        let solved = conditions.lu().solve(&Vector4::new(0.0, 0.0, 0.0, tight / 2.0)).unwrap();
        let pressure = -(d.0 * solved[0] + d.1 * solved[1]);
        let bore = grows(inner / 2.0);
        let closes = -2000.0 * (bore.0 * solved[0] + bore.1 * solved[1]);
        let inputs = format!("joint={joint:.6}mm outside={outer:.6}mm bore={inner:.6}mm interference={tight:.6}mm modulus=110GPa poisson=0.26");
        let found = answer("press-fit", &inputs);
        prop_assert!((found.get("pressure").unwrap() - pressure).abs() < 2e-3 * pressure, "{:?} {}", found, pressure);
        prop_assert!((found.get("closes").unwrap() - closes).abs() < 2e-3 * closes, "{:?} {}", found, closes);
    }
}

#[test]
fn each_bore_may_have_a_clearance_of_its_own() {
    let with = |clearance: &str| {
        answer(
            "match-pistons",
            &format!("bores=80.500,80.520mm pistons=80.450,80.470mm clearance={clearance} goal=least-sum"),
        )
    };
    assert_eq!(list(&with("0.050mm"), "pistons"), [1.0, 2.0]);
    // The first is to be tight, the second loose by as much: the pistons change places.
    assert_eq!(list(&with("0.030,0.070mm"), "pistons"), [2.0, 1.0]);
    assert_eq!(
        fault("match-pistons", "bores=80.5,80.6mm pistons=80.4,80.5mm clearance=0.03,0.04,0.05mm"),
        "clearance"
    );
}

#[test]
fn of_pairs_as_near_two_shells_of_one_grade_come_first() {
    let found = answer(
        "shell-grades",
        "housings=61.000mm journals=56.730mm walls=2.108,2.110,2.112mm clearance=0.050mm",
    );
    assert_eq!((list(&found, "uppers"), list(&found, "lowers")), (vec![2.0], vec![2.0]));
    let none_fits = answer(
        "shell-grades",
        "housings=61.000mm journals=56.730mm walls=2.120mm clearance=0.050mm lower=0.040mm",
    );
    assert!(has_note(&none_fits, "bearing 1: no pair in stock"), "{none_fits:?}");
    assert_eq!(
        fault("shell-grades", "housings=61,000;61,002mm journals=56.7mm walls=2.1mm clearance=0.05mm"),
        "journals"
    );
    assert_eq!(
        fault("shell-grades", "housings=61.0mm journals=56.7mm walls=2.1mm stock=1 clearance=0.05mm"),
        "stock"
    );
}

#[test]
fn thrust_washers_are_chosen_by_pair_and_two_alike_come_first() {
    let found = answer("thrust-washers", "float=0.26mm fitted=2.32mm stock=2.36,2.38,2.40mm wanted=0.14mm");
    assert_eq!((found.get("front"), found.get("rear")), (Some(2.38), Some(2.38)));
    assert!((found.get("float").unwrap() - 0.14).abs() < 1e-9);
    let two = answer("thrust-washers", "float=0.20mm fitted=2.32,2.34mm stock=2.36,2.40mm wanted=0.10mm");
    assert_eq!((two.get("front"), two.get("rear")), (Some(2.36), Some(2.40)));
    assert!(has_note(&two, "two that differ"));
    assert_eq!(
        fault("thrust-washers", "float=0.2mm fitted=1.1,2.1,3.1mm stock=2.3mm wanted=0.1mm"),
        "fitted"
    );
}

#[test]
fn honed_to_a_size_the_gauge_reads_what_gauge_target_says() {
    let found = answer(
        "hone-to",
        "pistons=80.450mm clearance=0.050mm bores=80.470mm part=grey-iron part-at=34C gauge-at=21C",
    );
    let target = out("gauge-target", "size=80.500mm part=grey-iron part-at=34C gauge-at=21C", "target");
    assert!((list(&found, "gauge-reads")[0] - target).abs() < 1e-9);
    assert!((list(&found, "left")[0] - 30.0).abs() < 1e-6);
    let cold =
        answer("hone-to", "pistons=80.450mm clearance=0.050mm bores=80.510mm part=grey-iron part-at=34C");
    assert!(has_note(&cold, "not corrected") && has_note(&cold, "too large"), "{cold:?}");
}

#[test]
fn two_parts_come_to_20_degrees_as_each_alone_does() {
    let at_20 = |read: &str, of: &str, at: &str, gauge: &str| {
        out("size-at-20", &format!("read={read} part={of} part-at={at} gauge-at={gauge}"), "size")
    };
    let inputs = "hole=80.508mm hole-of=grey-iron hole-at=12C hole-gauge-at=14C shaft=80.461mm shaft-of=piston-alloy-4032 shaft-at=26C shaft-gauge-at=22C";
    let found = out("clearance-at-20", inputs, "clearance");
    let each =
        at_20("80.508mm", "grey-iron", "12C", "14C") - at_20("80.461mm", "piston-alloy-4032", "26C", "22C");
    assert!((found - each).abs() < 1e-9, "{found} {each}");
    let missing = inputs.replace(" shaft-at=26C", "");
    let as_read = answer("clearance-at-20", &missing);
    assert!((as_read.get("clearance").unwrap() - 0.047).abs() < 1e-9);
    assert!(has_note(&as_read, "never taken for 20"));
}

#[test]
fn a_makers_own_coefficient_is_taken_and_how_well_it_is_known_is_asked() {
    let with =
        |part: &str| answer("size-at-20", &format!("read=85.96mm part={part} part-at=45C gauge-at=22C"));
    let (table, own) = (with("piston-alloy-4032"), with("19.4e-6/K+-10%"));
    assert_eq!(table.outputs(), own.outputs());
    assert!(has_note(&own, "as given"), "{own:?}");
    assert!(has_note(&with("19,4e-6/K"), "taken as exact"), "{own:?}");
    // Per degree Fahrenheit: 10.777 778 e-6 of it are 19.4e-6 per degree Celsius.
    let inch = with("10.777778ppm/degF");
    assert!((inch.get("size").unwrap() - table.get("size").unwrap()).abs() < 1e-7);
    for wrong in ["19.4mm", "19.4", "0e-6/K", "900e-6/K", "19.4e-6/K+-90%"] {
        assert_eq!(fault("size-at-20", &format!("read=85.96mm part={wrong}")), "part", "{wrong}");
    }
}

#[test]
fn a_rod_is_as_long_as_gap_and_half_of_both_bores() {
    let found = answer("rod-centres", "gap=102.50mm big-end=56mm small-end=25mm wanted=143.05mm");
    assert_eq!((found.get("centres"), found.get("off")), (Some(143.0), Some(-0.05)));
}

#[test]
fn half_of_both_masses_takes_out_all_of_the_primary_force_at_90_degrees_only() {
    let most = |angle: u32, factor: &str| {
        out(
            "vee-primary",
            &format!("angle={angle}deg reciprocating=520g stroke=80mm speed=6000rpm factor={factor}"),
            "most",
        )
    };
    assert!(most(90, "50%").abs() < 1e-6);
    assert!(most(60, "50%") > 1000.0);
    assert!(most(60, "0%") > most(60, "50%"));
}

#[test]
fn real_air_lies_above_what_an_engine_makes_of_it_and_the_ends_are_bounds() {
    let found = answer("compression-estimate", "ratio=9");
    assert!(found.get("air-pressure").unwrap() > found.get("pressure").unwrap());
    // No compression: what goes in comes out.
    let none = answer("compression-estimate", "ratio=1 pressure=1.013bar temperature=27C");
    assert!((none.get("air-pressure").unwrap() - 1.013).abs() < 1e-6);
    assert!((none.get("air-temperature").unwrap() - 27.0).abs() < 1e-6);
    let dense = answer("compression-estimate", "ratio=30 pressure=60bar");
    assert!(dense.get("air-pressure").is_none() && has_note(&dense, "too dense"));
}

#[test]
fn walls_that_were_forgotten_are_asked_for() {
    let far = |inputs: &str| has_note(&answer("oil-clearance", inputs), "were the walls forgotten");
    assert!(far("housing=61.005mm journal=56.740mm"));
    assert!(far("housing=61.005mm wall=2.108mm journal=61.740mm"));
    assert!(!far("housing=61.005mm wall=2.108mm journal=56.740mm"));
    assert!(!far("housing=56.790mm journal=56.740mm"), "a shelled bore wants no walls");
}

/// Every example as it is printed runs when it is pasted into a shell.
#[test]
fn an_example_with_semicolons_is_printed_in_quotes() {
    let stage = cli_kit::Stage::new();
    let shown = stage.must("nobody", "work stretch-preload --help").stdout;
    let line = shown.lines().find(|line| line.contains("gudgeon work stretch-preload")).unwrap();
    assert!(line.contains("\"lengths=28;14mm\""), "{line}");
    stage.must("nobody", line.trim().strip_prefix("gudgeon ").unwrap());
}
