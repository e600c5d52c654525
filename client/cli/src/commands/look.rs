//! The record at a glance, and what somebody has to look at.

use clap::Args;
use gudgeon_core::assess::{Finding, Progress, Weight, due};
use gudgeon_core::engine::{Definition, Stage};
use gudgeon_core::entry::DocumentId;
use serde_json::{Value as Json, json};

use super::office;
use super::people::add_findings;
use crate::asking::{self, Reader};
use crate::denial;
use crate::desk::{Desk, Sight};
use crate::failure::Failure;
use crate::numbers;
use crate::out::{Answer, Outcome, columns};
use crate::settings::Settings;
use crate::way;
use crate::words;

#[derive(Args, Debug)]
pub(crate) struct Status {
    /// With --json: everything the record comes to, in the canonical shape.
    #[arg(long)]
    whole: bool,
}

#[derive(Args, Debug)]
pub(crate) struct Findings {
    /// Conceded ones and those worth knowing too.
    #[arg(long)]
    all: bool,
}

pub(crate) fn status(args: &Status, settings: &Settings) -> Outcome {
    let desk = Desk::open(settings)?;
    let sight = desk.sight()?;
    let mut answer = Answer::new();
    let engine = sight.assessment.definition().map_or("no definition", Definition::name);
    answer.line(format!("{} ({}), {engine}", sight.name(), sight.log().document().short()));
    if !sight.assessment.is_judged() {
        answer.line("NOTHING HERE IS JUDGED: see `findings`");
    }
    way::stops(&sight).iter().for_each(|stop| answer.line(stop));
    way::part_tightened(&sight).iter().for_each(|group| answer.line(group));
    add_tally(&mut answer, &sight);
    add_stages(&mut answer, &sight);
    let overdue = due(&sight.workshop, desk.now(), 0);
    if !overdue.is_empty() {
        let marks: Vec<&str> = overdue.iter().map(|due| due.mark.as_str()).collect();
        answer.line(format!("gauges overdue, or their calibration not known: {}", marks.join(", ")));
    }
    asking::say_waiting(&mut answer, &desk)?;
    add_here_only(&mut answer, &desk, sight.log().document())?;
    answer.put("record", sight.log().document().to_hex());
    answer.put("name", sight.name());
    answer.put("engine", engine);
    answer.put("judged", sight.assessment.is_judged());
    answer.put("tally", sight.assessment.tally_json(&sight.record));
    if args.whole {
        answer.put("assessment", sight.assessment.to_json(&sight.record, &sight.workshop));
    }
    Ok(answer)
}

/// What the office does not have yet, of the record, the workshop and the other records; said only where there
/// is an office.
fn add_here_only(answer: &mut Answer, desk: &Desk, record: DocumentId) -> Result<(), Failure> {
    if !office::has_relay(&desk.home)? {
        return Ok(());
    }
    let denial = denial::last(&desk.home)?;
    let mut elsewhere: Vec<Json> = Vec::new();
    for (document, place) in kept_here(desk, record)? {
        let here = desk.home.here_only(document)?.len();
        if document == record {
            answer.put("here_only", here);
        } else if here > 0 {
            elsewhere.push(json!({ "document": document.to_hex(), "here_only": here }));
        }
        if here > 0 {
            let entries = words::count(here, "entry is", "entries are");
            answer.line(match &denial {
                Some(denial) => format!(
                    "{place}{entries} only here, and the office takes none: {}; `carry out FILE` takes them along",
                    denial.said
                ),
                None => format!("{place}{entries} only here: `sync`"),
            });
        }
    }
    answer.put("here_only_elsewhere", elsewhere);
    Ok(())
}

/// The record in sight, the workshop, then the other records held; each with the words that place it.
fn kept_here(desk: &Desk, record: DocumentId) -> Result<Vec<(DocumentId, String)>, Failure> {
    let mut places = vec![(record, String::new()), (desk.workshop_id()?, "workshop: ".to_owned())];
    let others = desk.records()?.into_iter().filter(|(id, _)| *id != record);
    places.extend(others.map(|(id, name)| (id, format!("record {name}: "))));
    Ok(places)
}

