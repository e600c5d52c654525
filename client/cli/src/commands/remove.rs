//! The end of a key, and letting entries count that a removal cut off.

use clap::Args;
use gudgeon_client::sync::{Asker, askers};
use gudgeon_core::entry::payload::{self, Admit as Admitted};
use gudgeon_core::entry::{DocumentId, EntryId, KeyId, Kind, Payload};
use gudgeon_core::log::{Ix, Log};
use gudgeon_core::roster::{Removal, Roster};
use serde_json::{Value as Json, json};

use crate::changes::{add_changes, sights};
use crate::codes::Exit;
use crate::desk::{Desk, name_of};
use crate::enter::{Hand, saved};
use crate::failure::{Failure, Problem};
use crate::out::{Answer, Outcome};
use crate::pick;
use crate::settings::Settings;
use crate::typed::words;
use crate::words::ids;

#[derive(Args, Debug)]
pub(crate) struct Remove {
    /// First digits of the key, or the name of a person who has one.
    key: String,
    /// Why.
    #[arg(long)]
    reason: String,
    /// The device is lost: remove the key though not every record is here. In records that are not here nothing
    /// of the key counts then, unless it is admitted.
    #[arg(long)]
    lost: bool,
    /// Sign with the root key, from paper: it outweighs every lead.
    #[arg(long)]
    by_root: bool,
    /// Remove the key though it is the last that leads: only the root's paper leads then.
    #[arg(long)]
    last: bool,
}

#[derive(Args, Debug)]
pub(crate) struct Admit {
    /// First digits of the entries; each counts with its key's earlier ones.
    #[arg(required = true)]
    entries: Vec<String>,
    /// Why.
    #[arg(long)]
    reason: String,
    /// Sign with the root key, from paper.
    #[arg(long)]
    by_root: bool,
}

pub(crate) fn remove(args: &Remove, settings: &Settings) -> Outcome {
    let reason = words("reason", &args.reason)?;
    let mut desk = Desk::open(settings)?;
    let workshop = desk.workshop()?;
    let key = pick::roster_key(workshop.roster(), &args.key)?;
    // Whoever does not lead is refused for that.
    if !args.last && !args.by_root && workshop.roster().roles_of(desk.key_for(&[Kind::Removal])?.key).lead {
        must_leave_a_lead(workshop.roster(), key)?;
    }
    let missing = missing_records(&desk)?;
    if !args.lost {
        must_hold_all(&missing)?;
    }
    let accepted = accepted(&desk, key)?;
    if !args.by_root {
        must_cut_more(&desk, workshop.roster(), key, &accepted)?;
    }
    let asked = Asked::of(workshop.log(), key);
    let removal = payload::Removal { key, accepted: accepted.clone(), reason, lost_device: args.lost };
    let (made, caveat) = desk.enter_in_workshop(&[Payload::Removal(removal)], Hand::of(args.by_root))?;
    let mut answer = Answer::new();
    answer.line(format!("key {} is removed; what it entered up to these entries counts:", key.short()));
    for (document, last) in &accepted {
        let name = name_of(desk.home.log(*document)?);
        answer.line(format!("  {name} {}", crate::words::short_ids(last)));
    }
    for (id, name) in &missing {
        answer.line(format!("  {name} nothing: record {} is not here; admit entries once it is", id.short()));
    }
    if let Some(asked) = &asked {
        asked.tell(&mut answer);
    }
    saved(&mut answer, "removal", &made, caveat.as_deref());
    if super::office::has_relay(&desk.home)? && desk.home.keys()?.iter().any(|own| own.key == key) {
        answer.say(
            "It is a key of this home: sync once more, and everything goes before the removal does. After \
             that the office takes nothing of it.",
        );
    }
    let one = |(document, last): &(DocumentId, Vec<EntryId>)| json!({ "document": document.to_hex(), "last": ids(last) });
    answer.put("key", key.to_hex());
    answer.put("accepted", accepted.iter().map(one).collect::<Json>());
    Ok(answer)
}

/// A key that asks to be let in, with the others that ask by its invite.
struct Asked {
    person: String,
    others: Vec<Asker>,
}

impl Asked {
    fn of(log: &Log, key: KeyId) -> Option<Self> {
        let asking = askers(log).into_values().find(|asking| asking.iter().any(|asker| asker.key == key))?;
        let (own, others): (Vec<Asker>, Vec<Asker>) = asking.into_iter().partition(|asker| asker.key == key);
        Some(Self { person: own.first()?.person.clone(), others })
    }

    fn tell(&self, answer: &mut Answer) {
        answer.line(format!(
            "it asked by the invite for {}; by a new invite only it can ask again",
            self.person
        ));
        for other in &self.others {
            let key = other.key.short();
            answer.line(format!("{} (key {key}) still asks: `let-in {key}` if it is theirs", other.label));
        }
    }
}

/// Refuses a removal that would cut off nothing that an earlier one leaves standing.
fn must_cut_more(
    desk: &Desk,
    roster: &Roster,
    key: KeyId,
    accepted: &[(DocumentId, Vec<EntryId>)],
) -> Result<(), Failure> {
    let cuts_more = |earlier: &Removal| {
        earlier.accepted.iter().any(|(document, last)| {
            let held = desk.home.holds(document) && accepted.iter().any(|(named, _)| named == document);
            !held || desk.home.log(*document).is_ok_and(|log| last.iter().any(|id| !log.holds(id)))
        })
    };
    let Some(earlier) = roster.removals_of(key).iter().find(|earlier| !cuts_more(earlier)) else {
        return Ok(());
    };
    let cause = format!("key {} was removed already: {}", key.short(), earlier.reason);
    let hint = "a removal now would cut off nothing more; `--by-root` outweighs the leads' removals";
    Err(Failure::refused("removed-already", cause, hint))
}

