//! What is looked at before it is begun: what the build needs, and which oversize cleans up the bores.

use std::collections::BTreeMap;

use serde_json::Value;

use super::goods;
use super::shop::{Failure, Shop};
use super::{Tell, list_gauge};

/// What the lead decides on, as `oversizes` names it.
const DECIDED: &str = "+0.020 in";

/// Before work starts: what the build needs, while a wrench is overdue and once it is calibrated.
pub(super) fn ready(shop: &mut Shop, tell: Tell) -> Result<(), Failure> {
    let needs = needs(shop)?;
    let stage = needs.iter().find(|need| need["group"] == "wrenches" && need["state"] == "missing");
    let stage = stage.ok_or_else(|| format!("a wrench should be missing: {needs:?}"))?;
    tell(&format!(
        "Before work starts Ida asks what it needs: {}. Among it, {}: {}.",
        counts(&needs),
        words(stage, "what"),
        words(stage, "found")
    ));
    let row = goods::GAUGES.iter().find(|(mark, ..)| *mark == goods::OVERDUE);
    list_gauge(shop, row.ok_or("the overdue gauge is not in the list")?, goods::CALIBRATED)?;
    let needs = self::needs(shop)?;
    let left = missing(&needs);
    if left.contains_key("wrenches") {
        return Err(format!("the wrench is calibrated, and something of it is missing still: {left:?}"));
    }
    let left: Vec<String> = left.iter().map(|(group, count)| format!("{count} of {group}")).collect();
    tell(&format!(
        "{} is calibrated and comes back: every stage of every bolt has its wrench. {}; what is missing still: {}.",
        goods::OVERDUE,
        counts(&needs),
        left.join(", ")
    ));
    Ok(())
}

/// With the bores as found: what each oversize comes to, side by side.
pub(super) fn oversizes(shop: &mut Shop, tell: Tell) -> Result<(), Failure> {
    let plan = shop.run("ida", &["oversizes"])?;
    let candidates =
        plan["candidates"].as_array().ok_or_else(|| format!("nothing to choose from: {plan}"))?;
    let chosen = candidates.iter().position(|one| one["oversize"] == plan["smallest"]);
    let chosen = chosen.ok_or_else(|| format!("no oversize cleans up: {plan}"))?;
    let one = &candidates[chosen];
    if one["called"] != DECIDED {
        return Err(format!(
            "the story decides on {DECIDED}, and {} is the smallest that cleans up",
            one["called"]
        ));
    }
    let smaller =
        candidates[..chosen].iter().map(|one| format!("{} does not clean up", size(&one["oversize"])));
    let mut said: Vec<String> = smaller.collect();
    said.push(format!(
        "{} ({DECIDED}) is the smallest that does, with {} to spare; it makes {}, {}",
        size(&one["oversize"]),
        size(&one["to_spare"]),
        size(&one["all"]),
        size(&one["ratio"])
    ));
    tell(&format!(
        "Ida lays the oversizes side by side: the worst bore is {}, {}; {} is needed. {}.",
        words(&plan["worst"], "bore"),
        size(&plan["worst"]["largest"]),
        size(&plan["needed"]),
        said.join("; ")
    ));
    Ok(())
}

fn needs(shop: &mut Shop) -> Result<Vec<Value>, Failure> {
    let said = shop.run("ida", &["ready"])?;
    said["needs"].as_array().cloned().ok_or_else(|| format!("no needs in {said}"))
}

/// How many are missing, by what they are about.
fn missing(needs: &[Value]) -> BTreeMap<&str, usize> {
    let mut groups = BTreeMap::new();
    for need in needs.iter().filter(|need| need["state"] == "missing") {
        *groups.entry(words(need, "group")).or_default() += 1;
    }
    groups
}

/// `60 there, 8 missing, 12 to look at`.
fn counts(needs: &[Value]) -> String {
    let count = |state: &str| needs.iter().filter(|need| need["state"] == state).count();
    format!("{} there, {} missing, {} to look at", count("there"), count("missing"), count("look"))
}

fn words<'v>(value: &'v Value, name: &str) -> &'v str {
    value[name].as_str().unwrap_or("?")
}

/// `80.330 mm`, with as many digits as its unit wants.
fn size(value: &Value) -> String {
    let Some(number) = value["value"].as_f64() else { return "not known".to_owned() };
    match words(value, "unit") {
        "mm" => format!("{number:.3} mm"),
        "cm³" => format!("{number:.0} cm³"),
        ":1" => format!("{number:.2}:1"),
        unit => format!("{number} {unit}"),
    }
}
