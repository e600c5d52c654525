//! Setting the ring gaps round the piston: a dial on which each gap is put where it stands.
//!
//! Directions in whole degrees, clockwise from the thrust face seen from the crown, as the worksheet
//! `ring-setting` counts them; that worksheet also judges (common practice, no source: the maker's
//! setting comes first). The check is entered with the angles in its note, and only when they are right.

#[cfg(test)]
mod tests;

use gudgeon_client::home::Saved;
use gudgeon_core::assess::Progress;
use gudgeon_core::engine::{Asked, Definition, RingSort, Target};
use gudgeon_core::entry::payload::Check;
use gudgeon_core::entry::{DocumentId, EntryId, Payload};
use gudgeon_core::work::{self, Value, Worksheet, ring_layout};

use super::sight::Sight;
use super::{Buzz, Desk, Effect, Failure, Place};

/// The check that is entered.
pub const CHECK: &str = "gaps-staggered";

/// The worksheet that judges.
const WORKSHEET: &str = "ring-setting";

/// Nobody sets a gap finer than that by eye.
const STEP: i32 = 5;

/// Kept clear of thrust faces and pin ends by the marks of the guide, in degrees: the worksheet's own.
const CLEAR: f64 = 20.0;

/// Which piston, and where its gaps stand.
pub struct Model {
    record: DocumentId,
    cylinder: u8,
    gaps: Vec<Gap>,
    /// The gap in the hand.
    held: Option<usize>,
    keeping: bool,
    kept: Option<EntryId>,
    problem: Option<Failure>,
}

/// A ring's gap.
#[derive(Clone, Debug, PartialEq)]
pub struct Gap {
    /// Name of the ring.
    pub name: String,
    /// Where it stands; none: not said yet.
    pub at: Option<i32>,
    /// Where the guide has it.
    pub guide: Option<i32>,
}

/// What may happen.
#[derive(Debug)]
pub enum Event {
    /// A gap is taken in the hand.
    Take(usize),
    /// The hand is at this point of the dial: to the right and upwards of its middle, in thousandths
    /// of its half width.
    Drag(i32, i32),
    /// The gap is let go.
    Let,
    /// A gap is moved by so many degrees clockwise.
    Move(usize, i32),
    /// A gap is put on its mark of the guide.
    ToMark(usize),
    /// Enter the check.
    Keep,
    /// It is durable, or it failed.
    Kept(Result<Saved, Failure>),
    /// On to the step.
    Step,
}

/// What is to be seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct View {
    /// Which piston.
    pub title: String,
    /// The gaps, rings from the top and rails last.
    pub gaps: Vec<Gap>,
    /// The gap in the hand.
    pub held: Option<usize>,
    /// What has no gap to set, and what to mind of it.
    pub beside: Option<String>,
    /// Whether it is right, and what is wrong otherwise.
    pub right: bool,
    /// In words.
    pub says: String,
    /// Angles that count: what, degrees.
    pub angles: Vec<(&'static str, String)>,
    /// Where the rule comes from.
    pub source: String,
    /// What to mind.
    pub cautions: Vec<&'static str>,
    /// Which check there is already, in words.
    pub entered: Option<String>,
    /// The check is on its way to the store.
    pub keeping: bool,
    /// Where it is, once it is kept.
    pub kept: Option<&'static str>,
    /// What is wrong.
    pub problem: Option<Failure>,
}

impl Model {
    pub(super) fn open(record: DocumentId, cylinder: u8, desk: &mut Desk) -> Self {
        desk.look(record);
        desk.effect(Effect::KeepAwake(true));
        let definition = desk.sight(record).and_then(|sight| sight.assessment.definition());
        let gaps = definition.map(gaps).unwrap_or_default();
        Self { record, cylinder, gaps, held: None, keeping: false, kept: None, problem: None }
    }

