//! Tightening stage by stage, and checks.

use clap::Args;
use gudgeon_core::engine::{Asked, Definition, suggest};
use gudgeon_core::entry::Payload;
use gudgeon_core::entry::payload::{Check, Tightening, TighteningAct};
use gudgeon_core::quantity::{Kind, Quantity};
use serde_json::{Value as Json, json};

use crate::desk::{Desk, Sight};
use crate::enter::Entered;
use crate::failure::Failure;
use crate::out::{Answer, Outcome};
use crate::pick;
use crate::settings::Settings;
use crate::way;

#[derive(Args, Debug)]
#[command(group(clap::ArgGroup::new("act").required(true)))]
pub(crate) struct Tighten {
    /// Group of fasteners, such as rod-bolts.
    group: String,
    /// The places, such as rod/3/bolts; several are one entry each.
    #[arg(required = true)]
    places: Vec<String>,
    /// Run down by hand and nipped.
    #[arg(long, group = "act")]
    nip: bool,
    /// Number of the stage, all bolts.
    #[arg(long, value_name = "N", requires = "set", group = "act")]
    stage: Option<u32>,
    /// Slackened.
    #[arg(long, group = "act")]
    slacken: bool,
    /// What the wrench was set to, such as "28 N·m".
    #[arg(long)]
    set: Option<String>,
    /// Mark of the wrench.
    #[arg(long, default_value = "")]
    wrench: String,
    /// What was on thread and face.
    #[arg(long, default_value = "")]
    lubricant: String,
    /// A bolt that went otherwise, such as "2: stopped short, slackened".
    #[arg(long, value_name = "BOLT: WORDS")]
    except: Vec<String>,
    /// Words.
    #[arg(long, default_value = "")]
    note: String,
}

#[derive(Args, Debug)]
pub(crate) struct Checked {
    /// Name of the check, such as turns-free.
    name: String,
    /// Where, such as crank or rod/3/bolts; several are one entry each; the engine as a whole otherwise.
    features: Vec<String>,
    /// It did not pass.
    #[arg(long)]
    failed: bool,
    /// The step it was made for.
    #[arg(long, default_value = "")]
    step: String,
    /// What was found.
    #[arg(long, default_value = "")]
    note: String,
}

pub(crate) fn tighten(args: &Tighten, settings: &Settings) -> Outcome {
    let mut desk = Desk::open(settings)?;
    let sight = desk.sight()?;
    let says = acts(args, &sight)?;
    let entered = desk.enter(sight, &says)?;
    let mut answer = Answer::new();
    entered.say_saved(&mut answer);
    add_groups(&mut answer, &entered, settings, args);
    add_stops(&mut answer, &entered);
    entered.add_changes(&mut answer);
    Ok(answer)
}

fn acts(args: &Tighten, sight: &Sight) -> Result<Vec<Payload>, Failure> {
    let act = match args.stage {
        Some(number) => TighteningAct::Stage(number),
        None if args.nip => TighteningAct::Nipped,
        None => TighteningAct::Slackened,
    };
    let set_point = args.set.as_deref().map(set_point).transpose()?;
    let exceptions = args.except.iter().map(|text| exception(text)).collect::<Result<Vec<_>, _>>()?;
    let one = |place: &String| {
        Ok(Payload::Tightening(Tightening {
            group: args.group.clone(),
            place: place_of(sight.definition()?, sight, &args.group, place)?,
            act,
            set_point: set_point.clone(),
            wrench: args.wrench.clone(),
            lubricant: args.lubricant.clone(),
            exceptions: exceptions.clone(),
            note: args.note.clone(),
        }))
    };
    args.places.iter().map(one).collect()
}

/// A torque or an angle.
fn set_point(text: &str) -> Result<Quantity, Failure> {
    let angle = Quantity::parse(text).ok().filter(|parsed| parsed.kind() == Kind::Angle);
    Ok(angle.map_or_else(|| Quantity::parse_as(text, Kind::Torque), Ok)?)
}

fn exception(text: &str) -> Result<(u32, String), Failure> {
    let bad = || {
        Failure::refused("exception", format!("`{text}` names no bolt"), "write it as \"2: what happened\"")
    };
    let (bolt, words) = text.split_once(':').ok_or_else(bad)?;
    Ok((bolt.trim().parse().map_err(|_| bad())?, words.trim().to_owned()))
}

fn place_of(definition: &Definition, sight: &Sight, group: &str, place: &str) -> Result<String, Failure> {
    let fastener = definition.fastener(group).ok_or_else(|| {
        let known: Vec<&str> =
            definition.fasteners().iter().map(|fastener| fastener.group.as_str()).collect();
        Failure::not_found(
            "unknown-group",
            format!("`{group}` is no group of fasteners here"),
            suggest(group, &known),
        )
    })?;
    let feature = pick::feature(sight, place)?;
    if feature.kind() != fastener.place {
        let near = definition.related(&feature, fastener.place);
        let paths: Vec<&str> = near.iter().map(|feature| feature.path()).collect();
        let cause = format!("{group} sit at a {}, not at a {}", fastener.place, feature.kind());
        return Err(Failure::refused("wrong-place", cause, suggest(place, &paths)));
    }
    Ok(feature.path().to_owned())
}

