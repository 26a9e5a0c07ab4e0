//! The first look: delimiter, decimal mark, preamble, header, unit row and where the numbers begin.
use super::ReadError;
use super::words::{self, ColumnUnit, Word};

/// How cells are told apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Dialect {
    /// The byte between cells; a blank means runs of blanks and tabs.
    pub delimiter: u8,
    /// The decimal mark, `.` or `,`.
    pub mark: u8,
}

/// What the head of the file shows.
#[derive(Debug, Clone)]
pub(super) struct Look {
    pub dialect: Dialect,
    /// Header cells, one a column; empty without a header.
    pub header: Vec<String>,
    /// Units of a unit row, one a column.
    pub units: Vec<Option<ColumnUnit>>,
    pub header_row: Option<u64>,
    /// Line of the first row of numbers, from 1.
    pub first_row: u64,
    /// The rate the preamble states.
    pub stated_rate_hz: Option<f64>,
    /// A unit of force the preamble states.
    pub stated_unit: Option<ColumnUnit>,
    /// Numbers of the first rows, by column; NaN where there is none.
    pub sample: Vec<Vec<f64>>,
    /// Most decimals printed, by column.
    pub decimals: Vec<u32>,
}

const CANDIDATES: [(u8, u8); 10] = [
    (b';', b'.'),
    (b';', b','),
    (b'\t', b'.'),
    (b'\t', b','),
    (b'|', b'.'),
    (b'|', b','),
    (b',', b'.'),
    (b',', b','),
    (b' ', b'.'),
    (b' ', b','),
];

