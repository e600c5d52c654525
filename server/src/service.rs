//! The gRPC service: messages in, our own types on, and back. Nothing is decided here.

use std::pin::Pin;
use std::sync::Arc;
use std::time::Duration;

use gudgeon_core::document::{ChangeHash, Refused};
use gudgeon_core::entry::{DocumentId, KeyId};
use gudgeon_proto::relay as wire;
use gudgeon_proto::relay::relay_server::Relay;
use tokio::sync::{OwnedSemaphorePermit, Semaphore, broadcast, watch};
use tokio_stream::{Stream, StreamExt as _, wrappers::ReceiverStream};
use tonic::metadata::{MetadataMap, MetadataValue};
use tonic::{Code, Request, Response, Status};

use crate::committer::{Clock, Committer, News, NoAnswer};
use crate::desk::{Answer, Ask, Checked};
use crate::limits::{CHANGES, HEADS, WATCHERS};
use crate::pace::{Most, Pace, Peer, TooOften, Who};
use crate::session::{Caller, NONCE, Seal, SessionError};
use crate::standing::{Denied, Standing};
use crate::store::Trouble;

/// Entries checked where the request is; more of them go to a thread that may take its time.
const AT_ONCE: usize = 8;

/// The relay's service.
#[derive(Clone)]
pub struct Service {
    committer: Committer,
    seal: Seal,
    clock: Clock,
    watchers: Arc<Semaphore>,
    pace: Arc<Pace>,
    /// Turns true when the relay is told to stop: streams end then.
    stopping: watch::Receiver<bool>,
}

impl std::fmt::Debug for Service {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Service").finish_non_exhaustive()
    }
}

impl Service {
    /// Around a committer; `stopping` turns true when the relay is told to stop.
    #[must_use]
    pub fn new(
        committer: Committer,
        seal: Seal,
        clock: Clock,
        pace: Most,
        stopping: watch::Receiver<bool>,
    ) -> Self {
        let (watchers, pace) = (Arc::new(Semaphore::new(WATCHERS)), Arc::new(Pace::new(pace)));
        Self { committer, seal, clock, watchers, pace, stopping }
    }

    fn now(&self) -> i64 {
        (self.clock)()
    }

    /// Until the relay's clock is past that moment (ms since 1970). A clock may be set, so it is
    /// asked again after the wait.
    async fn past(&self, until: i64) {
        while let Ok(left) = u64::try_from(until.saturating_sub(self.now())) {
            tokio::time::sleep(Duration::from_millis(left.saturating_add(1))).await;
        }
    }

    /// Whose a session is, until when; their request is counted.
    fn caller(&self, session: &[u8]) -> Result<(Caller, i64), Status> {
        let now = self.now();
        let (caller, until) = self.seal.caller(session, now).map_err(|error| refused_session(&error))?;
        self.pace.take(Who::Key(caller.key), now).map_err(|error| too_often(&error))?;
        Ok((caller, until))
    }

    /// Counts the request of somebody who has no session yet.
    fn opens<T>(&self, request: &Request<T>) -> Result<(), Status> {
        let from = request.extensions().get::<Peer>().and_then(|peer| peer.0);
        self.pace.take(Who::From(from), self.now()).map_err(|error| too_often(&error))
    }
}

#[tonic::async_trait]
impl Relay for Service {
    async fn greet(
        &self,
        request: Request<wire::GreetRequest>,
    ) -> Result<Response<wire::GreetReply>, Status> {
        self.opens(&request)?;
        let workshop = document("workshop", &request.get_ref().workshop)?;
        let mut nonce = [0; NONCE];
        getrandom::fill(&mut nonce)
            .map_err(|_| Status::unavailable("the relay's machine gives no randomness"))?;
        let challenge = self.seal.challenge(workshop, nonce, self.now());
        Ok(Response::new(wire::GreetReply { relay: self.seal.relay().to_vec(), challenge }))
    }

