//! Walking a procedure: for any step that can be done, its evidence and its signatures.
//!
//! Max does every step and Ben is the second person; both know all that was said. Every size
//! is in the middle of its limits, so that each reading proves what it should.

use std::cell::RefCell;

use gudgeon_core::assess::{Assessment, Progress, StepState, assess};
use gudgeon_core::engine::derivation::input_kind;
use gudgeon_core::engine::{
    Ask, Asked, Characteristic, Definition, FeatureKind, FeatureRef, Target, characteristic, derivation, part,
};
use gudgeon_core::entry::payload::{Instrument, Meaning, Payload, SignOff, Tightening, TighteningAct};
use gudgeon_core::entry::{Entry, EntryId};
use gudgeon_core::quantity::{Amount, Kind, Quantity};

use super::hand::Hand;
use super::{Shop, gauges, open_on};

/// A build of an engine, step by step.
pub struct Walk {
    shop: Shop,
    definition: Definition,
    assessment: Assessment,
    /// How much of what was said Max and Ben hold.
    told: [usize; 2],
    /// Whether Ben reads everything, too.
    twice: bool,
    /// The decision that was made last.
    decided: Option<EntryId>,
    /// Cylinders with which the crank was turned, in their order: it takes as much more with each.
    turned: RefCell<Vec<String>>,
    /// Whether it is one phone's: it knows what it was told, and its owner does and signs everything.
    alone: bool,
}

impl Walk {
    /// A new record on an engine.
    ///
    /// # Panics
    /// If the definition has a problem.
    #[must_use]
    pub fn on(engine: &str) -> Self {
        let definition = Definition::parse(engine).unwrap();
        let shop = open_on(engine);
        gauges::list_good_for_all(&shop.lena);
        Self::in_shop(shop, definition)
    }

    fn in_shop(shop: Shop, definition: Definition) -> Self {
        let world = shop.world.borrow();
        let assessment = assess(&world.fresh_view(), &world.workshop);
        drop(world);
        Self {
            shop,
            definition,
            assessment,
            told: [0; 2],
            twice: false,
            alone: false,
            decided: None,
            turned: RefCell::default(),
        }
    }

    /// Everything is read by two people.
    #[must_use]
    pub fn read_twice(self) -> Self {
        Self { twice: true, ..self }
    }

    /// The same build on the phone of one person, who is told of the others' work and not otherwise: see
    /// [`Hand::tells`] and [`Walk::look`].
    #[must_use]
    pub fn on_phone(&self, of: &Hand) -> Self {
        let mut walk =
            Self { alone: true, ..Self::in_shop(self.shop.with_all_done_by(of), self.definition.clone()) };
        walk.look();
        walk
    }

    /// The shop, for whatever else somebody says.
    #[must_use]
    pub const fn shop(&self) -> &Shop {
        &self.shop
    }

    /// The engine.
    #[must_use]
    pub const fn definition(&self) -> &Definition {
        &self.definition
    }

    /// What is known now.
    #[must_use]
    pub const fn assessment(&self) -> &Assessment {
        &self.assessment
    }

    /// Entries of the workshop, and of the record.
    #[must_use]
    pub fn entries(&self) -> (Vec<Entry>, Vec<Entry>) {
        (self.shop.world.borrow().workshop_entries.clone(), self.shop.entries())
    }

    /// The canonical bytes of what is known now.
    #[must_use]
    pub fn bytes(&self) -> Vec<u8> {
        let world = self.shop.world.borrow();
        self.assessment.to_bytes(&world.phones[self.shop.max.number()].view, &world.workshop)
    }

    /// The person behind an entry that is known now.
    #[must_use]
    pub fn person(&self, entry: EntryId) -> Option<EntryId> {
        let world = self.shop.world.borrow();
        let log = world.phones[self.shop.max.number()].view.log();
        self.assessment.person(log.place(&entry)?)
    }

    /// The entry of the first signature of a step that speaks now.
    #[must_use]
    pub fn signature(&self, step: usize) -> Option<EntryId> {
        let world = self.shop.world.borrow();
        let log = world.phones[self.shop.max.number()].view.log();
        self.assessment.steps()[step].signature.as_ref().map(|signature| log.at(signature.by).id)
    }

