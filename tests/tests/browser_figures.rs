//! Figures of the phone app in a real browser, on this machine as it is and four times slower. They
//! are printed and not judged: `cargo xtask phone --figures`.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

mod browser_kit;

use browser_kit::driver::{Browser, Driver};
use browser_kit::{Lead, Office, joined};

/// A number that a function of the app answers.
fn figure(phone: &Browser, call: &str) -> f64 {
    let script = format!("return import(new URL('phone.js', location.href)).then((app) => app.{call})");
    phone.script(&script).as_f64().expect("a number")
}

fn memory(phone: &Browser) -> f64 {
    let script = "return import(new URL('phone.js', location.href)).then((app) => app.default()).then((wasm) => wasm.memory.buffer.byteLength)";
    phone.script(script).as_f64().expect("a number") / 1048576.0
}

/// Milliseconds from a key of the keypad to the frame that shows what it comes to, each of many.
const KEYS: &str = r"
const done = arguments[arguments.length - 1];
const shown = () => new Promise((then) => requestAnimationFrame(() => setTimeout(then)));
const key = (name) => [...document.querySelectorAll('button')].find((e) => (e.getAttribute('aria-label') || e.textContent).trim() === name);
(async () => {
  const took = [];
  for (let round = 0; round < 20; round += 1) {
    for (const name of ['5', '0', 'point', '1', '2']) {
      const from = performance.now();
      key(name).click();
      await shown();
      took.push(performance.now() - from);
    }
    for (let at = 0; at < 5; at += 1) { key('take one away').click(); }
    await shown();
  }
  done(took.sort((a, b) => a - b));
})().catch((error) => done(String(error)));
";

/// From now on the page notes what kept it longer than 50 ms.
const NOTE_LONG: &str = r"
window.long = [];
new PerformanceObserver((list) => list.getEntries().forEach((e) => window.long.push(e.duration)))
  .observe({ type: 'longtask', buffered: true });
";

fn milliseconds(of: &serde_json::Value) -> Vec<f64> {
    of.as_array().unwrap_or_else(|| panic!("{of}")).iter().filter_map(serde_json::Value::as_f64).collect()
}

/// A phone with a record of a whole build: how long the screen is kept.
fn large(driver: &Driver, entries: usize) {
    let (data, profile) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let office = Office::open(data.path().to_owned(), None);
    let mut lead = Lead::founds(office.at);
    let phone = joined(driver, profile.path(), &office, &mut lead);
    phone.slower(4);
    phone.script(NOTE_LONG);
    lead.reads_many(entries);
    lead.meets();
    phone.says("all at the office");
    let url = format!("{}#/record/{}", office.url(), lead.record.to_hex());
    phone.go(&url);
    phone.until("the record", || phone.text().to_lowercase().contains("what is next"));
    let longest = milliseconds(&phone.script("return window.long")).into_iter().fold(0.0, f64::max);
    println!(
        "4x, {entries} entries come in and the engine is opened: the longest that the screen stood {longest:.0} ms"
    );
    phone.script("window.long = []");
    phone.go(&format!("{url}/read/pin/3/diameter"));
    phone.says("Keep");
    let took = milliseconds(&phone.script_later(KEYS));
    let at = |share: usize| took[(took.len() - 1) * share / 100];
    println!(
        "4x, {entries} entries: key to verdict, median {:.0} ms, 99 of 100 within {:.0} ms (a frame is 17)",
        at(50),
        at(99)
    );
    office.close();
    drop(phone);
    let phone = driver.browser(profile.path());
    phone.slower(4);
    phone.go(&url);
    phone.until("the record", || phone.text().to_lowercase().contains("what is next"));
    let usable = phone.script("return performance.now()").as_f64().expect("a number");
    println!(
        "4x, {entries} entries: cold start from the cache to the engine, the office away: {usable:.0} ms"
    );
}

#[test]
fn what_a_large_record_costs() {
    let driver = Driver::start();
    large(&driver, 1_000);
    large(&driver, 3_000);
}

#[test]
fn what_a_browser_needs_for_the_dear_things() {
    let (data, profile) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let office = Office::open(data.path().to_owned(), None);
    let mut lead = Lead::founds(office.at);
    let driver = Driver::start();
    let phone = joined(&driver, profile.path(), &office, &mut lead);
    let url = office.url();
    office.close();
    println!("memory of the module with one small record and one key made: {:.0} MiB", memory(&phone));
    for slower in [1, 4] {
        phone.slower(slower);
        let pins: Vec<String> = (0..3).map(|_| format!("{:.0}", figure(&phone, "measure_pin()"))).collect();
        println!("{slower}x: a PIN takes {} ms", pins.join(", "));
        let taken = figure(&phone, "measure_checks(500)");
        println!("{slower}x: {:.0} entries checked in a second", 500_000.0 / taken);
    }
    println!("memory of the module after that: {:.0} MiB", memory(&phone));
    phone.kill();
    for slower in [1, 4] {
        let phone = driver.browser(profile.path());
        phone.slower(slower);
        phone.go(&url);
        phone.says("Engine one");
        let usable = phone.script("return performance.now()").as_f64().expect("a number");
        println!(
            "{slower}x: cold start from the cache, the office away, to the list of records: under {usable:.0} ms"
        );
        phone.kill();
    }
}
