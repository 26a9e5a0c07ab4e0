//! The guess laid open: for each column what it was taken for, what speaks for every role, and the first values to draw.
use super::columns::{self, TimeColumn};
use super::evidence::{Evidence, evidence};
use super::look;
use super::words::{ColumnUnit, Word};
use super::{ReadError, ReadOptions, Role, books, cells, memory, reader};
use serde::{Deserialize, Serialize};

/// How a file was understood, to be looked at and overruled.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Explained {
    /// What files of the same export have in common.
    pub fingerprint: String,
    /// The header's words, or the number of columns.
    pub name: String,
    /// Whether these columns were confirmed before.
    pub known: bool,
    /// One entry a column.
    pub columns: Vec<ColumnGuess>,
    /// The sampling rate that file or options state, Hz.
    pub rate_hz: Option<f64>,
    /// Seconds between two points of the traces; none where nothing gives the time.
    pub step_s: Option<f64>,
    /// The one thing a person would have to ask.
    pub question: Option<String>,
    /// What the columns would be otherwise.
    pub runner_up: Option<String>,
}

/// One column.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ColumnGuess {
    /// Its header.
    pub header: String,
    /// Its first values as they stand.
    pub values: Vec<String>,
    /// `time`, `sample`, `left`, `right`, `total` or `-`.
    pub role: String,
    /// Its unit, as in the columns option; empty where none is stated.
    pub unit: String,
    /// Why it was taken for that.
    pub why: String,
    /// What speaks for each role, the strongest first.
    pub scores: Vec<RoleScore>,
    /// Values at even steps through the rows that were looked at.
    pub trace: Vec<Option<f32>>,
}

/// What speaks for a role.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RoleScore {
    /// The role.
    pub role: String,
    /// 0 … 100.
    pub score: u32,
    /// In words.
    pub why: String,
}

/// Points of a trace.
const POINTS: usize = 400;
/// Columns that are laid open; a file of more is one for the columns option.
const MOST_COLUMNS: usize = 256;

/// Lays the guess open, from a file's first megabyte; `whole` when the bytes are all there is (as they must be for a
/// spreadsheet or a motion-capture file).
///
/// # Errors
/// Where there is no table of numbers in it.
pub fn explain(bytes: &[u8], whole: bool, options: &ReadOptions) -> Result<Explained, ReadError> {
    let book;
    let (bytes, whole) = if books::is_book(bytes) {
        book = books::to_text(bytes)?;
        (book.text.as_bytes(), true)
    } else {
        (bytes, whole)
    };
    let text = reader::plain_text(bytes, whole)?;
    let look = look::look(&text, true, options)?;
    let seen = evidence(&look);
    let known = if options.columns.is_some() { None } else { memory::find(&look, &options.known) };
    let mut told = options.clone();
    if let Some(known) = known {
        told.columns = Some(known.columns.clone());
        told.rate_hz = told.rate_hz.or(known.rate_hz);
    }
    let found = columns::columns(&look, &told);
    let (time, _) = columns::time_column(&look, &seen, &told);
    let (time, sinks, question, runner_up) = match &found {
        Ok(c) => (c.time, c.sinks.as_slice(), c.notices.first().map(|n| n.message.clone()), c.runner_up.as_deref()),
        Err(e) => (time, &[][..], Some(format!("{} Which columns are force?", e.message)), None),
    };
    let rate_hz = told.rate_hz.or(look.stated_rate_hz);
    let question = question.or_else(|| {
        let untimed = time == TimeColumn::Absent || matches!(time, TimeColumn::Counter { .. }) && rate_hz.is_none();
        (untimed && rate_hz.is_none()).then(|| "How many samples a second were recorded? The file does not say.".to_string())
    });
    let rows = look.sample.iter().map(Vec::len).max().unwrap_or(0);
    let stride = rows.div_ceil(POINTS).max(1);
    let lines: Vec<Vec<String>> = {
        let first = usize::try_from(look.first_row - 1).unwrap_or(0);
        text.split('\n').skip(first).filter(|l| !l.trim().is_empty()).take(4).map(|l| cells::cells(l, look.dialect.delimiter)).collect()
    };
    let role_of = |k: usize| -> (String, String, String) {
        for sink in sinks {
            if let Some((_, unit)) = sink.columns.iter().find(|(c, _)| *c == k) {
                let unit = if sink.unit_stated { String::from(*unit) } else { String::new() };
                return (role_name(sink.role).into(), unit, sink.why.clone());
            }
        }
        match time {
            TimeColumn::Stamps { column, scale } if column == k => {
                let clock = look.clock.get(k) == Some(&true);
                ("time".into(), if clock { String::new() } else { time_name(scale).into() }, "it gives the time of every row".into())
            }
            TimeColumn::Counter { column } if column == k => ("sample".into(), String::new(), "it counts the samples".into()),
            _ => ("-".into(), String::new(), String::new()),
        }
    };
    let columns = (0..look.sample.len().min(MOST_COLUMNS))
        .map(|k| {
            let (role, unit, why) = role_of(k);
            let sample = look.sample.get(k).map_or(&[][..], Vec::as_slice);
            ColumnGuess {
                header: look.header.get(k).cloned().unwrap_or_default(),
                values: lines.iter().filter_map(|l| l.get(k)).map(|v| v.chars().take(16).collect()).collect(),
                why,
                scores: seen.get(k).map(|e| scores(e, look.clock.get(k) == Some(&true), &Shape::of(&look.sample, k))).unwrap_or_default(),
                trace: sample.iter().step_by(stride).map(|x| (!x.is_nan()).then_some(*x as f32)).collect(),
                role,
                unit,
            }
        })
        .collect();
    let step_s = match (time, rate_hz) {
        (TimeColumn::Stamps { column, scale }, _) => {
            let values: Vec<f64> = look.sample.get(column).map(|c| c.iter().copied().filter(|x| !x.is_nan()).collect()).unwrap_or_default();
            let span = values.last().zip(values.first()).map(|(b, a)| (b - a) * scale);
            span.map(|s| s / (values.len().max(2) - 1) as f64 * stride as f64)
        }
        (_, Some(rate)) => Some(stride as f64 / rate),
        _ => None,
    };
    Ok(Explained {
        fingerprint: memory::fingerprint(&look),
        name: memory::name(&look),
        known: known.is_some(),
        columns,
        rate_hz,
        step_s: step_s.filter(|s| s.is_finite() && *s > 0.0),
        question,
        runner_up: runner_up.map(|sinks| {
            let sink = |s: &columns::Sink| {
                let list: Vec<String> = s.columns.iter().map(|(k, _)| (k + 1).to_string()).collect();
                format!("{} from column {}", role_name(s.role), list.join(" + "))
            };
            sinks.iter().map(sink).collect::<Vec<_>>().join(", ")
        }),
    })
}

