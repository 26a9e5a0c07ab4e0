//! Which column is what: as stated, or as guessed; and which one gives time.
use super::evidence::{Evidence, evidence, rising};
use super::letters::Letters as _;
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
    /// Stated: −1 where a person on the plate reads negative.
    pub sign: Option<f64>,
}

/// The columns that are read.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Columns {
    pub time: TimeColumn,
    pub sinks: Vec<Sink>,
    pub confidence: f64,
    pub notices: Vec<Notice>,
    /// What would have been read otherwise.
    pub runner_up: Option<Vec<Sink>>,
}

/// Decides what every column is.
///
/// # Errors
/// Where no column can be taken for force, or the `columns` option does not fit the file.
pub(super) fn columns(look: &Look, options: &ReadOptions) -> Result<Columns, ReadError> {
    let mut columns = match &options.columns {
        Some(list) => stated(look, list)?,
        None => super::guess::guess(look, &evidence(look), options)?,
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

/// Which column gives time, and what would have to be asked about it.
pub(super) fn time_column(look: &Look, seen: &[Evidence], options: &ReadOptions) -> (TimeColumn, Option<Notice>) {
    let rate = options.rate_hz.or(look.stated_rate_hz);
    let column = |k: usize| look.sample.get(k).map_or(&[][..], Vec::as_slice);
    let scale_of = |k: usize| match seen.get(k).and_then(|s| s.unit) {
        _ if look.clock.get(k) == Some(&true) => 1.0,
        Some(ColumnUnit::Time(scale)) => scale,
        _ => plausible_scale(column(k)),
    };
    let no_force =
        |s: &Evidence| !matches!(s.unit, Some(ColumnUnit::Force(_) | ColumnUnit::Other | ColumnUnit::Volt | ColumnUnit::Millivolt));
    // A headed time column whose cells are text or stand still is no stamp, where another one is.
    let usable = |k: &usize| column(*k).iter().filter(|x| !x.is_nan()).count() * 2 > column(*k).len();
    let runs = |k: &usize| seen.get(*k).is_some_and(|s| !s.facts.constant);
    let named: Vec<usize> = (0..seen.len())
        .filter(|k| {
            seen.get(*k).is_some_and(|s| {
                s.says(Word::Time) && !s.says(Word::Vertical) && !s.says(Word::Force) && no_force(s)
                    || matches!(s.unit, Some(ColumnUnit::Time(_)))
            })
        })
        .filter(usable)
        .collect();
    let exact = |k: &&usize| look.clock.get(**k) != Some(&true);
    let with_unit = |k: &&usize| seen.get(**k).is_some_and(|s| matches!(s.unit, Some(ColumnUnit::Time(_))));
    let of = |list: Vec<usize>| {
        let pick = list.iter().find(|k| exact(k) && with_unit(k)).or_else(|| list.iter().find(exact)).or(list.first());
        pick.copied()
    };
    let running: Vec<usize> = named.iter().copied().filter(runs).collect();
    if let Some(column) = of(if running.is_empty() { named } else { running }) {
        return (TimeColumn::Stamps { column, scale: scale_of(column) }, None);
    }
    if let Some(column) = (0..seen.len()).find(|k| look.clock.get(*k) == Some(&true) && runs(k)) {
        return (TimeColumn::Stamps { column, scale: 1.0 }, None);
    }
    let counter = seen.iter().position(|s| s.says(Word::Sample) && !s.says(Word::Force) && !matches!(s.unit, Some(ColumnUnit::Force(_))));
    let silent = |k: &usize| seen.get(*k).is_some_and(|s| s.words.is_empty() && s.unit.is_none() && !s.bare_z);
    // Unnamed: a column that rises evenly (the first one even unevenly), and another column is left.
    let unnamed: Vec<usize> = (0..seen.len())
        .filter(silent)
        .filter(|k| seen.get(*k).is_some_and(|s| s.facts.rising.is_some_and(|(step, _)| step > 1e-6) && (*k == 0 || s.facts.even)))
        .collect();
    let by_one = |k: &usize| seen.get(*k).is_some_and(|s| s.facts.rising.is_some_and(|(_, whole)| whole));
    if look.sample.len() > 1
        && let Some(column) = unnamed.iter().copied().find(|k| !by_one(k))
    {
        return (TimeColumn::Stamps { column, scale: scale_of(column) }, None);
    }
    if let Some(column) = counter.filter(usable) {
        return (TimeColumn::Counter { column }, None);
    }
    if look.sample.len() > 1
        && let Some(column) = unnamed.first().copied()
    {
        if rate.is_some() {
            return (TimeColumn::Counter { column }, None);
        }
        let message = "Is this 1000 samples a second? A column counts up by one a row and is not named: it was taken for milliseconds.";
        let question = Notice::new("rate_guessed", message).next_time("Export with the time in seconds, or state the sampling rate.");
        return (TimeColumn::Stamps { column, scale: 1e-3 }, Some(question));
    }
    (TimeColumn::Absent, None)
}

/// Seconds or milliseconds, where no unit says: force is sampled at 10 Hz to 20 kHz.
fn plausible_scale(column: &[f64]) -> f64 {
    match rising(column) {
        Some((step, _)) if step > 2e5 => 1e-9,
        Some((step, _)) if step > 50.0 => 1e-6,
        Some((step, _)) if step > 0.1 => 1e-3,
        _ => 1.0,
    }
}

/// Reads the `columns` option.
#[inline(never)]
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
    let names = evidence(look);
    for (k, item) in items.iter().enumerate() {
        let (name, unit_text) = item.split_once(':').map_or((*item, None), |(a, b)| (a.trim(), Some(b)));
        let (unit_text, sign) = match unit_text.map(str::trim) {
            Some(text) => match (text.strip_prefix('-'), text.strip_prefix('+')) {
                (Some(rest), _) => (Some(rest), Some(-1.0)),
                (_, Some(rest)) => (Some(rest), Some(1.0)),
                _ => (Some(text), None),
            },
            None => (None, None),
        };
        let unit = match unit_text.filter(|t| !t.is_empty()) {
            None => None,
            Some(text) => match words::unit(text) {
                Some(u) if !matches!(u, ColumnUnit::Other | ColumnUnit::Volt | ColumnUnit::Millivolt) => Some(u),
                _ => return Err(bad(item, "it names an unknown unit").column(k as u64 + 1)),
            },
        };
        let role = match name.lower().as_str() {
            "-" | "" | "ignore" => continue,
            "time" | "sample" => {
                if time != TimeColumn::Absent {
                    return Err(bad(item, "it names two time columns").column(k as u64 + 1));
                }
                let headed = names.get(k).and_then(|s| s.unit);
                time = match (name.lower() == "sample", unit.or(headed)) {
                    (true, _) => TimeColumn::Counter { column: k },
                    (_, Some(ColumnUnit::Time(scale))) => TimeColumn::Stamps { column: k, scale },
                    (_, Some(ColumnUnit::Force(_))) => return Err(bad(item, "a time column has a unit of force").column(k as u64 + 1)),
                    _ if look.clock.get(k) == Some(&true) => TimeColumn::Stamps { column: k, scale: 1.0 },
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
            Some(sink) => {
                sink.columns.push((k, unit));
                sink.sign = sink.sign.or(sign);
            }
            None => sinks.push(Sink { columns: vec![(k, unit)], role, why: "stated by the reader of the file".into(), unit_stated, sign }),
        }
    }
    if sinks.is_empty() {
        return Err(bad(list, "it names no force column"));
    }
    if sinks.len() == 3 {
        sinks.retain(|s| s.role != Role::Total);
    }
    Ok(Columns { time, sinks, confidence: 1.0, notices: Vec::new(), runner_up: None })
}
