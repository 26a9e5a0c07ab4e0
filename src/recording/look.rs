//! The first look: delimiter, decimal mark, and where the numbers begin.
use super::cells::{Dialect, HALF_A_DAY_S, cells, clock, number, reads_two_ways};
use super::words::{self, ColumnUnit, Word};
use super::{ReadError, ReadOptions, header, otherwise};

/// What the head of the file shows.
#[derive(Debug, Clone)]
pub(super) struct Look {
    pub dialect: Dialect,
    /// Whether the decimal mark was seen; else the first number that holds one decides.
    pub marked: bool,
    /// Header cells, one a column; empty without a header.
    pub header: Vec<String>,
    /// Units of a unit row, one a column.
    pub units: Vec<Option<ColumnUnit>>,
    pub header_row: Option<u64>,
    /// The header's line as it stands, to know it again further down.
    pub header_line: String,
    /// Line of the first row of numbers, from 1.
    pub first_row: u64,
    /// The rate the preamble states (none above zero is kept to be refused), and the line that does.
    pub stated_rate_hz: Option<f64>,
    pub stated_rate_row: Option<u64>,
    /// A unit of force the preamble states.
    pub stated_unit: Option<ColumnUnit>,
    /// What lines above the table say a volt is: for a side, or for all.
    pub newtons_per_volt: Vec<(Option<Word>, f64)>,
    /// Numbers of the first rows, by column; NaN where there is none.
    pub sample: Vec<Vec<f64>>,
    /// Most decimals printed, by column.
    pub decimals: Vec<u32>,
    /// Whether the first row has quotes.
    pub quoted: bool,
    /// Columns that hold times of day.
    pub clock: Vec<bool>,
}

impl Look {
    /// The unit of a column whose header says `words`, volts turned into newtons where the file says how many a volt is.
    pub(super) fn in_newtons(&self, unit: Option<ColumnUnit>, words: &[Word]) -> Option<ColumnUnit> {
        let milli = match unit {
            Some(ColumnUnit::Volt) => false,
            Some(ColumnUnit::Millivolt) => true,
            other => return other,
        };
        // Muscle signals are volts, too.
        if words.contains(&Word::Other) {
            return unit;
        }
        let own = self.newtons_per_volt.iter().find(|(side, _)| side.is_some_and(|side| words.contains(&side)));
        let shared = || self.newtons_per_volt.first().filter(|first| self.newtons_per_volt.iter().all(|other| other == *first));
        let newtons = own.or_else(|| shared().filter(|(side, _)| side.is_none()));
        newtons.map_or(unit, |(_, newtons_per_volt)| {
            Some(ColumnUnit::Force(words::Sensitivity { newtons_per_volt: *newtons_per_volt, milli }.unit()))
        })
    }
}

/// Lines that decide the dialect.
const LINES: usize = 600;

