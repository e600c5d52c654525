//! What cargo knows of the workspace and of everything it depends on.

use std::collections::BTreeSet;
use std::path::PathBuf;

use serde_json::Value;

use crate::failure::{Doing, Failure, Outcome};
use crate::repo::Repo;
use crate::run;

/// The answer of `cargo metadata`, kept to what is asked of it.
pub(crate) struct Metadata {
    /// Where cargo builds to.
    pub(crate) target: PathBuf,
    /// Every package, ours and others'.
    pub(crate) packages: Vec<Package>,
}

/// One package.
pub(crate) struct Package {
    pub(crate) name: String,
    pub(crate) version: String,
    /// SPDX expression, as its manifest states it.
    pub(crate) licence: Option<String>,
    /// Where it comes from; `None` for our own.
    pub(crate) source: Option<String>,
    /// What its manifest depends on, of every kind and for every target.
    pub(crate) depends_on: BTreeSet<String>,
}

impl Metadata {
    pub(crate) fn read(repo: &Repo) -> Outcome<Self> {
        let mut cargo = repo.cargo();
        cargo.args(["metadata", "--format-version", "1"]);
        Self::parse(&run::output(&mut cargo)?)
    }

    fn parse(text: &str) -> Outcome<Self> {
        let value: Value = serde_json::from_str(text).doing("cargo metadata")?;
        let packages = list(&value["packages"])?.iter().map(Package::parse);
        Ok(Self {
            target: PathBuf::from(string(&value["target_directory"])?),
            packages: packages.collect::<Outcome<_>>()?,
        })
    }

    /// Our own packages.
    pub(crate) fn ours(&self) -> impl Iterator<Item = &Package> {
        self.packages.iter().filter(|package| package.source.is_none())
    }

    /// Names of all that the package called `name` is built with when it is built by itself,
    /// however far down and for whatever target: what others of the workspace ask of its
    /// dependencies is not in it.
    pub(crate) fn reached_from(repo: &Repo, name: &str) -> Outcome<BTreeSet<String>> {
        let mut cargo = repo.cargo();
        cargo.args(["tree", "--package", name, "--edges", "normal", "--prefix", "none", "--target", "all"]);
        let tree = run::output(&mut cargo)?;
        let names = tree.lines().filter_map(|line| line.split_whitespace().next());
        Ok(names.filter(|other| *other != name).map(str::to_owned).collect())
    }

    /// Everybody else's packages.
    pub(crate) fn others(&self) -> impl Iterator<Item = &Package> {
        self.packages.iter().filter(|package| package.source.is_some())
    }
}

impl Package {
    fn parse(package: &Value) -> Outcome<Self> {
        let depends_on = list(&package["dependencies"])?.iter().map(|d| string(&d["name"]));
        Ok(Self {
            name: string(&package["name"])?,
            version: string(&package["version"])?,
            licence: package["license"].as_str().map(str::to_owned),
            source: package["source"].as_str().map(str::to_owned),
            depends_on: depends_on.collect::<Outcome<_>>()?,
        })
    }
}

fn list(value: &Value) -> Outcome<&Vec<Value>> {
    value.as_array().ok_or_else(|| Failure::new("cargo metadata: a list was expected"))
}

fn string(value: &Value) -> Outcome<String> {
    let text = value.as_str().map(str::to_owned);
    text.ok_or_else(|| Failure::new("cargo metadata: a string was expected"))
}
