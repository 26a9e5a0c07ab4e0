//! The column panel: how a file's columns were understood, overruled by hand, confirmed once and remembered.
use super::files::{next_job, with_job};
use super::keep::keep;
use super::{Effect, Fields, JobState, Message, State};
use crate::recording::{Explained, KnownLayout, ReadError};
use crate::records::{Kept, Record};
use serde_json::Value;

/// The open panel.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// The file it is about.
    pub key: u32,
    /// What the reader made of the file; none until the worker has looked.
    pub explained: Option<Result<Explained, ReadError>>,
    /// What is chosen for each column.
    pub choices: Vec<Choice>,
    /// The sampling rate as typed.
    pub rate: String,
    /// Whether files with this header are to be read so from now on.
    pub remember: bool,
}

/// What is chosen for one column.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Choice {
    /// `time`, `sample`, `left`, `right`, `total` or `-`.
    pub role: String,
    /// Its unit; empty for what the file says.
    pub unit: String,
    /// `up`, `down`, or empty: by its values.
    pub sign: String,
}

impl Panel {
    /// The choices as the columns option spells them.
    pub fn spec(&self) -> String {
        let item = |c: &Choice| {
            let force = matches!(c.role.as_str(), "left" | "right" | "total");
            let sign = match c.sign.as_str() {
                "down" if force => "-",
                "up" if force => "+",
                _ => "",
            };
            let fits = force != matches!(c.unit.as_str(), "s" | "ms" | "us") && c.role != "-" && c.role != "sample";
            let unit = if fits { c.unit.as_str() } else { "" };
            if sign.is_empty() && unit.is_empty() { c.role.clone() } else { format!("{}:{sign}{unit}", c.role) }
        };
        self.choices.iter().map(item).collect::<Vec<_>>().join(",")
    }
    /// Whether a file can be read by these choices.
    pub fn complete(&self) -> bool {
        let has = |role: &str| self.choices.iter().any(|c| c.role == role);
        let rate = self.explained.as_ref().and_then(|e| e.as_ref().ok()).is_some_and(|e| e.rate_hz.is_some());
        (has("left") || has("right") || has("total")) && (has("time") || rate || !self.rate.trim().is_empty())
    }
}

/// Asks the worker to look at a file, and opens the panel.
pub fn open(state: &mut State, id: &str) -> Vec<Effect> {
    let Some((key, options)) = state.jobs.iter().find(|j| j.key.to_string() == id).map(|j| (j.key, j.options.clone())) else {
        return vec![];
    };
    let options = with_known(state, options);
    state.columns = Some(Panel { key, explained: None, choices: Vec::new(), rate: String::new(), remember: true });
    vec![Effect::Look(key, Box::new(options))]
}

/// The worker has looked.
pub fn looked(state: &mut State, key: u32, explained: Result<Explained, ReadError>) -> Vec<Effect> {
    let Some(panel) = state.columns.as_mut().filter(|p| p.key == key) else { return vec![] };
    if let Ok(e) = &explained {
        // What a volt is stands above the table and not in the header that is remembered: the next file says it anew.
        let unit = |unit: &str| if unit.ends_with("V") { String::new() } else { unit.to_owned() };
        let choice = |c: &crate::recording::ColumnGuess| Choice { role: c.role.clone(), unit: unit(&c.unit), sign: String::new() };
        panel.choices = e.columns.iter().map(choice).collect();
        panel.rate = e.rate_hz.map(|r| r.to_string()).unwrap_or_default();
    }
    panel.explained = Some(explained);
    vec![]
}

/// What the form holds now.
pub fn draft(state: &mut State, fields: &Fields) {
    let Some(panel) = state.columns.as_mut() else { return };
    for (k, choice) in panel.choices.iter_mut().enumerate() {
        let field = |name: &str| fields.text(&format!("{name}-{k}"));
        *choice = Choice { role: field("role"), unit: field("unit"), sign: field("sign") };
    }
    panel.rate = fields.text("rate");
    panel.remember = fields.ticked("remember");
}

/// Swaps left and right, the answer to the question most asked.
fn swap(state: &mut State) {
    let Some(panel) = state.columns.as_mut() else { return };
    for choice in &mut panel.choices {
        choice.role = match choice.role.as_str() {
            "left" => "right".into(),
            "right" => "left".into(),
            other => other.into(),
        };
    }
}

