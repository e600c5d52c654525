//! Every worksheet of the registry under the same hard treatment, and as the command line shows it.
#![allow(clippy::unwrap_used, clippy::cast_precision_loss)]

mod cli_kit;

use cli_kit::{Stage, masked};
use gudgeon_core::work::{self, Answer, Need, Takes, Value, WORKSHEETS, Worksheet};
use proptest::prelude::*;

fn words(inputs: &str) -> Vec<String> {
    inputs.split_whitespace().map(str::to_owned).collect()
}

fn assert_finite(sheet: &Worksheet, inputs: &[String], answer: &Answer) {
    for out in answer.outputs() {
        let numbers = match &out.value {
            Value::Number(value, u) => vec![*value, u.unwrap_or(0.0)],
            Value::Numbers(all) => all.clone(),
            Value::Word(_) => Vec::new(),
        };
        assert!(numbers.iter().all(|n| n.is_finite()), "{} {inputs:?}: {out:?}", sheet.name);
    }
}

#[test]
fn every_worksheet_computes_its_example_and_gives_what_its_rows_say() {
    for sheet in WORKSHEETS {
        let inputs = words(sheet.example);
        let (_, answer) = sheet.work(&inputs).unwrap_or_else(|error| panic!("{}: {error}", sheet.name));
        assert_finite(sheet, &inputs, &answer);
        assert!(!answer.outputs().is_empty());
        for out in answer.outputs() {
            assert!(sheet.output(out.name).is_some(), "{} has no row for {}", sheet.name, out.name);
        }
        for text in [sheet.title, sheet.formula, sheet.valid, sheet.source.text] {
            assert!(!text.is_empty(), "{}", sheet.name);
        }
        assert!(!sheet.mistakes.is_empty(), "{}", sheet.name);
    }
}

#[test]
fn names_are_given_once_and_sections_stand_together() {
    for (at, sheet) in WORKSHEETS.iter().enumerate() {
        assert!(std::ptr::eq(work::find(sheet.name).unwrap(), *sheet), "{}", sheet.name);
        assert!(at == 0 || WORKSHEETS[at - 1].section <= sheet.section, "{}", sheet.name);
        for (at, input) in sheet.inputs.iter().enumerate() {
            assert!(
                sheet.inputs[..at].iter().all(|other| other.name != input.name),
                "{} {}",
                sheet.name,
                input.name
            );
        }
    }
}

#[test]
fn what_is_hard_on_bolts_says_whose_figures_count() {
    let hurts = |sheet: &&&Worksheet| sheet.section == work::Section::Fasteners;
    for sheet in WORKSHEETS.iter().filter(hurts) {
        assert!(sheet.cautions.iter().any(|caution| caution.contains("maker's")), "{}", sheet.name);
    }
}

/// What no input may take.
const NEVER: [&str; 9] = ["", "nan", "NaN", "inf", "-inf", "1e999", "∞", "12..3mm", "three"];

/// What some inputs take and others do not: no answer may come out as no number.
const SOMETIMES: [&str; 14] = [
    "0",
    "0mm",
    "-1mm",
    "-5",
    "0um",
    "0N.m",
    "0C",
    "-273.15C",
    "99m",
    "100,5mm",
    "1;2;3mm",
    "80.508 kg",
    "0cm3",
    "1e3",
];

#[test]
fn hostile_inputs_are_named_and_no_output_is_ever_no_number() {
    for sheet in WORKSHEETS {
        let example = words(sheet.example);
        for (at, text) in example.iter().enumerate() {
            let name = text.split_once('=').unwrap().0;
            for hostile in NEVER.iter().chain(&SOMETIMES) {
                let mut inputs = example.clone();
                inputs[at] = format!("{name}={hostile}");
                match sheet.work(&inputs) {
                    Ok((_, answer)) => {
                        assert!(!NEVER.contains(hostile), "{} took {}", sheet.name, inputs[at]);
                        assert_finite(sheet, &inputs, &answer);
                    }
                    Err(error) => {
                        for problem in &error.problems {
                            let whole = !problem.input.is_empty()
                                && !problem.cause.is_empty()
                                && !problem.hint.is_empty();
                            assert!(whole, "{} {}: {problem:?}", sheet.name, inputs[at]);
                        }
                        if NEVER.contains(hostile) {
                            assert!(
                                error.problems.iter().any(|p| p.input == name),
                                "{}: {error}",
                                sheet.name
                            );
                        }
                    }
                }
            }
        }
    }
}

