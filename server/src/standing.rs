//! Who may open a session and what for: by the roster, and by nothing else.

use gudgeon_core::entry::{DocumentId, KeyId};
use gudgeon_core::roster::Roster;
use gudgeon_proto::relay::denied;

use crate::session::Caller;

/// What a session may do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Every document of the workshop.
    Member,
    /// The workshop's own document.
    Invited,
    /// To bring the workshop's own document to a relay that holds nothing of it.
    Brings,
}

/// Why a key may not.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Denied {
    /// Not in the roster.
    #[error(
        "this key is not of this workshop, as far as this relay has heard; a lead enrols it or invites its person, and \
         syncs"
    )]
    Unknown,
    /// Removed.
    #[error(
        "this key was removed: nothing new counts unless a lead admits it, and it can go to them by file only"
    )]
    Removed,
    /// An invite that has run out or was taken up.
    #[error("this invite has run out or was taken up; ask the lead for another one")]
    Spent,
    /// An invite, or one who brings a workshop, asks for a record.
    #[error("this session is for the workshop's own document; open one with a key of the workshop")]
    WorkshopOnly,
    /// The relay is somebody else's.
    #[error("this relay serves another workshop; whoever runs it names the workshops it serves")]
    NotServed,
    /// A record of another workshop.
    #[error("this record belongs to another workshop")]
    OtherWorkshop,
}

impl Denied {
    /// The reason as the service names it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Unknown => denied::UNKNOWN,
            Self::Removed => denied::REMOVED,
            Self::Spent => denied::SPENT,
            Self::WorkshopOnly => denied::WORKSHOP_ONLY,
            Self::NotServed => denied::NOT_SERVED,
            Self::OtherWorkshop => denied::OTHER_WORKSHOP,
        }
    }
}

impl Standing {
    /// Whether a caller of this standing may exchange a document.
    ///
    /// # Errors
    /// [`Denied::WorkshopOnly`].
    pub fn may(self, caller: &Caller, document: DocumentId) -> Result<(), Denied> {
        match self {
            Self::Member => Ok(()),
            Self::Invited | Self::Brings if document == caller.workshop => Ok(()),
            Self::Invited | Self::Brings => Err(Denied::WorkshopOnly),
        }
    }
}

/// What a caller may do at `now` (ms since 1970); `roster` is none where the relay holds
/// nothing of the workshop.
///
/// # Errors
/// [`Denied`].
pub(crate) fn standing(roster: Option<&Roster>, caller: &Caller, now: i64) -> Result<Standing, Denied> {
    let Some(roster) = roster else { return Ok(Standing::Brings) };
    if roster.may_connect(caller.key) {
        return Ok(Standing::Member);
    }
    if caller.brings {
        // It began when nothing was held, and may go on: the roster comes in pages.
        return Ok(Standing::Brings);
    }
    if !roster.removals_of(caller.key).is_empty() {
        return Err(Denied::Removed);
    }
    match by_invite(roster, caller.key, now) {
        // A device that failed kept a beginning, before anybody's key: it is to be filled again.
        Err(Denied::Unknown) if !roster.keys().any(|key| roster.may_connect(key)) => Ok(Standing::Brings),
        told => told,
    }
}

fn by_invite(roster: &Roster, key: KeyId, now: i64) -> Result<Standing, Denied> {
    let mut of_key = roster.invites().values().filter(|invite| invite.offer.one_time_key == key).peekable();
    if of_key.peek().is_none() {
        return Err(Denied::Unknown);
    }
    if of_key.any(|invite| invite.is_open_at(now)) { Ok(Standing::Invited) } else { Err(Denied::Spent) }
}
