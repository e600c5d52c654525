//! Limits: lower and upper at 20 degC, where they come from, and the rule that decides.

use super::characteristic;
use super::feature::{Feature, FeatureKind};
use super::name::short;
use super::nearest::suggest;
use super::pattern::FeaturePattern;
use super::places::Places;
use super::problem::Problems;
use super::section::{Section, Text};
use super::stations::StationTable;
use super::subject::Subject;
use crate::quantity::{Amount, Kind, Quantity};

/// Which rule decides at a limit (ISO 14253-1:2017 is the strict one).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum DecisionRule {
    /// Guard band inside both limits.
    #[default]
    Strict,
    /// Guard band halved.
    Shared,
    /// No guard band.
    Simple,
}

/// The rules by their word in a definition.
static RULES: [(&str, DecisionRule); 3] =
    [("strict", DecisionRule::Strict), ("shared", DecisionRule::Shared), ("simple", DecisionRule::Simple)];

impl DecisionRule {
    /// Word in a definition.
    #[must_use]
    pub fn name(self) -> &'static str {
        RULES.iter().find(|(_, rule)| *rule == self).map_or("strict", |(word, _)| word)
    }
}

/// A limit of the definition. At least one of the two ends is given.
#[derive(Clone, Debug)]
pub struct Limit {
    /// The features it is for, as written.
    pub feature: String,
    /// Characteristic or derived value.
    pub name: String,
    /// Station it is for; empty: all.
    pub station: String,
    /// What it counts in.
    pub kind: Kind,
    /// Lower end, as typed.
    pub lower: Option<Quantity>,
    /// Upper end, as typed.
    pub upper: Option<Quantity>,
    /// Where it comes from.
    pub source: String,
    /// The rule that decides.
    pub rule: DecisionRule,
    pattern: FeaturePattern,
}

impl Limit {
    /// Whether it is for a feature.
    #[must_use]
    pub fn is_for(&self, feature: &Feature) -> bool {
        self.pattern.matches(feature)
    }

    /// Lower end.
    #[must_use]
    pub fn lower_amount(&self) -> Option<Amount> {
        self.lower.as_ref().map(Quantity::amount)
    }

    /// Upper end.
    #[must_use]
    pub fn upper_amount(&self) -> Option<Amount> {
        self.upper.as_ref().map(Quantity::amount)
    }
}

/// The limits of a definition, ready to be looked up.
#[derive(Clone, Debug, Default)]
pub(super) struct Limits {
    list: Vec<Limit>,
    /// Kind of feature, position in `list`; sorted by kind, name, then the more particular.
    index: Vec<(FeatureKind, usize)>,
}

impl Limits {
    pub(super) fn list(&self) -> &[Limit] {
        &self.list
    }

    /// The most particular limit for a value.
    pub(super) fn has_stations(&self, feature: &Feature, name: &str) -> bool {
        let same = |limit: &&Limit| limit.name == name && limit.pattern.matches(feature);
        self.list.iter().filter(same).any(|limit| !limit.station.is_empty())
    }

    pub(super) fn find(&self, feature: &Feature, name: &str, station: &str) -> Option<&Limit> {
        let key = (feature.kind(), name);
        let of = |&(kind, at): &(FeatureKind, usize)| (kind, self.list[at].name.as_str());
        let start = self.index.partition_point(|entry| of(entry) < key);
        let same = self.index[start..].iter().take_while(|entry| of(entry) == key);
        let limits = same.map(|&(_, at)| &self.list[at]);
        let mut fitting = limits.filter(|limit| {
            let station_fits = limit.station.is_empty() || limit.station == station;
            station_fits && limit.pattern.matches(feature)
        });
        fitting.next()
    }

    /// Whether some limit is for a value on some feature of a kind.
    pub(super) fn covers(&self, kind: FeatureKind, name: &str) -> bool {
        self.index.iter().any(|&(on, at)| on == kind && self.list[at].name == name)
    }

    fn build(list: Vec<Limit>, places: &Places) -> Self {
        let mut index = Vec::new();
        for (at, limit) in list.iter().enumerate() {
            for kind in places.kinds_of(&limit.pattern) {
                index.push((kind, at));
            }
        }
        let order = |&(kind, at): &(FeatureKind, usize)| {
            let limit: &Limit = &list[at];
            (kind, limit.name.clone(), limit.station.is_empty(), limit.pattern.open(), at)
        };
        index.sort_by_cached_key(order);
        Self { list, index }
    }
}

