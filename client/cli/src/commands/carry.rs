//! Carrying by hand between two homes, and what was refused on the way.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};
use gudgeon_client::home::{Report, fingerprint, read_bundle};
use gudgeon_core::entry::{DocumentId, KeyId};
use gudgeon_core::log::Log;
use serde_json::{Value as Json, json};

use crate::changes::{add_changes, sights};
use crate::desk::{Desk, name_of};
use crate::failure::Failure;
use crate::file_sort::{self, FileSort};
use crate::out::{Answer, Outcome};
use crate::settings::Settings;
use crate::when;
use crate::words;

/// Fewest digits of the root that are compared.
const ROOT_DIGITS: usize = 32;

#[derive(Debug, Subcommand)]
pub(crate) enum Carry {
    /// Write the workshop and records to a file.
    Out {
        /// The file.
        file: PathBuf,
        /// The workshop alone, without records.
        #[arg(long)]
        workshop_only: bool,
    },
    /// Take in what is sound from a file.
    In {
        /// The file.
        file: PathBuf,
        /// For a home without a workshop: the root digits, as the workshop's printed root sheet has them.
        #[arg(long, value_name = "DIGITS")]
        root: Option<String>,
    },
}

#[derive(Args, Debug)]
pub(crate) struct Refused {}

pub(crate) fn carry(command: &Carry, settings: &Settings) -> Outcome {
    match command {
        Carry::Out { file, workshop_only } => carry_out(file, *workshop_only, settings),
        Carry::In { file, root } => carry_in(file, root.as_deref(), settings),
    }
}

fn carry_out(file: &Path, workshop_only: bool, settings: &Settings) -> Outcome {
    let desk = Desk::open(settings)?;
    let mut records = desk.records()?;
    if workshop_only {
        records.clear();
    } else if settings.record.is_some() {
        let wanted = desk.record_id()?;
        records.retain(|(id, _)| *id == wanted);
    }
    let ids: Vec<DocumentId> = records.iter().map(|(id, _)| *id).collect();
    let size = desk.home.carry_out(&ids, file)?;
    let mut answer = Answer::new();
    for (id, name) in &records {
        answer.line(format!("record {name} {}", id.short()));
    }
    answer.say(format!(
        "Wrote the workshop and {} to {}, {size} bytes.",
        words::count(records.len(), "record", "records"),
        file.display()
    ));
    answer.put("file", file.display().to_string());
    answer.put("records", ids.iter().map(DocumentId::to_hex).collect::<Vec<_>>());
    answer.put("bytes", size);
    answer.put("fingerprint", fingerprint(&desk.home.root()?));
    Ok(answer)
}

fn carry_in(file: &Path, root: Option<&str>, settings: &Settings) -> Outcome {
    std::fs::metadata(file).map_err(|error| Failure::io("reading", file, &error))?;
    file_sort::wanted(file, FileSort::Bundle, settings)?;
    let mut desk = Desk::open_or_create(settings)?;
    let confirmed = root.map(|digits| confirm(file, digits)).transpose()?;
    let before = sights(&desk)?;
    let carried = desk.home.carry_in(file, confirmed)?;
    let after = sights(&desk)?;
    let mut answer = Answer::new();
    let mut reports = Vec::new();
    for report in &carried.reports {
        let mut json = add_report(&mut answer, &desk, report)?;
        if let Some(now) = after.get(&report.document) {
            add_changes(&mut answer, &mut json, before.get(&report.document), now);
        }
        reports.push(json);
    }
    // A change of the workshop alone can change what a record comes to.
    for (id, now) in after.iter().filter(|(id, _)| !carried.reports.iter().any(|r| r.document == **id)) {
        let mut json = json!({ "document": id.to_hex(), "name": now.name(), "new": 0 });
        add_changes(&mut answer, &mut json, before.get(id), now);
        reports.push(json);
    }
    let new: usize = carried.reports.iter().map(|report| report.new.len()).sum();
    answer.say(format!("Saved: {} from {}.", words::count(new, "new entry", "new entries"), file.display()));
    if carried.adopted {
        answer.say("This home belongs to that workshop now.");
    }
    answer.put("new", new);
    answer.put("refused", carried.reports.iter().map(|report| report.refused.len()).sum::<usize>());
    answer.put("joined", carried.adopted);
    answer.put("documents", reports);
    Ok(answer)
}

