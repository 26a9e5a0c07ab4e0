//! Which column is what: a score for every column and role from header, unit and values, with the reason in words.
use super::look::Look;
use super::words::{self, ColumnUnit, Word};
use super::{Notice, ReadError, ReadOptions, Role, Unit};

/// What gives a row its time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum TimeColumn {
    /// A column of stamps and the seconds per unit.
    Stamps { column: usize, scale: f64 },
    /// A column that counts samples.
    Counter { column: usize },
    /// None: one row a sample at a stated rate.
    Absent,
}

/// One force channel: the columns that are summed and newtons per unit.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Sink {
    pub columns: Vec<(usize, Unit)>,
    pub role: Role,
    pub why: String,
    /// Whether the unit is stated anywhere.
    pub unit_stated: bool,
}

/// The columns that are read.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Columns {
    pub time: TimeColumn,
    pub sinks: Vec<Sink>,
    pub confidence: f64,
    pub notices: Vec<Notice>,
}

#[derive(Default, Clone)]
struct Seen {
    words: Vec<Word>,
    unit: Option<ColumnUnit>,
    number: Option<String>,
}

impl Seen {
    fn says(&self, word: Word) -> bool {
        self.words.contains(&word)
    }
    /// How much the header and unit speak for vertical force; 0 or less: not one.
    fn force(&self) -> i32 {
        if matches!(self.unit, Some(ColumnUnit::Time(_) | ColumnUnit::Other)) {
            return -9;
        }
        let mut score = 0;
        if self.says(Word::Force) {
            score += 3;
        }
        if self.says(Word::Vertical) {
            score += 4;
        }
        if matches!(self.unit, Some(ColumnUnit::Force(_))) {
            score += 3;
        }
        if self.says(Word::Left) || self.says(Word::Right) || self.says(Word::Total) {
            score += 2;
        }
        if self.says(Word::Other) {
            score -= 8;
        }
        if (self.says(Word::Time) || self.says(Word::Sample)) && score < 5 {
            score -= 6;
        }
        score
    }
}

/// Decides what every column is.
///
/// # Errors
/// Where no column can be taken for force, or the `columns` option does not fit the file.
pub(super) fn columns(look: &Look, options: &ReadOptions) -> Result<Columns, ReadError> {
    let mut columns = match &options.columns {
        Some(list) => stated(look, list)?,
        None => guess(look, options)?,
    };
    if let (TimeColumn::Counter { .. }, None, None) = (columns.time, options.rate_hz, look.stated_rate_hz) {
        columns.time = TimeColumn::Absent;
    }
    columns.sinks.sort_by_key(|s| match s.role {
        Role::Left => 0,
        Role::Right => 1,
        Role::Total => 2,
    });
    Ok(columns)
}

fn seen(look: &Look) -> Vec<Seen> {
    (0..look.sample.len())
        .map(|k| {
            let header = look.header.get(k).map_or("", String::as_str);
            let (parts, unit) = words::split(header);
            let mut words: Vec<Word> = parts.iter().flat_map(|w| words::meanings(w)).collect();
            // `der` is short for right in Spanish and an article in German.
            if words.contains(&Word::Left) && parts.iter().any(|w| w == "der") {
                words.retain(|w| *w != Word::Right);
            }
            let number = parts.iter().find(|w| w.as_str() == "1" || w.as_str() == "2").cloned();
            Seen { words, unit: unit.or(look.units.get(k).copied().flatten()), number }
        })
        .collect()
}

