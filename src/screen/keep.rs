//! The one way a record changes: as its next version, saved, with the version before it kept for undo.
use super::{Change, Effect, Message, State, history};
use crate::records::{Envelope, Record, SCHEMA};

/// Changes that can be taken back.
const MOST_UNDO: usize = 100;

/// Puts records into the state as their next versions and asks for one save of all of them. With `words` the change
/// can be taken back. Records that are as they were are left alone.
pub fn keep(state: &mut State, words: Option<String>, records: Vec<Record>) -> Vec<Effect> {
    let (saves, before) = next_versions(state, records);
    if saves.is_empty() {
        return vec![];
    }
    if let Some(words) = words {
        state.undo.push(Change { words: words.clone(), before });
        if state.undo.len() > MOST_UNDO {
            state.undo.remove(0);
        }
        state.message = Some(Message { text: words, undo: true });
    }
    vec![Effect::Save(saves)]
}

/// Puts records into the state as their next versions; gives those that are to be saved.
pub fn next(state: &mut State, records: Vec<Record>) -> Vec<Record> {
    next_versions(state, records).0
}

type Before = Vec<(String, Option<Record>)>;

fn next_versions(state: &mut State, records: Vec<Record>) -> (Vec<Record>, Before) {
    let (mut saves, mut before) = (Vec::new(), Vec::new());
    for mut record in records {
        let id = record.id().to_owned();
        let old = state.record(&id);
        if old.as_ref() == Some(&record) {
            continue;
        }
        // A trial that is not at hand whole still has its number of saves in the list.
        let stored_rev = old.as_ref().map(|r| r.envelope().rev).or_else(|| state.heads.get(id.as_str()).map(|h| h.rev)).unwrap_or(0);
        let kind = record.envelope().kind.clone();
        let envelope = record.envelope_mut();
        envelope.rev = stored_rev + 1;
        envelope.schema = SCHEMA;
        envelope.updated.clone_from(&state.now);
        envelope.made_by = Envelope::new(&kind, &id, "", "").made_by;
        *state.unsaved.entry(id.clone()).or_insert(0) += 1;
        state.insert(record.clone());
        before.push((id, old));
        saves.push(record);
    }
    (saves, before)
}

/// Takes the last change back, as new versions of what was before it.
pub fn undo(state: &mut State) -> Vec<Effect> {
    let Some(Change { words, before }) = state.undo.pop() else { return vec![] };
    let asked = history::moved_by(state, &before);
    let restored = before.into_iter().filter_map(|(id, before)| match before {
        Some(record) => Some(record),
        None => {
            let mut made = state.record(&id)?;
            made.set_removed(true);
            Some(made)
        }
    });
    let restored: Vec<Record> = restored.collect();
    let (saves, _) = next_versions(state, restored);
    for record in &saves {
        if let (Record::Trial(trial), Some(open)) = (record, state.open.as_mut())
            && open.id == trial.envelope.id
        {
            open.refresh(trial);
        }
    }
    state.message = Some(Message { text: format!("Undone: {words}"), undo: !state.undo.is_empty() });
    let mut effects = if saves.is_empty() { vec![] } else { vec![Effect::Save(saves)] };
    effects.extend(history::ask(state, &asked));
    effects
}
