//! The command line that states a gauge as it stands, with what is still lacking to be filled in.

use gudgeon_core::assess::Workshop;
use gudgeon_core::engine::instrument;
use gudgeon_core::entry::payload::{Instrument, Millis};
use gudgeon_core::quantity::Quantity;

use crate::desk::Desk;
use crate::settings::Settings;
use crate::when;

/// That line as a sentence: for a lead to type, since what others state of a gauge proves nothing.
pub(super) fn sentence(desk: &Desk, workshop: &Workshop, settings: &Settings, mark: &str) -> Option<String> {
    let words = words(workshop, mark, desk.now())?;
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let by_lead = workshop.gauge(mark).is_some_and(|gauge| gauge.by_lead);
    let leads = desk.key().is_ok_and(|row| workshop.roster().leads_now(row.key));
    // Another person's home is not this one.
    let line = if leads { settings.line(&words) } else { Settings::anywhere(&words) };
    let lacking = words.iter().any(|word| BLANKS.iter().any(|blank| word.contains(blank)));
    Some(match (by_lead, lacking) {
        (false, false) => format!("a lead enters the same: {line}"),
        (false, true) => format!("a lead enters the same, with what is lacking: {line}"),
        (true, _) => format!("a lead enters it anew, with what is lacking: {line}"),
    })
}

const BLANKS: [&str; 5] = ["LOW", "HIGH", "ERROR", "DATE", "RESOLUTION"];

/// `gauge add MARK …` with all that is stated of the gauge.
fn words(workshop: &Workshop, mark: &str, now: Millis) -> Option<Vec<String>> {
    let stated = stated(workshop, mark)?;
    let mut words: Vec<String> = ["gauge", "add", mark, "--sort", &stated.sort].map(str::to_owned).to_vec();
    let mut option = |name: &str, value: Option<String>| {
        if let Some(value) = value.filter(|value| !value.is_empty()) {
            words.extend([name.to_owned(), value]);
        }
    };
    let size = |quantity: &Option<Quantity>| quantity.as_ref().map(ToString::to_string);
    let error = size(&stated.error_limit).or_else(|| size(&stated.error_percent));
    let known = error.is_some() || stated.standard_uncertainty.is_some();
    let end = |end: &Option<Quantity>, blank: &str| size(end).unwrap_or_else(|| blank.to_owned());
    let shows = instrument::find(&stated.sort).is_none_or(|sort| sort.shows && sort.percent.is_none());
    let scatter = stated.resolution.is_some() || stated.repeatability.is_some();
    // What a member stated in full is entered as it stands.
    let asked = !known || workshop.gauge(mark).is_some_and(|gauge| gauge.by_lead);
    let blank = (shows && !scatter && asked).then(|| "RESOLUTION".to_owned());
    option("--resolution", size(&stated.resolution).or(blank));
    option("--error", if known { error } else { Some("ERROR".to_owned()) });
    option("--uncertainty", size(&stated.standard_uncertainty));
    option("--repeat", size(&stated.repeatability));
    option(
        "--range",
        Some(format!("{}..{}", end(&stated.range_low, "LOW"), end(&stated.range_high, "HIGH"))),
    );
    let needs_master = instrument::find(&stated.sort).is_some_and(|sort| sort.needs_master);
    let master = if stated.master.is_empty() && needs_master { "MASTER" } else { &stated.master };
    option("--set-with", Some(master.to_owned()));
    let dates = stated.calibrated_on.zip(stated.calibration_due).filter(|(_, due)| *due >= now);
    let day = |moment: Option<Millis>| Some(moment.map_or_else(|| "DATE".to_owned(), when::day));
    option("--calibrated", day(dates.map(|(on, _)| on)));
    option("--due", day(dates.map(|(_, due)| due)));
    option("--material", Some(stated.material.clone()));
    option("--owner", Some(stated.owner.clone()));
    if stated.calibration_seen && dates.is_some() {
        words.push("--seen".to_owned());
    }
    Some(words)
}

/// What is stated last: by a lead, where one has stated it.
fn stated(workshop: &Workshop, mark: &str) -> Option<Instrument> {
    let all = workshop.roster().instruments().get(mark)?;
    let of_lead = || all.newest().find(|version| version.by_lead);
    let version = all.latest().or_else(of_lead).or_else(|| all.newest().next())?;
    Some(version.says.clone())
}
