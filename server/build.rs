//! Puts the phone app's files into the program, where that is asked for.
#![allow(clippy::print_stdout, reason = "so a build script speaks to cargo")]

use std::path::PathBuf;

#[path = "build/embed.rs"]
mod embed;

const DIST: &str = "GUDGEON_PHONE_DIST";

fn main() {
    println!("cargo::rerun-if-changed=build.rs");
    println!("cargo::rerun-if-changed=build/embed.rs");
    if std::env::var_os("CARGO_FEATURE_PHONE").is_none() {
        return;
    }
    println!("cargo::rerun-if-env-changed={DIST}");
    if let Err(fault) = put() {
        println!("cargo::error={fault}");
    }
}

fn put() -> Result<(), String> {
    let named = std::env::var_os(DIST).ok_or_else(|| {
        format!("{DIST} is not set: build the app with `cargo xtask phone`, then name the directory it was built into")
    })?;
    let dist = PathBuf::from(named);
    println!("cargo::rerun-if-changed={}", dist.display());
    let table = embed::table(&dist)?;
    let out = std::env::var_os("OUT_DIR").ok_or("cargo names no OUT_DIR")?;
    std::fs::write(PathBuf::from(out).join("app.rs"), table).map_err(|error| format!("writing: {error}"))
}
