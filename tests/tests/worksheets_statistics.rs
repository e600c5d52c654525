//! Risks, budgets, readings that stand out, and gauge studies: what must hold whatever the figures.
#![allow(clippy::unwrap_used)]

use gudgeon_core::work::{self, BudgetPart, Process};
use gudgeon_tests::sheets::{out, try_work, word};
use proptest::prelude::*;

/// The input that is wrong, and why.
fn problem(sheet: &str, inputs: &str) -> (String, String) {
    let error = try_work(sheet, inputs).unwrap_err();
    (error.problems[0].input.clone(), error.problems[0].cause.clone())
}

const PROCESS: &str = "mean=47.750mm spread=4um u=2.3um";
const LIMITS: &str = "lower=47.742mm upper=47.758mm";

#[test]
fn the_guard_for_a_wanted_risk_gives_that_risk() {
    for wanted in ["0.01", "0.1", "0.5"] {
        let guard = out("decision-risk", &format!("{PROCESS} {LIMITS} wanted={wanted}%"), "guard-wanted");
        let risk = out("decision-risk", &format!("{PROCESS} {LIMITS} guard={guard:.6}um"), "consumer");
        assert!((risk - wanted.parse::<f64>().unwrap()).abs() < 1e-5, "{wanted}: {risk} at {guard}");
    }
    let easy = try_work("decision-risk", &format!("{PROCESS} {LIMITS} wanted=20%")).unwrap();
    assert_eq!(easy.get("guard-wanted"), Some(0.0));
    assert!(easy.notes().iter().any(|note| note.starts_with("no guard is needed")));
}

#[test]
fn a_guard_or_limits_that_leave_nothing_are_named() {
    assert_eq!(problem("decision-risk", &format!("{PROCESS} {LIMITS} guard=8um")).0, "guard");
    assert_eq!(problem("decision-risk", PROCESS).0, "lower");
    let crossed = format!("{PROCESS} lower=47.758mm upper=47.742mm");
    assert_eq!(problem("decision-risk", &crossed).0, "lower");
    assert_eq!(problem("surely-over", "limit=-1mm u=2%").0, "limit");
    assert_eq!(problem("surely-over", "limit=1mm u=30% sure=99.99%").0, "u");
    assert!(work::global_risks(Process::Gamma(0.5, 1.0), 0.1, (None, Some(1.0)), (None, Some(1.0))).is_err());
}

#[test]
fn few_readings_ask_for_a_large_factor() {
    // Student's t, two-sided 95 %: 12.7062 for two readings, 2.7764 for five (any table of it).
    for (values, t) in [("47.742,47.743mm", 12.7062), ("47.742,47.743,47.742,47.744,47.743mm", 2.7764)] {
        let found = try_work("repeats", &format!("values={values}")).unwrap();
        assert!((found.get("t").unwrap() - t).abs() < 1e-4);
    }
    // Halves of a µm about the mean: s = 0.707107, mean within 12.7062 x 0.5.
    let within = out("repeats", "values=47.742,47.743mm", "mean-within");
    assert!((within - 12.7062 * 0.5).abs() < 1e-3);
    // Without a doubt about any part the factor is the normal one: 1.959964.
    let known = try_work("uncertainty-budget", "u=2.3,0.6um").unwrap();
    assert!((known.get("k").unwrap() - 1.959_964).abs() < 1e-6);
    assert_eq!(known.get("freedom"), None);
}

#[test]
fn lists_of_a_budget_that_do_not_match_or_leave_nothing_are_named() {
    assert_eq!(problem("uncertainty-budget", "u=2.3,0.6um freedom=9").0, "freedom");
    assert_eq!(problem("uncertainty-budget", "u=2.3,0.6um sensitivity=1;2;3").0, "sensitivity");
    assert_eq!(problem("uncertainty-budget", "u=0;0um").0, "u");
}

