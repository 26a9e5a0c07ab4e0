//! What a person states of a trial that its figures depend on: the test, the leg, the load, the box, the body mass. Typed in
//! the trial's form or told by its file's name, it is read with; a trial that was read otherwise is read again.
use super::filing::keep_trials;
use super::history;
use super::keep::keep;
use super::{Effect, Fields, Message, State};
use crate::answer::{self, METHOD_VERSION, Options, TYPED, TestKind, Trial, reread_or_why};
use crate::people::{Hands, Protocol, Side};
use crate::records::{Record, SavedTrial};
use std::collections::BTreeMap;
use std::rc::Rc;

/// A leg, as forms say it.
pub fn side_of(word: &str) -> Option<Side> {
    match word {
        "left" => Some(Side::Left),
        "right" => Some(Side::Right),
        "both" => Some(Side::Both),
        _ => None,
    }
}

/// A leg, as the analysis takes it.
pub fn leg(side: Side) -> answer::Side {
    match side {
        Side::Left => answer::Side::Left,
        Side::Right => answer::Side::Right,
        Side::Both => answer::Side::Both,
    }
}

/// Puts what the protocol states into the options that the trial is read with.
pub fn into_options(saved: &mut SavedTrial) {
    let (said, options) = (&saved.protocol, &mut saved.options);
    options.load_kg = (said.load_kg > 0.0).then_some(said.load_kg);
    options.box_m = said.box_m;
    options.side = said.side.map(leg);
}

/// Whether a trial's figures are what its options ask for, as far as can be seen.
pub fn read_so(trial: &Trial, options: &Options) -> bool {
    let near = |a: f64, b: f64, by: f64| (a - b).abs() < by;
    // A mass that is stated no more must not go on weighing.
    let typed = trial.weighing.as_ref().is_some_and(|w| w.source == TYPED) || trial.notices.iter().any(|n| n.code == "mass_differs");
    let boxed = match (trial.drop.as_ref().map(|d| d.box_m), options.box_m) {
        (None, _) | (Some(None), None) => true,
        (Some(Some(read)), Some(said)) => near(read, said, 0.001),
        _ => false,
    };
    near(trial.load_kg, options.load_kg.unwrap_or(0.0), 0.01)
        && boxed
        && options.side.is_none_or(|side| trial.side == side.word())
        && options.test.is_none_or(|test| trial.test == test)
        && (!typed || options.mass_kg.is_some())
}

/// A number that may be left out. None where it is no number, or none that can be.
fn amount(fields: &Fields, name: &str, least: f64, most: f64) -> Option<Option<f64>> {
    if fields.text(name).is_empty() {
        return Some(None);
    }
    fields.number(name).filter(|v| (least..=most).contains(v)).map(Some)
}

/// What the form says; in words what it cannot mean.
fn form(fields: &Fields) -> Result<(Protocol, Option<f64>, Option<TestKind>), &'static str> {
    let load = amount(fields, "load_kg", 0.0, 500.0).ok_or("The load is a number from 0 to 500 kg.")?;
    let box_cm = amount(fields, "box_cm", 1.0, 200.0).ok_or("The box is a number from 1 to 200 cm.")?;
    let mass_kg = amount(fields, "mass_kg", 20.0, 300.0).ok_or("The body mass is a number from 20 to 300 kg.")?;
    let protocol = Protocol {
        hands: match fields.raw("hands") {
            "hips" => Some(Hands::Hips),
            "free" => Some(Hands::Free),
            "bar" => Some(Hands::Bar),
            _ => None,
        },
        cue: fields.text("cue"),
        depth_rule: fields.text("depth_rule"),
        footwear: fields.text("footwear"),
        load_kg: load.unwrap_or(0.0),
        box_m: box_cm.map(|cm| cm / 100.0),
        side: side_of(fields.raw("side")),
    };
    Ok((protocol, mass_kg, TestKind::READABLE.into_iter().find(|k| k.id() == fields.raw("test"))))
}

