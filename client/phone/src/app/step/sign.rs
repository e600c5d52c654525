//! Signing a step: who, their PIN, and the button that is held so that no sleeve signs.

use gudgeon_client::home::Saved;
use gudgeon_core::assess::{Progress, StepState};
use gudgeon_core::engine::{Definition, Signer};
use gudgeon_core::entry::payload::Meaning;
use gudgeon_core::entry::{Author, DocumentId, EntryId, KeyId, Kind, Payload};
use gudgeon_core::log::Ix;

use crate::app::sight::Sight;
use crate::app::who::typed;
use crate::app::{Buzz, Desk, Effect, Failure};

/// How long the button is held, in milliseconds.
pub const HOLD: u32 = 800;

/// What is typed and held.
#[derive(Default)]
pub struct Signing {
    record: Option<DocumentId>,
    step: String,
    signer: Option<KeyId>,
    pin: String,
    /// Counts the presses, so that the end of an earlier one is not taken for this one's.
    press: u32,
    pressed: bool,
    asks: bool,
    busy: bool,
    signed: Option<EntryId>,
    problem: Option<Failure>,
}

/// What may happen.
pub enum Event {
    /// This one signs.
    Signer(KeyId),
    /// The PIN.
    Pin(String),
    /// The button goes down.
    Press,
    /// It comes up, or the finger left it.
    Release,
    /// This press has lasted.
    Held(u32),
    /// It was only tapped.
    Tap,
    /// Yes, sign, without holding.
    Confirm,
    /// The screen was drawn: try the PIN now.
    Try,
    /// The key opens, or not.
    Opened(Result<Author, Failure>),
    /// The signature is durable, or it failed.
    Signed(Result<Saved, Failure>),
}

/// What is to be seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct View {
    /// Whether the signature would be a second person's.
    pub second: bool,
    /// Whether it can be signed now by the one who is chosen.
    pub can: bool,
    /// Why not, and the way out.
    pub why_not: Option<String>,
    /// The keys of this phone that may come into question: key, whose, whether it is chosen.
    pub signers: Vec<(KeyId, String, bool)>,
    /// Who is chosen.
    pub signer: Option<String>,
    /// As typed.
    pub pin: String,
    /// The button is down.
    pub pressed: bool,
    /// It was tapped: whether to sign without holding is asked.
    pub asks: bool,
    /// The PIN is being tried, or the signature kept.
    pub busy: bool,
    /// Where the signature is, once it is kept.
    pub signed: Option<&'static str>,
    /// What is wrong.
    pub problem: Option<Failure>,
}

/// A signature on the step.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Who signed.
    pub who: String,
    /// As what.
    pub what: &'static str,
    /// When, by their phone, and where the signature is.
    pub when: String,
    /// Whether it stands.
    pub stands: bool,
    /// Why it does not.
    pub why: Vec<String>,
    /// Readings since that agree with what was seen.
    pub read_again: usize,
}

impl Signing {
    pub(super) fn of(record: DocumentId, step: &str) -> Self {
        Self { record: Some(record), step: step.to_owned(), ..Self::default() }
    }

    pub(super) fn handle(&mut self, event: Event, desk: &mut Desk) {
        match event {
            // The key that is being opened is the one that was meant, with what was typed for it.
            Event::Signer(_) | Event::Pin(_) if self.busy => {}
            Event::Signer(key) => (self.signer, self.asks) = (Some(key), false),
            Event::Pin(text) => self.pin = text,
            Event::Press if !self.busy => {
                self.press = self.press.wrapping_add(1);
                // What comes of this press is told, and no longer what came of the one before.
                (self.pressed, self.signed) = (true, None);
                let held: crate::app::Event = super::Event::Sign(Event::Held(self.press)).into();
                desk.effect(Effect::Later(HOLD, held));
            }
            Event::Release => self.pressed = false,
            Event::Held(press) if self.pressed && press == self.press => self.begin(desk),
            Event::Tap => self.asks = !self.busy && self.signed.is_none(),
            Event::Confirm => self.begin(desk),
            Event::Press | Event::Held(_) => {}
            Event::Try => self.try_pin(desk),
            Event::Opened(Ok(author)) => self.sign(&author, desk),
            Event::Opened(Err(failure)) | Event::Signed(Err(failure)) => self.stop(failure, desk),
            Event::Signed(Ok(saved)) => {
                let signed = saved.entries.first().copied();
                let signer = None;
                *self =
                    Self { signed, signer, ..Self::of(self.record.unwrap_or(saved.document), &self.step) };
                desk.effect(Effect::Buzz(Buzz::Kept));
            }
        }
    }