fn guess(look: &Look, options: &ReadOptions) -> Result<Columns, ReadError> {
    let seen = seen(look);
    let default_unit = match look.stated_unit {
        Some(ColumnUnit::Force(u)) => Some(u),
        _ => None,
    };
    let time = time_column(look, &seen, options);
    let time_index = match time {
        TimeColumn::Stamps { column, .. } | TimeColumn::Counter { column } => Some(column),
        TimeColumn::Absent => None,
    };
    let sink = |k: usize, role: Role, why: &str| {
        let unit = match seen.get(k).and_then(|s| s.unit) {
            Some(ColumnUnit::Force(u)) => Some(u),
            _ => default_unit,
        };
        Sink { columns: vec![(k, unit.unwrap_or(Unit::Newton))], role, why: why.into(), unit_stated: unit.is_some() }
    };
    let best = |pick: &dyn Fn(&Seen) -> bool| {
        let mut best: Option<(i32, usize)> = None;
        for (k, s) in seen.iter().enumerate() {
            if Some(k) != time_index && s.force() > 0 && pick(s) && best.is_none_or(|(score, _)| s.force() > score) {
                best = Some((s.force(), k));
            }
        }
        best
    };
    let left = best(&|s| s.says(Word::Left) && !s.says(Word::Right));
    let right = best(&|s| s.says(Word::Right) && !s.says(Word::Left));
    let total = best(&|s| s.says(Word::Total)).or_else(|| best(&|s| !s.says(Word::Left) && !s.says(Word::Right)));
    let done = |sinks: Vec<Sink>, confidence: f64, notices: Vec<Notice>| Ok(Columns { time, sinks, confidence, notices });
    let strong = |score: i32| if score >= 5 { 1.0 } else { 0.85 };
    if let (Some((a, l)), Some((b, r))) = (left, right) {
        return done(
            vec![sink(l, Role::Left, "the header names the left side"), sink(r, Role::Right, "the header names the right side")],
            strong(a.min(b)),
            Vec::new(),
        );
    }
    // Two plates that are numbered but not named.
    let numbered: Vec<usize> =
        seen.iter().enumerate().filter(|(k, s)| Some(*k) != time_index && s.number.is_some() && s.force() > 2).map(|(k, _)| k).collect();
    if let [a, b] = numbered[..] {
        let differ = seen.get(a).map(|s| &s.number) != seen.get(b).map(|s| &s.number);
        if differ && left.is_none() && right.is_none() {
            let (l, r) = if seen.get(a).and_then(|s| s.number.as_deref()) == Some("1") { (a, b) } else { (b, a) };
            let notice = Notice::new("sides_guessed", "The plates are numbered, not named: 1 was taken for left and 2 for right.")
                .next_time("Name the plates left and right in the export, or state the columns.");
            return done(
                vec![sink(l, Role::Left, "plate 1, taken for left"), sink(r, Role::Right, "plate 2, taken for right")],
                0.5,
                vec![notice],
            );
        }
    }
    if let Some((score, k)) = total {
        return done(vec![sink(k, Role::Total, "the header names one vertical force")], strong(score), Vec::new());
    }
    if let Some((score, k)) = left {
        return done(vec![sink(k, Role::Left, "the header names the left side alone")], strong(score) * 0.9, Vec::new());
    }
    if let Some((score, k)) = right {
        return done(vec![sink(k, Role::Right, "the header names the right side alone")], strong(score) * 0.9, Vec::new());
    }
    // No words help: by number of columns and their values.
    let free: Vec<usize> = (0..seen.len())
        .filter(|k| {
            Some(*k) != time_index
                && seen.get(*k).is_some_and(|s| s.force() > -5)
                && look.sample.get(*k).is_some_and(|c| c.iter().any(|x| !x.is_nan()))
        })
        .collect();
    let column = |k: usize| look.sample.get(k).map_or(&[][..], Vec::as_slice);
    match free[..] {
        [k] => done(vec![sink(k, Role::Total, "the only column that can be force")], 0.8, Vec::new()),
        [l, r] => done(
            vec![sink(l, Role::Left, "the first of two columns"), sink(r, Role::Right, "the second of two columns")],
            0.6,
            vec![order_notice()],
        ),
        [l, r, t] if sums(column(l), column(r), column(t)) => done(
            vec![
                sink(l, Role::Left, "the third column is the sum of this and the next"),
                sink(r, Role::Right, "the third column is the sum of this and the one before"),
            ],
            0.7,
            vec![order_notice()],
        ),
        [t, l, r] if sums(column(l), column(r), column(t)) => done(
            vec![
                sink(l, Role::Left, "the first force column is the sum of this and the next"),
                sink(r, Role::Right, "the first force column is the sum of this and the one before"),
            ],
            0.7,
            vec![order_notice()],
        ),
        _ => {
            let mut e = ReadError::new(
                "no_force_column",
                "No column can be told to be vertical force.",
                "State the columns, for example \"time,left,right\" with \"-\" for a column to leave out.",
            )
            .row(look.header_row.unwrap_or(look.first_row))
            .expected("a column headed as force, left, right or total");
            if !look.header.is_empty() {
                e = e.found(&look.header.join(" | "));
            }
            Err(e)
        }
    }
}

