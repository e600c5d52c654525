//! How a relay is set up: from a file, the environment and flags, every fault at once.
//!
//! A flag outweighs the environment, which outweighs the file. One table says what may be
//! set; the help, the file and the environment are read from it.

use std::collections::{BTreeMap, BTreeSet};
use std::net::SocketAddr;
use std::path::{Path, PathBuf};

use gudgeon_core::entry::DocumentId;

use crate::authority::Authority;
use crate::committer::Serves;

/// Something that can be set.
struct Row {
    /// Name in the file; the flag is `--name`, the variable `GUDGEON_RELAY_NAME`.
    name: &'static str,
    /// What holds where nothing is given.
    unset: Unset,
    read: fn(&mut Settings, &str) -> Result<(), String>,
}

enum Unset {
    /// It must be given.
    Missing,
    /// This is taken.
    Is(&'static str),
    /// There is none.
    None,
}

const ROWS: [Row; 9] = [
    Row { name: "data", unset: Unset::Missing, read: data },
    Row { name: "listen", unset: Unset::Is("127.0.0.1:7474"), read: listen },
    Row { name: "workshops", unset: Unset::Is("first"), read: workshops },
    Row { name: "cache-mib", unset: Unset::Is("64"), read: cache },
    Row { name: "log", unset: Unset::Is("info"), read: log },
    Row { name: "tls-cert", unset: Unset::None, read: tls_cert },
    Row { name: "tls-key", unset: Unset::None, read: tls_key },
    Row { name: "trust-listen", unset: Unset::None, read: trust_listen },
    Row { name: "plain-beyond-this-machine", unset: Unset::Is("no"), read: plain },
];

/// A relay's settings.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Settings {
    /// Directory of the store.
    pub data: PathBuf,
    /// Address to listen at.
    pub listen: SocketAddr,
    /// Which workshops it serves.
    pub serves: Serves,
    /// Bytes of pages the store keeps in memory.
    pub cache_bytes: u64,
    /// What is logged.
    pub log: String,
    /// Certificate and key in PEM, where TLS goes by files.
    pub tls_files: Option<(PathBuf, PathBuf)>,
    /// Address where phones come to trust the relay's own authority.
    pub trust_listen: Option<SocketAddr>,
    /// Whether to listen without encryption where other machines reach it.
    pub plain_beyond_this_machine: bool,
}

/// Something that is wrong with the settings.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Where it was given, such as `--listen` or `relay.toml: listen`.
    pub given: String,
    /// What is wrong, and the way out.
    pub what: String,
}

impl std::fmt::Display for Fault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {}", self.given, self.what)
    }
}

/// Text of a setting, and where it was given.
type Given = BTreeMap<String, (String, String)>;

impl Settings {
    /// Reads all three; `flags` are names and texts as given.
    ///
    /// # Errors
    /// Every fault there is.
    pub fn read(
        file: Option<(&Path, &str)>,
        environment: impl Iterator<Item = (String, String)>,
        flags: &[(String, String)],
    ) -> Result<Self, Vec<Fault>> {
        let mut faults = Vec::new();
        let mut given = Given::new();
        if let Some((path, text)) = file {
            from_file(path, text, &mut given, &mut faults);
        }
        for (variable, text) in environment {
            if let Some(name) = variable.strip_prefix(PREFIX) {
                let name = name.to_ascii_lowercase().replace('_', "-");
                put(&mut given, &mut faults, &name, text, variable);
            }
        }
        for (name, text) in flags {
            put(&mut given, &mut faults, name, text.clone(), format!("--{name}"));
        }
        let settings = from_given(&given, &mut faults);
        if faults.is_empty() { Ok(settings) } else { Err(faults) }
    }
}

/// Before the names of variables of the environment.
pub const PREFIX: &str = "GUDGEON_RELAY_";

/// Variables of this prefix that are read elsewhere.
const ELSEWHERE: [&str; 1] = ["config"];

fn put(given: &mut Given, faults: &mut Vec<Fault>, name: &str, text: String, at: String) {
    if ROWS.iter().any(|row| row.name == name) {
        given.insert(name.to_owned(), (text, at));
    } else if !ELSEWHERE.contains(&name) {
        let names: Vec<&str> = ROWS.iter().map(|row| row.name).collect();
        faults.push(Fault {
            given: at,
            what: format!("there is no such setting; there are {}", names.join(", ")),
        });
    }
}

fn from_file(path: &Path, text: &str, given: &mut Given, faults: &mut Vec<Fault>) {
    let shown = path.display();
    let table: toml::Table = match text.parse() {
        Ok(table) => table,
        Err(error) => {
            let what = error.to_string().trim_end().replace('\n', "\n  ");
            return faults.push(Fault { given: shown.to_string(), what });
        }
    };
    for (name, value) in table {
        let at = format!("{shown}: {name}");
        let text = match value {
            toml::Value::String(text) => text,
            toml::Value::Boolean(yes) => if yes { "yes" } else { "no" }.to_owned(),
            toml::Value::Array(list) => {
                let words: Vec<&str> = list.iter().filter_map(toml::Value::as_str).collect();
                words.join(",")
            }
            other @ (toml::Value::Integer(_)
            | toml::Value::Float(_)
            | toml::Value::Datetime(_)
            | toml::Value::Table(_)) => other.to_string(),
        };
        put(given, faults, &name, text, at);
    }
}

