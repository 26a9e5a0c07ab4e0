//! What `boot.js` does for the module: cryptography, folders, room. Each is a promise.
use super::words;
use js_sys::{Array, Function, Promise, Reflect, Uint8Array};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;

/// Calls one of them and waits for its answer.
///
/// # Errors
/// What it threw, in words.
pub async fn call(name: &str, arguments: &Array) -> Result<JsValue, String> {
    let begin = || -> Result<Promise, JsValue> {
        let means = Reflect::get(&js_sys::global(), &"tarsalMeans".into())?;
        let function: Function = Reflect::get(&means, &name.into())?.dyn_into()?;
        Ok(Promise::resolve(&function.apply(&means, arguments)?))
    };
    let promise = begin().map_err(|e| words(&e))?;
    JsFuture::from(promise).await.map_err(|e| words(&e))
}

/// A key from a passphrase.
///
/// # Errors
/// Where the browser has no cryptography here.
pub async fn key(passphrase: &str, salt: &[u8], iterations: u32) -> Result<JsValue, String> {
    call("key", &Array::of3(&passphrase.into(), &Uint8Array::from(salt), &iterations.into())).await
}

/// Locks or unlocks bytes.
///
/// # Errors
/// Where the key is not the right one, or the bytes were changed.
pub async fn seal(key: &JsValue, nonce: &[u8], bytes: &[u8], lock: bool) -> Result<Vec<u8>, String> {
    let name = if lock { "seal" } else { "unseal" };
    let out = call(name, &Array::of3(key, &Uint8Array::from(nonce), &Uint8Array::from(bytes))).await?;
    Ok(out.dyn_into::<Uint8Array>().map(|b| b.to_vec()).unwrap_or_default())
}

/// Random bytes.
///
/// # Errors
/// Where the browser has none.
pub async fn random(count: u32) -> Result<Vec<u8>, String> {
    let out = call("random", &Array::of1(&count.into())).await?;
    Ok(out.dyn_into::<Uint8Array>().map(|b| b.to_vec()).unwrap_or_default())
}
