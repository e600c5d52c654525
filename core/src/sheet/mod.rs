//! The printed record: what an assessment says, as plain data and as one page to hand over.
//!
//! [`model`] gathers everything a reader needs from the entries and from what follows from
//! them; [`html`] draws it as one file that holds its own style, drawings and font, runs no
//! script and fetches nothing. The same entries give the same bytes, in any order of
//! arrival: nothing here knows a clock. Times are those of the signers' devices.
//!
//! State is drawn, then coloured, then named, so that a black-and-white print and a
//! colour-blind reader lose nothing ([`State`]).

mod chronology;
mod date;
mod feature;
#[expect(clippy::inconsistent_digit_grouping, reason = "hundredths of a drawing unit: 12_50 is 12.5")]
mod figure_engine;
#[expect(clippy::inconsistent_digit_grouping, reason = "hundredths of a drawing unit: 12_50 is 12.5")]
mod figure_verdict;
mod font;
mod html;
mod html_build;
mod html_values;
mod model;
mod page;
mod people;
mod picture;
mod rest;
mod sight;
mod state;
mod steps;
mod tightening;
mod value;
mod words;

pub use date::Moment;
pub use feature::{drawing, feature_page};
pub use figure_engine::cosine_e3;
pub use figure_verdict::limit_line;
pub use font::FACES;
pub use html::html;
pub use model::*;
pub use picture::{Form, Mark, Picture, Px, in_units};
pub use rest::digest_of_ids;
pub use state::State;
pub use words::{HIDDEN, capital, count, place, plain};

use std::collections::BTreeSet;

use crate::assess::{Assessment, Record, Workshop};
use crate::log::Ix;
use sight::Sight;

/// Gathers the printed record.
///
/// `assessment` must be that of `record` and `workshop`.
#[must_use]
pub fn model(record: &Record, workshop: &Workshop, assessment: &Assessment) -> Sheet {
    let sight = Sight::new(record, workshop, assessment);
    let (findings, conceded) = rest::findings(&sight);
    Sheet {
        title: rest::title(&sight),
        tally: assessment.tally(record),
        drawing: drawing(assessment, &BTreeSet::new()),
        findings,
        conceded,
        stages: steps::stages(&sight),
        features: feature::features(&sight),
        tightenings: tightening::groups(&sight),
        parts: rest::parts(&sight),
        decisions: rest::decisions(&sight),
        notes: rest::notes(&sight),
        history: rest::history(&sight),
        people: people::people(&sight),
        gauges: people::gauges(&sight),
        verify: rest::verify(&sight),
    }
}

/// These entries in words, in the order of telling: what an author knew comes first; among what is free,
/// by device time, then by id. Of the readings in `hidden` it is told that they were taken, not what was read.
///
/// `assessment` must be that of `record` and `workshop`.
#[must_use]
pub fn told(
    record: &Record,
    workshop: &Workshop,
    assessment: &Assessment,
    which: &BTreeSet<Ix>,
    hidden: &BTreeSet<Ix>,
) -> Vec<Event> {
    let sight = Sight::new(record, workshop, assessment).without(hidden);
    let meant = sight.told().map(|(ix, _)| ix).filter(|ix| which.contains(ix));
    meant.map(|ix| rest::event(&sight, ix)).collect()
}
