//! From one answer to the next question.

use std::collections::VecDeque;

use gudgeon_core::entry::{DocumentId, SESSION_TAG};
use gudgeon_core::roster::Roster;

use super::askers::let_in;
use super::meeting::{Meeting, Next};
use super::{Ask, Denial, Effect, Identity, Input, Met, Reply, Standing, Summary, Trouble, Why};
use crate::error::{HomeError, Kind};
use crate::home::Home;
use crate::world::random;

/// Times that a busy or silent relay is asked again in one meeting.
const TRIES: u32 = 4;

/// Milliseconds before the first of them; each further wait is twice as long.
const FIRST_WAIT: u64 = 200;

/// Sessions that are opened in one meeting before something must be wrong.
const SESSIONS: u32 = 6;

/// One meeting with a relay.
#[derive(Debug)]
pub struct Engine {
    workshop: DocumentId,
    identities: Vec<Identity>,
    /// Which of them is tried.
    identity: usize,
    session: Option<Vec<u8>>,
    sessions: u32,
    standing: Option<Standing>,
    tries: u32,
    /// What is still to be met; none until the workshop's own document was, where that comes first.
    queue: Option<VecDeque<DocumentId>>,
    meeting: Option<Meeting>,
    summary: Summary,
}

impl Engine {
    /// A meeting about a workshop; `identities` are tried in their order.
    #[must_use]
    pub fn new(workshop: DocumentId, identities: Vec<Identity>) -> Self {
        Self {
            workshop,
            identities,
            identity: 0,
            session: None,
            sessions: 0,
            standing: None,
            tries: 0,
            queue: None,
            meeting: None,
            summary: Summary::default(),
        }
    }

    /// The session, once one is open: a watch may use it.
    #[must_use]
    pub fn session(&self) -> Option<&[u8]> {
        self.session.as_deref()
    }

    /// Another meeting on the same session.
    pub fn again(&mut self) {
        self.queue = None;
        self.meeting = None;
        self.tries = 0;
        self.sessions = 0;
        self.summary = Summary::default();
    }

    /// What to do after `input`. All that the home was given is durable when this answers.
    ///
    /// # Errors
    /// [`HomeError`] if the home does not read or write; the meeting is then over.
    pub fn handle(&mut self, home: &mut Home, input: Input) -> Result<Effect, HomeError> {
        match input {
            Input::Begin => self.go_on(home),
            Input::Reply(reply) => {
                self.tries = 0;
                self.replied(home, reply)
            }
            Input::Failed(trouble) => self.failed(home, trouble),
        }
    }

    fn replied(&mut self, home: &mut Home, reply: Reply) -> Result<Effect, HomeError> {
        match reply {
            Reply::Greeted { relay, challenge } => self.sign(home, &relay, challenge),
            Reply::Opened { session, standing } => {
                self.session = Some(session);
                self.standing = Some(standing);
                self.summary.brought |= standing == Standing::Brings;
                self.summary.invited = standing == Standing::Invited;
                self.go_on(home)
            }
            Reply::Exchanged(answer) => {
                let Some(mut meeting) = self.meeting.take() else { return self.go_on(home) };
                match meeting.answered(home, &answer)? {
                    Next::Again => self.meeting = Some(meeting),
                    Next::Over => self.over(home, meeting)?,
                }
                self.go_on(home)
            }
        }
    }

    fn sign(&self, home: &Home, relay: &[u8; 32], challenge: Vec<u8>) -> Result<Effect, HomeError> {
        let Some(identity) = self.identities.get(self.identity) else {
            let said = "there is no key to open a session with".to_owned();
            return Ok(Effect::GaveUp(Trouble::Denied(Denial::new(Why::Other, said))));
        };
        let nonce: [u8; 32] = random(home.world()).map_err(Kind::from)?;
        let signature = identity.author.sign_tagged(SESSION_TAG, &[relay, &challenge, &nonce]);
        let key = *identity.author.key().bytes();
        Ok(Effect::Ask(Ask::Open { workshop: self.workshop, key, challenge, nonce, signature }))
    }

