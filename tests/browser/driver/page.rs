//! What a reader does with a page: goes to it, looks, clicks, types, chooses and drops files.

use super::{Browser, Outcome, PATIENCE};
use serde_json::{Value, json};
use std::{
    fs,
    path::Path,
    thread,
    time::{Duration, Instant},
};

impl Browser {
    /// Goes to an address and waits for the new document's load event.
    pub fn navigate(&mut self, url: &str) -> Outcome<()> {
        let answer = self.call("Page.navigate", json!({ "url": url }))?;
        if let Some(error) = answer["errorText"].as_str() {
            return Err(format!("{url}: {error}"));
        }
        self.wait_for("document.readyState === 'complete'")
    }

    /// Reloads and waits for the new document; an error page is one too, so wait for something of the page's own after it.
    pub fn reload(&mut self) -> Outcome<()> {
        self.eval("globalThis.beforeReload = true")?;
        self.call("Page.reload", json!({}))?;
        self.wait_for("!globalThis.beforeReload && document.readyState === 'complete'")
    }

    /// The value of an expression; a promise is awaited.
    pub fn eval(&mut self, expression: &str) -> Outcome<Value> {
        let answer = self.call(
            "Runtime.evaluate",
            json!({ "expression": expression, "awaitPromise": true, "returnByValue": true, "userGesture": true }),
        )?;
        match answer.get("exceptionDetails") {
            Some(details) => {
                Err(format!("{expression}\n  threw {}", details["exception"]["description"].as_str().unwrap_or(&details.to_string())))
            }
            None => Ok(answer["result"]["value"].clone()),
        }
    }

    /// The text an expression gives.
    pub fn text(&mut self, expression: &str) -> Outcome<String> {
        let value = self.eval(expression)?;
        value.as_str().map(str::to_owned).ok_or_else(|| format!("{expression}: expected text, got {value}"))
    }

    /// Waits until an expression is true; one that throws, as while a page loads, is not yet true.
    pub fn wait_for(&mut self, condition: &str) -> Outcome<()> {
        self.wait_at_most(PATIENCE, condition)
    }

    /// The same with another patience.
    pub fn wait_at_most(&mut self, patience: Duration, condition: &str) -> Outcome<()> {
        let deadline = Instant::now() + patience;
        let guarded = format!("(() => {{ try {{ return !!({condition}); }} catch {{ return false; }} }})()");
        loop {
            // A document on its way out answers with an error.
            if self.eval(&guarded).is_ok_and(|value| value == true) {
                return Ok(());
            }
            if Instant::now() > deadline {
                let body = self.text("document.body?.innerText.slice(0, 400) ?? ''").unwrap_or_default();
                let console = self.console.iter().rev().take(8).rev().cloned().collect::<Vec<_>>().join("\n  ");
                let state = self.text("JSON.stringify(document.documentElement.dataset)").unwrap_or_default();
                return Err(format!("never became true: {condition}\n state: {state}\n page: {body}\n console:\n  {console}"));
            }
            thread::sleep(Duration::from_millis(40));
        }
    }

    /// Waits for an element and clicks its middle with the mouse, as a reader does.
    pub fn click(&mut self, selector: &str) -> Outcome<()> {
        let (x, y) = self.middle(selector)?;
        for kind in ["mousePressed", "mouseReleased"] {
            self.call("Input.dispatchMouseEvent", json!({ "type": kind, "x": x, "y": y, "button": "left", "clickCount": 1 }))?;
        }
        Ok(())
    }

    /// Presses one key, named as in `KeyboardEvent.key`; a single letter is also typed.
    pub fn press(&mut self, key: &str) -> Outcome<()> {
        let (code, typed) = match key {
            "Enter" => (13, "\r"),
            "Escape" => (27, ""),
            "Tab" => (9, ""),
            "ArrowLeft" => (37, ""),
            "ArrowUp" => (38, ""),
            "ArrowRight" => (39, ""),
            "ArrowDown" => (40, ""),
            other => (0, if other.chars().count() == 1 { other } else { "" }),
        };
        let kind = if typed.is_empty() { "rawKeyDown" } else { "keyDown" };
        self.call(
            "Input.dispatchKeyEvent",
            json!({ "type": kind, "key": key, "code": key, "windowsVirtualKeyCode": code, "text": typed }),
        )?;
        self.call("Input.dispatchKeyEvent", json!({ "type": "keyUp", "key": key, "code": key, "windowsVirtualKeyCode": code }))?;
        Ok(())
    }

    /// Types into whatever has the focus.
    pub fn type_text(&mut self, text: &str) -> Outcome<()> {
        self.call("Input.insertText", json!({ "text": text })).map(drop)
    }

    fn middle(&mut self, selector: &str) -> Outcome<(f64, f64)> {
        let quoted = json!(selector);
        self.wait_for(&format!("document.querySelector({quoted})?.getClientRects().length > 0"))?;
        let place = self.eval(&format!(
            "(() => {{ const e = document.querySelector({quoted}); e.scrollIntoView({{ block: 'center', behavior: 'instant' }}); \
             const r = e.getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]; }})()"
        ))?;
        match (place[0].as_f64(), place[1].as_f64()) {
            (Some(x), Some(y)) => Ok((x, y)),
            _ => Err(format!("{selector}: no place on the screen")),
        }
    }

    /// Chooses files in a file input, as its dialogue would.
    pub fn choose_files(&mut self, selector: &str, files: &[&Path]) -> Outcome<()> {
        let document = self.call("DOM.getDocument", json!({}))?["root"]["nodeId"].clone();
        let node = self.call("DOM.querySelector", json!({ "nodeId": document, "selector": selector }))?["nodeId"].clone();
        if node == 0 {
            return Err(format!("{selector}: no such element"));
        }
        self.call("DOM.setFileInputFiles", json!({ "nodeId": node, "files": files })).map(drop)
    }

    /// Drops files from the desktop onto the middle of an element.
    pub fn drop_files(&mut self, selector: &str, files: &[&Path]) -> Outcome<()> {
        let (x, y) = self.middle(selector)?;
        let data = json!({ "items": [], "files": files, "dragOperationsMask": 1 });
        for kind in ["dragEnter", "dragOver", "drop"] {
            self.call("Input.dispatchDragEvent", json!({ "type": kind, "x": x, "y": y, "data": data }))?;
        }
        Ok(())
    }

    /// Lets downloads go to a folder.
    pub fn download_to(&mut self, folder: &Path) -> Outcome<()> {
        fs::create_dir_all(folder).map_err(|error| format!("{}: {error}", folder.display()))?;
        self.call_in(None, "Browser.setDownloadBehavior", json!({ "behavior": "allow", "downloadPath": folder })).map(drop)
    }
}
