//! The phone app in a real browser, with a real relay on a real disk. Needs chromium, chromedriver
//! and the app as `cargo xtask phone` builds it.
#![allow(clippy::unwrap_used)]

mod browser_kit;

use browser_kit::driver::{Browser, Driver};
use browser_kit::{Lead, Office, PIN, joined};

/// Opens the reading of the first bore.
fn opens_bore(phone: &Browser) {
    phone.presses_beginning("Engine one");
    phone.presses_at("//*[starts-with(@aria-label, 'Bore 1, ')]");
    phone.presses_at("//a[@aria-label='Read diameter']");
}

/// Types a value on the screen's own keys and keeps it.
fn reads(phone: &Browser, value: &str) {
    value.chars().for_each(|key| phone.presses(&key.to_string()));
    phone.presses("Keep");
    phone.says(&format!("{value} mm"));
}

fn says_who(phone: &Browser) {
    phone.presses("Say who you are");
    phone.types("PIN", PIN);
    phone.presses("That is me");
}

#[test]
fn joined_by_invite_a_phone_reads_signs_and_loses_nothing_though_it_is_killed_while_the_office_is_away() {
    let (data, profile) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let office = Office::open(data.path().to_owned(), None);
    let mut lead = Lead::founds(office.at);
    let driver = Driver::start();
    let phone = joined(&driver, profile.path(), &office, &mut lead);

    opens_bore(&phone);
    reads(&phone, "82.51");
    phone.says("at the office");
    lead.meets();
    assert_eq!(lead.readings(), ["82.51"]);

    let (url, at) = (office.url(), office.close());
    reads(&phone, "82.52");
    phone.says("on this phone");
    phone.says("1 here only");
    phone.kill();

    // No relay anywhere: the app comes from the service worker's cache, and what was kept is there.
    let phone = driver.browser(profile.path());
    phone.go(&url);
    phone.says("Engine one");
    phone.says("1 here only");
    says_who(&phone);
    opens_bore(&phone);
    reads(&phone, "82.53");
    phone.says("2 here only");

    let office = Office::open(data.path().to_owned(), Some(at));
    phone.says("all at the office");
    phone.go(&format!("{url}#/record/{}/step/received", lead.record.to_hex()));
    phone.says("Photograph, write down the numbers");
    phone.types("PIN of Ben", PIN);
    phone.presses("Hold to sign as Ben");
    phone.presses("Sign without holding");
    phone.says("signed, at the office");
    lead.meets();
    assert_eq!(lead.readings(), ["82.51", "82.52", "82.53"], "each once");
    assert_eq!(lead.signed(), ["received"]);
    drop(phone);
    office.close();
}

#[test]
fn of_two_tabs_one_writes_and_the_other_follows_and_takes_over() {
    let (data, profile) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let office = Office::open(data.path().to_owned(), None);
    let mut lead = Lead::founds(office.at);
    let driver = Driver::start();
    let phone = joined(&driver, profile.path(), &office, &mut lead);
    opens_bore(&phone);
    let place = phone.script("return location.href").as_str().unwrap().to_owned();
    let first = phone.tab();

    let second = phone.new_tab();
    phone.go(&place);
    phone.says("this one only looks on");
    phone.turn_to(&first);
    reads(&phone, "82.51");
    phone.turn_to(&second);
    // It is nobody's phone there, so that a value of another is not shown before a blind reading.
    phone.says("read by another");

    phone.turn_to(&first);
    phone.close_tab();
    phone.turn_to(&second);
    phone.until("it takes over", || !phone.text().contains("only looks on"));
    drop(phone);
    office.close();
}
