//! What settles: voids, concessions, which came first.

use clap::Args;
use gudgeon_core::assess::{Finding, RULES, Status};
use gudgeon_core::entry::payload::{Concession, Order as Ordered, Void as Voided};
use gudgeon_core::entry::{Kind, Payload};
use gudgeon_core::log::Ix;

use super::enter_one;
use crate::codes::Exit;
use crate::desk::Sight;
use crate::failure::Failure;
use crate::numbers;
use crate::out::Outcome;
use crate::pick;
use crate::settings::Settings;
use crate::typed::{one_of, words};

#[derive(Args, Debug)]
pub(crate) struct Void {
    /// First digits of the entry.
    entry: String,
    /// Why.
    #[arg(long)]
    reason: String,
}

#[derive(Args, Debug)]
pub(crate) struct Concede {
    /// Number of the finding, as `findings` listed it last.
    #[arg(required_unless_present = "rule")]
    number: Option<usize>,
    /// Name of its rule, such as outside.
    #[arg(long, conflicts_with = "number")]
    rule: Option<String>,
    /// Its feature.
    #[arg(long, conflicts_with = "number")]
    feature: Option<String>,
    /// Its characteristic or step.
    #[arg(long, conflicts_with = "number")]
    subject: Option<String>,
    /// Why it is accepted.
    #[arg(long)]
    reason: String,
}

#[derive(Args, Debug)]
pub(crate) struct Order {
    /// First digits of the entry that came first.
    #[arg(long, value_name = "ENTRY")]
    first: String,
    /// First digits of the entry that came after it.
    #[arg(long, value_name = "ENTRY")]
    second: String,
    /// How it is known.
    #[arg(long)]
    reason: String,
}

pub(crate) fn void(args: &Void, settings: &Settings) -> Outcome {
    enter_one(settings, |desk, sight| {
        let entry = pick::entry(sight.log(), &args.entry)?;
        may_void(sight, desk.key_for(&[Kind::Void])?.key, entry)?;
        Ok(Payload::Void(Voided { entry, reason: words("reason", &args.reason)? }))
    })
}

/// A void reaches one's own work, for a lead anybody's, and nothing but work.
fn may_void(
    sight: &Sight,
    key: gudgeon_core::entry::KeyId,
    entry: gudgeon_core::entry::EntryId,
) -> Result<(), Failure> {
    let Some(target) = sight.log().get(&entry) else {
        let cause = format!("entry {} misses its ground, so it cannot be voided yet", entry.short());
        return Err(Failure::new(Exit::NotReady, "missing-ground", cause, "carry in what it rests on first"));
    };
    if !target.kind().is_some_and(|kind| kind.row().work) {
        let what = target.kind().map_or("unknown", Kind::name);
        let cause = format!("entry {} is a {what}; only work is voided", entry.short());
        return Err(Failure::refused("not-work", cause, "state it anew instead: the latest known stands"));
    }
    not_voided_yet(sight, entry)?;
    let roster = sight.roster();
    if roster.roles_of(key).lead || roster.same_person(key, target.key) {
        return Ok(());
    }
    let cause = format!("entry {} is {}'s work", entry.short(), sight.person_of_key(target.key));
    Err(Failure::new(Exit::NotAllowed, "needs-lead", cause, "they void it themselves, or a lead does"))
}

/// Refuses what a second void would change nothing about, saying who voided it and why.
fn not_voided_yet(sight: &Sight, entry: gudgeon_core::entry::EntryId) -> Result<(), Failure> {
    let status = sight.log().place(&entry).map(|ix| sight.assessment.status(ix));
    let Some(Status::Voided(by)) = status else { return Ok(()) };
    let one = |ix: &Ix| {
        let void = sight.log().at(*ix);
        let why = match &void.payload {
            Ok(Payload::Void(void)) => format!(": {}", void.reason),
            _ => String::new(),
        };
        format!("by {} ({}){why}", sight.author(*ix), void.id.short())
    };
    let by = by.iter().map(one).collect::<Vec<_>>().join("; ");
    let cause = format!("entry {} is voided already, {by}", entry.short());
    Err(Failure::refused("voided", cause, "nothing to do, and nothing was saved"))
}

pub(crate) fn concede(args: &Concede, settings: &Settings) -> Outcome {
    enter_one(settings, |desk, sight| {
        let findings = sight.findings();
        let finding = match args.number {
            Some(number) => numbers::find(&desk.home, sight, &findings, number)?,
            None => chosen(args, &findings)?,
        };
        if let Some(by) = finding.conceded {
            let cause = format!("this finding is conceded already, by {}", by.short());
            return Err(Failure::refused("conceded", cause, "nothing to do"));
        }
        if finding.ids.is_empty() {
            let cause = "this finding rests on no entry, so a concession would rest on nothing";
            return Err(Failure::refused("not-concedable", cause, finding.hint()));
        }
        Ok(Payload::Concession(Concession {
            rule: finding.rule.name().to_owned(),
            feature: finding.feature.clone(),
            subject: finding.subject.clone(),
            rests_on: finding.ids.clone(),
            reason: words("reason", &args.reason)?,
        }))
    })
}

fn chosen<'f>(args: &Concede, findings: &[&'f Finding]) -> Result<&'f Finding, Failure> {
    let rules: Vec<&str> = RULES.iter().map(|rule| rule.name()).collect();
    let rule = one_of("rule", args.rule.as_deref().unwrap_or_default(), &rules)?;
    let fits = |given: &Option<String>, found: &str| given.as_deref().is_none_or(|given| given == found);
    let meant: Vec<&'f Finding> = findings
        .iter()
        .copied()
        .filter(|f| {
            f.rule.name() == rule && fits(&args.feature, &f.feature) && fits(&args.subject, &f.subject)
        })
        .collect();
    match meant[..] {
        [one] => Ok(one),
        [] => Err(Failure::not_found(
            "unknown-finding",
            format!("there is no such finding by {rule}"),
            "see `findings`",
        )),
        _ => Err(Failure::usage(
            format!("{} findings fit", meant.len()),
            "say which with --feature and --subject, or give its number",
        )),
    }
}

pub(crate) fn order(args: &Order, settings: &Settings) -> Outcome {
    enter_one(settings, |_, sight| {
        let (first, second) =
            (pick::entry(sight.log(), &args.first)?, pick::entry(sight.log(), &args.second)?);
        if first == second {
            return Err(Failure::usage("the two entries are the same", "name two"));
        }
        Ok(Payload::Order(Ordered { first, second, reason: words("reason", &args.reason)? }))
    })
}
