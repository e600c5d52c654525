//! The procedure on several phones that meet only now and then: what two did at once merges to the same on
//! every phone, somebody can always go on until all is signed, and a step signed ahead of its order is named.
//!
//! Each run is played from a seed, named where it fails. `GUDGEON_SEEDS` tries more of them.
#![allow(clippy::unwrap_used)]

use std::collections::{BTreeMap, BTreeSet};

use gudgeon_core::assess::{Progress, Rule};
use gudgeon_core::engine::{Asked, Signer, Target};
use gudgeon_core::entry::EntryId;
use gudgeon_core::entry::payload::Meaning;
use gudgeon_tests::engines;
use gudgeon_tests::kit::{Hand, Walk, signed_before};
use gudgeon_tests::model::rng::Rng;

/// A step, and whether its second signature is meant.
type Signed = (usize, bool);

/// A person with a phone.
struct Phone {
    hand: Hand,
    walk: Walk,
    leads: bool,
    /// Signatures that it was told of or made.
    signed: BTreeSet<Signed>,
}

/// A build by several people, each offline most of the time.
struct Build {
    phones: Vec<Phone>,
    /// For each first signature: the step, and the signatures that its author knew of.
    knew: BTreeMap<EntryId, (usize, BTreeSet<Signed>)>,
    what: String,
}

impl Build {
    fn of(engine: &str, people: usize, what: &str) -> Self {
        let first = Walk::on(engine);
        let shop = first.shop();
        let all = [(&shop.max, true), (&shop.ann, false), (&shop.carl, false)];
        let phone = |(hand, leads): &(&Hand, bool)| Phone {
            hand: (*hand).clone(),
            walk: first.on_phone(hand),
            leads: *leads,
            signed: BTreeSet::new(),
        };
        let phones = all[..people].iter().map(phone).collect();
        Self { phones, knew: BTreeMap::new(), what: what.to_owned() }
    }

    fn walk(&self) -> &Walk {
        &self.phones[0].walk
    }

    /// Both learn what the other knows.
    fn meet(&mut self, one: usize, other: usize) {
        let both: BTreeSet<Signed> =
            self.phones[one].signed.union(&self.phones[other].signed).copied().collect();
        self.phones[one].hand.tells(&self.phones[other].hand);
        self.phones[other].hand.tells(&self.phones[one].hand);
        for at in [one, other] {
            self.phones[at].signed.clone_from(&both);
        }
    }

    /// Takes in what a phone was told.
    fn look(&mut self, at: usize) {
        self.phones[at].walk.look();
    }

    /// Everybody learns everything.
    fn all_meet(&mut self) {
        for _ in 0..2 {
            (1..self.phones.len()).for_each(|other| self.meet(0, other));
        }
        (0..self.phones.len()).for_each(|at| self.look(at));
    }

    /// Steps at which the owner of a phone can do something, by what it shows.
    fn open_to(&self, phone: usize) -> Vec<usize> {
        let phone = &self.phones[phone];
        let definition = phone.walk.definition();
        let may = |step: &usize| {
            let state = &phone.walk.assessment().steps()[*step];
            if state.signature.as_ref().is_some_and(|signature| signature.stands()) {
                // The second person is somebody else.
                let signer = phone.walk.signature(*step).and_then(|by| phone.walk.person(by));
                return signer != Some(phone.hand.person());
            }
            phone.leads || definition.step_of(&definition.steps()[*step]).sign == Signer::Member
        };
        phone.walk.open_steps().into_iter().filter(may).collect()
    }

    /// Does the next thing at a step, with what its phone shows.
    fn does(&mut self, at: usize, step: usize) {
        self.slackens(at, step);
        let phone = &mut self.phones[at];
        let first = !phone.walk.assessment().steps()[step].signature.as_ref().is_some_and(|s| s.stands());
        let signed = phone.walk.does(step);
        if first {
            self.knew.insert(signed, (step, phone.signed.clone()));
        }
        phone.signed.insert((step, !first));
    }

    /// What two pulled at once, neither knowing of the other, is slackened and begun again.
    fn slackens(&mut self, at: usize, step: usize) {
        let phone = &mut self.phones[at];
        let definition = phone.walk.definition();
        for ask in &definition.steps()[step].asks {
            let (Asked::Tightening(group), Target::Feature(place)) = (&ask.asked, ask.target) else {
                continue;
            };
            let place = definition.feature_at(place).path();
            let mut groups = phone.walk.assessment().tightenings();
            if groups.any(|(of, on, _, complete)| (of, on) == (group, place) && !complete) {
                phone.hand.slackens(group, place);
            }
        }
        phone.walk.look();
    }

    /// Somebody signs a step that waits, if there is one that they may sign.
    fn signs_too_early(&mut self, at: usize, rng: &mut Rng) {
        let phone = &mut self.phones[at];
        let definition = phone.walk.definition();
        let steps = phone.walk.assessment().steps();
        let may = |step: &usize| definition.step_of(&definition.steps()[*step]).sign == Signer::Member;
        let waits = |step: &usize| steps[*step].progress == Progress::Blocked;
        let early: Vec<usize> = (0..steps.len()).filter(waits).filter(may).collect();
        let Some(step) = rng.pick(&early) else { return };
        let signed = phone.walk.signs(step, Meaning::Done);
        self.knew.insert(signed, (step, phone.signed.clone()));
        phone.signed.insert((step, false));
    }

