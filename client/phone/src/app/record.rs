//! One engine: its drawing, each shape in its state; what is next, in order; what waits, and for what.
//!
//! All of it is made once for each state of the record and kept ([`Seen`]): a tap costs nothing that grows
//! with the entries.

use std::cell::RefCell;
use std::collections::BTreeSet;
use std::sync::Arc;

use gudgeon_core::assess::{Cause, Evidence, Finding, Progress, Rule, StepState};
use gudgeon_core::crew::{Way, cause, few, is_for, next};
use gudgeon_core::engine::Definition;
use gudgeon_core::entry::{DocumentId, KeyId};
use gudgeon_core::sheet::{State, count, drawing, place, plain};

use super::blind::{Blind, VEILED};
use super::drawing::{Figure, figures};
use super::sight::Sight;
use super::{Desk, Place};

/// Lines of what can be done that stand open; the others are folded away.
const FEW: usize = 8;

/// Which record, and what was made of it last.
pub struct Model {
    record: DocumentId,
    open: BTreeSet<Fold>,
    seen: RefCell<Option<(Key, Arc<Seen>)>>,
}

/// What a picture of the record depends on: its state, and who looks.
type Key = (u64, Option<KeyId>);

/// What is folded away.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fold {
    /// What can be done besides.
    Besides,
    /// What waits.
    Waits,
    /// Features that are no shape of the drawing.
    Features,
}

/// What may happen.
pub enum Event {
    /// Something is folded out, or away again.
    Fold(Fold),
}

/// What is to be seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct View {
    /// Why there is nothing to be seen.
    pub nothing: Option<&'static str>,
    /// What is folded out.
    pub open: BTreeSet<Fold>,
    /// Everything else.
    pub seen: Arc<Seen>,
}

/// Everything that follows from the record.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Seen {
    /// Name of the definition.
    pub engine: String,
    /// Tags that everybody sees: work that was stopped.
    pub stops: Vec<String>,
    /// Why nothing is judged, if so.
    pub not_judged: Option<String>,
    /// The drawing.
    pub figures: Vec<(Figure, Vec<Place>)>,
    /// The states that are in it, the loudest first.
    pub legend: Vec<State>,
    /// Steps signed, of all.
    pub signed: (usize, usize),
    /// What is next, in order.
    pub next: Vec<Line>,
    /// What can be done besides.
    pub besides: Vec<Line>,
    /// What waits.
    pub waits: Vec<Line>,
    /// Every feature that is not a shape of its own, by kind.
    pub features: Vec<Feature>,
}

/// A step on a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// Where; the engine: empty.
    pub place: String,
    /// What is done.
    pub title: String,
    /// What there is to do, or what it waits for.
    pub what: String,
    /// How far it is, drawn and in a word.
    pub state: State,
    /// The word.
    pub word: &'static str,
    /// Whom it is given to.
    pub given: Option<String>,
    /// Whether who holds the phone may sign it.
    pub mine: bool,
    /// The one action: its word, and where it leads.
    pub action: (&'static str, Place),
}

/// A feature in a list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Feature {
    /// In words.
    pub title: String,
    /// How it is drawn.
    pub state: State,
    /// Where it leads.
    pub place: Place,
}

impl Model {
    pub(super) fn open(record: DocumentId, desk: &mut Desk) -> Self {
        desk.look(record);
        Self { record, open: BTreeSet::new(), seen: RefCell::default() }
    }

    pub(super) fn handle(&mut self, event: Event, _: &mut Desk) {
        match event {
            Event::Fold(fold) => {
                if !self.open.remove(&fold) {
                    self.open.insert(fold);
                }
            }
        }
    }

    pub(super) fn view(&self, desk: &Desk) -> View {
        let Some(sight) = desk.sight(self.record) else {
            return View { nothing: Some("this record is not on this phone yet"), ..View::default() };
        };
        let Some(definition) = sight.assessment.definition() else {
            return View { nothing: Some("the engine's definition is not here yet"), ..View::default() };
        };
        let key = (sight.revision(), desk.holder());
        let mut seen = self.seen.borrow_mut();
        let seen = match &*seen {
            Some((of, seen)) if *of == key => Arc::clone(seen),
            Some(_) | None => {
                let made = Arc::new(see(self.record, sight, definition, desk));
                *seen = Some((key, Arc::clone(&made)));
                made
            }
        };
        View { nothing: None, open: self.open.clone(), seen }
    }
}

