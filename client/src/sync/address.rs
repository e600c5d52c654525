//! Where a relay is, and whom to believe there.
//!
//! `https://relay.workshop.lan:7474#0123...` is one address: what stands after the `#` are digits of the
//! certificate of the relay's own authority (SHA-256, 128 bits at least), and only that authority is believed
//! there. Without them a public one is, as this device knows them. So an invite, a setting and a command line
//! each carry in one word all that it takes to reach a relay and to know it.

use std::fmt;
use std::str::FromStr;

use data_encoding::HEXLOWER;
use sha2::{Digest as _, Sha256};

/// Least and most digits, in bytes.
const DIGITS: std::ops::RangeInclusive<usize> = 16..=32;

/// The address of a relay.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Address {
    /// Without path and digits.
    url: String,
    /// Beginning of the digest; empty where public authorities are believed.
    authority: Vec<u8>,
}

/// An address that cannot be meant.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is no address of a relay; write it like https://192.168.1.20:7474 or http://127.0.0.1:7474")]
pub struct BadAddress(String);

impl BadAddress {
    /// Of this text.
    #[cfg(not(target_arch = "wasm32"))]
    pub(super) const fn new(text: String) -> Self {
        Self(text)
    }
}

impl Address {
    /// Without the digits, as people are told it.
    #[must_use]
    pub fn url(&self) -> &str {
        &self.url
    }

    /// Whether the way there is encrypted.
    #[must_use]
    pub fn is_encrypted(&self) -> bool {
        self.url.starts_with("https://")
    }

    /// Whether an authority of the relay's own is to be believed there, and no other.
    #[must_use]
    pub const fn names_authority(&self) -> bool {
        !self.authority.is_empty()
    }

    /// Whether a certificate (DER) is that of the authority named.
    #[must_use]
    pub fn is_authority(&self, certificate: &[u8]) -> bool {
        self.names_authority() && Sha256::digest(certificate).starts_with(&self.authority)
    }

    /// The same, where this authority is believed, given as DER.
    #[must_use]
    pub fn believing(mut self, certificate: &[u8]) -> Self {
        self.authority = Sha256::digest(certificate)[..*DIGITS.start()].to_vec();
        self
    }
}

impl FromStr for Address {
    type Err = BadAddress;

    fn from_str(text: &str) -> Result<Self, BadAddress> {
        let bad = || BadAddress(text.to_owned());
        let (url, digits) = text.split_once('#').unwrap_or((text, ""));
        let url = url.trim_end_matches('/');
        let (scheme, at) = url.split_once("://").ok_or_else(bad)?;
        let plain = |c: char| c.is_ascii_alphanumeric() || "-._:[]".contains(c);
        if !["http", "https"].contains(&scheme) || at.is_empty() || !at.chars().all(plain) {
            return Err(bad());
        }
        let authority = HEXLOWER.decode(digits.to_ascii_lowercase().as_bytes()).map_err(|_| bad())?;
        // Believing somebody means nothing where nothing is proven.
        let fits = authority.is_empty() || (DIGITS.contains(&authority.len()) && scheme == "https");
        fits.then(|| Self { url: url.to_owned(), authority }).ok_or_else(bad)
    }
}

impl fmt::Display for Address {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.url)?;
        if self.names_authority() {
            write!(f, "#{}", HEXLOWER.encode(&self.authority))?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    const DIGITS_OF_A: &str = "ca978112ca1bbdcafac231b39a23dc4d";

    #[test]
    fn an_address_comes_back_as_it_was_written() {
        for text in ["http://127.0.0.1:7474", "https://relay.workshop.lan:7474", "https://[fd00::20]:7474"] {
            assert_eq!(text.parse::<Address>().unwrap().to_string(), text);
            assert_eq!(format!("{text}/").parse::<Address>().unwrap().to_string(), text);
        }
        let believing = format!("https://a.lan:1#{DIGITS_OF_A}");
        let address: Address = believing.parse().unwrap();
        assert_eq!((address.to_string(), address.url()), (believing.clone(), "https://a.lan:1"));
        assert_eq!(
            believing.to_uppercase().replace("HTTPS", "https").parse::<Address>().unwrap().to_string().len(),
            believing.len()
        );
    }

    #[test]
    fn what_is_no_address_is_told() {
        let short = format!("https://a.lan#{}", &DIGITS_OF_A[..30]);
        let plain = format!("http://a.lan#{DIGITS_OF_A}");
        let long = format!("https://a.lan#{DIGITS_OF_A}{DIGITS_OF_A}00");
        let odd = format!("https://a.lan#{DIGITS_OF_A}0");
        let bad = [
            "office",
            "ftp://a.lan",
            "https://",
            "https://a.lan/x",
            "https://me@a.lan",
            "https://a.lan#zz",
            "",
        ];
        for text in bad.into_iter().chain([&*short, &*plain, &*long, &*odd]) {
            assert!(text.parse::<Address>().is_err(), "{text}");
        }
    }

    #[test]
    fn an_authority_is_known_by_its_digits() {
        let address: Address = "https://a.lan".parse().unwrap();
        assert!(!address.is_authority(b"a") && !address.names_authority());
        let address = address.believing(b"a");
        // SHA-256 of "a": sha256sum, coreutils
        assert_eq!(address.to_string(), format!("https://a.lan#{DIGITS_OF_A}"));
        assert!(address.is_authority(b"a") && !address.is_authority(b"b"));
    }
}