    /// Each does some things on their own, and now and then two meet.
    fn works_apart(&mut self, rng: &mut Rng, turns: usize, early: bool) {
        for _ in 0..turns {
            let at = rng.below(self.phones.len());
            self.look(at);
            let most = 1 + rng.below(6);
            self.works_alone(at, rng, most);
            if early && rng.one_in(3) {
                self.signs_too_early(at, rng);
            }
            if rng.one_in(3) {
                let other = (at + 1 + rng.below(self.phones.len() - 1)) % self.phones.len();
                self.meet(at, other);
            }
        }
    }

    /// Does up to that many things with what its phone shows; says how many.
    fn works_alone(&mut self, at: usize, rng: &mut Rng, most: usize) -> usize {
        for done in 0..most {
            let Some(step) = rng.pick(&self.open_to(at)) else { return done };
            self.does(at, step);
        }
        most
    }

    /// What is found of orders broken on each phone, and what should be: see [`Build::expected`].
    fn orders_broken_are_found(&self) -> usize {
        let walk = self.walk();
        let findings = walk.assessment().findings();
        let broken = findings.into_iter().filter(|finding| finding.rule == Rule::OrderBroken);
        let found: BTreeMap<String, String> =
            broken.map(|finding| (finding.subject.clone(), finding.text.clone())).collect();
        assert_eq!(found, self.expected(), "{}", self.what);
        found.len()
    }

    /// For each step whose signature was given by somebody who knew not all signatures on what comes first:
    /// what they lacked.
    fn expected(&self) -> BTreeMap<String, String> {
        let walk = self.walk();
        let steps = walk.definition().steps();
        let mut expected = BTreeMap::new();
        for (at, step) in steps.iter().enumerate() {
            let Some((of, knew)) = walk.signature(at).map(|by| &self.knew[&by]) else { continue };
            assert_eq!(*of, at, "{}: a signature speaks for its step", self.what);
            let wants_second = |before: usize| walk.definition().step_of(&steps[before]).second_person;
            let lacked = |lacks: &dyn Fn(usize) -> bool| -> Vec<String> {
                let all = step.prerequisites.iter().filter(|before| lacks(**before));
                all.map(|before| steps[*before].id.to_string()).collect()
            };
            let first = |before: usize| !knew.contains(&(before, false));
            let second = |before: usize| wants_second(before) && !knew.contains(&(before, true));
            let said = signed_before(&lacked(&first), &lacked(&|before| !first(before) && second(before)));
            if let Some(said) = said {
                expected.insert(step.id.to_string(), said);
            }
        }
        expected
    }

    /// Every phone shows the same, and so does a fold of the entries in any other order of arrival.
    fn is_the_same_everywhere(&self, rng: &mut Rng) {
        let bytes = self.walk().bytes();
        for phone in &self.phones[1..] {
            assert!(phone.walk.bytes() == bytes, "{}: two phones differ", self.what);
        }
        let mut order = self.phones[0].hand.holds();
        for _ in 0..2 {
            rng.shuffle(&mut order);
            let other = self.walk().shop().bytes_in_order(&order);
            assert!(other == bytes, "{}: another order of arrival differs", self.what);
        }
    }

    /// All meet and one does a few things, over and over, until everything is signed.
    fn comes_to_its_end(&mut self, rng: &mut Rng) {
        let most = 4 * self.walk().definition().steps().len();
        let mut done = 0;
        while done < most {
            self.all_meet();
            if self.walk().is_done() {
                return;
            }
            let able: Vec<usize> =
                (0..self.phones.len()).filter(|at| !self.open_to(*at).is_empty()).collect();
            let next = rng.pick(&able);
            let at = next.unwrap_or_else(|| panic!("{}: stuck after {done} things more", self.what));
            done += self.works_alone(at, rng, 10);
        }
        let left = self.walk().assessment().steps().iter().filter(|step| step.progress != Progress::Signed);
        let left: Vec<_> = left.map(|step| (&step.id, step.progress)).collect();
        panic!("{}: not at its end after {done} things more: {left:?}", self.what);
    }
}

/// Every engine with every seed, by two people or by three.
fn on_every_engine(check: impl Fn(&mut Build, &mut Rng)) {
    let wanted = std::env::var("GUDGEON_SEEDS").ok().map(|text| text.parse().unwrap());
    for (number, (name, engine)) in (0..).zip(engines::ALL) {
        for seed in 0..wanted.unwrap_or(1) {
            let people = if (number + seed) % 2 == 0 { 2 } else { 3 };
            let what = format!("{name}, {people} people, seed {seed}");
            check(&mut Build::of(engine, people, &what), &mut Rng::new(seed));
        }
    }
}

#[test]
fn what_several_did_apart_merges_to_the_same_and_comes_to_its_end() {
    on_every_engine(|build, rng| {
        for _ in 0..3 {
            build.works_apart(rng, 12, false);
            build.all_meet();
            build.is_the_same_everywhere(rng);
        }
        assert_eq!(build.orders_broken_are_found(), 0, "{}: each kept the order they knew", build.what);
        build.comes_to_its_end(rng);
        assert_eq!(build.orders_broken_are_found(), 0, "{}", build.what);
        build.is_the_same_everywhere(rng);
    });
}

#[test]
fn a_step_signed_too_early_on_any_phone_is_named_with_what_was_missing() {
    on_every_engine(|build, rng| {
        build.works_apart(rng, 20, true);
        build.all_meet();
        build.is_the_same_everywhere(rng);
        assert!(build.orders_broken_are_found() > 0, "{}: nobody signed too early", build.what);
        build.comes_to_its_end(rng);
        build.orders_broken_are_found();
    });
}
