//! What stands above the numbers: header, unit row, groups, and the preamble's rate and unit.
use super::cells::{Dialect, cells, number};
use super::digits::decimal;
use super::letters::Letters as _;
use super::look::Look;
use super::words::{self, ColumnUnit, Word};

/// Finds header and unit row above the numbers; returns how many lines lie above them.
pub(super) fn header(lines: &[&str], first: usize, columns: usize, look: &mut Look) -> usize {
    let dialect = look.dialect;
    let mut i = first;
    let mut above = || -> Option<(usize, Vec<String>)> {
        while i > 0 {
            i -= 1;
            let line = lines.get(i)?;
            if !line.trim().is_empty() {
                let line = line.trim_start_matches(['#', '%']).trim_start_matches("//");
                let mut cells = cells(line, dialect.delimiter);
                if dialect.delimiter == b' ' && cells.len() > columns {
                    // Header words with single blanks inside: columns are apart by two or more.
                    let wide: Vec<String> = line.split("  ").map(|c| c.trim().to_string()).filter(|c| !c.is_empty()).collect();
                    if wide.len() == columns {
                        cells = wide;
                    }
                }
                let tidy = |c: &String| c.chars().filter(|c| !hidden(*c)).map(|c| if c == '\t' { ' ' } else { c }).collect::<String>();
                return Some((i, cells.iter().map(tidy).collect()));
            }
        }
        None
    };
    let says_something = |c: &String| !words::split(c).0.iter().all(|w| words::meanings(w).is_empty()) || words::unit(c).is_some();
    // `key: value` and comments are no header, though they may have as many words as the table has columns.
    let states = |at: usize, cells: &[String]| {
        let line = lines.get(at).copied().unwrap_or_default().trim_start();
        let comment = line.starts_with(['#', '%']) || line.starts_with("//");
        let value = line
            .split_once(':')
            .is_some_and(|(_, v)| v.trim_start_matches([' ', '"', '\t', ';', ',']).starts_with(|c: char| c.is_ascii_digit()));
        let speaking = cells.iter().filter(|c| says_something(c)).count();
        value && !line.contains('"') || comment && speaking < cells.len() || cells.len() != columns && columns > 1 && speaking < 2
    };
    let fits = |cells: &[String]| {
        let texts = cells.iter().filter(|c| !c.is_empty() && number(c, dialect.mark, false).is_none()).count();
        let numbers = cells.iter().filter(|c| number(c, dialect.mark, false).is_some_and(|x| !x.is_nan())).count();
        texts > 0 && numbers * 2 <= texts && cells.len() + 1 >= columns && cells.len() <= columns + 1
    };
    let Some((mut at, mut cells)) = above() else { return 0 };
    if !fits(&cells) || states(at, &cells) {
        return first;
    }
    let units: Vec<Option<ColumnUnit>> = cells.iter().map(|c| words::unit(c)).collect();
    let filled = cells.iter().filter(|c| !c.is_empty() && *c != "-" && *c != "#").count();
    // Most of the row are units; the rest, units that this table does not know, are as short.
    if units.iter().flatten().count() * 10 >= filled.max(1) * 6 && cells.iter().all(|c| c.chars().count() <= 12) && columns > 1 {
        let Some((next, header)) = above() else {
            look.units = units;
            return at;
        };
        if fits(&header) {
            look.units = units;
            (at, cells) = (next, header);
        }
    }
    if columns == 1 && cells.len() == 1 && cells.iter().any(|c| c.trim_end().ends_with(':') || c.contains(": ") || c.starts_with('#')) {
        return at + 1;
    }
    look.header_row = Some(at as u64 + 1);
    look.header_line = lines.get(at).copied().unwrap_or_default().trim().to_string();
    // A line of groups above (`Left;;Right;`): carried forward over its empty cells.
    let mut used = at;
    if let Some((next, groups)) = above() {
        let known = groups.iter().filter(|c| says_side(c)).count();
        let bare = cells.iter().filter(|c| says_side(c)).count();
        if known > 0 && bare == 0 && fits(&groups) && groups.len() >= 2 && columns > 2 {
            let mut carried = String::new();
            for (k, cell) in cells.iter_mut().enumerate() {
                if let Some(group) = groups.get(k).filter(|g| !g.is_empty()) {
                    carried.clone_from(group);
                }
                if !carried.is_empty() {
                    *cell = format!("{carried} {cell}");
                }
            }
            used = next;
        }
    }
    // A table whose row numbers have no header of their own.
    if cells.len() + 1 == columns && counts(lines, first, dialect) {
        cells.insert(0, String::new());
        if look.units.iter().flatten().count() > 0 {
            look.units.insert(0, None);
        }
    }
    cells.resize(columns, String::new());
    look.header = cells;
    look.units.resize(columns, None);
    used
}

