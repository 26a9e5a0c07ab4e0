//! One line into cells, one cell into a number or a time of day.

/// How cells are told apart and numbers are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Dialect {
    /// The byte between cells; a blank means runs of blanks and tabs.
    pub delimiter: u8,
    /// The decimal mark, `.` or `,`.
    pub mark: u8,
    /// Whether `1.234` under a decimal comma (or `1,234` under a point) is one thousand two hundred and thirty-four.
    pub grouped: bool,
}

/// The cells of one line.
pub(super) fn cells(line: &str, delimiter: u8) -> Vec<String> {
    let line = line.trim_end_matches(['\r', '\n']);
    if delimiter == b' ' {
        return line.split([' ', '\t']).filter(|c| !c.is_empty()).map(|c| c.trim_matches('"').to_string()).collect();
    }
    if !line.contains('"') {
        return line.split(delimiter as char).map(|c| c.trim().to_string()).collect();
    }
    let mut reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).delimiter(delimiter).from_reader(line.as_bytes());
    let mut record = csv::StringRecord::new();
    match reader.read_record(&mut record) {
        Ok(true) => record.iter().map(|c| c.trim().to_string()).collect(),
        _ => vec![line.to_string()],
    }
}

use super::digits::decimal;
use super::letters::Letters as _;
/// Spellings of a missing value, lower case; those of spreadsheets, of number printing in several languages, of people.
const MISSING: &[&str] = &[
    "",
    "nan",
    "-nan",
    "+nan",
    "na",
    "n/a",
    "n.a.",
    "n/d",
    "nd",
    "-",
    "--",
    "---",
    "–",
    "—",
    ".",
    "?",
    "*",
    "null",
    "(null)",
    "none",
    "nil",
    "missing",
    "undefined",
    "no data",
    "inf",
    "-inf",
    "+inf",
    "infinity",
    "-infinity",
    "+infinity",
    "∞",
    "-∞",
    "nan(ind)",
    "-nan(ind)",
    "1.#qnan",
    "1.#inf",
    "-1.#inf",
    "-1.#ind",
    "1.#ind",
    "#n/a",
    "#nv",
    "#wert!",
    "#value!",
    "#div/0!",
    "#null!",
    "#num!",
    "#zahl!",
    "#ref!",
    "#name?",
    "k.a.",
    "fehlt",
    "----",
    "<na>",
];

/// A number as written; `Some(NaN)` for a missing value, `None` for text.
pub(super) fn number(cell: &str, mark: u8, grouped: bool) -> Option<f64> {
    let cell = cell.trim_matches(|c: char| c.is_whitespace() || c == '"' || c == '\u{FEFF}');
    let is_mark = |c: char| c == mark as char;
    if !cell.is_empty() && cell.chars().all(|c| c.is_ascii_digit() || is_mark(c) || matches!(c, '-' | '+' | 'e' | 'E')) {
        let parsed = if mark == b'.' { decimal(cell) } else { decimal(&cell.replace(mark as char, ".")) };
        if let Some(x) = parsed {
            return Some(if x.is_finite() { x } else { f64::NAN });
        }
    }
    let lower = cell.lower();
    if MISSING.contains(&lower.as_str()) {
        return Some(f64::NAN);
    }
    let plain: String = lower.replace('\u{2212}', "-").replace(['\u{200E}', '\u{200F}'], "");
    let plain = without_groups(&plain, mark, grouped)?.replace(mark as char, ".");
    if !plain.chars().all(|c| c.is_ascii_digit() || matches!(c, '-' | '+' | '.' | 'e')) {
        return None;
    }
    let x = decimal(&plain)?;
    Some(if x.is_finite() { x } else { f64::NAN })
}

/// Takes thousands marks out: blanks of every width, apostrophes, or the mark that is not the decimal one. Groups must be
/// of three digits, of one mark, and stand before the decimal mark. `None` where they are not.
fn without_groups(text: &str, mark: u8, grouped: bool) -> Option<String> {
    let other = if mark == b',' { '.' } else { ',' };
    let is_group = |c: char| c == other || matches!(c, ' ' | '\u{A0}' | '\u{202F}' | '\u{2009}' | '\u{2007}' | '\'' | '’' | '٬');
    let Some(separator) = text.chars().find(|c| is_group(*c)) else { return Some(text.to_string()) };
    let (sign, digits) = match text.strip_prefix(['-', '+']) {
        Some(rest) => (text.get(..1).unwrap_or_default(), rest),
        None => ("", text),
    };
    let (whole, fraction) = match digits.split_once(mark as char) {
        Some((whole, fraction)) => (whole, Some(fraction)),
        None => (digits, None),
    };
    let groups: Vec<&str> = whole.split(separator).collect();
    let (first, rest) = groups.split_first()?;
    let three = rest.iter().all(|g| g.len() == 3 && g.bytes().all(|b| b.is_ascii_digit()));
    let lead = !first.is_empty() && first.len() <= 3 && first.bytes().all(|b| b.is_ascii_digit()) && !first.starts_with('0');
    if rest.is_empty() || !three || !lead || (separator == other && fraction.is_none() && rest.len() < 2 && !grouped) {
        return None;
    }
    Some(format!("{sign}{}{}", groups.concat(), fraction.map(|f| format!("{}{f}", mark as char)).unwrap_or_default()))
}

