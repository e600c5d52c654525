//! A certificate authority of the relay's own, for machines that have no public name.
//!
//! A phone that trusts it is asked for much. So its certificate says, critically, for which names and
//! addresses alone it may speak (RFC 5280, section 4.2.1.10): it can speak for nothing else, even were its
//! key stolen. That key signs the relay's own certificate and nothing more; it never leaves its directory.

use std::fmt::Write as _;
use std::io::Write as _;
use std::net::IpAddr;
use std::path::{Path, PathBuf};

use data_encoding::{HEXLOWER, HEXUPPER};
use rcgen::{
    BasicConstraints, CertificateParams, CidrSubnet, DnType, ExtendedKeyUsagePurpose, GeneralSubtree, IsCa,
    Issuer, KeyPair, KeyUsagePurpose, NameConstraints, SanType,
};
use rustls::pki_types::{CertificateDer, DnsName};
use sha2::{Digest as _, Sha256};
use time::OffsetDateTime;

use crate::store::{StoreError, directory};

/// Its directory within the relay's.
const DIRECTORY: &str = "authority";
/// Its key (PKCS #8, PEM), for its owner alone.
const KEY: &str = "authority.key";
/// Its certificate (DER), as phones take it.
const CERTIFICATE: &str = "authority.crt";
/// For whom it speaks and since when, written last: with it the authority is whole.
const FORM: &str = "authority.toml";

const DAY: i64 = 24 * 60 * 60 * 1000;

/// How long phones may trust it: ten years.
const LASTS: i64 = 3652 * DAY;

/// How long a certificate of the relay's lasts, and how far before its making it begins, for phones whose clocks
/// are late: 397 days in all, the most that browsers take (CA/Browser Forum, Baseline Requirements, 6.3.2).
const LEAF: i64 = 396 * DAY;
const EARLY: i64 = DAY;

/// How long before its end it is made anew.
const NEAR: i64 = 30 * DAY;

/// Before this program was written (2026-01-01): a clock that says so was never set.
const UNSET: i64 = 1_767_225_600_000;

/// A name that nobody has (RFC 6761, section 6.4): where nothing of a kind of names shall be allowed, it alone is.
const NOBODY: &str = "invalid";

/// Why there is no authority.
#[derive(Debug, thiserror::Error)]
pub enum AuthorityError {
    /// Asked for what cannot be meant.
    #[error("{0}")]
    Asked(String),
    /// One is there.
    #[error(
        "{at} holds an authority, which phones may trust already; move that directory away if every phone shall \
         trust a new one"
    )]
    Exists {
        /// Its directory.
        at: PathBuf,
    },
    /// The device.
    #[error("{doing} {path}: {source}; see that the relay may read and write there")]
    Io {
        /// In the middle of what.
        doing: &'static str,
        /// Which file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The directory.
    #[error("{0}; {hint}", hint = .0.hint())]
    Directory(#[from] StoreError),
    /// What is there is not what was written.
    #[error("{path} is not what was written there; put its directory back from a copy")]
    Damaged {
        /// Which file.
        path: PathBuf,
    },
    /// The clock.
    #[error(
        "this machine's clock says a day before 2026; set it first, or phones will not take the certificate"
    )]
    Clock,
    /// The library.
    #[error("making a certificate: {0}; report it with the names you gave")]
    Making(#[from] rcgen::Error),
}

/// For whom an authority speaks: at least one name or address.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Names {
    names: Vec<String>,
    addresses: Vec<IpAddr>,
}

impl Names {
    /// From words as typed.
    ///
    /// # Errors
    /// [`AuthorityError::Asked`], for the first that is no name or address of one machine.
    pub fn new(names: &[String], addresses: &[String]) -> Result<Self, AuthorityError> {
        let asked = |what: String| AuthorityError::Asked(what);
        if names.is_empty() && addresses.is_empty() {
            let what = "name what phones reach the relay by: --name relay.workshop.lan, --address 192.168.1.20, or both";
            return Err(asked(what.to_owned()));
        }
        let name = |word: &String| {
            let word = word.trim().trim_end_matches('.').to_ascii_lowercase();
            let fits = DnsName::try_from(word.as_str()).is_ok() && word.parse::<IpAddr>().is_err();
            let what = format!("`{word}` is no name of a machine; write it like relay.workshop.lan");
            fits.then_some(word).ok_or_else(|| asked(what))
        };
        let address = |word: &String| {
            let address = word.trim().parse::<IpAddr>().ok().filter(|address| !address.is_unspecified());
            let what = format!("`{word}` is no address of a machine; write it like 192.168.1.20");
            address.ok_or_else(|| asked(what))
        };
        Ok(Self {
            names: names.iter().map(name).collect::<Result<_, _>>()?,
            addresses: addresses.iter().map(address).collect::<Result<_, _>>()?,
        })
    }

    /// The first, as it stands in an address.
    #[must_use]
    pub fn host(&self) -> String {
        match (self.names.first(), self.addresses.first()) {
            (Some(name), _) => name.clone(),
            (None, Some(IpAddr::V6(address))) => format!("[{address}]"),
            (None, Some(IpAddr::V4(address))) => address.to_string(),
            (None, None) => String::new(),
        }
    }

