//! What happens on the phone, without the phone: event -> model -> effects, and the view.
//!
//! [`App::handle`] takes an [`Event`], changes the model and answers [`Effect`]s; [`App::view`]
//! says what is to be seen now. Nothing here waits, draws, reads a clock or touches a browser, so
//! every screen is tested natively (`kit.rs` plays the shell).
//!
//! # How a screen is made
//!
//! One file here, `NAME.rs`, with three types and a few functions:
//!
//! - `Model`: what the screen remembers while it is open, such as digits being typed.
//!   `Model::open(.., desk)` makes it when its [`Place`] is gone to.
//! - `Event`: what may happen on it. `Model::handle(event, desk)` changes the model; whatever else
//!   is to be done is asked of the [`Desk`]: [`Desk::state`] signs and saves entries,
//!   [`Desk::act`] does anything else with the home, [`Desk::go`] goes to another place,
//!   [`Desk::tell`] says something, [`Desk::effect`] asks the shell for the rest.
//! - `View`: plain data (`Clone + PartialEq + Default`), all texts made; `Model::view(desk)` makes
//!   it anew after every event, from the model and from [`Desk::sight`]. What the view needs of a
//!   record is looked at in `open` by [`Desk::look`] and kept up to date from then on.
//!
//! Then: `pub mod NAME;` below, one row in `screens.rs`, one place in `place.rs` (its address, so
//! that a reload and the back key find it), and the markup, `shell/NAME.rs`.
//!
//! # Saving
//!
//! What the home has taken is on the phone only when the shell has answered [`Event::Stored`].
//! So saving has two ends: `desk.state(.., then)` starts it, and the event that `then` makes
//! arrives when it is durable or has failed. A screen says "kept" on that event and never before.
//! Where the database fails, the home in memory has run ahead of the truth: it is thrown away and
//! read again, every `then` is told, and so is the person.

pub mod blind;
pub mod changed;
pub mod desk;
pub mod drawing;
pub mod failure;
pub mod feature;
pub mod give;
#[cfg(test)]
mod hands;
pub mod join;
#[cfg(test)]
mod kit;
pub mod office;
pub mod people;
pub mod place;
pub mod print;
pub mod reading;
pub mod record;
pub mod records;
pub mod rings;
pub mod screens;
pub mod sight;
pub mod step;
pub mod stop;
#[cfg(test)]
mod tests;
pub mod tightening;
pub mod who;
pub mod worksheet;
pub mod worksheets;

use gudgeon_client::store::{Batch, Row, StoreError, Table};
use gudgeon_client::sync::{Ask, Input, Trouble};
use gudgeon_client::world::World;

pub use desk::{Desk, Role};
pub use failure::Failure;
pub use office::Office;
pub use place::Place;
pub use screens::{OnScreen, Screen, ScreenView, Which};

/// Something happened.
pub enum Event {
    /// This tab has the home, or another one has it.
    Role(Role),
    /// The database was read.
    Rows {
        /// Everything in it.
        rows: Vec<(Table, Row)>,
        /// The browser remembers that there was something, and there is nothing any more.
        lost: bool,
    },
    /// The database cannot be opened or read.
    NotRead(Failure),
    /// The oldest batches that were given to be stored are durable.
    Stored,
    /// They are not, and nothing that was given after them will be tried.
    NotStored(StoreError),
    /// The database was written by the tab that has the home.
    Changed,
    /// What the browser says of its storage.
    Storage(Storage),
    /// The relay was asked, and this came of it.
    Answered(Input),
    /// The ear at the relay heard something, or was closed.
    Heard(Result<(), Trouble>),
    /// What the shell knows of the app itself.
    About(About),
    /// A file could not be given out.
    NotGiven(String),
    /// There is a network again, or the app was brought to the front.
    Awake,
    /// A newer version of the app is here and waits.
    UpdateReady,
    /// The person wants it.
    Update,
    /// The address changed: back, forward, reload.
    Went(Place),
    /// The message was read.
    Dismissed,
    /// Something of the office's own.
    Office(office::Event),
    /// Something on a screen.
    Screen(OnScreen),
}

/// Something for the shell to do.
#[derive(Debug)]
pub enum Effect {
    /// Write these in one transaction, strictly durable, after all that were given before; answer
    /// with [`Event::Stored`] or [`Event::NotStored`].
    Store(Vec<Batch>),
    /// Read the database once what was given before is written; answer with [`Event::Rows`].
    Read,
    /// Ask the relay; answer with [`Event::Answered`].
    Ask(Ask),
    /// Open an ear at the relay with this session; answer with [`Event::Heard`], again and again.
    Watch(Vec<u8>),
    /// Bring this event after so many milliseconds, the screen having been drawn in between.
    Later(u32, Event),
    /// Show this address; a new step for the back key unless it is replaced.
    Address {
        /// Where.
        place: Place,
        /// In the place of the one before.
        replace: bool,
    },
    /// Keep the screen awake, or let it sleep.
    KeepAwake(bool),
    /// A short buzz.
    Buzz(Buzz),
    /// Ask the browser to keep what is stored; answer with [`Event::Storage`].
    AskToKeep,
    /// Give a file on: by the share sheet where there is one, else as a download. Answer with
    /// [`Event::NotGiven`] where neither works.
    GiveOut {
        /// What it is called.
        name: String,
        /// What it is.
        media: &'static str,
        /// What it holds.
        bytes: Vec<u8>,
    },
    /// Print what is shown.
    Print,
    /// Go over to the newer version.
    Update,
}

/// What the shell knows of the app itself.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct About {
    /// Where it was loaded from: the office's address.
    pub origin: Option<String>,
    /// The build's digits.
    pub build: Option<String>,
}

/// What a buzz says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Buzz {
    /// It is kept.
    Kept,
    /// Look here.
    Look,
}

