//! A set of readings from comma-separated values: every problem by its line.

use std::io::Read as _;
use std::path::Path;

use gudgeon_core::engine::suggest;
use gudgeon_core::entry::payload::Reading;

use super::read_typed::Typed;
use crate::desk::Sight;
use crate::failure::{Failure, Problem};

/// Largest input that is read, in bytes.
const LARGEST: u64 = 16 * 1024 * 1024;

const SAVE_AS: &str = "save it as comma-separated values in UTF-8";

/// Writes a cell of one column into a reading.
type Put = fn(&mut Typed, &str) -> Result<(), Failure>;

/// The columns by name.
const COLUMNS: [(&str, Put); 19] = [
    ("feature", |typed, cell| keep(&mut typed.feature, cell)),
    ("characteristic", |typed, cell| keep(&mut typed.characteristic, cell)),
    ("value", |typed, cell| keep(&mut typed.value, cell)),
    ("unit", |typed, cell| maybe(&mut typed.unit, cell)),
    ("station", |typed, cell| keep(&mut typed.station, cell)),
    ("gauge", |typed, cell| keep(&mut typed.gauge, cell)),
    ("master", |typed, cell| keep(&mut typed.master, cell)),
    ("set-size", |typed, cell| maybe(&mut typed.set_size, cell)),
    ("part-temp", |typed, cell| maybe(&mut typed.part_temp, cell)),
    ("gauge-temp", |typed, cell| maybe(&mut typed.gauge_temp, cell)),
    ("both-at", |typed, cell| maybe(&mut typed.both_at, cell)),
    ("cond", |typed, cell| {
        typed.conditions = cell.split([';', ' ', ',']).map(str::to_owned).collect();
        Ok(())
    }),
    ("part", |typed, cell| maybe(&mut typed.part, cell)),
    ("read-by", |typed, cell| maybe(&mut typed.read_by, cell)),
    ("called-out", |typed, cell| yes(&mut typed.called_out, cell)),
    ("blind", |typed, cell| yes(&mut typed.blind, cell)),
    ("set", |typed, cell| keep(&mut typed.set, cell)),
    ("note", |typed, cell| keep(&mut typed.note, cell)),
    ("ignore", |_, _| Ok(())),
];

/// Columns that every set has.
const NEEDED: [&str; 3] = ["feature", "characteristic", "value"];

fn keep(field: &mut String, cell: &str) -> Result<(), Failure> {
    cell.clone_into(field);
    Ok(())
}

fn maybe(field: &mut Option<String>, cell: &str) -> Result<(), Failure> {
    *field = Some(cell.to_owned());
    Ok(())
}

fn yes(field: &mut bool, cell: &str) -> Result<(), Failure> {
    *field = match cell.to_lowercase().as_str() {
        "yes" | "y" | "true" | "1" => true,
        "no" | "n" | "false" | "0" => false,
        _ => {
            return Err(Failure::refused(
                "yes-or-no",
                format!("`{cell}` is neither yes nor no"),
                "write yes or no",
            ));
        }
    };
    Ok(())
}

/// What a file holds.
pub(super) struct Set {
    /// Each good reading with its line.
    pub(super) readings: Vec<(u64, Reading)>,
    pub(super) problems: Vec<Problem>,
    /// Lines with a reading, good or not.
    pub(super) lines: usize,
}

/// Reads a file, or stdin where it is `-`; `usual` stands where a line says nothing.
pub(super) fn read(file: &Path, usual: &Typed, sight: &Sight) -> Result<Set, Failure> {
    let text = text_of(file)?;
    let separator = separator_of(&text);
    let text = without_padding(&text, separator);
    let mut reader = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .comment(Some(b'#'))
        .delimiter(u8::try_from(separator).unwrap_or(b','))
        .flexible(true)
        .from_reader(text.as_bytes());
    let header = reader.headers().map_err(|error| not_csv(&error))?.clone();
    let columns = columns_of(&header)?;
    let mut set = Set { readings: Vec::new(), problems: Vec::new(), lines: 0 };
    for record in reader.records() {
        let record = record.map_err(|error| not_csv(&error))?;
        set.lines += 1;
        let line = record.position().map_or(0, csv::Position::line);
        match read_line(&record, &columns, usual, sight) {
            Ok(reading) => set.readings.push((line, reading)),
            Err(failures) => {
                set.problems.extend(failures.into_iter().map(|failure| failure.at(format!("line {line}"))));
            }
        }
    }
    Ok(set)
}

fn text_of(file: &Path) -> Result<String, Failure> {
    let io = |error| Failure::io("reading", file, &error);
    let mut bytes = Vec::new();
    let read = if file == Path::new("-") {
        std::io::stdin().take(LARGEST + 1).read_to_end(&mut bytes)
    } else {
        std::fs::File::open(file).and_then(|open| open.take(LARGEST + 1).read_to_end(&mut bytes))
    };
    let size = read.map_err(io)?;
    if u64::try_from(size).is_ok_and(|size| size > LARGEST) {
        let cause = format!("{} is larger than {} MiB", file.display(), LARGEST / (1024 * 1024));
        return Err(Failure::refused("too-large", cause, "split it"));
    }
    let text = String::from_utf8(bytes).map_err(|_| {
        let cause = format!("{} is not text in UTF-8", file.display());
        Failure::refused("bad-set", cause, SAVE_AS)
    })?;
    Ok(text.trim_start_matches('\u{feff}').to_owned())
}