/// Says how a trial was done, and what it was; what its figures depend on is read with at once. One step back for undo.
pub fn sent(state: &mut State, id: &str, fields: &Fields) -> Vec<Effect> {
    let Some(saved) = state.trial(id).cloned() else { return vec![] };
    let (protocol, mass_kg, test) = match form(fields) {
        Ok(said) => said,
        Err(why) => {
            state.message = Some(Message { text: format!("{why} Nothing was changed."), undo: false });
            return vec![];
        }
    };
    let mut said = saved.clone();
    said.set_protocol(protocol.clone());
    into_options(&mut said);
    (said.options.mass_kg, said.options.test) = (mass_kg, test);
    let as_read = said.options == saved.options && read_so(&saved.trial, &said.options);
    let window = state.open.as_ref().filter(|o| o.id == id).and_then(|o| o.window.clone());
    let mut effects = match window {
        _ if as_read => keep(state, Some("Protocol noted.".into()), vec![Record::Trial(Rc::new(said))]),
        Some(window) => {
            let mut read = reread_or_why(&window, &said.options);
            if let Ok(trial) = &read
                && trial.edited_events.iter().any(|e| !trial.events.contains_key(&e.event))
            {
                // Another test has other events: those that it does not know cannot stay moved.
                said.options.edits.retain(|e| trial.events.contains_key(&e.event));
                read = reread_or_why(&window, &said.options);
            }
            match read {
                Ok(mut trial) => {
                    history::carry(&saved.trial, &mut trial);
                    said.trial = trial;
                }
                Err(why) => {
                    state.message = Some(Message { text: format!("Nothing was changed: {why}."), undo: false });
                    return vec![];
                }
            }
            said.envelope.method = METHOD_VERSION.into();
            let effects = keep_trials(state, Some("Noted, and the trial read again with it.".into()), vec![said]);
            if let (Some(open), Some(now)) = (state.open.as_mut(), state.saved.get(id)) {
                open.refresh(now);
            }
            // What the day said of the weight is asked anew.
            effects.into_iter().chain(history::ask(state, &[id.to_owned()])).collect()
        }
        // Its force is not here: it is read again where the store is.
        None => {
            let mut effects = keep(state, Some("Noted.".into()), vec![Record::Trial(Rc::new(said))]);
            effects.push(Effect::Recompute(vec![id.to_owned()]));
            effects
        }
    };
    effects.extend(remember(state, id, protocol));
    effects
}

/// Remembers a protocol as the one last used for its test, in this browser.
fn remember(state: &mut State, id: &str, said: Protocol) -> Option<Effect> {
    let test = state.trial(id)?.trial.test;
    let said = Protocol { load_kg: 0.0, ..said };
    if said == Protocol::default() || state.protocols.get(test.id()) == Some(&said) {
        return None;
    }
    state.protocols.insert(test.id().into(), said);
    Some(Effect::Remember("protocols", serde_json::to_string(&state.protocols).ok()?))
}

/// Takes in what this browser remembers of an earlier visit.
#[inline(never)]
pub fn remembered(state: &mut State, text: &str) {
    if let Ok(protocols) = serde_json::from_str::<BTreeMap<String, Protocol>>(text) {
        state.protocols = protocols;
    }
}

/// The protocol last used for a test, to be offered for the next trial of it: of this visit, else as remembered here.
pub fn last_protocol(state: &State, of: &SavedTrial) -> Option<Protocol> {
    if let Some(last) = state.protocols.get(of.trial.test.id()) {
        return Some(last.clone());
    }
    let said = |t: &&SavedTrial| t.trial.test == of.trial.test && t.envelope.id != of.envelope.id && !t.removed;
    let with_words = |t: &&SavedTrial| Protocol { load_kg: 0.0, ..t.protocol.clone() } != Protocol::default();
    let last = state.trials().filter(said).filter(with_words).max_by(|a, b| a.envelope.updated.cmp(&b.envelope.updated));
    last.map(|t| t.protocol.clone())
}
