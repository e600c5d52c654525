//! The exit codes: one table, printed by `gudgeon codes` and in the manual page.

/// How a command ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u8)]
pub(crate) enum Exit {
    Usage = 2,
    NotFound = 3,
    Refused = 4,
    NotAllowed = 5,
    NotReady = 6,
    Pin = 7,
    Busy = 8,
    Device = 9,
    Damaged = 10,
    NotReached = 11,
}

/// Number, name, meaning.
pub(crate) const CODES: [(u8, &str, &str); 11] = [
    (0, "done", "done; what was said to be saved is durable"),
    (Exit::Usage as u8, "usage", "the command line cannot be read"),
    (Exit::NotFound as u8, "not-found", "something named is not here: home, record, entry, person, feature"),
    (
        Exit::Refused as u8,
        "refused",
        "what was given cannot be meant so, or fails its checks; nothing was saved",
    ),
    (Exit::NotAllowed as u8, "not-allowed", "the key lacks the role that this needs"),
    (Exit::NotReady as u8, "not-ready", "something else comes first; the hint says what"),
    (Exit::Pin as u8, "pin", "the PIN is wrong, missing, too short or not tried again yet"),
    (Exit::Busy as u8, "busy", "another program has the home"),
    (Exit::Device as u8, "device", "the device does not read or write"),
    (Exit::Damaged as u8, "damaged", "what is stored is not what was written"),
    (Exit::NotReached as u8, "not-reached", "the relay does not answer; nothing is lost by it"),
];

impl Exit {
    /// The number given to the system.
    pub(crate) const fn number(self) -> u8 {
        self as u8
    }
}

/// The table as text, for the manual page and `codes`.
pub(crate) fn table() -> String {
    let row = |(number, name, meaning): &(u8, &str, &str)| format!("{number:>3}  {name:<12} {meaning}\n");
    CODES.iter().map(row).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_and_names_are_given_once() {
        for (at, (number, name, _)) in CODES.iter().enumerate() {
            assert!(CODES[..at].iter().all(|(n, other, _)| n != number && other != name), "{name}");
        }
    }
}
