//! Who holds the phone: a key of this phone, opened with its PIN.

use gudgeon_client::keys::Pin;
use gudgeon_core::entry::{Author, KeyId};

use super::{Desk, Failure, Place};

/// Which key, and what is typed.
pub struct Model {
    key: Option<KeyId>,
    pin: String,
    busy: bool,
    problem: Option<Failure>,
    then: Place,
}

/// What may happen.
pub enum Event {
    /// Another key is meant.
    Choose(KeyId),
    /// The PIN.
    Pin(String),
    /// Open it.
    Open,
    /// The screen was drawn: try it now.
    Try,
    /// It opens, or not.
    Opened(Result<Author, Failure>),
    /// Nobody holds the phone.
    LetGo,
}

/// What is to be seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct View {
    /// The keys of this phone: key, name, whether it is meant.
    pub keys: Vec<(KeyId, String, bool)>,
    /// As typed.
    pub pin: String,
    /// The PIN is being tried.
    pub busy: bool,
    /// What is wrong.
    pub problem: Option<Failure>,
    /// Who holds the phone now.
    pub holds: Option<String>,
}

impl Model {
    pub(super) fn open(desk: &Desk, then: Place) -> Self {
        let key = desk.holder().or_else(|| desk.keys().first().map(|row| row.key));
        Self { key, pin: String::new(), busy: false, problem: None, then }
    }

    pub(super) fn handle(&mut self, event: Event, desk: &mut Desk) {
        match event {
            Event::Choose(key) => self.key = Some(key),
            Event::Pin(text) => self.pin = text,
            Event::Open if !self.busy => {
                (self.busy, self.problem) = (true, None);
                desk.once_drawn(Event::Try);
            }
            Event::Open => {}
            Event::Try => self.try_it(desk),
            Event::Opened(Ok(author)) => {
                desk.hold(author);
                desk.go(self.then.clone());
            }
            Event::Opened(Err(failure)) => {
                self.busy = false;
                self.pin.clear();
                self.problem = Some(failure);
            }
            Event::LetGo => desk.let_go(),
        }
    }

    fn try_it(&mut self, desk: &mut Desk) {
        let opened = |opened| Event::Opened(opened).into();
        match (self.key, typed(&self.pin)) {
            (Some(key), Ok(pin)) => desk.act(move |home| home.unlock(key, &pin), opened),
            (_, Err(failure)) => desk.queue(opened(Err(failure))),
            (None, _) => desk.queue(opened(Err(Failure::nobody()))),
        }
    }

    pub(super) fn view(&self, desk: &Desk) -> View {
        let row = |key| (key, desk.name_of_key(key), Some(key) == self.key);
        View {
            keys: desk.keys().into_iter().map(|key| row(key.key)).collect(),
            pin: self.pin.clone(),
            busy: self.busy,
            problem: self.problem.clone(),
            holds: desk.holder_name(),
        }
    }
}

/// A PIN as typed.
pub(super) fn typed(pin: &str) -> Result<Pin, Failure> {
    Pin::new(pin).map_err(|error| Failure::new("pin", error.to_string(), error.hint()))
}
