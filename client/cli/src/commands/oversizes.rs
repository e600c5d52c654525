//! Oversizes side by side, from the bores as they stand in the record.

use clap::Args;
use gudgeon_core::assess::{LimitInForce, show};
use gudgeon_core::engine::{Asked, Definition};
use gudgeon_core::entry::Kind as EntryKind;
use gudgeon_core::plan::{self, CAUTIONS, Candidate, Reach, Wish, grounds};
use gudgeon_core::quantity::{Amount, Kind, Unit};
use gudgeon_core::work::{InRecord, WorkError, rounded};
use serde_json::{Value as Json, json};

use crate::desk::{Desk, Sight};
use crate::failure::{Failure, Problem};
use crate::out::{Answer, Outcome, columns, wrapped};
use crate::settings::Settings;

#[derive(Args, Debug)]
pub(crate) struct Oversizes {
    /// Oversizes to be compared, such as 0.25mm,0.50mm (with decimal commas "0,25;0,50mm", in quotes for the
    /// shell); those that are common where left out.
    #[arg(long, value_name = "SIZES")]
    candidates: Option<String>,
    /// Left for honing, on the diameter; 0.05 mm where left out.
    #[arg(long, value_name = "SIZE")]
    stock: Option<String>,
    /// What the bores were last bored to, where they were bored before: wear counts from there.
    #[arg(long, value_name = "SIZE")]
    made: Option<String>,
    /// Wear on one wall with the centre kept, which counts twice: yes or no; yes where left out.
    #[arg(long, value_name = "YES|NO")]
    one_sided: Option<String>,
}

/// Options by the input that they fill.
const OPTIONS: [(&str, &str); 4] = [
    ("oversizes", "--candidates"),
    ("stock", "--stock"),
    ("standard", "--made"),
    ("one-sided", "--one-sided"),
];

pub(crate) fn oversizes(args: &Oversizes, settings: &Settings) -> Outcome {
    let desk = Desk::open(settings)?;
    let sight = desk.sight()?;
    let place = InRecord {
        record: &sight.record,
        workshop: &sight.workshop,
        assessment: &sight.assessment,
        definition: sight.definition()?,
        at: None,
        of: None,
    };
    let wish = Wish {
        candidates: args.candidates.as_deref(),
        stock: args.stock.as_deref(),
        made: args.made.as_deref(),
        one_sided: args.one_sided.as_deref(),
    };
    let plan = plan::oversizes(&place, &wish).map_err(not_read)?;
    let decide = may_decide(&desk, &sight).then(|| decide(&sight, &plan, settings));
    let mut answer = Answer::new();
    head(&mut answer, &sight, &plan);
    columns(&sizes(&plan)).iter().for_each(|line| answer.line(line));
    columns(&changes(&plan)).iter().for_each(|line| answer.line(line));
    notes(&mut answer, &plan);
    fits(&mut answer, &plan);
    shelf(&mut answer, &plan);
    answer.line("formulas:");
    for ground in grounds() {
        tell(&mut answer, "  ", &format!("{}: {}; source: {}", ground.of, ground.formula, ground.source));
    }
    CAUTIONS.iter().for_each(|caution| answer.say(format!("caution: {caution}")));
    answer.line(format!("to decide: {}", decide.as_deref().unwrap_or("a lead decides")));
    put(&mut answer, &plan, decide.as_deref());
    Ok(answer)
}

/// What cannot be read, by the option that it was given with.
fn not_read(error: WorkError) -> Failure {
    let by_option = |mut problem: Problem| {
        if let Some((_, option)) = OPTIONS.iter().find(|(name, _)| *name == problem.place) {
            problem.place = (*option).to_owned();
        }
        problem
    };
    let problems = error.problems.into_iter().map(Problem::from).map(by_option);
    let hint = "gudgeon work clean-up --help explains them";
    Failure::refused("oversizes-input", "the oversizes cannot be compared", hint).with(problems.collect())
}

/// Whether a decision by the key of this home would count.
fn may_decide(desk: &Desk, sight: &Sight) -> bool {
    let may = |key| sight.roster().may_make(key, EntryKind::Decision).is_ok();
    desk.key_for(&[EntryKind::Decision]).is_ok_and(|row| may(row.key))
}

