//! What each kind of entry says, in one sentence.

use gudgeon_core::assess::show;
use gudgeon_core::entry::EntryId;
use gudgeon_core::entry::payload::{
    Custody, Fitting, FittingState, GaugeCheck, Instrument, LimitChange, Meaning, Operation, PartReceived,
    Payload, Reading, Role, SignOff, Stop, Tightening, TighteningAct,
};
use gudgeon_core::quantity::Quantity;

use crate::when;
use crate::words::count;

/// Names a person.
pub(crate) type Who<'w> = &'w dyn Fn(EntryId) -> String;

/// The sentence of an entry.
pub(crate) fn says(payload: &Payload, who: Who) -> String {
    match payload {
        Payload::Reading(reading) => say_reading(reading, who),
        Payload::Operation(operation) => say_operation(operation, who),
        Payload::PartReceived(part) => say_part(part),
        Payload::Fitting(fitting) => say_fitting(fitting),
        Payload::Tightening(done) => say_tightening(done),
        Payload::Check(check) => {
            let result = if check.passed { "passed" } else { "did not pass" };
            format!("check {} {result}{}{}", check.check, at(&check.feature), note(&check.note))
        }
        Payload::SignOff(sign_off) => say_sign_off(sign_off),
        Payload::Void(void) => format!("voids {}: {}", void.entry.short(), void.reason),
        Payload::Concession(conceded) => {
            let place = join(&[&conceded.feature, &conceded.subject]);
            format!("concedes {} of {place}: {}", conceded.rule, conceded.reason)
        }
        Payload::LimitChange(change) => say_limit(change),
        Payload::GaugeCheck(check) => say_gauge_check(check),
        Payload::Custody(custody) => say_custody(custody),
        Payload::Stop(stop) => say_stop(stop),
        Payload::Resume(resume) => format!("resumes after {}{}", resume.stop.short(), note(&resume.note)),
        Payload::Note(said) => format!("note{}: {}", at(&said.feature), said.text),
        Payload::Photo(photo) => {
            let size = photo.data.len().div_ceil(1024);
            format!("photo{}, {} KiB{}", at(&photo.feature), size, note(&photo.caption))
        }
        Payload::Instrument(instrument) => say_instrument(instrument),
        Payload::Founding(founding) => format!("founds {}", founding.name),
        Payload::Definition(definition) => format!("engine definition, {} bytes", definition.text.len()),
        Payload::RecordListed(listed) => format!("lists record {} ({})", listed.name, listed.record.short()),
        Payload::Person(person) => format!("person {}", person.name),
        Payload::Device(device) => format!(
            "gives key {} ({}) to {}, {}",
            device.key.short(),
            device.label,
            who(device.person),
            roles(&device.roles)
        ),
        Payload::Invite(invite) => format!("invites {}", invite.person_name),
        Payload::Removal(removal) => format!("removes key {}: {}", removal.key.short(), removal.reason),
        Payload::Admit(admit) => {
            format!("admits {}: {}", count(admit.entries.len(), "entry", "entries"), admit.reason)
        }
        Payload::Decision(decision) => format!("decides {}: {}", decision.subject, decision.text),
        Payload::Approval(approval) => {
            let how = join(&[&approval.how, &approval.when]);
            format!("{} approves decision {} ({how})", approval.who, approval.decision.short())
        }
        Payload::Assignment(given) => format!("gives step {} to {}", given.step, who(given.person)),
        Payload::Order(order) => {
            format!("{} came before {}: {}", order.first.short(), order.second.short(), order.reason)
        }
        Payload::HandOver(over) => format!("hands the engine over to {}{}", over.to, note(&over.note)),
        Payload::Reopen(reopen) => format!("opens the record again: {}", reopen.reason),
    }
}

fn say_reading(reading: &Reading, who: Who) -> String {
    let mut text = format!(
        "{} {}{} {}",
        reading.feature,
        reading.characteristic,
        at(&reading.station),
        show::reading(reading)
    );
    let mut add = |word: &str, said: &str| {
        if !said.is_empty() {
            text.push_str(&format!(", {word}{said}"));
        }
    };
    add("gauge ", &reading.gauge);
    add("set on ", &reading.master);
    add("part ", &reading.part);
    add("part at ", &given(reading.part_temperature.as_ref()));
    add("gauge at ", &given(reading.gauge_temperature.as_ref()));
    add("", &reading.conditions.join(" "));
    add("read by ", &reading.read_by.map(who).unwrap_or_default());
    add("", if reading.called_out { "called out" } else { "" });
    add("", if reading.blind { "blind" } else { "" });
    add("set ", &reading.reading_set);
    add("", &reading.note);
    text
}

fn say_operation(operation: &Operation, who: Who) -> String {
    let by = operation.done_by.map_or_else(String::new, |person| format!(", done by {}", who(person)));
    let outside = if operation.outside_shop.is_empty() {
        String::new()
    } else {
        format!(", at {}", operation.outside_shop)
    };
    let on: Vec<&str> = operation.features.iter().chain(&operation.parts).map(String::as_str).collect();
    format!("{} of {}{by}{outside}{}", operation.operation, on.join(" "), note(&operation.note))
}

