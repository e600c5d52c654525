//! What the phone app says in a real browser when its storage fails: full, forgotten, refused. It
//! never goes on in memory alone.
#![allow(clippy::unwrap_used)]

mod browser_kit;

use browser_kit::PIN;
use browser_kit::driver::{Driver, ENTER};
use browser_kit::shop::Shop;

#[test]
fn on_a_full_phone_nothing_is_called_kept_and_what_was_kept_before_is_safe() {
    let mut shop = Shop::opens();
    let phone = shop.phone_of("Ben");
    shop.office_closes();
    phone.at_bore(1, "20");
    phone.gauge_reads("80.508", "bore 1 top thrust 80.508 mm");

    // Turned on again there is no room. The browser looks at it when it is started, and then seldom.
    let phone = shop.with_room(phone, 1);
    phone.held_by("Ben", PIN);
    phone.goes("read/bore/1/diameter");
    phone.says("bore 1: top, axial");
    phone.keys(&format!("80.507{ENTER}"));
    phone.says("not kept: ");
    phone.says("free some room on this phone; what was shown as kept before is safe");
    assert!(!phone.text().contains("80.507 mm, on this phone"), "{}", phone.text());

    // Room again: what was shown as kept is there, and what was not is not.
    let phone = shop.kills(phone);
    phone.held_by("Ben", PIN);
    phone.at_bore(1, "20");
    phone.says("bore 1: top, axial");
    phone.gauge_reads("80.509", "bore 1 top axial 80.509 mm");
    shop.office_opens();
    phone.says("all at the office");
    shop.lead.meets();
    assert_eq!(shop.lead.readings(), ["80.508", "80.509"]);
    drop(phone);
    shop.ends();
}

#[test]
fn records_that_the_browser_has_forgotten_are_said_to_be_lost_with_the_way_to_get_them_back() {
    let mut shop = Shop::opens();
    let phone = shop.phone_of("Ben");
    let profile = phone.closes();
    std::fs::remove_dir_all(profile.path().join("Default/IndexedDB")).unwrap();
    let phone = shop.browser_of(profile);
    phone.says("this browser has forgotten the records that it kept");
    phone.says("join again by a new invite: what reached the office comes back, what was only here does not");
    shop.lets_in(&phone, "Ben again", PIN);
    phone.says("Engine one");
    drop(phone);
    shop.ends();
}

#[test]
fn a_browser_that_keeps_nothing_is_told_and_is_not_joined() {
    let shop = Shop::opens_by(Driver::start_keeping_nothing());
    let phone = shop.browser_of(tempfile::tempdir().unwrap());
    phone.says("this browser keeps nothing for this page");
    phone.says("leave private browsing, or allow this page to keep data, then reload");
    assert!(!phone.text().contains("Code of the invite"), "nobody joins to lose it: {}", phone.text());
    drop(phone);
    shop.ends();
}
