//! Characteristics: what is measured on each kind of feature. One row each.
//!
//! Everything here is common practice, no source. Form from two-point diameters is what
//! ISO 14405-1:2016 calls local sizes: odd lobing stays unseen.

use super::condition::{Needed, When};
use super::feature::FeatureKind;
use super::material::MaterialRole;
use super::station::{Stations, Words};
use crate::quantity::{Kind, Quantity};

/// Row of the table of characteristics.
#[derive(Clone, Copy, Debug)]
pub struct Characteristic {
    /// Kind of feature it is measured on.
    pub on: FeatureKind,
    /// Name, such as `journal-diameter`; unique on the kind, derived values included.
    pub name: &'static str,
    /// What it counts in.
    pub kind: Kind,
    /// Where it is read.
    pub stations: Stations,
    /// What a reading must state.
    pub conditions: &'static [Needed],
    /// What grows with temperature; none: never corrected.
    pub made_of: Option<MaterialRole>,
    /// Whether a reading without temperatures cannot be judged.
    pub temperature_matters: bool,
    /// Whether it is usually read as a deviation from a set size.
    pub comparator: bool,
    /// Whether a second person reads it, blind to the first.
    pub second_blind: bool,
    /// Whether it is of something that is there, so that nought or less cannot be meant.
    pub above_nothing: bool,
    /// What it is.
    pub about: &'static str,
    /// Place in the table.
    ix: CharacteristicIx,
}

impl Characteristic {
    /// Index in [`CHARACTERISTICS`].
    #[must_use]
    pub const fn ix(&self) -> CharacteristicIx {
        self.ix
    }

    /// Why a size of nothing or less cannot be meant; none: it can, or there is something.
    #[must_use]
    pub fn cannot_be(&self, size: &Quantity) -> Option<String> {
        (self.above_nothing && size.amount().base() <= 0).then(|| is_never(self.name, size))
    }
}

/// In words: a size of nothing or less of something that is there.
#[must_use]
pub fn is_never(what: &str, size: &Quantity) -> String {
    format!("a {what} of {size} cannot be meant: it is always above 0 {}", size.unit())
}

/// Index of a row in [`CHARACTERISTICS`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CharacteristicIx(u16);

impl CharacteristicIx {
    /// The index as a number.
    #[must_use]
    pub fn index(self) -> usize {
        usize::from(self.0)
    }

    /// The row.
    #[must_use]
    pub fn row(self) -> &'static Characteristic {
        &CHARACTERISTICS[usize::from(self.0)]
    }
}

/// The characteristic of a name on a kind of feature.
#[must_use]
pub fn find(on: FeatureKind, name: &str) -> Option<&'static Characteristic> {
    position(on, name).map(|index| &CHARACTERISTICS[index])
}

/// Every characteristic of a kind of feature, by name.
#[must_use]
pub fn of_kind(on: FeatureKind) -> &'static [Characteristic] {
    let start = CHARACTERISTICS.partition_point(|row| row.on < on);
    let end = CHARACTERISTICS.partition_point(|row| row.on <= on);
    &CHARACTERISTICS[start..end]
}

fn position(on: FeatureKind, name: &str) -> Option<usize> {
    CHARACTERISTICS.binary_search_by(|row| (row.on, row.name).cmp(&(on, name))).ok()
}

/// A plain row: single value, no condition, no temperature.
const fn plain(on: FeatureKind, name: &'static str, kind: Kind, about: &'static str) -> Characteristic {
    Characteristic {
        on,
        name,
        kind,
        stations: Stations::SINGLE,
        conditions: &[],
        made_of: None,
        temperature_matters: false,
        comparator: false,
        second_blind: false,
        above_nothing: false,
        about,
        ix: CharacteristicIx(0),
    }
}

/// Gives every row its place in the table.
const fn numbered<const N: usize>(mut rows: [Characteristic; N]) -> [Characteristic; N] {
    let mut at = 0;
    let mut ix: u16 = 0;
    while at < N {
        rows[at].ix = CharacteristicIx(ix);
        at += 1;
        ix += 1;
    }
    rows
}

/// A length too small, or a difference too near, for temperature to count.
const fn small(on: FeatureKind, name: &'static str, about: &'static str) -> Characteristic {
    plain(on, name, Kind::Length, about)
}

