//! Every screen of the phone app, by day and by night: pictured into the folder that GUDGEON_SCREENS
//! names, and looked at for what can be measured: nothing runs over the side, not even with text
//! twice as large, every target is large enough, has a name and is reached by Tab, axe-core finds
//! nothing serious, and nothing was complained of.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

mod browser_kit;

use std::path::{Path, PathBuf};

use browser_kit::driver::Browser;
use browser_kit::eyes;
use browser_kit::shop::Shop;

/// Screens by a name for the picture and their place.
const SCREENS: &[(&str, &str)] = &[
    ("workshop", "/records"),
    ("engine", ""),
    ("feature", "feature/pin/3"),
    ("feature-bore", "feature/bore/1"),
    ("reading", "read/pin/3/diameter"),
    ("step", "step/received"),
    ("step-cylinder", "step/piston-in/1"),
    ("tightening", "tighten/rod-bolts/rod/2/bolts"),
    ("rings", "rings/1"),
    ("changed", "changed"),
    ("print", "print"),
    ("worksheets", "/worksheets"),
    ("worksheet", "/worksheet/oil-clearance"),
    ("people", "/people"),
    ("who", "/who/records"),
    ("join", "/join"),
];

/// Rules of axe-core that do not hold everywhere yet: what is drawn on a shape of the engine, a bolt
/// or a step to a ring's mark is not part of its name; samples of hatching in the printed record have
/// none. Each goes from here when it is mended.
const OPEN: [&str; 2] = ["label-content-name-mismatch", "svg-img-alt"];

/// Readings that the record holds: enough of everything to be seen on a screen.
const READINGS: usize = 60;

/// Waits until the page has stopped changing.
fn settles(phone: &Browser) {
    let before = std::cell::RefCell::new(String::new());
    phone.until("a screen", || {
        let now = phone.text();
        let was = before.replace(now.clone());
        !now.trim().is_empty() && was == now
    });
}

fn pictured(phone: &Browser, folder: Option<&Path>, name: &str, theme: &str) {
    if let Some(folder) = folder {
        std::fs::write(folder.join(format!("{name}-{theme}.png")), phone.picture()).unwrap();
    }
}

#[test]
fn every_screen_is_whole_by_day_and_by_night() {
    let mut shop = Shop::opens();
    shop.lead.reads_many(READINGS);
    let phone = shop.phone_of("Ben");
    let folder = std::env::var_os("GUDGEON_SCREENS").map(PathBuf::from);
    if let Some(folder) = &folder {
        std::fs::create_dir_all(folder).unwrap();
    }
    let mut found = Vec::new();
    for (name, place) in SCREENS {
        phone.goes(place);
        settles(&phone);
        for (dark, theme) in [(false, "day"), (true, "night")] {
            phone.theme(dark);
            pictured(&phone, folder.as_deref(), name, theme);
            let judged = eyes::judged(&phone).into_iter();
            let news = judged.filter(|what| !OPEN.iter().any(|rule| what.contains(rule)));
            found.extend(news.map(|what| format!("{name} by {theme}: {what}")));
        }
        let seen = [eyes::whole(&phone), eyes::large(&phone), eyes::by_tab(&phone)].concat();
        found.extend(seen.into_iter().map(|what| format!("{name}: {what}")));
    }
    let said = phone.log();
    println!("{said}");
    drop(phone);
    shop.ends();
    assert!(found.is_empty(), "{}", found.join("\n"));
    assert!(!said.contains("Content Security Policy") && !said.contains("panicked"), "{said}");
}
