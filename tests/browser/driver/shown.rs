//! How the page is shown: its size, its medium, pictures of it, and paper.

use super::{Browser, Outcome};
use serde_json::json;
use std::{fs, path::Path};

/// Paper in inches.
pub const A4: (f64, f64) = (8.27, 11.69);
/// Paper in inches.
pub const LETTER: (f64, f64) = (8.5, 11.0);

impl Browser {
    /// A picture of the window, or of the whole page.
    pub fn screenshot(&mut self, file: &Path, whole_page: bool) -> Outcome<()> {
        use base64::Engine as _;
        let answer = self.call("Page.captureScreenshot", json!({ "format": "png", "captureBeyondViewport": whole_page }))?;
        let picture = base64::engine::general_purpose::STANDARD
            .decode(answer["data"].as_str().unwrap_or_default())
            .map_err(|error| format!("screenshot: {error}"))?;
        fs::write(file, picture).map_err(|error| format!("{}: {error}", file.display()))
    }

    /// The page printed to PDF; a paper of `(width, height)` inches is what the printer holds where the page asks for none.
    pub fn print(&mut self) -> Outcome<Vec<u8>> {
        self.print_on(A4)
    }

    /// The same on another paper.
    pub fn print_on(&mut self, (width, height): (f64, f64)) -> Outcome<Vec<u8>> {
        use base64::Engine as _;
        let paper = json!({ "printBackground": true, "preferCSSPageSize": true, "paperWidth": width, "paperHeight": height });
        let answer = self.call("Page.printToPDF", paper)?;
        base64::engine::general_purpose::STANDARD
            .decode(answer["data"].as_str().unwrap_or_default())
            .map_err(|error| format!("print: {error}"))
    }

    /// Pretends a window size in CSS pixels.
    pub fn viewport(&mut self, width: u32, height: u32) -> Outcome<()> {
        self.call(
            "Emulation.setDeviceMetricsOverride",
            json!({ "width": width, "height": height, "deviceScaleFactor": 1, "mobile": false }),
        )
        .map(drop)
    }

    /// Pretends a medium (`"print"`, `"screen"`) and a colour scheme (`"dark"`, `"light"`); empty for as it is.
    pub fn media(&mut self, medium: &str, scheme: &str) -> Outcome<()> {
        let features = json!([{ "name": "prefers-color-scheme", "value": scheme }]);
        self.call("Emulation.setEmulatedMedia", json!({ "media": medium, "features": features })).map(drop)
    }
}
