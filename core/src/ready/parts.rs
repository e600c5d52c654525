//! Parts: as many of every sort that the definition names as there are places for them.
//!
//! A sort is named by a step that asks for one or for what is measured on one, by a limit of what one
//! carries or of a value made of that, and by fasteners that are never used again.

use std::collections::{BTreeMap, BTreeSet};

use super::limits::feature_of;
use super::{Build, Group, Need, Remedy, State, chosen};
use crate::engine::derivation::{self, FeatureRef};
use crate::engine::part::{self, PartSort};
use crate::engine::{Asked, Feature, FeatureKind, Reuse, Target};

/// What holds the fasteners of one place.
const BOLTS: &str = "bolt-set";

/// Sort of part -> where one goes.
type Places<'b> = BTreeMap<&'b str, BTreeSet<Target>>;

/// Parts of every sort that the build needs: entered as often as there are places for them.
pub(super) fn needed(build: Build) -> Vec<Need> {
    let mut places = Places::new();
    asked(build, &mut places);
    limited(build, &mut places);
    used_once(build, &mut places);
    places.into_iter().map(|(sort, at)| need(build, sort, at.len())).collect()
}

fn need(build: Build, sort: &str, wanted: usize) -> Need {
    let there = build.assessment.parts_of(build.record, sort).len();
    let state = match there >= wanted {
        true => State::There(format!("{there} entered")),
        false => State::Missing(
            format!("{there} of {wanted} entered"),
            Remedy::run(&["part", "receive", &format!("{sort}/MARK")]),
        ),
    };
    Need { group: Group::Parts, what: format!("{wanted} {sort}{}", chosen::of_part(build, sort)), state }
}

/// What steps ask for, and what they want measured on parts.
fn asked<'b>(build: Build<'b>, places: &mut Places<'b>) {
    for ask in build.definition.steps().iter().flat_map(|step| &step.asks) {
        if let Asked::Part(sort) = &ask.asked {
            places.entry(sort).or_default().insert(ask.target);
        }
        if let Target::PartAt { place, part } = ask.target
            && let Some(sort) = part::carrying(part)
        {
            places.entry(sort.name).or_default().insert(Target::Feature(place));
        }
    }
}

/// What carries a limited value, or one of which it is made, under its own mark.
fn limited(build: Build, places: &mut Places) {
    for limit in build.definition.limits() {
        let Some(kind) = feature_of(build, limit).map(|feature| feature.kind()) else { continue };
        let made_of = derivation::find(kind, &limit.name).map_or(&[][..], |row| row.inputs);
        let carried = made_of.iter().filter_map(|input| match input.from {
            FeatureRef::PartAt { part, .. } => Some(part),
            FeatureRef::Same | FeatureRef::PinOfRod | FeatureRef::SameNumber(_) => None,
        });
        for sort in carried.chain([kind]).filter_map(part::carrying) {
            let at = sort.places.iter().flat_map(|kind| of_kind(build, *kind));
            let at = at.filter(|place| build.definition.layout().carries(sort.name, place));
            places.entry(sort.name).or_default().extend(at.filter_map(target));
        }
    }
}

/// New fasteners for those that the maker does not let be used again.
fn used_once(build: Build, places: &mut Places) {
    let once = build.definition.fasteners().iter().filter(|one| matches!(one.reuse, Reuse::Never));
    let holds =
        |kind: &FeatureKind| part::find(BOLTS).is_some_and(|sort: &PartSort| sort.places.contains(kind));
    for kind in once.map(|one| one.place).filter(holds) {
        places.entry(BOLTS).or_default().extend(of_kind(build, kind).iter().filter_map(target));
    }
}

fn of_kind<'b>(build: Build<'b>, kind: FeatureKind) -> &'b [Feature] {
    build.definition.features_of(kind)
}

fn target(place: &Feature) -> Option<Target> {
    place.ix().map(Target::Feature)
}
