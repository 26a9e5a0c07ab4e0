//! The sheets of an OpenDocument spreadsheet (.ods) [OASIS OpenDocument 1.3 part 3, table].
use super::office_open::entity;
use super::sheet::{MOST_COLUMNS, Sheet};
use super::zip::Archive;
use crate::recording::ReadError;
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

/// Rows written out that stand in the file once, with a number of repeats.
const MOST_REPEATS: usize = 10_000;

fn attribute(e: &BytesStart, wanted: &str) -> Option<String> {
    let found = e.attributes().with_checks(false).flatten().find(|a| a.key.local_name().as_ref() == wanted)?;
    Some(found.value.into_owned())
}

/// `PT10H02M03.5S` as `10:02:03.5`.
fn duration(text: &str) -> Option<String> {
    let rest = text.strip_prefix("PT")?;
    let (hours, rest) = rest.split_once('H')?;
    let (minutes, rest) = rest.split_once('M')?;
    let seconds = rest.strip_suffix('S')?.replace(',', ".");
    let seconds = if seconds.split('.').next().is_some_and(|w| w.len() < 2) { format!("0{seconds}") } else { seconds };
    Some(format!("{hours:0>2}:{minutes:0>2}:{seconds}"))
}

#[derive(Default)]
struct Cell {
    value: Option<String>,
    text: String,
    repeats: usize,
}

/// The sheet with most rows of numbers, as text.
pub(super) fn to_text(archive: &Archive) -> Result<String, ReadError> {
    let text = archive.text("content.xml").ok_or_else(|| super::damaged("spreadsheet"))?;
    sheets(&text).ok_or_else(|| super::damaged("spreadsheet"))
}

fn begin(e: &BytesStart) -> Cell {
    let value = match attribute(e, "value-type").as_deref() {
        Some("float" | "percentage" | "currency") => attribute(e, "value"),
        Some("time") => attribute(e, "time-value").and_then(|t| duration(&t)),
        Some("date") => attribute(e, "date-value"),
        Some("boolean") => attribute(e, "boolean-value"),
        _ => None,
    };
    Cell { value, text: String::new(), repeats: attribute(e, "number-columns-repeated").and_then(|n| n.parse().ok()).unwrap_or(1) }
}

fn sheets(text: &str) -> Option<String> {
    let mut reader = Reader::from_str(text);
    let mut best = Sheet::default();
    let mut sheet = Sheet::default();
    let mut cell: Option<Cell> = None;
    let mut row: Vec<(usize, String)> = Vec::new();
    let (mut column, mut repeats, mut paragraph) = (0usize, 1usize, false);
    let put = |row: &mut Vec<(usize, String)>, column: &mut usize, cell: Cell| {
        let text = cell.value.unwrap_or(cell.text);
        if !text.is_empty() {
            row.extend((0..cell.repeats.min(MOST_COLUMNS)).map(|k| (*column + k, text.clone())));
        }
        *column = column.saturating_add(cell.repeats);
    };
    loop {
        match reader.read_event().ok()? {
            Event::Start(e) => match e.local_name().as_ref() {
                "table" => sheet = Sheet::default(),
                "table-row" => {
                    (column, repeats) = (0, attribute(&e, "number-rows-repeated").and_then(|n| n.parse().ok()).unwrap_or(1));
                    row.clear();
                }
                "table-cell" | "covered-table-cell" => cell = Some(begin(&e)),
                "p" => paragraph = true,
                _ => {}
            },
            Event::Empty(e) => match e.local_name().as_ref() {
                "table-cell" | "covered-table-cell" => put(&mut row, &mut column, begin(&e)),
                "s" => {
                    if let Some(cell) = &mut cell {
                        cell.text.push(' ');
                    }
                }
                _ => {}
            },
            Event::Text(e) if paragraph => {
                if let Some(cell) = &mut cell {
                    cell.text.push_str(&e);
                }
            }
            Event::GeneralRef(e) if paragraph => {
                if let Some(cell) = &mut cell {
                    cell.text.extend(entity(&e));
                }
            }
            Event::End(e) => match e.local_name().as_ref() {
                "p" => paragraph = false,
                "table-cell" | "covered-table-cell" => {
                    if let Some(cell) = cell.take() {
                        put(&mut row, &mut column, cell);
                    }
                }
                "table-row" => {
                    // Empty rows are repeated to the end of the sheet; a row of values hardly ever.
                    let times = if row.is_empty() { repeats.min(100) } else { repeats.min(MOST_REPEATS) };
                    for _ in 0..times {
                        row.iter().for_each(|(k, text)| sheet.put(*k, text));
                        sheet.end_row(None);
                    }
                }
                "table" => {
                    let done = std::mem::take(&mut sheet);
                    if done.numeric > best.numeric || best.text.is_empty() {
                        best = done;
                    }
                }
                _ => {}
            },
            Event::Eof => return Some(best.text),
            _ => {}
        }
    }
}
