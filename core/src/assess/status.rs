//! What became of an entry.

use crate::entry::EntryId;
use crate::log::Ix;

/// What became of an entry that is held and folded.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Status {
    /// It stands.
    Stands,
    /// It does not count: no authority, or unreadable.
    NotCounted,
    /// Withdrawn by these voids: each with its author and reason, none hides another. By id.
    Voided(Vec<Ix>),
    /// Its author, or the one who read, read again later.
    Superseded(Ix),
    /// A later choice or fitting by somebody who knew it took its place.
    Replaced(Ix),
    /// Work since then ended it.
    Ended(Ix),
    /// Its gauge failed a check later.
    Doubtful(Ix),
    /// Work that neither knew of it nor was known to it: before or after?
    Undecided(Vec<Ix>),
    /// It is one of several that cannot all be right.
    Disputed,
    /// Others agree on another value; it stays visible.
    Outvoted,
}

impl Status {
    /// Whether a verdict may rest on it.
    #[must_use]
    pub const fn stands(&self) -> bool {
        matches!(self, Self::Stands)
    }

    /// Whether it is told with its station; the others are history.
    #[must_use]
    pub const fn speaks(&self) -> bool {
        match self {
            Self::Stands | Self::Undecided(_) | Self::Disputed | Self::Outvoted => true,
            Self::NotCounted
            | Self::Voided(_)
            | Self::Superseded(_)
            | Self::Replaced(_)
            | Self::Ended(_)
            | Self::Doubtful(_) => false,
        }
    }

    /// One word for it.
    #[must_use]
    pub const fn word(&self) -> &'static str {
        match self {
            Self::Stands => "stands",
            Self::NotCounted => "not counted",
            Self::Voided(_) => "voided",
            Self::Superseded(_) => "read again",
            Self::Replaced(_) => "replaced",
            Self::Ended(_) => "ended",
            Self::Doubtful(_) => "gauge in doubt",
            Self::Undecided(_) => "before or after?",
            Self::Disputed => "disputed",
            Self::Outvoted => "outvoted",
        }
    }

    /// The entries that took its ground away.
    #[must_use]
    pub fn causes(&self) -> &[Ix] {
        match self {
            Self::Superseded(by) | Self::Replaced(by) | Self::Ended(by) | Self::Doubtful(by) => {
                std::slice::from_ref(by)
            }
            Self::Voided(by) | Self::Undecided(by) => by,
            Self::Stands | Self::NotCounted | Self::Disputed | Self::Outvoted => &[],
        }
    }
}

/// A person by the id of their person entry.
pub type PersonId = EntryId;
