//! The one owner of the state. Handlers only queue events; they are taken in one after another in a
//! microtask, so `update` is never entered twice, whatever the browser fires while the page is patched.
use super::{files, listen, means, patch, store, tabs, tasks, words, worker};
use crate::charts::number::Locale;
use crate::people::Date;
use crate::screen::{Effect, Event, State, update};
use crate::views;
use std::cell::{Cell, RefCell};
use std::collections::{BTreeMap, VecDeque};
use wasm_bindgen::prelude::*;
use web_sys::{Document, Element, Window};

struct App {
    state: RefCell<State>,
    queue: RefCell<VecDeque<Event>>,
    scheduled: Cell<bool>,
    /// Requests to the store that are under way.
    pending: Cell<usize>,
    /// While an event is dragged the trace belongs to the hand: nothing is patched.
    held: Cell<bool>,
    files: RefCell<BTreeMap<u32, web_sys::File>>,
    /// The backup that was chosen.
    backup: RefCell<Option<web_sys::File>>,
    next_key: Cell<u32>,
    shown: RefCell<String>,
    screen: RefCell<crate::screen::Screen>,
    /// Who waits until nothing is being saved.
    waiting: RefCell<Vec<js_sys::Function>>,
}

thread_local! {
    static APP: App = App {
        state: RefCell::default(),
        queue: RefCell::default(),
        scheduled: Cell::new(false),
        pending: Cell::new(0),
        held: Cell::new(false),
        files: RefCell::default(),
        backup: RefCell::default(),
        next_key: Cell::new(1),
        shown: RefCell::default(),
        screen: RefCell::default(),
        waiting: RefCell::default(),
    };
}

/// The document.
pub fn document() -> Option<Document> {
    web_sys::window()?.document()
}

fn root() -> Option<Element> {
    document()?.get_element_by_id("app")
}

/// Starts the page: state, listeners, store. A page without `#app` only wanted the functions.
pub fn start(window: &Window) {
    if root().is_none() {
        return;
    }
    std::panic::set_hook(Box::new(|info| {
        console_error_panic_hook::hook(info);
        let tell = js_sys::Reflect::get(&js_sys::global(), &"tarsalPanic".into());
        if let Some(tell) = tell.ok().and_then(|f| f.dyn_into::<js_sys::Function>().ok()) {
            // The page is lost already; boot.js says so, and a second failure could not be told better.
            let _ = tell.call1(&JsValue::NULL, &info.to_string().into());
        }
    }));
    let one_and_a_half = js_sys::Number::from(1.5).to_locale_string(&window.navigator().language().unwrap_or_default());
    let decimal = String::from(one_and_a_half).chars().find(|c| matches!(c, ',' | '.' | '٫')).unwrap_or('.');
    APP.with(|app| {
        let mut state = app.state.borrow_mut();
        state.locale = Locale { decimal, ..Locale::default() };
        if let Some(date) = date_form(&window.navigator().language().unwrap_or_default()) {
            state.locale.date = date;
        }
        state.width = page_width(window);
        let href = window.location().href().unwrap_or_default();
        state.base = href.split('#').next().unwrap_or_default().to_owned();
        state.today = today();
        state.visit = format!("{:06x}", (js_sys::Math::random() * 16_777_216.0) as u32);
    });
    listen::start(window);
    offer_to_wait();
    render();
    store::start();
}

/// How the browser writes a day: one whose parts cannot be taken for each other, with `y`, `m` and `d` in their place. None where
/// it writes other digits or counts other years: then days stay ISO 8601.
fn date_form(language: &str) -> Option<String> {
    let day = js_sys::Date::new_with_year_month_day(2033, 10, 22).to_locale_date_string(language, &JsValue::UNDEFINED);
    let form = String::from(day).replace("2033", "y").replace("11", "m").replace("22", "d");
    let parts: String = form.chars().filter(char::is_ascii_alphanumeric).collect();
    (parts.len() == 3 && ['y', 'm', 'd'].iter().all(|part| parts.contains(*part))).then_some(form)
}

/// boot.js asks before it reloads into a newer build: what is being saved is saved first.
fn offer_to_wait() {
    let wait = Closure::<dyn FnMut() -> js_sys::Promise>::new(|| {
        js_sys::Promise::new(&mut |resolve, _| {
            APP.with(|app| app.waiting.borrow_mut().push(resolve));
            schedule();
        })
    });
    // Refused only on a frozen global object, where boot.js could not have set its own functions either.
    let _ = js_sys::Reflect::set(&js_sys::global(), &"tarsalBeforeReload".into(), wait.as_ref());
    wait.forget();
}

/// Width of the page's content, px.
pub fn page_width(window: &Window) -> f64 {
    let width = document().and_then(|d| d.document_element()).map(|e| f64::from(e.client_width()));
    width.filter(|w| *w > 0.0).or_else(|| window.inner_width().ok()?.as_f64()).unwrap_or(1000.0)
}

