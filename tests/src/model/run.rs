//! One seed, one run: a workshop is set up, random acts follow, then all exchange until nobody changes, and the laws are
//! looked at.

use std::collections::{BTreeMap, BTreeSet};

use super::rng::Rng;
use super::sync::{Home, Relay};
use super::who::{Document, Entries, Entry, Id, Key, Kind, Person, Role, Roles};
use super::{Bug, Holder, Ledger, Tally, World, laws};

const ROOT: Key = Key(0);
/// A key nobody is granted.
const STRANGER: Key = Key(99);
const MEMBER: Roles = Roles { member: true, lead: false };
const LEAD: Roles = Roles { member: true, lead: true };
const ALL_ROLES: [Roles; 4] =
    [MEMBER, LEAD, Roles { member: false, lead: true }, Roles { member: false, lead: false }];

type Act = fn(&mut World);

/// What may happen, and how often beside the rest. An act that cannot be done does nothing.
const ACTS: [(usize, Act); 20] = [
    (16, work),
    (5, grant),
    (4, remove),
    (3, admit),
    (1, feud),
    (16, ask),
    (18, |world| world.deliver(false)),
    (3, |world| world.deliver(true)),
    (4, World::lose_message),
    (6, meet_relay),
    (7, carry),
    (1, carry_thin),
    (2, squat),
    (2, tamper),
    (3, back_up_home),
    (1, World::restore_home),
    (1, lose_home),
    (2, World::back_up_relay),
    (1, |world| world.set_relay_back(false)),
    (1, |world| world.set_relay_back(true)),
];

/// Runs one seed to its end and looks at the laws.
///
/// # Errors
///
/// The broken laws, in words, with the seed.
pub fn run(seed: u64, bug: Option<Bug>) -> Result<World, String> {
    let (world, settled) = play(seed, bug);
    let mut words: Vec<String> =
        laws::broken(&world).into_iter().map(|(law, how)| format!("{law}: {how}")).collect();
    words.extend(settled.err());
    if words.is_empty() { Ok(world) } else { Err(format!("GUDGEON_SEED={seed}: {}", words.join("; "))) }
}

/// Runs one seed to its end: the world, and whether it came to rest.
pub fn play(seed: u64, bug: Option<Bug>) -> (World, Result<(), String>) {
    let mut world = found(seed, bug);
    for _ in 0..20 + world.rng.below(60) {
        act(&mut world);
    }
    let settled = world.settle();
    (world, settled)
}

/// A workshop with two leads, some members and some keys nobody knows yet, on a phone each; a quarter have no relay.
#[must_use]
pub fn found(seed: u64, bug: Option<Bug>) -> World {
    let mut rng = Rng::new(seed);
    let documents = [Document::Workshop, Document::Record(1), Document::Record(2)];
    let number = 2 + rng.below(4);
    let homes = (1..=number).map(|n| Some(Home::new(keys(n, rng.one_in(3)), &mut rng))).collect();
    let mut world = World {
        root: ROOT,
        documents: documents.into_iter().take(2 + rng.below(2)).collect(),
        relay: (!rng.one_in(4)).then(Relay::default),
        homes,
        ledger: Ledger::default(),
        forged: BTreeSet::new(),
        tally: Tally::default(),
        broken: Vec::new(),
        bug,
        rng,
        in_flight: Vec::new(),
        home_backups: Vec::new(),
        relay_backups: Vec::new(),
    };
    for (n, key) in all_keys(&world).into_iter().enumerate() {
        if n < 2 || !world.rng.one_in(3) {
            let roles = if n < 2 { LEAD } else { MEMBER };
            world.write(0, Document::Workshop, ROOT, vec![Kind::Grant { key, person: holder(key), roles }]);
        }
    }
    world
}

fn keys(home: usize, two: bool) -> Vec<Key> {
    let first = u32::try_from(home).unwrap_or(0) * 2;
    if two { vec![Key(first), Key(first + 1)] } else { vec![Key(first)] }
}

