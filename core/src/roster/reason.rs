//! Why an entry does not count, in words, with the way out.

use crate::entry::{DocumentId, EntryId, KeyId, Kind};

/// Why an entry has no effect. It is kept and shown all the same.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, thiserror::Error)]
pub enum NotCounted {
    /// No device entry that counts names its key.
    #[error("nobody has given key {} to a person of this workshop", .0.short())]
    UnknownKey(KeyId),
    /// Its key was given to different persons.
    #[error("key {} was given to different persons, so it counts for none of them", .0.short())]
    ConflictingGrants(KeyId),
    /// Its key only looks on.
    #[error("its key may look on, but not enter anything")]
    Viewer,
    /// Only a lead may make it.
    #[error("{} needs a lead, and its key is no lead's", one(*.0))]
    NeedsLead(Kind),
    /// Only a member may make it.
    #[error("{} needs a member, and its key is lead only", one(*.0))]
    NeedsMember(Kind),
    /// Its key was removed, and this entry is not among the accepted ones.
    #[error("its key was removed by {}, which leaves this entry out", .0.short())]
    CutBy(EntryId),
    /// Its key was removed; the last entry that stands is not here, so what it knew of is not known.
    #[error(
        "its key was removed by {}, which leaves standing what the key entered up to {}, and that one is not here yet",
        .removal.short(), .last.short()
    )]
    CutUntil {
        /// The removal.
        removal: EntryId,
        /// The entry that is not here.
        last: EntryId,
    },
    /// The root key signed in a record.
    #[error("the root key signs in the workshop only, not in a record")]
    RootInRecord,
    /// A founding that is not the document's own.
    #[error("the document has its founding already; this is a second one")]
    SecondFounding,
    /// The record was founded for another workshop, or for none.
    #[error("the record was founded for {}, not for this workshop", named(.0.as_ref()))]
    OtherWorkshop(Option<DocumentId>),
    /// The kind does not belong in this document.
    #[error("{} does not belong in this document", one(*.0))]
    WrongDocument(Kind),
}

/// One entry of a kind: `a reading`, `an order`.
fn one(kind: Kind) -> String {
    let name = kind.name();
    let article = if name.starts_with(['a', 'e', 'i', 'o']) { "an" } else { "a" };
    format!("{article} {name}")
}

fn named(workshop: Option<&DocumentId>) -> String {
    workshop.map_or_else(|| "no workshop".to_owned(), |id| format!("workshop {}", id.short()))
}

impl NotCounted {
    /// Whether a removal leaves the entry out, for good or until another is here.
    #[must_use]
    pub const fn is_cut(self) -> bool {
        matches!(self, Self::CutBy(_) | Self::CutUntil { .. })
    }

    /// Stable short name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::UnknownKey(_) => "unknown-key",
            Self::ConflictingGrants(_) => "conflicting-grants",
            Self::Viewer => "viewer",
            Self::NeedsLead(_) => "needs-lead",
            Self::NeedsMember(_) => "needs-member",
            Self::CutBy(_) => "cut-by-removal",
            Self::CutUntil { .. } => "cut-awaits-its-last",
            Self::RootInRecord => "root-in-record",
            Self::SecondFounding => "second-founding",
            Self::OtherWorkshop(_) => "other-workshop",
            Self::WrongDocument(_) => "wrong-document",
        }
    }

    /// The way out.
    #[must_use]
    pub const fn way_out(self) -> &'static str {
        match self {
            Self::UnknownKey(_) => "a lead enrols the key; its earlier entries then count",
            Self::ConflictingGrants(_) => {
                "give the person a new key, or have the root remove the key that made the wrong grant, leaving \
                 that grant out"
            }
            Self::Viewer => "a lead gives the person a new key with the member role, and it is entered again",
            Self::NeedsLead(_) => "a lead enters it",
            Self::NeedsMember(_) => "a member enters it",
            Self::CutUntil { .. } => "sync, or carry in a file from a home that holds that entry",
            Self::CutBy(_) => "if it was made before the key was lost or misused, a lead admits it",
            Self::RootInRecord => "a lead enters it with a key of their own",
            Self::SecondFounding => "found another document for it",
            Self::OtherWorkshop(_) => "read the record with the workshop it was founded for",
            Self::WrongDocument(_) => "enter it in the document where it belongs",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kinds_have_their_article() {
        let said = |kind| NotCounted::NeedsLead(kind).to_string();
        assert_eq!(said(Kind::Assignment), "an assignment needs a lead, and its key is no lead's");
        assert_eq!(said(Kind::Removal), "a removal needs a lead, and its key is no lead's");
    }
}