/// 80,14 mm taken for 80 mm and 14 mm made a bore worn by a fifth clean up at standard.
#[test]
fn a_list_that_may_have_decimal_commas_is_asked_about_and_never_guessed() {
    let clean_up = |worn: &str| {
        let inputs = [format!("worn={worn}"), "standard=80,00mm".to_owned()];
        work::find("clean-up").unwrap().work(&inputs).map(|(_, answer)| answer.get("needed").unwrap())
    };
    for unclear in ["80,14mm", "80,14,80,09mm", "80,14 mm", "80,14,80.09mm"] {
        let inputs = [format!("worn={unclear}"), "standard=80mm".to_owned()];
        let error = work::find("clean-up").unwrap().work(&inputs).unwrap_err();
        assert_eq!(error.problems[0].input, "worn", "{unclear}: {error}");
        assert!(error.problems[0].hint.contains("a;b;c"), "{unclear}: {error}");
    }
    for clear in ["80,14;80,09mm", "80.14,80.09mm", "80.14mm,80.09mm", "80,14mm;80,09mm"] {
        assert_eq!(clean_up(clear), Ok(80.33), "{clear}");
    }
    // Fractions of an inch and whole degrees are what they look like.
    assert!((clean_up("3 5/32in,3 1/8in").unwrap() - (80.0 + 2.0 * 0.168_75 + 0.05)).abs() < 1e-9);
    assert!(work::find("ring-setting").unwrap().work(&["gaps=45,225,135,315deg"]).is_ok());
}

#[test]
fn the_wrong_kind_of_unit_is_named_with_the_kind_that_is_wanted() {
    for sheet in WORKSHEETS {
        for input in sheet.inputs {
            let Takes::Quantity(unit, _) = input.takes else { continue };
            let other = if unit.kind() == gudgeon_core::quantity::Kind::Mass { "3mm" } else { "3kg" };
            let mut inputs = words(sheet.example);
            inputs.retain(|text| !text.starts_with(&format!("{}=", input.name)));
            inputs.push(format!("{}={other}", input.name));
            let error = sheet.work(&inputs).unwrap_err();
            let problem = error.problems.iter().find(|problem| problem.input == input.name).unwrap();
            assert!(problem.cause.contains(unit.kind().name()), "{} {}: {problem:?}", sheet.name, input.name);
        }
    }
}

#[test]
fn every_missing_input_is_asked_for_by_name() {
    for sheet in WORKSHEETS {
        for input in sheet.inputs.iter().filter(|input| input.need == Need::Required) {
            let mut inputs = words(sheet.example);
            inputs.retain(|text| !text.starts_with(&format!("{}=", input.name)));
            let error = sheet.work(&inputs).unwrap_err();
            assert!(
                error.problems.iter().any(|p| p.input == input.name && p.cause == "is missing"),
                "{}: {error}",
                sheet.name
            );
        }
    }
}

#[test]
fn a_missing_temperature_is_never_taken_for_20_degrees() {
    for given in ["", "part-at=20C", "gauge-at=20C"] {
        let inputs = words(&format!("read=80.508mm part=piston-alloy-4032 {given}"));
        let (_, answer) = work::find("size-at-20").unwrap().work(&inputs).unwrap();
        let corrected = answer.outputs().iter().find(|out| out.name == "corrected").unwrap();
        assert_eq!(corrected.value, Value::Word("not corrected".into()), "{given}");
    }
    let error =
        work::find("gauge-target").unwrap().work(&words("size=80mm part=grey-iron part-at=12C")).unwrap_err();
    assert_eq!(error.problems[0].input, "gauge-at");
}

#[test]
fn what_was_taken_from_habit_or_memory_is_said_in_the_answer() {
    let notes = |sheet: &str, inputs: &str| {
        work::find(sheet).unwrap().work(&words(inputs)).unwrap().1.notes().to_vec()
    };
    let found = notes("size-at-20", "read=85.96mm part=piston-alloy-2618 part-at=45C gauge-at=22C");
    for said in [
        "gauge=tool-steel was taken (common practice, no source)",
        "known-within=1 K was taken (common practice, no source)",
        "piston-alloy-2618 grows by 22.3e-6 per °C, within 10 %; source: ASM, from memory",
    ] {
        assert!(found.iter().any(|note| note == said), "{said}: {found:?}");
    }
    let given = notes("ring-gap", "bore=80.508mm factor=0.0045");
    assert!(given.iter().all(|note| !note.contains("was taken")), "{given:?}");
    let left_out = notes("ring-gap", "bore=80.508mm");
    assert_eq!(left_out, ["factor=0.0040 was taken (common practice, no source)"]);
}

