//! A certificate authority of the relay's own, for machines that have no public name.
//!
//! A phone that trusts it is asked for much. So its certificate says, critically, for which names and
//! addresses alone it may speak (RFC 5280, section 4.2.1.10): it can speak for nothing else, even were its
//! key stolen. That key signs the relay's own certificate and nothing more; it never leaves its directory.

mod names;
#[cfg(test)]
mod tests;

use std::fmt::Write as _;
use std::io::Write as _;
use std::path::{Path, PathBuf};

use data_encoding::{HEXLOWER, HEXUPPER};
use rcgen::{
    BasicConstraints, CertificateParams, DnType, ExtendedKeyUsagePurpose, IsCa, Issuer, KeyPair,
    KeyUsagePurpose,
};
use rustls::pki_types::CertificateDer;
use sha2::{Digest as _, Sha256};
use time::OffsetDateTime;

use crate::store::{StoreError, directory};

pub use names::Names;

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
