//! The gauges that a definition wants to hand.

use super::standing::{Lack, Standing, best};
use super::{Build, Group, Need, Remedy};
use crate::engine::Wanted;
use crate::quantity::Quantity;

/// Each instrument that the definition names.
pub(super) fn wanted(build: Build) -> Vec<Need> {
    build.definition.instruments().iter().map(|wanted| one(build, wanted)).collect()
}

fn one(build: Build, wanted: &Wanted) -> Need {
    let sizes = (wanted.low.as_ref().map(Quantity::amount), wanted.high.as_ref().map(Quantity::amount));
    let range = match (&wanted.low, &wanted.high) {
        (Some(low), Some(high)) => format!(", {low} to {high}"),
        (Some(low), None) => format!(", from {low}"),
        (None, Some(high)) => format!(", up to {high}"),
        (None, None) => String::new(),
    };
    let sort = wanted.sort.name;
    let of_sort = build.workshop.gauges().filter(|gauge| gauge.sort == sort);
    // What it can be set on depends on the size: that is asked limit by limit.
    let all = of_sort.map(|gauge| (gauge.mark.to_string(), Standing::of(build, gauge, sizes))).collect();
    let none = Lack::new(format!("the workshop lists no {sort}"), Remedy::add(sort));
    let what = format!("{sort} for {}{range}", wanted.purpose);
    Need { group: Group::Gauges, what, state: best(all, none) }
}
