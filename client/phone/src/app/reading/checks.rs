//! The set of readings that lies between two checks of its gauge.

use gudgeon_client::home::Saved;
use gudgeon_core::engine::Characteristic;
use gudgeon_core::entry::Payload;
use gudgeon_core::entry::payload::GaugeCheck;

use super::super::sight::Sight;
use super::{Event, Model};
use crate::app::{Buzz, Desk, Effect, Failure};

/// How the set of readings stands with its gauge's checks.
#[derive(Clone, Copy, Default)]
pub(super) struct Checks {
    pub(super) before: Option<bool>,
    pub(super) after: Option<bool>,
    pub(super) readings: usize,
}

impl Model {
    /// The name of the set that is open with this gauge; begins one where there is none.
    pub(super) fn open_set(&mut self, now: i64) -> String {
        if let Some(set) = self.habit.open_set(&self.gauge, now) {
            return set.to_owned();
        }
        let set = format!("set-{:x}", now / 1000);
        self.habit.put_open_set(&self.gauge, Some(&set), now);
        self.checks = Checks::default();
        set
    }

    /// How the open set stands, from the record.
    pub(super) fn count_checks(&mut self, sight: &Sight, now: i64) {
        self.checks = Checks::default();
        let Some(set) = self.habit.open_set(&self.gauge, now) else { return };
        for statement in sight.log().folded() {
            match &statement.payload {
                Ok(Payload::Reading(reading)) if reading.reading_set == set => self.checks.readings += 1,
                Ok(Payload::GaugeCheck(check)) if check.reading_set == set => {
                    self.checks.before = Some(check.passed);
                }
                _ => {}
            }
        }
    }

    pub(super) fn check(&mut self, row: &'static Characteristic, passed: bool, desk: &mut Desk) {
        let (Some(record), false) = (self.record, self.keeping) else { return };
        let master = self.sight(desk).and_then(|sight| self.set_on(sight)).unwrap_or_default();
        if self.gauge.is_empty() || master.is_empty() {
            let cause = "what was checked, and on what, is not named";
            self.problem =
                Some(Failure::new("no-master", cause, "choose the gauge, and name what it is set on"));
            return;
        }
        let nominal = self.set_size(row).ok().flatten();
        self.keeping = true;
        let reading_set = self.open_set(desk.now());
        let check =
            GaugeCheck { gauge: self.gauge.clone(), master, nominal, observed: None, passed, reading_set };
        self.remember(row, desk);
        let says = [Payload::GaugeCheck(check)];
        desk.state(record, &says, move |done| Event::Checked(passed, done).into());
    }

    pub(super) fn was_checked(&mut self, passed: bool, done: Result<Saved, Failure>, desk: &mut Desk) {
        self.keeping = false;
        if let Err(failure) = done {
            return self.look(failure, desk);
        }
        if self.checks.readings == 0 {
            self.checks.before = Some(passed);
        } else {
            // A check after the readings closes the set.
            self.checks.after = Some(passed);
            let now = desk.now();
            self.habit.put_open_set(&self.gauge, None, now);
            if let Some(row) = self.row {
                self.remember(row, desk);
            }
        }
        desk.effect(Effect::Buzz(if passed { Buzz::Kept } else { Buzz::Look }));
    }
}
