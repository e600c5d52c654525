//! TLS, by the relay's own authority and by files.

use std::io::Read;
use std::path::{Path, PathBuf};

use gudgeon_core::entry::Author;
use gudgeon_proto::relay as wire;
use gudgeon_relay::authority::{Authority, Names};
use prost::Message;
use rcgen::{CertificateParams, DnType, Issuer, KeyPair, SanType};

use crate::program::{Ran, Relay, run};
use crate::relay_kit::client::answer;
use crate::relay_kit::tls::{Stream, ask, chunk, connect, head, send};
use crate::relay_kit::{Copy, Shop};

pub(crate) fn makes_authority(data: &Path, more: &[&str]) -> Ran {
    let words = ["authority", "--data", data.to_str().unwrap()];
    run(&[&words[..], more].concat())
}

/// A directory with an authority for this machine; and its certificate.
pub(crate) fn with_authority() -> (tempfile::TempDir, Vec<u8>) {
    let data = tempfile::tempdir().unwrap();
    let ran = makes_authority(data.path(), &["--name", "localhost", "--address", "127.0.0.1"]);
    assert_eq!(ran.code, Some(0), "{ran:?}");
    let certificate = std::fs::read(data.path().join("authority/authority.crt")).unwrap();
    (data, certificate)
}

/// Why a client does not come to an open connection; nothing where it does.
fn refuses(relay: &Relay, name: &str, authority: &[u8]) -> Option<String> {
    connect(relay.at, name, authority).err()
}

#[test]
fn who_believes_its_authority_is_answered_and_who_believes_another_turns_away() {
    let ((data, own), (_other, anothers)) = (with_authority(), with_authority());
    let relay = Relay::start(data.path());
    assert_eq!(relay.scheme, "https");
    for name in ["127.0.0.1", "localhost"] {
        let answer = ask(connect(relay.at, name, &own).unwrap(), "GET /", &[], &[]);
        assert_eq!(answer.status, 200, "{answer:?}");
        let told = refuses(&relay, name, &anothers).unwrap();
        assert!(told.contains("invalid peer certificate"), "{told}");
    }
    let told = refuses(&relay, "relay.lan", &own).unwrap();
    assert!(told.contains("not valid for name"), "{told}");
    assert_eq!(relay.stop().code(), Some(0));
}

#[test]
fn a_restart_keeps_the_authority_and_shows_another_certificate_of_it() {
    let (data, own) = with_authority();
    let mut shown = Vec::new();
    for _ in 0..2 {
        let relay = Relay::start(data.path());
        let stream = connect(relay.at, "127.0.0.1", &own).unwrap();
        let chain: Vec<Vec<u8>> =
            stream.conn.peer_certificates().unwrap().iter().map(|one| one.to_vec()).collect();
        assert_eq!(chain.len(), 2, "whoever knows the authority by its digits finds it there");
        assert_eq!(chain[1], own);
        shown.push(chain[0].clone());
        drop(stream);
        assert_eq!(relay.stop().code(), Some(0));
    }
    assert_ne!(shown[0], shown[1]);
}

/// Files with a certificate for a name, signed with the key of a directory's authority.
fn signed_for(data: &Path, name: &str) -> (PathBuf, PathBuf) {
    let authority = Authority::open(data).unwrap();
    let pem = std::fs::read_to_string(data.join("authority/authority.key")).unwrap();
    let mut above = CertificateParams::default();
    above.distinguished_name.push(DnType::CommonName, authority.title());
    let issuer = Issuer::new(above, KeyPair::from_pem(&pem).unwrap());
    let key = KeyPair::generate().unwrap();
    let mut leaf = CertificateParams::default();
    leaf.subject_alt_names = vec![SanType::DnsName(name.try_into().unwrap())];
    let leaf = leaf.signed_by(&key, &issuer).unwrap();
    let (cert, secret) = (data.join("leaf.pem"), data.join("leaf.key"));
    std::fs::write(&cert, leaf.pem()).unwrap();
    std::fs::write(&secret, key.serialize_pem()).unwrap();
    (cert, secret)
}

