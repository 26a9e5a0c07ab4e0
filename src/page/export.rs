//! Tables for other programs, written piece by piece.
use super::app::with_state;
use super::backup::Growing;
use super::store::each_trial;
use super::{files, words};
use crate::records::backup::FRAME_BYTES;
use crate::records::tidy::{self, Flavour};
use std::collections::BTreeMap;

/// Writes all figures as a table and hands it over.
///
/// # Errors
/// In words.
pub async fn write(name: &str, flavour: Flavour, json: bool) -> Result<String, String> {
    let (names, days): (BTreeMap<String, String>, BTreeMap<String, String>) = with_state(|s| {
        let names = s.athletes.iter().map(|(id, a)| (id.clone(), a.body.name.clone())).collect();
        (names, s.sessions.iter().map(|(id, d)| (id.clone(), d.body.date.to_string())).collect())
    })
    .unwrap_or_default();
    let mut file = Growing::new();
    let mut pending = String::new();
    if json {
        let description = tidy::description(name, Flavour::Plain).to_string();
        pending.push_str(description.strip_suffix('}').unwrap_or_default());
        pending.push_str(",\"data\":[");
    } else {
        // The mark by which spreadsheets know UTF-8.
        pending.push('\u{feff}');
        pending.push_str(&tidy::header(flavour));
    }
    let (mut first, mut trials, mut failed) = (true, 0, None);
    each_trial(|trial| {
        let Ok(trial) = trial else { return };
        if trial.removed {
            return;
        }
        let of = |map: &BTreeMap<String, String>, id: &Option<String>| id.as_ref().and_then(|id| map.get(id)).cloned().unwrap_or_default();
        let (athlete, day) = (of(&names, &trial.athlete_id), of(&days, &trial.session_id));
        if json {
            for row in tidy::cells(&trial, &athlete, &day) {
                pending.push_str(if first { "\n" } else { ",\n" });
                first = false;
                pending.push_str(&serde_json::to_string(&row).unwrap_or_default());
            }
        } else {
            tidy::rows(&mut pending, &trial, &athlete, &day, flavour);
        }
        trials += 1;
        if pending.len() > FRAME_BYTES {
            failed = file.push(pending.as_bytes()).err().or(failed.take());
            pending.clear();
        }
    })
    .await?;
    if json {
        pending.push_str("\n]}\n");
    }
    file.push(pending.as_bytes())?;
    if let Some(why) = failed {
        return Err(why);
    }
    files::hand_over(name, &file.finish()?).map_err(|e| words(&e))?;
    Ok(format!("The table {name} holds the figures of {trials} trials."))
}