    /// An address of digits if there is one: browsers never turn it to TLS by themselves.
    #[must_use]
    pub fn address(&self) -> Option<IpAddr> {
        self.addresses.first().copied()
    }

    /// What a certificate of the relay's says.
    fn spoken_for(&self) -> Result<Vec<SanType>, AuthorityError> {
        let names = self.names.iter().map(|name| Ok(SanType::DnsName(name.as_str().try_into()?)));
        names.chain(self.addresses.iter().map(|address| Ok(SanType::IpAddress(*address)))).collect()
    }

    /// Exactly these. A kind of name that is not constrained at all would be free altogether, so each kind is.
    fn constraints(&self) -> NameConstraints {
        let whole = |address: &IpAddr| if address.is_ipv4() { 32 } else { 128 };
        let address = |ip: &IpAddr| GeneralSubtree::IpAddress(CidrSubnet::from_addr_prefix(*ip, whole(ip)));
        let nobody = [NOBODY.to_owned()];
        let names = if self.names.is_empty() { &nobody[..] } else { &self.names };
        let mut permitted: Vec<GeneralSubtree> = names
            .iter()
            .cloned()
            .map(GeneralSubtree::DnsName)
            .chain(self.addresses.iter().map(address))
            .collect();
        permitted.push(GeneralSubtree::Rfc822Name(NOBODY.to_owned()));
        let mut excluded = Vec::new();
        if self.addresses.is_empty() {
            excluded.push(GeneralSubtree::IpAddress(CidrSubnet::from_v4_prefix([0; 4], 0)));
            excluded.push(GeneralSubtree::IpAddress(CidrSubnet::from_v6_prefix([0; 16], 0)));
        }
        NameConstraints { permitted_subtrees: permitted, excluded_subtrees: excluded }
    }
}

impl std::fmt::Display for Names {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let addresses = self.addresses.iter().map(ToString::to_string);
        let all: Vec<String> = self.names.iter().cloned().chain(addresses).collect();
        f.write_str(&all.join(", "))
    }
}

/// An authority with its key.
pub struct Authority {
    names: Names,
    /// Milliseconds since 1970.
    made: i64,
    key: KeyPair,
    certificate: CertificateDer<'static>,
}

impl std::fmt::Debug for Authority {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Authority")
            .field("names", &self.names)
            .field("made", &self.made)
            .finish_non_exhaustive()
    }
}

/// A certificate of the relay's, its key, and how long it lasts.
pub(crate) struct Leaf {
    pub(crate) certificate: CertificateDer<'static>,
    /// PKCS #8.
    pub(crate) key: Vec<u8>,
    pub(crate) lasts: Lasts,
}

/// From when until when a certificate is good, in milliseconds since 1970.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Lasts {
    from: i64,
    until: i64,
}

impl Lasts {
    /// Whether another one is wanted. A clock that was set back counts as well.
    pub(crate) const fn is_spent(&self, now: i64) -> bool {
        now < self.from || now > self.until - NEAR
    }
}

impl Authority {
    /// Where one is, for a relay that keeps its records in `data`.
    #[must_use]
    pub fn directory(data: &Path) -> PathBuf {
        data.join(DIRECTORY)
    }

    /// Whether there is one.
    #[must_use]
    pub fn is_there(data: &Path) -> bool {
        Self::directory(data).join(FORM).exists()
    }

    /// Makes one that speaks for these names, and keeps it durably. `now` in milliseconds since 1970.
    ///
    /// # Errors
    /// [`AuthorityError`]; also if one is there.
    pub fn make(data: &Path, names: Names, now: i64) -> Result<Self, AuthorityError> {
        let at = Self::directory(data);
        if Self::is_there(data) {
            return Err(AuthorityError::Exists { at });
        }
        if now < UNSET {
            return Err(AuthorityError::Clock);
        }
        let key = KeyPair::generate()?;
        let certificate = params(&names, now)?.self_signed(&key)?;
        let authority = Self { names, made: now, key, certificate: certificate.der().clone() };
        directory::make(&at)?;
        authority.keep(&at)?;
        Ok(authority)
    }

    fn keep(&self, at: &Path) -> Result<(), AuthorityError> {
        let write = |name: &str, bytes: &[u8]| {
            let path = at.join(name);
            let done = directory::write_whole(&path, |file| file.write_all(bytes));
            done.map_err(|source| AuthorityError::Io { doing: "writing", path, source })
        };
        write(KEY, self.key.serialize_pem().as_bytes())?;
        write(CERTIFICATE, &self.certificate)?;
        write(FORM, self.form().as_bytes())
    }

    /// What is not in the certificate in a form that is easily read.
    fn form(&self) -> String {
        let list = |words: Vec<String>| toml::Value::from(words).to_string();
        let addresses = self.names.addresses.iter().map(ToString::to_string).collect();
        let names = list(self.names.names.clone());
        format!("made = {}\nnames = {names}\naddresses = {}\n", self.made, list(addresses))
    }

