//! Quantities exactly as typed: a number, its unit, and the exact size they state.
//!
//! A reading is never turned into another unit before it is stored. [`Quantity`] keeps the
//! typed text and the exact value as a ratio of integers; [`Amount`] is that value rounded
//! once, half to even, to a whole number of the kind's base unit (picometres for lengths,
//! micro-degrees for temperatures; the table is in [`Kind`]). Nothing here is a float, but
//! for the two marked doors to the worksheets ([`Amount::to_f64`], [`Amount::from_f64`]).
//!
//! ```
//! use gudgeon_core::quantity::{Comparator, Kind, Quantity, Unit};
//!
//! # fn main() -> Result<(), gudgeon_core::quantity::QuantityError> {
//! // As typed, with a decimal point or a comma; the text stays what it was.
//! let bore = Quantity::parse("80,013 mm")?;
//! assert_eq!(bore.to_string(), "80,013 mm");
//! assert_eq!(bore.amount().base(), 80_013_000_000); // picometres
//! assert_eq!(bore.last_digit().show(Unit::Micrometre, 0), "1 µm");
//! assert_eq!(bore.show_in(Unit::Inch, 4), "3.1501 in");
//! assert_eq!(bore.show_in_rounded(Unit::Inch), "3.15012 in");
//!
//! // Stored as text and a unit code, read back the same.
//! let stored = Quantity::from_wire(bore.typed(), bore.unit().code())?;
//! assert_eq!(stored, bore);
//!
//! // A dial set on a master: one size, added exactly, whatever the two units.
//! let dial = Comparator::new(
//!     Quantity::parse("80.000 mm")?,
//!     Quantity::parse("+0.4 thou")?,
//! )?;
//! assert_eq!(dial.size().show(Unit::Millimetre, 5), "80.01016 mm");
//!
//! // A refusal names the value, the limit and the way out.
//! let refused = Quantity::parse("-300 °C").unwrap_err();
//! assert_eq!(
//!     refused.cause(),
//!     "-300 °C is outside what a temperature may be: -273.15 °C to 1000 °C"
//! );
//! assert_eq!(refused.hint(), "check the sign and the unit (°C or °F)");
//! assert_eq!(bore.kind(), Kind::Length);
//! # Ok(())
//! # }
//! ```

mod amount;
mod comparator;
mod error;
mod exact;
mod kind;
mod named;
mod number;
mod typed;
mod unit;

#[cfg(test)]
mod properties;
#[cfg(test)]
mod reference;
#[cfg(test)]
mod refusals;

pub use amount::Amount;
pub use comparator::Comparator;
pub use error::QuantityError;
pub use kind::Kind;
pub use named::{Length, Temperature};
pub use typed::Quantity;
pub use unit::Unit;
