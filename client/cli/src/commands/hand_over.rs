//! Handing the engine over: refused while something is left, unless it is said that it goes as it stands.

use clap::Args;
use gudgeon_core::assess::{Finding, Progress};
use gudgeon_core::entry::payload::{HandOver as Handed, Reopen as Reopened};
use gudgeon_core::entry::{Kind, Payload};

use super::enter_one;
use crate::codes::Exit;
use crate::desk::Sight;
use crate::enter;
use crate::failure::{Failure, Problem};
use crate::out::Outcome;
use crate::settings::{Settings, line_with};
use crate::typed;
use crate::way;
use crate::words::{self, count};

/// Most steps and most findings that are named when a hand-over is refused.
const FEW: usize = 5;

#[derive(Args, Debug)]
pub(crate) struct HandOver {
    /// To whom.
    #[arg(long)]
    to: String,
    /// Words.
    #[arg(long, default_value = "")]
    note: String,
    /// Hand it over though steps are not signed or findings are open: the printed record shows which.
    #[arg(long)]
    as_it_stands: bool,
}

#[derive(Args, Debug)]
pub(crate) struct Reopen {
    /// Why.
    #[arg(long)]
    reason: String,
}

pub(crate) fn hand_over(args: &HandOver, settings: &Settings) -> Outcome {
    let mut open = String::new();
    let mut answer = enter_one(settings, |desk, sight| {
        let says = Payload::HandOver(Handed { to: typed::words("name", &args.to)?, note: args.note.clone() });
        let left = Left::of(sight);
        open = left.words();
        if !args.as_it_stands && !open.is_empty() {
            // Who may not hand over at all hears that, and not what is left.
            enter::may(sight.roster(), desk.key_for(&[Kind::HandOver])?.key, std::slice::from_ref(&says))?;
            return Err(left.refused(sight, settings));
        }
        Ok(says)
    })?;
    if !open.is_empty() {
        answer.say(format!("note: handed over with {open}"));
        answer.say(format!("      if that was too soon: {}", settings.line(&["reopen", "--reason", "WHY"])));
    }
    answer.put("left_open", open);
    Ok(answer)
}

/// What is not signed, and what is not settled.
struct Left<'s> {
    steps: Vec<usize>,
    steps_total: usize,
    findings: Vec<&'s Finding>,
}

impl<'s> Left<'s> {
    fn of(sight: &'s Sight) -> Self {
        let steps = sight.assessment.steps();
        let unsigned = |at: &usize| steps[*at].progress != Progress::Signed;
        Self {
            steps: (0..steps.len()).filter(unsigned).collect(),
            steps_total: steps.len(),
            findings: sight.findings().into_iter().filter(|finding| finding.is_open()).collect(),
        }
    }

    /// In words; empty where nothing is left.
    fn words(&self) -> String {
        let (steps, findings) = (self.steps.len(), self.findings.len());
        let counts = [
            (steps, format!("{steps} of {} steps not signed", self.steps_total)),
            (findings, count(findings, "open finding", "open findings")),
        ];
        let left = counts.into_iter().filter(|(number, _)| *number > 0).map(|(_, words)| words);
        left.collect::<Vec<_>>().join(" and ")
    }

    /// The first of what is left, and the ways out.
    fn refused(&self, sight: &Sight, settings: &Settings) -> Failure {
        let step = |at: &usize| Problem {
            place: sight.assessment.steps()[*at].id.to_string(),
            cause: sight.assessment.steps()[*at].progress.word().to_owned(),
            hint: way::to_step(sight, settings, *at),
        };
        let finding = |finding: &&Finding| Problem {
            place: "open finding".to_owned(),
            cause: words::finding(finding),
            hint: way::out_of(sight, settings, finding),
        };
        let mut problems = first(&self.steps, step, "steps", &settings.line(&["next", "--all"]));
        problems.extend(first(&self.findings, finding, "open findings", &settings.line(&["findings"])));
        let cause = format!("it would be handed over with {}; nothing is saved", self.words());
        let hint = format!(
            "sign and settle what is left; to hand it over all the same: {}",
            line_with("--as-it-stands")
        );
        Failure::new(Exit::NotReady, "left-open", cause, hint).with(problems)
    }
}

/// The first few, and how many more there are with the command that lists them.
fn first<T>(all: &[T], told: impl Fn(&T) -> Problem, what: &str, list: &str) -> Vec<Problem> {
    let mut problems: Vec<Problem> = all.iter().take(FEW).map(told).collect();
    if all.len() > FEW {
        let cause = format!("and {} more", all.len() - FEW);
        problems.push(Problem { place: what.to_owned(), cause, hint: list.to_owned() });
    }
    problems
}

pub(crate) fn reopen(args: &Reopen, settings: &Settings) -> Outcome {
    enter_one(settings, |_, _| {
        Ok(Payload::Reopen(Reopened { reason: typed::words("reason", &args.reason)? }))
    })
}
