//! Work cut into tasks, so that the browser draws and listens in between: a message to oneself comes back as a task.
use std::cell::RefCell;
use std::collections::VecDeque;
use wasm_bindgen::prelude::*;
use web_sys::MessageChannel;

type Task = Box<dyn FnOnce()>;

thread_local! {
    static CHANNEL: RefCell<Option<MessageChannel>> = const { RefCell::new(None) };
    static TASKS: RefCell<VecDeque<Task>> = const { RefCell::new(VecDeque::new()) };
}

/// Runs a function in a task of its own, soon.
pub fn later(task: impl FnOnce() + 'static) {
    TASKS.with(|t| t.borrow_mut().push_back(Box::new(task)));
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

/// Gives the browser a turn before what follows.
pub async fn turn() {
    let promise = js_sys::Promise::new(&mut |resolve, _| {
        later(move || drop(resolve.call0(&JsValue::NULL)));
    });
    // It is only ever resolved.
    let _ = wasm_bindgen_futures::JsFuture::from(promise).await;
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
