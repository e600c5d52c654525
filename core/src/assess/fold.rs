//! The fold's state, and how one entry more changes it.
//!
//! Taking in an entry only files it and marks what it touches; computing then visits what
//! was marked. The full fold is the same two steps over all entries, so that incremental
//! and full cannot differ by construction. What reaches far and comes rarely (a definition,
//! the roster, a limit, a fitting, a removed key's entry) computes everything anew.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::finding::Finding;
use super::order::{Orders, Sequence, latest};
use super::record::Record;
use super::status::{PersonId, Status};
use super::subject::{Subject, SubjectIx};
use super::tightening::{Group, GroupKey};
use super::workshop::{Gauges, Workshop};
use crate::engine::{Definition, Feature, FeaturePattern, What};
use crate::entry::payload::Payload;
use crate::entry::{EntryId, KeyId, Kind};
use crate::log::{Ix, Log};
use crate::roster::NotCounted;

/// What became of an entry, and whose it is.
#[derive(Clone, Debug)]
pub(super) struct Judgedness {
    pub(super) counts: Result<(), NotCounted>,
    pub(super) person: Option<PersonId>,
    pub(super) status: Status,
    /// The subject that a reading is filed with.
    pub(super) subject: Option<SubjectIx>,
    /// Steps whose signatures cite it.
    pub(super) cited: Vec<usize>,
}

/// An operation and what it reaches.
#[derive(Clone, Debug)]
pub(super) struct Operated {
    pub(super) by: Ix,
    pub(super) reach: Arc<Reach>,
}

/// What an operation on some features ends.
#[derive(Clone, Debug, Default)]
pub(super) struct Reach {
    /// Where, what, and why in plain words.
    pub(super) ends: Vec<(FeaturePattern, What, String)>,
    /// Those of them that end something else than readings: tightenings, checks.
    pub(super) other_ends: Vec<(FeaturePattern, What)>,
    /// The subjects on which readings end, and which.
    pub(super) subjects: Vec<(SubjectIx, What)>,
}

impl Reach {
    /// Whether anything at a place ends that is not a reading.
    pub(super) fn is_at(&self, path: &str) -> bool {
        self.other_ends.iter().any(|(pattern, _)| pattern.matches_path(path))
    }
}

/// A part at a place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Placed {
    pub(super) part: Arc<str>,
    pub(super) by: Ix,
}

/// Where findings come from, so that they can be replaced piece by piece.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Source {
    Record,
    Entry(EntryId),
    Subject(SubjectIx),
    Group(GroupKey),
    Check(CheckKey),
    Step(usize),
    /// Parts on their way.
    Goods,
    /// How the turning torque rose.
    Rises,
    /// Work on a step, ahead of its order.
    Ahead(usize),
    /// Work on a step, begun before it was through on another feature.
    Beside(usize),
}

/// A check of a name on a feature.
pub(super) type CheckKey = (Arc<str>, Arc<str>);

/// Everything that follows from the entries.
///
/// Made by [`super::assess`] and kept up to date by [`Assessment::update`].
#[derive(Clone, Debug)]
pub struct Assessment {
    pub(super) seen: usize,
    /// How many entries missed their ground when it was last computed.
    pub(super) waiting: usize,
    /// Whether an entry is cut off until another is here: any that comes may be that one.
    pub(super) awaiting: bool,
    pub(super) generation: (u32, usize),
    pub(super) definition: Option<Arc<Definition>>,
    pub(super) halted: bool,
    pub(super) entries: Vec<Judgedness>,
    pub(super) orders: Orders,
    pub(super) voids: BTreeMap<Ix, Vec<Ix>>,
    pub(super) failed_gauge_checks: BTreeMap<Arc<str>, Vec<Ix>>,
    pub(super) good_gauge_checks: BTreeMap<Arc<str>, Vec<Ix>>,
    /// Characteristic -> feature -> changes of its limit.
    pub(super) limit_changes: BTreeMap<Arc<str>, BTreeMap<Arc<str>, Vec<Ix>>>,
    pub(super) choices: BTreeMap<(Kind, Arc<str>), Vec<Ix>>,
    pub(super) operations: Vec<Operated>,
    /// How many operations have been filed with the subjects.
    pub(super) operations_filed: usize,
    /// Groups that were slackened.
    pub(super) slackenings: Vec<Ix>,
    /// How many of them have been filed with the subjects.
    pub(super) slackenings_filed: usize,
    pub(super) fittings: BTreeMap<Arc<str>, Vec<Ix>>,
    pub(super) placed: BTreeMap<Arc<str>, Vec<Placed>>,
    /// Place -> parts that were fitted there and left.
    pub(super) left: BTreeMap<Arc<str>, Vec<super::places::Left>>,
    pub(super) subjects: Vec<Subject>,
    pub(super) subject_of: BTreeMap<(Arc<str>, Arc<str>), SubjectIx>,
    /// Subject -> subjects whose derived values read it.
    pub(super) readers: Vec<BTreeSet<SubjectIx>>,
    pub(super) groups: BTreeMap<GroupKey, Group>,
    pub(super) checks: BTreeMap<CheckKey, Vec<Ix>>,
    pub(super) parts_received: BTreeMap<Arc<str>, Vec<Ix>>,
    pub(super) sign_offs: BTreeMap<Arc<str>, Vec<Ix>>,
    pub(super) concessions: Vec<Ix>,
    pub(super) approvals: Vec<Ix>,
    pub(super) custodies: Vec<Ix>,
    /// Parts that are out, or back and not measured since.
    pub(super) away: BTreeMap<Arc<str>, super::goods::Away>,
    /// Stages that stand on what holds a part that has been away: with which, and whom.
    pub(super) built_in: BTreeMap<Ix, String>,
    /// How the turning torque rose with each cylinder.
    pub(super) rises: Vec<super::rise::Rise>,
    pub(super) stops: Vec<Ix>,
    pub(super) resumes: Vec<Ix>,
    pub(super) hand_overs: Vec<Ix>,
    pub(super) reopens: Vec<Ix>,
    pub(super) steps: Vec<super::steps::StepState>,
    /// Key -> its latest device time so far, and the entry at which its clock first ran back.
    pub(super) clocks: BTreeMap<KeyId, (i64, Option<EntryId>)>,
    pub(super) findings: BTreeMap<Source, Vec<Finding>>,
    pub(super) dirty: Dirty,
}

