//! Tightening a group of fasteners: what comes next is computed, one tap a stage, bolts that went
//! otherwise said by number.
//!
//! The figures are the maker's, from the definition: a torque is shown in the unit of the wrench and
//! never worked out. Where the unit is another one, what the wrench is set to is the maker's figure
//! converted, and that stands beside it.

pub mod plan;
#[cfg(test)]
mod tests;
pub mod wrench;

use std::collections::BTreeMap;

use gudgeon_client::home::Saved;
use gudgeon_core::assess::NextAct;
use gudgeon_core::crew::cautions_ahead;
use gudgeon_core::engine::caution::FOREWORD;
use gudgeon_core::engine::{Asked, Definition, Fastener, FeatureKind, Target};
use gudgeon_core::entry::payload::{Check, Tightening, TighteningAct};
use gudgeon_core::entry::{DocumentId, EntryId, Payload};
use gudgeon_core::quantity::{Kind, Quantity};

use super::sight::Sight;
use super::stop::{self, Slip, Spot};
use super::{Buzz, Desk, Effect, Failure, Place};
use plan::{Line, TURNS};

/// Which group, and what is set.
pub struct Model {
    record: DocumentId,
    group: String,
    place: String,
    /// Mark of the wrench in the hand.
    wrench: String,
    /// What the wrench is set to, where that is not the figure shown.
    set: Option<String>,
    /// What is on thread and face, once it is said.
    lubricant: Option<String>,
    /// Bolts that went otherwise, with what happened.
    apart: BTreeMap<u32, String>,
    note: String,
    /// It does not turn freely: what was found is asked for.
    bound: bool,
    cautions: Vec<&'static str>,
    slip: Slip,
    keeping: bool,
    kept: Option<(EntryId, &'static str)>,
    problem: Option<Failure>,
}

/// What may happen.
pub enum Event {
    /// This wrench.
    Wrench(String),
    /// It is set to this.
    Set(String),
    /// This is on thread and face.
    Lubricant(String),
    /// A bolt went otherwise, or not after all.
    Bolt(u32),
    /// What happened to it.
    BoltWords(u32, String),
    /// Words.
    Note(String),
    /// The act that comes next is done.
    Done,
    /// It turns freely, or not.
    Turns(bool),
    /// Another place of the group.
    Place(String),
    /// A length of the bolts is to be read.
    Length(&'static str),
    /// Back to the step.
    Step,
    /// Something on the slip of a stop.
    Stop(stop::Event),
    /// What was entered is durable, or it failed.
    Kept(&'static str, Result<Saved, Failure>),
}

/// What is to be seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct View {
    /// Group and place.
    pub title: String,
    /// Stops that nothing has resumed.
    pub stops: Vec<stop::Line>,
    /// The bolts as drawn.
    pub bolts: Vec<Bolt>,
    /// In what order they are pulled, by the definition.
    pub order: String,
    /// Thread and class, lubricant, method, re-use, source.
    pub facts: Vec<String>,
    /// The plan: every act, how far.
    pub lines: Vec<Line>,
    /// What comes next.
    pub next: Next,
    /// Bolts that went otherwise: number, what happened.
    pub apart: Vec<(u32, String)>,
    /// Wrenches to choose from.
    pub wrenches: Vec<wrench::Line>,
    /// The mark as chosen or typed.
    pub wrench: String,
    /// What is asked to be on thread and face, and what was said to be.
    pub lubricant: (String, Option<String>),
    /// Words.
    pub note: String,
    /// It does not turn freely, and what was found is asked for.
    pub bound: bool,
    /// What is wrong with the group, each with what settles it.
    pub wrong: Vec<(String, String)>,
    /// Lengths of the bolts: name, what it is for.
    pub lengths: Vec<(&'static str, &'static str)>,
    /// The other places of the group: path, how far.
    pub others: Vec<(String, String)>,
    /// What to mind now.
    pub cautions: Vec<&'static str>,
    /// What is said before cautions.
    pub foreword: &'static str,
    /// The slip of a stop.
    pub slip: Option<stop::View>,
    /// What is entered is on its way to the store.
    pub keeping: bool,
    /// What was kept last, and where it is.
    pub kept: Option<(&'static str, &'static str)>,
    /// What is wrong.
    pub problem: Option<Failure>,
}

/// A bolt as drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Bolt {
    /// Its number: the order in which it is pulled.
    pub number: u32,
    /// Row and column in which it is drawn, from nought.
    pub at: (u32, u32),
    /// How it stands.
    pub state: BoltState,
}

/// How a bolt stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BoltState {
    /// Nothing was done to it since it was slack.
    Slack,
    /// Some of it is done.
    PartWay,
    /// All of it is done.
    Tight,
    /// It went otherwise.
    Apart,
}

