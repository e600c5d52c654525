//! Why a typed quantity was refused: the value and the limit, and apart from them the way out.

use super::number::{MAX_DIGITS, MAX_NUMBER_BYTES};
use super::{Kind, Unit};

/// Characters of a refused text that a message repeats.
const QUOTED_CHARS: usize = 40;

/// A refusal. [`cause`](Self::cause) names the value and the limit, [`hint`](Self::hint) the
/// way out; the kinds stay private so that new ones can be added.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error(transparent)]
pub struct QuantityError(#[from] Problem);

impl QuantityError {
    /// What is wrong: the value and the limit it breaks.
    #[must_use]
    pub fn cause(&self) -> String {
        self.0.to_string()
    }

    /// What to do about it.
    #[must_use]
    pub fn hint(&self) -> String {
        self.0.hint()
    }
}

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub(super) enum Problem {
    #[error("nothing was typed where a number is needed")]
    Empty,
    #[error("`{text}` has {len} bytes; at most {limit} are read")]
    TooLong { text: String, len: usize, limit: usize },
    #[error("`{text}` is not a number")]
    NotANumber { text: String },
    #[error("`{text}` has an exponent")]
    Exponent { text: String },
    #[error("`{text}` has more than one `.` or `,`, so its size is not clear")]
    TwoSeparators { text: String },
    #[error("`{text}` ends with its decimal separator, so its last digit is not known")]
    Unfinished { text: String },
    #[error("`{text}` has {digits} digits; at most {MAX_DIGITS} are kept, before or after the separator")]
    TooManyDigits { text: String, digits: u32 },
    #[error("`{text}` is a fraction, and fractions are for inches, not for {unit}")]
    FractionUnit { text: String, unit: Unit },
    #[error("`{text}` is not a fraction of an inch in halves to 128ths")]
    BadFraction { text: String },
    #[error("`{text}` has no unit")]
    MissingUnit { text: String, wanted: Option<Kind> },
    #[error("`{text}` is not a known unit")]
    UnknownUnit { text: String, wanted: Option<Kind> },
    #[error("`{text}` could mean more than one unit")]
    AmbiguousUnit { text: String, way_out: &'static str },
    #[error("unit code {code} is not known to this version")]
    UnknownCode { code: u32 },
    #[error("{value} is outside what {kind} may be: {}", bounds(*.kind, *.unit))]
    OutOfBounds { value: String, kind: Kind, unit: Unit },
    #[error("{value} is not a whole number of things")]
    NotWhole { value: String },
    #[error("{value} is {found}, where {wanted} is needed")]
    WrongKind { value: String, found: Kind, wanted: Kind },
    #[error("the set size {value} is not above nought")]
    SetSize { value: String },
    #[error("a dial deviation of {value} is beyond the travel allowed for: {limit} either way")]
    Deviation { value: String, limit: String },
    #[error("a set size of {set} and a deviation of {deviation} leave no size above nought")]
    NoSize { set: String, deviation: String },
}

impl Problem {
    pub(super) fn too_long(text: &str, limit: usize) -> Self {
        Self::TooLong { text: quoted(text), len: text.len(), limit }
    }

    pub(super) fn not_a_number(text: &str) -> Self {
        Self::NotANumber { text: quoted(text) }
    }

    pub(super) fn exponent(text: &str) -> Self {
        Self::Exponent { text: quoted(text) }
    }

    pub(super) fn two_separators(text: &str) -> Self {
        Self::TwoSeparators { text: quoted(text) }
    }

    pub(super) fn unfinished(text: &str) -> Self {
        Self::Unfinished { text: quoted(text) }
    }

    pub(super) fn too_many_digits(text: &str, digits: u32) -> Self {
        Self::TooManyDigits { text: quoted(text), digits }
    }

    pub(super) fn fraction_unit(text: &str, unit: Unit) -> Self {
        Self::FractionUnit { text: quoted(text), unit }
    }

    pub(super) fn bad_fraction(text: &str) -> Self {
        Self::BadFraction { text: quoted(text) }
    }

    /// The right refusal for a unit that did not parse.
    pub(super) fn bad_unit(number: &str, unit: &str) -> Self {
        if unit.is_empty() {
            return Self::MissingUnit { text: quoted(number), wanted: None };
        }
        match Unit::ambiguous(unit) {
            Some(way_out) => Self::AmbiguousUnit { text: quoted(unit), way_out },
            None => Self::UnknownUnit { text: quoted(unit), wanted: None },
        }
    }

    /// The same refusal where it is known what the unit should be of.
    pub(super) fn asked_for(mut self, kind: Kind) -> Self {
        if let Self::MissingUnit { wanted, .. } | Self::UnknownUnit { wanted, .. } = &mut self {
            *wanted = Some(kind);
        }
        self
    }

    fn hint(&self) -> String {
        match self {
            Self::Empty | Self::NotANumber { .. } => {
                "type digits with one decimal point or comma, such as 80.013; inches also as 3 5/32".into()
            }
            Self::TooLong { .. } => {
                format!("a number has at most {MAX_NUMBER_BYTES} characters; leave notes out")
            }
            Self::Exponent { .. } => {
                "write the number out in full, or choose a smaller or larger unit".into()
            }
            Self::TwoSeparators { .. } => "leave thousands unmarked: 1234.5 or 1234,5".into(),
            Self::Unfinished { text } => format!("write {0}0 or leave the separator off", text),
            Self::TooManyDigits { .. } => {
                "leave off the digits the gauge cannot show, or choose a fitting unit".into()
            }
            Self::FractionUnit { .. } => "type a decimal, or give the size in inches".into(),
            Self::BadFraction { .. } => "write it like 3 5/32 or 1/64, or as a decimal".into(),
            Self::MissingUnit { text, wanted } => missing_unit(text, wanted.unwrap_or(Kind::Length)),
            Self::UnknownUnit { text, wanted } => unknown_unit(text, *wanted),
            Self::AmbiguousUnit { way_out, .. } => (*way_out).into(),
            Self::UnknownCode { .. } => "a newer version wrote this; update to read it".into(),
            Self::OutOfBounds { kind, .. } => kind.hint().into(),
            Self::NotWhole { .. } => Kind::Count.hint().into(),
            Self::WrongKind { wanted, .. } => {
                format!("give {wanted}, such as in {}", wanted.main_unit())
            }
            Self::SetSize { .. } => "give the size of the setting master the dial was set to".into(),
            Self::Deviation { .. } => {
                "check the unit of the deviation, or give the size itself as the reading".into()
            }
            Self::NoSize { .. } => "check the sign of the deviation and the set size".into(),
        }
    }
}

/// The same number with a unit, in a form that a keyboard has.
fn missing_unit(text: &str, wanted: Kind) -> String {
    match (text.contains('/'), wanted == Kind::Length) {
        (true, true) => return format!("add the unit, such as {text} in; fractions are for inches"),
        (true, false) => return format!("type a decimal with its unit, such as in {}", wanted.main_unit()),
        (false, _) => {}
    }
    if wanted == Kind::Temperature {
        return format!("add the unit, such as {text}C, or in Fahrenheit such as 68F");
    }
    format!("add the unit, such as {text} {}", wanted.main_unit())
}

fn unknown_unit(text: &str, wanted: Option<Kind>) -> String {
    match (Unit::meant_by(text).filter(|unit| wanted.is_none_or(|kind| unit.kind() == kind)), wanted) {
        (Some(unit), _) => format!("write {unit}; large and small letters differ"),
        (None, Some(kind)) => format!("give {kind}, such as in {}", units_of(kind)),
        (None, None) => "use a unit such as mm, µm, in, thou, °C, N·m, lbf·ft, g, cm³ or deg".into(),
    }
}

/// The first units of a kind: `N·m or lbf·ft`.
fn units_of(kind: Kind) -> String {
    let units = Unit::ALL.iter().filter(|unit| unit.kind() == kind).take(3);
    units.map(|unit| unit.symbol()).collect::<Vec<_>>().join(" or ")
}

/// The bounds of a kind in a unit, without idle noughts.
fn bounds(kind: Kind, unit: Unit) -> String {
    let low = kind.lowest().show_short(unit);
    let high = kind.highest().show_short(unit);
    format!("{low} to {high}")
}

/// A refused text made safe for a message: cut short, nothing but printing characters.
pub(super) fn quoted(text: &str) -> String {
    let mut safe: String =
        text.chars().take(QUOTED_CHARS).map(|c| if c.is_control() { '\u{fffd}' } else { c }).collect();
    if text.chars().nth(QUOTED_CHARS).is_some() {
        safe.push('…');
    }
    safe
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hostile_text_is_cut_short_and_made_plain() {
        assert_eq!(quoted("a\u{1b}[31m\n"), "a\u{fffd}[31m\u{fffd}");
        assert_eq!(quoted(&"9".repeat(5000)).chars().count(), QUOTED_CHARS + 1);
    }
}