    fn begin(&mut self, desk: &mut Desk) {
        (self.pressed, self.asks) = (false, false);
        if !self.busy {
            (self.busy, self.problem, self.signed) = (true, None, None);
            desk.once_drawn(super::Event::Sign(Event::Try));
        }
    }

    fn stop(&mut self, failure: Failure, desk: &mut Desk) {
        self.busy = false;
        self.pin.clear();
        self.problem = Some(failure);
        desk.effect(Effect::Buzz(Buzz::Look));
    }

    fn try_pin(&mut self, desk: &mut Desk) {
        let chosen = self.seen(desk).and_then(|seen| self.chosen(desk, &seen));
        match (chosen, typed(&self.pin)) {
            (Some(key), Ok(pin)) => desk.act(
                move |home| home.unlock(key, &pin),
                |opened| super::Event::Sign(Event::Opened(opened)).into(),
            ),
            (_, Err(failure)) => self.stop(failure, desk),
            (None, _) => self.stop(Failure::nobody(), desk),
        }
    }

    /// Signs what the screen shows.
    fn sign(&mut self, author: &Author, desk: &mut Desk) {
        let name = desk.name_of_key(author.key());
        let Some((seen, record)) = self.seen(desk).zip(self.record) else {
            return self.stop(Failure::not_open(), desk);
        };
        if let Some(why) = seen.why_not(desk, author.key()) {
            let failure = Failure::new("not-ready", why, "nothing is signed");
            return self.stop(failure, desk);
        }
        let meaning = if seen.second() { Meaning::SecondPerson } else { Meaning::Done };
        let sign_off = seen.sight.assessment.sign_off_now(&seen.sight.record, seen.at, meaning, &name);
        desk.state_by(record, author, &[Payload::SignOff(sign_off)], |signed| {
            super::Event::Sign(Event::Signed(signed)).into()
        });
    }

    fn seen<'d>(&self, desk: &'d Desk) -> Option<Seen<'d>> {
        Seen::of(desk.sight(self.record?)?, &self.step)
    }

    /// Who signs: the one that was chosen; else who holds the phone, or for the second signature the
    /// first other person with a key on it.
    fn chosen(&self, desk: &Desk, seen: &Seen<'_>) -> Option<KeyId> {
        let all = signers(desk, seen);
        let may = |key: &KeyId| seen.why_not(desk, *key).is_none();
        let holder = desk.holder().filter(|key| all.contains(key));
        let ready = holder.filter(|key| !seen.second() || may(key));
        let other = || all.iter().copied().find(may);
        self.signer.or(ready).or_else(other).or(holder).or_else(|| all.first().copied())
    }

    pub(super) fn view(&self, desk: &Desk) -> View {
        let Some((seen, record)) = self.seen(desk).zip(self.record) else { return View::default() };
        let chosen = self.chosen(desk, &seen);
        let why_not = match chosen {
            Some(key) => seen.why_not(desk, key),
            None => Some("no key is on this phone: join by an invite first".to_owned()),
        };
        let row = |key| (key, desk.name_of_key(key), Some(key) == chosen);
        View {
            second: seen.second(),
            can: why_not.is_none(),
            why_not,
            signers: signers(desk, &seen).into_iter().map(row).collect(),
            signer: chosen.map(|key| desk.name_of_key(key)),
            pin: self.pin.clone(),
            pressed: self.pressed,
            asks: self.asks,
            busy: self.busy,
            signed: self.signed.map(|entry| desk.whereabouts(record, entry).words()),
            problem: self.problem.clone(),
        }
    }
}

/// A step as it is now.
pub(super) struct Seen<'d> {
    pub(super) sight: &'d Sight,
    pub(super) definition: &'d Definition,
    pub(super) at: usize,
}

impl<'d> Seen<'d> {
    pub(super) fn of(sight: &'d Sight, step: &str) -> Option<Self> {
        let definition = sight.assessment.definition()?;
        Some(Self { sight, definition, at: definition.step_index(step)? })
    }

