//! Homes in directories, one program at a time.

use std::path::Path;
use std::time::Duration;

use super::lock::{Lock, PATIENCE};
use super::{Home, first_batch};
use crate::error::{HomeError, Kind};
use crate::store::{OnDisk, sync_directory_of};
use crate::world::World;

/// Name of the store's file in the home's directory.
const STORE: &str = "records.store";

impl Home {
    /// Makes a home in a directory, which is made where it is not there.
    ///
    /// # Errors
    /// [`HomeError`]: there is a home already, it is just being made by another program,
    /// or the device does not write.
    pub fn create(directory: &Path, world: impl World + 'static) -> Result<Self, HomeError> {
        make_directory(directory)?;
        let lock = Lock::take(directory, PATIENCE)?;
        let path = directory.join(STORE);
        if path.exists() {
            return Err(Kind::HomeExists(directory.to_owned()).into());
        }
        let store = OnDisk::create(&path, &first_batch(&world)?).map_err(Kind::NotSaved)?;
        Self::begin(Box::new(store), Box::new(world), Some(Box::new(lock)))
    }

    /// Opens the home in a directory, waiting up to [`PATIENCE`] for another program.
    ///
    /// # Errors
    /// [`HomeError`]: no home there, in use, of another format, damaged.
    pub fn open(directory: &Path, world: impl World + 'static) -> Result<Self, HomeError> {
        Self::open_within(directory, world, PATIENCE)
    }

    /// As [`Home::open`], with another patience.
    ///
    /// # Errors
    /// As [`Home::open`].
    pub fn open_within(
        directory: &Path,
        world: impl World + 'static,
        patience: Duration,
    ) -> Result<Self, HomeError> {
        let path = directory.join(STORE);
        if !path.exists() {
            return Err(Kind::NoHome(directory.to_owned()).into());
        }
        let lock = Lock::take(directory, patience)?;
        let store = OnDisk::open(&path).map_err(Kind::Unread)?;
        Self::begin(Box::new(store), Box::new(world), Some(Box::new(lock)))
    }
}

/// Makes the directory and its name durable.
fn make_directory(directory: &Path) -> Result<(), HomeError> {
    let io = |error| Kind::io("making the directory", directory, error);
    if directory.is_dir() {
        return Ok(());
    }
    std::fs::create_dir_all(directory).map_err(io)?;
    Ok(sync_directory_of(directory).map_err(io)?)
}
