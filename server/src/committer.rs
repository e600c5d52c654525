//! The one who keeps the documents and the store: exchanges in groups, one flush a group.
//!
//! A thread takes what waits in the queue, puts it into the documents and the store, flushes
//! once, and only then answers, shows it to the watchers, and reads the roster anew. What is
//! not durable is thus never shown to anybody: nobody else can look into the documents.
//!
//! When the store fails, nobody of the group is answered but with what went wrong; the
//! documents concerned are dropped from memory, and the store is opened again before the next
//! group, which reads back what is truly there.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use gudgeon_core::document::ChangeHash;
use gudgeon_core::entry::{DocumentId, EntryId, read_checked};
use gudgeon_core::log::Log;
use gudgeon_core::roster::Roster;
use tokio::sync::{broadcast, mpsc, oneshot};

use crate::desk::{Answer, Ask, Checked, Desk, Taken, workshop_of};
use crate::limits::{GROUP, GROUP_BYTES, NEWS, WAITING};
use crate::session::Caller;
use crate::standing::{Denied, Standing, standing};
use crate::store::{Append, RefusedRow, Store, StoreError, Trouble};

/// Opens the store, at the start and again after it failed.
pub type Opener = Box<dyn FnMut() -> Result<Box<dyn Store>, StoreError> + Send>;

/// The relay's clock: milliseconds since 1970, UTC.
pub type Clock = Arc<dyn Fn() -> i64 + Send + Sync>;

/// Why an exchange got no answer. Nothing of it was kept, unless the store failed: then some
/// of it may have been, and asking again does no harm.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoAnswer {
    /// This key may not ask this.
    #[error(transparent)]
    Denied(#[from] Denied),
    /// The store does not work.
    #[error("the relay cannot keep anything now: {said}; {hint}")]
    Store {
        /// What sort of trouble.
        trouble: Trouble,
        /// What happened.
        said: String,
        /// The way out, for whoever runs the relay.
        hint: &'static str,
    },
    /// Too many wait, or the relay is stopping.
    #[error("the relay is busy or stopping; try again in a moment")]
    Busy,
}

impl From<&StoreError> for NoAnswer {
    fn from(error: &StoreError) -> Self {
        Self::Store { trouble: error.trouble(), said: error.to_string(), hint: error.hint() }
    }
}

/// What became durable, for those who watch.
#[derive(Clone, Debug)]
pub struct News {
    /// The workshop it belongs to.
    pub workshop: DocumentId,
    /// The document.
    pub document: DocumentId,
    /// Its heads now.
    pub heads: Vec<ChangeHash>,
    /// The changes, each after those it names.
    pub changes: Vec<Arc<[u8]>>,
}

/// Which workshops a relay serves.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Serves {
    /// These.
    Only(BTreeSet<DocumentId>),
    /// The first that comes, for good.
    First,
}

/// Setting: the workshop that came first.
const FIRST: &str = "workshop";

enum Job {
    Exchange { caller: Caller, ask: Ask, checked: Checked, answer: oneshot::Sender<Result<Answer, NoAnswer>> },
    Standing { caller: Caller, answer: oneshot::Sender<Result<Standing, NoAnswer>> },
    End,
}

/// The way to the committer; as many as one likes.
#[derive(Clone)]
pub struct Committer {
    jobs: mpsc::Sender<Job>,
    news: broadcast::Sender<Arc<News>>,
}

impl std::fmt::Debug for Committer {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Committer").finish_non_exhaustive()
    }
}

/// The committer's thread; it ends when it is told to, or when the last [`Committer`] is gone.
pub type Handle = std::thread::JoinHandle<()>;

impl Committer {
    /// Starts the thread.
    ///
    /// # Errors
    /// [`StoreError`] if the store does not open, or the system has no thread left.
    pub fn start(mut open: Opener, serves: Serves, clock: Clock) -> Result<(Self, Handle), StoreError> {
        let store = open()?;
        let (jobs, waiting) = mpsc::channel(WAITING);
        let (news, _) = broadcast::channel(NEWS);
        let mut keeper = Keeper::new(store, open, serves, clock, news.clone());
        let thread = std::thread::Builder::new().name("committer".to_owned());
        let handle = thread
            .spawn(move || keeper.run(waiting))
            .map_err(|error| StoreError::new(Trouble::Device, "starting the committer", error))?;
        Ok((Self { jobs, news }, handle))
    }

