//! A relay in this process, on a store that tests hold in their hand.

use std::net::SocketAddr;
use std::sync::atomic::{AtomicI64, Ordering};
use std::sync::{Arc, Condvar, Mutex};
use std::time::{Duration, Instant};

use gudgeon_core::entry::DocumentId;
use gudgeon_relay::committer::{Clock, Opener, Serves};
use gudgeon_relay::limits::SESSION;
use gudgeon_relay::serve::{Bound, ServeError};
use gudgeon_relay::store::{Append, Memory, RefusedRow, Store, StoreError, Visit};
use tokio::sync::oneshot;
use tokio::task::JoinHandle;

use super::NOW;

/// Long enough for anything that comes at all.
pub const PATIENCE: Duration = Duration::from_secs(30);

/// A store that outlives the relay that opens it, and whose flush can be held back. As with
/// one on disk, who has seen it fail opens it again before anything else is written.
pub struct Shared<S>(Arc<Inner<S>>, Failed);

/// Whether this opening of it has failed.
type Failed = bool;

struct Inner<S> {
    store: Mutex<S>,
    flushes: Mutex<Flushes>,
    changed: Condvar,
}

#[derive(Default)]
struct Flushes {
    held: bool,
    waiting: bool,
}

impl<S> Clone for Shared<S> {
    fn clone(&self) -> Self {
        Self(Arc::clone(&self.0), false)
    }
}

impl<S: Store + 'static> Shared<S> {
    pub fn new(store: S) -> Self {
        let flushes = Mutex::default();
        Self(Arc::new(Inner { store: Mutex::new(store), flushes, changed: Condvar::new() }), false)
    }

    pub fn opener(&self) -> Opener {
        let store = self.clone();
        Box::new(move || Ok(Box::new(store.clone()) as Box<dyn Store>))
    }

    /// Does something with the store itself.
    pub fn with<T>(&self, does: impl FnOnce(&mut S) -> T) -> T {
        does(&mut self.0.store.lock().unwrap())
    }

    /// Flushes wait from now on.
    pub fn hold(&self) {
        self.0.flushes.lock().unwrap().held = true;
    }

    /// Lets them go on.
    pub fn release(&self) {
        self.0.flushes.lock().unwrap().held = false;
        self.0.changed.notify_all();
    }

    /// Until a flush waits.
    pub async fn waits(&self) {
        let until = Instant::now() + PATIENCE;
        while !self.0.flushes.lock().unwrap().waiting {
            assert!(Instant::now() < until, "no flush came");
            tokio::time::sleep(Duration::from_millis(1)).await;
        }
    }

    fn write(&mut self, does: impl FnOnce(&mut S) -> Result<(), StoreError>) -> Result<(), StoreError> {
        assert!(!self.1, "it failed and was not opened again");
        let done = self.with(does);
        self.1 = done.is_err();
        done
    }

    fn pass(&self) {
        let mut flushes = self.0.flushes.lock().unwrap();
        flushes.waiting = flushes.held;
        while flushes.held {
            let (next, timeout) = self.0.changed.wait_timeout(flushes, PATIENCE).unwrap();
            assert!(!timeout.timed_out(), "a flush was held back and never let go");
            flushes = next;
        }
        flushes.waiting = false;
    }
}

