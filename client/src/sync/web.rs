//! The way to a relay from a page: gRPC-Web over the browser's fetch.

use std::time::Duration;

use gudgeon_proto::relay as wire;
use gudgeon_proto::relay::relay_client::RelayClient;
use tonic_web_wasm_client::Client;
use tonic_web_wasm_client::options::FetchOptions;

pub use super::wire::Watch;
use super::wire::{Carrier, MESSAGE, listen, put};
use super::{Ask, Input, Trouble};

/// How long a relay may take to answer.
const ANSWER: Duration = Duration::from_secs(60);

/// A relay at an address; clones ask the same.
#[derive(Clone, Debug)]
pub struct Relay {
    client: RelayClient<Carrier>,
    /// Without a limit: a watch lasts.
    lasting: RelayClient<Carrier>,
}

impl Relay {
    /// At the origin of a page, such as `https://192.168.1.20:7474`.
    #[must_use]
    pub fn at(origin: &str) -> Self {
        let to = |client: Client| {
            RelayClient::new(client).max_decoding_message_size(MESSAGE).max_encoding_message_size(MESSAGE)
        };
        let limited = FetchOptions::new().timeout(ANSWER);
        Self {
            client: to(Client::new_with_options(origin.to_owned(), limited)),
            lasting: to(Client::new(origin.to_owned())),
        }
    }

    /// Asks, and brings back what was answered or why nothing was. A fetch that fails says only
    /// that it failed: it is taken for the relay being out of reach.
    pub async fn ask(&mut self, ask: Ask) -> Input {
        put(&mut self.client, ask).await
    }

    /// Opens an ear at the relay.
    ///
    /// # Errors
    /// [`Trouble`]: why there is none.
    pub async fn watch(&mut self, session: Vec<u8>) -> Result<Watch, Trouble> {
        listen(&mut self.lasting, tonic::Request::new(wire::WatchRequest { session })).await
    }
}