/// Adds every stop that stands: who turns the crank or pulls a bolt is to see its tag.
fn add_stops(answer: &mut Answer, entered: &Entered) {
    way::stops(&entered.after).iter().for_each(|stop| answer.line(stop));
}

/// Adds how far each of the groups is now.
fn add_groups(answer: &mut Answer, entered: &Entered, settings: &Settings, args: &Tighten) {
    let stages =
        entered.after.assessment.definition().and_then(|definition| definition.fastener(&args.group));
    let all = stages.map_or(0, |fastener| fastener.stages.len());
    let order = stages.map(|fastener| fastener.order.trim()).filter(|order| !order.is_empty());
    let mut groups: Vec<Json> = Vec::new();
    for (group, place, done, complete) in entered.after.assessment.tightenings() {
        if group == args.group && args.places.iter().any(|asked| asked == place) {
            let state = if complete { "complete" } else { "not complete" };
            answer.line(format!("{group} at {place}: {done} of {all} stages, {state}"));
            if let Some(next) = way::to_tightening(&entered.after, settings, group, place) {
                answer.line(format!("  next: {next}"));
            }
            if let Some(order) = order.filter(|_| !complete) {
                answer.line(format!("  the maker's order: {order}"));
            }
            groups.push(json!({ "group": group, "place": place, "stages_done": done, "stages": all, "complete": complete }));
        }
    }
    answer.put("groups", groups);
}

pub(crate) fn checked(args: &Checked, settings: &Settings) -> Outcome {
    let mut desk = Desk::open(settings)?;
    let sight = desk.sight()?;
    let says = checks(args, &sight)?;
    let entered = desk.enter(sight, &says)?;
    let mut answer = entered.answer();
    add_stops(&mut answer, &entered);
    let counts = counts_as(&entered, settings);
    counts.iter().for_each(|line| answer.line(line));
    if !entered.add_served(&mut answer) && counts.is_empty() && !args.failed {
        answer.line(asked_elsewhere(&entered.after, settings, args));
    }
    Ok(answer)
}

/// What a turn check counts as, and what comes next on each of its groups.
fn counts_as(entered: &Entered, settings: &Settings) -> Vec<String> {
    let sight = &entered.after;
    let say = |(group, place, done): (&str, &str, u32)| {
        let next = way::to_tightening(sight, settings, group, place);
        let next = next.map_or_else(String::new, |next| format!("; next: {next}"));
        format!("it counts as the turn check after stage {done} of {group} at {place}{next}")
    };
    entered.places().flat_map(|ix| sight.assessment.turn_check_of(ix).map(say)).collect()
}

/// Says that no step asks for a check there, and what one asks for.
fn asked_elsewhere(sight: &Sight, settings: &Settings, args: &Checked) -> String {
    let steps = sight.assessment.definition().map_or(&[][..], Definition::steps);
    let asks = (0..).zip(steps).flat_map(|(at, step)| (0..).zip(&step.asks).map(move |ask| (at, ask)));
    let mut of_name =
        asks.filter(|(_, (_, ask))| matches!(&ask.asked, Asked::Check(name) if *name == args.name));
    let way = of_name.find_map(|(at, (piece, _))| way::to_evidence(sight, settings, at, piece));
    let way = way.map_or_else(String::new, |way| format!("; what a step asks for: {way}"));
    format!("no step asks for check {} there{way}", args.name)
}

fn checks(args: &Checked, sight: &Sight) -> Result<Vec<Payload>, Failure> {
    let definition = sight.definition()?;
    let known: Vec<&str> = definition.checks().iter().map(|check| check.name.as_str()).collect();
    if !known.contains(&args.name.as_str()) {
        let cause = format!("`{}` is no check of this procedure", args.name);
        return Err(Failure::not_found("unknown-check", cause, suggest(&args.name, &known)));
    }
    let step = match args.step.as_str() {
        "" => String::new(),
        id => sight.assessment.steps()[pick::step(sight, id)?].id.to_string(),
    };
    let one = |feature: String| {
        Payload::Check(Check {
            check: args.name.clone(),
            feature,
            passed: !args.failed,
            step: step.clone(),
            note: args.note.clone(),
        })
    };
    if args.features.is_empty() {
        return Ok(vec![one(String::new())]);
    }
    let place = |path: &String| Ok(one(pick::feature(sight, path)?.path().to_owned()));
    args.features.iter().map(place).collect()
}