    pub(super) fn handle(&mut self, event: Event, desk: &mut Desk) {
        match event {
            Event::Take(ring) => self.held = (ring < self.gaps.len()).then_some(ring),
            Event::Let => self.held = None,
            Event::Drag(right, up) => {
                if let (Some(ring), Some(at)) = (self.held, direction(right, up)) {
                    self.put(ring, at);
                }
            }
            Event::Move(ring, by) => {
                let from = self.gaps.get(ring).and_then(|gap| gap.at).unwrap_or(0);
                self.put(ring, from + by);
            }
            Event::ToMark(ring) => {
                if let Some(at) = self.gaps.get(ring).and_then(|gap| gap.guide) {
                    self.put(ring, at);
                }
            }
            Event::Keep => self.keep(desk),
            Event::Kept(Ok(saved)) => {
                self.keeping = false;
                self.kept = saved.entries.first().copied();
                desk.effect(Effect::Buzz(Buzz::Kept));
            }
            Event::Kept(Err(failure)) => self.stop(failure, desk),
            Event::Step => {
                let step = desk.sight(self.record).and_then(|sight| self.step(sight));
                desk.go(step.map_or(Place::Record(self.record), |step| Place::Step(self.record, step)));
            }
        }
    }

    fn put(&mut self, ring: usize, at: i32) {
        if let Some(gap) = self.gaps.get_mut(ring) {
            gap.at = Some(at.rem_euclid(360));
            (self.kept, self.problem) = (None, None);
        }
    }

    fn stop(&mut self, failure: Failure, desk: &mut Desk) {
        self.keeping = false;
        self.problem = Some(failure);
        desk.effect(Effect::Buzz(Buzz::Look));
    }

    fn keep(&mut self, desk: &mut Desk) {
        let judged = self.judged();
        if !judged.right {
            let failure = Failure::new("gaps", judged.says, "turn the ring on the piston, then here");
            return self.stop(failure, desk);
        }
        if desk.holder().is_none() {
            return desk.ask_who(Place::Rings(self.record, self.cylinder));
        }
        if self.keeping {
            return;
        }
        (self.keeping, self.problem, self.kept) = (true, None, None);
        let check = Check {
            check: CHECK.to_owned(),
            feature: self.feature(),
            passed: true,
            step: desk.sight(self.record).and_then(|sight| self.step(sight)).unwrap_or_default(),
            note: self.note(),
        };
        desk.state(self.record, &[Payload::Check(check)], |saved| Event::Kept(saved).into());
    }

    fn feature(&self) -> String {
        format!("cylinder/{}", self.cylinder)
    }

    /// The angles in words: `gaps clockwise from the thrust face, crown up: top 45, second 225`.
    fn note(&self) -> String {
        let one = |gap: &Gap| gap.at.map(|at| format!("{} {at}", gap.name));
        let all: Vec<String> = self.gaps.iter().filter_map(one).collect();
        format!("gaps in degrees clockwise from the thrust face, seen from the crown: {}", all.join(", "))
    }

    /// The step that asks for the check here.
    fn step(&self, sight: &Sight) -> Option<String> {
        let (definition, feature) = (sight.assessment.definition()?, self.feature());
        let asks = |step: &&gudgeon_core::engine::StepInstance| {
            step.asks.iter().any(|ask| {
                let here =
                    matches!(ask.target, Target::Feature(at) if definition.feature_at(at).path() == feature);
                here && matches!(&ask.asked, Asked::Check(name) if name == CHECK)
            })
        };
        definition.steps().iter().find(asks).map(|step| step.id.to_string())
    }

    fn judged(&self) -> Judged {
        let left = self.gaps.iter().filter(|gap| gap.at.is_none());
        let left: Vec<&str> = left.map(|gap| gap.name.as_str()).collect();
        if self.gaps.len() < 2 {
            return Judged::not("this engine's rings give no gaps to set apart".to_owned());
        }
        if !left.is_empty() {
            return Judged::not(format!("not set yet: {}", left.join(", ")));
        }
        let list: Vec<String> = self.gaps.iter().filter_map(|gap| gap.at).map(|at| at.to_string()).collect();
        match work::find(WORKSHEET) {
            Some(sheet) => judge(sheet, &format!("gaps={}deg", list.join(","))),
            None => Judged::not(format!("the worksheet {WORKSHEET} is not here")),
        }
    }

    /// Which check there is already.
    fn entered(&self, sight: &Sight) -> Option<String> {
        let at = sight.assessment.definition()?.step_index(&self.step(sight)?)?;
        let state = &sight.assessment.steps()[at];
        let asks = &sight.assessment.definition()?.steps()[at].asks;
        let is = |asked: &Asked| matches!(asked, Asked::Check(name) if name == CHECK);
        let (_, piece) = asks.iter().zip(&state.evidence).find(|(ask, _)| is(&ask.asked))?;
        let signed = if state.progress == Progress::Signed { "; the step is signed" } else { "" };
        piece.met.then(|| format!("{}: {}{signed}", piece.asked, piece.found))
    }