/// The person who holds a key if nobody errs.
fn holder(key: Key) -> Person {
    Person(key.0)
}

fn all_keys(world: &World) -> Vec<Key> {
    let mut keys: Vec<Key> = world.homes.iter().flatten().flat_map(|home| home.keys.clone()).collect();
    keys.sort();
    keys
}

fn act(world: &mut World) {
    let total = ACTS.iter().map(|(weight, _)| weight).sum();
    let mut at = world.rng.below(total);
    for (weight, act) in ACTS {
        if at < weight {
            return act(world);
        }
        at -= weight;
    }
}

fn some_home(world: &mut World) -> usize {
    let living = world.living();
    world.rng.pick(&living).unwrap_or(0)
}

/// A living phone and one of its keys.
fn somebody(world: &mut World) -> (usize, Key) {
    let at = some_home(world);
    let keys = world.home(at).map(|home| home.keys.clone()).unwrap_or_default();
    (at, world.rng.pick(&keys).unwrap_or(STRANGER))
}

/// A phone and a key for a roster act: now and then the root's, most often a lead's, else anybody's.
fn somebody_in_charge(world: &mut World) -> (usize, Key) {
    let (at, key) = somebody(world);
    match world.rng.below(6) {
        0 => (at, ROOT),
        1 => (at, key),
        _ => {
            let leads: Vec<usize> = world.living().into_iter().filter(|at| *at < 2).collect();
            let at = world.rng.pick(&leads).unwrap_or(at);
            (at, world.home(at).and_then(|home| home.keys.first().copied()).unwrap_or(key))
        }
    }
}

fn some_document(world: &mut World) -> Document {
    let documents = world.documents.clone();
    world.rng.pick(&documents).unwrap_or(Document::Workshop)
}

/// Where roster acts belong, and now and then where they do not.
fn roster_document(world: &mut World) -> Document {
    if world.rng.one_in(20) { some_document(world) } else { Document::Workshop }
}

fn some_work(rng: &mut Rng) -> Kind {
    let needs = if rng.one_in(4) { Role::Lead } else { Role::Member };
    Kind::Work { needs, text: rng.bits() }
}

fn work(world: &mut World) {
    let (at, key) = somebody(world);
    let document = some_document(world);
    let kinds = (0..=world.rng.below(3)).map(|_| some_work(&mut world.rng)).collect();
    world.write(at, document, key, kinds);
}

fn grant(world: &mut World) {
    let (at, author) = somebody_in_charge(world);
    let (document, keys) = (roster_document(world), all_keys(world));
    let key = world.rng.pick(&keys).unwrap_or(STRANGER);
    let person = if world.rng.one_in(6) { Person(1) } else { holder(key) };
    let roles = if world.rng.one_in(3) { world.rng.pick(&ALL_ROLES).unwrap_or(MEMBER) } else { MEMBER };
    world.write(at, document, author, vec![Kind::Grant { key, person, roles }]);
}

fn remove(world: &mut World) {
    let (at, author) = somebody_in_charge(world);
    let keys = all_keys(world);
    let key = world.rng.pick(&keys).unwrap_or(STRANGER);
    let document = roster_document(world);
    let kind = removal(world, at, key);
    world.write(at, document, author, vec![kind]);
}

/// A removal that lists the key's newest entries as this phone has them; for a lost phone perhaps older ones, or none.
fn removal(world: &mut World, at: usize, key: Key) -> Kind {
    let entries = Entries::new(ROOT, world.home(at).map(Home::entries).unwrap_or_default().into_values());
    let is_phone_lost = world.rng.one_in(3);
    let mut last: BTreeMap<Document, BTreeSet<Id>> = BTreeMap::new();
    for document in world.documents.clone() {
        let own: Vec<&Entry> = entries.iter().filter(|e| e.author == key && e.document == document).collect();
        let listed = if is_phone_lost {
            world.rng.pick(&own).filter(|_| !world.rng.one_in(3)).map(|entry| entry.id).into_iter().collect()
        } else {
            let known: BTreeSet<Id> = own.iter().flat_map(|e| entries.reach(document, &e.after).0).collect();
            own.iter().map(|entry| entry.id).filter(|id| !known.contains(id)).collect()
        };
        last.insert(document, listed);
    }
    Kind::Removal { key, last }
}

