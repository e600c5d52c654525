//! Derived values: what follows from readings. One row each; the fold does the arithmetic.

use super::feature::FeatureKind;

/// How a derived value is computed from its inputs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Formula {
    /// Largest less smallest diameter among the directions of one level; the worst level.
    OutOfRound,
    /// Diameter at the first level less the one at the last, signed, in one direction;
    /// the direction in which it is largest.
    Taper,
    /// Outer less inner: low from smallest outer and largest inner, high the other way.
    Clearance,
    /// Housing less both walls less journal: low and high as for a clearance.
    OilClearance,
    /// Tight length less free length, bolt by bolt.
    Stretch,
}

impl Formula {
    /// Roles that the inputs of this formula take, in order.
    #[must_use]
    pub const fn roles(self) -> &'static [Role] {
        match self {
            Self::OutOfRound | Self::Taper => &[Role::Size],
            Self::Clearance => &[Role::Outer, Role::Inner],
            Self::OilClearance => &[Role::Housing, Role::Wall, Role::Journal],
            Self::Stretch => &[Role::Tight, Role::Free],
        }
    }
}

/// What an input is to a formula.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Role {
    /// The one size.
    Size,
    /// The hole.
    Outer,
    /// What runs in it.
    Inner,
    /// The bare housing of a bearing.
    Housing,
    /// Wall of a shell; stations `upper` and `lower` are taken off once each.
    Wall,
    /// The journal of a bearing.
    Journal,
    /// Length of a bolt at its final stage.
    Tight,
    /// Length of the same bolt, slack.
    Free,
}

/// On which feature an input is read, seen from the feature of the derived value.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum FeatureRef {
    /// The same.
    Same,
    /// The crankpin that the rod of this number runs on.
    PinOfRod,
    /// The feature of this kind with the same number: `bore/2` for `rod/2/small-end`.
    SameNumber(FeatureKind),
    /// A feature of the part that is fitted, or else allotted, at the place of this kind with
    /// the same number.
    PartAt {
        /// Where the part sits.
        place: FeatureKind,
        /// Which feature of it.
        part: FeatureKind,
    },
}

/// One input of a derived value.
#[derive(Clone, Copy, Debug)]
pub struct Input {
    /// What it is to the formula.
    pub role: Role,
    /// On which feature it is read.
    pub from: FeatureRef,
    /// Which characteristic.
    pub characteristic: &'static str,
}

/// Row of the table of derived values.
#[derive(Clone, Copy, Debug)]
pub struct Derivation {
    /// Kind of feature it belongs to.
    pub on: FeatureKind,
    /// Name, such as `clearance`; unique on the kind, characteristics included.
    pub name: &'static str,
    /// How it is computed.
    pub formula: Formula,
    /// From what.
    pub inputs: &'static [Input],
    /// The formula in words and symbols, as shown.
    pub text: &'static str,
    /// Where it comes from.
    pub source: &'static str,
}

impl Derivation {
    /// Index in [`DERIVATIONS`].
    #[must_use]
    pub fn ix(&self) -> DerivationIx {
        let found = position(self.on, self.name).unwrap_or(0);
        DerivationIx(u16::try_from(found).unwrap_or(0))
    }
}

/// Index of a row in [`DERIVATIONS`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct DerivationIx(u16);

impl DerivationIx {
    /// The row.
    #[must_use]
    pub fn row(self) -> &'static Derivation {
        &DERIVATIONS[usize::from(self.0)]
    }
}

/// The derived value of a name on a kind of feature.
#[must_use]
pub fn find(on: FeatureKind, name: &str) -> Option<&'static Derivation> {
    position(on, name).map(|index| &DERIVATIONS[index])
}

/// Every derived value of a kind of feature, by name.
#[must_use]
pub fn of_kind(on: FeatureKind) -> &'static [Derivation] {
    let start = DERIVATIONS.partition_point(|row| row.on < on);
    let end = DERIVATIONS.partition_point(|row| row.on <= on);
    &DERIVATIONS[start..end]
}

