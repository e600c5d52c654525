//! The office: meeting the relay, watching it, inviting and joining.

use std::path::{Path, PathBuf};
use std::time::Duration;

use clap::Args;
use gudgeon_client::home::{Home, fingerprint};
use gudgeon_client::sync::native::{self, Relay, meet};
use gudgeon_client::sync::{Address, BadAddress, Denial, Engine, Identity, Met, Summary, Trouble, Why};
use gudgeon_core::entry::{DocumentId, EntryId, KeyId};
use serde_json::{Value as Json, json};

use crate::asking::{self, Own};
use crate::changes::{Sights, add_changes, sights};
use crate::codes::Exit;
use crate::denial;
use crate::desk::{Desk, name_of};
use crate::failure::Failure;
use crate::out::{Answer, Outcome, progress};
use crate::settings::Settings;
use crate::words;

/// Setting of the home: address of the relay.
pub(super) const RELAY: &str = "relay";

/// Setting of the home: the invite's secret, until the key is let in.
pub(super) const INVITE: &str = "invite";

/// How long a watch waits for a relay that is away: at first, and at most.
const AWAY: (Duration, Duration) = (Duration::from_millis(500), Duration::from_secs(30));

#[derive(Args, Debug)]
pub(crate) struct Sync {
    /// Address of the relay, such as <https://192.168.1.20:7474#DIGITS>; kept for the next time. The digits are
    /// of the authority that is believed there; without them, any that this device knows is.
    #[arg(long, value_name = "URL")]
    relay: Option<String>,
    /// Certificate of the authority to believe there, where the address has no digits: PEM or DER.
    #[arg(long, value_name = "FILE")]
    authority: Option<PathBuf>,
}

#[derive(Args, Debug)]
pub(crate) struct Watch {
    /// Address of the relay; kept for the next time.
    #[arg(long, value_name = "URL")]
    relay: Option<String>,
    /// End after so many meetings, for scripts.
    #[arg(long, value_name = "N")]
    meetings: Option<u32>,
}

pub(crate) fn sync(args: &Sync, settings: &Settings) -> Outcome {
    let mut desk = Desk::open(settings)?;
    let address = address(&desk.home, args.relay.as_deref())?;
    let address = believing(address, args.authority.as_deref())?;
    let (mut engine, key) = engine(&mut desk)?;
    let before = sights(&desk)?;
    let runtime = runtime()?;
    let summary = runtime.block_on(async {
        let mut relay = Relay::at(&address).map_err(bad_address)?;
        Ok::<_, Failure>(meet(&mut relay, &mut engine, &mut desk.home).await?)
    })?;
    denial::keep(&mut desk.home, key, summary.as_ref().err())?;
    let summary = match summary {
        Ok(summary) => summary,
        Err(trouble) => return Err(not_let_in(&desk, &trouble, &address)?),
    };
    desk.home.set_setting(RELAY, &address)?;
    report(&mut desk, &summary, &address, &before)
}

/// Meets the relay whenever it has something new, until ended. The home is free in between.
pub(crate) fn watch(args: &Watch, settings: &Settings) -> Outcome {
    let mut desk = Desk::open(settings)?;
    let address = address(&desk.home, args.relay.as_deref())?;
    desk.home.set_setting(RELAY, &address)?;
    let meeting = engine(&mut desk)?;
    drop(desk);
    let runtime = runtime()?;
    runtime.block_on(watching(settings, meeting, &address, args.meetings))
}

