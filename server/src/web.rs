//! What a browser is given: the phone app, where it is built in, and otherwise a word about it.
//!
//! Whatever is not a call of the protocol comes here. The files are in the program itself, found
//! by their whole name: no path of a request ever reaches a file system. A name that is not there
//! is not there; only who goes to a page, and not who fetches a part of one, is led to the app,
//! which has its files beside it and knows its own pages by what follows the `#`.

use std::collections::BTreeMap;
use std::convert::Infallible;
use std::sync::Arc;

use axum::body::Body;
use axum::http::header::{
    ACCEPT, ACCEPT_ENCODING, ALLOW, CACHE_CONTROL, CONTENT_ENCODING, CONTENT_LENGTH, CONTENT_TYPE, ETAG,
    HeaderMap, HeaderName, HeaderValue, IF_NONE_MATCH, LOCATION, VARY,
};
use axum::http::{Method, Request, Response, StatusCode};
use data_encoding::HEXLOWER;
use sha2::{Digest as _, Sha256};

/// A file of the app: its path within the app, what it holds, and the same packed with brotli.
#[derive(Clone, Copy, Debug)]
pub struct Asset {
    /// Such as `index.html` or `fonts/a.woff2`.
    pub path: &'static str,
    /// As it is.
    pub whole: &'static [u8],
    /// As RFC 7932 packs it.
    pub brotli: Option<&'static [u8]>,
}

#[cfg(feature = "phone")]
include!(concat!(env!("OUT_DIR"), "/app.rs"));

/// The phone app's files; none where it is not built in.
#[cfg(not(feature = "phone"))]
pub const APP: &[Asset] = &[];

/// The page that the app begins with.
const INDEX: &str = "index.html";

/// Shown where there is no app.
const WITHOUT: &str = "<!doctype html>\n<html lang=\"en\"><meta charset=\"utf-8\">\
<meta name=\"viewport\" content=\"width=device-width\"><title>Gudgeon relay</title>\n\
<h1>This is a Gudgeon relay</h1>\n\
<p>It serves the command line; the phone app is not built into it. Where it is built:</p>\n\
<pre>cargo xtask phone\nGUDGEON_PHONE_DIST=target/phone cargo build --release -p gudgeon-relay --features phone</pre>\n";

/// What goes with every answer. A row a promise; what is not named is forbidden.
const HEADERS: [(&str, &str); 7] = [
    (
        "content-security-policy",
        "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' data: blob:; \
         font-src 'self'; connect-src 'self'; manifest-src 'self'; worker-src 'self'; base-uri 'none'; \
         form-action 'none'; frame-ancestors 'none'",
    ),
    ("x-content-type-options", "nosniff"),
    ("referrer-policy", "no-referrer"),
    (
        "permissions-policy",
        "camera=(self), screen-wake-lock=(self), accelerometer=(), \
         display-capture=(), geolocation=(), gyroscope=(), magnetometer=(), microphone=(), midi=(), payment=(), \
         serial=(), usb=()",
    ),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("cache-control", "no-cache"),
];

/// Under TLS alone: who came by it comes by it again. Of this name only, and for a month: a shop may
/// want to go back. Browsers do not heed it for an address of digits (RFC 6797, section 8.1.1).
const STRICT_TRANSPORT: (&str, &str) = ("strict-transport-security", "max-age=2592000");

/// Media types by the end of a name (IANA's registry; WebAssembly and web manifests say theirs themselves).
const MEDIA: [(&str, &str); 12] = [
    ("css", "text/css; charset=utf-8"),
    ("html", "text/html; charset=utf-8"),
    ("ico", "image/x-icon"),
    ("js", "text/javascript; charset=utf-8"),
    ("json", "application/json"),
    ("png", "image/png"),
    ("svg", "image/svg+xml"),
    ("txt", "text/plain; charset=utf-8"),
    ("wasm", "application/wasm"),
    ("webmanifest", "application/manifest+json"),
    ("webp", "image/webp"),
    ("woff2", "font/woff2"),
];

/// The files by their path, ready to be given out.
#[derive(Clone, Debug)]
pub struct Web {
    files: Arc<BTreeMap<&'static str, File>>,
    /// What goes with every answer.
    headers: Arc<HeaderMap>,
}

