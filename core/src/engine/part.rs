//! Sorts of parts: things with an identity, and where they are fitted.

use super::characteristic::Characteristic;
use super::feature::FeatureKind;
use super::material::MaterialRole;

/// Row of the table of sorts of parts.
#[derive(Clone, Copy, Debug)]
pub struct PartSort {
    /// Name, such as `ring-set`.
    pub name: &'static str,
    /// Kinds of places where one is fitted.
    pub places: &'static [FeatureKind],
    /// Kinds of features it carries under its own mark.
    pub features: &'static [FeatureKind],
    /// Kinds of features of the engine that are measured on it.
    pub measured: &'static [FeatureKind],
    /// What it is made of.
    pub material: Option<MaterialRole>,
    /// Where the fasteners sit that hold it when it is built in.
    pub held_at: &'static [FeatureKind],
    /// What it is.
    pub about: &'static str,
}

const fn row(
    name: &'static str,
    places: &'static [FeatureKind],
    features: &'static [FeatureKind],
    about: &'static str,
) -> PartSort {
    PartSort { name, places, features, measured: &[], material: None, held_at: &[], about }
}

impl PartSort {
    const fn measured_at(self, measured: &'static [FeatureKind]) -> Self {
        Self { measured, ..self }
    }

    const fn held_at(self, held_at: &'static [FeatureKind]) -> Self {
        Self { held_at, ..self }
    }

    const fn of(self, material: MaterialRole) -> Self {
        Self { material: Some(material), ..self }
    }

    /// Whether a characteristic is one of such a part, and not of what it is fitted with: of a main
    /// bearing the journal is the crank's, the housing the block's.
    #[must_use]
    pub fn owns(&self, row: &Characteristic) -> bool {
        if self.features.contains(&row.on) {
            return true;
        }
        self.measured.contains(&row.on)
            && match row.made_of {
                Some(MaterialRole::BoreWall) => {
                    matches!(self.material, Some(MaterialRole::Block | MaterialRole::Liner))
                }
                Some(role) => self.material == Some(role),
                None => !SHARED.contains(&row.on) || self.places.contains(&row.on),
            }
    }
}

/// Places where several parts are measured; what is made of nothing there is of the shells.
const SHARED: [FeatureKind; 2] = [FeatureKind::Main, FeatureKind::BigEnd];

use FeatureKind as F;
use MaterialRole as M;

/// Every sort of part (common practice, no source).
pub static PART_SORTS: [PartSort; 14] = [
    row("block", &[F::Block], &[], "the cylinder block with its main caps")
        .measured_at(&[F::Block, F::Main, F::Bore, F::Deck, F::CamBearing])
        .of(M::Block),
    row("crank", &[F::Crank], &[], "the crankshaft")
        .measured_at(&[F::Crank, F::Main, F::Pin])
        .of(M::Crank)
        .held_at(&[F::Main, F::RodBolts]),
    row("cam", &[F::Cam], &[], "the camshaft").measured_at(&[F::Cam, F::CamBearing]).of(M::Cam),
    row("cam-bush", &[F::CamBearing], &[], "a cam bearing bush").measured_at(&[F::CamBearing]).of(M::Block),
    row("main-shells", &[F::Main], &[], "upper and lower shell of a main bearing")
        .measured_at(&[F::Main])
        .of(M::Shell)
        .held_at(&[F::Main]),
    row("thrust-washers", &[F::Main], &[F::ThrustWasher], "thrust washers of the crank").of(M::Shell),
    row("piston", &[F::Bore], &[F::Piston, F::PistonSkirt, F::PistonPinBoss, F::PistonGroove], "a piston")
        .of(M::Piston)
        .held_at(&[F::RodBolts]),
    row("gudgeon", &[F::Bore], &[F::Gudgeon], "the gudgeon of a piston, with its circlips").of(M::Gudgeon),
    row("ring-set", &[F::Bore], &[], "the rings of one piston").measured_at(&[F::Ring, F::Rail]).of(M::Ring),
    row("liner", &[F::Liner], &[], "a cylinder liner").measured_at(&[F::Liner, F::Bore]).of(M::Liner),
    row("rod", &[F::Rod], &[], "a connecting rod with its cap")
        .measured_at(&[F::Rod, F::BigEnd, F::SmallEnd])
        .of(M::Rod)
        .held_at(&[F::RodBolts]),
    row("rod-shells", &[F::BigEnd], &[], "upper and lower shell of a big end")
        .measured_at(&[F::BigEnd])
        .of(M::Shell)
        .held_at(&[F::RodBolts]),
    row("bolt-set", &[F::RodBolts, F::Main, F::Head], &[], "the bolts of one place")
        .measured_at(&[F::RodBolts])
        .of(M::Bolt),
    row("head", &[F::Head], &[], "a cylinder head").measured_at(&[F::Head]).of(M::Head).held_at(&[F::Head]),
];

/// The sort of that name.
#[must_use]
pub fn find(name: &str) -> Option<&'static PartSort> {
    PART_SORTS.iter().find(|sort| sort.name == name)
}

/// The sort of `piston/B`.
#[must_use]
pub fn of_mark(part: &str) -> Option<&'static PartSort> {
    part.split('/').next().and_then(find)
}

/// The sort of part that carries features of a kind under its mark.
#[must_use]
pub fn carrying(kind: FeatureKind) -> Option<&'static PartSort> {
    PART_SORTS.iter().find(|sort| sort.features.contains(&kind))
}

#[cfg(test)]
mod tests {
    use super::super::feature::FEATURES;
    use super::*;

    #[test]
    fn parts_sit_on_the_engine_and_carry_every_feature_of_a_part() {
        for sort in &PART_SORTS {
            assert!(sort.places.iter().all(|place| !place.is_part()), "{}", sort.name);
            assert!(sort.features.iter().all(|kind| kind.is_part()), "{}", sort.name);
        }
        for row in FEATURES.iter().filter(|row| row.kind.is_part()) {
            assert!(carrying(row.kind).is_some(), "{}", row.name);
        }
    }
}
