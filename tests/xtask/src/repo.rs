//! Where the workspace is, and which files belong to it.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use crate::failure::{Doing, Failure, Outcome};
use crate::run;

/// The workspace being worked on.
pub(crate) struct Repo {
    root: PathBuf,
}

impl Repo {
    /// The workspace this very build of xtask was run from.
    pub(crate) fn find() -> Outcome<Self> {
        let own = std::env::var_os("CARGO_MANIFEST_DIR").ok_or_else(|| {
            Failure::new("not started by cargo").hint("run it as `cargo xtask` in the workspace")
        })?;
        let root = Path::new(&own).join("../..").canonicalize().doing("finding the workspace")?;
        Ok(Self { root })
    }

    pub(crate) fn root(&self) -> &Path {
        &self.root
    }

    pub(crate) fn path(&self, relative: impl AsRef<Path>) -> PathBuf {
        self.root.join(relative)
    }

    /// A program run at the top of the workspace.
    pub(crate) fn program(&self, name: &str) -> Command {
        run::program(name, &self.root)
    }

    /// The cargo that started us, at the top of the workspace.
    pub(crate) fn cargo(&self) -> Command {
        let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
        run::program(cargo, &self.root)
    }

    pub(crate) fn read(&self, relative: impl AsRef<Path>) -> Outcome<String> {
        let path = self.path(relative);
        std::fs::read_to_string(&path).doing(path.display())
    }

    /// Every file that is or would be committed, relative to the top, sorted.
    ///
    /// Outside a git checkout (an unpacked archive) every file but build output counts.
    pub(crate) fn files(&self) -> Outcome<Vec<String>> {
        let mut git = self.program("git");
        git.args(["ls-files", "-z", "--cached", "--others", "--exclude-standard"]);
        let listed = git.stderr(Stdio::null()).output().ok().filter(|out| out.status.success());
        let mut files = match listed {
            Some(out) => String::from_utf8(out.stdout)
                .doing("git ls-files")?
                .split_terminator('\0')
                .filter(|name| self.path(name).exists())
                .map(str::to_owned)
                .collect(),
            None => self.walk(Path::new(""))?,
        };
        files.sort();
        files.dedup();
        Ok(files)
    }

    fn walk(&self, relative: &Path) -> Outcome<Vec<String>> {
        let mut files = Vec::new();
        let directory = self.path(relative);
        for entry in std::fs::read_dir(&directory).doing(directory.display())? {
            let entry = entry.doing(directory.display())?;
            let name = relative.join(entry.file_name());
            if name.ends_with("target") || name.ends_with(".git") {
                continue;
            }
            if entry.file_type().doing(name.display())?.is_dir() {
                files.extend(self.walk(&name)?);
            } else {
                files.push(name.to_string_lossy().into_owned());
            }
        }
        Ok(files)
    }
}
