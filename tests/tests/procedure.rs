//! The procedure on several engines: it never dead-ends, a wrong order is always seen, and a bad
//! edit is refused on load with its place and its reason.
//!
//! Each run is played from a seed, named where it fails. `GUDGEON_SEEDS` tries more of them.
#![allow(clippy::unwrap_used)]

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

use gudgeon_core::assess::{Progress, Rule};
use gudgeon_core::engine::characteristic::CHARACTERISTICS;
use gudgeon_core::engine::derivation::DERIVATIONS;
use gudgeon_core::engine::feature::FEATURES;
use gudgeon_core::engine::instrument::INSTRUMENTS;
use gudgeon_core::engine::part::PART_SORTS;
use gudgeon_core::engine::{Definition, EXAMPLE, Step, StepInstance};
use gudgeon_core::entry::payload::Meaning;
use gudgeon_tests::engines;
use gudgeon_tests::kit::{Walk, signed_before};
use gudgeon_tests::model::rng::Rng;

/// How often each property is tried on each engine.
fn seeds(usual: u64) -> std::ops::Range<u64> {
    let wanted = std::env::var("GUDGEON_SEEDS").ok().map(|text| text.parse().unwrap());
    0..wanted.unwrap_or(usual)
}

/// Every engine with every seed.
fn on_every_engine(usual: u64, check: impl Fn(&str, &str, u64)) {
    for (name, engine) in engines::ALL {
        for seed in seeds(usual) {
            check(&format!("{name}, seed {seed}"), engine, seed);
        }
    }
}

/// Does up to that many things in a random order, each when it can be done; says what was done.
fn random_work(walk: &mut Walk, rng: &mut Rng, most: usize, what: &str) -> Vec<usize> {
    let mut done = Vec::new();
    while done.len() < most && !walk.is_done() {
        let step = rng.pick(&walk.open_steps());
        let step = step.unwrap_or_else(|| panic!("{what}: after {} things nothing can be done", done.len()));
        walk.does(step);
        done.push(step);
    }
    done
}

/// Signatures that a build asks for.
fn signatures(definition: &Definition) -> usize {
    let of = |step: &StepInstance| 1 + usize::from(definition.step_of(step).second_person);
    definition.steps().iter().map(of).sum()
}

/// Steps found signed before what comes first, with what is said.
fn broken(walk: &Walk) -> Vec<(String, String)> {
    let findings = walk.assessment().findings();
    let order = findings.into_iter().filter(|finding| finding.rule == Rule::OrderBroken);
    order.map(|finding| (finding.subject.to_string(), finding.text.clone())).collect()
}

// ---- right orders

/// Each thing is done once: no step takes the ground from one that came before it.
#[test]
fn in_any_order_that_the_procedure_lets_through_the_build_comes_to_its_end() {
    on_every_engine(3, |what, engine, seed| {
        let mut walk = Walk::on(engine);
        let done = random_work(&mut walk, &mut Rng::new(seed), usize::MAX, what);
        assert_eq!(done.len(), signatures(walk.definition()), "{what}");
        let findings = walk.assessment().findings();
        assert!(findings.is_empty(), "{what}: {findings:#?}");
    });
}

#[test]
fn read_by_two_people_it_comes_to_its_end_all_the_same() {
    for (name, engine) in engines::ALL {
        let mut walk = Walk::on(engine).read_twice();
        random_work(&mut walk, &mut Rng::new(7), usize::MAX, name);
        let findings = walk.assessment().findings();
        assert!(findings.is_empty(), "{name}: {findings:#?}");
    }
}

/// Work that has to be done again opens what it ended, and the build still comes to its end.
#[test]
fn work_done_again_at_any_moment_does_not_dead_end() {
    let again = [
        ("hone", "bore/1"),
        ("polish-journal", "pin/1"),
        ("rod-bolts-changed", "rod/2"),
        ("line-bore", "block"),
        ("main-shells-changed", "main/2"),
        ("small-end-rebushed", "rod/3"),
        ("caustic-wash", "block"),
        ("crank-changed", "crank"),
    ];
    on_every_engine(2, |what, engine, seed| {
        let mut rng = Rng::new(seed);
        let mut walk = Walk::on(engine);
        let all = signatures(walk.definition());
        for _ in 0..2 {
            let most = rng.below(all * 2 / 3);
            random_work(&mut walk, &mut rng, most, what);
            let (operation, on) = rng.pick(&again).unwrap();
            walk.shop().max.did(operation, on);
            walk.look();
        }
        // Work may be ended, and so done again, more than once; not for ever.
        let done = random_work(&mut walk, &mut rng, all * 4, what);
        assert!(walk.is_done(), "{what}: not at its end after {} things more", done.len());
    });
}

