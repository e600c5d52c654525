//! Instruments that a build wants to hand; optional.

use super::instrument::{self, INSTRUMENTS, InstrumentSort};
use super::name::short;
use super::nearest::suggest;
use super::problem::Problems;
use super::section::Section;
use crate::quantity::Quantity;

/// An instrument that the build wants.
#[derive(Clone, Debug)]
pub struct Wanted {
    /// Its sort.
    pub sort: &'static InstrumentSort,
    /// Lower end of the range needed.
    pub low: Option<Quantity>,
    /// Upper end of the range needed.
    pub high: Option<Quantity>,
    /// What for.
    pub purpose: String,
}

/// Reads the list `[[instrument]]`.
pub(super) fn read(root: &mut Section<'_>, out: &mut Problems) -> Vec<Wanted> {
    let mut list = Vec::new();
    for mut table in root.tables(out, "instrument", "instrument") {
        list.extend(read_one(&mut table, out));
        table.finish(out);
    }
    list
}

fn read_one(table: &mut Section<'_>, out: &mut Problems) -> Option<Wanted> {
    let purpose = table.needed(out, "for");
    // Keys are asked for before the first return, so that none is called unknown.
    let (low, high) = (table.text(out, "low"), table.text(out, "high"));
    let name = table.needed(out, "sort")?;
    table.place = format!("instrument {}", short(name.text));
    let Some(sort) = instrument::find(name.text) else {
        let names: Vec<&str> = INSTRUMENTS.iter().map(|sort| sort.name).collect();
        out.add(name.at, table.place.clone(), "unknown sort", suggest(name.text, &names));
        return None;
    };
    let mut range = |text: Option<_>| {
        text.and_then(|text| super::section::quantity_of(out, &table.place, text, &[sort.kind]))
    };
    let (low, high) = (range(low), range(high));
    if let (Some(low), Some(high)) = (&low, &high)
        && low.amount() > high.amount()
    {
        table.problem(out, format!("the range {low} to {high} runs backwards"), "");
    }
    Some(Wanted { sort, low, high, purpose: purpose?.text.to_owned() })
}
