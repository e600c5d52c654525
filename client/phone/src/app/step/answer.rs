//! A piece of evidence that is given on the step itself: a check answered, work logged, a part put in
//! its place, a lead's decision, the customer's word, a gauge tried.

use gudgeon_core::crew::Way;
use gudgeon_core::engine::is_mark;
use gudgeon_core::entry::Payload;
use gudgeon_core::entry::payload::{
    Approval, Check, Decision, Fitting, FittingState, GaugeCheck, Operation, PartReceived,
};

use crate::app::Failure;
use crate::app::sight::Sight;

/// What is being answered, and what is typed.
pub struct Answer {
    piece: usize,
    way: Way,
    /// The mark that is chosen or typed: a part's, a gauge's.
    mark: String,
    /// Words.
    note: String,
    /// Who said it, or who did it.
    who: String,
}

/// What may happen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Event {
    /// A mark is chosen or typed.
    Mark(String),
    /// Words.
    Note(String),
    /// Who.
    Who(String),
    /// One of the buttons.
    Give(Gives),
    /// Put it away.
    Close,
}

/// What a button says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gives {
    /// The check passed.
    Yes,
    /// It did not.
    No,
    /// The work was done.
    Done,
    /// The part is chosen for the place.
    Chosen,
    /// The part is in the place.
    Fitted,
    /// The part came in.
    Received,
    /// So it is decided.
    Decided,
    /// The customer approves.
    Approved,
}

impl Gives {
    /// Said once it is kept.
    #[must_use]
    pub const fn kept(self) -> &'static str {
        match self {
            Self::Yes => "yes, kept",
            Self::No => "no, kept with what was found",
            Self::Done => "work logged",
            Self::Chosen => "part chosen",
            Self::Fitted => "part fitted",
            Self::Received => "part received",
            Self::Decided => "decision kept",
            Self::Approved => "customer's word kept",
        }
    }

    /// On the button.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Yes => "Yes",
            Self::No => "No",
            Self::Done => "Log the work",
            Self::Chosen => "Chosen for it",
            Self::Fitted => "Fitted",
            Self::Received => "Received",
            Self::Decided => "Decided",
            Self::Approved => "Approved",
        }
    }
}