/// Reads the file by the choices, and remembers them where that is wished.
fn confirm(state: &mut State) -> Vec<Effect> {
    let Some(panel) = state.columns.take() else { return vec![] };
    let Some(Ok(explained)) = &panel.explained else { return vec![] };
    let (spec, typed) = (panel.spec(), panel.rate.trim().replace(',', "."));
    let rate_hz = if typed.is_empty() { None } else { Some(typed.parse().unwrap_or(f64::NAN)) };
    // A rate that the file states itself need not be stated again.
    let rate_hz = rate_hz.filter(|r| Some(*r) != explained.rate_hz || r.is_nan());
    with_job(state, panel.key, |job| {
        if !matches!(job.state, JobState::Working(_)) {
            (job.options.columns, job.options.rate_hz) = (Some(spec.clone()), rate_hz);
            job.state = JobState::Waiting;
            job.deaths = 0;
        }
    });
    let mut effects = Vec::new();
    if panel.remember {
        let known = KnownLayout { fingerprint: explained.fingerprint.clone(), name: explained.name.clone(), columns: spec, rate_hz };
        effects.extend(remember(state, &[known]));
    }
    effects.extend(next_job(state));
    effects
}

/// Keeps confirmed layouts as records; one that was there before becomes its next version.
fn remember(state: &mut State, all: &[KnownLayout]) -> Vec<Effect> {
    let mut records = Vec::new();
    for known in all {
        let id = format!("layout-{}", known.fingerprint);
        let body = serde_json::to_value(known).unwrap_or_default();
        let mut record = state.layouts.get(&id).cloned().unwrap_or_else(|| Kept::new("layout", &id, Value::Null, &state.now));
        (record.body, record.removed) = (body, false);
        records.push(Record::Layout(record));
    }
    keep(state, Some("Columns remembered for files with this header.".into()), records)
}

/// The layouts that are remembered, by name.
pub fn remembered(state: &State) -> Vec<(String, KnownLayout)> {
    let read = |(id, kept): (&String, &Kept<Value>)| Some((id.clone(), serde_json::from_value::<KnownLayout>(kept.body.clone()).ok()?));
    let mut all: Vec<(String, KnownLayout)> = state.layouts.iter().filter(|(_, kept)| !kept.removed).filter_map(read).collect();
    all.sort_by(|a, b| a.1.name.cmp(&b.1.name).then_with(|| a.0.cmp(&b.0)));
    all
}

/// A file's options with every remembered layout.
pub fn with_known(state: &State, mut options: crate::answer::Options) -> crate::answer::Options {
    options.known = remembered(state).into_iter().map(|(_, known)| known).collect();
    options
}

/// A button about columns; `None` for another's.
pub fn pressed(state: &mut State, what: &str, id: &str) -> Option<Vec<Effect>> {
    Some(match what {
        "columns" => open(state, id),
        "columns-swap" => {
            swap(state);
            vec![]
        }
        "columns-confirm" => confirm(state),
        "decimal-point" | "decimal-comma" => {
            let mark = if what == "decimal-point" { '.' } else { ',' };
            let key = state.jobs.iter().find(|j| j.key.to_string() == id).map(|j| j.key)?;
            with_job(state, key, |job| {
                if matches!(job.state, JobState::Failed(_)) {
                    job.options.decimal = Some(mark);
                    job.state = JobState::Waiting;
                }
            });
            next_job(state)
        }
        "columns-close" => {
            state.columns = None;
            vec![]
        }
        "layout-forget" => {
            let Some(mut record) = state.layouts.get(id).cloned() else { return Some(vec![]) };
            record.removed = true;
            keep(state, Some("Columns forgotten.".into()), vec![Record::Layout(record)])
        }
        "layouts-out" => {
            let all: Vec<KnownLayout> = remembered(state).into_iter().map(|(_, known)| known).collect();
            vec![Effect::Download("tarsal-columns.json".into(), serde_json::to_string_pretty(&all).unwrap_or_default())]
        }
        _ => return None,
    })
}

/// A form about columns; `None` for another's.
pub fn sent(state: &mut State, form: &str, id: &str, fields: &Fields) -> Option<Vec<Effect>> {
    Some(match form {
        "columns-draft" => {
            draft(state, fields);
            vec![]
        }
        "layout" => {
            let Some(mut record) = state.layouts.get(id).cloned() else { return Some(vec![]) };
            let Ok(mut known) = serde_json::from_value::<KnownLayout>(record.body) else { return Some(vec![]) };
            known.columns = fields.text("columns");
            known.rate_hz = fields.number("rate");
            record.body = serde_json::to_value(&known).unwrap_or_default();
            keep(state, Some("Columns changed.".into()), vec![Record::Layout(record)])
        }
        "layouts-in" => match serde_json::from_str::<Vec<KnownLayout>>(fields.raw("layouts")) {
            Ok(all) => remember(state, all.get(..all.len().min(500)).unwrap_or(&all)),
            Err(why) => {
                let text = format!("These are no columns saved by this page ({why}). Paste the whole text of the file.");
                state.message = Some(Message { text, undo: false });
                vec![]
            }
        },
        _ => return None,
    })
}