fn position(on: FeatureKind, name: &str) -> Option<usize> {
    DERIVATIONS.binary_search_by(|row| (row.on, row.name).cmp(&(on, name))).ok()
}

use FeatureKind as F;
use FeatureRef::{PartAt, PinOfRod, Same};

const fn input(role: Role, from: FeatureRef, characteristic: &'static str) -> Input {
    Input { role, from, characteristic }
}

const FORM_SOURCE: &str = "diametral, from two-point sizes (ISO 14405-1:2016); a roundness \
    deviation by ISO 1101 is radial and may be half of it or, with odd lobes, unseen";
const ROUND: &str = "largest less smallest diameter at one level; worst level";
const TAPER: &str = "diameter at the first level less diameter at the last, same direction";
const FIT: &str = "hole less shaft; low: smallest hole, largest shaft";
const OIL: &str = "C = H - w(upper) - w(lower) - J";
const BY_DEFINITION: &str = "arithmetic of a fit";

const fn round(on: F, name: &'static str, inputs: &'static [Input]) -> Derivation {
    let (formula, text, source) = (Formula::OutOfRound, ROUND, FORM_SOURCE);
    Derivation { on, name, formula, inputs, text, source }
}

const fn taper(on: F, name: &'static str, inputs: &'static [Input]) -> Derivation {
    let (formula, text, source) = (Formula::Taper, TAPER, FORM_SOURCE);
    Derivation { on, name, formula, inputs, text, source }
}

const fn fit(on: F, name: &'static str, inputs: &'static [Input]) -> Derivation {
    let (formula, text, source) = (Formula::Clearance, FIT, BY_DEFINITION);
    Derivation { on, name, formula, inputs, text, source }
}

const fn oil(on: F, inputs: &'static [Input]) -> Derivation {
    let (name, formula, text) = ("clearance", Formula::OilClearance, OIL);
    Derivation { on, name, formula, inputs, text, source: BY_DEFINITION }
}

const DIAMETER: &[Input] = &[input(Role::Size, Same, "diameter")];
const JOURNAL: &[Input] = &[input(Role::Size, Same, "journal-diameter")];
const HOUSING: &[Input] = &[input(Role::Size, Same, "housing-diameter")];
const CAM_BEARING: &[Input] =
    &[input(Role::Outer, Same, "bearing-diameter"), input(Role::Inner, Same, "journal-diameter")];
const MAIN_OIL: &[Input] = &[
    input(Role::Housing, Same, "housing-diameter"),
    input(Role::Wall, Same, "shell-wall"),
    input(Role::Journal, Same, "journal-diameter"),
];
const ROD_OIL: &[Input] = &[
    input(Role::Housing, Same, "housing-diameter"),
    input(Role::Wall, Same, "shell-wall"),
    input(Role::Journal, PinOfRod, "diameter"),
];
const PISTON_IN_BORE: &[Input] = &[
    input(Role::Outer, Same, "diameter"),
    input(Role::Inner, PartAt { place: F::Bore, part: F::PistonSkirt }, "diameter"),
];
const GUDGEON_IN_BUSH: &[Input] = &[
    input(Role::Outer, Same, "diameter"),
    input(Role::Inner, PartAt { place: F::Bore, part: F::Gudgeon }, "diameter"),
];
const GUDGEON_IN_BOSS: &[Input] = &[
    input(Role::Outer, PartAt { place: F::Bore, part: F::PistonPinBoss }, "diameter"),
    input(Role::Inner, PartAt { place: F::Bore, part: F::Gudgeon }, "diameter"),
];
const BOLT: &[Input] = &[input(Role::Tight, Same, "tight-length"), input(Role::Free, Same, "free-length")];

