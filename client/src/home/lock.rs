//! One program at a time on one home.
//!
//! A lock of the operating system on the file `lock`: it ends with the program that holds
//! it, however that ends, so there is no stale lock. The file itself stays for ever; its
//! text, the number of the process that has the home, only helps the message.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{Read as _, Seek as _, Write as _};
use std::path::Path;
use std::time::Duration;

use crate::error::{HomeError, Kind};

/// How long a second program waits for the first.
pub const PATIENCE: Duration = Duration::from_secs(10);

/// How often it tries.
const STEP: Duration = Duration::from_millis(10);

/// Held as long as it lives.
#[derive(Debug)]
pub(super) struct Lock {
    _file: File,
}

impl Lock {
    /// Takes the lock of the home in `directory`, waiting up to `patience`.
    pub(super) fn take(directory: &Path, patience: Duration) -> Result<Self, HomeError> {
        let path = directory.join("lock");
        let io = |doing| move |error| Kind::io(doing, &path, error);
        let mut options = OpenOptions::new();
        let mut file = options
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .open(directory.join("lock"))
            .map_err(io.clone()("opening the lock"))?;
        if !wait_for(&file, patience).map_err(io.clone()("taking the lock"))? {
            let holder = holder(&mut file);
            return Err(Kind::Busy { directory: directory.to_owned(), holder, waited: patience }.into());
        }
        sign(&mut file).map_err(io("writing to the lock"))?;
        Ok(Self { _file: file })
    }
}

fn wait_for(file: &File, patience: Duration) -> std::io::Result<bool> {
    let mut waited = Duration::ZERO;
    loop {
        match file.try_lock() {
            Ok(()) => return Ok(true),
            Err(TryLockError::Error(error)) => return Err(error),
            Err(TryLockError::WouldBlock) if waited >= patience => return Ok(false),
            Err(TryLockError::WouldBlock) => {}
        }
        std::thread::sleep(STEP);
        waited += STEP;
    }
}

/// Number of the process that has the home, if it can be read.
fn holder(file: &mut File) -> Option<u32> {
    let mut text = String::new();
    file.read_to_string(&mut text).ok()?;
    text.trim().parse().ok()
}

fn sign(file: &mut File) -> std::io::Result<()> {
    file.set_len(0)?;
    file.rewind()?;
    writeln!(file, "{}", std::process::id())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_second_program_waits_then_is_told_who_has_the_home() {
        let directory = tempfile::tempdir().unwrap();
        let first = Lock::take(directory.path(), Duration::ZERO).unwrap();
        let error = Lock::take(directory.path(), Duration::from_millis(30)).unwrap_err();
        assert_eq!(error.code(), "busy");
        assert!(error.to_string().contains(&std::process::id().to_string()), "{error}");
        assert!(error.hint().contains("--home"), "{}", error.hint());
        drop(first);
        Lock::take(directory.path(), Duration::ZERO).unwrap();
    }

    #[test]
    fn a_lock_file_left_behind_locks_nobody_out() {
        let directory = tempfile::tempdir().unwrap();
        std::fs::write(directory.path().join("lock"), "99999 and more than one line\n").unwrap();
        Lock::take(directory.path(), Duration::ZERO).unwrap();
        let text = std::fs::read_to_string(directory.path().join("lock")).unwrap();
        assert_eq!(text, format!("{}\n", std::process::id()));
    }
}
