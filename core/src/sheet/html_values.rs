//! Features on the page: verdicts as pictures, readings as tables.

use std::collections::BTreeSet;

use super::figure_verdict;
use super::html::{badge, mention};
use super::model::{FeatureSheet, ReadingRow, ReadingTable, StationRow, ValueSheet};
use super::page::Page;
use super::picture;
use super::words::capital;

pub(super) fn features(page: &mut Page, list: &[FeatureSheet]) {
    page.raw("<section><h2>What was measured, and what follows</h2><p class=\"about\">Each picture is to scale: the limits \
        with the dimension between them, hatched where this gauge can prove nothing, the value as a pointer with the \
        bar the rule asks for. Lengths at 20 °C where temperature matters.</p>");
    if list.is_empty() {
        page.raw("<p>Nothing is measured yet.</p>");
    }
    for feature in list {
        page.raw("<section class=\"feature\"><h3>").text(&feature.title);
        page.wrap(" <span class=\"part\">part ", &feature.part, "</span>");
        badge(page, feature.state, feature.state.word());
        page.raw("</h3>");
        values(page, &feature.values);
        for one in &feature.tables {
            table(page, one);
        }
        page.raw("</section>");
    }
    page.raw("</section>");
}

/// Each formula once, with where it comes from.
pub(super) fn formulas(page: &mut Page, list: &[FeatureSheet]) {
    let values = list.iter().flat_map(|feature| &feature.values);
    let used: BTreeSet<(&str, &str)> =
        values.filter_map(|value| value.derived.as_ref()).map(|d| (d.formula, d.source)).collect();
    if used.is_empty() {
        return;
    }
    page.raw("<section><h2>Formulas</h2><table><thead><tr><th>Formula</th><th>Where it comes from</th></tr></thead><tbody>");
    for (formula, source) in used {
        page.raw("<tr><th scope=\"row\">")
            .text(formula)
            .raw("</th><td class=\"says\">")
            .text(source)
            .raw("</td></tr>");
    }
    page.raw("</tbody></table></section>");
}

fn values(page: &mut Page, list: &[ValueSheet]) {
    page.raw("<div class=\"values\">");
    for value in list {
        page.raw("<figure class=\"value\"><figcaption><b>").text(capital(&value.name)).raw("</b> ");
        badge(page, value.state, &value.verdict);
        page.raw("</figcaption>");
        match &value.figure {
            Some(figure) => picture::draw(page, "verdict", &figure_verdict::limit_line(figure)),
            None => {
                let shown = if value.value.is_empty() { &value.hindrance } else { &value.value };
                page.wrap("<p class=\"plain\">", shown, "</p>");
            }
        }
        details(page, value);
        page.raw("</figure>");
    }
    page.raw("</div>");
}

fn details(page: &mut Page, value: &ValueSheet) {
    let (read, needed) = value.stations;
    let stations = if read < needed { format!("{read} of {needed}") } else { String::new() };
    page.raw("<dl class=\"facts\">");
    fact(page, "Limits", if value.figure.is_some() { "" } else { &value.limits });
    fact(page, "u", &value.u);
    fact(page, "As read", &value.as_read);
    fact(page, "Stations read", &stations);
    fact(page, "Rule", &value.rule);
    fact(page, "Limits from", &value.limit_source);
    if let Some(by) = &value.limit_by {
        page.raw("<div><dt>Set anew by</dt><dd>");
        mention(page, by);
        page.raw("</dd></div>");
    }
    if let Some(derived) = &value.derived {
        fact(page, "Formula", derived.formula);
        for (name, place, value) in &derived.inputs {
            page.raw("<div><dt>").text(capital(name)).raw("</dt><dd>").text(place);
            page.wrap(": <b>", value, "</b>").raw("</dd></div>");
        }
    }
    if let Some((by, reason)) = &value.conceded {
        page.raw("<div class=\"settled\"><dt>Conceded</dt><dd>").text(reason).raw(" ");
        mention(page, by);
        page.raw("</dd></div>");
    }
    page.raw("</dl>");
}

fn fact(page: &mut Page, name: &'static str, value: &str) {
    if !value.is_empty() {
        page.raw("<div><dt>").raw(name).raw("</dt><dd>").text(value).raw("</dd></div>");
    }
}

fn table(page: &mut Page, table: &ReadingTable) {
    page.raw("<table class=\"readings\"><caption>").text(capital(&table.name));
    page.raw("<span>").raw(table.about).raw("</span></caption><thead><tr><th>Station</th><th>As typed</th>");
    page.raw(if table.corrected { "<th>At 20 °C</th>" } else { "<th>Value</th>" });
    page.raw("<th>u</th><th>Gauge</th><th>Part / gauge</th><th>Read by, entered</th></tr></thead>");
    for station in &table.stations {
        page.raw("<tbody>");
        for (at, reading) in station.readings.iter().enumerate() {
            row(page, station, reading, at == 0);
        }
        if station.readings.len() > 1 || station.state.is_some() {
            stands(page, station);
        }
        page.raw("</tbody>");
    }
    page.raw("</table>");
}

fn row(page: &mut Page, station: &StationRow, reading: &ReadingRow, first: bool) {
    page.raw("<tr").raw(if first { "" } else { " class=\"more\"" }).raw("><th scope=\"row\">");
    if first {
        page.text(&station.station);
        let conditions = station.conditions.join(", ");
        page.wrap("<small>", &conditions, "</small>");
        if !station.fit {
            page.raw("<small class=\"lack\">conditions missing: kept, not judged</small>");
        }
    }
    page.raw("</th><td class=\"n\" data-l=\"As typed\">").text(&reading.typed);
    page.raw("</td><td class=\"n\" data-l=\"Value\"><b>").text(&reading.corrected);
    page.raw("</b></td><td class=\"n\" data-l=\"u\">").text(if reading.u.is_empty() {
        "not known"
    } else {
        &reading.u
    });
    page.raw("</td><td data-l=\"Gauge\">")
        .text(&reading.gauge)
        .raw("</td><td class=\"n\" data-l=\"Part / gauge\">");
    temperatures(page, reading);
    page.raw("</td><td data-l=\"Read by, entered\">")
        .text(&reading.read_by)
        .raw(" <time datetime=\"")
        .text(reading.by.when);
    page.raw("\">")
        .text(reading.by.when.spaced())
        .raw("</time> <code>")
        .text(reading.by.entry.short())
        .raw("</code>");
    if reading.status != "stands" {
        page.raw("<small class=\"lack\">").raw(reading.status).raw("</small>");
    }
    page.wrap("<small>", &reading.remarks, "</small>").raw("</td></tr>");
}

fn temperatures(page: &mut Page, reading: &ReadingRow) {
    match (reading.part_temperature.as_str(), reading.gauge_temperature.as_str()) {
        ("", "") => page.raw("–"),
        (part, gauge) if part == gauge => page.text(part),
        (part, gauge) => {
            let shown = |text: &str| if text.is_empty() { "not known".to_owned() } else { text.to_owned() };
            page.text(shown(part)).raw(" / ").text(shown(gauge))
        }
    };
}

/// What several readings of one station come to.
fn stands(page: &mut Page, station: &StationRow) {
    page.raw("<tr class=\"stands\"><th scope=\"row\">stands</th><td></td><td class=\"n\" data-l=\"Stands\">");
    match station.state {
        Some(state) => badge(page, state, &station.stands),
        None => {
            page.raw("<b>").text(&station.stands).raw("</b>");
        }
    }
    page.raw("</td><td class=\"n\" data-l=\"u\">").text(&station.u).raw("</td><td colspan=\"3\"></td></tr>");
}
