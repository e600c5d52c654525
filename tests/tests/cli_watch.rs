//! A watch that lasts longer than its session goes on with another one, and without a word.
#![allow(clippy::unwrap_used)]

mod cli_kit;
mod relay_kit;

use std::io::{BufRead as _, BufReader, Read as _};
use std::process::{Child, Stdio};
use std::time::Duration;

use cli_kit::shop;
use gudgeon_relay::committer::Serves;
use gudgeon_relay::store::Memory;
use relay_kit::host::{Running, Shared};
use serde_json::Value as Json;

/// Ends the program it watches, whatever becomes of the test.
struct Ended(Child);

impl Drop for Ended {
    fn drop(&mut self) {
        let _gone = self.0.kill();
        let _waited = self.0.wait();
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_watch_goes_on_quietly_when_its_session_has_run_out() {
    let stage = shop();
    // Sessions that are over soon by the wall; what counts is the relay's clock, set on below.
    let short = Duration::from_millis(20);
    let relay = Running::lasting(Shared::new(Memory::new()).opener(), Serves::First, short).await;
    for home in ["ann", "ben"] {
        stage.must(home, &format!("sync --relay http://{}", relay.at));
    }
    let mut command = stage.command("ann");
    command.args(["watch", "--json"]).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut watch = Ended(command.spawn().unwrap());
    let mut heard = BufReader::new(watch.0.stdout.take().unwrap()).lines().map(Result::unwrap);
    // The first meeting, and the one after the ear was opened; then both again on a new session.
    let mut meets = || heard.next().unwrap();
    meets();
    meets();
    relay.later(short + Duration::from_millis(1));
    meets();
    meets();
    stage.must("ben", "note \"hear this\"");
    stage.must("ben", "sync");
    let met: Json = serde_json::from_str(&meets()).unwrap();
    assert_eq!(met["came"], 1, "{met}");
    watch.0.kill().unwrap();
    let mut said = String::new();
    watch.0.stderr.take().unwrap().read_to_string(&mut said).unwrap();
    assert!(!said.contains("trying again"), "{said}");
    relay.stop().await;
}