/// What somebody could do who has stolen the authority's key: nothing, outside its names.
#[test]
fn a_name_that_the_authority_may_not_speak_for_is_refused_though_its_key_signed_it() {
    let (data, own) = with_authority();
    for (name, refused) in [("localhost", None), ("bank.lan", Some("NameConstraintViolation"))] {
        let (cert, key) = signed_for(data.path(), name);
        let files = ["--tls-cert", cert.to_str().unwrap(), "--tls-key", key.to_str().unwrap()];
        let relay = Relay::start_with(data.path(), &files);
        let told = refuses(&relay, name, &own);
        assert_eq!(told.is_none(), refused.is_none(), "{name}: {told:?}");
        assert!(told.is_none_or(|told| told.contains(refused.unwrap())), "{name}");
    }
}

#[test]
fn files_that_are_none_or_do_not_belong_together_are_told_by_name() {
    let (data, other) = (with_authority().0, with_authority().0);
    let ((cert, key), (_, others)) =
        (signed_for(data.path(), "localhost"), signed_for(other.path(), "localhost"));
    let (cert, key, others) = (cert.to_str().unwrap(), key.to_str().unwrap(), others.to_str().unwrap());
    let path = data.path().to_str().unwrap();
    let table = [(cert, others), (cert, cert), (key, key), ("nosuch.pem", key), (cert, "nosuch.key")];
    for (cert, key) in table {
        let words =
            ["serve", "--data", path, "--listen", "127.0.0.1:0", "--tls-cert", cert, "--tls-key", key];
        let ran = run(&words);
        assert_eq!(ran.code, Some(2), "{cert} {key}: {ran:?}");
        assert!(ran.stderr.contains(cert) || ran.stderr.contains(key), "{ran:?}");
    }
}

#[test]
fn an_authority_is_told_with_what_is_compared_and_made_once() {
    let data = tempfile::tempdir().unwrap();
    let ran =
        makes_authority(data.path(), &["--name", "relay.workshop.lan,relay", "--address", "192.168.1.20"]);
    assert_eq!(ran.code, Some(0), "{ran:?}");
    let authority = Authority::open(data.path()).unwrap();
    let told =
        ["relay.workshop.lan, relay, 192.168.1.20", authority.fingerprint().split('\n').next().unwrap()]
            .map(|words| ran.stdout.contains(words));
    assert_eq!(told, [true; 2], "{ran:?}");
    let again = makes_authority(data.path(), &["--name", "relay.workshop.lan"]);
    assert_eq!(again.code, Some(2), "{again:?}");
    assert!(again.stderr.contains("move that directory away"), "{again:?}");
    for bad in [&[][..], &["--name", "*.lan"], &["--address", "192.168.1.0/24"]] {
        let ran = makes_authority(&data.path().join("new"), bad);
        assert_eq!(ran.code, Some(2), "{ran:?}");
    }
    assert!(!data.path().join("new").exists(), "nothing is made of what cannot be meant");
}

#[test]
fn whoever_comes_without_tls_is_told_to_use_it() {
    let (data, _) = with_authority();
    let relay = Relay::start(data.path());
    let answer = ask(std::net::TcpStream::connect(relay.at).unwrap(), "GET /", &[], &[]);
    assert_eq!(answer.status, 400);
    assert!(String::from_utf8_lossy(&answer.body).contains("https://"), "{answer:?}");
}

/// A call as a browser makes it, one message there and one back.
fn call<R: Message + Default>(stream: Stream, method: &str, asks: &impl Message) -> R {
    let answer = ask(stream, &format!("POST {}", path(method)), &GRPC_WEB, &framed(asks));
    assert_eq!((answer.status, answer.header("content-type")), (200, GRPC_WEB[0].1), "{answer:?}");
    let (message, trailers) = unframed(&answer.body);
    assert!(String::from_utf8_lossy(&trailers[5..]).contains("grpc-status:0"), "{answer:?}");
    R::decode(message).unwrap()
}

const GRPC_WEB: [(&str, &str); 1] = [("content-type", "application/grpc-web+proto")];

fn path(method: &str) -> String {
    format!("/gudgeon.relay.v1.Relay/{method}")
}