#[derive(Debug)]
struct File {
    asset: Asset,
    /// By what it holds, in quotes.
    tag: String,
    media: &'static str,
}

impl Web {
    /// Of these files; `tls` where it is reached by TLS.
    #[must_use]
    pub fn new(assets: &[Asset], tls: bool) -> Self {
        let file = |asset: &Asset| {
            let digest = HEXLOWER.encode(&Sha256::digest(asset.whole)[..16]);
            let file = File { asset: *asset, tag: format!("\"{digest}\""), media: media(asset.path) };
            (asset.path, file)
        };
        let strict = tls.then_some(STRICT_TRANSPORT);
        let headers = HEADERS.into_iter().chain(strict);
        let headers = headers
            .map(|(name, value)| (HeaderName::from_static(name), HeaderValue::from_static(value)))
            .collect();
        Self { files: Arc::new(assets.iter().map(file).collect()), headers: Arc::new(headers) }
    }

    /// The answer to a request that is none of the protocol's.
    ///
    /// # Errors
    /// None.
    #[allow(clippy::unused_async)] // as a service is asked
    pub async fn answer<B>(self, request: Request<B>) -> Result<Response<Body>, Infallible> {
        if is_grpc(request.headers()) {
            return Ok(tonic::Status::unimplemented("").into_http());
        }
        let mut response = self.of(&request);
        for (name, value) in self.headers.iter() {
            response.headers_mut().insert(name, value.clone());
        }
        if request.method() == Method::HEAD {
            *response.body_mut() = Body::empty();
        }
        Ok(response)
    }

    fn of<B>(&self, request: &Request<B>) -> Response<Body> {
        if ![Method::GET, Method::HEAD].contains(request.method()) {
            let mut refused = said(StatusCode::METHOD_NOT_ALLOWED, "This is only for looking.\n");
            refused.headers_mut().insert(ALLOW, HeaderValue::from_static("GET, HEAD"));
            return refused;
        }
        let path = request.uri().path().trim_start_matches('/');
        let elsewhere = !path.is_empty() && is_navigation(request.headers()) && !is_file(path);
        match self.files.get(if path.is_empty() || elsewhere { INDEX } else { path }) {
            Some(_) if elsewhere => led_up(path),
            Some(file) => file.given(request.headers()),
            None if (path.is_empty() || elsewhere) && self.files.is_empty() => {
                typed(StatusCode::OK, media(INDEX), WITHOUT.as_bytes())
            }
            None => said(StatusCode::NOT_FOUND, "There is nothing of that name.\n"),
        }
    }
}

impl File {
    fn given(&self, asked: &HeaderMap) -> Response<Body> {
        let packed = self.asset.brotli.filter(|_| takes_brotli(asked));
        // Packed it is another representation, with a tag of its own (RFC 9110, section 8.8.3).
        let tag = match packed {
            Some(_) => format!("{}-br\"", self.tag.trim_end_matches('"')),
            None => self.tag.clone(),
        };
        let held = asked.get_all(IF_NONE_MATCH).iter().filter_map(|list| list.to_str().ok());
        let held = held.flat_map(|list| list.split(',')).map(|one| one.trim().trim_start_matches("W/"));
        let mut response = if { held }.any(|one| one == tag || one == "*") {
            let mut unchanged = Response::new(Body::empty());
            *unchanged.status_mut() = StatusCode::NOT_MODIFIED;
            unchanged
        } else {
            typed(StatusCode::OK, self.media, packed.unwrap_or(self.asset.whole))
        };
        let headers = response.headers_mut();
        if packed.is_some() {
            headers.insert(CONTENT_ENCODING, HeaderValue::from_static("br"));
        }
        headers.insert(VARY, HeaderValue::from_static("accept-encoding"));
        if let Ok(tag) = HeaderValue::from_str(&tag) {
            headers.insert(ETAG, tag);
        }
        response
    }
}

