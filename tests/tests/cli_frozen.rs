//! A relay that takes the connection and never answers.
#![allow(clippy::unwrap_used)]

mod cli_kit;

use std::io::{BufRead as _, BufReader};
use std::net::TcpListener;
use std::process::Stdio;

use cli_kit::shop;

/// Listens and is silent: the system takes the connection, nobody reads it.
#[test]
fn a_relay_that_is_silent_is_told_before_its_time_is_up() {
    let stage = shop();
    let silent = TcpListener::bind("127.0.0.1:0").unwrap();
    let url = format!("http://{}", silent.local_addr().unwrap());
    let mut meeting =
        stage.command("ann").args(["sync", "--relay", &url]).stderr(Stdio::piped()).spawn().unwrap();
    let mut first = String::new();
    BufReader::new(meeting.stderr.take().unwrap()).read_line(&mut first).unwrap();
    meeting.kill().unwrap();
    meeting.wait().unwrap();
    // Had it waited in silence, the first line were the error.
    assert!(first.contains("does not answer yet") && first.contains("nothing is lost"), "{first:?}");
}