/// Queues an event; it is taken in soon, never now.
pub fn dispatch(event: Event) {
    APP.with(|app| app.queue.borrow_mut().push_back(event));
    schedule();
}

fn schedule() {
    set_idle(false);
    if !APP.with(|app| app.scheduled.replace(true)) {
        tasks::later(drain);
    }
}

/// The day, where the reader is.
fn today() -> Date {
    let now = js_sys::Date::new_0();
    let day = |n: u32| i32::try_from(n).unwrap_or(1);
    Date::from_ymd(day(now.get_full_year()), day(now.get_month()) + 1, day(now.get_date())).unwrap_or(Date(0))
}

/// Keeps the backup that was chosen.
pub fn keep_backup(file: Option<web_sys::File>) {
    APP.with(|app| app.backup.replace(file));
}

/// Marks the beginning or the end of a request to the store, for the idle signal.
pub fn pending(change: isize) {
    APP.with(|app| app.pending.set(app.pending.get().saturating_add_signed(change)));
    schedule();
}

/// Reads the state for a moment.
pub fn with_state<T>(read: impl FnOnce(&State) -> T) -> Option<T> {
    APP.with(|app| app.state.try_borrow().ok().map(|state| read(&state)))
}

/// Takes files in that a person gave.
pub fn take_files(files: Vec<web_sys::File>) {
    if !files.is_empty() {
        dispatch(Event::Files(kept(files)));
    }
}

/// Keeps files under keys, names them for the queue.
fn kept(files: Vec<web_sys::File>) -> Vec<(u32, String, f64)> {
    APP.with(|app| {
        let keep = |file: web_sys::File| {
            let key = app.next_key.get();
            app.next_key.set(key + 1);
            let named = (key, file.name(), file.size());
            app.files.borrow_mut().insert(key, file);
            named
        };
        files.into_iter().map(keep).collect()
    })
}

/// Gives the trace to the hand that drags on it, or back.
pub fn hold(held: bool) {
    APP.with(|app| app.held.set(held));
    if !held {
        schedule();
    }
}

/// Events are taken in for this long before the browser gets a turn, ms.
const TURN_MS: f64 = 12.0;

/// Takes events in, a turn at a time; draws when none is left, in a turn of its own.
fn drain() {
    let began = js_sys::Date::now();
    loop {
        let Some(event) = APP.with(|app| app.queue.borrow_mut().pop_front()) else { break };
        let effects = APP.with(|app| {
            let mut state = app.state.borrow_mut();
            state.now = String::from(js_sys::Date::new_0().to_iso_string());
            state.today = today();
            update(&mut state, event)
        });
        effects.into_iter().for_each(run);
        if js_sys::Date::now() - began > TURN_MS {
            tasks::later(drain);
            return;
        }
    }
    tasks::later(draw);
}

fn draw() {
    if APP.with(|app| !app.queue.borrow().is_empty()) {
        drain();
        return;
    }
    APP.with(|app| app.scheduled.set(false));
    render();
    if with_state(|s| s.partial > 0).unwrap_or_default() {
        dispatch(Event::DrawRest);
    }
    let busy = APP.with(|app| app.pending.get() > 0 || app.held.get() || app.state.borrow().working());
    tell_saved();
    set_idle(!busy && APP.with(|app| app.queue.borrow().is_empty() && !app.scheduled.get()));
}

/// Tells those who wait, once every request to the store is answered.
fn tell_saved() {
    if APP.with(|app| app.pending.get() == 0) {
        for resolve in APP.with(|app| app.waiting.take()) {
            let _ = resolve.call0(&JsValue::NULL);
        }
    }
}

/// Tests wait on this; it is true when nothing is queued, read, computed or saved.
fn set_idle(idle: bool) {
    if let Some(root) = document().and_then(|d| d.document_element()) {
        let _ = root.set_attribute("data-idle", if idle { "true" } else { "false" });
    }
}

/// Says that the page can be used, and how long the store took to open.
pub fn ready(opened_ms: f64) {
    if let Some(root) = document().and_then(|d| d.document_element()) {
        let _ = root.set_attribute("data-opened-ms", &opened_ms.round().to_string());
        let _ = root.set_attribute("data-ready", "true");
    }
}

fn render() {
    if APP.with(|app| app.held.get()) {
        return;
    }
    let (html, title, screen) = APP.with(|app| {
        let state = app.state.borrow();
        (views::page(&state).into_string(), views::title(&state), state.screen.clone())
    });
    let changed = APP.with(|app| app.shown.replace(html.clone()) != html);
    let (Some(root), Some(document)) = (root(), document()) else { return };
    if changed {
        if let Err(error) = patch::patch(&root, &html) {
            dispatch(Event::Failed(format!("The page could not be drawn: {}", words(&error))));
        }
        document.set_title(&title);
        super::trace::recall();
    }
    if APP.with(|app| app.screen.replace(screen.clone()) != screen) {
        if let Some(window) = web_sys::window() {
            window.scroll_to_with_x_and_y(0.0, 0.0);
        }
        if let Some(main) = document.get_element_by_id("main").and_then(|m| m.dyn_into::<web_sys::HtmlElement>().ok()) {
            let _ = main.focus();
        }
    }
}

