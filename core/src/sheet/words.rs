//! Paths, names and entries in the words of the trade.

use super::sight::Sight;
use crate::assess::{GaugeFacts, show};
use crate::engine::Method;
use crate::entry::payload::{FittingState, Meaning, Payload, TighteningAct};
use crate::log::Ix;
use crate::quantity::{Kind, Quantity, Unit};

/// What stands in the place of a value that is kept from the reader.
pub const HIDDEN: &str = "hidden until a second person has read it";

/// `Rod 3, big end` for `rod/3/big-end`.
#[must_use]
pub fn place(path: &str) -> String {
    let mut out = String::new();
    for (at, segment) in path.split('/').enumerate() {
        let separator = match at {
            0 => "",
            1 => " ",
            _ => ", ",
        };
        out.push_str(separator);
        // The second segment is a number or a mark; only the others are words.
        out.push_str(&if at == 1 { segment.to_owned() } else { plain(segment) });
    }
    capital(&out)
}

/// `oil clearance` for `oil-clearance`.
#[must_use]
pub fn plain(name: &str) -> String {
    name.replace('-', " ")
}

/// With a capital letter.
#[must_use]
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// `a, b and c`.
pub(super) fn list(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

/// `1 step`, `2 steps`.
#[must_use]
pub fn count(number: usize, one: &str) -> String {
    if number == 1 { format!("1 {one}") } else { format!("{number} {one}s") }
}

/// A torque in the other unit, with the digits that the typed ones justify; else empty.
pub(super) fn other_unit(set: &Quantity) -> String {
    if set.kind() != Kind::Torque {
        return String::new();
    }
    let other = if set.unit() == Unit::NewtonMetre { Unit::PoundForceFoot } else { Unit::NewtonMetre };
    set.show_in_rounded(other)
}

/// `42 N·m (31 lbf·ft)`.
pub(super) fn in_both(set: &Quantity) -> String {
    let other = other_unit(set);
    if other.is_empty() { set.to_string() } else { format!("{set} ({other})") }
}

pub(super) fn act(act: TighteningAct) -> String {
    match act {
        TighteningAct::Nipped => "Nipped by hand".to_owned(),
        TighteningAct::Stage(number) => format!("Stage {number}"),
        TighteningAct::Slackened => "Slackened".to_owned(),
    }
}

pub(super) const fn method(method: Method) -> &'static str {
    match method {
        Method::Torque => "by torque",
        Method::Stretch => "by torque, proven by stretch",
        Method::Angle => "by torque, then by angle",
    }
}

pub(super) const fn meaning(meaning: Meaning) -> &'static str {
    match meaning {
        Meaning::Done => "I did it",
        Meaning::SecondPerson => "I, another person, checked it",
    }
}

/// Sizes a gauge measures.
pub(super) fn range(gauge: &GaugeFacts) -> String {
    let shown = |end: crate::quantity::Amount| {
        let (unit, _) = show::unit_of(end.kind());
        let text = end.show(unit, 3);
        let (digits, symbol) = text.split_once(' ').unwrap_or((&text, ""));
        let digits =
            if digits.contains('.') { digits.trim_end_matches('0').trim_end_matches('.') } else { digits };
        format!("{digits} {symbol}")
    };
    match gauge.range {
        (Some(low), Some(high)) => format!("{} to {}", shown(low), shown(high)),
        (Some(low), None) => format!("from {}", shown(low)),
        (None, Some(high)) => format!("up to {}", shown(high)),
        (None, None) => String::new(),
    }
}

fn noted(text: String, note: &str) -> String {
    if note.is_empty() { text } else { format!("{text}: {note}") }
}

fn at(station: &str) -> String {
    if station.is_empty() { String::new() } else { format!(" at {station}") }
}

/// What an entry says, in one sentence without its author.
#[allow(clippy::wildcard_enum_match_arm)] // the others are said below
pub(super) fn says(sight: &Sight, ix: Ix) -> String {
    let Ok(payload) = &sight.log().at(ix).payload else { return "cannot be read by this version".to_owned() };
    match payload {
        Payload::Reading(r) => {
            let what = format!("{}, {}{}", place(&r.feature), plain(&r.characteristic), at(&r.station));
            if !sight.may_see(&[ix]) {
                return format!("{what}: {HIDDEN}");
            }
            let gauge = if r.gauge.is_empty() { String::new() } else { format!(" with {}", r.gauge) };
            noted(format!("{what}: {}{gauge}", show::reading(r)), &r.note)
        }
        Payload::Operation(o) => {
            let on: Vec<String> = o.features.iter().map(|path| place(path)).collect();
            let shop =
                if o.outside_shop.is_empty() { String::new() } else { format!(", by {}", o.outside_shop) };
            noted(format!("{} on {}{shop}", plain(&o.operation), list(&on)), &o.note)
        }
        Payload::PartReceived(p) => noted(format!("{} {} received", plain(&p.sort), p.mark), &p.note),
        Payload::Fitting(f) => {
            let how = match f.state {
                FittingState::Allotted => "allotted to",
                FittingState::Fitted => "fitted at",
                FittingState::TakenOut => "taken out of",
            };
            noted(format!("{} {how} {}", f.part, place(&f.place)), &f.note)
        }
        Payload::Tightening(t) => {
            let set = t.set_point.as_ref().map(|set| format!(", {}", in_both(set))).unwrap_or_default();
            noted(format!("{} at {}, {}{set}", plain(&t.group), place(&t.place), act(t.act)), &t.note)
        }
        Payload::Check(c) => {
            let result = if c.passed { "passed" } else { "did not pass" };
            noted(format!("{} at {} {result}", plain(&c.check), place(&c.feature)), &c.note)
        }
        Payload::SignOff(s) => format!("signed {} as {}: {}", s.step, s.printed_name, meaning(s.meaning)),
        Payload::GaugeCheck(g) => {
            let result = if g.passed { "passed" } else { "did not pass" };
            let observed = g.observed.as_ref().map(|q| format!(", showed {q}")).unwrap_or_default();
            format!("gauge {} on master {} {result}{observed}", g.gauge, g.master)
        }
        Payload::Custody(c) => {
            let way = if c.out { "out to" } else { "back from" };
            let ticket =
                if c.ticket.is_empty() { String::new() } else { format!("; their ticket: {}", c.ticket) };
            format!("{} {way} {}{ticket}", list(&c.parts), c.with_whom)
        }
        Payload::Void(v) => format!("voided an entry: {}", v.reason),
        other => says_of_lead(sight, other),
    }
}

