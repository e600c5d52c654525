//! The sheet as one page that holds everything it needs.

use super::figure_engine;
use super::font;
use super::html_build as build;
use super::html_values as values;
use super::model::{FindingRow, Mention, Sheet, Title, Verify};
use super::page::Page;
use super::state::State;
use super::words::count;
use crate::engine::caution::FOREWORD;

const STYLE: &str = include_str!("style.css");

/// Hatching, 45 degrees: one way for what is not proven, both ways for what is outside.
const HATCHING: &str = "<svg width=\"0\" height=\"0\" class=\"defs\" aria-hidden=\"true\"><defs>\
<pattern id=\"hatch\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\">\
<line class=\"h-not-proven\" x1=\"0\" y1=\"0\" x2=\"0\" y2=\"6\"/></pattern>\
<pattern id=\"cross\" width=\"5\" height=\"5\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\">\
<path class=\"h-outside\" d=\"M0 0V5M0 0H5\"/></pattern></defs></svg>";

/// No script, nothing from elsewhere, whatever somebody typed.
const HEAD: &str = "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"/>\
<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\
<meta name=\"color-scheme\" content=\"light dark\"/>\
<meta http-equiv=\"Content-Security-Policy\" \
content=\"default-src 'none'; style-src 'unsafe-inline'; font-src data:\"/><title>";

/// What a signed record can and cannot do.
const HONEST: [&str; 5] = [
    "A signature shows that a statement was not altered since, and by which key it was made. It does not show that the statement is true.",
    "Times are those of the signers' own devices, in UTC. What each signer had before them orders the entries; clocks do not.",
    "\"Proven\" means: within the limits by the decision rule in force, with the uncertainty stated for the gauge, the sizes brought to 20 °C. A limit is only as good as its source, a gauge as its calibration.",
    "Two-point diameters do not see odd lobes. What was not measured is not known.",
    "Torques are the maker's figures as entered in the definition; none is computed here.",
];

/// Draws the sheet: one file of HTML with inline style, drawings and font; no script, and
/// nothing fetched from anywhere. The same sheet gives the same bytes.
#[must_use]
pub fn html(sheet: &Sheet) -> String {
    let mut page = Page::default();
    page.raw(HEAD).text(&sheet.title.record).raw(" – build record</title><style>\n");
    page.style(&font::faces()).style(STYLE);
    page.style(&format!("@page{{@bottom-left{{content:\"record {}\"}}}}\n", sheet.verify.record.short()));
    page.raw("</style></head><body>").raw(HATCHING).raw("<main>");
    front(&mut page, sheet);
    open(&mut page, sheet);
    build::steps(&mut page, &sheet.stages);
    values::features(&mut page, &sheet.features);
    build::tightenings(&mut page, &sheet.tightenings);
    build::parts(&mut page, &sheet.parts);
    build::events(&mut page, "Decisions, limits, custody and hand-over", &sheet.decisions);
    build::events(&mut page, "Work, checks and notes", &sheet.notes);
    build::history(&mut page, &sheet.history);
    build::people(&mut page, &sheet.people);
    build::gauges(&mut page, &sheet.gauges);
    values::formulas(&mut page, &sheet.features);
    verify(&mut page, &sheet.verify);
    limits(&mut page);
    page.raw("</main></body></html>\n");
    page.finish()
}

/// By whom and when; the entry's name on hover would need a pointer, so it is printed.
pub(super) fn mention(page: &mut Page, by: &Mention) {
    page.raw("<span class=\"by\">").wrap("", &by.who, ", ").raw("<time datetime=\"").text(by.when).raw("\">");
    page.text(by.when.spaced()).raw("</time> <code>").text(by.entry.short()).raw("</code></span>");
}

/// A state drawn small, with its word beside it.
pub(super) fn badge(page: &mut Page, state: State, word: &str) {
    page.raw("<span class=\"badge ").raw(state.class()).raw("\"><i></i>").text(word).raw("</span>");
}

fn front(page: &mut Page, sheet: &Sheet) {
    let title = &sheet.title;
    page.raw("<header class=\"frame\"><div class=\"head\"><p class=\"over\">Build record</p><h1>");
    page.text(&title.record).raw("</h1>");
    page.wrap("<p class=\"sub\">", &title.engine, "</p>");
    readiness(page, sheet);
    page.raw("</div>");
    if let Some(drawing) = &sheet.drawing {
        figure_engine::draw(page, drawing);
    }
    title_block(page, title, &sheet.verify);
    page.raw("</header>");
}

fn readiness(page: &mut Page, sheet: &Sheet) {
    let tally = &sheet.tally;
    if let Some(why) = &sheet.title.not_judged {
        page.raw("<p class=\"stand outside\">").text(why).raw("</p>");
        return;
    }
    let unsigned = tally.steps_total.saturating_sub(tally.steps_signed);
    let ready = tally.open_findings == 0 && unsigned == 0;
    let class = if ready { "proven" } else { "not-proven" };
    page.raw("<p class=\"stand ").raw(class).raw("\"><b>");
    match &sheet.title.handed_over {
        Some((to, by)) => {
            page.text(format!("Handed over to {to} on {}", by.when.day()));
        }
        None => {
            page.raw("Not handed over");
        }
    }
    page.raw("</b>: ")
        .text(count(tally.steps_signed, "step"))
        .text(format!(" of {} signed, ", tally.steps_total));
    page.text(count(tally.open_findings, "open finding")).raw(".</p>");
    tallies(page, sheet);
}