    /// One exchange; answers when what was taken is durable.
    ///
    /// # Errors
    /// [`NoAnswer`].
    pub async fn exchange(&self, caller: Caller, ask: Ask, checked: Checked) -> Result<Answer, NoAnswer> {
        let (answer, answered) = oneshot::channel();
        self.jobs.try_send(Job::Exchange { caller, ask, checked, answer }).map_err(|_| NoAnswer::Busy)?;
        answered.await.unwrap_or(Err(NoAnswer::Busy))
    }

    /// What a key may do now.
    ///
    /// # Errors
    /// [`NoAnswer`].
    pub async fn standing(&self, caller: Caller) -> Result<Standing, NoAnswer> {
        let (answer, answered) = oneshot::channel();
        self.jobs.try_send(Job::Standing { caller, answer }).map_err(|_| NoAnswer::Busy)?;
        answered.await.unwrap_or(Err(NoAnswer::Busy))
    }

    /// Tells it to end once what was asked before is answered; whoever asks when it has ended
    /// is told that the relay is stopping.
    pub async fn end(&self) {
        // An error means that it has ended already.
        let _ended = self.jobs.send(Job::End).await;
    }

    /// What becomes durable from now on.
    #[must_use]
    pub fn watch(&self) -> broadcast::Receiver<Arc<News>> {
        self.news.subscribe()
    }
}

/// A job of a group, between taking and answering.
struct Pending {
    ask: Ask,
    brings: bool,
    taken: Taken,
    answer: oneshot::Sender<Result<Answer, NoAnswer>>,
}

struct Keeper {
    store: Option<Box<dyn Store>>,
    open: Opener,
    serves: Serves,
    clock: Clock,
    news: broadcast::Sender<Arc<News>>,
    desk: Desk,
    /// Documents that were looked for in the store: on the desk, or not held.
    known: BTreeSet<DocumentId>,
    rosters: BTreeMap<DocumentId, Arc<Roster>>,
    /// The workshop that came first, where that decides and one has come.
    first: Option<DocumentId>,
}

impl Keeper {
    fn new(
        store: Box<dyn Store>,
        open: Opener,
        serves: Serves,
        clock: Clock,
        news: broadcast::Sender<Arc<News>>,
    ) -> Self {
        Self {
            store: Some(store),
            open,
            serves,
            clock,
            news,
            desk: Desk::new(),
            known: BTreeSet::new(),
            rosters: BTreeMap::new(),
            first: None,
        }
    }

    fn run(&mut self, mut waiting: mpsc::Receiver<Job>) {
        while let Some(first) = waiting.blocking_recv() {
            let mut bytes = size(&first);
            let mut group = vec![first];
            while group.len() < GROUP
                && bytes < GROUP_BYTES
                && let Ok(job) = waiting.try_recv()
            {
                bytes += size(&job);
                group.push(job);
            }
            let ends = group.iter().any(|job| matches!(job, Job::End));
            self.serve(group);
            if ends {
                break;
            }
        }
        tracing::info!("the committer ends; everything answered is durable");
    }

    fn serve(&mut self, group: Vec<Job>) {
        if let Err(error) = self.reopen() {
            return group.into_iter().for_each(|job| refuse(job, &error));
        }
        let mut pending = Vec::with_capacity(group.len());
        let mut asking = Vec::new();
        let mut bytes = 0;
        for job in group {
            bytes += size(&job);
            match job {
                Job::End => {}
                Job::Standing { caller, answer } => asking.push((caller, answer)),
                Job::Exchange { caller, ask, checked, answer } => {
                    match self.take(&caller, &ask, &checked, bytes) {
                        Ok(taken) => pending.push(Pending { ask, brings: caller.brings, taken, answer }),
                        Err(error) => tell(answer, Err(error)),
                    }
                }
            }
        }
        // Who may do what is told last: by what is durable.
        match self.commit(&pending) {
            Ok(()) => {
                self.answer(pending);
                asking.into_iter().for_each(|(caller, answer)| tell(answer, self.standing(&caller)));
            }
            Err(error) => {
                self.fail(pending, &error);
                asking.into_iter().for_each(|(_, answer)| tell(answer, Err((&error).into())));
            }
        }
    }

