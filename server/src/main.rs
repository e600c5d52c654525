//! `gudgeon-relay`: the program.
#![allow(clippy::print_stdout, clippy::print_stderr)]

use std::fmt::Display;
use std::io::{IsTerminal as _, Write as _};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Args, Parser, Subcommand};
use gudgeon_relay::authority::{Authority, AuthorityError, Names};
use gudgeon_relay::committer::Opener;
use gudgeon_relay::serve::{Bound, ServeError, system_clock};
use gudgeon_relay::settings::{Fault, PREFIX, Settings};
use gudgeon_relay::store::{OnDisk, Options, Store, StoreError, Trouble, snapshot};
use gudgeon_relay::tls::{self, TlsError};
use gudgeon_relay::trust;
use gudgeon_relay::verify::verify;
use tracing_subscriber::EnvFilter;

/// The meeting place of a workshop's phones: keeps what they bring, gives it to the others.
#[derive(Debug, Parser)]
#[command(name = "gudgeon-relay", version, after_help = CODES)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

const CODES: &str = "Exit codes:
  0  done
  1  something kept is damaged
  2  the command line or the settings are wrong
  3  the store or the device does not do as it should
  4  another process has the store open";

#[derive(Debug, Subcommand)]
enum Command {
    /// Serve until told to stop (SIGTERM or ctrl-C).
    Serve(Serve),
    /// Make a certificate authority of the relay's own: phones trust it once, for these names alone.
    Authority(MakeAuthority),
    /// Check every change and signature that is kept.
    Check(Data),
    /// Write everything that is kept into one sealed file.
    Backup(Backup),
    /// Put a backup into an empty directory.
    Restore(File),
}

/// Every setting may also stand in the file and in the environment as GUDGEON_RELAY_NAME; a
/// flag outweighs the environment, which outweighs the file.
#[derive(Args, Debug)]
struct Serve {
    /// A file with settings, in TOML.
    #[arg(long, env = "GUDGEON_RELAY_CONFIG", value_name = "FILE")]
    config: Option<PathBuf>,
    /// Directory that holds the records.
    #[arg(long, value_name = "DIR")]
    data: Option<String>,
    /// Address and port to listen at; port 0 takes any that is free [127.0.0.1:7474].
    #[arg(long, value_name = "ADDR")]
    listen: Option<String>,
    /// Ids of the workshops served, with commas between, or `first`: the first that comes [first].
    #[arg(long, value_name = "IDS")]
    workshops: Option<String>,
    /// Pages of the store kept in memory, in MiB [64].
    #[arg(long, value_name = "MIB")]
    cache_mib: Option<String>,
    /// What is logged to stderr, such as `debug` or `gudgeon_relay=debug` [info].
    #[arg(long, value_name = "FILTER")]
    log: Option<String>,
    /// Certificate in PEM, with those above it; without it the relay's own authority is used, if there is one.
    #[arg(long, value_name = "FILE")]
    tls_cert: Option<String>,
    /// Key of the certificate, in PEM.
    #[arg(long, value_name = "FILE")]
    tls_key: Option<String>,
    /// Address and port of the page, not encrypted, where phones come to trust the relay's own authority.
    #[arg(long, value_name = "ADDR")]
    trust_listen: Option<String>,
    /// Listen without encryption where other machines reach it: yes or no [no].
    #[arg(long, value_name = "YES|NO")]
    plain_beyond_this_machine: Option<String>,
}

#[derive(Args, Debug)]
struct MakeAuthority {
    /// Directory that holds the records; the authority is kept in `authority` within it.
    #[arg(long, env = "GUDGEON_RELAY_DATA", value_name = "DIR")]
    data: PathBuf,
    /// Name by which phones reach the relay, such as relay.workshop.lan; several with commas.
    #[arg(long, value_name = "NAME", value_delimiter = ',')]
    name: Vec<String>,
    /// Address by which they reach it, such as 192.168.1.20; several with commas.
    #[arg(long, value_name = "ADDRESS", value_delimiter = ',')]
    address: Vec<String>,
}

