//! The features of one engine, expanded from its layout and ring pack.

use super::feature::{FEATURES, Feature, FeatureIx, FeatureKind, FeatureRow, Place, Spread};
use super::layout::{Layout, Liners};
use super::name::{is_mark, short};
use super::nearest::closest;
use super::pattern::FeaturePattern;
use super::problem::Problems;
use super::ring::Ring;
use super::section::Text;

/// A path that is no feature of this engine.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{path}` is no feature of this engine")]
pub struct UnknownFeature {
    path: String,
    nearest: String,
}

impl UnknownFeature {
    /// The way out: the nearest path that is one.
    #[must_use]
    pub fn hint(&self) -> String {
        format!("did you mean `{}`?", self.nearest)
    }

    /// The nearest path that is one.
    #[must_use]
    pub fn nearest(&self) -> &str {
        &self.nearest
    }
}

/// Features in the order of the table, and their index by path.
#[derive(Clone, Debug)]
pub(super) struct Places {
    features: Vec<Feature>,
    by_path: Vec<FeatureIx>,
    rings: Vec<Ring>,
}

impl Places {
    pub(super) fn new(layout: &Layout, rings: Vec<Ring>) -> Self {
        let places = FEATURES.iter().flat_map(|row| expand(row, layout, &rings));
        let number = |(index, feature): (usize, Feature)| {
            let ix = u16::try_from(index).ok().map(FeatureIx);
            Feature { ix, ..feature }
        };
        let features: Vec<Feature> = places.enumerate().map(number).collect();
        let mut by_path: Vec<FeatureIx> = features.iter().filter_map(Feature::ix).collect();
        by_path.sort_by(|a, b| features[a.index()].path().cmp(features[b.index()].path()));
        Self { features, by_path, rings }
    }

    pub(super) fn all(&self) -> &[Feature] {
        &self.features
    }

    pub(super) fn rings(&self) -> &[Ring] {
        &self.rings
    }

    /// Features of a kind; they stand together.
    pub(super) fn of_kind(&self, kind: FeatureKind) -> &[Feature] {
        let start = self.features.partition_point(|feature| feature.kind() < kind);
        let end = self.features.partition_point(|feature| feature.kind() <= kind);
        &self.features[start..end]
    }

    /// The feature of the engine at a path; features of parts are not among them.
    pub(super) fn find(&self, path: &str) -> Option<&Feature> {
        let path_of = |ix: &FeatureIx| self.features[ix.index()].path();
        let at = self.by_path.binary_search_by(|ix| path_of(ix).cmp(path)).ok()?;
        Some(&self.features[self.by_path[at].index()])
    }

    /// The feature at a path, of the engine or of a part.
    pub(super) fn feature(&self, path: &str) -> Result<Feature, UnknownFeature> {
        if let Some(feature) = self.find(path) {
            return Ok(feature.clone());
        }
        self.part_feature(path).ok_or_else(|| self.unknown(path))
    }

    fn part_feature(&self, path: &str) -> Option<Feature> {
        let rows = FEATURES.iter().filter(|row| row.kind.is_part());
        rows.into_iter().find_map(|row| self.part_of_row(row, path))
    }

    fn part_of_row(&self, row: &FeatureRow, path: &str) -> Option<Feature> {
        let (mut mark, mut ring) = (None, None);
        let mut parts = path.split('/');
        for wanted in row.pattern.split('/') {
            let part = parts.next()?;
            match wanted {
                "{mark}" if is_mark(part) => mark = Some(part),
                "{ring}" => ring = Some(self.groove(part)?),
                _ if wanted == part => {}
                _ => return None,
            }
        }
        if parts.next().is_some() {
            return None;
        }
        let place = match ring {
            Some(ring) => Place::PartRing(mark?.into(), ring),
            None => Place::Part(mark?.into()),
        };
        Some(Feature::at(row.kind, place))
    }

    /// A groove is named by its compression ring; the oil ring's parts share `oil`.
    fn groove(&self, name: &str) -> Option<std::sync::Arc<str>> {
        let ring = self.rings.iter().find(|ring| &*ring.name == name);
        ring.map(|ring| ring.name.clone()).or_else(|| (name == "oil").then(|| "oil".into()))
    }

    fn unknown(&self, path: &str) -> UnknownFeature {
        let mark = path.split('/').nth(1).filter(|mark| is_mark(mark)).unwrap_or("A");
        let parts = self.part_paths(mark);
        let known = self.features.iter().map(Feature::path).chain(parts.iter().map(String::as_str));
        let nearest = closest(path, known).map_or("block", |(name, _)| name).to_owned();
        UnknownFeature { path: short(path), nearest }
    }

