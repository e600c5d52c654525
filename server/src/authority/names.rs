//! For whom an authority speaks, and for nobody else.

use std::net::IpAddr;

use rcgen::{CidrSubnet, GeneralSubtree, NameConstraints, SanType};
use rustls::pki_types::DnsName;

use super::AuthorityError;

/// A name that nobody has (RFC 6761, section 6.4): where nothing of a kind of names shall be allowed, it alone is.
const NOBODY: &str = "invalid";

/// For whom an authority speaks: at least one name or address.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Names {
    pub(super) names: Vec<String>,
    pub(super) addresses: Vec<IpAddr>,
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
    pub(super) fn spoken_for(&self) -> Result<Vec<SanType>, AuthorityError> {
        let names = self.names.iter().map(|name| Ok(SanType::DnsName(name.as_str().try_into()?)));
        names.chain(self.addresses.iter().map(|address| Ok(SanType::IpAddress(*address)))).collect()
    }

    /// Exactly these. A kind of name that is not constrained at all would be free altogether, so each kind is.
    pub(super) fn constraints(&self) -> NameConstraints {
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
