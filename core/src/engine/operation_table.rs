//! The table of what each operation ends (common practice, no source).

use super::feature::FeatureKind;

/// Operations on kinds of features that end the same things.
pub(super) struct OperationRow {
    pub(super) names: &'static [&'static str],
    pub(super) on: &'static [FeatureKind],
    pub(super) ends: &'static [&'static [EndsRow]],
}

/// One thing that ends; see [`super::operation::Ends`].
pub(super) struct EndsRow {
    pub(super) feature: &'static str,
    pub(super) what: WhatRow,
    pub(super) reason: &'static str,
}

/// See [`super::operation::What`].
#[derive(Clone, Copy)]
pub(super) enum WhatRow {
    Characteristics(&'static [&'static str]),
    EveryCharacteristic,
    Tightening,
    Checks(&'static [&'static str]),
}

const fn read(feature: &'static str, names: &'static [&'static str], reason: &'static str) -> EndsRow {
    EndsRow { feature, what: WhatRow::Characteristics(names), reason }
}

const fn every(feature: &'static str, reason: &'static str) -> EndsRow {
    EndsRow { feature, what: WhatRow::EveryCharacteristic, reason }
}

const fn tight(feature: &'static str, reason: &'static str) -> EndsRow {
    EndsRow { feature, what: WhatRow::Tightening, reason }
}

const fn check(feature: &'static str, names: &'static [&'static str], reason: &'static str) -> EndsRow {
    EndsRow { feature, what: WhatRow::Checks(names), reason }
}

const fn row(
    names: &'static [&'static str],
    on: &'static [FeatureKind],
    ends: &'static [&'static [EndsRow]],
) -> OperationRow {
    OperationRow { names, on, ends }
}

const CHIPS: &str = "cutting leaves chips in oilways and corners";
const GONE: &str = "the metal that was measured is no longer there";
const GAP_GROWS: &str = "a ring gap grows by pi times what the bore grows";
const HEAT: &str = "heat and force move the whole part";
const NEW_PART: &str = "another part has other sizes";
const LOADED: &str = "another load pulls the housing into another shape";
const TURNS: &str = "the crank turns against another set of fits";
const SLACK: &str = "a slack fastener holds nothing";
const LINER: &str = "a liner takes its shape from how it sits";

const BLOCK_CHIPS: &[EndsRow] =
    &[check("block", &["final-wash"], CHIPS), check("main/*", &["oilway-proof"], CHIPS)];
const CRANK_CHIPS: &[EndsRow] = &[check("crank", &["crank-washed"], CHIPS)];
const TURNING: &[EndsRow] = &[read("crank", &["turning-torque"], TURNS)];

const BORE_CUT: &[EndsRow] = &[
    read(
        "bore/{n}",
        &["crosshatch-angle", "diameter", "roughness-rk", "roughness-rpk", "roughness-rvk"],
        GONE,
    ),
    read("ring/{n}/*", &["gap"], GAP_GROWS),
];
const LINE_BORED: &[EndsRow] = &[
    read("main/*", &["housing-diameter", "housing-length"], GONE),
    read("block", &["main-line-height"], "the main line has moved"),
    read("deck/*", &["height"], "the main line, from which the deck is measured, has moved"),
    read("bore/*", &["piston-height"], "the crank sits higher than before"),
    read("crank", &["end-float"], "the thrust faces may have been touched"),
    check("cam", &["cam-drive-fits"], "the main line stands nearer to the cam"),
];
const MAIN_CAPS: &[EndsRow] =
    &[read("main/*", &["housing-diameter"], LOADED), tight("main/{n}", "the cap was off")];
const MAIN_SHELLS: &[EndsRow] =
    &[read("main/{n}", &["shell-wall"], NEW_PART), tight("main/{n}", "the cap was off")];
