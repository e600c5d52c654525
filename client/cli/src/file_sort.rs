//! What sort of file somebody gave, so that the wrong one is named with the command it is for.

use std::io::Read as _;
use std::path::Path;

use crate::failure::Failure;
use crate::settings::Settings;

/// How much of a file is looked at, in bytes.
const LOOKED_AT: u64 = 16 * 1024;

/// A file that this program reads or writes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum FileSort {
    Bundle,
    Ask,
    Definition,
    Readings,
    Picture,
    Sheet,
}

impl FileSort {
    const fn name(self) -> &'static str {
        match self {
            Self::Bundle => "a bundle that was carried out",
            Self::Ask => "what a key asks",
            Self::Definition => "an engine definition",
            Self::Readings => "a set of readings",
            Self::Picture => "a picture",
            Self::Sheet => "a printed record",
        }
    }

    /// The command that such a file is for.
    fn command(self, file: &str, settings: &Settings) -> String {
        let line = |words: &[&str]| settings.line(words);
        match self {
            Self::Bundle => line(&["carry", "in", file]),
            Self::Ask => line(&["enrol", file, "--name", "NAME"]),
            Self::Definition => line(&["start", "NAME", "--engine", file]),
            Self::Readings => line(&["read", "--csv", file]),
            Self::Picture => line(&["photo", file]),
            Self::Sheet => "open it in a browser; a record is carried with `carry out`".to_owned(),
        }
    }

    /// By its first bytes; none where it is nothing that is known.
    fn of(path: &Path) -> Option<Self> {
        let mut start = Vec::new();
        std::fs::File::open(path).ok()?.take(LOOKED_AT).read_to_end(&mut start).ok()?;
        if picture_type(&start).is_some() {
            return Some(Self::Picture);
        }
        let text = String::from_utf8_lossy(&start);
        let text = text.trim_start_matches('\u{feff}').trim_start();
        let lower = text.to_lowercase();
        let column = |name: &str| lower.lines().take(20).any(|line| line.contains(name));
        match () {
            () if text.starts_with("gudgeon bundle ") => Some(Self::Bundle),
            () if text.starts_with("gudgeon ask ") => Some(Self::Ask),
            () if lower.starts_with("<!doctype html") => Some(Self::Sheet),
            () if lower.lines().any(|line| line.trim() == "[layout]") => Some(Self::Definition),
            () if ["feature", "characteristic", "value"].into_iter().all(column) => Some(Self::Readings),
            () => None,
        }
    }
}

/// Refuses a file of another sort than the wanted one, with the command that it is for.
pub(crate) fn wanted(path: &Path, sort: FileSort, settings: &Settings) -> Result<(), Failure> {
    let Some(found) = FileSort::of(path).filter(|found| *found != sort) else { return Ok(()) };
    let cause = format!("{} is {}, not {}", path.display(), found.name(), sort.name());
    let hint = format!("it is for: {}", found.command(&path.display().to_string(), settings));
    Err(Failure::refused("other-file", cause, hint))
}

/// Media type of a picture, by the first bytes, which each of the formats fixes.
pub(crate) fn picture_type(data: &[u8]) -> Option<&'static str> {
    let webp = data.starts_with(b"RIFF") && data.get(8..12) == Some(b"WEBP");
    match data {
        _ if data.starts_with(&[0xFF, 0xD8, 0xFF]) => Some("image/jpeg"),
        _ if data.starts_with(b"\x89PNG\r\n\x1a\n") => Some("image/png"),
        _ if webp => Some("image/webp"),
        _ => None,
    }
}
