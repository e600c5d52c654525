//! Who holds the phone: a key of this phone, opened with its PIN.

use gudgeon_client::keys::Pin;
use gudgeon_core::entry::{Author, KeyId};
use gudgeon_core::sheet::count;

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
    /// The key is being opened: the screen stands still while it is, and nothing can be typed.
    pub busy: bool,
    /// What wrong PINs have come to, in words; empty: there were none.
    pub wrong: String,
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
            // The key that is being opened is the one that was meant, with what was typed for it.
            Event::Choose(_) | Event::Pin(_) | Event::LetGo if self.busy => {}
            Event::Choose(key) => {
                (self.key, self.problem) = (Some(key), None);
                self.pin.clear();
            }
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

    /// So many wrong PINs, and how long the key stays shut for it.
    fn wrong(&self, desk: &Desk) -> String {
        let rows = desk.keys();
        let Some(row) = rows.iter().find(|row| Some(row.key) == self.key && row.wrong_tries > 0) else {
            return String::new();
        };
        let tries = count(usize::try_from(row.wrong_tries).unwrap_or(usize::MAX), "wrong PIN");
        match row.shut_for(desk.now()) {
            0 => tries,
            left => format!("{tries}: it can be tried again in {}", seconds(left)),
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
            wrong: self.wrong(desk),
            problem: self.problem.clone(),
            holds: desk.holder_name(),
        }
    }
}

/// Milliseconds as people count them, never too few.
fn seconds(milliseconds: i64) -> String {
    match milliseconds.saturating_add(999) / 1000 {
        seconds if seconds < 60 => format!("{seconds} s"),
        seconds => format!("{} min", (seconds + 59) / 60),
    }
}

/// A PIN as typed.
pub(super) fn typed(pin: &str) -> Result<Pin, Failure> {
    Pin::new(pin).map_err(|error| Failure::new("pin", error.to_string(), error.hint()))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::super::kit::{PIN, Phone, let_in, screen};
    use super::super::{App, Effect, Event as Any, ScreenView};
    use super::*;

    fn tries(phone: &mut Phone, pin: &str) {
        phone.send(Event::Pin(pin.to_owned()));
        phone.send(Event::Open);
    }

    #[test]
    fn that_the_key_is_being_opened_is_drawn_before_the_screen_stands_still() {
        let (disk, _) = let_in();
        let mut phone = Phone::on(disk, Place::Who(Box::new(Place::Records)));
        phone.send(Event::Pin(PIN.to_owned()));
        let app: &mut App = &mut phone.app;
        let effects = app.handle(Any::from(Event::Open));
        let [Effect::Later(wait, _)] = &effects[..] else { panic!("{effects:?}") };
        assert!(*wait > 0, "the screen is drawn in between");
        assert!(screen!(phone, Who).busy);
        // Nothing that is typed now changes what is tried.
        phone.send(Event::Pin("9".to_owned()));
        phone.send(Event::LetGo);
        assert_eq!(screen!(phone, Who).pin, PIN);
        for effect in effects {
            if let Effect::Later(_, event) = effect {
                phone.send(event);
            }
        }
        assert!(matches!(phone.view().screen, ScreenView::Records(_)));
    }

    #[test]
    fn after_wrong_pins_it_is_said_how_long_the_key_stays_shut() {
        let (disk, _) = let_in();
        let mut phone = Phone::on(disk, Place::Who(Box::new(Place::Records)));
        assert_eq!(screen!(phone, Who).wrong, "");
        tries(&mut phone, "1111");
        assert_eq!(screen!(phone, Who).wrong, "1 wrong PIN");
        // The clock of these tests moves on with every look at it: some of these come too soon.
        for _ in 0..60 {
            if !screen!(phone, Who).wrong.starts_with("5 ") {
                tries(&mut phone, "1111");
            }
        }
        let view = screen!(phone, Who);
        assert!(view.wrong.starts_with("5 wrong PINs: it can be tried again in "), "{}", view.wrong);
        tries(&mut phone, PIN);
        assert_eq!(screen!(phone, Who).problem.unwrap().code, "pin-too-soon");
        assert_eq!(
            (seconds(1), seconds(59_001), seconds(61_000)),
            ("1 s".into(), "1 min".into(), "2 min".into())
        );
    }
}