/// A size that is corrected to 20 degC and cannot be judged without temperatures.
const fn size(
    on: FeatureKind,
    name: &'static str,
    made_of: MaterialRole,
    about: &'static str,
) -> Characteristic {
    Characteristic {
        made_of: Some(made_of),
        temperature_matters: true,
        above_nothing: true,
        ..small(on, name, about)
    }
}

impl Characteristic {
    const fn at(self, stations: Stations) -> Self {
        Self { stations, ..self }
    }

    const fn needs(self, conditions: &'static [Needed]) -> Self {
        Self { conditions, ..self }
    }

    const fn by_comparator(self) -> Self {
        Self { comparator: true, ..self }
    }

    const fn twice(self) -> Self {
        Self { second_blind: true, ..self }
    }

    const fn above_nothing(self) -> Self {
        Self { above_nothing: true, ..self }
    }

    /// Of a size from one face to another that may lie on either side.
    const fn either_side(self) -> Self {
        Self { above_nothing: false, ..self }
    }
}

const BORE: Stations = Stations {
    more_levels: &["unworn"],
    more_directions: &["third"],
    ..Stations::grid(&["top", "middle", "bottom"], &["thrust", "axial"])
};
const JOURNAL: Stations = Stations::grid(&["front", "rear"], &["0", "60", "120"]);
const HOUSING: Stations = Stations {
    more_levels: &[],
    more_directions: &["horizontal"],
    ..Stations::around(&["vertical", "plus-60", "minus-60"])
};
const SHELLS: Stations = Stations::named(&["upper", "lower"]);
const EYE: Stations = Stations::grid(&["front", "rear"], &["vertical", "horizontal"]);
const TURNING: Stations = Stations {
    directions: Words::Fixed(&["running"]),
    more_directions: &["breakaway"],
    ..Stations::counted(Words::Assembly)
};

const BORE_STATE: &[Needed] = &[
    Needed { one_of: &["liner-clamped"], when: When::WetLiners },
    Needed { one_of: &["torque-plate-on"], when: When::TorquePlate },
];
const LINER_STATE: &[Needed] = &[Needed { one_of: &["liner-clamped"], when: When::WetLiners }];
const HOUSING_STATE: &[Needed] = &[Needed::always(&["caps-tightened"]), Needed::always(&["shells-out"])];
const SEALS: &[Needed] = &[Needed::always(&["seals-out", "seals-in"])];
const FREE_BOLT: &[Needed] = &[Needed::always(&["bolt-free"])];
const TIGHT_BOLT: &[Needed] = &[Needed::always(&["bolt-tight"])];
const SQUARED: &[Needed] =
    &[Needed::always(&["ring-squared"]), Needed { one_of: &["liner-clamped"], when: When::WetLiners }];
const IN_GROOVE: &[Needed] = &[Needed::always(&["ring-in-groove"])];
const AT_TOP: &[Needed] =
    &[Needed::always(&["at-top-dead-centre"]), Needed { one_of: &["liner-clamped"], when: When::WetLiners }];
const RODS_ON: &[Needed] = &[Needed::always(&["rods-on-pin"])];

use FeatureKind as F;
use MaterialRole as M;

/// Bolt lengths are corrected where temperatures are given, yet judged without: bolt and
/// gauge are both of steel and stretch is a difference of two such readings.
const fn bolt_length(name: &'static str, needs: &'static [Needed], about: &'static str) -> Characteristic {
    Characteristic { made_of: Some(M::Bolt), above_nothing: true, ..small(F::RodBolts, name, about) }
        .at(Stations::counted(Words::Bolts))
        .needs(needs)
}

