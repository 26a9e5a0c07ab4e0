//! Other tabs of this page, and what the browser remembers of the reader's choices.
use super::app::dispatch;
use super::words;
use crate::records::{Record, decode};
use crate::screen::Event;
use js_sys::{Array, Function, Reflect};
use std::cell::RefCell;
use wasm_bindgen::prelude::*;
use web_sys::MessageEvent;

thread_local! {
    static CHANNEL: RefCell<Option<JsValue>> = const { RefCell::new(None) };
}

/// Listens to other tabs. Without channels each tab hears of the others when it is reloaded.
pub fn start() {
    let open = || -> Result<JsValue, JsValue> {
        let kind: Function = Reflect::get(&js_sys::global(), &"BroadcastChannel".into())?.dyn_into()?;
        let channel = Reflect::construct(&kind, &Array::of1(&"tarsal-store".into()))?;
        let hear = Closure::<dyn FnMut(MessageEvent)>::new(|event: MessageEvent| hear(&event.data()));
        Reflect::set(&channel, &"onmessage".into(), hear.as_ref())?;
        hear.forget();
        Ok(channel)
    };
    CHANNEL.with(|c| c.replace(open().ok()));
}

/// Says that this tab is open, for as long as it is.
pub async fn enter() {
    let _ = enter_locks().await;
}

async fn enter_locks() -> Result<(), JsValue> {
    let locks = locks()?;
    let ask: Function = Reflect::get(&locks, &"request".into())?.dyn_into()?;
    let (mut got, options) = (None, js_sys::Object::new());
    let granted = js_sys::Promise::new(&mut |resolve, _| got = Some(resolve));
    let got = got.ok_or("no promise")?;
    let on_granted = Closure::once_into_js(move || {
        let _ = got.call0(&JsValue::NULL);
        // Never settled: the browser lets go of the lock when the tab goes.
        js_sys::Promise::new(&mut |_, _| {})
    });
    Reflect::set(&options, &"mode".into(), &"shared".into())?;
    ask.call3(&locks, &VISIT.into(), &options, &on_granted)?;
    wasm_bindgen_futures::JsFuture::from(granted).await.map(drop)
}

/// Whether this page is open in other tabs; without locks nobody knows, and each tab takes itself for the only one.
pub async fn others() -> bool {
    let count = async {
        let locks = locks()?;
        let query: Function = Reflect::get(&locks, &"query".into())?.dyn_into()?;
        let promise: js_sys::Promise = query.call0(&locks)?.dyn_into()?;
        let held: Array = Reflect::get(&wasm_bindgen_futures::JsFuture::from(promise).await?, &"held".into())?.dyn_into()?;
        let here = |lock: &JsValue| Reflect::get(lock, &"name".into()).is_ok_and(|name| name == VISIT);
        Ok::<usize, JsValue>(held.iter().filter(here).count())
    };
    count.await.is_ok_and(|count| count > 1)
}

/// The lock that every open tab shares.
const VISIT: &str = "tarsal-visit";

fn locks() -> Result<JsValue, JsValue> {
    let locks = Reflect::get(&web_sys::window().ok_or("no window")?.navigator(), &"locks".into())?;
    if locks.is_object() { Ok(locks) } else { Err("no locks".into()) }
}

fn hear(message: &JsValue) {
    let Some(message) = message.dyn_ref::<Array>() else { return };
    if message.length() == 0 {
        dispatch(Event::Failed("Another tab took a backup in. Reload this page to see it.".into()));
        return;
    }
    let texts = |at: u32| {
        message.get(at).dyn_into::<Array>().map(|a| a.iter().filter_map(|t| t.as_string()).collect::<Vec<_>>()).unwrap_or_default()
    };
    let records: Vec<Record> = texts(0).iter().filter_map(|t| decode(t).ok()).collect();
    dispatch(Event::Elsewhere(records, texts(1)));
}

fn post(message: &JsValue) {
    CHANNEL.with(|c| {
        let channel = c.borrow();
        let Some(channel) = channel.as_ref() else { return };
        let send = Reflect::get(channel, &"postMessage".into()).ok().and_then(|f| f.dyn_into::<Function>().ok());
        // A message that cannot be sent is a tab that hears of it later.
        let _ = send.map(|send| send.call1(channel, message));
    });
}

/// Tells other tabs what was saved and what was erased.
pub fn tell(texts: &[String], erased: &[String]) {
    let list = |texts: &[String]| texts.iter().map(|t| JsValue::from(t.as_str())).collect::<Array>();
    post(&Array::of2(&list(texts), &list(erased)));
}

/// Tells other tabs that they know too little now.
pub fn tell_reload() {
    post(&Array::new());
}

fn local() -> Option<JsValue> {
    Reflect::get(&js_sys::global(), &"localStorage".into()).ok().filter(JsValue::is_object)
}

/// What is remembered: name, value.
pub fn settings() -> Vec<(String, String)> {
    let Some(local) = local() else { return vec![] };
    let read = |name: &str| {
        let get: Function = Reflect::get(&local, &"getItem".into()).ok()?.dyn_into().ok()?;
        get.call1(&local, &format!("tarsal:{name}").into()).ok()?.as_string().map(|value| (name.to_owned(), value))
    };
    ["pattern", "last_backup", "protocols", "place", "units"].into_iter().filter_map(read).collect()
}

/// Remembers a choice.
pub fn remember(name: &str, value: &str) {
    let write = || -> Result<(), JsValue> {
        let local = local().ok_or("no local storage")?;
        let set: Function = Reflect::get(&local, &"setItem".into())?.dyn_into()?;
        set.call2(&local, &format!("tarsal:{name}").into(), &value.into()).map(drop)
    };
    if let Err(error) = write() {
        dispatch(Event::Failed(format!("This browser does not remember choices ({}).", words(&error))));
    }
}
