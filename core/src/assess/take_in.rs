//! Filing one entry: whose it is, what it is about, what must be computed anew.

use std::sync::Arc;

use super::fold::{Assessment, Judgedness, Operated, World};
use super::remark::remarks;
use super::sized::size;
use super::status::{PersonId, Status};
use super::subject::{Subject, Taken};
use super::workshop::{Gauges, expansion, leads};
use crate::engine::{Asked, StepInstance};
use crate::entry::payload::{Payload, Reading, TighteningAct};
use crate::entry::{EntryId, Kind, READER};
use crate::log::{Ix, Log, Statement};
use crate::roster::NotCounted;

impl Assessment {
    /// Files the next folded entry.
    pub(super) fn take_in(&mut self, world: World, gauges: &Gauges, ix: Ix) {
        let statement = world.log().at(ix);
        let roster = world.workshop.roster();
        let counts = roster.counts(world.log(), ix);
        let status = if counts.is_ok() { Status::Stands } else { Status::NotCounted };
        let counted = counts.is_ok();
        self.awaiting |= matches!(counts, Err(NotCounted::CutUntil { .. }));
        self.entries.push(Judgedness {
            counts,
            person: roster.person_of(statement.key),
            status,
            subject: None,
            cited: Vec::new(),
        });
        if !counted {
            return;
        }
        let clock = self.clocks.entry(statement.key).or_insert((statement.device_time, None));
        if statement.device_time < clock.0 {
            clock.1.get_or_insert(statement.id);
        }
        clock.0 = clock.0.max(statement.device_time);
        if statement.kind().is_none() || statement.min_reader > READER {
            // What it means is not known here, so it is not acted on either.
            self.dirty.everything |= !self.halted;
            self.halted = true;
            return;
        }
        if let Ok(payload) = &statement.payload {
            self.file(world, gauges, (ix, statement), payload);
        }
    }

    fn file(&mut self, world: World, gauges: &Gauges, (ix, statement): (Ix, &Statement), payload: &Payload) {
        let name = |text: &str| -> Arc<str> { Arc::from(text) };
        match payload {
            Payload::Reading(reading) => self.file_reading(world, gauges, (ix, statement), reading),
            Payload::Operation(_) => {
                self.dirty.goods = true;
                self.operations.push(Operated { by: ix, reach: Arc::default() });
                self.dirty_asking(|asked| matches!(asked, Asked::Operation(_)));
            }
            Payload::Fitting(fitting) => {
                self.dirty.places = true;
                self.fittings.entry(name(&fitting.place)).or_default().push(ix);
            }
            Payload::Tightening(done) => {
                let key = (name(&done.group), name(&done.place));
                self.groups.entry(key.clone()).or_default().acts.push(ix);
                if done.act == TighteningAct::Slackened {
                    self.slackenings.push(ix);
                }
                self.dirty.groups.insert(key);
            }
            Payload::Check(check) => {
                let key = (name(&check.check), name(&check.feature));
                self.checks.entry(key.clone()).or_default().push(ix);
                self.dirty.checks.insert(key);
            }
            Payload::GaugeCheck(check) => {
                let by_result =
                    if check.passed { &mut self.good_gauge_checks } else { &mut self.failed_gauge_checks };
                by_result.entry(name(&check.gauge)).or_default().push(ix);
                self.dirty_read_with(world.log(), &check.gauge);
                self.dirty_asking(|asked| matches!(asked, Asked::GaugeCheck(_)));
            }
            Payload::Void(void) => {
                if let Some(target) = world.log().place(&void.entry)
                    && world.log().knows(ix, target)
                    && self.may_void(world, ix, target)
                {
                    self.voids.entry(target).or_default().push(ix);
                }
            }
            Payload::Order(order) => {
                let places = world.log().place(&order.first).zip(world.log().place(&order.second));
                // Only what its author held: so the order of arrival cannot matter.
                let known = |ix2: Ix| world.log().knows(ix, ix2);
                if let Some((first, second)) = places.filter(|(a, b)| a != b && known(*a) && known(*b)) {
                    self.orders.state(ix, first, second);
                    self.dirty.everything = true;
                }
            }
            // One that fits no value is kept and flagged, and changes nothing.
            Payload::LimitChange(change) if self.misplaced_limit(change).is_some() => {}
            Payload::LimitChange(change) => {
                let by_feature = self.limit_changes.entry(name(&change.characteristic)).or_default();
                by_feature.entry(name(&change.feature)).or_default().push(ix);
            }
            Payload::Decision(decision) => self.choose(Kind::Decision, &decision.subject, ix),
            Payload::Assignment(assignment) => self.choose(Kind::Assignment, &assignment.step, ix),
            Payload::PartReceived(part) => {
                self.dirty.goods = true;
                self.parts_received.entry(name(&part.sort)).or_default().push(ix);
                self.dirty.steps.extend(0..self.steps.len());
            }
            Payload::SignOff(sign_off) => {
                self.sign_offs.entry(name(&sign_off.step)).or_default().push(ix);
                let step = self.step_of(&sign_off.step);
                self.dirty.steps.extend(step);
                self.cite(world, ix, &sign_off.evidence, step);
            }
            Payload::Concession(concession) => {
                self.concessions.push(ix);
                self.dirty.groups.extend(self.groups.keys().cloned());
                self.dirty.steps.extend(0..self.steps.len());
                self.cite(world, ix, &concession.rests_on, 0..self.steps.len());
            }
            Payload::Approval(_) => {
                self.approvals.push(ix);
                self.dirty_asking(|asked| matches!(asked, Asked::Approval(_)));
            }
            Payload::Custody(_) => self.custodies.push(ix),
            Payload::Stop(_) => {
                self.stops.push(ix);
                self.dirty.groups.extend(self.groups.keys().cloned());
            }
            Payload::Resume(_) => self.resumes.push(ix),
            Payload::HandOver(_) => self.hand_overs.push(ix),
            Payload::Reopen(_) => self.reopens.push(ix),
            Payload::Founding(_)
            | Payload::Person(_)
            | Payload::Device(_)
            | Payload::Invite(_)
            | Payload::Removal(_)
            | Payload::Admit(_)
            | Payload::Instrument(_)
            | Payload::Definition(_)
            | Payload::RecordListed(_)
            | Payload::Note(_)
            | Payload::Photo(_) => {}
        }
    }