fn see(record: DocumentId, sight: &Sight, definition: &Definition, desk: &Desk) -> Seen {
    let (holder, blind) = (desk.holder(), desk.blind(record));
    let drawn =
        drawing(&sight.assessment, blind.hidden()).map(|drawing| figures(&drawing)).unwrap_or_default();
    let shapes: BTreeSet<&str> = drawn.iter().flat_map(|f| &f.spots).map(|spot| spot.path.as_str()).collect();
    let states: BTreeSet<State> = drawn.iter().flat_map(|f| &f.spots).map(|spot| spot.state).collect();
    let features = features(record, sight, definition, (&shapes, &blind));
    let findings = sight.assessment.findings();
    let board = Board { record, sight, definition, findings: &findings, holder, blind: &blind };
    let steps = sight.assessment.steps();
    let (waiting, open): (Vec<usize>, Vec<usize>) =
        next(&sight.assessment).partition(|at| steps[*at].progress == Progress::Blocked);
    // What who holds the phone may do comes first, in the same order.
    let mut open: Vec<usize> = open;
    open.sort_by_key(|at| !board.is_mine(*at));
    let besides = open.split_off(open.len().min(FEW));
    let lines = |all: Vec<usize>| all.into_iter().map(|at| board.line(at)).collect();
    let signed = steps.iter().filter(|step| step.progress == Progress::Signed).count();
    let lead = |figure: Figure| {
        let places = figure.spots.iter().map(|spot| Place::Feature(record, spot.path.clone())).collect();
        (figure, places)
    };
    Seen {
        engine: definition.name().to_owned(),
        stops: stops(&findings),
        not_judged: (!sight.assessment.is_judged())
            .then(|| "an entry from a newer version is here: nothing is judged".to_owned()),
        legend: states.into_iter().rev().collect(),
        signed: (signed, steps.len()),
        next: lines(open),
        besides: lines(besides),
        waits: lines(waiting),
        features,
        figures: drawn.into_iter().map(lead).collect(),
    }
}

/// Work that was stopped: a tag that everybody is to see.
fn stops(findings: &[&Finding]) -> Vec<String> {
    let open = findings.iter().filter(|finding| finding.rule == Rule::Stopped && finding.conceded.is_none());
    open.map(|finding| format!("Stopped, {}: {}", subject_of(finding), finding.text)).collect()
}

fn subject_of(finding: &Finding) -> String {
    if finding.feature.is_empty() { plain(&finding.subject) } else { place(&finding.feature) }
}

/// The features that are no shape of the drawing, in the definition's order; then those of parts.
fn features(
    record: DocumentId,
    sight: &Sight,
    definition: &Definition,
    (shapes, blind): (&BTreeSet<&str>, &Blind),
) -> Vec<Feature> {
    let known: Vec<_> = sight.assessment.features().collect();
    let state = |path: &str| {
        let here = known.iter().filter(|view| view.feature.path() == path);
        here.map(|view| State::of_feature_without(view, blind.hidden())).max().unwrap_or(State::NotRead)
    };
    let own = definition.features().iter().map(gudgeon_core::engine::Feature::path);
    let of_parts = known.iter().map(|view| view.feature.path());
    let mut told = BTreeSet::new();
    let all = own.chain(of_parts).filter(|path| !shapes.contains(path) && told.insert(*path));
    let feature = |path: &str| Feature {
        title: place(path),
        state: state(path),
        place: Place::Feature(record, path.to_owned()),
    };
    all.map(feature).collect()
}

/// What lines are made from.
struct Board<'s> {
    record: DocumentId,
    sight: &'s Sight,
    definition: &'s Definition,
    findings: &'s [&'s Finding],
    holder: Option<KeyId>,
    blind: &'s Blind,
}

