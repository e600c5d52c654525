//! The known name nearest to a mistyped one.

/// Longer names than this are not slips of a known one.
const LONGEST: usize = 64;

/// The known name nearest to `given`, if near enough to be a slip of the hand.
pub(super) fn nearest<'k>(given: &str, known: impl IntoIterator<Item = &'k str>) -> Option<&'k str> {
    let allowed = 2.max(given.chars().count() / 3);
    closest(given, known).and_then(|(name, far)| (far <= allowed).then_some(name))
}

/// The known name nearest to `given`, however far, with its distance.
pub(crate) fn closest<'k>(given: &str, known: impl IntoIterator<Item = &'k str>) -> Option<(&'k str, usize)> {
    if given.len() > LONGEST {
        return None;
    }
    known
        .into_iter()
        .map(|name| (name, distance(given, name)))
        .min_by_key(|&(name, far)| (far, spread(given, name)))
}

/// "did you mean `x`?" where a known name is near, else the list of known names.
#[must_use]
pub fn suggest(given: &str, known: &[&str]) -> String {
    match nearest(given, known.iter().copied()) {
        Some(name) => format!("did you mean `{name}`?"),
        None if known.is_empty() => String::new(),
        None => format!("known: {}", known.join(", ")),
    }
}

/// Insertions, deletions, changes and exchanges of neighbours that turn one text into the
/// other.
fn distance(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    let mut before: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=b.len()).collect();
    for i in 0..a.len() {
        let mut row = vec![i + 1];
        for j in 0..b.len() {
            let changed = last[j] + usize::from(a[i] != b[j]);
            let mut least = changed.min(last[j + 1] + 1).min(row[j] + 1);
            if i > 0 && j > 0 && a[i] == b[j - 1] && a[i - 1] == b[j] {
                least = least.min(before[j - 1] + 1);
            }
            row.push(least);
        }
        before = std::mem::replace(&mut last, row);
    }
    last[b.len()]
}

/// Tie-break, so that `main/7` is nearer to `main/5` than to `main/1`.
fn spread(a: &str, b: &str) -> u32 {
    let pairs = a.bytes().zip(b.bytes());
    pairs.map(|(x, y)| u32::from(x.abs_diff(y))).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_finds_its_name_and_a_stranger_finds_none() {
        assert_eq!(nearest("lowr", ["upper", "lower"]), Some("lower"));
        assert_eq!(nearest("sauce", ["upper", "lower"]), None);
    }

    #[test]
    fn of_equally_near_paths_the_nearest_number_is_named() {
        let known = ["main/1", "main/5", "pin/4"];
        assert_eq!(closest("main/7", known), Some(("main/5", 1)));
    }

    #[test]
    fn distance_counts_single_changes() {
        assert_eq!(distance("kitten", "sitting"), 3);
        assert_eq!(distance("", "ab"), 2);
        assert_eq!(distance("stork", "stroke"), 2);
    }
}
