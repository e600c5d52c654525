//! Real air compressed without heat loss: the equation of state of Lemmon, Jacobsen, Penoncello and
//! Friend, J. Phys. Chem. Ref. Data 29 (2000) 331, air as one fluid.
//!
//! The coefficients are facts of that paper; a check case holds them to another library's figures.

/// Gas constant of the paper, J/(mol·K).
const R: f64 = 8.314_510;
/// Reducing temperature, K: the maxcondentherm.
const T_REDUCING: f64 = 132.631_2;
/// Reducing density, mol/m³.
const RHO_REDUCING: f64 = 10_447.7;
/// Most density taken, mol/m³: short of where liquid could be.
const DENSEST: f64 = 9_000.0;
/// Hottest the paper reaches, K.
const HOTTEST: f64 = 2_000.0;

/// Terms of the residual part: factor, power of density, power of temperature, power in the exponent.
const RESIDUAL: [(f64, i32, f64, i32); 19] = [
    (0.118_160_747_229, 1, 0.0, 0),
    (0.713_116_392_079, 1, 0.33, 0),
    (-0.161_824_192_067e1, 1, 1.01, 0),
    (0.714_140_178_971e-1, 2, 0.0, 0),
    (-0.865_421_396_646e-1, 3, 0.0, 0),
    (0.134_211_176_704, 3, 0.15, 0),
    (0.112_626_704_218e-1, 4, 0.0, 0),
    (-0.420_533_228_842e-1, 4, 0.2, 0),
    (0.349_008_431_982e-1, 4, 0.35, 0),
    (0.164_957_183_186e-3, 6, 1.35, 0),
    (-0.101_365_037_912, 1, 1.6, 1),
    (-0.173_813_690_970, 3, 0.8, 1),
    (-0.472_103_183_731e-1, 5, 0.95, 1),
    (-0.122_523_554_253e-1, 6, 1.25, 1),
    (-0.146_629_609_713, 1, 3.6, 2),
    (-0.316_055_879_821e-1, 3, 6.0, 2),
    (0.233_594_806_142e-3, 11, 3.25, 2),
    (0.148_287_891_978e-1, 1, 3.5, 3),
    (-0.938_782_884_667e-2, 3, 15.0, 3),
];

/// Terms of the ideal part in powers of the reduced temperature.
const POWERS: [(f64, f64); 6] = [
    (0.605_719_400e-7, -3.0),
    (-0.210_274_769e-4, -2.0),
    (-0.158_860_716e-3, -1.0),
    (-13.841_928_076, 0.0),
    (17.275_266_575, 1.0),
    (-0.195_363_420e-3, 1.5),
];

/// Temperature in K and pressure in Pa of air compressed by `ratio` in volume, entropy kept, from
/// `from_k` and `from_pa`; none outside the bounds of the paper.
pub(super) fn compressed(from_k: f64, from_pa: f64, ratio: f64) -> Option<(f64, f64)> {
    let start = density(from_k, from_pa)?;
    let end = start * ratio;
    if end > DENSEST {
        return None;
    }
    let wanted = entropy(from_k, start);
    let end_k = root(from_k * 0.99, HOTTEST, |t| entropy(t, end) - wanted)?;
    Some((end_k, pressure(end_k, end)))
}

/// In mol/m³.
fn density(t: f64, pa: f64) -> Option<f64> {
    root(0.0, DENSEST, |rho| pressure(t, rho) - pa)
}

/// Where a rising function is nought, by halving; none where it is not between.
fn root(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> Option<f64> {
    if f(low) > 0.0 || f(high) < 0.0 {
        return None;
    }
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if f(middle) < 0.0 { low = middle } else { high = middle }
    }
    Some(f64::midpoint(low, high))
}

/// In Pa: `rho R T (1 + delta d(residual)/d(delta))`.
fn pressure(t: f64, rho: f64) -> f64 {
    let (delta, tau) = (rho / RHO_REDUCING, T_REDUCING / t);
    let term = |(n, d, power, l): &(f64, i32, f64, i32)| {
        let (value, of_exponent) = residual(delta, tau, (*n, *d, *power, *l));
        value * (f64::from(*d) - f64::from(*l) * of_exponent)
    };
    rho * R * t * (1.0 + RESIDUAL.iter().map(term).sum::<f64>())
}

/// In J/(mol·K), from the paper's zero: `R (tau d(alpha)/d(tau) - alpha)`.
fn entropy(t: f64, rho: f64) -> f64 {
    let (delta, tau) = (rho / RHO_REDUCING, T_REDUCING / t);
    let term = |(n, d, power, l): &(f64, i32, f64, i32)| {
        residual(delta, tau, (*n, *d, *power, *l)).0 * (power - 1.0)
    };
    let powers = |(n, power): &(f64, f64)| n * libm::pow(tau, *power) * (power - 1.0);
    let ideal = POWERS.iter().map(powers).sum::<f64>() - libm::log(delta)
        + 2.490_888_032 * (1.0 - libm::log(tau))
        + vibration(0.791_309_509, 25.363_65 * tau)
        + vibration(0.212_236_768, 16.907_41 * tau)
        + argon(-0.197_938_904, 87.312_79 * tau);
    R * (ideal + RESIDUAL.iter().map(term).sum::<f64>())
}

/// A term of the residual part, and its exponent.
fn residual(delta: f64, tau: f64, (n, d, power, l): (f64, i32, f64, i32)) -> (f64, f64) {
    let of_exponent = if l == 0 { 0.0 } else { libm::pow(delta, f64::from(l)) };
    (n * libm::pow(delta, f64::from(d)) * libm::pow(tau, power) * libm::exp(-of_exponent), of_exponent)
}

/// Of `n ln(1 - e^-x)`: its share of `tau d/dtau - 1`.
fn vibration(n: f64, x: f64) -> f64 {
    n * (x / libm::expm1(x) - libm::log1p(-libm::exp(-x)))
}

/// Of `n ln(2/3 + e^x)`.
fn argon(n: f64, x: f64) -> f64 {
    // e^-x: x reaches 250 in the cold, where e^x would still be a number, squared no more.
    let small = 2.0 / 3.0 * libm::exp(-x);
    n * (x / (1.0 + small) - (x + libm::log1p(small)))
}
