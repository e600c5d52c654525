//! Signatures: bound to what was seen; stale once that no longer stands.

use super::CALCULATION;
use super::finding::{Finding, Rule};
use super::fold::{Assessment, World};
use super::order::latest;
use super::record::Record;
use super::status::Status;
use super::steps::signed_verdict;
use crate::engine::{Definition, Signer};
use crate::entry::EntryId;
use crate::entry::payload::{Meaning, Payload, SignOff, SignedVerdict};
use crate::log::Ix;
use crate::measure::{Verdict, compatible};

/// A signature on a step, and what took its ground away.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Signature {
    /// The sign-off.
    pub by: Ix,
    /// Why it does not stand: what took its ground away, or what it was given without; empty: it does.
    pub stale: Vec<Cause>,
    /// Readings since that agree with what was seen.
    pub read_again: Vec<Ix>,
}

/// Which signature on a step somebody did not know of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Unsigned {
    First,
    Second,
}

impl Unsigned {
    /// `big-end-clearance/2 was not signed`.
    pub(super) fn said_of(self, step: &str) -> String {
        not_signed(&[(step, self)])
    }
}

/// Most steps that are named; of more, how many there are besides.
const NAMED: usize = 5;

/// `piston-in/2 and rod-bolts-free/2 were not signed`.
pub(super) fn not_signed(lacking: &[(&str, Unsigned)]) -> String {
    let of = |wanted| named(lacking, wanted);
    let were = |count: usize| if count == 1 { "was" } else { "were" };
    let first = of(Unsigned::First).map(|(names, count)| format!("{names} {} not signed", were(count)));
    let second = of(Unsigned::Second)
        .map(|(names, count)| format!("{names} {} not signed by a second person", were(count)));
    first.into_iter().chain(second).collect::<Vec<_>>().join("; ")
}

/// `signed before piston-in/2 and rod-bolts-free/2`.
pub(super) fn signed_before(lacking: &[(&str, Unsigned)]) -> String {
    let first = named(lacking, Unsigned::First).map(|(names, _)| names);
    let second =
        named(lacking, Unsigned::Second).map(|(names, _)| format!("the second signature on {names}"));
    let all: Vec<String> = first.into_iter().chain(second).collect();
    format!("signed before {}", all.join(", and before "))
}

/// Those steps by name, and how many they are; none where there are none.
fn named(lacking: &[(&str, Unsigned)], wanted: Unsigned) -> Option<(String, usize)> {
    let all: Vec<&str> = lacking.iter().filter(|(_, what)| *what == wanted).map(|(step, _)| *step).collect();
    let more = all.len().saturating_sub(NAMED);
    let names = match (&all[..], more) {
        ([], _) => return None,
        ([one], _) => (*one).to_owned(),
        ([most @ .., last], 0) => format!("{} and {last}", most.join(", ")),
        (all, more) => format!("{} and {more} more", all[..NAMED].join(", ")),
    };
    Some((names, all.len()))
}

/// What is to be said of the signatures on a step.
struct Told<'a> {
    rule: Rule,
    signers: Vec<&'a str>,
    what: String,
    ids: Vec<EntryId>,
    way_out: Option<String>,
}

/// The way out where nothing can be read again.
const NOT_OF_READINGS: &str = "look at the cause, do again what no longer stands, sign again";

/// Whether only to tell if a signature stands, or to say why not.
#[derive(Clone, Copy)]
enum Look {
    Only,
    Explain,
}

/// What took a signature's ground away, or what it was given without.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cause {
    /// The entries that did, or that are concerned, ascending.
    pub entries: Vec<EntryId>,
    /// In words, of the first entry concerned.
    pub text: String,
    /// How many cited entries more the same took away.
    pub more: usize,
    /// What took it away; with the word, what makes two causes the same.
    by: Vec<Ix>,
    word: &'static str,
    /// Nothing has changed: it was signed without what the step asks for.
    without_evidence: bool,
}

