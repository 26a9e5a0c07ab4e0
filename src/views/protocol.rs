//! How a trial was done, and what it was: what a person knows and the plates do not.
use crate::answer::{TestKind, Trial};
use crate::charts::number::Locale;
use crate::charts::words::{load_words, test_name};
use crate::people::{Hands, Protocol, Side};
use crate::recording::Letters as _;
use crate::records::SavedTrial;
use crate::screen::State;
use crate::screen::history::lent;
use crate::screen::stated::{last_protocol, leg};
use maud::{Markup, html};

/// The form on a trial; what was used last for this test is offered where nothing is said yet.
pub fn form(state: &State, saved: &SavedTrial) -> Markup {
    let silent = Protocol { load_kg: 0.0, box_m: None, side: None, ..saved.protocol.clone() } == Protocol::default();
    let last = if silent { last_protocol(state, saved) } else { None };
    let offered = last.is_some();
    let p = match last {
        // What is this trial's own stays its own; a leg that two plates speak against is not offered.
        Some(last) => Protocol {
            load_kg: saved.protocol.load_kg,
            box_m: saved.protocol.box_m.or(last.box_m),
            side: saved.protocol.side.or(last.side.filter(|s| leg(*s).word() == saved.trial.side || saved.window.channels.len() < 2)),
            ..last
        },
        None => saved.protocol.clone(),
    };
    let hands = |h: Hands| p.hands == Some(h);
    let locale = &state.locale;
    html! {
        details id="protocol" {
            summary { "How it was done: " (said(&saved.protocol, locale)) }
            form class="stack" data-do="protocol" data-id=(saved.envelope.id) {
                @if offered { p class="hint" { "As for the last " (test_name(saved.trial.test).lower()) "; save to say so of this trial too." } }
                (test(saved))
                label { "Hands "
                    select name="hands" {
                        option value="" { "not said" }
                        option value="hips" selected[hands(Hands::Hips)] { "on the hips" }
                        option value="free" selected[hands(Hands::Free)] { "swinging freely" }
                        option value="bar" selected[hands(Hands::Bar)] { "on a bar" }
                    }
                }
                label { "Cue " input name="cue" autocomplete="off" maxlength="120" value=(p.cue); }
                label { "Depth " input name="depth_rule" autocomplete="off" maxlength="120" placeholder="own choice, thighs level …" value=(p.depth_rule); }
                label { "Footwear " input name="footwear" autocomplete="off" maxlength="80" value=(p.footwear); }
                label { "Load, kg " input name="load_kg" inputmode="decimal" autocomplete="off" value=[(p.load_kg > 0.0).then(|| locale.fixed(p.load_kg, 1))]; }
                label { "Box, cm " input name="box_cm" inputmode="decimal" autocomplete="off" value=[p.box_m.map(|m| locale.fixed(m * 100.0, 0))]; }
                label { "Legs "
                    select name="side" {
                        option value="" { "as the plates show" @if saved.options.side.is_none() { ": " (legs(&saved.trial)) } }
                        @for (word, side, name) in [("both", Side::Both, "both"), ("left", Side::Left, "left"), ("right", Side::Right, "right")] {
                            option value=(word) selected[p.side == Some(side)] { (name) }
                        }
                    }
                }
                label { "Body mass without load, kg " input name="mass_kg" inputmode="decimal" autocomplete="off" value=[saved.options.mass_kg.map(|kg| locale.fixed(kg, 1))]; }
                p class="hint" {
                    @if saved.trial.weighing.is_none() || lent(&saved.trial) { "Nobody is weighed in this recording: with a body mass typed in, forces and heights can be given. " }
                    @else { "A body mass from a scale is held against what the plates weigh; it does not take its place. " }
                    "Test, load, box, legs and body mass change the figures. Trials done differently are never pooled."
                }
                button type="submit" { "Save the protocol" }
            }
        }
    }
}

/// Which test it is read as: what it looks like comes first, what it might be besides second.
fn test(saved: &SavedTrial) -> Markup {
    let trial = &saved.trial;
    let looks = trial.recognised.unwrap_or(trial.test);
    let next = trial.runner_up.as_ref().map(|r| r.test).filter(|t| *t != looks);
    let rest = TestKind::READABLE.into_iter().filter(|t| *t != looks && Some(*t) != next);
    html! {
        label { "Test "
            select name="test" {
                option value="" { (test_name(looks)) ", as it looks" }
                @if let Some(next) = next { option value=(next.id()) selected[saved.options.test == Some(next)] { (test_name(next)) ", the next likely" } }
                @for kind in rest { option value=(kind.id()) selected[saved.options.test == Some(kind)] { (test_name(kind)) } }
            }
        }
    }
}

/// The legs that the figures are of.
fn legs(trial: &Trial) -> &'static str {
    match trial.side.as_str() {
        "left" => "left",
        "right" => "right",
        _ => "both",
    }
}

fn said(p: &Protocol, locale: &Locale) -> String {
    let hands = p.hands.map(|h| match h {
        Hands::Hips => "hands on the hips".to_owned(),
        Hands::Free => "hands free".to_owned(),
        Hands::Bar => "hands on a bar".to_owned(),
    });
    let text = |t: &str| (!t.is_empty()).then(|| t.to_owned());
    let load = (p.load_kg > 0.0).then(|| load_words(p.load_kg, locale));
    let boxed = p.box_m.map(|m| format!("box {}", locale.length(m, 0)));
    let parts: Vec<String> = [hands, text(&p.cue), text(&p.depth_rule), text(&p.footwear), load, boxed].into_iter().flatten().collect();
    if parts.is_empty() { "not said".into() } else { parts.join(", ") }
}
