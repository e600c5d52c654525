//! A phone's browser, a relay that serves the app, and a lead at a desk.
#![allow(dead_code, unreachable_pub, clippy::unwrap_used)]

pub mod driver;
pub mod eyes;
pub mod shop;
mod wire;

use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::sync::{Arc, LazyLock};
use std::thread::JoinHandle;

use gudgeon_client::home::Home;
use gudgeon_client::sync::native::{Relay, meet};
use gudgeon_client::sync::{Code, Engine, Identity, Summary};
use gudgeon_client::world::{Native, World as _};
use gudgeon_core::engine::EXAMPLE;
use gudgeon_core::entry::payload::{Check, Invite, Reading, RecordListed, Role};
use gudgeon_core::entry::{Author, DocumentId, Payload};
use gudgeon_relay::authority::Authority;
use gudgeon_relay::committer::Serves;
use gudgeon_relay::serve::{Bound, system_clock};
use gudgeon_relay::store::{OnDisk, Options};
use gudgeon_relay::tls::by_authority;
use gudgeon_relay::web::Asset;
use gudgeon_tests::homes;
use rustls::ServerConfig;
use tokio::sync::oneshot;

use driver::{Browser, Driver};

/// Names the folder of the app; `cargo xtask test` sets it.
pub const APP: &str = "GUDGEON_PHONE_DIST";

/// Of the phone.
pub const PIN: &str = "2468";

const DAY: i64 = 24 * 60 * 60 * 1000;

/// The app as `cargo xtask phone` laid it out, held as long as the program runs, as a relay holds it.
static ASSETS: LazyLock<Vec<Asset>> = LazyLock::new(|| {
    let app =
        std::env::var_os(APP).map(PathBuf::from).expect("GUDGEON_PHONE_DIST: `cargo xtask phone` builds it");
    let names =
        std::fs::read_dir(&app).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap());
    let held = |path: PathBuf| -> Option<&'static [u8]> { Some(Box::leak(std::fs::read(path).ok()?.into())) };
    let asset = |name: String| Asset {
        whole: held(app.join(&name)).unwrap(),
        brotli: held(app.join(format!("{name}.br"))),
        path: Box::leak(name.into_boxed_str()),
    };
    names.filter(|name| !name.ends_with(".br")).map(asset).collect()
});

/// A relay with the app, in a thread of its own, on a store on disk.
pub struct Office {
    /// For programs and browsers alike.
    pub at: SocketAddr,
    stop: oneshot::Sender<()>,
    thread: JoinHandle<()>,
}

impl Office {
    /// Opens at a free port, or at that of an office before.
    pub fn open(data: PathBuf, before: Option<SocketAddr>) -> Self {
        Self::open_by(data, before, None)
    }

    /// The same by TLS, with a certificate of an authority of its own.
    pub fn open_encrypted(data: PathBuf, authority: Authority) -> Self {
        let tls = by_authority(authority, system_clock()).unwrap();
        Self::open_by(data, None, Some(tls))
    }

    fn open_by(data: PathBuf, before: Option<SocketAddr>, tls: Option<Arc<ServerConfig>>) -> Self {
        let at = before.unwrap_or_else(|| "127.0.0.1:0".parse().unwrap());
        let (stop, stopped) = oneshot::channel();
        let (tell, told) = std::sync::mpsc::channel();
        let thread = std::thread::spawn(move || {
            let runtime =
                tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
            runtime.block_on(async {
                let open = Box::new(move || Ok(Box::new(OnDisk::open(&data, Options::default())?) as Box<_>));
                let bound =
                    Bound::new(at, open, Serves::First, system_clock()).await.unwrap().with_app(&ASSETS);
                let bound = if let Some(tls) = tls { bound.with_tls(tls) } else { bound };
                tell.send(bound.address().unwrap()).unwrap();
                bound.serve(async move { drop(stopped.await) }).await.unwrap();
            });
        });
        let at = told.recv().unwrap();
        Self { at, stop, thread }
    }

    /// A name that browsers take for safe without TLS.
    pub fn url(&self) -> String {
        format!("http://localhost:{}/", self.at.port())
    }

    /// Closes; answers where it was.
    pub fn close(self) -> SocketAddr {
        self.stop.send(()).unwrap();
        self.thread.join().unwrap();
        self.at
    }
}

/// The lead at a desk: founds, invites, meets the relay. All invented.
pub struct Lead {
    pub home: Home,
    author: Author,
    pub workshop: DocumentId,
    pub record: DocumentId,
    relay: String,
    runtime: tokio::runtime::Runtime,
    _folder: tempfile::TempDir,
}

