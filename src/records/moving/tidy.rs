//! Tables for other programs: one row a figure of a trial, as CSV beside a `datapackage.json`, or as one JSON file.
//!
//! Both descriptions are Data Packages with a Table Schema [the open Frictionless standards, version 1]: every column's
//! name, type, meaning and limits, what may be missing, and which columns together name a row.
//!
//! A spreadsheet takes a text that begins with `=`, `+`, `-`, `@`, a tab or a line end for a formula or drops what comes
//! first [OWASP, "CSV Injection"]. Such a text is written with an apostrophe before it, and so is one that begins with an
//! apostrophe, so that taking the first apostrophe off always gives back what was meant ([`unguard`]). Numbers are written as
//! numbers, negative ones too; what is no number is empty. The JSON file needs no guard and has none.
use core::fmt::Write;
use serde_json::{Value, json};

/// How the CSV is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Flavour {
    /// Commas between columns, points in numbers [RFC 4180].
    Plain,
    /// Semicolons between columns, commas in numbers and a byte-order mark in front: what spreadsheets expect in
    /// decimal-comma countries.
    DecimalComma,
}

/// One figure of one trial.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TidyRow {
    /// Name or code.
    pub athlete: String,
    /// Day of the trial, `YYYY-MM-DD`; empty where unknown.
    pub day: String,
    /// The session's key or place.
    pub session: String,
    /// Test, as in the document.
    pub test: String,
    /// `left`, `right` or `both`.
    pub side: String,
    /// What must agree for trials to be pooled.
    pub protocol: String,
    /// Key of the trial.
    pub trial: String,
    /// Figure, as in the catalogue.
    pub figure: String,
    /// Value in the unit; none where it is withheld.
    pub value: Option<f64>,
    /// Its standard uncertainty.
    pub u: Option<f64>,
    /// SI unit; empty for ratios.
    pub unit: String,
    /// `sound`, `doubtful` or `unusable`.
    pub verdict: String,
    /// Version of the methods.
    pub method: String,
    /// Whether events were moved by hand.
    pub edited: bool,
    /// Whether it is invented demo data.
    pub invented: bool,
}

/// Of which sort a column is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Sort {
    Text,
    Day,
    Number,
    Truth,
    OneOf(&'static [&'static str]),
}

/// Name, sort, whether it is always there, and meaning, in order.
const COLUMNS: [(&str, Sort, bool, &str); 15] = [
    ("athlete", Sort::Text, false, "Name or code of the athlete"),
    ("day", Sort::Day, false, "Day of the trial"),
    ("session", Sort::Text, false, "Session the trial belongs to"),
    ("test", Sort::Text, true, "Test"),
    ("side", Sort::OneOf(&["left", "right", "both"]), true, "Leg or legs"),
    ("protocol", Sort::Text, false, "What must agree for trials to be pooled: hands, cue, depth, shoes, load in kg, box in m, side"),
    ("trial", Sort::Text, true, "Key of the trial"),
    ("figure", Sort::Text, true, "Figure of the trial"),
    ("value", Sort::Number, false, "Value in the unit; empty where it is withheld"),
    ("u", Sort::Number, false, "Standard uncertainty of the measurement (k = 1) in the unit"),
    ("unit", Sort::Text, false, "SI unit; empty for ratios"),
    ("verdict", Sort::OneOf(&["sound", "doubtful", "unusable"]), true, "Whether the trial may be trusted"),
    ("method", Sort::Text, false, "Version of the methods that computed the figure"),
    ("edited", Sort::Truth, true, "Whether events of the trial were moved by hand"),
    ("invented", Sort::Truth, true, "Whether the trial is invented demo data"),
];

enum Cell<'a> {
    Text(&'a str),
    Number(Option<f64>),
    Truth(bool),
}

fn cells(row: &TidyRow) -> [Cell<'_>; 15] {
    [
        Cell::Text(&row.athlete),
        Cell::Text(&row.day),
        Cell::Text(&row.session),
        Cell::Text(&row.test),
        Cell::Text(&row.side),
        Cell::Text(&row.protocol),
        Cell::Text(&row.trial),
        Cell::Text(&row.figure),
        Cell::Number(row.value),
        Cell::Number(row.u),
        Cell::Text(&row.unit),
        Cell::Text(&row.verdict),
        Cell::Text(&row.method),
        Cell::Truth(row.edited),
        Cell::Truth(row.invented),
    ]
}

impl Flavour {
    /// What stands between columns.
    pub fn separator(self) -> char {
        match self {
            Self::Plain => ',',
            Self::DecimalComma => ';',
        }
    }
}

/// The file's first line, with what a spreadsheet needs before it.
pub fn csv_head(flavour: Flavour) -> String {
    let mark = if flavour == Flavour::DecimalComma { "\u{feff}" } else { "" };
    let names = COLUMNS.map(|(name, ..)| name).join(flavour.separator().encode_utf8(&mut [0; 4]));
    format!("{mark}{names}\r\n")
}