const THRUST_CUT: &[EndsRow] = &[
    read("main/{n}", &["housing-length", "journal-length"], GONE),
    read("crank", &["end-float"], "end float is what the thrust faces leave"),
];
const THRUST_WASHERS: &[EndsRow] = &[read("crank", &["end-float"], "end float is what the washers leave")];
const MAIN_GROUND: &[EndsRow] = &[
    read("main/{n}", &["fillet-radius", "journal-diameter", "journal-length"], GONE),
    read("main/{n}", &["shell-wall"], "the shells were chosen for the journal as it was"),
];
const PIN_GROUND: &[EndsRow] = &[
    every("pin/{n}", GONE),
    read("rod/{on-pin}/big-end", &["shell-wall"], "the shells were chosen for the pin as it was"),
    read("rod/{on-pin}", &["side-clearance"], "the wheel may have touched the cheeks"),
];
const CRANK_GROUND: &[EndsRow] = &[
    read("crank", &["runout"], "a ground journal has a new centre"),
    check("crank", &["crank-balanced"], "metal has left the crank"),
];
const MAIN_POLISHED: &[EndsRow] = &[read("main/{n}", &["journal-diameter"], GONE)];
const PIN_POLISHED: &[EndsRow] = &[read("pin/{n}", &["diameter"], GONE)];
const ROD_BOLTS: &[EndsRow] = &[
    read(
        "rod/{n}/big-end",
        &["housing-diameter"],
        "new bolts or another cap pull the housing out of shape; the one measured is no more",
    ),
    read("rod/{n}", &["weight-big"], NEW_PART),
    every("rod/{n}/bolts", NEW_PART),
    tight("rod/{n}/bolts", "the bolts were out"),
];
const ROD_RESIZED: &[EndsRow] = &[
    read("rod/{n}/big-end", &["housing-diameter", "width"], GONE),
    read("rod/{n}", &["bend", "centres", "twist"], "the housing has a new centre"),
    read("rod/{n}", &["weight-big"], "metal has left the rod"),
    tight("rod/{n}/bolts", "the cap was off"),
    read("rod/{n}/bolts", &["tight-length"], "the cap was off"),
    read("bore/{n}", &["piston-height"], "a resized rod is a little shorter"),
];
const REBUSHED: &[EndsRow] = &[
    read("rod/{n}/small-end", &["diameter"], GONE),
    read("rod/{n}", &["bend", "centres", "twist"], "the bush has a new centre"),
    read("rod/{n}", &["weight-small"], NEW_PART),
    read("bore/{n}", &["piston-height"], "the bush has a new centre"),
];
const ROD_SHELLS: &[EndsRow] =
    &[read("rod/{n}/big-end", &["shell-wall"], NEW_PART), tight("rod/{n}/bolts", "the cap was off")];
const ROD_LIGHTENED: &[EndsRow] =
    &[read("rod/{n}", &["weight-big", "weight-small"], "metal has left the rod")];
const ROD_CHANGED: &[EndsRow] = &[
    every("rod/{n}", NEW_PART),
    every("rod/{n}/big-end", NEW_PART),
    every("rod/{n}/small-end", NEW_PART),
    every("rod/{n}/bolts", NEW_PART),
    tight("rod/{n}/bolts", NEW_PART),
    read("bore/{n}", &["piston-height"], NEW_PART),
];
const PISTON_CHANGED: &[EndsRow] = &[
    read("bore/{n}", &["piston-height"], "another piston stands at another height"),
    read("ring/{n}/*", &["side-clearance"], "another piston has other grooves"),
];
const PISTON_CUT: &[EndsRow] = &[
    every("piston/{mark}", GONE),
    every("piston/{mark}/skirt", GONE),
    every("piston/{mark}/pin-boss", GONE),
    every("piston/{mark}/groove/*", GONE),
    read("bore/{n}", &["piston-height"], "the crown may have been cut"),
    read("ring/{n}/*", &["side-clearance"], "a groove may have been cut"),
];
const RINGS_CHANGED: &[EndsRow] = &[every("ring/{n}/*", NEW_PART)];
const RING_FILED: &[EndsRow] = &[read("ring/{n}/{ring}", &["gap"], GONE)];
const DECK_CUT: &[EndsRow] = &[
    every("deck/{bank}", GONE),
    read("bore/{in-bank}", &["piston-height"], "the deck is lower"),
    every("liner/{in-bank}", "the deck and the liner seats have moved"),
    check("deck/{bank}", &["dowel-heights"], "the deck is lower"),
];
const HEAD_CUT: &[EndsRow] = &[
    read("head/{bank}", &["flatness", "thickness"], GONE),
    read("chamber/{in-bank}", &["volume"], "a cut head has smaller chambers"),
    check("head/{bank}", &["dowel-heights"], "the joint face is lower"),
];
const LINER_MOVED: &[EndsRow] = &[
    read("liner/{n}", &["stand-out"], LINER),
    read("bore/{n}", &["diameter"], LINER),
    read("ring/{n}/*", &["gap"], LINER),
    read("bore/{n}", &["piston-height"], LINER),
];
const LINER_CHANGED: &[EndsRow] =
    &[every("liner/{n}", NEW_PART), every("bore/{n}", NEW_PART), read("ring/{n}/*", &["gap"], NEW_PART)];
