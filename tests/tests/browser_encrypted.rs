//! The phone app in a real browser over TLS, at a name as a workshop's network has it: with the
//! relay's own authority, trusted once. The name is led to this machine by the browser itself.
#![allow(clippy::unwrap_used)]

mod browser_kit;

use std::path::Path;
use std::process::Command;

use browser_kit::driver::Driver;
use browser_kit::{Lead, Office, PIN, asks_to_join, keeps_the_app};
use gudgeon_core::engine::EXAMPLE;
use gudgeon_relay::authority::{Authority, Names};

const NAME: &str = "relay.workshop.lan";

/// As somebody does who takes the authority into what their device trusts: on this system browsers
/// look into a database of their home (NSS; <https://chromium.googlesource.com/chromium/src/+/main/docs/linux/cert_management.md>).
fn trusts(home: &Path, certificate: &Path) {
    let store = home.join(".pki/nssdb");
    std::fs::create_dir_all(&store).unwrap();
    let certutil = |arguments: &[&str]| {
        let mut command = Command::new("certutil");
        command.arg("-d").arg(format!("sql:{}", store.display())).args(arguments);
        let done = command.status().expect("certutil: `cargo xtask setup --pictures` installs it");
        assert!(done.success(), "{arguments:?}");
    };
    certutil(&["-N", "--empty-password"]);
    certutil(&["-A", "-n", "workshop", "-t", "C,,", "-i", certificate.to_str().unwrap()]);
}

#[test]
fn over_tls_a_phone_that_trusts_the_workshops_authority_joins_reads_and_opens_without_the_office() {
    let (data, home, profile) =
        (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let names = Names::new(&[NAME.to_owned()], &["127.0.0.1".to_owned()]).unwrap();
    let now = gudgeon_relay::serve::system_clock()();
    let authority = Authority::make(data.path(), names, now).unwrap();
    let digits = authority.digits();
    let certificate = Authority::directory(data.path()).join("authority.crt");
    let office = Office::open_encrypted(data.path().to_owned(), authority);
    let mut lead = Lead::founds_on(format!("https://{}#{digits}", office.at), EXAMPLE);
    let code = lead.invites("Ben");
    lead.meets();
    let url = format!("https://{NAME}:{}/", office.at.port());
    let led = [format!("--host-resolver-rules=MAP {NAME} 127.0.0.1")];

    let stranger = Driver::start_at_home(home.path(), &led);
    let phone = stranger.browser(profile.path());
    let said = phone.tries_to_go(&url).err().unwrap_or_else(|| phone.text());
    assert!(said.contains("ERR_CERT_AUTHORITY_INVALID"), "{said}");
    drop((phone, stranger));

    trusts(home.path(), &certificate);
    let driver = Driver::start_at_home(home.path(), &led);
    let phone = driver.browser(profile.path());
    phone.go(&url);
    asks_to_join(&phone, &code, "phone of Ben", PIN);
    phone.says("all at the office");
    lead.meets();
    phone.says("Engine one");
    keeps_the_app(&phone);
    let way = "return [isSecureContext, performance.getEntriesByType('navigation')[0].nextHopProtocol]";
    assert_eq!(phone.script(way), serde_json::json!([true, "h2"]));
    phone.go(&format!("{url}#/record/{}/read/bore/1/diameter", lead.record.to_hex()));
    phone.keys(&format!("80.51{}", browser_kit::driver::ENTER));
    phone.says("80.51 mm, at the office");
    lead.meets();
    assert_eq!(lead.readings(), ["80.51"]);

    office.close();
    phone.kill();
    let phone = driver.browser(profile.path());
    phone.go(&url);
    phone.says("Engine one");
    drop(phone);
}
