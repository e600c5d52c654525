//! What is to be said of a step signed before others, from the steps alone.

/// `signed before A, B and C`: the steps whose first signature lacks, then those whose second one does; none
/// where none lacks.
#[must_use]
pub fn signed_before(first: &[String], second: &[String]) -> Option<String> {
    let seconds = named(second).map(|names| format!("the second signature on {names}"));
    let all: Vec<String> = named(first).into_iter().chain(seconds).collect();
    (!all.is_empty()).then(|| format!("signed before {}", all.join(", and before ")))
}

/// Five at most by name, then how many more.
fn named(steps: &[String]) -> Option<String> {
    Some(match steps {
        [] => return None,
        [one] => one.clone(),
        [most @ .., last] if steps.len() <= 5 => format!("{} and {last}", most.join(", ")),
        _ => format!("{} and {} more", steps[..5].join(", "), steps.len() - 5),
    })
}
