//! Letting in by hand: of two that ask by one invite, or where the lead who invited is away.

use clap::Args;
use gudgeon_client::sync::{Asker, askers, take_in, turned_away};
use gudgeon_core::entry::Kind;
use gudgeon_core::log::Log;

use crate::codes::Exit;
use crate::desk::Desk;
use crate::enter::may;
use crate::failure::Failure;
use crate::out::{Answer, Outcome};
use crate::pick::{begins, only};
use crate::settings::Settings;

#[derive(Args, Debug)]
pub(crate) struct LetIn {
    /// First digits of the key; its owner reads them off their own device.
    key: String,
}

pub(crate) fn let_in(args: &LetIn, settings: &Settings) -> Outcome {
    let mut desk = Desk::open(settings)?;
    let workshop = desk.workshop_id()?;
    let asker = asker(desk.home.log(workshop)?, &args.key)?;
    let roster = desk.workshop()?;
    let offer = roster.roster().invites().get(&asker.invite).map(|used| used.offer.clone());
    let offer = offer.ok_or_else(|| nobody(&args.key, ""))?;
    let key = desk.key_for(&[Kind::Person, Kind::Device])?;
    for kind in [Kind::Person, Kind::Device] {
        roster.roster().may_make(key.key, kind)?;
    }
    if let Some(caveat) = may(roster.roster(), key.key, &[])? {
        return Err(Failure::new(Exit::NotAllowed, "removed", caveat, "another lead lets it in"));
    }
    let lead = desk.unlock(&key)?;
    take_in(&mut desk.home, workshop, &lead, &asker, &offer)?;
    let mut answer = Answer::new();
    answer.line(format!("let in: {} ({}), key {}", asker.person, asker.label, asker.key.short()));
    answer.say("Saved. Sync, so that their device hears of it.");
    answer.put("key", asker.key.to_hex());
    answer.put("person", asker.person);
    Ok(answer)
}

/// The one key that asks and begins with these digits.
fn asker(log: &Log, digits: &str) -> Result<Asker, Failure> {
    let all: Vec<Asker> = askers(log).into_values().flatten().collect();
    let ended = turned_away(log).into_iter().find(|asker| begins(&asker.key.to_hex(), digits));
    let meant = all.iter().filter(|asker| begins(&asker.key.to_hex(), digits)).cloned().collect();
    only(
        meant,
        || ended.map_or_else(|| nobody(digits, &listed(&all)), |asker| removed(&asker)),
        |_| {
            let cause = format!("several keys that ask begin with `{digits}`");
            Failure::usage(cause, format!("give more digits: {}", listed(&all)))
        },
    )
}

fn removed(asker: &Asker) -> Failure {
    let cause =
        format!("key {} ({}) asked as {} and was removed", asker.key.short(), asker.label, asker.person);
    let hint = "a removal is for good: write a new invite, and they `join` by its code";
    Failure::not_found("turned-away", cause, hint)
}

fn nobody(digits: &str, listed: &str) -> Failure {
    let cause = format!("no key that asks to be let in begins with `{digits}`");
    let hint = match listed {
        "" => "nobody asks; sync first, or let them `join` by an invite".to_owned(),
        listed => format!("asking: {listed}"),
    };
    Failure::not_found("no-asker", cause, hint)
}

fn listed(all: &[Asker]) -> String {
    let one = |asker: &Asker| format!("{} ({}), as {}", asker.key.short(), asker.label, asker.person);
    all.iter().map(one).collect::<Vec<_>>().join("; ")
}
