//! Starting and stopping.

use gudgeon_core::entry::Author;
use gudgeon_relay::limits::DRAIN;
use tonic_health::pb::HealthCheckRequest;
use tonic_health::pb::health_client::HealthClient;
use tonic_reflection::pb::v1::ServerReflectionRequest;
use tonic_reflection::pb::v1::server_reflection_client::ServerReflectionClient;
use tonic_reflection::pb::v1::server_reflection_request::MessageRequest;

use crate::program::{Relay, command, ran, run};
use crate::relay_kit::client::{Client, bring, channel};
use crate::relay_kit::host::within;
use crate::relay_kit::{Copy, Shop, ids};

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn with_port_0_it_says_where_it_listens_and_ends_well_when_told_to() {
    let data = tempfile::tempdir().unwrap();
    let shop = Shop::new(10);
    let relay = Relay::start(data.path());
    assert_ne!(relay.at.port(), 0);
    bring(relay.at, &shop).await;
    let mut watches = Client::open(relay.at, &shop.people[1], shop.id()).await.unwrap();
    let mut stream = watches.watch().await.unwrap();
    let ends = tokio::task::spawn_blocking(move || relay.stop());
    let told = within(stream.message()).await.unwrap_err();
    assert_eq!(told.code(), tonic::Code::Unavailable, "streams are ended, not cut: {told}");
    assert_eq!(within(ends).await.unwrap().code(), Some(0));
    let relay = Relay::start(data.path());
    let mut record = Copy::new(shop.record_id(), 1);
    let mut client = Client::open(relay.at, &shop.people[1], shop.id()).await.unwrap();
    client.sync(&mut record).await.unwrap();
    assert_eq!(record.ids(), ids(&shop.record));
    drop(client);
    assert_eq!(relay.stop().code(), Some(0));
}

/// Each of them would last for ever, were it left to the client.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn open_calls_of_the_standards_services_do_not_hold_up_the_end() {
    let data = tempfile::tempdir().unwrap();
    let relay = Relay::start(data.path());
    let mut health = HealthClient::new(channel(relay.at).await);
    let mut watches = health.watch(HealthCheckRequest { service: String::new() }).await.unwrap().into_inner();
    within(watches.message()).await.unwrap().unwrap();
    let (asks, asked) = tokio::sync::mpsc::channel(1);
    let mut reflection = ServerReflectionClient::new(channel(relay.at).await);
    let asked = tokio_stream::wrappers::ReceiverStream::new(asked);
    let lists = MessageRequest::ListServices(String::new());
    asks.send(ServerReflectionRequest { host: String::new(), message_request: Some(lists) }).await.unwrap();
    let mut describes = reflection.server_reflection_info(asked).await.unwrap().into_inner();
    within(describes.message()).await.unwrap().unwrap();

    let ends = tokio::task::spawn_blocking(move || relay.stop());
    let ended = tokio::time::timeout(DRAIN, ends).await.expect("it waits for neither of them").unwrap();
    assert_eq!(ended.code(), Some(0));
    assert_eq!(within(describes.message()).await.unwrap(), None, "it is ended, not cut");
    drop(asks);
}

#[test]
fn every_fault_of_the_settings_is_told_at_once() {
    let file = tempfile::NamedTempFile::new().unwrap();
    std::fs::write(file.path(), "listen = 'here'\nspeed = 9\n").unwrap();
    let path = file.path().to_str().unwrap();
    let mut serve = command();
    serve.args(["serve", "--config", path, "--workshops", "abc", "--log", "gudgeon_relay=loud"]);
    serve.env("GUDGEON_RELAY_CACHE_MIB", "0").env("GUDGEON_RELAY_COLOUR", "red");
    let ran = ran(&mut serve);
    assert_eq!(ran.code, Some(2), "{ran:?}");
    let expected = [
        "speed",
        "GUDGEON_RELAY_COLOUR",
        "--data",
        ": listen",
        "--workshops",
        "GUDGEON_RELAY_CACHE_MIB",
        "--log",
    ];
    for given in expected {
        assert!(ran.stderr.contains(given), "{given} is not told:\n{}", ran.stderr);
    }
    let told = ran.stderr.lines().filter(|line| line.starts_with("error: ")).count();
    assert_eq!(told, expected.len(), "{}", ran.stderr);
}

#[test]
fn a_second_relay_on_the_same_data_ends_at_once_and_says_so() {
    let data = tempfile::tempdir().unwrap();
    let first = Relay::start(data.path());
    let path = data.path().to_str().unwrap();
    for words in [&["serve", "--listen", "127.0.0.1:0", "--data", path][..], &["check", "--data", path]] {
        let second = run(words);
        assert_eq!(second.code, Some(4), "{second:?}");
        assert!(second.stderr.starts_with("error: ") || second.stderr.contains("\nerror: "), "{second:?}");
    }
    assert_eq!(first.stop().code(), Some(0));
}

#[test]
fn an_address_that_is_taken_is_told_with_the_way_out() {
    let data = tempfile::tempdir().unwrap();
    let taken = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let at = taken.local_addr().unwrap().to_string();
    let ran = run(&["serve", "--listen", &at, "--data", data.path().to_str().unwrap()]);
    assert_eq!(ran.code, Some(3), "{ran:?}");
    assert!(ran.stderr.contains(&at) && ran.stderr.contains("choose another address"), "{ran:?}");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_is_under_way_when_it_is_told_to_stop_is_answered_or_not_kept_as_answered() {
    // Many at once, in the middle of which it is told to stop: what was answered is there.
    let data = tempfile::tempdir().unwrap();
    let mut shop = Shop::new(5);
    let relay = Relay::start(data.path());
    bring(relay.at, &shop).await;
    let author: Author = shop.people[0].clone();
    let mut sends = Vec::new();
    for number in 0..40_u8 {
        let note = shop.notes(&author, &format!("note {number}"));
        let mut client = Client::open(relay.at, &author, shop.id()).await.unwrap();
        let id = shop.record_id();
        sends.push(tokio::spawn(async move {
            let changes = Copy::new(id, number + 60).write(std::slice::from_ref(&note));
            client.exchange(id, &[], changes).await.is_ok().then(|| note.id())
        }));
    }
    let ends = tokio::task::spawn_blocking(move || relay.stop());
    let mut answered = Vec::new();
    for send in sends {
        answered.extend(within(send).await.unwrap());
    }
    assert_eq!(within(ends).await.unwrap().code(), Some(0));
    let relay = Relay::start(data.path());
    let mut record = Copy::new(shop.record_id(), 1);
    Client::open(relay.at, &author, shop.id()).await.unwrap().sync(&mut record).await.unwrap();
    let held = record.ids();
    assert!(answered.iter().all(|id| held.contains(id)));
}
