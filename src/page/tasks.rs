//! Work cut into tasks, so that the browser draws and listens in between: a message to oneself comes back as a task.
use std::cell::RefCell;
use std::collections::VecDeque;
use wasm_bindgen::prelude::*;
use web_sys::MessageChannel;

thread_local! {
    static CHANNEL: RefCell<Option<MessageChannel>> = const { RefCell::new(None) };
    static TASKS: RefCell<VecDeque<fn()>> = const { RefCell::new(VecDeque::new()) };
}

/// Runs a function in a task of its own, soon.
pub fn later(task: fn()) {
    TASKS.with(|t| t.borrow_mut().push_back(task));
    let sent = CHANNEL.with(|c| {
        let mut channel = c.borrow_mut();
        if channel.is_none() {
            *channel = open().ok();
        }
        channel.as_ref().is_some_and(|c| c.port2().post_message(&JsValue::NULL).is_ok())
    });
    if !sent {
        wasm_bindgen_futures::spawn_local(async { next() });
    }
}

fn open() -> Result<MessageChannel, JsValue> {
    let channel = MessageChannel::new()?;
    let hear = Closure::<dyn Fn()>::new(next);
    channel.port1().set_onmessage(Some(hear.as_ref().unchecked_ref()));
    hear.forget();
    Ok(channel)
}

fn next() {
    if let Some(task) = TASKS.with(|t| t.borrow_mut().pop_front()) {
        task();
    }
}