#[test]
fn a_reading_is_marked_and_kept_and_alike_readings_have_none() {
    let found = try_work("outlier", "values=47.742,47.743,47.742,47.744,47.743,47.753mm").unwrap();
    assert_eq!(found.get("suspect"), Some(6.0));
    assert!(word(&found, "says").contains("keep it, and read again"));
    assert!(word(&found, "test").starts_with("two-sided"));
    let low = try_work("outlier", "values=47.742,47.743,47.742,47.744,47.743,47.730mm end=lowest").unwrap();
    assert_eq!(low.get("suspect"), Some(6.0));
    assert!(word(&low, "test").starts_with("one-sided"));
    let alike = try_work("outlier", "values=47.1,47.1,47.1mm").unwrap();
    assert_eq!((alike.get("g"), alike.get("suspect")), (Some(0.0), None));
    assert_eq!(word(&alike, "says"), "nothing stands out");
    let three = try_work("outlier", "values=47.1,47.1,47.9mm").unwrap();
    assert!(three.get("g").unwrap() <= 1.1547 + 1e-4);
    assert!(three.notes().iter().any(|note| note.contains("nearly useless")));
    assert_eq!(problem("outlier", "values=47.1,47.2mm").0, "values");
    assert!(work::grubbs_critical(2, 0.05, true).is_err());
}

#[test]
fn a_study_cut_wrong_is_named_by_the_list() {
    let first = "parts=2 first=1.1,1.2,1.1,1.2mm";
    for (second, wrong) in [
        ("1.1,1.2,1.1,1.2,1.1mm", "second"),
        ("1.1,1.2,1.1,1.2,1.1,1.2mm", "second"),
        ("1.1,1.2mm", "second"),
    ] {
        for sheet in ["gauge-study", "gauge-study-anova"] {
            assert_eq!(problem(sheet, &format!("{first} second={second}")).0, wrong, "{second}");
        }
    }
    let alike = "parts=2 first=1.1,1.1,1.1,1.1mm second=1.1,1.1,1.1,1.1mm";
    assert!(problem("gauge-study", alike).1.contains("alike"));
    let four = "1.1,1.2,1.1,1.2,1.1,1.2,1.1,1.3mm";
    let four = format!("parts=2 first={four} second={four}");
    assert!(problem("gauge-study", &four).1.contains("4 trials"));
    assert!(try_work("gauge-study-anova", &four).is_ok());
}

/// What a gauge with too coarse a step shows: no scatter at all.
#[test]
fn a_study_without_scatter_gives_no_classes_and_says_why() {
    let inputs = "parts=2 first=1.1,1.3,1.1,1.3mm second=1.1,1.3,1.1,1.3mm";
    for sheet in ["gauge-study", "gauge-study-anova"] {
        let found = try_work(sheet, inputs).unwrap();
        assert_eq!(found.get("gauge").map(|gauge| gauge < 1e-6), Some(true), "{sheet}: {found:?}");
        assert!(found.notes().iter().any(|note| note.contains("too coarse")), "{sheet}");
    }
}

/// People who read one part differently: seen, kept apart and counted with the gauge.
/// By hand, in mm: cells 1.0 1.2 / 1.1 1.1, each read as +-0.001: MS_int = 0.02, MS_e = 0.000002,
/// INT^2 = (0.02 - 0.000002)/2.
#[test]
fn people_who_read_some_parts_differently_are_kept_apart() {
    let inputs = "parts=2 first=0.999,1.199,1.001,1.201mm second=1.099,1.099,1.101,1.101mm";
    let found = try_work("gauge-study-anova", inputs).unwrap();
    assert_eq!(word(&found, "interaction"), "kept apart");
    assert!((found.get("f-interaction").unwrap() - 10_000.0).abs() < 1e-3, "{found:?}");
    let by_hand = 1000.0 * ((0.02 - 0.000_002) / 2.0_f64).sqrt();
    assert!((found.get("interacting").unwrap() - by_hand).abs() < 1e-6);
    let pooled = try_work("gauge-study-anova", &format!("{inputs} pool-above=0")).unwrap();
    assert_eq!(word(&pooled, "interaction"), "pooled with the repeats");
    let never = try_work("gauge-study-anova", &format!("{inputs} pool-above=1")).unwrap();
    assert_eq!(word(&never, "interaction"), "kept apart");
}

