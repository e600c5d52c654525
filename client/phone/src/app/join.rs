//! Joining a workshop by the code of an invite.
//!
//! Four steps, of which the person sees one: the workshop's own document is fetched with the
//! invite's key; a key is made and sealed under the PIN; the asking is written and saved; the
//! office is told of it. Whoever is cut off in between begins anew with the same code, unless the
//! asking was saved already: then it is told at the next meeting.

use gudgeon_client::home::{Home, fingerprint};
use gudgeon_client::keys::Pin;
use gudgeon_client::sync::{BadCode, Code};
use gudgeon_client::{HomeError, sync::Summary};
use gudgeon_core::entry::payload::{Device, Invite};
use gudgeon_core::entry::{Author, EntryId, Payload};
use gudgeon_core::roster::{Roster, join_request};

use super::{Desk, Event as AppEvent, Failure, OnScreen, Place};

/// What is typed, and how far it is.
#[derive(Default)]
pub struct Model {
    code: String,
    label: String,
    pin: String,
    again: String,
    doing: Option<&'static str>,
    problem: Option<Failure>,
}

/// What may happen.
pub enum Event {
    /// The code was typed or pasted.
    Code(String),
    /// What this device is called.
    Label(String),
    /// The PIN.
    Pin(String),
    /// The PIN, once more.
    Again(String),
    /// Go on.
    Join,
    /// The worksheets need no workshop.
    Worksheets,
    /// The office was asked for the workshop, or told of the asking.
    Met(Result<Summary, Failure>),
    /// The screen was drawn: the key is made now.
    MakeKey,
    /// The key is made and the asking is saved.
    Asked(Result<Author, Failure>),
}

/// What is to be seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct View {
    /// As typed.
    pub code: String,
    /// As typed.
    pub label: String,
    /// As typed.
    pub pin: String,
    /// As typed.
    pub again: String,
    /// What is under way.
    pub doing: Option<&'static str>,
    /// What is wrong.
    pub problem: Option<Failure>,
}

impl Model {
    /// Nothing typed yet.
    #[must_use]
    pub fn open(_desk: &Desk) -> Self {
        Self::default()
    }

    pub(super) fn handle(&mut self, event: Event, desk: &mut Desk) {
        match event {
            Event::Code(text) => self.code = text,
            Event::Label(text) => self.label = text,
            Event::Pin(text) => self.pin = text,
            Event::Again(text) => self.again = text,
            Event::Join => self.join(desk),
            Event::Worksheets => desk.go(Place::Worksheets),
            Event::Met(Ok(_)) => {
                self.doing = Some("making a key");
                desk.once_drawn(Event::MakeKey);
            }
            Event::Met(Err(failure)) | Event::Asked(Err(failure)) => self.stop(failure),
            Event::MakeKey => self.make_key(desk),
            Event::Asked(Ok(author)) => {
                desk.hold(author);
                desk.effect(super::Effect::AskToKeep);
                desk.go(Place::Records);
            }
        }
    }

    fn stop(&mut self, failure: Failure) {
        self.doing = None;
        self.problem = Some(failure);
    }

    fn join(&mut self, desk: &mut Desk) {
        if self.doing.is_some() {
            return;
        }
        match self.checked() {
            Ok(code) => {
                self.problem = None;
                self.doing = Some("asking the office");
                desk.queue(AppEvent::Office(super::office::Event::MeetInvited(code, told)));
            }
            Err(failure) => self.stop(failure),
        }
    }

    /// What is typed, all of it good.
    fn checked(&self) -> Result<Code, Failure> {
        let code =
            Code::read(&self.code).map_err(|bad| Failure::new("bad-code", bad.to_string(), BadCode::HINT))?;
        if self.label.trim().is_empty() {
            return Err(Failure::new(
                "no-label",
                "this phone has no name yet",
                "say whose it is, such as \"phone of Ben\"",
            ));
        }
        self.typed_pin()?;
        if self.pin != self.again {
            return Err(Failure::new("pins-differ", "the two PINs are not the same", "type both again"));
        }
        Ok(code)
    }

    fn typed_pin(&self) -> Result<Pin, Failure> {
        Pin::new(&self.pin).map_err(|error| Failure::new("pin", error.to_string(), error.hint()))
    }

    fn make_key(&mut self, desk: &mut Desk) {
        let (code, pin) = match (self.checked(), self.typed_pin()) {
            (Ok(code), Ok(pin)) => (code, pin),
            (Err(failure), _) | (_, Err(failure)) => return self.stop(failure),
        };
        let Some((invite, offer)) = desk.roster().as_ref().and_then(|roster| invite_of(roster, &code)) else {
            let way_out = "the lead who wrote it meets the office first, then join again";
            return self.stop(Failure::new(
                "unknown-invite",
                "the office does not know this invite yet",
                way_out,
            ));
        };
        let label = self.label.trim().to_owned();
        desk.act(
            move |home| ask(home, &code, (invite, &offer), &label, &pin),
            |asked| Event::Asked(asked).into(),
        );
    }

    pub(super) fn view(&self, _desk: &Desk) -> View {
        View {
            code: self.code.clone(),
            label: self.label.clone(),
            pin: self.pin.clone(),
            again: self.again.clone(),
            doing: self.doing,
            problem: self.problem.clone(),
        }
    }
}

fn told(met: Result<Summary, Failure>) -> AppEvent {
    AppEvent::Screen(OnScreen::Join(Event::Met(met)))
}

fn invite_of(roster: &Roster, code: &Code) -> Option<(EntryId, Invite)> {
    let key = code.author().key();
    let mut invites = roster.invites().iter();
    invites.find_map(|(id, invite)| (invite.offer.one_time_key == key).then(|| (*id, invite.offer.clone())))
}

/// Makes the key and writes the asking. The code is kept before: a key that is let in must never
/// be without what let it in.
fn ask(
    home: &mut Home,
    code: &Code,
    (invite, offer): (EntryId, &Invite),
    label: &str,
    pin: &Pin,
) -> Result<Author, HomeError> {
    let author = home.new_key(label, pin)?;
    Desk::keep_invite(home, Some(code))?;
    let asks = join_request(&author, code.workshop(), invite);
    let device = Device {
        key: author.key(),
        person: offer.person.unwrap_or(invite),
        roles: offer.roles.clone(),
        label: label.to_owned(),
        invite: Some(invite),
        join_signature: asks.signature.to_vec(),
    };
    home.state(code.workshop(), &author, &[Payload::Device(device)])?;
    Ok(author)
}

/// The workshop's root digits, to be compared with the printed ones.
#[must_use]
pub fn root_digits(desk: &Desk) -> Option<String> {
    desk.home().and_then(|home| home.root().ok()).map(|root| fingerprint(&root))
}