    /// A document is done with: what follows from it.
    fn over(&mut self, home: &mut Home, meeting: Meeting) -> Result<(), HomeError> {
        let document = meeting.document;
        self.note(meeting.end(home)?);
        if document != self.workshop || !home.holds(&self.workshop) {
            return Ok(());
        }
        match self.standing {
            Some(Standing::Brings) => {
                // Now that the relay has a roster, it may know us.
                self.session = None;
                self.standing = None;
            }
            Some(Standing::Member) => {
                let author = self.identities.get(self.identity).filter(|identity| !identity.invite);
                if let Some(lead) = author {
                    let new = let_in(home, self.workshop, &lead.author)?;
                    if !new.is_empty() {
                        self.summary.admitted.extend(new);
                        return Ok(());
                    }
                }
                if self.queue.is_none() {
                    let mut records = home.listed()?;
                    records.extend(home.records());
                    self.queue = Some(records.into_iter().collect());
                }
            }
            Some(Standing::Invited) | None => self.queue = Some(VecDeque::new()),
        }
        Ok(())
    }

    /// The workshop may be met more than once; it is told once.
    fn note(&mut self, met: Met) {
        match self.summary.met.iter_mut().find(|before| before.document == met.document) {
            Some(before) => {
                before.came += met.came;
                before.went += met.went;
                before.refused.extend(met.refused);
                before.repacked += met.repacked;
                before.here_only = met.here_only;
            }
            None => self.summary.met.push(met),
        }
    }

    fn go_on(&mut self, home: &mut Home) -> Result<Effect, HomeError> {
        let Some(session) = self.session.clone() else { return Ok(self.greet()) };
        if self.meeting.is_none() {
            if self.queue.is_none() && self.is_leaving(home)? {
                self.queue = Some(home.records().chain([self.workshop]).collect());
            }
            let document = match &mut self.queue {
                None => Some(self.workshop),
                Some(queue) => queue.pop_front(),
            };
            let Some(document) = document else {
                return Ok(Effect::Done(std::mem::take(&mut self.summary)));
            };
            self.meeting = Some(Meeting::new(home, document)?);
        }
        let Some(meeting) = &mut self.meeting else { return Ok(self.greet()) };
        let document = meeting.document;
        let (heads, changes) = meeting.request(home)?;
        Ok(Effect::Ask(Ask::Exchange { session, document, heads, changes }))
    }

    fn greet(&mut self) -> Effect {
        self.sessions += 1;
        if self.sessions > SESSIONS {
            let said = "the relay opens sessions and does not keep to them".to_owned();
            return Effect::GaveUp(Trouble::Broken(said));
        }
        Effect::Ask(Ask::Greet { workshop: self.workshop })
    }

    fn failed(&mut self, home: &mut Home, trouble: Trouble) -> Result<Effect, HomeError> {
        match trouble {
            Trouble::NoSession => {
                self.session = None;
                self.go_on(home)
            }
            // A removed key is not let in by its invite either, and is told why.
            Trouble::Denied(Denial { why: Why::Unknown | Why::Spent | Why::Other, .. })
                if self.session.is_none() && self.identity + 1 < self.identities.len() =>
            {
                self.identity += 1;
                Ok(self.greet())
            }
            Trouble::Denied(_) if self.meeting.is_some() && self.queue.is_some() => {
                // One record that the relay does not give keeps nobody from the others; and whoever
                // has given it their own removal is done.
                if let Some(meeting) = self.meeting.take() {
                    self.over(home, meeting)?;
                }
                self.go_on(home)
            }
            Trouble::Busy(_) if self.tries < TRIES => {
                self.tries += 1;
                let jitter = u64::from(random::<1>(home.world()).map_err(Kind::from)?[0]);
                Ok(Effect::Wait((FIRST_WAIT << (self.tries - 1)) + jitter))
            }
            trouble @ (Trouble::Offline(_) | Trouble::Denied(_) | Trouble::Busy(_) | Trouble::Broken(_)) => {
                Ok(Effect::GaveUp(trouble))
            }
        }
    }

    /// Whether the relay still lets in a key that is removed here. Once it has the removal it takes
    /// nothing more of it, not even the entries that the removal leaves standing: they go first.
    fn is_leaving(&self, home: &Home) -> Result<bool, HomeError> {
        let own = self.identities.get(self.identity).filter(|identity| !identity.invite);
        let (Some(own), Some(Standing::Member)) = (own, self.standing) else { return Ok(false) };
        if !home.holds(&self.workshop) {
            return Ok(false);
        }
        let roster = Roster::read(home.log(self.workshop)?);
        Ok(!roster.removals_of(own.author.key()).is_empty())
    }
}
