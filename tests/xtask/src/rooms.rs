//! The plan of the house: what stands at the top, and which room may lean on which.

use crate::failure::{Failure, Outcome};
use crate::metadata::Metadata;
use crate::repo::Repo;

/// All that may stand at the top of the workspace, besides dot-files and `LICENSE-*`.
const TOP: &[&str] =
    &["Cargo.toml", "Cargo.lock", "README.md", "DEVELOPERS.md", "proto", "server", "client", "core", "tests"];

/// Our packages, and those of ours each may depend on in any way, tests included.
const MAY_USE: &[(&str, &[&str])] = &[
    ("gudgeon-proto", &[]),
    ("gudgeon-core", &["gudgeon-proto"]),
    ("gudgeon-client", &["gudgeon-core", "gudgeon-proto"]),
    ("gudgeon-cli", &["gudgeon-client", "gudgeon-core", "gudgeon-proto"]),
    ("gudgeon-phone", &["gudgeon-client", "gudgeon-core"]),
    ("gudgeon-phone-bundle", &[]),
    ("gudgeon-relay", &["gudgeon-core", "gudgeon-proto"]),
    (
        "gudgeon-tests",
        &["gudgeon-cli", "gudgeon-phone", "gudgeon-client", "gudgeon-relay", "gudgeon-core", "gudgeon-proto"],
    ),
    ("xtask", &[]),
];

/// Nothing core is built with may be one of these, however far down.
const NEVER_UNDER_CORE: &[&str] = &["tokio", "mio", "tonic", "async-std", "smol"];

/// Only the allowed names stand at the top.
pub(crate) fn check_top(files: &[String]) -> Outcome<String> {
    let strange: Vec<String> = files.iter().filter(|file| !may_stand(file)).cloned().collect();
    Failure::list("not allowed at the top of the workspace", &strange)?;
    Ok(format!("{} files", files.len()))
}

fn may_stand(file: &str) -> bool {
    let top = file.split('/').next().unwrap_or(file);
    TOP.contains(&top) || top.starts_with('.') || top.starts_with("LICENSE-")
}

/// proto <- core <- {client, server} <- tests, and client and server never on each other.
pub(crate) fn check_directions(repo: &Repo, metadata: &Metadata) -> Outcome<String> {
    let ours: Vec<&str> = metadata.ours().map(|package| package.name.as_str()).collect();
    let mut problems = Vec::new();
    for package in metadata.ours() {
        let Some((_, may)) = MAY_USE.iter().find(|(name, _)| *name == package.name) else {
            problems.push(format!("{} has no place in the plan: give it a row", package.name));
            continue;
        };
        let used = package.depends_on.iter().filter(|name| ours.contains(&name.as_str()));
        let wrong = used.filter(|name| !may.contains(&name.as_str()));
        problems.extend(wrong.map(|name| format!("{} must not depend on {name}", package.name)));
    }
    let under = Metadata::reached_from(repo, "gudgeon-core")?;
    let wrong = NEVER_UNDER_CORE.iter().filter(|name| under.contains(**name));
    problems.extend(wrong.map(|name| format!("gudgeon-core is built with {name}: core is pure")));
    Failure::list("dependencies against the one direction", &problems)?;
    Ok(format!("{} packages of ours, {} under core", ours.len(), under.len()))
}

#[cfg(test)]
mod tests {
    use super::may_stand;

    #[test]
    fn only_the_plan_stands_at_the_top() {
        for good in ["Cargo.toml", ".ci/run", "LICENSE-MIT", "core/src/lib.rs", "README.md"] {
            assert!(may_stand(good), "{good}");
        }
        for bad in ["deny.toml", "notes.md", "scripts/x", "corelike/lib.rs", "Cargo.toml.orig"] {
            assert!(!may_stand(bad), "{bad}");
        }
    }
}
