//! What a lead chooses: limits, decisions, approvals, who does what.

use std::collections::BTreeSet;

use clap::{Args, ValueEnum};
use gudgeon_core::engine::{Asked, Definition, FeatureKind, Subject, suggest};
use gudgeon_core::entry::payload::{Approval, Assignment, ChosenRule, Decision, LimitChange};
use gudgeon_core::entry::{EntryId, Kind as EntryKind, Payload};
use gudgeon_core::quantity::Kind;

use super::enter_one;
use crate::desk::Sight;
use crate::failure::Failure;
use crate::out::Outcome;
use crate::pick;
use crate::settings::Settings;
use crate::typed::{maybe, words};

#[derive(Args, Debug)]
#[command(group(clap::ArgGroup::new("what").required(true).multiple(true).args(["lower", "upper", "rule"])))]
pub(crate) struct Limit {
    /// Characteristic or derived value.
    characteristic: String,
    /// One feature; all that have it otherwise.
    #[arg(long)]
    feature: Option<String>,
    /// Lower limit. Both ends are set anew: one that is not given is none, unless neither is.
    #[arg(long, allow_hyphen_values = true)]
    lower: Option<String>,
    /// Upper limit.
    #[arg(long, allow_hyphen_values = true)]
    upper: Option<String>,
    /// Decision rule.
    #[arg(long)]
    rule: Option<RuleWord>,
    /// Where the limit comes from.
    #[arg(long, default_value = "")]
    source: String,
    /// Why.
    #[arg(long)]
    reason: String,
}

/// A decision rule as typed.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(crate) enum RuleWord {
    Strict,
    Shared,
    Simple,
}

#[derive(Args, Debug)]
pub(crate) struct Decide {
    /// About what, such as oversize.
    subject: String,
    /// What is decided.
    text: String,
    /// First digits of the decision it replaces; the one that stands on this subject otherwise.
    #[arg(long, value_name = "ENTRY")]
    replaces: Option<String>,
}

#[derive(Args, Debug)]
pub(crate) struct Approve {
    /// Subject of the decision, such as sizes, or its first digits.
    decision: String,
    /// Who approves.
    #[arg(long)]
    who: String,
    /// How it was given, such as "by telephone".
    #[arg(long)]
    how: String,
    /// When, in words.
    #[arg(long, default_value = "")]
    when: String,
}

#[derive(Args, Debug)]
pub(crate) struct Assign {
    /// The step.
    step: String,
    /// The person.
    person: String,
}

pub(crate) fn limit(args: &Limit, settings: &Settings) -> Outcome {
    enter_one(settings, |_, sight| {
        let feature = args.feature.as_deref().map(|path| pick::feature(sight, path)).transpose()?;
        let kind =
            kind_of(sight, &args.characteristic, feature.as_ref().map(gudgeon_core::engine::Feature::kind))?;
        let (lower, upper) = (maybe(args.lower.as_deref(), kind)?, maybe(args.upper.as_deref(), kind)?);
        if let (Some(low), Some(high)) = (&lower, &upper)
            && low.amount() > high.amount()
        {
            let cause = format!("the lower limit {low} is above the upper one {high}");
            return Err(Failure::refused("limits-crossed", cause, "exchange the two, or check the units"));
        }
        Ok(Payload::LimitChange(LimitChange {
            characteristic: args.characteristic.clone(),
            feature: feature.map_or_else(String::new, |feature| feature.path().to_owned()),
            lower,
            upper,
            source: args.source.clone(),
            rule: args.rule.map(|rule| match rule {
                RuleWord::Strict => ChosenRule::Strict,
                RuleWord::Shared => ChosenRule::Shared,
                RuleWord::Simple => ChosenRule::Simple,
            }),
            reason: words("reason", &args.reason)?,
        }))
    })
}