impl Cause {
    pub(super) fn new(mut entries: Vec<EntryId>, text: String) -> Self {
        entries.sort_unstable();
        Self { entries, text, more: 0, by: Vec::new(), word: "", without_evidence: false }
    }

    /// In words, with how many more there are.
    #[must_use]
    pub fn words(&self) -> String {
        format!("{}{}", self.text, and_more(self.more))
    }

    /// Evidence that the step asks for and a signature never had.
    pub(super) fn without_evidence(text: String) -> Self {
        Self { without_evidence: true, ..Self::new(Vec::new(), text) }
    }
}

impl Signature {
    /// Whether it stands.
    #[must_use]
    pub const fn stands(&self) -> bool {
        self.stale.is_empty()
    }

    /// Whether nothing took its ground away, but it was given without the evidence of its step.
    #[must_use]
    pub fn lacks_evidence(&self) -> bool {
        !self.stands() && self.stale.iter().all(|cause| cause.without_evidence)
    }

    /// Whether something has taken its ground away since.
    #[must_use]
    pub fn is_stale(&self) -> bool {
        !self.stands() && !self.lacks_evidence()
    }
}

impl Assessment {
    /// Looks at the signatures of a step anew; returns its findings.
    pub(super) fn settle_signatures(
        &mut self,
        world: World,
        definition: &Definition,
        ix: usize,
    ) -> Vec<Finding> {
        let instance = &definition.steps()[ix];
        let feature = instance.feature.map_or("", |at| definition.feature_at(at).path());
        let mut findings = Vec::new();
        let all: Vec<Ix> = self.sign_offs.get(&instance.id).cloned().unwrap_or_default();
        let live: Vec<Ix> = all.into_iter().filter(|ix| self.outer(world.log(), *ix).is_none()).collect();
        let sign = definition.step_of(instance).sign;
        let may = |ix: &Ix, second: bool| may_sign(world, sign, *ix, second);
        let meant = |ix: &Ix, meaning: Meaning| sign_off(world, *ix).is_some_and(|s| s.meaning == meaning);
        let (done, wrong): (Vec<Ix>, Vec<Ix>) =
            live.iter().copied().filter(|ix| meant(ix, Meaning::Done)).partition(|ix| may(ix, false));
        let signature = self.best(world, ix, &done);
        let signer = signature.as_ref().and_then(|s| self.entries[s.by as usize].person);
        let person = |ix: &Ix| self.entries[*ix as usize].person;
        // Whoever was second to an earlier signature may sign first when it has to be given again.
        let other = |ix: &Ix| done.is_empty() || done.iter().any(|done| person(done) != person(ix));
        let (seconds, same): (Vec<Ix>, Vec<Ix>) = live
            .iter()
            .copied()
            .filter(|ix| meant(ix, Meaning::SecondPerson))
            .partition(|ix| may(ix, true) && other(ix));
        let beside: Vec<Ix> = seconds.iter().copied().filter(|ix| person(ix) != signer).collect();
        let second = self.best(world, ix, &beside);
        let say = |rule: Rule, ids: Vec<EntryId>, text: String| {
            Finding::new(rule, feature, &instance.id, ids, text)
        };
        for ix in wrong.iter().chain(&same) {
            let why = if wrong.contains(ix) {
                "may not sign this step"
            } else {
                "signed as second person what they signed themselves"
            };
            let text = format!("{} {why}", self.author(world, *ix));
            findings.push(say(Rule::WrongSigner, self.ids(world, &[*ix]), text));
        }
        for told in self.told_of(world, [&signature, &second].into_iter().flatten()) {
            let text = format!("signed by {}{}", told.signers.join(" and by "), told.what);
            findings.push(say(told.rule, told.ids, text).with_way_out(told.way_out));
        }
        if let Some((one, other)) = self.apart(world, &done) {
            let text = format!(
                "signed by {} and by {}, neither knowing of the other",
                self.author(world, one),
                self.author(world, other)
            );
            findings.push(say(Rule::SignedByTwo, self.ids(world, &[one, other]), text));
        }
        self.steps[ix].signature = signature;
        self.steps[ix].second = second;
        self.steps[ix].done = done;
        self.steps[ix].seconds = seconds;
        findings
    }

