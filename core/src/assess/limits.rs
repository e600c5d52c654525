//! The limits in force: the definition's, unless a lead has set them anew.

use std::sync::Arc;

use super::fold::{Assessment, World};
use super::judged::LimitInForce;
use super::order::latest;
use crate::engine::{DecisionRule, Definition, Feature};
use crate::entry::payload::{ChosenRule, LimitChange, Payload};
use crate::log::Ix;
use crate::measure::Rule;
use crate::quantity::Quantity;

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
        let one = self.changed(world, name, feature.path(), given.as_ref());
        one.or_else(|| self.changed(world, name, "", given.as_ref())).or(given)
    }

    fn changed(
        &self,
        world: World,
        name: &str,
        path: &str,
        given: Option<&LimitInForce>,
    ) -> Option<LimitInForce> {
        let log = world.log();
        let changes = self.limit_changes.get(&(Arc::from(name), Arc::from(path)))?;
        let live = changes.iter().copied().filter(|ix| self.outer(log, *ix).is_none());
        let newest = latest(log, live);
        let by = *newest.first()?;
        let change = change(world, by)?;
        let same =
            |ix: &Ix| super::limits::change(world, *ix).is_some_and(|other| says_the_same(other, change));
        let base = |q: &Option<Quantity>| q.as_ref().map(|q| q.amount().base());
        let chosen = change.rule.map(|rule| match rule {
            ChosenRule::Strict => Rule::Strict,
            ChosenRule::Shared => Rule::Shared,
            ChosenRule::Simple => Rule::Simple,
        });
        let only_rule = change.lower.is_none() && change.upper.is_none();
        let kept = given.filter(|_| only_rule);
        Some(LimitInForce {
            lower: kept.map_or_else(|| base(&change.lower), |given| given.lower),
            upper: kept.map_or_else(|| base(&change.upper), |given| given.upper),
            rule: chosen.or_else(|| given.map(|given| given.rule)).unwrap_or_default(),
            source: if change.source.is_empty() {
                given.map(|given| given.source.clone()).unwrap_or_default()
            } else {
                change.source.clone()
            },
            by: Some(by),
            disputed: if newest.iter().all(same) { Vec::new() } else { newest },
        })
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
