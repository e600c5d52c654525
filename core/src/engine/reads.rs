//! Which sorts of instruments read what: one row for each characteristic.
//!
//! Everything here is common practice, no source. It says what to get ready and is never a rule: a
//! size that a shop reads another way is kept and judged like any other. What stands in no row is
//! not known, and somebody looks.

use super::characteristic::Characteristic;
use super::feature::FeatureKind;
use super::instrument;

/// A sort of instrument that reads a size.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Way {
    /// Its name in the table of instruments.
    pub sort: &'static str,
    /// What it cannot do without, and no workshop lists, such as vee blocks; may be empty.
    pub with: &'static str,
}

/// Whether a sort of instrument reads a characteristic.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Suits {
    /// It does, this way.
    Yes(Way),
    /// It is not made for that.
    No,
    /// Sort or characteristic is in no table here.
    NotKnown,
}

/// Row of the table.
#[derive(Clone, Copy, Debug)]
struct Reads {
    on: FeatureKind,
    name: &'static str,
    ways: &'static [Way],
}

const fn by(sort: &'static str) -> Way {
    Way { sort, with: "" }
}

const fn with(sort: &'static str, with: &'static str) -> Way {
    Way { sort, with }
}

const VEES: &str = "vee blocks or centres";
const PLATE: &str = "a surface plate";
const BRIDGE: &str = "a bridge over the deck";
const BAR: &str = "a bar in the main line";
const JIG: &str = "a rod alignment jig";
const FRAME: &str = "a frame that spans a bolt";

const OUTSIDE: &[Way] = &[by("outside-micrometer"), by("bench-micrometer")];
const OUTSIDE_LENGTH: &[Way] = &[by("outside-micrometer"), by("bench-micrometer"), by("caliper")];
const HOLE: &[Way] = &[by("bore-gauge"), by("inside-micrometer"), by("telescopic-gauge")];
const BETWEEN: &[Way] = &[by("inside-micrometer"), by("telescopic-gauge"), by("caliper")];
const WALL: &[Way] = &[by("ball-micrometer")];
const GAP: &[Way] = &[by("feeler")];
const FLOAT: &[Way] = &[by("dial-indicator"), by("lever-indicator"), by("feeler")];
const RUNOUT: &[Way] = &[with("dial-indicator", VEES), with("lever-indicator", VEES)];
const FLATNESS: &[Way] =
    &[by("straight-edge-and-feeler"), with("dial-indicator", PLATE), with("lever-indicator", PLATE)];
const DEPTH: &[Way] = &[by("depth-micrometer"), by("depth-gauge"), with("dial-indicator", BRIDGE)];
const GROOVE_DEPTH: &[Way] = &[by("depth-micrometer"), by("depth-gauge"), by("caliper")];
const GROOVE_WIDTH: &[Way] = &[with("feeler", "a new ring of known width in the groove")];
const DECK_HEIGHT: &[Way] =
    &[with("height-gauge", PLATE), with("depth-gauge", BAR), with("depth-micrometer", BAR)];
const ON_PLATE: &[Way] = &[with("height-gauge", PLATE)];
const ON_PLATE_OR_OVER: &[Way] = &[with("height-gauge", PLATE), by("outside-micrometer"), by("caliper")];
const THROW: &[Way] = &[with("height-gauge", VEES), with("dial-indicator", VEES)];
const ROD_LINE: &[Way] = &[with("dial-indicator", JIG), with("lever-indicator", JIG), with("feeler", JIG)];
const BOLT: &[Way] = &[by("outside-micrometer"), by("bench-micrometer"), with("dial-indicator", FRAME)];
const ROUGHNESS: &[Way] = &[by("roughness-tester")];
const ANGLE: &[Way] = &[by("angle-gauge")];
const TURNING: &[Way] = &[by("beam-torque-wrench"), by("dial-torque-wrench")];
const WEIGHT: &[Way] = &[by("scale")];
const VOLUME: &[Way] = &[by("burette")];
/// Radius leaves and the like, of which the table of instruments has none.
const NO_SORT: &[Way] = &[];

