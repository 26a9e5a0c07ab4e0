//! What `update` asked for, carried out: work for the worker, requests to the store, and what only the browser can do.
use super::app::{dispatch, pending, with_state};
use super::{address, files, given, means, saving, store, tabs, words, worker};
use crate::screen::{Effect, Event};
use crate::views;
use wasm_bindgen::prelude::*;

/// Carries an effect out; what comes of it is an event later.
pub fn run(effect: Effect) {
    match effect {
        Effect::Analyse(key, options) => match given::file(key) {
            Some(file) => worker::read_file(key, &file, &options),
            None => dispatch(Event::WorkerDied(key, "the file is no longer at hand".into())),
        },
        Effect::LetGo => {
            let wanted = |id: &str| with_state(|s| s.unsaved.contains_key(id) || s.not_saved.contains(id)).unwrap_or_default();
            saving::let_go(wanted);
        }
        Effect::Save(records) => store::request(store::Request::Save(records)),
        Effect::LoadWindow(id) => {
            let head = with_state(|state| state.trial(&id).map(|t| t.window.clone())).flatten();
            if let Some(head) = head {
                match saving::waiting(&id, &head) {
                    Some(window) => dispatch(Event::Window(id, Box::new(window))),
                    None => store::request(store::Request::Window(id, Box::new(head))),
                }
            }
        }
        Effect::Address(id) => address::set(&id),
        Effect::Release(key) => given::release(key),
        rarer => run_rarer(rarer),
    }
}

/// Effects that a first visit does without: a function of its own, so that `site/rooms` can tell.
#[inline(never)]
fn run_rarer(effect: Effect) {
    match effect {
        Effect::Look(key, options) => match given::file(key) {
            Some(file) => worker::look(key, &file, &options),
            None => dispatch(Event::Failed("The file is no longer at hand: drop it again.".into())),
        },
        Effect::Demo(key, today) => worker::read_demo(key, today),
        Effect::StopWork => worker::stop(),
        Effect::Purge(ids) => store::request(store::Request::Purge(ids)),
        Effect::Fetch(ids, again) => store::request(store::Request::Fetch(ids, again.0)),
        Effect::Windows(ids) => store::request(store::Request::Windows(ids)),
        Effect::Recompute(ids) => ids.into_iter().for_each(|id| store::request(store::Request::Recompute(id))),
        Effect::Erase(ids, name) => store::request(store::Request::Erase(ids, name)),
        Effect::Remember(name, value) => tabs::remember(name, &value),
        Effect::Backup(name, passphrase) => store::request(store::Request::Backup(name, passphrase)),
        Effect::Compare(passphrase) => with_backup(|file| store::Request::Compare(file, passphrase)),
        Effect::Merge(passphrase, choices) => with_backup(|file| store::Request::Merge(file, passphrase, choices)),
        Effect::Export(name, flavour, json) => store::request(store::Request::Export(name, flavour, json)),
        Effect::AskRoom => room(false),
        Effect::AskDurable => room(true),
        Effect::Watch(on) => watch(on),
        Effect::Pool(columns) => store::request(store::Request::Pool(columns)),
        Effect::Report(coach) => {
            let made = with_state(|state| views::report_file(state, coach)).flatten();
            if let Some((name, text)) = made
                && let Err(error) = files::download(&name, &text)
            {
                dispatch(Event::Failed(format!("The report could not be handed over: {}", words(&error))));
            }
        }
        Effect::Download(name, text) => {
            if let Err(error) = files::download(&name, &text) {
                dispatch(Event::Failed(format!("The file could not be handed over: {}", words(&error))));
            }
        }
        Effect::Print => {
            if let Some(window) = web_sys::window() {
                let _ = window.print();
            }
        }
        // Run by `run`.
        Effect::Analyse(..) | Effect::LetGo | Effect::Save(_) | Effect::LoadWindow(_) | Effect::Address(_) | Effect::Release(_) => {}
    }
}

fn with_backup(request: impl FnOnce(web_sys::File) -> store::Request) {
    match given::backup() {
        Some(file) => store::request(request(file)),
        None => dispatch(Event::Storage(crate::screen::storage::Progress::Failed("Choose a backup first.".into()))),
    }
}

/// Asks how much room there is, and perhaps for the promise to keep the store.
fn room(ask: bool) {
    pending(1);
    wasm_bindgen_futures::spawn_local(async move {
        if let Ok(answer) = means::call("room", &js_sys::Array::of1(&ask.into())).await {
            let answer = js_sys::Array::from(&answer);
            let number = |at: u32| answer.get(at).as_f64().unwrap_or(0.0);
            dispatch(Event::Room(number(0), number(1), answer.get(2).as_bool()));
        }
        pending(-1);
    });
}

/// Chooses a folder and watches it, or stops.
fn watch(on: bool) {
    wasm_bindgen_futures::spawn_local(async move {
        if !on {
            let _ = means::call("unwatch", &js_sys::Array::new()).await;
            return;
        }
        let found = Closure::<dyn Fn(web_sys::File)>::new(|file| dispatch(Event::Appeared(given::kept(vec![file]))));
        let ended = Closure::<dyn Fn(String)>::new(|why: String| {
            dispatch(Event::Watching(None));
            dispatch(Event::Failed(format!("The folder is no longer watched ({why}). Choose it again.")));
        });
        let told = means::call("watch", &js_sys::Array::of2(found.as_ref(), ended.as_ref())).await;
        // The folder is watched for as long as the page is open.
        found.forget();
        ended.forget();
        // Choosing no folder is no failure.
        if let Ok(name) = told {
            dispatch(Event::Watching(name.as_string()));
        }
    });
}