#[test]
fn the_worksheets_agree_with_the_verdicts_of_the_record() {
    // The demo engine's cold shop (invented): not proven as read, within at 20 °C.
    let verdict = |value: &str| {
        let inputs = words(&format!("value={value} u=3.15um lower=0.040mm upper=0.060mm"));
        let (_, answer) = work::find("conformance").unwrap().work(&inputs).unwrap();
        answer.outputs()[0].value.clone()
    };
    assert_eq!(verdict("0.058mm"), Value::Word("not proven".into()));
    assert_eq!(verdict("0.053mm"), Value::Word("within".into()));
}

/// Where the record judges, the worksheets say the same: temperature, gauges, what can be proven.
#[test]
fn the_worksheets_reckon_as_the_record_does() {
    use gudgeon_core::measure::{Body, Expansion, Gauge, to_reference};
    use gudgeon_core::quantity::{Length, Temperature};
    let body = |alpha: i64, degc: i64| {
        let at = Temperature::from_micro_celsius(degc * 1_000_000);
        Body::new(Expansion::handbook(alpha).unwrap(), at).unwrap()
    };
    let answer = |sheet: &str, inputs: &str| work::find(sheet).unwrap().work(&words(inputs)).unwrap().1;
    let (part, gauge) = (body(22_300_000, 45), body(11_500_000, 22));
    let exact = to_reference(Length::from_pm(85_960_000_000), &part, &gauge).unwrap().pm();
    let sheet = answer("size-at-20", "read=85.96mm part=piston-alloy-2618 part-at=45C gauge-at=22C");
    assert!((sheet.get("size").unwrap() * 1e9 - exact as f64).abs() <= 0.6, "{sheet:?}");

    let known = Gauge {
        error_limit: Some(4_000_000),
        resolution: Some(1_000_000),
        repeatability: Some(1_500_000),
        given: None,
    };
    let u = known.standard(9).unwrap().unwrap().base() as f64 / 1e6;
    let inputs = "error-limit=4um resolution=1um repeatability=1.5um repeats=9";
    assert!((answer("gauge-uncertainty", inputs).get("u").unwrap() - u).abs() < 1e-6);
}

/// Between 3.92 and 4 u both tails count: what is left shrinks to nothing, without a step.
/// 0.287133683 u of 3.96 u: by halving on the error function of another language's library.
#[test]
fn what_is_left_of_a_narrow_tolerance_counts_both_tails() {
    let left = |upper: &str| {
        let inputs = words(&format!("lower=0mm upper={upper}mm u=1um"));
        let (_, answer) = work::find("test-uncertainty-ratio").unwrap().work(&inputs).unwrap();
        (answer.get("provable").unwrap(), answer.outputs()[2].value.clone())
    };
    assert!((left("0.00396").0 - 0.287_134).abs() < 1e-5, "{:?}", left("0.00396"));
    assert_eq!(left("0.0039"), (0.0, Value::Word("this gauge cannot prove this limit".into())));
    assert!((left("0.010").0 - 6.7).abs() < 1e-9);
}

/// The gain of a shared setting is had by saying so, not by leaving something out.
#[test]
fn which_micrometer_set_the_bore_gauge_is_asked() {
    let sheet = work::find("clearance-uncertainty").unwrap();
    let problem = |more: &str| {
        let inputs = words(&format!("micrometer=5um bore-gauge=4um {more}"));
        sheet.work(&inputs).unwrap_err().problems[0].input.clone()
    };
    assert_eq!(problem(""), "set-in");
    assert_eq!(problem("set-in=another"), "setting");
    assert_eq!(problem("set-in=the-same setting=5um"), "setting");
}

#[test]
fn the_effective_ratio_is_the_static_one_when_the_intake_closes_at_the_bottom() {
    let with = |more: &str| {
        let inputs = words(&format!(
            "bore=86mm stroke=86mm chamber=45cm3 dish=4cm3 gasket=1.20mm gasket-bore=87.5mm deck=0.30mm rod=143.5mm {more}"
        ));
        work::find("compression").unwrap().work(&inputs).unwrap().1
    };
    let at_the_bottom = with("intake-closes=0deg");
    assert_eq!(at_the_bottom.get("effective"), at_the_bottom.get("ratio"));
    // 60 degrees after it the piston stands 69.416090400076 mm down (case 8.01 at 120 degrees).
    let swept = work::displacement(86.0, 69.416_090_400_076);
    let left = at_the_bottom.get("left").unwrap();
    let later = with("intake-closes=60deg").get("effective").unwrap();
    assert!((later - (swept + left) / left).abs() < 1e-9);
}

