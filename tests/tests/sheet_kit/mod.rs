//! A small sample build, invented, for looking at the printed record: two people, a lead, a
//! cold shop; one bore outside, one pin disputed, a signature that went stale, a tightening.
#![allow(clippy::unwrap_used, dead_code, unreachable_pub)]

use gudgeon_core::assess::{Assessment, Record, Workshop, assess, digest_of};
use gudgeon_core::engine::EXAMPLE;
use gudgeon_core::entry::payload::*;
use gudgeon_core::entry::{Author, DocumentId, Entry, EntryId, Envelope, KeyId, Kind, Payload};
use gudgeon_core::log::Log;
use gudgeon_core::quantity::Quantity;

/// 2026-02-03T08:00:00Z.
pub const START: i64 = 1_770_105_600_000;
const DAY: i64 = 86_400_000;

pub fn q(text: &str) -> Quantity {
    Quantity::parse(text).unwrap()
}

fn some(text: &str) -> Option<Quantity> {
    (!text.is_empty()).then(|| q(text))
}

/// Writes the entries of one document, each after all that is held; time goes on by itself.
pub struct Writer {
    pub log: Log,
    pub entries: Vec<Entry>,
    time: i64,
}

impl Writer {
    fn found(by: &Author, founding: Founding, time: i64) -> Self {
        let kind = Kind::Founding;
        let entry = by.sign(envelope(None, kind, time, Vec::new(), &Payload::Founding(founding)));
        let mut log = Log::new(DocumentId::from(entry.id()));
        log.insert(&entry);
        Self { log, entries: vec![entry], time }
    }

    pub fn add(&mut self, by: &Author, kind: Kind, payload: &Payload) -> EntryId {
        let after = self.log.after(by.key());
        self.add_after(by, kind, payload, after)
    }

    pub fn add_after(&mut self, by: &Author, kind: Kind, payload: &Payload, after: Vec<EntryId>) -> EntryId {
        self.time += 97_000;
        let entry = by.sign(envelope(Some(self.log.document()), kind, self.time, after, payload));
        self.log.insert(&entry);
        self.entries.push(entry.clone());
        entry.id()
    }
}

fn envelope(
    document: Option<DocumentId>,
    kind: Kind,
    time: i64,
    after: Vec<EntryId>,
    payload: &Payload,
) -> Envelope {
    let kind_code = kind.code();
    Envelope { document, kind_code, device_time: time, min_reader: 1, after, payload: payload.encode() }
}

/// A shop and the record of one engine.
pub struct Shop {
    pub people: Vec<(Author, EntryId)>,
    pub workshop: Writer,
    pub record: Writer,
}

pub const LEAD: usize = 0;
pub const FITTER: usize = 1;
pub const MACHINIST: usize = 2;

impl Shop {
    /// Founds both documents; the names are the caller's, so that hostile ones can be tried.
    pub fn found(names: [&str; 3], engine: &str, definition: &str) -> Self {
        let root = Author::from_secret(&[9; 32]);
        let founding = |name: &str, workshop, digest| Founding {
            name: name.to_owned(),
            workshop,
            definition_digest: digest,
            nonce: vec![7; 16],
        };
        let mut workshop = Writer::found(&root, founding("Ferry Lane Engines", None, None), START - DAY);
        let mut people = Vec::new();
        for (number, name) in (1_u8..).zip(names) {
            let author = Author::from_secret(&[number; 32]);
            let person =
                workshop.add(&root, Kind::Person, &Payload::Person(Person { name: name.to_owned() }));
            let roles = if number == 1 { vec![Role::Lead, Role::Member] } else { vec![Role::Member] };
            let device = Device {
                key: author.key(),
                person,
                roles,
                label: format!("phone {number}"),
                invite: None,
                join_signature: Vec::new(),
            };
            workshop.add(&root, Kind::Device, &Payload::Device(device));
            people.push((author, person));
        }
        for gauge in gauges() {
            workshop.add(&people[LEAD].0, Kind::Instrument, &Payload::Instrument(Box::new(gauge)));
        }
        let digest = Some(digest_of(definition));
        let founding = founding(engine, Some(workshop.log.document()), digest);
        let mut record = Writer::found(&people[LEAD].0, founding, START);
        let text = Payload::Definition(Definition { text: definition.to_owned() });
        record.add(&people[LEAD].0, Kind::Definition, &text);
        Self { people, workshop, record }
    }

