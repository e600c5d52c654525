//! A person with a phone: what they can say.

use std::cell::RefCell;
use std::rc::Rc;

use gudgeon_core::assess::{Finding, assess};
use gudgeon_core::entry::payload::{
    self, Check, ChosenRule, Device, Fitting, FittingState, GaugeCheck, Meaning, Payload, Person, Role,
};
use gudgeon_core::entry::{EntryId, KeyId};
use gudgeon_core::quantity::Quantity;

use super::gauges;
use super::say::{Reads, Tightens};
use super::world::{Phone, World};

/// A person with a phone in the hand.
#[derive(Clone)]
pub struct Hand {
    world: Rc<RefCell<World>>,
    number: usize,
}

impl Hand {
    pub(super) fn enrol(world: &Rc<RefCell<World>>, name: &str, roles: &[Role]) -> Self {
        let person = world.borrow_mut().rules(None, &Payload::Person(Person { name: name.into() }));
        let hand = Self::unknown(world, Some(person));
        hand.grant(None, person, roles);
        hand
    }

    pub(super) fn stranger(world: &Rc<RefCell<World>>) -> Self {
        Self::unknown(world, None)
    }

    fn unknown(world: &Rc<RefCell<World>>, person: Option<EntryId>) -> Self {
        let mut inner = world.borrow_mut();
        let (author, view) = (inner.author(), inner.fresh_view());
        inner.phones.push(Phone { author, person, view });
        Self { world: Rc::clone(world), number: inner.phones.len() - 1 }
    }

    fn grant(&self, by: Option<usize>, person: EntryId, roles: &[Role]) -> EntryId {
        let device = Device {
            key: self.key(),
            person,
            roles: roles.to_vec(),
            label: "phone".into(),
            invite: None,
            join_signature: Vec::new(),
        };
        self.world.borrow_mut().rules(by, &Payload::Device(device))
    }

    pub(super) const fn number(&self) -> usize {
        self.number
    }

    /// The key of this phone.
    #[must_use]
    pub fn key(&self) -> KeyId {
        self.world.borrow().phones[self.number].author.key()
    }

    /// The person.
    ///
    /// # Panics
    /// For a stranger.
    #[must_use]
    pub fn person(&self) -> EntryId {
        self.world.borrow().phones[self.number].person.unwrap()
    }

    /// Whether the workshop knows the person.
    #[must_use]
    pub fn is_somebody(&self) -> bool {
        self.world.borrow().phones[self.number].person.is_some()
    }

    /// A second phone of the same person, with a key of its own and nothing on it yet.
    #[must_use]
    pub fn second_phone(&self, lead: &Self, roles: &[Role]) -> Self {
        let hand = Self::unknown(&self.world, Some(self.person()));
        hand.grant(Some(lead.number), self.person(), roles);
        hand
    }

    /// A copy of this phone as it is now, key and all.
    #[must_use]
    pub fn copied(&self) -> Self {
        let mut inner = self.world.borrow_mut();
        let mine = &inner.phones[self.number];
        let phone = Phone { author: mine.author.clone(), person: mine.person, view: mine.view.clone() };
        inner.phones.push(phone);
        Self { world: Rc::clone(&self.world), number: inner.phones.len() - 1 }
    }

    /// Hands over all that this phone holds.
    pub fn tells(&self, other: &Self) {
        self.world.borrow_mut().carry(self.number, other.number);
    }

    // ---- in the workshop

    /// States something in the workshop.
    pub fn rules(&self, says: &Payload) -> EntryId {
        self.world.borrow_mut().rules(Some(self.number), says)
    }

    /// States bytes of any kind for any reader in the workshop.
    pub fn rules_raw(&self, kind_code: u32, min_reader: u32, payload: &[u8]) -> EntryId {
        self.world.borrow_mut().rules_raw(Some(self.number), kind_code, min_reader, payload.to_vec())
    }

    /// Enrols a stranger as a person of that name.
    pub fn enrols(&self, stranger: &Self, name: &str, roles: &[Role]) -> EntryId {
        let person = self.rules(&Payload::Person(Person { name: name.into() }));
        self.world.borrow_mut().phones[stranger.number].person = Some(person);
        stranger.grant(Some(self.number), person, roles)
    }

