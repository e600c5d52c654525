//! People, decisions, lubricants and tools.

use std::collections::{BTreeMap, BTreeSet};

use super::{Build, Group, Need, Remedy, State, chosen};
use crate::assess::Evidence;
use crate::engine::{Asked, Liners, Signer};
use crate::entry::EntryId;

/// Whether there are people to sign what the procedure asks for.
pub(super) fn people(build: Build) -> Vec<Need> {
    let (members, leads) = (who(build, false), who(build, true));
    let steps = build.definition.procedure();
    let mut needs = Vec::new();
    let mut ask = |what: &str, there: bool, found: String| {
        let way_out = || Remedy::Words("`invite` them, or `enrol` a key that asks".to_owned());
        let state = if there { State::There(found) } else { State::Missing(found, way_out()) };
        needs.push(Need { group: Group::People, what: what.to_owned(), state });
    };
    if steps.iter().any(|step| step.second_person) {
        let found = match &members[..] {
            [] => "nobody here may enter and sign".to_owned(),
            [one] => format!("{one} alone may enter and sign here"),
            several => names(several),
        };
        ask("a second person for the steps that want one", members.len() > 1, found);
    }
    if steps.iter().any(|step| step.sign == Signer::Lead) {
        let found = if leads.is_empty() { "nobody leads here".to_owned() } else { names(&leads) };
        ask("a lead for the steps that want one", !leads.is_empty(), found);
    }
    needs
}

/// Names of those who lead, or of those who may enter and sign, each once.
fn who(build: Build<'_>, lead: bool) -> Vec<&str> {
    let roster = build.workshop.roster();
    let keys = roster.keys().filter(|key| roster.may_connect(*key));
    let may = keys.filter(|key| if lead { roster.leads_now(*key) } else { roster.roles_of(*key).member });
    let people: BTreeSet<EntryId> = may.filter_map(|key| roster.person_of(key)).collect();
    let mut names: Vec<&str> = people.into_iter().map(|id| roster.name_of(id).unwrap_or("?")).collect();
    names.sort_unstable();
    names
}

/// A few names, and how many there are besides.
fn names(all: &[&str]) -> String {
    let (few, rest) = all.split_at(all.len().min(4));
    let more = if rest.is_empty() { String::new() } else { format!(" and {} more", rest.len()) };
    format!("{}{more}", few.join(", "))
}

/// What a lead has to decide, and the customer to approve: each once its ground is there.
pub(super) fn decisions(build: Build) -> Vec<Need> {
    let mut asked: BTreeMap<String, State> = BTreeMap::new();
    for (instance, step) in build.definition.steps().iter().zip(build.assessment.steps()) {
        let undecided = |subject: &str| {
            let mut asks = instance.asks.iter().zip(&step.evidence);
            asks.any(|(ask, found)| !found.met && ask.asked == Asked::Decision(subject.to_owned()))
        };
        for (ask, evidence) in instance.asks.iter().zip(&step.evidence) {
            let (what, missing) = match &ask.asked {
                Asked::Decision(subject) => {
                    let decide = Remedy::run(&["decide", subject, "WHAT IS DECIDED"]);
                    (subject.clone(), State::Missing(format!("{}; a lead decides", evidence.found), decide))
                }
                Asked::Approval(subject) => (format!("{subject}, approved"), unapproved(subject, evidence)),
                Asked::Judged(_)
                | Asked::Read(_)
                | Asked::Check(_)
                | Asked::Tightening(_)
                | Asked::Operation(_)
                | Asked::Part(_)
                | Asked::GaugeCheck(_) => continue,
            };
            let state = if evidence.met {
                State::There(evidence.found.clone())
            } else if !step.waits_for.is_empty() {
                State::Later(format!("once {} signed", are(&firsts(build, &step.waits_for))))
            } else if matches!(&ask.asked, Asked::Approval(subject) if undecided(subject)) {
                State::Later(format!("once {} is decided", ask.asked.name()))
            } else {
                missing
            };
            asked.insert(what, state);
        }
    }
    let need = |(what, state): (String, State)| Need { group: Group::Decisions, what, state };
    asked.into_iter().map(need).collect()
}

fn unapproved(subject: &str, evidence: &Evidence) -> State {
    let who = ["approve", subject, "--who", "THE CUSTOMER", "--how", "HOW IT WAS GIVEN"];
    State::Missing(evidence.found.clone(), Remedy::run(&who))
}

/// Steps as written, each once, whichever features they wait on.
fn firsts<'b>(build: Build<'b>, instances: &[usize]) -> Vec<&'b str> {
    let steps = build.definition.steps();
    let mut names: Vec<&str> =
        instances.iter().map(|at| &*build.definition.step_of(&steps[*at]).id).collect();
    names.dedup();
    names
}

/// `one is`, `one and two are`, `one, two and three are`.
fn are(names: &[&str]) -> String {
    match names {
        [] => "nothing is".to_owned(),
        [one] => format!("{one} is"),
        [rest @ .., last] => format!("{} and {last} are", rest.join(", ")),
    }
}

/// What the fasteners are to be lubricated with: nobody enters stocks of it, so somebody looks.
pub(super) fn lubricants(build: Build) -> Vec<Need> {
    let mut by_name: BTreeMap<String, (&str, Vec<String>)> = BTreeMap::new();
    for fastener in build.definition.fasteners() {
        let name = fastener.lubricant.trim();
        // As the fold compares them.
        let (_, groups) = by_name.entry(name.to_ascii_lowercase()).or_insert((name, Vec::new()));
        groups.push(format!("{} ({})", fastener.group, fastener.faces));
    }
    let need = |(name, groups): (&str, Vec<String>)| {
        let why = format!("for {}: another one changes the preload", groups.join(", "));
        Need { group: Group::Lubricants, what: name.to_owned(), state: State::Look(why, Remedy::None) }
    };
    by_name.into_values().map(need).collect()
}

/// Tools that are made for a size. Common practice, no source.
pub(super) fn tools(build: Build) -> Vec<Need> {
    let look = |what: &str, why: &str| {
        let state = State::Look(why.to_owned(), Remedy::None);
        Need { group: Group::Tools, what: what.to_owned(), state }
    };
    let mut needs = Vec::new();
    if let Some(bore) = chosen::bore(build) {
        let why = "a sleeve is made for one bore size, a band for a range: look that it is this one's";
        needs.push(look(&format!("ring compressor for a bore of {}", bore.words()), why));
    }
    if build.definition.layout().torque_plate() {
        let why = "bores are honed and measured under it, with the gasket and bolts of the build";
        needs.push(look("torque plate for the deck", why));
    }
    if build.definition.layout().liners() == Liners::Wet {
        needs.push(look("clamps for the liners", "a free liner lifts when anything turns"));
    }
    needs
}