const fn row(on: FeatureKind, name: &'static str, ways: &'static [Way]) -> Reads {
    Reads { on, name, ways }
}

use FeatureKind as F;

/// In the order of the table of characteristics.
static READS: [Reads; 62] = [
    row(F::Block, "main-line-height", DECK_HEIGHT),
    row(F::Crank, "end-float", FLOAT),
    row(F::Crank, "runout", RUNOUT),
    row(F::Crank, "turning-torque", TURNING),
    row(F::Cam, "end-float", FLOAT),
    row(F::Cam, "runout", RUNOUT),
    row(F::Cam, "turning-torque", TURNING),
    row(F::CamBearing, "bearing-diameter", HOLE),
    row(F::CamBearing, "journal-diameter", OUTSIDE),
    row(F::Main, "fillet-radius", NO_SORT),
    row(F::Main, "housing-diameter", HOLE),
    row(F::Main, "housing-length", OUTSIDE_LENGTH),
    row(F::Main, "journal-diameter", OUTSIDE),
    row(F::Main, "journal-length", BETWEEN),
    row(F::Main, "shell-wall", WALL),
    row(F::Pin, "diameter", OUTSIDE),
    row(F::Pin, "fillet-radius", NO_SORT),
    row(F::Pin, "length", BETWEEN),
    row(F::Pin, "throw", THROW),
    row(F::Bore, "crosshatch-angle", ANGLE),
    row(F::Bore, "diameter", HOLE),
    row(F::Bore, "piston-height", DEPTH),
    row(F::Bore, "roughness-rk", ROUGHNESS),
    row(F::Bore, "roughness-rpk", ROUGHNESS),
    row(F::Bore, "roughness-rvk", ROUGHNESS),
    row(F::Liner, "recess-depth", DEPTH),
    row(F::Liner, "stand-out", DEPTH),
    row(F::Rod, "bend", ROD_LINE),
    row(F::Rod, "centres", ON_PLATE),
    row(F::Rod, "side-clearance", GAP),
    row(F::Rod, "twist", ROD_LINE),
    row(F::Rod, "weight-big", WEIGHT),
    row(F::Rod, "weight-small", WEIGHT),
    row(F::BigEnd, "housing-diameter", HOLE),
    row(F::BigEnd, "shell-wall", WALL),
    row(F::BigEnd, "width", OUTSIDE_LENGTH),
    row(F::SmallEnd, "diameter", HOLE),
    row(F::RodBolts, "free-length", BOLT),
    row(F::RodBolts, "tight-length", BOLT),
    row(F::Ring, "gap", GAP),
    row(F::Ring, "side-clearance", GAP),
    row(F::Ring, "width", OUTSIDE),
    row(F::Rail, "gap", GAP),
    row(F::Rail, "width", OUTSIDE),
    row(F::Chamber, "volume", VOLUME),
    row(F::Deck, "flatness", FLATNESS),
    row(F::Deck, "height", DECK_HEIGHT),
    row(F::Deck, "roughness-ra", ROUGHNESS),
    row(F::Head, "flatness", FLATNESS),
    row(F::Head, "gasket-thickness", OUTSIDE_LENGTH),
    row(F::Head, "thickness", ON_PLATE_OR_OVER),
    row(F::Piston, "compression-height", ON_PLATE_OR_OVER),
    row(F::Piston, "dish-volume", VOLUME),
    row(F::Piston, "weight", WEIGHT),
    row(F::PistonSkirt, "diameter", OUTSIDE),
    row(F::PistonPinBoss, "diameter", HOLE),
    row(F::PistonGroove, "depth", GROOVE_DEPTH),
    row(F::PistonGroove, "width", GROOVE_WIDTH),
    row(F::Gudgeon, "diameter", OUTSIDE),
    row(F::Gudgeon, "length", OUTSIDE_LENGTH),
    row(F::Gudgeon, "weight", WEIGHT),
    row(F::ThrustWasher, "thickness", OUTSIDE),
];