    /// Removes a key, leaving these of its entries in the record standing.
    pub fn removes(&self, other: &Self, leaving: &[EntryId]) -> EntryId {
        let record = self.world.borrow().record;
        self.rules(&Payload::Removal(payload::Removal {
            key: other.key(),
            accepted: vec![(record, leaving.to_vec())],
            reason: "left".into(),
            lost_device: false,
        }))
    }

    /// Admits entries that a removal cut.
    pub fn admits(&self, entries: &[EntryId]) -> EntryId {
        self.rules(&Payload::Admit(payload::Admit {
            entries: entries.to_vec(),
            reason: "made before".into(),
        }))
    }

    /// Lists a torque wrench that is out of calibration.
    pub fn lists_overdue_wrench(&self, mark: &str) -> EntryId {
        self.rules(&Payload::Instrument(Box::new(gauges::overdue_wrench(mark))))
    }

    /// Lists a micrometer of 25 to 50 mm under a new mark.
    pub fn lists_gauge(&self, mark: &str) -> EntryId {
        self.rules(&Payload::Instrument(Box::new(gauges::like_m1(mark))))
    }

    /// States a gauge as calibrated on a day counted from the opening, with that error limit.
    pub fn calibrates(&self, mark: &str, error: &str, on: Option<i64>) -> EntryId {
        self.rules(&Payload::Instrument(Box::new(gauges::calibrated(mark, error, on))))
    }

    /// As [`Hand::calibrates`], at once with another who states it otherwise; neither knows.
    pub fn calibrates_while(&self, mine: (&str, &str, i64), other: &Self, theirs: (&str, &str, i64)) {
        let says = |(mark, error, on): (&str, &str, i64)| {
            Payload::Instrument(Box::new(gauges::calibrated(mark, error, Some(on))))
        };
        let (mine, theirs) = (says(mine), says(theirs));
        self.world.borrow_mut().rule_apart((self.number, &mine), (other.number, &theirs));
    }

    // ---- in the record

    /// Enters something.
    pub fn says(&self, says: &Payload) -> EntryId {
        self.world.borrow_mut().says(self.number, says)
    }

    /// Enters bytes of any kind for any reader.
    pub fn says_raw(&self, kind_code: u32, min_reader: u32, payload: &[u8]) -> EntryId {
        self.world.borrow_mut().says_raw(self.number, kind_code, min_reader, payload.to_vec())
    }

