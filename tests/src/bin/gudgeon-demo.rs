//! Plays the demo build through the command line. Run it by `cargo xtask demo`.
#![allow(clippy::print_stdout, clippy::print_stderr)] // a program that talks

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use gudgeon_tests::demo::ended::{self, Ended};
use gudgeon_tests::demo::office::Office;
use gudgeon_tests::demo::shop::{Failure, OFFICE, Programs};
use gudgeon_tests::demo::{Played, play};

fn main() -> ExitCode {
    let flags: Vec<String> = std::env::args().skip(1).collect();
    if let Some(odd) = flags.iter().find(|flag| !["--once", "--json"].contains(&flag.as_str())) {
        eprintln!("error: {odd} is no option of the demo\nhint: it takes --once and --json");
        return ExitCode::from(2);
    }
    let has = |flag: &str| flags.iter().any(|given| given == flag);
    let names = ["GUDGEON_BIN", "GUDGEON_OFFICE_BIN", "GUDGEON_DEMO_DIR"];
    let [Some(gudgeon), Some(relay), Some(directory)] =
        names.map(|name| std::env::var_os(name).map(PathBuf::from))
    else {
        eprintln!("error: {} are not all set\nhint: run it by `cargo xtask demo`", names.join(", "));
        return ExitCode::from(2);
    };
    let programs = Programs { gudgeon, relay };
    let (json, once) = (has("--json"), has("--once"));
    let ended = ended::until_told(move || {
        let played = play(programs.clone(), &directory, &mut |words| eprintln!("{words}"))?;
        if json {
            println!("{}", played.counts);
        }
        if once { Ok(()) } else { stay(&programs, &directory, &played) }
    });
    match ended {
        Ok(Ended::Done(Ok(()))) => ExitCode::SUCCESS,
        Ok(Ended::Told(code)) => {
            eprintln!("The relay is stopped.");
            ExitCode::from(code)
        }
        Ok(Ended::Done(Err(error))) | Err(error) => {
            eprintln!("error: {error}");
            ExitCode::FAILURE
        }
    }
}

/// Starts the relay again where it was, says how to look at everything, and stays until told to end.
fn stay(programs: &Programs, directory: &Path, played: &Played) -> Result<(), Failure> {
    let office = Office::open(&programs.relay, &directory.join(OFFICE), Some(&played.url))?;
    look(&programs.gudgeon.display().to_string(), &directory.display().to_string(), &office.url);
    ended::stay()
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

/// The same at the office, from another terminal.
const MEETS: [(&str, &str); 4] = [
    ("--home {homes}/ben note \"hello from Ben\"", "only on Ben's phone"),
    ("--home {homes}/ben sync", "brings it to the office"),
    ("--home {homes}/ida watch", "hears whatever somebody brings; ctrl-C ends it"),
    ("--home {homes}/cleo-old sync", "the lost phone is turned away"),
];

/// How to look at what was left behind.
fn look(binary: &str, directory: &str, url: &str) {
    let homes = format!("{directory}/homes");
    eprintln!(
        "\nThe relay runs at {url}, its data in {directory}/{OFFICE}. The homes of ida, ben and cleo are in \
         {homes}; everybody's PIN is 2468. In another terminal, try:\n"
    );
    eprintln!("  export GUDGEON_PIN=2468");
    for (command, about) in MEETS {
        eprintln!("  {binary} {}   # {about}", command.replace("{homes}", &homes));
    }
    eprintln!("\n  export GUDGEON_HOME={homes}/cleo");
    for (command, about) in LOOKS {
        eprintln!("  {binary} {command:<25} # {about}");
    }
    eprintln!("\nThe printed record: open {directory}/record.html in a browser, or print it anew with");
    eprintln!("  {binary} print again.html\nPlaying the demo once more begins afresh.");
    eprintln!("\nThe relay runs until ctrl-C is typed here.");
}
