//! Meeting the relay: when, with which keys, and what the chip says of it.
//!
//! A meeting goes on beside whatever the person does. Each answer of the relay is checked in
//! slices (signatures, some at a time, the screen alive in between), then taken into the
//! home; the next question is asked only when that is durable.

use gudgeon_client::home::Ahead;
use gudgeon_client::sync::{
    Ask, Code, Denial, Effect as Step, Engine, Identity, Input, Reply, Summary, Trouble,
};
use gudgeon_core::entry::DocumentId;

use super::desk::{Desk, Role};
use super::{Chip, Effect, Event as AppEvent, Failure};

/// Signatures checked before the screen gets a turn: some 10 ms on a phone.
pub(super) const SLICE: usize = 24;

/// Milliseconds before an office out of reach is tried again, at first and at most.
const AGAIN: (u32, u32) = (2_000, 60_000);

/// Something of the office's own.
pub enum Event {
    /// Somebody joins: meet it with the invite alone, and tell them.
    MeetInvited(Code, Told),
    /// Try again.
    Again,
    /// Check the next slice.
    Slice,
    /// The home has taken in an answer, and this comes next.
    Next(Result<Step, Failure>),
    /// What was met is written down.
    Noted,
}

/// Who waits for a meeting's end.
pub type Told = fn(Result<Summary, Failure>) -> AppEvent;

/// How it stands with the office.
#[derive(Default)]
pub struct Office {
    engine: Option<Engine>,
    /// With which keys the engine was made.
    keys: Vec<gudgeon_core::entry::KeyId>,
    meeting: bool,
    /// An answer whose signatures are being checked.
    checking: Option<(Input, Ahead)>,
    /// The document of the last question.
    asked: Option<DocumentId>,
    told: Option<Told>,
    /// Something was saved while a meeting was under way.
    more: bool,
    listening: bool,
    trouble: Option<Trouble>,
    wait: u32,
}

impl Office {
    /// The home was opened, or opened anew: a meeting that was under way is over.
    pub(super) fn opened(&mut self, desk: &mut Desk) {
        let told = self.told.take();
        *self = Self { told, ..Self::default() };
        if self.told.is_some() {
            self.ended(Err(Failure::not_open()), desk);
        }
        self.meet(desk);
    }

    /// Entries were saved: they go to the office at once, or with the next meeting.
    pub(super) fn saved(&mut self, desk: &mut Desk) {
        self.more = true;
        // After trouble the clock begins the next meeting, not every entry.
        if self.trouble.is_none() {
            self.meet(desk);
        }
    }

    fn meet(&mut self, desk: &mut Desk) {
        if desk.role() != Role::Writer || self.meeting {
            return;
        }
        let Some(author) = desk.author() else { return };
        let Some(workshop) = desk.home().and_then(gudgeon_client::home::Home::workshop) else { return };
        let mut identities = vec![Identity { author, invite: false }];
        identities.extend(desk.invite().map(|code| Identity { author: code.author(), invite: true }));
        self.start(workshop, identities, desk);
    }

    /// Meets the office with an invite alone, and tells whoever joins.
    fn meet_invited(&mut self, code: &Code, told: Told, desk: &mut Desk) {
        self.told = Some(told);
        self.trouble = None;
        self.start(code.workshop(), vec![Identity { author: code.author(), invite: true }], desk);
    }

    fn start(&mut self, workshop: DocumentId, identities: Vec<Identity>, desk: &mut Desk) {
        let keys: Vec<_> = identities.iter().map(|identity| identity.author.key()).collect();
        match &mut self.engine {
            // While an invite is among them every meeting begins anew: the key may be let in by now.
            Some(engine) if keys == self.keys && keys.len() == 1 => engine.again(),
            Some(_) | None => {
                self.engine = Some(Engine::new(workshop, identities));
                self.keys = keys;
                self.listening = false;
            }
        }
        self.meeting = true;
        self.more = false;
        self.step(Input::Begin, desk);
    }

    /// Gives the engine an input; what it says next arrives when the home's part is durable.
    fn step(&mut self, input: Input, desk: &mut Desk) {
        let Some(engine) = &mut self.engine else { return };
        desk.act(|home| engine.handle(home, input), |next| AppEvent::Office(Event::Next(next)));
    }

    pub(super) fn answered(&mut self, input: Input, desk: &mut Desk) {
        if !self.meeting {
            return;
        }
        if let (Input::Reply(Reply::Exchanged(answer)), Some(document), Some(home)) =
            (&input, self.asked, desk.home())
        {
            let ahead = Ahead::of(home, document, &answer.changes);
            if ahead.left() > SLICE {
                self.checking = Some((input, ahead));
                self.slice(desk);
                return;
            }
        }
        self.step(input, desk);
    }

    fn slice(&mut self, desk: &mut Desk) {
        let Some((input, mut ahead)) = self.checking.take() else { return };
        desk.check_ahead(&mut ahead, SLICE);
        if ahead.left() == 0 {
            self.step(input, desk);
        } else {
            self.checking = Some((input, ahead));
            desk.effect(Effect::Later(0, AppEvent::Office(Event::Slice)));
        }
    }

