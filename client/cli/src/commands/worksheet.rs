//! Worksheets: listed, explained and computed; a home only where a record fills them.

use std::collections::BTreeSet;

use clap::Args;
use gudgeon_core::engine::{Feature, Subject, suggest};
use gudgeon_core::work::{
    Answer as Worked, Filling, Given, InRecord, Need, Out, Section, Value, WORKSHEETS, WorkError, Worksheet,
    fill, fills, find, lacking, places,
};
use serde_json::{Map, Value as Json, json};

use crate::desk::{Desk, Sight};
use crate::failure::{Failure, Problem};
use crate::out::{Answer, Outcome};
use crate::settings::{Settings, quoted};

#[derive(Args, Debug)]
#[command(disable_help_flag = true)]
pub(crate) struct Work {
    /// The worksheet; left out: all of them are listed.
    name: Option<String>,
    /// Its inputs, such as journal=56.995mm; a list is a,b,c (with decimal commas "a;b;c", in quotes for the shell).
    #[arg(value_name = "INPUT=VALUE")]
    inputs: Vec<String>,
    /// Fill inputs that are not given from the record: at this place, such as main/2. With --record
    /// alone what needs no place is filled.
    #[arg(long, value_name = "PLACE")]
    at: Option<String>,
    /// Which value of the place is meant, where any could be, such as journal-diameter.
    #[arg(long, value_name = "VALUE", requires = "at")]
    of: Option<String>,
    /// Explain the worksheet: inputs, formula, source, mistakes.
    #[arg(long, short)]
    help: bool,
}

pub(crate) fn work(args: &Work, settings: &Settings) -> Outcome {
    let Some(name) = &args.name else { return Ok(list()) };
    let sheet = find(name).ok_or_else(|| unknown(name))?;
    if args.help {
        return Ok(explain(sheet));
    }
    let fillings = fillings(sheet, args, settings)?;
    let inputs: Vec<String> =
        args.inputs.iter().cloned().chain(fillings.iter().filter_map(Filling::typed)).collect();
    let (given, worked) = sheet.work(&inputs).map_err(|error| not_computed(sheet, error, &fillings))?;
    let mut answer = Answer::new();
    say_fillings(&mut answer, &fillings);
    show(&mut answer, sheet, &given, &worked);
    Ok(answer)
}

/// Most worksheets that a name which is none brings to mind.
const MOST_NEAR: usize = 6;

/// Fewest letters that are looked for in names and titles.
const FEWEST_LETTERS: usize = 3;

/// A name that no worksheet has: the one that is meant, or those with that word, and where all are listed.
fn unknown(name: &str) -> Failure {
    const ALL: &str = "`gudgeon work` lists all";
    let names: Vec<&str> = WORKSHEETS.iter().map(|sheet| sheet.name).collect();
    let near = suggest(name, &names);
    let word = name.to_lowercase();
    let stem = word.strip_suffix('s').unwrap_or(&word);
    let begins = |text: &str| text.split(|c: char| !c.is_alphabetic()).any(|word| word.starts_with(stem));
    let about =
        |sheet: &&&Worksheet| stem.len() >= FEWEST_LETTERS && (begins(sheet.name) || begins(sheet.title));
    let about: Vec<&str> = WORKSHEETS.iter().filter(about).map(|sheet| sheet.name).take(MOST_NEAR).collect();
    let hint = match &about[..] {
        _ if !near.starts_with("known:") => format!("{near} {ALL}"),
        [] => ALL.to_owned(),
        [..] => format!("of `{stem}`: {}; {ALL}", about.join(", ")),
    };
    Failure::not_found("unknown-worksheet", format!("`{name}` is no worksheet"), hint)
}

