//! The one owner of the state. Handlers only queue events; they are taken in one after another in a
//! microtask, so `update` is never entered twice, whatever the browser fires while the page is patched.
use super::effects::run;
use super::{listen, patch, store, tasks, words};
use crate::charts::number::Locale;
use crate::people::Date;
use crate::screen::{Event, State, update};
use crate::views;
use std::cell::{Cell, RefCell};
use std::collections::VecDeque;
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

/// Marks the beginning or the end of a request to the store, for the idle signal.
pub fn pending(change: isize) {
    APP.with(|app| app.pending.set(app.pending.get().saturating_add_signed(change)));
    schedule();
}

/// Reads the state for a moment.
pub fn with_state<T>(read: impl FnOnce(&State) -> T) -> Option<T> {
    APP.with(|app| app.state.try_borrow().ok().map(|state| read(&state)))
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
