//! The limits in force: the definition's, unless a lead has set them anew.

use super::finding::Rule as FindingRule;
use super::fold::{Assessment, World};
use super::judged::LimitInForce;
use crate::engine::feature::FEATURES;
use crate::engine::{DecisionRule, Definition, Feature, FeatureKind, Subject};
use crate::entry::payload::{ChosenRule, LimitChange, Payload};
use crate::log::Ix;
use crate::measure::Rule;
use crate::quantity::{Kind, Quantity};

impl Assessment {
    /// The limit on a value of a feature.
    pub(super) fn limit(
        &self,
        world: World,
        definition: &Definition,
        feature: &Feature,
        name: &str,
        station: &str,
    ) -> Option<LimitInForce> {
        let given = definition.limit(feature, name, station).map(|limit| LimitInForce {
            lower: limit.lower_amount().map(crate::quantity::Amount::base),
            upper: limit.upper_amount().map(crate::quantity::Amount::base),
            rule: rule(limit.rule),
            source: limit.source.clone(),
            by: None,
            disputed: Vec::new(),
        });
        // A change for one feature outweighs one for all of them.
        let all = self.changed(world, feature, name, "", given.as_ref()).or(given);
        self.changed(world, feature, name, feature.path(), all.as_ref()).or(all)
    }

    /// The limit as changes at one path leave it; none where nothing was changed there.
    fn changed(
        &self,
        world: World,
        feature: &Feature,
        name: &str,
        path: &str,
        given: Option<&LimitInForce>,
    ) -> Option<LimitInForce> {
        let changes = self.limit_changes.get(name)?.get(path)?;
        let kind = Subject::find(feature.kind(), name)?.kind();
        let fits =
            |ix: &Ix| change(world, *ix).is_some_and(|change| wrong_quantity(change, &[kind]).is_none());
        let changes: Vec<Ix> = changes.iter().copied().filter(fits).collect();
        let (bounds, rules) = (
            self.newest_stating(world, &changes, states_bounds),
            self.newest_stating(world, &changes, states_rule),
        );
        let first = |list: &[Ix]| list.first().and_then(|ix| change(world, *ix));
        let (bound, chosen) = (first(&bounds), first(&rules).and_then(|change| change.rule));
        let base = |q: &Option<Quantity>| q.as_ref().map(|q| q.amount().base());
        let source = bound.map(|change| &change.source).filter(|source| !source.is_empty());
        let before = given.cloned().unwrap_or_default();
        let by = *bounds.first().or_else(|| rules.first())?;
        let mut disputed = if bound.is_some() { Vec::new() } else { before.disputed };
        for newest in [bounds, rules].into_iter().filter(|newest| !agreed(world, newest)) {
            disputed.extend(newest);
        }
        Some(LimitInForce {
            lower: bound.map_or(before.lower, |change| base(&change.lower)),
            upper: bound.map_or(before.upper, |change| base(&change.upper)),
            rule: chosen.map_or(before.rule, rule_chosen),
            source: source.cloned().unwrap_or(before.source),
            by: Some(by),
            disputed,
        })
    }

    /// The latest known of the changes that state something.
    pub(super) fn newest_stating(
        &self,
        world: World,
        changes: &[Ix],
        states: fn(&LimitChange) -> bool,
    ) -> Vec<Ix> {
        let stating = |ix: &Ix| change(world, *ix).is_some_and(states);
        let stating: Vec<Ix> = changes.iter().copied().filter(stating).collect();
        self.standing_choice(world, &stating)
    }

    /// Why a limit change has no value in the definition to which it could apply.
    pub(super) fn misplaced_limit(&self, change: &LimitChange) -> Option<(FindingRule, String)> {
        let definition = self.definition.as_ref()?;
        let name = &change.characteristic;
        let (path, on): (&str, Vec<FeatureKind>) = if change.feature.is_empty() {
            ("the engine", FEATURES.iter().map(|row| row.kind).collect())
        } else {
            match definition.feature(&change.feature) {
                Ok(feature) => (&change.feature, vec![feature.kind()]),
                Err(unknown) => return Some((FindingRule::UnknownFeature, unknown.to_string())),
            }
        };
        let kinds: Vec<Kind> =
            on.into_iter().filter_map(|on| Some(Subject::find(on, name)?.kind())).collect();
        let Some(first) = kinds.first() else {
            return Some((FindingRule::UnknownCharacteristic, format!("{path} has no {name}")));
        };
        let wrong = wrong_quantity(change, &kinds)?;
        let text = format!("{name} is a {}, not a {}", first.name(), wrong.kind().name());
        Some((FindingRule::WrongQuantity, text))
    }
}

pub(super) const fn states_bounds(change: &LimitChange) -> bool {
    change.lower.is_some() || change.upper.is_some()
}

pub(super) const fn states_rule(change: &LimitChange) -> bool {
    change.rule.is_some()
}

/// Whether these changes, none knowing of another, say the same.
pub(super) fn agreed(world: World, newest: &[Ix]) -> bool {
    let mut all = newest.iter().filter_map(|ix| change(world, *ix));
    let Some(first) = all.next() else { return true };
    all.all(|other| says_the_same(first, other))
}

fn wrong_quantity<'c>(change: &'c LimitChange, kinds: &[Kind]) -> Option<&'c Quantity> {
    change.lower.iter().chain(&change.upper).find(|limit| !kinds.contains(&limit.kind()))
}

const fn rule_chosen(rule: ChosenRule) -> Rule {
    match rule {
        ChosenRule::Strict => Rule::Strict,
        ChosenRule::Shared => Rule::Shared,
        ChosenRule::Simple => Rule::Simple,
    }
}

/// The limit change at a place.
pub(super) fn change<'w>(world: World<'w>, ix: Ix) -> Option<&'w LimitChange> {
    match &world.log().at(ix).payload {
        Ok(Payload::LimitChange(change)) => Some(change),
        _ => None,
    }
}

fn says_the_same(a: &LimitChange, b: &LimitChange) -> bool {
    let amount = |q: &Option<Quantity>| q.as_ref().map(Quantity::amount);
    amount(&a.lower) == amount(&b.lower) && amount(&a.upper) == amount(&b.upper) && a.rule == b.rule
}

const fn rule(rule: DecisionRule) -> Rule {
    match rule {
        DecisionRule::Strict => Rule::Strict,
        DecisionRule::Shared => Rule::Shared,
        DecisionRule::Simple => Rule::Simple,
    }
}
