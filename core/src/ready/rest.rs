//! People, decisions, lubricants, tools and parts.

use std::collections::{BTreeMap, BTreeSet};

use super::{Build, Group, Need, State};
use crate::engine::{Asked, Signer, Target};
use crate::entry::EntryId;
use crate::quantity::Quantity;

/// Whether there are people to sign what the procedure asks for.
pub(super) fn people(build: Build) -> Vec<Need> {
    let roster = build.workshop.roster();
    let live = |lead: bool| -> BTreeSet<EntryId> {
        let keys = roster.keys().filter(|key| roster.may_connect(*key));
        let may = keys.filter(|key| if lead { roster.leads_now(*key) } else { roster.roles_of(*key).member });
        may.filter_map(|key| roster.person_of(key)).collect()
    };
    let (members, leads) = (live(false), live(true));
    let steps = build.definition.procedure();
    let mut needs = Vec::new();
    let mut ask = |what: &str, there: bool, found: String, missing: &str| {
        let hint = "`invite` them, or `enrol` a key that asks".to_owned();
        let state = if there { State::There(found) } else { State::Missing(missing.to_owned(), hint) };
        needs.push(Need { group: Group::People, what: what.to_owned(), state });
    };
    if steps.iter().any(|step| step.second_person) {
        let found = format!("{} who may enter", members.len());
        ask(
            "a second person for the steps that want one",
            members.len() > 1,
            found,
            "one person alone works here",
        );
    }
    if steps.iter().any(|step| step.sign == Signer::Lead) {
        let found = format!("{} who lead", leads.len());
        ask("a lead for the steps that want one", !leads.is_empty(), found, "nobody leads here");
    }
    needs
}

/// What a lead has to decide.
pub(super) fn decisions(build: Build) -> Vec<Need> {
    let mut subjects: BTreeMap<&str, State> = BTreeMap::new();
    for (instance, step) in build.definition.steps().iter().zip(build.assessment.steps()) {
        for (ask, evidence) in instance.asks.iter().zip(&step.evidence) {
            let Asked::Decision(subject) = &ask.asked else { continue };
            let state = match evidence.met {
                true => State::There(evidence.found.clone()),
                false => {
                    State::Missing(evidence.found.clone(), format!("a lead decides: decide {subject} …"))
                }
            };
            subjects.insert(subject, state);
        }
    }
    let need =
        |(subject, state): (&str, State)| Need { group: Group::Decisions, what: subject.to_owned(), state };
    subjects.into_iter().map(need).collect()
}

/// What the fasteners are to be lubricated with: nobody enters stocks of it, so somebody looks.
pub(super) fn lubricants(build: Build) -> Vec<Need> {
    let mut by_name: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for fastener in build.definition.fasteners() {
        by_name.entry(fastener.lubricant.trim()).or_default().push(&fastener.group);
    }
    let need = |(name, groups): (&str, Vec<&str>)| Need {
        group: Group::Lubricants,
        what: name.to_owned(),
        state: State::Look(format!("for {}: another one changes the preload", groups.join(", "))),
    };
    by_name.into_iter().map(need).collect()
}

/// Tools that are made for a size. Common practice, no source.
pub(super) fn tools(build: Build) -> Vec<Need> {
    let look =
        |what: String, why: &str| Need { group: Group::Tools, what, state: State::Look(why.to_owned()) };
    let mut needs = Vec::new();
    if let Some(bore) = finished_bore(build) {
        let why = "sleeves are made for one bore size, bands for a range: look that it is this one's";
        needs.push(look(format!("ring compressor for a bore of {bore}"), why));
    }
    if build.definition.layout().torque_plate() {
        let why = "bores are honed and measured under it, with the gasket and bolts of the build";
        needs.push(look("torque plate for the deck".to_owned(), why));
    }
    needs
}

fn finished_bore(build: Build) -> Option<String> {
    let size = |name: &str| build.definition.dimension(name).map(Quantity::amount);
    let bore = size("bore")?;
    let bore = size("oversize").map_or(Some(bore), |oversize| bore.checked_add(oversize))?;
    Some(crate::assess::show::amount(bore.kind(), bore.base()))
}

/// Parts of every sort that the procedure asks for: entered as often as there are places for them.
pub(super) fn parts(build: Build) -> Vec<Need> {
    let mut places: BTreeMap<&str, BTreeSet<Option<Target>>> = BTreeMap::new();
    for ask in build.definition.steps().iter().flat_map(|step| &step.asks) {
        if let Asked::Part(sort) = &ask.asked {
            places.entry(sort).or_default().insert(Some(ask.target));
        }
    }
    let need = |(sort, at): (&str, BTreeSet<Option<Target>>)| {
        let there = build.assessment.parts_of(build.record, sort).len();
        let state = match there >= at.len() {
            true => State::There(format!("{there} entered")),
            false => State::Missing(
                format!("{there} of {} entered", at.len()),
                format!("part receive {sort}/MARK, as they come in"),
            ),
        };
        Need { group: Group::Parts, what: format!("{} {sort}", at.len()), state }
    };
    places.into_iter().map(need).collect()
}
