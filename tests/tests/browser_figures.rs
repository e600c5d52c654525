//! Figures of the phone app in a real browser, on this machine as it is and four times slower. They
//! are printed and not judged: `cargo nextest run --profile ci -p gudgeon-tests --test browser_figures`.
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
