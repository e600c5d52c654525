//! How a file leaves the phone: by the share sheet where there is one that takes it, else as a download.

/// One way to give a file on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// The phone's own share sheet.
    ShareSheet,
    /// A file among the downloads.
    Download,
}

/// What is tried first; `takes`: whether there is a share sheet, and it takes this file.
#[must_use]
pub const fn first(takes: bool) -> By {
    if takes { By::ShareSheet } else { By::Download }
}

/// What is tried once the share sheet has failed with an error of this name; none: whoever put it away does not
/// want the file after all (`AbortError` of the Web Share specification, section 2.1.2).
#[must_use]
pub fn instead(error: &str) -> Option<By> {
    (error != "AbortError").then_some(By::Download)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn without_a_share_sheet_that_takes_it_a_file_is_a_download() {
        assert_eq!((first(true), first(false)), (By::ShareSheet, By::Download));
    }

    #[test]
    fn a_share_sheet_that_fails_loses_no_file_and_one_that_is_put_away_leaves_none() {
        // The names that the specification has for failures of `share`.
        for error in ["NotAllowedError", "DataError", "InvalidStateError", "TypeError", ""] {
            assert_eq!(instead(error), Some(By::Download), "{error}");
        }
        assert_eq!(instead("AbortError"), None);
    }
}
