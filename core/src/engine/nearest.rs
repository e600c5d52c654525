//! The known name nearest to a mistyped one.

/// Longer names than this are not slips of a known one.
const LONGEST: usize = 64;

/// The known name nearest to `given`, if near enough to be a slip of the hand.
pub(super) fn nearest<'k>(given: &str, known: impl IntoIterator<Item = &'k str>) -> Option<&'k str> {
    let allowed = 2.max(given.chars().count() / 3);
    closest(given, known).and_then(|(name, far)| (far <= allowed).then_some(name))
}

/// The known name nearest to `given`, however far, with its distance.
pub(super) fn closest<'k>(given: &str, known: impl IntoIterator<Item = &'k str>) -> Option<(&'k str, usize)> {
    if given.len() > LONGEST {
        return None;
    }
    known
        .into_iter()
        .map(|name| (name, distance(given, name)))
        .min_by_key(|&(name, far)| (far, spread(given, name)))
}

/// "did you mean `x`?" where a known name is near, else the list of known names.
pub(super) fn suggest(given: &str, known: &[&str]) -> String {
    match nearest(given, known.iter().copied()) {
        Some(name) => format!("did you mean `{name}`?"),
        None if known.is_empty() => String::new(),
        None => format!("known: {}", known.join(", ")),
    }
}

/// Insertions, deletions and changes that turn one text into the other.
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, from) in a.chars().enumerate() {
        let mut corner = i;
        row[0] = i + 1;
        for (j, &to) in b.iter().enumerate() {
            let changed = corner + usize::from(from != to);
            corner = row[j + 1];
            row[j + 1] = changed.min(row[j] + 1).min(corner + 1);
        }
    }
    row[b.len()]
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
    }
}