/// To where the app is, as seen from a path: its links are relative, so its files are found from there alone.
/// Relative too, for who is reached under a path of somebody else's; browsers take what follows the `#` along
/// (Fetch, section 4.4).
fn led_up(path: &str) -> Response<Body> {
    let up = "../".repeat(path.matches('/').count());
    let mut answer = said(StatusCode::FOUND, "The app is further up.\n");
    if let Ok(up) = HeaderValue::from_str(if up.is_empty() { "./" } else { &up }) {
        answer.headers_mut().insert(LOCATION, up);
    }
    answer
}

/// A short answer in words.
fn said(status: StatusCode, text: &'static str) -> Response<Body> {
    typed(status, media("a.txt"), text.as_bytes())
}

/// An answer of some type; its length is told, so that HEAD tells it too.
fn typed(status: StatusCode, media: &'static str, bytes: &'static [u8]) -> Response<Body> {
    let mut response = Response::new(Body::from(bytes));
    *response.status_mut() = status;
    response.headers_mut().insert(CONTENT_TYPE, HeaderValue::from_static(media));
    response.headers_mut().insert(CONTENT_LENGTH, HeaderValue::from(bytes.len()));
    response.headers_mut().insert(CACHE_CONTROL, HeaderValue::from_static("no-cache"));
    response
}

fn media(path: &str) -> &'static str {
    let end = path.rsplit_once('.').map_or("", |(_, end)| end);
    MEDIA.iter().find(|(of, _)| *of == end).map_or("application/octet-stream", |(_, media)| media)
}

/// A call of the protocol, of a service that is not here.
fn is_grpc(headers: &HeaderMap) -> bool {
    let media = headers.get(CONTENT_TYPE).and_then(|media| media.to_str().ok());
    media.is_some_and(|media| media.starts_with("application/grpc"))
}

/// Somebody goes to a page. Browsers say so (Fetch Metadata, section 2.3); old ones only say what they would
/// like to have.
fn is_navigation(headers: &HeaderMap) -> bool {
    let text = |name: HeaderName| headers.get(name).and_then(|value| value.to_str().ok());
    match text(HeaderName::from_static("sec-fetch-mode")) {
        Some(mode) => mode == "navigate",
        None => text(ACCEPT).is_some_and(|accept| accept.contains("text/html")),
    }
}

/// The name of a file, which the app's pages do not have.
fn is_file(path: &str) -> bool {
    path.rsplit('/').next().is_some_and(|last| last.contains('.'))
}