fn admit(world: &mut World) {
    let (at, author) = somebody_in_charge(world);
    let held: Vec<Id> = world.home(at).map(Home::entries).unwrap_or_default().into_keys().collect();
    let ids = (0..=world.rng.below(2)).filter_map(|_| world.rng.pick(&held)).collect();
    let document = roster_document(world);
    world.write(at, document, author, vec![Kind::Admit { ids }]);
}

/// The two first leads remove each other, neither knowing, and both work on.
fn feud(world: &mut World) {
    let leads: Vec<Key> = all_keys(world).into_iter().take(2).collect();
    for (at, key) in world.living().into_iter().zip(leads.clone()) {
        for other in leads.iter().filter(|other| **other != key) {
            let kind = removal(world, at, *other);
            world.write(at, Document::Workshop, key, vec![kind]);
            let more = some_work(&mut world.rng);
            world.write(at, Document::Workshop, key, vec![more]);
        }
    }
}

fn ask(world: &mut World) {
    let (at, document) = (some_home(world), some_document(world));
    if world.relay.is_some() {
        world.send(at, document);
    }
}

fn meet_relay(world: &mut World) {
    let (at, document) = (some_home(world), some_document(world));
    world.exchange(at, document);
}

fn carry_skipping(world: &mut World, skip: usize) {
    let (from, to) = (some_home(world), some_home(world));
    for document in world.documents.clone() {
        if from != to {
            world.carry(from, to, document, skip);
        }
    }
}

fn carry(world: &mut World) {
    carry_skipping(world, 0);
}

fn carry_thin(world: &mut World) {
    let skip = 1 + world.rng.below(4);
    carry_skipping(world, skip);
}

fn squat(world: &mut World) {
    let (victim, document) = (some_home(world), some_document(world));
    let target = if world.rng.one_in(3) { Holder::Home(some_home(world)) } else { Holder::Relay };
    let after = if world.rng.one_in(4) { BTreeSet::from([Id(world.rng.bits())]) } else { BTreeSet::new() };
    let kind = some_work(&mut world.rng);
    world.squat(victim, target, Entry::new(STRANGER, document, kind, after));
}

/// Forged is an entry in another's name, a copy of a genuine one with another signature, or one with another text.
fn tamper(world: &mut World) {
    let (at, author) = somebody(world);
    let document = some_document(world);
    let held: Vec<Entry> = world.home(at).map(Home::entries).unwrap_or_default().into_values().collect();
    let here: Vec<Entry> = held.into_iter().filter(|entry| entry.document == document).collect();
    let invented = Entry::new(ROOT, document, some_work(&mut world.rng), BTreeSet::new());
    let kind = some_work(&mut world.rng);
    let altered = |genuine: Entry| Entry { kind, ..genuine };
    let forged = match world.rng.below(3) {
        0 => invented,
        1 => world.rng.pick(&here).unwrap_or(invented),
        _ => world.rng.pick(&here).map_or(invented, altered),
    };
    let mut after: BTreeSet<Id> =
        world.home_mut(at).map(|home| home.copy(document).newest(ROOT, None)).unwrap_or_default();
    let mut good = Vec::new();
    for _ in 0..world.rng.below(3) {
        let entry = Entry::new(author, document, some_work(&mut world.rng), after);
        after = BTreeSet::from([entry.id]);
        good.push(entry);
    }
    world.tamper(at, forged, good);
}

fn back_up_home(world: &mut World) {
    let at = some_home(world);
    world.back_up_home(at);
}

fn lose_home(world: &mut World) {
    if world.living().len() > 2 {
        let at = some_home(world);
        world.lose_home(at);
    }
}
