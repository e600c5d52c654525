//! The engine: its definition, and the trade's tables as data.
//!
//! [`Definition::parse`] reads a TOML text and says everything that is wrong with it at
//! once. The tables are rows in one file each; a row added there is known everywhere:
//!
//! | table | file |
//! | --- | --- |
//! | kinds of features | `feature.rs` |
//! | characteristics, their stations and conditions | `characteristic.rs`, `condition.rs` |
//! | derived values | `derivation.rs` |
//! | what an operation ends | `operation_table.rs` |
//! | sorts of parts | `part.rs` |
//! | sorts of instruments | `instrument.rs` |
//! | materials | `material.rs` |
//! | dimensions | `dimension.rs` |
//! | cautions | `caution.rs` |
//! | default procedure: stages, checks, steps | `procedure.toml` |
//!
//! ```
//! use gudgeon_core::engine::{Definition, EXAMPLE, FeatureKind};
//!
//! let engine = Definition::parse(EXAMPLE).expect("the example has no problem");
//! let big_end = engine.feature("rod/3/big-end").expect("a four has a third rod");
//! assert_eq!(big_end.kind(), FeatureKind::BigEnd);
//! let limit = engine.limit(&big_end, "clearance", "").expect("it is limited");
//! assert_eq!(limit.upper.as_ref().map(ToString::to_string).as_deref(), Some("0.065 mm"));
//! let refused = engine.feature("main/7").unwrap_err();
//! assert_eq!(refused.hint(), "did you mean `main/5`?");
//! ```

pub mod caution;
pub mod characteristic;
pub mod condition;
pub mod derivation;
pub mod dimension;
pub mod feature;
pub mod instrument;
pub mod material;
pub mod operation;
pub mod part;
pub mod reads;
pub mod station;

mod definition;
mod edit;
mod fastener;
mod file;
mod layout;
mod limit;
mod materials;
mod name;
mod nearest;
mod operation_edit;
mod operation_table;
mod pattern;
mod places;
mod problem;
mod procedure;
mod ring;
mod section;
mod stations;
mod step;
mod subject;
mod wanted;

#[cfg(test)]
mod tests;

pub use characteristic::{Characteristic, CharacteristicIx};
pub use definition::{Definition, LARGEST, SCHEMA};
pub use derivation::{Derivation, DerivationIx, FeatureRef, Formula, Role};
pub use edit::{Changed, Edit};
pub use fastener::{Fastener, Method, Reuse};
pub use feature::{Feature, FeatureIx, FeatureKind, Place, RingSort};
pub use layout::{Bank, Form, Layout, Liners, MOST_CYLINDERS, Pins};
pub use limit::{DecisionRule, Limit};
pub use material::{Material, MaterialRole};
pub use name::is_mark;
pub(crate) use nearest::closest;
pub use nearest::suggest;
pub use operation::{Ended, Ends, Operation, What};
pub use pattern::FeaturePattern;
pub use places::UnknownFeature;
pub use problem::Problem;
pub use procedure::{Asked, Check, DEFAULT as DEFAULT_PROCEDURE, Evidence, Signer, Stage, Step};
pub use ring::Ring;
pub use step::{Ask, StepInstance, Target};
pub use subject::Subject;
pub use wanted::Wanted;

/// Text of an invented engine: the one of the demo build.
pub const EXAMPLE: &str = include_str!("example.toml");
