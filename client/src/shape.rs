//! The stored shapes of a home, and nothing else: field numbers are never reused.
//!
//! Converted to and from our own types beside those types ([`crate::keys`],
//! [`crate::home`]). Entries and changes are stored as their raw bytes.

/// A sealed key; see [`crate::keys`].
#[derive(Clone, PartialEq, Eq, prost::Message)]
pub(crate) struct SealedKey {
    /// 1; a shape that older readers would misread gets another number.
    #[prost(uint32, tag = "1")]
    pub(crate) version: u32,
    #[prost(bytes = "vec", tag = "2")]
    pub(crate) key: Vec<u8>,
    #[prost(string, tag = "3")]
    pub(crate) label: String,
    /// How the PIN becomes a key, with its salt, such as `$argon2id$v=19$m=65536,t=3,p=1$...`.
    #[prost(string, tag = "4")]
    pub(crate) derivation: String,
    #[prost(bytes = "vec", tag = "5")]
    pub(crate) nonce: Vec<u8>,
    #[prost(bytes = "vec", tag = "6")]
    pub(crate) sealed: Vec<u8>,
    #[prost(sint64, tag = "7")]
    pub(crate) made: i64,
    #[prost(uint32, tag = "8")]
    pub(crate) wrong_tries: u32,
    #[prost(sint64, tag = "9")]
    pub(crate) last_wrong: i64,
}

/// Something that was refused and is kept aside.
#[derive(Clone, PartialEq, Eq, prost::Message)]
pub(crate) struct Aside {
    #[prost(bytes = "vec", tag = "1")]
    pub(crate) change: Vec<u8>,
    /// Empty where the change as a whole was refused.
    #[prost(bytes = "vec", tag = "2")]
    pub(crate) entry: Vec<u8>,
    /// The refused value; empty where the change as a whole was refused.
    #[prost(bytes = "vec", tag = "3")]
    pub(crate) value: Vec<u8>,
    #[prost(string, tag = "4")]
    pub(crate) rule: String,
    #[prost(string, tag = "5")]
    pub(crate) hint: String,
    #[prost(sint64, tag = "6")]
    pub(crate) when: i64,
}
