//! A step: what it needs and what supplies it, what to mind, stopping, and signing it.
//!
//! Checks, parts, work and decisions are given here, see [`answer`]; readings, tightenings and the
//! setting of ring gaps each on their own screen, to which the piece of evidence leads.

pub mod answer;
pub mod sign;
#[cfg(test)]
mod tests;

use gudgeon_client::home::Saved;
use gudgeon_core::assess::Evidence;
use gudgeon_core::crew::{Way, cautions_ahead};
use gudgeon_core::engine::caution::FOREWORD;
use gudgeon_core::engine::{Ask, Asked, Subject, Target};
use gudgeon_core::entry::{DocumentId, EntryId, Payload};

use super::sight::Sight;
use super::stop::{self, Slip, Spot};
use super::{Buzz, Desk, Effect, Failure, Place, rings};
use answer::Answer;
use sign::{Seen, Signing};

/// Which step, and what is open on it.
pub struct Model {
    record: DocumentId,
    step: String,
    cautions: Vec<&'static str>,
    answer: Option<Answer>,
    slip: Slip,
    signing: Signing,
    keeping: bool,
    kept: Option<(EntryId, &'static str)>,
    problem: Option<Failure>,
}

/// What may happen.
pub enum Event {
    /// A piece of evidence was tapped.
    Piece(usize),
    /// Another step was tapped.
    Step(String),
    /// Something on what is being answered.
    Answer(answer::Event),
    /// Something on the slip of a stop.
    Stop(stop::Event),
    /// Something on the signature.
    Sign(sign::Event),
    /// What was entered is durable, or it failed.
    Kept(&'static str, Result<Saved, Failure>),
}

/// What is to be seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct View {
    /// What the step is.
    pub title: String,
    /// Its stage: number and title.
    pub stage: String,
    /// How far it is.
    pub progress: &'static str,
    /// Stops that nothing has resumed, its own first.
    pub stops: Vec<stop::Line>,
    /// Steps that come first: name, title, how far.
    pub waits: Vec<(String, String, &'static str)>,
    /// What to mind now.
    pub cautions: Vec<&'static str>,
    /// What is said before cautions.
    pub foreword: &'static str,
    /// What it needs.
    pub pieces: Vec<Piece>,
    /// What is being answered: which piece, and what is to be seen of it.
    pub answer: Option<(usize, answer::View)>,
    /// Both signatures.
    pub signatures: Vec<sign::Line>,
    /// The signature to be given.
    pub sign: sign::View,
    /// The slip of a stop.
    pub slip: Option<stop::View>,
    /// What is entered is on its way to the store.
    pub keeping: bool,
    /// What was kept last, and where it is.
    pub kept: Option<(&'static str, &'static str)>,
    /// What is wrong.
    pub problem: Option<Failure>,
}

/// A piece of evidence.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// What is asked for.
    pub asked: String,
    /// What there is, or what is missing.
    pub found: String,
    /// How it stands.
    pub stands: Stands,
    /// What a tap does.
    pub does: &'static str,
}

/// How a piece of evidence stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stands {
    /// It is there.
    There,
    /// Nothing is there.
    Missing,
    /// Something is there, and it does not do.
    NotGood,
}

impl Stands {
    fn of(piece: &Evidence) -> Self {
        match (piece.met, piece.entries.is_empty()) {
            (true, _) => Self::There,
            (false, true) => Self::Missing,
            (false, false) => Self::NotGood,
        }
    }

    /// In words.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::There => "there",
            Self::Missing => "missing",
            Self::NotGood => "not yet good",
        }
    }
}

impl Model {
    pub(super) fn open(record: DocumentId, step: &str, desk: &mut Desk) -> Self {
        desk.look(record);
        desk.effect(Effect::KeepAwake(true));
        let mut model = Self {
            record,
            step: step.to_owned(),
            cautions: Vec::new(),
            answer: None,
            slip: Slip::default(),
            signing: Signing::of(record, step),
            keeping: false,
            kept: None,
            problem: None,
        };
        model.mind(desk);
        model
    }

