//! Small pieces that several worksheets compute with.

use super::error::WorkError;
use crate::quantity::Unit;

/// The largest of some values.
pub(super) fn most(values: &[f64]) -> f64 {
    values.iter().copied().fold(f64::MIN, f64::max)
}

/// The smallest of some values.
pub(super) fn least(values: &[f64]) -> f64 {
    values.iter().copied().fold(f64::MAX, f64::min)
}

/// Largest less smallest.
pub(super) fn span(values: &[f64]) -> f64 {
    most(values) - least(values)
}

/// A computed value in another unit; of another kind it is no number, which no answer takes.
pub(super) fn converted(value: f64, from: Unit, to: Unit) -> f64 {
    from.in_units_of(to).map_or(f64::NAN, |factor| value * factor)
}

/// Whether a rod can turn on a throw, in mm.
///
/// # Errors
/// Where it is not longer.
pub(super) fn longer_than_throw(rod_mm: f64, throw_mm: f64) -> Result<(), WorkError> {
    if rod_mm > throw_mm {
        return Ok(());
    }
    let cause = format!("a rod of {rod_mm} mm is not longer than the throw of {throw_mm} mm");
    Err(WorkError::of("rod", cause, "give the length from centre to centre"))
}

/// Whether there is one of `input` for each of another list.
///
/// # Errors
/// Where there is not, naming both.
pub(super) fn one_for_each(
    input: &str,
    found: usize,
    (of, wanted): (&str, usize),
    hint: &str,
) -> Result<(), WorkError> {
    if found == wanted {
        return Ok(());
    }
    Err(WorkError::of(input, format!("{found} of them for {wanted} {of}"), hint))
}

/// A count as a number.
pub(super) fn count(n: usize) -> f64 {
    f64::from(u32::try_from(n).unwrap_or(u32::MAX))
}

/// Places in a list as a person counts them: from one.
pub(super) fn places(places: &[usize]) -> Vec<f64> {
    places.iter().map(|at| count(at + 1)).collect()
}
