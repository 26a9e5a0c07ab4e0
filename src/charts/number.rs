//! Numbers for a person: in the reader's locale, with the digits their uncertainty supports and no more.

use super::measures;
use crate::people::Date;
use std::borrow::Cow;

/// How numbers and days are written where the reader lives.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Locale {
    /// The decimal mark.
    pub decimal: char,
    /// How a day is written: `y`, `m` and `d` stand for its year, month and day, everything else for itself.
    pub date: String,
    /// Whether lengths and masses are shown in inches and pounds; nothing else is, and nothing is kept so.
    pub imperial: bool,
}

impl Default for Locale {
    fn default() -> Self {
        Self { decimal: '.', date: "y-m-d".into(), imperial: false }
    }
}

/// What stands for a figure that cannot be given.
pub const WITHHELD: &str = "–";

/// Metres in an inch and kilograms in a pound, both exact: international yard and pound agreement of 1959 (NIST Special
/// Publication 811, appendix B).
pub const INCH_M: f64 = 0.0254;
/// The same of a pound.
pub const POUND_KG: f64 = 0.453_592_37;

impl Locale {
    /// A day as the reader writes days. Fields, files and tables for other programs keep ISO 8601.
    #[inline(never)]
    pub fn day(&self, day: Date) -> String {
        let iso = day.to_string();
        let part = |from, to| iso.get(from..to).unwrap_or_default();
        let mut text = String::new();
        for c in self.date.chars() {
            match c {
                'y' => text += part(0, 4),
                'm' => text += part(5, 7),
                'd' => text += part(8, 10),
                other => text.push(other),
            }
        }
        text
    }

    /// A sentence that was made without a reader in mind (it is stored, or goes with a link): its days as the reader writes them.
    #[inline(never)]
    pub fn days_in(&self, text: &str) -> String {
        const LONG: usize = "2026-01-31".len();
        let mut out = String::new();
        let mut rest = text;
        while let Some(first) = rest.chars().next() {
            let ends = |at: usize| !rest.get(at..).is_some_and(|after| after.starts_with(|c: char| c.is_ascii_digit() || c == '-'));
            let stands_alone = !out.ends_with(|c: char| c.is_alphanumeric() || c == '-') && ends(LONG);
            let day = first.is_ascii_digit().then(|| rest.get(..LONG)).flatten().filter(|_| stands_alone).and_then(Date::parse);
            let step = if day.is_some() { LONG } else { first.len_utf8() };
            match day {
                Some(day) => out += &self.day(day),
                None => out.push(first),
            }
            rest = rest.get(step..).unwrap_or_default();
        }
        out
    }

    /// A sentence that was made without a reader in mind: its days and its centimetres and kilograms as the reader has them.
    #[inline(never)]
    pub fn told(&self, text: &str) -> String {
        let text = self.days_in(text);
        if self.imperial { measures::in_inches(&text, self) } else { text }
    }

    /// The centimetres and kilograms alone.
    pub fn amounts<'a>(&self, text: &'a str) -> Cow<'a, str> {
        if self.imperial { measures::in_inches(text, self).into() } else { text.into() }
    }

    /// SI unit → the unit shown and its factor: centimetres and milliseconds, as the trade says them, or inches and pounds.
    #[inline(never)]
    pub fn unit<'a>(&self, si: &'a str) -> (&'a str, f64) {
        match si {
            "s" => ("ms", 1000.0),
            "m" if self.imperial => ("in", 1.0 / INCH_M),
            "m" => ("cm", 100.0),
            "kg" if self.imperial => ("lb", 1.0 / POUND_KG),
            other => (other, 1.0),
        }
    }

    /// Decimals for a number without a ± that says how many: an inch is 2.54 cm and takes one more to be as fine.
    pub fn decimals(unit: &str, of_metric: usize) -> usize {
        of_metric + usize::from(unit == "in")
    }

    /// A length with its unit, with so many decimals of a centimetre.
    pub fn length(&self, metres: f64, decimals: usize) -> String {
        self.amount(metres, "m", decimals)
    }

    /// A mass with its unit.
    pub fn mass(&self, kg: f64, decimals: usize) -> String {
        self.amount(kg, "kg", decimals)
    }

    #[inline(never)]
    fn amount(&self, value: f64, si: &str, decimals: usize) -> String {
        let (unit, factor) = self.unit(si);
        format!("{}\u{a0}{unit}", self.fixed(value * factor, Self::decimals(unit, decimals)))
    }

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
    fn days_are_the_locale_s_and_only_days() {
        let german = Locale { date: "d.m.y".into(), ..Locale::default() };
        assert_eq!(german.day(Date::parse("2026-03-01").unwrap_or(Date(0))), "01.03.2026");
        assert_eq!(german.days_in("tested from 2025-12-31 to 2026-03-01, n 12"), "tested from 31.12.2025 to 01.03.2026, n 12");
        for no_day in ["2026-02-30", "12026-03-01", "2026-03-012", "a2026-03-01", "1-2026-03-01", "±3–4 %", "2026-03-01-2"] {
            assert_eq!(german.days_in(no_day), no_day);
        }
        assert_eq!(Locale::default().days_in("on 2026-03-01."), "on 2026-03-01.");
    }

    #[test]
    fn inches_and_pounds_are_exact_and_keep_the_rule_of_digits() {
        let metric = Locale::default();
        let imperial = Locale { imperial: true, ..Locale::default() };
        // NIST Special Publication 811 (2008), appendix B.8: 1 in = 2.54 cm, 1 lb = 0.453 592 37 kg, both exact.
        assert_eq!(imperial.unit("m"), ("in", 1.0 / 0.0254));
        assert_eq!(imperial.unit("kg"), ("lb", 1.0 / 0.453_592_37));
        assert!((imperial.unit("m").1 * 0.3048 - 12.0).abs() < 1e-12, "a foot");
        assert!((imperial.unit("kg").1 * 6.350_293_18 - 14.0).abs() < 1e-12, "a stone");
        assert_eq!(metric.unit("m"), ("cm", 100.0));
        assert_eq!(metric.unit("kg"), ("kg", 1.0));
        // Everything else is the same by either choice.
        for si in ["N", "N/kg", "W", "W/kg", "m/s", "s", "N/s", "N·s", "J", "%", "N/m", ""] {
            assert_eq!(imperial.unit(si), metric.unit(si));
        }
        // 0.3123 m ± 6 mm: 12.295 in ± 0.236 in, one digit of the ± as in centimetres.
        let height = |locale: &Locale| locale.with_uncertainty(0.3123 * locale.unit("m").1, 0.003 * locale.unit("m").1);
        assert_eq!((height(&metric), height(&imperial)), ("31.2 ± 0.6".into(), "12.3 ± 0.2".into()));
        assert_eq!((metric.length(0.3, 0), imperial.length(0.3, 0)), ("30\u{a0}cm".into(), "11.8\u{a0}in".into()));
        assert_eq!((metric.mass(75.0, 1), imperial.mass(75.0, 1)), ("75.0\u{a0}kg".into(), "165.3\u{a0}lb".into()));
    }

    #[test]
    fn the_mark_is_the_locale_s() {
        let comma = Locale { decimal: ',', ..Locale::default() };
        assert_eq!(comma.with_uncertainty(31.234, 0.3), "31,2 ± 0,6");
        assert_eq!(comma.fixed(f64::NAN, 1), WITHHELD);
        assert_eq!(comma.parts(1234.5, 0.0), ("1234".into(), None));
        assert_eq!(comma.parts(0.456, 0.0).0, "0,456");
    }
}
