//! What the relay said last of letting this home in. A home that is let in no more may not hold why:
//! the relay gives it nothing.

use std::collections::BTreeSet;

use gudgeon_client::home::Home;
use gudgeon_client::sync::{Denial, Trouble, Why};
use gudgeon_core::entry::KeyId;

use crate::failure::Failure;

/// Setting of the home: the reason as the service names it and in its words; empty where it lets in.
const DENIED: &str = "denied";

/// Setting of the home: keys of it that the relay called removed, with commas between.
const REMOVED: &str = "removed-keys";

/// Keeps whether the relay lets this home in by a key. Not reached is no answer: what was said before still
/// holds.
pub(crate) fn keep(home: &mut Home, key: KeyId, trouble: Option<&Trouble>) -> Result<(), Failure> {
    let denial = match trouble {
        None => None,
        Some(Trouble::Denied(denial)) => Some(denial),
        Some(Trouble::Offline(_) | Trouble::NoSession | Trouble::Busy(_) | Trouble::Broken(_)) => {
            return Ok(());
        }
    };
    let said = denial.map_or_else(String::new, |denial| format!("{}:{}", denial.why.name(), denial.said));
    home.set_setting(DENIED, &said)?;
    let mut removed = removed_keys(home)?;
    if denial.is_some_and(|denial| denial.why == Why::Removed) {
        removed.insert(key);
    } else {
        removed.remove(&key);
    }
    Ok(home.set_setting(REMOVED, &removed.iter().map(KeyId::to_hex).collect::<Vec<_>>().join(","))?)
}

/// Why the relay lets this home in no more, if it said so.
pub(crate) fn last(home: &Home) -> Result<Option<Denial>, Failure> {
    let kept = home.setting(DENIED)?;
    let parts = kept.as_deref().and_then(|kept| kept.split_once(':'));
    Ok(parts.map(|(why, said)| Denial::new(Why::named(why), said.to_owned())))
}

/// Keys of this home that the relay called removed, whether or not the removal came here.
pub(crate) fn removed_keys(home: &Home) -> Result<BTreeSet<KeyId>, Failure> {
    let kept = home.setting(REMOVED)?.unwrap_or_default();
    let known: Vec<KeyId> = home.keys()?.iter().map(|row| row.key).collect();
    Ok(known.into_iter().filter(|key| kept.split(',').any(|hex| hex == key.to_hex())).collect())
}
