//! Layouts that a person confirmed, known again by the fingerprint of their header.
use super::columns::Columns;
use super::look::Look;
use serde::{Deserialize, Serialize};

/// A confirmed layout: what the columns of files with one fingerprint are.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct KnownLayout {
    /// What every file of this layout has in common: the digest of its header.
    pub fingerprint: String,
    /// A name for people: the header's words, or the number of columns.
    pub name: String,
    /// What each column is, as in `answer::Options::columns`.
    pub columns: String,
    /// Sampling rate, Hz, where such files state none.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub rate_hz: Option<f64>,
}

/// What stays the same from file to file of one export: the header's words and units in order, or, without a header, the
/// number of columns, the delimiter and the decimals of each column. FNV-1a of 64 bits as text [Fowler, Noll, Vo; draft-eastlake-fnv].
pub(super) fn fingerprint(look: &Look) -> String {
    let mut text = String::new();
    if look.header.iter().all(String::is_empty) {
        text.push_str(&format!("{} columns, {}, {}", look.units.len(), look.dialect.delimiter, look.dialect.mark));
        look.decimals.iter().for_each(|d| text.push_str(&format!(",{d}")));
    } else {
        for (header, unit) in look.header.iter().zip(&look.units) {
            let words: Vec<String> = header.split_whitespace().map(str::to_lowercase).collect();
            text.push_str(&format!("{}|{unit:?}\n", words.join(" ")));
        }
    }
    let hash = text.bytes().fold(0xCBF2_9CE4_8422_2325_u64, |h, b| (h ^ u64::from(b)).wrapping_mul(0x0000_0100_0000_01B3));
    format!("{hash:016x}")
}

/// What a person would call this layout.
pub(super) fn name(look: &Look) -> String {
    let words: Vec<&str> = look.header.iter().map(String::as_str).filter(|h| !h.is_empty()).collect();
    if words.is_empty() {
        return format!("{} columns without a header", look.units.len());
    }
    let all = words.join(", ");
    if all.chars().count() > 90 { format!("{}…", all.chars().take(90).collect::<String>()) } else { all }
}

/// The confirmed layout of files like this one.
pub(super) fn find<'a>(look: &Look, known: &'a [KnownLayout]) -> Option<&'a KnownLayout> {
    if known.is_empty() {
        return None;
    }
    let fingerprint = fingerprint(look);
    known.iter().find(|k| k.fingerprint == fingerprint)
}

/// Says of columns that they were confirmed before.
pub(super) fn mark(mut columns: Columns, known: Option<&KnownLayout>) -> Columns {
    if known.is_some() {
        columns.sinks.iter_mut().for_each(|s| s.why = "as confirmed before for files with this header".into());
    }
    columns
}