fn order_notice() -> Notice {
    Notice::new("sides_guessed", "The columns are not named: the first was taken for left, the second for right.")
        .next_time("Export with a header that names left and right, or state the columns.")
}

/// Whether `t = a + b` in nearly every row, with something on the plates.
fn sums(a: &[f64], b: &[f64], t: &[f64]) -> bool {
    let rows = a.iter().zip(b).zip(t).filter(|((a, b), t)| !(a.is_nan() || b.is_nan() || t.is_nan()));
    let (mut n, mut hit, mut size) = (0usize, 0usize, 0.0f64);
    for ((a, b), t) in rows {
        n += 1;
        size = size.max(t.abs());
        if (a + b - t).abs() <= 0.02 * t.abs() + 0.3 {
            hit += 1;
        }
    }
    n > 3 && size > 20.0 && hit * 10 >= n * 9
}

/// Steps of a column that never falls and mostly rises: (median step, all steps equal and whole).
fn rising(column: &[f64]) -> Option<(f64, bool)> {
    let values: Vec<f64> = column.iter().copied().filter(|x| !x.is_nan()).collect();
    if values.len() < 3 {
        return None;
    }
    let steps: Vec<f64> = values.windows(2).map(|w| w.last().copied().unwrap_or(0.0) - w.first().copied().unwrap_or(0.0)).collect();
    if steps.iter().any(|d| *d < 0.0) {
        return None;
    }
    let span = values.last().copied()? - values.first().copied()?;
    if span <= 0.0 {
        return None;
    }
    let whole = steps.iter().filter(|d| **d == 1.0).count() * 10 >= steps.len() * 9;
    Some((span / steps.len() as f64, whole))
}

fn time_column(look: &Look, seen: &[Seen], options: &ReadOptions) -> TimeColumn {
    let rate = options.rate_hz.or(look.stated_rate_hz);
    let named = seen
        .iter()
        .position(|s| s.says(Word::Time) && !s.says(Word::Vertical) && !matches!(s.unit, Some(ColumnUnit::Force(_) | ColumnUnit::Other)));
    let by_unit = seen.iter().position(|s| matches!(s.unit, Some(ColumnUnit::Time(_))));
    let counter = seen.iter().position(|s| s.says(Word::Sample) && !s.says(Word::Force) && !matches!(s.unit, Some(ColumnUnit::Force(_))));
    // A headed time column whose cells are text (a time of day) is no stamp.
    let usable = |k: &usize| look.sample.get(*k).is_some_and(|c| c.iter().filter(|x| !x.is_nan()).count() * 2 > c.len());
    if let Some(column) = named.filter(usable).or(by_unit.filter(usable)) {
        let scale = match seen.get(column).and_then(|s| s.unit) {
            Some(ColumnUnit::Time(scale)) => scale,
            _ => plausible_scale(look.sample.get(column).map_or(&[][..], Vec::as_slice)),
        };
        return TimeColumn::Stamps { column, scale };
    }
    if let Some(column) = counter.filter(usable) {
        return TimeColumn::Counter { column };
    }
    // Unnamed: only the first column, and only where it rises and another column is left.
    let unnamed = seen.first().is_some_and(|s| s.words.is_empty() && s.unit.is_none());
    if look.sample.len() > 1
        && unnamed
        && let Some((step, whole)) = look.sample.first().and_then(|c| rising(c))
    {
        if whole && rate.is_some_and(|r| (r - 1000.0).abs() > 1.0) {
            return TimeColumn::Counter { column: 0 };
        }
        if step > 1e-6 {
            return TimeColumn::Stamps { column: 0, scale: plausible_scale(look.sample.first().map_or(&[][..], Vec::as_slice)) };
        }
    }
    TimeColumn::Absent
}

