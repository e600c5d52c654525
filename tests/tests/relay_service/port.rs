//! What any client of the standard can look at, on the same port.

use std::io::{Read as _, Write as _};
use std::net::TcpStream;

use gudgeon_proto::relay::{GreetReply, GreetRequest};
use gudgeon_relay::limits::DRAIN;
use tonic_health::pb::HealthCheckRequest;
use tonic_health::pb::health_check_response::ServingStatus;
use tonic_health::pb::health_client::HealthClient;
use tonic_reflection::pb::v1::server_reflection_client::ServerReflectionClient;
use tonic_reflection::pb::v1::server_reflection_request::MessageRequest;
use tonic_reflection::pb::v1::server_reflection_response::MessageResponse;
use tonic_reflection::pb::v1::{ServerReflectionRequest, ServerReflectionResponse};

use crate::relay_kit::client::channel;
use crate::relay_kit::host::{PATIENCE, Running, within};

const SERVICE: &str = "gudgeon.relay.v1.Relay";

#[tokio::test]
async fn health_says_that_the_service_is_serving() {
    let relay = Running::in_memory().await;
    let mut health = HealthClient::new(channel(relay.at).await);
    for service in ["", SERVICE] {
        let asked = HealthCheckRequest { service: service.into() };
        let said = health.check(asked).await.unwrap().into_inner();
        assert_eq!(said.status(), ServingStatus::Serving);
    }
    let asked = HealthCheckRequest { service: "nothing.of.ours".into() };
    assert_eq!(health.check(asked).await.unwrap_err().code(), tonic::Code::NotFound);
    drop(health);
    relay.stop().await;
}

#[tokio::test]
async fn who_watches_its_health_is_told_that_it_stops_and_does_not_hold_it_up() {
    let relay = Running::in_memory().await;
    let mut health = HealthClient::new(channel(relay.at).await);
    let mut streams = Vec::new();
    for service in ["", SERVICE] {
        let asked = HealthCheckRequest { service: service.into() };
        let mut stream = health.watch(asked).await.unwrap().into_inner();
        let said = within(stream.message()).await.unwrap().unwrap();
        assert_eq!(said.status(), ServingStatus::Serving);
        streams.push(stream);
    }
    let stops = tokio::spawn(relay.stop());
    for mut stream in streams {
        let said = within(stream.message()).await.unwrap().unwrap();
        assert_eq!(said.status(), ServingStatus::NotServing);
    }
    tokio::time::timeout(DRAIN, stops).await.expect("it waits for nothing else").unwrap();
}

#[tokio::test]
async fn reflection_lists_the_service_and_describes_it() {
    let relay = Running::in_memory().await;
    let mut reflection = ServerReflectionClient::new(channel(relay.at).await);
    let services = reflect(&mut reflection, MessageRequest::ListServices(String::new())).await;
    let Some(MessageResponse::ListServicesResponse(listed)) = services.message_response else {
        panic!("no list")
    };
    assert!(listed.service.iter().any(|service| service.name == SERVICE), "{listed:?}");
    let symbol = MessageRequest::FileContainingSymbol(format!("{SERVICE}.Exchange"));
    let described = reflect(&mut reflection, symbol).await;
    let Some(MessageResponse::FileDescriptorResponse(files)) = described.message_response else {
        panic!("no description: {:?}", described.message_response)
    };
    let text = String::from_utf8_lossy(&files.file_descriptor_proto[0]).into_owned();
    assert!(text.contains("ExchangeRequest") && text.contains("refusals"));
    drop(reflection);
    relay.stop().await;
}

async fn reflect(
    client: &mut ServerReflectionClient<tonic::transport::Channel>,
    asked: MessageRequest,
) -> ServerReflectionResponse {
    let asked = ServerReflectionRequest { host: String::new(), message_request: Some(asked) };
    let mut said = client.server_reflection_info(tokio_stream::once(asked)).await.unwrap().into_inner();
    said.message().await.unwrap().unwrap()
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_browsers_call_over_plain_http_is_answered() {
    use prost::Message as _;

    let relay = Running::in_memory().await;
    let at = relay.at;
    let asked = GreetRequest { workshop: vec![7; 32] }.encode_to_vec();
    let answer = tokio::task::spawn_blocking(move || post(at, &asked)).await.unwrap();
    let (head, body) = answer;
    assert!(head.starts_with("HTTP/1.1 200"), "{head}");
    assert!(head.to_ascii_lowercase().contains("content-type: application/grpc-web+proto"), "{head}");
    let length = usize::try_from(u32::from_be_bytes(body[1..5].try_into().unwrap())).unwrap();
    let greeted = GreetReply::decode(&body[5..5 + length]).unwrap();
    assert_eq!((body[0], greeted.relay.len(), greeted.challenge.len()), (0, 32, 72));
    let trailers = String::from_utf8_lossy(&body[5 + length..]).into_owned();
    assert!(trailers.contains("grpc-status:0"), "{trailers}");
    relay.stop().await;
}

/// Posts one framed message over HTTP/1.1; answers head and body.
fn post(at: std::net::SocketAddr, message: &[u8]) -> (String, Vec<u8>) {
    let mut socket = TcpStream::connect(at).unwrap();
    socket.set_read_timeout(Some(PATIENCE)).unwrap();
    let length = u32::try_from(message.len()).unwrap();
    let framed = [&[0][..], &length.to_be_bytes(), message].concat();
    let head = format!(
        "POST /{SERVICE}/Greet HTTP/1.1\r\nhost: {at}\r\ncontent-type: application/grpc-web+proto\r\n\
         content-length: {}\r\nconnection: close\r\n\r\n",
        framed.len()
    );
    socket.write_all(head.as_bytes()).unwrap();
    socket.write_all(&framed).unwrap();
    let mut answer = Vec::new();
    socket.read_to_end(&mut answer).unwrap();
    let end = answer.windows(4).position(|four| four == b"\r\n\r\n").unwrap();
    let head = String::from_utf8(answer[..end].to_vec()).unwrap();
    let body = answer[end + 4..].to_vec();
    let chunked = head.to_ascii_lowercase().contains("transfer-encoding: chunked");
    (head, if chunked { unchunked(&body) } else { body })
}

fn unchunked(mut body: &[u8]) -> Vec<u8> {
    let mut whole = Vec::new();
    loop {
        let line = body.windows(2).position(|two| two == b"\r\n").unwrap();
        let length = usize::from_str_radix(std::str::from_utf8(&body[..line]).unwrap(), 16).unwrap();
        if length == 0 {
            return whole;
        }
        whole.extend(&body[line + 2..line + 2 + length]);
        body = &body[line + 4 + length..];
    }
}
