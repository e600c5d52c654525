//! Every screen of the phone app, by day and by night: pictured into the folder that GUDGEON_SCREENS
//! names, and looked at for what can be measured: nothing runs over the side, every target is large
//! enough and has a name, and nothing was complained of.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

mod browser_kit;

use std::path::PathBuf;

use browser_kit::driver::{Browser, Driver};
use browser_kit::{Lead, Office, joined};

/// Screens by a name for the picture and what follows the `#`; `{r}` is the record.
const SCREENS: &[(&str, &str)] = &[
    ("workshop", "/records"),
    ("engine", "/record/{r}"),
    ("feature", "/record/{r}/feature/pin/3"),
    ("reading", "/record/{r}/read/pin/3/diameter"),
    ("step", "/record/{r}/step/received"),
    ("step-cylinder", "/record/{r}/step/piston-in/1"),
    ("tightening", "/record/{r}/tighten/rod-bolts/rod/2/bolts"),
    ("rings", "/record/{r}/rings/1"),
    ("changed", "/record/{r}/changed"),
    ("print", "/record/{r}/print"),
    ("worksheets", "/worksheets"),
    ("worksheet", "/worksheet/oil-clearance"),
    ("people", "/people"),
];

/// What is too small, nameless or over the side, in words; CSS pixels, WCAG 2.2 asks for 24, the
/// trade's gloves for 48.
const LOOK: &str = r#"
const found = [];
const name = (e) => (e.getAttribute('aria-label') || e.textContent || e.title || '').trim()
  || (e.labels && e.labels.length ? e.labels[0].textContent.trim() : '');
for (const e of document.querySelectorAll('button, a[href], input, select, textarea, [role=button]')) {
  const box = e.getBoundingClientRect();
  if (box.width === 0 && box.height === 0) continue;
  const target = e.closest('label') && (e.type === 'checkbox' || e.type === 'radio') ? e.closest('label').getBoundingClientRect() : box;
  if (target.height < 47.5 || target.width < 47.5) found.push(`small: ${Math.round(target.width)}x${Math.round(target.height)} "${name(e)}"`);
  if (!name(e)) found.push(`nameless: <${e.tagName.toLowerCase()} class="${e.getAttribute('class')}">`);
}
const over = document.documentElement.scrollWidth - document.documentElement.clientWidth;
if (over > 1) found.push(`${over} px over the side`);
return found;
"#;

/// Waits until the page has stopped changing.
fn settles(phone: &Browser) {
    phone.until("a screen", || {
        let before = phone.text();
        std::thread::sleep(std::time::Duration::from_millis(150));
        !before.trim().is_empty() && before == phone.text()
    });
}

#[test]
fn every_screen_is_whole_by_day_and_by_night() {
    let (data, profile) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let office = Office::open(data.path().to_owned(), None);
    let mut lead = Lead::founds(office.at);
    let driver = Driver::start();
    let phone = joined(&driver, profile.path(), &office, &mut lead);
    let folder = std::env::var_os("GUDGEON_SCREENS").map(PathBuf::from);
    if let Some(folder) = &folder {
        std::fs::create_dir_all(folder).unwrap();
    }
    let url = office.url();
    let mut found = Vec::new();
    for (name, address) in SCREENS {
        phone.go(&format!("{url}#{}", address.replace("{r}", &lead.record.to_hex())));
        settles(&phone);
        for dark in [false, true] {
            phone.theme(dark);
            if let Some(folder) = &folder {
                let theme = if dark { "night" } else { "day" };
                std::fs::write(folder.join(format!("{name}-{theme}.png")), phone.picture()).unwrap();
            }
        }
        let seen = phone.script(LOOK);
        found.extend(
            seen.as_array().unwrap().iter().map(|what| format!("{name}: {}", what.as_str().unwrap())),
        );
    }
    let said = phone.log();
    println!("{said}");
    drop(phone);
    office.close();
    assert!(found.is_empty(), "{}", found.join("\n"));
    assert!(!said.contains("Content Security Policy") && !said.contains("panicked"), "{said}");
}