    pub(super) fn handle(&mut self, event: Event, desk: &mut Desk) {
        match event {
            Event::MeetInvited(code, told) => self.meet_invited(&code, told, desk),
            Event::Again => {
                self.trouble = None;
                self.meet(desk);
            }
            Event::Slice => self.slice(desk),
            Event::Next(next) => self.next(next, desk),
            Event::Noted => {
                if self.more {
                    self.meet(desk);
                }
            }
        }
    }

    fn next(&mut self, next: Result<Step, Failure>, desk: &mut Desk) {
        match next {
            Ok(Step::Ask(ask)) => {
                self.asked = match &ask {
                    Ask::Exchange { document, .. } => Some(*document),
                    Ask::Greet { .. } | Ask::Open { .. } => None,
                };
                desk.effect(Effect::Ask(ask));
            }
            Ok(Step::Wait(milliseconds)) => {
                let milliseconds = u32::try_from(milliseconds).unwrap_or(AGAIN.1);
                desk.effect(Effect::Later(milliseconds, AppEvent::Answered(Input::Begin)));
            }
            Ok(Step::Done(summary)) => self.done(summary, desk),
            Ok(Step::GaveUp(trouble)) => {
                let failure = away(&trouble);
                if matches!(trouble, Trouble::Denied(_)) {
                    self.engine = None;
                }
                self.trouble = Some(trouble);
                self.ended(Err(failure), desk);
                self.try_later(desk);
            }
            Err(failure) => self.ended(Err(failure), desk),
        }
    }

    fn done(&mut self, summary: Summary, desk: &mut Desk) {
        self.trouble = None;
        self.wait = 0;
        let let_in = desk.invite().is_some() && !desk.waits_to_be_let_in();
        self.ended(Ok(summary), desk);
        if !self.listening
            && let Some(session) = self.engine.as_ref().and_then(Engine::session)
        {
            self.listening = true;
            desk.effect(Effect::Watch(session.to_vec()));
        }
        desk.act(
            move |home| {
                if let_in {
                    Desk::keep_invite(home, None)?;
                }
                Desk::keep_met(home)
            },
            |_| AppEvent::Office(Event::Noted),
        );
    }

    fn ended(&mut self, outcome: Result<Summary, Failure>, desk: &mut Desk) {
        self.meeting = false;
        if let Some(told) = self.told.take() {
            desk.queue(told(outcome));
        }
    }

    fn try_later(&mut self, desk: &mut Desk) {
        self.wait = (self.wait * 2).clamp(AGAIN.0, AGAIN.1);
        desk.effect(Effect::Later(self.wait, AppEvent::Office(Event::Again)));
    }

    pub(super) fn heard(&mut self, heard: Result<(), Trouble>, desk: &mut Desk) {
        match heard {
            Ok(()) if self.meeting => self.more = true,
            Ok(()) => self.meet(desk),
            Err(_) => {
                // The next meeting opens another ear; it finds out what is the matter.
                self.listening = false;
                if !self.meeting {
                    self.try_later(desk);
                }
            }
        }
    }

    pub(super) fn awake(&mut self, desk: &mut Desk) {
        self.trouble = None;
        self.wait = 0;
        self.meet(desk);
    }

    /// The truth about storage and the office.
    pub(super) fn chip(&self, desk: &Desk) -> Chip {
        if !desk.is_open() || !desk.has_joined() {
            return Chip::default();
        }
        let here = desk.here_only();
        let (mut text, mut wants) = match (here, desk.met_at(), &self.trouble) {
            (_, _, Some(Trouble::Denied(_))) => ("the office does not let this phone in".to_owned(), true),
            (0, Some(_), Some(_)) => ("all at the office; out of reach".to_owned(), false),
            (0, Some(met), None) => (format!("all at the office, {}", desk.when(met)), false),
            (0, None, _) => ("not met the office yet".to_owned(), true),
            (here, ..) => (format!("{here} here only"), true),
        };
        if desk.storage.keeps == Some(false) && here > 0 {
            text.push_str("; this browser may forget");
            wants = true;
        }
        Chip { text, wants }
    }
}

/// The office was no use; nothing is lost by it.
fn away(trouble: &Trouble) -> Failure {
    let kept = "what is kept on this phone goes there at the next meeting";
    match trouble {
        Trouble::Offline(said) => {
            Failure::new("offline", format!("the office is out of reach ({said})"), kept)
        }
        Trouble::Busy(said) => Failure::new("busy", format!("the office is busy: {said}"), kept),
        Trouble::Denied(Denial { said, .. }) => Failure::new(
            "denied",
            format!("the office does not let this phone in: {said}"),
            "the lead who invited meets the office first, then try again",
        ),
        Trouble::NoSession => Failure::new("broken", "the office takes no session", kept),
        Trouble::Broken(said) => Failure::new("broken", format!("the office: {said}"), kept),
    }
}

impl Desk {
    /// Whether a key of this phone has asked and is nobody's yet; others of it may have been let in.
    #[must_use]
    pub fn waits_to_be_let_in(&self) -> bool {
        let Some(roster) = self.roster() else { return true };
        self.keys().iter().any(|row| roster.is_unknown(row.key))
    }
}
