//! The browser side.

use wasm_bindgen::prelude::*;

/// Runs once in the page and once in each worker.
#[wasm_bindgen(start)]
pub fn start() -> Result<(), JsValue> {
    console_error_panic_hook::set_once();
    let global = js_sys::global();
    let document = js_sys::Reflect::get(&global, &"document".into())?;
    if document.is_undefined() {
        let post: js_sys::Function = js_sys::Reflect::get(&global, &"postMessage".into())?.dyn_into()?;
        post.call1(&JsValue::UNDEFINED, &"ready".into())?;
        return Ok(());
    }
    let make: js_sys::Function = js_sys::Reflect::get(&global, &"tarsalMakeWorker".into())?.dyn_into()?;
    let worker = make.call0(&JsValue::UNDEFINED)?;
    let ready = Closure::<dyn FnMut(JsValue)>::new(move |_| {
        let set = || -> Result<bool, JsValue> {
            let root = js_sys::Reflect::get(&document, &"documentElement".into())?;
            let data = js_sys::Reflect::get(&root, &"dataset".into())?;
            js_sys::Reflect::set(&data, &"ready".into(), &"true".into())
        };
        let _ = set();
    });
    js_sys::Reflect::set(&worker, &"onmessage".into(), ready.as_ref())?;
    ready.forget();
    Ok(())
}
