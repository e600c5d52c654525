//! Each refusal, with its exact text.

use super::{EXAMPLE, lines};
use crate::engine::feature::FEATURES;
use crate::engine::{Definition, LARGEST, Problem};

/// The example with one text in it replaced; it must be there once.
fn example_with(from: &str, to: &str) -> String {
    assert_eq!(EXAMPLE.matches(from).count(), 1, "`{from}` should be there once");
    EXAMPLE.replacen(from, to, 1)
}

fn refused(text: &str) -> String {
    lines(&Definition::parse(text).unwrap_err())
}

/// Problems with their lines counted from another one, so that the example may grow.
fn counted_from(line: usize, text: &str) -> String {
    let problems = Definition::parse(text).unwrap_err();
    let relative = |problem: &Problem| {
        let (found, column) = (problem.line, problem.column);
        let (from, to) = (i64::try_from(found).unwrap(), i64::try_from(line).unwrap());
        let own = format!("{found}:{column}:");
        problem.to_string().replacen(&own, &format!("{:+}:{column}:", from - to), 1) + "\n"
    };
    problems.iter().map(relative).collect()
}

/// What is said of the example with one text replaced, lines counted from there.
fn said(from: &str, to: &str) -> String {
    let text = example_with(from, to);
    let at = EXAMPLE.find(from).unwrap();
    counted_from(EXAMPLE[..at].matches('\n').count() + 1, &text)
}

/// What is said of the example with something added, lines counted from its last.
fn said_of(added: &str) -> String {
    counted_from(EXAMPLE.matches('\n').count(), &format!("{EXAMPLE}{added}"))
}

/// What is said, without lines and columns.
fn unplaced(text: &str) -> String {
    let problems = Definition::parse(text).unwrap_err();
    problems.iter().map(|problem| format!("{}: {}\n", problem.place, problem.reason)).collect()
}

/// The example with four things wrong, in four tables.
fn four_wrongs() -> String {
    EXAMPLE
        .replace("bore = \"80.00 mm\"", "boar = \"80.00 mm\"")
        .replace("thrust-main = 3", "thrust-main = 6")
        .replace("\"28 N·m\"", "\"28 mm\"")
        .replace("for = \"crankpins\"", "far = \"crankpins\"")
}

/// Steps in plenty, each waiting for the one written after it.
fn many_steps(count: usize, rest: &str) -> String {
    let step = |at: usize| {
        let after = if at + 1 < count { format!("\"s{}\"", at + 1) } else { String::new() };
        format!("[[step]]\nid = \"s{at}\"\nstage = 9\ntitle = \"s\"\nafter = [{after}]\n{rest}\n")
    };
    (0..count).map(step).collect()
}

fn every_kind() -> String {
    let kinds = FEATURES.iter().filter(|row| !row.kind.is_part());
    let names: Vec<String> = kinds.map(|row| format!("\"{}\"", row.name)).collect();
    format!("per = [{}]", names.join(", "))
}

/// One test a row: the text, and each problem on a line.
macro_rules! refusals {
    ($($name:ident: $said:expr => [$($wanted:literal),* $(,)?];)*) => {
        $(#[test]
        fn $name() {
            let wanted: &[&str] = &[$($wanted),*];
            let said = $said;
            assert_eq!(said.lines().collect::<Vec<_>>(), wanted);
        })*
    };
}