#[test]
fn ring_gaps_in_line_on_the_thrust_face_or_over_the_pin_are_named() {
    let says = |gaps: &str| {
        let (_, answer) = work::find("ring-setting").unwrap().work(&[format!("gaps={gaps}deg")]).unwrap();
        match &answer.outputs().last().unwrap().value {
            Value::Word(word) => word.clone(),
            Value::Number(..) | Value::Numbers(_) => panic!("{answer:?}"),
        }
    };
    assert_eq!(says("45,225,135,315"), "spread");
    assert_eq!(says("45,165,285,45"), "two gaps are in line: turn one");
    assert_eq!(says("45,80,225"), "two gaps that follow each other are too near");
    assert_eq!(says("5,125,235"), "a gap stands on a thrust face");
    assert_eq!(says("45,225,100"), "a gap stands over a pin end");
    // Across the nought: 350 and 10 lie 20 degrees apart.
    let (_, answer) = work::find("ring-setting").unwrap().work(&["gaps=350,10deg"]).unwrap();
    assert_eq!(answer.get("least-apart"), Some(20.0));
}

#[test]
fn directions_miss_of_an_oval_what_geometry_says() {
    // Guaranteed: none of two, 75 % of three, 71 % of four, 87 % of six (the handbook's figures).
    for (n, seen) in [(2, 0.0), (3, 75.0), (4, 70.7), (6, 86.6)] {
        assert!((100.0 * guaranteed(n) - seen).abs() < 0.1, "{n} directions");
        let read = vec!["80.5"; n].join(",");
        let (_, answer) = work::find("bore-form").unwrap().work(&[format!("top={read}mm")]).unwrap();
        let missed = answer.get("oval-missed").unwrap();
        assert!((100.0 - missed - seen).abs() < 0.1, "{n} directions miss {missed} %");
    }
}

/// The least that `n` directions see of an oval of span 2, however it lies: by trying.
fn guaranteed(n: usize) -> f64 {
    let at = |offset: f64, k: usize| (offset + std::f64::consts::TAU * k as f64 / n as f64).cos();
    let span = |offset: f64| {
        let all = (0..n).map(|k| at(offset, k));
        all.clone().fold(f64::MIN, f64::max) - all.fold(f64::MAX, f64::min)
    };
    (0..7200).map(|step| span(f64::from(step) / 3600.0 * std::f64::consts::PI)).fold(f64::MAX, f64::min) / 2.0
}

