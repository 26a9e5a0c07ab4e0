//! Numbers for a person: in the reader's locale, with the digits their uncertainty supports and no more.

/// How numbers are written where the reader lives.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Locale {
    /// The decimal mark.
    pub decimal: char,
}

impl Default for Locale {
    fn default() -> Self {
        Self { decimal: '.' }
    }
}

/// What stands for a figure that cannot be given.
pub const WITHHELD: &str = "–";

impl Locale {
    /// A number with a fixed count of decimals and a true minus sign.
    pub fn fixed(&self, value: f64, decimals: usize) -> String {
        if !value.is_finite() {
            return WITHHELD.into();
        }
        let plain = format!("{:.decimals$}", value.abs());
        let is_zero = plain.chars().all(|c| matches!(c, '0' | '.'));
        let sign = if value < 0.0 && !is_zero { "−" } else { "" };
        format!("{sign}{}", plain.replace('.', &self.decimal.to_string()))
    }

    /// `value ± 2u`: the expanded uncertainty (k = 2) keeps one digit, two when it begins with 1,
    /// and the value stops at the same place.
    pub fn with_uncertainty(&self, value: f64, u: f64) -> String {
        let (value, spread) = self.parts(value, u);
        match spread {
            Some(spread) => format!("{value} ± {spread}"),
            None => value,
        }
    }

    /// The value and its ± (k = 2), each as text; no ± where none is known.
    pub fn parts(&self, value: f64, u: f64) -> (String, Option<String>) {
        let wide = 2.0 * u;
        if !(wide.is_finite() && wide > 0.0 && value.is_finite()) {
            return (self.fixed(value, significant(value, 3)), None);
        }
        let place = last_place(wide);
        if place <= 0 {
            let decimals = place.unsigned_abs() as usize;
            return (self.fixed(value, decimals), Some(self.fixed(wide, decimals)));
        }
        let unit = power_of_ten(place);
        (self.fixed((value / unit).round() * unit, 0), Some(self.fixed((wide / unit).round() * unit, 0)))
    }
}

/// The power of ten of the last digit kept of an uncertainty: −1 for 0.3, −2 for 0.13, 1 for 34.
fn last_place(wide: f64) -> i32 {
    let mut exponent = 0;
    let mut lead = wide;
    while lead >= 9.5 && exponent < 300 {
        lead /= 10.0;
        exponent += 1;
    }
    while lead < 0.95 && exponent > -12 {
        lead *= 10.0;
        exponent -= 1;
    }
    if lead < 1.95 { exponent - 1 } else { exponent }
}

fn power_of_ten(exponent: i32) -> f64 {
    (0..exponent).fold(1.0, |product, _| product * 10.0)
}

/// Decimals that show `digits` significant digits.
fn significant(value: f64, digits: usize) -> usize {
    let mut whole = 0;
    let mut size = value.abs();
    while size >= 1.0 && whole < digits {
        size /= 10.0;
        whole += 1;
    }
    digits - whole
}

/// SI unit → the unit shown and its factor: centimetres and milliseconds, as the trade says them.
pub fn shown_unit(si: &str) -> (&str, f64) {
    match si {
        "m" => ("cm", 100.0),
        "s" => ("ms", 1000.0),
        other => (other, 1.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_follow_the_uncertainty() {
        let locale = Locale::default();
        assert_eq!(locale.with_uncertainty(31.234, 0.3), "31.2 ± 0.6");
        assert_eq!(locale.with_uncertainty(31.234, 0.065), "31.23 ± 0.13");
        assert_eq!(locale.with_uncertainty(1543.2, 17.0), "1540 ± 30");
        assert_eq!(locale.with_uncertainty(1543.2, 6.0), "1543 ± 12");
        assert_eq!(locale.with_uncertainty(-0.04, 0.49), "0.0 ± 1.0");
        assert_eq!(locale.with_uncertainty(9.97, 0.0499), "9.97 ± 0.10");
        assert_eq!(locale.with_uncertainty(-2.84, 0.3), "−2.8 ± 0.6");
    }

    #[test]
    fn the_mark_is_the_locale_s() {
        let comma = Locale { decimal: ',' };
        assert_eq!(comma.with_uncertainty(31.234, 0.3), "31,2 ± 0,6");
        assert_eq!(comma.fixed(f64::NAN, 1), WITHHELD);
        assert_eq!(comma.parts(1234.5, 0.0), ("1234".into(), None));
        assert_eq!(comma.parts(0.456, 0.0).0, "0,456");
    }
}
