//! Numbers of findings, kept as they were last listed: a number means what somebody saw under it,
//! whatever came since.

use gudgeon_client::home::Home;
use gudgeon_core::assess::Finding;
use sha2::{Digest as _, Sha256};

use crate::desk::Sight;
use crate::failure::Failure;

/// Digits by which a listed finding is known again.
const DIGITS: usize = 16;

/// Keeps what was listed: the finding of number 1 first.
pub(crate) fn keep(home: &mut Home, sight: &Sight, findings: &[&Finding]) -> Result<(), Failure> {
    let marks: Vec<String> = findings.iter().map(|finding| mark(finding)).collect();
    Ok(home.set_setting(&setting(sight), &marks.join(" "))?)
}

/// The finding that was last listed under a number; by its place where nothing was listed yet.
pub(crate) fn find<'f>(
    home: &Home,
    sight: &Sight,
    findings: &[&'f Finding],
    number: usize,
) -> Result<&'f Finding, Failure> {
    let at = number.checked_sub(1);
    let unknown = |count: usize| {
        let cause = format!("there is no finding {number}; there are {count}");
        Failure::not_found("unknown-finding", cause, "`findings` numbers them")
    };
    let Some(listed) = home.setting(&setting(sight))? else {
        return at.and_then(|at| findings.get(at)).copied().ok_or_else(|| unknown(findings.len()));
    };
    let marks: Vec<&str> = listed.split(' ').filter(|mark| !mark.is_empty()).collect();
    let meant = at.and_then(|at| marks.get(at)).ok_or_else(|| unknown(marks.len()))?;
    findings.iter().copied().find(|finding| mark(finding) == **meant).ok_or_else(|| {
        let cause = format!("finding {number}, as it was last listed, is settled or says something else now");
        Failure::refused(
            "finding-changed",
            cause,
            "look again with `findings`, and take the number from there",
        )
    })
}

fn setting(sight: &Sight) -> String {
    format!("findings/{}", sight.log().document().to_hex())
}

/// What a finding says and rests on, in a few digits; a concession is not among it.
fn mark(finding: &Finding) -> String {
    let mut digest = Sha256::new();
    for part in [finding.rule.name(), &finding.feature, &finding.subject, &finding.text] {
        digest.update(part.as_bytes());
        digest.update([0]);
    }
    finding.ids.iter().for_each(|id| digest.update(id.bytes()));
    let hex = data_encoding::HEXLOWER.encode(&digest.finalize());
    hex[..DIGITS].to_owned()
}