    pub fn key(&self, who: usize) -> KeyId {
        self.people[who].0.key()
    }

    pub fn add(&mut self, who: usize, kind: Kind, payload: &Payload) -> EntryId {
        self.record.add(&self.people[who].0, kind, payload)
    }

    /// Reads a value; the gauge's and the part's temperature are the shop's 14 °C.
    pub fn read(
        &mut self,
        who: usize,
        path: &str,
        name: &str,
        station: &str,
        value: &str,
        gauge: &str,
    ) -> EntryId {
        let reading = reading(path, name, station, value, gauge);
        self.add(who, Kind::Reading, &Payload::Reading(Box::new(reading)))
    }

    pub fn both(&self) -> (Record, Workshop) {
        (Record::read(self.record.log.clone()), Workshop::read(self.workshop.log.clone()))
    }

    pub fn assessed(&self) -> (Record, Workshop, Assessment) {
        let (record, workshop) = self.both();
        let assessment = assess(&record, &workshop);
        (record, workshop, assessment)
    }

    /// Signs a step over what there is for it now.
    pub fn sign(&mut self, who: usize, step: &str, meaning: Meaning, name: &str) -> EntryId {
        let (record, _, assessment) = self.assessed();
        let at = assessment.definition().unwrap().step_index(step).unwrap();
        let (evidence, verdicts) = assessment.ground_of(at);
        let evidence = evidence.into_iter().map(|ix| record.log().at(ix).id).collect();
        let sign_off = SignOff {
            step: step.to_owned(),
            meaning,
            evidence,
            verdicts,
            calculation: gudgeon_core::assess::CALCULATION,
            printed_name: name.to_owned(),
        };
        self.add(who, Kind::SignOff, &Payload::SignOff(sign_off))
    }
}

pub fn reading(path: &str, name: &str, station: &str, value: &str, gauge: &str) -> Reading {
    let housing = name == "housing-diameter";
    let conditions =
        if housing { vec!["caps-tightened".to_owned(), "shells-out".to_owned()] } else { Vec::new() };
    let deviation = value.starts_with(['+', '-']) && gauge == "B2";
    Reading {
        feature: path.to_owned(),
        part: String::new(),
        characteristic: name.to_owned(),
        station: station.to_owned(),
        conditions,
        value: q(value),
        set_size: deviation.then(|| q(if path.starts_with("bore") { "80.500 mm" } else { "51.600 mm" })),
        gauge: gauge.to_owned(),
        master: String::new(),
        part_temperature: some("14.0 °C"),
        gauge_temperature: some("15.5 °C"),
        read_by: None,
        called_out: false,
        blind: false,
        reading_set: String::new(),
        note: String::new(),
    }
}

fn gauges() -> Vec<Instrument> {
    let gauge =
        |mark: &str, sort: &str, error: &str, step: &str, range: (&str, &str), master: &str| Instrument {
            mark: mark.to_owned(),
            sort: sort.to_owned(),
            resolution: some(step),
            error_limit: some(error),
            range_low: some(range.0),
            range_high: some(range.1),
            master: master.to_owned(),
            calibrated_on: Some(START - 30 * DAY),
            calibration_due: Some(START + 300 * DAY),
            calibration_seen: true,
            ..Instrument::default()
        };
    vec![
        gauge("M1", "outside-micrometer", "0.002 mm", "0.001 mm", ("25 mm", "50 mm"), ""),
        gauge("M2", "outside-micrometer", "0.002 mm", "0.001 mm", ("50 mm", "75 mm"), ""),
        gauge("R1", "setting-ring", "0.001 mm", "", ("", ""), ""),
        gauge("B2", "bore-gauge", "0.002 mm", "0.001 mm", ("50 mm", "100 mm"), "R1"),
        gauge("W1", "click-torque-wrench", "", "", ("20 N·m", "100 N·m"), ""),
    ]
}