fn add_tally(answer: &mut Answer, sight: &Sight) {
    let tally = sight.assessment.tally(&sight.record);
    answer.line(format!("{} of {} steps signed", tally.steps_signed, tally.steps_total));
    let steps = sight.assessment.steps().iter();
    let halfway = steps.filter(|step| step.progress == Progress::WantsSecond).count();
    let counts = [
        (halfway, "more signed by one, wants a second person", "more signed by one, want a second person"),
        (tally.outside, "outside", "outside"),
        (tally.not_proven, "not proven", "not proven"),
        (tally.not_judged, "not judged", "not judged"),
        (tally.disputed, "disputed", "disputed"),
        (tally.stale_signoffs, "signature no longer stands", "signatures no longer stand"),
        (tally.signed_without_evidence, "signed without evidence", "signed without evidence"),
        (tally.not_counted, "entry not counted", "entries not counted"),
        (tally.waiting, "entry missing its ground", "entries missing their ground"),
        (tally.conceded, "finding conceded", "findings conceded"),
        (tally.open_findings, "open finding", "open findings"),
        (tally.entries, "entry", "entries"),
    ];
    let shown = counts.iter().filter(|(count, _, words)| *count > 0 || *words == "open findings");
    let word = |count: usize, one: &str, several: &str| (if count == 1 { one } else { several }).to_owned();
    let rows: Vec<[String; 2]> =
        shown.map(|(count, one, several)| [format!("{count:>6}"), word(*count, one, several)]).collect();
    columns(&rows).iter().for_each(|line| answer.line(line));
}

fn add_stages(answer: &mut Answer, sight: &Sight) {
    let Some(definition) = sight.assessment.definition() else { return };
    let mut rows = Vec::new();
    let mut stages = Vec::new();
    for stage in definition.stages() {
        let (signed, all) = signed_of(sight, definition, stage);
        if all > 0 {
            rows.push([
                format!("{:>2}", stage.number),
                format!("{signed:>3} of {all:<3}"),
                stage.title.clone(),
            ]);
            stages.push(
                json!({ "number": stage.number, "title": stage.title, "signed": signed, "steps": all }),
            );
        }
    }
    columns(&rows).iter().for_each(|line| answer.line(line));
    answer.put("stages", stages);
}

fn signed_of(sight: &Sight, definition: &Definition, stage: &Stage) -> (usize, usize) {
    let instances = definition.steps().iter().zip(sight.assessment.steps());
    let here = instances.filter(|(instance, _)| definition.step_of(instance).stage == stage.number);
    let progress: Vec<Progress> = here.map(|(_, state)| state.progress).collect();
    (progress.iter().filter(|progress| **progress == Progress::Signed).count(), progress.len())
}

pub(crate) fn findings(args: &Findings, settings: &Settings) -> Outcome {
    let mut desk = Desk::open(settings)?;
    let sight = desk.sight()?;
    let findings = sight.findings();
    numbers::keep(&mut desk.home, &sight, &findings)?;
    let mut answer = Answer::new();
    let mut shown: Vec<Json> = Vec::new();
    for (number, finding) in (1..).zip(&findings) {
        if args.all || finding.is_open() {
            let way_out = way::out_of(&sight, settings, finding);
            add_finding(&mut answer, number, finding, &way_out);
            let mut json = words::finding_json(finding);
            json["hint"] = Json::from(way_out);
            json["number"] = Json::from(number);
            shown.push(json);
        }
    }
    if shown.is_empty() {
        answer.line("nothing to settle");
    }
    if !args.all && findings.iter().any(|finding| finding.conceded.is_some()) {
        answer.line("numbers left out are conceded: --all shows them");
    }
    answer.put("findings", shown);
    add_findings(&mut answer, &Reader::new(&desk, &sight.workshop)?, sight.roster());
    Ok(answer)
}

fn add_finding(answer: &mut Answer, number: usize, finding: &Finding, way_out: &str) {
    answer.line(format!("{number:>4}  {}", words::finding(finding)));
    if !finding.ids.is_empty() {
        answer.line(format!("      rests on {}", words::short_ids(&finding.ids)));
    }
    match (finding.conceded, finding.rule.weight()) {
        (Some(by), _) => answer.line(format!("      conceded by {}", by.short())),
        (None, Weight::Note) => answer.line(format!("      worth knowing: {way_out}")),
        (None, Weight::Stops | Weight::Settle) => answer.line(format!("      {way_out}")),
    }
}