// ---- wrong orders

/// An order that works, at random.
fn random_order(definition: &Definition, rng: &mut Rng) -> Vec<usize> {
    let mut order: Vec<usize> = Vec::new();
    while order.len() < definition.steps().len() {
        let ready = |at: &usize| {
            !order.contains(at) && definition.steps()[*at].prerequisites.iter().all(|p| order.contains(p))
        };
        let open: Vec<usize> = (0..definition.steps().len()).filter(ready).collect();
        order.push(rng.pick(&open).unwrap());
    }
    order
}

/// A step, and whether a second person signs it, where it asks for one.
type Signed = (usize, bool);

/// For each step signed before one that it waits for: its name, and what is to be said of it.
fn wrong_in(definition: &Definition, order: &[Signed]) -> Vec<(String, String)> {
    let mut signed: BTreeMap<usize, bool> = BTreeMap::new();
    let mut wrong = Vec::new();
    for &(at, by_two) in order {
        let step = &definition.steps()[at];
        let lacked = |lacks: &dyn Fn(usize) -> bool| -> Vec<String> {
            let all = step.prerequisites.iter().filter(|before| lacks(**before));
            all.map(|before| definition.steps()[*before].id.to_string()).collect()
        };
        let wants_second = |before: usize| definition.step_of(&definition.steps()[before]).second_person;
        let first = |before: usize| !signed.contains_key(&before);
        let second = |before: usize| signed.get(&before) == Some(&false) && wants_second(before);
        if let Some(said) = signed_before(&lacked(&first), &lacked(&second)) {
            wrong.push((step.id.to_string(), said));
        }
        signed.insert(at, by_two);
    }
    wrong
}

/// Signatures alone, in an order of which a few steps are moved ahead of what they wait for, and a few
/// second signatures are left out.
#[test]
fn in_any_wrong_order_every_wrong_step_is_named_the_first_among_them() {
    on_every_engine(4, |what, engine, seed| {
        let mut rng = Rng::new(seed);
        let mut walk = Walk::on(engine);
        let mut order: Vec<Signed> =
            random_order(walk.definition(), &mut rng).into_iter().map(|step| (step, true)).collect();
        for _ in 0..=rng.below(3) {
            let from = 1 + rng.below(order.len() - 1);
            let step = order.remove(from);
            order.insert(rng.below(from), step);
        }
        for _ in 0..rng.below(3) {
            let at = rng.below(order.len());
            order[at].1 = false;
        }
        let expected = wrong_in(walk.definition(), &order);
        order.iter().for_each(|&(step, second)| walk.signs_blindly(step, second));
        walk.look();
        let found = broken(&walk);
        if let Some(first) = expected.first() {
            assert!(found.contains(first), "{what}: {first:?} among {found:?}");
        }
        let sorted = |list: &[(String, String)]| list.iter().cloned().collect::<BTreeSet<_>>();
        assert_eq!(sorted(&found), sorted(&expected), "{what}");
    });
}

/// In the middle of a build somebody signs a step that still waits.
#[test]
fn a_step_signed_too_early_is_named_until_it_is_signed_again_and_the_build_goes_on() {
    on_every_engine(2, |what, engine, seed| {
        let mut rng = Rng::new(seed);
        let mut walk = Walk::on(engine);
        let most = rng.below(signatures(walk.definition()) - 20);
        random_work(&mut walk, &mut rng, most, what);
        assert_eq!(broken(&walk), [], "{what}");
        let steps = walk.assessment().steps();
        let waits: Vec<usize> =
            (0..steps.len()).filter(|&at| steps[at].progress == Progress::Blocked).collect();
        let early = rng.pick(&waits).unwrap();
        let (id, first) = (steps[early].id.to_string(), steps[early].waits_for[0]);
        let first = walk.definition().steps()[first].id.to_string();
        walk.signs(early, Meaning::Done);
        let found = broken(&walk);
        assert_eq!(found.len(), 1, "{what}: {found:?}");
        assert_eq!(found[0].0, id, "{what}");
        let said =
            ["signed before ", "signed before the second signature on "].map(|how| format!("{how}{first}"));
        assert!(said.iter().any(|said| found[0].1.starts_with(said)), "{what}: {}", found[0].1);

        random_work(&mut walk, &mut rng, usize::MAX, what);
        let named = broken(&walk).iter().any(|(step, _)| *step == id);
        let signed_again = walk.assessment().steps()[early].signature.as_ref().is_some_and(|s| s.stands());
        assert!(named || signed_again, "{what}");
        assert!(broken(&walk).iter().all(|(step, _)| *step == id), "{what}");
    });
}