fn say_part(part: &PartReceived) -> String {
    let mut text = format!("received {}/{}", part.sort, part.mark);
    let mut add = |word: &str, said: &str| {
        if !said.is_empty() {
            text.push_str(&format!(", {word} {said}"));
        }
    };
    add("batch", &part.batch);
    add("weight", &given(part.weight.as_ref()));
    add("wall", &given(part.wall.as_ref()));
    add("count", &if part.count > 1 { part.count.to_string() } else { String::new() });
    text + &note(&part.note)
}

fn say_fitting(fitting: &Fitting) -> String {
    let state = match fitting.state {
        FittingState::Allotted => "allotted to",
        FittingState::Fitted => "fitted at",
        FittingState::TakenOut => "taken out of",
    };
    let way =
        if fitting.orientation.is_empty() { String::new() } else { format!(", {}", fitting.orientation) };
    format!("{} {state} {}{way}{}", fitting.part, fitting.place, note(&fitting.note))
}

fn say_tightening(done: &Tightening) -> String {
    let act = match done.act {
        TighteningAct::Nipped => "nipped".to_owned(),
        TighteningAct::Stage(number) => format!("stage {number}"),
        TighteningAct::Slackened => "slackened".to_owned(),
    };
    let mut text = format!("{}{} {act}", done.group, at(&done.place));
    if let Some(set) = &done.set_point {
        text.push_str(&format!(", {set}"));
    }
    for (word, said) in [("wrench ", &done.wrench), ("", &done.lubricant)] {
        if !said.is_empty() {
            text.push_str(&format!(", {word}{said}"));
        }
    }
    for (bolt, said) in &done.exceptions {
        text.push_str(&format!(", bolt {bolt}: {said}"));
    }
    text + &note(&done.note)
}

fn say_sign_off(sign_off: &SignOff) -> String {
    let meaning = match sign_off.meaning {
        Meaning::Done => "signs",
        Meaning::SecondPerson => "signs as second person",
    };
    {
        let on = count(sign_off.evidence.len(), "entry", "entries");
        format!("{} {meaning} {}, on {on}", sign_off.printed_name, sign_off.step)
    }
}

fn say_limit(change: &LimitChange) -> String {
    let mut text = format!("limit of {}{}:", change.characteristic, at(&change.feature));
    for (word, end) in [("lower", &change.lower), ("upper", &change.upper)] {
        if let Some(end) = end {
            text.push_str(&format!(" {word} {end}"));
        }
    }
    if let Some(rule) = change.rule {
        text.push_str(&format!(" rule {}", format!("{rule:?}").to_lowercase()));
    }
    format!("{text} ({})", join(&[&change.source, &change.reason]))
}

fn say_gauge_check(check: &GaugeCheck) -> String {
    let result = if check.passed { "passed" } else { "failed" };
    let shown = match (&check.nominal, &check.observed) {
        (Some(nominal), Some(observed)) => format!(", {nominal} shown as {observed}"),
        (Some(nominal), None) => format!(", at {nominal}"),
        (None, Some(observed)) => format!(", shown {observed}"),
        (None, None) => String::new(),
    };
    format!("gauge {} on {} {result}{shown}", check.gauge, check.master)
}

fn say_custody(custody: &Custody) -> String {
    let parts = custody.parts.join(" ");
    let ticket =
        if custody.ticket.is_empty() { String::new() } else { format!(", ticket: {}", custody.ticket) };
    let way = if custody.out { "out to" } else { "back from" };
    format!("{parts} {way} {}{ticket}", custody.with_whom)
}

fn say_stop(stop: &Stop) -> String {
    let tag = if stop.tag.is_empty() { String::new() } else { format!(" [{}]", stop.tag) };
    format!("stops {}{}: {}{tag}", stop.step, at(&stop.feature), stop.found)
}

fn say_instrument(instrument: &Instrument) -> String {
    let mut text = format!("gauge {}, {}", instrument.mark, instrument.sort);
    let mut add = |word: &str, said: String| {
        if !said.is_empty() {
            text.push_str(&format!(", {word} {said}"));
        }
    };
    add("shows", given(instrument.resolution.as_ref()));
    add("errs by", given(instrument.error_limit.as_ref()));
    add("errs by", given(instrument.error_percent.as_ref()));
    add("repeats to", given(instrument.repeatability.as_ref()));
    add("u", given(instrument.standard_uncertainty.as_ref()));
    add("set with", instrument.master.clone());
    add("calibrated", instrument.calibrated_on.map(when::day).unwrap_or_default());
    add("due", instrument.calibration_due.map(when::day).unwrap_or_default());
    add("of", instrument.owner.clone());
    text
}

/// Roles in words.
pub(crate) fn roles(list: &[Role]) -> String {
    let word = |role: &Role| match role {
        Role::Member => "member",
        Role::Lead => "lead",
        Role::Viewer => "viewer",
    };
    list.iter().map(word).collect::<Vec<_>>().join(" and ")
}

fn given(quantity: Option<&Quantity>) -> String {
    quantity.map(ToString::to_string).unwrap_or_default()
}

fn at(place: &str) -> String {
    if place.is_empty() { String::new() } else { format!(" at {place}") }
}

fn note(words: &str) -> String {
    if words.is_empty() { String::new() } else { format!(" ({words})") }
}

fn join(words: &[&str]) -> String {
    words.iter().filter(|word| !word.is_empty()).copied().collect::<Vec<_>>().join(", ")
}