    /// Opens the store again if it failed.
    fn reopen(&mut self) -> Result<(), StoreError> {
        if self.store.is_none() {
            self.store = Some((self.open)()?);
            tracing::info!("the store is open again");
        }
        Ok(())
    }

    /// Takes what an ask brings, as one of a group of so many bytes.
    fn take(
        &mut self,
        caller: &Caller,
        ask: &Ask,
        checked: &Checked,
        bytes: usize,
    ) -> Result<Taken, NoAnswer> {
        self.standing(caller)?.may(caller, ask.document)?;
        self.look_up(ask.document)?;
        if let Some(owner) = self.owner(ask.document)
            && owner != caller.workshop
        {
            return Err(Denied::OtherWorkshop.into());
        }
        self.has_room(ask, bytes)?;
        let taken = self.desk.take(ask, checked);
        if self.serves == Serves::First && ask.document == ask.workshop && !taken.raws.is_empty() {
            self.first = Some(ask.workshop);
        }
        Ok(taken)
    }

    /// Whether there is room for what an ask brings. Who only brings again what is held is
    /// answered all the same: to read takes no room.
    fn has_room(&self, ask: &Ask, bytes: usize) -> Result<(), NoAnswer> {
        let Some(store) = &self.store else { return Err(NoAnswer::Busy) };
        if ask.changes.is_empty() {
            return Ok(());
        }
        match store.room_for(bytes) {
            Err(error) if self.desk.brings_anything(ask) => {
                tracing::error!(%error, "not taken");
                Err((&error).into())
            }
            Ok(()) | Err(_) => Ok(()),
        }
    }

    fn standing(&mut self, caller: &Caller) -> Result<Standing, NoAnswer> {
        self.must_serve(caller.workshop)?;
        self.look_up(caller.workshop)?;
        let now = (self.clock)();
        Ok(standing(self.roster(caller.workshop).as_deref(), caller, now)?)
    }

    fn must_serve(&mut self, workshop: DocumentId) -> Result<(), NoAnswer> {
        let serves = match &self.serves {
            Serves::Only(these) => these.contains(&workshop),
            Serves::First => self.first()?.is_none_or(|first| first == workshop),
        };
        if serves { Ok(()) } else { Err(Denied::NotServed.into()) }
    }

    fn first(&mut self) -> Result<Option<DocumentId>, NoAnswer> {
        if self.first.is_none()
            && let Some(store) = &self.store
        {
            let first = store.setting(FIRST).map_err(|error| told(&error))?;
            self.first = first.and_then(|bytes| DocumentId::from_slice(&bytes));
        }
        Ok(self.first)
    }

    /// Reads a document from the store, if it is there and not read yet.
    fn look_up(&mut self, document: DocumentId) -> Result<(), NoAnswer> {
        if self.known.contains(&document) {
            return Ok(());
        }
        let Some(store) = &self.store else { return Err(NoAnswer::Busy) };
        let raws = store.load(document).map_err(|error| told(&error))?;
        self.desk.put(document, &raws).map_err(|at| {
            let said = format!("change {at} of document {} is no longer taken", document.short());
            told(&StoreError::new(Trouble::Damaged, "reading a document", said))
        })?;
        self.known.insert(document);
        Ok(())
    }

    /// The workshop of a document that is on the desk.
    fn owner(&self, document: DocumentId) -> Option<DocumentId> {
        let founding = EntryId::new(*document.bytes());
        let value = self.desk.document(document)?.entry(&founding)?;
        workshop_of(&read_checked(founding, value, document).ok()?)
    }

