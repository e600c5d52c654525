//! Before work starts: what this build needs and the shop has not.

use clap::Args;
use gudgeon_core::ready::{Group, Need, State, ready as needs};
use serde_json::{Value as Json, json};

use crate::desk::Desk;
use crate::out::{Answer, Outcome};
use crate::settings::Settings;

#[derive(Args, Debug)]
pub(crate) struct Ready {
    /// Only what is missing and what somebody has to look at.
    #[arg(long)]
    missing: bool,
}

pub(crate) fn ready(args: &Ready, settings: &Settings) -> Outcome {
    let desk = Desk::open(settings)?;
    let sight = desk.sight()?;
    sight.definition()?;
    let all = needs(&sight.record, &sight.workshop, &sight.assessment, desk.now());
    let mut answer = Answer::new();
    let mut before: Option<Group> = None;
    for need in &all {
        if args.missing && matches!(need.state, State::There(_)) {
            continue;
        }
        if before.replace(need.group) != Some(need.group) {
            answer.line(format!("{}:", need.group.title()));
        }
        line(&mut answer, need);
    }
    let count = |wanted: fn(&State) -> bool| all.iter().filter(|need| wanted(&need.state)).count();
    let missing = count(|state| matches!(state, State::Missing(..)));
    let look = count(|state| matches!(state, State::Look(_)));
    let there = all.len() - missing - look;
    answer.say(format!("{there} there, {missing} missing, {look} to look at"));
    answer.put("ready", missing == 0);
    answer.put("needs", all.iter().map(in_json).collect::<Json>());
    Ok(answer)
}

fn line(answer: &mut Answer, need: &Need) {
    let (word, found, hint) = parts(&need.state);
    answer.line(format!("  {word:<8} {}: {found}", need.what));
    if !hint.is_empty() {
        answer.line(format!("           {hint}"));
    }
}

fn parts(state: &State) -> (&'static str, &str, &str) {
    match state {
        State::There(with) => ("there", with, ""),
        State::Missing(why, hint) => ("MISSING", why, hint),
        State::Look(what) => ("look", what, ""),
    }
}

fn in_json(need: &Need) -> Json {
    let (word, found, hint) = parts(&need.state);
    json!({
        "group": need.group.title(), "what": need.what, "state": word.to_lowercase(),
        "found": found, "hint": if hint.is_empty() { Json::Null } else { hint.into() },
    })
}