    /// Steps at which somebody can do something now.
    #[must_use]
    pub fn open_steps(&self) -> Vec<usize> {
        let steps = self.assessment.steps();
        (0..steps.len()).filter(|&at| is_open(&steps[at])).collect()
    }

    /// Whether every step is signed and stands.
    #[must_use]
    pub fn is_done(&self) -> bool {
        self.assessment.steps().iter().all(|step| step.progress == Progress::Signed)
    }

    /// Does the next thing at a step: what it asks for and the first signature, or the second.
    ///
    /// # Panics
    /// If evidence that the step asks for cannot be given.
    pub fn does(&mut self, step: usize) -> EntryId {
        let first = &self.assessment.steps()[step].signature;
        let stands = first.as_ref().is_some_and(|signature| signature.stands());
        // How things were found may be gone before the second person signs: then it is read again.
        self.gives_evidence(step);
        self.signs(step, if stands { Meaning::SecondPerson } else { Meaning::Done })
    }

    /// Signs a step as it is, whatever it asks for and waits for.
    pub fn signs(&mut self, step: usize, meaning: Meaning) -> EntryId {
        let (cited, verdicts) = self.assessment.ground_of(step);
        let evidence = {
            let world = self.shop.world.borrow();
            let log = world.phones[self.shop.max.number()].view.log();
            cited.into_iter().map(|ix| log.at(ix).id).collect()
        };
        let says = SignOff {
            step: self.definition.steps()[step].id.to_string(),
            meaning,
            evidence,
            verdicts,
            calculation: gudgeon_core::assess::CALCULATION,
            printed_name: "printed".into(),
        };
        let who = usize::from(meaning == Meaning::SecondPerson);
        self.catches_up(who);
        let signed = self.hand(who).says(&Payload::SignOff(says));
        self.look();
        signed
    }

    /// Max signs a step and cites nothing, and Ben as second person where it asks for one and that is
    /// meant; what that comes to is seen at the next [`Walk::look`].
    pub fn signs_blindly(&mut self, step: usize, second: bool) {
        let instance = &self.definition.steps()[step];
        self.shop.max.signs_citing(&instance.id, &[]);
        if second && self.definition.step_of(instance).second_person {
            self.catches_up(1);
            self.shop.ben.seconds_citing(&self.definition.steps()[step].id, &[]);
            self.catches_up(0);
        }
    }

    /// Everything a step asks for, as entries.
    ///
    /// # Panics
    /// If something is still missing after that.
    pub fn gives_evidence(&mut self, step: usize) {
        let asks = self.definition.steps()[step].asks.clone();
        // Work comes before the readings that it ends; so look again after each round.
        for _ in 0..4 {
            let met: Vec<bool> = self.assessment.steps()[step].evidence.iter().map(|e| e.met).collect();
            if met.iter().all(|&met| met) {
                return;
            }
            for (ask, _) in asks.iter().zip(met).filter(|(_, met)| !met) {
                self.supplies(ask);
            }
            self.look();
        }
        let missing: Vec<_> = self.assessment.steps()[step].evidence.iter().filter(|e| !e.met).collect();
        assert!(missing.is_empty(), "{}: {missing:#?}", self.definition.steps()[step].id);
    }

    fn hand(&self, who: usize) -> Hand {
        if who == 0 { self.shop.max.clone() } else { self.shop.ben.clone() }
    }

    /// One of the two learns what the other said since.
    fn catches_up(&mut self, who: usize) {
        if self.alone {
            return;
        }
        let number = self.hand(who).number();
        let mut world = self.shop.world.borrow_mut();
        let world = &mut *world;
        for entry in &world.said[self.told[who]..] {
            world.phones[number].view.insert(entry);
        }
        self.told[who] = world.said.len();
    }

    /// Takes in what was said since.
    pub fn look(&mut self) {
        self.catches_up(0);
        let world = self.shop.world.borrow();
        let view = &world.phones[self.shop.max.number()].view;
        self.assessment.update(view, &world.workshop);
    }