    /// Looks anew at what to mind: that reads the whole record, so it is not done for every view.
    fn mind(&mut self, desk: &Desk) {
        let seen = desk.sight(self.record).and_then(|sight| Seen::of(sight, &self.step));
        let ahead = seen.map(|seen| cautions_ahead(&seen.sight.record, &seen.sight.assessment, seen.at));
        self.cautions = ahead.unwrap_or_default().iter().map(|caution| caution.text).collect();
    }

    pub(super) fn handle(&mut self, event: Event, desk: &mut Desk) {
        match event {
            Event::Piece(piece) => self.piece(piece, desk),
            Event::Step(step) => desk.go(Place::Step(self.record, step)),
            Event::Answer(answer::Event::Close) => self.answer = None,
            Event::Answer(event) => self.answered(event, desk),
            Event::Stop(event) => self.stopped(event, desk),
            Event::Sign(event) => {
                let signed = matches!(event, sign::Event::Signed(Ok(_)));
                self.signing.handle(event, desk);
                if signed {
                    self.mind(desk);
                }
            }
            Event::Kept(what, Ok(saved)) => {
                (self.keeping, self.answer, self.slip) = (false, None, Slip::default());
                self.kept = saved.entries.last().map(|entry| (*entry, what));
                self.mind(desk);
                desk.effect(Effect::Buzz(Buzz::Kept));
            }
            Event::Kept(_, Err(failure)) => self.say(failure, desk),
        }
    }

    fn say(&mut self, failure: Failure, desk: &mut Desk) {
        self.keeping = false;
        self.problem = Some(failure);
        desk.effect(Effect::Buzz(Buzz::Look));
    }

    /// Leads to what supplies a piece of evidence, here or on another screen.
    fn piece(&mut self, piece: usize, desk: &mut Desk) {
        (self.problem, self.kept) = (None, None);
        let Some(seen) = desk.sight(self.record).and_then(|sight| Seen::of(sight, &self.step)) else {
            return;
        };
        let way = Way::to(&seen.sight.record, &seen.sight.assessment, seen.at, piece);
        let ask = seen.definition.steps()[seen.at].asks.get(piece);
        let Some(way) = way else {
            if let Some(place) = ask.and_then(|ask| self.looked_at(ask, &seen)) {
                desk.go(place);
            }
            return;
        };
        match self.elsewhere(&way) {
            Some(place) => desk.go(place),
            None => self.answer = Answer::of(piece, way),
        }
    }

    fn elsewhere(&self, way: &Way) -> Option<Place> {
        let record = self.record;
        match way {
            Way::Read { feature, row, .. } => {
                Some(Place::Reading(record, feature.path().to_owned(), row.name.to_owned()))
            }
            Way::Tighten { group, place } => Some(Place::Tighten(record, group.clone(), place.clone())),
            Way::Check { name, feature } if name == rings::CHECK => {
                let number = feature.strip_prefix("cylinder/")?.parse().ok()?;
                Some(Place::Rings(record, number))
            }
            Way::Settle { .. } => Some(Place::Record(record)),
            Way::Check { .. }
            | Way::Operation { .. }
            | Way::Allot { .. }
            | Way::Receive { .. }
            | Way::Decide { .. }
            | Way::Approve { .. }
            | Way::CheckGauge { .. } => None,
        }
    }

    /// Where a value that is there is looked at, and read again.
    fn looked_at(&self, ask: &Ask, seen: &Seen<'_>) -> Option<Place> {
        let Target::Feature(at) = ask.target else { return None };
        match ask.subject? {
            Subject::Measured(row) => {
                let path = seen.definition.feature_at(at).path().to_owned();
                Some(Place::Reading(self.record, path, row.name.to_owned()))
            }
            Subject::Derived(_) => None,
        }
    }

    fn answered(&mut self, event: answer::Event, desk: &mut Desk) {
        let what = if let answer::Event::Give(gives) = &event { gives.kept() } else { "" };
        let Some((answer, sight)) = self.answer.as_mut().zip(desk.sight(self.record)) else { return };
        match answer.handle(event, &self.step, sight) {
            Ok(says) if says.is_empty() => {}
            Ok(says) => self.enter(what, &says, desk),
            Err(failure) => self.say(failure, desk),
        }
    }

