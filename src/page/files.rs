//! Files in and out: from a list of the browser's, and to the reader's folder.
use wasm_bindgen::prelude::*;
use web_sys::{Blob, BlobPropertyBag, File, FileList, HtmlAnchorElement, Url};

/// A browser's list of files.
pub fn listed(list: Option<FileList>) -> Vec<File> {
    list.map(|list| (0..list.length()).filter_map(|i| list.get(i)).collect()).unwrap_or_default()
}

/// Hands a text over as a file.
///
/// # Errors
/// Where the browser makes no file of it.
pub fn download(name: &str, text: &str) -> Result<(), JsValue> {
    let kind = BlobPropertyBag::new();
    kind.set_type(match name.rsplit('.').next() {
        Some("html") => "text/html;charset=utf-8",
        Some("csv") => "text/csv;charset=utf-8",
        _ => "application/json",
    });
    hand_over(name, &Blob::new_with_str_sequence_and_options(&js_sys::Array::of1(&text.into()), &kind)?)
}

/// Hands a file over.
///
/// # Errors
/// Where the browser refuses.
pub fn hand_over(name: &str, blob: &Blob) -> Result<(), JsValue> {
    let url = Url::create_object_url_with_blob(blob)?;
    let document = super::app::document().ok_or("no document")?;
    let link: HtmlAnchorElement = document.create_element("a")?.dyn_into().map_err(|_| "no link")?;
    link.set_href(&url);
    link.set_download(name);
    link.click();
    // A large file is still being copied when the click returns.
    let done = Closure::once_into_js(move || drop(Url::revoke_object_url(&url)));
    let window = web_sys::window().ok_or("no window")?;
    window.set_timeout_with_callback_and_timeout_and_arguments_0(done.unchecked_ref(), 60_000).map(drop)
}

/// The entries of what is dropped, if there is a folder among them; they are gone once the handler returns.
pub fn entries(data: Option<&web_sys::DataTransfer>) -> Option<js_sys::Array> {
    let items = js_sys::Reflect::get(data?, &"items".into()).ok()?;
    let entries = js_sys::Array::new();
    let mut folder = false;
    for item in js_sys::Array::from(&items).iter() {
        let get = js_sys::Reflect::get(&item, &"webkitGetAsEntry".into()).ok()?.dyn_into::<js_sys::Function>().ok()?;
        let entry = get.call0(&item).ok().filter(JsValue::is_object)?;
        folder |= js_sys::Reflect::get(&entry, &"isDirectory".into()).is_ok_and(|d| d.is_truthy());
        entries.push(&entry);
    }
    folder.then_some(entries)
}
