//! A real relay process for stories over the real program.
#![allow(dead_code, unreachable_pub, clippy::unwrap_used)]

use std::io::{BufRead as _, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
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
    pub url: String,
}

impl Office {
    /// Starts one at a free port, or at that of an office before.
    pub fn open(data: &Path, before: Option<&str>) -> Self {
        let listen = before.map_or("127.0.0.1:0", |url| url.strip_prefix("http://").unwrap());
        let mut child = Command::new(program())
            .args(["serve", "--listen", listen, "--log", "warn", "--data"])
            .arg(data)
            .stdout(Stdio::piped())
            .stderr(Stdio::inherit())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let url = line.trim().strip_prefix("listening at ").unwrap_or_default().to_owned();
        assert!(url.starts_with("http://127.0.0.1:"), "{line:?}");
        Self { child, url }
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