const BORE_PULLED: &[EndsRow] =
    &[read("bore/{in-bank}", &["diameter"], "head bolts pull the bores into another shape")];
const HEAD_BOLTS: &[EndsRow] = &[tight("head/{bank}", "the bolts were out")];
const GASKET: &[EndsRow] =
    &[read("head/{bank}", &["gasket-thickness"], NEW_PART), tight("head/{bank}", "the head was off")];
const BLOCK_MOVED: &[EndsRow] = &[
    every("block", HEAT),
    read("main/*", &["housing-diameter", "housing-length"], HEAT),
    every("bore/*", HEAT),
    every("liner/*", HEAT),
    every("deck/*", HEAT),
    read("cam-bearing/*", &["bearing-diameter"], HEAT),
    check("block", &["crack-test"], HEAT),
];
const CRANK_MOVED: &[EndsRow] = &[
    every("crank", HEAT),
    read("main/*", &["fillet-radius", "journal-diameter", "journal-length"], HEAT),
    every("pin/*", HEAT),
    check("crank", &["crack-test", "crank-balanced"], HEAT),
];
const CRANK_CHANGED: &[EndsRow] = &[
    every("crank", NEW_PART),
    read("main/*", &["fillet-radius", "journal-diameter", "journal-length"], NEW_PART),
    every("pin/*", NEW_PART),
    read("rod/*", &["side-clearance"], NEW_PART),
    read("bore/*", &["piston-height"], NEW_PART),
    check("crank", &["crack-test", "crank-balanced"], NEW_PART),
];
const ROD_MOVED: &[EndsRow] = &[
    every("rod/{n}", HEAT),
    every("rod/{n}/big-end", HEAT),
    every("rod/{n}/small-end", HEAT),
    read("bore/{n}", &["piston-height"], HEAT),
    check("rod/{n}", &["crack-test"], HEAT),
];
const HEAD_MOVED: &[EndsRow] = &[
    read("head/{bank}", &["flatness", "thickness"], HEAT),
    read("chamber/{in-bank}", &["volume"], HEAT),
    check("head/{bank}", &["crack-test"], HEAT),
];
const RODS_SLACK: &[EndsRow] =
    &[tight("rod/{n}/bolts", SLACK), read("rod/{n}/bolts", &["tight-length"], SLACK)];
const MAINS_SLACK: &[EndsRow] = &[tight("main/{n}", SLACK)];
const HEADS_SLACK: &[EndsRow] = &[tight("head/{bank}", SLACK)];
const CAM_BEARING: &[EndsRow] = &[
    read("cam-bearing/{n}", &["bearing-diameter"], NEW_PART),
    read("cam", &["turning-torque"], "the cam turns in other bearings"),
    check("cam-bearing/{n}", &["oil-hole-aligned"], "a new bush has its own oil hole"),
];
const CAM_CHANGED: &[EndsRow] =
    &[every("cam", NEW_PART), read("cam-bearing/*", &["journal-diameter"], NEW_PART)];
const CAUSTIC: &[EndsRow] = &[
    read("cam-bearing/*", &["bearing-diameter"], "caustic eats soft bearing metal"),
    read("main/*", &["shell-wall"], "caustic eats soft bearing metal"),
    check("block", &["final-wash"], "caustic must be rinsed out"),
];

use FeatureKind as F;