/// The command line that decides on the smallest that cleans up; else with the size left open.
fn decide(sight: &Sight, plan: &plan::Oversizes, settings: &Settings) -> String {
    // The subject that the procedure asks for, so that the decision is evidence of its step.
    let steps = sight.assessment.definition().map_or(&[][..], Definition::steps);
    let asks = steps.iter().flat_map(|step| &step.asks);
    let decisions = asks.filter(|ask| matches!(ask.asked, Asked::Decision(_)));
    let subject = decisions.map(|ask| ask.asked.name()).next();
    let text = plan.smallest().map_or_else(
        || "SIZE".to_owned(),
        |found| format!("{} mm, bore {}", over(found), length(found.bore)),
    );
    settings.line(&["decide", subject.unwrap_or("oversize"), &text])
}

fn head(answer: &mut Answer, sight: &Sight, plan: &plan::Oversizes) {
    let wear = if plan.times == 2 { "wear on one wall, counts twice" } else { "wear counts once" };
    let (nominal, made) = (in_both(plan.nominal), in_both(plan.made));
    answer.line(format!("{}: bore {nominal}, made {made}", sight.name()));
    answer.line(format!("{} left for honing; {wear}", length(plan.stock)));
    match (&plan.needed, plan.bores.worst(), plan.bores.best()) {
        (Ok(needed), Some(worst), Some(best)) => {
            let found = |bore: &plan::Bore| format!("{}, {}", bore.path, length(bore.largest));
            answer.line(format!("needed: {}", in_both(*needed)));
            answer.line(format!("worn most: {}; worn least: {}", found(worst), found(best)));
        }
        (Err(why), ..) => answer.line(format!("needed: not known, {why}")),
        (Ok(_), ..) => {}
    }
    if let Some(rests) = plan.bores.rests_on() {
        tell(answer, "", &format!("{rests}: the plan rests on those"));
    }
    plan.bores.unknown.iter().for_each(|why| tell(answer, "", &format!("not known: {why}")));
    said(plan).iter().for_each(|remark| tell(answer, "", &format!("note: {remark}")));
    plan.taken.iter().for_each(|taken| tell(answer, "", &format!("note: {taken}")));
}

/// Remarks on the bores; a question with the option that answers it.
fn said(plan: &plan::Oversizes) -> Vec<String> {
    let made = |why: &String| format!("{why}; say what to with --made SIZE: wear counts from there");
    plan.bores.remarks.iter().cloned().chain(plan.bores.ask_made.iter().map(made)).collect()
}

/// The sizes, one line a candidate under its heads.
fn sizes(plan: &plan::Oversizes) -> Vec<[String; 6]> {
    let heads = ["oversize mm", "called", "bore mm", "in", "cleans up", "to spare mm"];
    let mut rows = vec![heads.map(str::to_owned)];
    let smallest = plan.smallest().map(|found| found.oversize);
    rows.extend(plan.candidates.iter().map(|one| {
        let mark = if Some(one.oversize) == smallest { ", the smallest" } else { "" };
        [
            over(one),
            one.called(),
            digits(one.bore, 3),
            inches(one.bore, IN_INCHES),
            format!("{}{mark}", one.cleans.word()),
            known(one.to_spare),
        ]
    }));
    rows
}

/// What each changes, one line a candidate under its heads.
fn changes(plan: &plan::Oversizes) -> Vec<[String; 7]> {
    let off = |bore: Option<&plan::Bore>, none: &str| {
        format!("off {}", bore.map_or_else(|| none.to_owned(), |bore| bore.path.to_string()))
    };
    let (worst, best) = (off(plan.bores.worst(), "the worst"), off(plan.bores.best(), "the best"));
    let heads = ["oversize", &worst, &best, "each cm³", "all cm³", "ratio", "old rings"].map(str::to_owned);
    let mut rows = vec![heads];
    rows.extend(plan.candidates.iter().map(|one| {
        let figure = |found: &Result<Amount, String>, decimals| {
            found.as_ref().map_or_else(|_| "?".to_owned(), |found| digits(*found, decimals))
        };
        [
            over(one),
            known(one.off_worst),
            known(one.off_best),
            figure(&one.each, 1),
            figure(&one.all, 0),
            one.ratio.as_ref().map_or_else(|_| "?".to_owned(), |ratio| ratio.show(Unit::ToOne, 2)),
            format!("+{}", digits(one.old_rings, 2)),
        ]
    }));
    rows
}

fn known(found: Option<Amount>) -> String {
    found.map_or_else(|| "?".to_owned(), |found| digits(found, 3))
}

