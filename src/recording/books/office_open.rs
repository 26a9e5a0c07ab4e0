//! The sheets of an Office Open XML workbook (.xlsx) [ECMA-376 part 1, SpreadsheetML].
use super::sheet::{MOST_COLUMNS, Sheet, time_of_day};
use super::zip::Archive;
use crate::recording::ReadError;
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

/// Most strings of the table that sheets share.
const MOST_STRINGS: usize = 2_000_000;

/// The sheet with most rows of numbers, as text.
pub(super) fn to_text(archive: &Archive) -> Result<String, ReadError> {
    let strings = archive.text("xl/sharedStrings.xml").map(|text| shared(&text)).unwrap_or_default();
    let dates = archive.text("xl/styles.xml").map(|text| date_styles(&text)).unwrap_or_default();
    let mut best = Sheet::default();
    for name in archive.names().filter(|n| n.starts_with("xl/worksheets/") && n.ends_with(".xml")).take(50) {
        let Some(text) = archive.text(name) else { return Err(super::damaged("workbook")) };
        let sheet = sheet(&text, &strings, &dates).ok_or_else(|| super::damaged("workbook"))?;
        if sheet.numeric > best.numeric || best.text.is_empty() {
            best = sheet;
        }
    }
    Ok(best.text)
}

fn attribute(e: &BytesStart, name: &str) -> Option<String> {
    e.try_get_attribute(name).ok().flatten().map(|a| a.value.into_owned())
}

/// Characters that stand for others in XML.
pub(super) fn entity(name: &str) -> Option<char> {
    Some(match name {
        "amp" => '&',
        "lt" => '<',
        "gt" => '>',
        "quot" => '"',
        "apos" => '\'',
        _ => {
            let digits = name.strip_prefix('#')?;
            let code = match digits.strip_prefix(['x', 'X']) {
                Some(hex) => u32::from_str_radix(hex, 16).ok()?,
                None => digits.parse().ok()?,
            };
            char::from_u32(code)?
        }
    })
}

/// The strings that cells name by number.
fn shared(text: &str) -> Vec<String> {
    let mut reader = Reader::from_str(text);
    let (mut strings, mut now, mut inside, mut spoken) = (Vec::new(), String::new(), false, false);
    while let Ok(event) = reader.read_event() {
        match event {
            Event::Start(e) => match e.local_name().as_ref() {
                "t" => inside = true,
                // How a word is pronounced is no part of it.
                "rPh" => spoken = true,
                _ => {}
            },
            Event::Text(e) if inside && !spoken => now.push_str(&e),
            Event::GeneralRef(e) if inside && !spoken => now.extend(entity(&e)),
            Event::Empty(e) if e.local_name().as_ref() == "si" => strings.push(String::new()),
            Event::End(e) => match e.local_name().as_ref() {
                "t" => inside = false,
                "rPh" => spoken = false,
                "si" => strings.push(std::mem::take(&mut now)),
                _ => {}
            },
            Event::Eof => break,
            _ => {}
        }
        if strings.len() > MOST_STRINGS {
            break;
        }
    }
    strings
}

/// Which cell styles show a date or a time: the numbers 14–22 and 45–47 [ECMA-376 18.8.30], and formats with hours or years.
fn date_styles(text: &str) -> Vec<bool> {
    let mut reader = Reader::from_str(text);
    let mut custom: Vec<u32> = Vec::new();
    let (mut styles, mut inside) = (Vec::new(), false);
    while let Ok(event) = reader.read_event() {
        match event {
            Event::Start(e) | Event::Empty(e) => match e.local_name().as_ref() {
                "numFmt" => {
                    let code = attribute(&e, "formatCode").unwrap_or_default().to_lowercase().replace("&quot;", "\"");
                    let bare: String = code.split('"').step_by(2).collect();
                    let elapsed = bare.contains("[h") || bare.contains("[m") || bare.contains("[s");
                    let bare: String =
                        bare.split('[').enumerate().map(|(i, p)| if i == 0 { p } else { p.split_once(']').map_or("", |x| x.1) }).collect();
                    if elapsed || bare.contains(['h', 's', 'y']) && !bare.contains("general") {
                        custom.extend(attribute(&e, "numFmtId").and_then(|id| id.parse::<u32>().ok()));
                    }
                }
                "cellXfs" => inside = true,
                "xf" if inside => {
                    let id = attribute(&e, "numFmtId").and_then(|id| id.parse::<u32>().ok()).unwrap_or(0);
                    styles.push(matches!(id, 14..=22 | 45..=47) || custom.contains(&id));
                }
                _ => {}
            },
            Event::End(e) if e.local_name().as_ref() == "cellXfs" => inside = false,
            Event::Eof => break,
            _ => {}
        }
    }
    styles
}

/// Column of a reference such as `AB12`, from 0.
fn column_of(reference: &str) -> Option<usize> {
    let letters = reference.bytes().take_while(u8::is_ascii_alphabetic);
    let number = letters.take(4).fold(0usize, |n, b| n * 26 + usize::from(b.to_ascii_uppercase() - b'A') + 1);
    number.checked_sub(1)
}

fn sheet(text: &str, strings: &[String], dates: &[bool]) -> Option<Sheet> {
    let mut reader = Reader::from_str(text);
    let mut sheet = Sheet::default();
    let (mut row, mut next, mut column) = (None, 0usize, 0usize);
    let (mut kind, mut style) = (String::new(), 0usize);
    let (mut value, mut reading) = (String::new(), false);
    loop {
        match reader.read_event().ok()? {
            Event::Start(e) => match e.local_name().as_ref() {
                "row" => (row, next) = (attribute(&e, "r").and_then(|r| r.parse().ok()), 0),
                "c" => {
                    column = attribute(&e, "r").and_then(|r| column_of(&r)).unwrap_or(next);
                    next = column + 1;
                    kind = attribute(&e, "t").unwrap_or_default();
                    style = attribute(&e, "s").and_then(|s| s.parse().ok()).unwrap_or(0);
                    value.clear();
                }
                "v" | "t" => reading = true,
                // A formula's text is not its value.
                "f" => reading = false,
                _ => {}
            },
            Event::Empty(e) => match e.local_name().as_ref() {
                "row" => sheet.end_row(attribute(&e, "r").and_then(|r| r.parse().ok())),
                "c" => next = attribute(&e, "r").and_then(|r| column_of(&r)).unwrap_or(next) + 1,
                _ => {}
            },
            Event::Text(e) if reading => value.push_str(&e),
            Event::GeneralRef(e) if reading => value.extend(entity(&e)),
            Event::End(e) => match e.local_name().as_ref() {
                "v" | "t" => reading = false,
                "c" if column < MOST_COLUMNS => match kind.as_str() {
                    "s" => {
                        let text = value.trim().parse::<usize>().ok().and_then(|i| strings.get(i));
                        sheet.put(column, text.map_or("", String::as_str));
                    }
                    "" | "n" if dates.get(style) == Some(&true) => {
                        let time = value.trim().parse::<f64>().map_or_else(|_| value.clone(), time_of_day);
                        sheet.put(column, &time);
                    }
                    _ => sheet.put(column, &value),
                },
                "row" => sheet.end_row(row),
                _ => {}
            },
            Event::Eof => return Some(sheet),
            _ => {}
        }
    }
}
