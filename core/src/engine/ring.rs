//! The ring pack of each piston.

use std::sync::Arc;

use super::feature::RingSort;
use super::name;
use super::problem::Problems;
use super::section::Section;

/// Most rings of one piston.
const MOST: usize = 8;

/// A ring of the pack.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ring {
    /// Name, such as `top` or `rail-upper`.
    pub name: Arc<str>,
    /// Sort.
    pub sort: RingSort,
}

/// Sorts of rings by their word in a definition.
static SORTS: [(&str, RingSort); 3] =
    [("compression", RingSort::Compression), ("rail", RingSort::Rail), ("expander", RingSort::Expander)];

/// Reads the list `[[ring]]`, from the crown down.
pub(super) fn read(root: &mut Section<'_>, out: &mut Problems) -> Vec<Ring> {
    let tables = root.tables(out, "ring", "ring");
    if tables.len() > MOST {
        let reason = format!("{} rings on a piston; at most {MOST} can be told apart", tables.len());
        root.problem(out, reason, "");
    }
    let mut rings: Vec<Ring> = Vec::new();
    for mut table in tables.into_iter().take(MOST) {
        let ring = read_one(&mut table, out);
        if let Some(ring) = ring {
            if rings.iter().any(|other| other.name == ring.name) {
                table.problem(out, format!("`{}` is in the pack already", ring.name), "");
            } else {
                rings.push(ring);
            }
        }
        table.finish(out);
    }
    rings
}

/// A ring with a bad sort is still known by its name, so that its limits are not refused too.
fn read_one(table: &mut Section<'_>, out: &mut Problems) -> Option<Ring> {
    let given = table.needed(out, "name");
    if let Some(given) = given {
        table.place = format!("ring {}", name::short(given.text));
    }
    let sort = table.needed(out, "sort").and_then(|sort| {
        let found = SORTS.iter().find(|(word, _)| *word == sort.text).map(|&(_, sort)| sort);
        if found.is_none() {
            let reason = format!("`sort` is `{}`", name::short(sort.text));
            out.add(sort.at, table.place.clone(), reason, "compression, rail or expander");
        }
        found
    });
    let given = given.filter(|&given| name::check(out, &table.place, given))?;
    Some(Ring { name: given.text.into(), sort: sort.unwrap_or(RingSort::Compression) })
}
