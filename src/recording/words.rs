//! Header words in several languages: what a word says about its column is a row of data here.
use super::Unit;
use super::digits::decimal;
use super::languages::WORDS;
use super::letters::{Letters as _, push_lower};

/// What a header word says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Word {
    Time,
    Sample,
    Left,
    Right,
    Total,
    Force,
    /// Vertical: the wanted one of several axes.
    Vertical,
    /// One load cell or corner of a plate.
    Cell,
    /// A horizontal axis or anything that is no vertical force.
    Other,
    /// A sampling rate in the preamble.
    Rate,
    /// A sampling interval in the preamble.
    Interval,
    /// Smoothed, or said not to be.
    Treated,
    /// The word for unit.
    NamesUnit,
}

/// Whether a character is of a script that sets no blanks between words.
fn unspaced(c: char) -> bool {
    matches!(c, '\u{3040}'..='\u{30FF}' | '\u{3400}'..='\u{9FFF}' | '\u{F900}'..='\u{FAFF}')
}

/// All words in order of the alphabet, so that a header of thousands of columns is understood quickly.
fn sorted() -> &'static [(&'static str, Word)] {
    static SORTED: std::sync::OnceLock<Vec<(&str, Word)>> = std::sync::OnceLock::new();
    SORTED.get_or_init(|| {
        let mut all: Vec<(&str, Word)> = WORDS.iter().flat_map(|(_, meaning, list)| list.split(' ').map(|w| (w, *meaning))).collect();
        all.sort_by_key(|(w, meaning)| (*w, *meaning as u8));
        all.dedup();
        all
    })
}

/// Everything a word can mean.
pub(super) fn meanings(word: &str) -> Vec<Word> {
    let mut found: Vec<Word> = Vec::new();
    if word.chars().any(unspaced) {
        // The longest first, and what is understood is taken out: 力矩 (moment) is no 力 (force).
        let mut terms: Vec<(&str, Word)> = WORDS
            .iter()
            .flat_map(|(_, meaning, list)| list.split(' ').map(|w| (w, *meaning)))
            .filter(|(w, _)| w.chars().all(unspaced))
            .collect();
        terms.sort_by_key(|(w, _)| std::cmp::Reverse(w.chars().count()));
        let mut left = word.to_string();
        let mut taken: Vec<&str> = Vec::new();
        for (term, meaning) in terms {
            let known = taken.contains(&term);
            if known || left.contains(term) {
                found.push(meaning);
                if !known {
                    left = left.replace(term, " ");
                    taken.push(term);
                }
            }
        }
    } else {
        let sorted = sorted();
        let begin = sorted.partition_point(|(w, _)| *w < word);
        found.extend(sorted.iter().skip(begin).take_while(|(w, _)| *w == word).map(|(_, meaning)| *meaning));
    }
    found.dedup();
    found
}

/// A unit a column may be in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum ColumnUnit {
    Force(Unit),
    /// Seconds per unit.
    Time(f64),
    /// Volts, before a sensitivity makes them force.
    Volt,
    /// The same in millivolts.
    Millivolt,
    /// Something else than time or force.
    Other,
}

/// Reads a unit as it stands in brackets, in a unit row or in the `columns` option.
pub(super) fn unit(text: &str) -> Option<ColumnUnit> {
    let t = text.trim().trim_matches(|c| "[](){}<>\"'（）［］【】".contains(c)).trim();
    Some(match t {
        "N" | "n" | "newton" | "Newton" | "newtons" | "Newtons" | "NEWTON" | "NEWTONS" | "ニュートン" | "牛顿" | "牛" => {
            ColumnUnit::Force(Unit::Newton)
        }
        "kN" | "KN" | "kn" | "kilonewton" | "千牛" => ColumnUnit::Force(Unit::Kilonewton),
        "mN" | "millinewton" => ColumnUnit::Force(Unit::Millinewton),
        "kgf" | "Kgf" | "KGF" | "kp" | "kg" | "Kg" | "KG" => ColumnUnit::Force(Unit::KilogramForce),
        "lbf" | "lb" | "lbs" | "LBF" | "Lbf" | "pounds" => ColumnUnit::Force(Unit::PoundForce),
        "s" | "S" | "sec" | "Sec" | "secs" | "seconds" | "Seconds" | "sek" | "Sekunden" | "sekunden" | "seg" | "秒" => {
            ColumnUnit::Time(1.0)
        }
        "ms" | "msec" | "MS" | "Ms" | "milliseconds" | "Millisekunden" | "millis" | "毫秒" | "ミリ秒" => ColumnUnit::Time(1e-3),
        "us" | "µs" | "μs" | "usec" | "microseconds" | "微秒" => ColumnUnit::Time(1e-6),
        "min" => ColumnUnit::Time(60.0),
        "V" | "volt" | "Volt" | "volts" | "Volts" => ColumnUnit::Volt,
        "mV" => ColumnUnit::Millivolt,
        "m" | "cm" | "mm" | "m/s" | "m/s²" | "m/s^2" | "m/s2" | "W" | "w" | "J" | "Nm" | "N·m" | "N m" | "N.m" | "N*m" | "Nmm" | "N·mm"
        | "N mm" | "%" | "deg" | "°" | "Hz" | "N/s" | "Ns" | "N·s" | "N/kg" | "BW" | "g" | "°C" | "µV" | "uV" => ColumnUnit::Other,
        _ => return sensitivity(t).map(|s| ColumnUnit::Force(s.unit())),
    })
}