fn role_name(role: Role) -> &'static str {
    match role {
        Role::Left => "left",
        Role::Right => "right",
        Role::Total => "total",
    }
}

fn time_name(scale: f64) -> &'static str {
    if scale > 0.5 {
        "s"
    } else if scale > 5e-4 {
        "ms"
    } else {
        "us"
    }
}

/// What a column's values look like, and those of the columns beside it. Only shown: a recording may begin with nobody on
/// the plates, so the guess must stand without it.
struct Shape {
    /// It rests where a person's weight, or half of one, would be.
    weight: bool,
    /// It repeats itself to within a hundredth of its spread, at least four times.
    periodic: bool,
    /// A column beside it rises and falls with it.
    company: bool,
}

impl Shape {
    fn of(sample: &[Vec<f64>], k: usize) -> Self {
        let column = sample.get(k).map_or(&[][..], Vec::as_slice);
        let beside = [k.checked_sub(1), Some(k + 1)];
        let alike = |other: &Vec<f64>| correlation(column.iter().zip(other)) > 0.9;
        Self {
            weight: rests_at_a_weight(column),
            periodic: is_periodic(column),
            company: beside.into_iter().flatten().filter_map(|k| sample.get(k)).any(alike),
        }
    }
}

/// Whether a quarter of the values lie within a twentieth of their level away from zero, and that level is 150 to 2000
/// newtons: from half of a light person's weight to a heavy one's with a bar. In other units this says nothing.
fn rests_at_a_weight(column: &[f64]) -> bool {
    let largest = column.iter().filter(|x| x.is_finite()).fold(0.0f64, |most, x| most.max(x.abs()));
    let mut away: Vec<f64> = column.iter().map(|x| x.abs()).filter(|x| *x > 0.05 * largest).collect();
    away.sort_by(f64::total_cmp);
    let level = away.get(away.len() / 2).copied().unwrap_or(0.0);
    let near = away.iter().filter(|x| (**x - level).abs() <= 0.05 * level).count();
    (150.0..2000.0).contains(&level) && near * 4 >= column.len()
}