/// The cells of one line.
pub(super) fn cells(line: &str, delimiter: u8) -> Vec<String> {
    let line = line.trim_end_matches(['\r', '\n']);
    if delimiter == b' ' {
        return line.split_whitespace().map(|c| c.trim_matches('"').to_string()).collect();
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

/// A number under a decimal mark; `Some(NaN)` for a missing value, `None` for text.
pub(super) fn number(cell: &str, mark: u8) -> Option<f64> {
    let cell = cell.trim().trim_matches('"').trim();
    let lower = cell.to_lowercase();
    if matches!(
        lower.as_str(),
        "" | "nan" | "na" | "n/a" | "-" | "--" | "null" | "none" | "inf" | "-inf" | "+inf" | "#n/a" | "1.#qnan" | "-1.#ind"
    ) {
        return Some(f64::NAN);
    }
    let plain: String = lower.chars().map(|c| if c == '\u{2212}' { '-' } else { c }).collect();
    let other = if mark == b',' { '.' } else { ',' };
    if plain.contains(other) || !plain.chars().all(|c| c.is_ascii_digit() || "+-e.,".contains(c)) {
        return None;
    }
    let x: f64 = plain.replace(',', ".").parse().ok()?;
    Some(if x.is_finite() { x } else { f64::NAN })
}

struct Fit {
    dialect: Dialect,
    columns: usize,
    first: usize,
    rows: usize,
    score: f64,
}

/// How well a dialect explains the lines: rows of one width, all numbers.
fn fit(lines: &[&str], delimiter: u8, mark: u8) -> Option<Fit> {
    let parsed: Vec<(usize, usize, usize)> = lines
        .iter()
        .map(|line| {
            let cells = cells(line, delimiter);
            let numbers: Vec<Option<f64>> = cells.iter().map(|c| number(c, mark)).collect();
            (cells.len(), numbers.iter().flatten().filter(|x| !x.is_nan()).count(), numbers.iter().filter(|n| n.is_none()).count())
        })
        .collect();
    let numeric = |&(width, numbers, texts): &(usize, usize, usize)| numbers > 0 && (texts == 0 || (numbers >= 2 && texts * 2 <= width));
    let mut widths = std::collections::BTreeMap::new();
    for p in parsed.iter().filter(|p| numeric(p)) {
        *widths.entry(p.0).or_insert(0usize) += 1;
    }
    let (&columns, _) = widths.iter().max_by_key(|(_, n)| **n)?;
    let good = |p: &(usize, usize, usize)| p.0 == columns && numeric(p);
    // The first of two good rows in a row (or a good last row): a preamble line may be a number by chance.
    let first = (0..parsed.len()).find(|&i| {
        let next = (i + 1..parsed.len()).find(|&j| lines.get(j).is_some_and(|l| !l.trim().is_empty()));
        parsed.get(i).is_some_and(good) && next.is_none_or(|j| parsed.get(j).is_some_and(|p| good(p) || p.1 > 0 && numeric(p)))
    })?;
    let tail = parsed.get(first..).unwrap_or_default();
    let filled = tail.iter().zip(lines.iter().skip(first)).filter(|(_, l)| !l.trim().is_empty()).count();
    let rows = tail.iter().filter(|p| good(p)).count();
    let (numbers, texts) = tail.iter().filter(|p| good(p)).fold((0, 0), |(a, b), p| (a + p.1, b + p.2));
    // A row or two explain nothing; many do.
    let score = rows as f64 / (rows as f64 + 2.0) * rows as f64 / filled.max(1) as f64 * numbers as f64 / (numbers + texts).max(1) as f64;
    Some(Fit { dialect: Dialect { delimiter, mark }, columns, first, rows, score })
}

fn best(lines: &[&str]) -> Option<Fit> {
    let quoted = lines.iter().any(|l| l.contains('"'));
    let mut best: Option<Fit> = None;
    for (delimiter, mark) in CANDIDATES {
        if delimiter != b' ' && !lines.iter().any(|l| l.as_bytes().contains(&delimiter)) {
            continue;
        }
        if delimiter == b',' && mark == b',' && !quoted {
            continue;
        }
        let Some(f) = fit(lines, delimiter, mark) else { continue };
        // A comma may be the decimal mark of a single column rather than a delimiter.
        let better = best.as_ref().is_none_or(|b| {
            if (f.score - b.score).abs() > 0.02 {
                return f.score > b.score;
            }
            b.dialect.delimiter == b',' && delimiter == b' ' && mark == b',' && f.columns == 1 && one_decimal_column(lines, b)
        });
        if better {
            best = Some(f);
        }
    }
    best
}

/// Whether `a,b` rows are one column with a decimal comma: no header of two cells, and fixed digits after the comma.
fn one_decimal_column(lines: &[&str], two: &Fit) -> bool {
    if two.columns != 2 {
        return false;
    }
    if let Some(above) = two.first.checked_sub(1).and_then(|i| lines.get(i)) {
        if above.contains(',') {
            return false;
        }
        if !above.trim().is_empty() {
            return true;
        }
    }
    let mut digits = lines.iter().skip(two.first).filter_map(|l| l.trim().split_once(',')).map(|(_, b)| b.trim().len());
    let Some(first) = digits.next() else { return false };
    first <= 3
        && digits.all(|d| d == first)
        && lines.iter().skip(two.first).filter_map(|l| l.trim().split_once(',')).any(|(_, b)| b.starts_with('0') && b.len() > 1)
}

/// Looks at the head of a file.
///
/// # Errors
/// Where there is no table of numbers in it.
pub(super) fn look(text: &str) -> Result<Look, ReadError> {
    if text.trim().is_empty() {
        return Err(
            ReadError::new("empty", "The file is empty.", "Export the recording again and open the new file.").expected("rows of numbers")
        );
    }
    super::encoding::refuse_other_texts(text)?;
    let lines: Vec<&str> = text.split('\n').take(600).collect();
    let Some(table) = best(&lines) else { return Err(no_numbers(&lines)) };
    let row = |i: usize| cells(lines.get(i).copied().unwrap_or_default(), table.dialect.delimiter);
    let mark = table.dialect.mark;
    let mut look = Look {
        dialect: table.dialect,
        header: Vec::new(),
        units: vec![None; table.columns],
        header_row: None,
        first_row: table.first as u64 + 1,
        stated_rate_hz: None,
        stated_unit: None,
        sample: vec![Vec::new(); table.columns],
        decimals: vec![0; table.columns],
    };
    if table.rows < 2 && lines.len() > 12 {
        return Err(no_numbers(&lines));
    }
    for i in table.first..lines.len() {
        let cells = row(i);
        if cells.len() != table.columns {
            continue;
        }
        for (k, cell) in cells.iter().enumerate() {
            if let (Some(column), Some(d)) = (look.sample.get_mut(k), look.decimals.get_mut(k)) {
                column.push(number(cell, mark).unwrap_or(f64::NAN));
                let printed = cell.rsplit_once(mark as char).map_or(0, |(_, f)| f.len() as u32);
                *d = (*d).max(if cell.contains(['e', 'E']) { 12 } else { printed });
            }
        }
    }
    let used = header(&lines, &table, &mut look);
    preamble(lines.get(..used).unwrap_or_default(), &mut look);
    Ok(look)
}

/// Finds header and unit row above the numbers; returns how many lines lie above them.
fn header(lines: &[&str], table: &Fit, look: &mut Look) -> usize {
    let mut i = table.first;
    let mut above = || -> Option<(usize, Vec<String>)> {
        while i > 0 {
            i -= 1;
            let line = lines.get(i)?;
            if !line.trim().is_empty() {
                let mut cells = cells(line, table.dialect.delimiter);
                if table.dialect.delimiter == b' ' && cells.len() > table.columns {
                    // Header words with single blanks inside: columns are apart by two or more.
                    let wide: Vec<String> = line.split("  ").map(|c| c.trim().to_string()).filter(|c| !c.is_empty()).collect();
                    if wide.len() == table.columns {
                        cells = wide;
                    }
                }
                return Some((i, cells));
            }
        }
        None
    };
    let fits = |cells: &[String]| {
        let texts = cells.iter().filter(|c| !c.is_empty() && number(c, table.dialect.mark).is_none()).count();
        let numbers = cells.iter().filter(|c| number(c, table.dialect.mark).is_some_and(|x| !x.is_nan())).count();
        texts > 0 && numbers * 2 <= texts && cells.len() + 1 >= table.columns && cells.len() <= table.columns + 1
    };
    let Some((mut at, mut cells)) = above() else { return 0 };
    if !fits(&cells) {
        return table.first;
    }
    let units: Vec<Option<ColumnUnit>> = cells.iter().map(|c| words::unit(c)).collect();
    if units.iter().flatten().count() > 0
        && units.iter().zip(&cells).all(|(u, c)| u.is_some() || c.is_empty() || c == "-" || c == "#")
        && table.columns > 1
    {
        let Some((next, header)) = above() else {
            look.units = units;
            return at;
        };
        if fits(&header) {
            look.units = units;
            (at, cells) = (next, header);
        }
    }
    if table.columns == 1 && cells.len() == 1 && cells.iter().any(|c| c.trim_end().ends_with(':') || c.contains(": ") || c.starts_with('#'))
    {
        return at + 1;
    }
    look.header_row = Some(at as u64 + 1);
    // A line of groups above (`Left;;Right;`): carried forward over its empty cells.
    let mut used = at;
    if let Some((next, groups)) = above() {
        let known = groups.iter().filter(|c| says_side(c)).count();
        let bare = cells.iter().filter(|c| says_side(c)).count();
        if known > 0 && bare == 0 && fits(&groups) && groups.len() >= 2 && table.columns > 2 {
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
    cells.resize(table.columns, String::new());
    look.header = cells;
    look.units.resize(table.columns, None);
    used
}

fn says_side(cell: &str) -> bool {
    words::split(cell).0.iter().any(|w| words::meanings(w).any(|m| matches!(m, Word::Left | Word::Right | Word::Total)))
}

/// Reads `key: value` lines that state a rate, an interval or a unit.
fn preamble(lines: &[&str], look: &mut Look) {
    for line in lines {
        let (words, _) = words::split(line);
        let says = |wanted: Word| words.iter().any(|w| words::meanings(w).any(|m| m == wanted));
        let value = line.split(|c: char| c.is_whitespace() || ":=;\t|#[]()\"".contains(c)).flat_map(|p| {
            let digits = p.trim_start_matches(|c: char| !c.is_ascii_digit()).trim_end_matches(|c: char| c.is_alphabetic() || c == ',');
            let digits =
                if digits.matches(',').count() == 1 && !digits.contains('.') { digits.replace(',', ".") } else { digits.to_string() };
            digits.parse::<f64>().ok()
        });
        let value = value.into_iter().find(|x| x.is_finite() && *x > 0.0);
        let lower = line.to_lowercase();
        if let Some(x) = value {
            if says(Word::Rate) || lower.contains("hz") {
                let scale = if lower.contains("khz") { 1000.0 } else { 1.0 };
                look.stated_rate_hz = look.stated_rate_hz.or(Some(x * scale));
            } else if says(Word::Interval) {
                let seconds = if lower.contains("ms") {
                    x * 1e-3
                } else if lower.contains("us") || lower.contains("µs") {
                    x * 1e-6
                } else {
                    x
                };
                look.stated_rate_hz = look.stated_rate_hz.or(Some(1.0 / seconds));
            }
        }
        if words.iter().any(|w| {
            matches!(
                w.as_str(),
                "unit" | "units" | "einheit" | "einheiten" | "unité" | "unidad" | "unità" | "unidade" | "eenheid" | "enhet" | "jednostka"
            )
        }) {
            let named = line.rsplit([':', '=', ';', ',', '\t']).next().and_then(words::unit);
            if let Some(ColumnUnit::Force(u)) = named {
                look.stated_unit = Some(ColumnUnit::Force(u));
            }
        }
    }
}

fn no_numbers(lines: &[&str]) -> ReadError {
    let known = |line: &&&str| {
        let (words, _) = words::split(line);
        words
            .iter()
            .filter(|w| words::meanings(w).any(|m| matches!(m, Word::Time | Word::Force | Word::Left | Word::Right | Word::Total)))
            .count()
            >= 2
    };
    let header = lines.iter().filter(|l| !l.trim().is_empty()).count() <= 30 && lines.iter().any(|l| known(&l));
    let first = lines.iter().position(|l| !l.trim().is_empty()).unwrap_or(0);
    let found = lines.get(first).copied().unwrap_or_default().trim();
    if header {
        let rows = lines.iter().rposition(|l| !l.trim().is_empty()).map_or(1, |i| i as u64 + 2);
        return ReadError::new(
            "header_only",
            "The file has a header but no rows of numbers.",
            "Export the recording again with its force-time data, not only its summary.",
        )
        .row(rows)
        .expected("a row of numbers");
    }
    ReadError::new(
        "no_numbers",
        "There is no table of numbers in this file.",
        "Export the force-time data as text: one row a sample, columns of numbers.",
    )
    .row(first as u64 + 1)
    .found(found)
    .expected("rows of numbers")
}
