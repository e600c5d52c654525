//! A store for tests that keeps *written* and *durable* apart, as a device does.
//!
//! What is put in is seen at once and is lost in a [power cut](Forgetful::power_cut) unless
//! it was flushed; the caller says what of the rest survives nonetheless. Calls can be told
//! to fail. The store on disk keeps a beginning of what was put in; keeping any other part
//! is harsher than it, and good for looking at damage.

use gudgeon_core::entry::DocumentId;

use super::placing::fresh;
use super::{Append, Memory, RefusedRow, Store, StoreError, Trouble, Visit, fits};

/// A call that can be told to fail.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Call {
    /// [`Store::append`].
    Append,
    /// [`Store::flush`].
    Flush,
}

/// A call that will fail.
#[derive(Clone, Copy, Debug)]
pub struct Failure {
    /// Which call.
    pub call: Call,
    /// How many of these calls go well before.
    pub after: usize,
    /// What the device will say.
    pub trouble: Trouble,
    /// How many of the writes that were not flushed, the failing call's included, are there
    /// afterwards nonetheless: nobody knows.
    pub kept: usize,
}

/// Something put in and not flushed yet.
#[derive(Clone, Debug)]
enum Write {
    Change(Append),
    Cut(DocumentId),
    Setting(String, Option<Vec<u8>>),
    Refused(DocumentId, RefusedRow),
}

/// A store that forgets what was not flushed.
#[derive(Clone, Debug, Default)]
pub struct Forgetful {
    written: Memory,
    durable: Memory,
    unflushed: Vec<Write>,
    failures: Vec<Failure>,
    /// No room is left.
    full: bool,
}

impl Forgetful {
    /// An empty store that does not fail.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Tells a call to fail, once.
    pub fn fail(&mut self, failure: Failure) {
        self.failures.push(failure);
    }

    /// Has no room from now on, or has room again.
    pub const fn set_full(&mut self, full: bool) {
        self.full = full;
    }

    /// Takes back the failures that have not come yet.
    pub fn forgive(&mut self) {
        self.failures.clear();
    }

    /// How many writes were put in since the last flush; each change is one.
    #[must_use]
    pub const fn unflushed(&self) -> usize {
        self.unflushed.len()
    }

    /// Loses what was not flushed, except the writes for whose number, counted from 0 in the
    /// order in which they were put in, `keep` answers yes. `|i| i < n` keeps a beginning,
    /// `|_| false` nothing.
    pub fn power_cut(&mut self, mut keep: impl FnMut(usize) -> bool) {
        let writes = std::mem::take(&mut self.unflushed);
        for (number, write) in writes.iter().enumerate() {
            if keep(number) {
                write.apply(&mut self.durable);
            }
        }
        self.written = self.durable.clone();
    }

    fn put(&mut self, write: Write) {
        write.apply(&mut self.written);
        self.unflushed.push(write);
    }

    /// Whether this call is to fail now.
    fn failing(&mut self, call: Call) -> Option<Failure> {
        let due = self.failures.iter().position(|failure| failure.call == call && failure.after == 0);
        let due = due.map(|place| self.failures.remove(place));
        if due.is_none() {
            let later = self.failures.iter_mut().filter(|failure| failure.call == call);
            later.for_each(|failure| failure.after -= 1);
        }
        due
    }

    /// Fails: some of what was not flushed is there afterwards, the rest is not.
    fn break_down(&mut self, failure: Failure, doing: &'static str) -> StoreError {
        self.power_cut(|number| number < failure.kept);
        StoreError::new(failure.trouble, doing, "told to fail")
    }
}

impl Write {
    fn apply(&self, memory: &mut Memory) {
        match self {
            Self::Change(row) => memory.put(row),
            Self::Cut(document) => drop(memory.cut(*document)),
            Self::Setting(name, value) => memory.set(name, value.as_deref()),
            Self::Refused(document, row) => drop(memory.keep(*document, row)),
        }
    }
}

impl Store for Forgetful {
    fn documents(&self) -> Result<Vec<DocumentId>, StoreError> {
        self.written.documents()
    }

    fn walk(&self, document: DocumentId, visit: &mut Visit<'_>) -> Result<(), StoreError> {
        self.written.walk(document, visit)
    }

    fn room_for(&self, bytes: usize) -> Result<(), StoreError> {
        if !self.full {
            return Ok(());
        }
        let said = format!("told to be full; {bytes} bytes are wanted");
        Err(StoreError::new(Trouble::Full, "writing to the store", said))
    }

