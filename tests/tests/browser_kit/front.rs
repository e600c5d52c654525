//! The app's files and the relay's calls at one port, as a page needs them.
//!
//! One connection, one request: a file is given from memory, a call is passed on to the relay
//! byte by byte.

use std::collections::BTreeMap;
use std::io::{BufRead as _, BufReader, Write as _};
use std::net::{Shutdown, SocketAddr, TcpListener, TcpStream};
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::JoinHandle;

/// Media types by the end of a name.
const MEDIA: &[(&str, &str)] = &[
    ("css", "text/css"),
    ("html", "text/html"),
    ("js", "text/javascript"),
    ("svg", "image/svg+xml"),
    ("wasm", "application/wasm"),
    ("webmanifest", "application/manifest+json"),
    ("woff2", "font/woff2"),
];

/// As strict as a relay is with a page.
const POLICY: &str = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self'; \
                      font-src 'self'; connect-src 'self'; manifest-src 'self'; worker-src 'self'";

type Files = BTreeMap<String, Vec<u8>>;

/// Answers until it is closed.
pub struct Front {
    pub at: SocketAddr,
    closed: Arc<AtomicBool>,
    thread: JoinHandle<()>,
}

impl Front {
    /// Before this relay, with the files of a folder.
    pub fn open(at: SocketAddr, relay: SocketAddr, app: &Path) -> Self {
        let files = std::fs::read_dir(app).unwrap().map(|entry| entry.unwrap().path());
        let file = |path: std::path::PathBuf| {
            (path.file_name().unwrap().to_string_lossy().into_owned(), std::fs::read(&path).unwrap())
        };
        let files: Arc<Files> = Arc::new(files.map(file).collect());
        let listener = TcpListener::bind(at).unwrap();
        let at = listener.local_addr().unwrap();
        let closed = Arc::new(AtomicBool::new(false));
        let ends = Arc::clone(&closed);
        let thread = std::thread::spawn(move || {
            for stream in listener.incoming() {
                if ends.load(Ordering::SeqCst) {
                    return;
                }
                let (stream, files) = (stream.unwrap(), Arc::clone(&files));
                // A browser that goes away in the middle is no fault of anybody's.
                std::thread::spawn(move || drop(answer(stream, relay, &files)));
            }
        });
        Self { at, closed, thread }
    }

    /// Answers nobody any more.
    pub fn close(self) {
        self.closed.store(true, Ordering::SeqCst);
        drop(TcpStream::connect(self.at));
        self.thread.join().unwrap();
    }
}

fn answer(stream: TcpStream, relay: SocketAddr, files: &Files) -> std::io::Result<()> {
    let mut reader = BufReader::new(stream.try_clone()?);
    let mut head = Vec::new();
    loop {
        let mut line = String::new();
        if reader.read_line(&mut line)? == 0 {
            return Ok(());
        }
        if line.trim().is_empty() {
            break;
        }
        head.push(line);
    }
    let first = head.first().cloned().unwrap_or_default();
    match first.split_whitespace().collect::<Vec<_>>()[..] {
        ["GET", path, _] => give(stream, path, files),
        _ => pass_on(stream, reader, &head, relay),
    }
}

fn give(mut stream: TcpStream, path: &str, files: &Files) -> std::io::Result<()> {
    let name = path.trim_start_matches('/');
    let name = if name.is_empty() { "index.html" } else { name };
    let end = name.rsplit('.').next().unwrap_or_default();
    let media = MEDIA.iter().find(|(known, _)| *known == end).map_or("text/plain", |(_, media)| media);
    let (status, bytes) = files.get(name).map_or(("404 Not Found", &[][..]), |bytes| ("200 OK", &bytes[..]));
    let head = format!(
        "HTTP/1.1 {status}\r\nContent-Type: {media}\r\nContent-Length: {}\r\nCache-Control: no-cache\r\n\
         Content-Security-Policy: {POLICY}\r\nConnection: close\r\n\r\n",
        bytes.len()
    );
    stream.write_all(head.as_bytes())?;
    stream.write_all(bytes)?;
    stream.shutdown(Shutdown::Write)
}

fn pass_on(
    mut stream: TcpStream,
    mut reader: BufReader<TcpStream>,
    head: &[String],
    relay: SocketAddr,
) -> std::io::Result<()> {
    let mut there = TcpStream::connect(relay)?;
    let kept = head.iter().filter(|line| !line.to_ascii_lowercase().starts_with("connection:"));
    let head: String = kept.cloned().chain(["Connection: close\r\n\r\n".to_owned()]).collect();
    there.write_all(head.as_bytes())?;
    let mut back = there.try_clone()?;
    std::thread::spawn(move || drop(std::io::copy(&mut reader, &mut there)));
    std::io::copy(&mut back, &mut stream)?;
    stream.shutdown(Shutdown::Both)
}
