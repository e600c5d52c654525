//! The printed record: safe, self-contained, the same for any order of arrival, readable.
//! All data is invented.
#![allow(clippy::unwrap_used)]

mod sheet_kit;

use gudgeon_core::assess::{Record, Workshop, assess};
use gudgeon_core::log::Log;
use gudgeon_core::sheet::{Sheet, State, digest_of_ids, html, model};
use sheet_kit::{Shop, sample, sample_named};

fn sheet_of(shop: &Shop) -> Sheet {
    let (record, workshop, assessment) = shop.assessed();
    model(&record, &workshop, &assessment)
}

/// Writes the page where a person can look at it: the name of the directory is an argument.
#[test]
fn the_sample_is_one_page_that_fetches_nothing_and_runs_nothing() {
    let page = html(&sheet_of(&sample()));
    if let Some(dir) = std::env::var_os("GUDGEON_SHEET_OUT") {
        std::fs::write(std::path::Path::new(&dir).join("sample.html"), &page).unwrap();
    }
    for foreign in [
        "http:",
        "https:",
        "//",
        "<script",
        "javascript:",
        "<link",
        "<img",
        "@import",
        " src=",
        " href=",
        " on",
    ] {
        let style_free = page.split_once("</style>").unwrap().1;
        let found = style_free.find(foreign).filter(|_| foreign != " on");
        assert!(found.is_none(), "{foreign} at {found:?}");
    }
    let style = page.split_once("<style>").unwrap().1.split_once("</style>").unwrap().0;
    for (at, _) in style.match_indices("url(") {
        let target = &style[at + 4..];
        assert!(
            target.starts_with("data:font/woff2;base64,") || target.starts_with('#'),
            "{}",
            &target[..20]
        );
    }
    assert!(!style.contains("@import"));
}

/// Every element that is opened is closed, in order; no `<` or `&` stands loose.
fn tags_balance(page: &str) -> Result<usize, String> {
    const EMPTY: [&str; 2] = ["meta", "br"];
    let mut open: Vec<&str> = Vec::new();
    let mut count = 0;
    let mut rest = page;
    while let Some(at) = rest.find('<') {
        let end = rest[at..].find('>').ok_or("a tag is not closed")? + at;
        let tag = &rest[at + 1..end];
        rest = &rest[end + 1..];
        if tag.starts_with('!') || tag.ends_with('/') {
            continue;
        }
        if let Some(name) = tag.strip_prefix('/') {
            let last = open.pop().ok_or_else(|| format!("</{name}> closes nothing"))?;
            if last != name {
                return Err(format!("</{name}> closes <{last}>"));
            }
            continue;
        }
        let name = tag.split_whitespace().next().unwrap_or_default();
        if !name.bytes().all(|b| b.is_ascii_alphanumeric()) || !tag.matches('"').count().is_multiple_of(2) {
            return Err(format!("<{tag}> is no tag"));
        }
        count += 1;
        if name == "style" {
            let style_end = rest.find("</style>").ok_or("style without end")?;
            rest = &rest[style_end..];
        }
        if !EMPTY.contains(&name) {
            open.push(name);
        }
    }
    if open.is_empty() { Ok(count) } else { Err(format!("never closed: {open:?}")) }
}

#[test]
fn the_page_is_well_formed() {
    let count = tags_balance(&html(&sheet_of(&sample()))).unwrap();
    assert!(count > 1000, "{count}");
    assert!(tags_balance("<p><b></p>").is_err());
}

#[test]
fn what_people_type_never_becomes_markup() {
    let evil = "<script>alert(1)</script>";
    let quoted = "\"><img/src=x>";
    let shop = sample_named([evil, quoted, "Ruth \u{202e}& Co"]);
    let sheet = sheet_of(&shop);
    assert!(sheet.people.iter().any(|person| person.name == evil), "the model keeps what was typed");
    let page = html(&sheet);
    tags_balance(&page).unwrap();
    assert!(!page.contains("<script") && !page.contains("<img") && !page.contains('\u{202e}'));
    assert!(page.contains("&lt;script&gt;alert(1)&lt;/script&gt;"));
    assert!(page.contains("&quot;&gt;&lt;img/src=x&gt;"));
    assert!(page.contains("Ruth \u{fffd}&amp; Co"));
}

#[test]
fn the_same_entries_give_the_same_bytes_in_any_order_of_arrival() {
    let shop = sample();
    let wanted = html(&sheet_of(&shop));
    let insert = |entries: &mut dyn Iterator<Item = &gudgeon_core::entry::Entry>, mut log: Log| {
        entries.for_each(|entry| {
            log.insert(entry);
        });
        log
    };
    for step in [1_usize, 7, 31] {
        let shuffled = |all: &[gudgeon_core::entry::Entry]| -> Vec<gudgeon_core::entry::Entry> {
            let mut order: Vec<usize> = (0..all.len()).collect();
            order.sort_by_key(|at| (at * step * 17 + step) % 61);
            order.reverse();
            order.into_iter().map(|at| all[at].clone()).collect()
        };
        let record = shuffled(&shop.record.entries);
        let workshop = shuffled(&shop.workshop.entries);
        let record = Record::read(insert(&mut record.iter(), Log::new(shop.record.log.document())));
        let workshop = Workshop::read(insert(&mut workshop.iter(), Log::new(shop.workshop.log.document())));
        let assessment = assess(&record, &workshop);
        assert!(html(&model(&record, &workshop, &assessment)) == wanted, "order {step} gives another page");
    }
}

