//! What a reading is worth: size at 20 degC, uncertainty, form, agreement, verdict.
//!
//! Everything that goes in or comes out is an integer in the base unit of its quantity
//! (a length in picometres). Floats live in one place, the normal distribution behind
//! [`judging::conformance_probability`], and leave it rounded to 1e-9.

pub mod agreement;
pub mod form;
pub mod judging;
pub mod normal;
pub mod round;
pub mod temperature;
pub mod uncertainty;
pub mod verdict;

#[cfg(test)]
mod reference_cases;

pub use agreement::{Agreement, TooMany, compatible, largest_group, mean};
pub use form::{Form, FormError, Station};
pub use judging::{Accept, Judgement, conformance_probability, judge, judge_range};
pub(crate) use normal::phi;
pub use temperature::{
    Body, Expansion, TemperatureError, as_read_at, correction_uncertainty, is_too_far, to_reference,
};
pub use uncertainty::{Expanded, Gauge, Uncertainty, UncertaintyError, combine, difference, of_group};
pub use verdict::{Reason, Rule, Verdict, worst};