refusals! {
    a_text_too_long: refused(&"#".repeat(LARGEST + 1)) =>
        ["1:1: file: 262145 bytes; at most 262144 are read"];
    all_problems_at_once: unplaced(&four_wrongs()) =>
        [
            "layout: thrust at main 6, but there are 5 mains",
            "dimensions: `bore` is missing",
            "dimensions, boar: unknown dimension",
            "fastener rod-bolts, stage 1: 28 mm is a length; a torque is needed",
            "instrument: `for` is missing",
            "instrument outside-micrometer: unknown key `far`",
        ];
    not_toml: refused("schema = 1\nname = \n[layout\n") =>
        [
            "2:8: file: not TOML: string values must be quoted, expected literal string",
            "3:8: file: not TOML: unclosed table, expected `]`",
        ];
    another_schema: said("schema = 1", "schema = 2") =>
        ["-3:1: engine: schema 2 is not known; this reads 1 (a later program may read it)"];
    an_empty_text: refused("") =>
        ["1:1: engine: `schema` is missing"];
    no_tables: refused("schema = 1\nname = \"x\"\n") =>
        [
            "1:1: engine: the table [layout] is missing",
            "1:1: engine: the table [dimensions] is missing (bore, stroke and the rest)",
            "1:1: engine: the table [materials] is missing (block, crank, rod and piston)",
        ];
    an_unknown_key: said("cylinders = 4", "cylinders = 4\ncilinders = 4") =>
        ["+1:1: layout: unknown key `cilinders` (did you mean `cylinders`?)"];
    an_unknown_table: said("[materials]", "[matter]\n[materials]") =>
        ["+0:2: engine: unknown key `matter` (known: schema, layout, name, note, dimensions, ring, fastener, instrument, material, materials, limit, operation, check, step, dropped-step)"];
    a_float: said("mains = 5", "mains = 5.0") =>
        ["+0:9: layout: `mains` is a decimal number without quotes; it takes a whole number"];
    a_float_where_a_size_stands: said("stroke = \"89.00 mm\"", "stroke = 89.00") =>
        ["+0:10: dimensions, stroke: it is a decimal number without quotes; it takes a text in quotes (such as \"80.00 mm\")"];
    a_number_out_of_bounds: said("cylinders = 4", "cylinders = 17") =>
        ["+0:13: layout: `cylinders` is 17; it may be 1 to 16"];
    a_list_for_a_text: said("name = \"Ouse 1.8\"", "name = [1]") =>
        ["+0:8: engine: `name` is a list; it takes a text in quotes"];
    a_text_for_a_truth: said("nip = true", "nip = \"yes\"") =>
        ["+0:7: fastener rod-bolts: `nip` is a text; it takes true or false"];
    a_text_for_a_list: said("stages = [\"28 N·m\", \"42 N·m\"]", "stages = \"28 N·m\"") =>
        ["+0:10: fastener rod-bolts: `stages` is a text; it takes a list"];
    a_text_for_a_table: said("[layout]", "layout = \"inline\"\n[lay-out]") =>
        [
            "+0:10: engine: `layout` is a text; it takes a table",
            "+1:2: engine: unknown key `lay-out` (did you mean `layout`?)",
        ];

    a_form_unknown: said("form = \"inline\"", "form = \"straight\"") =>
        ["+0:8: layout: `form` is `straight` (inline, vee or flat)"];
    a_vee_without_an_angle: said("form = \"inline\"", "form = \"vee\"") =>
        ["+0:8: layout: a vee needs its `bank-angle` (such as \"90 deg\")"];
    an_angle_on_an_inline: said("form = \"inline\"", "form = \"inline\"\nbank-angle = \"90 deg\"") =>
        ["+1:14: layout: `bank-angle` is for a vee (leave it out)"];
    a_flat_without_banks: said("form = \"inline\"", "form = \"flat\"") =>
        ["-1:1: layout: 0 banks are given; this form has 2 (one [[layout.bank]] each, with name and cylinders)"];
    a_bank_that_misses_a_cylinder: said("form = \"inline\"", "form = \"inline\"\nbank = [{ name = \"one\", cylinders = [1, 2, 3, 3] }]") =>
        ["-1:1: layout: the banks hold the cylinders 1-2-3-3 (each cylinder 1 to 4 stands once)"];
    a_bank_without_cylinders: said("form = \"inline\"", "form = \"inline\"\nbank = [{ name = \"One\" }]") =>
        [
            "+1:9: layout, bank One: `cylinders` is missing (from the front, such as [1, 3])",
            "+1:18: layout, bank One: `One` is no name (lower case letters, digits and hyphens, at most 40)",
        ];
    pins_unknown: said("pins = \"own\"", "pins = \"split\"") =>
        ["+0:8: layout: `pins` is `split` (own or shared)"];
    pins_shared_in_line: said("pins = \"own\"", "pins = \"shared\"") =>
        ["-6:1: layout: shared pins need two banks of equal length (or `pins = \"own\"`)"];
    liners_unknown: said("liners = \"none\"", "liners = \"damp\"") =>
        ["+0:10: layout: `liners` is `damp` (none, dry or wet)"];
    a_thrust_main_too_far: said("thrust-main = 3", "thrust-main = 6") =>
        ["-4:1: layout: thrust at main 6, but there are 5 mains"];
    a_firing_order_that_is_none: said("[1, 3, 4, 2]", "[1, 3, 3, 2]") =>
        ["+0:16: layout: the firing order 1-3-3-2 is wrong (each cylinder 1 to 4 fires once)"];
    no_firing_order: said("firing-order = [1, 3, 4, 2]", "") =>
        ["-8:1: layout: `firing-order` is missing"];

    a_dimension_unknown: said("stroke = \"89.00 mm\"", "stroke = \"89.00 mm\"\nstork = \"1 mm\"") =>
        ["+1:1: dimensions, stork: unknown dimension (did you mean `stroke`?)"];
    a_dimension_missing: said("stroke = \"89.00 mm\"\n", "") =>
        ["-3:1: dimensions: `stroke` is missing (twice the crank throw)"];
    a_dimension_of_another_kind: said("stroke = \"89.00 mm\"", "stroke = \"89.00 g\"") =>
        ["+0:10: dimensions, stroke: 89.00 g is a mass; a length is needed (such as in mm)"];
    a_dimension_without_a_unit: said("stroke = \"89.00 mm\"", "stroke = \"89.00\"") =>
        ["+0:10: dimensions, stroke: `89.00` has no unit (add the unit, such as 89.00 mm)"];
    a_dimension_of_nought: said("stroke = \"89.00 mm\"", "stroke = \"0 mm\"") =>
        ["+0:10: dimensions, stroke: 0 mm is not above nought (twice the crank throw)"];

    a_material_unknown: said("crank = \"steel-1040\"", "crank = \"steel-1041\"") =>
        ["+0:9: materials: `steel-1041` is no known material of the crank (did you mean `steel-1040`?; or add a [[material]])"];
    a_material_missing: said("crank = \"steel-1040\"\n", "") =>
        ["-3:1: materials: `crank` is missing"];
    a_material_known_already: said_of("[[material]]\nname = \"grey-iron\"\nexpansion = \"11 ppm/°C\"\nsource = \"x\"\n") =>
        ["+1:1: material grey-iron: a material of this name is known already (choose another)"];
    a_material_that_shrinks: said_of("[[material]]\nname = \"odd\"\nexpansion = \"-1 ppm/°C\"\nsource = \"x\"\n") =>
        ["+1:1: material odd: `expansion` is not above nought"];
    a_material_without_figures: said_of("[[material]]\nname = \"odd\"\n") =>
        [
            "+1:1: material odd: `expansion` is missing (such as \"11.5 ppm/°C\")",
            "+1:1: material odd: `source` is missing",
        ];

    a_ring_sort_unknown: said("name = \"top\"\nsort = \"compression\"", "name = \"top\"\nsort = \"plain\"") =>
        ["+1:8: ring top: `sort` is `plain` (compression, rail or expander)"];
    a_ring_twice: unplaced(&example_with("name = \"second\"\nsort", "name = \"top\"\nsort")) =>
        [
            "ring top: `top` is in the pack already",
            "limit gap of ring/*/second: `ring/*/second` means no feature of this engine",
            "limit width of ring/*/second: `ring/*/second` means no feature of this engine",
        ];
    a_ring_with_a_bad_name: said("name = \"expander\"", "name = \"Oil/ring\"") =>
        ["+0:8: ring Oil/ring: `Oil/ring` is no name (lower case letters, digits and hyphens, at most 40)"];
    too_many_rings: unplaced(&(EXAMPLE.to_owned() + &"[[ring]]\nname = \"x\"\nsort = \"rail\"\n".repeat(4))) =>
        [
            "engine: 9 rings on a piston; at most 8 can be told apart",
            "ring x: `x` is in the pack already",
            "ring x: `x` is in the pack already",
        ];

    a_limit_upside_down: said("lower = \"80.495 mm\"", "lower = \"80.595 mm\"") =>
        ["+0:9: limit diameter of bore/*: the lower end 80.595 mm is above the upper end 80.520 mm (exchange the two, or check the units)"];
    a_limit_of_another_kind: said("upper = \"3 N·m\"", "upper = \"3 mm\"") =>
        ["+0:9: limit turning-torque of crank: 3 mm is a length; a torque is needed (such as in N·m)"];
    a_limit_with_no_end: said("upper = \"3 N·m\"\n", "") =>
        ["-4:1: limit turning-torque of crank: neither `lower` nor `upper` is given (give at least one)"];
    a_limit_without_a_source: said("upper = \"3 N·m\"\nsource = \"invented for the demo build\"\n", "upper = \"3 N·m\"\n") =>
        ["-4:1: limit turning-torque of crank: `source` is missing"];
    a_limit_on_no_feature: said_of("[[limit]]\ncharacteristic = \"clearance\"\nfeature = \"main/7\"\nupper = \"1 mm\"\nsource = \"x\"\n") =>
        ["+3:11: limit clearance of main/7: `main/7` means no feature of this engine (did you mean `main/5`?)"];
    a_limit_of_nothing_measured: said_of("[[limit]]\ncharacteristic = \"clearence\"\nfeature = \"main/*\"\nupper = \"1 mm\"\nsource = \"x\"\n") =>
        ["+2:18: limit clearence of main/*: `clearence` is not measured on main (did you mean `clearance`?)"];
    a_limit_twice: said_of("[[limit]]\ncharacteristic = \"clearance\"\nfeature = \"main/*\"\nupper = \"1 mm\"\nsource = \"x\"\n") =>
        ["+1:1: limit clearance of main/*: this limit is given twice (keep one of the two)"];
    a_limit_at_no_station: said("station = \"mains/running\"", "station = \"mains/walking\"") =>
        ["+0:11: limit turning-torque of crank: `turning-torque` has no station `mains/walking` (did you mean `mains/running`?)"];
    a_rule_unknown: said_of("[[limit]]\ncharacteristic = \"twist\"\nfeature = \"rod/*\"\nupper = \"1 mm\"\nsource = \"x\"\nrule = \"lax\"\n") =>
        ["+6:8: limit twist of rod/*: `rule` is `lax` (strict, shared or simple)"];

    a_fastener_nowhere: said("where = \"rod-bolts\"", "where = \"rod\"") =>
        ["+0:9: fastener rod-bolts: no fastener sits at `rod` (known: main, rod-bolts, head, crank, cam, block)"];
    a_fastener_twice: said("group = \"rod-bolts\"", "group = \"main-bolts\"") =>
        ["-1:1: fastener main-bolts: this group is given twice (each group has one name)"];
    a_method_unknown: said("method = \"torque\"", "method = \"feel\"") =>
        ["+0:10: fastener main-bolts: `method` is `feel` (torque, stretch or angle)"];
    a_stage_that_falls: said("\"60 N·m\"", "\"20 N·m\"") =>
        ["+0:21: fastener main-bolts, stage 2: 20 N·m does not follow on the stage before (torques rise, and no torque follows an angle)"];
    a_stage_of_another_kind: said("\"60 N·m\"", "\"60 deg\"") =>
        ["+0:21: fastener main-bolts, stage 2: 60 deg is an angle; a torque is needed (such as in N·m)"];
    a_stage_of_nought: said("\"30 N·m\"", "\"0 N·m\"") =>
        ["+0:11: fastener main-bolts, stage 1: 0 N·m is not above nought"];
    no_stages: said("stages = [\"30 N·m\", \"60 N·m\", \"90 N·m\"]", "stages = []") =>
        ["-10:1: fastener main-bolts: 0 stages are given; 1 to 12 may be (`stages` lists the set points, such as [\"30 N·m\"])"];
    an_angle_method_ending_in_torque: said("method = \"torque\"", "method = \"angle\"") =>
        ["-9:1: fastener main-bolts: the last stage is a torque (by angle, the last stage is an angle)"];
    a_torque_after_an_angle: said("method = \"torque\"\nstages = [\"30 N·m\", \"60 N·m\", \"90 N·m\"]", "method = \"angle\"\nstages = [\"30 N·m\", \"90 deg\", \"60 N·m\", \"90 deg\"]") =>
        ["+1:31: fastener main-bolts, stage 3: 60 N·m does not follow on the stage before (torques rise, and no torque follows an angle)"];
    reuse_unknown: said("reuse = \"allowed\"", "reuse = \"maybe\"") =>
        ["+0:9: fastener main-bolts: `reuse` is `maybe` (never, allowed or within-growth)"];
    growth_missing: said("growth = \"0.05 mm\"\n", "") =>
        ["-1:9: fastener rod-bolts: how much growth is missing (`growth` gives it, such as \"0.05 mm\")"];
    growth_for_nothing: said("reuse = \"allowed\"", "reuse = \"allowed\"\ngrowth = \"1 mm\"") =>
        ["+0:9: fastener main-bolts: `growth` is for within-growth (leave `growth` out, or say `reuse = \"within-growth\"`)"];
    stretch_without_a_limit: said("characteristic = \"stretch\"\nfeature = \"rod/*/bolts\"\nlower = \"0.11 mm\"\nupper = \"0.14 mm\"", "characteristic = \"free-length\"\nfeature = \"rod/*/bolts\"\nlower = \"45 mm\"\nupper = \"46 mm\"") =>
        ["+115:1: fastener rod-bolts: it is proven by stretch, but no limit of `stretch` is given there (add a [[limit]] of stretch, or say method = \"torque\")"];

    an_instrument_unknown: said("sort = \"feeler\"", "sort = \"feelers\"") =>
        ["+0:8: instrument feelers: unknown sort (did you mean `feeler`?)"];
    an_instrument_range_backwards: said("low = \"25 mm\"\nhigh = \"50 mm\"", "low = \"50 mm\"\nhigh = \"25 mm\"") =>
        ["-2:1: instrument outside-micrometer: the range 50 mm to 25 mm runs backwards"];

    an_operation_on_nothing: said_of("[[operation]]\nname = \"hone\"\n") =>
        ["+1:1: operation hone: `on` names no kind of feature (such as [\"bore\"])"];
    an_operation_on_a_stranger: said_of("[[operation]]\nname = \"hone\"\non = [\"boar\"]\n") =>
        ["+3:7: operation hone: `boar` is no kind of feature (did you mean `bore`?)"];
    an_operation_that_ends_a_stranger: said_of("[[operation]]\nname = \"hone\"\non = [\"bore\"]\n[[operation.ends]]\nfeature = \"bore/{n}\"\ncharacteristics = [\"diametre\"]\nreason = \"x\"\n") =>
        ["+6:20: operation hone, ends 1: `diametre` is not measured there (did you mean `diameter`?)"];
    an_operation_that_ends_two_things: said_of("[[operation]]\nname = \"hone\"\non = [\"bore\"]\n[[operation.ends]]\nfeature = \"bore/{n}\"\nevery = true\ntightening = true\nreason = \"x\"\n") =>
        ["+4:1: operation hone, ends 1: it must say one thing that ends (`characteristics`, `checks`, `every = true` or `tightening = true`)"];
    an_operation_with_no_reason: said_of("[[operation]]\nname = \"hone\"\non = [\"bore\"]\n[[operation.ends]]\nfeature = \"bore/{n}\"\nevery = true\n") =>
        ["+4:1: operation hone, ends 1: `reason` is missing"];
    an_operation_with_a_wrong_variable: said_of("[[operation]]\nname = \"hone\"\non = [\"bore\"]\n[[operation.ends]]\nfeature = \"bore/{mark}\"\nevery = true\nreason = \"x\"\n") =>
        ["+5:11: operation hone, ends 1: nothing stands for `{mark}` on bore (known there: {n}, {bank})"];
    an_operation_that_ends_nowhere: said_of("[[operation]]\nname = \"hone\"\non = [\"bore\"]\n[[operation.ends]]\nfeature = \"boar/{n}\"\nevery = true\nreason = \"x\"\n") =>
        ["+5:11: operation hone, ends 1: `boar/{n}` means no feature of this engine (did you mean `bore/{n}`?)"];
    an_operation_that_ends_no_check: said_of("[[operation]]\nname = \"hone\"\non = [\"bore\"]\n[[operation.ends]]\nfeature = \"bore/{n}\"\nchecks = [\"finalwash\"]\nreason = \"x\"\n") =>
        ["+6:11: operation hone, ends 1: `finalwash` is no known check (did you mean `final-wash`?)"];
    an_operation_edited_twice: said_of(&"[[operation]]\nname = \"hone\"\non = [\"bore\"]\n".repeat(2)) =>
        ["+4:1: operation hone: it is edited twice on bore (give all that it ends in one [[operation]])"];

    a_step_after_a_stranger: said_of("[[step]]\nid = \"extra\"\nstage = 9\ntitle = \"Extra\"\nafter = [\"big-end-clearence\"]\n") =>
        ["+1:1: step extra: it comes after `big-end-clearence`, which is no step (did you mean `big-end-clearance`?)"];
    steps_in_a_circle: said_of("[[step]]\nid = \"one\"\nstage = 9\ntitle = \"One\"\nafter = [\"two\"]\n[[step]]\nid = \"two\"\nstage = 9\ntitle = \"Two\"\nafter-same = [\"one\"]\n") =>
        ["+1:1: step one: these wait for each other in a circle: one, two (take `two` out of `after` of `one`, or another link of the circle)"];
    a_step_twice: said_of(&"[[step]]\nid = \"one\"\nstage = 9\ntitle = \"One\"\n".repeat(2)) =>
        ["+5:1: step one: this step is given twice (each step has one id)"];
    a_step_twice_on_a_kind: said_of("[[step]]\nid = \"one\"\nstage = 9\ntitle = \"One\"\nper = [\"bore\", \"bore\"]\n") =>
        ["+1:1: step one: `per` names bore twice"];
    too_many_rows: unplaced(&(EXAMPLE.to_owned() + &"[[check]]\nname = \"a\"\nsays = \"b\"\n".repeat(501))) =>
        ["engine: `check` has 501 rows; at most 500 are read"];
    too_many_instances: unplaced(&(EXAMPLE.to_owned() + &many_steps(240, &every_kind()))) =>
        ["procedure: more than 3000 steps or 20000 pieces of evidence on this engine"];
    a_step_of_no_stage: said_of("[[step]]\nid = \"one\"\nstage = 19\ntitle = \"One\"\n") =>
        ["+1:1: step one: there is no stage 19 (1 to 18)"];
    a_step_on_a_part: said_of("[[step]]\nid = \"one\"\nstage = 9\ntitle = \"One\"\nper = [\"gudgeon\"]\n") =>
        ["+1:1: step one: `per` names gudgeon, which is on parts with free marks (do it per bore and ask for evidence `on` the part)"];
    a_step_with_a_stranger_to_warn: said_of("[[step]]\nid = \"one\"\nstage = 9\ntitle = \"One\"\ncautions = [\"hand-out\"]\n") =>
        ["+5:13: step one: unknown caution `hand-out` (did you mean `hands-out`?)"];
    a_signer_unknown: said_of("[[step]]\nid = \"one\"\nstage = 9\ntitle = \"One\"\nsign = \"boss\"\n") =>
        ["+5:8: step one: `sign` is `boss` (member or lead)"];
    evidence_of_two_things: said_of("[[step]]\nid = \"one\"\nstage = 9\ntitle = \"One\"\nevidence = [{ read = \"gap\", check = \"swept\" }]\n") =>
        ["+5:13: step one, evidence 1: it must ask for one thing (one of judged, read, check, tightening, operation, part, decision, approval, gauge-check)"];
    one_at_a_time_ended_by_no_step_there: said_of("[[step]]\nid = \"one\"\nstage = 9\ntitle = \"One\"\nper = [\"bore\"]\none-at-a-time = \"received\"\n") =>
        ["+1:1: step one: `one-at-a-time` names `received`, which is not a step on the same features (name a step with the same `per`, or leave it out)"];
    one_at_a_time_ended_by_a_slip: said_of("[[step]]\nid = \"one\"\nstage = 15\ntitle = \"One\"\nper = [\"cylinder\"]\none-at-a-time = \"cylinder-turn\"\n") =>
        ["+1:1: step one: `one-at-a-time` names `cylinder-turn`, which is not a step on the same features (did you mean `cylinder-turns`?)"];
    evidence_of_a_group_by_a_slip: said_of("[[step]]\nid = \"one\"\nstage = 14\ntitle = \"One\"\nper = [\"main\"]\nevidence = [{ tightening = \"main-bolt\" }]\n") =>
        ["+6:28: step one: it asks for the tightening of `main-bolt`, which is not given (did you mean `main-bolts`? else add a [[fastener]], or replace or drop the step)"];
    an_approval_of_no_name: said_of("[[step]]\nid = \"one\"\nstage = 9\ntitle = \"One\"\nevidence = [{ approval = \"new sizes\" }]\n") =>
        ["+5:26: step one, evidence 1: `new sizes` is no name of a decision"];
    evidence_never_measured: said_of("[[step]]\nid = \"one\"\nstage = 9\ntitle = \"One\"\nper = [\"bore\"]\nevidence = [{ read = \"diametre\" }, { judged = \"tapir\" }]\n") =>
        [
            "+6:22: step one: `diametre` is not read on bore (did you mean `diameter`?)",
            "+6:47: step one: `tapir` is not measured on bore (did you mean `taper`?)",
        ];
    evidence_without_a_limit: said_of("[[step]]\nid = \"one\"\nstage = 9\ntitle = \"One\"\nper = [\"rod\"]\nevidence = [{ judged = \"twist\" }]\n") =>
        ["+6:24: step one: `twist` on rod is to be judged, but no limit covers it (add a [[limit]], or replace or drop the step)"];
    evidence_at_no_station: said_of("[[step]]\nid = \"one\"\nstage = 9\ntitle = \"One\"\nper = [\"crank\"]\nevidence = [{ read = \"turning-torque\", station = \"main/running\" }]\n") =>
        ["+6:22: step one: `turning-torque` on crank has no station `main/running` (did you mean `mains/running`?)"];
    evidence_of_the_whole_engine: said_of("[[step]]\nid = \"one\"\nstage = 9\ntitle = \"One\"\nevidence = [{ read = \"gap\" }]\n") =>
        ["+5:22: step one: `gap` is asked of the engine as a whole (say on which kind of feature with `on`)"];
    evidence_on_a_kind_that_is_not_there: said_of("[[step]]\nid = \"one\"\nstage = 9\ntitle = \"One\"\nper = [\"bore\"]\nevidence = [{ read = \"stand-out\", on = \"liner\" }]\n") =>
        ["+6:22: step one: `stand-out` is asked on liner, which this engine has not (leave it out, or ask for it on another kind)"];
    evidence_on_a_groove_of_no_ring: said_of("[[step]]\nid = \"one\"\nstage = 9\ntitle = \"One\"\nper = [\"bore\"]\nevidence = [{ read = \"width\", on = \"piston-groove\" }]\n") =>
        ["+6:22: step one: `width` is asked on piston-groove, of which a part has several (leave it out, or ask for it on another kind)"];
    evidence_of_no_check: said_of("[[step]]\nid = \"one\"\nstage = 9\ntitle = \"One\"\nevidence = [{ check = \"swepd\" }]\n") =>
        ["+5:23: step one: it asks for the check `swepd`, which is not known (did you mean `swept`?)"];
    evidence_of_no_group: said_of("[[step]]\nid = \"one\"\nstage = 9\ntitle = \"One\"\nper = [\"head\"]\nevidence = [{ tightening = \"head-bolts\" }]\n") =>
        ["+6:28: step one: it asks for the tightening of `head-bolts`, which is not given (add a [[fastener]], or replace or drop the step)"];
    evidence_of_a_group_elsewhere: said_of("[[step]]\nid = \"one\"\nstage = 9\ntitle = \"One\"\nper = [\"rod\"]\nevidence = [{ tightening = \"rod-bolts\" }]\n") =>
        ["+6:28: step one: `rod-bolts` sits at rod-bolts, not at rod (ask for it on = \"rod-bolts\")"];
    evidence_of_no_operation: said_of("[[step]]\nid = \"one\"\nstage = 9\ntitle = \"One\"\nper = [\"bore\"]\nevidence = [{ operation = \"hon\" }]\n") =>
        ["+6:27: step one: the operation `hon` is not done on bore (did you mean `hone`?)"];
    evidence_of_no_part: said_of("[[step]]\nid = \"one\"\nstage = 9\ntitle = \"One\"\nper = [\"bore\"]\nevidence = [{ part = \"pistn\" }]\n") =>
        ["+6:22: step one, evidence 1: `pistn` is no sort of part (did you mean `piston`?)"];
    evidence_of_a_part_elsewhere: said_of("[[step]]\nid = \"one\"\nstage = 9\ntitle = \"One\"\nper = [\"rod\"]\nevidence = [{ part = \"piston\" }]\n") =>
        ["+6:22: step one: a piston is not fitted at rod (it goes to bore)"];
    evidence_of_no_instrument: said_of("[[step]]\nid = \"one\"\nstage = 9\ntitle = \"One\"\nevidence = [{ gauge-check = \"bore-gage\" }]\n") =>
        ["+5:29: step one, evidence 1: `bore-gage` is no sort of instrument (did you mean `bore-gauge`?)"];
    evidence_of_an_odd_decision: said_of("[[step]]\nid = \"one\"\nstage = 9\ntitle = \"One\"\nevidence = [{ decision = \"The Sizes\" }]\n") =>
        ["+5:26: step one, evidence 1: `The Sizes` is no name of a decision"];
    a_check_without_words: said_of("[[check]]\nname = \"odd\"\n") =>
        ["+1:1: check odd: `says` is missing"];
    a_dropped_step_that_never_was: said_of("[[dropped-step]]\nid = \"ring-gaps\"\nreason = \"x\"\n") =>
        ["+2:6: dropped-step ring-gaps: there is no such step (did you mean `ring-gap`?)"];
    a_dropped_step_without_a_reason: said_of("[[dropped-step]]\nid = \"ring-gap\"\n") =>
        ["+1:1: dropped-step: `reason` is missing"];
    a_group_that_the_procedure_misses: unplaced(&example_with("group = \"main-bolts\"", "group = \"cap-bolts\"")) =>
        ["step mains-tightened: it asks for the tightening of `main-bolts`, which is not given"];
}

