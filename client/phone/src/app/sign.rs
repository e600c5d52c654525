//! A step: what it rests on, its cautions, and signing it with the PIN.

use gudgeon_client::home::Saved;
use gudgeon_core::assess::{CALCULATION, Progress};
use gudgeon_core::engine::Definition;
use gudgeon_core::engine::caution::FOREWORD;
use gudgeon_core::entry::payload::{Meaning, SignOff};
use gudgeon_core::entry::{Author, DocumentId, EntryId, Payload};

use super::sight::Sight;
use super::who::typed;
use super::{Buzz, Desk, Effect, Failure, Place};

/// Which step, and what is typed.
pub struct Model {
    record: DocumentId,
    step: String,
    pin: String,
    busy: bool,
    /// The signature that was kept.
    kept: Option<EntryId>,
    problem: Option<Failure>,
}

/// What may happen.
pub enum Event {
    /// The PIN.
    Pin(String),
    /// Sign.
    Sign,
    /// The screen was drawn: try the PIN now.
    Try,
    /// The key opens, or not.
    Opened(Result<Author, Failure>),
    /// The signature is durable, or it failed.
    Signed(Result<Saved, Failure>),
}

/// What is to be seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct View {
    /// What the step is.
    pub title: String,
    /// How far it is.
    pub progress: &'static str,
    /// What it rests on: asked, found, whether it is there.
    pub evidence: Vec<(String, String, bool)>,
    /// What to mind.
    pub cautions: Vec<&'static str>,
    /// What is said before cautions.
    pub foreword: &'static str,
    /// Whether it can be signed now.
    pub can_sign: bool,
    /// Why not.
    pub why_not: Option<String>,
    /// Who would sign.
    pub signer: Option<String>,
    /// As typed.
    pub pin: String,
    /// The PIN is being tried, or the signature kept.
    pub busy: bool,
    /// Where the signature is, once it is kept.
    pub signed: Option<&'static str>,
    /// What is wrong.
    pub problem: Option<Failure>,
}

impl Model {
    pub(super) fn open(record: DocumentId, step: &str, desk: &mut Desk) -> Self {
        desk.look(record);
        desk.effect(Effect::KeepAwake(true));
        Self { record, step: step.to_owned(), pin: String::new(), busy: false, kept: None, problem: None }
    }

    pub(super) fn handle(&mut self, event: Event, desk: &mut Desk) {
        match event {
            Event::Pin(text) => self.pin = text,
            Event::Sign if desk.holder().is_none() => {
                let here = Place::Step(self.record, self.step.clone());
                desk.go(Place::Who(Box::new(here)));
            }
            Event::Sign if !self.busy => {
                (self.busy, self.problem) = (true, None);
                desk.once_drawn(Event::Try);
            }
            Event::Sign => {}
            Event::Try => self.try_pin(desk),
            Event::Opened(Ok(author)) => self.sign(&author, desk),
            Event::Opened(Err(failure)) | Event::Signed(Err(failure)) => self.stop(failure, desk),
            Event::Signed(Ok(saved)) => {
                self.busy = false;
                self.pin.clear();
                self.kept = saved.entries.first().copied();
                desk.effect(Effect::Buzz(Buzz::Kept));
            }
        }
    }

    fn stop(&mut self, failure: Failure, desk: &mut Desk) {
        self.busy = false;
        self.pin.clear();
        self.problem = Some(failure);
        desk.effect(Effect::Buzz(Buzz::Look));
    }

    fn try_pin(&mut self, desk: &mut Desk) {
        match (desk.holder(), typed(&self.pin)) {
            (Some(key), Ok(pin)) => {
                desk.act(move |home| home.unlock(key, &pin), |opened| Event::Opened(opened).into());
            }
            (_, Err(failure)) => self.stop(failure, desk),
            (None, _) => self.stop(Failure::nobody(), desk),
        }
    }

    /// Signs what the screen shows.
    fn sign(&mut self, author: &Author, desk: &mut Desk) {
        let name = desk.name_of_key(author.key());
        let seen = desk.sight(self.record).and_then(|sight| Some((sight, self.at(sight)?.1)));
        let Some((sight, at)) = seen else { return self.stop(Failure::not_open(), desk) };
        if let Some(why) = why_not(sight, at) {
            let failure = Failure::new("not-ready", why, "do what is missing first");
            return self.stop(failure, desk);
        }
        let sign_off = sign_off(sight, at, name);
        let says = [Payload::SignOff(sign_off)];
        desk.state_by(self.record, author, &says, |signed| Event::Signed(signed).into());
    }

    fn at<'s>(&self, sight: &'s Sight) -> Option<(&'s Definition, usize)> {
        let definition = sight.assessment.definition()?;
        Some((definition, definition.step_index(&self.step)?))
    }

    pub(super) fn view(&self, desk: &Desk) -> View {
        let Some(sight) = desk.sight(self.record) else { return View::default() };
        let Some((definition, at)) = self.at(sight) else { return View::default() };
        let state = &sight.assessment.steps()[at];
        let step = definition.step_of(&definition.steps()[at]);
        let evidence = state.evidence.iter();
        let why_not = why_not(sight, at);
        View {
            title: step.title.to_string(),
            progress: state.progress.word(),
            evidence: evidence.map(|one| (one.asked.to_string(), one.found.clone(), one.met)).collect(),
            cautions: step.cautions.iter().map(|caution| caution.text).collect(),
            foreword: FOREWORD,
            can_sign: why_not.is_none(),
            why_not,
            signer: desk.holder_name(),
            pin: self.pin.clone(),
            busy: self.busy,
            signed: self.kept.map(|entry| desk.whereabouts(self.record, entry).words()),
            problem: self.problem.clone(),
        }
    }
}

/// Why a step cannot be signed now.
fn why_not(sight: &Sight, at: usize) -> Option<String> {
    let state = &sight.assessment.steps()[at];
    match state.progress {
        Progress::ReadyToSign | Progress::WantsSecond | Progress::Stale => None,
        Progress::Signed => Some("it is signed, and the signature stands".to_owned()),
        Progress::Blocked => {
            let first =
                state.waits_for.first().map(|before| sight.assessment.steps()[*before].id.to_string());
            Some(format!("{} comes first", first.unwrap_or_default()))
        }
        Progress::Open | Progress::WithoutEvidence => {
            let missing = state.evidence.iter().find(|evidence| !evidence.met);
            Some(missing.map_or_else(String::new, |one| format!("{}: {}", one.asked, one.found)))
        }
    }
}

fn sign_off(sight: &Sight, at: usize, printed_name: String) -> SignOff {
    let state = &sight.assessment.steps()[at];
    let (entries, verdicts) = sight.assessment.ground_of(at);
    let mut evidence: Vec<EntryId> = entries.iter().map(|ix| sight.log().at(*ix).id).collect();
    evidence.sort_unstable();
    let second = state.progress == Progress::WantsSecond;
    SignOff {
        step: state.id.to_string(),
        meaning: if second { Meaning::SecondPerson } else { Meaning::Done },
        evidence,
        verdicts,
        calculation: CALCULATION,
        printed_name,
    }
}
