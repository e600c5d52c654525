//! Names of things by digest: entries, records and keys.

use std::cmp::Ordering;
use std::fmt;

use data_encoding::HEXLOWER;

/// Not a 64-digit hexadecimal name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("a name is 64 hexadecimal digits in lower case; this is not one")]
pub struct BadName;

fn first_eight(bytes: &[u8; 32]) -> u64 {
    bytes.first_chunk().map_or(0, |first| u64::from_be_bytes(*first))
}

macro_rules! digest_name {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, Eq, Hash)]
        pub struct $name([u8; 32]);

        impl Ord for $name {
            /// As the bytes are ordered. Digests nearly always differ in the first eight, and a
            /// number is compared faster than bytes: every look-up in the fold goes through here.
            fn cmp(&self, other: &Self) -> Ordering {
                first_eight(&self.0).cmp(&first_eight(&other.0)).then_with(|| self.0.cmp(&other.0))
            }
        }

        impl PartialOrd for $name {
            fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
                Some(self.cmp(other))
            }
        }

        impl $name {
            /// Wraps 32 bytes.
            #[must_use]
            pub const fn new(bytes: [u8; 32]) -> Self {
                Self(bytes)
            }

            /// The 32 bytes.
            #[must_use]
            pub const fn bytes(&self) -> &[u8; 32] {
                &self.0
            }

            /// From a slice, if it is 32 bytes long.
            #[must_use]
            pub fn from_slice(bytes: &[u8]) -> Option<Self> {
                bytes.try_into().ok().map(Self)
            }

            /// From 64 hexadecimal digits in lower case.
            ///
            /// # Errors
            /// [`BadName`] for anything else.
            pub fn from_hex(text: &str) -> Result<Self, BadName> {
                let bytes = HEXLOWER.decode(text.as_bytes()).map_err(|_| BadName)?;
                Self::from_slice(&bytes).ok_or(BadName)
            }

            /// 64 hexadecimal digits in lower case.
            #[must_use]
            pub fn to_hex(&self) -> String {
                HEXLOWER.encode(&self.0)
            }

            /// The first ten digits: enough to tell entries apart on a screen.
            #[must_use]
            pub fn short(&self) -> String {
                HEXLOWER.encode(&self.0[..5])
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.to_hex())
            }
        }

        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "{}({})", stringify!($name), self.short())
            }
        }
    };
}

digest_name! {
    /// Name of an entry: SHA-256 over tag, author key and body.
    EntryId
}
digest_name! {
    /// Name of a record or of a workshop: the id of its founding entry.
    DocumentId
}
digest_name! {
    /// An author's Ed25519 public key.
    KeyId
}

impl From<EntryId> for DocumentId {
    fn from(id: EntryId) -> Self {
        Self(id.0)
    }
}
