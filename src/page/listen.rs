//! One listener per kind of event for the whole page. What is meant stands in `data-do`, what it is about in
//! `data-id`; handlers only queue.
use super::app::{self, dispatch};
use super::given::{self, take_files};
use super::{files, trace, worker};
use crate::screen::{Event, Fields, Screen};
use wasm_bindgen::prelude::*;
use web_sys::{Document, DragEvent, Element, HtmlInputElement, KeyboardEvent, MouseEvent, Window};

/// Starts listening.
pub fn start(window: &Window) {
    let Some(document) = app::document() else { return };
    on(&document, "click", |event: MouseEvent| click(&event));
    on(&document, "submit", |event: web_sys::Event| submit(&event));
    on(&document, "change", |event: web_sys::Event| change(&event));
    on(&document, "keydown", |event: KeyboardEvent| key(&event));
    for name in ["dragenter", "dragover"] {
        on(&document, name, |event: DragEvent| drag(&event, true));
    }
    on(&document, "dragleave", |event: DragEvent| drag(&event, event.related_target().is_some()));
    on(&document, "drop", |event: DragEvent| {
        drag(&event, false);
        let data = event.data_transfer();
        match files::entries(data.as_ref()) {
            Some(entries) => given::take_entries(entries),
            None => take_files(files::listed(data.and_then(|d| d.files()))),
        }
    });
    on(&document, "input", |event: web_sys::Event| {
        if let Some(form) = about(&event, "form[data-now]") {
            dispatch(Event::Form(form.get_attribute("data-do").unwrap_or_default(), id_of(&form), fields(&form)));
        }
    });
    on(&document, "paste", |event: web_sys::Event| {
        let pasted = js_sys::Reflect::get(&event, &"clipboardData".into()).ok().and_then(|d| d.dyn_into::<web_sys::DataTransfer>().ok());
        take_files(files::listed(pasted.and_then(|d| d.files())));
    });
    trace::start(&document);
    on(window, "popstate", |_: web_sys::Event| super::address::arrive());
    on(window, "resize", |_: web_sys::Event| {
        if let Some(window) = web_sys::window() {
            dispatch(Event::Width(app::page_width(&window)));
        }
    });
}

/// Adds a listener for the life of the page; it may call `preventDefault`.
pub fn on<E: wasm_bindgen::convert::FromWasmAbi + 'static>(target: &web_sys::EventTarget, name: &str, handler: impl Fn(E) + 'static) {
    let closure = Closure::<dyn Fn(E)>::new(handler);
    let options = js_sys::Object::new();
    let _ = js_sys::Reflect::set(&options, &"passive".into(), &false.into());
    let add: Option<js_sys::Function> = js_sys::Reflect::get(target, &"addEventListener".into()).ok().and_then(|f| f.dyn_into().ok());
    if let Some(add) = add {
        let _ = add.call3(target, &name.into(), closure.as_ref(), &options);
    }
    closure.forget();
}

/// The element an event is about: the nearest one, outwards, that matches.
pub fn about(event: &web_sys::Event, selector: &str) -> Option<Element> {
    event.target()?.dyn_into::<Element>().ok()?.closest(selector).ok()?
}

fn id_of(element: &Element) -> String {
    element.get_attribute("data-id").unwrap_or_default()
}

fn click(event: &MouseEvent) {
    if about(event, "[for=file-input], [for=folder-input], #file-input, #folder-input").is_some() {
        worker::expect_file();
    }
    let Some(element) = about(event, "[data-do]") else { return };
    // A link opened beside this page is the browser's business.
    if event.ctrl_key() || event.meta_key() || event.shift_key() || event.button() != 0 {
        return;
    }
    let id = || id_of(&element);
    let wanted = match element.get_attribute("data-do").unwrap_or_default().as_str() {
        "home" => Event::Home,
        "open" => Event::Open(id()),
        "go" => Event::Go(Screen::at(&id())),
        "demo" => Event::Demo,
        "cancel" => Event::Cancel,
        "undo" => Event::Undo,
        "dismiss" => Event::Dismiss,
        "remove" => Event::Remove(id()),
        "put-back" => Event::MoveEvent(id(), None),
        "forget" => match id().parse() {
            Ok(key) => Event::Forget(key),
            Err(_) => return,
        },
        "layer" => Event::Layer(id()),
        "highlight" => {
            show_trace();
            Event::Highlight(id())
        }
        "zoom-in" => Event::Zoom(0.5, None),
        "zoom-out" => Event::Zoom(2.0, None),
        "earlier" => Event::Pan(-0.25),
        "later" => Event::Pan(0.25),
        "whole" => Event::WholeTrace,
        "download" => Event::Download,
        "print" => Event::Print,
        "files" | "backup-file" => return,
        other if element.tag_name() == "BUTTON" => Event::Do(other.to_owned(), id()),
        _ => return,
    };
    if element.tag_name() == "A" {
        event.prevent_default();
    }
    dispatch(wanted);
}