fn tallies(page: &mut Page, sheet: &Sheet) {
    let t = &sheet.tally;
    let rows = [
        (t.outside, State::Outside, "outside"),
        (t.disputed, State::Disputed, "disputed"),
        (t.stale_signoffs, State::Stale, "signed, but stale"),
        (t.signed_without_evidence, State::NotProven, "signed without evidence"),
        (t.not_proven, State::NotProven, "not proven"),
        (t.not_judged, State::NotProven, "not judged"),
        (t.conceded, State::Read, "conceded"),
        (t.not_counted, State::NotRead, "entries not counted"),
        (t.waiting, State::NotRead, "entries miss their ground"),
    ];
    page.raw("<ul class=\"tally\">");
    for (number, state, word) in rows.into_iter().filter(|(number, ..)| *number > 0) {
        page.raw("<li>");
        badge(page, state, &format!("{number} {word}"));
        page.raw("</li>");
    }
    page.raw("</ul>");
}

/// The block in the corner of a drawing: what it is, whose, how to know it again.
fn title_block(page: &mut Page, title: &Title, verify: &Verify) {
    page.raw("<dl class=\"titleblock\">");
    let mut cell = |name: &str, value: &str| {
        if !value.is_empty() {
            page.raw("<div><dt>").text(name).raw("</dt><dd>").text(value).raw("</dd></div>");
        }
    };
    cell("Workshop", &title.workshop);
    for (name, value) in &title.facts {
        cell(name, value);
    }
    let latest = title.latest.map(|latest| latest.spaced()).unwrap_or_default();
    cell("Newest entry, by its device's clock", &latest);
    cell("Entries", &verify.entries.to_string());
    cell("Record", &grouped(&verify.record.to_hex()[..16]));
    cell("Definition", &title.note);
    page.raw("</dl>");
}

fn open(page: &mut Page, sheet: &Sheet) {
    page.raw("<section><h2>What is open</h2>");
    if sheet.findings.is_empty() {
        page.raw("<p>Nothing: no finding waits for anybody.</p>");
    }
    findings(page, &sheet.findings);
    page.raw("</section>");
    if !sheet.conceded.is_empty() {
        page.raw(
            "<section><h2>What was conceded</h2><p class=\"about\">Accepted by a lead, with the reason. \
            A concession lapses with the readings it rests on.</p>",
        );
        findings(page, &sheet.conceded);
        page.raw("</section>");
    }
}

fn findings(page: &mut Page, list: &[FindingRow]) {
    for finding in list {
        let state = if finding.note_only { State::Read } else { finding.state };
        page.raw("<article class=\"finding ").raw(state.class()).raw("\"><h3>");
        badge(page, state, finding.title);
        page.wrap("<span class=\"where\">", &finding.place, "</span>");
        page.wrap("<span class=\"what\">", &finding.subject, "</span>");
        page.raw("</h3><p>").text(&finding.text).raw("</p>");
        match &finding.conceded {
            Some((by, reason)) => {
                page.raw("<p class=\"settled\">Conceded: ").text(reason).raw(" ");
                mention(page, by);
                page.raw("</p>");
            }
            None => {
                page.raw("<p class=\"way\">").text(&finding.way_out).raw("</p>");
            }
        }
        page.raw("</article>");
    }
}

fn verify(page: &mut Page, verify: &Verify) {
    page.raw("<section class=\"verify\"><h2>How to check this record</h2><p class=\"about\">Every statement here is an entry \
        signed with its author's key (Ed25519). Whoever holds the record's file can check each signature, compute these \
        figures again and compare. All authority rests on the workshop's root key: compare its fingerprint with the one \
        the workshop keeps on paper.</p><dl class=\"figures\">");
    let mut figure = |name: &'static str, value: &str| {
        page.raw("<div><dt>").raw(name).raw("</dt><dd><code>").text(value).raw("</code></dd></div>");
    };
    let root = verify.root.map_or_else(|| "not held".to_owned(), |root| grouped(&root.to_hex()));
    figure("Root fingerprint (the public key)", &root);
    figure("Record", &grouped(&verify.record.to_hex()));
    figure("Workshop", &grouped(&verify.workshop.to_hex()));
    figure("Entries in the record", &verify.entries.to_string());
    figure("SHA-256 over their ids, ascending", &grouped(&verify.entries_digest));
    figure("Entries in the workshop's document", &verify.workshop_entries.to_string());
    figure("SHA-256 over their ids", &grouped(&verify.workshop_digest));
    if let Some(definition) = &verify.definition_digest {
        figure("SHA-256 of the engine definition", &grouped(definition));
    }
    figure("Version of the calculation", &verify.calculation.to_string());
    page.raw("</dl></section>");
}

/// Hexadecimal digits in fours, to be read aloud.
fn grouped(hex: &str) -> String {
    let digits: Vec<char> = hex.chars().collect();
    let fours: Vec<String> = digits.chunks(4).map(|four| four.iter().collect()).collect();
    fours.join(" ")
}

fn limits(page: &mut Page) {
    page.raw("<section class=\"honest\"><h2>What this record can and cannot say</h2><ul>");
    for line in HONEST {
        page.raw("<li>").raw(line).raw("</li>");
    }
    page.raw("<li>").raw(FOREWORD).raw("</li></ul></section>");
}
