//! Words and quantities as typed, turned into what is meant, or refused with the way out.

use gudgeon_core::engine::{characteristic, is_mark, part, suggest};
use gudgeon_core::quantity::{Kind, Quantity};

use crate::desk::Sight;
use crate::failure::Failure;

/// A quantity of one kind.
pub(crate) fn quantity(text: &str, kind: Kind) -> Result<Quantity, Failure> {
    Ok(Quantity::parse_as(text, kind)?)
}

/// A quantity of one kind, where it is given.
pub(crate) fn maybe(text: Option<&str>, kind: Kind) -> Result<Option<Quantity>, Failure> {
    text.map(|text| quantity(text, kind)).transpose()
}

/// The way out where a size is nothing or less.
pub(crate) const NO_SIZE: &str = "check the sign and the digits; leave out what was not read";

/// A quantity of something that is there: nought or less cannot be meant.
pub(crate) fn above_nothing(what: &str, given: Option<Quantity>) -> Result<Option<Quantity>, Failure> {
    let Some(value) = given.as_ref().filter(|value| value.amount().base() <= 0) else { return Ok(given) };
    let cause = characteristic::is_never(what, value);
    Err(Failure::refused("no-size", cause, NO_SIZE))
}

/// A name out of a list.
pub(crate) fn one_of<'n>(what: &str, text: &str, known: &[&'n str]) -> Result<&'n str, Failure> {
    known.iter().find(|name| **name == text).copied().ok_or_else(|| {
        let rule = format!("unknown-{}", what.replace(' ', "-"));
        Failure::refused(&rule, format!("`{text}` is no {what}"), suggest(text, known))
    })
}

/// A part as `sort/mark`; a mark alone where only one part received has it.
pub(crate) fn part_mark(sight: &Sight, text: &str) -> Result<String, Failure> {
    if let Some((sort, mark)) = text.split_once('/') {
        let sorts: Vec<&str> = part::PART_SORTS.iter().map(|row| row.name).collect();
        one_of("sort of part", sort, &sorts)?;
        return new_mark(mark).map(|mark| format!("{sort}/{mark}"));
    }
    let received = received(sight, text);
    match &received[..] {
        [one] => Ok(one.clone()),
        [] => Err(Failure::not_found(
            "unknown-part",
            format!("no part received has the mark `{text}`"),
            "give sort and mark, such as `piston/B`, or receive it first",
        )),
        several => Err(Failure::usage(
            format!("{} parts received have the mark `{text}`", several.len()),
            format!("give sort and mark: {}", several.join(", ")),
        )),
    }
}

fn received(sight: &Sight, mark: &str) -> Vec<String> {
    use gudgeon_core::entry::Payload;
    let parts = sight.log().folded().iter().filter_map(|statement| match &statement.payload {
        Ok(Payload::PartReceived(part)) if part.mark == mark => Some(format!("{}/{}", part.sort, part.mark)),
        _ => None,
    });
    parts.collect::<std::collections::BTreeSet<_>>().into_iter().collect()
}

/// A mark that a part can have.
pub(crate) fn new_mark(text: &str) -> Result<String, Failure> {
    if is_mark(text) {
        return Ok(text.to_owned());
    }
    let cause = format!("`{text}` cannot be the mark of a part");
    Err(Failure::refused("mark", cause, "letters, digits, `-`, `_`, `.`, `+`; at most 40"))
}

/// Words that may not be empty.
pub(crate) fn words(what: &str, text: &str) -> Result<String, Failure> {
    let text = text.trim();
    if text.is_empty() {
        return Err(Failure::refused("empty", format!("the {what} is empty"), "say it in a few words"));
    }
    Ok(text.to_owned())
}