/// Whether a cell is `1.234` or `1,234`: one thousand and some, or one and a bit.
pub(super) fn reads_two_ways(cell: &str, mark: u8) -> bool {
    let cell = cell.trim_matches('"').trim_start_matches(['-', '+']);
    cell.split_once(mark as char).is_some_and(|(whole, part)| {
        (1..=3).contains(&whole.len())
            && !whole.starts_with('0')
            && part.len() == 3
            && whole.bytes().chain(part.bytes()).all(|b| b.is_ascii_digit())
    })
}

/// A time of day in seconds, with how many decimals it is written: `h:mm:ss.fff`, `mm:ss,f`, `h:mm:ss:fff`, a date before it
/// (`2024-05-01T10:00:00.000Z`), AM or PM and a zone behind it. The date is left out: what passes midnight shows by itself.
pub(super) fn clock(cell: &str) -> Option<(f64, u32)> {
    let text = cell.trim().trim_matches('"').trim();
    if text.len() > 40 || !text.is_ascii() {
        return None;
    }
    let colon = text.find(':')?;
    let begin = text.get(..colon)?.rfind(|c: char| !c.is_ascii_digit()).map_or(0, |k| k + 1);
    let date = text.get(..begin)?;
    let dated = date.is_empty()
        || (date.ends_with(['T', ' ', 't', ',', '_']) && date.len() >= 7 && date.bytes().filter(u8::is_ascii_digit).count() >= 4)
            && date.chars().all(|c| c.is_ascii_digit() || " -/.,Tt_".contains(c));
    if !dated {
        return None;
    }
    let mut time = text.get(begin..)?;
    let mut noon = 0.0;
    let lower = time.to_ascii_lowercase();
    if let Some(half) = lower.strip_suffix("pm").or(lower.strip_suffix("am")) {
        noon = if lower.ends_with("pm") { 12.0 } else { 24.0 };
        time = time.get(..half.len())?.trim_end();
    }
    time = time.trim_end_matches(['Z', 'z']).trim_end();
    if let Some(zone) = time.rfind(['+', '-']) {
        time = time.get(..zone)?.trim_end();
    }
    let parts: Vec<&str> = time.split(':').collect();
    let whole = |p: &str| (1..=4).contains(&p.len()).then(|| decimal(p)).flatten().filter(|_| p.bytes().all(|b| b.is_ascii_digit()));
    let seconds = |p: &str| {
        let (a, f) = p.split_once(['.', ',']).unwrap_or((p, ""));
        let digits = |t: &str| t.bytes().all(|b| b.is_ascii_digit());
        if !(1..=2).contains(&a.len()) || !digits(a) || !digits(f) || f.len() > 12 {
            return None;
        }
        Some((decimal(&format!("{a}.{f}0")).filter(|s| *s < 61.0)?, f.len() as u32))
    };
    let (hours, minutes, (s, decimals)) = match parts[..] {
        [m, s] => (0.0, whole(m)?, seconds(s)?),
        [h, m, s] => (whole(h)?, whole(m).filter(|m| *m < 60.0)?, seconds(s)?),
        [h, m, s, f] if f.len() == 3 => (whole(h)?, whole(m).filter(|m| *m < 60.0)?, seconds(&format!("{s}.{f}"))?),
        _ => return None,
    };
    let hours = match noon {
        0.0 => hours,
        // Twelve o'clock is nought in both halves of the day.
        half => hours % 12.0 + half % 24.0,
    };
    Some((hours * 3600.0 + minutes * 60.0 + s, decimals))
}

/// Half a day, s: a clock that falls by more has passed midnight.
pub(super) const HALF_A_DAY_S: f64 = 43_200.0;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_as_people_write_them() {
        for (text, mark, grouped, value) in [
            ("1,234.5", b'.', false, Some(1234.5)),
            ("1.234,5", b',', false, Some(1234.5)),
            ("1 234,5", b',', false, Some(1234.5)),
            ("1\u{202F}234,5", b',', false, Some(1234.5)),
            ("-1\u{A0}234.5", b'.', false, Some(-1234.5)),
            ("1'234", b'.', false, Some(1234.0)),
            ("1.234", b',', false, None),
            ("1.234", b',', true, Some(1234.0)),
            ("1.234.567", b',', false, Some(1_234_567.0)),
            ("0.234", b',', true, None),
            ("1,23", b'.', true, None),
            ("7.125e2", b'.', false, Some(712.5)),
            ("\u{2212}3,5", b',', false, Some(-3.5)),
            ("12 34", b'.', false, None),
            ("over", b'.', false, None),
        ] {
            assert_eq!(number(text, mark, grouped), value, "{text}");
        }
        for text in ["", "NaN", "#DIV/0!", "n/a", "—", "1.#QNAN"] {
            assert!(number(text, b'.', false).is_some_and(f64::is_nan), "{text}");
        }
    }

    #[test]
    fn times_of_day() {
        for (text, value) in [
            ("10:00:00.250", Some((36000.25, 3))),
            ("2024-05-01T10:00:00.5Z", Some((36000.5, 1))),
            ("2024-05-01 10:00:00,500+02:00", Some((36000.5, 3))),
            ("01.05.2024 10:00:00", Some((36000.0, 0))),
            ("5/1/2024 1:00:00.5 PM", Some((46800.5, 1))),
            ("12:00:01 AM", Some((1.0, 0))),
            ("02:03.5", Some((123.5, 1))),
            ("10:00:00:125", Some((36000.125, 3))),
            ("Name: 3", None),
            ("10:77:00", None),
            ("10.5", None),
        ] {
            assert_eq!(clock(text), value, "{text}");
        }
    }
}
