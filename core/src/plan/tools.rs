//! What a bore size asks of the shop's shelf.

use std::sync::Arc;

use super::reach::{Holds, holds};
use crate::engine::{FeatureKind, characteristic, reads};
use crate::quantity::Amount;
use crate::work::InRecord;

/// Instruments for one size: those of the shop whose range holds it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Reach {
    /// Marks of those whose range holds the size.
    pub holds: Vec<Arc<str>>,
    /// Marks of those whose range nobody has stated.
    pub not_stated: Vec<Arc<str>>,
}

/// What a bore size needs to hand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tools {
    /// Bore gauges.
    pub bore_gauge: Reach,
    /// What a bore gauge can be set on.
    pub setting: Reach,
    /// Outside micrometers for the piston's skirt; none: its size is not known.
    pub skirt: Option<Reach>,
}

/// For a bore, and for its piston's skirt where that is known.
pub(super) fn tools(place: &InRecord, bore: Amount, skirt: Option<(Amount, Amount)>) -> Tools {
    let (bores, skirts) = (sorts(FeatureKind::Bore, "diameter"), sorts(FeatureKind::PistonSkirt, "diameter"));
    let mut setting: Vec<&str> = bores.iter().flat_map(|sort| reads::set_on(sort)).copied().collect();
    setting.dedup();
    Tools {
        bore_gauge: reach(place, &bores, (bore, bore)),
        setting: reach(place, &setting, (bore, bore)),
        skirt: skirt.map(|sizes| reach(place, &skirts, sizes)),
    }
}

/// Sorts of instruments that read a characteristic.
fn sorts(kind: FeatureKind, name: &str) -> Vec<&'static str> {
    let ways = characteristic::find(kind, name).and_then(reads::ways).unwrap_or_default();
    ways.iter().map(|way| way.sort).collect()
}

fn reach(place: &InRecord, sorts: &[&str], (from, to): (Amount, Amount)) -> Reach {
    let mut reach = Reach::default();
    for gauge in place.workshop.gauges().filter(|gauge| sorts.contains(&gauge.sort.as_str())) {
        match holds(gauge, (Some(from), Some(to))) {
            Holds::Yes => reach.holds.push(Arc::clone(&gauge.mark)),
            Holds::NotEntered => reach.not_stated.push(Arc::clone(&gauge.mark)),
            Holds::No => {}
        }
    }
    reach
}