#[test]
fn the_rule_of_pooling_is_habit_and_is_said_to_be() {
    let sheet = work::find("gauge-study-anova").unwrap();
    let found = try_work("gauge-study-anova", sheet.example).unwrap();
    let said = "pool-above=0.25 was taken (common practice, no source)";
    assert!(found.notes().iter().any(|note| note == said), "{:?}", found.notes());
    assert!(found.notes().iter().any(|note| note.contains("not the tolerance")));
}

proptest! {
    #[test]
    fn a_wider_guard_accepts_fewer_bad_parts_and_rejects_more_good_ones(
        mean in -0.5..0.5_f64, spread in 0.05..2.0_f64, u in 0.001..1.0_f64, guard in 0.0..0.9_f64,
    ) {
        let limits = (Some(-1.0), Some(1.0));
        let risks = |guard: f64| {
            let accept = work::drawn_in(limits, guard);
            work::global_risks(Process::Normal(mean, spread), u, limits, accept).unwrap()
        };
        let (none, some) = (risks(0.0), risks(guard));
        prop_assert!(some.consumer <= none.consumer + 1e-11 && some.producer >= none.producer - 1e-11);
        prop_assert!(none.consumer <= none.outside + 1e-11 && none.producer <= 1.0 - none.outside + 1e-11);
        // The share outside is known of the normal distribution apart.
        let inside = work::conformance(mean, spread, limits).unwrap().probability;
        prop_assert!((1.0 - inside - none.outside).abs() < 1e-10);
    }

    #[test]
    fn what_is_accepted_is_what_reads_within(
        mean in -3.0..3.0_f64, spread in 0.05..2.0_f64, u in 0.001..1.0_f64,
    ) {
        // Readings are normal with both spreads: accepted = good + bad ones accepted.
        let limits = (None, Some(1.0));
        let risks = work::global_risks(Process::Normal(mean, spread), u, limits, limits).unwrap();
        let reads = work::conformance(mean, spread.hypot(u), limits).unwrap().probability;
        prop_assert!((1.0 - risks.outside - risks.producer + risks.consumer - reads).abs() < 1e-10);
    }

    #[test]
    fn the_freedom_of_a_budget_lies_between_the_least_and_the_sum(
        parts in proptest::collection::vec((0.1..9.0_f64, 1..60_u32), 1..8),
    ) {
        let freedom = |part: &(f64, u32)| f64::from(part.1);
        let found = work::combine(&parts.iter().map(|part| BudgetPart { u: part.0, freedom: freedom(part) }).collect::<Vec<_>>()).1;
        let least = parts.iter().map(freedom).fold(f64::MAX, f64::min);
        prop_assert!(found >= least - 1e-9 && found <= parts.iter().map(freedom).sum::<f64>() + 1e-9);
    }

    #[test]
    fn the_factor_of_student_falls_towards_the_normal_one(freedom in 1..3000_u32, p in 0.6..0.9999_f64) {
        let at = |freedom: u32| work::student_quantile(p, f64::from(freedom));
        prop_assert!(at(freedom) > at(freedom + 1) - 1e-9);
        prop_assert!(at(freedom) > work::student_quantile(p, f64::INFINITY));
    }

    #[test]
    fn gauge_and_people_are_never_more_than_the_total(readings in proptest::collection::vec(0..900_u32, 18)) {
        prop_assume!(readings.iter().any(|one| *one != readings[0]));
        let list = |of: &[u32]| of.iter().map(|um| format!("47.{um:03}")).collect::<Vec<_>>().join(",");
        let inputs = format!("parts=3 first={}mm second={}mm third={}mm", list(&readings[..6]), list(&readings[6..12]), list(&readings[12..]));
        for sheet in ["gauge-study", "gauge-study-anova"] {
            let found = try_work(sheet, &inputs).unwrap();
            let um = |name: &str| found.get(name).unwrap();
            prop_assert!(um("gauge") <= um("total") * (1.0 + 1e-9) && um("repeat") <= um("gauge") * (1.0 + 1e-9));
            prop_assert!(um("gauge-of-total") <= 100.0 + 1e-9);
        }
    }
}
