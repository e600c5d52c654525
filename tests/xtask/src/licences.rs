//! Licences and origins of everything we depend on, held against `.deny.toml`.

use toml::{Table, Value};

use crate::failure::{Doing, Failure, Outcome};
use crate::metadata::{Metadata, Package};
use crate::repo::Repo;
use crate::{run, spdx};

const POLICY: &str = ".deny.toml";
const REGISTRY: &str = "registry+https://github.com/rust-lang/crates.io-index";

/// Checks every dependency; with cargo-deny installed its bans and sources as well.
///
/// The advisory database needs a network: it is left to `cargo deny check advisories`.
pub(crate) fn check(repo: &Repo, metadata: &Metadata) -> Outcome<String> {
    let policy: Table = repo.read(POLICY)?.parse().doing(POLICY)?;
    let policy = Policy::read(&policy)?;
    let problems: Vec<String> = metadata.others().filter_map(|p| policy.problem(p)).collect();
    Failure::list("licences or origins that are not in .deny.toml", &problems)?;
    let count = metadata.others().count();
    if !run::works(repo.program("cargo-deny").arg("--version")) {
        return Ok(format!("{count} dependencies; cargo-deny is not installed"));
    }
    let mut deny = repo.program("cargo-deny");
    deny.args(["--offline", "--config", POLICY, "check", "licenses", "bans", "sources"]);
    run::status(&mut deny)?;
    Ok(format!("{count} dependencies; cargo-deny agrees"))
}

struct Policy {
    allow: Vec<String>,
    /// Crate and the further licences it alone may have.
    exceptions: Vec<(String, Vec<String>)>,
}

impl Policy {
    fn read(policy: &Table) -> Outcome<Self> {
        let licences = policy.get("licenses").and_then(Value::as_table);
        let licences = licences.ok_or_else(|| bad("no [licenses]"))?;
        let exceptions = licences.get("exceptions").and_then(Value::as_array);
        let exceptions = exceptions.into_iter().flatten().map(|exception| {
            let name = exception.get("crate").and_then(Value::as_str);
            let name = name.ok_or_else(|| bad("an exception names no crate"))?;
            Ok((name.to_owned(), names(exception.get("allow"))?))
        });
        Ok(Self { allow: names(licences.get("allow"))?, exceptions: exceptions.collect::<Outcome<_>>()? })
    }

    fn problem(&self, package: &Package) -> Option<String> {
        let Package { name, version, licence, source, .. } = package;
        if source.as_deref() != Some(REGISTRY) {
            let source = source.as_deref().unwrap_or("nowhere");
            return Some(format!("{name} {version} comes from {source}, not from the registry"));
        }
        let mut allow = self.allow.clone();
        let own = self.exceptions.iter().filter(|(of, _)| of == name);
        allow.extend(own.flat_map(|(_, more)| more.iter().cloned()));
        let licence = licence.as_deref().unwrap_or("no licence");
        match spdx::allowed(licence, &allow) {
            Some(true) => None,
            Some(false) => Some(format!("{name} {version}: {licence} is not allowed")),
            None => Some(format!("{name} {version}: `{licence}` is no licence expression")),
        }
    }
}

fn names(value: Option<&Value>) -> Outcome<Vec<String>> {
    let list = value.and_then(Value::as_array).ok_or_else(|| bad("`allow` is not a list"))?;
    let names = list
        .iter()
        .map(|name| name.as_str().map(str::to_owned).ok_or_else(|| bad("`allow` holds what is no string")));
    names.collect()
}

fn bad(what: &str) -> Failure {
    Failure::new(format!("{POLICY}: {what}"))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::collections::BTreeSet;

    use super::{Policy, REGISTRY};
    use crate::metadata::Package;

    fn problem(name: &str, licence: Option<&str>, source: &str) -> Option<String> {
        let policy = r#"
            [licenses]
            allow = ["MIT"]
            exceptions = [{ crate = "odd", allow = ["Zlib"] }]
        "#;
        let policy = Policy::read(&policy.parse().unwrap()).unwrap();
        policy.problem(&Package {
            name: name.to_owned(),
            version: "1.0.0".to_owned(),
            licence: licence.map(str::to_owned),
            source: Some(source.to_owned()),
            depends_on: BTreeSet::new(),
        })
    }

    #[test]
    fn an_exception_holds_for_its_crate_alone() {
        assert_eq!(problem("plain", Some("MIT"), REGISTRY), None);
        assert_eq!(problem("odd", Some("Zlib"), REGISTRY), None);
        assert!(problem("plain", Some("Zlib"), REGISTRY).is_some());
    }

    #[test]
    fn a_missing_licence_or_a_strange_origin_is_a_problem() {
        assert!(problem("plain", None, REGISTRY).is_some());
        assert!(problem("plain", Some("MIT"), "git+https://example.org/plain").is_some());
    }
}
