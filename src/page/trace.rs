//! The hand on the trace: events dragged or moved by keys, the reading cursor, zoom and shift.
//! While an event is dragged only its own mark moves; one event is queued on release.
use super::app::{self, dispatch};
use super::listen::{about, on};
use crate::screen::{Event, values_at};
use std::cell::RefCell;
use wasm_bindgen::JsCast;
use web_sys::{Document, Element, KeyboardEvent, PointerEvent, WheelEvent};

enum Drag {
    /// An event of the trial: its mark, its name, where it was, where it is now.
    Event(Element, String, String, f64),
    /// The trace itself, from this x.
    View(f64),
}

thread_local! {
    static DRAG: RefCell<Option<Drag>> = const { RefCell::new(None) };
}

/// Where the drawing's time axis lies on the screen.
struct Axis {
    from_s: f64,
    to_s: f64,
    x0: f64,
    x1: f64,
    left: f64,
    scale: f64,
    step_s: f64,
}

impl Axis {
    fn read() -> Option<Self> {
        let svg = app::document()?.get_element_by_id("trace")?;
        let number = |name: &str| written(&svg.get_attribute(name)?);
        let rect = svg.get_bounding_client_rect();
        let scale = number("width")? / rect.width().max(1.0);
        Some(Self {
            from_s: number("data-from")?,
            to_s: number("data-to")?,
            x0: number("data-x0")?,
            x1: number("data-x1")?,
            left: rect.left(),
            scale,
            step_s: number("data-step")?,
        })
    }
    fn time(&self, client_x: f64) -> f64 {
        let part = ((client_x - self.left) * self.scale - self.x0) / (self.x1 - self.x0).max(1.0);
        self.from_s + part.clamp(0.0, 1.0) * (self.to_s - self.from_s)
    }
    fn x(&self, time_s: f64) -> f64 {
        self.x0 + (time_s - self.from_s) / (self.to_s - self.from_s).max(1e-9) * (self.x1 - self.x0)
    }
}

/// Listens to the pointer and the wheel.
pub fn start(document: &Document) {
    on(document, "pointerdown", |event: PointerEvent| down(&event));
    on(document, "pointermove", |event: PointerEvent| moved(&event));
    on(document, "pointerup", |_: PointerEvent| released(true));
    on(document, "pointercancel", |_: PointerEvent| released(false));
    on(document, "click", |event: web_sys::MouseEvent| clicked(&event));
    on(document, "focusin", |event: web_sys::Event| {
        if let (Some(mark), Some(axis)) = (about(&event, "#cursor"), Axis::read()) {
            cursor(&axis, read_at(&mark, &axis));
        }
    });
    on(document, "wheel", |event: WheelEvent| {
        // A plain wheel scrolls the page, as everywhere.
        if event.ctrl_key() && about(&event, "#trace").is_some() {
            event.prevent_default();
            let factor = 1.0 + event.delta_y().clamp(-200.0, 200.0) / 400.0;
            queue(Event::Zoom(factor, Axis::read().map(|axis| axis.time(f64::from(event.client_x())))));
        }
    });
}

fn down(event: &PointerEvent) {
    if event.button() != 0 || about(event, "#trace").is_none() {
        return;
    }
    if let Some(mark) = about(event, "#trace [data-event]") {
        let name = mark.get_attribute("data-event").unwrap_or_default();
        let was = mark.get_attribute("transform").unwrap_or_default();
        // Without capture a fast hand would lose the mark; the drag goes on all the same.
        let _ = mark.set_pointer_capture(event.pointer_id());
        if let Some(html) = mark.dyn_ref::<web_sys::SvgElement>() {
            let _ = html.focus();
        }
        event.prevent_default();
        app::hold(true);
        DRAG.with(|d| d.replace(Some(Drag::Event(mark, name, was, f64::NAN))));
    } else if event.pointer_type() == "mouse" {
        DRAG.with(|d| d.replace(Some(Drag::View(f64::from(event.client_x())))));
    }
}

fn moved(event: &PointerEvent) {
    let Some(axis) = Axis::read() else { return };
    let x = f64::from(event.client_x());
    let time = axis.time(x);
    let panned = DRAG.with(|d| match d.borrow_mut().as_mut() {
        Some(Drag::Event(mark, _, _, at)) => {
            *at = time;
            let _ = mark.set_attribute("transform", &format!("translate({:.1} 0)", axis.x(time)));
            None
        }
        Some(Drag::View(from)) => {
            let part = (*from - x) * axis.scale / (axis.x1 - axis.x0).max(1.0);
            *from = x;
            Some(part)
        }
        None => None,
    });
    if let Some(part) = panned {
        queue(Event::Pan(part));
    }
    if about(event, "#trace").is_some() {
        cursor(&axis, time);
    }
}

fn released(keep: bool) {
    match DRAG.with(RefCell::take) {
        Some(Drag::Event(mark, name, was, at)) => {
            if keep && at.is_finite() {
                dispatch(Event::MoveEvent(name, Some(at)));
            }
            // Where the move is refused the mark must go back, and the patch would not see that it strayed.
            let _ = mark.set_attribute("transform", &was);
            app::hold(false);
        }
        Some(Drag::View(_)) | None => {}
    }
}