/// What stands between the cells: whichever of the three the line of the columns has most of.
fn separator_of(text: &str) -> char {
    let columns = text.lines().map(str::trim).find(|line| !line.is_empty() && !line.starts_with('#'));
    let count = |separator: &char| columns.unwrap_or_default().matches(*separator).count();
    // The last of equals is taken: the comma, where there is only one column.
    ['\t', ';', ','].into_iter().max_by_key(count).unwrap_or(',')
}

/// The same text without the spaces before a quoted cell, which would make its quotes part of it.
fn without_padding(text: &str, separator: char) -> String {
    let mut kept = String::with_capacity(text.len());
    let (mut quoted, mut closed, mut at_start) = (false, false, true);
    let mut pending = String::new();
    for c in text.chars() {
        if at_start && !quoted && c != separator && matches!(c, ' ' | '\t') {
            pending.push(c);
            continue;
        }
        if !(at_start && c == '"') {
            kept.push_str(&pending);
        }
        pending.clear();
        // A quote within a quoted cell is doubled, so that it closes and opens again.
        let turns = c == '"' && (quoted || closed || at_start);
        (quoted, closed) = (quoted != turns, turns && quoted);
        at_start = !quoted && (c == separator || c == '\n' || c == '\r');
        kept.push(c);
    }
    kept + &pending
}

/// The name of a column as in the table, whatever its letters and spaces.
fn column_name(heading: &str) -> String {
    heading.trim().to_lowercase().replace([' ', '_'], "-")
}

fn columns_of(header: &csv::StringRecord) -> Result<Vec<Put>, Failure> {
    let known: Vec<&str> = COLUMNS.iter().map(|(name, _)| *name).collect();
    let mut puts = Vec::new();
    let mut problems = Vec::new();
    let names: Vec<String> = header.iter().map(column_name).collect();
    for name in &names {
        match COLUMNS.iter().find(|(known, _)| known == name) {
            Some((_, put)) => puts.push(*put),
            None => problems.push(Problem {
                place: "line 1".to_owned(),
                cause: format!("`{name}` is no column"),
                hint: suggest(name, &known),
            }),
        }
    }
    for needed in NEEDED.iter().filter(|needed| !names.iter().any(|name| name == **needed)) {
        let cause = format!("the column `{needed}` is missing");
        problems.push(Problem { place: "line 1".to_owned(), cause, hint: String::new() });
    }
    if problems.is_empty() {
        return Ok(puts);
    }
    let hint = "the first line names the columns, such as feature,characteristic,station,value";
    Err(Failure::refused("bad-columns", "the columns cannot be read; nothing is saved", hint).with(problems))
}

fn read_line(
    record: &csv::StringRecord,
    columns: &[Put],
    usual: &Typed,
    sight: &Sight,
) -> Result<Reading, Vec<Failure>> {
    let mut typed = usual.clone();
    let mut wrong = Vec::new();
    if record.len() > columns.len() {
        let cause = format!("{} cells, and the first line names {} columns", record.len(), columns.len());
        let hint =
            "a decimal comma needs quotes around its cell, \"80,013 mm\", or semicolons between the cells";
        wrong.push(Failure::refused("too-many-cells", cause, hint));
    }
    for (cell, put) in record.iter().zip(columns) {
        if !cell.is_empty() {
            wrong.extend(put(&mut typed, cell).err());
        }
    }
    match typed.reading(sight) {
        Ok(reading) if wrong.is_empty() => Ok(reading),
        Ok(_) => Err(wrong),
        Err(_) if !wrong.is_empty() => Err(wrong),
        Err(more) => Err(more),
    }
}

fn not_csv(error: &csv::Error) -> Failure {
    let cause = format!("the set cannot be read: {error}");
    Failure::refused("bad-set", cause, SAVE_AS)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_separator_is_the_one_that_the_columns_are_named_with() {
        assert_eq!(separator_of("# a, b\n\nfeature;value, in mm;station\n1,5"), ';');
        assert_eq!(separator_of("feature\tvalue\n"), '\t');
        assert_eq!(separator_of("feature"), ',');
    }

    #[test]
    fn only_the_spaces_before_a_quoted_cell_go() {
        let padded = "a , \"1,5\" ,b \n  \"x  \"\"y\"\",  z\" ,  c d";
        assert_eq!(without_padding(padded, ','), "a ,\"1,5\" ,b \n\"x  \"\"y\"\",  z\" ,  c d");
        assert_eq!(without_padding("a\t \"b\"", '\t'), "a\t\"b\"");
        assert_eq!(without_padding("5 3/4\",  6\"", ','), "5 3/4\",  6\"");
    }
}
