//! Which input of which worksheet a record can fill, and with what. Common practice, no source: the
//! smallest of a hole and the largest of a shaft, because the mean hides the tight place.

use crate::engine::{FeatureKind, FeatureRef, MaterialRole};

/// Which of the values of a feature is meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Take<'t> {
    /// Smallest over its stations.
    Smallest,
    /// Largest over its stations.
    Largest,
    /// At one station.
    At(&'t str),
    /// All of one level, direction by direction.
    Level(&'t str),
    /// Standard uncertainty, the larger over its stations.
    Uncertainty,
}

/// What of a judged value is meant, whichever value that is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// The end that is nearer to a limit.
    Value,
    /// Standard uncertainty.
    Uncertainty,
    /// Lower limit in force.
    Lower,
    /// Upper limit in force.
    Upper,
    /// Decision rule of the limit in force.
    Rule,
}

/// Where in a record an input is found.
#[derive(Clone, Copy, Debug)]
pub enum Where {
    /// Dimensions of the engine's definition, added up; the first must be given.
    Dimensions(&'static [&'static str]),
    /// How many cylinders the engine has.
    Cylinders,
    /// At a place of this kind, a value of the feature meant from there.
    Here(FeatureKind, FeatureRef, &'static str, Take<'static>),
    /// The same at every place of this kind, as a list.
    Each(FeatureKind, FeatureRef, &'static str, Take<'static>),
    /// The smallest of a value over all places of this kind.
    Least(FeatureKind, &'static str),
    /// Of every part with features of this kind, as a list in the order of their marks.
    Parts(FeatureKind, &'static str, Take<'static>),
    /// What something is made of; at a place of this kind only, where one is named.
    Material(Option<FeatureKind>, MaterialRole),
    /// Of the value that is named.
    Judged(Part),
}

/// One row: rows of one input stand together, in the order in which they are tried.
#[derive(Clone, Copy, Debug)]
pub struct Fill {
    /// Name of the worksheet.
    pub sheet: &'static str,
    /// Name of its input.
    pub input: &'static str,
    /// Where it is found.
    pub from: Where,
}

use FeatureKind as F;
use FeatureRef::{PartAt, PinOfRod, Same, SameNumber};
use MaterialRole as M;
use Take::{Largest, Level, Smallest, Uncertainty};
use Where::{Cylinders, Dimensions, Each, Here, Judged, Least, Material, Parts};

const fn fill(sheet: &'static str, input: &'static str, from: Where) -> Fill {
    Fill { sheet, input, from }
}

const SKIRT: FeatureRef = PartAt { place: F::Bore, part: F::PistonSkirt };
const PISTON: FeatureRef = PartAt { place: F::Bore, part: F::Piston };
const BORE: FeatureRef = SameNumber(F::Bore);
const RECIPROCATING: &[&str] = &["piston-mass", "gudgeon-mass", "ring-mass", "rod-mass-small"];

