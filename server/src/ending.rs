//! Calls that never end by themselves, ended when the relay is told to stop.
//!
//! A service of the standard's answers as long as it is asked, and knows nothing of stopping:
//! one open call would hold up the end. What is asked of it is cut short instead, and it ends
//! in peace.

use std::convert::Infallible;

use http_body::{Body as HttpBody, Frame};
use tokio::sync::watch;
use tonic::body::Body;
use tonic::codegen::http::{Request, Response};
use tonic::codegen::{BoxFuture, Bytes, Context, Pin, Poll, Service};
use tonic::server::NamedService;

/// A service whose callers are taken to have nothing more to ask once the relay stops.
#[derive(Clone, Debug)]
pub(crate) struct Ending<S> {
    service: S,
    stopping: watch::Receiver<bool>,
}

impl<S> Ending<S> {
    /// Around a service; `stopping` turns true when the relay is told to stop.
    pub(crate) const fn new(service: S, stopping: watch::Receiver<bool>) -> Self {
        Self { service, stopping }
    }
}

impl<S: NamedService> NamedService for Ending<S> {
    const NAME: &'static str = S::NAME;
}

impl<S> Service<Request<Body>> for Ending<S>
where
    S: Service<Request<Body>, Response = Response<Body>, Error = Infallible>,
{
    type Response = S::Response;
    type Error = Infallible;
    type Future = S::Future;

    fn poll_ready(&mut self, context: &mut Context<'_>) -> Poll<Result<(), Infallible>> {
        self.service.poll_ready(context)
    }

    fn call(&mut self, request: Request<Body>) -> S::Future {
        let mut stopping = self.stopping.clone();
        let stops: BoxFuture<(), Infallible> = Box::pin(async move {
            // An error means that nobody can tell any more, which is as good as told.
            let _told = stopping.wait_for(|stopping| *stopping).await;
            Ok(())
        });
        self.service.call(request.map(|asked| Body::new(UntilStop { asked, stops: Some(stops) })))
    }
}

/// What is asked, until the relay stops.
struct UntilStop {
    asked: Body,
    /// None once it has stopped.
    stops: Option<BoxFuture<(), Infallible>>,
}

impl HttpBody for UntilStop {
    type Data = Bytes;
    type Error = tonic::Status;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, tonic::Status>>> {
        if self.stops.as_mut().is_none_or(|stops| stops.as_mut().poll(context).is_ready()) {
            self.stops = None;
            return Poll::Ready(None);
        }
        Pin::new(&mut self.asked).poll_frame(context)
    }
}
