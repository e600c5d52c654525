//! What can be judged: a characteristic or a derived value, by one name.

use super::characteristic::{self, Characteristic};
use super::derivation::{self, Derivation};
use super::feature::FeatureKind;
use crate::quantity::Kind;

/// A characteristic or a derived value.
#[derive(Clone, Copy, Debug)]
pub enum Subject {
    /// Measured.
    Measured(&'static Characteristic),
    /// Derived from what is measured.
    Derived(&'static Derivation),
}

impl Subject {
    /// The subject of a name on a kind of feature.
    #[must_use]
    pub fn find(on: FeatureKind, name: &str) -> Option<Self> {
        let measured = characteristic::find(on, name).map(Self::Measured);
        measured.or_else(|| derivation::find(on, name).map(Self::Derived))
    }

    /// Names of everything that can be judged on a kind of feature.
    pub fn names_on(on: FeatureKind) -> impl Iterator<Item = &'static str> {
        let measured = characteristic::of_kind(on).iter().map(|row| row.name);
        measured.chain(derivation::of_kind(on).iter().map(|row| row.name))
    }

    /// Name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Measured(row) => row.name,
            Self::Derived(row) => row.name,
        }
    }

    /// What it counts in; every derived value so far is a length.
    #[must_use]
    pub const fn kind(self) -> Kind {
        match self {
            Self::Measured(row) => row.kind,
            Self::Derived(_) => Kind::Length,
        }
    }
}