const BORE: [&str; 6] =
    ["top/thrust", "top/axial", "middle/thrust", "middle/axial", "bottom/thrust", "bottom/axial"];
const JOURNAL: [&str; 6] = ["front/0", "front/60", "front/120", "rear/0", "rear/60", "rear/120"];

/// The sample build.
pub fn sample() -> Shop {
    sample_named(["Lena Marsh", "Tom Alder", "Ruth Oakes"])
}

pub fn sample_named(names: [&str; 3]) -> Shop {
    let mut shop = Shop::found(names, "Ouse 1.8, no. 17", EXAMPLE);
    let decision =
        Decision { subject: "sizes".into(), text: "bore +0.50, crank -0.25".into(), replaces: None };
    let decided = shop.add(LEAD, Kind::Decision, &Payload::Decision(decision));
    let approval = Approval {
        decision: decided,
        who: "the owner".into(),
        how: "by telephone".into(),
        when: "3 Feb".into(),
    };
    shop.add(LEAD, Kind::Approval, &Payload::Approval(approval));
    bores(&mut shop);
    pins(&mut shop);
    mains(&mut shop);
    rod_two(&mut shop, names[FITTER], names[MACHINIST]);
    parts(&mut shop);
    let (_, _, assessment) = shop.assessed();
    let outside = assessment
        .findings()
        .into_iter()
        .find(|f| f.rule.name() == "outside" && f.feature == "bore/2")
        .unwrap();
    let concession = Concession {
        rule: "outside".into(),
        feature: outside.feature.clone(),
        subject: outside.subject.clone(),
        rests_on: outside.ids.clone(),
        reason: "10 µm over at the bottom only; ring gap and clearance hold".into(),
    };
    shop.add(LEAD, Kind::Concession, &Payload::Concession(concession));
    let limit = LimitChange {
        characteristic: "clearance".into(),
        feature: "rod/2/big-end".into(),
        lower: some("0.030 mm"),
        upper: some("0.065 mm"),
        source: "invented for the sample".into(),
        rule: Some(ChosenRule::Shared),
        reason: "tighter at the bottom end, as agreed".into(),
    };
    shop.add(LEAD, Kind::LimitChange, &Payload::LimitChange(limit));
    let note =
        Note { feature: "bore/3".into(), text: "light score at the bottom, outside ring travel".into() };
    shop.add(FITTER, Kind::Note, &Payload::Note(note));
    shop
}

fn bores(shop: &mut Shop) {
    let all: [&[&str]; 3] = [
        &["+0.008 mm", "+0.007 mm", "+0.009 mm", "+0.008 mm", "+0.007 mm", "+0.008 mm"],
        &["+0.012 mm", "+0.010 mm", "+0.014 mm", "+0.012 mm", "+0.029 mm", "+0.028 mm"],
        &["+0.017 mm", "+0.016 mm"],
    ];
    for (bore, sizes) in (1..).zip(all) {
        for (station, size) in BORE.iter().zip(sizes) {
            shop.read(MACHINIST, &format!("bore/{bore}"), "diameter", station, size, "B2");
        }
    }
}

fn pins(shop: &mut Shop) {
    for station in JOURNAL {
        shop.read(MACHINIST, "pin/1", "diameter", station, "47.743 mm", "M1");
        shop.read(MACHINIST, "pin/2", "diameter", station, "47.742 mm", "M1");
    }
    shop.read(MACHINIST, "pin/3", "diameter", "front/0", "47.748 mm", "M1");
    shop.read(FITTER, "pin/3", "diameter", "front/0", "47.739 mm", "M1");
    let first = shop.read(FITTER, "pin/4", "diameter", "front/0", "47.477 mm", "M1");
    let void = Void { entry: first, reason: "figures turned round when typed".into() };
    shop.add(FITTER, Kind::Void, &Payload::Void(void));
}

