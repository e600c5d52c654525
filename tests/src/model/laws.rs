//! What must hold when nobody changes any more.

use std::collections::BTreeSet;

use super::World;
use super::rng::Rng;
use super::sync::{Replica, assess};
use super::who::{Document, Entries, Entry, Id, Key, Kind, Role, Verdict};

/// Says how a world breaks it.
pub type Law = fn(&World) -> Result<(), String>;

/// Every law, in the order in which they are looked at.
pub const LAWS: [(&str, Law); 8] = [
    ("promises on the spot hold", promises_on_the_spot_hold),
    ("all hold and show the same", all_hold_and_show_the_same),
    ("kept is there, lost is named", what_was_kept_is_there_and_what_is_lost_is_named),
    ("nothing is overwritten", nothing_is_overwritten),
    ("forged is nowhere but aside", forged_entries_are_nowhere_but_aside),
    ("repacks are bounded", repacks_are_bounded),
    ("order of arrival does not matter", order_of_arrival_does_not_matter),
    ("the verdict is lawful", the_verdict_is_lawful),
];

/// Every law that is broken, by name, with how.
#[must_use]
pub fn broken(world: &World) -> Vec<(&'static str, String)> {
    LAWS.iter().filter_map(|(name, law)| Some((*name, law(world).err()?))).collect()
}

fn ensure(holds: bool, words: impl FnOnce() -> String) -> Result<(), String> {
    if holds { Ok(()) } else { Err(words()) }
}

fn replicas(world: &World) -> impl Iterator<Item = &Replica> {
    let homes = world.homes.iter().flatten().flat_map(|home| home.copies.values());
    homes.chain(world.relay.iter().flat_map(|relay| relay.copies.values()))
}

fn union(world: &World) -> Vec<&Entry> {
    let mut all: Vec<&Entry> = replicas(world).flat_map(Replica::arrivals).collect();
    all.sort();
    all.dedup();
    all
}

fn ids(world: &World) -> BTreeSet<Id> {
    union(world).iter().map(|entry| entry.id).collect()
}

fn promises_on_the_spot_hold(world: &World) -> Result<(), String> {
    world.broken.first().map_or(Ok(()), |words| Err(words.clone()))
}

fn all_hold_and_show_the_same(world: &World) -> Result<(), String> {
    let all = ids(world);
    let mut shown: Option<Verdict> = None;
    for (at, home) in world.homes.iter().enumerate().filter_map(|(at, home)| Some((at, home.as_ref()?))) {
        let held: BTreeSet<Id> = home.entries().into_keys().collect();
        ensure(held == all, || format!("home {at} lacks {:?}", &all - &held))?;
        let verdict = home.assess(world.root, world.bug);
        ensure(shown.as_ref().is_none_or(|other| *other == verdict), || {
            format!("home {at} shows something else")
        })?;
        shown = Some(verdict);
    }
    if let Some(relay) = &world.relay {
        let held = relay.copies.values().flat_map(Replica::arrivals).map(|entry| entry.id).collect();
        ensure(held == all, || format!("the relay lacks {:?}", &all - &held))?;
    }
    Ok(())
}

fn what_was_kept_is_there_and_what_is_lost_is_named(world: &World) -> Result<(), String> {
    let all = ids(world);
    for (id, holders) in world.ledger.kept.iter().filter(|(_, holders)| !holders.is_empty()) {
        ensure(all.contains(id), || format!("{holders:?} said to keep {id:?}, and it is nowhere"))?;
    }
    let gone: BTreeSet<Id> = world.ledger.written.keys().filter(|id| !all.contains(id)).copied().collect();
    ensure(gone == world.ledger.lost, || format!("gone: {gone:?}; named as lost: {:?}", world.ledger.lost))
}

fn nothing_is_overwritten(world: &World) -> Result<(), String> {
    for entry in replicas(world).flat_map(Replica::arrivals) {
        let written = world.ledger.written.get(&entry.id);
        ensure(written == Some(entry), || format!("held {entry:?}, written {written:?}"))?;
    }
    Ok(())
}

fn forged_entries_are_nowhere_but_aside(world: &World) -> Result<(), String> {
    let puts = replicas(world).flat_map(Replica::changes).flat_map(|change| &change.puts);
    for put in puts {
        ensure(put.genuine, || format!("a forged {:?} is in a document", put.entry.id))?;
    }
    for (at, id) in &world.forged {
        let aside = world.home(*at).is_some_and(|home| home.aside.contains(id));
        ensure(aside, || format!("home {at} does not show its forged {id:?}"))?;
    }
    Ok(())
}

/// The most repacks there may be: a clash is one pair of changes that cannot stand together. A phone on the wrong side of
/// one repacks once and has then the relay's side, until the relay loses that side and takes the other from somebody.
#[must_use]
pub fn most_repacks(world: &World) -> usize {
    world.homes.len() * world.tally.clashes * (1 + world.tally.relay_losses)
}

fn repacks_are_bounded(world: &World) -> Result<(), String> {
    let (made, most) = (world.tally.repacks, most_repacks(world));
    ensure(made <= most, || format!("{made} repacks, at most {most} allowed: {:?}", world.tally))
}

