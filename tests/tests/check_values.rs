//! The worksheets against published examples, tables and figures computed apart from them.
//!
//! Each case of `check-values/cases.json` has its source beside it there. A test's name carries
//! the case's number and its tag: p published, l by a general-purpose library, c computed apart,
//! m from memory.
#![allow(clippy::unwrap_used)]

use std::collections::BTreeSet;
use std::sync::LazyLock;

use gudgeon_core::work::{self, Bearing, Compression, Value, compression_ratio};
use gudgeon_tests::sheets::{answer, list, out};
use serde_json::Value as Json;

static CASES: LazyLock<Json> =
    LazyLock::new(|| serde_json::from_str(include_str!("../check-values/cases.json")).unwrap());

/// One case of the file.
struct Case(&'static Json);

impl Case {
    fn of(id: &str) -> Self {
        Self(CASES.as_array().unwrap().iter().find(|case| case["id"] == id).unwrap())
    }

    fn expected(&self, name: &str) -> (Vec<f64>, f64) {
        let row = &self.0["expected"][name];
        let number = |value: &Json| value.as_f64().unwrap();
        let values = row["value"]
            .as_array()
            .map_or_else(|| vec![number(&row["value"])], |all| all.iter().map(number).collect());
        (values, number(&row["abs_tol"]))
    }

    /// The value is the expected one, within the file's tolerance.
    fn is(&self, name: &str, found: f64) {
        self.are(name, &[found]);
    }

    fn are(&self, name: &str, found: &[f64]) {
        let (expected, tolerance) = self.expected(name);
        assert_eq!(expected.len(), found.len(), "{name}");
        for (expected, found) in expected.iter().zip(found) {
            let near = (expected - found).abs() <= tolerance;
            assert!(near, "{} {name}: {found}, expected {expected} within {tolerance}", self.0["id"]);
        }
    }

    /// The printed value, which is rounded: within a share of it.
    fn prints(&self, name: &str, found: &[f64], share: f64) {
        for (printed, found) in self.expected(name).0.iter().zip(found) {
            assert!((printed - found).abs() <= share * printed, "{name}: {found}, printed {printed}");
        }
    }
}

fn convert(value: &str, to: &str) -> f64 {
    out("convert", &format!("value={value} to={to}"), "value")
}

macro_rules! cases {
    ($($name:ident, $id:literal: $check:expr;)*) => {
        $(#[test]
        fn $name() {
            let check: fn(Case) = $check;
            check(Case::of($id));
        })*

        const TESTED: &[(&str, &str)] = &[$((stringify!($name), $id),)*];
    };
}

cases! {
    case_1_01_p_feet_to_metres, "1.01": |case| {
        case.is("m_exact", convert("36ft", "m"));
        let rounded = answer("convert", "value=36ft to=m");
        assert_eq!(rounded.outputs()[1].value, Value::Word("11.0 m".into()));
    };
    case_1_02_pl_pound_force, "1.02": |case| case.is("N", convert("1lbf", "N"));
    case_1_03_l_pound_force_feet, "1.03": |case| case.is("Nm", convert("75lbf.ft", "N.m"));
    case_1_04_l_newton_metres, "1.04": |case| {
        case.is("lbf_ft", convert("100N.m", "lbf.ft"));
        case.is("lbf_in", convert("100N.m", "lbf.in"));
    };
    case_1_06_l_psi, "1.06": |case| {
        case.is("kPa_1", convert("1psi", "kPa"));
        case.is("bar_185", convert("185psi", "bar"));
    };
    case_1_07_l_cubic_inches, "1.07": |case| {
        case.is("cm3", convert("350in3", "cm3"));
        case.is("in3", convert("1998cm3", "in3"));
    };
    case_1_09_c_thou_and_inches, "1.09": |case| {
        case.is("um", convert("0.0015in", "um"));
        case.is("in", convert("86mm", "in"));
    };
    case_1_10_l_temperatures_and_their_differences, "1.10": |case| {
        case.is("degC_from_212F", convert("212degF", "degC"));
        case.is("degF_from_20C", convert("20degC", "degF"));
        case.is("delta_degF", convert("10K", "Δ°F"));
    };
    case_2_01_c_aluminium_bore_and_steel_gauge, "2.01": |case| {
        case.is("L20_exact_mm", work::at_reference(86.0, (21.5e-6, 30.0), (11.5e-6, 30.0)));
        let sheet = out("size-at-20", "read=86mm part=aluminium-356 part-at=30C gauge-at=30C", "size");
        case.is("L20_exact_mm", sheet);
    };
    case_2_02_c_warm_part_and_cool_gauge, "2.02": |case| {
        case.is("L20_exact_mm", out("size-at-20", "read=100mm part=aluminium-6061 part-at=35C gauge-at=20C", "size"));
    };
    case_2_04_c_warm_piston, "2.04": |case| {
        case.is("L20_exact_mm", out("size-at-20", "read=85.96mm part=piston-alloy-4032 part-at=45C gauge-at=22C", "size"));
    };
    case_2_08_c_uncertainty_of_a_correction, "2.08": |case| {
        let u = |a: f64, t: f64| 1000.0 * work::correction_uncertainty(86.0, (21.5e-6, 30.0), (a, t));
        case.is("u_um", u(2.15e-6, 1.0));
        case.is("part_T", u(0.0, 1.0));
        case.is("part_alpha", u(2.15e-6, 0.0));
    };
    case_2_10_c_clearance_hot_and_cold, "2.10": |case| {
        // The shells of the case are of 11.7e-6 per °C, which no row of the table has: the
        // formula is checked with its own figures.
        let hot = |housing: f64| {
            let grown = |size: f64, alpha: f64| work::gauge_target(size, (alpha, 100.0), (0.0, 20.0));
            grown(61.0, housing) - 2.0 * grown(1.98, 1.17e-5) - grown(56.995, 1.23e-5)
        };
        case.is("hot_Al", hot(2.15e-5));
        case.is("hot_iron", hot(1.14e-5));
        let sheet = "housing=61mm wall=1.98mm journal=56.995mm housing-of=grey-iron journal-of=steel-4340 warmer=80K";
        case.is("cold", out("hot-clearance", sheet, "at-20"));
        let shells_differ = 2.0 * 1.98 * 80.0 * (1.17e-5 - 1.13e-5);
        assert!((out("hot-clearance", sheet, "warm") - shells_differ - hot(1.14e-5)).abs() < 1e-9);
    };
    case_3_01_pm_upper_limit, "3.01": |case| {
        case.is("p_conform", work::conformance(-5.47, 0.05, (None, Some(-5.4))).unwrap().probability);
    };
    case_3_02_pm_lower_limit, "3.02": |case| {
        let found = work::conformance(509.7, 8.6, (Some(490.0), None)).unwrap();
        case.is("z", found.nearest_z);
        case.is("p_conform", found.probability);
    };
    case_3_07_c_journal, "3.07": |case| {
        for (name, y) in [("p_1", "50.996"), ("p_2", "50.997"), ("p_3", "51.001")] {
            let inputs = format!("value={y}mm u=2um lower=50.980mm upper=51.000mm");
            case.is(name, out("conformance", &inputs, "probability"));
        }
    };
    case_3_09_c_clearance, "3.09": |case| {
        for (name, y) in [("p_1", "0.045"), ("p_2", "0.055")] {
            let inputs = format!("value={y}mm u=4.5um lower=0.040mm upper=0.070mm");
            case.is(name, out("conformance", &inputs, "probability"));
        }
    };
    case_3_10_l_clearance_set_by_another_micrometer, "3.10": |case| {
        let inputs = "micrometer=5um set-in=another setting=5um bore-gauge=4um scatter-bore=1.5um scatter-journal=1.5um";
        case.is("u_um", out("clearance-uncertainty", inputs, "u"));
        case.is("U_k2", out("clearance-uncertainty", inputs, "expanded"));
    };
    case_3_12_l_error_limits_and_resolutions, "3.12": |case| {
        for (name, um) in [("u_4", "4"), ("u_5", "5"), ("u_20", "20")] {
            case.is(name, out("gauge-uncertainty", &format!("error-limit={um}um"), "u"));
        }
        for (name, step) in [("r_1", "1um"), ("r_10", "10um"), ("r_0p0001in", "0.0001in")] {
            case.is(name, out("gauge-uncertainty", &format!("resolution={step}"), "u"));
        }
    };
    case_2_06_pl_end_gauge, "2.06": |case| {
        // A micrometre stands for each nanometre. Dilation: 50.000623 mm on 11.5e-6 by 0.05/sqrt 3.
        let rectangular = 1.0 / 3.0_f64.sqrt();
        let (theta, alpha) = (50.000_623 * 11.5 * 0.05 * rectangular, 50.000_623 * 0.1 * rectangular);
        case.is("u_dtheta_term", theta);
        case.is("u_dalpha_term", alpha);
        let us = format!("u=25;5.8;3.9;6.7;{alpha:.6};{theta:.6}um freedom=18;24;5;8;50;2 level=99%");
        let found = answer("uncertainty-budget", &us);
        for (name, output) in [("u_c_nm", "u"), ("nu_eff", "freedom"), ("t99_16", "k"), ("U99_unrounded", "expanded"), ("published_u_c", "u"), ("published_U99", "expanded")] {
            case.is(name, found.get(output).unwrap());
        }
        case.is("l_nm", 50_000_623.0 + 215.0);
    };
    case_2_07_l_second_order_terms, "2.07": |case| {
        let length = 50_000_623.0;
        let (first, second) = (work::pair_term(length, 0.58e-6, 0.41), work::pair_term(length, 1.2e-6, 0.029));
        case.is("term_dalpha_theta_nm", first);
        case.is("term_alpha_dtheta_nm", second);
        let inputs = format!("u=25;5.8;3.9;6.7;2.886787;16.599027um pairs={first:.6};{second:.6}um");
        case.is("u_c_2nd_order_nm", out("uncertainty-budget", &inputs, "u"));
    };
    case_3_04_pm_surely_over, "3.04": |case| {
        case.is("v_max", out("surely-over", "limit=100mm u=2% sure=99.9%", "over-from"));
    };
    case_3_05_l_risks_of_a_gamma_process, "3.05": |case| {
        let limits = (None, Some(2.0));
        let found = work::global_risks(work::Process::Gamma(4.0, 4.0), 0.25, limits, limits).unwrap();
        case.is("nonconforming", found.outside);
        case.is("R_C", found.consumer);
        case.is("R_P", found.producer);
    };
    case_3_06_l_limit_for_a_wanted_risk, "3.06": |case| {
        let (process, limits) = (work::Process::Gamma(4.0, 4.0), (None, Some(2.0)));
        let guard = work::guard_for_risk(process, 0.25, limits, 0.001).unwrap();
        let accept = work::drawn_in(limits, guard);
        case.is("A_U", accept.1.unwrap());
        case.is("R_P", work::global_risks(process, 0.25, limits, accept).unwrap().producer);
    };
    case_3_13_pl_global_risks, "3.13": |case| {
        let (consumer, producer) = risks("125um", "0um");
        case.is("R_C", consumer);
        case.is("R_P", producer);
    };
    case_3_14_c_global_risks_with_a_guard, "3.14": |case| {
        for (name, u, guard) in [("0875", "125um", "125um"), ("075", "125um", "250um"), ("TUR2", "250um", "0um"), ("TUR10", "50um", "0um")] {
            let (consumer, producer) = risks(u, guard);
            case.is(&format!("RC_{name}"), consumer);
            case.is(&format!("RP_{name}"), producer);
        }
    };
    case_4_01_c_what_two_points_see_of_lobes, "4.01": |case| {
        for n in 2..=5_u32 {
            let diameter = |k: u32| {
                let at = |phi: f64| 43.0 + 0.005 * (f64::from(n) * phi).cos();
                let phi = f64::from(k).to_radians();
                format!("{:.9}", at(phi) + at(phi + std::f64::consts::PI))
            };
            let read: Vec<String> = (0..180).map(diameter).collect();
            let seen = out("bore-form", &format!("top={}mm", read.join(",")), "out-of-round");
            case.is(&format!("n{n}_um"), (seen * 1e6).round() / 1000.0);
        }
    };
    case_4_02_c_two_readings_off_the_axes_of_an_oval, "4.02": |case| {
        let seen = |off: f64| {
            let diameter = |deg: f64| 86.0 + 2.0 * 0.005 * (2.0 * deg.to_radians()).cos();
            let inputs = format!("top={:.10},{:.10}mm", diameter(off), diameter(off + 90.0));
            1000.0 * out("bore-form", &inputs, "out-of-round")
        };
        case.are("um", &[0.0, 15.0, 22.5, 30.0, 45.0].map(seen));
    };
    case_4_04_c_what_a_v_block_sees_of_lobes, "4.04": |case| {
        for (name, angle) in [("a60", "60"), ("a90", "90"), ("a120", "120")] {
            let found = list(&answer("v-block", &format!("angle={angle}deg")), "factors");
            case.are(name, &found[..5]);
        }
    };
    case_4_05_c_three_levels_two_axes, "4.05": |case| {
        let found = answer("bore-form", "top=86.012,86.018mm middle=86.008,86.011mm bottom=86.003,86.005mm");
        let (rounds, tapers) = (list(&found, "out-of-round-at"), list(&found, "taper"));
        for (at, name) in ["oor_top", "oor_mid", "oor_bot"].into_iter().enumerate() {
            case.is(name, rounds[at]);
        }
        case.is("taper_X", tapers[0]);
        case.is("taper_Y", tapers[1]);
        case.is("mean_taper", found.get("mean-taper").unwrap());
        case.is("half_range_lower_bound_cyl", found.get("cylindricity-at-least").unwrap());
    };
    case_5_01_c_oil_clearance, "5.01": |case| {
        let inputs = "housing=60.87mm wall=1.958mm journal=56.906mm";
        case.is("C", out("oil-clearance", inputs, "clearance"));
        case.is("psi_permille", out("oil-clearance", inputs, "relative"));
    };
    case_6_01_p_stress_areas_coarse, "6.01": |case| {
        let found = [("8", "1.25"), ("10", "1.5"), ("12", "1.75")].map(|(d, p)| {
            out("stress-area", &format!("diameter={d}mm pitch={p}mm"), "area")
        });
        case.are("A_s", &found);
        case.prints("printed", &found, 0.001);
    };
    case_6_02_c_stress_areas_fine, "6.02": |case| {
        let rows = [(8.0, 1.0), (9.0, 1.0), (10.0, 1.25), (11.0, 1.25), (12.0, 1.25), (14.0, 1.5)];
        case.are("A_s", &rows.map(|(d, p)| work::stress_area_metric(d, p)));
    };
    case_6_03_p_proof_loads, "6.03": |case| {
        for (name, thread) in [
            ("M8", "diameter=8mm pitch=1.25mm"),
            ("M10", "diameter=10mm pitch=1.5mm"),
            ("M12", "diameter=12mm pitch=1.75mm"),
            ("M14", "diameter=14mm pitch=2mm"),
        ] {
            let load = |class: &str| 1000.0 * out("stress-area", &format!("{thread} class={class}"), "proof-load");
            // The table rounds: within 0.5 %.
            case.prints(name, &["8.8", "10.9", "12.9"].map(load), 0.005);
        }
    };
    case_6_04_p_stress_areas_inch, "6.04": |case| {
        let rows = [(0.375, 24.0), (0.4375, 20.0), (0.5, 20.0), (0.75, 16.0)];
        let found = rows.map(|(d, n)| work::stress_area_inch(d, n));
        case.are("A_t", &found);
        case.prints("printed", &found, 0.001);
    };
    case_6_05_c_proof_loads_inch, "6.05": |case| {
        for (name, thread) in [("3/8-24", "diameter=3/8in per-inch=24"), ("7/16-20", "diameter=7/16in per-inch=20")] {
            let load = |class: &str| 1000.0 * out("stress-area", &format!("{thread} class={class}"), "proof-load") / 4.448_221_615_260_5;
            case.are(name, &["grade-5", "grade-8"].map(load));
        }
    };
    case_6_17_c_crow_foot, "6.17": |case| {
        let rows = [(100, "400mm", "50mm", 0), (100, "400mm", "50mm", 45), (100, "400mm", "50mm", 90), (100, "400mm", "50mm", 180), (75, "15in", "2.5in", 0)];
        case.are("T_set", &rows.map(|(t, l, e, b)| {
            out("crow-foot", &format!("torque={t}N.m lever={l} extension={e} angle={b}deg"), "set")
        }));
    };
    case_7_01_c_gap_change_with_bore, "7.01": |case| {
        case.is("mm", out("gap-in-bore", "gap=0.40mm gauged-in=86.00mm bore=86.05mm", "change"));
        case.is("in", out("gap-in-bore", "gap=0.016in gauged-in=3.400in bore=3.401in", "change") / 25.4);
    };
    case_7_04_c_gap_by_rule, "7.04": |case| {
        let gap = |bore: &str, output: &str| ["0.0040", "0.0055"].map(|f| out("ring-gap", &format!("bore={bore} factor={f}"), output));
        case.are("g86_mm", &gap("86mm", "gap"));
        case.are("g4in_in", &gap("4.000in", "gap-in"));
    };
    case_8_01_c_piston_drop, "8.01": |case| {
        let angles = [1, 5, 10, 30, 45, 60, 90, 120, 150, 180];
        case.are("mm", &angles.map(|deg| out("piston-motion", &format!("stroke=86mm rod=143.5mm angle={deg}deg"), "drop")));
    };
    case_8_03_p_exact_speed_and_acceleration, "8.03": |case| {
        let found = work::piston_motion(300.0, 1500.0, 180.0, 40.0).unwrap();
        case.is("v_exact", found.velocity_m_s);
        case.is("a_exact", found.acceleration_m_s2);
        // The book's two-term series is near it, and no more.
        case.prints("v_approx", &[found.velocity_m_s], 0.002);
        case.prints("a_approx", &[found.acceleration_m_s2], 0.003);
    };
    case_8_04_p_greatest_speed, "8.04": |case| {
        let (angle, speed) = greatest_speed(300.0, 1000.0, 200.0);
        case.is("theta_exact", angle);
        case.is("v_exact", speed);
    };
    case_8_05_c_acceleration_and_speeds, "8.05": |case| {
        let at = |deg: f64| work::piston_motion(43.0, 143.5, 6500.0, deg).unwrap().acceleration_m_s2;
        case.are("a_m_s2", &[0.0, 60.0, 90.0, 180.0].map(at));
        let (angle, speed) = greatest_speed(43.0, 143.5, 6500.0);
        case.is("theta_vmax", angle);
        case.is("v_max", speed);
        case.is("mean", out("piston-motion", "stroke=86mm rod=143.5mm speed=6500rpm angle=0deg", "mean-speed"));
    };
    case_8_07_c_deck_stack, "8.07": |case| {
        let common = "gasket=1mm gasket-bore=90mm chamber=60cm3";
        let metric = format!("bore=86mm stroke=86mm deck-height=216.5mm rod=143.5mm compression-height=30mm {common}");
        assert!(out("compression", &metric, "deck").abs() < 1e-9, "43 + 143.5 + 30 = 216.5");
        let inch = format!("bore=4in stroke=3.480in deck-height=9.025in rod=5.700in compression-height=1.560in {common}");
        case.is("in_deck_clearance", out("compression", &inch, "deck") / 25.4);
    };
    case_8_08_c_displacement, "8.08": |case| {
        case.is("cc_each", out("displacement", "bore=86mm stroke=86mm cylinders=4", "each"));
        case.is("cc_4", out("displacement", "bore=86mm stroke=86mm cylinders=4", "all"));
        case.is("in3_8", out("displacement", "bore=4.000in stroke=3.480in cylinders=8", "all-in3"));
        case.is("cc_8", out("displacement", "bore=4.000in stroke=3.480in cylinders=8", "all"));
    };
    case_8_09_c_static_ratio, "8.09": |case| {
        let inputs = "bore=86mm stroke=86mm chamber=45cm3 dish=4cm3 gasket=1.20mm gasket-bore=87.5mm deck=0.30mm";
        for (name, output) in [("V_gasket", "gasket-volume"), ("V_deck", "deck-volume"), ("V_c", "left"), ("CR", "ratio"), ("squish", "squish")] {
            case.is(name, out("compression", inputs, output));
        }
    };
    case_8_12_p_ratio_by_clearance_volume, "8.12": |case| {
        case.is("r", ratio(200.0, 250.0, 1570.0));
    };
    case_8_13_p_ratio_by_clearance_volume, "8.13": |case| {
        case.is("r", ratio(150.0, 250.0, 400.0));
    };
    case_5_02_pm_sommerfeld_number, "5.02": |case| {
        let bearing = in_inches(4e-6, 30.0, 500.0, 1.5, 0.003, 1.5);
        case.is("P_psi", bearing.pressure() / PSI);
        case.is("S", bearing.sommerfeld());
    };
    case_5_03_p_viscosity_from_the_number, "5.03": |case| {
        let bearing = |reyn: f64| in_inches(reyn, 850.0 / 60.0, 1500.0, 2.5, 0.003, 2.5);
        case.is("S_at_3p3", bearing(3.3e-6).sommerfeld());
        case.is("mu_reyn", 0.13 / bearing(1.0).sommerfeld());
    };
    case_5_04_p_viscosity_from_the_number, "5.04": |case| {
        let bearing = Bearing { diameter: 0.06, width: 0.06, clearance: 0.08e-3, viscosity: 1.0, speed: 21.0, load: 6000.0 };
        case.is("mu_mPas", 1000.0 * 0.0446 / bearing.sommerfeld());
    };
    case_5_05_c_short_bearing, "5.05": |case| {
        let inputs = "journal=50mm width=20mm clearance=0.05mm viscosity=10mPa.s speed=6000rpm load=8000N";
        for (name, output) in [("P_MPa", "pressure"), ("S", "sommerfeld"), ("So", "load-number"), ("eps_ocvirk", "eccentricity"), ("h_min_um", "film")] {
            case.is(name, out("bearing-number", inputs, output));
        }
    };
    case_5_06_c_short_bearing_number, "5.06": |case| {
        case.are("v", &[0.2, 0.4, 0.6, 0.8, 0.9].map(work::short_bearing));
    };
    case_5_07_m_bearing_as_wide_as_its_journal, "5.07": |case| {
        case.are("S", &work::RAIMONDI_BOYD.map(|(s, _)| s));
        for ((s, film), given) in work::RAIMONDI_BOYD.into_iter().zip(case.0["inputs"]["h0_over_c"].as_array().unwrap()) {
            assert!((film - given.as_f64().unwrap()).abs() < 1e-12);
            // Clearance by diameter a thousandth, 1 MPa and 100 rev/s: S is 100 times the Pa·s.
            let inputs = format!("journal=50mm width=50mm clearance=0.05mm viscosity={:.4}mPa.s speed=6000rpm load=2500N", 10.0 * s);
            assert!((out("bearing-number", &inputs, "film-wide") - 25.0 * film).abs() < 1e-6);
        }
    };
    case_5_08_c_dry_liner, "5.08": |case| {
        let inputs = "bore=84mm joint=90mm outside=110mm interference=0.05mm modulus=110GPa poisson=0.26";
        for (name, output) in [("p_MPa", "pressure"), ("bore_shrink_um", "closes"), ("liner_hoop_at_bore_MPa", "inner-hoop"), ("block_hoop_MPa", "outer-hoop")] {
            case.is(name, out("press-fit", inputs, output));
        }
    };
    case_6_06_p_preload_by_a_torque_factor, "6.06": |case| {
        // For comparison: the sheet goes from the torque to the preload, never back.
        let inputs = "torque=21728.25lbf.in diameter=1.25in factor=0.15 area=1.073in2 proof=120ksi";
        case.is("F_i", out("torque-factor", inputs, "preload") * 1000.0 / 4.448_221_615_260_5);
        assert!((out("torque-factor", inputs, "of-proof") - 90.0).abs() < 1e-6);
        case.is("T_lbf_in", work::torque_by_factor(0.15, 1.25, 0.9 * 120_000.0 * 1.073));
    };
    case_6_08_p_maker_beside_yield, "6.08": |case| {
        let inputs = "torque=75N.m diameter=10mm pitch=1.25mm yield=940MPa thread-friction=0.12 head-friction=0.12 head-diameter=12.8mm";
        let (load, torque) = (out("torque-compared", inputs, "compared-preload"), out("torque-compared", inputs, "compared-torque"));
        case.is("F_M_kN", load);
        case.is("M_A_Nm", torque);
        case.prints("printed_F", &[load], 0.0025);
        case.prints("printed_M", &[torque], 0.005);
    };
    case_6_09_p_maker_beside_yield_by_friction, "6.09": |case| {
        for (size, printed, thread, mean) in [("M8x1", "M8", (8.0, 1.0), 10.3), ("M12x1.25", "M12", (12.0, 1.25), 15.05)] {
            let found = [0.10, 0.12, 0.14].map(|mu| work::at_share_of_yield(thread, 940.0, 0.9, (mu, mu), mean));
            let (loads, torques) = (found.map(|by| by.preload / 1000.0), found.map(|by| by.torque));
            case.are(&format!("{size}_F"), &loads);
            case.are(&format!("{size}_M"), &torques);
            case.prints(&format!("printed_{printed}_F"), &loads, 0.003);
            case.prints(&format!("printed_{printed}_M"), &torques, 0.005);
        }
    };
    case_6_11_c_preload_by_friction, "6.11": |case| {
        case.are("F_kN", &["0.08", "0.10", "0.12", "0.15"].map(|mu| {
            let inputs = format!("torque=60N.m diameter=10mm pitch=1.25mm thread-friction={mu} head-friction={mu} head-diameter=12.8mm");
            out("torque-preload", &inputs, "preload")
        }));
        assert!((work::preload_of_torque(60.0, (10.0, 1.25), 0.12, 0.12, 12.8) - 37_426.835).abs() < 0.01);
    };
    case_6_14_p_stepped_bolt, "6.14": |case| {
        let shank = std::f64::consts::FRAC_PI_4 * 0.75 * 0.75;
        case.is("K_t", work::stiffness(&[(2.0, 0.334)], 30e6));
        case.is("K_s", work::stiffness(&[(6.0, shank)], 30e6));
        case.is("K", work::stiffness(&[(2.0, 0.334), (6.0, shank)], 30e6));
    };
    case_6_15_p_warmer_for_an_elongation, "6.15": |case| {
        let inputs = "elongation=0.01204in length=5in bolt-of=6.5ppm/°F+-0%";
        case.is("dT_F", out("bolt-heating", inputs, "rise-f"));
    };
    case_6_18_c_wrench_deviation, "6.18": |case| {
        let found = answer("wrench-deviation", "set=100N.m reference=104,96.5N.m");
        case.are("a_s", &list(&found, "deviation"));
    };
    case_6_19_p_scatter_of_preload, "6.19": |case| {
        for (values, mean, s) in [("dry", "mean_dry", "s_dry"), ("lub", "mean_lub", "s_lub")] {
            let values: Vec<f64> = case.0["inputs"][values].as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect();
            let found = work::mean_and_deviation(&values).unwrap();
            case.is(mean, found.0);
            case.is(s, found.1);
        }
    };
    case_9_01_c_polytropic_compression, "9.01": |case| {
        let of = |(ratio, exponent)| work::polytropic(ratio, exponent, 300.0);
        let found = [(9.0, 1.3), (10.0, 1.35), (8.0, 1.4)].map(of);
        case.are("p", &found.map(|(pressure, _)| pressure));
        case.are("T2", &found.map(|(_, temperature)| temperature));
        let sheet = out("compression-estimate", "ratio=9 exponent=1.3 temperature=26.85C", "times");
        assert!((sheet - found[0].0).abs() < 1e-9);
    };
    case_9_02_p_ratio_from_two_pressures, "9.02": |case| {
        let inputs = "early-at=5% early=1.2bar late-at=75% late=4.8bar exponent=1.3";
        case.is("r", out("ratio-from-pressures", inputs, "ratio"));
    };
    case_9_03_l_real_air_without_heat_loss, "9.03": |case| {
        let of = |ratio: u32| answer("compression-estimate", &format!("ratio={ratio} temperature=26.85C pressure=101.325kPa"));
        let found = [8, 9, 10].map(of);
        let temperatures = found.each_ref().map(|answer| answer.get("air-temperature").unwrap() + 273.15);
        case.are("T2", &temperatures);
        case.are("p2_bar", &found.each_ref().map(|answer| answer.get("air-pressure").unwrap()));
    };
    case_10_01_pm_residual_unbalance, "10.01": |case| {
        let inputs = "mass=3600kg speed=3000rpm grade=2.5 to-a=1500mm to-b=900mm";
        for (name, output) in [("e_per_um", "eccentricity"), ("U_per", "unbalance"), ("U_A", "plane-a"), ("U_B", "plane-b")] {
            case.is(name, out("residual-unbalance", inputs, output));
        }
    };
    case_10_04_c_two_cylinders_on_one_pin, "10.04": |case| {
        // 1 g at 1 m and 1 rad/s is 1 mN: the unit m r w^2.
        let unit = 0.001 * 1.0 * (6000.0 * std::f64::consts::PI / 30.0_f64).powi(2);
        let of = |angle: u32| {
            let inputs = format!("angle={angle}deg reciprocating=10g stroke=200mm speed=6000rpm factor=0%");
            let found = answer("vee-primary", &inputs);
            (found.get("least").unwrap() / unit, found.get("most").unwrap() / unit)
        };
        let found = [90, 60, 72, 45].map(of);
        case.are("min", &found.map(|(least, _)| least));
        case.are("max", &found.map(|(_, most)| most));
    };
    case_10_06_c_drilling, "10.06": |case| {
        let inputs = "unbalance=150g.mm radius=75mm drill=10mm density=7.85g/cm3";
        case.is("mass_g", out("balance-drilling", inputs, "mass"));
        case.is("depth_mm", out("balance-drilling", inputs, "depth"));
        // The split over two planes is that of the residual unbalance: 120 at 150 of 350.
        let of = |output: &str| {
            let inputs = "mass=1kg speed=3000rpm grade=2.5 to-a=150mm to-b=200mm";
            120.0 * out("residual-unbalance", inputs, output) / out("residual-unbalance", inputs, "unbalance")
        };
        case.is("U_A", of("plane-a"));
        case.is("U_B", of("plane-b"));
    };
    case_10_07_c_inertia_forces, "10.07": |case| {
        let inputs = "reciprocating=0.5kg stroke=86mm rod=143.5mm speed=6500rpm";
        case.is("primary", out("inertia-forces", inputs, "primary"));
        case.is("secondary", out("inertia-forces", inputs, "secondary"));
    };
    case_11_01_c_runout_and_stroke, "11.01": |case| {
        assert!((out("runout", "reading=0.024mm", "eccentricity") - 0.012).abs() < 1e-12);
        case.is("TIR", 2.0 * out("runout", "reading=0.024mm", "eccentricity"));
        case.is("stroke", out("crank-throw", "highest=128.415mm lowest=42.415mm", "stroke"));
        case.is("throw", out("crank-throw", "highest=128.415mm lowest=42.415mm", "throw"));
    };
    case_11_03_c_bend, "11.03": |case| {
        case.is("per100", out("rod-bend", "difference=0.03mm bar=150mm", "per-100"));
        case.is("deg", out("rod-bend", "difference=0.03mm bar=150mm", "angle"));
    };
    case_11_04_c_index_error, "11.04": |case| {
        case.is("deg", out("crank-throw", "highest=128mm lowest=42mm off-height=0.05mm", "index-error"));
    };
    case_12_01_c_cam_timing, "12.01": |case| {
        let inputs = "intake-opens=25deg intake-closes=65deg exhaust-opens=68deg exhaust-closes=22deg";
        for (name, output) in [("ICL", "intake-centre"), ("ECL", "exhaust-centre"), ("dur_in", "intake-duration"), ("dur_ex", "exhaust-duration"), ("LSA", "separation"), ("advance", "advance"), ("overlap", "overlap")] {
            case.is(name, out("cam-timing", inputs, output));
        }
    };
    case_13_02_c_strokes_for_a_hatch, "13.02": |case| {
        case.are("f", &["45", "60"].map(|deg| out("cross-hatch", &format!("bore=86mm speed=180rpm travel=120mm wanted={deg}deg"), "strokes-wanted")));
    };
    case_13_03_l_material_ratio_curve, "13.03": |case| {
        let found = answer("plateau", "heights=2.5;2.0;1.3;-1.3um ratios=0;10;80;100");
        for (expected, output) in [("Rk", "rk"), ("Rpk", "rpk"), ("Rvk", "rvk"), ("Mr1", "mr1"), ("Mr2", "mr2")] {
            case.is(expected, found.get(output).unwrap());
        }
    };
    case_13_04_l_sawtooth, "13.04": |case| {
        // A sawtooth of 301 heights from 0 to 3 µm, as a profile comes: not in their order.
        let heights: Vec<String> = (0..301).map(|at| format!("{:.2}", f64::from(at * 11 % 301) / 100.0)).collect();
        let found = answer("plateau", &format!("heights={}um", heights.join(";")));
        for (expected, output) in [("Rk", "rk"), ("Rpk", "rpk"), ("Rvk", "rvk"), ("Mr1", "mr1"), ("Mr2", "mr2")] {
            case.is(expected, found.get(output).unwrap());
        }
    };
    case_14_01_l_pistons_to_bores, "14.01": |case| {
        let um = |name: &str| -> Vec<String> {
            case.0["inputs"][name].as_array().unwrap().iter().map(|v| format!("{:.3}", v.as_f64().unwrap() / 1000.0)).collect()
        };
        for goal in ["least-sum", "least-largest"] {
            let inputs = format!("bores={}mm pistons={}mm clearance=0.050mm goal={goal}", um("bores").join(","), um("pistons").join(","));
            let found = answer("match-pistons", &inputs);
            let places: Vec<f64> = list(&found, "pistons").iter().map(|at| at - 1.0).collect();
            case.are("assignment_0based", &places);
            let clearances: Vec<f64> = list(&found, "clearances").iter().map(|c| (1000.0 * c).round()).collect();
            case.are("clearances", &clearances);
            case.is("sum_abs", found.get("sum").unwrap().round());
            case.is("max_abs", found.get("largest").unwrap().round());
            case.is("range", found.get("spread").unwrap().round());
        }
    };
    case_14_05_l_general_assignment, "14.05": |case| {
        let cost = vec![vec![4, 1, 3], vec![2, 0, 5], vec![3, 2, 2]];
        let chosen = work::choose(&cost, work::Goal::LeastSum).unwrap();
        let columns: Vec<f64> = chosen.iter().map(|at| f64::from(u32::try_from(*at).unwrap())).collect();
        case.are("cols", &columns);
        case.is("total", f64::from(u32::try_from(chosen.iter().enumerate().map(|(row, at)| cost[row][*at]).sum::<i64>()).unwrap()));
    };
    case_15_01_pc_critical_values, "15.01": |case| {
        for (name, risk, either) in [("one5", 0.05, false), ("two5", 0.05, true), ("two1", 0.01, true)] {
            case.are(name, &[5, 8, 10].map(|n| work::grubbs_critical(n, risk, either).unwrap()));
        }
    };
    case_15_03_pm_breaking_strengths, "15.03": |case| {
        let values = "568;570;570;570;572;572;572;578;584";
        let found = answer("outlier", &format!("values={values};596mm end=highest"));
        case.is("mean", found.get("mean").unwrap());
        case.is("s", found.get("deviation").unwrap() / 1000.0);
        case.is("T", found.get("g").unwrap());
        case.is("crit5", found.get("critical").unwrap());
        assert_eq!(found.get("suspect"), Some(10.0));
        case.is("crit1", out("outlier", &format!("values={values};596mm end=highest risk=1%"), "critical"));
        case.is("T_after_removal", out("outlier", &format!("values={values}mm end=highest"), "g"));
    };
    case_15_04_c_five_readings, "15.04": |case| {
        let values = "values=50.001,50.002,50.001,50.003,50.009mm";
        let found = answer("outlier", values);
        case.is("G", found.get("g").unwrap());
        case.is("two5", found.get("critical").unwrap());
        case.is("one5", out("outlier", &format!("{values} end=highest"), "critical"));
        assert_eq!(found.outputs()[0].value, Value::Word("50.009 mm stands out: mark it, keep it, and read again".into()));
    };
    case_15_06_p_gauge_study_by_ranges, "15.06": |case| {
        let found = answer("gauge-study", STUDY);
        let um = |name: &str| found.get(name).unwrap() / 1000.0;
        for (name, output) in [("Rbarbar", "mean-range"), ("Xdiff", "people-apart"), ("Rp", "parts-apart"), ("EV", "repeat"), ("AV", "people"), ("GRR", "gauge"), ("PV", "between-parts"), ("TV", "total")] {
            case.is(name, um(output));
        }
        case.is("pct_GRR", found.get("gauge-of-total").unwrap());
        case.is("ndc_raw", 1.41 * um("between-parts") / um("gauge"));
        assert_eq!(found.get("classes"), Some(5.0));
    };
    case_15_07_l_gauge_study_by_variance, "15.07": |case| {
        let found = answer("gauge-study-anova", STUDY);
        let plain = |name: &str| found.get(name).unwrap();
        case.is("F_interaction", plain("f-interaction"));
        case.is("p_interaction", plain("p-interaction"));
        for (name, output) in [("EV", "repeat"), ("AV", "people"), ("GRR", "gauge"), ("PV", "between-parts")] {
            case.is(name, plain(output) / 1000.0);
        }
        case.is("pct_GRR", plain("gauge-of-total"));
    };
}

/// Ten parts read three times by three people, in order: the study printed in the measurement systems
/// analysis manual, ch. III.
const STUDY: &str = "parts=10
    first=0.29,-0.56,1.34,0.47,-0.80,0.02,0.59,-0.31,2.26,-1.36,0.41,-0.68,1.17,0.50,-0.92,-0.11,0.75,-0.20,1.99,-1.25,0.64,-0.58,1.27,0.64,-0.84,-0.21,0.66,-0.17,2.01,-1.31mm
    second=0.08,-0.47,1.19,0.01,-0.56,-0.20,0.47,-0.63,1.80,-1.68,0.25,-1.22,0.94,1.03,-1.20,0.22,0.55,0.08,2.12,-1.62,0.07,-0.68,1.34,0.20,-1.28,0.06,0.83,-0.34,2.19,-1.50mm
    third=0.04,-1.38,0.88,0.14,-1.46,-0.29,0.02,-0.46,1.77,-1.49,-0.11,-1.13,1.09,0.20,-1.07,-0.67,0.01,-0.56,1.45,-1.77,-0.15,-0.96,0.67,0.11,-1.45,-0.49,0.21,-0.49,1.87,-2.16mm";

/// Consumer's and producer's risk, 0 to 1: limits at -1 and 1, process of deviation 0.5.
fn risks(u: &str, guard: &str) -> (f64, f64) {
    let inputs = format!("mean=0mm spread=500um u={u} lower=-1mm upper=1mm guard={guard}");
    let found = answer("decision-risk", &inputs);
    (found.get("consumer").unwrap() / 100.0, found.get("producer").unwrap() / 100.0)
}

/// 4.448 221 615 260 5 N over 0.0254 m squared.
const PSI: f64 = 6_894.757_293_168_361;

/// Viscosity in reyn, speed in rev/s, load in lbf, diameter, diametral clearance and width in inches.
fn in_inches(reyn: f64, speed: f64, lbf: f64, diameter: f64, clearance: f64, width: f64) -> Bearing {
    Bearing {
        diameter: diameter * 0.0254,
        width: width * 0.0254,
        clearance: clearance * 0.0254,
        viscosity: reyn * PSI,
        speed,
        load: lbf * 4.448_221_615_260_5,
    }
}

fn ratio(bore_mm: f64, stroke_mm: f64, chamber: f64) -> f64 {
    let swept = work::displacement(bore_mm, stroke_mm);
    compression_ratio(&Compression { swept, chamber, ..Compression::default() }).unwrap()
}

/// Where the acceleration is nought: by halving, on the worksheet's own figures.
fn greatest_speed(throw: f64, rod: f64, rpm: f64) -> (f64, f64) {
    let at = |deg: f64| work::piston_motion(throw, rod, rpm, deg).unwrap();
    let (mut low, mut high) = (30.0, 90.0);
    for _ in 0..80 {
        let middle = (low + high) / 2.0;
        if at(middle).acceleration_m_s2 > 0.0 { low = middle } else { high = middle }
    }
    (low, at(low).velocity_m_s)
}

#[test]
fn every_case_is_tested_under_its_number_and_tag() {
    let tested: BTreeSet<&str> = TESTED.iter().map(|(_, id)| *id).collect();
    let all: BTreeSet<&str> =
        CASES.as_array().unwrap().iter().map(|case| case["id"].as_str().unwrap()).collect();
    assert_eq!(all, tested);
    for (name, id) in TESTED {
        let tag = Case::of(id).0["tag"].as_str().unwrap().replace('/', "").to_lowercase();
        let begins = format!("case_{}_{tag}_", id.replace('.', "_"));
        assert!(name.starts_with(&begins), "{name} should begin with {begins}");
    }
}
