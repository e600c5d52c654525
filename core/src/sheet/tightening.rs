//! The tightening log: stage by stage in both units, with the turn checks between.

use super::model::{TighteningRow, TighteningSheet};
use super::sight::Sight;
use super::words::{act, capital, in_both, method, other_unit, place, plain, range};
use crate::engine::Fastener;
use crate::entry::payload::{Check, Payload, Tightening, TighteningAct};
use crate::log::Ix;

/// Every group at every place, by group, then place.
pub(super) fn groups(sight: &Sight) -> Vec<TighteningSheet> {
    let all = sight.assessment.tightenings();
    all.map(|(group, at, stages, complete)| one(sight, group, at, stages, complete)).collect()
}

fn one(sight: &Sight, group: &str, at: &str, stages: u32, complete: bool) -> TighteningSheet {
    let fastener = sight.assessment.definition().and_then(|definition| definition.fastener(group));
    let of = fastener.map_or_else(String::new, |fastener| format!(" of {}", fastener.stages.len()));
    TighteningSheet {
        title: format!("{}, {}", capital(&plain(group)), place(at)),
        facts: fastener.map(facts).unwrap_or_default(),
        progress: if complete {
            "complete, by the maker's stages".to_owned()
        } else {
            format!("{stages}{of} stages done, not complete")
        },
        complete,
        rows: rows(sight, fastener, group, at),
    }
}

fn facts(fastener: &Fastener) -> Vec<(String, String)> {
    let stages: Vec<String> = fastener.stages.iter().map(in_both).collect();
    let fact = |name: &str, value: String| (name.to_owned(), value);
    let mut facts = vec![
        fact("Bolts", format!("{} of {}, class {}", fastener.bolts, fastener.thread, fastener.class)),
        fact("Stages", stages.join(", then ")),
        fact("Judged", method(fastener.method).to_owned()),
        fact("Lubricant", format!("{}, on {}", fastener.lubricant, fastener.faces)),
        fact("Order", fastener.order.clone()),
        fact("Figures from", fastener.source.clone()),
    ];
    facts.retain(|(_, value)| !value.is_empty());
    facts
}

/// Acts that stand, and after each the checks that lie before the next one.
#[allow(clippy::wildcard_enum_match_arm)] // no other kind belongs in the log of a group
fn rows(sight: &Sight, fastener: Option<&Fastener>, group: &str, at: &str) -> Vec<TighteningRow> {
    let mut rows: Vec<TighteningRow> = Vec::new();
    // A crank turns once for every group; after the last stage its first check is enough.
    let mut checked = true;
    for (ix, payload) in sight.standing() {
        match payload {
            Payload::Tightening(done) if done.group == group && done.place == at => {
                checked = false;
                rows.push(tightened(sight, fastener, ix, done));
            }
            Payload::Check(check) if !checked && is_turn_check(check, at) => {
                checked = true;
                rows.push(turned(sight, ix, check));
            }
            _ => {}
        }
    }
    rows
}

fn is_turn_check(check: &Check, at: &str) -> bool {
    check.check == "turns-freely" && (check.feature == at || check.feature == "crank")
}

fn tightened(sight: &Sight, fastener: Option<&Fastener>, ix: Ix, done: &Tightening) -> TighteningRow {
    let wanted = match done.act {
        TighteningAct::Stage(number) => fastener.and_then(|fastener| fastener.stage(number)),
        TighteningAct::Nipped | TighteningAct::Slackened => None,
    };
    let mut remarks: Vec<String> =
        done.exceptions.iter().map(|(bolt, words)| format!("bolt {bolt}: {words}")).collect();
    remarks.extend((!done.note.is_empty()).then(|| done.note.clone()));
    TighteningRow {
        what: act(done.act),
        wanted: wanted.map(in_both).unwrap_or_default(),
        set: done.set_point.as_ref().map(ToString::to_string).unwrap_or_default(),
        other: done.set_point.as_ref().map(other_unit).unwrap_or_default(),
        wrench: wrench(sight, &done.wrench, ix),
        lubricant: done.lubricant.clone(),
        remarks: remarks.join("; "),
        is_check: false,
        by: sight.mention(ix),
    }
}

fn wrench(sight: &Sight, mark: &str, ix: Ix) -> String {
    let moment = sight.log().at(ix).device_time;
    let sizes = sight.workshop.gauge_at(mark, moment).map(range).unwrap_or_default();
    if sizes.is_empty() { mark.to_owned() } else { format!("{mark}, {sizes}") }
}

fn turned(sight: &Sight, ix: Ix, check: &Check) -> TighteningRow {
    let result = if check.passed { "yes" } else { "no" };
    TighteningRow {
        what: format!("Turns freely? {result}"),
        wanted: String::new(),
        set: String::new(),
        other: String::new(),
        wrench: String::new(),
        lubricant: String::new(),
        remarks: check.note.clone(),
        is_check: true,
        by: sight.mention(ix),
    }
}
