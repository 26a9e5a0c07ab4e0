//! Files in and out: from a list of the browser's, and to the reader's folder.
use wasm_bindgen::{JsCast, JsValue};
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
    kind.set_type("application/json");
    let blob = Blob::new_with_str_sequence_and_options(&js_sys::Array::of1(&text.into()), &kind)?;
    let url = Url::create_object_url_with_blob(&blob)?;
    let document = super::app::document().ok_or("no document")?;
    let link: HtmlAnchorElement = document.create_element("a")?.dyn_into().map_err(|_| "no link")?;
    link.set_href(&url);
    link.set_download(name);
    link.click();
    Url::revoke_object_url(&url)
}
