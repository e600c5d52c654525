//! The page where a phone comes to trust the relay's own authority. It gives the authority's certificate and a
//! few words, and nothing else: it is reached without encryption, for whoever comes has nothing to trust yet.
//! So the page says what must be compared, and with what.

use std::net::SocketAddr;
use std::sync::Arc;

use axum::Router;
use axum::body::Body;
use axum::http::header::{
    CACHE_CONTROL, CONTENT_DISPOSITION, CONTENT_SECURITY_POLICY, CONTENT_TYPE, HeaderName, HeaderValue,
    REFERRER_POLICY, X_CONTENT_TYPE_OPTIONS,
};
use axum::http::{Method, Request, Response, StatusCode};
use data_encoding::BASE64;
use qrcode::QrCode;
use qrcode::render::unicode::Dense1x2;
use sha2::{Digest as _, Sha256};

use crate::authority::Authority;

/// Where the certificate is.
const CERTIFICATE: &str = "/relay.crt";

const STYLE: &str = "body{font:1.1rem/1.5 system-ui,sans-serif;max-width:34rem;margin:0 auto;padding:1rem}\
pre{font-size:1.25rem;line-height:1.6}a{display:inline-block;padding:.8rem 0}:root{color-scheme:light dark}";

/// The page, and what it gives.
#[derive(Debug)]
struct Page {
    html: String,
    certificate: Vec<u8>,
}

/// What is served at the trust port.
pub(crate) fn router(authority: &Authority, relay: &str) -> Router {
    let page = Arc::new(Page { html: html(authority, relay), certificate: authority.certificate().to_vec() });
    Router::new().fallback(move |request: Request<Body>| {
        let answer = page.answer(request.method(), request.uri().path());
        std::future::ready(answer)
    })
}

/// The page's address as phones reach it: digits rather than a name, which a browser that has once come by TLS
/// would no more visit without.
#[must_use]
pub fn address(authority: &Authority, listen: SocketAddr) -> String {
    let (ip, names) = (listen.ip(), authority.names());
    let at = if ip.is_unspecified() { names.address() } else { Some(ip) };
    match at {
        Some(ip) => format!("http://{}", SocketAddr::new(ip, listen.port())),
        None => format!("http://{}:{}", names.host(), listen.port()),
    }
}

/// An address as a square of half blocks, for a camera; none where it does not fit one.
#[must_use]
pub fn square(address: &str) -> Option<String> {
    let square = QrCode::new(address.as_bytes()).ok()?;
    // Light upon dark, as terminals mostly are; cameras read either.
    Some(square.render::<Dense1x2>().dark_color(Dense1x2::Light).light_color(Dense1x2::Dark).build())
}

impl Page {
    fn answer(&self, method: &Method, path: &str) -> Response<Body> {
        let looks = [Method::GET, Method::HEAD].contains(method);
        let (status, media, body) = match path {
            "/" if looks => (StatusCode::OK, "text/html; charset=utf-8", self.html.clone().into_bytes()),
            CERTIFICATE if looks => (StatusCode::OK, "application/x-x509-ca-cert", self.certificate.clone()),
            _ => (StatusCode::NOT_FOUND, "text/plain; charset=utf-8", b"There is nothing here.\n".to_vec()),
        };
        let body = if method == Method::HEAD { Body::empty() } else { Body::from(body) };
        let mut response = Response::new(body);
        *response.status_mut() = status;
        let style = BASE64.encode(&Sha256::digest(STYLE));
        let policy = format!(
            "default-src 'none'; style-src 'sha256-{style}'; base-uri 'none'; form-action 'none'; \
             frame-ancestors 'none'"
        );
        let mut put = |name: HeaderName, value: &str| {
            if let Ok(value) = HeaderValue::from_str(value) {
                response.headers_mut().insert(name, value);
            }
        };
        put(CONTENT_TYPE, media);
        put(CONTENT_SECURITY_POLICY, &policy);
        put(X_CONTENT_TYPE_OPTIONS, "nosniff");
        put(REFERRER_POLICY, "no-referrer");
        put(CACHE_CONTROL, "no-store");
        if status == StatusCode::OK && path == CERTIFICATE {
            put(CONTENT_DISPOSITION, "attachment; filename=\"relay.crt\"");
        }
        response
    }
}

