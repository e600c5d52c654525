//! Points of the normal and of the Student distribution.

use statrs::distribution::{ContinuousCDF, Normal, StudentsT};

/// The point below which the share `p` of a normal variable lies, in standard deviations; `p` above
/// 0 and below 1, anything else is no number.
pub(super) fn normal_quantile(p: f64) -> f64 {
    if p > 0.0 && p < 1.0 { Normal::standard().inverse_cdf(p) } else { f64::NAN }
}

/// From here on the series in 1/freedom is as good as the distribution itself.
const MANY: f64 = 1000.0;

/// The point below which the share `p` of a Student t variable lies.
///
/// Source: the distribution itself; from a freedom of 1000 on Abramowitz and Stegun 26.7.5, within 1e-7.
///
/// ```
/// // t(0.995, 16): GUM H.1 prints 2.92.
/// assert!((gudgeon_core::work::student_quantile(0.995, 16.0) - 2.920_781_6).abs() < 1e-6);
/// ```
#[must_use]
pub fn student_quantile(p: f64, freedom: f64) -> f64 {
    if freedom >= MANY {
        let z = normal_quantile(p);
        let (z2, first) = (z * z, z * (z * z + 1.0) / (4.0 * freedom));
        return z + first + z * ((5.0 * z2 + 16.0) * z2 + 3.0) / (96.0 * freedom * freedom);
    }
    match StudentsT::new(0.0, 1.0, freedom) {
        Ok(student) if p > 0.0 && p < 1.0 => student.inverse_cdf(p),
        Ok(_) | Err(_) => f64::NAN,
    }
}

/// The two-sided factor of a level such as 0.95: that share lies within it on either side.
pub(super) fn two_sided(level: f64, freedom: f64) -> f64 {
    student_quantile(f64::midpoint(level, 1.0), freedom)
}
