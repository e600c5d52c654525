//! A real relay process for stories over the real program.
#![allow(dead_code, unreachable_pub, clippy::unwrap_used)]

use std::io::{BufRead as _, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdout, Command, Stdio};
use std::sync::OnceLock;

use gudgeon_tests::programs::built;

/// The relay's program, built once for a test run.
pub fn program() -> &'static Path {
    static PROGRAM: OnceLock<PathBuf> = OnceLock::new();
    PROGRAM.get_or_init(|| built("gudgeon-relay", "gudgeon-relay"))
}

/// A running relay; ended with the value.
pub struct Office {
    child: Child,
    said: BufReader<ChildStdout>,
    pub url: String,
}

impl Office {
    /// Starts one at a free port, or at that of an office before.
    pub fn open(data: &Path, before: Option<&str>) -> Self {
        let office =
            Self::start(data, before.map_or("127.0.0.1:0", |url| url.strip_prefix("http://").unwrap()));
        assert!(office.url.starts_with("http://127.0.0.1:"), "{}", office.url);
        office
    }

    /// Starts one with an authority of its own, which it makes; its address has the digits.
    pub fn encrypted(data: &Path) -> Self {
        let made = Command::new(program())
            .args(["authority", "--address", "127.0.0.1", "--data"])
            .arg(data)
            .stdout(Stdio::null())
            .status();
        assert!(made.unwrap().success());
        let mut office = Self::start(data, "127.0.0.1:0");
        let mut line = String::new();
        office.said.read_line(&mut line).unwrap();
        let url = line.trim().strip_prefix("for homes: gudgeon sync --relay ").unwrap().trim_matches('"');
        assert!(url.starts_with(&format!("{}#", office.url)), "{line} {}", office.url);
        office.url = url.to_owned();
        office
    }

    fn start(data: &Path, listen: &str) -> Self {
        let mut child = Command::new(program())
            .args(["serve", "--listen", listen, "--log", "warn", "--data"])
            .arg(data)
            .stdout(Stdio::piped())
            .stderr(Stdio::inherit())
            .spawn()
            .unwrap();
        let mut line = String::new();
        let mut said = BufReader::new(child.stdout.take().unwrap());
        said.read_line(&mut line).unwrap();
        let url = line.trim().strip_prefix("listening at ").unwrap_or_default().to_owned();
        Self { child, said, url }
    }

    /// Kills it without a word, as a power cut would.
    pub fn kill(mut self) -> String {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
        self.url.clone()
    }
}

impl Drop for Office {
    fn drop(&mut self) {
        // It may have been killed already; then there is nothing left to do.
        let _gone = self.child.kill();
        let _waited = self.child.wait();
    }
}
