//! People and this phone: who works here, whose keys are here, inviting and letting in, what the
//! browser promises, and carrying by hand.

mod carry;
mod invite;
#[cfg(test)]
mod tests;
mod view;

use gudgeon_client::home::CarriedIn;
use gudgeon_client::sync::{Asker, askers, take_in};
use gudgeon_core::entry::KeyId;

use super::{Buzz, Desk, Effect, Failure, Place};
use carry::Carrying;
pub(super) use carry::file_name;
pub use carry::{Report, ReportLine};
use invite::Inviting;
pub use invite::{Invited, ROLES};
pub use view::{AskRow, KeyRow, PersonRow, RecordRow, View};

/// What is under way.
#[derive(Default)]
pub struct Model {
    inviting: Inviting,
    carrying: Carrying,
    busy: Option<&'static str>,
    kept: Option<String>,
    problem: Option<Failure>,
}

/// What may happen.
pub enum Event {
    /// Another holds the phone.
    Who,
    /// Somebody else joins on this phone.
    Join,
    /// Name of who is invited.
    Name(String),
    /// What they may do: a row of [`ROLES`].
    Role(usize),
    /// Write the invite.
    Invite,
    /// The invite is durable, or it failed.
    Invited(Result<Invited, Failure>),
    /// It was shown: put it away.
    PutAway,
    /// Let this key in.
    LetIn(KeyId),
    /// It is let in, or that failed.
    IsIn(Result<String, Failure>),
    /// Ask the browser to keep what is stored.
    AskToKeep,
    /// Write workshop and records to a file, and give it out.
    CarryOut,
    /// A file was chosen: its name and bytes.
    CarryIn(String, Vec<u8>),
    /// The next signatures of it.
    Check,
    /// It is taken in, or not.
    CarriedIn(Result<CarriedIn, Failure>),
}

impl Model {
    pub(super) fn handle(&mut self, event: Event, desk: &mut Desk) {
        match event {
            Event::Who => desk.go(Place::Who(Box::new(Place::People))),
            Event::Join => desk.go(Place::Join),
            Event::Name(text) => self.inviting.name = text,
            Event::Role(at) => self.inviting.role = at,
            Event::PutAway => self.inviting.shown = None,
            Event::AskToKeep => desk.effect(Effect::AskToKeep),
            Event::CarryOut => self.carry_out(desk),
            Event::Check => self.check(desk),
            Event::Invite | Event::LetIn(_) | Event::CarryIn(..) if self.busy.is_some() => {}
            Event::Invite | Event::LetIn(_) if desk.holder().is_none() => {
                desk.ask_who(Place::People);
            }
            Event::Invite => self.invite(desk),
            Event::LetIn(key) => self.let_in(key, desk),
            Event::CarryIn(name, bytes) => self.carry_in(name, bytes, desk),
            Event::Invited(Ok(invited)) => {
                self.inviting = Inviting { shown: Some(invited), ..Inviting::default() };
                self.ended("the invite is written; the office hears of it at the next meeting", desk);
            }
            Event::IsIn(Ok(who)) => self.ended(&format!("let in: {who}"), desk),
            Event::CarriedIn(Ok(carried)) => {
                self.carrying = Carrying::default();
                self.carrying.report = Some(Report::of(&carried, desk));
                self.ended("taken in", desk);
            }
            Event::Invited(Err(failure)) | Event::IsIn(Err(failure)) | Event::CarriedIn(Err(failure)) => {
                self.stop(failure, desk);
            }
        }
    }

    fn begin(&mut self, what: &'static str) {
        (self.busy, self.kept, self.problem) = (Some(what), None, None);
    }

    fn ended(&mut self, what: &str, desk: &mut Desk) {
        (self.busy, self.kept) = (None, Some(what.to_owned()));
        desk.effect(Effect::Buzz(Buzz::Kept));
    }

    fn stop(&mut self, failure: Failure, desk: &mut Desk) {
        (self.busy, self.problem) = (None, Some(failure));
        self.carrying = Carrying::default();
        desk.effect(Effect::Buzz(Buzz::Look));
    }

    /// Lets in one key that asks; whether that is right is the lead's to judge.
    fn let_in(&mut self, key: KeyId, desk: &mut Desk) {
        let found = asks(desk).into_iter().find(|asker| asker.key == key);
        let roster = desk.roster();
        let offer = found
            .as_ref()
            .zip(roster.as_ref())
            .and_then(|(asker, roster)| Some(roster.invites().get(&asker.invite)?.offer.clone()));
        let (Some(asker), Some(offer), Some(lead)) = (found, offer, desk.author()) else { return };
        if !roster.is_some_and(|roster| roster.leads_now(lead.key())) {
            let way_out = "a lead takes the phone, and lets it in";
            return self.stop(Failure::new("needs-lead", "only a lead lets in", way_out), desk);
        }
        self.begin("letting in");
        let who = format!("{} ({})", asker.person, asker.label);
        desk.act(
            move |home| {
                let workshop = home.workshop();
                workshop.map_or(Ok(()), |workshop| take_in(home, workshop, &lead, &asker, &offer))
            },
            move |done| Event::IsIn(done.map(|()| who)).into(),
        );
    }
}

/// Keys that ask to be let in.
fn asks(desk: &Desk) -> Vec<Asker> {
    let log = desk.home().and_then(|home| home.log(home.workshop()?).ok());
    log.map(|log| askers(log).into_values().flatten().collect()).unwrap_or_default()
}