/// The table. A dropped gauge is no operation: a failed gauge check says it.
pub(super) static OPERATIONS: [OperationRow; 40] = [
    row(&["bore", "hone"], &[F::Bore], &[BORE_CUT, BLOCK_CHIPS]),
    row(&["line-bore"], &[F::Block], &[LINE_BORED, TURNING, BLOCK_CHIPS]),
    row(&["main-caps-changed", "main-bolts-changed"], &[F::Main], &[MAIN_CAPS, TURNING]),
    row(&["main-shells-changed"], &[F::Main], &[MAIN_SHELLS, TURNING]),
    row(&["thrust-face-cut"], &[F::Main], &[THRUST_CUT]),
    row(&["thrust-washers-changed"], &[F::Main], &[THRUST_WASHERS]),
    row(&["grind-journal"], &[F::Main], &[MAIN_GROUND, CRANK_GROUND, TURNING, CRANK_CHIPS]),
    row(&["grind-journal"], &[F::Pin], &[PIN_GROUND, CRANK_GROUND, TURNING, CRANK_CHIPS]),
    row(&["polish-journal"], &[F::Main], &[MAIN_POLISHED, TURNING, CRANK_CHIPS]),
    row(&["polish-journal"], &[F::Pin], &[PIN_POLISHED, TURNING, CRANK_CHIPS]),
    row(&["balance-crank"], &[F::Crank], &[CRANK_CHIPS]),
    row(&["crank-changed"], &[F::Crank], &[CRANK_CHANGED]),
    row(&["rod-bolts-changed", "rod-cap-changed"], &[F::RodBolts, F::BigEnd, F::Rod], &[ROD_BOLTS, TURNING]),
    row(&["rod-resized"], &[F::BigEnd, F::Rod], &[ROD_RESIZED, TURNING]),
    row(&["small-end-rebushed"], &[F::SmallEnd, F::Rod], &[REBUSHED]),
    row(&["rod-shells-changed"], &[F::BigEnd, F::Rod], &[ROD_SHELLS, TURNING]),
    row(&["rod-lightened"], &[F::Rod], &[ROD_LIGHTENED]),
    row(&["rod-changed"], &[F::Rod], &[ROD_CHANGED, TURNING]),
    row(&["piston-changed"], &[F::Bore, F::Cylinder], &[PISTON_CHANGED]),
    row(&["piston-machined"], &[F::Piston, F::PistonSkirt, F::PistonPinBoss, F::PistonGroove], &[PISTON_CUT]),
    row(&["rings-changed"], &[F::Bore, F::Cylinder], &[RINGS_CHANGED]),
    row(&["ring-filed"], &[F::Ring, F::Rail], &[RING_FILED]),
    row(&["deck-cut"], &[F::Deck], &[DECK_CUT, BLOCK_CHIPS]),
    row(&["head-cut"], &[F::Head], &[HEAD_CUT]),
    row(&["liner-moved"], &[F::Liner, F::Bore], &[LINER_MOVED]),
    row(&["liner-changed"], &[F::Liner, F::Bore], &[LINER_CHANGED]),
    row(&["torque-plate-changed"], &[F::Deck], &[BORE_PULLED]),
    row(&["head-bolts-changed"], &[F::Head], &[BORE_PULLED, HEAD_BOLTS]),
    row(&["gasket-changed"], &[F::Head], &[GASKET]),
    row(&["weld", "heat", "straighten"], &[F::Block], &[BLOCK_MOVED]),
    row(&["weld", "heat", "straighten"], &[F::Crank], &[CRANK_MOVED, TURNING]),
    row(&["weld", "heat", "straighten"], &[F::Rod], &[ROD_MOVED]),
    row(&["weld", "heat", "straighten"], &[F::Head], &[HEAD_MOVED]),
    row(&["slackened"], &[F::RodBolts, F::Rod], &[RODS_SLACK, TURNING]),
    row(&["slackened"], &[F::Main], &[MAINS_SLACK, TURNING]),
    row(&["slackened"], &[F::Head], &[HEADS_SLACK]),
    row(&["cam-bearing-changed"], &[F::CamBearing], &[CAM_BEARING]),
    row(&["cam-changed"], &[F::Cam], &[CAM_CHANGED]),
    row(&["caustic-wash"], &[F::Block], &[CAUSTIC]),
    row(&["drilled", "tapped", "milled"], &[F::Block], &[BLOCK_CHIPS]),
];
