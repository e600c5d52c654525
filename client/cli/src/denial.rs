//! What the relay said last of letting this home in. A home that is let in no more may not hold why:
//! the relay gives it nothing.

use gudgeon_client::home::Home;
use gudgeon_client::sync::{Denial, Trouble, Why};

use crate::failure::Failure;

/// Setting of the home: the reason as the service names it and in its words; empty where it lets in.
const DENIED: &str = "denied";

/// Keeps whether the relay lets this home in. Not reached is no answer: what was said before still holds.
pub(crate) fn keep(home: &mut Home, trouble: Option<&Trouble>) -> Result<(), Failure> {
    let said = match trouble {
        None => String::new(),
        Some(Trouble::Denied(denial)) => format!("{}:{}", denial.why.name(), denial.said),
        Some(Trouble::Offline(_) | Trouble::NoSession | Trouble::Busy(_) | Trouble::Broken(_)) => {
            return Ok(());
        }
    };
    if home.setting(DENIED)?.unwrap_or_default() != said {
        home.set_setting(DENIED, &said)?;
    }
    Ok(())
}

/// Why the relay lets this home in no more, if it said so.
pub(crate) fn last(home: &Home) -> Result<Option<Denial>, Failure> {
    let kept = home.setting(DENIED)?;
    let parts = kept.as_deref().and_then(|kept| kept.split_once(':'));
    Ok(parts.map(|(why, said)| Denial::new(Why::named(why), said.to_owned())))
}