#[test]
fn the_model_says_what_the_sample_holds() {
    let shop = sample();
    let sheet = sheet_of(&shop);
    let drawing = sheet.drawing.as_ref().unwrap();
    let states: Vec<State> = drawing.banks[0].bores.iter().map(|bore| bore.state).collect();
    assert_eq!(states, [State::NotProven, State::Outside, State::NotProven, State::NotRead]);
    let pins: Vec<State> = drawing.pins.iter().map(|pin| pin.shape.state).collect();
    assert_eq!(pins, [State::Proven, State::Proven, State::Disputed, State::NotRead]);
    assert_eq!(drawing.rods[1].state, State::Stale);
    // Firing order 1-3-4-2 of a four: throws 1 and 4 together, 2 and 3 opposite (common practice, no source).
    assert_eq!(drawing.pins.iter().map(|pin| pin.degrees).collect::<Vec<_>>(), [0, 180, 180, 0]);
    let conceded: Vec<&str> = sheet.conceded.iter().map(|row| row.place.as_str()).collect();
    assert_eq!(conceded, ["Bore 2"]);
    let stages: Vec<(&str, &str, &str)> = sheet.tightenings[0]
        .rows
        .iter()
        .map(|row| (row.what.as_str(), row.set.as_str(), row.other.as_str()))
        .collect();
    // 28 N·m / 1.355 818 = 20.65 lbf·ft (NIST SP 811, B.8); 31 lbf·ft is 42.03 N·m.
    let wanted = [
        ("Nipped by hand", "", ""),
        ("Stage 1", "28 N·m", "20.7 lbf·ft"),
        ("Turns freely? yes", "", ""),
        ("Stage 2", "31 lbf·ft", "42 N·m"),
        ("Turns freely? yes", "", ""),
    ];
    assert_eq!(stages, wanted);
    let stale = sheet
        .stages
        .iter()
        .flat_map(|stage| &stage.steps)
        .find(|step| step.id == "big-end-clearance/2")
        .unwrap();
    assert_eq!(stale.signatures.len(), 2);
    assert!(stale.signatures[0].stale[0].contains("rod-bolts-changed"), "{stale:?}");
    let why: Vec<&str> = sheet.history.iter().map(|row| row.status).collect();
    assert!(why.contains(&"voided") && why.contains(&"ended"), "{why:?}");
    let piston = sheet.parts.iter().find(|part| part.mark == "piston/B").unwrap();
    assert_eq!(piston.place, "out with the balancer since 2026-02-03");
}

#[test]
fn the_figures_to_check_follow_from_the_entries() {
    use sha2::Digest as _;
    let shop = sample();
    let verify = sheet_of(&shop).verify;
    assert_eq!(verify.entries, shop.record.entries.len());
    let mut ids: Vec<[u8; 32]> = shop.record.entries.iter().map(|entry| *entry.id().bytes()).collect();
    ids.sort_unstable();
    let digest = sha2::Sha256::digest(ids.concat());
    let hex: String = digest.iter().map(|byte| format!("{byte:02x}")).collect();
    assert_eq!(verify.entries_digest, hex);
    assert_eq!(digest_of_ids(&shop.record.log), hex);
    assert_eq!(verify.root, Some(gudgeon_core::entry::Author::from_secret(&[9; 32]).key()));
}

/// Colours of the style, by name, in the order in which they are written: paper, then blueprint.
fn tokens(style: &str, name: &str) -> Vec<[u8; 3]> {
    let key = format!("--{name}:#");
    let hex = |text: &str, at: usize| u8::from_str_radix(&text[at..at + 2], 16).unwrap();
    let full = |text: &str| text.len() >= 6 && text.bytes().take(6).all(|b| b.is_ascii_hexdigit());
    style
        .split(&key)
        .skip(1)
        .filter(|rest| full(rest))
        .map(|rest| [hex(rest, 0), hex(rest, 2), hex(rest, 4)])
        .collect()
}

/// WCAG 2.2, definition of contrast ratio: relative luminances with 0.05 added to each.
fn contrast(a: [u8; 3], b: [u8; 3]) -> f64 {
    let luminance = |rgb: [u8; 3]| {
        let linear = |channel: u8| {
            let c = f64::from(channel) / 255.0;
            if c <= 0.040_45 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * linear(rgb[0]) + 0.7152 * linear(rgb[1]) + 0.0722 * linear(rgb[2])
    };
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

#[test]
fn every_text_meets_wcag_aa_on_every_ground_in_both_themes() {
    let page = html(&sheet_of(&sample()));
    let style = page.split_once("<style>").unwrap().1.split_once("</style>").unwrap().0;
    for ground in ["paper", "sheet", "key"] {
        for text in ["ink", "soft", "act", "proven", "not-proven", "outside", "disputed", "stale"] {
            let (grounds, texts) = (tokens(style, ground), tokens(style, text));
            assert_eq!((grounds.len(), texts.len()), (2, 2), "{ground} {text}");
            for (ground_rgb, text_rgb) in grounds.iter().zip(&texts) {
                let ratio = contrast(*ground_rgb, *text_rgb);
                assert!(ratio >= 4.5, "{text} on {ground}: {ratio:.2}, AA asks for 4.5");
            }
        }
    }
}
