//! What to set the gauge to: what it must show now, so that the size is the one meant at 20 °C.

use gudgeon_core::assess::expansion;
use gudgeon_core::engine::Characteristic;
use gudgeon_core::measure::{Body, as_read_at};
use gudgeon_core::quantity::{Kind, Quantity};

use super::super::sight::Sight;
use super::typed::number;
use super::{Desk, Model, shown};
use crate::app::Failure;

/// Decimals of a setting in millimetres: a tenth of a micrometre.
const DECIMALS: u8 = 4;

impl Model {
    /// The size that is meant at 20 °C: as typed, or the middle of the limits.
    pub(super) fn target(&self, sight: &Sight, row: &Characteristic) -> Option<Quantity> {
        if !self.target.trim().is_empty() {
            return number(&self.target, self.habit.unit(row.kind)).ok();
        }
        let feature = self.feature(sight)?;
        let limit = sight.assessment.limit_in_force(&sight.record, &sight.workshop, &feature, row.name)?;
        let middle = limit.lower?.midpoint(limit.upper?);
        shown(row.kind, middle, row.kind.main_unit(), DECIMALS)
    }

    /// What the gauge shows on a part of that size, as warm as both are now.
    pub(super) fn setting(&self, sight: &Sight, row: &Characteristic) -> Result<Quantity, Failure> {
        let missing = |cause: &str, way_out: &str| Failure::new("no-setting", cause, way_out);
        if row.kind != Kind::Length {
            return Err(missing("only lengths are set", "read it as it is"));
        }
        let target = self.target(sight, row);
        let target = target.ok_or_else(|| missing("no size is meant", "type the size meant at 20 °C"))?;
        let Some(role) = row.made_of else { return Ok(target) };
        let definition = sight.assessment.definition();
        let part = definition.and_then(|definition| expansion(definition.material(role)));
        let gauge = sight.workshop.gauge(&self.gauge).and_then(|gauge| gauge.expansion);
        let unknown = || missing("what the gauge is made of is not known", "choose a gauge that is listed");
        let (part, gauge) = part.zip(gauge).ok_or_else(unknown)?;
        let at = |text: &str| number(text, gudgeon_core::quantity::Unit::Celsius);
        let cold = || missing("how warm part and gauge are is not given", "give it under Temperature");
        let part_at = at(&self.part_at).map_err(|_| cold())?;
        let gauge_at = if self.gauge_at.is_empty() { part_at.clone() } else { at(&self.gauge_at)? };
        let body = |of, at: &Quantity| {
            let too_far = |error: gudgeon_core::measure::TemperatureError| {
                missing(&error.to_string(), "let them come nearer to 20 °C")
            };
            Body::new(of, at.temperature()?).map_err(too_far)
        };
        let (part, gauge) = (body(part, &part_at)?, body(gauge, &gauge_at)?);
        let reads = as_read_at(target.length()?, &part, &gauge)
            .map_err(|error| missing(&error.to_string(), "check the size"))?;
        let shown = shown(Kind::Length, reads.pm(), row.kind.main_unit(), DECIMALS);
        shown.ok_or_else(|| missing("the size is too long", "check the size"))
    }

    /// The gauge was set to what was said: from now on its deviation is typed.
    pub(super) fn use_target(&mut self, row: &Characteristic, desk: &Desk) {
        let Some(sight) = self.sight(desk) else { return };
        match self.setting(sight, row) {
            Ok(size) => {
                self.set_size = size.to_string();
                self.dial = true;
            }
            Err(failure) => self.problem = Some(failure),
        }
    }
}
