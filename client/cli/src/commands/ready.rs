//! Before work starts: what this build needs and the shop has not.

use std::collections::BTreeSet;

use clap::Args;
use gudgeon_core::ready::{Group, Need, Remedy, State, ready as needs};
use serde_json::{Value as Json, json};

use super::gauge_line;
use crate::desk::{Desk, Sight};
use crate::out::{Answer, Outcome, wrapped};
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
    let way_out = |need: &Need| way_out(&desk, &sight, settings, &need.state);
    let mut answer = Answer::new();
    let mut before: Option<Group> = None;
    let mut said = BTreeSet::new();
    for need in &all {
        if args.missing && matches!(need.state, State::There(_) | State::Later(_)) {
            continue;
        }
        if before.replace(need.group) != Some(need.group) {
            answer.line(format!("{}:", need.group.title()));
        }
        // One way out may serve many needs: it is told with the first.
        let way_out = way_out(need);
        let first = said.insert(way_out.clone());
        line(&mut answer, need, if first { &way_out } else { "" });
    }
    let count = |wanted: fn(&State) -> bool| all.iter().filter(|need| wanted(&need.state)).count();
    let missing = count(|state| matches!(state, State::Missing(..)));
    let look = count(|state| matches!(state, State::Look(..)));
    let later = count(|state| matches!(state, State::Later(_)));
    let there = all.len() - missing - look - later;
    let when = if later > 0 { format!(", {later} later") } else { String::new() };
    answer.say(format!("{there} there, {missing} missing, {look} to look at{when}"));
    answer.put("ready", missing == 0);
    answer.put("needs", all.iter().map(|need| in_json(need, &way_out(need))).collect::<Json>());
    Ok(answer)
}

/// The way out of what is not there, as it can be typed where one command is it; else empty.
fn way_out(desk: &Desk, sight: &Sight, settings: &Settings, state: &State) -> String {
    let remedy = match state {
        State::There(_) | State::Later(_) => return String::new(),
        State::Missing(_, remedy) | State::Look(_, remedy) => remedy,
    };
    match remedy {
        Remedy::None => String::new(),
        Remedy::Words(words) => words.clone(),
        Remedy::Run(words) => settings.line(&words.iter().map(String::as_str).collect::<Vec<_>>()),
        Remedy::Enter(mark) => {
            gauge_line::sentence(desk, &sight.workshop, settings, mark).unwrap_or_default()
        }
    }
}

/// A need in lines that a narrow screen holds. What can be typed is not broken.
fn line(answer: &mut Answer, need: &Need, way_out: &str) {
    let (word, found) = parts(&need.state);
    let lines = wrapped(&format!("{}: {found}", need.what), WIDTH - INDENT);
    let mut word = word;
    for text in lines {
        answer.line(format!("  {word:<8} {text}"));
        word = "";
    }
    if !way_out.is_empty() {
        answer.line(format!("{:INDENT$}{way_out}", ""));
    }
}

/// Columns of a narrow screen, and those before the words of a need.
const WIDTH: usize = 80;
const INDENT: usize = 11;

fn parts(state: &State) -> (&'static str, &str) {
    match state {
        State::There(with) => ("there", with),
        State::Missing(why, _) => ("MISSING", why),
        State::Look(what, _) => ("look", what),
        State::Later(when) => ("later", when),
    }
}

fn in_json(need: &Need, way_out: &str) -> Json {
    let (word, found) = parts(&need.state);
    json!({
        "group": need.group.title(), "what": need.what, "state": word.to_lowercase(),
        "found": found, "hint": if way_out.is_empty() { Json::Null } else { way_out.into() },
    })
}