/// What must be computed anew.
#[derive(Clone, Debug, Default)]
pub(super) struct Dirty {
    pub(super) everything: bool,
    pub(super) subjects: BTreeSet<SubjectIx>,
    pub(super) groups: BTreeSet<GroupKey>,
    pub(super) checks: BTreeSet<CheckKey>,
    pub(super) steps: BTreeSet<usize>,
    pub(super) places: bool,
    /// Parts came, were fitted or moved, or metal was cut.
    pub(super) goods: bool,
}

impl Dirty {
    /// Marks a subject; where everything is marked there is nothing to remember.
    pub(super) fn subject(&mut self, ix: SubjectIx) {
        if !self.everything {
            self.subjects.insert(ix);
        }
    }

    /// Marks steps, as [`Dirty::subject`] does.
    pub(super) fn steps(&mut self, steps: &[usize]) {
        if !self.everything {
            self.steps.extend(steps);
        }
    }
}

/// What the fold reads besides its own state.
#[derive(Clone, Copy)]
pub(super) struct World<'a> {
    pub(super) record: &'a Record,
    pub(super) workshop: &'a Workshop,
}

impl<'a> World<'a> {
    pub(super) const fn log(&self) -> &'a Log {
        self.record.log()
    }
}

impl Assessment {
    pub(super) fn empty() -> Self {
        Self {
            seen: 0,
            waiting: 0,
            awaiting: false,
            generation: (0, 0),
            definition: None,
            halted: false,
            entries: Vec::new(),
            orders: Orders::default(),
            voids: BTreeMap::new(),
            failed_gauge_checks: BTreeMap::new(),
            good_gauge_checks: BTreeMap::new(),
            limit_changes: BTreeMap::new(),
            choices: BTreeMap::new(),
            operations: Vec::new(),
            operations_filed: 0,
            slackenings: Vec::new(),
            slackenings_filed: 0,
            fittings: BTreeMap::new(),
            placed: BTreeMap::new(),
            left: BTreeMap::new(),
            subjects: Vec::new(),
            subject_of: BTreeMap::new(),
            readers: Vec::new(),
            groups: BTreeMap::new(),
            checks: BTreeMap::new(),
            parts_received: BTreeMap::new(),
            sign_offs: BTreeMap::new(),
            concessions: Vec::new(),
            approvals: Vec::new(),
            custodies: Vec::new(),
            away: BTreeMap::new(),
            built_in: BTreeMap::new(),
            rises: Vec::new(),
            stops: Vec::new(),
            resumes: Vec::new(),
            hand_overs: Vec::new(),
            reopens: Vec::new(),
            steps: Vec::new(),
            clocks: BTreeMap::new(),
            findings: BTreeMap::new(),
            dirty: Dirty::default(),
        }
    }

    /// Takes in what is new in the record or the workshop.
    ///
    /// Gives the same as [`super::assess`] over the same entries.
    pub fn update(&mut self, record: &Record, workshop: &Workshop) {
        let world = World { record, workshop };
        let generation = (record.generation(), workshop.generation());
        if self.generation != generation || self.must_start_over(world) {
            *self = Self::empty();
            self.generation = generation;
            self.begin(world);
        }
        let from = self.seen;
        self.entries.reserve(world.log().folded().len() - from);
        let gauges = Gauges::of(record.marks(), workshop);
        for ix in (0..).zip(record.log().folded()).skip(from).map(|(ix, _)| ix) {
            self.take_in(world, &gauges, ix);
        }
        self.seen = record.log().folded().len();
        self.waiting = record.log().waiting().count();
        self.compute(world, from);
    }

