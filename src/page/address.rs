//! The part of the address after `#`: which screen it asks for, and which it says is shown.
use super::app::dispatch;
use crate::screen::Event;
use wasm_bindgen::prelude::*;

/// The part of the address after `#`.
fn shown() -> String {
    let hash = web_sys::window().and_then(|w| w.location().hash().ok()).unwrap_or_default();
    hash.trim_start_matches('#').to_owned()
}

/// Shows what the address asks for. A summary that came with a link is taken out of the address as it is read: replaced,
/// so that "back" does not bring it back either.
pub fn arrive() {
    match shown() {
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

/// Says in the address what is shown.
pub fn set(id: &str) {
    if shown() == id {
        return;
    }
    let history = web_sys::window().and_then(|w| w.history().ok());
    // Where the address cannot be changed (some embeddings), only "back" is lost.
    let _ = history.map(|h| h.push_state_with_url(&JsValue::NULL, "", Some(&format!("#{id}"))));
}
