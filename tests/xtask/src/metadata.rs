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
    /// Ids of what ends up in it (what only builds or tests it left out).
    pub(crate) built_with: Vec<String>,
    pub(crate) id: String,
}

impl Metadata {
    pub(crate) fn read(repo: &Repo) -> Outcome<Self> {
        let mut cargo = repo.cargo();
        cargo.args(["metadata", "--format-version", "1"]);
        Self::parse(&run::output(&mut cargo)?)
    }

    fn parse(text: &str) -> Outcome<Self> {
        let value: Value = serde_json::from_str(text).doing("cargo metadata")?;
        let nodes = list(&value["resolve"]["nodes"])?;
        let packages = list(&value["packages"])?.iter().map(|package| {
            let id = string(&package["id"])?;
            let node = nodes.iter().find(|node| node["id"] == id.as_str());
            Package::parse(package, id, node)
        });
        Ok(Self {
            target: PathBuf::from(string(&value["target_directory"])?),
            packages: packages.collect::<Outcome<_>>()?,
        })
    }

    /// Our own packages.
    pub(crate) fn ours(&self) -> impl Iterator<Item = &Package> {
        self.packages.iter().filter(|package| package.source.is_none())
    }

    /// Everybody else's packages.
    pub(crate) fn others(&self) -> impl Iterator<Item = &Package> {
        self.packages.iter().filter(|package| package.source.is_some())
    }

    /// Names of all that the package called `name` is built with, however far down.
    pub(crate) fn reached_from(&self, name: &str) -> BTreeSet<&str> {
        let mut open: Vec<&Package> = self.packages.iter().filter(|p| p.name == name).collect();
        let mut seen = BTreeSet::new();
        while let Some(package) = open.pop() {
            for next in self.packages.iter().filter(|p| package.built_with.contains(&p.id)) {
                if seen.insert(next.name.as_str()) {
                    open.push(next);
                }
            }
        }
        seen
    }
}

impl Package {
    fn parse(package: &Value, id: String, node: Option<&Value>) -> Outcome<Self> {
        let depends_on = list(&package["dependencies"])?.iter().map(|d| string(&d["name"]));
        let built_with = match node {
            Some(node) => linked(node)?,
            None => Vec::new(),
        };
        Ok(Self {
            name: string(&package["name"])?,
            version: string(&package["version"])?,
            licence: package["license"].as_str().map(str::to_owned),
            source: package["source"].as_str().map(str::to_owned),
            depends_on: depends_on.collect::<Outcome<_>>()?,
            built_with,
            id,
        })
    }
}

/// Ids of what a node of the resolved graph links, for whatever target.
fn linked(node: &Value) -> Outcome<Vec<String>> {
    let normal = |kinds: &Vec<Value>| kinds.iter().any(|kind| kind["kind"].is_null());
    let mut ids = Vec::new();
    for dependency in list(&node["deps"])? {
        if normal(list(&dependency["dep_kinds"])?) {
            ids.push(string(&dependency["pkg"])?);
        }
    }
    Ok(ids)
}

fn list(value: &Value) -> Outcome<&Vec<Value>> {
    value.as_array().ok_or_else(|| Failure::new("cargo metadata: a list was expected"))
}

fn string(value: &Value) -> Outcome<String> {
    let text = value.as_str().map(str::to_owned);
    text.ok_or_else(|| Failure::new("cargo metadata: a string was expected"))
}
