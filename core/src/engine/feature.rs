//! Features: the places that are measured, expanded from the layout.

use std::fmt;
use std::sync::Arc;

/// Kind of a feature.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[expect(missing_docs, reason = "the table below says what each is")]
pub enum FeatureKind {
    Block,
    Crank,
    Cam,
    CamBearing,
    Main,
    Pin,
    Cylinder,
    Bore,
    Liner,
    Rod,
    BigEnd,
    SmallEnd,
    RodBolts,
    Ring,
    Rail,
    Expander,
    Chamber,
    Deck,
    Head,
    Piston,
    PistonSkirt,
    PistonPinBoss,
    PistonGroove,
    Gudgeon,
    ThrustWasher,
}

/// How often a feature of a kind is there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spread {
    /// Once.
    Once,
    /// For each cylinder.
    Cylinders,
    /// For each cylinder of an engine with liners.
    Liners,
    /// For each main bearing.
    Mains,
    /// For each crankpin.
    Pins,
    /// For each cam bearing in the block.
    CamBearings,
    /// For each bank.
    Banks,
    /// For each ring of a sort in each cylinder.
    Rings(RingSort),
    /// On a part with a free mark.
    Part,
    /// For each groove of a part with a free mark.
    PartRings,
}

/// Sort of a ring of the pack.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RingSort {
    /// A ring in a groove of its own, with a gap and a side clearance.
    Compression,
    /// An oil ring rail: a gap, no side clearance of its own.
    Rail,
    /// An oil ring expander: its ends butt, nothing to gap.
    Expander,
}

/// Row of the table of feature kinds.
#[derive(Clone, Copy, Debug)]
pub struct FeatureRow {
    /// The kind.
    pub kind: FeatureKind,
    /// Its name in definitions, such as `big-end`.
    pub name: &'static str,
    /// The shape of its paths, such as `rod/{n}/big-end`.
    pub pattern: &'static str,
    /// How often it is there.
    pub spread: Spread,
    /// What it is.
    pub about: &'static str,
}

const fn row(
    kind: FeatureKind,
    name: &'static str,
    pattern: &'static str,
    spread: Spread,
    about: &'static str,
) -> FeatureRow {
    FeatureRow { kind, name, pattern, spread, about }
}

use FeatureKind as K;
use Spread as S;

/// Every kind of feature, in the order in which features are listed.
pub static FEATURES: [FeatureRow; 25] = [
    row(K::Block, "block", "block", S::Once, "the cylinder block"),
    row(K::Crank, "crank", "crank", S::Once, "the crankshaft as a whole"),
    row(K::Cam, "cam", "cam", S::Once, "the camshaft as a whole"),
    row(K::CamBearing, "cam-bearing", "cam-bearing/{n}", S::CamBearings, "a cam bearing"),
    row(K::Main, "main", "main/{n}", S::Mains, "a main bearing: journal, housing, shells"),
    row(K::Pin, "pin", "pin/{n}", S::Pins, "a crankpin"),
    row(K::Cylinder, "cylinder", "cylinder/{n}", S::Cylinders, "a cylinder, for assembly"),
    row(K::Bore, "bore", "bore/{n}", S::Cylinders, "a cylinder's bore"),
    row(K::Liner, "liner", "liner/{n}", S::Liners, "a cylinder's liner in the block"),
    row(K::Rod, "rod", "rod/{n}", S::Cylinders, "a connecting rod"),
    row(K::BigEnd, "big-end", "rod/{n}/big-end", S::Cylinders, "a rod's big end"),
    row(K::SmallEnd, "small-end", "rod/{n}/small-end", S::Cylinders, "a rod's small end"),
    row(K::RodBolts, "rod-bolts", "rod/{n}/bolts", S::Cylinders, "a rod's bolts"),
    row(
        K::Ring,
        "ring",
        "ring/{n}/{ring}",
        S::Rings(RingSort::Compression),
        "a compression ring in its bore",
    ),
    row(K::Rail, "rail", "ring/{n}/{ring}", S::Rings(RingSort::Rail), "an oil ring rail"),
    row(K::Expander, "expander", "ring/{n}/{ring}", S::Rings(RingSort::Expander), "an oil ring expander"),
    row(K::Chamber, "chamber", "chamber/{n}", S::Cylinders, "a combustion chamber"),
    row(K::Deck, "deck", "deck/{bank}", S::Banks, "the deck of a bank"),
    row(K::Head, "head", "head/{bank}", S::Banks, "the head of a bank"),
    row(K::Piston, "piston", "piston/{mark}", S::Part, "a piston"),
    row(K::PistonSkirt, "piston-skirt", "piston/{mark}/skirt", S::Part, "a piston's skirt"),
    row(
        K::PistonPinBoss,
        "piston-pin-boss",
        "piston/{mark}/pin-boss",
        S::Part,
        "the gudgeon's hole in a piston",
    ),
    row(
        K::PistonGroove,
        "piston-groove",
        "piston/{mark}/groove/{ring}",
        S::PartRings,
        "a ring groove of a piston",
    ),
    row(K::Gudgeon, "gudgeon", "gudgeon/{mark}", S::Part, "a gudgeon"),
    row(K::ThrustWasher, "thrust-washer", "thrust-washer/{mark}", S::Part, "a thrust washer of the crank"),
];