/// What is to be seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct View {
    /// What it is about.
    pub title: String,
    /// What a yes says, or what to mind.
    pub says: String,
    /// What may be chosen: mark, what is known of it, whether it is chosen.
    pub choices: Vec<(String, String, bool)>,
    /// Name of the field for a mark; none: there is no choice to be made.
    pub mark: Option<(&'static str, String)>,
    /// Name of the field for who; none: nobody is asked for.
    pub who: Option<(&'static str, String)>,
    /// Name of the field for words, and the words.
    pub note: (&'static str, String),
    /// The buttons.
    pub gives: Vec<Gives>,
}

impl Answer {
    /// None: it is given on another screen.
    pub(super) fn of(piece: usize, way: Way) -> Option<Self> {
        let here = !matches!(way, Way::Read { .. } | Way::Tighten { .. } | Way::Settle { .. });
        here.then(|| Self { piece, way, mark: String::new(), note: String::new(), who: String::new() })
    }

    pub(super) const fn piece(&self) -> usize {
        self.piece
    }

    /// Takes in an event; answers what is to be kept, once a button was pressed and all is there.
    pub(super) fn handle(
        &mut self,
        event: Event,
        step: &str,
        sight: &Sight,
    ) -> Result<Vec<Payload>, Failure> {
        match event {
            Event::Mark(text) => self.mark = text,
            Event::Note(text) => self.note = text,
            Event::Who(text) => self.who = text,
            Event::Give(gives) => return self.payloads(gives, step, sight),
            Event::Close => {}
        }
        Ok(Vec::new())
    }

    fn payloads(&self, gives: Gives, step: &str, sight: &Sight) -> Result<Vec<Payload>, Failure> {
        let note = self.note.trim().to_owned();
        Ok(match &self.way {
            Way::Check { name, feature } => {
                let passed = gives == Gives::Yes;
                if !passed && note.is_empty() {
                    return Err(lacks("what was found", "a no is kept with what was found"));
                }
                let (check, feature, step) = (name.clone(), feature.clone(), step.to_owned());
                vec![Payload::Check(Check { check, feature, passed, step, note })]
            }
            Way::Operation { name, feature } => vec![Payload::Operation(Operation {
                operation: name.clone(),
                features: (!feature.is_empty()).then(|| feature.clone()).into_iter().collect(),
                parts: Vec::new(),
                note,
                done_by: None,
                outside_shop: self.who.trim().to_owned(),
            })],
            Way::Allot { sort, place } => {
                let state =
                    if gives == Gives::Fitted { FittingState::Fitted } else { FittingState::Allotted };
                let part = format!("{sort}/{}", self.mark()?);
                let fitting = Fitting { part, place: place.clone(), state, orientation: String::new(), note };
                self.received(sort, sight)?.into_iter().chain([Payload::Fitting(fitting)]).collect()
            }
            Way::Receive { sort } => vec![received(sort, self.mark()?, note)],
            Way::Decide { subject } => vec![Payload::Decision(Decision {
                subject: subject.clone(),
                text: some(&note, "what is decided")?,
                replaces: None,
            })],
            Way::Approve { decision, .. } => vec![Payload::Approval(Approval {
                decision: *decision,
                who: some(self.who.trim(), "who said it")?,
                how: some(&note, "how it was said")?,
                when: String::new(),
            })],
            Way::CheckGauge { .. } => vec![self.gauge_check(gives == Gives::Yes, sight)?],
            Way::Read { .. } | Way::Tighten { .. } | Way::Settle { .. } => Vec::new(),
        })
    }

    fn mark(&self) -> Result<&str, Failure> {
        let mark = self.mark.trim();
        if is_mark(mark) {
            return Ok(mark);
        }
        if mark.is_empty() {
            return Err(lacks("its mark", "choose it, or type the mark that is on it"));
        }
        let cause = format!("`{mark}` cannot be the mark of a part");
        Err(Failure::new("mark", cause, "letters, digits, `-`, `_`, `.`, `+`; at most 40"))
    }

    /// A part that nobody has received yet comes in with its fitting.
    fn received(&self, sort: &str, sight: &Sight) -> Result<Option<Payload>, Failure> {
        let mark = self.mark()?;
        let known = sight.assessment.parts_of(&sight.record, sort).contains(mark);
        Ok((!known).then(|| received(sort, mark, String::new())))
    }

    fn gauge_check(&self, passed: bool, sight: &Sight) -> Result<Payload, Failure> {
        let gauge = some(self.mark.trim(), "which gauge was tried")?;
        let master = sight.workshop.gauge(&gauge).map(|facts| facts.master.clone()).unwrap_or_default();
        let (nominal, observed, reading_set) = (None, None, String::new());
        Ok(Payload::GaugeCheck(GaugeCheck { gauge, master, nominal, observed, passed, reading_set }))
    }

    pub(super) fn view(&self, sight: &Sight) -> View {
        let words = self.words(sight);
        let choices = self.choices(sight);
        let chosen = |(mark, about): (String, String)| {
            let meant = mark == self.mark.trim();
            (mark, about, meant)
        };
        View {
            title: words.title,
            says: words.says,
            choices: choices.into_iter().map(chosen).collect(),
            mark: words.mark.map(|name| (name, self.mark.clone())),
            who: words.who.map(|name| (name, self.who.clone())),
            note: (words.note, self.note.clone()),
            gives: words.gives.to_vec(),
        }
    }

    fn words(&self, sight: &Sight) -> Words {
        let of = |title: String, says: &str, note, gives| Words {
            title,
            says: says.to_owned(),
            mark: None,
            who: None,
            note,
            gives,
        };
        match &self.way {
            Way::Check { name, feature } => {
                let checks = sight.assessment.definition().map_or(&[][..], |definition| definition.checks());
                let says = checks.iter().find(|check| check.name == *name).map_or("", |check| &check.says);
                of(on(name, feature), says, "What was found (a no needs it)", &[Gives::Yes, Gives::No])
            }
            Way::Operation { name, feature } => {
                let words = of(on(name, feature), OPERATION, "What was done", &[Gives::Done]);
                Words { who: Some("Outside shop, where one did it"), ..words }
            }
            Way::Allot { sort, place } => {
                let words = of(
                    on(sort, place),
                    PART,
                    "Which way round, or what else",
                    &[Gives::Fitted, Gives::Chosen],
                );
                Words { mark: Some("Its mark"), ..words }
            }
            Way::Receive { sort } => {
                let words = of(sort.clone(), "", "What else", &[Gives::Received]);
                Words { mark: Some("Its mark"), ..words }
            }
            Way::Decide { subject } => {
                of(format!("Decision on {subject}"), DECISION, "What is decided", &[Gives::Decided])
            }
            Way::Approve { subject, .. } => {
                let title = format!("The customer's word on {subject}");
                let words = of(title, "", "How it was said: by telephone, in writing", &[Gives::Approved]);
                Words { who: Some("Who said it"), ..words }
            }
            Way::CheckGauge { sort } => {
                let words =
                    of(format!("{sort} tried on its master"), GAUGE, "Words", &[Gives::Yes, Gives::No]);
                Words { mark: Some("Mark of the gauge"), ..words }
            }
            Way::Read { .. } | Way::Tighten { .. } | Way::Settle { .. } => of(String::new(), "", "", &[]),
        }
    }

    /// Marks to choose from, with what is known of them.
    fn choices(&self, sight: &Sight) -> Vec<(String, String)> {
        match &self.way {
            Way::Allot { sort, .. } => {
                let marks = sight.assessment.parts_of(&sight.record, sort).into_iter();
                marks.map(|mark| (mark.to_owned(), whereabouts(sight, &format!("{sort}/{mark}")))).collect()
            }
            Way::CheckGauge { sort } => {
                let gauges = sight.workshop.gauges().filter(|gauge| gauge.sort == *sort);
                gauges.map(|gauge| (gauge.mark.to_string(), String::new())).collect()
            }
            Way::Check { .. }
            | Way::Operation { .. }
            | Way::Receive { .. }
            | Way::Decide { .. }
            | Way::Approve { .. }
            | Way::Read { .. }
            | Way::Tighten { .. }
            | Way::Settle { .. } => Vec::new(),
        }
    }
}

const OPERATION: &str = "What it changes is no longer as it was read: those readings stay, as before.";
const PART: &str = "Choose one that came in, or type the mark of a new one: it is received with it.";
const DECISION: &str = "A lead decides; the customer's word on it comes after.";
const GAUGE: &str = "Yes: it shows its master's size. No: its readings since the last good try are in doubt.";

struct Words {
    title: String,
    says: String,
    mark: Option<&'static str>,
    who: Option<&'static str>,
    note: &'static str,
    gives: &'static [Gives],
}

fn on(name: &str, place: &str) -> String {
    if place.is_empty() { name.to_owned() } else { format!("{name}, {place}") }
}

fn received(sort: &str, mark: &str, note: String) -> Payload {
    let (mark, sort) = (mark.to_owned(), sort.to_owned());
    Payload::PartReceived(PartReceived {
        mark,
        sort,
        batch: String::new(),
        weight: None,
        wall: None,
        count: 1,
        note,
    })
}

/// Where a part is now.
fn whereabouts(sight: &Sight, part: &str) -> String {
    let features = sight.assessment.definition().map_or(&[][..], |definition| definition.features());
    let at = features
        .iter()
        .find(|feature| sight.assessment.parts_in(feature.path()).any(|(here, _)| here == part));
    at.map_or_else(|| "free".to_owned(), |feature| format!("at {}", feature.path()))
}

fn some(text: &str, what: &'static str) -> Result<String, Failure> {
    if text.is_empty() { Err(lacks(what, "say it in a few words")) } else { Ok(text.to_owned()) }
}

fn lacks(what: &str, way_out: &str) -> Failure {
    Failure::new("lacking", format!("it does not say {what}; nothing is kept yet"), way_out)
}