/// The table, sorted by kind of feature (in the order of [`super::feature::FEATURES`]) and name.
pub static CHARACTERISTICS: [Characteristic; 62] = numbered([
    size(F::Block, "main-line-height", M::Block, "main line to sump rail").either_side(),
    small(F::Crank, "end-float", "travel of the crank fore and aft"),
    small(F::Crank, "runout", "reading on a main journal, crank on its end mains")
        .at(Stations::counted(Words::Mains)),
    plain(F::Crank, "turning-torque", Kind::Torque, "torque to turn, by beam or dial wrench")
        .at(TURNING)
        .needs(SEALS)
        .above_nothing(),
    small(F::Cam, "end-float", "travel of the cam fore and aft"),
    small(F::Cam, "runout", "reading at the middle bearing"),
    plain(F::Cam, "turning-torque", Kind::Torque, "torque to turn the cam alone").above_nothing(),
    size(F::CamBearing, "bearing-diameter", M::Block, "bearing in the block, bush in")
        .at(EYE)
        .by_comparator(),
    size(F::CamBearing, "journal-diameter", M::Cam, "journal of the cam").at(JOURNAL),
    small(F::Main, "fillet-radius", "radius where the journal meets the web").above_nothing(),
    size(F::Main, "housing-diameter", M::Block, "bare housing, off the parting line")
        .at(HOUSING)
        .needs(HOUSING_STATE)
        .by_comparator()
        .twice(),
    size(F::Main, "housing-length", M::Block, "over the thrust faces of the block"),
    size(F::Main, "journal-diameter", M::Crank, "clear of fillet and oil hole").at(JOURNAL).twice(),
    size(F::Main, "journal-length", M::Crank, "between the webs"),
    small(F::Main, "shell-wall", "at the crown").at(SHELLS).above_nothing(),
    size(F::Pin, "diameter", M::Crank, "clear of fillet and oil hole").at(JOURNAL).twice(),
    small(F::Pin, "fillet-radius", "radius where the pin meets the web").above_nothing(),
    size(F::Pin, "length", M::Crank, "between the webs"),
    size(F::Pin, "throw", M::Crank, "pin centre to main line"),
    plain(F::Bore, "crosshatch-angle", Kind::Angle, "included, from the plane across the bore"),
    size(F::Bore, "diameter", M::BoreWall, "below the ridge, middle, end of ring travel")
        .at(BORE)
        .needs(BORE_STATE)
        .by_comparator()
        .twice(),
    small(F::Bore, "piston-height", "crown below the deck at the top; above is negative").needs(AT_TOP),
    small(F::Bore, "roughness-rk", "core roughness depth (ISO 21920-2)"),
    small(F::Bore, "roughness-rpk", "peaks above the core (ISO 21920-2)"),
    small(F::Bore, "roughness-rvk", "valleys below the core (ISO 21920-2)"),
    small(F::Liner, "recess-depth", "seat below the deck")
        .at(Stations::named(&["front", "rear", "left", "right"])),
    small(F::Liner, "stand-out", "flange above the deck")
        .at(Stations::named(&["front", "rear", "left", "right"]))
        .needs(LINER_STATE),
    small(F::Rod, "bend", "per 100 mm of bar"),
    size(F::Rod, "centres", M::Rod, "big-end centre to small-end centre"),
    small(F::Rod, "side-clearance", "all rods of the pin in place, by feeler").needs(RODS_ON),
    small(F::Rod, "twist", "per 100 mm of bar"),
    plain(F::Rod, "weight-big", Kind::Mass, "big end on the scale, small end hung level").above_nothing(),
    plain(F::Rod, "weight-small", Kind::Mass, "small end on the scale, big end hung level").above_nothing(),
    size(F::BigEnd, "housing-diameter", M::Rod, "bare housing, off the parting line")
        .at(HOUSING)
        .needs(HOUSING_STATE)
        .by_comparator()
        .twice(),
    small(F::BigEnd, "shell-wall", "at the crown").at(SHELLS).above_nothing(),
    size(F::BigEnd, "width", M::Rod, "over the side faces"),
    size(F::SmallEnd, "diameter", M::Rod, "bush as finished").at(EYE).by_comparator(),
    bolt_length("free-length", FREE_BOLT, "bolt slack"),
    bolt_length("tight-length", TIGHT_BOLT, "bolt at its final stage"),
    small(F::Ring, "gap", "between the ends").needs(SQUARED),
    small(F::Ring, "side-clearance", "in its groove, by feeler").needs(IN_GROOVE),
    small(F::Ring, "width", "axial").at(Stations::FREE).above_nothing(),
    small(F::Rail, "gap", "between the ends").needs(SQUARED),
    small(F::Rail, "width", "axial").at(Stations::FREE).above_nothing(),
    plain(F::Chamber, "volume", Kind::Volume, "by burette, plugs and valves in").above_nothing(),
    small(F::Deck, "flatness", "gap under a straight edge").at(Stations::named(&[
        "lengthwise",
        "crosswise",
        "diagonal-1",
        "diagonal-2",
    ])),
    size(F::Deck, "height", M::Block, "crank centre to deck")
        .at(Stations::named(&["front", "rear"]))
        .either_side(),
    small(F::Deck, "roughness-ra", "mean roughness"),
    small(F::Head, "flatness", "gap under a straight edge").at(Stations::named(&[
        "lengthwise",
        "crosswise",
        "diagonal-1",
        "diagonal-2",
    ])),
    small(F::Head, "gasket-thickness", "gasket, compressed").above_nothing(),
    size(F::Head, "thickness", M::Head, "joint face to cover face").at(Stations::named(&["front", "rear"])),
    size(F::Piston, "compression-height", M::Piston, "gudgeon centre to crown"),
    plain(F::Piston, "dish-volume", Kind::Volume, "dish in the crown; a dome is negative"),
    plain(F::Piston, "weight", Kind::Mass, "bare").above_nothing(),
    size(F::PistonSkirt, "diameter", M::Piston, "across the thrust faces at the stated height").twice(),
    size(F::PistonPinBoss, "diameter", M::Piston, "bare boss").at(EYE).by_comparator(),
    small(F::PistonGroove, "depth", "radial").at(Stations::FREE).above_nothing(),
    small(F::PistonGroove, "width", "axial").at(Stations::FREE).above_nothing(),
    size(F::Gudgeon, "diameter", M::Gudgeon, "ends and middle, two ways")
        .at(Stations::grid(&["front", "middle", "rear"], &["0", "90"])),
    size(F::Gudgeon, "length", M::Gudgeon, "over the ends"),
    plain(F::Gudgeon, "weight", Kind::Mass, "bare").above_nothing(),
    small(F::ThrustWasher, "thickness", "steel to lining").at(Stations::FREE).above_nothing(),
]);

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::super::condition;
    use super::*;

    #[test]
    fn rows_are_sorted_and_found_by_kind_and_name() {
        for pair in CHARACTERISTICS.windows(2) {
            let key = |row: &Characteristic| (row.on, row.name);
            assert!(key(&pair[0]) < key(&pair[1]), "{} {}", pair[1].on, pair[1].name);
        }
        for row in &CHARACTERISTICS {
            let found = find(row.on, row.name).unwrap();
            assert!(std::ptr::eq(found, row));
            assert!(std::ptr::eq(row.ix().row(), row));
            assert!(of_kind(row.on).iter().any(|other| other.name == row.name));
        }
        assert!(find(FeatureKind::Bore, "journal-diameter").is_none());
    }

    #[test]
    fn every_condition_asked_for_is_in_the_table() {
        for row in &CHARACTERISTICS {
            for name in row.conditions.iter().flat_map(|needed| needed.one_of) {
                assert!(condition::find(name).is_some(), "{} {}: {name}", row.on, row.name);
            }
        }
    }

    /// A gap, a play, a deviation or a height may be nought; a journal, a wall, a weight may not.
    #[test]
    fn what_is_there_is_above_nothing_and_what_lies_between_need_not_be() {
        let above = |on, name| find(on, name).unwrap().above_nothing;
        for (on, name) in [(F::Pin, "diameter"), (F::Main, "shell-wall"), (F::RodBolts, "free-length")] {
            assert!(above(on, name), "{on} {name}");
        }
        for (on, name) in [(F::Deck, "height"), (F::Crank, "end-float"), (F::Piston, "dish-volume")] {
            assert!(!above(on, name), "{on} {name}");
        }
        let never = |row: &&Characteristic| matches!(row.kind, Kind::Mass | Kind::Torque);
        assert!(CHARACTERISTICS.iter().filter(never).all(|row| row.above_nothing));
        assert!(CHARACTERISTICS.iter().filter(|row| row.kind == Kind::Angle).all(|row| !row.above_nothing));
    }

    #[test]
    fn what_cannot_be_judged_without_temperature_is_a_length_of_some_material() {
        for row in CHARACTERISTICS.iter().filter(|row| row.temperature_matters) {
            assert!(row.made_of.is_some(), "{} {}", row.on, row.name);
            assert_eq!(row.kind, Kind::Length);
        }
    }
}