pub(super) const CANDIDATES: [(u8, u8); 10] = [
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

struct Fit {
    dialect: Dialect,
    columns: usize,
    first: usize,
    rows: usize,
    score: f64,
}

/// How well a dialect explains the lines: rows of one width, all numbers.
fn fit(lines: &[&str], delimiter: u8, mark: u8) -> Option<Fit> {
    let mut doubtful = 0usize;
    let parsed: Vec<(usize, usize, usize)> = lines
        .iter()
        .map(|line| {
            let cells = cells(line, delimiter);
            let numbers: Vec<Option<f64>> =
                cells.iter().map(|c| number(c, mark, false).or_else(|| clock(c).map(|(seconds, _)| seconds))).collect();
            // What can only be thousands under this mark speaks for it, but less.
            let numbers: Vec<Option<f64>> = numbers
                .into_iter()
                .zip(&cells)
                .map(|(x, c)| {
                    x.or_else(|| {
                        let grouped = number(c, mark, true);
                        doubtful += usize::from(grouped.is_some());
                        grouped
                    })
                })
                .collect();
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
    let score = score * (1.0 - 0.1 * (doubtful as f64 / (numbers + texts).max(1) as f64).min(1.0));
    Some(Fit { dialect: Dialect { delimiter, mark, grouped: false }, columns, first, rows, score })
}

fn best(lines: &[&str], decimal: Option<u8>) -> Option<Fit> {
    let quoted = lines.iter().any(|l| l.contains('"'));
    let mut best: Option<Fit> = None;
    for (delimiter, mark) in CANDIDATES {
        if decimal.is_some_and(|d| d != mark) {
            continue;
        }
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

/// Finds the table; a preamble may be longer than the lines that decide.
fn table(lines: &[&str], decimal: Option<u8>) -> Option<Fit> {
    let mut from = 0;
    let mut found: Option<Fit> = None;
    while from < lines.len() {
        let window = lines.get(from..(from + LINES).min(lines.len())).unwrap_or_default();
        // Where no line begins like a number there is no need to try ten dialects.
        let likely = |l: &&&str| l.trim_start_matches(['"', ' ', '\t', '+', '-', ',', ';', '|']).starts_with(|c: char| c.is_ascii_digit());
        if from == 0 || window.iter().filter(likely).count() > 3 {
            let here = best(window, decimal).map(|f| Fit { first: f.first + from, ..f });
            if let Some(here) = here {
                if here.rows >= 12 {
                    return Some(here);
                }
                if found.as_ref().is_none_or(|f| here.rows > f.rows) {
                    found = Some(here);
                }
            }
        }
        from += LINES / 2;
    }
    found
}

/// The table, where its rows are written in one way.
fn sound_table(lines: &[&str], decimal: Option<u8>) -> Result<Fit, ReadError> {
    let Some(table) = table(lines, decimal).filter(|table| table.rows >= 2 || lines.len() <= 12) else {
        return Err(otherwise::in_turns(lines).unwrap_or_else(|| no_numbers(lines)));
    };
    if otherwise::numbers_above(lines, table.first) {
        otherwise::above(lines, table.first, table.dialect, table.columns)?;
    }
    Ok(table)
}

/// Looks at the head of a file; `thorough` samples every row of it.
///
/// # Errors
/// Where there is no table of numbers in it, or its numbers read two ways.
pub(super) fn look(text: &str, thorough: bool, options: &ReadOptions) -> Result<Look, ReadError> {
    if text.trim().is_empty() {
        return Err(ReadError::empty());
    }
    super::encoding::refuse_other_texts(text)?;
    let lines: Vec<&str> = text.split('\n').collect();
    let decimal = options.decimal.and_then(|d| u8::try_from(d).ok()).filter(|d| matches!(d, b'.' | b','));
    let table = sound_table(&lines, decimal)?;
    let delimiter = table.dialect.delimiter;
    let most = if thorough { lines.len() } else { table.first + LINES };
    let rows: Vec<Vec<String>> =
        lines.iter().take(most).skip(table.first).map(|l| cells(l, delimiter)).filter(|c| c.len() == table.columns).collect();
    let mut look = Look {
        dialect: table.dialect,
        marked: false,
        header: Vec::new(),
        units: vec![None; table.columns],
        header_row: None,
        header_line: String::new(),
        first_row: table.first as u64 + 1,
        stated_rate_hz: None,
        stated_rate_row: None,
        stated_unit: None,
        newtons_per_volt: Vec::new(),
        sample: vec![Vec::with_capacity(rows.len()); table.columns],
        decimals: vec![0; table.columns],
        quoted: lines.get(table.first).is_some_and(|l| l.contains('"')),
        clock: vec![false; table.columns],
    };
    let used = header::header(&lines, table.first, table.columns, &mut look);
    header::preamble(lines.get(..used).unwrap_or_default(), &mut look);
    if delimiter == b',' && look.header_row.is_none() {
        otherwise::comma_twice(&lines, table.first, &rows)?;
    }
    if decimal.is_some() {
        look.dialect.grouped = true;
    } else {
        settle_marks(&rows, &mut look)?;
    }
    let Dialect { mark, grouped, .. } = look.dialect;
    for k in 0..table.columns {
        let column = || rows.iter().filter_map(|r| r.get(k));
        let timed = column().take(LINES).filter(|c| clock(c).is_some()).count();
        let is_clock = timed > 0 && timed * 2 > rows.len().min(LINES);
        let (mut before, mut offset) = (f64::NEG_INFINITY, 0.0);
        let mut decimals = 0;
        let numbers = column().map(|cell| {
            if is_clock {
                let Some((seconds, printed)) = clock(cell) else { return f64::NAN };
                decimals = decimals.max(printed);
                if seconds < before - HALF_A_DAY_S {
                    offset += 2.0 * HALF_A_DAY_S;
                }
                before = seconds;
                return seconds + offset;
            }
            let printed = cell.rsplit_once(mark as char).map_or(0, |(_, f)| f.len() as u32);
            decimals = decimals.max(if cell.contains(['e', 'E']) { 12 } else { printed });
            number(cell, mark, grouped).unwrap_or(f64::NAN)
        });
        let numbers: Vec<f64> = numbers.collect();
        if let (Some(s), Some(d), Some(c)) = (look.sample.get_mut(k), look.decimals.get_mut(k), look.clock.get_mut(k)) {
            (*s, *d, *c) = (numbers, decimals, is_clock);
        }
    }
    Ok(look)
}

/// Settles what `1.234` means from the whole of each column, and whether the decimal mark was seen at all.
fn settle_marks(rows: &[Vec<String>], look: &mut Look) -> Result<(), ReadError> {
    let mark = look.dialect.mark;
    let other = if mark == b'.' { b',' } else { b'.' };
    let width = look.units.len();
    let mut grouped = false;
    let mut unclear: Option<(usize, String)> = None;
    let mut decimal = false;
    for k in 0..width {
        let column: Vec<&str> = rows.iter().filter_map(|r| r.get(k)).map(String::as_str).filter(|c| clock(c).is_none()).collect();
        let with: Vec<&str> = column.iter().copied().filter(|c| number(c, mark, false).is_some() && c.contains(mark as char)).collect();
        if with.is_empty() {
            continue;
        }
        if !with.iter().all(|c| reads_two_ways(c, mark)) {
            // Also `1 234.5`: there the mark is plainly decimal.
            decimal = true;
            continue;
        }
        let read = |grouped: bool| -> Vec<f64> {
            let mark = if grouped { other } else { mark };
            column.iter().filter_map(|c| number(c, mark, grouped)).filter(|x| !x.is_nan()).collect()
        };
        let (plain, thousands) = (read(false), read(true));
        let shorter = column.iter().any(|c| !c.contains(mark as char) && number(c, mark, false).is_some_and(|x| !x.is_nan()));
        if shorter && with.len() >= 3 {
            // `998`, `1.004`: whichever reading leaps less from row to row.
            grouped |= leap(&thousands) < 0.5 * leap(&plain);
            decimal |= leap(&thousands) > 2.0 * leap(&plain);
            continue;
        }
        let mut sorted: Vec<f64> = plain.iter().map(|x| x.abs()).collect();
        sorted.sort_by(f64::total_cmp);
        let median = sorted.get(sorted.len() / 2).copied().unwrap_or(0.0);
        let (parts, unit) = words::split(look.header.get(k).map_or("", String::as_str));
        let said: Vec<Word> = parts.iter().flat_map(|w| words::meanings(w)).collect();
        let unit = look.in_newtons(unit.or(look.units.get(k).copied().flatten()).or(look.stated_unit), &said);
        let unit = match unit {
            Some(ColumnUnit::Force(unit)) => Some(unit.newtons()),
            _ => None,
        };
        // What a part of a person can weigh on one plate or cell, N.
        let plausible = |x: f64| (5.0..5000.0).contains(&x);
        let newtons = median * unit.unwrap_or(1.0);
        if unit.is_some() && plausible(newtons) != plausible(1000.0 * newtons) {
            decimal |= plausible(newtons);
            grouped |= !plausible(newtons);
        } else if unit.is_none() && median >= 20.0 {
            decimal = true;
        } else if unclear.is_none() {
            unclear = Some((k, with.first().copied().unwrap_or_default().to_string()));
        }
    }
    if grouped && !decimal {
        look.dialect = Dialect { mark: other, grouped: true, ..look.dialect };
        look.marked = true;
        return Ok(());
    }
    if let Some((k, cell)) = unclear.filter(|_| !decimal) {
        return Err(ReadError::new(
            "number_two_ways",
            format!("{cell:?} can be read two ways: about one, or more than a thousand."),
            "Say which character is the decimal mark.",
        )
        .row(look.first_row)
        .column(k as u64 + 1)
        .found(&cell)
        .expected("numbers that read one way only"));
    }
    look.marked = decimal;
    // Where the mark is sure, the other one can only be for thousands.
    look.dialect.grouped |= decimal;
    Ok(())
}

/// The largest step from row to row as a part of the range.
fn leap(column: &[f64]) -> f64 {
    let steps = column.iter().zip(column.iter().skip(1)).map(|(a, b)| (b - a).abs()).fold(0.0, f64::max);
    let (low, high) = column.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), x| (l.min(*x), h.max(*x)));
    let size = low.abs().max(high.abs());
    if size > 0.0 { steps / size } else { 0.0 }
}

fn no_numbers(lines: &[&str]) -> ReadError {
    let known = |line: &&&str| {
        let (words, _) = words::split(line);
        words
            .iter()
            .filter(|w| {
                words::meanings(w).into_iter().any(|m| matches!(m, Word::Time | Word::Force | Word::Left | Word::Right | Word::Total))
            })
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
        .found("the end of the file")
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