fn from_given(given: &Given, faults: &mut Vec<Fault>) -> Settings {
    let mut settings = Settings {
        data: PathBuf::new(),
        listen: SocketAddr::from(([127, 0, 0, 1], 0)),
        serves: Serves::First,
        cache_bytes: 0,
        log: String::new(),
        tls_files: None,
        trust_listen: None,
        plain_beyond_this_machine: false,
    };
    for row in &ROWS {
        let text = given.get(row.name).map(|(text, at)| (text.as_str(), at.as_str()));
        let text = match (&row.unset, text) {
            (_, Some(text)) => text,
            (Unset::Is(text), None) => (*text, "the default"),
            (Unset::None, None) => continue,
            (Unset::Missing, None) => {
                faults.push(Fault { given: format!("--{}", row.name), what: MISSING.to_owned() });
                continue;
            }
        };
        if let Err(what) = (row.read)(&mut settings, text.0) {
            faults.push(Fault { given: text.1.to_owned(), what });
        }
    }
    faults.extend(settings.together(given));
    settings
}

const MISSING: &str =
    "missing; name the directory that shall hold the records, such as --data /var/lib/gudgeon";

impl Settings {
    /// What is wrong with settings only together.
    fn together(&self, given: &Given) -> Vec<Fault> {
        let at = |name: &str| given.get(name).map_or_else(|| "the default".to_owned(), |(_, at)| at.clone());
        let mut faults = Vec::new();
        let half = |path: &Path| path.as_os_str().is_empty();
        for (name, other, lacks) in [
            ("tls-cert", "tls-key", self.tls_files.as_ref().is_some_and(|(_, key)| half(key))),
            ("tls-key", "tls-cert", self.tls_files.as_ref().is_some_and(|(cert, _)| half(cert))),
        ] {
            if lacks {
                let what = format!("a certificate and its key belong together; name --{other} too");
                faults.push(Fault { given: at(name), what });
            }
        }
        let authority = Authority::is_there(&self.data);
        if self.trust_listen.is_some() && !authority {
            let what =
                "there is no authority for phones to trust; make one with gudgeon-relay authority".to_owned();
            faults.push(Fault { given: at("trust-listen"), what });
        }
        let open = !self.listen.ip().is_loopback() && !self.plain_beyond_this_machine;
        if open && self.tls_files.is_none() && !authority {
            let what = format!(
                "{} can be reached from other machines, and there is no encryption: make an authority with \
                 gudgeon-relay authority, or name --tls-cert and --tls-key, or put an encrypting proxy before it \
                 and listen at 127.0.0.1, or say --plain-beyond-this-machine yes",
                self.listen
            );
            faults.push(Fault { given: at("listen"), what });
        }
        faults
    }
}

fn data(settings: &mut Settings, text: &str) -> Result<(), String> {
    if text.trim().is_empty() {
        return Err("empty; name a directory".to_owned());
    }
    settings.data = PathBuf::from(text);
    Ok(())
}

fn listen(settings: &mut Settings, text: &str) -> Result<(), String> {
    settings.listen = address(text)?;
    Ok(())
}

fn trust_listen(settings: &mut Settings, text: &str) -> Result<(), String> {
    settings.trust_listen = Some(address(text)?);
    Ok(())
}

fn address(text: &str) -> Result<SocketAddr, String> {
    text.parse()
        .map_err(|_| format!("`{text}` is no address and port; write it like 127.0.0.1:7474 or [::1]:7474"))
}

fn tls_cert(settings: &mut Settings, text: &str) -> Result<(), String> {
    settings.tls_files.get_or_insert_default().0 = file(text)?;
    Ok(())
}

fn tls_key(settings: &mut Settings, text: &str) -> Result<(), String> {
    settings.tls_files.get_or_insert_default().1 = file(text)?;
    Ok(())
}

fn file(text: &str) -> Result<PathBuf, String> {
    if text.trim().is_empty() { Err("empty; name a file in PEM".to_owned()) } else { Ok(PathBuf::from(text)) }
}

fn workshops(settings: &mut Settings, text: &str) -> Result<(), String> {
    if text == "first" {
        settings.serves = Serves::First;
        return Ok(());
    }
    let one = |word: &str| {
        DocumentId::from_hex(word.trim()).map_err(|_| {
            format!("`{word}` is no workshop: write `first`, or ids of 64 digits with commas between")
        })
    };
    settings.serves = Serves::Only(text.split(',').map(one).collect::<Result<BTreeSet<_>, _>>()?);
    Ok(())
}