/// Any order gives the same, and so do a removal's arriving before, between and after the removed key's entries.
fn order_of_arrival_does_not_matter(world: &World) -> Result<(), String> {
    let mut arrivals = union(world);
    let verdict = assess(world.root, &arrivals, world.bug);
    let same = |arrivals: &[&Entry]| {
        ensure(assess(world.root, arrivals, world.bug) == verdict, || {
            "the order of arrival matters".to_string()
        })
    };
    let mut rng = Rng::new(u64::try_from(arrivals.len()).unwrap_or(0));
    for _ in 0..3 {
        rng.shuffle(&mut arrivals);
        same(&arrivals)?;
    }
    let removals: Vec<&Entry> =
        arrivals.iter().filter(|entry| matches!(entry.kind, Kind::Removal { .. })).take(2).copied().collect();
    for removal in removals {
        let others: Vec<&Entry> = arrivals.iter().filter(|entry| entry.id != removal.id).copied().collect();
        for place in [0, others.len() / 2, others.len()] {
            let mut moved = others.clone();
            moved.insert(place, removal);
            same(&moved)?;
        }
    }
    Ok(())
}

fn the_verdict_is_lawful(world: &World) -> Result<(), String> {
    let arrivals = union(world);
    let entries = Entries::new(world.root, arrivals.iter().map(|entry| (*entry).clone()));
    verdict_is_lawful(&entries, &assess(world.root, &arrivals, world.bug))
}

/// What the rules promise of a verdict, said another way than [`super::who`] computes it: one direction each, and simple
/// cases.
///
/// # Errors
///
/// The first entry that is judged wrongly.
pub fn verdict_is_lawful(entries: &Entries, verdict: &Verdict) -> Result<(), String> {
    let folded = entries.folded();
    let workshop = entries.iter().filter(|e| e.document == Document::Workshop && folded.contains(&e.id));
    let case = Case { entries, verdict, workshop: workshop.collect() };
    entries.iter().try_for_each(|entry| {
        let whole = entries.reach(entry.document, [&entry.id]).1;
        let sets = [&verdict.counted, &verdict.not_counted, &verdict.missing_ground];
        let places = sets.iter().filter(|set| set.contains(&entry.id)).count();
        ensure(places == 1, || format!("{entry:?} is in {places} sets"))?;
        ensure(whole != verdict.missing_ground.contains(&entry.id), || {
            format!("wrong about ground: {entry:?}")
        })?;
        let counts = verdict.counted.contains(&entry.id);
        ensure(!counts || case.may_count(entry), || format!("must not count: {entry:?}"))?;
        ensure(counts || !whole || !case.must_count(entry), || format!("must count: {entry:?}"))
    })
}

struct Case<'a> {
    entries: &'a Entries,
    verdict: &'a Verdict,
    /// The folded entries of the workshop document.
    workshop: Vec<&'a Entry>,
}

impl Case<'_> {
    fn grants(&self, key: Key) -> Vec<&Entry> {
        let grants = |entry: &&&Entry| matches!(entry.kind, Kind::Grant { key: other, .. } if other == key);
        self.workshop.iter().filter(grants).copied().collect()
    }

    fn removals(&self, key: Key) -> Vec<&Entry> {
        let removes =
            |entry: &&&Entry| matches!(entry.kind, Kind::Removal { key: other, .. } if other == key);
        self.workshop.iter().filter(removes).copied().collect()
    }

    fn keeps(&self, removal: &Entry, entry: &Entry) -> bool {
        let Kind::Removal { last, .. } = &removal.kind else { return true };
        last.get(&entry.document).is_some_and(|ids| self.reaches(ids, entry))
    }

    fn reaches(&self, ids: &BTreeSet<Id>, entry: &Entry) -> bool {
        self.entries.reach(entry.document, ids).0.contains(&entry.id)
    }

    /// Some counted grant names its key; and every removal by the root, or by a lead whom the root made and never removed,
    /// keeps it, or some admit could cover it.
    fn may_count(&self, entry: &Entry) -> bool {
        if entry.author == self.entries.root && entry.document == Document::Workshop {
            return true;
        }
        let granted = self.grants(entry.author).iter().any(|grant| self.verdict.counted.contains(&grant.id));
        let covers = |admit: &&Entry| matches!(&admit.kind, Kind::Admit { ids } if self.reaches(ids, entry));
        let binds = |by: Key| by == self.entries.root || self.is_plainly_lead(by);
        let removals = self.removals(entry.author);
        granted
            && (self.workshop.iter().any(covers)
                || removals
                    .iter()
                    .filter(|removal| binds(removal.author))
                    .all(|removal| self.keeps(removal, entry)))
    }

    fn is_plainly_lead(&self, key: Key) -> bool {
        let by_root = |entry: &&Entry| entry.author == self.entries.root;
        let gives_lead = |grant: &&Entry| matches!(grant.kind, Kind::Grant { roles, .. } if roles.lead);
        self.grants(key).iter().filter(|grant| by_root(grant)).any(gives_lead)
            && !self.removals(key).iter().any(by_root)
    }

    /// A member's work by a key that has one grant, from the root, and is kept by every removal anybody wrote.
    fn must_count(&self, entry: &Entry) -> bool {
        let by_root = match self.grants(entry.author).as_slice() {
            [only] if only.author == self.entries.root => {
                matches!(only.kind, Kind::Grant { roles, .. } if roles.member)
            }
            _ => false,
        };
        by_root
            && matches!(entry.kind, Kind::Work { needs: Role::Member, .. })
            && self.removals(entry.author).iter().all(|removal| self.keeps(removal, entry))
    }
}