    /// Reads the one that is there.
    ///
    /// # Errors
    /// [`AuthorityError`].
    pub fn open(data: &Path) -> Result<Self, AuthorityError> {
        let at = Self::directory(data);
        let read = |name: &str| {
            let path = at.join(name);
            std::fs::read(&path).map_err(|source| AuthorityError::Io { doing: "reading", path, source })
        };
        let damaged = |name: &str| AuthorityError::Damaged { path: at.join(name) };
        let (made, names) = read_form(&read(FORM)?).ok_or_else(|| damaged(FORM))?;
        let key = String::from_utf8(read(KEY)?).ok().and_then(|pem| KeyPair::from_pem(&pem).ok());
        let key = key.ok_or_else(|| damaged(KEY))?;
        let certificate = CertificateDer::from(read(CERTIFICATE)?);
        let public = key.public_key_raw();
        if !certificate.windows(public.len()).any(|bytes| bytes == public) {
            return Err(damaged(CERTIFICATE));
        }
        Ok(Self { names, made, key, certificate })
    }

    /// For whom it speaks.
    #[must_use]
    pub const fn names(&self) -> &Names {
        &self.names
    }

    /// Its certificate, as DER.
    #[must_use]
    pub const fn certificate(&self) -> &CertificateDer<'static> {
        &self.certificate
    }

    /// As phones list it.
    #[must_use]
    pub fn title(&self) -> String {
        title(&self.names, self.made)
    }

    /// The day until which it is good.
    #[must_use]
    pub fn last_day(&self) -> String {
        day(self.made + LASTS)
    }

    /// SHA-256 of its certificate in pairs of digits, eight to a line, as phones show it.
    #[must_use]
    pub fn fingerprint(&self) -> String {
        let mut text = String::new();
        for (at, byte) in Sha256::digest(&self.certificate).iter().enumerate() {
            let before = match at {
                0 => "",
                _ if at % 8 == 0 => "\n",
                _ => " ",
            };
            let _infallible = write!(text, "{before}{}", HEXUPPER.encode(&[*byte]));
        }
        text
    }

    /// The first half of those digits, as an address carries them: 128 bits, so nobody can make a certificate
    /// that has the digits of another.
    #[must_use]
    pub fn digits(&self) -> String {
        HEXLOWER.encode(&Sha256::digest(&self.certificate)[..16])
    }

    /// A new certificate of the relay's.
    pub(crate) fn leaf(&self, now: i64) -> Result<Leaf, AuthorityError> {
        let key = KeyPair::generate()?;
        let lasts = Lasts { from: now - EARLY, until: (now + LEAF).min(self.made + LASTS) };
        let mut leaf = CertificateParams::default();
        leaf.distinguished_name.push(DnType::CommonName, "Gudgeon relay");
        leaf.subject_alt_names = self.names.spoken_for()?;
        leaf.key_usages = vec![KeyUsagePurpose::DigitalSignature];
        leaf.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
        leaf.use_authority_key_identifier_extension = true;
        (leaf.not_before, leaf.not_after) = (moment(lasts.from), moment(lasts.until));
        let above = params(&self.names, self.made)?;
        let certificate = leaf.signed_by(&key, &Issuer::from_params(&above, &self.key))?;
        Ok(Leaf { certificate: certificate.der().clone(), key: key.serialize_der(), lasts })
    }
}

/// What an authority says of itself.
fn params(names: &Names, made: i64) -> Result<CertificateParams, AuthorityError> {
    let mut above = CertificateParams::default();
    above.distinguished_name.push(DnType::CommonName, title(names, made));
    above.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
    above.key_usages = vec![KeyUsagePurpose::KeyCertSign];
    above.name_constraints = Some(names.constraints());
    (above.not_before, above.not_after) = (moment(made - EARLY), moment(made + LASTS));
    Ok(above)
}

/// The day is in it: a phone tells two authorities of one relay apart by nothing else that people see.
fn title(names: &Names, made: i64) -> String {
    format!("Gudgeon relay at {}, {}", names.host(), day(made))
}

fn day(at: i64) -> String {
    let at = moment(at);
    format!("{:04}-{:02}-{:02}", at.year(), u8::from(at.month()), at.day())
}

fn moment(at: i64) -> OffsetDateTime {
    OffsetDateTime::from_unix_timestamp(at / 1000).unwrap_or(OffsetDateTime::UNIX_EPOCH)
}

fn read_form(bytes: &[u8]) -> Option<(i64, Names)> {
    let form: toml::Table = std::str::from_utf8(bytes).ok()?.parse().ok()?;
    let words = |name: &str| -> Option<Vec<String>> {
        let list = form.get(name)?.as_array()?;
        list.iter().map(|word| word.as_str().map(str::to_owned)).collect()
    };
    let names = Names::new(&words("names")?, &words("addresses")?).ok()?;
    Some((form.get("made")?.as_integer()?, names))
}

#[cfg(test)]
mod tests {
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
}
