//! What did not work, in words for the one who holds the phone: what happened, and the one
//! thing that settles it.

use gudgeon_client::HomeError;
use gudgeon_client::store::{StoreError, Trouble};
use gudgeon_core::quantity::QuantityError;

/// Something that did not work, or must be known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Failure {
    /// A name for tests and scripts.
    pub code: &'static str,
    /// What happened.
    pub cause: String,
    /// The one thing that settles it.
    pub way_out: String,
}

/// Ways out that are another on a phone than on a command line, by the error's name.
const ON_A_PHONE: &[(&str, &str)] = &[
    ("damaged", "join again by a new invite: everything that reached the office comes back"),
    ("other-format", "reload the app while the office is in reach, so that the newer version comes"),
    ("no-workshop", "join a workshop by the code of an invite"),
    ("unknown-record", "it comes with the next meeting with the office"),
    ("other-workshop", "one phone holds one workshop: use another browser, or another phone"),
];

impl Failure {
    /// With its words.
    #[must_use]
    pub fn new(code: &'static str, cause: impl Into<String>, way_out: impl Into<String>) -> Self {
        Self { code, cause: cause.into(), way_out: way_out.into() }
    }

    /// Another tab has the home.
    #[must_use]
    pub fn following() -> Self {
        Self::new(
            "following",
            "another tab of this browser has the records open; this one only looks on",
            "go on there, or close it: this one takes over by itself",
        )
    }

    /// Nothing can be done before the home is open.
    #[must_use]
    pub fn not_open() -> Self {
        Self::new("not-open", "the records are not open yet", "wait a moment and try again")
    }

    /// Nobody has said who they are.
    #[must_use]
    pub fn nobody() -> Self {
        Self::new("nobody", "nobody has said who holds the phone", "say who you are, with your PIN")
    }

    /// The database does not write.
    #[must_use]
    pub fn not_stored(error: &StoreError) -> Self {
        let way_out = match error.trouble() {
            Trouble::Full => "free some room on this phone; what was shown as kept before is safe",
            Trouble::Open => "close the other tabs of this app and enter it again",
            Trouble::Damaged => "join again by a new invite: everything that reached the office comes back",
            Trouble::Device => "enter it again; if it fails again, carry on with another phone",
        };
        Self::new("not-stored", format!("not kept: {error}"), way_out)
    }

    /// The browser has forgotten what was kept.
    #[must_use]
    pub fn lost() -> Self {
        Self::new(
            "lost",
            "this browser has forgotten the records that it kept",
            "join again by a new invite: what reached the office comes back, what was only here does not",
        )
    }
}

impl From<HomeError> for Failure {
    fn from(error: HomeError) -> Self {
        let row = ON_A_PHONE.iter().find(|(code, _)| *code == error.code());
        let way_out = row.map_or_else(|| error.hint(), |(_, words)| (*words).to_owned());
        Self::new(error.code(), error.to_string(), way_out)
    }
}

impl From<QuantityError> for Failure {
    fn from(error: QuantityError) -> Self {
        Self::new("quantity", error.cause(), error.hint())
    }
}