    pub(super) fn view(&self, desk: &Desk) -> View {
        let Some(sight) = desk.sight(self.record) else { return View::default() };
        let judged = self.judged();
        let sheet = work::find(WORKSHEET);
        View {
            title: format!("Ring gaps, cylinder {}", self.cylinder),
            gaps: self.gaps.clone(),
            held: self.held,
            beside: sight.assessment.definition().and_then(beside),
            right: judged.right,
            says: judged.says,
            angles: judged.angles,
            source: sheet.map_or_else(String::new, |sheet| sheet.source.to_string()),
            cautions: sheet.map_or_else(Vec::new, |sheet| sheet.cautions.to_vec()),
            entered: self.entered(sight),
            keeping: self.keeping,
            kept: self.kept.map(|entry| desk.whereabouts(self.record, entry).words()),
            problem: self.problem.clone(),
        }
    }
}

/// The gaps of a pack: rings of one gap from the crown, then rails, each with its mark of the guide.
fn gaps(definition: &Definition) -> Vec<Gap> {
    let of = |sort: RingSort| {
        let rings = definition.rings().iter().filter(move |ring| ring.sort == sort);
        rings.map(|ring| ring.name.to_string()).collect::<Vec<_>>()
    };
    let (singles, rails) = (of(RingSort::Compression), of(RingSort::Rail));
    let guide = if rails.len() % 2 == 0 { ring_layout(singles.len(), rails.len() / 2, CLEAR) } else { None };
    let guide: Vec<Option<i32>> = guide.unwrap_or_default().into_iter().map(whole).collect();
    let gap = |(at, name): (usize, String)| Gap { name, at: None, guide: guide.get(at).copied().flatten() };
    singles.into_iter().chain(rails).enumerate().map(gap).collect()
}

/// An expander's ends meet and have no gap to set, but a place all the same.
fn beside(definition: &Definition) -> Option<String> {
    let expander = definition.rings().iter().find(|ring| ring.sort == RingSort::Expander)?;
    Some(format!(
        "{}: its joint away from the gaps of both its rails, ends butted and not lapped",
        expander.name
    ))
}

/// What the worksheet says of a setting.
struct Judged {
    right: bool,
    says: String,
    angles: Vec<(&'static str, String)>,
}

impl Judged {
    const fn not(says: String) -> Self {
        Self { right: false, says, angles: Vec::new() }
    }
}

/// What the worksheet says of gaps that are spread as they should be.
const SPREAD: &str = "spread";

fn judge(sheet: &Worksheet, gaps: &str) -> Judged {
    let answer = match sheet.work(&[gaps]) {
        Ok((_, answer)) => answer,
        Err(error) => return Judged::not(error.to_string()),
    };
    let word = answer.outputs().iter().find_map(|out| match &out.value {
        Value::Word(word) => Some(word.clone()),
        Value::Number(..) | Value::Numbers(_) => None,
    });
    let angle = |(name, words): (&str, &'static str)| Some((words, format!("{:.0}°", answer.get(name)?)));
    let says = word.unwrap_or_default();
    Judged { right: says == SPREAD, says, angles: ANGLES.into_iter().filter_map(angle).collect() }
}

/// Outputs that are shown, in the words of the dial.
const ANGLES: [(&str, &str); 4] = [
    ("least-apart", "least between any two"),
    ("least-following", "least between two that follow each other"),
    ("to-thrust", "nearest to a thrust face"),
    ("to-pin", "nearest to a pin end"),
];

/// Whole degrees of a direction that is given in whole degrees as a float.
fn whole(degrees: f64) -> Option<i32> {
    format!("{degrees:.0}").parse().ok()
}

/// The direction of a point seen from the middle of the dial, to the nearest step; none in the middle.
fn direction(right: i32, up: i32) -> Option<i32> {
    // Nearer to the middle than an eighth of the dial a finger says no direction.
    if right.saturating_abs() + up.saturating_abs() < 125 {
        return None;
    }
    let degrees = whole(f64::from(right).atan2(f64::from(up)).to_degrees())?;
    let steps = (degrees.rem_euclid(360) + STEP / 2).div_euclid(STEP);
    Some((steps * STEP).rem_euclid(360))
}