/// What a lead's or another entry says.
#[allow(clippy::wildcard_enum_match_arm)] // the workshop's own kinds never stand in a record
fn says_of_lead(sight: &Sight, payload: &Payload) -> String {
    match payload {
        Payload::Founding(f) => format!("founded `{}`", f.name),
        Payload::Definition(_) => "the definition of the engine".to_owned(),
        Payload::Concession(c) => {
            format!(
                "{} on {}, {}, conceded: {}",
                plain(&c.rule),
                place(&c.feature),
                plain(&c.subject),
                c.reason
            )
        }
        Payload::LimitChange(l) => limit_change(l),
        Payload::Decision(d) => format!("{}: {}", plain(&d.subject), d.text),
        Payload::Approval(a) => {
            let on = sight.log().place(&a.decision).map(|ix| says(sight, ix));
            let on = on.unwrap_or_else(|| "a decision that is not here".to_owned());
            format!("{} approved \"{on}\", {}, {}", a.who, a.how, a.when)
        }
        Payload::Assignment(a) => format!("{} given to {}", a.step, sight.name(a.person)),
        Payload::Order(o) => {
            let one = |id| {
                sight
                    .log()
                    .place(id)
                    .map_or_else(|| "an entry that is not here".to_owned(), |ix| says(sight, ix))
            };
            format!("\"{}\" came before \"{}\": {}", one(&o.first), one(&o.second), o.reason)
        }
        Payload::Stop(s) => {
            let tag = if s.tag.is_empty() { String::new() } else { format!(" [{}]", s.tag) };
            format!("work stopped at {}: {}{tag}", place(&s.feature), s.found)
        }
        Payload::Resume(r) => noted("work resumed".to_owned(), &r.note),
        Payload::Note(n) if n.feature.is_empty() => n.text.clone(),
        Payload::Note(n) => format!("{}: {}", place(&n.feature), n.text),
        Payload::Photo(p) => {
            let of = if p.feature.is_empty() { String::new() } else { format!(" of {}", place(&p.feature)) };
            format!("picture{of} ({}, {} bytes): {}", p.media_type, p.data.len(), p.caption)
        }
        Payload::HandOver(h) => noted(format!("handed over to {}", h.to), &h.note),
        Payload::Reopen(r) => format!("opened again: {}", r.reason),
        _ => "belongs in the workshop's own document".to_owned(),
    }
}

fn limit_change(change: &crate::entry::payload::LimitChange) -> String {
    let end = |q: &Option<Quantity>, word: &str| q.as_ref().map(|q| format!("{word} {q}"));
    let rule = change.rule.map(|rule| {
        let word = match rule {
            crate::entry::payload::ChosenRule::Strict => "strict",
            crate::entry::payload::ChosenRule::Shared => "shared",
            crate::entry::payload::ChosenRule::Simple => "simple",
        };
        format!("rule {word}")
    });
    let said: Vec<String> =
        [end(&change.lower, "at least"), end(&change.upper, "at most"), rule].into_iter().flatten().collect();
    let on = if change.feature.is_empty() {
        "everywhere".to_owned()
    } else {
        format!("on {}", place(&change.feature))
    };
    let source = if change.source.is_empty() { String::new() } else { format!(" ({})", change.source) };
    format!("{} {on}: {}{source}; {}", plain(&change.characteristic), said.join(", "), change.reason)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    #[test]
    fn paths_are_read_as_places() {
        assert_eq!(place("rod/3/big-end"), "Rod 3, big end");
        assert_eq!(place("ring/2/rail-upper"), "Ring 2, rail upper");
        assert_eq!(place("piston/B-2/skirt"), "Piston B-2, skirt");
        assert_eq!(place("crank"), "Crank");
        assert_eq!(place(""), "");
    }

    #[test]
    fn a_torque_is_said_in_both_units_and_an_angle_in_its_own() {
        let said = |text: &str| in_both(&Quantity::parse(text).unwrap());
        // 1 lbf·ft = 1.355 817 9... N·m (NIST SP 811, B.8): 42 N·m is 30.98 lbf·ft, 31 is 42.03 N·m.
        assert_eq!(said("42 N·m"), "42 N·m (31.0 lbf·ft)");
        assert_eq!(said("31 lbf·ft"), "31 lbf·ft (42 N·m)");
        assert_eq!(said("90 deg"), Quantity::parse("90 deg").unwrap().to_string());
    }
}
