//! What each figure of a plan rests on.

use crate::work::{Worksheet, find};

/// A figure's formula and source.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ground {
    /// The figure.
    pub of: &'static str,
    /// Its formula.
    pub formula: &'static str,
    /// Where that is from, and how well founded.
    pub source: String,
}

const ARITHMETIC: &str = "arithmetic (computed)";
const PRACTICE: &str = "common practice, no source";

/// Figures of a worksheet, by its name.
const SHEETS: [(&str, &str); 4] = [
    ("size needed", "clean-up"),
    ("displacement", "displacement"),
    ("ratio", "compression"),
    ("old rings", "gap-in-bore"),
];

/// Figures that are no worksheet's.
const OWN: [(&str, &str, &str); 5] = [
    ("bore", "D = bore as named + oversize", ARITHMETIC),
    ("to come off", "D - largest diameter found in that bore", ARITHMETIC),
    (
        "cleans up",
        "size needed against D, guard 1.65 k u of the bores' gauge",
        "ISO 14253-1:2017, strict rule (published)",
    ),
    ("skirt", "d = D - piston clearance, both limits", ARITHMETIC),
    ("ring compressor", "a sleeve is made for one bore size; a band has a range", PRACTICE),
];

/// Every formula and source of a plan of oversizes.
#[must_use]
pub fn grounds() -> Vec<Ground> {
    let of_sheet = |(of, name): &(&'static str, &str)| {
        let sheet: &Worksheet = find(name)?;
        Some(Ground { of, formula: sheet.formula, source: sheet.source.to_string() })
    };
    let own = OWN.iter().map(|&(of, formula, source)| Ground { of, formula, source: source.to_owned() });
    SHEETS.iter().filter_map(of_sheet).chain(own).collect()
}

/// What a plan cannot answer for.
pub const CAUTIONS: [&str; 3] = [
    "How far a block may be bored is its maker's figure; measure the wall where in doubt.",
    "Rings and pistons of one oversize go together: old rings are never kept in a larger bore.",
    "Clearances, ring gaps and sizes of the maker of block, pistons and rings come first.",
];
