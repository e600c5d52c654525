//! The program itself, built once for a test run; GUDGEON_RELAY_BIN names another.

use std::io::{BufRead as _, BufReader, Lines};
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdout, Command, ExitStatus, Stdio};
use std::sync::OnceLock;
use std::time::Instant;

use gudgeon_tests::programs::built;
use rustix::process::{Pid, Signal, kill_process};

use crate::relay_kit::host::PATIENCE;

pub(crate) fn program() -> &'static Path {
    static PROGRAM: OnceLock<PathBuf> = OnceLock::new();
    PROGRAM.get_or_init(|| {
        std::env::var_os("GUDGEON_RELAY_BIN")
            .map_or_else(|| built("gudgeon-relay", "gudgeon-relay"), PathBuf::from)
    })
}

/// The program with nothing of the tester's own settings.
pub(crate) fn command() -> Command {
    let mut command = Command::new(program());
    for (name, _) in std::env::vars().filter(|(name, _)| name.starts_with("GUDGEON_")) {
        command.env_remove(name);
    }
    command.stdin(Stdio::null());
    command
}

/// How a command came out.
#[derive(Debug)]
pub(crate) struct Ran {
    pub(crate) code: Option<i32>,
    pub(crate) stdout: String,
    pub(crate) stderr: String,
}

pub(crate) fn run(words: &[&str]) -> Ran {
    ran(command().args(words))
}

pub(crate) fn ran(command: &mut Command) -> Ran {
    let output = command.output().unwrap();
    Ran {
        code: output.status.code(),
        stdout: String::from_utf8(output.stdout).unwrap(),
        stderr: String::from_utf8(output.stderr).unwrap(),
    }
}

/// A relay at work; killed when it is dropped.
pub(crate) struct Relay {
    child: Child,
    said: Lines<BufReader<ChildStdout>>,
    pub(crate) at: SocketAddr,
    /// `http` or `https`.
    pub(crate) scheme: String,
}

impl Relay {
    /// Starts it on a directory, at any free port, and waits until it says where it listens.
    pub(crate) fn start(data: &Path) -> Self {
        Self::start_with(data, &[])
    }

    /// The same with more settings.
    pub(crate) fn start_with(data: &Path, more: &[&str]) -> Self {
        let mut child = command()
            .args(["serve", "--listen", "127.0.0.1:0", "--log", "warn", "--data"])
            .arg(data)
            .args(more)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut said = BufReader::new(child.stdout.take().unwrap()).lines();
        let line = said.next().unwrap_or_else(|| Ok(String::new())).unwrap();
        let listens = line.strip_prefix("listening at ").and_then(|url| url.split_once("://"));
        let (scheme, at) = listens.unwrap_or_else(|| panic!("it said {line:?}"));
        Self { child, said, at: at.parse().unwrap(), scheme: scheme.to_owned() }
    }

    /// What it says next, but for these words before it.
    pub(crate) fn says(&mut self, before: &str) -> String {
        let line = self.said.next().unwrap().unwrap();
        line.strip_prefix(before).unwrap_or_else(|| panic!("it said {line:?}")).to_owned()
    }

    /// Ends it as a service manager does.
    pub(crate) fn stop(mut self) -> ExitStatus {
        self.signal(Signal::TERM);
        self.wait()
    }

    /// Ends it with no warning.
    pub(crate) fn kill(mut self) {
        assert!(self.child.try_wait().unwrap().is_none(), "the relay ended by itself");
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }

    pub(crate) fn signal(&self, signal: Signal) {
        kill_process(Pid::from_child(&self.child), signal).unwrap();
    }

    pub(crate) fn wait(&mut self) -> ExitStatus {
        let until = Instant::now() + PATIENCE;
        loop {
            if let Some(status) = self.child.try_wait().unwrap() {
                return status;
            }
            assert!(Instant::now() < until, "the relay does not end");
            std::thread::sleep(std::time::Duration::from_millis(5));
        }
    }
}

impl Drop for Relay {
    fn drop(&mut self) {
        // gone already after `stop` and `kill`; a test that fails leaves no relay behind
        drop(self.child.kill());
        drop(self.child.wait());
    }
}