#[derive(Args, Debug)]
struct Data {
    /// Directory that holds the records; no relay may be running on it.
    #[arg(long, env = "GUDGEON_RELAY_DATA", value_name = "DIR")]
    data: PathBuf,
}

#[derive(Args, Debug)]
struct File {
    #[command(flatten)]
    data: Data,
    /// The backup.
    file: PathBuf,
}

#[derive(Args, Debug)]
struct Backup {
    #[command(flatten)]
    to: File,
    /// Take the place of a file of that name; it stays as it is until the new one is whole.
    #[arg(long)]
    replace: bool,
}

/// What went wrong, and the exit code.
struct Failure {
    code: u8,
    said: Vec<String>,
}

impl Failure {
    fn new(code: u8, said: impl ToString) -> Self {
        Self { code, said: vec![said.to_string()] }
    }

    /// With the name of the file or the directory that was at hand.
    fn with(at: &Path, error: &StoreError) -> Self {
        let code = Self::from(error.clone()).code;
        Self::new(code, format!("{}: {error}; {}", at.display(), error.hint()))
    }
}

impl From<StoreError> for Failure {
    fn from(error: StoreError) -> Self {
        let code = match error.trouble() {
            Trouble::Damaged => 1,
            Trouble::Asked => 2,
            Trouble::InUse => 4,
            Trouble::Full | Trouble::Newer | Trouble::Unfit | Trouble::Device => 3,
        };
        Self::new(code, format!("{error}; {}", error.hint()))
    }
}

impl From<ServeError> for Failure {
    fn from(error: ServeError) -> Self {
        match error {
            ServeError::Store(error) => error.into(),
            error @ (ServeError::Listen { .. } | ServeError::NoRandomness | ServeError::Transport(_)) => {
                Self::new(3, error)
            }
        }
    }
}

impl From<AuthorityError> for Failure {
    fn from(error: AuthorityError) -> Self {
        match error {
            AuthorityError::Directory(error) => error.into(),
            error @ AuthorityError::Damaged { .. } => Self::new(1, error),
            error @ (AuthorityError::Asked(_) | AuthorityError::Exists { .. }) => Self::new(2, error),
            error @ (AuthorityError::Io { .. } | AuthorityError::Clock | AuthorityError::Making(_)) => {
                Self::new(3, error)
            }
        }
    }
}

impl From<TlsError> for Failure {
    fn from(error: TlsError) -> Self {
        match error {
            TlsError::Authority(error) => error.into(),
            error @ (TlsError::File { .. } | TlsError::Pair { .. }) => Self::new(2, error),
            error @ TlsError::Library(_) => Self::new(3, error),
        }
    }
}

impl From<Vec<Fault>> for Failure {
    fn from(faults: Vec<Fault>) -> Self {
        Self { code: 2, said: faults.iter().map(ToString::to_string).collect() }
    }
}

fn main() -> ExitCode {
    let done = match Cli::parse().command {
        Command::Serve(with) => serve(&with),
        Command::Authority(with) => make_authority(&with),
        Command::Check(Data { data }) => check(&data),
        Command::Backup(Backup { to, replace }) => back_up(&to, replace),
        Command::Restore(File { data, file }) => restore(&data.data, &file),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(Failure { code, said }) => {
            said.iter().for_each(|line| eprintln!("error: {line}"));
            ExitCode::from(code)
        }
    }
}

fn serve(with: &Serve) -> Result<(), Failure> {
    let settings = settings(with)?;
    tracing_subscriber::fmt()
        .with_env_filter(EnvFilter::new(&settings.log))
        .with_ansi(std::io::stderr().is_terminal())
        .with_writer(std::io::stderr)
        .init();
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .map_err(|error| Failure::new(3, format!("starting threads: {error}")))?;
    runtime.block_on(run(settings))
}

