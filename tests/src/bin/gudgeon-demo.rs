//! Plays the demo build through the command line. Run it by `cargo xtask demo`.
#![allow(clippy::print_stdout, clippy::print_stderr)] // a program that talks

use std::path::PathBuf;
use std::process::ExitCode;

fn main() -> ExitCode {
    let flags: Vec<String> = std::env::args().skip(1).collect();
    if let Some(odd) = flags.iter().find(|flag| !["--once", "--json"].contains(&flag.as_str())) {
        eprintln!("error: {odd} is no option of the demo\nhint: it takes --once and --json");
        return ExitCode::from(2);
    }
    let has = |flag: &str| flags.iter().any(|given| given == flag);
    let paths = ["GUDGEON_BIN", "GUDGEON_DEMO_DIR"].map(|name| std::env::var_os(name).map(PathBuf::from));
    let [Some(binary), Some(directory)] = paths else {
        eprintln!("error: GUDGEON_BIN and GUDGEON_DEMO_DIR are not set\nhint: run it by `cargo xtask demo`");
        return ExitCode::from(2);
    };
    let played = gudgeon_tests::demo::play(binary.clone(), &directory, &mut |words| eprintln!("{words}"));
    match played {
        Err(error) => {
            eprintln!("error: {error}");
            ExitCode::FAILURE
        }
        Ok(counts) => {
            if has("--json") {
                println!("{counts}");
            }
            if !has("--once") {
                look(&binary.display().to_string(), &directory.display().to_string());
            }
            ExitCode::SUCCESS
        }
    }
}

/// What to try on the fitter's home, with what it shows.
const LOOKS: [(&str, &str); 7] = [
    ("status", "the record at a glance"),
    ("findings --all", "what was conceded, and why"),
    ("history pin/3", "the pin read three times; the outvoted reading is still there"),
    ("history rod/2/big-end", "the housing before and after its bolts were changed"),
    ("step big-end-clearance/2", "a signature and what it rests on"),
    ("refused", "the forged entry, kept aside"),
    ("next", "what is left to do"),
];

/// How to look at what was left behind.
fn look(binary: &str, directory: &str) {
    eprintln!(
        "\nThe homes of ida, ben and cleo are left in {directory}/homes; everybody's PIN is 2468. Try:\n"
    );
    eprintln!("  export GUDGEON_HOME={directory}/homes/cleo");
    for (command, about) in LOOKS {
        eprintln!("  {binary} {command:<25} # {about}");
    }
    eprintln!("\nThe printed record: open {directory}/record.html in a browser, or print it anew with");
    eprintln!("  {binary} print again.html\nPlaying the demo once more begins afresh.");
}