/// Names of machines, digits and our own words: nothing in it can be markup.
fn html(authority: &Authority, relay: &str) -> String {
    let (title, names, digits) = (authority.title(), authority.names(), authority.fingerprint());
    format!(
        "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">\
<meta name=\"viewport\" content=\"width=device-width\"><title>Trust this relay</title><style>{STYLE}</style></head><body>
<h1>Trust this relay</h1>
<p>The office's relay encrypts what your phone sends it. For that your phone must know it once, by the certificate
below. It speaks for <b>{names}</b> and for nothing else: no other page can be shown to you by it.</p>
<h2>1. Compare</h2>
<p>Whoever started the relay has these digits before them. If one pair differs, stop: somebody is in between.</p>
<pre>{digits}</pre>
<p><a href=\"{CERTIFICATE}\">Get the certificate</a></p>
<h2>2. Install</h2>
<h3>iPhone, iPad</h3>
<ol><li>Open this page in Safari, get the certificate, and allow the download.</li>
<li>In Settings, tap the downloaded profile near the top, and install it. Its name is <i>{title}</i>.</li>
<li>In Settings, General, About, at the very end: Certificate Trust Settings. Turn it on there.</li></ol>
<h3>Android</h3>
<ol><li>Get the certificate; it lands among the downloads.</li>
<li>In Settings, search for <i>CA certificate</i> and choose to install one. The phone warns that somebody could look
on; here it is the relay, for its own names only.</li>
<li>Choose the file <i>relay.crt</i>. The phone asks for its screen lock.</li></ol>
<h2>3. Go on</h2>
<p>Open <a href=\"{relay}\">{relay}</a>. If the phone warns there, the certificate is not installed yet.</p>
<p>To undo it, remove the certificate where you installed it.</p>
</body></html>
"
    )
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::authority::Names;

    fn authority(data: &std::path::Path, addresses: &[&str]) -> Authority {
        let addresses: Vec<String> = addresses.iter().map(|word| (*word).to_owned()).collect();
        let names = Names::new(&["relay.workshop.lan".to_owned()], &addresses).unwrap();
        Authority::make(data, names, 1_800_000_000_000).unwrap()
    }

    #[test]
    fn its_address_is_one_that_phones_can_reach() {
        let table = [
            (&["192.168.1.20"][..], "0.0.0.0:7475", "http://192.168.1.20:7475"),
            (&["fd00::20"], "[::]:7475", "http://[fd00::20]:7475"),
            (&[], "0.0.0.0:80", "http://relay.workshop.lan:80"),
            (&["192.168.1.20"], "10.0.0.1:7475", "http://10.0.0.1:7475"),
        ];
        for (addresses, listen, reached) in table {
            let data = tempfile::tempdir().unwrap();
            let authority = authority(data.path(), addresses);
            assert_eq!(address(&authority, listen.parse().unwrap()), reached);
        }
    }

    #[test]
    fn a_square_fits_a_terminal() {
        let lines = square("http://relay.workshop.lan:7475").unwrap().lines().count();
        assert!(lines <= 20, "{lines}");
    }

    #[test]
    fn the_page_shows_what_is_to_be_compared_and_for_whom_it_speaks() {
        let data = tempfile::tempdir().unwrap();
        let authority = authority(data.path(), &["192.168.1.20"]);
        let html = html(&authority, "https://relay.workshop.lan:7474");
        let told = [&authority.fingerprint(), "relay.workshop.lan, 192.168.1.20", &authority.title()];
        assert!(told.iter().all(|words| html.contains(*words)), "{html}");
    }
}