/// Inputs that are not given, from the record; none where no record is asked for.
fn fillings(sheet: &Worksheet, args: &Work, settings: &Settings) -> Result<Vec<Filling>, Failure> {
    if settings.record.is_none() && args.at.is_none() {
        return Ok(Vec::new());
    }
    let desk = Desk::open(settings)?;
    let sight = desk.sight()?;
    let definition = sight.definition()?;
    if !fills(sheet) {
        let cause = format!("nothing in a record fills {}", sheet.name);
        return Err(Failure::usage(cause, "give its inputs, without --record, --at and --of"));
    }
    let at = args.at.as_deref().map(|path| place(sheet, &sight, path)).transpose()?;
    if let Some((at, of)) = at.as_ref().zip(args.of.as_deref())
        && Subject::find(at.kind(), of).is_none()
    {
        let known: Vec<&str> = Subject::names_on(at.kind()).collect();
        let cause = format!("`{of}` is no value of a {}", at.kind());
        return Err(Failure::not_found("unknown-characteristic", cause, suggest(of, &known)));
    }
    let place = InRecord {
        record: &sight.record,
        workshop: &sight.workshop,
        assessment: &sight.assessment,
        definition,
        at: at.as_ref(),
        of: args.of.as_deref(),
    };
    let typed: Vec<&str> =
        args.inputs.iter().filter_map(|text| Some(text.split_once('=')?.0.trim())).collect();
    let mut fillings = fill(sheet, &place);
    fillings.retain(|filling| !typed.contains(&filling.input));
    let lacking = lacking(sheet, &fillings, at.as_ref());
    if lacking.is_empty() {
        Ok(fillings)
    } else {
        Err(refused(sheet, lacking.into_iter().map(Problem::from)))
    }
}

/// The place of a path; of one that is none, which are meant among those that the worksheet can use.
fn place(sheet: &Worksheet, sight: &Sight, path: &str) -> Result<Feature, Failure> {
    let definition = sight.definition()?;
    definition.feature(path).map_err(|unknown| {
        let all: Vec<&str> = places(sheet, definition).collect();
        let under = format!("{}/", path.trim_end_matches('/'));
        let begun: Vec<&str> = all.iter().copied().filter(|place| place.starts_with(&under)).collect();
        let near = suggest(path, &all);
        let hint = match &begun[..] {
            _ if all.is_empty() => unknown.hint(),
            [] if near.starts_with("known:") => one_of_each(&all),
            [] => near,
            [..] => format!("say which: {}", begun.join(", ")),
        };
        Failure::not_found("unknown-feature", unknown.to_string(), hint)
    })
}

/// The first place of each sort, for a list that would be long.
fn one_of_each(all: &[&str]) -> String {
    let sort = |path: &str| path.split('/').filter(|part| part.parse::<u8>().is_err()).collect::<String>();
    let mut sorts = BTreeSet::new();
    let first: Vec<&str> = all.iter().copied().filter(|path| sorts.insert(sort(path))).collect();
    format!("it takes a place such as {}", first.join(", "))
}

/// What is wrong with the inputs; of one that the record should have filled, why it did not.
fn not_computed(sheet: &Worksheet, error: WorkError, fillings: &[Filling]) -> Failure {
    let with_reason = |mut problem: Problem| {
        if let Some(why) = Filling::why_not(fillings, &problem.place) {
            problem.cause = format!("{} (the record: {why})", problem.cause);
        }
        problem
    };
    let problems = error.problems.into_iter().map(Problem::from).map(with_reason);
    refused(sheet, problems)
}

fn refused(sheet: &Worksheet, problems: impl Iterator<Item = Problem>) -> Failure {
    let hint = format!("gudgeon work {} --help explains it", sheet.name);
    Failure::refused("worksheet-input", format!("{} cannot be computed", sheet.name), hint)
        .with(problems.collect())
}

fn say_fillings(answer: &mut Answer, fillings: &[Filling]) {
    let mut filled = Vec::new();
    for Filling { input, found } in fillings {
        match found {
            Ok((text, from)) => {
                answer.line(format!("from the record: {input}={text} ({from})"));
                filled.push(json!({ "input": input, "value": text, "from": from }));
            }
            Err(why) => {
                answer.line(format!("not in the record: {input} ({why})"));
                filled.push(json!({ "input": input, "value": Json::Null, "why": why }));
            }
        }
    }
    if !filled.is_empty() {
        answer.put("from_record", filled);
    }
}

fn list() -> Answer {
    let mut answer = Answer::new();
    let mut before: Option<Section> = None;
    for sheet in WORKSHEETS {
        if before.replace(sheet.section) != Some(sheet.section) {
            answer.line(format!("{}:", sheet.section.title()));
        }
        answer.line(format!("  {:<24} {}", sheet.name, sheet.title));
    }
    answer.say("gudgeon work NAME --help explains one; gudgeon work NAME INPUT=VALUE ... computes it");
    let all = WORKSHEETS
        .iter()
        .map(|sheet| json!({ "name": sheet.name, "title": sheet.title, "section": sheet.section.title() }));
    answer.put("worksheets", all.collect::<Json>());
    answer
}

