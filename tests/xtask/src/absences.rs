//! What must not be in the source, and why. A new absence is a new row.

use crate::failure::{Failure, Outcome};
use crate::repo::Repo;
use crate::source::lines_with;

struct Absence {
    /// Where: the beginning and the end of a file's path.
    within: &'static str,
    suffix: &'static str,
    words: &'static [&'static str],
    why: &'static str,
}

const CORE: &str = "core/src/";
const RUST: &str = ".rs";

const ABSENCES: &[Absence] = &[
    Absence {
        within: CORE,
        suffix: RUST,
        words: &["std::time", "Instant", "SystemTime"],
        why: "core has no clock: the time is an argument",
    },
    Absence {
        within: CORE,
        suffix: RUST,
        words: &["std::fs", "std::net", "std::process", "std::env", "stdin", "stdout", "stderr"],
        why: "core touches no file, socket, process or environment",
    },
    Absence {
        within: CORE,
        suffix: RUST,
        words: &["std::thread", "std::sync::mpsc", "tokio", "async", "await"],
        why: "core has no thread and no async",
    },
    Absence {
        within: CORE,
        suffix: RUST,
        words: &["getrandom", "OsRng", "thread_rng", "RandomState"],
        why: "core has no random source: what is random is an argument",
    },
    Absence {
        within: CORE,
        suffix: RUST,
        words: &["wasm_bindgen", "js_sys", "web_sys"],
        why: "core is bound to no browser",
    },
    Absence {
        within: CORE,
        suffix: RUST,
        words: &["println!", "print!", "eprintln!", "eprint!", "dbg!"],
        why: "core prints nothing",
    },
    Absence {
        within: "client/phone/src/app/",
        suffix: RUST,
        words: &[
            "leptos",
            "wasm_bindgen",
            "js_sys",
            "web_sys",
            "std::time",
            "Instant",
            "SystemTime",
            "getrandom",
        ],
        why: "what happens on the phone is told without a browser, a clock or randomness of its own",
    },
    Absence {
        within: "core/src/entry/",
        suffix: RUST,
        words: &["f32", "f64"],
        why: "no stored or compared quantity is a float",
    },
    Absence {
        within: "proto/proto/",
        suffix: ".proto",
        words: &["float", "double"],
        why: "no stored or compared quantity is a float",
    },
    Absence {
        within: "",
        suffix: RUST,
        words: &[concat!("todo", "!"), concat!("unimplemented", "!")],
        why: "what is not written is not shipped",
    },
    Absence { within: "", suffix: RUST, words: &[concat!("#[", "ignore")], why: "every test runs" },
];

/// Looks every absence up in every file it speaks of.
pub(crate) fn check(repo: &Repo, files: &[String]) -> Outcome<String> {
    let mut problems = Vec::new();
    let mut looked_at = 0;
    for file in files {
        let rows: Vec<&Absence> = ABSENCES.iter().filter(|row| row.speaks_of(file)).collect();
        if rows.is_empty() {
            continue;
        }
        looked_at += 1;
        let text = repo.read(file)?;
        problems.extend(rows.iter().flat_map(|row| row.problems(file, &text)));
    }
    Failure::list("present where it must be absent", &problems)?;
    Ok(format!("{} rules, {looked_at} files", ABSENCES.len()))
}

impl Absence {
    fn speaks_of(&self, file: &str) -> bool {
        file.starts_with(self.within) && file.ends_with(self.suffix)
    }

    fn problems(&self, file: &str, text: &str) -> Vec<String> {
        let found = self.words.iter().flat_map(|word| {
            let lines = lines_with(text, word).into_iter();
            lines.map(move |line| format!("{file}:{line}: `{word}`: {}", self.why))
        });
        found.collect()
    }
}

#[cfg(test)]
mod tests {
    use super::ABSENCES;

    #[test]
    fn every_row_finds_each_of_its_words_where_it_looks() {
        for row in ABSENCES {
            let file = format!("{}x{}", row.within, row.suffix);
            assert!(row.speaks_of(&file), "{file}");
            for word in row.words {
                assert_eq!(row.problems(&file, &format!("\n  {word} ;")).len(), 1, "{word}");
            }
        }
    }
}