    /// Who counts in a workshop; none where nothing is held of it.
    fn roster(&mut self, workshop: DocumentId) -> Option<Arc<Roster>> {
        if let Some(roster) = self.rosters.get(&workshop) {
            return Some(Arc::clone(roster));
        }
        let document = self.desk.document(workshop)?;
        let mut log = Log::new(workshop);
        for put in document.entries() {
            if let Ok(entry) = read_checked(put.id, put.value, workshop) {
                log.insert(&entry);
            }
        }
        let roster = Arc::new(Roster::read(&log));
        self.rosters.insert(workshop, Arc::clone(&roster));
        Some(roster)
    }

    /// Makes everything of a group durable; says nothing to anybody.
    fn commit(&mut self, pending: &[Pending]) -> Result<(), StoreError> {
        let now = u64::try_from((self.clock)()).unwrap_or_default();
        let Some(store) = &mut self.store else { return Ok(()) };
        let mut dirty = false;
        for Pending { ask, taken, .. } in pending {
            let rows: Vec<Append> = (taken.at..)
                .zip(&taken.raws)
                .map(|(at, raw)| Append { document: ask.document, at, raw: Arc::clone(raw) })
                .collect();
            // First whose it is, then what it is: a device that fails in between keeps a beginning,
            // and a workshop that is held must not make room for another one.
            if let Some(first) = self.first.filter(|first| *first == ask.document && taken.at == 0) {
                store.set_setting(FIRST, first.bytes())?;
            }
            store.append(&rows)?;
            dirty |= !rows.is_empty();
            // Of documents that nobody founded here nothing is filed: their names cost nothing. Nor
            // where there is no room: it concerns nobody who brings what is sound.
            let filed = self.desk.document(ask.document).is_some()
                && (taken.refused.is_empty() || store.room_for(0).is_ok());
            for refused in taken.refused.iter().filter(|_| filed) {
                dirty |= store.keep_refused(ask.document, &RefusedRow::new(refused, now))?;
            }
        }
        if dirty { store.flush() } else { Ok(()) }
    }

    fn answer(&mut self, pending: Vec<Pending>) {
        // All of the group is durable, so each may be answered with what the others brought.
        for Pending { ask, brings, mut taken, answer } in pending {
            let raws = std::mem::take(&mut taken.raws);
            if !raws.is_empty() && ask.document == ask.workshop {
                self.rosters.remove(&ask.workshop);
            }
            let mut reply = self.desk.answer(&ask, taken);
            if brings {
                // Who only brings a workshop gets nothing of what others have brought meanwhile.
                (reply.changes, reply.more) = (Vec::new(), false);
            }
            if !raws.is_empty() {
                let (workshop, document) = (ask.workshop, ask.document);
                let news = News { workshop, document, heads: reply.heads.clone(), changes: raws };
                // That nobody watches is no error.
                let _nobody = self.news.send(Arc::new(news));
            }
            tell(answer, Ok(reply));
        }
    }

    /// The store failed: nothing is known of what it kept since the last flush.
    fn fail(&mut self, pending: Vec<Pending>, error: &StoreError) {
        tracing::error!(%error, exchanges = pending.len(), "not kept");
        for Pending { ask, answer, .. } in pending {
            self.desk.drop_document(ask.document);
            self.known.remove(&ask.document);
            self.rosters.remove(&ask.document);
            tell(answer, Err(error.into()));
        }
        self.first = None;
        self.store = None;
    }
}

fn told(error: &StoreError) -> NoAnswer {
    tracing::error!(%error, "not read");
    error.into()
}

fn size(job: &Job) -> usize {
    match job {
        Job::Exchange { ask, .. } => ask.changes.iter().map(Vec::len).sum(),
        Job::Standing { .. } | Job::End => 0,
    }
}

fn refuse(job: Job, error: &StoreError) {
    match job {
        Job::Exchange { answer, .. } => tell(answer, Err(error.into())),
        Job::Standing { answer, .. } => tell(answer, Err(error.into())),
        Job::End => {}
    }
}

/// The caller may have gone away; what it brought is kept all the same.
fn tell<T>(answer: oneshot::Sender<T>, what: T) {
    if answer.send(what).is_err() {
        tracing::debug!("nobody waits for this answer any more");
    }
}
