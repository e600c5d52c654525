//! Why a change is not taken: one table of rules, each with a stable name and a hint.

use std::fmt;

use super::hash::ChangeHash;

macro_rules! rules {
    ($($(#[$doc:meta])* $rule:ident $name:literal $hint:literal;)*) => {
        /// A rule that a change must keep to be taken.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub enum Rule {
            $($(#[$doc])* $rule,)*
        }

        impl Rule {
            /// All rules, in the order in which they are tried.
            pub const ALL: &'static [Self] = &[$(Self::$rule,)*];

            /// Short name that never changes, for logs and for the wire.
            #[must_use]
            pub const fn name(self) -> &'static str {
                match self {
                    $(Self::$rule => $name,)*
                }
            }

            /// What is expected, and the way out.
            #[must_use]
            pub const fn hint(self) -> &'static str {
                match self {
                    $(Self::$rule => $hint,)*
                }
            }
        }
    };
}

rules! {
    /// The change is larger than one change may be.
    TooLarge "change-too-large" "a change has at most 1048576 bytes; put fewer entries in one change";
    /// Not an uncompressed change chunk.
    Chunk "not-a-change" "send the raw bytes of an uncompressed change: chunk type 1, no compressed, bundle or document chunk";
    /// The length in the header is not the length of the bytes.
    Length "wrong-length" "the bytes are cut short or something follows them; send the change again, one at a time";
    /// The content is not what the header says.
    Checksum "wrong-checksum" "the bytes were altered on the way; send the change again";
    /// A number cut short, out of range or longer than it need be.
    Number "bad-number" "a number in the change is cut short, out of range or not in its shortest form; write changes with this library";
    /// None or too many earlier changes named.
    DepsCount "deps-count" "a change names 1 to 64 earlier changes";
    /// Earlier changes out of order or named twice.
    DepsOrder "deps-order" "the earlier changes must be sorted and named once each";
    /// The actor is not 16 bytes long.
    ActorLength "actor-length" "an actor has 16 bytes";
    /// The genesis actor writes nothing but the genesis.
    ActorGenesis "actor-genesis" "the genesis actor writes nothing more; commit under an actor of your own";
    /// Number of the change out of range.
    Seq "seq-range" "changes of one actor are numbered from 1 to 2147483647";
    /// Number of the first operation out of range.
    StartOp "start-op-range" "operations are numbered from 2 to 2147483647, the genesis being 1";
    /// The change carries a time.
    Time "time" "the time of a change is 0; the time belongs in the entry";
    /// The change carries a message.
    Message "message" "a change carries no message";
    /// Other actors than the genesis are mentioned.
    OtherActors "other-actors" "a change mentions the genesis actor and no other";
    /// Not the eight columns of puts into the map.
    Columns "columns" "a change has the eight plain columns of puts into the entries map, nothing more";
    /// Bytes after the columns.
    ExtraBytes "extra-bytes" "nothing may follow the columns of a change";
    /// None or too many puts.
    PutCount "put-count" "a change puts 1 to 256 entries";
    /// A key that is not an entry id.
    Key "key" "a key is an entry id: 64 hexadecimal digits in lower case";
    /// Keys out of order or put twice.
    KeyOrder "key-order" "the keys of a change must be sorted and put once each";
    /// A value that is not bytes.
    ValueKind "value-kind" "a value is the bytes of an entry";
    /// An entry without bytes.
    EntryEmpty "entry-empty" "an entry has at least one byte";
    /// An entry larger than an entry may be.
    EntryTooLarge "entry-too-large" "an entry has at most 655360 bytes; make the photo smaller";
    /// Anything else that core's own encoder would not have written.
    NotCanonical "not-canonical" "a change puts new entries into the entries map and is written in one way only; write changes with this library";
    /// A change before it in the chain was refused.
    FollowsRefused "follows-refused" "an earlier change was refused; put the sound entries under a fresh actor (repack)";
    /// Another change has this actor and number.
    ActorTaken "actor-taken" "another change has this actor and number; start from this document and put what is missing under a fresh actor (repack)";
    /// The change before it of the same actor is not among the deps.
    OwnLast "own-last-unnamed" "a change numbered 2 or higher names the change numbered one below it, of the same actor; put the entries under a fresh actor (repack)";
    /// The first operation does not follow on what the change knew.
    StartOpFollows "start-op" "the first operation is numbered one past all that the named changes hold; put the entries under a fresh actor (repack)";
}

/// Why bytes are not a legal change.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Illegal {
    rule: Rule,
    found: Option<u64>,
    hash: Option<ChangeHash>,
}

impl Illegal {
    pub(super) const fn new(rule: Rule) -> Self {
        Self { rule, found: None, hash: None }
    }

    pub(super) fn found(rule: Rule, found: usize) -> Self {
        let found = u64::try_from(found).unwrap_or(u64::MAX);
        Self { found: Some(found), ..Self::new(rule) }
    }

    pub(super) const fn with_hash(self, hash: ChangeHash) -> Self {
        Self { hash: Some(hash), ..self }
    }

    /// The rule that is broken.
    #[must_use]
    pub const fn rule(&self) -> Rule {
        self.rule
    }

    /// Name of the change, if its bytes arrived whole: others may have named it.
    #[must_use]
    pub const fn hash(&self) -> Option<ChangeHash> {
        self.hash
    }

    /// What is expected, the way out, and what was found where that is a number.
    #[must_use]
    pub fn hint(&self) -> String {
        let hint = self.rule.hint();
        match self.found {
            Some(found) => format!("{hint}; found {found}"),
            None => hint.to_owned(),
        }
    }
}

impl fmt::Display for Illegal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.rule.name(), self.hint())
    }
}

impl std::error::Error for Illegal {}

#[cfg(test)]
mod tests {
    use super::super::limits::{MAX_CHANGE, MAX_DEPS, MAX_ENTRY, MAX_OP, MAX_PUTS, MAX_SEQ};
    use super::*;

    #[test]
    fn names_are_unique() {
        let mut names: Vec<_> = Rule::ALL.iter().map(|rule| rule.name()).collect();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), Rule::ALL.len());
    }

    #[test]
    fn hints_quote_the_limits_in_force() {
        let quoted = [
            (Rule::TooLarge, MAX_CHANGE.to_string()),
            (Rule::DepsCount, MAX_DEPS.to_string()),
            (Rule::Seq, MAX_SEQ.to_string()),
            (Rule::StartOp, MAX_OP.to_string()),
            (Rule::PutCount, MAX_PUTS.to_string()),
            (Rule::EntryTooLarge, MAX_ENTRY.to_string()),
        ];
        for (rule, limit) in quoted {
            assert!(rule.hint().contains(&limit), "{rule:?} must quote {limit}");
        }
    }
}
