//! What every screen has around it: the name, the way to more files, messages, and the cautions.
use super::{start, trial};
use crate::screen::{Screen, State};
use maud::{Markup, html};

/// The whole page below `#app`.
pub fn page(state: &State) -> Markup {
    html! {
        header class="top" {
            a href="#" class="wordmark" data-do="home" { "Tarsal" }
            span class="tag" { "force-plate jump analysis, on this device" }
            label class="button quiet" for="file-input" { "Choose files" }
            input id="file-input" class="sr-file" type="file" multiple accept=".csv,.txt,.tsv,.dat,.asc,text/*" data-do="files" aria-label="Choose files";
        }
        div id="messages" role="status" aria-live="polite" { (messages(state)) }
        main id="main" tabindex="-1" {
            @match (&state.screen, state.shown()) {
                (Screen::Trial(_), Some(saved)) => (trial::screen(state, saved)),
                _ => (start::screen(state)),
            }
        }
        footer id="cautions" {
            p {
                "Tarsal describes vertical force; it gives no diagnosis and clears nobody to train or play. Pain, swelling or a recent operation "
                "belong to a clinician, who decides. A good height or an even left and right does not rule out an injury."
            }
            p { "Files stay on this device: nothing is sent anywhere. Every ± is two standard uncertainties (k = 2) of the measurement, not of the athlete." }
        }
        div id="drop-hint" aria-hidden="true" { p { "Drop to read" } }
    }
}

/// The document's title.
pub fn title(state: &State) -> String {
    match state.shown() {
        Some(saved) => format!("{} – {} – Tarsal", crate::charts::words::test_name(saved.trial.test), saved.file),
        None => "Tarsal".into(),
    }
}

fn messages(state: &State) -> Markup {
    html! {
        @if let Some(message) = &state.message {
            p id="message" class="message" {
                span { (message.text) }
                @if message.undo { button type="button" data-do="undo" { "Undo" } }
                button type="button" data-do="dismiss" { "Close" }
            }
        }
        @if !state.troubles.is_empty() {
            div class="message trouble" {
                ul { @for trouble in &state.troubles { li { (trouble) } } }
            }
        }
    }
}
