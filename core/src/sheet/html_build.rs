//! The work on the page: steps and signatures, tightening, parts, events, history, people.

use super::html::{badge, mention};
use super::model::{
    Event, GaugeRow, PartRow, PastRow, PersonRow, SignatureRow, StageSheet, StepRow, TighteningRow,
    TighteningSheet,
};
use super::page::Page;
use super::words::list;

pub(super) fn steps(page: &mut Page, stages: &[StageSheet]) {
    page.raw("<section><h2>Steps and signatures</h2><p class=\"about\">A signature is bound to what its signer saw, and stands \
        as long as that does.</p>");
    for stage in stages {
        page.raw("<section class=\"stage\"><h3><span class=\"number\">").text(stage.number).raw("</span>");
        page.text(&stage.title).raw("</h3>");
        let signed: Vec<&StepRow> = stage.steps.iter().filter(|step| !step.signatures.is_empty()).collect();
        for step in &signed {
            signed_step(page, step);
        }
        unsigned(page, &stage.steps);
        page.raw("</section>");
    }
    page.raw("</section>");
}

fn signed_step(page: &mut Page, step: &StepRow) {
    page.raw("<article class=\"step ").raw(step.state.class()).raw("\"><h4>").text(&step.title);
    page.wrap("<span class=\"where\">", &step.place, "</span>");
    badge(page, step.state, step.progress);
    page.raw("</h4>");
    for one in &step.signatures {
        signature(page, one);
    }
    page.raw("</article>");
}

fn signature(page: &mut Page, signature: &SignatureRow) {
    page.raw("<div class=\"signature")
        .raw(if signature.stale.is_empty() { "" } else { " gone" })
        .raw("\"><p><b class=\"name\">");
    page.text(&signature.printed_name).raw("</b> <q>").raw(signature.meaning).raw("</q></p><p>");
    page.raw("<time datetime=\"").text(signature.by.when).raw("\">").text(signature.by.when.spaced());
    page.raw("</time> by the device's clock; key of ").text(&signature.by.who).raw(" <code>");
    page.text(signature.key.short())
        .raw("</code>, entry <code>")
        .text(signature.by.entry.short())
        .raw("</code>, over ");
    page.text(super::words::count(signature.evidence, "entry").replace("entrys", "entries")).raw("</p>");
    let why = if signature.without_evidence { "Signed without its evidence" } else { "No longer stands" };
    for cause in &signature.stale {
        page.raw("<p class=\"cause\">").raw(why).raw(": ").text(cause).raw("</p>");
    }
    if signature.read_again {
        page.raw("<p>Read again since, and it agrees.</p>");
    }
    page.raw("</div>");
}

/// Steps without a signature, in one paragraph for each state.
fn unsigned(page: &mut Page, steps: &[StepRow]) {
    let mut by_progress: Vec<(&StepRow, Vec<String>)> = Vec::new();
    for step in steps.iter().filter(|step| step.signatures.is_empty()) {
        let same = by_progress
            .iter_mut()
            .find(|(first, _)| first.title == step.title && first.progress == step.progress);
        match same {
            Some((_, places)) => places.push(step.place.clone()),
            None => by_progress.push((step, vec![step.place.clone()])),
        }
    }
    if by_progress.is_empty() {
        return;
    }
    page.raw("<ul class=\"unsigned\">");
    for (step, places) in by_progress {
        page.raw("<li>");
        badge(page, step.state, step.progress);
        page.text(&step.title);
        page.wrap("<span class=\"where\">", &list(&places), "</span>").raw("</li>");
    }
    page.raw("</ul>");
}

pub(super) fn tightenings(page: &mut Page, groups: &[TighteningSheet]) {
    if groups.is_empty() {
        return;
    }
    page.raw("<section><h2>Tightening</h2><p class=\"about\">Set points are the maker's figures, entered with the definition; \
        the unit typed stands first.</p>");
    for group in groups {
        page.raw("<section class=\"group\"><h3>").text(&group.title);
        let state = if group.complete { super::State::Proven } else { super::State::InHand };
        badge(page, state, &group.progress);
        page.raw("</h3><dl class=\"facts wide\">");
        for (name, value) in &group.facts {
            page.raw("<div><dt>").text(name).raw("</dt><dd>").text(value).raw("</dd></div>");
        }
        page.raw(
            "</dl><table class=\"log\"><thead><tr><th>Done</th><th>Wrench set to</th><th>The other unit</th>\
            <th>Maker's figure</th><th>Wrench</th><th>Lubricant</th><th>By</th></tr></thead><tbody>",
        );
        for row in &group.rows {
            tightened(page, row);
        }
        page.raw("</tbody></table></section>");
    }
    page.raw("</section>");
}

fn tightened(page: &mut Page, row: &TighteningRow) {
    page.raw("<tr")
        .raw(if row.is_check { " class=\"check\"" } else { "" })
        .raw("><th scope=\"row\">")
        .text(&row.what);
    page.wrap("<small>", &row.remarks, "</small>").raw("</th>");
    cell(page, "<td class=\"n\" data-l=\"Wrench set to\"><b>", &row.set, "</b></td>");
    cell(page, "<td class=\"n\" data-l=\"The other unit\">", &row.other, "</td>");
    cell(page, "<td class=\"n\" data-l=\"Maker's figure\">", &row.wanted, "</td>");
    cell(page, "<td data-l=\"Wrench\">", &row.wrench, "</td>");
    cell(page, "<td data-l=\"Lubricant\">", &row.lubricant, "</td>");
    page.raw("<td data-l=\"By\">");
    mention(page, &row.by);
    page.raw("</td></tr>");
}