/// Whether brotli is named, and not named with a weight of nought (RFC 9110, section 12.5.3).
fn takes_brotli(headers: &HeaderMap) -> bool {
    let lists = headers.get_all(ACCEPT_ENCODING).iter().filter_map(|list| list.to_str().ok());
    let mut codings = lists.flat_map(|list| list.split(','));
    codings.any(|coding| {
        let (name, weight) = coding.split_once(';').unwrap_or((coding, ""));
        let nought = weight.trim().strip_prefix("q=").is_some_and(|q| q.trim_matches(['0', '.']).is_empty());
        name.trim().eq_ignore_ascii_case("br") && !nought
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    const FILES: [Asset; 3] = [
        Asset { path: "index.html", whole: b"<!doctype html>the app", brotli: Some(b"packed") },
        Asset { path: "app.wasm", whole: b"\0asm", brotli: None },
        Asset { path: "fonts/plain.woff2", whole: b"wOF2", brotli: None },
    ];

    /// What is answered to a GET with these headers.
    fn get(files: &[Asset], path: &str, headers: &[(&str, &str)]) -> Response<Body> {
        let mut request = Request::builder().uri(path);
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        Web::new(files, false).of(&request.body(()).unwrap())
    }

    fn header<'a>(response: &'a Response<Body>, name: &str) -> &'a str {
        response.headers().get(name).map_or("", |value| value.to_str().unwrap())
    }

    #[test]
    fn a_file_is_given_with_its_type_and_a_missing_one_is_missing() {
        let table = [
            ("/", 200, "text/html; charset=utf-8"),
            ("/index.html", 200, "text/html; charset=utf-8"),
            ("/app.wasm", 200, "application/wasm"),
            ("/fonts/plain.woff2", 200, "font/woff2"),
            ("/gone.js", 404, "text/plain; charset=utf-8"),
            ("/engine/3", 404, "text/plain; charset=utf-8"),
            ("/../index.html", 404, "text/plain; charset=utf-8"),
            ("/fonts", 404, "text/plain; charset=utf-8"),
        ];
        for (path, status, media) in table {
            let answer = get(&FILES, path, &[]);
            assert_eq!(
                (answer.status().as_u16(), header(&answer, "content-type")),
                (status, media),
                "{path}"
            );
        }
    }

    #[test]
    fn who_goes_to_a_page_is_led_to_the_app_and_who_fetches_a_part_is_not() {
        let table = [
            ("/", &[("sec-fetch-mode", "navigate")][..], 200),
            ("/engine/3", &[("sec-fetch-mode", "navigate")], 302),
            ("/engine/3", &[("accept", "text/html,application/xhtml+xml")], 302),
            ("/engine/3", &[("sec-fetch-mode", "cors"), ("accept", "text/html")], 404),
            ("/engine/3", &[("accept", "*/*")], 404),
            ("/old-0123.js", &[("sec-fetch-mode", "navigate")], 404),
        ];
        for (path, headers, status) in table {
            assert_eq!(get(&FILES, path, headers).status().as_u16(), status, "{path} {headers:?}");
        }
    }

    #[test]
    fn from_every_path_the_way_leads_to_where_the_files_of_the_app_are() {
        for (path, location) in [("/r", "./"), ("/r/", "../"), ("/r/xyz", "../"), ("/a/b/c", "../../")] {
            let answer = get(&FILES, path, &[("sec-fetch-mode", "navigate")]);
            assert_eq!(
                (answer.status(), header(&answer, "location")),
                (StatusCode::FOUND, location),
                "{path}"
            );
            // As a browser resolves it (RFC 3986, section 5.2.4), also under a path of somebody else's.
            for under in ["", "/shop"] {
                let mut segments: Vec<&str> = path.split('/').collect();
                segments.pop();
                segments.truncate(segments.len() - location.matches("../").count());
                let there = format!("{under}{}/", segments.join("/"));
                assert_eq!(there, format!("{under}/"), "{path}");
            }
        }
    }

    #[test]
    fn it_is_packed_for_whoever_takes_it_so_and_each_form_has_its_tag() {
        let plain = get(&FILES, "/", &[]);
        let table =
            [("br", "br"), ("gzip, br;q=0.5", "br"), ("gzip", ""), ("br;q=0", ""), ("br;q=0.0, gzip", "")];
        for (accepts, coding) in table {
            let answer = get(&FILES, "/", &[("accept-encoding", accepts)]);
            assert_eq!(header(&answer, "content-encoding"), coding, "{accepts}");
            assert_eq!(header(&answer, "etag") == header(&plain, "etag"), coding.is_empty(), "{accepts}");
            assert_eq!(header(&answer, "vary"), "accept-encoding");
        }
    }

    #[test]
    fn who_holds_it_is_told_so_and_only_of_the_same() {
        let tag = header(&get(&FILES, "/", &[]), "etag").to_owned();
        let packed = header(&get(&FILES, "/", &[("accept-encoding", "br")]), "etag").to_owned();
        let weak = format!("\"other\", W/{tag}");
        for (held, status) in [(tag.as_str(), 304), (&weak, 304), ("*", 304), (&packed, 200), ("\"x\"", 200)]
        {
            let answer = get(&FILES, "/", &[("if-none-match", held)]);
            assert_eq!(answer.status().as_u16(), status, "{held}");
            assert_eq!(header(&answer, "etag"), tag);
        }
    }

    #[test]
    fn without_the_app_a_page_says_how_it_is_built_in() {
        let answer = get(&[], "/", &[]);
        assert_eq!((answer.status(), header(&answer, "content-type")), (StatusCode::OK, media(INDEX)));
        assert!(WITHOUT.contains("--features phone"));
        assert_eq!(get(&[], "/app.wasm", &[]).status(), StatusCode::NOT_FOUND);
    }

    #[test]
    fn nothing_but_looking_is_answered() {
        let request = Request::builder().method("POST").uri("/").body(()).unwrap();
        let answer = Web::new(&FILES, false).of(&request);
        assert_eq!((answer.status().as_u16(), header(&answer, "allow")), (405, "GET, HEAD"));
    }
}
