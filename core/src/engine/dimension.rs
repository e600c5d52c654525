//! Named dimensions of an engine: what the worksheets start from.

use super::problem::Problems;
use super::section::{Section, Text, quantity_of};
use super::{file::Value, nearest};
use crate::quantity::{Kind, Quantity};

/// Row of the table of dimensions.
#[derive(Clone, Copy, Debug)]
pub struct DimensionRow {
    /// Key under `[dimensions]`.
    pub name: &'static str,
    /// What it counts in.
    pub kind: Kind,
    /// Whether every engine must give it.
    pub needed: bool,
    /// What it is.
    pub about: &'static str,
}

const fn row(name: &'static str, kind: Kind, about: &'static str) -> DimensionRow {
    DimensionRow { name, kind, needed: false, about }
}

const fn needed(name: &'static str, about: &'static str) -> DimensionRow {
    DimensionRow { name, kind: Kind::Length, needed: true, about }
}

/// Every dimension a definition can give.
pub static DIMENSIONS: [DimensionRow; 24] = [
    needed("bore", "bore as the maker names it, before any oversize"),
    row("oversize", Kind::Length, "what this build adds to the bore"),
    needed("stroke", "twice the crank throw"),
    needed("rod-centres", "from big-end centre to small-end centre"),
    row("pin-offset", Kind::Length, "gudgeon off the bore axis, positive to the thrust side"),
    needed("compression-height", "gudgeon centre to piston crown"),
    needed("deck-height", "crank centre to deck, as to be built"),
    row("deck-height-before", Kind::Length, "crank centre to deck, before cutting"),
    row("skirt-height", Kind::Length, "where the skirt is measured, above its lower edge"),
    row("gasket-bore", Kind::Length, "bore of the head gasket"),
    row("gasket-thickness", Kind::Length, "head gasket, compressed"),
    row("chamber-volume", Kind::Volume, "chamber in the head"),
    row("dish-volume", Kind::Volume, "dish in the crown; a dome is negative"),
    row("crevice-volume", Kind::Volume, "above the top ring, round the crown"),
    row("main-journal", Kind::Length, "main journal before any undersize"),
    row("pin-journal", Kind::Length, "crankpin before any undersize"),
    row("undersize", Kind::Length, "what this build takes off the journals"),
    row("gudgeon-diameter", Kind::Length, "gudgeon"),
    row("piston-mass", Kind::Mass, "bare piston"),
    row("gudgeon-mass", Kind::Mass, "gudgeon"),
    row("ring-mass", Kind::Mass, "rings and circlips of one piston"),
    row("rod-mass-big", Kind::Mass, "rod, share of the big end"),
    row("rod-mass-small", Kind::Mass, "rod, share of the small end"),
    row("shell-mass", Kind::Mass, "shells of one big end"),
];

/// A dimension as given.
#[derive(Clone, Debug)]
pub struct Dimension {
    /// Its row.
    pub row: &'static DimensionRow,
    /// Its size as typed.
    pub size: Quantity,
}

/// Reads the table `[dimensions]`, in the order of [`DIMENSIONS`].
pub(super) fn read(section: &Section<'_>, out: &mut Problems) -> Vec<Dimension> {
    let mut list = Vec::new();
    for field in section.all() {
        let place = format!("dimensions, {}", nearest_short(&field.name));
        let Some(row) = DIMENSIONS.iter().find(|row| row.name == field.name) else {
            let names: Vec<&str> = DIMENSIONS.iter().map(|row| row.name).collect();
            let hint = nearest::suggest(&field.name, &names);
            out.add(field.at, place, "unknown dimension", hint);
            continue;
        };
        let Value::Text(text) = &field.node.value else {
            let reason = format!("it is {}; it takes a text in quotes", field.node.value.sort());
            out.add(field.node.at, place, reason, "such as \"80.00 mm\"");
            continue;
        };
        let text = Text { at: field.node.at, text };
        if let Some(size) = quantity_of(out, &place, text, &[row.kind]) {
            check_positive(out, &place, text, row, &size);
            list.push(Dimension { row, size });
        }
    }
    for row in DIMENSIONS.iter().filter(|row| row.needed) {
        if !section.all().iter().any(|field| field.name == row.name) {
            section.problem(out, format!("`{}` is missing", row.name), row.about);
        }
    }
    list
}

fn check_positive(out: &mut Problems, place: &str, text: Text<'_>, row: &DimensionRow, size: &Quantity) {
    if row.needed && size.amount().base() <= 0 {
        let reason = format!("{size} is not above nought");
        out.add(text.at, place, reason, row.about);
    }
}

fn nearest_short(name: &str) -> String {
    super::name::short(name)
}