fn explain(sheet: &Worksheet) -> Answer {
    let mut answer = Answer::new();
    answer.line(format!("{}: {}", sheet.name, sheet.title));
    answer.line("\ninputs:");
    for input in sheet.inputs {
        let need = match input.need {
            Need::Required => String::new(),
            Need::Optional => ", may be left out".to_owned(),
            Need::Default(text, standing) => format!(", {text} where not given ({})", standing.words()),
        };
        answer.line(format!("  {:<20} {}{need}", input.name, input.about));
        answer.line(format!("  {:<20} {}", "", input.takes.words()));
    }
    answer.line("\noutputs:");
    for output in sheet.outputs {
        let unit = if output.unit.is_empty() { String::new() } else { format!(", in {}", output.unit) };
        answer.line(format!("  {:<20} {}{unit}", output.name, output.about));
    }
    answer.line(format!("\nformula:  {}", sheet.formula));
    answer.line(format!("holds:    {}", sheet.valid));
    answer.line(format!("source:   {}", sheet.source));
    let example: Vec<String> = sheet.example.split_whitespace().map(quoted).collect();
    answer.line(format!("\nexample (invented):\n  gudgeon work {} {}", sheet.name, example.join(" ")));
    for (head, lines) in [("mistakes", sheet.mistakes), ("cautions", sheet.cautions)] {
        if !lines.is_empty() {
            answer.line(format!("\n{head}:"));
        }
        for line in lines {
            answer.line(format!("  - {line}"));
        }
    }
    let input = |input: &gudgeon_core::work::Input| {
        let (need, default) = match input.need {
            Need::Required => ("required", None),
            Need::Optional => ("optional", None),
            Need::Default(text, _) => ("default", Some(text)),
        };
        json!({ "name": input.name, "about": input.about, "takes": input.takes.words(), "need": need, "default": default })
    };
    answer.put("name", sheet.name);
    answer.put("title", sheet.title);
    answer.put("inputs", sheet.inputs.iter().map(input).collect::<Json>());
    let output = |o: &gudgeon_core::work::Output| json!({ "name": o.name, "about": o.about, "unit": o.unit });
    answer.put("outputs", sheet.outputs.iter().map(output).collect::<Json>());
    answer.put("formula", sheet.formula);
    answer.put("example", sheet.example);
    answer.put("valid", sheet.valid);
    answer.put("source", sheet.source.to_string());
    answer.put("mistakes", sheet.mistakes);
    answer.put("cautions", sheet.cautions);
    answer
}

fn show(answer: &mut Answer, sheet: &Worksheet, given: &Given, worked: &Worked) {
    for out in worked.outputs() {
        answer.line(format!("{:<22} {}", out.name, out.words(sheet)));
    }
    for note in worked.notes() {
        answer.line(format!("note: {note}"));
    }
    answer.line(format!("formula: {}", sheet.formula));
    answer.line(format!("source: {}", sheet.source));
    for caution in sheet.cautions {
        answer.say(format!("caution: {caution}"));
    }
    let notes: Vec<&str> =
        worked.notes().iter().map(String::as_str).chain(sheet.cautions.iter().copied()).collect();
    answer.put("name", sheet.name);
    answer.put(
        "inputs",
        given.typed().map(|(name, text)| (name.to_owned(), text.into())).collect::<Map<_, _>>(),
    );
    let outputs = worked.outputs().iter().map(|out| (out.name.to_owned(), in_json(sheet, out)));
    answer.put("outputs", outputs.collect::<Map<_, _>>());
    answer.put("formula", sheet.formula);
    answer.put("source", sheet.source.to_string());
    answer.put("notes", notes);
}

fn in_json(sheet: &Worksheet, out: &Out) -> Json {
    let unit = out.unit_in(sheet);
    let clean = |value: f64| out.rounded(sheet, value);
    match &out.value {
        Value::Number(value, u) => json!({ "value": clean(*value), "unit": unit, "u": u.map(clean) }),
        Value::Numbers(all) => {
            let all: Vec<f64> = all.iter().copied().map(clean).collect();
            json!({ "value": all, "unit": unit, "u": Json::Null })
        }
        Value::Word(word) => json!({ "value": word, "unit": unit, "u": Json::Null }),
    }
}
