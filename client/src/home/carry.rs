//! Carrying by hand: out to a file, in from one.

use std::path::{Path, PathBuf};

use gudgeon_core::document::{Bundle, Carried};
use gudgeon_core::entry::{DocumentId, KeyId};

#[cfg(not(target_arch = "wasm32"))]
use super::file::{read_bundle, write_bundle};
use super::take::{Batchwise, Report, founding_in};
use super::{Home, fingerprint};
use crate::error::{HomeError, Kind};

/// What a bundle brought; all of it durable now.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CarriedIn {
    /// The workshop it came from.
    pub workshop: DocumentId,
    /// Whether this home belongs to that workshop only since now.
    pub adopted: bool,
    /// One report for each document, the workshop first.
    pub reports: Vec<Report>,
}

impl Home {
    /// Writes the workshop and these records to a file, whole or not at all. Answers its
    /// size in bytes.
    ///
    /// # Errors
    /// [`HomeError`] if there is no workshop, a record is not held, or the device does not
    /// write; a file that was there before is then as it was.
    #[cfg(not(target_arch = "wasm32"))]
    pub fn carry_out(&self, records: &[DocumentId], path: &Path) -> Result<usize, HomeError> {
        let bundle = self.bundle(records)?;
        let size = write_bundle(&bundle, path)?;
        tracing::info!(documents = bundle.documents().len(), size, "carried out");
        Ok(size)
    }

    /// As [`Home::carry_out`], where the file is somebody else's to write: its bytes.
    ///
    /// # Errors
    /// [`HomeError`] if there is no workshop, a record is not held, or it is too much for one file.
    pub fn carry_out_bytes(&self, records: &[DocumentId]) -> Result<Vec<u8>, HomeError> {
        let bundle = self.bundle(records)?;
        Ok(bundle.write().map_err(|source| Kind::Bundle { path: PathBuf::from("the file"), source })?)
    }

    fn bundle(&self, records: &[DocumentId]) -> Result<Bundle, HomeError> {
        let workshop = self.workshop().ok_or(Kind::NoWorkshop)?;
        let mut bundle = Bundle::new(self.root()?);
        bundle.add(workshop, self.document(workshop)?);
        for id in records.iter().filter(|id| **id != workshop) {
            bundle.add(*id, self.document(*id)?);
        }
        Ok(bundle)
    }

    /// Takes in everything sound from a file. Nothing that was held is ever lost; where the
    /// other's changes do not fit to one's own, one's own entries are packed anew.
    ///
    /// A home without a workshop joins the file's, if `confirmed` is its root: ask the
    /// person to compare [`fingerprint`] with the printed one first.
    ///
    /// # Errors
    /// [`HomeError`] if the file is no whole bundle, of another or an unconfirmed workshop,
    /// or the device does not write. Documents before the one that failed stay taken in.
    #[cfg(not(target_arch = "wasm32"))]
    pub fn carry_in(&mut self, path: &Path, confirmed: Option<KeyId>) -> Result<CarriedIn, HomeError> {
        self.carry_in_bundle(&read_bundle(path)?, path, confirmed)
    }

    /// As [`Home::carry_in`], from the bytes of a file of this name.
    ///
    /// # Errors
    /// As [`Home::carry_in`].
    pub fn carry_in_bytes(
        &mut self,
        name: &str,
        bytes: &[u8],
        confirmed: Option<KeyId>,
    ) -> Result<CarriedIn, HomeError> {
        let path = Path::new(name);
        let bundle = Bundle::read(bytes).map_err(|source| Kind::Bundle { path: path.to_owned(), source })?;
        self.carry_in_bundle(&bundle, path, confirmed)
    }

    fn carry_in_bundle(
        &mut self,
        bundle: &Bundle,
        path: &Path,
        confirmed: Option<KeyId>,
    ) -> Result<CarriedIn, HomeError> {
        let bad = |what| Kind::BadBundle { path: path.to_owned(), what };
        let first = bundle.documents().first().ok_or_else(|| bad("there is no workshop in it"))?;
        let workshop = first.document();
        let founding = founding_in(workshop, first.changes())
            .ok_or_else(|| bad("its workshop has no sound founding entry"))?;
        if founding.key() != bundle.root() {
            return Err(bad("its workshop was not founded by the root it names").into());
        }
        let adopted = self.workshop().is_none();
        self.must_be_ours(workshop, bundle.root(), confirmed)?;
        let take = |carried: &Carried| self.take(carried.document(), carried.changes(), Batchwise::Whole);
        let reports = bundle.documents().iter().map(take).collect::<Result<Vec<_>, _>>()?;
        tracing::info!(documents = reports.len(), adopted, "carried in");
        Ok(CarriedIn { workshop, adopted, reports })
    }

    fn must_be_ours(
        &self,
        workshop: DocumentId,
        root: KeyId,
        confirmed: Option<KeyId>,
    ) -> Result<(), HomeError> {
        match (self.workshop(), confirmed) {
            (Some(own), _) if own == workshop => Ok(()),
            (Some(own), _) => Err(Kind::OtherWorkshop { own, found: workshop }.into()),
            (None, Some(expected)) if expected == root => Ok(()),
            (None, Some(expected)) => Err(Kind::OtherRoot { expected, found: root }.into()),
            (None, None) => {
                tracing::info!(root = %fingerprint(&root), "workshop not confirmed");
                Err(Kind::Unconfirmed(root).into())
            }
        }
    }
}