impl Board<'_> {
    fn is_mine(&self, at: usize) -> bool {
        let Sight { record, workshop, assessment, .. } = self.sight;
        self.holder.is_none_or(|key| is_for(record, workshop, assessment, at, key))
    }

    fn line(&self, at: usize) -> Line {
        let state = &self.sight.assessment.steps()[at];
        let instance = &self.definition.steps()[at];
        let where_ = instance.feature.map(|ix| place(self.definition.feature_at(ix).path()));
        let (what, drawn, action) = self.action(at, state);
        let given = state.assigned.and_then(|person| self.sight.workshop.roster().name_of(person));
        Line {
            place: where_.unwrap_or_default(),
            title: self.definition.step_of(instance).title.to_string(),
            what,
            state: drawn,
            word: state.progress.word(),
            given: given.map(str::to_owned),
            mine: self.is_mine(at),
            action,
        }
    }

    /// What there is to do on a step, how it is drawn, and the one action.
    fn action(&self, at: usize, state: &StepState) -> (String, State, (&'static str, Place)) {
        let step = |word| (word, Place::Step(self.record, state.id.to_string()));
        match state.progress {
            Progress::Stale => (self.cause(state), State::Stale, step("See why")),
            Progress::WithoutEvidence => (self.cause(state), State::NotProven, step("See why")),
            Progress::ReadyToSign => {
                ("all that it asks for is there".to_owned(), State::Proven, step("Sign"))
            }
            Progress::WantsSecond => (
                "one has signed; another person looks and signs".to_owned(),
                State::InHand,
                step("Sign second"),
            ),
            Progress::Signed => (String::new(), State::Proven, step("Look")),
            Progress::Blocked => (self.waits(state), State::NotRead, step("Look")),
            Progress::Open => self.work(at, state),
        }
    }

    fn cause(&self, state: &StepState) -> String {
        let causes = [&state.signature, &state.second].into_iter().flatten().flat_map(|signed| &signed.stale);
        let betrays = |cause: &Cause| !self.blind.may_see_said(self.sight, &cause.entries);
        if causes.into_iter().any(betrays) { VEILED.to_owned() } else { cause(state).unwrap_or_default() }
    }

    fn waits(&self, state: &StepState) -> String {
        let name = |before: &usize| {
            let instance = &self.definition.steps()[*before];
            let title = &self.definition.step_of(instance).title;
            instance.feature.map_or_else(
                || title.to_string(),
                |ix| format!("{title}, {}", place(self.definition.feature_at(ix).path()).to_lowercase()),
            )
        };
        let names: Vec<String> = state.waits_for.iter().map(name).collect();
        format!("waits for: {}", few(&names))
    }

    /// A step that can be worked on: what it misses first, and the way to that.
    fn work(&self, at: usize, state: &StepState) -> (String, State, (&'static str, Place)) {
        let Sight { record, assessment, .. } = self.sight;
        let begun = state.evidence.iter().any(|evidence| !evidence.entries.is_empty());
        let drawn = if begun { State::InHand } else { State::NotRead };
        let lacking = (0..).zip(&state.evidence).find(|(_, evidence)| !evidence.met);
        let way = lacking.and_then(|(piece, _)| Way::to(record, assessment, at, piece));
        let to_step = |word| (word, Place::Step(self.record, state.id.to_string()));
        let what = self.blind.missing(state);
        match way {
            Some(Way::Read { feature, row, .. }) => {
                let to = Place::Reading(self.record, feature.path().to_owned(), row.name.to_owned());
                (self.to_read(state, lacking.map(|(_, evidence)| evidence)), drawn, ("Read", to))
            }
            Some(Way::Settle { feature, subject }) => {
                let on = |f: &&&Finding| f.is_open() && f.feature == feature && f.subject == subject;
                let finding = self.findings.iter().find(on);
                if finding.is_some_and(|f| !self.blind.may_see_said(self.sight, &f.ids)) {
                    let to = Place::Feature(self.record, feature);
                    return (VEILED.to_owned(), State::InHand, ("Look", to));
                }
                let what = finding.map_or(what, |f| format!("{}; {}", f.text, f.hint()));
                let drawn = finding.map_or(State::NotProven, |f| State::of_finding(f.rule));
                (what, drawn, ("Settle", Place::Feature(self.record, feature)))
            }
            Some(Way::Check { .. }) => (what, drawn, to_step("Check")),
            Some(Way::Operation { .. }) => (what, drawn, to_step("Do")),
            Some(Way::Tighten { group, place }) => {
                (what, drawn, ("Tighten", Place::Tighten(self.record, group, place)))
            }
            Some(Way::Allot { .. } | Way::Receive { .. }) => (what, drawn, to_step("Enter part")),
            Some(Way::Decide { .. }) => (what, drawn, to_step("Decide")),
            Some(Way::Approve { .. }) => (what, drawn, to_step("Approve")),
            Some(Way::CheckGauge { .. }) => (what, drawn, to_step("Check gauge")),
            None => (what, drawn, to_step("Go on")),
        }
    }

    /// `diameter read, bore/1 (2 of 6 stations); 3 more to supply`.
    fn to_read(&self, state: &StepState, first: Option<&Evidence>) -> String {
        let others = state.evidence.iter().filter(|evidence| !evidence.met).count().saturating_sub(1);
        let first = first.map_or_else(String::new, |one| format!("{}: {}", one.asked, self.blind.found(one)));
        if others == 0 { first } else { format!("{first}; and {}", count(others, "piece")) + " more" }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::super::kit::{held, reads_diameter, screen};
    use super::*;

    #[test]
    fn an_engine_is_drawn_whole_and_each_shape_leads_to_its_feature() {
        let (phone, record) = held(Place::Record);
        let seen = screen!(phone, Record).seen;
        let names = |at: usize| seen.figures[at].0.spots.len();
        // The example is a four in line with five mains.
        assert_eq!((seen.figures.len(), names(0), names(1), names(2)), (3, 4, 9, 4));
        assert_eq!(seen.figures[0].1[1], Place::Feature(record, "bore/2".to_owned()));
        assert_eq!(seen.figures[0].0.spots[1].name, "Bore 2, not read");
        assert_eq!(seen.legend, [State::NotRead]);
    }

    #[test]
    fn a_reading_changes_the_shape_that_it_is_of_and_no_other() {
        let (mut phone, record) = held(Place::Record);
        let before = screen!(phone, Record).seen;
        reads_diameter(&mut phone, record, "bore/2", "top/thrust", "80.51 mm");
        let after = screen!(phone, Record).seen;
        let states =
            |seen: &Seen| -> Vec<State> { seen.figures[0].0.spots.iter().map(|s| s.state).collect() };
        assert_eq!(states(&before), [State::NotRead; 4]);
        assert!(states(&after)[1] > State::NotRead);
        assert_eq!(states(&after)[2], State::NotRead);
        assert_eq!(after.legend.first(), Some(&states(&after)[1]));
    }

    #[test]
    fn what_is_next_has_one_action_each_and_what_waits_says_for_what() {
        let (phone, _) = held(Place::Record);
        let seen = screen!(phone, Record).seen;
        assert!(!seen.next.is_empty() && seen.next.len() <= FEW);
        assert!(seen.next.iter().all(|line| !line.what.is_empty() && !line.action.0.is_empty()));
        assert!(!seen.waits.is_empty());
        assert!(seen.waits.iter().all(|line| line.what.starts_with("waits for: ") && line.what.len() > 12));
        let told = seen.next.len() + seen.besides.len() + seen.waits.len() + seen.signed.0;
        assert_eq!(told, seen.signed.1, "every step is told once");
    }

    #[test]
    fn what_is_made_of_a_record_is_made_once_for_each_state_of_it() {
        let (mut phone, record) = held(Place::Record);
        let first = screen!(phone, Record).seen;
        phone.send(Event::Fold(Fold::Waits));
        let view = screen!(phone, Record);
        assert!(view.open.contains(&Fold::Waits) && Arc::ptr_eq(&first, &view.seen));
        phone.send(Event::Fold(Fold::Waits));
        assert!(screen!(phone, Record).open.is_empty());
        let note = gudgeon_core::entry::payload::Note { feature: String::new(), text: "invented".to_owned() };
        let says = [gudgeon_core::entry::Payload::Note(note)];
        phone.app.desk.state(record, &says, |_| super::super::Event::Dismissed);
        assert!(!Arc::ptr_eq(&first, &screen!(phone, Record).seen));
    }
}