#[test]
fn values_within_values_without_end_are_refused_not_followed() {
    for (open, count) in [("[", 100_000), ("{a=", 60_000)] {
        let said = unplaced(&format!("schema = {}", open.repeat(count)));
        assert!(said.starts_with("file: not TOML: "), "{}", said.lines().next().unwrap());
    }
    let keys = format!("schema = 1\n{}b = 1\n", "a.".repeat(100_000));
    assert!(Definition::parse(&keys).is_err());
}

#[test]
fn too_many_steps_are_refused_before_they_are_sorted() {
    let count = Definition::parse(EXAMPLE).unwrap().procedure().len() + 300;
    let said = unplaced(&(EXAMPLE.to_owned() + &many_steps(300, "")));
    assert_eq!(said, format!("procedure: {count} steps; at most 300 are read\n"));
}

#[test]
fn a_step_can_be_dropped_and_what_waited_for_it_waits_for_what_it_waited_for() {
    let text = EXAMPLE.to_owned() + "[[dropped-step]]\nid = \"ring-gap\"\nreason = \"done by others\"\n";
    let engine = Definition::parse(&text).unwrap();
    assert_eq!(engine.step_index("ring-gap/1/top"), None);
    let side = &engine.steps()[engine.step_index("ring-side-clearance/1/top").unwrap()];
    let before: Vec<&str> = side.prerequisites.iter().map(|&at| &*engine.steps()[at].id).collect();
    assert_eq!(before, ["piston-clearance/1"]);
}

#[test]
fn a_shop_may_replace_a_row_of_operations_and_a_step() {
    let text = EXAMPLE.to_owned()
        + "[[operation]]\nname = \"hone\"\non = [\"bore\"]\n[[operation.ends]]\nfeature = \"bore/{n}\"\nevery = true\nreason = \"our way\"\n"
        + "[[step]]\nid = \"timing\"\nstage = 16\ntitle = \"Our timing\"\nafter = [\"piston-height\"]\nevidence = [{ check = \"our-check\" }]\n"
        + "[[check]]\nname = \"our-check\"\nsays = \"as we do it\"\n";
    let engine = Definition::parse(&text).unwrap();
    let ends = engine.ends("hone", &engine.feature("bore/2").unwrap());
    assert_eq!((ends.len(), ends[0].reason), (1, "our way"));
    let timing = &engine.steps()[engine.step_index("timing").unwrap()];
    assert_eq!(engine.step_of(timing).title, "Our timing");
}