    fn stopped(&mut self, event: stop::Event, desk: &mut Desk) {
        let so_far = desk.sight(self.record).map_or_else(String::new, |sight| self.so_far(sight));
        let spot = Spot { step: &self.step, feature: "", so_far: &so_far };
        let closes = event == stop::Event::Close;
        match self.slip.handle(event, &spot) {
            Ok(Some(payload)) => {
                let what = if matches!(payload, Payload::Stop(_)) {
                    "stopped, and tagged"
                } else {
                    "taken up again"
                };
                self.enter(what, &[payload], desk);
            }
            Ok(None) if closes => self.problem = None,
            Ok(None) => {}
            Err(failure) => self.say(failure, desk),
        }
    }

    fn so_far(&self, sight: &Sight) -> String {
        let Some(seen) = Seen::of(sight, &self.step) else { return String::new() };
        let evidence = &seen.state().evidence;
        let there = evidence.iter().filter(|piece| piece.met).count();
        format!("{there} of {} there", evidence.len())
    }

    /// Signs and saves with the key of who holds the phone; where nobody does, asks who it is.
    fn enter(&mut self, what: &'static str, says: &[Payload], desk: &mut Desk) {
        if desk.holder().is_none() {
            return desk.ask_who(Place::Step(self.record, self.step.clone()));
        }
        if !self.keeping {
            (self.keeping, self.problem, self.kept) = (true, None, None);
            desk.state(self.record, says, move |saved| Event::Kept(what, saved).into());
        }
    }

    pub(super) fn view(&self, desk: &Desk) -> View {
        let Some(sight) = desk.sight(self.record) else { return View::default() };
        let Some(seen) = Seen::of(sight, &self.step) else { return View::default() };
        let state = seen.state();
        let instance = &seen.definition.steps()[seen.at];
        let step = seen.definition.step_of(instance);
        let stage = seen.definition.stages().iter().find(|stage| stage.number == step.stage);
        let waits = |at: &usize| {
            let other = &sight.assessment.steps()[*at];
            let title = &seen.definition.step_of(&seen.definition.steps()[*at]).title;
            (other.id.to_string(), title.clone(), other.progress.word())
        };
        let blind = desk.blind(self.record);
        let piece = |(ask, piece): (&Ask, &Evidence)| Piece {
            asked: piece.asked.to_string(),
            found: blind.found(piece),
            stands: Stands::of(piece),
            does: does(&ask.asked),
        };
        let answer = self.answer.as_ref().map(|answer| (answer.piece(), answer.view(sight)));
        View {
            title: step.title.clone(),
            stage: stage.map_or_else(String::new, |stage| format!("{} {}", stage.number, stage.title)),
            progress: state.progress.word(),
            stops: stop::lines(desk, self.record, &self.step),
            waits: state.waits_for.iter().map(waits).collect(),
            cautions: self.cautions.clone(),
            foreword: FOREWORD,
            pieces: instance.asks.iter().zip(&state.evidence).map(piece).collect(),
            answer,
            signatures: seen.signatures(desk),
            sign: self.signing.view(desk),
            slip: self.slip.view(),
            keeping: self.keeping,
            kept: self.kept.map(|(entry, what)| (what, desk.whereabouts(self.record, entry).words())),
            problem: self.problem.clone(),
        }
    }
}

/// What a tap on a piece of evidence does.
fn does(asked: &Asked) -> &'static str {
    match asked {
        Asked::Judged(_) | Asked::Read(_) => "read",
        Asked::Check(name) if name == rings::CHECK => "set the gaps",
        Asked::Check(_) => "answer",
        Asked::Tightening(_) => "tighten",
        Asked::Operation(_) => "log the work",
        Asked::Part(_) => "choose the part",
        Asked::Decision(_) => "decide",
        Asked::Approval(_) => "enter the customer's word",
        Asked::GaugeCheck(_) => "try the gauge",
    }
}
