//! What a reading would be worth, before it is entered: for whoever is typing it.
//!
//! Looks at one reading and the limits, and at no other entry, so that it can be asked at every
//! key press whatever the record holds. What the reading does to the rest is known once it is in.

use std::collections::BTreeSet;

use super::compute::judged;
use super::fold::{Assessment, World};
use super::judged::{Judged, Span};
use super::record::Record;
use super::remark::remarks;
use super::sized::{Sized, size};
use super::spot::unfiled;
use super::workshop::{Gauges, Workshop, expansion};
use crate::entry::payload::{Millis, Reading};
use crate::measure::{Judgement, Reason};

/// What a reading would come to.
#[derive(Clone, Debug)]
pub struct WouldBe {
    /// As a size.
    pub sized: Sized,
    /// That size alone, under the limit of its station.
    pub judged: Judged,
    /// What there is to say of it and its gauge, in words.
    pub remarks: Vec<String>,
    /// The conditions it does not state: of each list one. Without them it is kept and not judged.
    pub missing: Vec<&'static [&'static str]>,
}

impl Assessment {
    /// What a reading that is entered at this moment would come to by itself.
    ///
    /// None where it would be of nothing that this engine has, in a unit of something else, or a
    /// deviation that leaves no size.
    #[must_use]
    pub fn would_be(
        &self,
        record: &Record,
        workshop: &Workshop,
        reading: &Reading,
        moment: Millis,
    ) -> Option<WouldBe> {
        let definition = self.definition()?;
        let (noted, spot) = unfiled(definition, reading)?;
        let marks = [reading.gauge.clone(), reading.master.clone()];
        let gauges = Gauges::of(&marks, workshop);
        let gauge = gauges.at(noted.gauge, moment);
        let (_, master) = gauges.master_of((&noted, moment), gauge);
        let remarks = remarks((&noted, moment), spot.row, gauge, master);
        let part = spot.row.made_of.and_then(|role| expansion(definition.material(role)));
        let sized = size((&noted, moment), spot.row, part, &gauges);
        let world = World { record, workshop };
        let limit = self.limit(world, definition, &spot.feature, spot.row.name, &spot.station);
        let mut judged = judged(spot.row.name, spot.row.kind, Some(alone(&sized)), limit, None, (1, 1), None);
        if self.halted {
            judged.judgement = Judgement::not_judged(Reason::UnknownEntry, judged.judgement.rule);
        }
        let said: BTreeSet<String> = remarks.iter().map(|remark| remark.text(reading)).collect();
        let missing = definition.missing_conditions(spot.row, &reading.conditions).collect();
        Some(WouldBe { sized, judged, remarks: said.into_iter().collect(), missing })
    }
}

/// One size as a span.
fn alone(sized: &Sized) -> Span {
    Span {
        low: sized.value,
        high: sized.value,
        as_read: (sized.as_read != sized.value).then_some((sized.as_read, sized.as_read)),
        u: sized.u,
        uncorrected: sized.correction.hinders(),
        readings: Vec::new(),
    }
}