/// A stretch that is set off should be seen.
fn show_trace() {
    if let Some(section) = app::document().and_then(|d: Document| d.get_element_by_id("trace-section")) {
        section.scroll_into_view_with_bool(true);
    }
}

fn submit(event: &web_sys::Event) {
    event.prevent_default();
    let Some(form) = about(event, "form[data-do]") else { return };
    let fields = fields(&form);
    match (form.get_attribute("data-do").as_deref(), id_of(&form)) {
        (Some("file-under"), id) => dispatch(Event::FileUnder(id, fields.raw("athlete").to_owned(), fields.date("date"))),
        (Some("read-again"), id) => {
            if let Ok(key) = id.parse() {
                dispatch(Event::ReadAgain(key, fields.raw("columns").to_owned(), fields.raw("rate").to_owned()));
            }
        }
        (Some(name), id) => dispatch(Event::Form(name.to_owned(), id, fields)),
        _ => {}
    }
    if form.has_attribute("data-close")
        && let Ok(Some(details)) = form.closest("details")
    {
        let _ = details.remove_attribute("open");
    }
    // What was added is not to be added twice.
    match form.get_attribute("data-clear").as_deref() {
        Some("") => form.unchecked_ref::<web_sys::HtmlFormElement>().reset(),
        Some(name) => {
            if let Ok(Some(field)) = form.query_selector(&format!("[name={name}]")) {
                let _ = js_sys::Reflect::set(&field, &"value".into(), &"".into());
            }
        }
        None => {}
    }
}

/// The fields of a form as they stand.
fn fields(form: &Element) -> Fields {
    let Ok(data) = web_sys::FormData::new_with_form(form.unchecked_ref()) else { return Fields::default() };
    let pair = |entry: JsValue| {
        let entry = js_sys::Array::from(&entry);
        Some((entry.get(0).as_string()?, entry.get(1).as_string()?))
    };
    Fields(js_sys::Array::from(&data).iter().filter_map(pair).collect())
}

fn change(event: &web_sys::Event) {
    if let Some(input) = about(event, "input[data-do=backup-file]").and_then(|i| i.dyn_into::<HtmlInputElement>().ok()) {
        given::keep_backup(files::listed(input.files()).into_iter().next());
        return;
    }
    if let Some(input) = about(event, "input[data-do=block-field], select[data-do=block-field]") {
        let value = js_sys::Reflect::get(&input, &"value".into()).ok().and_then(|v| v.as_string()).unwrap_or_default();
        let field = (input.get_attribute("data-field").unwrap_or_default(), value);
        dispatch(Event::Form("block-field".into(), id_of(&input), Fields(vec![field])));
        return;
    }
    if let Some(input) = about(event, "input[data-do=reference-file]").and_then(|i| i.dyn_into::<HtmlInputElement>().ok()) {
        if let Some(file) = files::listed(input.files()).into_iter().next() {
            given::take_reference(&file);
        }
        input.set_value("");
        return;
    }
    let Some(input) = about(event, "input[data-do=files]").and_then(|i| i.dyn_into::<HtmlInputElement>().ok()) else { return };
    take_files(files::listed(input.files()));
    // So that choosing the same file again is a change again.
    input.set_value("");
}

fn drag(event: &DragEvent, over: bool) {
    event.prevent_default();
    if over {
        worker::expect_file();
    }
    if let Some(root) = app::document().and_then(|d| d.document_element()) {
        let _ = root.class_list().toggle_with_force("dragging", over);
    }
}

fn key(event: &KeyboardEvent) {
    if about(event, "input, textarea, select").is_some() {
        return;
    }
    if trace::key(event) {
        event.prevent_default();
    } else if (event.ctrl_key() || event.meta_key()) && !event.shift_key() && event.key() == "z" {
        event.prevent_default();
        dispatch(Event::Undo);
    }
}