    /// Marks every subject that something was read on with a gauge.
    fn dirty_read_with(&mut self, log: &Log, gauge: &str) {
        if self.dirty.everything {
            return;
        }
        let with =
            |taken: &Taken| matches!(&log.at(taken.ix).payload, Ok(Payload::Reading(r)) if r.gauge == gauge);
        let read = |subject: &Subject| subject.slots.iter().flat_map(|slot| &slot.readings).any(with);
        let touched = self.subjects.iter().enumerate().filter(|(_, subject)| read(subject));
        self.dirty.subjects.extend(touched.map(|(ix, _)| ix));
    }

    /// Marks every step that asks for some such evidence.
    fn dirty_asking(&mut self, wanted: impl Fn(&Asked) -> bool) {
        let Some(definition) = &self.definition else { return };
        let asks = |step: &StepInstance| step.asks.iter().any(|ask| wanted(&ask.asked));
        let asking = definition.steps().iter().enumerate().filter(|(_, step)| asks(step));
        self.dirty.steps.extend(asking.map(|(number, _)| number));
    }

    /// Remembers which steps to look at again when one of these entries changes its status.
    /// What its author did not hold is no ground, whatever becomes of it.
    fn cite(
        &mut self,
        world: World,
        by: Ix,
        ids: &[EntryId],
        steps: impl IntoIterator<Item = usize> + Clone,
    ) {
        let known = |place: &Ix| world.log().knows(by, *place);
        for place in ids.iter().filter_map(|id| world.log().place(id)).filter(known) {
            let cited = &mut self.entries[place as usize].cited;
            for step in steps.clone() {
                if !cited.contains(&step) {
                    cited.push(step);
                }
            }
        }
    }

    fn choose(&mut self, kind: Kind, subject: &str, ix: Ix) {
        self.choices.entry((kind, Arc::from(subject))).or_default().push(ix);
        self.dirty.steps.extend(0..self.steps.len());
    }

    /// One's own work, or anybody's for a lead; only work entries, so never a void.
    fn may_void(&self, world: World, void: Ix, target: Ix) -> bool {
        let (log, roster) = (world.log(), world.workshop.roster());
        let work = log.at(target).kind().is_some_and(|kind| kind.row().work);
        work && (leads(roster, log.at(void).key) || roster.same_person(log.at(void).key, log.at(target).key))
    }

    fn file_reading(
        &mut self,
        world: World,
        gauges: &Gauges,
        (ix, statement): (Ix, &Statement),
        reading: &Reading,
    ) {
        let Some((noted, spot)) = world.record.spot(ix) else { return };
        let Some(definition) = &self.definition else { return };
        let part = spot.row.made_of.and_then(|role| expansion(definition.material(role)));
        let moment = statement.device_time;
        let sized = size((noted, moment), spot.row, part, gauges);
        let gauge = gauges.at(noted.gauge, moment);
        let (_, master) = gauges.master_of((noted, moment), gauge);
        let remarks = remarks((noted, moment), spot.row, gauge, master);
        let own = self.entries[ix as usize].person;
        // Only a person of the workshop can have read it: nobody makes up a second opinion.
        let known = |person: &PersonId| world.workshop.roster().name_of(*person).is_some();
        let read_by = if noted.called_by_another { reading.read_by } else { None };
        let person = read_by.filter(known).or(own).unwrap_or(statement.id);
        let subject = self.subject(&spot.feature, &spot.part);
        self.entries[ix as usize].subject = Some(subject);
        let taken = Taken { ix, id: statement.id, person, row: spot.row, sized, remarks };
        self.subjects[subject].file(taken, noted.spot, spot);
        self.dirty.subject(subject);
    }
}
