//! Runs the benches and sets their medians beside their budgets. Informs; never fails on a figure.

use std::path::{Path, PathBuf};
use std::time::SystemTime;

use serde_json::Value;

use crate::failure::{Doing, Outcome};
use crate::metadata::Metadata;
use crate::repo::Repo;
use crate::run;

/// The longest a bench should take (nanoseconds, median, this project's own budgets).
const BUDGETS_NS: &[(&str, f64)] = &[
    ("assess_cold_3000", 5e6),
    ("assess_one_more", 1e5),
    ("assess_cold_vee_eight_3000", 5e6),
    ("assess_one_more_vee_eight", 1e5),
    ("gate_with_signature", 1.5e5),
    ("parse_change", 5e3),
    ("open_3000_from_disk", 3e7),
];

pub(crate) fn main(repo: &Repo, arguments: &[String]) -> Outcome {
    let metadata = Metadata::read(repo)?;
    let started = SystemTime::now();
    let mut cargo = repo.cargo();
    cargo.args(["bench", "--package", "gudgeon-tests", "--benches", "--"]).args(arguments);
    run::status(cargo.env("CARGO_TARGET_DIR", &metadata.target))?;
    let mut medians = Vec::new();
    collect(&metadata.target.join("criterion"), started, &mut medians)?;
    medians.sort_by(|a, b| a.0.cmp(&b.0));
    for (name, median_ns) in &medians {
        println!("{}", line(name, *median_ns));
    }
    if medians.is_empty() {
        println!("no bench ran");
    }
    Ok(())
}

/// Finds what the bench runner wrote down since `started`, anywhere under `directory`.
fn collect(directory: &Path, started: SystemTime, found: &mut Vec<(String, f64)>) -> Outcome {
    if !directory.is_dir() {
        return Ok(());
    }
    for entry in std::fs::read_dir(directory).doing(directory.display())? {
        let path = entry.doing(directory.display())?.path();
        if path.ends_with("new") {
            found.extend(read(&path, started)?);
        } else if path.is_dir() {
            collect(&path, started, found)?;
        }
    }
    Ok(())
}

fn read(directory: &Path, started: SystemTime) -> Outcome<Option<(String, f64)>> {
    let estimates = directory.join("estimates.json");
    let written = estimates.metadata().and_then(|metadata| metadata.modified());
    if written.map_or(true, |written| written < started) {
        return Ok(None);
    }
    let name = json(&directory.join("benchmark.json"))?["full_id"].as_str().map(str::to_owned);
    let median_ns = json(&estimates)?["median"]["point_estimate"].as_f64();
    Ok(name.zip(median_ns))
}

fn json(path: &PathBuf) -> Outcome<Value> {
    let text = std::fs::read_to_string(path).doing(path.display())?;
    serde_json::from_str(&text).doing(path.display())
}

fn line(name: &str, median_ns: f64) -> String {
    let budget_ns = BUDGETS_NS.iter().find(|(of, _)| name.contains(of)).map(|(_, ns)| *ns);
    let against = match budget_ns {
        None => "no budget".to_owned(),
        Some(ns) if median_ns <= ns => format!("within {}", time(ns)),
        Some(ns) => format!("OVER {}", time(ns)),
    };
    format!("{name:28} {:>10}  {against}", time(median_ns))
}

fn time(ns: f64) -> String {
    match ns {
        ns if ns < 1e3 => format!("{ns:.0} ns"),
        ns if ns < 1e6 => format!("{:.2} µs", ns / 1e3),
        ns if ns < 1e9 => format!("{:.2} ms", ns / 1e6),
        ns => format!("{:.2} s", ns / 1e9),
    }
}

#[cfg(test)]
mod tests {
    use super::line;

    fn check(name: &str, median_ns: f64, expected: &str) {
        let text = line(name, median_ns);
        assert!(text.ends_with(expected), "{text}");
    }

    #[test]
    fn a_median_stands_beside_its_budget() {
        check("parse_change", 4_900.0, "4.90 µs  within 5.00 µs");
        check("assess_cold_3000", 6e6, "6.00 ms  OVER 5.00 ms");
        check("something_else", 12.0, "12 ns  no budget");
    }
}