/// What stands in the way of a candidate, and why figures of the table are not known.
fn notes(answer: &mut Answer, plan: &plan::Oversizes) {
    for one in &plan.candidates {
        one.notes.iter().for_each(|note| tell(answer, "", &format!("note: {}: {note}", over(one))));
    }
    if plan.needed.is_ok() && plan.bores.unknown.is_empty() && plan.smallest().is_none() {
        answer.line("note: none of these is sure to clean up: a larger one, or a liner");
    }
    let Some(first) = plan.candidates.first() else { return };
    if first.ratio.is_ok() {
        let volumes = "the definition's chamber, dish, crevice, gasket and deck";
        tell(answer, "", &format!("ratio: with {volumes}; another piston may have another dish"));
    }
    let all = [
        ("displacement", first.all.as_ref().err()),
        ("ratio", first.ratio.as_ref().err()),
        ("skirt", first.skirt.as_ref().err()),
    ];
    for (what, why) in all {
        if let Some(why) = why {
            answer.line(format!("not known: {what}: {why}"));
        }
    }
}

/// A sentence in lines that a narrow screen holds.
fn tell(answer: &mut Answer, indent: &str, text: &str) {
    for (at, line) in wrapped(text, 76).into_iter().enumerate() {
        let further = if at == 0 { "" } else { "  " };
        answer.line(format!("{indent}{further}{line}"));
    }
}

/// Rings and clearances that the sizes were computed for.
fn fits(answer: &mut Answer, plan: &plan::Oversizes) {
    if let Ok(limit) = &plan.clearance {
        answer.line(format!("skirt: for a piston clearance of {}", limits(limit)));
    }
    let rings = "old rings: what their gap would grow by; rings of the oversize are needed, each gapped in its own bore:";
    tell(answer, "", rings);
    for ring in &plan.rings {
        let gap = ring.limits.as_ref().map_or_else(|why| format!("not known, {why}"), limits);
        answer.line(format!("  {}: {gap}", ring.ring));
    }
    let plate =
        if plan.torque_plate { "on: the definition asks for it" } else { "not asked for by the definition" };
    answer.line(format!("torque plate while boring and measuring: {plate}"));
}

fn limits(limit: &LimitInForce) -> String {
    let source = if limit.source.is_empty() { "no source given" } else { &limit.source };
    format!("{} ({source})", show::limits(Kind::Length, limit.lower, limit.upper))
}

/// What each candidate needs to hand, and what of it the shop has.
fn shelf(answer: &mut Answer, plan: &plan::Oversizes) {
    let heads = ["to hand", "bore gauge", "to set it on", "skirt mm", "micrometer for it"];
    let mut rows = vec![heads.map(str::to_owned)];
    rows.extend(plan.candidates.iter().map(|one| {
        let micrometer = one.tools.skirt.as_ref().map_or_else(|| "?".to_owned(), reach);
        let skirt = one.skirt.as_ref().map(|(low, high)| show::span(Kind::Length, low.base(), high.base()));
        let skirt = skirt.map_or_else(|_| "?".to_owned(), |span| span.trim_end_matches(" mm").to_owned());
        [over(one), reach(&one.tools.bore_gauge), reach(&one.tools.setting), skirt, micrometer]
    }));
    columns(&rows).iter().for_each(|line| answer.line(line));
    if rows.iter().flatten().any(|cell| cell.contains(NO_RANGE)) {
        answer.line("range?: its range is not entered, with `gauge add`: look whether it reaches");
    }
    answer.line("ring compressor: a sleeve of the bore's own size, or a band that holds it");
}

/// Stands behind a mark whose range nobody has entered.
const NO_RANGE: &str = " (range?)";

fn reach(reach: &Reach) -> String {
    let not_stated = reach.not_stated.iter().map(|mark| format!("{mark}{NO_RANGE}"));
    let all: Vec<String> = reach.holds.iter().map(ToString::to_string).chain(not_stated).collect();
    if all.is_empty() { "none here reaches it".to_owned() } else { all.join(", ") }
}

