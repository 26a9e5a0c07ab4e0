//! The only door to functions beyond `+ − × ÷ sqrt abs floor round`: std's differ in bits between native and
//! WebAssembly, `libm`'s do not, and both targets must give the same document byte for byte.

/// Sine, radians.
pub fn sin(x: f64) -> f64 {
    libm::sin(x)
}
/// Cosine, radians.
pub fn cos(x: f64) -> f64 {
    libm::cos(x)
}
/// Tangent, radians.
pub fn tan(x: f64) -> f64 {
    libm::tan(x)
}
/// Arc cosine, radians.
pub fn acos(x: f64) -> f64 {
    libm::acos(x)
}
/// Natural logarithm.
pub fn ln(x: f64) -> f64 {
    libm::log(x)
}
/// Exponential.
pub fn exp(x: f64) -> f64 {
    libm::exp(x)
}
/// Fourth root, by two square roots (exact on both targets).
pub fn fourth_root(x: f64) -> f64 {
    x.sqrt().sqrt()
}
/// `exp(x) − 1`, exact for small `x`.
pub fn exp_m1(x: f64) -> f64 {
    libm::expm1(x)
}
/// `ln(1 + x)`, exact for small `x`.
pub fn ln_1p(x: f64) -> f64 {
    libm::log1p(x)
}
/// Natural logarithm of the gamma function, `x` > 0.
pub fn ln_gamma(x: f64) -> f64 {
    libm::lgamma(x)
}
/// Complementary error function.
pub fn erfc(x: f64) -> f64 {
    libm::erfc(x)
}