    async fn open_session(
        &self,
        request: Request<wire::OpenSessionRequest>,
    ) -> Result<Response<wire::OpenSessionReply>, Status> {
        self.opens(&request)?;
        let asked = request.into_inner();
        let key = KeyId::from_slice(&asked.key).ok_or_else(|| wrong_length("key", 32, asked.key.len()))?;
        let mut caller = Caller { workshop: document("workshop", &asked.workshop)?, key, brings: false };
        let nonce = array::<NONCE>("nonce", &asked.nonce)?;
        let signature = array::<64>("signature", &asked.signature)?;
        self.seal
            .answered(&caller, &asked.challenge, &nonce, &signature, self.now())
            .map_err(|error| refused_session(&error))?;
        let standing = self.committer.standing(caller).await.map_err(|error| no_answer(&error))?;
        caller.brings = standing == Standing::Brings;
        let (session, expires) = self.seal.session(&caller, self.now());
        tracing::info!(workshop = %caller.workshop.short(), key = %key.short(), ?standing, "session");
        let standing = i32::from(standing_code(standing));
        Ok(Response::new(wire::OpenSessionReply { session, expires, standing }))
    }

    async fn exchange(
        &self,
        request: Request<wire::ExchangeRequest>,
    ) -> Result<Response<wire::ExchangeReply>, Status> {
        let asked = request.into_inner();
        let (caller, _) = self.caller(&asked.session)?;
        let ask = ask(&caller, asked)?;
        let (ask, checked) = check(ask).await?;
        let answer =
            self.committer.exchange(caller, ask, checked).await.map_err(|error| no_answer(&error))?;
        Ok(Response::new(reply(answer)))
    }

    type WatchStream = Pin<Box<dyn Stream<Item = Result<wire::WatchReply, Status>> + Send>>;

    async fn watch(
        &self,
        request: Request<wire::WatchRequest>,
    ) -> Result<Response<Self::WatchStream>, Status> {
        let (caller, until) = self.caller(&request.get_ref().session)?;
        // It would hear nothing, and anybody can open one while the relay is empty.
        if caller.brings {
            return Err(no_answer(&Denied::WorkshopOnly.into()));
        }
        let watcher = Arc::clone(&self.watchers).try_acquire_owned();
        let watcher =
            watcher.map_err(|_| Status::resource_exhausted("too many watch this relay; sync instead"))?;
        // First the ear, then the question: nothing falls between.
        let news = self.committer.watch();
        self.committer.standing(caller).await.map_err(|error| no_answer(&error))?;
        let (told, stream) = tokio::sync::mpsc::channel(4);
        tokio::spawn(tell_news(self.clone(), Watcher { caller, until, _place: watcher }, news, told));
        Ok(Response::new(Box::pin(ReceiverStream::new(stream).map(|news| news))))
    }
}

/// One who watches, until the session runs out.
struct Watcher {
    caller: Caller,
    /// Milliseconds since 1970.
    until: i64,
    _place: OwnedSemaphorePermit,
}

type Told = tokio::sync::mpsc::Sender<Result<wire::WatchReply, Status>>;

/// Passes news on until the client goes, the relay stops, or the session ends.
async fn tell_news(service: Service, watcher: Watcher, mut news: broadcast::Receiver<Arc<News>>, told: Told) {
    let mut stopping = service.stopping.clone();
    let mut runs_out = std::pin::pin!(service.past(watcher.until));
    // The first word says only that the ear is open: what came before is had by Exchange.
    let mut next = Some(Ok(wire::WatchReply { behind: true, ..wire::WatchReply::default() }));
    loop {
        if let Some(word) = next.take() {
            let ends = word.is_err();
            if told.send(word).await.is_err() || ends {
                return;
            }
        }
        let heard = tokio::select! {
            heard = news.recv() => heard,
            () = told.closed() => return,
            () = &mut runs_out => {
                next = Some(Err(refused_session(&SessionError::RunOut)));
                continue;
            }
            _ = stopping.wait_for(|stopping| *stopping) => {
                next = Some(Err(Status::unavailable("the relay is stopping; try again in a moment")));
                continue;
            }
        };
        next = match heard {
            Ok(news) => word(&service, &watcher, &news).await,
            Err(broadcast::error::RecvError::Lagged(_)) => {
                Some(Ok(wire::WatchReply { behind: true, ..wire::WatchReply::default() }))
            }
            Err(broadcast::error::RecvError::Closed) => return,
        };
    }
}

