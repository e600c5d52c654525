//! The table of the app's files as Rust source. Read by the build script and by a test.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Without which nothing can be shown.
const INDEX: &str = "index.html";

/// `pub const APP: &[Asset]`, of all files in a directory and beneath it; a file `x.br` is the packed form of `x`.
///
/// # Errors
/// In words, if there is no such directory or no app in it.
pub(crate) fn table(dist: &Path) -> Result<String, String> {
    let at = |error: std::io::Error| {
        format!("{}: {error}; build the app into it with `cargo xtask phone`", dist.display())
    };
    let dist = dist.canonicalize().map_err(at)?;
    let mut files = BTreeMap::new();
    gather(&dist, "", &mut files).map_err(at)?;
    if !files.contains_key(INDEX) {
        return Err(format!(
            "{}: there is no {INDEX} in it; build the app into it with `cargo xtask phone`",
            dist.display()
        ));
    }
    let packed = |name: &str| {
        let path = files.get(&format!("{name}.br"));
        path.map_or("None".to_owned(), |path| format!("Some(include_bytes!({path:?}))"))
    };
    let whole = files.iter().filter(|(name, _)| {
        let of = name.strip_suffix(".br");
        of.is_none_or(|of| !files.contains_key(of))
    });
    let rows = whole.map(|(name, path)| {
        format!(
            "    Asset {{ path: {name:?}, whole: include_bytes!({path:?}), brotli: {} }},\n",
            packed(name)
        )
    });
    let rows: String = rows.collect();
    Ok(format!("/// The phone app's files.\npub const APP: &[Asset] = &[\n{rows}];\n"))
}

fn gather(at: &Path, above: &str, files: &mut BTreeMap<String, PathBuf>) -> std::io::Result<()> {
    for entry in std::fs::read_dir(at)? {
        let entry = entry?;
        let name = format!("{above}{}", entry.file_name().to_string_lossy());
        if entry.file_type()?.is_dir() {
            gather(&entry.path(), &format!("{name}/"), files)?;
        } else {
            files.insert(name, entry.path());
        }
    }
    Ok(())
}
