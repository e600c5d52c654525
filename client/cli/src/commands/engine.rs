//! Engine definitions, and the records that are started on them.

use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};
use gudgeon_core::assess::digest_of;
use gudgeon_core::engine::{DEFAULT_PROCEDURE, Definition, EXAMPLE, Edit, Problem as Wrong};
use gudgeon_core::entry::payload::{Definition as Text, Founding, RecordListed};
use gudgeon_core::entry::{DocumentId, KeyId, Kind, Payload};
use gudgeon_core::roster::{Roster, Versions};
use serde_json::{Value as Json, json};

use crate::desk::{Desk, Sight, randomness};
use crate::enter::{may, saved};
use crate::failure::{Failure, Problem};
use crate::file_sort::{self, FileSort};
use crate::out::{Answer, Outcome, columns};
use crate::settings::Settings;
use crate::typed::words;
use crate::words::count;

#[derive(Debug, Subcommand)]
pub(crate) enum Engine {
    /// Print the definition of an invented engine, to start from.
    Example,
    /// Print the procedure that comes with the program, to copy a step or a check from.
    Procedure,
    /// Check a definition; lists all that is wrong at once.
    Check {
        /// The definition.
        file: PathBuf,
    },
}

#[derive(Args, Debug)]
pub(crate) struct Start {
    /// Name of the record, such as the number of the job.
    name: String,
    /// The engine definition.
    #[arg(long, value_name = "FILE")]
    engine: PathBuf,
}

#[derive(Args, Debug)]
pub(crate) struct Records {}

pub(crate) fn engine(command: &Engine, settings: &Settings) -> Outcome {
    match command {
        Engine::Example => Ok(printed("definition", EXAMPLE)),
        Engine::Procedure => Ok(printed("procedure", DEFAULT_PROCEDURE)),
        Engine::Check { file } => {
            file_sort::wanted(file, FileSort::Definition, settings)?;
            let definition = parse(&read(file)?, file)?;
            let mut answer = Answer::new();
            let (features, steps) = (definition.features().len(), definition.steps().len());
            answer.line(format!(
                "{}: {}, {}, {}",
                definition.name(),
                count(features, "feature", "features"),
                count(definition.limits().len(), "limit", "limits"),
                count(steps, "step", "steps"),
            ));
            answer.put("engine", definition.name());
            answer.put("features", features);
            answer.put("limits", definition.limits().len());
            answer.put("steps", steps);
            add_edits(&mut answer, &definition);
            Ok(answer)
        }
    }
}

/// Adds what a definition changes of the program's own procedure, and what held before and holds no longer.
fn add_edits(answer: &mut Answer, definition: &Definition) {
    for edit in definition.edits() {
        let why = if edit.reason.is_empty() { String::new() } else { format!(" ({})", edit.reason) };
        answer.line(format!("{}: {}{why}", edit.changed.word(), edit.place));
        edit.lost.iter().for_each(|lost| answer.line(format!("  no longer: {lost}")));
        if !edit.hint.is_empty() {
            answer.line(format!("  {}", edit.hint));
        }
    }
    let lost = losing(definition);
    if lost > 0 {
        answer.say(format!(
            "{} of the program's own: {KNOWINGLY}",
            count(lost, "edit takes a guard", "edits take guards")
        ));
    }
    let one = |edit: &Edit| {
        json!({
            "changed": edit.changed.word(), "place": edit.place, "reason": edit.reason,
            "lost": edit.lost, "hint": edit.hint,
        })
    };
    answer.put("edits", definition.edits().iter().map(one).collect::<Json>());
}

const KNOWINGLY: &str = "it loads all the same; say the lines again that are meant to hold";

/// How many edits give something up.
fn losing(definition: &Definition) -> usize {
    definition.edits().iter().filter(|edit| edit.loses()).count()
}

fn printed(name: &str, text: &str) -> Answer {
    let mut answer = Answer::new();
    answer.raw(text);
    answer.put(name, text);
    answer
}

fn read(file: &Path) -> Result<String, Failure> {
    std::fs::read_to_string(file).map_err(|error| Failure::io("reading", file, &error))
}

fn parse(text: &str, file: &Path) -> Result<Definition, Failure> {
    Definition::parse(text).map_err(|wrong| {
        let count = wrong.len();
        let what =
            if count == 1 { "1 thing is wrong".to_owned() } else { format!("{count} things are wrong") };
        let problem = |wrong: Wrong| Problem {
            place: format!("{}:{}:{}", file.display(), wrong.line, wrong.column),
            cause: format!("{}: {}", wrong.place, wrong.reason),
            hint: wrong.hint,
        };
        Failure::refused(
            "bad-definition",
            format!("{what} with {}", file.display()),
            "mend the lines named above",
        )
        .with(wrong.into_iter().map(problem).collect())
    })
}

