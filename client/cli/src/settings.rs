//! What the command line and the environment settle before a command runs.

use std::path::PathBuf;

use data_encoding::HEXLOWER;
use gudgeon_client::keys::Pin;
use gudgeon_core::entry::Author;
use zeroize::Zeroizing;

use crate::args::Common;
use crate::codes::Exit;
use crate::failure::Failure;

/// Where the PIN may be given without being asked for.
const PIN: &str = "GUDGEON_PIN";

/// Where the root key may be given without being asked for.
const ROOT_KEY: &str = "GUDGEON_ROOT_KEY";

/// What holds for one run.
#[derive(Clone, Debug)]
pub(crate) struct Settings {
    home: Option<PathBuf>,
    /// One JSON object instead of words.
    pub(crate) json: bool,
    /// Name or key of the one who signs.
    pub(crate) speaker: Option<String>,
    /// Name or id of the record.
    pub(crate) record: Option<String>,
}

impl Settings {
    pub(crate) fn new(common: Common) -> Self {
        let Common { home, json, speaker, record } = common;
        Self { home: home.or_else(usual_home), json, speaker, record }
    }

    /// A command line that does something here, as it can be typed.
    pub(crate) fn line(&self, words: &[&str]) -> String {
        let mut line = "gudgeon".to_owned();
        let home = self.home.as_ref().filter(|home| named_home().as_ref() != Some(home));
        let home = home.map(|home| home.display().to_string());
        for (option, value) in [("--home", &home), ("--as", &self.speaker), ("--record", &self.record)] {
            if let Some(value) = value {
                line.push_str(&format!(" {option} {}", quoted(value)));
            }
        }
        words.iter().for_each(|word| line.push_str(&format!(" {}", quoted(word))));
        line
    }

    /// The same for somebody else, in whichever home that is.
    pub(crate) fn anywhere(words: &[&str]) -> String {
        let words = words.iter().map(|word| format!(" {}", quoted(word)));
        format!("gudgeon{}", words.collect::<String>())
    }

    /// The home's directory.
    pub(crate) fn home(&self) -> Result<&PathBuf, Failure> {
        self.home.as_ref().ok_or_else(|| {
            Failure::usage(
                "no home is named, and this user has no home directory",
                "name one with --home DIR",
            )
        })
    }

    /// The PIN of a key that is there.
    pub(crate) fn pin(&self, label: &str) -> Result<Pin, Failure> {
        checked(&typed(&format!("PIN of {label}: "))?)
    }

    /// The PIN of a key that is made: asked for twice where it is typed.
    pub(crate) fn new_pin(&self, label: &str) -> Result<Pin, Failure> {
        let first = typed(&format!("New PIN for {label}: "))?;
        let pin = checked(&first)?;
        if std::env::var_os(PIN).is_none() && *typed("Once more: ")? != *first {
            return Err(Failure::new(
                Exit::Pin,
                "pin-differs",
                "the two PINs differ",
                "type the same one twice",
            ));
        }
        Ok(pin)
    }

    /// The root key as it stands on paper, typed for this once.
    pub(crate) fn root_key(&self) -> Result<Author, Failure> {
        let typed = match std::env::var(ROOT_KEY) {
            Ok(typed) => Zeroizing::new(typed),
            Err(_) => prompt("Root key, as on paper: ")?,
        };
        let digits: Zeroizing<String> =
            Zeroizing::new(typed.chars().filter(|c| !c.is_whitespace()).collect::<String>().to_lowercase());
        let bytes = HEXLOWER.decode(digits.as_bytes()).ok().map(Zeroizing::new);
        let secret: Option<[u8; 32]> = bytes.and_then(|bytes| bytes.as_slice().try_into().ok());
        secret.map(|secret| Author::from_secret(&secret)).ok_or_else(|| {
            Failure::refused(
                "root-key",
                "these are not the 64 digits of a root key",
                "type them as they stand on paper",
            )
        })
    }

    /// The PIN that replaces another: from a variable of its own, or typed.
    pub(crate) fn next_pin(&self, label: &str) -> Result<Pin, Failure> {
        match std::env::var("GUDGEON_NEW_PIN") {
            Ok(pin) => checked(&Zeroizing::new(pin)),
            Err(_) => checked(&prompt(&format!("New PIN for {label}: "))?),
        }
    }
}

/// The command line of this run with an option more.
pub(crate) fn line_with(option: &str) -> String {
    let typed = std::env::args_os().skip(1).map(|word| quoted(&word.to_string_lossy()));
    format!("gudgeon {} {option}", typed.collect::<Vec<_>>().join(" "))
}

/// The home where the command line names none.
fn named_home() -> Option<PathBuf> {
    std::env::var_os("GUDGEON_HOME").map(PathBuf::from).or_else(usual_home)
}

/// A word as the shell takes it; what is still to be filled in stands in large letters.
pub(crate) fn quoted(word: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || "-_./+:=,%@".contains(c);
    if !word.is_empty() && word.chars().all(plain) {
        return word.to_owned();
    }
    format!("\"{}\"", word.replace('\\', "\\\\").replace('"', "\\\""))
}

fn usual_home() -> Option<PathBuf> {
    let data = std::env::var_os("XDG_DATA_HOME").map(PathBuf::from).filter(|path| path.is_absolute());
    let own = || std::env::home_dir().map(|home| home.join(".local/share"));
    data.or_else(own).map(|data| data.join("gudgeon"))
}

fn typed(question: &str) -> Result<Zeroizing<String>, Failure> {
    match std::env::var(PIN) {
        Ok(pin) => Ok(Zeroizing::new(pin)),
        Err(_) => prompt(question),
    }
}

fn prompt(question: &str) -> Result<Zeroizing<String>, Failure> {
    let answer = rpassword::prompt_password(question).map_err(|error| {
        let cause = format!("a PIN is needed and cannot be asked for: {error}");
        Failure::new(Exit::Pin, "no-pin", cause, "run it in a terminal, or set GUDGEON_PIN")
    })?;
    Ok(Zeroizing::new(answer))
}

fn checked(typed: &str) -> Result<Pin, Failure> {
    Pin::new(typed).map_err(|error| Failure::new(Exit::Pin, "pin", error.to_string(), error.hint()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_can_be_typed_again() {
        let settings = Settings {
            home: Some(PathBuf::from("the shop/ida")),
            json: false,
            speaker: Some("Ida V".to_owned()),
            record: None,
        };
        let line = settings.line(&["note", "3/4\" deep", "x"]);
        assert_eq!(line, r#"gudgeon --home "the shop/ida" --as "Ida V" note "3/4\" deep" x"#);
    }
}