impl Lead {
    /// A workshop with one record of the example engine, whose first step is ready to sign.
    pub fn founds(relay: SocketAddr) -> Self {
        Self::founds_on(format!("http://{relay}"), EXAMPLE)
    }

    /// The same with an engine of that definition, and a relay at that address.
    pub fn founds_on(relay: String, engine: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let mut home = Home::create(&folder.path().join("home"), Native).unwrap();
        let author = Author::from_secret(&[2; 32]);
        let photographed = Check {
            check: "photographed".into(),
            feature: String::new(),
            passed: true,
            step: "received".into(),
            note: String::new(),
        };
        let first = [Payload::Check(photographed)];
        let (workshop, record) = homes::founds(&mut home, &author, engine, &first);
        let listed = RecordListed { record, name: "Engine one".into() };
        home.state(workshop, &author, &[Payload::RecordListed(listed)]).unwrap();
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
        Self { home, author, workshop, record, relay, runtime, _folder: folder }
    }

    /// Reads so many times, all over the engine: a record of the size of a whole build.
    pub fn reads_many(&mut self, entries: usize) {
        homes::reads_many(&mut self.home, &self.author, self.record, entries);
    }

    /// States something in the workshop's own document.
    pub fn rules(&mut self, says: &[Payload]) {
        self.home.state(self.workshop, &self.author, says).unwrap();
    }

    /// Invites somebody new; the code.
    pub fn invites(&mut self, name: &str) -> String {
        let code = Code::new(&Native, self.workshop, &self.relay).unwrap();
        let offer = Invite {
            person: None,
            person_name: name.into(),
            roles: vec![Role::Member],
            expires: Native.now() + 7 * DAY,
            one_time_key: code.author().key(),
            relay: self.relay.clone(),
        };
        self.home.state(self.workshop, &self.author, &[Payload::Invite(offer)]).unwrap();
        code.text()
    }

    /// Meets the relay; what it came to.
    pub fn meets(&mut self) -> Summary {
        let identity = Identity { author: self.author.clone(), invite: false };
        let mut engine = Engine::new(self.workshop, vec![identity]);
        let (address, home) = (&self.relay, &mut self.home);
        self.runtime.block_on(async move {
            let mut relay = Relay::at(address).unwrap();
            meet(&mut relay, &mut engine, home).await.unwrap().unwrap()
        })
    }

    /// The readings in the record, each as often as it is there.
    pub fn read(&self) -> Vec<&Reading> {
        let folded = self.home.log(self.record).unwrap().folded().iter();
        folded
            .filter_map(|statement| match &statement.payload {
                Ok(Payload::Reading(reading)) => Some(&**reading),
                Ok(_) | Err(_) => None,
            })
            .collect()
    }

    /// Their values as typed, sorted.
    pub fn readings(&self) -> Vec<String> {
        let mut values: Vec<String> =
            self.read().into_iter().map(|reading| reading.value.typed().to_owned()).collect();
        values.sort();
        values
    }

    /// Steps that are signed in the record.
    pub fn signed(&self) -> Vec<String> {
        let folded = self.home.log(self.record).unwrap().folded().iter();
        folded
            .filter_map(|statement| match &statement.payload {
                Ok(Payload::SignOff(sign_off)) => Some(sign_off.step.clone()),
                Ok(_) | Err(_) => None,
            })
            .collect()
    }
}

/// A phone is invited and let in by its lead; answers its browser on the list of records.
pub fn joined(driver: &Driver, profile: &Path, office: &Office, lead: &mut Lead) -> Browser {
    let code = lead.invites("Ben");
    lead.meets();
    let phone = driver.browser(profile);
    phone.go(&office.url());
    asks_to_join(&phone, &code, "phone of Ben", PIN);
    phone.says("all at the office");
    assert_eq!(lead.meets().admitted.len(), 1, "one asker, let in by the lead's own meeting");
    // The relay tells the phone by itself.
    phone.says("Engine one");
    keeps_the_app(&phone);
    phone
}

/// Waits until the browser has the app itself for the time without the office.
pub fn keeps_the_app(phone: &Browser) {
    let kept = "return navigator.serviceWorker.controller !== null";
    phone.until("the app is kept", || phone.script(kept).as_bool() == Some(true));
}

/// Gives the code of an invite to the form of whoever joins.
pub fn asks_to_join(phone: &Browser, code: &str, label: &str, pin: &str) {
    phone.types("Code of the invite", code);
    phone.types("Whose phone is it", label);
    phone.types("A PIN for it", pin);
    phone.types("The PIN once more", pin);
    phone.presses("Join");
    phone.says("asked to be let in");
}