/// Seconds or milliseconds, where no unit says: force is sampled at 10 Hz to 20 kHz.
fn plausible_scale(column: &[f64]) -> f64 {
    match rising(column) {
        Some((step, _)) if step > 0.1 => 1e-3,
        _ => 1.0,
    }
}

/// Reads the `columns` option.
fn stated(look: &Look, list: &str) -> Result<Columns, ReadError> {
    let bad = |item: &str, why: &str| {
        ReadError::new(
            "columns_option",
            format!("The list of columns cannot be used: {why}."),
            "Write for example \"time:s,left:N,right:N\", with \"-\" for a column to leave out.",
        )
        .found(item)
        .expected("time, sample, left, right, total or -, each with an optional unit after a colon")
    };
    let items: Vec<&str> = list.split(',').map(str::trim).collect();
    let width = look.sample.len();
    if items.len() > width {
        return Err(bad(list, &format!("it names {} columns and the file has {width}", items.len())));
    }
    let mut time = TimeColumn::Absent;
    let mut sinks: Vec<Sink> = Vec::new();
    let names = seen(look);
    for (k, item) in items.iter().enumerate() {
        let (name, unit_text) = item.split_once(':').map_or((*item, None), |(a, b)| (a.trim(), Some(b)));
        let unit = match unit_text {
            None => None,
            Some(text) => match words::unit(text) {
                Some(u) if u != ColumnUnit::Other => Some(u),
                _ => return Err(bad(item, "it names an unknown unit").column(k as u64 + 1)),
            },
        };
        let role = match name.to_lowercase().as_str() {
            "-" | "" | "ignore" => continue,
            "time" | "sample" => {
                if time != TimeColumn::Absent {
                    return Err(bad(item, "it names two time columns").column(k as u64 + 1));
                }
                let headed = names.get(k).and_then(|s| s.unit);
                time = match (name.to_lowercase() == "sample", unit.or(headed)) {
                    (true, _) => TimeColumn::Counter { column: k },
                    (_, Some(ColumnUnit::Time(scale))) => TimeColumn::Stamps { column: k, scale },
                    (_, Some(ColumnUnit::Force(_))) => return Err(bad(item, "a time column has a unit of force").column(k as u64 + 1)),
                    _ => TimeColumn::Stamps { column: k, scale: plausible_scale(look.sample.get(k).map_or(&[][..], Vec::as_slice)) },
                };
                continue;
            }
            "left" => Role::Left,
            "right" => Role::Right,
            "total" => Role::Total,
            _ => return Err(bad(item, "it holds an unknown name").column(k as u64 + 1)),
        };
        let headed = names.get(k).and_then(|s| s.unit).or(look.stated_unit);
        let (unit, unit_stated) = match (unit, headed) {
            (Some(ColumnUnit::Force(u)), _) | (None, Some(ColumnUnit::Force(u))) => (u, true),
            (Some(_), _) => return Err(bad(item, "a force column has a unit of time").column(k as u64 + 1)),
            _ => (Unit::Newton, false),
        };
        match sinks.iter_mut().find(|s| s.role == role) {
            Some(sink) => sink.columns.push((k, unit)),
            None => sinks.push(Sink { columns: vec![(k, unit)], role, why: "stated by the reader of the file".into(), unit_stated }),
        }
    }
    if sinks.is_empty() {
        return Err(bad(list, "it names no force column"));
    }
    if sinks.len() == 3 {
        sinks.retain(|s| s.role != Role::Total);
    }
    Ok(Columns { time, sinks, confidence: 1.0, notices: Vec::new() })
}
