//! Older forms of the database brought to this version's.
use super::database::{BOOK, DIRTY, OLD, TRIALS, batch, commit, get_each, put, store, text, transaction};
use crate::records::{Record, decode_trial, migrate};
use std::collections::BTreeMap;

/// Form 1 → form 2: copied, read back, and only then is the old copy let go. Stopped half-way it begins again.
///
/// # Errors
/// When the browser fails to read or write, or what was copied does not read back; the old copy stays.
pub async fn migrate_all() -> Result<(), String> {
    let old = batch(OLD, None, u32::MAX).await?;
    let mut names: BTreeMap<String, String> = BTreeMap::new();
    let mut moved: Vec<(String, String)> = Vec::with_capacity(old.len());
    for (id, value) in &old {
        let before = value.as_string().unwrap_or_default();
        if let Some(name) = migrate::name_in(&before) {
            names.entry(migrate::athlete_id_of(&name)).or_insert(name);
        }
        // What cannot be opened, or is newer, goes over byte for byte.
        moved.push((id.clone(), decode_trial(&before).map_or(before, |trial| trial.to_text())));
    }
    let now = String::from(js_sys::Date::new_0().to_iso_string());
    let writing = transaction(&[TRIALS, BOOK, DIRTY], true).await?;
    let (trials, book, dirty) = (store(&writing, TRIALS)?, store(&writing, BOOK)?, store(&writing, DIRTY)?);
    let known: Vec<&str> = names.keys().map(String::as_str).collect();
    let known = get_each(&book, &known).await?;
    for (id, text) in &moved {
        put(&trials, id, &text.as_str().into())?;
        put(&dirty, id, &1.0.into())?;
    }
    for ((id, name), known) in names.iter().zip(known) {
        if known.is_none() {
            put(&book, id, &Record::Athlete(migrate::athlete(name, &now)).to_text().as_str().into())?;
        }
    }
    commit(writing).await?;
    let reading = transaction(&[TRIALS], false).await?;
    let ids: Vec<&str> = moved.iter().map(|(id, _)| id.as_str()).collect();
    let back = get_each(&store(&reading, TRIALS)?, &ids).await?;
    if !moved.iter().zip(back).all(|((_, text), back)| back.and_then(|b| b.as_string()).as_ref() == Some(text)) {
        return Err("the records could not be brought to this version’s form; they are left as they were".into());
    }
    let writing = transaction(&[OLD], true).await?;
    store(&writing, OLD)?.clear().map_err(text)?;
    commit(writing).await
}
