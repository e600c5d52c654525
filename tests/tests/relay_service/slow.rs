//! Connections that say nothing, or never come to the point: they are let go, and keep nobody out. And those
//! that ask too much.

use std::io::{Read as _, Write as _};
use std::net::{SocketAddr, TcpStream};
use std::time::Duration;

use gudgeon_relay::limits::OPENING;
use gudgeon_relay::pace::Most;
use gudgeon_relay::tls::by_authority;

use super::web::authority;
use crate::relay_kit::client::{Client, channel};
use crate::relay_kit::host::{PATIENCE, Running, within};
use crate::relay_kit::tls::{ask, connect_when};
use crate::relay_kit::{Copy, NOW, Shop};

/// Short, so that nobody waits long for it to be over.
const HELLO: Duration = Duration::from_millis(300);

/// The beginning of a TLS record that holds a handshake (RFC 8446, section 5.1), cut short.
const HALF_A_RECORD: &[u8] = &[22, 3, 1, 2];

/// Waits until the other side has ended it; panics if that takes longer than anybody's patience.
fn is_ended(mut stream: TcpStream) {
    stream.set_read_timeout(Some(PATIENCE)).unwrap();
    let mut rest = Vec::new();
    match stream.read_to_end(&mut rest) {
        Ok(_) => {}
        Err(error) => assert_eq!(error.kind(), std::io::ErrorKind::ConnectionReset, "{error}"),
    }
}

fn says(at: SocketAddr, first: &[u8]) -> TcpStream {
    let mut stream = TcpStream::connect(at).unwrap();
    stream.write_all(first).unwrap();
    stream
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_connection_that_does_not_come_to_the_point_is_ended() {
    let relay = Running::otherwise(|bound, _| bound.with_hello_of(HELLO)).await;
    let at = relay.at;
    for first in [&b""[..], b"P", b"PRI * HTTP/2.0\r\n", b"GET / HTTP"] {
        within(tokio::task::spawn_blocking(move || is_ended(says(at, first)))).await.unwrap();
    }
    relay.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_handshake_that_is_never_finished_is_ended_and_so_is_silence_after_it() {
    let (data, authority) = authority();
    let own = authority.certificate().to_vec();
    let relay = Running::otherwise(|bound, clock| {
        bound.with_hello_of(HELLO).with_tls(by_authority(authority, clock).unwrap())
    })
    .await;
    let at = relay.at;
    for first in [&b""[..], HALF_A_RECORD] {
        within(tokio::task::spawn_blocking(move || is_ended(says(at, first)))).await.unwrap();
    }
    let silent = move || {
        let stream = connect_when(at, "127.0.0.1", &own, Some(NOW)).unwrap();
        is_ended(stream.sock);
    };
    within(tokio::task::spawn_blocking(silent)).await.unwrap();
    relay.stop().await;
    drop(data);
}

/// They fill all places for connections that are being opened; the next waits for one and gets it.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn many_that_say_nothing_keep_nobody_out() {
    let relay = Running::otherwise(|bound, _| bound.with_hello_of(HELLO)).await;
    let at = relay.at;
    let silent: Vec<TcpStream> = (0..OPENING + 20).map(|_| TcpStream::connect(at).unwrap()).collect();
    let asking = move || ask(TcpStream::connect(at).unwrap(), "GET /", &[], &[]);
    let answer = within(tokio::task::spawn_blocking(asking)).await.unwrap();
    assert_eq!(answer.status, 200);
    drop(silent);
    relay.stop().await;
}

/// What was begun well may take as long as it likes between two calls.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_connection_that_was_used_outlasts_the_first_word() {
    use tonic_health::pb::HealthCheckRequest;
    use tonic_health::pb::health_client::HealthClient;

    let relay = Running::otherwise(|bound, _| bound.with_hello_of(HELLO)).await;
    let mut health = HealthClient::new(channel(relay.at).await);
    let mut stream = health.watch(HealthCheckRequest::default()).await.unwrap().into_inner();
    within(stream.message()).await.unwrap().unwrap();
    let at = relay.at;
    // One that is ended for its silence, begun after the other: when it ends, the other's time was up long ago.
    within(tokio::task::spawn_blocking(move || is_ended(says(at, b"")))).await.unwrap();
    health.check(HealthCheckRequest::default()).await.unwrap();
    relay.stop().await;
}

#[tokio::test]
async fn who_asks_too_often_is_told_when_to_come_again_and_others_are_answered() {
    let relay = Running::otherwise(|bound, _| bound.with_pace_of(Most { requests: 3, openings: 100 })).await;
    let shop = Shop::new(1);
    let mut brings = Client::open(relay.at, &shop.root, shop.id()).await.unwrap();
    brings.exchange(shop.id(), &[], Copy::new(shop.id(), 50).write(&shop.workshop)).await.unwrap();
    let mut first = Client::open(relay.at, &shop.people[0], shop.id()).await.unwrap();
    // Another session of the same key does not help.
    let mut again = Client::open(relay.at, &shop.people[0], shop.id()).await.unwrap();
    first.exchange(shop.id(), &[], Vec::new()).await.unwrap();
    for client in [&mut first, &mut again] {
        client.exchange(shop.id(), &[], Vec::new()).await.unwrap();
    }
    for client in [&mut first, &mut again] {
        let told = client.exchange(shop.id(), &[], Vec::new()).await.unwrap_err();
        assert_eq!(told.code(), tonic::Code::ResourceExhausted, "{told}");
        assert!(told.message().contains("at most 3 requests of one key a minute"), "{told}");
    }
    let told = first.watch().await.unwrap_err();
    assert_eq!(told.code(), tonic::Code::ResourceExhausted, "{told}");
    let mut other = Client::open(relay.at, &shop.people[1], shop.id()).await.unwrap();
    other.exchange(shop.id(), &[], Vec::new()).await.unwrap();
    relay.later(Duration::from_secs(60));
    first.exchange(shop.id(), &[], Vec::new()).await.unwrap();
    relay.stop().await;
}

#[tokio::test]
async fn who_opens_sessions_without_end_is_told_when_to_come_again() {
    let relay = Running::otherwise(|bound, _| bound.with_pace_of(Most { requests: 100, openings: 4 })).await;
    let shop = Shop::new(1);
    for _ in 0..2 {
        Client::open(relay.at, &shop.root, shop.id()).await.unwrap();
    }
    let told = Client::open(relay.at, &shop.people[0], shop.id()).await.map(drop).unwrap_err();
    assert_eq!(told.code(), tonic::Code::ResourceExhausted, "{told}");
    relay.later(Duration::from_secs(60));
    Client::open(relay.at, &shop.root, shop.id()).await.unwrap();
    relay.stop().await;
}