/// What an instrument that reads a deviation can be set on, by its sort.
static SET_ON: [(&str, &[&str]); 2] = [
    ("bore-gauge", &["setting-ring", "outside-micrometer", "bench-micrometer", "gauge-block"]),
    ("telescopic-gauge", &["outside-micrometer", "bench-micrometer"]),
];

/// The sorts that read a characteristic, usual ones first; none where it is in no row.
#[must_use]
pub fn ways(row: &Characteristic) -> Option<&'static [Way]> {
    let reads = READS.get(row.ix().index())?;
    ((reads.on, reads.name) == (row.on, row.name)).then_some(reads.ways)
}

/// Whether a sort of instrument reads a characteristic.
#[must_use]
pub fn suits(row: &Characteristic, sort: &str) -> Suits {
    let (Some(ways), Some(_)) = (ways(row), instrument::find(sort)) else { return Suits::NotKnown };
    ways.iter().find(|way| way.sort == sort).map_or(Suits::No, |way| Suits::Yes(*way))
}

/// The sorts that an instrument of this sort can be set on; none where it is set on nothing.
#[must_use]
pub fn set_on(sort: &str) -> &'static [&'static str] {
    SET_ON.iter().find(|(of, _)| *of == sort).map_or(&[], |(_, on)| on)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::super::characteristic::{self, CHARACTERISTICS};
    use super::super::instrument::INSTRUMENTS;
    use super::*;

    #[test]
    fn every_characteristic_has_its_row_and_every_way_counts_in_what_it_counts_in() {
        for row in &CHARACTERISTICS {
            let ways = ways(row).unwrap_or_else(|| panic!("{} {} is not in its place", row.on, row.name));
            for way in ways {
                let sort = instrument::find(way.sort).unwrap();
                assert_eq!(sort.kind, row.kind, "{} {}: {}", row.on, row.name, way.sort);
            }
            // What is read as a deviation has an instrument that reads one.
            let set = ways.iter().any(|way| !set_on(way.sort).is_empty());
            assert!(set || !row.comparator, "{} {}", row.on, row.name);
        }
    }

    #[test]
    fn what_is_set_is_set_on_something_and_only_that() {
        for sort in &INSTRUMENTS {
            assert_eq!(sort.needs_master, !set_on(sort.name).is_empty(), "{}", sort.name);
            assert!(set_on(sort.name).iter().all(|on| instrument::find(on).is_some()));
        }
    }

    // Common practice, no source.
    #[test]
    fn a_micrometer_reads_a_journal_and_no_gap_runout_flatness_depth_or_hole() {
        let reads = |sort: &str, on, name| suits(characteristic::find(on, name).unwrap(), sort);
        let micrometer = "outside-micrometer";
        assert!(
            matches!(reads(micrometer, F::Main, "journal-diameter"), Suits::Yes(way) if way.with.is_empty())
        );
        for (on, name, right) in [
            (F::Ring, "gap", "feeler"),
            (F::Crank, "runout", "dial-indicator"),
            (F::Deck, "flatness", "straight-edge-and-feeler"),
            (F::Deck, "height", "depth-gauge"),
            (F::Bore, "diameter", "bore-gauge"),
            (F::Bore, "diameter", "inside-micrometer"),
            (F::Bore, "diameter", "telescopic-gauge"),
            (F::Main, "shell-wall", "ball-micrometer"),
            (F::Crank, "turning-torque", "beam-torque-wrench"),
        ] {
            assert_eq!(reads(micrometer, on, name), Suits::No, "{on} {name}");
            assert!(matches!(reads(right, on, name), Suits::Yes(_)), "{on} {name}");
        }
        // A click wrench lets go at its setting; it shows nothing.
        assert_eq!(reads("click-torque-wrench", F::Crank, "turning-torque"), Suits::No);
        assert!(matches!(reads("dial-indicator", F::Crank, "runout"), Suits::Yes(way) if way.with == VEES));
        assert_eq!(reads("air-gauge", F::Bore, "diameter"), Suits::NotKnown);
    }
}
