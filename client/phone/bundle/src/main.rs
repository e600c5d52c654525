//! Lays out the phone app as it is served: `gudgeon-phone-bundle MODULE.wasm PAGE OUT QUALITY`.
//!
//! Binds the module to the browser, copies the page's files, names the cache of the service
//! worker by a hash over everything, and sets a brotli copy of that quality (0 to 11) beside each
//! file. Prints one line a file: bytes as they are, bytes as they travel, name.
#![allow(clippy::print_stdout, reason = "a command line: results to stdout")]

use std::collections::BTreeMap;
use std::error::Error;
use std::fs;
use std::io::Write as _;
use std::path::Path;

use sha2::{Digest as _, Sha256};
use wasm_bindgen_cli_support::Bindgen;

/// The worker is never in its own cache: a browser looks for a newer one by its bytes.
const WORKER: &str = "sw.js";

/// What is served and not kept: no page asks for it.
const NOT_KEPT: &[&str] = &[WORKER, "OFL.txt"];

type Files = BTreeMap<String, Vec<u8>>;

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [module, page, out, quality] = arguments.as_slice() else {
        return Err("gudgeon-phone-bundle MODULE.wasm PAGE OUT QUALITY".into());
    };
    let out = Path::new(out);
    let mut files = read_flat(Path::new(page))?;
    bind(Path::new(module), out, &mut files)?;
    let build = build_of(&files);
    name_build(&mut files, &build)?;
    lay_out(&files, out, quality.parse()?)?;
    println!("build {build}");
    Ok(())
}

/// Every file of a folder and of those in it, by its name alone.
fn read_flat(folder: &Path) -> Result<Files, Box<dyn Error>> {
    let mut files = Files::new();
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        if entry.file_type()?.is_dir() {
            files.extend(read_flat(&entry.path())?);
        } else {
            files.insert(entry.file_name().to_string_lossy().into_owned(), fs::read(entry.path())?);
        }
    }
    Ok(files)
}

fn bind(module: &Path, out: &Path, files: &mut Files) -> Result<(), Box<dyn Error>> {
    let between = out.with_extension("bound");
    let mut bindgen = Bindgen::new();
    bindgen.input_path(module).out_name("phone").web(true)?.typescript(false);
    bindgen.remove_name_section(true).remove_producers_section(true);
    bindgen.generate(&between)?;
    for (from, to) in [("phone.js", "phone.js"), ("phone_bg.wasm", "phone.wasm")] {
        files.insert(to.to_owned(), fs::read(between.join(from))?);
    }
    Ok(())
}

/// The first digits of a hash over all names and contents.
fn build_of(files: &Files) -> String {
    let mut all = Sha256::new();
    for (name, bytes) in files {
        all.update(name.as_bytes());
        all.update([0]);
        all.update(Sha256::digest(bytes));
    }
    data_encoding::HEXLOWER.encode(&all.finalize()[..6])
}

/// Writes the build's name and the list of files into the worker.
fn name_build(files: &mut Files, build: &str) -> Result<(), Box<dyn Error>> {
    files.insert("build.txt".to_owned(), format!("{build}\n").into_bytes());
    let names =
        files.keys().filter(|name| !NOT_KEPT.contains(&name.as_str())).map(|name| format!("{name:?}"));
    let list = format!("[{}]", names.collect::<Vec<_>>().join(", "));
    let worker = files.get(WORKER).ok_or("there is no sw.js on the page")?;
    let worker = String::from_utf8(worker.clone())?;
    let worker = worker.replace("@BUILD@", &format!("gudgeon-{build}")).replace("@FILES@", &list);
    files.insert(WORKER.to_owned(), worker.into_bytes());
    Ok(())
}

/// Writes every file, and beside it what travels, where that is less.
fn lay_out(files: &Files, out: &Path, quality: u32) -> Result<(), Box<dyn Error>> {
    if out.exists() {
        fs::remove_dir_all(out)?;
    }
    fs::create_dir_all(out)?;
    let (mut whole, mut travels) = (0, 0);
    for (name, bytes) in files {
        fs::write(out.join(name), bytes)?;
        let small = small(bytes, quality)?;
        let pays = small.len() < bytes.len();
        if pays {
            fs::write(out.join(format!("{name}.br")), &small)?;
        }
        let least = if pays { small.len() } else { bytes.len() };
        println!("{:>9} {least:>9}  {name}", bytes.len());
        whole += bytes.len();
        travels += least;
    }
    println!("{whole:>9} {travels:>9}  in all");
    Ok(())
}

fn small(bytes: &[u8], quality: u32) -> Result<Vec<u8>, Box<dyn Error>> {
    let mut small = Vec::new();
    let mut writer = brotli::CompressorWriter::new(&mut small, 1 << 16, quality, 24);
    writer.write_all(bytes)?;
    drop(writer);
    Ok(small)
}