/// What a watcher is told of some news: nothing where it is not theirs to know.
async fn word(service: &Service, watcher: &Watcher, news: &News) -> Option<Result<wire::WatchReply, Status>> {
    let caller = &watcher.caller;
    if news.workshop != caller.workshop {
        return None;
    }
    // The roster may have changed with these very news, and a clock may be set.
    if watcher.until < service.now() {
        return Some(Err(refused_session(&SessionError::RunOut)));
    }
    let standing = match service.committer.standing(*caller).await {
        Ok(standing) => standing,
        Err(error) => return Some(Err(no_answer(&error))),
    };
    standing.may(caller, news.document).ok()?;
    Some(Ok(wire::WatchReply {
        document: news.document.bytes().to_vec(),
        heads: hashes(&news.heads),
        changes: news.changes.iter().map(|raw| raw.to_vec()).collect(),
        behind: false,
    }))
}

/// Checks the signatures of an ask, out of the way of other requests where there are many.
async fn check(ask: Ask) -> Result<(Ask, Checked), Status> {
    let checked = |ask: Ask| {
        let checked = Checked::of(ask.document, &ask.changes);
        (ask, checked)
    };
    if ask.changes.len() <= AT_ONCE {
        return Ok(checked(ask));
    }
    tokio::task::spawn_blocking(move || checked(ask))
        .await
        .map_err(|_| Status::unavailable("the relay is stopping; try again in a moment"))
}

fn ask(caller: &Caller, asked: wire::ExchangeRequest) -> Result<Ask, Status> {
    at_most("heads", HEADS, asked.heads.len())?;
    at_most("changes", CHANGES, asked.changes.len())?;
    let head = |bytes: &Vec<u8>| {
        ChangeHash::from_slice(bytes).ok_or_else(|| wrong_length("a head", 32, bytes.len()))
    };
    Ok(Ask {
        workshop: caller.workshop,
        document: document("document", &asked.document)?,
        heads: asked.heads.iter().map(head).collect::<Result<_, _>>()?,
        changes: asked.changes,
    })
}

fn reply(answer: Answer) -> wire::ExchangeReply {
    wire::ExchangeReply {
        heads: hashes(&answer.heads),
        changes: answer.changes,
        refusals: answer.refused.iter().map(refusal).collect(),
        unknown: hashes(&answer.unknown),
        more: answer.more,
    }
}

fn refusal(refused: &Refused) -> wire::Refusal {
    wire::Refusal {
        change: refused.change.bytes().to_vec(),
        entry: refused.entry.map_or_else(Vec::new, |entry| entry.bytes().to_vec()),
        rule: refused.rule.to_owned(),
        hint: refused.hint.clone(),
    }
}

fn hashes(hashes: &[ChangeHash]) -> Vec<Vec<u8>> {
    hashes.iter().map(|hash| hash.bytes().to_vec()).collect()
}

const fn standing_code(standing: Standing) -> wire::Standing {
    match standing {
        Standing::Member => wire::Standing::Member,
        Standing::Invited => wire::Standing::Invited,
        Standing::Brings => wire::Standing::Brings,
    }
}

fn document(field: &str, bytes: &[u8]) -> Result<DocumentId, Status> {
    DocumentId::from_slice(bytes).ok_or_else(|| wrong_length(field, 32, bytes.len()))
}

fn array<const N: usize>(field: &str, bytes: &[u8]) -> Result<[u8; N], Status> {
    bytes.try_into().map_err(|_| wrong_length(field, N, bytes.len()))
}

fn wrong_length(field: &str, wanted: usize, found: usize) -> Status {
    Status::invalid_argument(format!("{field} is {wanted} bytes; this has {found}"))
}

fn at_most(what: &str, limit: usize, found: usize) -> Result<(), Status> {
    if found <= limit {
        return Ok(());
    }
    Err(Status::resource_exhausted(format!(
        "at most {limit} {what} in one request; this has {found}: send fewer"
    )))
}

fn refused_session(error: &SessionError) -> Status {
    Status::unauthenticated(error.to_string())
}

fn too_often(error: &TooOften) -> Status {
    Status::resource_exhausted(error.to_string())
}

fn no_answer(error: &NoAnswer) -> Status {
    let text = error.to_string();
    match error {
        NoAnswer::Denied(denied) => {
            let mut metadata = MetadataMap::new();
            metadata.insert(wire::DENIED, MetadataValue::from_static(denied.name()));
            Status::with_metadata(Code::PermissionDenied, text, metadata)
        }
        NoAnswer::Store { trouble: Trouble::Full, .. } => Status::resource_exhausted(text),
        NoAnswer::Store { trouble: Trouble::Damaged, .. } => Status::data_loss(text),
        NoAnswer::Store { .. } | NoAnswer::Busy => Status::unavailable(text),
    }
}
