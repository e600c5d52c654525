//! Slips of typing, asked about at once: see `gudgeon_core::assess`.

use gudgeon_core::engine::characteristic;
use gudgeon_core::entry::EntryId;
use gudgeon_core::entry::payload::Reading;
use serde_json::{Value as Json, json};

use crate::desk::Sight;
use crate::enter::Entered;
use crate::out::Answer;
use crate::settings::Settings;
use crate::way;

/// Most slips that are named one by one.
const FEW: usize = 12;

/// Asks about every new reading that would fit if one thing had been typed otherwise.
pub(super) fn say(
    answer: &mut Answer,
    settings: &Settings,
    entered: &Entered,
    set: &[(Option<u64>, &Reading)],
) {
    let asked = set.iter().zip(&entered.ids).filter_map(|((line, reading), id)| {
        let station = || entered.before.assessment.perhaps_another_station(reading);
        let question = entered.after.assessment.perhaps_a_slip(reading).or_else(station)?;
        Some((*line, *reading, *id, question))
    });
    let asked: Vec<_> = asked.collect();
    for (line, reading, id, question) in asked.iter().take(FEW) {
        let at = line.map_or_else(String::new, |line| format!("line {line}: "));
        answer.say(format!("note: {at}{question}"));
        answer.say(format!(
            "      it is kept as typed; if it was not read so: {}",
            way_out(&entered.after, settings, reading, *id)
        ));
    }
    if asked.len() > FEW {
        answer.say(format!("note: and {} more such lines", asked.len() - FEW));
    }
    let json = |(line, _, id, question): &(Option<u64>, &Reading, EntryId, String)| json!({ "line": line, "entry": id.to_hex(), "question": question });
    answer.put("asked_about", asked.iter().map(json).collect::<Json>());
}

fn way_out(sight: &Sight, settings: &Settings, reading: &Reading, id: EntryId) -> String {
    let void = settings.line(&["void", &id.short(), "--reason", "a slip of typing"]);
    let again = sight.definition().ok().and_then(|definition| {
        let feature = definition.feature(&reading.feature).ok()?;
        let row = characteristic::find(feature.kind(), &reading.characteristic)?;
        Some(way::to_reading(definition, settings, &feature, row, &reading.station, &reading.gauge))
    });
    again.map_or_else(|| void.clone(), |again| format!("{void}, then {again}"))
}