    fn supplies(&mut self, ask: &Ask) {
        let (path, kind) = self.place(ask);
        let max = &self.shop.max;
        match &ask.asked {
            Asked::Read(name) | Asked::Judged(name) => {
                self.measures(&path, kind.unwrap(), name, &ask.station)
            }
            Asked::Check(name) => drop(max.checks(name, &path)),
            Asked::Operation(name) => drop(max.did(name, &path)),
            Asked::Decision(subject) => self.decided = Some(max.decides(subject, "as measured")),
            Asked::Approval(_) => {
                let decided = self.decided.expect("what is approved was decided before");
                max.enters_approval(decided);
            }
            Asked::GaugeCheck(sort) => self.tries_gauge_of(sort),
            Asked::Tightening(group) => self.tightens(group, &path),
            Asked::Part(sort) => {
                max.allots(&format!("{sort}/{}", mark_of(&path)), &path);
            }
        }
    }

    fn place(&self, ask: &Ask) -> (String, Option<FeatureKind>) {
        match ask.target {
            Target::Engine => (String::new(), None),
            Target::Feature(at) => {
                let feature = self.definition.feature_at(at);
                (feature.path().to_owned(), Some(feature.kind()))
            }
            Target::PartAt { place, part } => {
                let place = self.definition.feature_at(place).path();
                self.allots_for(part, place);
                (part.row().pattern.replace("{mark}", &mark_of(place)), Some(part))
            }
        }
    }

    /// A gauge of that sort passes its check; where the shop has none, one is listed.
    fn tries_gauge_of(&self, sort: &str) {
        let listed = {
            let world = self.shop.world.borrow();
            world.workshop.gauges().find(|gauge| gauge.sort == sort).map(|gauge| gauge.mark.to_string())
        };
        let mark = listed.unwrap_or_else(|| {
            let mark = format!("NEW-{sort}");
            let says = Instrument { mark: mark.clone(), sort: sort.into(), ..Instrument::default() };
            self.shop.lena.rules(&Payload::Instrument(Box::new(says)));
            mark
        });
        self.shop.max.tries_gauge(&mark, true);
    }

    /// Reads a value at the stations it needs, or what a derived value is made of.
    fn measures(&self, path: &str, kind: FeatureKind, name: &str, station: &str) {
        if let Some(row) = derivation::find(kind, name) {
            for input in row.inputs {
                let (path, kind) = self.input_at(path, input_kind(row, input), input.from);
                let value = self.assessment.value(&path, input.characteristic);
                if value.is_none_or(|value| !value.is_complete()) {
                    self.measures(&path, kind, input.characteristic, "");
                }
            }
            return;
        }
        let row = characteristic::find(kind, name).expect("a characteristic of that name");
        let conditions: Vec<&str> =
            self.definition.missing_conditions(row, &[]).map(|one_of| one_of[0]).collect();
        let readers = if self.twice { 2 } else { 1 };
        for at in self.definition.stations(row).iter().filter(|at| station.is_empty() || ***at == *station) {
            let size = self.size(path, row, at);
            for who in 0..readers {
                let reads = self.hand(who);
                reads.read(path, name, at, &size).with(gauge_for(row.kind).0).under(&conditions).at_20();
            }
        }
    }

    /// Where an input of a derived value is read; a part that is not there yet is allotted.
    fn input_at(&self, path: &str, kind: FeatureKind, from: FeatureRef) -> (String, FeatureKind) {
        let number = path.split('/').nth(1).unwrap_or_default();
        let shape = kind.row().pattern;
        let path = match from {
            FeatureRef::Same => path.to_owned(),
            FeatureRef::SameNumber(_) => shape.replace("{n}", number),
            FeatureRef::PinOfRod => {
                let pin = self.definition.layout().pin_of_rod(number.parse().unwrap());
                shape.replace("{n}", &pin.unwrap().to_string())
            }
            FeatureRef::PartAt { place, part } => {
                self.allots_for(part, &place.row().pattern.replace("{n}", number));
                shape.replace("{mark}", &mark_of(path))
            }
        };
        (path, kind)
    }