    /// What is to be said of signatures on a step; what is the same of both, once.
    fn told_of<'a>(
        &'a self,
        world: World<'a>,
        signatures: impl Iterator<Item = &'a Signature>,
    ) -> Vec<Told<'a>> {
        let mut all: Vec<Told> = Vec::new();
        for signature in signatures {
            let Some(told) = self.told(world, signature) else { continue };
            match all.iter_mut().find(|other| other.rule == told.rule && other.what == told.what) {
                Some(other) => {
                    other.signers.extend(told.signers);
                    other.ids.extend(told.ids);
                }
                None => all.push(told),
            }
        }
        all
    }

    fn told<'a>(&'a self, world: World<'a>, signature: &Signature) -> Option<Told<'a>> {
        let mut ids = self.ids(world, &[signature.by]);
        let (rule, what) = match signature.stale.first() {
            None if signature.read_again.is_empty() => return None,
            None => (Rule::ReadAgain, "; read again since, and it agrees".to_owned()),
            Some(first) if signature.lacks_evidence() => {
                (Rule::SignedWithoutEvidence, format!(" without its evidence: {}", first.words()))
            }
            Some(first) => (Rule::StaleSignOff, format!(": {}", first.words())),
        };
        ids.extend(self.ids(world, &signature.read_again).iter().filter(|_| rule == Rule::ReadAgain));
        ids.extend(signature.stale.iter().flat_map(|cause| cause.entries.iter().copied()));
        let way_out = (rule == Rule::StaleSignOff && !rests_on_reading(world, signature))
            .then(|| NOT_OF_READINGS.to_owned());
        Some(Told { rule, signers: vec![self.author(world, signature.by)], what, ids, way_out })
    }

    /// What the author of an entry lacked of a step that comes first; none: they knew it signed, and
    /// by a second person where it asks for one.
    pub(super) fn unsigned_to(
        &self,
        world: World,
        definition: &Definition,
        before: usize,
        by: Ix,
    ) -> Option<Unsigned> {
        let step = &self.steps[before];
        let known = |list: &[Ix]| list.iter().any(|signed| world.log().knows(by, *signed));
        let wants_second = definition.step_of(&definition.steps()[before]).second_person;
        match () {
            () if !known(&step.done) => Some(Unsigned::First),
            () if wants_second && !known(&step.seconds) => Some(Unsigned::Second),
            () => None,
        }
    }

    /// Two signatures of two people who did not know of each other, the first by id.
    fn apart(&self, world: World, done: &[Ix]) -> Option<(Ix, Ix)> {
        let log = world.log();
        let person = |ix: Ix| self.entries[ix as usize].person;
        let apart = |a: Ix, b: Ix| person(a) != person(b) && !log.knows(a, b) && !log.knows(b, a);
        let mut by_id = done.to_vec();
        by_id.sort_unstable_by_key(|ix| log.at(*ix).id);
        let pairs =
            by_id.iter().enumerate().flat_map(|(at, a)| by_id[at + 1..].iter().map(move |b| (*a, *b)));
        pairs.into_iter().find(|(a, b)| apart(*a, *b))
    }

    /// Of several signatures one that stands, else the newest; by id where concurrent.
    fn best(&self, world: World, step: usize, list: &[Ix]) -> Option<Signature> {
        if let [one] = *list {
            return Some(self.look_at(world, step, one, Look::Explain));
        }
        let stands = |ix: &Ix| self.look_at(world, step, *ix, Look::Only).stands();
        let standing: Vec<Ix> = list.iter().copied().filter(stands).collect();
        let among = if standing.is_empty() { list } else { &standing };
        let newest = *latest(world.log(), among.iter().copied()).first()?;
        Some(self.look_at(world, step, newest, Look::Explain))
    }

    fn look_at(&self, world: World, step: usize, by: Ix, look: Look) -> Signature {
        let mut signature = Signature { by, stale: Vec::new(), read_again: Vec::new() };
        let Some(sign_off) = sign_off(world, by) else { return signature };
        if self.halted {
            let text = "an entry here is of a newer version, so nothing is judged".to_owned();
            signature.stale.push(Cause::new(Vec::new(), text));
            return signature;
        }
        let as_found = self.is_as_found(step);
        let mut changed_since = false;
        for id in &sign_off.evidence {
            if matches!(look, Look::Only) && !signature.stands() {
                return signature;
            }
            if as_found && self.changed_knowing(world, by, *id) {
                changed_since = true;
            } else {
                self.look_at_ground(world, *id, look, &mut signature);
            }
        }
        if changed_since {
            return signature;
        }
        for seen in &sign_off.verdicts {
            self.look_at_verdict(world, seen, &mut signature);
        }
        self.look_for_more(world, step, sign_off, &mut signature);
        signature
    }

    fn is_as_found(&self, step: usize) -> bool {
        let Some(definition) = &self.definition else { return false };
        definition.steps().get(step).is_some_and(|instance| definition.step_of(instance).as_found)
    }

    /// Whether work by somebody who knew of the signature ended a cited entry, or it was read again
    /// once fasteners had been pulled since: how things were found stays true when they are changed
    /// afterwards, and a trial build when it is built for good.
    fn changed_knowing(&self, world: World, by: Ix, id: EntryId) -> bool {
        let log = world.log();
        let before = |a: Ix, b: Ix| self.is_before(world, a, b);
        let Some(cited) = log.place(&id).filter(|place| log.knows(by, *place)) else { return false };
        match &self.entries[cited as usize].status {
            Status::Ended(op) => before(by, *op),
            Status::Superseded(again) => {
                let mut pulled = self.groups.values().flat_map(|group| group.acts.iter().copied());
                pulled.any(|act| before(by, act) && before(act, *again))
            }
            Status::Stands
            | Status::NotCounted
            | Status::Voided(_)
            | Status::Replaced(_)
            | Status::Doubtful(_)
            | Status::Undecided(_)
            | Status::Disputed
            | Status::Outvoted => false,
        }
    }

    /// Whether one of the cited entries still stands.
    fn look_at_ground(&self, world: World, id: EntryId, look: Look, signature: &mut Signature) {
        let log = world.log();
        let Some(cited) = log.place(&id).filter(|place| log.knows(signature.by, *place)) else {
            let text = format!("it cites entry {}, which its signer did not hold", id.short());
            return signature.stale.push(Cause::new(vec![id], text));
        };
        let status = &self.entries[cited as usize].status;
        let causes = status.causes();
        match status {
            Status::Stands => {}
            Status::Superseded(again)
                if let Some((part, whom)) = self.away_between(world, (cited, *again)) =>
            {
                let what = self.cited_words(world, cited);
                let text = format!("{what} was read before {part} was with {whom}");
                signature.stale.push(Cause::new(self.ids(world, &[cited, *again]), text));
            }
            Status::Superseded(again) if self.agrees(cited, *again) => signature.read_again.push(*again),
            Status::NotCounted
            | Status::Voided(_)
            | Status::Superseded(_)
            | Status::Replaced(_)
            | Status::Ended(_)
            | Status::Doubtful(_)
            | Status::Undecided(_)
            | Status::Disputed
            | Status::Outvoted => {
                let same = |cause: &&mut Cause| cause.word == status.word() && cause.by == causes;
                if let Some(cause) = signature.stale.iter_mut().find(same) {
                    cause.more += 1;
                    let at = cause.entries.partition_point(|other| *other < id);
                    return cause.entries.insert(at, id);
                }
                let mut entries = self.ids(world, causes);
                entries.push(id);
                entries.sort_unstable();
                let text = match look {
                    Look::Explain => self.why(world, cited, status),
                    Look::Only => String::new(),
                };
                let cause = Cause { by: causes.to_vec(), word: status.word(), ..Cause::new(entries, text) };
                signature.stale.push(cause);
            }
        }
    }

    /// Whether a later reading of the same place agrees with an earlier one.
    fn agrees(&self, earlier: Ix, later: Ix) -> bool {
        let sized = |ix: Ix| {
            let subject = self.entries[ix as usize].subject?;
            self.subjects[subject].reading(ix)
        };
        match (sized(earlier), sized(later)) {
            (Some(a), Some(b)) => match (a.sized.u, b.sized.u) {
                (Some(ua), Some(ub)) => {
                    compatible((a.sized.value, ua.expanded()), (b.sized.value, ub.expanded()))
                }
                _ => a.sized.value == b.sized.value,
            },
            _ => false,
        }
    }

    fn why(&self, world: World, cited: Ix, status: &Status) -> String {
        let what = self.cited_words(world, cited);
        let causes = status.causes().iter().map(|ix| self.did(world, *ix));
        let by = causes.collect::<Vec<String>>().join("; ");
        match status {
            Status::Ended(op) => {
                let reason = self.reason_of(world, *op, cited).map(|r| format!(": {r}")).unwrap_or_default();
                format!("{what} was ended when {by}{reason}")
            }
            Status::Voided(_) => format!("{what}: {by}"),
            Status::Superseded(_) if is_check(world, cited) => format!("{what} was done again: {by}"),
            Status::Superseded(_) => format!("{what} was read again and differs: {by}"),
            Status::Replaced(_) => format!("{what} was replaced: {by}"),
            Status::Doubtful(_) => format!("{what}: {by}"),
            Status::Undecided(_) => format!("{what}: {by}, and neither knew of the other; before or after?"),
            Status::Disputed => format!("{what} is disputed"),
            Status::Outvoted => format!("{what} is outvoted by readings that agree on another value"),
            Status::NotCounted => format!("{what} does not count"),
            Status::Stands => what,
        }
    }

    fn cited_words(&self, world: World, ix: Ix) -> String {
        match &world.log().at(ix).payload {
            Ok(Payload::Reading(reading)) => {
                let at = if reading.station.is_empty() {
                    String::new()
                } else {
                    format!(" at {}", reading.station)
                };
                format!("{} {}{at}, {}", reading.feature, reading.characteristic, self.said(world, ix))
            }
            Ok(Payload::Tightening(done)) => format!("tightening of {} at {}", done.group, done.place),
            Ok(Payload::Check(check)) if check.feature.is_empty() => format!("check {}", check.check),
            Ok(Payload::Check(check)) => format!("check {} at {}", check.check, check.feature),
            Ok(Payload::Fitting(fitting)) => format!("{} at {}", fitting.part, fitting.place),
            Ok(Payload::Decision(decision)) => format!("the decision on {}", decision.subject),
            _ => "what it rests on".to_owned(),
        }
    }

    /// Why an operation ended an entry, in the words of the table.
    fn reason_of(&self, world: World, op: Ix, cited: Ix) -> Option<String> {
        let operated = self.operations.iter().find(|operated| operated.by == op)?;
        let (path, characteristic) = match &world.log().at(cited).payload {
            Ok(Payload::Reading(reading)) => {
                (reading.feature.as_str(), Some(reading.characteristic.as_str()))
            }
            Ok(Payload::Tightening(done)) => (done.place.as_str(), None),
            Ok(Payload::Check(check)) => (check.feature.as_str(), None),
            _ => return None,
        };
        let hit = |(pattern, what, _): &&(crate::engine::FeaturePattern, crate::engine::What, String)| {
            pattern.matches_path(path) && characteristic.is_none_or(|name| what.ends_reading(name))
        };
        operated.reach.ends.iter().find(hit).map(|(_, _, reason)| reason.clone())
    }

    fn look_at_verdict(&self, world: World, seen: &SignedVerdict, signature: &mut Signature) {
        let today = self.judged_on(&seen.feature, &seen.characteristic);
        let now = today.map(|judged| judged.verdict().code());
        if now == Some(seen.verdict) || !signature.stale.is_empty() {
            return;
        }
        let word = |code: Option<u32>| {
            code.and_then(Verdict::from_code)
                .map_or_else(|| "nothing".to_owned(), |verdict| verdict.to_string())
        };
        let text = format!(
            "{} {} was {} when it was signed and is {} now",
            seen.feature,
            seen.characteristic,
            word(Some(seen.verdict)),
            word(now)
        );
        let entries = today.map(|judged| self.ids(world, &judged.readings)).unwrap_or_default();
        signature.stale.push(Cause::new(entries, text));
    }

    /// What a sign-off of this step cites if it is given now: the entries, and the verdicts.
    #[must_use]
    pub fn ground_of(&self, step: usize) -> (Vec<Ix>, Vec<SignedVerdict>) {
        let evidence = || self.steps[step].evidence.iter().filter(|e| e.met);
        let mut entries: Vec<Ix> = evidence().flat_map(|e| e.entries.iter().copied()).collect();
        entries.sort_unstable();
        entries.dedup();
        (entries, evidence().flat_map(|e| e.verdicts.iter().cloned()).collect())
    }

    /// A signature on a step as it is given now: on all that the step rests on.
    #[must_use]
    pub fn sign_off_now(
        &self,
        record: &Record,
        step: usize,
        meaning: Meaning,
        printed_name: &str,
    ) -> SignOff {
        let (entries, verdicts) = self.ground_of(step);
        let mut evidence: Vec<EntryId> = entries.iter().map(|ix| record.log().at(*ix).id).collect();
        evidence.sort_unstable();
        SignOff {
            step: self.steps[step].id.to_string(),
            meaning,
            evidence,
            verdicts,
            calculation: CALCULATION,
            printed_name: printed_name.to_owned(),
        }
    }

    /// What a signer sees of a value, for a signature on it.
    #[must_use]
    pub fn verdict_on(&self, path: &str, name: &str) -> Option<SignedVerdict> {
        self.judged_on(path, name).map(|judged| signed_verdict(path, judged))
    }
}