fn framed(message: &impl Message) -> Vec<u8> {
    let bytes = message.encode_to_vec();
    [&[0][..], &u32::try_from(bytes.len()).unwrap().to_be_bytes(), &bytes].concat()
}

/// The first message, and what comes after it.
fn unframed(bytes: &[u8]) -> (&[u8], &[u8]) {
    let length = u32::from_be_bytes(bytes[1..5].try_into().unwrap());
    assert_eq!(bytes[0], 0, "a message, not the end");
    bytes[5..].split_at(usize::try_from(length).unwrap())
}

/// The next message of a stream.
fn next<R: Message + Default>(lines: &mut std::io::BufReader<impl Read>) -> R {
    let mut bytes = Vec::new();
    while bytes.len() < 5 || bytes.len() < 5 + unframed_length(&bytes) {
        bytes.extend(chunk(lines).expect("the stream goes on"));
    }
    R::decode(unframed(&bytes).0).unwrap()
}

fn unframed_length(bytes: &[u8]) -> usize {
    usize::try_from(u32::from_be_bytes(bytes[1..5].try_into().unwrap())).unwrap()
}

/// A session, opened as a browser does.
fn session(come: &impl Fn() -> Stream, author: &Author, shop: &Shop) -> Vec<u8> {
    let workshop = shop.id().bytes().to_vec();
    let asks = wire::GreetRequest { workshop: workshop.clone() };
    let greeted: wire::GreetReply = call(come(), "Greet", &asks);
    let asks = wire::OpenSessionRequest {
        workshop,
        key: author.key().bytes().to_vec(),
        signature: answer(author, &greeted),
        challenge: greeted.challenge,
        nonce: vec![9; 32],
    };
    call::<wire::OpenSessionReply>(come(), "OpenSession", &asks).session
}

#[test]
fn a_browser_brings_takes_and_watches_through_tls() {
    let (data, own) = with_authority();
    let relay = Relay::start(data.path());
    let come = || connect(relay.at, "127.0.0.1", &own).unwrap();
    let mut shop = Shop::new(5);
    let exchange = |session: &[u8], document: &[u8], changes: Vec<Vec<u8>>| -> wire::ExchangeReply {
        let (session, document) = (session.to_vec(), document.to_vec());
        let reply: wire::ExchangeReply = call(
            come(),
            "Exchange",
            &wire::ExchangeRequest { session, document, heads: Vec::new(), changes },
        );
        assert!(reply.refusals.is_empty() && reply.unknown.is_empty(), "{reply:?}");
        reply
    };
    let brings = session(&come, &shop.root, &shop);
    exchange(&brings, shop.id().bytes(), Copy::new(shop.id(), 50).write(&shop.workshop));
    let author = shop.people[0].clone();
    let session = session(&come, &author, &shop);
    let mut record = Copy::new(shop.record_id(), 50);
    exchange(&session, shop.record_id().bytes(), record.write(&shop.record));

    let asks = wire::WatchRequest { session: session.clone() };
    let mut ear = send(come(), &format!("POST {}", path("Watch")), &GRPC_WEB, &framed(&asks));
    let (status, _) = head(&mut ear);
    assert_eq!(status, 200);
    assert!(next::<wire::WatchReply>(&mut ear).behind, "the first word says that the ear is open");
    let note = shop.notes(&author, "through TLS");
    let changes = record.write(std::slice::from_ref(&note));
    let reply = exchange(&session, shop.record_id().bytes(), changes.clone());
    let news: wire::WatchReply = next(&mut ear);
    assert_eq!((news.changes, news.heads), (changes, reply.heads));
    drop(ear);
    assert_eq!(relay.stop().code(), Some(0));
}

/// The names an authority was made for stand in the program's own words, and in the library's.
#[test]
fn what_the_program_makes_the_library_reads() {
    let (data, own) = with_authority();
    let authority = Authority::open(data.path()).unwrap();
    assert_eq!(authority.certificate().to_vec(), own);
    let names = Names::new(&["localhost".to_owned()], &["127.0.0.1".to_owned()]).unwrap();
    assert_eq!(*authority.names(), names);
}