/// Refuses to remove the last key that leads without being told so.
fn must_leave_a_lead(roster: &Roster, key: KeyId) -> Result<(), Failure> {
    if !roster.leads_now(key) || roster.keys().any(|other| other != key && roster.leads_now(other)) {
        return Ok(());
    }
    let cause = format!("key {} is the last that leads: without it only the root's paper does", key.short());
    let hint = "let somebody else lead first, or say --last";
    Err(Failure::new(Exit::NotReady, "last-lead", cause, hint))
}

/// Refuses while records are missing: the key's last entries in them are not known.
fn must_hold_all(missing: &[(DocumentId, String)]) -> Result<(), Failure> {
    if missing.is_empty() {
        return Ok(());
    }
    let cause = format!(
        "{} of the workshop's records are not here, so the key's last entries are not known",
        missing.len()
    );
    let hint = "carry them in first; for a lost device remove it with --lost";
    let problem = |(id, name): &(DocumentId, String)| Problem {
        place: id.short(),
        cause: format!("record {name} is not in this home"),
        hint: String::new(),
    };
    let problems = missing.iter().map(problem).collect();
    Err(Failure::new(Exit::NotReady, "records-missing", cause, hint).with(problems))
}

/// Records that the workshop lists and this home does not hold.
fn missing_records(desk: &Desk) -> Result<Vec<(DocumentId, String)>, Failure> {
    let workshop = desk.workshop()?;
    let listed = workshop.roster().records().iter();
    let missing = listed.filter(|(id, _)| !desk.home.holds(id));
    let mut missing: Vec<_> = missing.map(|(id, names)| (*id, super::engine::listed_name(names))).collect();
    missing.sort_by(|a, b| a.1.cmp(&b.1));
    Ok(missing)
}

/// The key's last entries in the workshop and in every record held; none where it made none.
fn accepted(desk: &Desk, key: KeyId) -> Result<Vec<(DocumentId, Vec<EntryId>)>, Failure> {
    let mut documents = vec![desk.workshop_id()?];
    documents.extend(desk.records()?.into_iter().map(|(id, _)| id));
    let mut accepted = Vec::new();
    for document in documents {
        let last = last_of(desk.home.log(document)?, key);
        if !last.is_empty() {
            accepted.push((document, last));
        }
    }
    Ok(accepted)
}

/// The entries of a key that no other entry of it knows, waiting ones among them, ascending.
fn last_of(log: &Log, key: KeyId) -> Vec<EntryId> {
    let mut tops: Vec<Ix> = Vec::new();
    for (ix, statement) in (0..).zip(log.folded()) {
        if statement.key == key {
            tops.retain(|top| !log.knows(ix, *top));
            tops.push(ix);
        }
    }
    let mut last: Vec<EntryId> = tops.iter().map(|ix| log.at(*ix).id).collect();
    last.extend(log.waiting().filter(|statement| statement.key == key).map(|statement| statement.id));
    last.sort_unstable();
    last
}

pub(crate) fn admit(args: &Admit, settings: &Settings) -> Outcome {
    let reason = words("reason", &args.reason)?;
    let mut desk = Desk::open(settings)?;
    let before = sights(&desk)?;
    let mut entries = args.entries.iter().map(|text| find(&desk, text)).collect::<Result<Vec<_>, _>>()?;
    entries.sort_unstable();
    entries.dedup();
    let (made, caveat) = desk.enter_in_workshop(
        &[Payload::Admit(Admitted { entries: entries.clone(), reason })],
        Hand::of(args.by_root),
    )?;
    let mut answer = Answer::new();
    answer.line(format!(
        "admitted, each with its key's earlier entries: {}",
        crate::words::short_ids(&entries)
    ));
    let mut documents: Vec<Json> = Vec::new();
    for (id, now) in &sights(&desk)? {
        let (mut changes, mut json) = (Answer::new(), json!({ "document": id.to_hex(), "name": now.name() }));
        if add_changes(&mut changes, &mut json, before.get(id), now) {
            answer.line(format!("record {}:", now.name()));
            answer.lines_of(&changes);
            documents.push(json);
        }
    }
    answer.put("documents", documents);
    saved(&mut answer, "admit", &made, caveat.as_deref());
    answer.put("admitted", ids(&entries));
    Ok(answer)
}

/// An entry of any record held, or of the workshop.
fn find(desk: &Desk, text: &str) -> Result<EntryId, Failure> {
    let mut documents: Vec<DocumentId> = desk.home.records().collect();
    documents.push(desk.workshop_id()?);
    let mut last =
        Failure::not_found("unknown-entry", format!("no entry begins with `{text}`"), "see `findings`");
    for document in documents {
        match pick::entry(desk.home.log(document)?, text) {
            Ok(id) => return Ok(id),
            Err(failure) if failure.exit == Exit::NotFound => last = failure,
            Err(failure) => return Err(failure),
        }
    }
    Err(last)
}
