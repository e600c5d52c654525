//! Plans: what a choice would come to, before it is made.
//!
//! A plan is computed from what a record shows and from the engine's definition, by the same
//! worksheets that a person would use; it is never stored and decides nothing. What it does not
//! know it says, and why.

mod bores;
mod candidate;
mod fits;
mod grounds;
mod oversizes;
pub(crate) mod reach;
mod tools;

pub use bores::{Bore, Bores};
pub(crate) use candidate::called;
pub use candidate::{Candidate, Cleans, Figure};
pub use fits::RingGap;
pub use grounds::{CAUTIONS, Ground, grounds};
pub use oversizes::{Oversizes, Wish, oversizes};
pub use tools::{Reach, Tools};
