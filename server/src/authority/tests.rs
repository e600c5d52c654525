//! The authority, and what clients make of what it signs.
#![allow(clippy::unwrap_used)]
use super::*;

const NOW: i64 = 1_800_000_000_000;

fn names(names: &[&str], addresses: &[&str]) -> Result<Names, AuthorityError> {
    let owned = |words: &[&str]| words.iter().map(|word| (*word).to_owned()).collect::<Vec<_>>();
    Names::new(&owned(names), &owned(addresses))
}

fn make(data: &Path) -> Result<Authority, AuthorityError> {
    Authority::make(data, names(&["relay.workshop.lan"], &["192.168.1.20"])?, NOW)
}

#[test]
fn what_is_made_is_read_again_and_its_key_is_for_its_owner_alone() {
    let data = tempfile::tempdir().unwrap();
    let made = make(data.path()).unwrap();
    let read = Authority::open(data.path()).unwrap();
    assert_eq!((read.names(), read.made, read.certificate()), (made.names(), NOW, made.certificate()));
    assert_eq!(read.fingerprint().replace([' ', '\n'], "").to_lowercase()[..32], read.digits());
    assert_eq!(read.title(), "Gudgeon relay at relay.workshop.lan, 2027-01-15");
    #[cfg(unix)]
    for (name, mode) in [("", 0o700), (KEY, 0o600)] {
        use std::os::unix::fs::PermissionsExt as _;
        let at = Authority::directory(data.path()).join(name);
        assert_eq!(std::fs::metadata(at).unwrap().permissions().mode() & 0o777, mode, "{name}");
    }
}

#[test]
fn one_that_is_there_is_never_made_anew() {
    let data = tempfile::tempdir().unwrap();
    let first = make(data.path()).unwrap();
    assert!(matches!(make(data.path()), Err(AuthorityError::Exists { .. })));
    assert_eq!(Authority::open(data.path()).unwrap().certificate(), first.certificate());
}

#[test]
fn a_key_or_certificate_of_another_is_told() {
    let (data, other) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    make(data.path()).unwrap();
    make(other.path()).unwrap();
    for name in [KEY, CERTIFICATE] {
        let at = |data: &tempfile::TempDir| Authority::directory(data.path()).join(name);
        let own = std::fs::read(at(&data)).unwrap();
        std::fs::copy(at(&other), at(&data)).unwrap();
        assert!(matches!(Authority::open(data.path()), Err(AuthorityError::Damaged { .. })), "{name}");
        std::fs::write(at(&data), own).unwrap();
    }
    Authority::open(data.path()).unwrap();
}

#[test]
fn only_names_and_addresses_of_one_machine_are_taken() {
    let bad: [(&[&str], &[&str]); 7] = [
        (&[], &[]),
        (&["*.workshop.lan"], &[]),
        (&["192.168.1.20"], &[]),
        (&["a b"], &[]),
        (&[""], &[]),
        (&[], &["192.168.1.0/24"]),
        (&[], &["0.0.0.0"]),
    ];
    for (machines, addresses) in bad {
        let told = names(machines, addresses);
        assert!(matches!(told, Err(AuthorityError::Asked(_))), "{machines:?} {addresses:?}");
    }
    let typed = names(&["Relay.Workshop.LAN."], &["fd00::20"]).unwrap();
    assert_eq!(typed.to_string(), "relay.workshop.lan, fd00::20");
    assert_eq!(names(&[], &["fd00::20"]).unwrap().host(), "[fd00::20]");
}

#[test]
fn a_clock_that_was_never_set_makes_none() {
    let data = tempfile::tempdir().unwrap();
    let made = Authority::make(data.path(), names(&["a.lan"], &[]).unwrap(), 86_400_000);
    assert!(matches!(made, Err(AuthorityError::Clock)));
    assert!(!Authority::directory(data.path()).exists());
}

