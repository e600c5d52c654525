//! The directory around a store on disk: made durably, held by one process, of a known form.

use std::fs::{File, TryLockError};
use std::io::Write as _;
use std::path::{Path, PathBuf};

use super::{StoreError, Trouble};

const FORM_FILE: &str = "form";
const FORM_WORDS: &str = "gudgeon relay store, form ";
const OPENING: &str = "opening the store";
const MAKING: &str = "making the store's directory";

/// Makes a directory for its owner alone, with those above it, each name durable.
pub(crate) fn make(path: &Path) -> Result<(), StoreError> {
    let missing: Vec<&Path> = path.ancestors().take_while(|above| !is_there(above)).collect();
    for directory in missing.into_iter().rev() {
        match new_directory().create(directory) {
            Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {}
            made => made.map_err(|e| StoreError::io(MAKING, &e))?,
        }
        sync_above(directory).map_err(|e| StoreError::io(MAKING, &e))?;
    }
    Ok(())
}

fn is_there(path: &Path) -> bool {
    path.as_os_str().is_empty() || path.exists()
}

fn new_directory() -> std::fs::DirBuilder {
    #[cfg_attr(not(unix), allow(unused_mut))]
    let mut builder = std::fs::DirBuilder::new();
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder
}

/// Holds the directory until the file is dropped; the system lets go when the process ends.
pub(super) fn lock(path: &Path) -> Result<File, StoreError> {
    let file = File::options().create(true).truncate(false).write(true).open(path.join("lock"));
    let file = file.map_err(|e| StoreError::io(OPENING, &e))?;
    match file.try_lock() {
        Ok(()) => Ok(file),
        Err(TryLockError::WouldBlock) => {
            let said = format!("another process has {} open", path.display());
            Err(StoreError::new(Trouble::InUse, OPENING, said))
        }
        Err(TryLockError::Error(error)) => Err(StoreError::io(OPENING, &error)),
    }
}

/// The form that a finished creation wrote down; none if none was finished.
pub(super) fn form(path: &Path) -> Result<Option<u32>, StoreError> {
    let text = match std::fs::read_to_string(path.join(FORM_FILE)) {
        Ok(text) => text,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(StoreError::io(OPENING, &error)),
    };
    let form = text.strip_prefix(FORM_WORDS).and_then(|number| number.trim_end().parse().ok());
    let strange = || StoreError::damaged(OPENING, "the file `form` is not one of ours");
    form.map(Some).ok_or_else(strange)
}

/// Writes the form down, durably: the last step of a creation.
pub(super) fn write_form(path: &Path, form: u32) -> Result<(), StoreError> {
    let text = format!("{FORM_WORDS}{form}\n");
    write_whole(&path.join(FORM_FILE), |file| file.write_all(text.as_bytes()))
        .map_err(|e| StoreError::io(MAKING, &e))
}

/// Writes a file beside its place, syncs it and moves it there: afterwards the file is there
/// whole and durable, or what was there before.
pub(crate) fn write_whole<T, E: From<std::io::Error>>(
    path: &Path,
    write: impl FnOnce(&mut File) -> Result<T, E>,
) -> Result<T, E> {
    let beside = beside(path);
    let mut options = File::options();
    options.create(true).truncate(true).write(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file = options.open(&beside)?;
    let outcome = write(&mut file)?;
    file.sync_all()?;
    drop(file);
    std::fs::rename(&beside, path)?;
    sync_above(path)?;
    Ok(outcome)
}

/// Where a file is written before it is moved to its place.
pub(super) fn beside(path: &Path) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(".new");
    PathBuf::from(name)
}

/// Makes a new name durable: the directory that holds it is a file too.
pub(super) fn sync_above(path: &Path) -> std::io::Result<()> {
    let directory = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        Some(_) | None => Path::new("."),
    };
    File::open(directory)?.sync_all()
}

/// Syncs all files in a directory, and their names.
pub(super) fn sync_all_in(path: &Path) -> Result<(), StoreError> {
    let sync = || -> std::io::Result<()> {
        for entry in std::fs::read_dir(path)? {
            File::open(entry?.path())?.sync_all()?;
        }
        File::open(path)?.sync_all()?;
        sync_above(path)
    };
    sync().map_err(|e| StoreError::io(MAKING, &e))
}

/// Bytes of all files in a directory.
pub(super) fn size(path: &Path) -> Result<u64, StoreError> {
    let size = || -> std::io::Result<u64> {
        let mut bytes = 0_u64;
        for entry in std::fs::read_dir(path)? {
            let metadata = entry?.metadata()?;
            bytes += if metadata.is_file() { metadata.len() } else { 0 };
        }
        Ok(bytes)
    };
    size().map_err(|e| StoreError::io("measuring the store", &e))
}

/// Bytes that may still be written to the device, where the system tells.
#[cfg(unix)]
pub(super) fn free_bytes(path: &Path) -> Result<Option<u64>, StoreError> {
    let told = rustix::fs::statvfs(path).map_err(|e| StoreError::io("measuring the device", &e.into()))?;
    Ok(Some(told.f_bavail.saturating_mul(told.f_frsize)))
}

/// Not told here.
#[cfg(not(unix))]
pub(super) fn free_bytes(_: &Path) -> Result<Option<u64>, StoreError> {
    Ok(None)
}