/// The root of the file, if it begins with these digits.
fn confirm(file: &Path, digits: &str) -> Result<KeyId, Failure> {
    let typed: String = digits.chars().filter(|c| !c.is_whitespace()).collect::<String>().to_lowercase();
    if typed.len() < ROOT_DIGITS || !typed.chars().all(|c| c.is_ascii_hexdigit()) {
        let cause = format!("`{digits}` are not the {ROOT_DIGITS} digits of a root");
        return Err(Failure::usage(cause, "type all of them, as the printed root sheet has them"));
    }
    let root = read_bundle(file)?.root();
    if root.to_hex().starts_with(&typed) {
        return Ok(root);
    }
    let cause = format!("the workshop in this file has root {}, not {digits}", fingerprint(&root));
    Err(Failure::refused("other-root", cause, "do not go on; ask the lead in person which workshop this is"))
}

fn add_report(answer: &mut Answer, desk: &Desk, report: &Report) -> Result<Json, Failure> {
    let log = desk.home.log(report.document)?;
    let name = name_of(log);
    let what = if Some(report.document) == desk.home.workshop() { "workshop" } else { "record" };
    let (new, refused) = (report.new.len(), report.refused.len());
    answer.line(format!(
        "{what} {name}: {new} new, {refused} refused, {} missing their ground",
        report.missing_ground.len()
    ));
    for refused in &report.refused {
        let which = refused.entry.map_or_else(|| "a change".to_owned(), |id| format!("entry {}", id.short()));
        answer.line(format!("  refused, kept aside: {which}: {}; {}", refused.rule, refused.hint));
    }
    if report.repacked {
        answer.say(format!(
            "{name} was packed anew: the other's packing did not fit to ours. Nothing is lost."
        ));
    }
    let refused = report.refused.iter().map(|refused| {
        json!({ "entry": refused.entry.map(|id| id.to_hex()), "rule": refused.rule, "hint": refused.hint })
    });
    Ok(json!({
        "document": report.document.to_hex(), "name": name, "kind": what, "new": new,
        "new_kinds": kinds(log, report), "refused": refused.collect::<Vec<_>>(),
        "missing_ground": words::ids(&report.missing_ground), "repacked": report.repacked,
    }))
}

/// How many of the new entries are of each kind.
fn kinds(log: &Log, report: &Report) -> Json {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for statement in report.new.iter().filter_map(|id| log.held(id)) {
        *counts.entry(statement.kind().map_or("unknown", |kind| kind.name())).or_default() += 1;
    }
    json!(counts)
}

pub(crate) fn refused(_: &Refused, settings: &Settings) -> Outcome {
    let desk = Desk::open(settings)?;
    let mut answer = Answer::new();
    let mut all: Vec<Json> = Vec::new();
    let workshop = desk.workshop_id()?;
    let mut documents = vec![(workshop, name_of(desk.home.log(workshop)?))];
    documents.extend(desk.records()?);
    for (document, name) in documents {
        for aside in desk.home.aside(document)? {
            let which =
                aside.entry.map_or_else(|| "a change".to_owned(), |id| format!("entry {}", id.short()));
            let at = when::moment(aside.when);
            answer.line(format!("{at}  {name}: {which}: {}; {}", aside.rule, aside.hint));
            all.push(json!({
                "document": document.to_hex(), "name": name, "entry": aside.entry.map(|id| id.to_hex()),
                "rule": aside.rule, "hint": aside.hint, "when": at, "bytes": aside.value.len(),
            }));
        }
    }
    if all.is_empty() {
        answer.line("nothing was refused");
    }
    answer.put("refused", all);
    Ok(answer)
}