// ---- edits

/// A step as text, waiting for these, with this evidence.
fn written(step: &Step, after: &[&str], evidence: &str) -> String {
    let kinds: Vec<String> = step.per.iter().map(|kind| format!("\"{kind}\"")).collect();
    let after: Vec<String> = after.iter().map(|id| format!("\"{id}\"")).collect();
    format!(
        "[[step]]\nid = \"{}\"\nstage = {}\ntitle = \"{}\"\nper = [{}]\nafter = [{}]\nevidence = [{evidence}]\n",
        step.id,
        step.stage,
        step.title,
        kinds.join(", "),
        after.join(", "),
    )
}

fn refusal(engine: &str, edit: &str) -> Vec<String> {
    match Definition::parse(&format!("{engine}\n{edit}")) {
        Ok(_) => Vec::new(),
        Err(problems) => {
            problems.iter().map(|problem| format!("{}: {}", problem.place, problem.reason)).collect()
        }
    }
}

/// Steps that a step comes after, however far back.
fn before(definition: &Definition, id: &str) -> BTreeSet<String> {
    let mut all: BTreeSet<String> = BTreeSet::new();
    let mut next = vec![id.to_owned()];
    while let Some(id) = next.pop() {
        let step = definition.procedure().iter().find(|step| step.id == id).unwrap();
        let fresh = step.after.iter().chain(&step.after_same).filter(|id| all.insert((*id).clone()));
        next.extend(fresh.cloned());
    }
    all
}

#[test]
fn an_order_made_circular_is_refused_with_both_steps_named() {
    on_every_engine(12, |what, engine, seed| {
        let mut rng = Rng::new(seed);
        let definition = Definition::parse(engine).unwrap();
        let late = rng.pick(definition.procedure()).unwrap();
        let earlier: Vec<String> = before(&definition, &late.id).into_iter().collect();
        let Some(early) = rng.pick(&earlier) else { return };
        let step = definition.procedure().iter().find(|step| step.id == early).unwrap();
        let said = refusal(engine, &written(step, &[&late.id], ""));
        assert_eq!(said.len(), 1, "{what}: {said:?}");
        let start = format!("step {early}: these wait for each other in a circle: ");
        let circle = said[0].strip_prefix(&start).unwrap_or_else(|| panic!("{what}: {said:?}"));
        let named: Vec<&str> = circle.split(", ").collect();
        assert!(named.contains(&&*early) && named.contains(&&*late.id), "{what}: {circle}");
    });
}

/// A piece of evidence of names that are known somewhere, put together at random.
fn random_evidence(definition: &Definition, rng: &mut Rng) -> String {
    let measured = CHARACTERISTICS.iter().map(|row| row.name);
    let values: Vec<&str> = measured.chain(DERIVATIONS.iter().map(|row| row.name)).collect();
    let groups = ["main-bolts", "main-studs", "rod-bolts", "head-bolts", "head-studs"];
    let (key, name) = match rng.below(8) {
        0 => ("judged", rng.pick(&values).unwrap()),
        1 => ("read", rng.pick(&values).unwrap()),
        2 => ("check", &*definition.checks()[rng.below(definition.checks().len())].name),
        3 => ("tightening", rng.pick(&groups).unwrap()),
        4 => ("operation", &*definition.operations()[rng.below(definition.operations().len())].name),
        5 => ("part", PART_SORTS[rng.below(PART_SORTS.len())].name),
        6 => ("gauge-check", INSTRUMENTS[rng.below(INSTRUMENTS.len())].name),
        _ => ("decision", "colour"),
    };
    let on = if rng.one_in(2) { String::new() } else { format!(", on = \"{}\"", random_kind(rng)) };
    format!("{{ {key} = \"{name}\"{on} }}")
}

fn random_kind(rng: &mut Rng) -> &'static str {
    FEATURES[rng.below(FEATURES.len())].name
}