fn put(answer: &mut Answer, plan: &plan::Oversizes, decide: Option<&str>) {
    answer.put("bore", size(plan.nominal));
    answer.put("made", size(plan.made));
    answer.put("stock", size(plan.stock));
    answer.put("wear_counts", plan.times);
    answer.put("needed", figure(&plan.needed));
    answer.put("needed_in", plan.needed.as_ref().ok().map(|needed| size_in(*needed)));
    answer.put("worst", plan.bores.worst().map(bore_json));
    answer.put("best", plan.bores.best().map(bore_json));
    answer.put("not_known", plan.bores.unknown.as_slice());
    answer.put("notes", [&said(plan)[..], &plan.taken[..]].concat());
    answer.put("candidates", plan.candidates.iter().map(candidate_json).collect::<Json>());
    answer.put("smallest", plan.smallest().map(|found| size(found.oversize)));
    let ring = |ring: &plan::RingGap| json!({ "ring": &*ring.ring, "gap": limit_json(&ring.limits) });
    answer.put("rings", plan.rings.iter().map(ring).collect::<Json>());
    answer.put("piston_clearance", limit_json(&plan.clearance));
    answer.put("torque_plate", plan.torque_plate);
    let ground = |g: plan::Ground| json!({ "of": g.of, "formula": g.formula, "source": g.source });
    answer.put("bores_measured", json!({ "measured": plan.bores.found.len(), "of": plan.bores.count }));
    let (read, all) = plan.bores.stations;
    answer.put("stations_read", json!({ "read": read, "of": all }));
    answer.put("formulas", grounds().into_iter().map(ground).collect::<Json>());
    answer.put("cautions", CAUTIONS.as_slice());
    answer.put("decide", decide);
}

fn bore_json(bore: &plan::Bore) -> Json {
    json!({ "bore": &*bore.path, "largest": size(bore.largest), "smallest": size(bore.smallest) })
}

fn candidate_json(one: &Candidate) -> Json {
    let marks = |reach: &Reach| {
        let list = |marks: &[std::sync::Arc<str>]| marks.iter().map(ToString::to_string).collect::<Json>();
        json!({ "here": list(&reach.holds), "range_not_stated": list(&reach.not_stated) })
    };
    let skirt = match &one.skirt {
        Ok((low, high)) => json!({ "lower": size(*low), "upper": size(*high) }),
        Err(why) => json!({ "why": why }),
    };
    json!({
        "oversize": size(one.oversize), "oversize_in": size_in(one.oversize), "called": one.called(),
        "bore": size(one.bore), "bore_in": size_in(one.bore), "cleans_up": one.cleans.word(),
        "to_spare": one.to_spare.map(size), "off_worst": one.off_worst.map(size), "off_best": one.off_best.map(size),
        "each": figure(&one.each), "all": figure(&one.all), "ratio": figure(&one.ratio),
        "old_rings_grow": size(one.old_rings), "skirt": skirt, "notes": one.notes,
        "tools": {
            "bore_gauge": marks(&one.tools.bore_gauge), "to_set_it_on": marks(&one.tools.setting),
            "skirt_micrometer": one.tools.skirt.as_ref().map(marks), "ring_compressor": size(one.bore),
        },
    })
}

fn limit_json(limit: &Result<LimitInForce, String>) -> Json {
    let end = |base: Option<i64>| base.map(|base| size(Amount::new(Kind::Length, base)));
    match limit {
        Ok(limit) => json!({ "lower": end(limit.lower), "upper": end(limit.upper), "source": limit.source }),
        Err(why) => json!({ "why": why }),
    }
}

fn figure(found: &Result<Amount, String>) -> Json {
    found.as_ref().map_or_else(|why| json!({ "why": why }), |found| size(*found))
}

fn size(amount: Amount) -> Json {
    let (unit, decimals) = show::unit_of(amount.kind());
    number(amount, unit, decimals)
}

fn size_in(amount: Amount) -> Json {
    number(amount, Unit::Inch, IN_INCHES)
}

/// A number as the worksheets give one out.
fn number(amount: Amount, unit: Unit, decimals: u8) -> Json {
    let value = amount.to_f64(unit).map(|value| rounded(value, decimals));
    json!({ "value": value, "unit": unit.symbol() })
}

/// Decimals of a bore in inches.
const IN_INCHES: u8 = 4;

fn inches(length: Amount, decimals: u8) -> String {
    length.digits(Unit::Inch, decimals).unwrap_or_default()
}

/// `80.500 mm (3.1693 in)`.
fn in_both(size: Amount) -> String {
    format!("{} ({} in)", length(size), inches(size, IN_INCHES))
}

fn over(one: &Candidate) -> String {
    format!("+{}", digits(one.oversize, 3))
}

fn digits(amount: Amount, decimals: u8) -> String {
    amount.digits(show::unit_of(amount.kind()).0, decimals).unwrap_or_default()
}

fn length(amount: Amount) -> String {
    show::amount(Kind::Length, amount.base())
}