/// Characters that show nothing and change how the rest looks: controls, direction marks, marks of byte order.
fn hidden(c: char) -> bool {
    c.is_control() && c != '\t' || matches!(c, '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2060}'..='\u{2069}' | '\u{FEFF}')
}

/// Whether the first cells of the table count rows.
fn counts(lines: &[&str], first: usize, dialect: Dialect) -> bool {
    let value =
        |i: usize| cells(lines.get(i).copied().unwrap_or_default(), dialect.delimiter).first().and_then(|c| number(c, dialect.mark, false));
    (first..first + 3).all(|i| matches!((value(i), value(i + 1)), (Some(a), Some(b)) if b - a == 1.0))
}

fn says_side(cell: &str) -> bool {
    words::split(cell).0.iter().any(|w| words::meanings(w).into_iter().any(|m| matches!(m, Word::Left | Word::Right | Word::Total)))
}

/// Reads `key: value` lines that state a rate, an interval or a unit.
pub(super) fn preamble(lines: &[&str], look: &mut Look) {
    let mut refused = None;
    for (line, row) in lines.iter().zip(1..) {
        let (words, _) = words::split(line);
        let says = |wanted: Word| words.iter().any(|w| words::meanings(w).into_iter().any(|m| m == wanted));
        let tokens: Vec<&str> =
            line.split(|c: char| c.is_whitespace() || ":=;\t|#[]()\"（）：".contains(c)).filter(|t| !t.is_empty()).collect();
        let read = |p: &str| {
            if negative(p) {
                return None;
            }
            let digits = p.trim_start_matches(|c: char| !c.is_ascii_digit()).trim_end_matches(|c: char| c.is_alphabetic() || c == ',');
            let digits =
                if digits.matches(',').count() == 1 && !digits.contains('.') { digits.replace(',', ".") } else { digits.to_string() };
            decimal(&digits).filter(|x| x.is_finite() && *x > 0.0)
        };
        // The number before its unit, in a line of several.
        let is_hertz = |t: &str| matches!(t.lower().trim_end_matches(['.', ',']), "hz" | "khz");
        let at_unit = tokens.iter().zip(tokens.iter().skip(1)).find(|(_, unit)| is_hertz(unit)).and_then(|(t, _)| read(t));
        let with_unit =
            tokens.iter().find(|t| t.lower().ends_with("hz") && t.starts_with(|c: char| c.is_ascii_digit())).and_then(|t| read(t));
        let value = at_unit.or(with_unit).or_else(|| tokens.iter().find_map(|t| read(t)));
        let lower = line.lower();
        if value.is_none() && refused.is_none() && says(Word::Rate) {
            refused = no_rate(&tokens).zip(Some(row));
        }
        if let Some(x) = value {
            // 1.000 Hz and 1,000 Hz are a thousand: nobody samples force at one.
            let x = if x < 10.0 && line.contains(".000") | line.contains(",000") && lower.contains("hz") { x * 1000.0 } else { x };
            if says(Word::Rate) || lower.contains("hz") {
                let scale = if lower.contains("khz") { 1000.0 } else { 1.0 };
                state(look, x * scale, row);
            } else if says(Word::Interval) {
                let seconds = if lower.contains("ms") {
                    x * 1e-3
                } else if lower.contains("us") || lower.contains("µs") {
                    x * 1e-6
                } else {
                    x
                };
                state(look, 1.0 / seconds, row);
            }
        }
        if let Some(stated) = words::sensitivity(line.split_once([':', '=']).map_or(*line, |(_, value)| value)) {
            let side = [Word::Left, Word::Right].into_iter().find(|side| says(*side));
            look.newtons_per_volt.push((side, stated.newtons_per_volt));
        }
        if says(Word::NamesUnit) {
            let named = line.rsplit([':', '=', ';', ',', '\t']).next().and_then(words::unit);
            if let Some(ColumnUnit::Force(u)) = named {
                look.stated_unit = Some(ColumnUnit::Force(u));
            }
        }
    }
    if let (Some((x, row)), None) = (refused, look.stated_rate_hz) {
        state(look, x, row);
    }
}

/// Whether a number has a minus sign.
fn negative(text: &str) -> bool {
    text.strip_prefix('-').is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_digit()))
}

/// A rate of nothing or less is a mistake to be told, not a file that states none.
#[inline(never)]
fn no_rate(tokens: &[&str]) -> Option<f64> {
    tokens.iter().find_map(|t| decimal(t)).filter(|x| *x <= 0.0)
}

/// The first line that states a rate counts.
fn state(look: &mut Look, rate_hz: f64, row: u64) {
    if look.stated_rate_hz.is_none() {
        (look.stated_rate_hz, look.stated_rate_row) = (Some(rate_hz), Some(row));
    }
}