impl FeatureKind {
    /// The row of this kind.
    #[must_use]
    pub fn row(self) -> &'static FeatureRow {
        &FEATURES[self as usize]
    }

    /// Name in definitions, such as `big-end`.
    #[must_use]
    pub fn name(self) -> &'static str {
        self.row().name
    }

    /// The kind of that name.
    #[must_use]
    pub fn find(name: &str) -> Option<Self> {
        FEATURES.iter().find(|row| row.name == name).map(|row| row.kind)
    }

    /// Whether features of this kind are on a part with a free mark, not on the engine.
    #[must_use]
    pub fn is_part(self) -> bool {
        matches!(self.row().spread, Spread::Part | Spread::PartRings)
    }
}

impl fmt::Display for FeatureKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// Index of a feature in [`super::Definition::features`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FeatureIx(pub(super) u16);

impl FeatureIx {
    /// The index as a number.
    #[must_use]
    pub fn index(self) -> usize {
        usize::from(self.0)
    }
}

/// Which one of its kind a feature is.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Place {
    /// The only one.
    Whole,
    /// By number, from 1.
    Number(u8),
    /// By bank.
    Bank(Arc<str>),
    /// By cylinder and ring.
    Ring(u8, Arc<str>),
    /// On the part with this mark.
    Part(Arc<str>),
    /// On the part with this mark, by ring.
    PartRing(Arc<str>, Arc<str>),
}

/// A place that is measured.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Feature {
    pub(super) path: Arc<str>,
    pub(super) kind: FeatureKind,
    pub(super) place: Place,
    pub(super) ix: Option<FeatureIx>,
}

impl Feature {
    /// Path, such as `rod/3/big-end`.
    #[must_use]
    pub fn path(&self) -> &str {
        &self.path
    }

    /// Path, shared.
    #[must_use]
    pub fn shared_path(&self) -> Arc<str> {
        Arc::clone(&self.path)
    }

    /// Kind.
    #[must_use]
    pub const fn kind(&self) -> FeatureKind {
        self.kind
    }

    /// Which one of its kind.
    #[must_use]
    pub const fn place(&self) -> &Place {
        &self.place
    }

    /// Index among the features of the engine; none for a feature of a part.
    #[must_use]
    pub const fn ix(&self) -> Option<FeatureIx> {
        self.ix
    }

    /// Number of the cylinder, main, pin or cam bearing, where it has one.
    #[must_use]
    pub fn number(&self) -> Option<u8> {
        match &self.place {
            Place::Number(number) | Place::Ring(number, _) => Some(*number),
            Place::Whole | Place::Bank(_) | Place::Part(_) | Place::PartRing(..) => None,
        }
    }

    /// Mark of the part, where the path carries it.
    #[must_use]
    pub fn mark(&self) -> Option<&str> {
        match &self.place {
            Place::Part(mark) | Place::PartRing(mark, _) => Some(mark),
            Place::Whole | Place::Number(_) | Place::Bank(_) | Place::Ring(..) => None,
        }
    }

    /// The variable part of the path, such as `3` or `2/top`; empty for the only one.
    #[must_use]
    pub fn suffix(&self) -> String {
        match &self.place {
            Place::Whole => String::new(),
            Place::Number(number) => number.to_string(),
            Place::Bank(name) | Place::Part(name) => name.to_string(),
            Place::Ring(number, ring) => format!("{number}/{ring}"),
            Place::PartRing(mark, ring) => format!("{mark}/{ring}"),
        }
    }

    /// Builds the feature of a kind at a place.
    pub(super) fn at(kind: FeatureKind, place: Place) -> Self {
        let pattern = kind.row().pattern;
        let path = match &place {
            Place::Whole => pattern.to_owned(),
            Place::Number(number) => pattern.replace("{n}", &number.to_string()),
            Place::Bank(bank) => pattern.replace("{bank}", bank),
            Place::Ring(number, ring) => pattern.replace("{n}", &number.to_string()).replace("{ring}", ring),
            Place::Part(mark) => pattern.replace("{mark}", mark),
            Place::PartRing(mark, ring) => pattern.replace("{ring}", ring).replace("{mark}", mark),
        };
        Self { path: path.into(), kind, place, ix: None }
    }
}

impl fmt::Display for Feature {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.path)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_stand_in_the_order_of_the_kinds_with_names_of_their_own() {
        for (index, row) in FEATURES.iter().enumerate() {
            assert_eq!(row.kind as usize, index, "{}", row.name);
            assert_eq!(FeatureKind::find(row.name), Some(row.kind));
        }
    }

    #[test]
    fn a_path_is_its_pattern_filled() {
        let groove = Place::PartRing("B".into(), "top".into());
        let feature = Feature::at(FeatureKind::PistonGroove, groove);
        assert_eq!(feature.path(), "piston/B/groove/top");
        assert_eq!(feature.mark(), Some("B"));
        let ring = Feature::at(FeatureKind::Ring, Place::Ring(2, "second".into()));
        assert_eq!((ring.path(), ring.suffix().as_str()), ("ring/2/second", "2/second"));
    }
}
