//! What takes the place of paper on the phone app in a real browser: worksheets and the printed record.
#![allow(clippy::unwrap_used)]

mod browser_kit;

use browser_kit::keeps_the_app;
use browser_kit::shop::Shop;

#[test]
fn a_worksheet_is_worked_out_by_whoever_has_no_record_and_no_office() {
    let mut shop = Shop::opens();
    let phone = shop.browser_of(tempfile::tempdir().unwrap());
    phone.says("Paste the code of the invite");
    keeps_the_app(&phone);
    shop.office_closes();
    phone.go(&shop.url);
    phone.presses("Worksheets: they need no workshop");
    phone.types("Look for", "oil clearance");
    phone.presses_at("//a[strong='oil-clearance']");
    phone.types("housing", "61.005");
    phone.says("still needed: journal");
    phone.types("wall", "2.108");
    phone.types("other wall", "2.110");
    phone.types("journal", "56.740");
    // 61.005 - 2.108 - 2.110 - 56.740, by hand.
    phone.says("0.0470 mm");
    phone.types("journal", "5674");
    phone.says("5674 mm is outside above 0 and up to 500 mm");
    drop(phone);
    shop.ends();
}

#[test]
fn the_printed_record_holds_the_readings_and_the_digits_to_check_it_by() {
    let mut shop = Shop::opens();
    let phone = shop.phone_of("Ben");
    phone.at_bore(1, "20");
    phone.reads_bore(1, ["80.508", "80.507", "80.509", "80.506", "80.510", "80.511"]);
    phone.says("all at the office");
    let sheet = shop.lead_knows();
    phone.goes("print");
    phone.until("the page", || !phone.printed().is_empty());
    let printed = phone.printed();
    for value in ["80.508", "80.507", "80.509", "80.506", "80.510", "80.511"] {
        assert!(printed.contains(&format!("{value} mm")), "{value}: {printed}");
    }
    let digits: String = printed.split_whitespace().collect();
    assert!(digits.contains(&sheet.verify.entries_digest), "over all entries, as the lead's home has it");
    assert!(digits.contains(&sheet.verify.root.unwrap().to_hex()), "the workshop's root");

    // On paper there is the record, and nothing of the app around it.
    let paper = phone.paper();
    assert!(paper.starts_with(b"%PDF-") && paper.len() > 20_000, "{} bytes", paper.len());
    drop(phone);
    shop.ends();
}