/// Whether the role of a signature's key suffices; a second person may be any that works.
fn may_sign(world: World, sign: Signer, ix: Ix, second: bool) -> bool {
    let roles = world.workshop.roster().roles_of(world.log().at(ix).key);
    roles.lead || roles.member && (second || sign == Signer::Member)
}

fn is_check(world: World, ix: Ix) -> bool {
    matches!(&world.log().at(ix).payload, Ok(Payload::Check(_)))
}

/// Whether a signature lost its ground to what can be read again; where nothing is named, it may be.
fn rests_on_reading(world: World, signature: &Signature) -> bool {
    let mut causes = signature.stale.iter().flat_map(|cause| &cause.entries).peekable();
    let reading = |id: &EntryId| {
        let held = world.log().place(id).map(|ix| &world.log().at(ix).payload);
        !matches!(held, Some(Ok(payload)) if !matches!(payload, Payload::Reading(_)))
    };
    causes.peek().is_none() || causes.any(reading)
}

/// ` (and 2 more)`, or nothing.
pub(super) fn and_more(more: usize) -> String {
    if more == 0 { String::new() } else { format!(" (and {more} more)") }
}

fn sign_off<'w>(world: World<'w>, ix: Ix) -> Option<&'w SignOff> {
    match &world.log().at(ix).payload {
        Ok(Payload::SignOff(sign_off)) => Some(sign_off),
        _ => None,
    }
}
