//! In which order stations are read: one feature after the other, or level by level across all of
//! them, so that one setting of the gauge's depth serves them all.

use gudgeon_core::engine::{Characteristic, Definition, Feature};

/// Which comes first.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Order {
    /// All stations of one feature, then the next feature.
    #[default]
    ByFeature,
    /// One level of every feature, then the next level.
    ByLevel,
}

impl Order {
    const ALL: [Self; 2] = [Self::ByFeature, Self::ByLevel];

    /// The word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::ByFeature => "one after the other",
            Self::ByLevel => "level by level across all",
        }
    }

    pub(super) fn find(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|order| order.word() == word)
    }
}

/// A station on a feature.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Spot {
    /// Path of the feature.
    pub feature: String,
    /// The station; empty where there is one value only.
    pub station: String,
}

/// The features of one kind that are read alike; a part's stands alone.
pub(super) fn features<'d>(definition: &'d Definition, feature: &'d Feature) -> &'d [Feature] {
    match feature.ix() {
        Some(_) => definition.features_of(feature.kind()),
        None => std::slice::from_ref(feature),
    }
}

/// All that is to be read, in order.
pub(super) fn route(
    definition: &Definition,
    feature: &Feature,
    row: &Characteristic,
    order: Order,
) -> Vec<Spot> {
    let stations = definition.stations(row);
    let spot = |feature: &Feature, station: &str| Spot {
        feature: feature.path().to_owned(),
        station: station.to_owned(),
    };
    let features = features(definition, feature);
    match order {
        Order::ByFeature => features
            .iter()
            .flat_map(|feature| stations.iter().map(move |station| spot(feature, station)))
            .collect(),
        Order::ByLevel => {
            let at = |level: &str| {
                let here: Vec<&str> = stations
                    .iter()
                    .map(|station| &**station)
                    .filter(|station| row.stations.split(station).0 == level)
                    .collect();
                here
            };
            let levels = levels(definition, row);
            levels
                .iter()
                .flat_map(|level| features.iter().map(move |feature| (level, feature)))
                .flat_map(|(level, feature)| at(level).into_iter().map(move |station| spot(feature, station)))
                .collect()
        }
    }
}

/// The levels of a characteristic, in order; one empty text where it has none.
pub(super) fn levels<'d>(definition: &'d Definition, row: &Characteristic) -> Vec<&'d str> {
    each_once(definition.stations(row).iter().map(|station| row.stations.split(station).0))
}

/// The directions at each level.
pub(super) fn ways<'d>(definition: &'d Definition, row: &Characteristic) -> Vec<&'d str> {
    each_once(definition.stations(row).iter().map(|station| row.stations.split(station).1))
}

fn each_once<'t>(texts: impl Iterator<Item = &'t str>) -> Vec<&'t str> {
    let mut all = Vec::new();
    for text in texts {
        if !all.contains(&text) {
            all.push(text);
        }
    }
    all
}

/// Where to go on from a spot: to the next that is still to be read, round about; none: all are.
pub(super) fn next_open<'r>(
    route: &'r [Spot],
    at: &Spot,
    is_read: impl Fn(&Spot) -> bool,
) -> Option<&'r Spot> {
    let here = route.iter().position(|spot| spot == at).map_or(0, |here| here + 1);
    let (before, after) = route.split_at(here);
    after.iter().chain(before).find(|spot| !is_read(spot))
}

/// The one after a spot, where everything is read a second time.
pub(super) fn following<'r>(route: &'r [Spot], at: &Spot) -> Option<&'r Spot> {
    let here = route.iter().position(|spot| spot == at)?;
    route.get(here + 1)
}
