//! Reference tables that the coach types in or imports: mean, standard deviation and n of a published group, each with
//! its citation, which is shown at every use.
use super::distributions::normal_cdf;
use super::interval::Interval;
use super::standing::{Place, place};
use crate::figures::{PER_KG, definition};
use serde::{Deserialize, Serialize};

/// One published group's figure.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reference {
    /// Figure id, `…_per_kg` twins included.
    pub figure: String,
    /// Test kind.
    pub test: String,
    /// Who, in words.
    pub group: String,
    /// How it was done, in words.
    pub protocol: String,
    /// Mean, SI.
    pub mean: f64,
    /// Standard deviation, SI.
    pub sd: f64,
    /// People; `None` where the source does not say.
    pub n: Option<usize>,
    /// Where it is from; never empty.
    pub citation: String,
}

/// A table as it is kept: what was typed in or imported in one go.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct References {
    /// Its rows.
    pub rows: Vec<Reference>,
}

/// Why a line of a reference table was not taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReferenceError {
    /// Line of the text, from 1.
    pub line: usize,
    /// Column's name; empty where the whole line is meant.
    pub column: String,
    /// What is wrong and what to do.
    pub message: String,
}

impl core::fmt::Display for ReferenceError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let place = if self.column.is_empty() { String::new() } else { format!(", column {}", self.column) };
        write!(f, "Line {}{place}: {}", self.line, self.message)
    }
}

impl core::error::Error for ReferenceError {}

/// Columns of the text; `unit`, `protocol` and `n` may be missing or empty.
pub const COLUMNS: &[&str] = &["figure", "test", "group", "protocol", "unit", "mean", "sd", "n", "citation"];

impl Reference {
    /// Where a value stands against it, on the raw scale on which it was published. Without n the published mean and
    /// spread are taken as the population's, and the interval is empty.
    pub fn stand(&self, value: f64) -> Option<Place> {
        match self.n {
            Some(n) => place(value, self.mean, self.sd, n as f64),
            None if self.sd > 0.0 && value.is_finite() => {
                let z = (value - self.mean) / self.sd;
                let z_only = Interval { value: z, low: f64::NAN, high: f64::NAN };
                Some(Place { mean: self.mean, sd: self.sd, z: z_only, t: z, df: f64::INFINITY, expected_below: normal_cdf(z) })
            }
            None => None,
        }
    }
}

/// Reads a table from CSV text with a header naming [`COLUMNS`] in any order. Good lines are taken, each bad one is told.
pub fn read(text: &str) -> (Vec<Reference>, Vec<ReferenceError>) {
    let (mut taken, mut errors) = (Vec::new(), Vec::new());
    let mut reader = csv::ReaderBuilder::new().flexible(true).trim(csv::Trim::All).from_reader(text.as_bytes());
    let header: Vec<String> = match reader.headers() {
        Ok(header) => header.iter().map(|name| name.trim_start_matches('\u{feff}').to_lowercase()).collect(),
        Err(error) => {
            errors.push(ReferenceError { line: 1, column: String::new(), message: format!("The text is no table: {error}.") });
            return (taken, errors);
        }
    };
    for wanted in ["figure", "test", "mean", "sd", "citation"] {
        if !header.iter().any(|name| name == wanted) {
            let message = format!("This column is missing. The first line must name the columns: {}.", COLUMNS.join(", "));
            errors.push(ReferenceError { line: 1, column: wanted.into(), message });
        }
    }
    if !errors.is_empty() {
        return (taken, errors);
    }
    for (index, record) in reader.records().enumerate() {
        let record = match record {
            Ok(record) => record,
            Err(error) => {
                errors.push(ReferenceError { line: index + 2, column: String::new(), message: format!("Not readable: {error}.") });
                continue;
            }
        };
        let line = record.position().map_or(index + 2, |p| p.line() as usize);
        let cell = |name: &str| header.iter().position(|h| h == name).and_then(|i| record.get(i)).unwrap_or_default();
        match row(&cell) {
            Ok(reference) => taken.push(reference),
            Err((column, message)) => errors.push(ReferenceError { line, column: column.into(), message }),
        }
    }
    (taken, errors)
}

/// One line, or the column at fault with what to do.
///
/// # Errors
/// The column at fault and a sentence: no figure or unit of these names, a number or count that is none, no citation.
pub fn row<'a>(cell: &impl Fn(&str) -> &'a str) -> Result<Reference, (&'static str, String)> {
    let figure = cell("figure").to_lowercase();
    let defined = definition(&figure).filter(|d| d.per_kg || !figure.ends_with(PER_KG));
    let Some(defined) = defined else {
        return Err(("figure", format!("“{figure}” is no figure; use an id from the list of figures, such as jump_height.")));
    };
    let unit = if figure.ends_with(PER_KG) { format!("{}/kg", defined.unit) } else { defined.unit.to_owned() };
    let factor =
        factor(cell("unit"), &unit).ok_or_else(|| ("unit", format!("“{}” does not fit this figure; it is in {unit}.", cell("unit"))))?;
    let number = |name: &'static str| {
        cell(name)
            .replace(',', ".")
            .parse::<f64>()
            .ok()
            .filter(|v| v.is_finite())
            .ok_or_else(|| (name, format!("“{}” is no number.", cell(name))))
    };
    let (mean, sd) = (number("mean")? * factor, number("sd")? * factor);
    if !(sd > 0.0) {
        return Err(("sd", "A standard deviation is above 0.".into()));
    }
    let n = match cell("n") {
        "" => None,
        text => Some(
            text.parse::<usize>()
                .ok()
                .filter(|n| *n >= 2)
                .ok_or_else(|| ("n", format!("“{text}” is no number of people; leave it empty if unknown.")))?,
        ),
    };
    if cell("citation").is_empty() {
        return Err(("citation", "Say where the numbers are from: it is shown wherever they are used.".into()));
    }
    let test = cell("test").to_lowercase().replace(' ', "_");
    if test.is_empty() {
        return Err(("test", "Say of which test, such as countermovement_jump.".into()));
    }
    Ok(Reference {
        figure,
        test,
        group: cell("group").into(),
        protocol: cell("protocol").into(),
        mean,
        sd,
        n,
        citation: cell("citation").into(),
    })
}

/// Written unit → SI, where it is a way of writing this figure's.
fn factor(written: &str, si: &str) -> Option<f64> {
    let written = written.replace('*', "·");
    match (written.as_str(), si) {
        ("", _) => Some(1.0),
        (a, b) if a == b => Some(1.0),
        ("cm", "m") | ("cm/s", "m/s") => Some(0.01),
        ("mm", "m") | ("ms", "s") => Some(0.001),
        ("kN", "N") | ("kW", "W") | ("kN/s", "N/s") | ("kN/m", "N/m") => Some(1000.0),
        _ => None,
    }
}