impl<S: Store + 'static> Store for Shared<S> {
    fn documents(&self) -> Result<Vec<DocumentId>, StoreError> {
        self.with(|store| store.documents())
    }
    fn walk(&self, document: DocumentId, visit: &mut Visit<'_>) -> Result<(), StoreError> {
        self.with(|store| store.walk(document, visit))
    }
    fn room_for(&self, bytes: usize) -> Result<(), StoreError> {
        self.with(|store| store.room_for(bytes))
    }
    fn append(&mut self, rows: &[Append]) -> Result<(), StoreError> {
        self.write(|store| store.append(rows))
    }
    fn cut_at_damage(&mut self, document: DocumentId) -> Result<u64, StoreError> {
        self.with(|store| store.cut_at_damage(document))
    }
    fn settings(&self) -> Result<Vec<(String, Vec<u8>)>, StoreError> {
        self.with(|store| store.settings())
    }
    fn setting(&self, name: &str) -> Result<Option<Vec<u8>>, StoreError> {
        self.with(|store| store.setting(name))
    }
    fn set_setting(&mut self, name: &str, value: &[u8]) -> Result<(), StoreError> {
        self.with(|store| store.set_setting(name, value))
    }
    fn clear_setting(&mut self, name: &str) -> Result<(), StoreError> {
        self.with(|store| store.clear_setting(name))
    }
    fn keep_refused(&mut self, document: DocumentId, row: &RefusedRow) -> Result<bool, StoreError> {
        self.with(|store| store.keep_refused(document, row))
    }
    fn refused(&self, document: DocumentId) -> Result<Vec<RefusedRow>, StoreError> {
        self.with(|store| store.refused(document))
    }
    fn refused_documents(&self) -> Result<Vec<DocumentId>, StoreError> {
        self.with(|store| store.refused_documents())
    }
    fn flush(&mut self) -> Result<(), StoreError> {
        self.pass();
        self.write(|store| store.flush())
    }
    fn size_on_disk(&self) -> Result<u64, StoreError> {
        self.with(|store| store.size_on_disk())
    }
}

/// A relay that serves until it is stopped.
pub struct Running {
    pub at: SocketAddr,
    now: Arc<AtomicI64>,
    stop: oneshot::Sender<()>,
    ends: JoinHandle<Result<(), ServeError>>,
}

impl Running {
    /// Serves the first workshop that comes.
    pub async fn start(open: Opener) -> Self {
        Self::serving(open, Serves::First).await
    }

    pub async fn serving(open: Opener, serves: Serves) -> Self {
        Self::lasting(open, serves, SESSION).await
    }

    /// With sessions that last so long.
    pub async fn lasting(open: Opener, serves: Serves, session: Duration) -> Self {
        Self::set_up(open, serves, |bound, _| bound.with_sessions_of(session)).await
    }

    /// One in memory, set up otherwise; the clock is the relay's.
    pub async fn otherwise(sets_up: impl FnOnce(Bound, Clock) -> Bound) -> Self {
        Self::set_up(Shared::new(Memory::new()).opener(), Serves::First, sets_up).await
    }

    async fn set_up(open: Opener, serves: Serves, sets_up: impl FnOnce(Bound, Clock) -> Bound) -> Self {
        let now = Arc::new(AtomicI64::new(NOW));
        let hand = Arc::clone(&now);
        let clock: Clock = Arc::new(move || hand.load(Ordering::SeqCst));
        let at = "127.0.0.1:0".parse().unwrap();
        let bound = sets_up(Bound::new(at, open, serves, Arc::clone(&clock)).await.unwrap(), clock);
        let at = bound.address().unwrap();
        let (stop, stopped) = oneshot::channel();
        let ends = tokio::spawn(bound.serve(async move { drop(stopped.await) }));
        Self { at, now, stop, ends }
    }

    /// One in memory.
    pub async fn in_memory() -> Self {
        Self::start(Shared::new(Memory::new()).opener()).await
    }

    /// Sets the relay's clock on.
    pub fn later(&self, by: Duration) {
        self.now.fetch_add(i64::try_from(by.as_millis()).unwrap(), Ordering::SeqCst);
    }

    pub async fn stop(self) {
        self.stop.send(()).unwrap();
        within(self.ends).await.unwrap().unwrap();
    }
}

/// Waits, but not for ever.
pub async fn within<T>(what: impl Future<Output = T>) -> T {
    tokio::time::timeout(PATIENCE, what).await.expect("it did not come in half a minute")
}