async fn run(settings: Settings) -> Result<(), Failure> {
    let open = opener(settings.data.clone(), settings.cache_bytes);
    let own = Authority::is_there(&settings.data).then(|| Authority::open(&settings.data)).transpose()?;
    let mut bound = Bound::new(settings.listen, open, settings.serves.clone(), system_clock()).await?;
    let at = bound.address().map_err(|error| Failure::new(3, error))?;
    let mut said = Vec::new();
    if let Some((authority, listen)) = own.as_ref().zip(settings.trust_listen) {
        let (with, at) = bound.with_trust_page(listen, authority).await?;
        bound = with;
        said = trust_words(&trust::address(authority, at), authority);
    }
    let scheme = match (&settings.tls_files, own) {
        (Some((cert, key)), _) => {
            bound = bound.with_tls(tls::by_files(cert, key)?);
            "https"
        }
        (None, Some(authority)) => {
            said.insert(0, home_words(&authority, at.port()));
            bound = bound.with_tls(tls::by_authority(authority, system_clock())?);
            "https"
        }
        (None, None) => "http",
    };
    let stop = told_to_stop().map_err(|error| Failure::new(3, format!("waiting for signals: {error}")))?;
    tracing::info!(%at, data = %settings.data.display(), "serving");
    // For whoever started it with port 0, and for people. Said last: who reads it may already
    // tell the relay to stop, and finds the place in the log.
    said.insert(0, format!("listening at {scheme}://{at}"));
    // In one piece: who has read the first line may look no further.
    if let Err(error) = writeln!(std::io::stdout(), "{}", said.join("\n")) {
        tracing::debug!(%error, "nobody reads where it listens");
    }
    Ok(bound.serve(stop).await?)
}

/// The address for `gudgeon`, with what it is to trust there.
fn home_words(authority: &Authority, port: u16) -> String {
    let (host, digits) = (authority.names().host(), authority.digits());
    format!("for homes: gudgeon sync --relay \"https://{host}:{port}#{digits}\"")
}

/// Where phones come to trust the relay, and what they compare.
fn trust_words(address: &str, authority: &Authority) -> Vec<String> {
    let mut said = vec![format!("trust page at {address}")];
    if std::io::stdout().is_terminal() {
        said.extend(trust::square(address));
    }
    said.push(format!("fingerprint of its certificate, to compare:\n{}", authority.fingerprint()));
    said
}

fn make_authority(with: &MakeAuthority) -> Result<(), Failure> {
    let names = Names::new(&with.name, &with.address)?;
    let authority = Authority::make(&with.data, names, system_clock()())?;
    let at = Authority::directory(&with.data);
    println!("authority     {}", authority.title());
    println!("speaks for    {}, and for nothing else", authority.names());
    println!("good until    {}", authority.last_day());
    println!("fingerprint   {}", authority.fingerprint().replace('\n', "\n              "));
    println!(
        "Its key is in {}, for its owner alone, and signs the relay's own certificate and nothing more.",
        at.display()
    );
    println!(
        "Keep a copy of that directory: a backup of the records does not hold it, and without it every phone"
    );
    println!(
        "has to trust a new one. `serve` uses it from now on; with --trust-listen it shows phones the way."
    );
    Ok(())
}

/// SIGTERM, as a service manager sends it, or ctrl-C. Heard from this call on, not only once waited for.
#[cfg(unix)]
fn told_to_stop() -> std::io::Result<impl Future<Output = ()>> {
    use tokio::signal::unix::{SignalKind, signal};
    let mut term = signal(SignalKind::terminate())?;
    let mut interrupt = signal(SignalKind::interrupt())?;
    Ok(async move {
        tokio::select! {
            _ = term.recv() => {}
            _ = interrupt.recv() => {}
        }
    })
}

/// Ctrl-C.
#[cfg(not(unix))]
fn told_to_stop() -> std::io::Result<impl Future<Output = ()>> {
    Ok(async {
        if tokio::signal::ctrl_c().await.is_err() {
            std::future::pending::<()>().await;
        }
    })
}

