//! Work ahead of its order: begun while a step that comes first was not signed.
//!
//! Only what is hard to undo counts: a part fitted, a fastener pulled, an operation done. A reading
//! taken early harms nobody.

use super::finding::{Finding, Rule};
use super::fold::{Assessment, Source, World};
use super::places::is_fitted;
use super::sign_off::{Unsigned, not_signed};
use super::steps::Progress;
use crate::engine::{Ask, Asked, Definition, Target};
use crate::entry::payload::{Payload, TighteningAct};
use crate::log::Ix;

impl Assessment {
    /// Looks at every step that waits: whether work on it was begun by somebody who did not know of a
    /// signature on what it waits for.
    pub(super) fn ahead_findings(&mut self, world: World, definition: &Definition) {
        for ix in 0..self.steps.len() {
            let finding = match self.steps[ix].progress {
                Progress::Blocked => self.ahead(world, definition, ix),
                Progress::Open
                | Progress::ReadyToSign
                | Progress::WantsSecond
                | Progress::Signed
                | Progress::Stale
                | Progress::WithoutEvidence => None,
            };
            self.put_findings(Source::Ahead(ix), finding.into_iter().collect());
        }
    }

    fn ahead(&self, world: World, definition: &Definition, ix: usize) -> Option<Finding> {
        let instance = &definition.steps()[ix];
        // The act that began it; those after it begin nothing, and are not told anew.
        let begun = |(at, ask)| self.begun(world, definition, ix, at, ask).first().copied();
        let act = instance.asks.iter().enumerate().find_map(begun)?;
        let lacking = |before: &usize| {
            let what = self.unsigned_to(world, definition, *before, act)?;
            Some((&*definition.steps()[*before].id, what))
        };
        let lacking: Vec<(&str, Unsigned)> = self.steps[ix].waits_for.iter().filter_map(lacking).collect();
        if lacking.is_empty() {
            return None;
        }
        let feature = instance.feature.map_or("", |at| definition.feature_at(at).path());
        let text = format!("begun, and {}", not_signed(&lacking));
        Some(Finding::new(Rule::WorkAhead, feature, &instance.id, self.ids(world, &[act]), text))
    }

    /// What was done of a piece of evidence that is work, if anything.
    fn begun(&self, world: World, definition: &Definition, step: usize, at: usize, ask: &Ask) -> Vec<Ix> {
        let evidence = &self.steps[step].evidence;
        let met =
            || evidence.get(at).filter(|evidence| evidence.met).map(|evidence| evidence.entries.clone());
        let pulled = |ix: Ix| match &world.log().at(ix).payload {
            Ok(Payload::Tightening(done)) => done.act != TighteningAct::Slackened,
            _ => false,
        };
        match &ask.asked {
            Asked::Operation(_) => met().unwrap_or_default(),
            Asked::Part(_) => {
                met().unwrap_or_default().into_iter().filter(|ix| is_fitted(world, *ix)).collect()
            }
            Asked::Tightening(group) => {
                let Target::Feature(place) = ask.target else { return Vec::new() };
                let key = (group.as_str().into(), definition.feature_at(place).shared_path());
                let standing = self.groups.get(&key).map(|group| group.standing.clone()).unwrap_or_default();
                // Slackening undoes; it begins nothing.
                standing.into_iter().filter(|ix| pulled(*ix)).collect()
            }
            Asked::Judged(_)
            | Asked::Read(_)
            | Asked::Check(_)
            | Asked::Decision(_)
            | Asked::Approval(_)
            | Asked::GaugeCheck(_) => Vec::new(),
        }
    }
}
