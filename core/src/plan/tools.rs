//! What a bore size asks of the shop's shelf.

use std::sync::Arc;

use crate::assess::GaugeFacts;
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

/// Bore gauges read a deviation from what they are set on.
const BORE_GAUGES: &[&str] = &["bore-gauge", "inside-micrometer"];
const SETTING: &[&str] = &["setting-ring", "outside-micrometer", "bench-micrometer"];
const SKIRT: &[&str] = &["outside-micrometer", "bench-micrometer"];

/// For a bore, and for its piston's skirt where that is known.
pub(super) fn tools(place: &InRecord, bore: Amount, skirt: Option<(Amount, Amount)>) -> Tools {
    Tools {
        bore_gauge: reach(place, BORE_GAUGES, (bore, bore)),
        setting: reach(place, SETTING, (bore, bore)),
        skirt: skirt.map(|sizes| reach(place, SKIRT, sizes)),
    }
}

fn reach(place: &InRecord, sorts: &[&str], (from, to): (Amount, Amount)) -> Reach {
    let mut reach = Reach::default();
    for gauge in place.workshop.gauges().filter(|gauge| sorts.contains(&gauge.sort.as_str())) {
        match holds(gauge, from, to) {
            Some(true) => reach.holds.push(Arc::clone(&gauge.mark)),
            None => reach.not_stated.push(Arc::clone(&gauge.mark)),
            Some(false) => {}
        }
    }
    reach
}

/// Whether a gauge's range holds both sizes; none: not stated.
fn holds(gauge: &GaugeFacts, from: Amount, to: Amount) -> Option<bool> {
    let (low, high) = gauge.range.0.zip(gauge.range.1)?;
    Some(low <= from && to <= high)
}
