//! A set of readings that is given twice: what of it stands already, said by the same person.

use std::collections::BTreeMap;
use std::path::Path;

use gudgeon_core::entry::payload::Reading;
use gudgeon_core::entry::{EntryId, KeyId, Payload};
use gudgeon_core::log::Ix;

use crate::desk::Sight;
use crate::failure::Failure;
use crate::out::Answer;
use crate::settings::line_with;
use crate::words;

/// Most lines that are named one by one.
const FEW: usize = 12;

/// A line of the set, and the standing reading that says the same.
pub(super) struct Said {
    pub(super) line: u64,
    by: Ix,
}

/// Where something is read, of what.
type Place<'r> = (&'r str, &'r str, &'r str, &'r str);

/// The lines that this key's person has standing already, reading for reading.
pub(super) fn said_already(sight: &Sight, key: KeyId, set: &[(u64, Reading)]) -> Vec<Said> {
    let roster = sight.roster();
    let mut standing: BTreeMap<Place, Vec<(Ix, &Reading)>> = BTreeMap::new();
    for (ix, statement) in (0..).zip(sight.log().folded()) {
        if let Ok(Payload::Reading(reading)) = &statement.payload
            && (statement.key == key || roster.same_person(statement.key, key))
            && sight.assessment.status(ix).stands()
        {
            standing.entry(place(reading)).or_default().push((ix, reading));
        }
    }
    let me = roster.person_of(key);
    let same = |reading: &Reading| {
        let here = standing.get(&place(reading))?;
        here.iter().find(|(_, other)| says_the_same(me, reading, other)).map(|(ix, _)| *ix)
    };
    set.iter().filter_map(|(line, reading)| same(reading).map(|by| Said { line: *line, by })).collect()
}

fn place(reading: &Reading) -> Place<'_> {
    (&reading.feature, &reading.part, &reading.characteristic, &reading.station)
}

/// The same value with the same gauge by the same reader; words and circumstances aside.
fn says_the_same(me: Option<EntryId>, one: &Reading, other: &Reading) -> bool {
    let reader = |reading: &Reading| reading.read_by.or(me);
    let size = |reading: &Reading| reading.set_size.as_ref().map(|size| size.amount().base());
    one.value.amount() == other.value.amount()
        && size(one) == size(other)
        && one.gauge == other.gauge
        && one.reading_set == other.reading_set
        && reader(one) == reader(other)
}

/// Refuses a set of which every reading stands already.
pub(super) fn nothing_new(file: &Path, sight: &Sight, said: &[Said]) -> Failure {
    let ids: Vec<EntryId> = said.iter().take(1).map(|said| sight.log().at(said.by).id).collect();
    let what = if said.len() == 1 {
        "the reading".to_owned()
    } else {
        format!("each of the {} readings", said.len())
    };
    let cause = format!(
        "{what} in {} stands already, the same in value, gauge and reader, such as entry {}; nothing is saved",
        file.display(),
        words::short_ids(&ids)
    );
    let hint = format!(
        "nothing to do; if it was really read again and came out the same: {}",
        line_with("--read-again")
    );
    Failure::refused("said-already", cause, hint)
}

/// Names the lines that stood already, among others that did not.
pub(super) fn say(answer: &mut Answer, said: &[Said]) {
    let listed: Vec<String> = said.iter().take(FEW).map(|said| said.line.to_string()).collect();
    let more = if said.len() > FEW { format!(" and {} more", said.len() - FEW) } else { String::new() };
    let lines = format!("{}{more}", listed.join(", "));
    match said.len() {
        0 => {}
        1 => answer.say(format!("note: line {lines} stood already, and now counts as read again")),
        _ => answer.say(format!("note: lines {lines} stood already, and now count as read again")),
    }
}
