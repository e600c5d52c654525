//! A client by TLS that speaks HTTP/1.1, as a browser may: plain enough to see every byte.

use std::io::{BufRead as _, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::sync::Arc;
use std::time::Duration;

use rustls::client::WebPkiServerVerifier;
use rustls::client::danger::{HandshakeSignatureValid, ServerCertVerified, ServerCertVerifier};
use rustls::crypto::ring::default_provider;
use rustls::pki_types::{CertificateDer, ServerName, UnixTime};
use rustls::{
    ClientConfig, ClientConnection, DigitallySignedStruct, Error, RootCertStore, SignatureScheme, StreamOwned,
};

use super::host::PATIENCE;

pub type Stream = StreamOwned<ClientConnection, TcpStream>;

/// Whom a client believes, and what time it has.
#[derive(Debug)]
struct Believes {
    judge: Arc<WebPkiServerVerifier>,
    now: Option<UnixTime>,
}

impl ServerCertVerifier for Believes {
    fn verify_server_cert(
        &self,
        end_entity: &CertificateDer<'_>,
        intermediates: &[CertificateDer<'_>],
        server_name: &ServerName<'_>,
        ocsp_response: &[u8],
        now: UnixTime,
    ) -> Result<ServerCertVerified, Error> {
        let now = self.now.unwrap_or(now);
        self.judge.verify_server_cert(end_entity, intermediates, server_name, ocsp_response, now)
    }

    fn verify_tls12_signature(
        &self,
        message: &[u8],
        cert: &CertificateDer<'_>,
        signed: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, Error> {
        self.judge.verify_tls12_signature(message, cert, signed)
    }

    fn verify_tls13_signature(
        &self,
        message: &[u8],
        cert: &CertificateDer<'_>,
        signed: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, Error> {
        self.judge.verify_tls13_signature(message, cert, signed)
    }

    fn supported_verify_schemes(&self) -> Vec<SignatureScheme> {
        self.judge.supported_verify_schemes()
    }
}

/// Connects under a name, believing one authority (DER), with the clock of this machine.
pub fn connect(at: SocketAddr, name: &str, authority: &[u8]) -> Result<Stream, String> {
    connect_when(at, name, authority, None)
}

/// The same with another clock, in milliseconds since 1970.
pub fn connect_when(
    at: SocketAddr,
    name: &str,
    authority: &[u8],
    now: Option<i64>,
) -> Result<Stream, String> {
    let mut roots = RootCertStore::empty();
    roots.add(CertificateDer::from(authority.to_vec())).unwrap();
    let provider = Arc::new(default_provider());
    let judge =
        WebPkiServerVerifier::builder_with_provider(Arc::new(roots), Arc::clone(&provider)).build().unwrap();
    let now = now.map(|now| UnixTime::since_unix_epoch(Duration::from_millis(now.unsigned_abs())));
    let config = ClientConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()
        .unwrap()
        .dangerous()
        .with_custom_certificate_verifier(Arc::new(Believes { judge, now }))
        .with_no_client_auth();
    let name = ServerName::try_from(name.to_owned()).unwrap();
    let mut client = ClientConnection::new(Arc::new(config), name).unwrap();
    let mut socket = TcpStream::connect(at).unwrap();
    socket.set_read_timeout(Some(PATIENCE)).unwrap();
    while client.is_handshaking() {
        client.complete_io(&mut socket).map_err(|error| error.to_string())?;
    }
    Ok(StreamOwned::new(client, socket))
}

/// An answer by HTTP/1.1.
#[derive(Debug)]
pub struct Answer {
    pub status: u16,
    /// Names in small letters.
    pub headers: Vec<(String, String)>,
    pub body: Vec<u8>,
}

impl Answer {
    pub fn header(&self, name: &str) -> &str {
        self.headers.iter().find(|(of, _)| of == name).map_or("", |(_, value)| value)
    }
}

/// Asks once, on a connection that is closed by it.
pub fn ask(stream: impl Read + Write, request: &str, headers: &[(&str, &str)], body: &[u8]) -> Answer {
    let mut lines = send(stream, request, headers, body);
    let (status, headers) = head(&mut lines);
    let mut answer = Answer { status, headers, body: Vec::new() };
    if answer.header("transfer-encoding") == "chunked" {
        while let Some(chunk) = chunk(&mut lines) {
            answer.body.extend(chunk);
        }
    } else {
        let length: u64 = answer.header("content-length").parse().unwrap_or(0);
        let length = if request.starts_with("HEAD") || answer.status == 304 { 0 } else { length };
        lines.take(length).read_to_end(&mut answer.body).unwrap();
    }
    answer
}

/// Sends a request such as `GET /` and hands the connection back, to read from.
pub fn send<S: Read + Write>(
    mut stream: S,
    request: &str,
    headers: &[(&str, &str)],
    body: &[u8],
) -> BufReader<S> {
    let mut text = format!("{request} HTTP/1.1\r\nhost: relay.lan\r\nconnection: close\r\n");
    for (name, value) in headers {
        text.push_str(&format!("{name}: {value}\r\n"));
    }
    if !body.is_empty() {
        text.push_str(&format!("content-length: {}\r\n", body.len()));
    }
    text.push_str("\r\n");
    stream.write_all(text.as_bytes()).unwrap();
    stream.write_all(body).unwrap();
    stream.flush().unwrap();
    BufReader::new(stream)
}

/// Reads status and headers.
pub fn head<S: Read>(lines: &mut BufReader<S>) -> (u16, Vec<(String, String)>) {
    let mut line = || {
        let mut line = String::new();
        lines.read_line(&mut line).unwrap();
        line.trim_end().to_owned()
    };
    let first = line();
    let status = first.split(' ').nth(1).and_then(|status| status.parse().ok());
    let mut headers = Vec::new();
    loop {
        let header = line();
        let Some((name, value)) = header.split_once(": ") else { break };
        headers.push((name.to_ascii_lowercase(), value.to_owned()));
    }
    (status.unwrap_or_else(|| panic!("it said {first:?}")), headers)
}

/// The next chunk of a body that comes in chunks; none at its end.
pub fn chunk<S: Read>(lines: &mut BufReader<S>) -> Option<Vec<u8>> {
    let mut line = String::new();
    lines.read_line(&mut line).unwrap();
    let length = usize::from_str_radix(line.trim(), 16).unwrap_or_else(|_| panic!("it said {line:?}"));
    let mut chunk = vec![0; length + 2];
    lines.read_exact(&mut chunk).unwrap();
    chunk.truncate(length);
    (length > 0).then_some(chunk)
}