fn mains(shop: &mut Shop) {
    for main in [1, 2] {
        for station in JOURNAL {
            let size = if main == 1 { "56.738 mm" } else { "56.743 mm" };
            shop.read(MACHINIST, &format!("main/{main}"), "journal-diameter", station, size, "M2");
        }
    }
}

/// Housing, shells, clearance, signatures; then new bolts, which end the housing.
fn rod_two(shop: &mut Shop, fitter: &str, machinist: &str) {
    for (station, size) in [("vertical", "+0.008 mm"), ("plus-60", "+0.009 mm"), ("minus-60", "+0.008 mm")] {
        shop.read(FITTER, "rod/2/big-end", "housing-diameter", station, size, "B2");
    }
    for station in ["upper", "lower"] {
        shop.read(FITTER, "rod/2/big-end", "shell-wall", station, "1.907 mm", "M1");
    }
    shop.sign(FITTER, "big-end-clearance/2", Meaning::Done, fitter);
    shop.sign(MACHINIST, "big-end-clearance/2", Meaning::SecondPerson, machinist);
    shop.sign(MACHINIST, "pin-sizes/1", Meaning::Done, machinist);
    shop.sign(FITTER, "pin-sizes/1", Meaning::SecondPerson, fitter);
    tighten(shop);
}

fn tighten(shop: &mut Shop) {
    let act = |shop: &mut Shop, act: TighteningAct, set: &str| {
        let tightening = Tightening {
            group: "rod-bolts".into(),
            place: "rod/1/bolts".into(),
            act,
            set_point: some(set),
            wrench: if set.is_empty() { String::new() } else { "W1".into() },
            lubricant: "moly paste".into(),
            exceptions: Vec::new(),
            note: String::new(),
        };
        shop.add(FITTER, Kind::Tightening, &Payload::Tightening(tightening));
    };
    act(shop, TighteningAct::Nipped, "");
    act(shop, TighteningAct::Stage(1), "28 N·m");
    turned(shop, "one full turn, no tight spot");
    act(shop, TighteningAct::Stage(2), "31 lbf·ft");
    turned(shop, "");
    let operation = Operation {
        operation: "rod-bolts-changed".into(),
        features: vec!["rod/2".into()],
        parts: Vec::new(),
        note: "thread of one bolt picked up".into(),
        done_by: None,
        outside_shop: String::new(),
    };
    shop.add(MACHINIST, Kind::Operation, &Payload::Operation(operation));
}

fn turned(shop: &mut Shop, note: &str) {
    let check = Check {
        check: "turns-freely".into(),
        feature: "rod/1/bolts".into(),
        passed: true,
        step: String::new(),
        note: note.into(),
    };
    shop.add(FITTER, Kind::Check, &Payload::Check(check));
}

fn parts(shop: &mut Shop) {
    for (mark, at) in [("piston/B", "bore/2"), ("piston/A", "bore/1")] {
        let part = PartReceived {
            mark: mark.into(),
            sort: "piston".into(),
            batch: "K-204".into(),
            weight: some("338.2 g"),
            wall: None,
            count: 1,
            note: String::new(),
        };
        shop.add(FITTER, Kind::PartReceived, &Payload::PartReceived(part));
        let fitting = Fitting {
            part: mark.into(),
            place: at.into(),
            state: FittingState::Allotted,
            orientation: "mark to the front".into(),
            note: String::new(),
        };
        shop.add(FITTER, Kind::Fitting, &Payload::Fitting(fitting));
    }
    shop.read(FITTER, "piston/A/skirt", "diameter", "", "80.457 mm", "M9");
    let custody = Custody {
        parts: vec!["piston/B".into()],
        out: true,
        with_whom: "the balancer".into(),
        ticket: "338 g".into(),
    };
    shop.add(LEAD, Kind::Custody, &Payload::Custody(custody));
}
