//! The protocol's calls, over plain HTTP.

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::time::Duration;

use serde_json::Value;

/// One call of the protocol.
pub(super) fn call(at: &str, method: &str, path: &str, body: &Value) -> Result<Value, String> {
    let body = if body.is_null() { String::new() } else { body.to_string() };
    let mut stream = TcpStream::connect(at).map_err(|error| error.to_string())?;
    stream.set_read_timeout(Some(Duration::from_secs(60))).unwrap();
    let head = format!(
        "{method} {path} HTTP/1.1\r\nHost: {at}\r\nContent-Type: application/json\r\nContent-Length: {}\r\nConnection: close\r\n\r\n",
        body.len()
    );
    stream
        .write_all(head.as_bytes())
        .and_then(|()| stream.write_all(body.as_bytes()))
        .map_err(|e| e.to_string())?;
    let mut answer = Vec::new();
    let mut reader = BufReader::new(stream);
    let mut length = None;
    loop {
        let mut line = String::new();
        reader.read_line(&mut line).map_err(|error| error.to_string())?;
        if line.trim().is_empty() {
            break;
        }
        if let Some((name, value)) = line.split_once(':')
            && name.eq_ignore_ascii_case("content-length")
        {
            length = value.trim().parse::<u64>().ok();
        }
    }
    reader.take(length.unwrap_or(u64::MAX)).read_to_end(&mut answer).map_err(|error| error.to_string())?;
    let answer: Value = serde_json::from_slice(&answer).map_err(|error| error.to_string())?;
    let value = answer["value"].clone();
    match value["error"].as_str() {
        Some(error) => Err(format!("{error}: {}", value["message"].as_str().unwrap_or_default())),
        None => Ok(value),
    }
}
