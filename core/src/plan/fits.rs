//! Which limits a new bore has to live with: piston clearance, ring gaps, the bore's own.

use std::sync::Arc;

use crate::assess::LimitInForce;
use crate::engine::{Feature, FeatureKind, Place};
use crate::quantity::{Amount, Kind};
use crate::work::InRecord;

/// The gap that one ring of the pack must have, in whichever bore.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RingGap {
    /// The ring, such as `top`.
    pub ring: Arc<str>,
    /// Smallest and largest, and where they are from; else why that is not known.
    pub limits: Result<LimitInForce, String>,
}

/// The gaps of the ring pack, from the crown down.
pub(super) fn rings(place: &InRecord) -> Vec<RingGap> {
    let all = || {
        let kinds = [FeatureKind::Ring, FeatureKind::Rail].into_iter();
        kinds.flat_map(|kind| place.definition.features_of(kind))
    };
    let is =
        |feature: &Feature, name: &str| matches!(feature.place(), Place::Ring(_, ring) if **ring == *name);
    let gap = |ring: &crate::engine::Ring| {
        let own: Vec<&Feature> = all().filter(|feature| is(feature, &ring.name)).collect();
        // An expander has no gap.
        let limits = (!own.is_empty()).then(|| common(place, &own, "gap"))?;
        Some(RingGap { ring: Arc::clone(&ring.name), limits })
    };
    place.definition.rings().iter().filter_map(gap).collect()
}

/// The limit on a value of all bores.
pub(super) fn of_bores(place: &InRecord, name: &str) -> Result<LimitInForce, String> {
    common(place, &place.definition.features_of(FeatureKind::Bore).iter().collect::<Vec<_>>(), name)
}

/// The limit that is in force on every one of these.
fn common(place: &InRecord, all: &[&Feature], name: &str) -> Result<LimitInForce, String> {
    let in_force = |feature: &&Feature| {
        let limit = place.assessment.limit_in_force(place.record, place.workshop, feature, name);
        let limit = limit.ok_or_else(|| format!("there is no limit of {name} on {feature}"))?;
        if limit.disputed.is_empty() {
            return Ok(limit);
        }
        Err(format!("the limit of {name} on {feature} was set twice, and differs"))
    };
    let limits: Vec<LimitInForce> = all.iter().map(in_force).collect::<Result<_, _>>()?;
    let first = limits.first().ok_or_else(|| format!("nothing here has a {name}"))?;
    let same = |other: &LimitInForce| (other.lower, other.upper) == (first.lower, first.upper);
    if limits.iter().all(same) {
        return Ok(first.clone());
    }
    Err(format!("the limits of {name} differ from cylinder to cylinder"))
}

/// Smallest and largest skirt that runs in a bore with this clearance: `d = D - c`.
pub(super) fn skirt(bore: Amount, clearance: &LimitInForce) -> Result<(Amount, Amount), String> {
    let ends = clearance.lower.zip(clearance.upper);
    let (lower, upper) = ends.ok_or("the limits of piston-clearance have one end only")?;
    let less = |clearance| bore.checked_sub(Amount::new(Kind::Length, clearance));
    less(upper).zip(less(lower)).ok_or_else(|| "the limits of piston-clearance cannot be meant".to_owned())
}