/// What the browser says of its storage.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Storage {
    /// Whether it promises to keep it; none: it does not say.
    pub keeps: Option<bool>,
    /// Bytes in use and in all, where it says.
    pub room: Option<(u64, u64)>,
}

impl std::fmt::Debug for Event {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        // Events carry PINs and keys.
        f.write_str("Event(..)")
    }
}

/// All that is to be seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct View {
    /// The sheet's head.
    pub head: Head,
    /// What is to be said over everything, until it is dismissed.
    pub message: Option<Failure>,
    /// The screen.
    pub screen: ScreenView,
}

/// The head that every screen has.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Head {
    /// Where one is.
    pub title: String,
    /// Where "up" leads; none at the top.
    pub up: Option<Place>,
    /// The truth about storage and the office, in a few words.
    pub chip: Chip,
    /// Who holds the phone.
    pub who: Option<String>,
    /// This tab only looks on.
    pub following: bool,
    /// A newer version is ready.
    pub update: bool,
    /// What else there is from here.
    pub ways: Vec<(&'static str, Place)>,
}

/// The chip at the top right.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Chip {
    /// Such as "3 here only".
    pub text: String,
    /// Whether somebody should look.
    pub wants: bool,
}

/// The app.
pub struct App {
    desk: Desk,
    office: Office,
    place: Place,
    screen: Screen,
    /// The screen that asked who holds the phone, until that is known.
    aside: Option<(Place, Screen)>,
    update: bool,
}

impl std::fmt::Debug for App {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("App").field("place", &self.place).finish_non_exhaustive()
    }
}

impl App {
    /// Before anything was read, to open at this place.
    #[must_use]
    pub fn new(world: fn() -> Box<dyn World>, place: Place) -> Self {
        let desk = Desk::new(world);
        let screen = Screen::default();
        Self { desk, office: Office::default(), place, screen, aside: None, update: false }
    }

    /// Takes in what happened; answers what is to be done.
    pub fn handle(&mut self, event: Event) -> Vec<Effect> {
        self.one(event);
        while let Some(next) = self.desk.next_event() {
            self.one(next);
        }
        if let Some(place) = self.desk.take_moved() {
            self.desk.effect(Effect::Address { place: place.clone(), replace: true });
            self.place = place;
        }
        if let Some(place) = self.desk.take_going() {
            self.go(place);
        }
        self.desk.take_effects()
    }

    fn one(&mut self, event: Event) {
        let desk = &mut self.desk;
        match event {
            Event::Role(role) => desk.take_role(role),
            Event::Rows { rows, lost } => {
                desk.open(rows, lost);
                self.reopen_screen();
                self.office.opened(&mut self.desk);
            }
            Event::NotRead(failure) => desk.not_read(failure),
            Event::Stored => {
                if desk.stored() {
                    self.office.saved(desk);
                }
            }
            Event::NotStored(error) => desk.not_stored(&error),
            Event::Changed => desk.changed(),
            Event::Storage(storage) => desk.storage = storage,
            Event::About(about) => desk.about = about,
            Event::NotGiven(said) => {
                let way_out = "try again, or carry on with another phone or browser";
                desk.tell(Failure::new("not-given", format!("the file was not given out: {said}"), way_out));
            }
            Event::Answered(input) => self.office.answered(input, desk),
            Event::Heard(heard) => self.office.heard(heard, desk),
            Event::Awake => self.office.awake(desk),
            Event::UpdateReady => self.update = true,
            Event::Update => desk.effect(Effect::Update),
            Event::Went(place) => self.went(place),
            Event::Dismissed => desk.message = None,
            Event::Office(event) => self.office.handle(event, desk),
            Event::Screen(event) => self.screen.handle(event, desk),
        }
    }

    /// A screen asked to go somewhere.
    fn go(&mut self, place: Place) {
        // The beginning leads on by itself: the back key must not lead into it again.
        let replace = matches!(self.place, Place::Start | Place::Join) && !place.needs_nothing();
        self.desk.effect(Effect::Address { place: place.clone(), replace });
        if self.desk.take_comes_back() {
            self.aside = Some((self.place.clone(), std::mem::take(&mut self.screen)));
        }
        self.went(place);
        while let Some(next) = self.desk.next_event() {
            self.one(next);
        }
    }

    fn went(&mut self, place: Place) {
        self.place = place;
        // A screen that wants it awake says so when it opens.
        self.desk.effect(Effect::KeepAwake(false));
        match self.aside.take() {
            Some((of, screen)) if of == self.place && self.desk.has_joined() => {
                self.screen = screen;
                self.screen.came_back(&self.place, &mut self.desk);
            }
            aside => {
                self.aside = aside.filter(|_| matches!(self.place, Place::Who(_)));
                self.reopen_screen();
            }
        }
    }

    fn reopen_screen(&mut self) {
        self.screen = self.place.open(&mut self.desk);
        if !self.desk.wants_awake() {
            self.desk.effect(Effect::KeepAwake(false));
        }
    }

    /// What is to be seen now.
    #[must_use]
    pub fn view(&self) -> View {
        let screen = self.screen.view(&self.desk);
        let head = Head {
            title: self.place.title(&self.desk),
            up: self.place.up().filter(|_| self.desk.has_joined() || self.place.needs_nothing()),
            chip: self.office.chip(&self.desk),
            who: self.desk.holder_name(),
            following: self.desk.role() == Role::Follower,
            update: self.update,
            ways: if self.desk.has_joined() { self.place.ways() } else { Vec::new() },
        };
        View { head, message: self.desk.message.clone(), screen }
    }
}

impl From<OnScreen> for Event {
    fn from(event: OnScreen) -> Self {
        Self::Screen(event)
    }
}