    /// Reads a value; the sentence ends with a temperature.
    pub fn read(&self, feature: &str, characteristic: &str, station: &str, value: &str) -> Reads<'_> {
        Reads::new(self, feature, characteristic, station, value)
    }

    /// Begins to say what was done to a group of fasteners.
    pub fn tightens<'h>(&'h self, group: &'h str, place: &'h str) -> Tightens<'h> {
        Tightens::new(self, group, place)
    }

    /// Slackens a group of fasteners.
    pub fn slackens(&self, group: &str, place: &str) -> EntryId {
        self.tightens(group, place).act(payload::TighteningAct::Slackened)
    }

    /// Logs work on a feature.
    pub fn did(&self, operation: &str, feature: &str) -> EntryId {
        self.says(&Payload::Operation(payload::Operation {
            operation: operation.into(),
            features: vec![feature.into()],
            parts: Vec::new(),
            note: String::new(),
            done_by: None,
            outside_shop: String::new(),
        }))
    }

    fn fitting(&self, part: &str, place: &str, state: FittingState) -> EntryId {
        let (orientation, note) = (String::new(), String::new());
        self.says(&Payload::Fitting(Fitting {
            part: part.into(),
            place: place.into(),
            state,
            orientation,
            note,
        }))
    }

    /// Chooses a part for a place.
    pub fn allots(&self, part: &str, place: &str) -> EntryId {
        self.fitting(part, place, FittingState::Allotted)
    }

    /// Puts a part in a place.
    pub fn fits(&self, part: &str, place: &str) -> EntryId {
        self.fitting(part, place, FittingState::Fitted)
    }

    /// Takes a part out of a place.
    pub fn takes_out(&self, part: &str, place: &str) -> EntryId {
        self.fitting(part, place, FittingState::TakenOut)
    }

    /// A check that passes.
    pub fn checks(&self, check: &str, feature: &str) -> EntryId {
        self.checked(check, feature, true)
    }

    /// A check that does not pass.
    pub fn fails(&self, check: &str, feature: &str) -> EntryId {
        self.checked(check, feature, false)
    }

    /// A check, passed or not.
    pub fn checked(&self, check: &str, feature: &str, passed: bool) -> EntryId {
        let (step, note) = (String::new(), String::new());
        self.says(&Payload::Check(Check { check: check.into(), feature: feature.into(), passed, step, note }))
    }

    /// Tries a gauge on its master.
    pub fn tries_gauge(&self, gauge: &str, passed: bool) -> EntryId {
        self.says(&Payload::GaugeCheck(GaugeCheck {
            gauge: gauge.into(),
            master: String::new(),
            nominal: None,
            observed: None,
            passed,
            reading_set: String::new(),
        }))
    }

    /// Withdraws an entry.
    pub fn voids(&self, entry: EntryId) -> EntryId {
        self.voids_because(entry, "mistyped")
    }

    /// Withdraws an entry for that reason.
    pub fn voids_because(&self, entry: EntryId, reason: &str) -> EntryId {
        self.says(&Payload::Void(payload::Void { entry, reason: reason.into() }))
    }

    /// Says which of two came first.
    pub fn orders(&self, first: EntryId, second: EntryId) -> EntryId {
        self.says(&Payload::Order(payload::Order { first, second, reason: "was there".into() }))
    }

    /// Signs a step on the evidence that this phone shows.
    pub fn signs(&self, step: &str) -> EntryId {
        self.signs_as(step, Meaning::Done)
    }

    /// Signs as the second person.
    pub fn seconds(&self, step: &str) -> EntryId {
        self.signs_as(step, Meaning::SecondPerson)
    }

    /// Signs a step citing these entries, whatever they are.
    pub fn signs_citing(&self, step: &str, evidence: &[EntryId]) -> EntryId {
        self.signs_blindly(step, Meaning::Done, evidence)
    }

    /// As [`Hand::signs_citing`], as second person.
    pub fn seconds_citing(&self, step: &str, evidence: &[EntryId]) -> EntryId {
        self.signs_blindly(step, Meaning::SecondPerson, evidence)
    }

    fn signs_blindly(&self, step: &str, meaning: Meaning, evidence: &[EntryId]) -> EntryId {
        self.says(&Payload::SignOff(payload::SignOff {
            step: step.into(),
            meaning,
            evidence: evidence.to_vec(),
            verdicts: Vec::new(),
            calculation: gudgeon_core::assess::CALCULATION,
            printed_name: "printed".into(),
        }))
    }

    /// # Panics
    /// Where there is no such step.
    fn signs_as(&self, step: &str, meaning: Meaning) -> EntryId {
        let says = {
            let world = self.world.borrow();
            let view = &world.phones[self.number].view;
            let assessment = assess(view, &world.workshop);
            let at = assessment.steps().iter().position(|s| &*s.id == step).expect("a step of the procedure");
            let (evidence, verdicts) = assessment.ground_of(at);
            payload::SignOff {
                step: step.into(),
                meaning,
                evidence: evidence.into_iter().map(|ix| view.log().at(ix).id).collect(),
                verdicts,
                calculation: gudgeon_core::assess::CALCULATION,
                printed_name: "printed".into(),
            }
        };
        self.says(&Payload::SignOff(says))
    }

    /// The findings that this phone shows now.
    #[must_use]
    pub fn finds(&self) -> Vec<Finding> {
        let world = self.world.borrow();
        let view = &world.phones[self.number].view;
        assess(view, &world.workshop).findings().into_iter().cloned().collect()
    }

    /// The entries that this phone holds, the founding and the definition aside.
    #[must_use]
    pub fn holds(&self) -> Vec<EntryId> {
        let world = self.world.borrow();
        let view = world.phones[self.number].view.log();
        world.said.iter().map(gudgeon_core::entry::Entry::id).filter(|id| view.holds(id)).collect()
    }

    /// Accepts a finding that rests on these.
    pub fn concedes(&self, rule: &str, feature: &str, subject: &str, rests_on: &[EntryId]) -> EntryId {
        self.says(&Payload::Concession(payload::Concession {
            rule: rule.into(),
            feature: feature.into(),
            subject: subject.into(),
            rests_on: rests_on.to_vec(),
            reason: "good enough here".into(),
        }))
    }

    /// Sets limits anew; an empty text leaves a side open.
    pub fn sets_limit(&self, characteristic: &str, feature: &str, lower: &str, upper: &str) -> EntryId {
        self.limit(characteristic, feature, lower, upper, None)
    }

    /// Sets the decision rule anew and leaves the limits.
    pub fn sets_rule(&self, characteristic: &str, feature: &str, rule: ChosenRule) -> EntryId {
        self.limit(characteristic, feature, "", "", Some(rule))
    }

    fn limit(
        &self,
        name: &str,
        feature: &str,
        lower: &str,
        upper: &str,
        rule: Option<ChosenRule>,
    ) -> EntryId {
        let quantity = |text: &str| (!text.is_empty()).then(|| Quantity::parse(text).unwrap());
        self.says(&Payload::LimitChange(payload::LimitChange {
            characteristic: name.into(),
            feature: feature.into(),
            lower: quantity(lower),
            upper: quantity(upper),
            source: "the lead".into(),
            rule,
            reason: "decided".into(),
        }))
    }

    /// Decides on a subject.
    pub fn decides(&self, subject: &str, text: &str) -> EntryId {
        let (subject, text) = (subject.into(), text.into());
        self.says(&Payload::Decision(payload::Decision { subject, text, replaces: None }))
    }

    /// Enters the customer's word on a decision.
    pub fn enters_approval(&self, decision: EntryId) -> EntryId {
        self.says(&Payload::Approval(payload::Approval {
            decision,
            who: "the customer".into(),
            how: "by telephone".into(),
            when: String::new(),
        }))
    }

    /// Enters a part that came in.
    pub fn receives(&self, part: &str) -> EntryId {
        let (sort, mark) = part.split_once('/').unwrap();
        self.says(&Payload::PartReceived(payload::PartReceived {
            mark: mark.into(),
            sort: sort.into(),
            batch: String::new(),
            weight: None,
            wall: None,
            count: 1,
            note: String::new(),
        }))
    }

    /// Enters that parts went out to somebody, or came back with a ticket.
    pub fn moves(&self, part: &str, out: bool, ticket: &str) -> EntryId {
        self.says(&Payload::Custody(payload::Custody {
            parts: vec![part.into()],
            out,
            with_whom: "a grinder".into(),
            ticket: ticket.into(),
        }))
    }

    /// Gives a step to somebody.
    pub fn assigns(&self, step: &str, to: &Self) -> EntryId {
        self.says(&Payload::Assignment(payload::Assignment { step: step.into(), person: to.person() }))
    }

    /// Stops work.
    pub fn stops(&self, step: &str, feature: &str, found: &str) -> EntryId {
        let (step, feature, found) = (step.into(), feature.into(), found.into());
        self.says(&Payload::Stop(payload::Stop { step, feature, found, tag: "do not turn".into() }))
    }

    /// Takes work up again.
    pub fn resumes(&self, stop: EntryId) -> EntryId {
        self.says(&Payload::Resume(payload::Resume { stop, note: String::new() }))
    }

    /// Hands the engine over.
    pub fn hands_over(&self) -> EntryId {
        self.says(&Payload::HandOver(payload::HandOver { to: "the customer".into(), note: String::new() }))
    }

    /// Opens the record again.
    pub fn reopens(&self) -> EntryId {
        self.says(&Payload::Reopen(payload::Reopen { reason: "a noise".into() }))
    }

    /// A note.
    pub fn notes(&self, text: &str) -> EntryId {
        self.says(&Payload::Note(payload::Note { feature: String::new(), text: text.into() }))
    }
}
