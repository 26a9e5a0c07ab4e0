//! Tables of published groups: taken in as text, kept as records, taken away again.
use super::keep::keep;
use super::{Effect, Fields, Message, State};
use crate::cohort::reference::{Reference, References, read};
use crate::records::{Kept, Record};

/// Letters of a table that are read; a published table is a few lines.
const MOST: usize = 200_000;
/// Lines told that were not taken.
const TOLD: usize = 20;

/// Takes a form in; `None` where it is another's.
pub fn sent(state: &mut State, form: &str, fields: &Fields) -> Option<Vec<Effect>> {
    if form != "reference" {
        return None;
    }
    let text: String = fields.raw("table").chars().take(MOST).collect();
    let (mut rows, errors) = read(&text);
    state.not_taken = errors.iter().take(TOLD).map(ToString::to_string).collect();
    // A text that is sent again after one line was put right brings only that line.
    let here: Vec<Reference> = state.references.values().filter(|r| !r.removed).flat_map(|r| r.body.rows.clone()).collect();
    rows.retain(|row| !here.contains(row));
    if rows.is_empty() {
        let words = if errors.is_empty() { "Nothing new: these lines are here already." } else { "No line was taken in." };
        state.message = Some(Message { text: words.into(), undo: false });
        return Some(vec![]);
    }
    let words = format!("{} line{} of published groups taken in.", rows.len(), if rows.len() == 1 { "" } else { "s" });
    let id = state.new_id("reference");
    let record = Kept::new("reference", &id, References { rows }, &state.now);
    Some(keep(state, Some(words), vec![Record::Reference(record)]))
}

/// Takes a button in; `None` where it is another's.
pub fn pressed(state: &mut State, what: &str, id: &str) -> Option<Vec<Effect>> {
    if what != "remove-reference" {
        return None;
    }
    let Some(mut record) = state.references.get(id).cloned() else { return Some(vec![]) };
    record.removed = true;
    Some(keep(state, Some("Published groups removed.".into()), vec![Record::Reference(record)]))
}

/// Rows of one test, of every table that is not removed.
pub fn of_test(state: &State, test: &str) -> Vec<Reference> {
    let live = state.references.values().filter(|r| !r.removed).flat_map(|r| &r.body.rows);
    live.filter(|r| r.test == test).cloned().collect()
}