async fn watching(
    settings: &Settings,
    (mut engine, key): (Engine, KeyId),
    address: &str,
    most: Option<u32>,
) -> Outcome {
    let mut relay = Relay::at(address).map_err(bad_address)?;
    let mut pause = AWAY.0;
    let mut met = 0;
    let mut ear = None;
    loop {
        engine.again();
        let mut desk = Desk::open(settings)?;
        let before = sights(&desk)?;
        let outcome = meet(&mut relay, &mut engine, &mut desk.home).await?;
        denial::keep(&mut desk.home, key, outcome.as_ref().err())?;
        let ended = match outcome {
            Ok(summary) => {
                met += 1;
                pause = AWAY.0;
                let answer = report(&mut desk, &summary, address, &before)?;
                if most.is_some_and(|most| met >= most) {
                    return Ok(answer);
                }
                // A script counts meetings; a person hears of one that came to something.
                if settings.json || met == 1 || came_to_something(&summary) {
                    answer.show(settings.json).map_err(not_shown)?;
                }
                drop(desk);
                listen(&mut relay, &engine, &mut ear).await.err()
            }
            Err(trouble) => Some(trouble),
        };
        match ended {
            None => {}
            Some(trouble @ (Trouble::Denied(_) | Trouble::Broken(_))) => {
                return Err(not_let_in(&Desk::open(settings)?, &trouble, address)?);
            }
            Some(trouble) => {
                ear = None;
                // A session runs out every hour: the next meeting opens another, and nobody is told.
                if trouble != Trouble::NoSession {
                    progress(&format!("{}; trying again", away(&trouble, address).cause));
                }
                tokio::time::sleep(pause).await;
                pause = (pause * 2).min(AWAY.1);
            }
        }
    }
}

fn came_to_something(summary: &Summary) -> bool {
    let moved = |met: &Met| met.came > 0 || met.went > 0 || !met.refused.is_empty();
    summary.met.iter().any(moved) || !summary.admitted.is_empty() || summary.brought
}

fn not_shown(error: std::io::Error) -> Failure {
    let cause = format!("writing the answer: {error}");
    Failure::new(Exit::Device, "output", cause, "look at where it goes")
}

/// Waits for news. A fresh ear hears at once that it is open, which makes for one more
/// meeting: so nothing falls between a meeting and the opening of the ear.
async fn listen(
    relay: &mut Relay,
    engine: &Engine,
    ear: &mut Option<gudgeon_client::sync::native::Watch>,
) -> Result<(), Trouble> {
    if ear.is_none() {
        let session = engine.session().map(<[u8]>::to_vec).ok_or(Trouble::NoSession)?;
        *ear = Some(relay.watch(session).await?);
    }
    match ear {
        Some(open) => open.next().await,
        None => Ok(()),
    }
}

/// A machine for meetings, with the keys of this home that may open a session; and the home's own of them.
fn engine(desk: &mut Desk) -> Result<(Engine, KeyId), Failure> {
    let invite = desk.home.setting(INVITE)?.filter(|text| !text.is_empty());
    let joining = invite.as_deref().map(super::join::read).transpose()?;
    let workshop = match (&joining, desk.home.workshop()) {
        (_, Some(workshop)) => workshop,
        (Some(code), None) => code.workshop(),
        (None, None) => desk.workshop_id()?,
    };
    let key = desk.meeting_key()?;
    let author = desk.unlock(&key)?;
    let mut identities = vec![Identity { author, invite: false }];
    identities.extend(joining.map(|code| Identity { author: code.author(), invite: true }));
    Ok((Engine::new(workshop, identities), key.key))
}

/// The address given, or the one that is kept.
pub(super) fn address(home: &Home, given: Option<&str>) -> Result<String, Failure> {
    if let Some(given) = given {
        return Ok(given.parse::<Address>().map_err(bad_address)?.to_string());
    }
    home.setting(RELAY)?.filter(|kept| !kept.is_empty()).ok_or_else(|| {
        let hint =
            "`join` by the code of an invite, or name it once: sync --relay https://ADDRESS:7474#DIGITS; start one with \
             gudgeon-relay serve --data DIR";
        Failure::new(Exit::NotReady, "no-relay", "this home knows of no relay yet", hint)
    })
}

/// An address where the authority of a file is believed, if one is named.
pub(super) fn believing(address: String, file: Option<&Path>) -> Result<String, Failure> {
    let Some(file) = file else { return Ok(address) };
    let bytes = std::fs::read(file).map_err(|error| Failure::io("reading", file, &error))?;
    let refused = |cause: String| {
        let hint = "name the file that the relay's trust page gives, or one in PEM";
        Failure::refused("authority", cause, hint)
    };
    let certificate = native::certificate(&bytes)
        .ok_or_else(|| refused(format!("{} is no certificate", file.display())))?;
    let address: Address = address.parse().map_err(bad_address)?;
    if !address.is_encrypted() {
        return Err(refused(format!("nobody proves who they are at {}", address.url()))
            .hinting("write the address with https://"));
    }
    Ok(address.believing(&certificate).to_string())
}