    /// Chooses the part that carries a feature for a place, where none is yet.
    fn allots_for(&self, carried: FeatureKind, place: &str) {
        let sort = part::carrying(carried).expect("a part's feature").name;
        let mark = format!("{sort}/{}", mark_of(place));
        if !self.assessment.parts_in(place).any(|(part, _)| part == mark) {
            self.shop.max.allots(&mark, place);
        }
    }

    /// The middle of the limits; of one limit, half; of none, what such a thing may be.
    fn size(&self, path: &str, row: &Characteristic, station: &str) -> String {
        let limits = |name: &str| {
            let limit = self.definition.limit(&self.definition.feature(path).ok()?, name, station)?;
            let (low, high) = (limit.lower_amount(), limit.upper_amount()?);
            let base = (low.map_or(0, Amount::base) + high.base()) / 2;
            Some(Amount::new(high.kind(), base))
        };
        if row.name == "turning-torque" && station.starts_with("cylinder-") {
            let alone = self.size(path, row, "mains/running");
            return self.torque_with_one_more(&alone, station);
        }
        let free = || Quantity::parse("48 mm").unwrap().amount();
        let size = match row.name {
            "free-length" => Some(free()),
            "tight-length" => limits("stretch").and_then(|stretch| free().checked_add(stretch)),
            name => limits(name),
        };
        let usual = if row.temperature_matters { "50.000 mm" } else { gauge_for(row.kind).1 };
        size.map_or_else(|| usual.to_owned(), |size| size.show(row.kind.main_unit(), 4))
    }

    fn torque_with_one_more(&self, alone: &str, station: &str) -> String {
        let mut turned = self.turned.borrow_mut();
        if !turned.iter().any(|before| before == station) {
            turned.push(station.to_owned());
        }
        let before = turned.iter().position(|before| before == station).unwrap();
        let alone = Quantity::parse(alone).unwrap().amount();
        let more = Quantity::parse(&format!("{} N·m", 3 * (before + 1))).unwrap().amount();
        alone.checked_add(more).unwrap().show(Kind::Torque.main_unit(), 4)
    }

    /// Stage by stage, turned after each.
    fn tightens(&self, group: &str, place: &str) {
        let fastener = self.definition.fastener(group).expect("a group of the definition");
        let act = |act: TighteningAct, set_point: Option<Quantity>| {
            self.shop.max.says(&Payload::Tightening(Tightening {
                group: group.into(),
                place: place.into(),
                act,
                set_point,
                wrench: "ANY-WRENCH".into(),
                lubricant: fastener.lubricant.clone(),
                exceptions: Vec::new(),
                note: String::new(),
            }));
        };
        if fastener.nip {
            act(TighteningAct::Nipped, None);
        }
        for (number, stage) in (1..).zip(&fastener.stages) {
            act(TighteningAct::Stage(number), Some(stage.clone()));
            self.shop.max.checks("turns-free", "crank");
        }
    }
}

/// Whether somebody can do something at a step now.
fn is_open(step: &StepState) -> bool {
    match step.progress {
        Progress::Open | Progress::ReadyToSign | Progress::WantsSecond => true,
        Progress::Stale | Progress::WithoutEvidence => step.waits_for.is_empty(),
        Progress::Blocked | Progress::Signed => false,
    }
}

/// `P3` for what goes to `bore/3` or `rod/3/big-end`.
fn mark_of(place: &str) -> String {
    format!("P{}", place.split('/').nth(1).unwrap_or("0"))
}

/// What is measured with which gauge, and what it may show of a thing without limits (invented).
const GAUGES: [(Kind, &str, &str); 5] = [
    (Kind::Length, "ANY-LENGTH", "0.100 mm"),
    (Kind::Mass, "ANY-MASS", "500 g"),
    (Kind::Torque, "ANY-TORQUE", "2 N·m"),
    (Kind::Volume, "ANY-VOLUME", "40 cm3"),
    (Kind::Angle, "ANY-ANGLE", "45 deg"),
];

fn gauge_for(kind: Kind) -> (&'static str, &'static str) {
    let found = GAUGES.iter().find(|(other, ..)| *other == kind);
    found.map(|&(_, gauge, usual)| (gauge, usual)).expect("a gauge of that kind")
}
