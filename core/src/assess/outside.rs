//! What settles a value outside its limits, where the rule's own words do not fit the thing.
//!
//! Common practice, no source; the maker's instructions come first.

use crate::engine::FeatureKind;

/// Kind of feature, characteristic, what settles it.
const WAYS_OUT: &[(FeatureKind, &str, &str)] = &[
    (
        FeatureKind::RodBolts,
        "stretch",
        "slacken the group evenly and read the free length again: grown beyond the maker's, new bolts; else begin again",
    ),
    (
        FeatureKind::Ring,
        "gap",
        "too narrow: file the ring and break its edges; too wide: another ring; or concede it with the reason",
    ),
    (
        FeatureKind::Crank,
        "end-float",
        "see that the thrust washers stand right, else choose others; or concede it with the reason",
    ),
    (
        FeatureKind::Crank,
        "turning-torque",
        "find what drags, or what is missing, before anything more goes in; then read it again",
    ),
];

/// The way out of a value outside; none: the rule's own.
pub(super) fn way_out(kind: FeatureKind, name: &str) -> Option<&'static str> {
    let here = |row: &&(FeatureKind, &str, &'static str)| (row.0, row.1) == (kind, name);
    WAYS_OUT.iter().find(here).map(|(_, _, way_out)| *way_out)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use crate::engine::{characteristic, derivation};

    #[test]
    fn a_stretch_outside_is_slackened_for_and_every_row_is_of_a_value_that_there_is() {
        assert!(way_out(FeatureKind::RodBolts, "stretch").unwrap().contains("new bolts"));
        assert_eq!(way_out(FeatureKind::Bore, "diameter"), None);
        for (kind, name, _) in WAYS_OUT {
            let known =
                characteristic::find(*kind, name).is_some() || derivation::find(*kind, name).is_some();
            assert!(known, "{kind} {name}");
        }
    }
}