/// The table, sorted by kind of feature (in the order of [`super::feature::FEATURES`]) and name.
pub static DERIVATIONS: [Derivation; 16] = [
    fit(F::CamBearing, "clearance", CAM_BEARING),
    oil(F::Main, MAIN_OIL),
    round(F::Main, "housing-out-of-round", HOUSING),
    round(F::Main, "journal-out-of-round", JOURNAL),
    taper(F::Main, "journal-taper", JOURNAL),
    round(F::Pin, "out-of-round", DIAMETER),
    taper(F::Pin, "taper", DIAMETER),
    round(F::Bore, "out-of-round", DIAMETER),
    fit(F::Bore, "pin-boss-clearance", GUDGEON_IN_BOSS),
    fit(F::Bore, "piston-clearance", PISTON_IN_BORE),
    taper(F::Bore, "taper", DIAMETER),
    oil(F::BigEnd, ROD_OIL),
    round(F::BigEnd, "out-of-round", HOUSING),
    fit(F::SmallEnd, "clearance", GUDGEON_IN_BUSH),
    round(F::SmallEnd, "out-of-round", DIAMETER),
    Derivation {
        on: F::RodBolts,
        name: "stretch",
        formula: Formula::Stretch,
        inputs: BOLT,
        text: "tight length less free length, bolt by bolt",
        source: "arithmetic; both lengths at one temperature",
    },
];

/// The kind of feature on which an input of a row is read.
#[must_use]
pub const fn input_kind(row: &Derivation, input: &Input) -> FeatureKind {
    kind_meant(row.on, input.from)
}

/// The kind of feature that is meant, seen from one of a kind.
#[must_use]
pub const fn kind_meant(on: FeatureKind, meant: FeatureRef) -> FeatureKind {
    match meant {
        FeatureRef::Same => on,
        FeatureRef::PinOfRod => FeatureKind::Pin,
        FeatureRef::SameNumber(kind) => kind,
        FeatureRef::PartAt { part, .. } => part,
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::super::characteristic;
    use super::*;

    #[test]
    fn rows_are_sorted_and_found_and_named_apart_from_characteristics() {
        for pair in DERIVATIONS.windows(2) {
            assert!((pair[0].on, pair[0].name) < (pair[1].on, pair[1].name), "{}", pair[1].name);
        }
        for row in &DERIVATIONS {
            assert!(std::ptr::eq(find(row.on, row.name).unwrap(), row));
            assert!(std::ptr::eq(row.ix().row(), row));
            assert!(of_kind(row.on).iter().any(|other| other.name == row.name));
            assert!(characteristic::find(row.on, row.name).is_none(), "{} {}", row.on, row.name);
        }
    }

    #[test]
    fn every_input_is_a_measured_length_with_the_role_its_formula_takes() {
        for row in &DERIVATIONS {
            let roles: Vec<Role> = row.inputs.iter().map(|input| input.role).collect();
            assert_eq!(roles, row.formula.roles(), "{} {}", row.on, row.name);
            for input in row.inputs {
                let on = input_kind(row, input);
                let found = characteristic::find(on, input.characteristic);
                let kind = found.map(|found| found.kind);
                assert_eq!(kind, Some(crate::quantity::Kind::Length), "{} {}", row.on, row.name);
            }
        }
    }

    #[test]
    fn form_is_derived_only_where_the_stations_can_show_it() {
        let counts = super::super::station::Counts { bolts: 2, mains: 5, cylinders: 4 };
        for row in &DERIVATIONS {
            let input = row.inputs[0];
            let stations =
                characteristic::find(input_kind(row, &input), input.characteristic).unwrap().stations;
            let (levels, ways) = (stations.levels.list(counts), stations.directions.list(counts));
            match row.formula {
                Formula::OutOfRound => assert!(ways.len() > 1, "{} {}", row.on, row.name),
                Formula::Taper => assert!(levels.len() > 1, "{} {}", row.on, row.name),
                Formula::Clearance | Formula::OilClearance | Formula::Stretch => {}
            }
        }
    }
}
