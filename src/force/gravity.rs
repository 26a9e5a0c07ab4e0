//! Gravity where the plate stands.
use super::math::sin;

/// Standard gravity, m/s² [CGPM 1901, 3rd meeting].
pub const STANDARD_M_S2: f64 = 9.806_65;

/// Normal gravity in m/s² at a geodetic latitude (degrees) and altitude (m): GRS 80 by Somigliana's closed formula
/// [Moritz 2000, J. Geodesy 74:128], with the free-air term −3.086e-6 s⁻² · altitude.
pub fn at(latitude_deg: f64, altitude_m: f64) -> f64 {
    // Equatorial gravity, k and first eccentricity squared of GRS 80 (Moritz 2000, table of derived constants).
    const GAMMA_E: f64 = 9.780_326_771_5;
    const K: f64 = 0.001_931_851_353;
    const E2: f64 = 0.006_694_380_022_90;
    let s2 = {
        let s = sin(latitude_deg * core::f64::consts::PI / 180.0);
        s * s
    };
    GAMMA_E * (1.0 + K * s2) / (1.0 - E2 * s2).sqrt() - 3.086e-6 * altitude_m
}
