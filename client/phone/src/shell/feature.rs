//! One feature.

use gudgeon_core::entry::EntryId;
use gudgeon_core::sheet::{
    Derived, Event as Told, FeatureSheet, Mention, PastRow, ReadingRow, ReadingTable, StationRow, ValueSheet,
};
use leptos::prelude::*;

use super::{drawing, go, limit_line, parts, send};
use crate::app::desk::Where;
use crate::app::feature::{Event, Read, Seen, View};

pub(super) fn draw(view: Memo<View>) -> impl IntoView {
    // Drawn anew only where the record has changed.
    let seen = Memo::new(move |_| view.with(|view| view.seen.clone()));
    let kept = move || {
        let place = view.with(|view| view.kept)?;
        Some(
            view! { <p class="kept" role="status">"the void is kept, " <span class="where">{place}</span></p> },
        )
    };
    view! {
        {move || view.with(|view| view.nothing).map(|text| view! { <p class="quiet sheet">{text}</p> })}
        {kept}
        {move || whole(view, &seen.get())}
    }
}

fn whole(view: Memo<View>, seen: &Seen) -> impl IntoView + use<> {
    let state =
        seen.state.map(|state| view! { <p class="loudest">{drawing::badge(state, state.word())}</p> });
    let known = seen.page.known.iter().map(|known| known_of(view, known, &seen.own)).collect_view();
    let beside = seen.beside.iter().cloned().map(|(title, state, place)| {
        let address = format!("#{}", place.address());
        view! {
            <li><a class="beside" href=address on:click=go(place)><span>{title}</span>{drawing::badge(state, state.word())}</a></li>
        }
        .into_any()
    });
    view! {
        <section class="feature">
            {state}
            {parts::hidden(seen.hidden, || Event::Reveal)}
            {known}
            {list("Read", seen.reads.iter().map(read).collect())}
            {list("No longer standing", seen.page.past.iter().map(|row| past(view, row)).collect())}
            {list("Done here", seen.page.done.iter().map(|event| done(view, event)).collect())}
            {list("Beside it", beside.collect())}
        </section>
    }
}

/// A list under its heading; nothing where there is nothing in it.
fn list(heading: &'static str, lines: Vec<AnyView>) -> impl IntoView {
    (!lines.is_empty()).then(|| view! { <h2>{heading}</h2><ul class="rows">{lines}</ul> })
}

fn read(read: &Read) -> AnyView {
    let Read { name, about, stations: (some, all), place } = read.clone();
    let address = format!("#{}", place.address());
    let how_far = if some == 0 { "not read".to_owned() } else { format!("{some} of {all} read") };
    view! {
        <li class="line">
            <div class="what"><strong>{name.clone()}</strong><span>{how_far}</span><span class="quiet">{about}</span></div>
            <a class="go" href=address aria-label=format!("Read {name}") on:click=go(place)>"Read"</a>
        </li>
    }
    .into_any()
}

/// What stands, of one part or of none.
fn known_of(view: Memo<View>, known: &FeatureSheet, own: &[EntryId]) -> impl IntoView + use<> {
    let part =
        (!known.part.is_empty()).then(|| view! { <p class="quiet">{format!("part {}", known.part)}</p> });
    let values = known.values.iter().map(|one| value(view, one)).collect_view();
    let tables = known.tables.iter().map(|table| table_of(view, table, own)).collect_view();
    view! {
        <h2>"What stands"</h2>
        {part}
        {values}
        {tables}
    }
}

fn value(view: Memo<View>, value: &ValueSheet) -> impl IntoView + use<> {
    let ValueSheet { name, state, verdict, figure, conceded, derived, .. } = value.clone();
    let picture = figure.map(|figure| limit_line::draw(&figure));
    let conceded = conceded.map(|(by, why)| view! { <p>"conceded by " {by_whom(view, &by)} ": " {why}</p> });
    view! {
        <article class="value-sheet">
            <h3>{name}{drawing::badge(state, verdict)}</h3>
            {picture}
            <dl>{facts(view, value).into_iter().map(fact).collect_view()}</dl>
            {conceded}
            {derived.map(derived_from)}
        </article>
    }
}

/// What there is to say of a value besides the picture: name and text.
fn facts(view: Memo<View>, value: &ValueSheet) -> Vec<(&'static str, String)> {
    let (read, needed) = value.stations;
    let rule = |limits: &str| format!("{limits}, {}", value.rule);
    let facts = [
        ("value", value.value.clone()),
        ("as read, not at 20 °C", value.as_read.clone()),
        ("limits", if value.limits.is_empty() { String::new() } else { rule(&value.limits) }),
        ("from", value.limit_source.clone()),
        ("set by", value.limit_by.as_ref().map(|by| by_whom(view, by)()).unwrap_or_default()),
        ("uncertainty u", value.u.clone()),
        ("in the way", value.hindrance.clone()),
        ("stations", if read < needed { format!("{read} of {needed} read") } else { String::new() }),
    ];
    facts.into_iter().filter(|(_, text)| !text.is_empty()).collect()
}