/// Adds a row; lines end as RFC 4180 has it.
pub fn csv_row(out: &mut String, row: &TidyRow, flavour: Flavour) {
    for (place, cell) in cells(row).iter().enumerate() {
        if place > 0 {
            out.push(flavour.separator());
        }
        match cell {
            Cell::Text(text) => text_cell(out, text, flavour.separator()),
            Cell::Number(Some(number)) if number.is_finite() => number_cell(out, *number, flavour),
            Cell::Number(_) => {}
            Cell::Truth(truth) => out.push_str(if *truth { "true" } else { "false" }),
        }
    }
    out.push_str("\r\n");
}

fn number_cell(out: &mut String, number: f64, flavour: Flavour) {
    let from = out.len();
    // The shortest text that reads back as the same number; writing to a String cannot fail.
    let _ = write!(out, "{number:?}");
    if flavour == Flavour::DecimalComma {
        let text = out.split_off(from).replace('.', ",");
        out.push_str(&text);
    }
}

/// Whether a spreadsheet might take the text for something else, wide forms of the signs included.
fn needs_guard(text: &str) -> bool {
    text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n', '\'', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}'])
}

fn text_cell(out: &mut String, text: &str, separator: char) {
    let guard = if needs_guard(text) { "'" } else { "" };
    // Spaces at the ends are kept by quotes; both separators are quoted so that a wrong guess of a reader does no harm.
    let quoted = text.contains(['"', '\r', '\n', '\t', ',', ';', separator]) || text.trim() != text;
    if quoted {
        // Writing to a String cannot fail.
        let _ = write!(out, "\"{guard}{}\"", text.replace('"', "\"\""));
    } else {
        out.push_str(guard);
        out.push_str(text);
    }
}

/// The text that was meant by a cell of the CSV.
pub fn unguard(cell: &str) -> &str {
    cell.strip_prefix('\'').unwrap_or(cell)
}

/// The table's schema; `decimal_comma` where numbers are written with one.
fn schema(decimal_comma: bool) -> Value {
    let fields = COLUMNS.map(|(name, sort, always, meaning)| {
        let mut constraints = serde_json::Map::new();
        if always {
            constraints.insert("required".into(), true.into());
        }
        let kind = match sort {
            Sort::Text => "string",
            Sort::Day => "date",
            Sort::Number => "number",
            Sort::Truth => "boolean",
            Sort::OneOf(words) => {
                constraints.insert("enum".into(), words.into());
                "string"
            }
        };
        if name == "u" {
            constraints.insert("minimum".into(), 0.into());
        }
        let mut field = json!({ "name": name, "type": kind, "description": meaning });
        if let Some(field) = field.as_object_mut() {
            if sort == Sort::Number && decimal_comma {
                field.insert("decimalChar".into(), ",".into());
            }
            if !constraints.is_empty() {
                field.insert("constraints".into(), constraints.into());
            }
        }
        field
    });
    json!({ "fields": fields, "missingValues": [""], "primaryKey": ["trial", "figure"] })
}

/// `datapackage.json` for a CSV file of this name.
pub fn package(path: &str, flavour: Flavour) -> String {
    let dialect = json!({
        "delimiter": flavour.separator().to_string(), "lineTerminator": "\r\n", "quoteChar": "\"", "doubleQuote": true, "header": true,
        "skipInitialSpace": false,
    });
    let resource = json!({
        "name": "figures", "profile": "tabular-data-resource", "path": path, "format": "csv", "mediatype": "text/csv",
        "encoding": "utf-8", "dialect": dialect, "schema": schema(flavour == Flavour::DecimalComma),
    });
    let package = json!({
        "profile": "tabular-data-package",
        "name": "figures",
        "title": "Figures of jump trials: one row a figure of a trial",
        "description": "Texts that a spreadsheet could take for a formula have an apostrophe before them, as have texts that begin with one.",
        "resources": [resource],
    });
    // A value read from this file's own words can always be written.
    serde_json::to_string_pretty(&package).unwrap_or_default() + "\n"
}

/// What stands before the rows of the JSON file: the same package, its rows inside.
pub fn json_head() -> String {
    let schema = schema(false);
    format!(
        "{{\"profile\":\"tabular-data-package\",\"name\":\"figures\",\"resources\":[{{\"name\":\"figures\",\
         \"profile\":\"tabular-data-resource\",\"schema\":{schema},\"data\":["
    )
}

/// Adds a row of the JSON file; `first` is the one without a comma before it.
pub fn json_row(out: &mut String, row: &TidyRow, first: bool) {
    out.push_str(if first { "\n" } else { ",\n" });
    let values = COLUMNS.iter().zip(cells(row)).map(|((name, sort, ..), cell)| {
        let value = match cell {
            Cell::Text("") if *sort == Sort::Day => Value::Null,
            Cell::Text(text) => text.into(),
            // What is no number becomes null.
            Cell::Number(number) => number.into(),
            Cell::Truth(truth) => truth.into(),
        };
        ((*name).to_owned(), value)
    });
    out.push_str(&Value::Object(values.collect()).to_string());
}

/// What stands behind the rows of the JSON file.
pub fn json_tail() -> &'static str {
    "\n]}]}\n"
}