fn run(effect: Effect) {
    match effect {
        Effect::Analyse(key, options) => {
            let file = APP.with(|app| app.files.borrow().get(&key).cloned());
            match file {
                Some(file) => worker::read_file(key, &file, &options),
                None => dispatch(Event::WorkerDied(key, "the file is no longer at hand".into())),
            }
        }
        Effect::LetGo => {
            let wanted = |id: &str| with_state(|s| s.unsaved.contains_key(id) || s.not_saved.contains(id)).unwrap_or_default();
            super::saving::let_go(wanted);
        }
        Effect::Save(records) => store::request(store::Request::Save(records)),
        Effect::LoadWindow(id) => {
            let head = with_state(|state| state.trial(&id).map(|t| t.window.clone())).flatten();
            if let Some(head) = head {
                match super::saving::waiting(&id, &head) {
                    Some(window) => dispatch(Event::Window(id, Box::new(window))),
                    None => store::request(store::Request::Window(id, Box::new(head))),
                }
            }
        }
        Effect::Address(id) => set_address(&id),
        Effect::Release(key) => {
            APP.with(|app| app.files.borrow_mut().remove(&key));
        }
        rarer => run_rarer(rarer),
    }
}

/// Effects that a first visit does without: a function of its own, so that `site/rooms` can tell.
#[inline(never)]
fn run_rarer(effect: Effect) {
    match effect {
        Effect::Look(key, options) => match APP.with(|app| app.files.borrow().get(&key).cloned()) {
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

/// The part of the address after `#`.
pub fn address() -> String {
    let hash = web_sys::window().and_then(|w| w.location().hash().ok()).unwrap_or_default();
    hash.trim_start_matches('#').to_owned()
}

/// Shows what the address asks for. A summary that came with a link is taken out of the address as it is read: replaced,
/// so that "back" does not bring it back either.
pub fn arrive() {
    match address() {
        id if id.is_empty() => dispatch(Event::Home),
        link if link.starts_with(crate::records::link::PREFIX) => {
            let history = web_sys::window().and_then(|w| w.history().ok());
            // Where the address cannot be changed the summary is shown all the same.
            let _ = history.map(|h| h.replace_state_with_url(&JsValue::NULL, "", Some("#shared")));
            dispatch(Event::Link(link));
        }
        id => dispatch(Event::Go(crate::screen::Screen::at(&id))),
    }
}

fn set_address(id: &str) {
    if address() == id {
        return;
    }
    let history = web_sys::window().and_then(|w| w.history().ok());
    // Where the address cannot be changed (some embeddings), only "back" is lost.
    let _ = history.map(|h| h.push_state_with_url(&JsValue::NULL, "", Some(&format!("#{id}"))));
}

fn with_backup(request: impl FnOnce(web_sys::File) -> store::Request) {
    match APP.with(|app| app.backup.borrow().clone()) {
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
        let found = Closure::<dyn Fn(web_sys::File)>::new(|file| dispatch(Event::Appeared(kept(vec![file]))));
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

/// Takes in what was dropped with folders.
pub fn take_entries(entries: js_sys::Array) {
    pending(1);
    wasm_bindgen_futures::spawn_local(async move {
        match means::call("inside", &js_sys::Array::of1(&entries)).await {
            Ok(files) => take_files(js_sys::Array::from(&files).iter().filter_map(|f| f.dyn_into().ok()).collect()),
            Err(why) => dispatch(Event::Failed(format!("The folder could not be read ({why})."))),
        }
        pending(-1);
    });
}

/// A published table is a few lines; what is larger is something else.
const REFERENCE_BYTES: f64 = 1e6;

/// Takes in a file with a published table.
pub fn take_reference(file: &web_sys::File) {
    if file.size() > REFERENCE_BYTES {
        dispatch(Event::Failed("A table of published groups is text of at most 1 MB; this file is larger.".into()));
        return;
    }
    let text = file.text();
    pending(1);
    wasm_bindgen_futures::spawn_local(async move {
        match wasm_bindgen_futures::JsFuture::from(text).await.ok().and_then(|t| t.as_string()) {
            Some(text) => dispatch(Event::Form("reference".into(), String::new(), crate::screen::Fields(vec![("table".into(), text)]))),
            None => dispatch(Event::Failed("The file could not be read. Paste its text instead.".into())),
        }
        pending(-1);
    });
}
