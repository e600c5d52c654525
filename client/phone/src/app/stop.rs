//! Work stops, and is taken up again: a slip that the step and the tightening have at hand.
//!
//! A stop says what was found and hangs out a tag that everybody sees; taking the work up again says
//! what it was. Neither goes without words.

use gudgeon_core::assess::Rule;
use gudgeon_core::entry::payload::{Resume, Stop};
use gudgeon_core::entry::{DocumentId, EntryId, Payload};

use super::sight::Sight;
use super::{Desk, Failure};

/// What is written on the slip.
#[derive(Default)]
pub struct Slip {
    asks: Option<Asks>,
    words: String,
    tag: String,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Asks {
    Resists,
    ForToday,
    Resume(EntryId),
}

/// What may happen on it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Event {
    /// It resists, or feels otherwise than it should.
    Resists,
    /// The day ends.
    ForToday,
    /// Take the work of this stop up again.
    Resume(EntryId),
    /// What was found, or what it was.
    Words(String),
    /// The tag.
    Tag(String),
    /// Keep it.
    Keep,
    /// Put it away.
    Close,
}

/// Where work stops.
pub struct Spot<'s> {
    /// The step.
    pub step: &'s str,
    /// Path of the feature; empty: all that the step is on.
    pub feature: &'s str,
    /// How far it is, for the tag.
    pub so_far: &'s str,
}

/// What is to be seen of an open slip.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct View {
    /// What it is about.
    pub title: &'static str,
    /// What to do with the hands, before anything is typed.
    pub now: &'static str,
    /// What the words say.
    pub asked: &'static str,
    /// As typed.
    pub words: String,
    /// As typed; none: no tag is hung out.
    pub tag: Option<String>,
    /// What the button does.
    pub keep: &'static str,
}

/// A stop that nothing has resumed.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// The stop.
    pub stop: EntryId,
    /// The step that stopped.
    pub step: String,
    /// Whether it is the step at hand.
    pub here: bool,
    /// What everybody should see.
    pub tag: String,
    /// What was found.
    pub found: String,
    /// Who stopped, and when by their phone.
    pub by: String,
}

impl Slip {
    /// Takes in an event; answers what is to be kept, once it is whole.
    pub fn handle(&mut self, event: Event, spot: &Spot<'_>) -> Result<Option<Payload>, Failure> {
        match event {
            Event::Resists => self.open(Asks::Resists, "", format!("do not force: {}", spot.step)),
            Event::ForToday => {
                let tag = format!("left for today: {}, {}", spot.step, spot.so_far);
                self.open(Asks::ForToday, "end of the day", tag);
            }
            Event::Resume(stop) => self.open(Asks::Resume(stop), "", String::new()),
            Event::Words(text) => self.words = text,
            Event::Tag(text) => self.tag = text,
            Event::Close => *self = Self::default(),
            Event::Keep => return self.payload(spot),
        }
        Ok(None)
    }

    fn open(&mut self, asks: Asks, words: &str, tag: String) {
        *self = Self { asks: Some(asks), words: words.to_owned(), tag };
    }

    fn payload(&self, spot: &Spot<'_>) -> Result<Option<Payload>, Failure> {
        let Some(asks) = self.asks else { return Ok(None) };
        let words = self.words.trim().to_owned();
        if words.is_empty() {
            return Err(no_words(asks));
        }
        Ok(Some(match asks {
            Asks::Resume(stop) => Payload::Resume(Resume { stop, note: words }),
            Asks::Resists | Asks::ForToday => Payload::Stop(Stop {
                step: spot.step.to_owned(),
                feature: spot.feature.to_owned(),
                found: words,
                tag: self.tag.trim().to_owned(),
            }),
        }))
    }

    /// Whether it is open.
    #[must_use]
    pub const fn is_open(&self) -> bool {
        self.asks.is_some()
    }

    /// What is to be seen; none: it is put away.
    #[must_use]
    pub fn view(&self) -> Option<View> {
        let (title, now, asked, keep) = match self.asks? {
            Asks::Resists => (
                "It resists",
                "Hands off, do not force it. Take it back the way it came, then look.",
                "What was felt or found, and where",
                "Stop work and tag it",
            ),
            Asks::ForToday => (
                "Stop for today",
                "A group that is tightened in part is slackened and begun again.",
                "How it is left",
                "Stop work and tag it",
            ),
            Asks::Resume(_) => (
                "Go on with it",
                "Look again before anything turns: somebody may have worked on it since.",
                "What it was, and what was done about it",
                "Take the tag off and go on",
            ),
        };
        let resumes = matches!(self.asks, Some(Asks::Resume(_)));
        let tag = (!resumes).then(|| self.tag.clone());
        Some(View { title, now, asked, words: self.words.clone(), tag, keep })
    }
}

fn no_words(asks: Asks) -> Failure {
    let (cause, way_out) = match asks {
        Asks::Resume(_) => ("work that was stopped is taken up again with what it was", "say what it was"),
        Asks::Resists | Asks::ForToday => {
            ("a stop without words helps nobody who reads it later", "say what was found, in a few words")
        }
    };
    Failure::new("no-words", format!("{cause}; nothing is kept yet"), way_out)
}

/// Every stop that nothing has resumed, those of the step at hand first: who turns the crank or pulls a
/// bolt is to see every tag.
#[must_use]
pub fn lines(desk: &Desk, record: DocumentId, step: &str) -> Vec<Line> {
    let Some(sight) = desk.sight(record) else { return Vec::new() };
    let findings = sight.assessment.findings().into_iter();
    let stops = findings.filter(|finding| finding.rule == Rule::Stopped);
    let ids: Vec<EntryId> = stops.flat_map(|finding| finding.ids.iter().copied()).collect();
    let mut lines: Vec<Line> = ids.into_iter().filter_map(|id| line(desk, sight, id, step)).collect();
    lines.sort_by_key(|line| !line.here);
    lines
}

fn line(desk: &Desk, sight: &Sight, id: EntryId, step: &str) -> Option<Line> {
    let statement = sight.log().get(&id)?;
    let Ok(Payload::Stop(stop)) = &statement.payload else { return None };
    let place = if stop.step.is_empty() { "the whole engine" } else { &stop.step };
    let tag = if stop.tag.is_empty() { format!("stopped: {place}") } else { stop.tag.clone() };
    let when = desk.when(statement.device_time);
    Some(Line {
        stop: id,
        step: stop.step.clone(),
        here: stop.step == step,
        tag,
        found: stop.found.clone(),
        by: format!("{}, {when}", desk.name_of_key(statement.key)),
    })
}
