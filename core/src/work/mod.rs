//! Worksheets: the computations of the job as pure functions, each with its formula, source,
//! bounds and the mistakes people make.
//!
//! [`WORKSHEETS`] describes them all; whatever shows worksheets reads it from there. Floats
//! live inside and leave with twelve significant digits; nothing here is stored or compared.

mod air;
mod angle_preload;
mod answer;
mod balance;
mod bearing;
mod bolt_heating;
mod budget;
mod compared;
mod crank;
mod crush;
mod decision;
mod decision_risk;
mod error;
mod fastener;
mod form;
mod from_record;
mod from_record_table;
mod gauge_anova;
mod gauge_study;
mod geometry;
mod given;
mod hone;
mod input;
mod journal;
mod matching;
mod motion;
mod outlier;
mod pair;
mod pin_fit;
mod polytropic;
mod preload;
mod proof_share;
mod quantile;
mod repeats;
mod ring;
mod ring_fit;
mod ring_layout;
mod risk;
mod rod;
mod shells;
mod surface;
mod temperature;
mod thread;
mod thrust;
mod tightening_plan;
mod units;
mod values;
mod vblock;
mod vee;
mod weights;
mod wide_bearing;
mod worksheet;

pub use answer::{Answer, Out, Value, rounded, twelve};
pub use error::{Problem, WorkError};
pub use from_record::{Filling, InRecord, fill, fills, lacking, places};
pub use from_record_table::{FILLS, Fill, Part, TOGETHER, Take, Where};
pub use given::Given;
pub use input::{Input, Need, Range, Takes};
pub use worksheet::{Output, Section, Source, Standing, Worksheet};

pub use angle_preload::preload_of_angle;
pub use balance::inertia_forces;
pub use bearing::{OilClearance, oil_clearance};
pub use budget::{Part as BudgetPart, combine, pair_term};
pub use compared::{ByFormula, at_share_of_yield, torque_by_factor};
pub use crush::crush_interference;
pub use decision::{Conformance, conformance, from_error_limit, from_resolution};
pub use fastener::crow_foot_setting;
pub use geometry::{Compression, compression_ratio, displacement};
pub use journal::{Bearing, Press, press_fit, short_bearing};
pub use matching::{Goal, choose};
pub use motion::{Motion, piston_motion};
pub use outlier::grubbs_critical;
pub use polytropic::polytropic;
pub use preload::{preload_of_torque, stiffness};
pub use quantile::student_quantile;
pub use repeats::mean_and_deviation;
pub use ring::gap_in_bore;
pub use ring_fit::hot_gap;
pub use ring_layout::ring_layout;
pub use risk::{Process, Risks, Sides, drawn_in, global_risks, guard_for_risk, guarded_rejection};
pub use surface::{Plateau, plateau};
pub use temperature::{at_reference, correction_uncertainty, gauge_target};
pub use thread::{stress_area_inch, stress_area_metric};
pub use tightening_plan::tightening_plan;
pub use vblock::vblock_factor;
pub use vee::vee_primary;
pub use weights::even_sets;
pub use wide_bearing::{RAIMONDI_BOYD, wide_bearing_film};

/// Every worksheet, by section.
pub static WORKSHEETS: &[&Worksheet] = &[
    &units::CONVERT,
    &temperature::SIZE_AT_20,
    &temperature::GAUGE_TARGET,
    &temperature::HOT_CLEARANCE,
    &pair::CLEARANCE_AT_20,
    &decision::CONFORMANCE,
    &decision::GAUGE_UNCERTAINTY,
    &decision::CLEARANCE_UNCERTAINTY,
    &decision::TEST_UNCERTAINTY_RATIO,
    &budget::UNCERTAINTY_BUDGET,
    &decision_risk::DECISION_RISK,
    &decision_risk::SURELY_OVER,
    &form::BORE_FORM,
    &vblock::V_BLOCK,
    &form::CLEAN_UP,
    &hone::HONE_TO,
    &bearing::OIL_CLEARANCE,
    &shells::SHELL_GRADES,
    &bearing::END_FLOAT,
    &thrust::THRUST_WASHERS,
    &journal::BEARING_NUMBER,
    &journal::PRESS_FIT,
    &crush::SHELL_CRUSH,
    &pin_fit::PIN_FIT,
    &fastener::CROW_FOOT,
    &fastener::STRESS_AREA,
    &fastener::WRENCH,
    &preload::WRENCH_DEVIATION,
    &preload::TORQUE_PRELOAD,
    &preload::STRETCH_PRELOAD,
    &angle_preload::ANGLE_PRELOAD,
    &proof_share::PRELOAD_SCATTER,
    &proof_share::PROOF_SHARE,
    &compared::TORQUE_COMPARED,
    &compared::TORQUE_FACTOR,
    &tightening_plan::TIGHTENING_PLAN,
    &bolt_heating::BOLT_HEATING,
    &ring::RING_GAP,
    &ring::GAP_IN_BORE,
    &ring_fit::HOT_RING_GAP,
    &ring_fit::RING_SIDE,
    &ring::RING_SETTING,
    &ring_layout::RING_LAYOUT,
    &geometry::COMPRESSION,
    &geometry::DISPLACEMENT,
    &motion::PISTON_MOTION,
    &polytropic::COMPRESSION_ESTIMATE,
    &polytropic::RATIO_FROM_PRESSURES,
    &balance::ROD_ENDS,
    &balance::BOBWEIGHT,
    &balance::RESIDUAL_UNBALANCE,
    &balance::BALANCE_DRILLING,
    &balance::INERTIA_FORCES,
    &vee::VEE_PRIMARY,
    &crank::CRANK_THROW,
    &crank::RUNOUT,
    &crank::ROD_BEND,
    &rod::ROD_CENTRES,
    &crank::TOP_DEAD_CENTRE,
    &crank::CAM_TIMING,
    &crank::CROSS_HATCH,
    &surface::PLATEAU,
    &matching::MATCH_PISTONS,
    &weights::EVEN_WEIGHTS,
    &repeats::REPEATS,
    &outlier::OUTLIER,
    &repeats::AGREEMENT,
    &gauge_study::GAUGE_STUDY,
    &gauge_anova::GAUGE_STUDY_ANOVA,
];

/// The worksheet of a name.
#[must_use]
pub fn find(name: &str) -> Option<&'static Worksheet> {
    WORKSHEETS.iter().copied().find(|sheet| sheet.name == name)
}
