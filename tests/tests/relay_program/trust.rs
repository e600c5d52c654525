//! The page where phones come to trust the relay: it gives that, and nothing else.

use std::net::{SocketAddr, TcpStream};

use gudgeon_relay::authority::Authority;

use crate::program::{Relay, run};
use crate::relay_kit::tls::{Answer, ask, connect};
use crate::tls::with_authority;

fn asks(at: SocketAddr, request: &str, headers: &[(&str, &str)], body: &[u8]) -> Answer {
    ask(TcpStream::connect(at).unwrap(), request, headers, body)
}

#[test]
fn the_page_gives_the_certificate_that_opens_the_relay_and_nothing_else() {
    let (data, own) = with_authority();
    let mut relay = Relay::start_with(data.path(), &["--trust-listen", "127.0.0.1:0"]);
    let digits = Authority::open(data.path()).unwrap().digits();
    let homes = relay.says("for homes: ");
    assert_eq!(homes, format!("gudgeon sync --relay \"https://localhost:{}#{digits}\"", relay.at.port()));
    let trust: SocketAddr = relay.says("trust page at http://").parse().unwrap();
    relay.says("fingerprint of its certificate, to compare:");

    let page = asks(trust, "GET /", &[], &[]);
    assert_eq!((page.status, page.header("content-type")), (200, "text/html; charset=utf-8"));
    let policy = page.header("content-security-policy");
    assert!(policy.starts_with("default-src 'none'; style-src 'sha256-"), "{policy}");
    let text = String::from_utf8(page.body).unwrap();
    for _ in 0..4 {
        let line = relay.says("");
        assert_eq!(line.len(), 8 * 3 - 1, "eight pairs of digits: {line:?}");
        assert!(text.contains(&line), "what is compared stands on both: {line}");
    }

    let given = asks(trust, "GET /relay.crt", &[], &[]);
    assert_eq!((given.status, given.header("content-type")), (200, "application/x-x509-ca-cert"));
    assert_eq!(given.body, own);
    let opened = ask(connect(relay.at, "localhost", &given.body).unwrap(), "GET /", &[], &[]);
    assert_eq!(opened.status, 200);

    let web = [("content-type", "application/grpc-web+proto")];
    let nothing: [(&str, &[(&str, &str)]); 9] = [
        ("GET /authority.key", &[]),
        ("GET /../authority/authority.key", &[]),
        ("GET /authority/authority.key", &[]),
        ("GET /index.html", &[("accept", "text/html")]),
        ("GET /engine/3", &[("sec-fetch-mode", "navigate")]),
        ("POST /", &[]),
        ("POST /relay.crt", &[]),
        ("POST /gudgeon.relay.v1.Relay/Greet", &web),
        ("POST /grpc.health.v1.Health/Check", &web),
    ];
    for (request, headers) in nothing {
        let answer = asks(trust, request, headers, &[]);
        assert_eq!(answer.status, 404, "{request}: {answer:?}");
        assert_eq!(answer.body, b"There is nothing here.\n", "{request}");
    }
    let told = asks(trust, "HEAD /relay.crt", &[], &[]);
    assert_eq!((told.status, told.body.len()), (200, 0));
    assert_eq!(relay.stop().code(), Some(0));
}

#[test]
fn without_an_authority_there_is_no_page() {
    let data = tempfile::tempdir().unwrap();
    let path = data.path().to_str().unwrap();
    let ran = run(&["serve", "--data", path, "--listen", "127.0.0.1:0", "--trust-listen", "127.0.0.1:0"]);
    assert_eq!(ran.code, Some(2), "{ran:?}");
    assert!(
        ran.stderr.contains("--trust-listen") && ran.stderr.contains("gudgeon-relay authority"),
        "{ran:?}"
    );
}
