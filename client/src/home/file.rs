//! Bundles as files: read whole, written beside their place and moved there durable.

use gudgeon_core::entry::KeyId;

#[cfg(not(target_arch = "wasm32"))]
pub use on_disk::read_bundle;
#[cfg(not(target_arch = "wasm32"))]
pub(super) use on_disk::write_bundle;

/// The root key as people compare it: its first 32 digits in groups of four.
///
/// 128 bits: nobody can make a key with the digits of another.
#[must_use]
pub fn fingerprint(root: &KeyId) -> String {
    let hex = root.to_hex();
    let groups: Vec<&str> = (0..8).filter_map(|i| hex.get(4 * i..4 * i + 4)).collect();
    groups.join(" ")
}

#[cfg(not(target_arch = "wasm32"))]
mod on_disk {
    use std::fs::File;
    use std::io::{Read as _, Write as _};
    use std::path::{Path, PathBuf};

    use gudgeon_core::document::{BUNDLE_BYTES, Bundle};

    use crate::error::{HomeError, Kind};
    use crate::store::sync_directory_of;

    /// Reads a bundle from a file, to see whose it is before it is carried in; nothing in it
    /// is checked yet.
    ///
    /// # Errors
    /// [`HomeError`] if the file cannot be read, is torn, or is no bundle.
    pub fn read_bundle(path: &Path) -> Result<Bundle, HomeError> {
        let bytes = read_file(path)?;
        Ok(Bundle::read(&bytes).map_err(|source| Kind::Bundle { path: path.to_owned(), source })?)
    }

    /// Writes a bundle to a file, whole or not at all; answers its size in bytes.
    pub(in crate::home) fn write_bundle(bundle: &Bundle, path: &Path) -> Result<usize, HomeError> {
        let bytes = bundle.write().map_err(|source| Kind::Bundle { path: path.to_owned(), source })?;
        let beside = beside(path);
        let written = write_durably(&beside, path, &bytes);
        if written.is_err() && beside.exists() {
            std::fs::remove_file(&beside).map_err(|e| Kind::io("removing the unfinished", &beside, e))?;
        }
        written?;
        Ok(bytes.len())
    }

    /// No more than one byte past the largest bundle, whatever the file's size.
    fn read_file(path: &Path) -> Result<Vec<u8>, HomeError> {
        let io = |error| Kind::io("reading", path, error);
        let limit = u64::try_from(BUNDLE_BYTES).unwrap_or(u64::MAX).saturating_add(1);
        let mut bytes = Vec::new();
        File::open(path).map_err(io)?.take(limit).read_to_end(&mut bytes).map_err(io)?;
        Ok(bytes)
    }

    /// The name under which a file is written before it is whole.
    fn beside(path: &Path) -> PathBuf {
        let mut name = path.file_name().unwrap_or_default().to_owned();
        name.push(".part");
        path.with_file_name(name)
    }

    fn write_durably(beside: &Path, path: &Path, bytes: &[u8]) -> Result<(), HomeError> {
        let io = |error| Kind::io("writing", path, error);
        let mut file = File::create(beside).map_err(io)?;
        file.write_all(bytes).map_err(io)?;
        file.sync_all().map_err(io)?;
        drop(file);
        std::fs::rename(beside, path).map_err(io)?;
        Ok(sync_directory_of(path).map_err(io)?)
    }
}