    /// Paths of the features that a part with a mark can have.
    fn part_paths(&self, mark: &str) -> Vec<String> {
        let shapes = FEATURES.iter().filter(|row| row.kind.is_part()).map(|row| row.pattern);
        let filled = shapes.flat_map(|shape| {
            let shape = shape.replace("{mark}", mark);
            let rings = self.rings.iter().map(|ring| ring.name.clone());
            let grooves: Vec<String> = rings.map(|ring| shape.replace("{ring}", &ring)).collect();
            if shape.contains("{ring}") { grooves } else { vec![shape] }
        });
        filled.collect()
    }

    /// Kinds of the features that a pattern means, in the order of the table.
    pub(super) fn kinds_of(&self, pattern: &FeaturePattern) -> Vec<FeatureKind> {
        let meant = |row: &&FeatureRow| {
            if row.kind.is_part() {
                pattern.may_match_shape(row.pattern)
            } else {
                self.of_kind(row.kind).iter().any(|feature| pattern.matches(feature))
            }
        };
        FEATURES.iter().filter(meant).map(|row| row.kind).collect()
    }

    /// A pattern as written, if it means anything on this engine.
    pub(super) fn pattern(&self, out: &mut Problems, place: &str, text: Text<'_>) -> Option<FeaturePattern> {
        let pattern = FeaturePattern::new(text.text);
        if !self.kinds_of(&pattern).is_empty() {
            return Some(pattern);
        }
        let unknown = self.unknown(text.text);
        let reason = format!("`{}` means no feature of this engine", unknown.path);
        out.add(text.at, place, reason, unknown.hint());
        None
    }

    /// Features of a kind that belong to a feature: the same cylinder, pin, bank or bearing;
    /// all of them where the two have nothing in common.
    pub(super) fn related(&self, layout: &Layout, from: &Feature, kind: FeatureKind) -> Vec<&Feature> {
        let all = self.of_kind(kind).iter();
        let from_axis = axis(layout, from);
        all.filter(|to| to.kind() != from.kind() || to.place() == from.place())
            .filter(|to| from_axis.meets(&axis(layout, to)))
            .collect()
    }
}

/// What a feature is counted by.
enum Axis {
    Whole,
    Cylinders(Vec<u8>),
    Main(u8),
    CamBearing(u8),
}

impl Axis {
    fn meets(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Cylinders(one), Self::Cylinders(two)) => one.iter().any(|n| two.contains(n)),
            (Self::Main(one), Self::Main(two)) | (Self::CamBearing(one), Self::CamBearing(two)) => one == two,
            _ => true,
        }
    }
}

fn axis(layout: &Layout, feature: &Feature) -> Axis {
    let bank_of = |name: &str| layout.banks().iter().find(|bank| &*bank.name == name);
    match (feature.kind(), feature.place()) {
        (FeatureKind::Main, Place::Number(number)) => Axis::Main(*number),
        (FeatureKind::CamBearing, Place::Number(number)) => Axis::CamBearing(*number),
        (FeatureKind::Pin, Place::Number(number)) => Axis::Cylinders(layout.rods_of_pin(*number).collect()),
        (_, Place::Number(number) | Place::Ring(number, _)) => Axis::Cylinders(vec![*number]),
        (_, Place::Bank(name)) => {
            bank_of(name).map_or(Axis::Whole, |bank| Axis::Cylinders(bank.cylinders.clone()))
        }
        (_, Place::Whole | Place::Part(_) | Place::PartRing(..)) => Axis::Whole,
    }
}

fn expand(row: &FeatureRow, layout: &Layout, rings: &[Ring]) -> Vec<Feature> {
    let places: Vec<Place> = match row.spread {
        Spread::Once => vec![Place::Whole],
        Spread::Cylinders => numbers(layout.cylinders()),
        Spread::Liners if layout.liners() == Liners::None => Vec::new(),
        Spread::Liners => numbers(layout.cylinders()),
        Spread::Mains => numbers(layout.mains()),
        Spread::Pins => numbers(layout.pin_count()),
        Spread::CamBearings => numbers(layout.cam_bearings()),
        Spread::Banks => layout.banks().iter().map(|bank| Place::Bank(bank.name.clone())).collect(),
        Spread::Rings(sort) => {
            let of_sort: Vec<&Ring> = rings.iter().filter(|ring| ring.sort == sort).collect();
            let in_cylinder = |number: u8| {
                let place = move |ring: &&Ring| Place::Ring(number, ring.name.clone());
                of_sort.iter().map(place).collect::<Vec<_>>()
            };
            (1..=layout.cylinders()).flat_map(in_cylinder).collect()
        }
        Spread::Part | Spread::PartRings => Vec::new(),
    };
    places.into_iter().map(|place| Feature::at(row.kind, place)).collect()
}

fn numbers(count: u8) -> Vec<Place> {
    (1..=count).map(Place::Number).collect()
}
