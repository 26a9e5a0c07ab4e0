//! The derived table: brought up to date, and read.
use super::database::{DIRTY, TABLE, TRIALS, batch, commit, delete, get, get_each, keys, put, store, text, transaction};
use super::store::fetch;
use crate::records::{Pool, heads_from_bytes, heads_to_bytes, table};
use js_sys::Uint8Array;
use std::collections::BTreeSet;
use wasm_bindgen::prelude::*;

/// Brings the derived table up to date with the trials that are newer than it.
///
/// # Errors
/// When the store does not open, or the browser fails to read or write; the table stays as it was.
pub async fn renew() -> Result<(), String> {
    let reading = transaction(&[TABLE, DIRTY], false).await?;
    let heads = get(&store(&reading, TABLE)?, "heads").await?.and_then(|b| b.dyn_into::<Uint8Array>().ok());
    let dirty = batch(DIRTY, None, u32::MAX).await?;
    let old = heads.and_then(|bytes| heads_from_bytes(&bytes.to_vec()));
    let (old, changed) = match old {
        Some(old) => (old, dirty.iter().map(|(id, _)| id.clone()).collect()),
        // From nothing: every trial is newer.
        None => (Vec::new(), keys(TRIALS).await?),
    };
    let (trials, lost) = fetch(&changed).await;
    let gone: BTreeSet<String> = lost.into_iter().map(|(id, _)| id).collect();
    let renewal = table::renew(&old, &trials, &gone);
    let mut figures = table::figures(&trials);
    figures.extend(keys(TABLE).await?.into_iter().filter_map(|k| k.strip_prefix("figure:").map(str::to_owned)));
    let heads = Uint8Array::from(heads_to_bytes(renewal.heads.iter()).as_slice());
    let writing = transaction(&[TABLE, DIRTY], true).await?;
    let (table, marks) = (store(&writing, TABLE)?, store(&writing, DIRTY)?);
    let ids: Vec<&str> = dirty.iter().map(|(id, _)| id.as_str()).collect();
    let now = get_each(&marks, &ids).await?;
    for figure in &figures {
        let key = format!("figure:{figure}");
        let before = get(&table, &key).await?.and_then(|c| c.dyn_into::<js_sys::Float64Array>().ok());
        let column = renewal.column(figure, &before.map(|c| c.to_vec()).unwrap_or_default(), &trials);
        put(&table, &key, &js_sys::Float64Array::from(column.as_slice()))?;
    }
    put(&table, "heads", &heads)?;
    for ((id, mark), now) in dirty.iter().zip(now) {
        // What another tab saved meanwhile stays marked.
        if now.as_ref() == Some(mark) {
            delete(&marks, id)?;
        }
    }
    commit(writing).await
}

/// Heads and the columns asked for, with trials that are newer than the table laid over it in memory: the table itself is
/// rewritten once a visit at most, not whenever an athlete is looked at.
///
/// # Errors
/// When the store does not open, or the browser fails to read.
pub async fn pool(columns: &[String]) -> Result<Pool, String> {
    let reading = transaction(&[TABLE, DIRTY], false).await?;
    let stored = store(&reading, TABLE)?;
    let names: Vec<String> = columns.iter().map(|id| format!("figure:{id}")).collect();
    let names: Vec<&str> = core::iter::once("heads").chain(names.iter().map(String::as_str)).collect();
    let mut found = get_each(&stored, &names).await?.into_iter();
    let dirty = store(&reading, DIRTY)?.get_all_keys(None, None).map_err(text)?.await.map_err(text)?;
    let heads = found.next().flatten().and_then(|b| b.dyn_into::<Uint8Array>().ok());
    let heads = heads.and_then(|bytes| heads_from_bytes(&bytes.to_vec()));
    let changed = match &heads {
        Some(_) => dirty.iter().filter_map(JsValue::as_string).collect(),
        None => keys(TRIALS).await?,
    };
    let (newer, lost) = fetch(&changed).await;
    let gone: BTreeSet<String> = lost.into_iter().map(|(id, _)| id).collect();
    let renewal = table::renew(&heads.unwrap_or_default(), &newer, &gone);
    let column = |value: Option<JsValue>| value.and_then(|c| c.dyn_into::<js_sys::Float64Array>().ok()).map(|c| c.to_vec());
    let renewed = |(id, value): (&String, Option<JsValue>)| (id.clone(), renewal.column(id, &column(value).unwrap_or_default(), &newer));
    let columns = columns.iter().zip(found).map(renewed).collect();
    Ok(Pool { heads: renewal.heads, columns })
}
