//! Forms and buttons → what they do; those about people, days and plates are taken in by [`forms`].
use super::filing::{file_by_names, file_under};
use super::storage::Choices;
use super::trials::outdated;
use super::update::IMPERIAL;
use super::{Effect, Fields, List, State, dropped, forms, place, plan, references, stated, tables};
use crate::people::naming::Pattern;
use crate::records::Record;
use crate::records::tidy::Flavour;

/// Takes a form in.
pub fn form_sent(state: &mut State, form: &str, id: String, fields: Fields) -> Vec<Effect> {
    match form {
        "file-under" => file_under(state, id, fields.raw("athlete"), fields.date("date")),
        "file-names" => file_by_names(state, fields),
        "whose" => dropped::answered(state, fields),
        "pattern" => {
            state.pattern = fields.text("pattern");
            let fits = Pattern::new(&state.pattern).is_ok();
            if fits { vec![Effect::Remember("pattern", state.pattern.clone())] } else { vec![] }
        }
        "list" => {
            state.list = List::of(&fields);
            vec![]
        }
        "units" => {
            state.locale.imperial = fields.raw("units") == IMPERIAL;
            vec![Effect::Remember("units", if state.locale.imperial { IMPERIAL.into() } else { String::new() })]
        }
        "place" => place::sent(state, &fields),
        "protocol" => stated::sent(state, &id, &fields),
        "backup" => {
            state.storage.busy = Some("Writing the backup …".into());
            state.storage.outcome = None;
            vec![Effect::Backup(format!("tarsal-{}.tarsal-backup", state.today), fields.raw("passphrase").to_owned())]
        }
        "compare" => {
            state.storage.busy = Some("Comparing the file with what is here …".into());
            state.storage.outcome = None;
            state.storage.passphrase = fields.raw("passphrase").to_owned();
            vec![Effect::Compare(state.storage.passphrase.clone())]
        }
        "merge" => {
            if state.storage.compared.is_none() {
                return vec![];
            }
            state.storage.busy = Some("Taking the file in …".into());
            let ticked = |name| fields.all(name).map(str::to_owned).collect();
            vec![Effect::Merge(state.storage.passphrase.clone(), Choices { theirs: ticked("theirs"), back: ticked("back") })]
        }
        "export" => {
            let flavour = if fields.raw("flavour") == "comma" { Flavour::DecimalComma } else { Flavour::Plain };
            let json = fields.raw("form") == "json";
            if let Some(what) = tables::What::of(fields.raw("table")) {
                return tables::squad(state, what, flavour, json);
            }
            let end = if json { "json" } else { "csv" };
            state.storage.busy = Some("Writing the table …".into());
            vec![Effect::Export(format!("tarsal-figures-{}.{end}", state.today), flavour, json)]
        }
        other => super::columns::sent(state, other, &id, &fields)
            .or_else(|| plan::sent(state, other, &id, &fields))
            .or_else(|| references::sent(state, other, &fields))
            .or_else(|| tables::sent(state, other, &fields))
            .unwrap_or_else(|| forms::sent(state, other, id, &fields)),
    }
}

/// Takes a button in.
pub fn pressed(state: &mut State, what: &str, id: String) -> Vec<Effect> {
    match what {
        "more" => {
            state.list.more = state.list.more.saturating_add(1);
            vec![]
        }
        "durable" => {
            state.storage.asked = true;
            vec![Effect::AskDurable]
        }
        "save-again" => {
            let records: Vec<Record> = state.not_saved.iter().filter_map(|id| state.record(id)).collect();
            for record in &records {
                *state.unsaved.entry(record.id().to_owned()).or_insert(0) += 1;
            }
            state.troubles.clear();
            if records.is_empty() { vec![] } else { vec![Effect::Save(records)] }
        }
        "watch" => vec![Effect::Watch(true)],
        "unwatch" => {
            state.watching = None;
            vec![Effect::Watch(false)]
        }
        "recompute" => {
            let ids = outdated(state);
            if ids.is_empty() { vec![] } else { vec![Effect::Recompute(ids)] }
        }
        "merge-no" => {
            state.storage.compared = None;
            state.storage.passphrase.clear();
            vec![]
        }
        other => super::columns::pressed(state, other, &id)
            .or_else(|| plan::pressed(state, other, &id))
            .or_else(|| references::pressed(state, other, &id))
            .or_else(|| super::set::pressed(state, other, &id))
            .or_else(|| super::history::pressed(state, other, &id))
            .unwrap_or_else(|| forms::pressed(state, other, id)),
    }
}
