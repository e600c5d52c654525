//! What a browser is given on the same port.

use std::net::TcpStream;
use std::time::Duration;

use gudgeon_relay::authority::{Authority, Names};
use gudgeon_relay::tls::by_authority;
use gudgeon_relay::web::Asset;

use crate::relay_kit::NOW;
use crate::relay_kit::host::{Running, within};
use crate::relay_kit::tls::{Answer, ask, connect_when};

/// An invented app; what is packed is not brotli, since nobody unpacks it here.
const APP: [Asset; 3] = [
    Asset { path: "index.html", whole: b"<!doctype html><title>the app</title>", brotli: Some(b"packed") },
    Asset { path: "app-1234.wasm", whole: b"\0asm", brotli: None },
    Asset { path: "sw.js", whole: b"self", brotli: None },
];

type Headers = &'static [(&'static str, &'static str)];

const DAY: Duration = Duration::from_secs(24 * 60 * 60);

/// An authority for this machine, made when the tests' clock says.
pub(crate) fn authority() -> (tempfile::TempDir, Authority) {
    let data = tempfile::tempdir().unwrap();
    let names = Names::new(&[], &["127.0.0.1".to_owned()]).unwrap();
    let authority = Authority::make(data.path(), names, NOW).unwrap();
    (data, authority)
}

async fn asks(relay: &Running, request: &'static str, headers: Headers) -> Answer {
    let at = relay.at;
    let asking = move || ask(TcpStream::connect(at).unwrap(), request, headers, &[]);
    within(tokio::task::spawn_blocking(asking)).await.unwrap()
}

/// What the browser is told with every answer, found or not.
const HEADERS: [(&str, &str); 6] = [
    (
        "content-security-policy",
        "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' data: blob:; \
         font-src 'self'; connect-src 'self'; manifest-src 'self'; worker-src 'self'; base-uri 'none'; \
         form-action 'none'; frame-ancestors 'none'",
    ),
    ("x-content-type-options", "nosniff"),
    ("referrer-policy", "no-referrer"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("cache-control", "no-cache"),
];

fn promises(answer: &Answer, tls: bool) {
    for (name, value) in HEADERS {
        assert_eq!(answer.header(name), value, "{answer:?}");
    }
    let policy = answer.header("permissions-policy");
    assert!(policy.contains("geolocation=()") && policy.contains("microphone=()"), "{answer:?}");
    assert_eq!(answer.header("strict-transport-security").is_empty(), !tls, "{answer:?}");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_app_comes_from_the_port_of_the_calls_with_every_promise() {
    let relay = Running::otherwise(|bound, _| bound.with_app(&APP)).await;
    let table: [(&str, Headers, u16, &str); 7] = [
        ("GET /", &[], 200, "text/html; charset=utf-8"),
        ("GET /engine/3/read", &[("sec-fetch-mode", "navigate")], 302, "text/plain; charset=utf-8"),
        ("GET /app-1234.wasm", &[], 200, "application/wasm"),
        ("GET /sw.js", &[], 200, "text/javascript; charset=utf-8"),
        ("GET /app-0000.wasm", &[("sec-fetch-mode", "navigate")], 404, "text/plain; charset=utf-8"),
        ("GET /engine/3/read", &[("sec-fetch-mode", "cors")], 404, "text/plain; charset=utf-8"),
        ("POST /", &[("content-type", "text/plain")], 405, "text/plain; charset=utf-8"),
    ];
    for (request, headers, status, media) in table {
        let answer = asks(&relay, request, headers).await;
        assert_eq!((answer.status, answer.header("content-type")), (status, media), "{request}");
        promises(&answer, false);
    }
    let led = asks(&relay, "GET /engine/3/read", &[("sec-fetch-mode", "navigate")]).await;
    assert_eq!(led.header("location"), "../../", "where the files of the app are");
    let whole = asks(&relay, "GET /", &[]).await;
    assert_eq!(whole.body, APP[0].whole);
    let packed = asks(&relay, "GET /", &[("accept-encoding", "gzip, br")]).await;
    assert_eq!((packed.header("content-encoding"), &packed.body[..]), ("br", &b"packed"[..]));
    let head = asks(&relay, "HEAD /sw.js", &[]).await;
    assert_eq!((head.status, head.header("content-length"), head.body.len()), (200, "4", 0));
    relay.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_call_of_no_service_is_answered_as_a_call() {
    let relay = Running::otherwise(|bound, _| bound.with_app(&APP)).await;
    let web = &[("content-type", "application/grpc-web+proto"), ("accept", "text/html")];
    let answer = asks(&relay, "POST /nothing.of.Ours/Ask", web).await;
    assert_eq!((answer.status, answer.header("grpc-status")), (200, "12"), "{answer:?}");
    relay.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_certificate_near_its_end_is_made_anew_while_the_relay_runs() {
    let (data, authority) = authority();
    let own = authority.certificate().to_vec();
    let relay = Running::otherwise(|bound, clock| {
        bound.with_app(&APP).with_tls(by_authority(authority, clock).unwrap())
    })
    .await;
    let shown = |now: i64| {
        let (at, own) = (relay.at, own.clone());
        tokio::task::spawn_blocking(move || {
            let stream = connect_when(at, "127.0.0.1", &own, Some(now)).unwrap();
            let leaf = stream.conn.peer_certificates().unwrap()[0].to_vec();
            (leaf, ask(stream, "GET /", &[], &[]))
        })
    };
    let (first, answer) = within(shown(NOW)).await.unwrap();
    promises(&answer, true);
    let day = i64::try_from(DAY.as_millis()).unwrap();
    for (days, anew) in [(300, false), (67, true)] {
        relay.later(DAY * days);
        let now = NOW + day * if anew { 367 } else { 300 };
        let (leaf, _) = within(shown(now)).await.unwrap();
        assert_eq!(leaf != first, anew, "after {days} days more");
    }
    relay.stop().await;
    drop(data);
}