impl BoltState {
    /// In words.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Slack => "slack",
            Self::PartWay => "part-tightened",
            Self::Tight => "tightened",
            Self::Apart => "went otherwise",
        }
    }
}

/// What comes next.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Next {
    /// Which act.
    pub act: NextAct,
    /// In words, above the figure.
    pub words: String,
    /// The figure in the unit of the wrench.
    pub figure: String,
    /// Its unit.
    pub unit: &'static str,
    /// The same in the other unit, and the maker's own where that is another.
    pub beneath: String,
    /// As typed, where the wrench is set to something else.
    pub set: Option<String>,
    /// On the button.
    pub button: String,
}

impl Model {
    pub(super) fn open(record: DocumentId, group: &str, place: &str, desk: &mut Desk) -> Self {
        desk.look(record);
        desk.effect(Effect::KeepAwake(true));
        let mut model = Self {
            record,
            group: group.to_owned(),
            place: place.to_owned(),
            wrench: String::new(),
            set: None,
            lubricant: None,
            apart: BTreeMap::new(),
            note: String::new(),
            bound: false,
            cautions: Vec::new(),
            slip: Slip::default(),
            keeping: false,
            kept: None,
            problem: None,
        };
        model.remember(desk);
        model.mind(desk);
        model
    }

    /// The wrench that was used last on the group, and what is on the threads already.
    fn remember(&mut self, desk: &Desk) {
        let Some(sight) = desk.sight(self.record) else { return };
        for (act, ix) in plan::acts(sight, &self.group, None) {
            if !act.wrench.is_empty() && matches!(act.act, TighteningAct::Stage(_)) {
                self.wrench.clone_from(&act.wrench);
            }
            let here = act.place == self.place && sight.assessment.status(ix).stands();
            if here && !act.lubricant.is_empty() {
                self.lubricant = Some(act.lubricant.clone());
            }
        }
        self.reach_for_wrench(desk);
    }

    /// The one wrench that can be set to what comes next, where the one in the hand cannot.
    fn reach_for_wrench(&mut self, desk: &Desk) {
        let Some(sight) = desk.sight(self.record) else { return };
        let next = self.fastener(sight).and_then(|fastener| self.set_point(fastener, sight));
        let Some(set) = next else { return };
        let fitting: Vec<_> = wrench::lines(desk, sight, &set).into_iter().filter(|line| line.fits).collect();
        // One that is not listed may be anything: it stays in the hand.
        let unlisted = !self.wrench.is_empty() && sight.workshop.gauge(self.wrench.trim()).is_none();
        if !unlisted && fitting.iter().all(|line| line.mark != self.wrench.trim()) {
            self.wrench = if let [only] = &fitting[..] { only.mark.clone() } else { String::new() };
        }
    }

    /// Looks anew at what to mind.
    fn mind(&mut self, desk: &Desk) {
        let Some(sight) = desk.sight(self.record) else { return };
        let step = sight.assessment.definition().and_then(|definition| self.step(definition));
        let ahead = step.map(|at| cautions_ahead(&sight.record, &sight.assessment, at));
        self.cautions = ahead.unwrap_or_default().iter().map(|caution| caution.text).collect();
    }

    /// The step that asks for this group here.
    fn step(&self, definition: &Definition) -> Option<usize> {
        definition.steps().iter().position(|step| {
            step.asks.iter().any(|ask| match (&ask.asked, ask.target) {
                (Asked::Tightening(group), Target::Feature(at)) => {
                    *group == self.group && definition.feature_at(at).path() == self.place
                }
                (_, Target::Engine | Target::Feature(_) | Target::PartAt { .. }) => false,
            })
        })
    }

    fn step_id(&self, sight: &Sight) -> String {
        let at = sight.assessment.definition().and_then(|definition| self.step(definition));
        at.map_or_else(String::new, |at| sight.assessment.steps()[at].id.to_string())
    }