/// Reads the list `[[limit]]`.
pub(super) fn read(
    root: &mut Section<'_>,
    places: &Places,
    stations: &StationTable,
    out: &mut Problems,
) -> Limits {
    let mut list: Vec<Limit> = Vec::new();
    for mut table in root.tables(out, "limit", "limit") {
        if let Some(limit) = read_one(&mut table, places, stations, out) {
            let same = |other: &&Limit| {
                (&other.feature, &other.name, &other.station) == (&limit.feature, &limit.name, &limit.station)
            };
            if list.iter().any(|other| same(&other)) {
                table.problem(out, "this limit is given twice", "keep one of the two");
            }
            list.push(limit);
        }
        table.finish(out);
    }
    Limits::build(list, places)
}

fn read_one(
    table: &mut Section<'_>,
    places: &Places,
    stations: &StationTable,
    out: &mut Problems,
) -> Option<Limit> {
    let name = table.needed(out, "characteristic");
    let feature = table.needed(out, "feature");
    if let (Some(name), Some(feature)) = (name, feature) {
        table.place = format!("limit {} of {}", short(name.text), short(feature.text));
    }
    let station = table.text(out, "station");
    let source = table.needed(out, "source");
    let rule = read_rule(table, out);
    let ends = (table.text(out, "lower"), table.text(out, "upper"));
    let (name, feature) = (name?, feature?);
    let pattern = places.pattern(out, &table.place, feature)?;
    let kind = subject_kind(table, places, out, name, &pattern)?;
    let kinds = places.kinds_of(&pattern);
    check_station(table, stations, out, station, (&kinds, name.text));
    let (lower, upper) = read_ends(table, out, ends, kind)?;
    Some(Limit {
        feature: feature.text.to_owned(),
        name: name.text.to_owned(),
        station: station.map_or_else(String::new, |station| station.text.to_owned()),
        kind,
        lower,
        upper,
        source: source?.text.to_owned(),
        rule: rule?,
        pattern,
    })
}

fn read_rule(table: &mut Section<'_>, out: &mut Problems) -> Option<DecisionRule> {
    let Some(text) = table.text(out, "rule") else { return Some(DecisionRule::default()) };
    let found = RULES.iter().find(|(word, _)| *word == text.text).map(|&(_, rule)| rule);
    if found.is_none() {
        let reason = format!("`rule` is `{}`", short(text.text));
        out.add(text.at, table.place.clone(), reason, "strict, shared or simple");
    }
    found
}

/// What the limited value counts in, on whichever kinds of feature are meant.
fn subject_kind(
    table: &Section<'_>,
    places: &Places,
    out: &mut Problems,
    name: Text<'_>,
    pattern: &FeaturePattern,
) -> Option<Kind> {
    let kinds = places.kinds_of(pattern);
    let found = kinds.iter().find_map(|&on| Subject::find(on, name.text));
    if found.is_none() {
        let known: Vec<&str> = kinds.iter().flat_map(|&on| Subject::names_on(on)).collect();
        let on: Vec<&str> = kinds.iter().map(|kind| kind.name()).collect();
        let reason = format!("`{}` is not measured on {}", short(name.text), on.join(" or "));
        out.add(name.at, table.place.clone(), reason, suggest(name.text, &known));
    }
    found.map(Subject::kind)
}

/// A station must be one of the characteristic's; a derived value has none.
fn check_station(
    table: &Section<'_>,
    stations: &StationTable,
    out: &mut Problems,
    station: Option<Text<'_>>,
    (kinds, name): (&[FeatureKind], &str),
) {
    let Some(station) = station else { return };
    let rows = kinds.iter().filter_map(|&on| characteristic::find(on, name));
    let known: Vec<&str> = rows.clone().flat_map(|row| stations.needed(row)).map(|s| &**s).collect();
    if !rows.into_iter().any(|row| stations.allows(row, station.text)) {
        let reason = format!("`{name}` has no station `{}`", short(station.text));
        out.add(station.at, table.place.clone(), reason, suggest(station.text, &known));
    }
}

type Ends = (Option<Quantity>, Option<Quantity>);

fn read_ends(
    table: &Section<'_>,
    out: &mut Problems,
    (lower, upper): (Option<Text<'_>>, Option<Text<'_>>),
    kind: Kind,
) -> Option<Ends> {
    if lower.is_none() && upper.is_none() {
        table.problem(out, "neither `lower` nor `upper` is given", "give at least one");
        return None;
    }
    let mut read = |text: Option<Text<'_>>| match text {
        None => Some(None),
        Some(text) => super::section::quantity_of(out, &table.place, text, &[kind]).map(Some),
    };
    let (low, high) = (read(lower), read(upper));
    let (low, high) = (low?, high?);
    if let (Some(low), Some(high)) = (&low, &high)
        && low.amount() > high.amount()
    {
        let at = lower.map_or(table.at, |text| text.at);
        let reason = format!("the lower end {low} is above the upper end {high}");
        out.add(at, table.place.clone(), reason, "exchange the two, or check the units");
    }
    Some((low, high))
}