/// Draws the reading cursor and says what the curves are there.
fn cursor(axis: &Axis, time_s: f64) {
    let Some(document) = app::document() else { return };
    let text = app::with_state(|s| s.open.as_ref().and_then(|o| values_at(&o.curves, time_s, &s.locale))).flatten();
    let numbers =
        document.get_element_by_id("trace").map(|svg| ["data-top", "data-axis"].map(|n| svg.get_attribute(n).unwrap_or_default()));
    if let (Some(line), Some([top, bottom])) = (document.get_element_by_id("cursor-line"), numbers) {
        let x = format!("{:.1}", axis.x(time_s));
        for (name, value) in [("x1", x.as_str()), ("x2", x.as_str()), ("y1", &top), ("y2", &bottom), ("visibility", "visible")] {
            let _ = line.set_attribute(name, value);
        }
    }
    // The line is an island: what it says of itself is written here, not by the patch.
    if let Some(mark) = document.get_element_by_id("cursor") {
        let [now, low, high] = [time_s, axis.from_s, axis.to_s].map(|t| format!("{t:.4}"));
        let says = text.clone().unwrap_or_default();
        for (name, value) in
            [("data-time", &now), ("aria-valuenow", &now), ("aria-valuemin", &low), ("aria-valuemax", &high), ("aria-valuetext", &says)]
        {
            let _ = mark.set_attribute(name, value);
        }
    }
    if let (Some(readout), Some(text)) = (document.get_element_by_id("readout"), text) {
        readout.set_text_content(Some(&text));
    }
}

/// Where the reading cursor stands; the middle of the view where it was never placed or is out of sight.
fn read_at(mark: &Element, axis: &Axis) -> f64 {
    let placed = mark.get_attribute("data-time").and_then(|t| written(&t));
    placed.filter(|t| *t >= axis.from_s && *t <= axis.to_s).unwrap_or((axis.from_s + axis.to_s) / 2.0)
}

/// Puts the reading cursor where its time now lies, after the page was drawn; hides it where that is out of sight.
pub fn recall() {
    let Some((mark, axis)) = app::document().and_then(|d| d.get_element_by_id("cursor")).zip(Axis::read()) else { return };
    let Some(at) = mark.get_attribute("data-time").and_then(|t| written(&t)) else { return };
    if at >= axis.from_s && at <= axis.to_s {
        cursor(&axis, at);
    } else if let Some(line) = app::document().and_then(|d| d.get_element_by_id("cursor-line")) {
        let _ = line.set_attribute("visibility", "hidden");
    }
}

/// A click on a doubt's mark leads to its sentence.
fn clicked(event: &web_sys::MouseEvent) {
    if let Some(mark) = about(event, "[data-doubt]") {
        // Inside a summary it would open the definition too.
        event.prevent_default();
        show_note(&mark);
    }
}

/// Brings the sentence of a doubt's mark into sight and focuses it.
fn show_note(mark: &Element) {
    let number = mark.get_attribute("data-doubt").unwrap_or_default();
    let Some(note) = app::document().and_then(|d| d.get_element_by_id(&format!("note-{number}"))) else { return };
    note.scroll_into_view_with_bool(false);
    if let Some(note) = note.dyn_ref::<web_sys::HtmlElement>() {
        let _ = note.focus();
    }
}

/// Keys on the trace; whether this one was ours.
pub fn key(event: &KeyboardEvent) -> bool {
    if event.ctrl_key() || event.meta_key() || event.alt_key() || about(event, "#trace-section").is_none() {
        return false;
    }
    let Some(axis) = Axis::read() else { return false };
    let direction: f64 = match event.key().as_str() {
        "ArrowLeft" | "ArrowDown" => -1.0,
        "ArrowRight" | "ArrowUp" => 1.0,
        "+" | "=" => return queue(Event::Zoom(0.5, None)),
        "-" => return queue(Event::Zoom(2.0, None)),
        "0" => return queue(Event::WholeTrace),
        "Escape" => {
            released(false);
            return true;
        }
        "Enter" | " " => {
            let Some(mark) = about(event, "[data-doubt]") else { return false };
            show_note(&mark);
            return true;
        }
        "PageUp" => 100.0,
        "PageDown" => -100.0,
        _ => return false,
    };
    if let Some(mark) = about(event, "#cursor") {
        // Samples are finer than a screen's pixels: Shift moves by 10 ms, Page by a tenth of the view.
        let step = match event.shift_key() {
            _ if direction.abs() > 1.0 => (axis.to_s - axis.from_s) / 1000.0,
            true => 0.01,
            false => axis.step_s,
        };
        cursor(&axis, (read_at(&mark, &axis) + direction * step).clamp(axis.from_s, axis.to_s));
        return true;
    }
    if direction.abs() > 1.0 {
        return false;
    }
    let Some(mark) = about(event, "[data-event]") else { return false };
    let at = mark.get_attribute("data-time").and_then(|t| written(&t));
    let (Some(at), Some(name)) = (at, mark.get_attribute("data-event")) else { return false };
    let step = if event.shift_key() { 0.01 } else { axis.step_s };
    cursor(&axis, at + direction * step);
    queue(Event::MoveEvent(name, Some(at + direction * step)))
}

fn queue(event: Event) -> bool {
    dispatch(event);
    // Runs after the queue was worked off and the drawing patched.
    wasm_bindgen_futures::spawn_local(async { recall() });
    true
}

/// A number out of the drawing, read by the browser: the module's own table for long numbers comes later.
fn written(number: &str) -> Option<f64> {
    Some(js_sys::Number::parse_float(number)).filter(|x| x.is_finite())
}
