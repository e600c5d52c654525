//! The film of a bearing as wide as its journal, by the table of Raimondi and Boyd.

/// Sommerfeld number, and thinnest film by radial clearance, of a full bearing as wide as its
/// diameter. Source: Raimondi and Boyd 1958, from memory.
pub const RAIMONDI_BOYD: [(f64, f64); 6] =
    [(1.33, 0.9), (0.631, 0.8), (0.264, 0.6), (0.121, 0.4), (0.0446, 0.2), (0.0188, 0.1)];

/// What a number that was computed may miss an end of the table by, as a share.
const AT_THE_END: f64 = 1e-9;

/// Thinnest film by radial clearance at a Sommerfeld number, straight over its logarithm between two
/// rows of [`RAIMONDI_BOYD`]; none outside the table. Steady load: for comparison only.
#[must_use]
pub fn wide_bearing_film(sommerfeld: f64) -> Option<f64> {
    let within = |(upper, lower): (f64, f64)| {
        sommerfeld <= upper * (1.0 + AT_THE_END) && sommerfeld >= lower * (1.0 - AT_THE_END)
    };
    RAIMONDI_BOYD.windows(2).find_map(|rows| {
        let [(upper, thick), (lower, thin)] = rows else { return None };
        let share = libm::log(sommerfeld / lower) / libm::log(upper / lower);
        within((*upper, *lower)).then_some(thin + share * (thick - thin))
    })
}