fn fact((name, text): (&'static str, String)) -> impl IntoView {
    view! { <div><dt>{name}</dt><dd>{text}</dd></div> }
}

fn derived_from(derived: Derived) -> impl IntoView {
    let input = |(name, place, value): (String, String, String)| view! { <div><dt>{format!("{name}, {place}")}</dt><dd>{value}</dd></div> };
    view! {
        <p class="formula">{derived.formula}</p>
        <dl>{derived.inputs.into_iter().map(input).collect_view()}</dl>
        <p class="quiet">{derived.source}</p>
    }
}

fn table_of(view: Memo<View>, table: &ReadingTable, own: &[EntryId]) -> impl IntoView + use<> {
    let corrected = table.corrected.then_some("at 20 °C");
    let stations = table.stations.iter().map(|row| station(view, row, own)).collect_view();
    view! {
        <h3>{format!("{}, readings", table.name)}<small>{corrected}</small></h3>
        {stations}
    }
}

fn station(view: Memo<View>, row: &StationRow, own: &[EntryId]) -> impl IntoView + use<> {
    let StationRow { station, conditions, fit, stands, u, state, .. } = row.clone();
    let u = (!u.is_empty()).then(|| view! { <span>{format!("u {u}")}</span> });
    let stands = match state {
        Some(state) => drawing::badge(state, stands).into_any(),
        None => view! { <b>{stands}</b> }.into_any(),
    };
    let conditions = (!conditions.is_empty()).then(|| conditions.join(", "));
    let unfit = (!fit).then_some("not under the conditions it needs");
    let readings =
        row.readings.iter().map(|row| reading(view, row, own.contains(&row.by.entry))).collect_view();
    view! {
        <div class="station-sheet">
            <p class="stands"><span>{station}</span>{stands}{u}</p>
            <p class="quiet">{conditions}</p>
            <p class="quiet">{unfit}</p>
            <ul class="rows">{readings}</ul>
        </div>
    }
}

fn reading(view: Memo<View>, row: &ReadingRow, own: bool) -> impl IntoView + use<> {
    let entry = row.by.entry;
    let temperatures = match (row.part_temperature.as_str(), row.gauge_temperature.as_str()) {
        ("", "") => "no temperature".to_owned(),
        (part, gauge) if part == gauge => format!("part and gauge {part}"),
        (part, gauge) => format!("part {part}, gauge {gauge}"),
    };
    let u = if row.u.is_empty() { "uncertainty not known".to_owned() } else { format!("u {}", row.u) };
    let with = [format!("gauge {}", row.gauge), temperatures, u, row.remarks.clone()];
    let with: Vec<String> = with.into_iter().filter(|text| !text.is_empty()).collect();
    let status = (row.status != "stands").then_some(row.status);
    let read_by = Mention { who: row.read_by.clone(), ..row.by.clone() };
    view! {
        <li class="reading">
            <p><b>{row.typed.clone()}</b>" "<span>{row.corrected.clone()}</span>" "<em>{status}</em></p>
            <p>{by_whom(view, &read_by)}", "{place_of(view, entry)}</p>
            <p class="quiet">{with.join("; ")}</p>
            {own.then(|| void(view, entry, &row.typed))}
        </li>
    }
}

/// Withdrawing a reading of one's own, with the reason.
fn void(view: Memo<View>, entry: EntryId, typed: &str) -> impl IntoView + use<> {
    let name = format!("Void {typed}");
    let meant = Memo::new(move |_| view.with(|view| view.voiding == Some(entry)));
    move || {
        if !meant.get() {
            let open = move |_| send(Event::Void(Some(entry)));
            return view! { <button class="void" aria-label=name.clone() on:click=open>"Void"</button> }
                .into_any();
        }
        view! {
            <div class="voiding">
                {parts::field("Why it does not count", "text", move || view.with(|view| view.reason.clone()), Event::Reason)}
                {parts::problem(move || view.with(|view| view.problem.clone()))}
                <button class="void" prop:disabled=move || view.with(|view| view.busy) on:click=|_| send(Event::Withdraw)>
                    {move || if view.with(|view| view.busy) { "being kept" } else { "Void this reading" }}
                </button>
                <button class="void" on:click=|_| send(Event::Void(None))>"Let it stand"</button>
            </div>
        }
        .into_any()
    }
}

fn past(view: Memo<View>, row: &PastRow) -> AnyView {
    let cause = |cause: &Told| {
        let text = cause.text.clone();
        view! { <p>{by_whom(view, &cause.by)} ": " {text}</p> }.into_any()
    };
    let why: Vec<AnyView> = if row.causes.is_empty() {
        (!row.why.is_empty()).then(|| view! { <p>{row.why.clone()}</p> }.into_any()).into_iter().collect()
    } else {
        row.causes.iter().map(cause).collect()
    };
    view! {
        <li class="reading">
            <p><s>{row.text.clone()}</s>" "<em>{row.status}</em></p>
            <p>{by_whom(view, &row.by)}", "{place_of(view, row.by.entry)}</p>
            {why}
        </li>
    }
    .into_any()
}

fn done(view: Memo<View>, event: &Told) -> AnyView {
    view! {
        <li class="reading">
            <p>{event.text.clone()}</p>
            <p class="quiet">{by_whom(view, &event.by)}", "{place_of(view, event.by.entry)}</p>
        </li>
    }
    .into_any()
}

/// Who made an entry, and when by the clocks here.
fn by_whom(view: Memo<View>, by: &Mention) -> impl Fn() -> String + use<> {
    let (who, when) = (by.who.clone(), by.when);
    move || view.with(|view| format!("{who}, {}", view.when.get(&when).map_or("", String::as_str)))
}

/// Where an entry is, as of now.
fn place_of(view: Memo<View>, entry: EntryId) -> impl IntoView {
    let words = move || view.with(|view| view.places.get(&entry).map_or("", Where::words));
    view! { <span class="where">{words}</span> }
}