/// A cell; an empty one where there is nothing to say.
fn cell(page: &mut Page, before: &'static str, text: &str, after: &'static str) {
    if text.is_empty() {
        page.raw("<td class=\"none\"></td>");
    } else {
        page.raw(before).text(text).raw(after);
    }
}

pub(super) fn parts(page: &mut Page, parts: &[PartRow]) {
    if parts.is_empty() {
        return;
    }
    page.raw("<section><h2>Parts, and where they are</h2><table><thead><tr><th>Mark</th><th>What</th><th>As received</th>\
        <th>Where</th><th>Received by</th></tr></thead><tbody>");
    for part in parts {
        page.raw("<tr><th scope=\"row\">").text(&part.mark).raw("</th>");
        cell(page, "<td data-l=\"What\">", &part.sort, "</td>");
        cell(page, "<td data-l=\"As received\">", &part.about.join("; "), "</td>");
        cell(page, "<td data-l=\"Where\"><b>", &part.place, "</b></td>");
        match &part.received {
            Some(by) => {
                page.raw("<td data-l=\"Received by\">");
                mention(page, by);
                page.raw("</td></tr>");
            }
            None => {
                page.raw("<td class=\"none\"></td></tr>");
            }
        }
    }
    page.raw("</tbody></table></section>");
}

pub(super) fn events(page: &mut Page, title: &'static str, events: &[Event]) {
    if events.is_empty() {
        return;
    }
    page.raw("<section><h2>")
        .raw(title)
        .raw("</h2><table><thead><tr><th>Entry</th><th>What it says</th><th>By</th></tr></thead><tbody>");
    for event in events {
        page.raw("<tr><th scope=\"row\">").text(&event.kind).raw("</th>");
        cell(page, "<td class=\"says\">", &event.text, "</td>");
        page.raw("<td>");
        mention(page, &event.by);
        page.raw("</td></tr>");
    }
    page.raw("</tbody></table></section>");
}

pub(super) fn history(page: &mut Page, past: &[PastRow]) {
    page.raw("<section><h2>What no longer stands</h2>");
    if past.is_empty() {
        page.raw("<p>Everything that was entered stands.</p></section>");
        return;
    }
    page.raw("<p class=\"about\">Nothing is ever taken out of a record. These entries are kept, and no verdict rests on them.</p>\
        <table class=\"past\"><thead><tr><th>Entry</th><th>What it said</th><th>What became of it</th></tr></thead><tbody>");
    for row in past {
        page.raw("<tr><th scope=\"row\">")
            .text(&row.kind)
            .raw("</th><td class=\"says\"><s>")
            .text(&row.text)
            .raw("</s><br/>");
        mention(page, &row.by);
        page.raw("</td><td class=\"says\"><b>").raw(row.status).raw("</b>");
        page.wrap("<br/>", &row.why, "").raw("</td></tr>");
    }
    page.raw("</tbody></table></section>");
}

pub(super) fn people(page: &mut Page, people: &[PersonRow]) {
    page.raw(
        "<section><h2>People and their keys</h2><table><thead><tr><th>Name</th><th>Roles</th><th>Device</th>\
        <th>Entries here</th><th>Key</th></tr></thead><tbody>",
    );
    for person in people {
        for key in &person.keys {
            page.raw("<tr><th scope=\"row\">").text(&person.name).raw("</th>");
            cell(page, "<td data-l=\"Roles\">", &key.roles, "</td>");
            cell(page, "<td data-l=\"Device\">", &key.device, "</td>");
            page.raw("<td class=\"n\" data-l=\"Entries here\">")
                .text(key.entries)
                .raw("</td><td class=\"says\"><code>");
            page.text(key.key.to_hex()).raw("</code>");
            if let Some(reason) = &key.removed {
                page.raw("<small class=\"lack\">removed: ").text(reason).raw("</small>");
            }
            page.raw("</td></tr>");
        }
    }
    page.raw("</tbody></table></section>");
}

pub(super) fn gauges(page: &mut Page, gauges: &[GaugeRow]) {
    if gauges.is_empty() {
        return;
    }
    page.raw("<section><h2>Gauges and wrenches used</h2><table><thead><tr><th>Mark</th><th>What</th><th>What it can do</th>\
        <th>Calibrated, until</th></tr></thead><tbody>");
    for gauge in gauges {
        page.raw("<tr><th scope=\"row\">").text(&gauge.mark).raw("</th>");
        cell(page, "<td data-l=\"What\">", &gauge.sort, "</td>");
        cell(page, "<td data-l=\"What it can do\">", &gauge.facts.join("; "), "</td>");
        page.raw("<td class=\"n\" data-l=\"Calibrated, until\">");
        for (from, to) in &gauge.calibrated {
            page.raw("<div>").text(from.day()).raw(", ").text(to.day()).raw("</div>");
        }
        for doubt in &gauge.doubts {
            page.raw("<small class=\"lack\">").raw(doubt).raw("</small>");
        }
        page.raw("</td></tr>");
    }
    page.raw("</tbody></table></section>");
}