    fn fastener<'s>(&self, sight: &'s Sight) -> Option<&'s Fastener> {
        sight.assessment.definition()?.fastener(&self.group)
    }

    fn next(&self, fastener: &Fastener, sight: &Sight) -> NextAct {
        plan::next(sight, fastener, &self.place)
    }

    /// The maker's figure of the stage that comes next.
    fn set_point(&self, fastener: &Fastener, sight: &Sight) -> Option<Quantity> {
        match self.next(fastener, sight) {
            NextAct::Stage(number) => fastener.stage(number).cloned(),
            NextAct::Nip | NextAct::Turn | NextAct::Slacken | NextAct::Nothing => None,
        }
    }

    pub(super) fn handle(&mut self, event: Event, desk: &mut Desk) {
        match event {
            Event::Wrench(mark) => (self.wrench, self.set) = (mark, None),
            Event::Set(text) => self.set = Some(text),
            Event::Lubricant(text) => self.lubricant = Some(text).filter(|text| !text.trim().is_empty()),
            Event::Bolt(number) => {
                if self.apart.remove(&number).is_none() {
                    self.apart.insert(number, String::new());
                }
            }
            Event::BoltWords(number, words) => {
                self.apart.insert(number, words);
            }
            Event::Note(text) => self.note = text,
            Event::Done => self.done(desk),
            Event::Turns(freely) => self.turned(freely, desk),
            Event::Place(place) => desk.go(Place::Tighten(self.record, self.group.clone(), place)),
            Event::Length(name) => desk.go(Place::Reading(self.record, self.place.clone(), name.to_owned())),
            Event::Step => {
                let step = desk.sight(self.record).map(|sight| self.step_id(sight)).unwrap_or_default();
                desk.go(if step.is_empty() {
                    Place::Record(self.record)
                } else {
                    Place::Step(self.record, step)
                });
            }
            Event::Stop(event) => self.stopped(event, desk),
            Event::Kept(what, Ok(saved)) => {
                self.keeping = false;
                (self.set, self.bound, self.slip) = (None, false, Slip::default());
                self.apart.clear();
                self.note.clear();
                self.kept = saved.entries.last().map(|entry| (*entry, what));
                self.reach_for_wrench(desk);
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

    /// One tap: what comes next was done to every bolt, but for those said to be otherwise.
    fn done(&mut self, desk: &mut Desk) {
        let Some(sight) = desk.sight(self.record) else { return };
        let Some(fastener) = self.fastener(sight) else { return };
        let (act, what) = match self.next(fastener, sight) {
            NextAct::Nip => (TighteningAct::Nipped, "nipped"),
            NextAct::Stage(number) => (TighteningAct::Stage(number), "stage kept"),
            NextAct::Slacken => (TighteningAct::Slackened, "slackened"),
            NextAct::Turn => return,
            NextAct::Nothing => return self.handle(Event::Step, desk),
        };
        match self.tightening(act, fastener, sight, desk.now()) {
            Ok(done) => self.enter(what, &[Payload::Tightening(done)], desk),
            Err(failure) => self.say(failure, desk),
        }
    }

    fn tightening(
        &self,
        act: TighteningAct,
        fastener: &Fastener,
        sight: &Sight,
        now: i64,
    ) -> Result<Tightening, Failure> {
        let pulls = matches!(act, TighteningAct::Stage(_));
        let lubricated = self.lubricant.is_some() || act == TighteningAct::Slackened;
        if !lubricated {
            let cause = "what is on thread and face is not said";
            let way_out = format!("say that it is {}, or name what it is", fastener.lubricant);
            return Err(Failure::new("lubricant", cause, way_out));
        }
        if let Some((number, _)) = self.apart.iter().find(|(_, words)| words.trim().is_empty()) {
            let cause = format!("bolt {number} went otherwise, and it is not said how");
            return Err(Failure::new(
                "exception",
                cause,
                "say what happened to it, or tap it again to take it back",
            ));
        }
        let set_point = if pulls { self.set_to(fastener, sight, now)? } else { None };
        Ok(Tightening {
            group: self.group.clone(),
            place: self.place.clone(),
            act,
            set_point,
            wrench: if pulls { self.wrench.trim().to_owned() } else { String::new() },
            lubricant: if act == TighteningAct::Slackened {
                String::new()
            } else {
                self.lubricant.clone().unwrap_or_default()
            },
            exceptions: self.apart.iter().map(|(n, words)| (*n, words.trim().to_owned())).collect(),
            note: self.note.trim().to_owned(),
        })
    }

    /// What the wrench is set to: the figure shown, or what was typed in its place.
    fn set_to(&self, fastener: &Fastener, sight: &Sight, now: i64) -> Result<Option<Quantity>, Failure> {
        let Some(wanted) = self.set_point(fastener, sight) else { return Ok(None) };
        let shown = wrench::shown(sight, &self.wrench, &wanted, now);
        match self.set.as_deref().map(str::trim) {
            None | Some("") => Ok(Some(shown)),
            Some(text) => {
                let with_unit = Quantity::parse(text).ok().filter(|typed| typed.kind() == wanted.kind());
                Ok(Some(with_unit.map_or_else(|| Quantity::parse_number(text, shown.unit()), Ok)?))
            }
        }
    }

    fn turned(&mut self, freely: bool, desk: &mut Desk) {
        let note = self.note.trim().to_owned();
        if !freely && note.is_empty() {
            self.bound = true;
            let cause = "it does not turn freely, and it is not said what was found";
            let failure = Failure::new("bound", cause, "say where it binds; do not pull the next stage");
            return self.say(failure, desk);
        }
        let Some(sight) = desk.sight(self.record) else { return };
        let check = Check {
            check: TURNS.to_owned(),
            feature: self.turned_at(sight),
            passed: freely,
            step: self.step_id(sight),
            note,
        };
        let what = if freely { "turns freely, kept" } else { "does not turn freely, kept" };
        self.enter(what, &[Payload::Check(check)], desk);
    }

    /// The mains are turned together, by the crank; a rod at its own place.
    fn turned_at(&self, sight: &Sight) -> String {
        let mains = self.fastener(sight).is_some_and(|fastener| fastener.place == FeatureKind::Main);
        if mains { "crank".to_owned() } else { self.place.clone() }
    }

    fn stopped(&mut self, event: stop::Event, desk: &mut Desk) {
        let Some(sight) = desk.sight(self.record) else { return };
        let (step, so_far) = (self.step_id(sight), self.so_far(sight));
        let spot = Spot { step: &step, feature: &self.place, so_far: &so_far };
        let closes = event == stop::Event::Close;
        match self.slip.handle(event, &spot) {
            Ok(Some(payload)) => self.enter("stopped, and tagged", &[payload], desk),
            Ok(None) if closes => self.problem = None,
            Ok(None) => {}
            Err(failure) => self.say(failure, desk),
        }
    }

    fn so_far(&self, sight: &Sight) -> String {
        let done = plan::stages_done(sight, &self.group, &self.place);
        let all = self.fastener(sight).map_or(0, |fastener| fastener.stages.len());
        format!("{} at {}: {done} of {all} stages", self.group, self.place)
    }

    /// Signs and saves with the key of who holds the phone; where nobody does, asks who it is.
    fn enter(&mut self, what: &'static str, says: &[Payload], desk: &mut Desk) {
        if desk.holder().is_none() {
            let here = Place::Tighten(self.record, self.group.clone(), self.place.clone());
            return desk.ask_who(here);
        }
        if !self.keeping {
            (self.keeping, self.problem, self.kept) = (true, None, None);
            desk.state(self.record, says, move |saved| Event::Kept(what, saved).into());
        }
    }

    pub(super) fn view(&self, desk: &Desk) -> View {
        let Some(sight) = desk.sight(self.record) else { return View::default() };
        let Some(fastener) = self.fastener(sight) else { return View::default() };
        let next = self.next(fastener, sight);
        let (findings, blind) = (sight.assessment.findings().into_iter(), desk.blind(self.record));
        let wrong = findings.filter(|f| f.is_open() && f.feature == self.place && f.subject == self.group);
        let set_point = self.set_point(fastener, sight);
        View {
            title: format!("{}, {}", self.group, self.place),
            stops: stop::lines(desk, self.record, &self.step_id(sight)),
            bolts: plan::bolts(fastener, sight, &self.place, &self.apart),
            order: fastener.order.clone(),
            facts: plan::facts(fastener),
            lines: plan::lines(fastener, desk, sight, &self.place),
            next: self.next_view(fastener, next, set_point.as_ref(), sight, desk.now()),
            apart: self.apart.iter().map(|(number, words)| (*number, words.clone())).collect(),
            wrenches: set_point.map(|set| wrench::lines(desk, sight, &set)).unwrap_or_default(),
            wrench: self.wrench.clone(),
            lubricant: (fastener.lubricant.clone(), self.lubricant.clone()),
            note: self.note.clone(),
            bound: self.bound,
            wrong: wrong.map(|f| (blind.words_of(sight, f), f.hint().to_owned())).collect(),
            lengths: plan::lengths(fastener),
            others: plan::others(fastener, sight, &self.place),
            cautions: self.cautions.clone(),
            foreword: FOREWORD,
            slip: self.slip.view(),
            keeping: self.keeping,
            kept: self.kept.map(|(entry, what)| (what, desk.whereabouts(self.record, entry).words())),
            problem: self.problem.clone(),
        }
    }

    fn next_view(
        &self,
        fastener: &Fastener,
        act: NextAct,
        wanted: Option<&Quantity>,
        sight: &Sight,
        now: i64,
    ) -> Next {
        let (words, button) = plan::words(fastener, act, self.apart.len());
        let Some(wanted) = wanted else { return Next { act, words, button, ..Next::default() } };
        let shown = wrench::shown(sight, &self.wrench, wanted, now);
        let unit = shown.unit().symbol();
        let figure = shown.to_string();
        let figure = figure.strip_suffix(unit).unwrap_or(&figure).trim().to_owned();
        let beneath =
            if wanted.kind() == Kind::Torque { wrench::beneath(&shown, wanted) } else { String::new() };
        Next { act, words, figure, unit, beneath, set: self.set.clone(), button }
    }
}