/// What the limited value counts in.
fn kind_of(sight: &Sight, name: &str, on: Option<FeatureKind>) -> Result<Kind, Failure> {
    let definition = sight.definition()?;
    let kinds: Vec<FeatureKind> = match on {
        Some(kind) => vec![kind],
        None => gudgeon_core::engine::feature::FEATURES.iter().map(|row| row.kind).collect(),
    };
    let found = kinds.iter().find_map(|kind| Subject::find(*kind, name));
    found.map(Subject::kind).ok_or_else(|| {
        let mut known: Vec<&str> = definition.limits().iter().map(|limit| limit.name.as_str()).collect();
        known.sort_unstable();
        known.dedup();
        let place = on.map_or_else(|| "here".to_owned(), |kind| format!("on a {kind}"));
        Failure::not_found(
            "unknown-characteristic",
            format!("`{name}` is not judged {place}"),
            suggest(name, &known),
        )
    })
}

pub(crate) fn decide(args: &Decide, settings: &Settings) -> Outcome {
    let mut slip = String::new();
    let mut answer = enter_one(settings, |_, sight| {
        let subject = words("subject", &args.subject)?;
        slip = pick::perhaps_a_slip(&subject, &asked_for(sight));
        let replaces = match &args.replaces {
            Some(text) => Some(decision(sight, text)?),
            None => sight.decision_on(&subject),
        };
        Ok(Payload::Decision(Decision { subject, text: words("decision", &args.text)?, replaces }))
    })?;
    if !slip.is_empty() {
        answer.say(format!("note: no step asks for a decision on `{}`: {slip}", args.subject.trim()));
    }
    Ok(answer)
}

/// Subjects of decisions that steps ask for.
fn asked_for(sight: &Sight) -> Vec<&str> {
    let steps = sight.assessment.definition().map_or(&[][..], Definition::steps);
    let asks = steps.iter().flat_map(|step| &step.asks);
    let chosen = asks.filter(|ask| matches!(ask.asked, Asked::Decision(_) | Asked::Approval(_)));
    let names = chosen.map(|ask| ask.asked.name());
    names.collect::<BTreeSet<_>>().into_iter().collect()
}

/// A decision by its subject, or by its digits.
fn decision(sight: &Sight, text: &str) -> Result<EntryId, Failure> {
    if let Some(id) = sight.decision_on(text) {
        return Ok(id);
    }
    let id = pick::entry(sight.log(), text).map_err(|failure| no_decision(sight, text, failure))?;
    let kind = sight.log().held(&id).and_then(gudgeon_core::log::Statement::kind);
    if kind == Some(EntryKind::Decision) {
        return Ok(id);
    }
    let cause = format!("entry {} is no decision", id.short());
    Err(Failure::refused("not-a-decision", cause, "give the digits that `decide` answered"))
}

/// What is no entry may be a slip of a subject that is decided, or that a step asks for.
fn no_decision(sight: &Sight, text: &str, failure: Failure) -> Failure {
    let mut known: BTreeSet<&str> = asked_for(sight).into_iter().collect();
    known.extend(sight.log().folded().iter().filter_map(|statement| match &statement.payload {
        Ok(Payload::Decision(decision)) => Some(decision.subject.as_str()),
        _ => None,
    }));
    let known: Vec<&str> = known.into_iter().collect();
    if known.contains(&text) {
        let cause = format!("nothing stands that is decided on {text}");
        return Failure::not_found("not-decided", cause, "a lead decides first, with `decide`");
    }
    let near = pick::perhaps_a_slip(text, &known);
    if near.is_empty() { failure } else { failure.hinting(near) }
}

pub(crate) fn approve(args: &Approve, settings: &Settings) -> Outcome {
    enter_one(settings, |_, sight| {
        Ok(Payload::Approval(Approval {
            decision: decision(sight, &args.decision)?,
            who: words("name", &args.who)?,
            how: words("way it was given", &args.how)?,
            when: args.when.clone(),
        }))
    })
}

pub(crate) fn assign(args: &Assign, settings: &Settings) -> Outcome {
    enter_one(settings, |_, sight| {
        let step = pick::step(sight, &args.step)?;
        Ok(Payload::Assignment(Assignment {
            step: sight.assessment.steps()[step].id.to_string(),
            person: pick::person(sight.roster(), &args.person)?,
        }))
    })
}
