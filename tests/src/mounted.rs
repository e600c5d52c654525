//! File systems of a test's own, unmounted when they are dropped. Mounting needs rights: where they
//! are missing the error says so, and the test ends saying that it was skipped.

use std::path::{Path, PathBuf};
use std::process::Command;

/// A mounted file system.
#[derive(Debug)]
pub struct Mounted {
    /// Where.
    pub at: PathBuf,
}

impl Mounted {
    /// One in memory, such as of `size=96m`.
    ///
    /// # Errors
    /// What the system said.
    pub fn in_memory(at: &Path, size: &str) -> Result<Self, String> {
        Self::mount(&["-t", "tmpfs", "-o", size, "tmpfs"], at)
    }

    /// A new one of so many bytes in a file.
    ///
    /// # Errors
    /// What the system said.
    pub fn new_in_file(image: &Path, at: &Path, bytes: u64) -> Result<Self, String> {
        let made = std::fs::File::create(image).and_then(|file| file.set_len(bytes));
        made.map_err(|error| error.to_string())?;
        run("mkfs.ext4", &["-q", "-F", &image.to_string_lossy()])?;
        Self::in_file(image, at)
    }

    /// The one that is in a file already.
    ///
    /// # Errors
    /// What the system said.
    pub fn in_file(image: &Path, at: &Path) -> Result<Self, String> {
        Self::mount(&["-o", "loop", &image.to_string_lossy()], at)
    }

    fn mount(what: &[&str], at: &Path) -> Result<Self, String> {
        std::fs::create_dir_all(at).map_err(|error| error.to_string())?;
        run("mount", &[what, &[&at.to_string_lossy()]].concat())?;
        Ok(Self { at: at.to_owned() })
    }
}

impl Drop for Mounted {
    fn drop(&mut self) {
        if let Err(said) = run("umount", &[&self.at.to_string_lossy()]) {
            tell(&format!("left mounted: {said}"));
        }
    }
}

#[allow(clippy::print_stdout, reason = "a test's own words")]
fn tell(words: &str) {
    println!("{words}");
}

/// Runs a program.
///
/// # Errors
/// What it said where it failed.
pub fn run(program: &str, arguments: &[&str]) -> Result<(), String> {
    // The programs for devices are not on everybody's path.
    let path = format!("{}:/usr/sbin:/sbin", std::env::var("PATH").unwrap_or_default());
    let output = Command::new(program).args(arguments).env("PATH", path).output();
    let output = output.map_err(|error| format!("{program}: {error}"))?;
    let said = String::from_utf8_lossy(&output.stderr).trim().to_owned();
    if output.status.success() { Ok(()) } else { Err(format!("{program}: {said}")) }
}
