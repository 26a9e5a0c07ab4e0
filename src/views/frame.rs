//! What every screen has around it: the name, the way to more files, messages, and the cautions.
use super::{athlete, plates, session, squad, start, storage, study, trial};
use crate::screen::{Screen, State};
use maud::{Markup, html};

/// The whole page below `#app`.
pub fn page(state: &State) -> Markup {
    html! {
        header class="top" {
            a href="#" class="wordmark" data-do="home" { "Tarsal" }
            nav class="ways" aria-label="Screens" {
                @for (address, name) in WAYS {
                    a href={ "#" (address) } data-do="go" data-id=(address) aria-current=[here(state, address).then_some("page")] { (name) }
                }
            }
            label class="button quiet" for="file-input" { "Choose files" }
            input id="folder-input" class="sr-file" type="file" multiple webkitdirectory data-do="files" aria-label="Choose a folder" tabindex="-1";
            input id="file-input" class="sr-file" type="file" multiple accept=".csv,.txt,.tsv,.dat,.asc,.xlsx,.ods,.c3d,text/*" data-do="files" aria-label="Choose files";
        }
        div id="messages" role="status" aria-live="polite" { (messages(state)) }
        main id="main" tabindex="-1" {
            @match (&state.screen, state.shown()) {
                (Screen::Trial(_), Some(saved)) => (trial::screen(state, saved)),
                (Screen::Squad, _) => (squad::screen(state)),
                (Screen::Athlete(id), _) => (athlete::screen(state, id)),
                (Screen::Sessions, _) => (session::days(state)),
                (Screen::Session(id), _) => (session::screen(state, id)),
                (Screen::Plates, _) => (plates::screen(state)),
                (Screen::Storage, _) => (storage::screen(state)),
                (Screen::Report(..), _) => (study::report(state)),
                (Screen::Shared, _) => (study::shared(state)),
                _ => (start::screen(state)),
            }
        }
        footer id="cautions" {
            p {
                "Tarsal describes vertical force; it gives no diagnosis and clears nobody to train or play. Pain, swelling or a recent operation "
                "belong to a clinician, who decides. A good height or an even left and right does not rule out an injury."
            }
            p { "Files stay on this device: nothing is sent anywhere. A trial’s ± is two standard uncertainties (k = 2) of its measurement, not of the athlete; where days or athletes are compared, ± and whiskers are 95 % intervals with both in them." }
        }
        div id="drop-hint" aria-hidden="true" { p { "Drop to read" } }
    }
}

/// The screens that lead from everywhere: address, name.
const WAYS: [(&str, &str); 5] =
    [("", "Recordings"), ("sessions", "Test days"), ("squad", "Athletes"), ("plates", "Plates and protocols"), ("storage", "Storage")];

fn here(state: &State, address: &str) -> bool {
    matches!(
        (&state.screen, address),
        (Screen::Start | Screen::Trial(_), "")
            | (Screen::Sessions | Screen::Session(_), "sessions")
            | (Screen::Squad | Screen::Athlete(_) | Screen::Report(..), "squad")
            | (Screen::Plates, "plates")
            | (Screen::Storage, "storage")
    )
}

/// The document's title.
pub fn title(state: &State) -> String {
    let name = match &state.screen {
        Screen::Trial(_) => {
            state.shown().map(|t| format!("{} – {}", crate::charts::words::test_name(t.trial.test), t.file)).unwrap_or_default()
        }
        Screen::Athlete(id) => state.athlete_name(id).to_owned(),
        Screen::Session(id) => state.sessions.get(id).map(|s| format!("Test day {}", state.locale.day(s.body.date))).unwrap_or_default(),
        other => {
            WAYS.iter().find(|(address, _)| !address.is_empty() && *address == other.address()).map_or("", |(_, name)| *name).to_owned()
        }
    };
    if name.is_empty() { "Tarsal".into() } else { format!("{name} – Tarsal") }
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
                @if !state.not_saved.is_empty() { button type="button" data-do="save-again" { "Save again" } }
            }
        }
    }
}
