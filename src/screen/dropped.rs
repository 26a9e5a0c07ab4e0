//! Files dropped on an athlete's screen are his, unless their names say somebody else: then the reader is asked, once for all.
use super::filing::{Batch, fetch_first, new_athlete};
use super::history;
use super::keep::keep;
use super::{Effect, Event, Fields, Message, State};
use crate::people::naming::{Named, Pattern, is_a_person, name_key, name_shown};
use std::collections::BTreeMap;

/// Trials of one file that was dropped on one athlete's screen while its name says another.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    /// The file's name.
    pub file: String,
    /// Keys of its trials, unfiled until the reader says.
    pub ids: Vec<String>,
    /// On whose screen it was dropped.
    pub here: String,
    /// Whom its name says, as it would be written.
    pub name: String,
    /// What its name says.
    pub named: Named,
}

/// Whose a file is.
pub enum Whose {
    /// This athlete's.
    Known(String),
    /// Nobody's yet.
    Nobody,
    /// The name says one, the place where it was dropped another.
    Asked(String, String),
}

/// Whose a file is, by its name and by the screen it was dropped on.
pub fn whose(state: &State, named: Option<&Named>, here: Option<&str>) -> Whose {
    let name = named.and_then(|n| n.athlete.as_deref());
    let known = name.and_then(|n| state.athlete_named(n)).map(|a| a.envelope.id.clone());
    let Some(here) = here.filter(|id| state.athletes.get(*id).is_some_and(|a| !a.removed)) else {
        return known.map_or(Whose::Nobody, Whose::Known);
    };
    match name.filter(|name| known.is_some() || is_a_person(name)) {
        None => Whose::Known(here.to_owned()),
        Some(name) if known.as_deref() == Some(here) || name_key(name) == name_key(state.athlete_name(here)) => {
            Whose::Known(here.to_owned())
        }
        Some(name) => Whose::Asked(here.to_owned(), name_shown(name)),
    }
}

/// Asks about a file's trials.
pub fn ask(state: &mut State, file: &str, ids: Vec<String>, here: String, name: String) {
    let named = Pattern::new(&state.pattern).ok().and_then(|p| p.read(file)).unwrap_or_default();
    state.doubts.retain(|d| d.file != file);
    state.doubts.push(Doubt { file: file.to_owned(), ids, here, name, named });
}

/// The field that asks about one name on one athlete's screen.
pub fn field(doubt: &Doubt) -> String {
    format!("whose:{}:{}", doubt.here, name_key(&doubt.name))
}

/// Takes the answers: `here`, `new`, an athlete's key, or nothing (left unfiled, and asked no more).
pub fn answered(state: &mut State, fields: Fields) -> Vec<Effect> {
    // Trials that were taken off the list or filed by hand meanwhile are answered already.
    let open = |id: &&String| state.heads.get(id.as_str()).is_some_and(|h| !h.removed && h.athlete_id.is_empty());
    let doubts: Vec<Doubt> =
        state.doubts.iter().map(|d| Doubt { ids: d.ids.iter().filter(open).cloned().collect(), ..d.clone() }).collect();
    let ids: Vec<String> = doubts.iter().flat_map(|d| d.ids.iter().cloned()).collect();
    if let Some(effects) = fetch_first(state, &ids, Event::Form("whose".into(), String::new(), fields.clone())) {
        return effects;
    }
    let (mut batch, mut made, mut count) = (Batch::default(), BTreeMap::<String, String>::new(), 0);
    for doubt in &doubts {
        let athlete_id = match fields.raw(&field(doubt)) {
            "here" => doubt.here.clone(),
            "new" => match made.get(&name_key(&doubt.name)) {
                Some(id) => id.clone(),
                None => {
                    let athlete = new_athlete(state, &doubt.name);
                    let id = athlete.envelope.id.clone();
                    batch.put(crate::records::Record::Athlete(athlete));
                    made.insert(name_key(&doubt.name), id.clone());
                    id
                }
            },
            id if state.athletes.contains_key(id) => id.to_owned(),
            _ => continue,
        };
        for id in &doubt.ids {
            if let Some(trial) = state.trial(id).cloned() {
                batch.file(state, trial, &athlete_id, Some(&doubt.named), doubt.named.date.or(fields.date("day")));
                count += 1;
            }
        }
    }
    state.doubts.clear();
    let records = batch.done(state);
    if count == 0 {
        state.message = Some(Message { text: "Nothing was filed; the trials are among the unfiled ones.".into(), undo: false });
        return vec![];
    }
    let s = if count == 1 { "" } else { "s" };
    let mut effects = keep(state, Some(format!("{count} trial{s} filed.")), records);
    effects.extend(history::ask(state, &ids));
    effects
}