pub(crate) fn start(args: &Start, settings: &Settings) -> Outcome {
    let name = words("name", &args.name)?;
    file_sort::wanted(&args.engine, FileSort::Definition, settings)?;
    let text = read(&args.engine)?;
    let lost = losing(&parse(&text, &args.engine)?);
    let mut desk = Desk::open(settings)?;
    let (workshop, key) = (desk.workshop_id()?, desk.key_for(&[Kind::Founding, Kind::RecordListed])?);
    let founding = Founding {
        name: name.clone(),
        workshop: Some(workshop),
        definition_digest: Some(digest_of(&text)),
        nonce: randomness::<16>()?.to_vec(),
    };
    let caveat = may_start(desk.workshop()?.roster(), key.key, &founding)?;
    // A start that was cut off between its two commits is taken up again.
    let begun = begun(&desk, &founding)?;
    let author = desk.unlock(&key)?;
    let (record, mut ids) = match begun {
        Some(record) => (record, Vec::new()),
        None => {
            let made = desk.home.found(&author, founding, &[Payload::Definition(Text { text })])?;
            (made.document, made.entries)
        }
    };
    let listing = Payload::RecordListed(RecordListed { record, name: name.clone() });
    ids.extend(desk.home.state(workshop, &author, &[listing])?.entries);
    let mut answer = Answer::new();
    answer.line(format!("record {name} {}", record.short()));
    saved(&mut answer, "record", &ids, caveat.as_deref());
    if lost > 0 {
        let check = settings.line(&["engine", "check", &args.engine.to_string_lossy()]);
        let edits = count(lost, "edit takes a guard", "edits take guards");
        answer.say(format!("note: {edits} of the program's own procedure: {check}"));
    }
    answer.put("record", record.to_hex());
    answer.put("name", name);
    Ok(answer)
}

/// Refuses who may not start a record, and a name that is taken.
fn may_start(roster: &Roster, key: KeyId, founding: &Founding) -> Result<Option<String>, Failure> {
    let caveat = may(roster, key, &[Payload::Founding(founding.clone())])?;
    let name = &founding.name;
    if roster.records().values().any(|names| names.all().iter().any(|version| version.says == *name)) {
        let cause = format!("the workshop lists a record called {name} already");
        return Err(Failure::refused("record-exists", cause, "give it another name, or carry that one in"));
    }
    Ok(caveat)
}

/// A record of the same name and definition that is held here and not listed.
fn begun(desk: &Desk, wanted: &Founding) -> Result<Option<DocumentId>, Failure> {
    for id in desk.home.records() {
        let log = desk.home.log(id)?;
        let founding = log.get(&gudgeon_core::assess::founding_id(log));
        if let Some(Ok(Payload::Founding(founding))) = founding.map(|statement| &statement.payload)
            && (&founding.name, founding.definition_digest) == (&wanted.name, wanted.definition_digest)
        {
            return Ok(Some(id));
        }
    }
    Ok(None)
}

pub(crate) fn records(_: &Records, settings: &Settings) -> Outcome {
    let desk = Desk::open(settings)?;
    let workshop = desk.workshop()?;
    let listed = workshop.roster().records();
    let mut rows = vec![["NAME", "ID", "ENGINE", "ENTRIES", "STEPS", "OPEN FINDINGS", ""].map(str::to_owned)];
    let mut all: Vec<Json> = Vec::new();
    for (id, _) in desk.records()? {
        let (row, json) = held(&desk.sight_of(id)?, listed.contains_key(&id));
        rows.push(row);
        all.push(json);
    }
    for (id, names) in listed.iter().filter(|(id, _)| !desk.home.holds(id)) {
        let name = listed_name(names);
        all.push(json!({ "id": id.to_hex(), "name": name, "held": false, "listed": true }));
        rows.push([&name, &id.short(), "", "", "", "", "not here: carry it in"].map(str::to_owned));
    }
    let mut answer = Answer::new();
    columns(&rows).iter().for_each(|line| answer.line(line));
    answer.put("records", all);
    Ok(answer)
}

/// A record of this home, as a row and as JSON.
fn held(sight: &Sight, listed: bool) -> ([String; 7], Json) {
    let (id, name) = (sight.log().document(), sight.name());
    let tally = sight.assessment.tally(&sight.record);
    let engine = sight.assessment.definition().map_or("no definition", Definition::name);
    let note = if listed { "" } else { "not listed in the workshop: run `start` again" };
    let json = json!({
        "id": id.to_hex(), "name": name, "engine": engine, "held": true, "listed": listed,
        "tally": sight.assessment.tally_json(&sight.record),
    });
    let steps = format!("{} of {}", tally.steps_signed, tally.steps_total);
    let (entries, open) = (tally.entries.to_string(), tally.open_findings.to_string());
    ([name, id.short(), engine.to_owned(), entries, steps, open, note.to_owned()], json)
}

/// The name under which the workshop lists a record; both where two differ.
pub(crate) fn listed_name(names: &Versions<String>) -> String {
    let newest: Vec<&str> = names.newest().map(|version| version.says.as_str()).collect();
    newest.join(" or ")
}
