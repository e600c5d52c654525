//! What there is to be seen of a record, gathered once for as long as nothing comes.

use std::collections::{BTreeMap, BTreeSet};

use gudgeon_core::entry::{DocumentId, EntryId};
use gudgeon_core::log::{Ix, Log};
use gudgeon_core::sheet;

use super::super::Desk;
use super::super::sight::Sight;
use super::card::{Card, Line, led_to};

/// Most lines of what came that are shown: a record that is all new is read on its own screen.
const MOST: usize = 40;

/// Most lines of time on a card.
const MOST_TIME: usize = 6;

/// What has come so far; something else: it is gathered anew.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Stamp {
    entries: usize,
    waiting: usize,
    workshop: usize,
    refused: usize,
    blind: usize,
    today: String,
}

impl Stamp {
    pub(super) fn of(record: DocumentId, desk: &Desk) -> Self {
        let sight = desk.sight(record);
        let count = |of: fn(&Sight) -> usize| sight.map_or(0, of);
        Self {
            entries: count(|sight| sight.log().folded().len()),
            waiting: count(|sight| sight.log().waiting().count()),
            workshop: count(|sight| sight.workshop.log().folded().len()),
            refused: refused(record, desk).len(),
            blind: desk.blind(record).count(),
            today: desk.day(desk.now()),
        }
    }
}

/// See the [module](self).
#[derive(Debug, Default)]
pub(super) struct Looked {
    pub(super) summary: String,
    pub(super) came: Vec<Line>,
    pub(super) more: usize,
    pub(super) open: Vec<Card>,
    pub(super) rest: Vec<Card>,
    pub(super) refused: Vec<(String, String)>,
    pub(super) unseen: bool,
}

impl Looked {
    pub(super) fn at(record: DocumentId, seen: Option<&[EntryId]>, desk: &Desk) -> Self {
        let Some(sight) = desk.sight(record) else { return Self::default() };
        let new = unseen(sight.log(), seen.unwrap_or_default());
        let came: BTreeSet<Ix> = if seen.is_some() { of_others(&new, sight, desk) } else { BTreeSet::new() };
        let findings = sight.assessment.findings();
        let mut telling = came.clone();
        findings.iter().for_each(|finding| telling.extend(led_to(finding, sight)));
        let blind = desk.blind(record);
        let told = Told::of(&telling, sight, desk);
        let mut cards = Vec::new();
        for finding in &findings {
            let led = led_to(finding, sight);
            // What led to it may be what it betrays; that it is there does so already.
            if !blind.hidden().is_disjoint(&led) {
                continue;
            }
            let mut card = Card::of(finding, record, sight);
            card.new = seen.is_some() && led.iter().any(|ix| came.contains(ix));
            card.time = told.lines(&led, MOST_TIME);
            cards.push((finding.is_open(), card));
        }
        let (open, rest): (Vec<_>, Vec<_>) = cards.into_iter().partition(|(open, _)| *open);
        let only = |cards: Vec<(bool, Card)>| cards.into_iter().map(|(_, card)| card).collect::<Vec<_>>();
        let (mut open, rest) = (only(open), only(rest));
        // What is new first; among the rest the order of the rules.
        open.sort_by_key(|card| !card.new);
        Self {
            summary: summary(seen.is_some(), &came, &needs(open.len(), blind.count() > 0), sight),
            more: came.len().saturating_sub(MOST),
            came: told.lines(&came, MOST),
            open,
            rest,
            refused: refused(record, desk),
            unseen: !new.is_empty(),
        }
    }
}

/// Entries that are neither among the newest that were seen nor what these rest on.
fn unseen(log: &Log, seen: &[EntryId]) -> BTreeSet<Ix> {
    let is_new = |ix: &Ix| !seen.iter().any(|id| log.reaches(id, *ix));
    (0..).zip(log.folded()).map(|(ix, _)| ix).filter(is_new).collect()
}

/// Those of others than whoever holds the phone.
fn of_others(new: &BTreeSet<Ix>, sight: &Sight, desk: &Desk) -> BTreeSet<Ix> {
    let roster = sight.workshop.roster();
    let own = |ix: &Ix| desk.holder().is_some_and(|key| roster.same_person(key, sight.log().at(*ix).key));
    new.iter().copied().filter(|ix| !own(ix)).collect()
}

/// How much is open, of what may be shown; whether something hangs on what is hidden is not said, either.
fn needs(open: usize, hidden: bool) -> String {
    match (open, hidden) {
        (0, false) => "Nothing needs anybody.".to_owned(),
        (0, true) => {
            "Of what hangs on the hidden readings nothing is said yet; nothing else needs anybody.".to_owned()
        }
        (1, _) => "One thing needs somebody.".to_owned(),
        (several, _) => format!("{several} things need somebody."),
    }
}

fn summary(looked_before: bool, came: &BTreeSet<Ix>, needs: &str, sight: &Sight) -> String {
    if !looked_before {
        return format!("You have not looked at this record here before. {needs}");
    }
    let mut by: BTreeMap<String, usize> = BTreeMap::new();
    for ix in came {
        let name = sight.assessment.person(*ix).and_then(|person| sight.workshop.roster().name_of(person));
        *by.entry(name.unwrap_or("somebody unknown").to_owned()).or_default() += 1;
    }
    let by: Vec<String> =
        by.into_iter().map(|(name, count)| format!("{name} added {}", entries(count))).collect();
    match by.as_slice() {
        [] => format!("Nothing came from others since you looked last. {needs}"),
        by => format!("Since you looked last, {}. {needs}", by.join(", ")),
    }
}

fn entries(count: usize) -> String {
    if count == 1 { "1 entry".to_owned() } else { format!("{count} entries") }
}

/// Entries in words, in the order of telling.
struct Told(Vec<(Ix, Line)>);

impl Told {
    fn of(which: &BTreeSet<Ix>, sight: &Sight, desk: &Desk) -> Self {
        let blind = desk.blind(sight.log().document());
        let told = sheet::told(&sight.record, &sight.workshop, &sight.assessment, which, blind.hidden());
        let line = |event: sheet::Event| {
            let ix = sight.log().place(&event.by.entry)?;
            Some((ix, Line { when: desk.when(event.by.when.0), who: event.by.who, text: event.text }))
        };
        Self(told.into_iter().filter_map(line).collect())
    }

    /// The last so many of these.
    fn lines(&self, which: &BTreeSet<Ix>, most: usize) -> Vec<Line> {
        let meant: Vec<&Line> =
            self.0.iter().filter(|(ix, _)| which.contains(ix)).map(|(_, line)| line).collect();
        meant[meant.len().saturating_sub(most)..].iter().map(|line| (*line).clone()).collect()
    }
}

/// What was refused of the record and of the workshop: what, and the way out.
fn refused(record: DocumentId, desk: &Desk) -> Vec<(String, String)> {
    let Some(home) = desk.home() else { return Vec::new() };
    let documents = [Some(record), home.workshop()].into_iter().flatten();
    let aside = documents.filter_map(|document| home.aside(document).ok()).flatten();
    let told = |aside: gudgeon_client::home::Aside| {
        let what = aside.entry.map_or_else(|| "a change".to_owned(), |id| format!("entry {}", id.short()));
        (format!("{what}: {}", aside.rule.replace('-', " ")), aside.hint)
    };
    aside.map(told).collect()
}
