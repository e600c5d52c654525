//! A shop's edits of the operations table: `[[operation]]` in a definition.
//!
//! A row given for an operation and a kind of feature takes the place of the built-in one
//! whole, or is added.

use super::edit::{self, Edit};
use super::feature::{FEATURES, FeatureKind};
use super::name::{self, short};
use super::nearest::suggest;
use super::operation::{Ends, Operation, VARIABLES, What, built_in, fills};
use super::pattern::{FeaturePattern, variable};
use super::places::Places;
use super::problem::Problems;
use super::section::{Section, Text};
use super::subject::Subject;

/// The built-in operations with the edits of the list `[[operation]]`, which are told to `edits`.
pub(super) fn read(
    root: &mut Section<'_>,
    places: &Places,
    checks: &[&str],
    edits: &mut Vec<Edit>,
    out: &mut Problems,
) -> Vec<Operation> {
    let mut list = built_in();
    let mut edited: Vec<(String, FeatureKind)> = Vec::new();
    for mut table in root.tables(out, "operation", "operation") {
        for operation in read_one(&mut table, places, checks, out) {
            let key = (operation.name.clone(), operation.on);
            if edited.contains(&key) {
                let reason = format!("it is edited twice on {}", operation.on);
                table.problem(out, reason, "give all that it ends in one [[operation]]");
            }
            edited.push(key);
            edits.push(edit::of_operation(&operation));
            list.retain(|row| (&row.name, row.on) != (&operation.name, operation.on));
            list.push(operation);
        }
        table.finish(out);
    }
    list.sort_by(|a, b| (&a.name, a.on).cmp(&(&b.name, b.on)));
    list
}

fn read_one(table: &mut Section<'_>, places: &Places, checks: &[&str], out: &mut Problems) -> Vec<Operation> {
    let given = table.needed(out, "name");
    if let Some(given) = given {
        table.place = format!("operation {}", short(given.text));
        name::check(out, &table.place, given);
    }
    let before = out.count();
    let on = read_kinds(table, "on", out);
    if on.is_empty() && out.count() == before {
        table.problem(out, "`on` names no kind of feature", "such as [\"bore\"]");
    }
    let tables = table.tables(out, "ends", &table.place.clone());
    let context = Context { places, checks, on: &on };
    let mut ends = Vec::new();
    for (number, mut row) in (1..).zip(tables) {
        row.place = format!("{}, ends {number}", table.place);
        ends.extend(read_ends(&mut row, &context, out));
        row.finish(out);
    }
    let Some(given) = given else { return Vec::new() };
    let row = |on: &FeatureKind| Operation { name: given.text.to_owned(), on: *on, ends: ends.clone() };
    on.iter().map(row).collect()
}

/// Reads a list of kinds of features.
pub(super) fn read_kinds(table: &mut Section<'_>, key: &'static str, out: &mut Problems) -> Vec<FeatureKind> {
    let texts = table.texts(out, key);
    let read = |text: &Text<'_>| kind_of(out, &table.place, *text);
    let mut kinds: Vec<FeatureKind> = Vec::new();
    kinds.extend(texts.iter().filter_map(read));
    kinds
}

/// The kind of feature of a name.
pub(super) fn kind_of(out: &mut Problems, place: &str, text: Text<'_>) -> Option<FeatureKind> {
    let found = FeatureKind::find(text.text);
    if found.is_none() {
        let names: Vec<&str> = FEATURES.iter().map(|row| row.name).collect();
        let reason = format!("`{}` is no kind of feature", short(text.text));
        out.add(text.at, place, reason, suggest(text.text, &names));
    }
    found
}

struct Context<'c> {
    places: &'c Places,
    checks: &'c [&'c str],
    on: &'c [FeatureKind],
}

fn read_ends(row: &mut Section<'_>, context: &Context<'_>, out: &mut Problems) -> Option<Ends> {
    let feature = row.needed(out, "feature");
    let reason = row.needed(out, "reason");
    let names = row.texts(out, "characteristics");
    let checks = row.texts(out, "checks");
    let every = row.truth(out, "every");
    let tightening = row.truth(out, "tightening");
    let feature = feature?;
    let kinds = meant(row, context, feature, out)?;
    let given = [!names.is_empty(), !checks.is_empty(), every, tightening];
    if given.into_iter().filter(|&given| given).count() != 1 {
        let hint = "`characteristics`, `checks`, `every = true` or `tightening = true`";
        row.problem(out, "it must say one thing that ends", hint);
        return None;
    }
    let known: Vec<&str> = kinds.iter().flat_map(|&kind| Subject::names_on(kind)).collect();
    all_known(row, out, &names, &known, "is not measured there");
    all_known(row, out, &checks, context.checks, "is no known check");
    let owned = |texts: &[Text<'_>]| texts.iter().map(|text| text.text.to_owned()).collect();
    let what = match given {
        [true, ..] => What::Characteristics(owned(&names)),
        [_, true, ..] => What::Checks(owned(&checks)),
        [_, _, true, _] => What::EveryCharacteristic,
        _ => What::Tightening,
    };
    Some(Ends { feature: feature.text.to_owned(), what, reason: reason?.text.to_owned() })
}

fn all_known(row: &Section<'_>, out: &mut Problems, names: &[Text<'_>], known: &[&str], complaint: &str) {
    for name in names.iter().filter(|name| !known.contains(&name.text)) {
        let reason = format!("`{}` {complaint}", short(name.text));
        out.add(name.at, row.place.clone(), reason, suggest(name.text, known));
    }
}

/// Kinds of features that a path with variables means.
fn meant(
    row: &Section<'_>,
    context: &Context<'_>,
    text: Text<'_>,
    out: &mut Problems,
) -> Option<Vec<FeatureKind>> {
    for name in text.text.split('/').filter_map(variable) {
        if let Some(kind) = context.on.iter().find(|&&kind| !fills(kind, name)) {
            let filled = VARIABLES.iter().filter(|variable| fills(*kind, variable.name));
            let known: Vec<String> = filled.map(|it| format!("{{{}}}", it.name)).collect();
            let reason = format!("nothing stands for `{{{}}}` on {kind}", short(name));
            let hint = format!("known there: {}", known.join(", "));
            out.add(text.at, row.place.clone(), reason, hint);
            return None;
        }
    }
    let kinds = context.places.kinds_of(&FeaturePattern::filled(text.text, |_| None));
    if kinds.is_empty() {
        let reason = format!("`{}` means no feature of this engine", short(text.text));
        let shapes: Vec<&str> = FEATURES.iter().map(|row| row.pattern).collect();
        out.add(text.at, row.place.clone(), reason, suggest(text.text, &shapes));
        return None;
    }
    Some(kinds)
}
