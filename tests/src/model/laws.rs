//! What must hold when nobody changes any more.

use std::collections::BTreeSet;

use super::rng::Rng;
use super::sync::{Replica, assess};
use super::who::{Document, Entries, Entry, Id, Key, Kind, Role, Verdict};
use super::{Bug, World};

type Law = fn(&World) -> Result<(), String>;

/// Every law, in the order in which they are looked at.
const LAWS: [Law; 8] = [
    promises_on_the_spot_hold,
    all_hold_and_show_the_same,
    what_was_kept_is_there_and_what_is_lost_is_named,
    nothing_is_overwritten,
    forged_entries_are_nowhere_but_aside,
    repacks_are_bounded,
    order_of_arrival_does_not_matter,
    the_verdict_is_lawful,
];

/// Looks at every law.
///
/// # Errors
///
/// The first one that is broken, in words.
pub fn check(world: &World) -> Result<(), String> {
    LAWS.iter().try_for_each(|law| law(world))
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
    let replicas = world.homes.len() * world.documents.len();
    replicas * world.tally.clashes * (1 + world.tally.relay_losses)
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

/// What the rules promise, said another way than [`super::who`] computes it: only one direction each, and simple cases.
fn the_verdict_is_lawful(world: &World) -> Result<(), String> {
    let entries = Entries::new(world.root, union(world).into_iter().cloned());
    let verdict = assess(world.root, &union(world), world.bug);
    for entry in entries.iter() {
        let whole = entries.reach(entry.document, [&entry.id]).1;
        let sets = [&verdict.counted, &verdict.not_counted, &verdict.missing_ground];
        let places = sets.iter().filter(|set| set.contains(&entry.id)).count();
        ensure(places == 1, || format!("{entry:?} is in {places} sets"))?;
        ensure(whole != verdict.missing_ground.contains(&entry.id), || {
            format!("wrong about ground: {entry:?}")
        })?;
        let counts = verdict.counted.contains(&entry.id);
        ensure(!counts || may_count(&entries, &verdict, entry), || format!("must not count: {entry:?}"))?;
        ensure(counts || !must_count(&entries, entry), || format!("must count: {entry:?}"))?;
    }
    Ok(())
}

fn in_workshop(entries: &Entries) -> impl Iterator<Item = &Entry> {
    let folded = entries.folded();
    entries.iter().filter(move |entry| entry.document == Document::Workshop && folded.contains(&entry.id))
}

fn keeps(entries: &Entries, removal: &Entry, entry: &Entry) -> bool {
    match &removal.kind {
        Kind::Removal { key, last } => {
            let listed = last.get(&entry.document);
            *key != entry.author
                || listed.is_some_and(|ids| entries.reach(entry.document, ids).0.contains(&entry.id))
        }
        Kind::Work { .. } | Kind::Grant { .. } | Kind::Admit { .. } => true,
    }
}

/// Some counted grant names its key; and a root's removal, or one by a lead whom the root made and never removed, keeps
/// it, or some admit could cover it.
fn may_count(entries: &Entries, verdict: &Verdict, entry: &Entry) -> bool {
    if entry.author == entries.root && entry.document == Document::Workshop {
        return true;
    }
    let granted = in_workshop(entries).any(|grant| {
        verdict.counted.contains(&grant.id)
            && matches!(grant.kind, Kind::Grant { key, .. } if key == entry.author)
    });
    let covered = in_workshop(entries).any(|admit| match &admit.kind {
        Kind::Admit { ids } => entries.reach(entry.document, ids).0.contains(&entry.id),
        Kind::Work { .. } | Kind::Grant { .. } | Kind::Removal { .. } => false,
    });
    let binds = |removal: &Entry| removal.author == entries.root || is_plainly_lead(entries, removal.author);
    granted
        && (covered
            || in_workshop(entries).filter(|e| binds(e)).all(|removal| keeps(entries, removal, entry)))
}

fn is_plainly_lead(entries: &Entries, lead: Key) -> bool {
    let by_root = || in_workshop(entries).filter(|entry| entry.author == entries.root);
    let made =
        by_root().any(|e| matches!(e.kind, Kind::Grant { key, roles, .. } if key == lead && roles.lead));
    made && !by_root().any(|e| matches!(e.kind, Kind::Removal { key, .. } if key == lead))
}

/// A member's work by a key that has one grant, from the root, and is kept by every removal anybody wrote.
fn must_count(entries: &Entries, entry: &Entry) -> bool {
    let grants: Vec<&Entry> = in_workshop(entries)
        .filter(|e| matches!(e.kind, Kind::Grant { key, .. } if key == entry.author))
        .collect();
    let by_root = matches!(grants.as_slice(), [only] if only.author == entries.root
        && matches!(only.kind, Kind::Grant { roles, .. } if roles.member));
    let is_work = matches!(entry.kind, Kind::Work { needs: Role::Member, .. });
    by_root
        && is_work
        && entries.reach(entry.document, [&entry.id]).1
        && in_workshop(entries).all(|removal| keeps(entries, removal, entry))
}

/// Looks whether some seed shows the bug.
///
/// # Errors
///
/// When no seed below `seeds` breaks a law.
pub fn catches(bug: Bug, seeds: u64) -> Result<(u64, String), String> {
    (0..seeds)
        .find_map(|seed| super::run::run(seed, Some(bug)).err().map(|words| (seed, words)))
        .ok_or_else(|| format!("no law notices {bug:?} in {seeds} seeds"))
}