fn settings(with: &Serve) -> Result<Settings, Failure> {
    let text = match &with.config {
        None => None,
        Some(path) => Some(std::fs::read_to_string(path).map_err(|error| {
            Failure::new(
                2,
                format!("{}: {error}; name a file with settings, or leave --config out", path.display()),
            )
        })?),
    };
    let flags = [
        ("data", &with.data),
        ("listen", &with.listen),
        ("workshops", &with.workshops),
        ("cache-mib", &with.cache_mib),
        ("log", &with.log),
        ("tls-cert", &with.tls_cert),
        ("tls-key", &with.tls_key),
        ("trust-listen", &with.trust_listen),
        ("plain-beyond-this-machine", &with.plain_beyond_this_machine),
    ];
    let given = flags.into_iter().filter_map(|(name, text)| Some((name.to_owned(), text.clone()?)));
    let given: Vec<(String, String)> = given.collect();
    let environment = std::env::vars_os()
        .filter_map(|(name, text)| Some((name.into_string().ok()?, text.into_string().ok()?)))
        .filter(|(name, _)| name.starts_with(PREFIX));
    let file = with.config.as_deref().zip(text.as_deref());
    Ok(Settings::read(file, environment, &given)?)
}

fn opener(data: PathBuf, cache_bytes: u64) -> Opener {
    let options = Options { cache_bytes, ..Options::default() };
    Box::new(move || Ok(Box::new(OnDisk::open(&data, options)?) as Box<dyn Store>))
}

/// Opens a store that is there: looking at one must not make one.
fn existing(data: &Path) -> Result<OnDisk, Failure> {
    if !data.is_dir() {
        let said = format!(
            "{}: there is no such directory; name the one the relay keeps its records in",
            data.display()
        );
        return Err(Failure::new(2, said));
    }
    OnDisk::open(data, Options::default()).map_err(|error| Failure::with(data, &error))
}

fn check(data: &Path) -> Result<(), Failure> {
    let found = verify(&existing(data)?)?;
    let mut said = Vec::new();
    for document in &found {
        let word = if document.faults.is_empty() { "sound" } else { "DAMAGED" };
        let changes = count(document.changes, "change", "changes");
        let entries = count(document.entries, "entry", "entries");
        println!("{}  {word}  {changes}, {entries}", document.document.short());
        said.extend(document.faults.iter().map(|fault| format!("{}: {fault}", document.document.short())));
    }
    println!("{}", count(found.len(), "document", "documents"));
    if said.is_empty() { Ok(()) } else { Err(Failure { code: 1, said }) }
}

fn back_up(File { data, file }: &File, replace: bool) -> Result<(), Failure> {
    let store = existing(&data.data)?;
    let summary =
        if replace { snapshot::back_up_over(&store, file)? } else { snapshot::back_up(&store, file)? };
    println!("{} in {}", held(&summary), file.display());
    if summary.damaged.is_empty() {
        return Ok(());
    }
    let said = summary.damaged.iter().map(|fault| format!("{fault}; what is before the damage was saved"));
    Err(Failure { code: 1, said: said.collect() })
}

fn restore(data: &Path, file: &Path) -> Result<(), Failure> {
    // The seal first: a store that is made for a file that is no backup would stay behind.
    snapshot::check(file).map_err(|error| Failure::with(file, &error))?;
    let mut store = OnDisk::open(data, Options::default()).map_err(|error| Failure::with(data, &error))?;
    let summary = snapshot::restore(file, &mut store).map_err(|error| Failure::with(data, &error))?;
    println!("{} restored to {}", held(&summary), data.display());
    println!("start the relay; what came after the backup the phones bring again by themselves");
    Ok(())
}

/// `2 documents, 1 change`.
fn held(summary: &snapshot::Summary) -> String {
    let documents = count(summary.documents, "document", "documents");
    format!("{documents}, {}", count(summary.changes, "change", "changes"))
}

/// `1 entry`, `3 entries`.
fn count<N: Display + From<u8> + PartialEq>(number: N, one: &str, several: &str) -> String {
    let word = if number == N::from(1) { one } else { several };
    format!("{number} {word}")
}