/// What a client that trusts the first makes of a certificate that its key signed for the second.
fn judged(own: &Names, claims: &Names, asked: &str) -> Result<(), rustls::Error> {
    use rustls::client::WebPkiServerVerifier;
    use rustls::client::danger::ServerCertVerifier as _;
    use rustls::pki_types::{ServerName, UnixTime};

    let data = tempfile::tempdir().unwrap();
    let mut authority = Authority::make(data.path(), own.clone(), NOW).unwrap();
    let above = params(own, NOW).unwrap();
    authority.names = claims.clone();
    let mut leaf = CertificateParams::default();
    leaf.subject_alt_names = claims.spoken_for().unwrap();
    (leaf.not_before, leaf.not_after) = (moment(NOW - DAY), moment(NOW + DAY));
    let key = KeyPair::generate().unwrap();
    let leaf = leaf.signed_by(&key, &Issuer::from_params(&above, &authority.key)).unwrap();
    let mut roots = rustls::RootCertStore::empty();
    roots.add(authority.certificate.clone()).unwrap();
    let provider = std::sync::Arc::new(rustls::crypto::ring::default_provider());
    let judge = WebPkiServerVerifier::builder_with_provider(roots.into(), provider).build().unwrap();
    let now = UnixTime::since_unix_epoch(std::time::Duration::from_millis(NOW.unsigned_abs()));
    let name = ServerName::try_from(asked.to_owned()).unwrap();
    judge.verify_server_cert(leaf.der(), &[], &name, &[], now).map(drop)
}

#[test]
fn it_speaks_for_exactly_its_names_and_addresses() {
    let (name, address) = (&["relay.lan"][..], &["192.168.1.20"][..]);
    let table = [
        ((name, address), (name, address), "relay.lan", true),
        ((name, address), (name, address), "192.168.1.20", true),
        ((name, address), (&["other.lan"], address), "other.lan", false),
        ((name, address), (name, &["192.168.1.21"]), "192.168.1.21", false),
        ((name, address), (name, &["fd00::20"]), "fd00::20", false),
        ((name, address), (&["relay.lan.other.lan"], &[]), "relay.lan.other.lan", false),
        // of one kind only: nothing of the other
        ((name, &[]), (name, &[]), "relay.lan", true),
        ((name, &[]), (name, address), "192.168.1.20", false),
        ((name, &[]), (name, &["fd00::20"]), "fd00::20", false),
        ((&[], address), (&[], address), "192.168.1.20", true),
        ((&[], address), (name, address), "relay.lan", false),
        ((&[], &["fd00::20"]), (&[], &["fd00::20"]), "fd00::20", true),
        ((&[], &["fd00::20"]), (&[], &["fd00::21"]), "fd00::21", false),
    ];
    for (own, claims, asked, taken) in table {
        let (own, claims) = (names(own.0, own.1).unwrap(), names(claims.0, claims.1).unwrap());
        let told = judged(&own, &claims, asked);
        assert_eq!(told.is_ok(), taken, "{own} claims {claims}: {told:?}");
        // For another name than those in it, no certificate is taken: a name alone would prove nothing.
        let violated = told.err().map(|error| format!("{error:?}"));
        assert!(
            violated.is_none_or(|said| said.contains("NameConstraintViolation")),
            "{own} claims {claims}"
        );
    }
}

#[test]
fn a_certificate_lasts_no_longer_than_browsers_take_and_never_past_its_authority() {
    let data = tempfile::tempdir().unwrap();
    let authority = make(data.path()).unwrap();
    let leaf = authority.leaf(NOW).unwrap().lasts;
    assert!(leaf.until - leaf.from <= 397 * DAY);
    assert!(!leaf.is_spent(NOW) && !leaf.is_spent(leaf.until - NEAR));
    assert!(leaf.is_spent(leaf.until - NEAR + 1) && leaf.is_spent(leaf.from - 1));
    assert_eq!(authority.leaf(NOW + LASTS - DAY).unwrap().lasts.until, NOW + LASTS);
}