/// What is not refused on load somebody can give: no step is let in that nobody can sign.
#[test]
fn an_edit_that_is_taken_asks_for_what_can_be_given_and_else_is_refused_at_its_place() {
    let (mut taken, mut refused) = (0, 0);
    for (name, engine) in engines::ALL {
        let definition = Definition::parse(engine).unwrap();
        let mut rng = Rng::new(11);
        for number in 0..100 {
            let evidence = random_evidence(&definition, &mut rng);
            let kind = random_kind(&mut rng);
            let edit = format!(
                "[[step]]\nid = \"extra\"\nstage = 9\ntitle = \"Extra\"\nper = [\"{kind}\"]\nevidence = [{evidence}]\n"
            );
            let what = format!("{name}, edit {number}: per {kind}, {evidence}");
            let said = refusal(engine, &edit);
            if !said.is_empty() {
                refused += 1;
                assert!(said.iter().all(|line| line.starts_with("step extra")), "{what}: {said:?}");
                continue;
            }
            taken += 1;
            let mut walk = Walk::on(&format!("{engine}\n{edit}"));
            let steps = walk.definition().steps();
            let extra = |at: &usize| walk.definition().step_of(&steps[*at]).id == "extra";
            // All alike; the last is the farthest from cylinder one.
            let Some(step) = (0..steps.len()).rfind(extra) else { continue };
            assert!(!steps[step].asks.is_empty(), "{what}: nothing is asked");
            walk.does(step);
            let progress = walk.assessment().steps()[step].progress;
            assert_eq!(progress, Progress::Signed, "{what}");
        }
    }
    assert!(taken > 40 && refused > 40, "{taken} taken, {refused} refused");
}

/// The three sorts of bad edit, with what is said of each.
#[test]
fn bad_edits_are_refused_with_place_and_reason() {
    let edits = [
        (
            "a circular order",
            "[[step]]\nid = \"washed\"\nstage = 12\ntitle = \"Wash\"\nper = [\"block\"]\n\
             after = [\"crank-turns\"]\nevidence = [{ check = \"final-wash\" }]\n",
        ),
        (
            "an unknown characteristic",
            "[[step]]\nid = \"bush-fit\"\nstage = 7\ntitle = \"Bush\"\nper = [\"small-end\"]\n\
             evidence = [{ read = \"diametre\" }]\n",
        ),
        (
            "evidence nobody can give: no limit to judge by",
            "[[step]]\nid = \"rod-straight\"\nstage = 7\ntitle = \"Rod straight\"\nper = [\"rod\"]\n\
             evidence = [{ judged = \"bend\" }]\n",
        ),
        (
            "evidence nobody can give: a check that nobody defined",
            "[[step]]\nid = \"looked-at\"\nstage = 7\ntitle = \"Look\"\nevidence = [{ check = \"looked-over\" }]\n",
        ),
        (
            "evidence nobody can give: bolts that are not there",
            "[[step]]\nid = \"head-on\"\nstage = 16\ntitle = \"Head\"\nper = [\"head\"]\n\
             evidence = [{ tightening = \"head-bolts\" }]\n",
        ),
        (
            "evidence nobody can give: a part of an engine that has none",
            "[[step]]\nid = \"liners-sit\"\nstage = 10\ntitle = \"Liners\"\nper = [\"cylinder\"]\n\
             evidence = [{ read = \"stand-out\", on = \"liner\" }]\n",
        ),
        (
            "evidence nobody can give: of which groove is not said",
            "[[step]]\nid = \"grooves\"\nstage = 6\ntitle = \"Grooves\"\nper = [\"bore\"]\n\
             evidence = [{ read = \"width\", on = \"piston-groove\" }]\n",
        ),
        (
            "a step that waits for one that is not there",
            "[[step]]\nid = \"marks\"\nstage = 16\ntitle = \"Marks\"\nafter = [\"timeing\"]\n",
        ),
    ];
    let line = EXAMPLE.lines().count();
    let mut shown = String::new();
    for (what, edit) in edits {
        writeln!(shown, "# {what}").unwrap();
        edit.lines().for_each(|line| writeln!(shown, "  {line}").unwrap());
        let Err(problems) = Definition::parse(&format!("{EXAMPLE}{edit}")) else {
            panic!("{what}: it is taken")
        };
        for problem in problems {
            // Lines counted from the edit, so that the example may grow.
            let at = format!("{}:", problem.line);
            let from = format!("+{}:", problem.line.checked_sub(line).unwrap());
            writeln!(shown, "! {}\n", problem.to_string().replacen(&at, &from, 1)).unwrap();
        }
    }
    let mut settings = insta::Settings::clone_current();
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.bind(|| insta::assert_snapshot!("procedure_edits", shown));
}