/// The table.
pub static FILLS: &[Fill] = &[
    fill("hot-clearance", "housing", Here(F::Main, Same, "housing-diameter", Smallest)),
    fill("hot-clearance", "housing", Here(F::BigEnd, Same, "housing-diameter", Smallest)),
    fill("hot-clearance", "housing", Here(F::Bore, Same, "diameter", Smallest)),
    fill("hot-clearance", "wall", Here(F::Main, Same, "shell-wall", Largest)),
    fill("hot-clearance", "wall", Here(F::BigEnd, Same, "shell-wall", Largest)),
    fill("hot-clearance", "journal", Here(F::Main, Same, "journal-diameter", Largest)),
    fill("hot-clearance", "journal", Here(F::BigEnd, PinOfRod, "diameter", Largest)),
    fill("hot-clearance", "journal", Here(F::Bore, SKIRT, "diameter", Largest)),
    fill("hot-clearance", "housing-of", Material(Some(F::Main), M::Block)),
    fill("hot-clearance", "housing-of", Material(Some(F::BigEnd), M::Rod)),
    fill("hot-clearance", "housing-of", Material(Some(F::Bore), M::BoreWall)),
    fill("hot-clearance", "journal-of", Material(Some(F::Main), M::Crank)),
    fill("hot-clearance", "journal-of", Material(Some(F::BigEnd), M::Crank)),
    fill("hot-clearance", "journal-of", Material(Some(F::Bore), M::Piston)),
    fill("conformance", "value", Judged(Part::Value)),
    fill("conformance", "u", Judged(Part::Uncertainty)),
    fill("conformance", "lower", Judged(Part::Lower)),
    fill("conformance", "upper", Judged(Part::Upper)),
    fill("conformance", "rule", Judged(Part::Rule)),
    fill("test-uncertainty-ratio", "u", Judged(Part::Uncertainty)),
    fill("test-uncertainty-ratio", "lower", Judged(Part::Lower)),
    fill("test-uncertainty-ratio", "upper", Judged(Part::Upper)),
    fill("test-uncertainty-ratio", "rule", Judged(Part::Rule)),
    fill("bore-form", "top", Here(F::Bore, Same, "diameter", Level("top"))),
    fill("bore-form", "middle", Here(F::Bore, Same, "diameter", Level("middle"))),
    fill("bore-form", "bottom", Here(F::Bore, Same, "diameter", Level("bottom"))),
    fill("clean-up", "worn", Each(F::Bore, Same, "diameter", Largest)),
    fill("clean-up", "standard", Dimensions(&["bore"])),
    fill("hone-to", "pistons", Each(F::Bore, SKIRT, "diameter", Largest)),
    fill("hone-to", "bores", Each(F::Bore, Same, "diameter", Smallest)),
    fill("hone-to", "part", Material(None, M::BoreWall)),
    fill("oil-clearance", "housing", Here(F::Main, Same, "housing-diameter", Smallest)),
    fill("oil-clearance", "housing", Here(F::BigEnd, Same, "housing-diameter", Smallest)),
    fill("oil-clearance", "wall", Here(F::Main, Same, "shell-wall", Take::At("upper"))),
    fill("oil-clearance", "wall", Here(F::BigEnd, Same, "shell-wall", Take::At("upper"))),
    fill("oil-clearance", "other-wall", Here(F::Main, Same, "shell-wall", Take::At("lower"))),
    fill("oil-clearance", "other-wall", Here(F::BigEnd, Same, "shell-wall", Take::At("lower"))),
    fill("oil-clearance", "journal", Here(F::Main, Same, "journal-diameter", Largest)),
    fill("oil-clearance", "journal", Here(F::BigEnd, PinOfRod, "diameter", Largest)),
    fill("oil-clearance", "u-housing", Here(F::Main, Same, "housing-diameter", Uncertainty)),
    fill("oil-clearance", "u-housing", Here(F::BigEnd, Same, "housing-diameter", Uncertainty)),
    fill("oil-clearance", "u-wall", Here(F::Main, Same, "shell-wall", Uncertainty)),
    fill("oil-clearance", "u-wall", Here(F::BigEnd, Same, "shell-wall", Uncertainty)),
    fill("oil-clearance", "u-journal", Here(F::Main, Same, "journal-diameter", Uncertainty)),
    fill("oil-clearance", "u-journal", Here(F::BigEnd, PinOfRod, "diameter", Uncertainty)),
    fill("shell-grades", "housings", Each(F::Main, Same, "housing-diameter", Smallest)),
    fill("shell-grades", "housings", Each(F::BigEnd, Same, "housing-diameter", Smallest)),
    fill("shell-grades", "journals", Each(F::Main, Same, "journal-diameter", Largest)),
    fill("shell-grades", "journals", Each(F::BigEnd, PinOfRod, "diameter", Largest)),
    fill("end-float", "journal", Here(F::Main, Same, "journal-length", Smallest)),
    fill("end-float", "housing", Here(F::Main, Same, "housing-length", Largest)),
    fill("thrust-washers", "float", Here(F::Crank, Same, "end-float", Largest)),
    fill("stretch-preload", "stretch", Here(F::RodBolts, Same, "stretch", Largest)),
    fill("ring-gap", "bore", Here(F::Ring, BORE, "diameter", Smallest)),
    fill("ring-gap", "bore", Here(F::Rail, BORE, "diameter", Smallest)),
    fill("ring-gap", "found", Here(F::Ring, Same, "gap", Smallest)),
    fill("ring-gap", "found", Here(F::Rail, Same, "gap", Smallest)),
    fill("gap-in-bore", "bore", Here(F::Ring, BORE, "diameter", Smallest)),
    fill("gap-in-bore", "bore", Here(F::Rail, BORE, "diameter", Smallest)),
    fill("compression", "bore", Dimensions(&["bore", "oversize"])),
    fill("compression", "stroke", Dimensions(&["stroke"])),
    fill("compression", "chamber", Here(F::Bore, SameNumber(F::Chamber), "volume", Smallest)),
    fill("compression", "chamber", Dimensions(&["chamber-volume"])),
    fill("compression", "gasket-bore", Dimensions(&["gasket-bore"])),
    fill("compression", "gasket", Dimensions(&["gasket-thickness"])),
    fill("compression", "deck-height", Dimensions(&["deck-height"])),
    fill("compression", "rod", Here(F::Bore, SameNumber(F::Rod), "centres", Largest)),
    fill("compression", "rod", Dimensions(&["rod-centres"])),
    fill("compression", "compression-height", Here(F::Bore, PISTON, "compression-height", Largest)),
    fill("compression", "compression-height", Dimensions(&["compression-height"])),
    fill("compression", "dish", Here(F::Bore, PISTON, "dish-volume", Smallest)),
    fill("compression", "dish", Dimensions(&["dish-volume"])),
    fill("compression", "crevice", Dimensions(&["crevice-volume"])),
    fill("displacement", "bore", Dimensions(&["bore", "oversize"])),
    fill("displacement", "stroke", Dimensions(&["stroke"])),
    fill("displacement", "cylinders", Cylinders),
    fill("piston-motion", "stroke", Dimensions(&["stroke"])),
    fill("piston-motion", "rod", Dimensions(&["rod-centres"])),
    fill("rod-ends", "big-end", Here(F::Rod, Same, "weight-big", Largest)),
    fill("rod-ends", "small-end", Here(F::Rod, Same, "weight-small", Largest)),
    fill("rod-ends", "lightest-big", Least(F::Rod, "weight-big")),
    fill("rod-ends", "lightest-small", Least(F::Rod, "weight-small")),
    fill("bobweight", "rotating", Dimensions(&["rod-mass-big", "shell-mass"])),
    fill("bobweight", "reciprocating", Dimensions(RECIPROCATING)),
    fill("inertia-forces", "reciprocating", Dimensions(RECIPROCATING)),
    fill("inertia-forces", "stroke", Dimensions(&["stroke"])),
    fill("inertia-forces", "rod", Dimensions(&["rod-centres"])),
    fill("vee-primary", "reciprocating", Dimensions(RECIPROCATING)),
    fill("vee-primary", "stroke", Dimensions(&["stroke"])),
    fill("runout", "reading", Here(F::Crank, Same, "runout", Largest)),
    fill("runout", "reading", Here(F::Cam, Same, "runout", Largest)),
    fill("cross-hatch", "bore", Dimensions(&["bore", "oversize"])),
    fill("match-pistons", "bores", Each(F::Bore, Same, "diameter", Smallest)),
    fill("match-pistons", "pistons", Parts(F::PistonSkirt, "diameter", Largest)),
    fill("even-weights", "pistons", Parts(F::Piston, "weight", Largest)),
    fill("even-weights", "pins", Parts(F::Gudgeon, "weight", Largest)),
];

/// Of a worksheet: an input that may be left out, but not where the record gave this other one. A
/// housing is read with its shells out (its characteristic asks for that), so it is no clearance
/// until the walls are taken off; a shelled bore is typed.
pub static TOGETHER: &[(&str, &str, &str)] =
    &[("oil-clearance", "wall", "housing"), ("hot-clearance", "wall", "housing")];