/// An address as people are told it: without the digits.
fn shown(address: &str) -> &str {
    address.split('#').next().unwrap_or(address)
}

/// Whether this home has met a relay.
pub(super) fn has_relay(home: &Home) -> Result<bool, Failure> {
    Ok(home.setting(RELAY)?.is_some_and(|kept| !kept.is_empty()))
}

/// Where an entry is, in words; nothing where there is no office.
pub(super) fn whereabouts(
    home: &Home,
    document: DocumentId,
    entry: EntryId,
) -> Result<Option<&'static str>, Failure> {
    if !has_relay(home)? {
        return Ok(None);
    }
    let here = home.here_only(document)?.contains(&entry);
    Ok(Some(if here { "here only" } else { "at the office" }))
}

pub(super) fn runtime() -> Result<tokio::runtime::Runtime, Failure> {
    tokio::runtime::Builder::new_current_thread().enable_all().build().map_err(|error| {
        Failure::new(
            Exit::Device,
            "no-runtime",
            format!("starting: {error}"),
            "restart the device and try again",
        )
    })
}

pub(super) fn bad_address(error: BadAddress) -> Failure {
    Failure::usage(error.to_string(), "name the relay's machine and port")
}

/// The relay was no use; nothing is lost by it.
pub(super) fn away(trouble: &Trouble, address: &str) -> Failure {
    let kept = "everything entered here is saved and goes to the office at the next meeting";
    let address = shown(address);
    match trouble {
        Trouble::Offline(said) => {
            let cause = format!("nobody answers at {address} ({said})");
            Failure::new(Exit::NotReached, "offline", cause, kept)
        }
        Trouble::Busy(said) => {
            Failure::new(Exit::NotReached, "relay-busy", format!("the relay at {address}: {said}"), kept)
        }
        Trouble::Denied(Denial { why, said }) => {
            let way_out = match why {
                Why::Unknown => {
                    "everything entered here is saved; the lead who enrolled or invited you syncs first, then you"
                }
                Why::Removed | Why::Spent | Why::Other => {
                    "everything entered here is saved, but does not go by this relay: `carry out FILE` takes it along"
                }
            };
            Failure::new(Exit::NotAllowed, "relay-denies", format!("the relay at {address}: {said}"), way_out)
        }
        Trouble::NoSession | Trouble::Broken(_) => {
            let said = if let Trouble::Broken(said) = trouble { said } else { "it takes no session" };
            Failure::new(Exit::NotReached, "relay-broken", format!("the relay at {address}: {said}"), kept)
        }
    }
}

/// The same for this home: who asked and was removed has another way than its file.
fn not_let_in(desk: &Desk, trouble: &Trouble, address: &str) -> Result<Failure, Failure> {
    let failure = away(trouble, address);
    let removed = matches!(trouble, Trouble::Denied(Denial { why: Why::Removed, .. }));
    let turned_away = removed && matches!(asking::own(desk)?, Own::TurnedAway(_));
    Ok(if turned_away { failure.hinting(asking::NEW_INVITE) } else { failure })
}

/// What a meeting came to, for people and scripts; `before` is what the records came to.
fn report(desk: &mut Desk, summary: &Summary, address: &str, before: &Sights) -> Outcome {
    let mut answer = Answer::new();
    let documents = told_by_document(&mut answer, desk, summary, before)?;
    for asker in &summary.admitted {
        answer.line(format!("let in: {} ({}), key {}", asker.person, asker.label, asker.key.short()));
    }
    asking::say_waiting(&mut answer, desk)?;
    if summary.brought {
        answer.say("The relay held nothing of this workshop; it was given everything that is here.");
    }
    say_own(&mut answer, desk, summary.invited)?;
    let sum = |of: fn(&Met) -> usize| summary.met.iter().map(of).sum::<usize>();
    let (came, went, here) = (sum(|met| met.came), sum(|met| met.went), sum(|met| met.here_only));
    answer.say(format!(
        "Met {}: {} came, {} went, {} only here.",
        shown(address),
        words::count(came, "entry", "entries"),
        words::count(went, "entry", "entries"),
        words::count(here, "is", "are"),
    ));
    answer.put("relay", address);
    answer.put("came", came);
    answer.put("went", went);
    answer.put("here_only", here);
    answer.put("invited", summary.invited);
    answer.put("brought", summary.brought);
    answer.put("let_in", summary.admitted.iter().map(|asker| asker.key.to_hex()).collect::<Vec<_>>());
    answer.put("documents", documents);
    Ok(answer)
}

