//! What a reading is worth: size at 20 degC, uncertainty, form, agreement, verdict.
//!
//! Everything that goes in or comes out is an integer in the base unit of its quantity
//! (a length in picometres).

pub mod agreement;
pub mod form;
pub mod round;
pub mod temperature;
pub mod uncertainty;

pub use agreement::{Agreement, TooMany, compatible, largest_group, mean};
pub use form::{Form, FormError, Station};
pub use temperature::{Body, Expansion, TemperatureError, as_read_at, correction_uncertainty, to_reference};
pub use uncertainty::{Expanded, Gauge, Uncertainty, UncertaintyError, combine, difference, of_group};
