//! The fold: everything a person sees, computed from the entries by one pure function.
//!
//! [`assess`] reads a record and its workshop and nothing else: no clock, no order of
//! arrival. Nothing it finds is stored. [`Assessment::update`] takes in what is new and
//! gives the same as the full fold. What is due *today* is a question of its own.

mod about;
mod ahead;
mod beside;
mod between;
mod choices;
mod compute;
mod decided;
mod derived;
mod due;
mod early;
mod evidence;
mod finding;
mod fold;
mod follow;
mod goods;
mod judged;
mod limits;
mod look;
mod order;
mod outside;
mod places;
mod record;
mod remark;
mod rise;
pub mod show;
mod sign_off;
mod sized;
mod slack;
mod slip;
mod spot;
mod standing;
mod status;
mod steps;
mod stopped;
mod subject;
mod take_in;
mod tightening;
mod view;
mod workshop;
mod would;

pub use between::NextAct;
pub(crate) use between::TURN_CHECK;
pub use due::{Due, due};
pub use finding::{Finding, RULES, Rule, Weight};
pub use fold::Assessment;
pub use judged::{Judged, LimitInForce, Obstacle};
pub use record::{Record, digest_of, founding_id};
pub use remark::Remark;
pub use sign_off::{Cause, Signature};
pub use sized::{Common, Correction, Sized};
pub(crate) use slack::FREE_LENGTH;
pub use standing::{Standing, Value};
pub use status::{PersonId, Status};
pub use steps::{Evidence, Progress, StepState};
pub use subject::{Slot, Taken};
pub use view::{FeatureView, SCHEMA, Tally, may_see};
pub use workshop::{GaugeFacts, Workshop, expansion};
pub use would::WouldBe;

/// Version of the calculation: goes up whenever the same entries may give another answer.
pub const CALCULATION: u32 = 6;

/// Computes everything that follows from a record and its workshop.
#[must_use]
pub fn assess(record: &Record, workshop: &Workshop) -> Assessment {
    let mut assessment = Assessment::empty();
    assessment.update(record, workshop);
    assessment
}