/// How many newtons a volt is, as files and data sheets state it: `500 N/V`, `0.5 N/mV`, `2 mV/N`, `0.002 V/N`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Sensitivity {
    pub newtons_per_volt: f64,
    /// Stated for a millivolt.
    pub milli: bool,
}

impl Sensitivity {
    /// The unit of a column that it is written over.
    pub(super) fn unit(self) -> Unit {
        if self.milli { Unit::PerMillivolt(self.newtons_per_volt / 1e3) } else { Unit::PerVolt(self.newtons_per_volt) }
    }
}

/// Amplifiers give some volts for some hundred or thousand newtons; of two readings of `1,000` one is far outside this, N/V.
const PLAUSIBLE_N_PER_V: core::ops::RangeInclusive<f64> = 10.0..=20_000.0;

/// Reads a sensitivity; none where there is none, it is negative, or `1.234` may be either of two.
pub(super) fn sensitivity(text: &str) -> Option<Sensitivity> {
    let squeezed: String = text.chars().filter(|c| !c.is_whitespace()).collect();
    let begin = squeezed.find(|c: char| c.is_ascii_digit())?;
    let (before, number) = squeezed.split_at_checked(begin)?;
    if before.ends_with(['-', '−']) {
        return None;
    }
    let end = number.find(|c: char| !c.is_ascii_digit() && c != '.' && c != ',').unwrap_or(number.len());
    let (value, unit) = number.split_at_checked(end)?;
    let unit: String = unit.chars().take_while(|c| c.is_ascii_alphabetic() || *c == '/').collect();
    let (milli, of): (bool, fn(f64) -> f64) = match unit.as_str() {
        "N/V" => (false, |x| x),
        "kN/V" => (false, |x| 1e3 * x),
        "V/N" => (false, |x| 1.0 / x),
        "N/mV" => (true, |x| 1e3 * x),
        "mV/N" => (true, |x| 1e3 / x),
        _ => return None,
    };
    let read = |text: String| decimal(&text).map(of).filter(|x: &f64| x.is_finite() && *x > 0.0);
    let plain = read(value.replace(',', "."));
    let thousands = value.split_once([',', '.']).filter(|(whole, part)| *whole != "0" && part.len() == 3);
    let newtons_per_volt = match thousands.and_then(|_| read(value.replace([',', '.'], ""))) {
        None => plain?,
        Some(large) => {
            let mut fit = plain.into_iter().chain([large]).filter(|x| PLAUSIBLE_N_PER_V.contains(x));
            fit.next().filter(|_| fit.next().is_none())?
        }
    };
    Some(Sensitivity { newtons_per_volt, milli })
}

/// The words of a header cell, lower case, brackets left out, split at signs and where the case changes
/// (`FzLeft` → fz, left; `LFz` → l, fz); and the unit named in brackets or as the last part.
pub(super) fn split(header: &str) -> (Vec<String>, Option<ColumnUnit>) {
    // Nobody names a column in more words than this.
    let header = header.char_indices().nth(300).and_then(|(end, _)| header.get(..end)).unwrap_or(header);
    let mut outside = String::new();
    let mut inside = String::new();
    let mut found = None;
    let mut depth = 0u32;
    for c in header.chars() {
        match c {
            '[' | '(' | '{' | '（' | '［' | '【' => {
                depth += 1;
                inside.clear();
            }
            ']' | ')' | '}' | '）' | '］' | '】' if depth > 0 => {
                depth -= 1;
                match unit(&inside) {
                    Some(u) => found = found.or(Some(u)),
                    None => {
                        outside.push(' ');
                        outside.push_str(&inside);
                    }
                }
                outside.push(' ');
            }
            _ if depth > 0 => inside.push(c),
            _ => outside.push(c),
        }
    }
    // 左Fz is two words.
    let mut apart = String::new();
    for c in outside.chars() {
        if apart.chars().last().is_some_and(|b| b.is_alphanumeric() && c.is_alphanumeric() && unspaced(b) != unspaced(c)) {
            apart.push(' ');
        }
        apart.push(c);
    }
    let mut words = Vec::new();
    for part in apart.split(|c: char| !c.is_alphanumeric() && c != 'µ' && c != '/').filter(|p| !p.is_empty()) {
        words.push(part.to_string());
    }
    // A last part that is a unit: `Force_N`, `time ms`, `left / kN`; a lone `s` or `N` is a header by itself.
    if found.is_none()
        && words.len() > 1
        && let Some(u) = words.last().map(|w| w.trim_matches('/')).and_then(unit)
    {
        found = Some(u);
        words.pop();
    }
    let mut out = Vec::new();
    for word in words {
        for w in word.split('/').filter(|w| !w.is_empty()) {
            let whole = w.lower();
            if !meanings(&whole).is_empty() {
                out.push(whole);
            } else {
                out.extend(split_case(w));
            }
        }
    }
    (out, found)
}

fn split_case(word: &str) -> Vec<String> {
    let chars: Vec<char> = word.chars().collect();
    let mut parts: Vec<String> = vec![String::new()];
    for (i, c) in chars.iter().enumerate() {
        let before = i.checked_sub(1).and_then(|k| chars.get(k));
        let after = chars.get(i + 1);
        let breaks = before.is_some_and(|b| {
            (c.is_uppercase() && (b.is_lowercase() || after.is_some_and(|a| a.is_lowercase()) && b.is_uppercase()))
                || (c.is_numeric() != b.is_numeric())
        });
        if breaks {
            parts.push(String::new());
        }
        if let Some(last) = parts.last_mut() {
            push_lower(last, *c);
        }
    }
    parts.retain(|p| !p.is_empty());
    parts
}