fn cache(settings: &mut Settings, text: &str) -> Result<(), String> {
    let mib: u64 = text
        .parse()
        .ok()
        .filter(|mib| (1..=65_536).contains(mib))
        .ok_or_else(|| format!("`{text}` is no size in MiB; write a whole number from 1 to 65536"))?;
    settings.cache_bytes = mib * 1024 * 1024;
    Ok(())
}

fn log(settings: &mut Settings, text: &str) -> Result<(), String> {
    let filter = tracing_subscriber::EnvFilter::try_new(text);
    filter.map_err(|error| {
        format!("`{text}` is no filter: {error}; write it like info or gudgeon_relay=debug")
    })?;
    text.clone_into(&mut settings.log);
    Ok(())
}

fn plain(settings: &mut Settings, text: &str) -> Result<(), String> {
    settings.plain_beyond_this_machine = match text {
        "yes" => true,
        "no" => false,
        _ => return Err(format!("`{text}` is neither yes nor no")),
    };
    Ok(())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn read(
        file: &str,
        environment: &[(&str, &str)],
        flags: &[(&str, &str)],
    ) -> Result<Settings, Vec<Fault>> {
        let owned = |list: &[(&str, &str)]| -> Vec<(String, String)> {
            list.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())).collect()
        };
        let file = (!file.is_empty()).then_some((Path::new("relay.toml"), file));
        Settings::read(file, owned(environment).into_iter(), &owned(flags))
    }

    #[test]
    fn a_flag_outweighs_the_environment_and_that_the_file() {
        let file = "data = '/a'\nlisten = '127.0.0.1:1'\ncache-mib = 8";
        let environment =
            [("GUDGEON_RELAY_DATA", "/b"), ("GUDGEON_RELAY_LISTEN", "127.0.0.1:2"), ("PATH", "x")];
        let settings = read(file, &environment, &[("data", "/c")]).unwrap();
        assert_eq!(settings.data, PathBuf::from("/c"));
        assert_eq!(settings.listen, "127.0.0.1:2".parse().unwrap());
        assert_eq!(settings.cache_bytes, 8 << 20);
        assert_eq!(settings.serves, Serves::First);
    }

    #[test]
    fn every_fault_is_told_at_once_with_its_place() {
        let faults = read(
            "listen = 'here'\nspeed = 9",
            &[("GUDGEON_RELAY_CACHE_MIB", "0"), ("GUDGEON_RELAY_COLOUR", "red")],
            &[("workshops", "abc"), ("log", "gudgeon_relay=loud")],
        )
        .unwrap_err();
        let given: Vec<&str> = faults.iter().map(|fault| fault.given.as_str()).collect();
        let expected = [
            "relay.toml: speed",
            "GUDGEON_RELAY_COLOUR",
            "--data",
            "relay.toml: listen",
            "--workshops",
            "GUDGEON_RELAY_CACHE_MIB",
            "--log",
        ];
        assert_eq!(given, expected);
    }

    #[test]
    fn beyond_this_machine_it_must_be_said() {
        let open = [("data", "/a"), ("listen", "0.0.0.0:7474")];
        let faults = read("", &[], &open).unwrap_err();
        assert_eq!(faults.len(), 1);
        assert!(faults[0].what.contains("no encryption"), "{}", faults[0]);
        let said = [open[0], open[1], ("plain-beyond-this-machine", "yes")];
        assert!(read("", &[], &said).is_ok());
        let by_files = [open[0], open[1], ("tls-cert", "a.pem"), ("tls-key", "a.key")];
        assert!(read("", &[], &by_files).is_ok());
    }

    #[test]
    fn an_authority_is_encryption_enough() {
        let data = tempfile::tempdir().unwrap();
        let names = crate::authority::Names::new(&["relay.lan".to_owned()], &[]).unwrap();
        Authority::make(data.path(), names, 1_800_000_000_000).unwrap();
        let path = data.path().to_str().unwrap();
        let open = [("data", path), ("listen", "0.0.0.0:7474"), ("trust-listen", "0.0.0.0:7475")];
        assert!(read("", &[], &open).is_ok());
    }

    #[test]
    fn a_certificate_and_its_key_are_named_together() {
        for (name, other) in [("tls-cert", "--tls-key"), ("tls-key", "--tls-cert")] {
            let faults = read("", &[], &[("data", "/a"), (name, "a.pem")]).unwrap_err();
            assert_eq!(faults.len(), 1, "{faults:?}");
            assert_eq!(faults[0].given, format!("--{name}"));
            assert!(faults[0].what.contains(other), "{}", faults[0]);
        }
    }

    #[test]
    fn a_trust_page_wants_an_authority() {
        let faults = read("trust-listen = '127.0.0.1:0'", &[], &[("data", "/a")]).unwrap_err();
        assert_eq!(faults.len(), 1, "{faults:?}");
        assert!(faults[0].what.contains("gudgeon-relay authority"), "{}", faults[0]);
    }

    #[test]
    fn a_file_that_is_not_toml_is_told_with_its_line() {
        let faults = read("data = '/a'\nlisten", &[], &[]).unwrap_err();
        assert!(faults[0].what.contains("line 2"), "{}", faults[0]);
    }
}