/// What became of each document, and of the findings in it.
fn told_by_document(
    answer: &mut Answer,
    desk: &Desk,
    summary: &Summary,
    before: &Sights,
) -> Result<Vec<Json>, Failure> {
    let came = summary.met.iter().any(|met| met.came > 0) || !summary.admitted.is_empty();
    let after = if came { sights(desk)? } else { Sights::new() };
    let mut documents = Vec::new();
    for met in &summary.met {
        let name = name(desk, met.document)?;
        let mut json = json!({
            "document": met.document.to_hex(), "name": name, "came": met.came, "went": met.went,
            "refused": met.refused.len(), "repacked": met.repacked, "here_only": met.here_only,
        });
        let mut changes = Answer::new();
        // A change of the workshop alone can change what a record comes to.
        let changed = after
            .get(&met.document)
            .is_some_and(|now| add_changes(&mut changes, &mut json, before.get(&met.document), now));
        if changed || is_told(met) {
            answer.line(line(&name, met));
        }
        for refused in &met.refused {
            let entry = refused.entry.map_or_else(String::new, |entry| format!(" {}", entry.short()));
            answer.line(format!("  refused{entry}: {}: {}", refused.rule, refused.hint));
        }
        answer.lines_of(&changes);
        documents.push(json);
    }
    Ok(documents)
}

/// Whether there is more to say of a document than that nothing happened.
fn is_told(met: &Met) -> bool {
    met.came + met.went + met.here_only + met.refused.len() > 0 || met.repacked > 0
}

/// What became of this home's asking, once it has asked by an invite.
pub(super) fn say_own(answer: &mut Answer, desk: &mut Desk, invited: bool) -> Result<(), Failure> {
    let asked = desk.home.setting(INVITE)?.is_some_and(|kept| !kept.is_empty());
    if !asked && !invited {
        return Ok(());
    }
    match asking::own(desk)? {
        Own::Waits(key) => answer.say(format!(
            "Key {} asks to be let in: it happens when the lead who invited meets the relay next. Then sync again.",
            key.short()
        )),
        Own::WaitsForHand(key) => answer.say(format!(
            "Key {} asks to be let in, which a lead does by `let-in {}`. Then sync again.",
            key.short(),
            key.short()
        )),
        Own::TurnedAway(key) => {
            answer.say(format!("Key {} asked and was removed: {}.", key.short(), asking::NEW_INVITE));
        }
        Own::None => answer.say("The invite counts no more: ask a lead for another one."),
        Own::LetIn => {
            desk.home.set_setting(INVITE, "")?;
            answer.say("This key is let in.");
        }
    }
    Ok(())
}

fn name(desk: &Desk, document: DocumentId) -> Result<String, Failure> {
    if !desk.home.holds(&document) {
        return Ok(format!("record {}, which the relay does not hold", document.short()));
    }
    let name = name_of(desk.home.log(document)?);
    Ok(if Some(document) == desk.home.workshop() {
        format!("workshop {name}")
    } else {
        format!("record {name}")
    })
}

fn line(name: &str, met: &Met) -> String {
    let again = if met.repacked > 0 { ", packed anew" } else { "" };
    format!("{name}: {} came, {} went, {} only here{again}", met.came, met.went, met.here_only)
}

/// Digits that people compare, of the home's workshop.
pub(super) fn root_digits(home: &Home) -> Result<String, Failure> {
    Ok(fingerprint(&home.root()?))
}