proptest! {
    #[test]
    fn a_size_goes_to_20_degrees_and_back(
        size in 1.0..2000.0_f64, part in 5.0..25.0_f64, gauge in 5.0..25.0_f64, at in -5.0..45.0_f64, gauge_at in -5.0..45.0_f64,
    ) {
        let (part, gauge) = ((part * 1e-6, at), (gauge * 1e-6, gauge_at));
        let there = work::gauge_target(size, part, gauge);
        prop_assert!((work::at_reference(there, part, gauge) - size).abs() < 1e-9);
    }

    #[test]
    fn the_linear_rule_is_near_the_exact_one(
        size in 1.0..2000.0_f64,
        part in 8.0..22.0_f64,
        gauge in 8.0..22.0_f64,
        at in -5.0..45.0_f64,
    ) {
        // Part and gauge at one temperature: within 0.03 µm per 100 mm for 25 K (the handbook's figure).
        let (part, gauge) = ((part * 1e-6, at), (gauge * 1e-6, at));
        let linear = size * (1.0 + part.0 * (part.1 - 20.0) - gauge.0 * (gauge.1 - 20.0));
        prop_assert!((work::gauge_target(size, part, gauge) - linear).abs() <= 0.03e-3 * size / 100.0);
    }

    #[test]
    fn conformance_rises_towards_the_middle_and_is_a_half_at_a_far_limit(u in 0.1..5.0_f64, y in 0.0..50.0_f64) {
        let p = |y: f64| work::conformance(y, u, (Some(0.0), Some(1000.0))).unwrap().probability;
        prop_assert!(p(y + 1.0) >= p(y));
        prop_assert!((p(0.0) - 0.5).abs() < 1e-9);
    }

    #[test]
    fn the_piston_is_at_the_top_and_a_stroke_below_and_moves_alike_either_way(throw in 20.0..80.0_f64, ratio in 1.2..2.5_f64, angle in 0.0..360.0_f64) {
        let rod = 2.0 * throw * ratio;
        let drop = |deg: f64| work::piston_motion(throw, rod, 1000.0, deg).unwrap().drop_mm;
        prop_assert!(drop(0.0).abs() < 1e-9);
        prop_assert!((drop(180.0) - 2.0 * throw).abs() < 1e-9);
        prop_assert!((drop(angle) - drop(-angle)).abs() < 1e-9);
    }

    #[test]
    fn a_half_of_u_squared_is_what_a_shared_setting_saves(housing in 1.0..9.0_f64, journal in 1.0..9.0_f64) {
        let shared = housing.min(journal);
        let u = |shared: f64| {
            let inputs = format!("housing=61mm journal=56.9mm u-housing={housing:.6}um u-journal={journal:.6}um shared={shared:.6}um");
            let (_, answer) = work::find("oil-clearance").unwrap().work(&words(&inputs)).unwrap();
            match answer.outputs()[0].value { Value::Number(_, Some(u)) => u * 1000.0, Value::Number(_, None) | Value::Numbers(_) | Value::Word(_) => 0.0 }
        };
        prop_assert!((u(0.0).powi(2) - u(shared).powi(2) - 2.0 * shared * shared).abs() < 1e-4);
    }

    #[test]
    fn a_choice_is_never_worse_than_any_other_by_its_own_goal(table in proptest::collection::vec(proptest::collection::vec(0..60_i64, 5), 4)) {
        let of = |chosen: &[usize]| -> Vec<i64> { chosen.iter().enumerate().map(|(row, at)| table[row][*at]).collect() };
        let sum = work::choose(&table, work::Goal::LeastSum).unwrap();
        let largest = work::choose(&table, work::Goal::LeastLargest).unwrap();
        // Every way of giving four bores one of five pistons each.
        let ways = (0..625_usize).map(|n| [n % 5, n / 5 % 5, n / 25 % 5, n / 125]).filter(|way| {
            (0..4).all(|a| (0..a).all(|b| way[a] != way[b]))
        });
        for way in ways {
            prop_assert!(of(&sum).iter().sum::<i64>() <= of(&way).iter().sum());
            prop_assert!(of(&largest).iter().max() <= of(&way).iter().max());
        }
    }

    #[test]
    fn no_text_at_all_makes_a_worksheet_panic(number in 0..WORKSHEETS.len(), name in "[a-z-]{0,12}", value in ".{0,24}") {
        let sheet = WORKSHEETS[number];
        let mut inputs = words(sheet.example);
        let at = value.len() % inputs.len();
        let own = inputs[at].split_once('=').unwrap().0.to_owned();
        inputs[at] = own + "=" + &value;
        if let Ok((_, answer)) = sheet.work(&inputs) {
            assert_finite(sheet, &inputs, &answer);
        }
        // Alone it is never enough: something that is needed is missing.
        prop_assert!(sheet.work(&[name + &value]).is_err());
    }
}

#[test]
fn a_worksheet_is_listed_explained_and_computed_without_a_home() {
    let mut stage = Stage::new();
    let shown = stage.play(
        r"
        nobody> work
        nobody> work crow-foot --help
        nobody> work oil-clearance housing=61.005mm wall=2.108mm journal=56.740mm u-housing=2.4um u-wall=1um u-journal=2.3um
        nobody> work compression bore=80.508mm stroke=89mm chamber=42.5cm3 dish=3.5cm3 crevice=0.4cm3 gasket=1.20mm gasket-bore=82mm deck-height=220.30mm rod=143mm compression-height=32.5mm
        nobody> work size-at-20 read=80,508mm part=grey-iron
        nobody> work oil-clearence housing=61mm
        nobody> work oil-clearance housing=61kg wall=2.1 jornal=56.7mm
        nobody> --json work displacement bore=80.5mm stroke=89mm cylinders=4
        nobody> --json work conformance value=0.058mm u=3.15um lower=0.060mm upper=0.040mm
        ",
    );
    masked(|| insta::assert_snapshot!("worksheets", shown));
}
