//! What comes in at a port: connections, of which none may take its time to say what it wants.
//!
//! Anybody who reaches the port can open a connection and say nothing. So those that are still
//! being opened are counted and bounded in time, with TLS and without, and so are all that are
//! open. What comes after the first request's head the transport bounds itself.

use std::future::Future as _;
use std::io;
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll, ready};
use std::time::Duration;

use rustls::ServerConfig;
use tokio::io::{AsyncRead, AsyncWrite, AsyncWriteExt as _, ReadBuf};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use tokio::task::JoinSet;
use tokio::time::{Sleep, sleep, timeout};
use tokio_rustls::TlsAcceptor;
use tokio_rustls::server::TlsStream;
use tokio_stream::Stream;
use tonic::transport::server::Connected;

use crate::limits::{CONNECTIONS, OPENING};
use crate::pace::Peer;

/// What every request has at least, in bytes: the beginning of a connection by HTTP/2
/// (RFC 9113, section 3.4), and a request line with a host by HTTP/1.1.
const SAID: usize = 24;

/// How long nothing is taken after the system could not give a connection: it has none left.
const PAUSE: Duration = Duration::from_millis(100);

/// The first byte of every TLS connection: a handshake record (RFC 8446, section 5.1).
const HANDSHAKE: u8 = 22;

/// Told in the clear to whoever comes with http:// where https:// is spoken.
const USE_HTTPS: &[u8] = b"HTTP/1.1 400 Bad Request\r\ncontent-type: text/plain; charset=utf-8\r\n\
content-length: 48\r\nconnection: close\r\n\r\nThis address speaks TLS: write it with https://\n";

/// Connections that are open, one after the other.
pub(crate) struct Incoming {
    listener: TcpListener,
    tls: Option<TlsAcceptor>,
    /// How long a connection may take to be opened, and then again to begin its first request.
    hello: Duration,
    opening: JoinSet<io::Result<Connection>>,
    places: Arc<Semaphore>,
    pause: Option<Pin<Box<Sleep>>>,
}

impl Incoming {
    /// At a port, with TLS where there is a configuration for it.
    pub(crate) fn new(listener: TcpListener, tls: Option<Arc<ServerConfig>>, hello: Duration) -> Self {
        Self {
            listener,
            tls: tls.map(TlsAcceptor::from),
            hello,
            opening: JoinSet::new(),
            places: Arc::new(Semaphore::new(CONNECTIONS)),
            pause: None,
        }
    }

    /// Begins to open one, unless as many are open as may be: then it is let go at once.
    fn begin(&mut self, stream: TcpStream, peer: Peer) {
        let Ok(place) = Arc::clone(&self.places).try_acquire_owned() else {
            tracing::warn!(most = CONNECTIONS, "a connection was turned away: too many are open");
            return;
        };
        let (tls, hello) = (self.tls.clone(), self.hello);
        self.opening.spawn(async move {
            let late = |_| io::Error::from(io::ErrorKind::TimedOut);
            let wire = timeout(hello, open(stream, tls)).await.map_err(late)??;
            let first = Some(First { said: 0, until: Box::pin(sleep(hello)) });
            Ok(Connection { wire, first, peer, _place: place })
        });
    }
}

impl Stream for Incoming {
    type Item = io::Result<Connection>;

    fn poll_next(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Option<Self::Item>> {
        loop {
            while let Poll::Ready(Some(opened)) = self.opening.poll_join_next(context) {
                match opened {
                    Ok(Ok(connection)) => return Poll::Ready(Some(Ok(connection))),
                    Ok(Err(error)) => tracing::debug!(%error, "a connection was not opened"),
                    Err(error) => tracing::error!(%error, "opening a connection ended by itself"),
                }
            }
            // Enough are on their way: the next waits in the system's queue until one is through.
            if self.opening.len() >= OPENING {
                return Poll::Pending;
            }
            if let Some(pause) = &mut self.pause {
                ready!(pause.as_mut().poll(context));
                self.pause = None;
            }
            match ready!(self.listener.poll_accept(context)) {
                Ok((stream, from)) => self.begin(stream, Peer(Some(from.ip()))),
                Err(error) => {
                    tracing::warn!(%error, "a connection was not to be had");
                    self.pause = Some(Box::pin(sleep(PAUSE)));
                }
            }
        }
    }
}

async fn open(stream: TcpStream, tls: Option<TlsAcceptor>) -> io::Result<Wire> {
    stream.set_nodelay(true)?;
    match tls {
        None => stream.readable().await.map(|()| Wire::Plain(stream)),
        Some(tls) => Ok(Wire::Tls(Box::new(tls.accept(speaks_tls(stream).await?).await?))),
    }
}

/// Tells whoever does not speak TLS to do so.
async fn speaks_tls(mut stream: TcpStream) -> io::Result<TcpStream> {
    let mut first = [0];
    let seen = stream.peek(&mut first).await?;
    if seen == 1 && first[0] != HANDSHAKE {
        stream.write_all(USE_HTTPS).await?;
        stream.shutdown().await?;
        return Err(io::Error::new(io::ErrorKind::InvalidData, "it does not speak TLS"));
    }
    Ok(stream)
}

/// An open connection.
pub(crate) struct Connection {
    wire: Wire,
    /// None once something was asked.
    first: Option<First>,
    peer: Peer,
    _place: OwnedSemaphorePermit,
}

/// Nothing was asked yet.
struct First {
    said: usize,
    until: Pin<Box<Sleep>>,
}

enum Wire {
    Plain(TcpStream),
    Tls(Box<TlsStream<TcpStream>>),
}

impl Connected for Connection {
    type ConnectInfo = Peer;

    fn connect_info(&self) -> Peer {
        self.peer
    }
}

impl AsyncRead for Connection {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        into: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        let before = into.filled().len();
        let read = match &mut self.wire {
            Wire::Plain(stream) => Pin::new(stream).poll_read(context, into),
            Wire::Tls(stream) => Pin::new(stream).poll_read(context, into),
        };
        let Some(first) = &mut self.first else { return read };
        first.said += into.filled().len() - before;
        if first.said >= SAID {
            self.first = None;
        } else if read.is_pending() && first.until.as_mut().poll(context).is_ready() {
            return Poll::Ready(Err(io::ErrorKind::TimedOut.into()));
        }
        read
    }
}

impl AsyncWrite for Connection {
    fn poll_write(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        match &mut self.wire {
            Wire::Plain(stream) => Pin::new(stream).poll_write(context, bytes),
            Wire::Tls(stream) => Pin::new(stream).poll_write(context, bytes),
        }
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        match &mut self.wire {
            Wire::Plain(stream) => Pin::new(stream).poll_flush(context),
            Wire::Tls(stream) => Pin::new(stream).poll_flush(context),
        }
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        match &mut self.wire {
            Wire::Plain(stream) => Pin::new(stream).poll_shutdown(context),
            Wire::Tls(stream) => Pin::new(stream).poll_shutdown(context),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_said_in_the_clear_is_as_long_as_it_says() {
        let text = String::from_utf8_lossy(USE_HTTPS);
        let body = text.split_once("\r\n\r\n").map(|(_, body)| body.len());
        assert_eq!(body, Some(48));
    }
}