    fn append(&mut self, rows: &[Append]) -> Result<(), StoreError> {
        let (rows, _) = fresh(&self.written, rows)?;
        for row in rows {
            self.put(Write::Change(row.clone()));
        }
        match self.failing(Call::Append) {
            Some(failure) => Err(self.break_down(failure, "writing to the store")),
            None => Ok(()),
        }
    }

    fn cut_at_damage(&mut self, document: DocumentId) -> Result<u64, StoreError> {
        let left = self.written.cut(document);
        self.unflushed.push(Write::Cut(document));
        Ok(left)
    }

    fn settings(&self) -> Result<Vec<(String, Vec<u8>)>, StoreError> {
        self.written.settings()
    }

    fn setting(&self, name: &str) -> Result<Option<Vec<u8>>, StoreError> {
        self.written.setting(name)
    }

    fn set_setting(&mut self, name: &str, value: &[u8]) -> Result<(), StoreError> {
        fits(name, value)?;
        self.put(Write::Setting(name.to_owned(), Some(value.to_vec())));
        Ok(())
    }

    fn clear_setting(&mut self, name: &str) -> Result<(), StoreError> {
        self.put(Write::Setting(name.to_owned(), None));
        Ok(())
    }

    fn keep_refused(&mut self, document: DocumentId, row: &RefusedRow) -> Result<bool, StoreError> {
        self.room_for(0)?;
        let kept = self.written.keep(document, row);
        if kept {
            self.unflushed.push(Write::Refused(document, row.clone()));
        }
        Ok(kept)
    }

    fn refused(&self, document: DocumentId) -> Result<Vec<RefusedRow>, StoreError> {
        self.written.refused(document)
    }

    fn refused_documents(&self) -> Result<Vec<DocumentId>, StoreError> {
        self.written.refused_documents()
    }

    fn flush(&mut self) -> Result<(), StoreError> {
        if let Some(failure) = self.failing(Call::Flush) {
            return Err(self.break_down(failure, "flushing the store"));
        }
        for write in std::mem::take(&mut self.unflushed) {
            write.apply(&mut self.durable);
        }
        Ok(())
    }

    fn size_on_disk(&self) -> Result<u64, StoreError> {
        self.written.size_on_disk()
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::store::suite;

    fn held(store: &Forgetful) -> usize {
        store.load(suite::document(1)).unwrap().len()
    }

    #[test]
    fn it_passes_the_suite() {
        suite::holds(&mut || Forgetful::new());
        let mut store = Forgetful::new();
        suite::fill(&mut store);
        store.power_cut(|_| false);
        suite::is_filled(&mut store);
        suite::bears_damage(&mut Forgetful::new(), &mut |store, document, at| {
            store.written.lose(document, at);
            store.durable.lose(document, at);
        });
    }

    #[test]
    fn a_power_cut_takes_what_was_not_flushed() {
        let mut store = Forgetful::new();
        store.append(&[suite::change(1, 0, 10)]).unwrap();
        store.flush().unwrap();
        store.append(&[suite::change(1, 1, 10), suite::change(1, 2, 10)]).unwrap();
        store.set_setting("a", b"1").unwrap();
        assert_eq!((held(&store), store.unflushed()), (3, 3));
        store.power_cut(|number| number < 1);
        assert_eq!((held(&store), store.unflushed()), (2, 0));
        assert_eq!(store.setting("a").unwrap(), None);
        store.append(&[suite::change(1, 2, 10), suite::change(1, 3, 10)]).unwrap();
        store.power_cut(|number| number == 1);
        assert_eq!(store.load(suite::document(1)).unwrap_err().trouble(), Trouble::Damaged);
        assert_eq!(store.cut_at_damage(suite::document(1)).unwrap(), 2);
    }

    #[test]
    fn the_call_that_was_told_to_fail_fails_once() {
        let mut store = Forgetful::new();
        store.fail(Failure { call: Call::Flush, after: 1, trouble: Trouble::Full, kept: 1 });
        store.fail(Failure { call: Call::Append, after: 2, trouble: Trouble::Device, kept: 0 });
        store.append(&[suite::change(1, 0, 10)]).unwrap();
        store.flush().unwrap();
        store.append(&[suite::change(1, 1, 10), suite::change(1, 2, 10)]).unwrap();
        assert_eq!(store.flush().unwrap_err().trouble(), Trouble::Full);
        assert_eq!(held(&store), 2, "one of the two is there nonetheless");
        let error = store.append(&[suite::change(1, 2, 20)]).unwrap_err();
        assert_eq!((error.trouble(), held(&store)), (Trouble::Device, 2));
        store.append(&[suite::change(1, 2, 30)]).unwrap();
        store.flush().unwrap();
        store.power_cut(|_| false);
        assert_eq!(held(&store), 3);
    }
}
