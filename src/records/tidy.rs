//! Tables for other programs: one row a figure of a trial, as CSV, and the same with its description as JSON
//! [Frictionless Table Schema: a data resource's `schema` and `dialect`]. Text that a spreadsheet would take for a formula is
//! written with an apostrophe before it.
use super::SavedTrial;
use crate::answer::Verdict;
use crate::cohort::export::{Column, VERSION};
use core::fmt::Write;
use serde_json::{Value, json};

/// How the CSV is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Flavour {
    /// Commas between fields, points in numbers.
    Plain,
    /// Semicolons between fields, commas in numbers: what spreadsheets expect in decimal-comma countries.
    DecimalComma,
}

/// Name, type and meaning of each column.
const FIELDS: [(&str, &str, &str); 14] = [
    ("athlete", "string", "Name or code"),
    ("session", "date", "Day of the session"),
    ("test", "string", "Test, as in the document"),
    ("side", "string", "left, right or both"),
    ("protocol", "string", "What must agree for trials to be pooled"),
    ("trial", "string", "Key of the trial"),
    ("file", "string", "Name of the file"),
    ("verdict", "string", "sound, doubtful or unusable"),
    ("moved_by_hand", "boolean", "Whether events were moved by hand"),
    ("invented", "boolean", "Whether it is invented demo data"),
    ("figure", "string", "Figure, as in the catalogue"),
    ("value", "number", "Value in the unit"),
    ("u", "number", "Standard uncertainty of the measurement (k = 1)"),
    ("unit", "string", "SI unit; empty for ratios"),
];

/// The header line.
pub fn header(flavour: Flavour) -> String {
    let names: Vec<&str> = FIELDS.iter().map(|(name, ..)| *name).collect();
    names.join(if flavour == Flavour::Plain { "," } else { ";" }) + "\r\n"
}

/// Writes a trial's rows.
pub fn rows(out: &mut String, saved: &SavedTrial, athlete: &str, session: &str, flavour: Flavour) {
    let separator = if flavour == Flavour::Plain { ',' } else { ';' };
    for cells in cells(saved, athlete, session) {
        for (i, cell) in cells.iter().enumerate() {
            if i > 0 {
                out.push(separator);
            }
            match cell {
                Value::String(text) => field(out, text, separator),
                Value::Number(number) if flavour == Flavour::DecimalComma => out.push_str(&number.to_string().replace('.', ",")),
                Value::Null => {}
                // Writing to a String cannot fail.
                other => drop(write!(out, "{other}")),
            }
        }
        out.push_str("\r\n");
    }
}

/// A trial's rows as values, for the JSON table.
pub fn cells(saved: &SavedTrial, athlete: &str, session: &str) -> Vec<Vec<Value>> {
    let test = serde_json::to_value(saved.trial.test).unwrap_or_default();
    let verdict = match saved.trial.verdict {
        Verdict::Sound => "sound",
        Verdict::Doubtful => "doubtful",
        Verdict::Unusable => "unusable",
    };
    let row = |(id, figure): (&String, &crate::answer::Figure)| {
        vec![
            json!(athlete),
            if session.is_empty() { Value::Null } else { json!(session) },
            test.clone(),
            json!(saved.trial.side),
            json!(saved.protocol_key),
            json!(saved.envelope.id),
            json!(saved.file),
            json!(verdict),
            json!(!saved.trial.edited_events.is_empty()),
            json!(saved.invented),
            json!(id),
            json!(figure.value),
            json!(figure.u),
            json!(figure.unit),
        ]
    };
    saved.trial.figures.iter().map(row).collect()
}

/// The description of the table, before its rows: a data resource of the Frictionless standard.
pub fn description(path: &str, flavour: Flavour) -> Value {
    let fields: Vec<Value> = FIELDS
        .iter()
        .map(|(name, kind, what)| match (*kind, flavour) {
            ("number", Flavour::DecimalComma) => json!({ "name": name, "type": kind, "description": what, "decimalChar": "," }),
            _ => json!({ "name": name, "type": kind, "description": what }),
        })
        .collect();
    json!({
        "profile": "tabular-data-resource",
        "name": "trials",
        "path": path,
        "encoding": "utf-8",
        "dialect": { "delimiter": if flavour == Flavour::Plain { "," } else { ";" } },
        "schema": { "fields": fields, "primaryKey": ["trial", "figure"], "missingValues": [""] }
    })
}

/// A table of [`crate::cohort::export`] as CSV, with the mark by which spreadsheets know UTF-8.
pub fn resource_csv(columns: &[Column], rows: &[Vec<String>], flavour: Flavour) -> String {
    let separator = if flavour == Flavour::Plain { ',' } else { ';' };
    let names: Vec<&str> = columns.iter().map(|c| c.name).collect();
    let mut out = format!("\u{feff}{}\r\n", names.join(&separator.to_string()));
    for row in rows {
        for (i, (cell, column)) in row.iter().zip(columns).enumerate() {
            if i > 0 {
                out.push(separator);
            }
            match column.kind {
                "string" => field(&mut out, cell, separator),
                "number" if flavour == Flavour::DecimalComma => out.push_str(&cell.replace('.', ",")),
                _ => out.push_str(cell),
            }
        }
        out.push_str("\r\n");
    }
    out
}

/// The same as JSON: the description, and the rows under `data`, each beginning with the names once.
pub fn resource_json(name: &str, path: &str, columns: &[Column], rows: &[Vec<String>]) -> String {
    let typed = |(cell, column): (&String, &Column)| match column.kind {
        _ if cell.is_empty() => Value::Null,
        "string" | "date" => json!(cell),
        // What no parser takes would be this file's own fault, and stays readable as text.
        _ => serde_json::from_str(cell).unwrap_or_else(|_| json!(cell)),
    };
    let data = rows.iter().map(|row| Value::Array(row.iter().zip(columns).map(typed).collect()));
    let names = Value::Array(columns.iter().map(|c| json!(c.name)).collect());
    let mut all = resource(name, path, columns, Flavour::Plain);
    if let Some(all) = all.as_object_mut() {
        all.remove("path");
        all.remove("dialect");
        all.insert("data".into(), core::iter::once(names).chain(data).collect());
    }
    all.to_string()
}

/// The description of such a table: a data resource of the Frictionless standard.
pub fn resource(name: &str, path: &str, columns: &[Column], flavour: Flavour) -> Value {
    let comma = |c: &Column| c.kind == "number" && flavour == Flavour::DecimalComma;
    let fields = columns.iter().map(|c| {
        let mut field = json!({ "name": c.name, "type": c.kind, "description": c.meaning });
        if let Some(field) = field.as_object_mut().filter(|_| comma(c)) {
            field.insert("decimalChar".into(), json!(","));
        }
        field
    });
    json!({
        "profile": "tabular-data-resource",
        "name": name,
        "path": path,
        "version": VERSION.to_string(),
        "encoding": "utf-8",
        "dialect": { "delimiter": if flavour == Flavour::Plain { "," } else { ";" } },
        "schema": { "fields": fields.collect::<Vec<Value>>(), "missingValues": [""] }
    })
}

/// A text field: no formula, quoted where it must be.
fn field(out: &mut String, text: &str, separator: char) {
    let formula = text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n', '\'', '＝', '＋', '－', '＠']);
    let quoted = text.contains(['"', '\n', '\r', ';', ',', '\t']) || text.contains(separator);
    if quoted {
        out.push('"');
    }
    if formula {
        out.push('\'');
    }
    if quoted {
        out.push_str(&text.replace('"', "\"\""));
        out.push('"');
    } else {
        out.push_str(text);
    }
}