    /// Whether one of the new entries reaches too far for piecework.
    fn must_start_over(&self, world: World) -> bool {
        let new = &world.log().folded()[self.seen..];
        let far_reaching = self.seen > 0
            && new.iter().any(|statement| {
                let far = matches!(
                    statement.kind(),
                    Some(
                        Kind::Founding
                            | Kind::LimitChange
                            | Kind::Fitting
                            | Kind::Void
                            | Kind::HandOver
                            | Kind::Reopen
                    ) | None
                );
                far || !world.workshop.roster().removals_of(statement.key).is_empty()
            });
        far_reaching || (self.awaiting && !new.is_empty()) || self.may_be_reached_now(world)
    }

    /// Whether an entry that a removal cut may count by now: one that misses its ground, and is
    /// not folded, may have come and reach it from an accepted one.
    fn may_be_reached_now(&self, world: World) -> bool {
        let stirred = self.waiting > 0 || world.log().waiting().next().is_some();
        let cut = |entry: &Judgedness| entry.counts.is_err_and(NotCounted::is_cut);
        stirred && self.entries.iter().any(cut)
    }

    /// Files every feature of the definition as a subject, so that all have a place.
    fn begin(&mut self, world: World) {
        self.definition = world.record.definition().cloned();
        if let Some(definition) = self.definition.clone() {
            self.subjects.reserve(definition.features().len());
            for feature in definition.features() {
                self.subject(feature, "");
            }
            self.steps = super::steps::begin(&definition);
        }
        self.halted = !world.workshop.roster().unjudged().is_empty();
        self.dirty.everything = true;
    }

    /// The subject of a feature and part; new ones may feed any derived value.
    pub(super) fn subject(&mut self, feature: &Feature, part: &str) -> SubjectIx {
        // Features of the engine were filed first, in order: their index is the subject's.
        if let (Some(ix), "") = (feature.ix(), part) {
            let ix = ix.index();
            if self.subjects.get(ix).is_some_and(|subject| subject.feature.ix() == feature.ix()) {
                return ix;
            }
        }
        let key = (feature.shared_path(), Arc::from(part));
        if let Some(ix) = self.subject_of.get(&key) {
            return *ix;
        }
        let ix = self.subjects.len();
        self.subject_of.insert(key, ix);
        self.subjects.push(Subject::new(feature.clone(), part));
        self.readers.push(BTreeSet::new());
        self.dirty.everything = true;
        ix
    }

    /// Whether an entry counts and nothing outside its own subject took it away.
    pub(super) fn outer(&self, log: &Log, ix: Ix) -> Option<Status> {
        if self.entries[ix as usize].counts.is_err() {
            return Some(Status::NotCounted);
        }
        if let Some(voids) = self.voids.get(&ix) {
            return Some(voided(log, voids));
        }
        self.doubt(log, ix).map(Status::Doubtful)
    }

    /// The failed gauge check that puts a reading in doubt: no good check lies between them.
    ///
    /// A failure that neither knew of the other's puts it in doubt too: the gauge was found
    /// out, and nothing says that it was sound before. An order entry may settle the pair.
    fn doubt(&self, log: &Log, ix: Ix) -> Option<Ix> {
        // Asked for every reading, and hardly ever is a gauge found out.
        if self.failed_gauge_checks.is_empty() {
            return None;
        }
        let Ok(Payload::Reading(reading)) = &log.at(ix).payload else { return None };
        let failed = self.failed_gauge_checks.get(reading.gauge.as_str())?;
        let good = self.good_gauge_checks.get(reading.gauge.as_str());
        let counts = |check: &Ix| self.counts(*check) && !self.voids.contains_key(check);
        let cleared = |bad: Ix| {
            let between = |ok: &Ix| counts(ok) && log.knows(*ok, ix) && log.knows(bad, *ok);
            good.is_some_and(|good| good.iter().any(between))
        };
        let after = |bad: Ix| self.orders.sequence(log, ix, bad) == Sequence::After;
        let reaching = failed.iter().copied().filter(|bad| counts(bad) && !after(*bad) && !cleared(*bad));
        latest(log, reaching).first().copied()
    }

    /// Whether one entry lies before another, by what their authors knew or by an order entry.
    pub(super) fn is_before(&self, world: World, one: Ix, other: Ix) -> bool {
        self.orders.sequence(world.log(), one, other) == Sequence::Before
    }

    pub(super) fn counts(&self, ix: Ix) -> bool {
        self.entries[ix as usize].counts.is_ok()
    }

    /// Name of the person behind an entry, for sentences.
    pub(super) fn author<'w>(&self, world: World<'w>, ix: Ix) -> &'w str {
        self.entries[ix as usize]
            .person
            .and_then(|person| world.workshop.roster().name_of(person))
            .unwrap_or("somebody unknown")
    }
}

/// What became of an entry with these voids.
pub(super) fn voided(log: &Log, voids: &[Ix]) -> Status {
    let mut by = voids.to_vec();
    by.sort_unstable_by_key(|ix| log.at(*ix).id);
    Status::Voided(by)
}
