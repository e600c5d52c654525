//! What the page says when the program in it cannot go on.
#![allow(clippy::unwrap_used)]

mod browser_kit;

use browser_kit::Office;
use browser_kit::driver::Driver;

#[test]
fn a_fault_of_the_program_is_said_and_the_way_out_leads_back() {
    let (data, profile) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let office = Office::open(data.path().to_owned(), None);
    let driver = Driver::start();
    let phone = driver.browser(profile.path());
    phone.go(&office.url());
    phone.says("Paste the code of the invite");

    phone.script(
        "dispatchEvent(new ErrorEvent('error', { error: new WebAssembly.RuntimeError('unreachable') }))",
    );
    phone.says("the app has stopped by a fault of its own");
    phone.says("What it said was kept is kept.");
    phone.presses("load it again");
    phone.until("the app again", || !phone.text().contains("has stopped"));
    phone.says("Paste the code of the invite");

    // Another's fault, an extension's say, does not stop the app.
    phone.script("dispatchEvent(new ErrorEvent('error', { error: new TypeError('not ours') }))");
    assert!(!phone.text().contains("has stopped"));
}
