//! Random work by several people who meet at random: whatever order it arrives in, piece by
//! piece or all at once, alone or carried in changes, it comes to the same bytes.
//!
//! Every run has a seed, which is printed where it fails.
#![allow(clippy::unwrap_used)]

use std::collections::BTreeMap;

use gudgeon_core::assess::Finding;
use gudgeon_core::document::{Actor, Document, Refusal, repack};
use gudgeon_core::entry::payload::{ChosenRule, Role};
use gudgeon_core::entry::{self, EntryId};
use gudgeon_tests::kit::{self, Hand, Shop};
use gudgeon_tests::model::rng::Rng;

const RUNS: u64 = 60;
const ENTRIES: usize = 45;

/// Feature, characteristic, station, gauge, conditions, and what is read there.
type Row =
    (&'static str, &'static str, &'static str, &'static str, &'static [&'static str], [&'static str; 3]);

const READINGS: [Row; 10] = [
    ("pin/3", "diameter", "front/0", "M1", &[], ["47.738 mm", "47.744 mm", "47.760 mm"]),
    ("pin/3", "diameter", "front/0", "M2", &[], ["47.738 mm", "47.745 mm", "47.748 mm"]),
    ("pin/3", "diameter", "front/45", "M1", &[], ["47.738 mm", "47.744 mm", "47.760 mm"]),
    ("ring/1/top", "gap", "", "F1", &["ring-squared"], ["0.38 mm", "0.39 mm", "0.44 mm"]),
    ("ring/1/top", "gap", "", "F1", &["ring-squared"], ["0.38 mm", "0.40 mm", "0.50 mm"]),
    ("ring/1/top", "gap", "", "F1", &[], ["0.38 mm", "0.39 mm", "0.44 mm"]),
    ("bore/1", "diameter", "top/thrust", "B1", &[], ["80.500 mm", "80.508 mm", "80.530 mm"]),
    ("piston/A/skirt", "diameter", "", "M100", &[], ["80.455 mm", "80.457 mm", "80.500 mm"]),
    ("piston/B/skirt", "diameter", "", "BORROWED", &[], ["80.455 mm", "80.457 mm", "80.500 mm"]),
    ("crank", "end-float", "", "OLD", &[], ["0.15 mm", "0.20 mm", "0.30 mm"]),
];
const WORK: [(&str, &str); 9] = [
    ("hone", "bore/1"),
    ("grind-journal", "pin/3"),
    ("polish-journal", "pin/3"),
    ("ring-filed", "ring/1/top"),
    ("rod-bolts-changed", "rod/2/bolts"),
    ("deck-cut", "deck/inline"),
    ("piston-machined", "piston/A/skirt"),
    ("thrust-washers-changed", "main/3"),
    ("polish-journal", "main/2"),
];
const STEPS: [&str; 10] = [
    "received",
    "marked",
    "ring-gap/1/top",
    "ring-gap/1/top",
    "ring-gap/1/top",
    "as-found-end-float",
    "sizes-decided",
    "piston-measured/1",
    "mains-tightened/2",
    "deck-cut/inline",
];
const CHECKS: [(&str, &str); 6] = [
    ("photographed", ""),
    ("marked", ""),
    ("turns-free", "crank"),
    ("turns-free", "cylinder/2"),
    ("final-wash", "block"),
    ("customer-approved", ""),
];

/// A shop at work, by a seed.
struct Day {
    shop: Shop,
    hands: Vec<Hand>,
    rng: Rng,
}

impl Day {
    fn at_work(seed: u64) -> Self {
        let shop = kit::open();
        let hands = [&shop.ann, &shop.ben, &shop.carl, &shop.max].map(Hand::clone).into();
        let mut day = Self { shop, hands, rng: Rng::new(seed) };
        for _ in 0..ENTRIES {
            day.step();
        }
        day
    }

    fn pick<T: Copy>(&mut self, items: &[T]) -> T {
        self.rng.pick(items).unwrap()
    }

    fn hand(&mut self) -> Hand {
        self.rng.pick(&self.hands).unwrap()
    }

    fn step(&mut self) {
        if self.rng.one_in(2) {
            let (from, to) = (self.hand(), self.hand());
            from.tells(&to);
        }
        let by = self.hand();
        match self.rng.below(28) {
            0..=7 => self.read(&by),
            8..=9 => {
                let (work, on) = self.pick(&WORK);
                by.did(work, on);
            }
            10..=11 => self.tighten(&by),
            12 => self.check(&by),
            13..=14 => {
                let step = self.pick(&STEPS);
                match self.rng.below(4) {
                    0 => by.seconds(step),
                    1 => self.cite(&by, step),
                    _ => by.signs(step),
                };
            }
            15..=16 => self.about_entries(&by),
            17..=18 => self.lead(),
            19..=20 => self.fit(&by),
            21 => self.stop(&by),
            22 => self.workshop(),
            23 => self.two_leads_concede(),
            24..=25 => self.two_work_at_once(),
            26 => self.two_order_contrarily(),
            _ => self.odd(&by),
        }
    }

    fn read(&mut self, by: &Hand) {
        let (feature, name, station, gauge, conditions, sizes) = self.pick(&READINGS);
        let size = self.pick(&sizes);
        let reads = by.read(feature, name, station, size).with(gauge).under(conditions);
        let other = self.hand();
        let reads = if self.rng.one_in(8) && !by.holds().is_empty() && other.is_somebody() {
            reads.called_by(&other)
        } else {
            reads
        };
        match self.rng.below(4) {
            0 => reads.untempered(),
            1 => reads.at("12 °C"),
            _ => reads.at_20(),
        };
    }

    fn tighten(&mut self, by: &Hand) {
        let (group, place) = self.pick(&[("main-bolts", "main/2"), ("rod-bolts", "rod/2/bolts")]);
        let act = by.tightens(group, place);
        match self.rng.below(6) {
            0 => by.slackens(group, place),
            1 => act.nip(),
            2 => act.stage(1, "30 N·m"),
            3 => act.stage(2, "60 N·m"),
            4 => act.stage(3, "90 N·m"),
            _ => act.with("W2").stage(1, "28 N·m"),
        };
    }

    fn check(&mut self, by: &Hand) {
        let (check, on) = self.pick(&CHECKS);
        let gauge = self.pick(&["M1", "F1", "B1"]);
        match self.rng.below(5) {
            0 => by.fails(check, on),
            1 => by.tries_gauge(gauge, false),
            2 => by.tries_gauge(gauge, true),
            _ => by.checks(check, on),
        };
    }

    /// Voids, orders: about entries, held or not.
    fn about_entries(&mut self, by: &Hand) {
        let all: Vec<EntryId> = self.shop.entries().iter().map(gudgeon_core::entry::Entry::id).collect();
        let from = if self.rng.one_in(4) { all } else { by.holds() };
        let (Some(one), Some(other)) = (self.rng.pick(&from), self.rng.pick(&from)) else { return };
        if self.rng.one_in(3) {
            by.voids(one);
        } else {
            by.orders(one, other);
        }
    }

    fn lead(&mut self) {
        let by = if self.rng.one_in(2) { self.shop.lena.clone() } else { self.shop.max.clone() };
        let person = self.hand();
        match self.rng.below(8) {
            0 => by.sets_limit("diameter", "pin/3", "47.735 mm", "47.770 mm"),
            1 => by.sets_limit("gap", "", "0.40 mm", ""),
            2 => by.sets_rule("diameter", "pin/3", ChosenRule::Simple),
            3 => by.decides("sizes", "+0.50"),
            4 => by.decides("sizes", "+0.75"),
            5 => by.assigns("received", if person.is_somebody() { &person } else { &self.shop.ann }),
            _ => match self.rng.pick(&by.finds()) {
                Some(finding) => concede(&by, &finding),
                None => by.notes("nothing to concede"),
            },
        };
    }

    /// Two leads who know the same accept the same finding, neither knowing of the other.
    fn two_leads_concede(&mut self) {
        let (one, other) = (self.shop.lena.clone(), self.shop.max.clone());
        let giver = self.hand();
        giver.tells(&one);
        other.tells(&one);
        one.tells(&other);
        if let Some(finding) = self.rng.pick(&one.finds()) {
            concede(&one, &finding);
            concede(&other, &finding);
        }
    }

    /// Two who do not know of each other work on what a third has read and signed.
    fn two_work_at_once(&mut self) {
        let (one, other) = (self.hand(), self.hand());
        let pairs = [
            (("hone", "bore/1"), ("ring-filed", "ring/1/top")),
            (("grind-journal", "pin/3"), ("polish-journal", "pin/3")),
        ];
        let (first, second) = self.pick(&pairs);
        one.did(first.0, first.1);
        other.did(second.0, second.1);
    }

    /// Two who know the same order a pair, one this way and one the other way round.
    fn two_order_contrarily(&mut self) {
        let (one, other) = (self.hand(), self.hand());
        one.tells(&other);
        other.tells(&one);
        let held = one.holds();
        if let (Some(a), Some(b)) = (self.rng.pick(&held), self.rng.pick(&held)) {
            one.orders(a, b);
            other.orders(b, a);
        }
    }

    /// A signature that cites anything.
    fn cite(&mut self, by: &Hand, step: &str) -> EntryId {
        let held = by.holds();
        let evidence: Vec<EntryId> = (0..3).filter_map(|_| self.rng.pick(&held)).collect();
        by.signs_citing(step, &evidence)
    }

    fn fit(&mut self, by: &Hand) {
        let part = self.pick(&["piston/A", "piston/B", "main-shells/A"]);
        let place = self.pick(&["bore/1", "bore/2", "main/2"]);
        match self.rng.below(3) {
            0 => by.allots(part, place),
            1 => by.fits(part, place),
            _ => by.takes_out(part, place),
        };
    }

    fn stop(&mut self, by: &Hand) {
        match (self.rng.below(5), self.rng.pick(&by.holds())) {
            (0, _) => by.hands_over(),
            (1, _) => by.reopens(),
            (2, Some(held)) => by.resumes(held),
            _ => by.stops("piston-in/2", "cylinder/2", "a change of feel"),
        };
    }

    fn workshop(&mut self) {
        let (lead, other) = (self.shop.lena.clone(), self.hand());
        let held = self.rng.pick(&other.holds());
        let some: Vec<EntryId> = held.into_iter().collect();
        match self.rng.below(8) {
            0 => {
                lead.removes(&other, &some);
            }
            1 => {
                lead.admits(&some);
            }
            2 => self.hands.push(self.shop.ann.second_phone(&lead, &[Role::Member])),
            3 => {
                let newcomer = self.shop.stranger();
                lead.enrols(&newcomer, "Dora", &[Role::Member, Role::Lead]);
                self.hands.push(newcomer);
            }
            4 => {
                other.lists_gauge("BORROWED");
            }
            5 => self.hands.push(self.shop.stranger()),
            6 => self.hands.push(self.shop.vera.clone()),
            _ => self.hands.push(other.copied()),
        }
    }

    fn odd(&mut self, by: &Hand) {
        match self.rng.below(12) {
            0 => by.says_raw(200, 1, b"newer"),
            1 => by.says_raw(36, 1, &[0xff; 9]),
            2 => {
                self.shop.wait(-kit::DAY);
                by.notes("yesterday")
            }
            _ => by.notes("a word"),
        };
    }
}

fn concede(by: &Hand, finding: &Finding) -> EntryId {
    by.concedes(finding.rule.name(), &finding.feature, &finding.subject, &finding.ids)
}

#[test]
fn whatever_order_it_arrives_in_it_comes_to_the_same_bytes() {
    for seed in 0..RUNS {
        let told = std::panic::catch_unwind(|| Day::at_work(seed).shop.check_lightly().bytes().len());
        assert!(told.is_ok(), "seed {seed}");
    }
}

#[test]
fn many_kinds_of_findings_come_up() {
    let mut rules: BTreeMap<&str, u32> = BTreeMap::new();
    for seed in 0..RUNS {
        for finding in Day::at_work(seed).shop.check_in_order().assessment().findings() {
            *rules.entry(finding.rule.name()).or_default() += 1;
        }
    }
    // A random day that finds nothing would prove nothing.
    assert!(rules.len() >= 24, "{rules:?}");
}

fn gate(document: entry::DocumentId) -> impl FnMut(EntryId, &[u8]) -> Result<(), Refusal> {
    move |id, value| entry::check(id, value, document).map(|_| ()).map_err(Refusal::from)
}

/// Three phones commit what they wrote, receive from each other in any order, one repacks.
fn carried(day: &mut Day) -> [Document; 3] {
    let record = day.shop.record();
    let mut documents = [Document::new(), Document::new(), Document::new()];
    for (at, said) in day.shop.entries().into_iter().enumerate() {
        let phone = if at < 2 { 0 } else { day.rng.below(3) };
        let actor = Actor([u8::try_from(phone).unwrap() + 1; 16]);
        documents[phone].commit(actor, &[(said.id(), said.value().to_vec())]).unwrap();
        if day.rng.one_in(5) {
            let (from, to) = (day.rng.below(3), day.rng.below(3));
            give(&documents[from].clone(), &mut documents[to], &mut day.rng, record);
        }
    }
    let (old, from) = (documents[2].clone(), documents[0].clone());
    documents[2] = repack(&old, from, Actor([9; 16])).unwrap().0;
    for (from, to) in [(1, 0), (2, 0), (0, 1), (0, 2)] {
        give(&documents[from].clone(), &mut documents[to], &mut day.rng, record);
    }
    documents
}

fn give(from: &Document, to: &mut Document, rng: &mut Rng, record: entry::DocumentId) {
    let mut raw: Vec<&[u8]> = from.changes_from(0).iter().map(|change| change.raw()).collect();
    rng.shuffle(&mut raw);
    let received = to.receive(&raw, &mut gate(record));
    assert!(received.refused.is_empty() && received.unknown_deps.is_empty(), "{received:?}");
}

#[test]
fn carried_in_changes_by_several_phones_it_is_the_same_entries_and_the_same_bytes() {
    for seed in 0..RUNS / 4 {
        let mut day = Day::at_work(seed);
        let expected = day.shop.check_in_order().bytes();
        let said: BTreeMap<EntryId, Vec<u8>> =
            day.shop.entries().iter().map(|entry| (entry.id(), entry.value().to_vec())).collect();
        for document in carried(&mut day) {
            let held: BTreeMap<EntryId, Vec<u8>> =
                document.entries().map(|put| (put.id, put.value.to_vec())).collect();
            assert_eq!(held.len(), said.len(), "seed {seed}");
            assert!(held == said, "seed {seed}");
            let bytes = day.shop.bytes_of(document.entries().map(|put| (put.id, put.value)));
            assert!(bytes == expected, "seed {seed}");
        }
    }
}
