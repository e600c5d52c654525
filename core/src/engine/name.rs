//! Names: of steps, groups, banks, rings, materials; and marks of parts.

use super::problem::Problems;
use super::section::Text;

/// Longest name or mark, in bytes.
const LONGEST: usize = 40;

/// Whether a text is a name: lower case letters, digits and hyphens.
#[must_use]
pub(super) fn is_name(text: &str) -> bool {
    let good = |byte: u8| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-';
    !text.is_empty() && text.len() <= LONGEST && text.bytes().all(good)
}

/// Whether a text can be the mark of a part: letters, digits, `-`, `_`, `.`, `+`.
#[must_use]
pub fn is_mark(text: &str) -> bool {
    let good = |letter: char| letter.is_alphanumeric() || "-_.+".contains(letter);
    !text.is_empty() && text.len() <= LONGEST && text.chars().all(good)
}

/// Notes a problem where a text is no name.
pub(super) fn check(out: &mut Problems, place: &str, text: Text<'_>) -> bool {
    let good = is_name(text.text);
    if !good {
        let reason = format!("`{}` is no name", short(text.text));
        let hint = format!("lower case letters, digits and hyphens, at most {LONGEST}");
        out.add(text.at, place, reason, hint);
    }
    good
}

/// A text cut for a message.
pub(super) fn short(text: &str) -> String {
    let cut: String = text.chars().take(LONGEST).collect();
    if cut.len() < text.len() { format!("{cut}...") } else { cut }
}