/// Whether a column that has gone its own way comes back to itself after some lag that fits four times.
fn is_periodic(column: &[f64]) -> bool {
    let column = column.get(..column.len().min(2000)).unwrap_or(column);
    let at = |lag: &usize| correlation(column.iter().zip(column.iter().skip(*lag)));
    let lags = 1..column.len() / 4;
    let gone = lags.clone().find(|lag| at(lag) < 0.5);
    gone.is_some_and(|gone| (gone..lags.end).any(|lag| at(&lag) > 0.99))
}

/// Pearson's r over pairs of numbers; 0 where it is not defined.
fn correlation<'a>(pairs: impl Iterator<Item = (&'a f64, &'a f64)>) -> f64 {
    let [mut n, mut a, mut b, mut aa, mut bb, mut ab] = [0.0f64; 6];
    for (x, y) in pairs.filter(|(x, y)| x.is_finite() && y.is_finite()) {
        n += 1.0;
        a += x;
        b += y;
        aa += x * x;
        bb += y * y;
        ab += x * y;
    }
    let spread = (aa - a * a / n) * (bb - b * b / n);
    if spread > 0.0 { (ab - a * b / n) / spread.sqrt() } else { 0.0 }
}

/// What speaks for each role of a column: its header, its unit, its values and its neighbours.
fn scores(e: &Evidence, clock: bool, shape: &Shape) -> Vec<RoleScore> {
    let mut out: Vec<RoleScore> = Vec::new();
    let mut add = |role: &str, parts: &[(bool, i32, &str)]| {
        let held = || parts.iter().filter(|(holds, _, _)| *holds);
        let score = held().map(|(_, points, _)| *points).sum::<i32>().clamp(0, 100).unsigned_abs();
        let why: Vec<&str> = held().map(|(_, _, words)| *words).collect();
        out.push(RoleScore { role: role.into(), score, why: why.join("; ") });
    };
    let force_unit = matches!(e.unit, Some(ColumnUnit::Force(_)));
    let other_unit = matches!(e.unit, Some(ColumnUnit::Other | ColumnUnit::Volt | ColumnUnit::Millivolt));
    let time_unit = matches!(e.unit, Some(ColumnUnit::Time(_)));
    let rises = e.facts.rising.is_some();
    add(
        "time",
        &[
            (e.says(Word::Time), 45, "the header says time"),
            (time_unit, 35, "it has a unit of time"),
            (clock, 70, "its cells are times of day"),
            (e.facts.even, 30, "it rises in even steps"),
            (rises && !e.facts.even, 10, "it never falls"),
            (force_unit || other_unit, -60, "its unit is none of time"),
        ],
    );
    let silent = !e.speaks();
    let like = e.could_be_force();
    let flight = (0.02..0.98).contains(&e.facts.at_zero);
    let (left, right, total) = (e.says(Word::Left), e.says(Word::Right), e.says(Word::Total));
    for (role, said, against) in [("left", left, right || total), ("right", right, left || total), ("total", total, left || right)] {
        let words = if role == "total" { "the header says total" } else { "the header names the side" };
        add(
            role,
            &[
                (said, 35, words),
                (e.says(Word::Force), 15, "it says force"),
                (e.says(Word::Vertical) || e.bare_z, 20, "it says vertical"),
                (force_unit, 20, "it has a unit of force"),
                (like, 10, "its values can be force"),
                (like && silent, 20, "nothing else is said about it"),
                (flight, 10, "it falls to zero as in a flight"),
                (like && shape.weight, 10, "it rests where a person’s weight, or half of it, would be"),
                (like && shape.company, 5, "a column beside it rises and falls with it"),
                (silent && shape.periodic, -30, "it repeats itself as no person does"),
                (against, -60, "the header names another"),
                (e.says(Word::Other) || other_unit, -80, "header or unit name something else"),
                (rises || e.facts.constant || e.facts.empty, -50, "its values are none of a force"),
            ],
        );
    }
    add(
        "-",
        &[
            (e.says(Word::Other), 60, "the header names something else"),
            (other_unit, 50, "its unit is none of force"),
            (e.facts.empty, 90, "it is empty"),
            (e.facts.constant && !e.facts.empty, 50, "it never changes"),
            (e.facts.switch, 20, "it takes two or three values"),
            (silent && shape.periodic, 30, "it repeats itself evenly, as a signal made by a device does"),
            (silent && !like && !rises, 40, "its values are none of a force"),
        ],
    );
    out.sort_by_key(|s| std::cmp::Reverse(s.score));
    out
}