    pub(super) fn state(&self) -> &'d StepState {
        &self.sight.assessment.steps()[self.at]
    }

    fn second(&self) -> bool {
        self.state().progress == Progress::WantsSecond
    }

    /// Why this key cannot sign now so that it stands; none: it can.
    fn why_not(&self, desk: &Desk, key: KeyId) -> Option<String> {
        let (state, roster) = (self.state(), self.sight.workshop.roster());
        let who = || desk.name_of_key(key);
        if let Err(why) = roster.may_make(key, Kind::SignOff) {
            return Some(format!("{} cannot sign: {why}", who()));
        }
        if !self.second() && !self.sight.assessment.open_stops(&state.id).is_empty() {
            return Some("work on it is stopped: go on with it first, with what it was".to_owned());
        }
        match state.progress {
            Progress::Signed => Some("it is signed, and the signature stands".to_owned()),
            Progress::Blocked => Some(self.waits()),
            Progress::Open | Progress::WithoutEvidence => Some(self.missing(desk)),
            Progress::Stale if !self.is_whole() => Some(self.missing(desk)),
            Progress::WantsSecond => {
                let first = self.sight.log().at(state.signature.as_ref()?.by).key;
                roster.same_person(first, key).then(|| {
                    format!(
                        "{} signed it already: somebody else signs as second person, here or on their own phone",
                        who()
                    )
                })
            }
            Progress::ReadyToSign | Progress::Stale => {
                let wanted = self.definition.step_of(&self.definition.steps()[self.at]);
                let lead = wanted.sign == Signer::Lead && !roster.roles_of(key).lead;
                lead.then(|| format!("a lead signs this one, and {} is none", who()))
            }
        }
    }

    fn is_whole(&self) -> bool {
        self.state().evidence.iter().all(|piece| piece.met)
    }

    fn waits(&self) -> String {
        let first = self.state().waits_for.first();
        let first = first.map(|before| self.sight.assessment.steps()[*before].id.to_string());
        format!("{} comes first", first.unwrap_or_default())
    }

    fn missing(&self, desk: &Desk) -> String {
        let blind = desk.blind(self.sight.log().document());
        let missing: Vec<_> = self.state().evidence.iter().filter(|piece| !piece.met).collect();
        match missing[..] {
            [] => "something it asks for is missing".to_owned(),
            [one] => format!("{}: {}", one.asked, blind.found(one)),
            [one, ref rest @ ..] => format!("{}: {}; and {} more", one.asked, blind.found(one), rest.len()),
        }
    }

    /// Both signatures, and why one does not stand.
    pub(super) fn signatures(&self, desk: &Desk) -> Vec<Line> {
        let (state, blind) = (self.state(), desk.blind(self.sight.log().document()));
        let both = [(&state.signature, "did it"), (&state.second, "second person")];
        let line = |(signature, what): (&Option<gudgeon_core::assess::Signature>, &'static str)| {
            let signature = signature.as_ref()?;
            Some(Line {
                who: self.signed_by(desk, signature.by),
                what,
                when: self.when(desk, signature.by),
                stands: signature.stands(),
                why: signature.stale.iter().map(|cause| blind.words_of_cause(self.sight, cause)).collect(),
                read_again: signature.read_again.len(),
            })
        };
        both.into_iter().filter_map(line).collect()
    }

    fn signed_by(&self, desk: &Desk, by: Ix) -> String {
        match &self.sight.log().at(by).payload {
            Ok(Payload::SignOff(sign_off)) if !sign_off.printed_name.is_empty() => {
                sign_off.printed_name.clone()
            }
            Ok(_) | Err(_) => desk.name_of_key(self.sight.log().at(by).key),
        }
    }

    fn when(&self, desk: &Desk, by: Ix) -> String {
        let statement = self.sight.log().at(by);
        let place = desk.whereabouts(self.sight.log().document(), statement.id);
        format!("{}, {}", desk.when(statement.device_time), place.words())
    }
}

/// The keys of this phone that the workshop lets sign; all of them where it lets none.
fn signers(desk: &Desk, seen: &Seen<'_>) -> Vec<KeyId> {
    let all: Vec<KeyId> = desk.keys().into_iter().map(|row| row.key).collect();
    let roster = seen.sight.workshop.roster();
    let may = all.iter().copied().filter(|key| roster.may_make(*key, Kind::SignOff).is_ok());
    let may: Vec<KeyId> = may.collect();
    if may.is_empty() { all } else { may }
}
