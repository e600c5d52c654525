//! What would follow from a reading, before it is entered: derived values with it in the place of what stands.
//!
//! Of its own station alone: it takes the place of whatever stands there, agree or not. What becomes of two
//! that differ is known once it is in.

use std::sync::Arc;

use super::compute::judged;
use super::derived::{Point, derive};
use super::fold::{Assessment, World};
use super::judged::Judged;
use super::record::Record;
use super::spot::unfiled;
use super::standing::Value;
use super::subject::SubjectIx;
use super::workshop::Workshop;
use super::would::WouldBe;
use crate::engine::{Characteristic, Definition, Derivation, derivation};
use crate::entry::payload::Reading;
use crate::quantity::Kind;

/// The reading, as a point among those that stand.
struct There<'r> {
    /// On which subject.
    on: SubjectIx,
    row: &'static Characteristic,
    station: &'r str,
    value: Value,
}

impl Assessment {
    /// Derived values that have a limit, as they would be with this reading: path of the feature, value. None
    /// where it would not be judged, or where nothing has been read on its feature yet.
    #[must_use]
    pub fn would_follow(
        &self,
        record: &Record,
        workshop: &Workshop,
        reading: &Reading,
        would: &WouldBe,
    ) -> Vec<(&str, Judged)> {
        let Some(there) = self.there(reading, would) else { return Vec::new() };
        let Some(definition) = self.definition() else { return Vec::new() };
        let world = World { record, workshop };
        let mut all = Vec::new();
        for ix in self.readers[there.on].iter().copied() {
            let subject = &self.subjects[ix];
            for row in derivation::of_kind(subject.feature.kind()) {
                let judged = self.derived_with(world, definition, (ix, row), &there);
                let judged = judged.filter(|judged| judged.low.is_some() && judged.limit.is_some());
                all.extend(judged.map(|judged| (subject.feature.path(), judged)));
            }
        }
        all
    }

    fn there<'r>(&self, reading: &'r Reading, would: &WouldBe) -> Option<There<'r>> {
        if self.halted || !would.missing.is_empty() {
            return None;
        }
        let (_, spot) = unfiled(self.definition()?, reading)?;
        let part = (Arc::from(reading.feature.as_str()), Arc::from(reading.part.as_str()));
        let own = self.subject_of.get(&part).copied();
        let sized = &would.sized;
        let value = Value {
            value: sized.value,
            as_read: (sized.as_read != sized.value).then_some(sized.as_read),
            u: sized.u,
            common: sized.common.clone(),
            uncorrected: sized.correction.hinders(),
            readings: Vec::new(),
            persons: 1,
        };
        Some(There { on: own?, row: spot.row, station: &reading.station, value })
    }

    /// A derived value with the reading in the place of what stands at its station; none: it is not of it.
    fn derived_with(
        &self,
        world: World,
        definition: &Definition,
        (ix, row): (SubjectIx, &'static Derivation),
        there: &There,
    ) -> Option<Judged> {
        if row.inputs.iter().all(|input| input.characteristic != there.row.name) {
            return None;
        }
        let (mut inputs, mut stations, mut touched) = (Vec::new(), (0, 0), false);
        for input in row.inputs {
            let source = self.source(world, definition, ix, input).ok()?;
            let (mut points, hindrance, (mut read, needed)) = self.points(definition, source, input);
            if source == there.on && input.characteristic == there.row.name {
                let (level, direction) = there.row.stations.split(there.station);
                let others = points.points.len();
                points.points.retain(|point| (point.level, point.direction) != (level, direction));
                read = (read + usize::from(points.points.len() == others)).min(needed);
                points.points.push(Point { level, direction, value: &there.value });
                touched = true;
            } else if hindrance.is_some() {
                return None;
            }
            stations = (stations.0 + read, stations.1 + needed);
            inputs.push(points);
        }
        let span = derive(row, &inputs).filter(|_| touched)?;
        let limit = self.limit(world, definition, &self.subjects[ix].feature, row.name, "");
        Some(judged(row.name, Kind::Length, Some(span), limit, None, stations, Some(row)))
    }
}
