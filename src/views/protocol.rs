//! How a trial was done, and the cards that say how a test is to be done.
use crate::answer::TestKind;
use crate::charts::words::test_name;
use crate::people::{Hands, Protocol, Side};
use crate::records::SavedTrial;
use crate::screen::State;
use crate::screen::trials::last_protocol;
use maud::{Markup, html};

/// The form on a trial; what was used last for this test is offered where nothing is said yet.
pub fn form(state: &State, saved: &SavedTrial) -> Markup {
    let silent = Protocol { load_kg: 0.0, box_m: None, side: None, ..saved.protocol.clone() } == Protocol::default();
    let last = if silent { last_protocol(state, saved) } else { None };
    let offered = last.is_some();
    let p = match last {
        // What is this trial's own stays its own.
        Some(last) => Protocol {
            load_kg: saved.protocol.load_kg,
            box_m: saved.protocol.box_m.or(last.box_m),
            side: saved.protocol.side.or(last.side),
            ..last
        },
        None => saved.protocol.clone(),
    };
    let hands = |h: Hands| p.hands == Some(h);
    html! {
        details id="protocol" {
            summary { "How it was done: " (said(&saved.protocol)) }
            form class="stack" data-do="protocol" data-id=(saved.envelope.id) {
                @if offered { p class="hint" { "As for the last " (test_name(saved.trial.test).to_lowercase()) "; save to say so of this trial too." } }
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
                label { "Load, kg " input name="load_kg" inputmode="decimal" autocomplete="off" value=[(p.load_kg > 0.0).then(|| state.locale.fixed(p.load_kg, 1))]; }
                label { "Box, cm " input name="box_cm" inputmode="decimal" autocomplete="off" value=[p.box_m.map(|m| state.locale.fixed(m * 100.0, 0))]; }
                label { "Legs "
                    select name="side" {
                        option value="" { "not said" }
                        @for (word, side, name) in [("both", Side::Both, "both"), ("left", Side::Left, "left"), ("right", Side::Right, "right")] {
                            option value=(word) selected[p.side == Some(side)] { (name) }
                        }
                    }
                }
                p class="hint" { "Trials done differently are never pooled." }
                button type="submit" { "Save the protocol" }
            }
        }
    }
}

fn said(p: &Protocol) -> String {
    let hands = p.hands.map(|h| match h {
        Hands::Hips => "hands on the hips".to_owned(),
        Hands::Free => "hands free".to_owned(),
        Hands::Bar => "hands on a bar".to_owned(),
    });
    let text = |t: &str| (!t.is_empty()).then(|| t.to_owned());
    let load = (p.load_kg > 0.0).then(|| format!("{} kg", p.load_kg));
    let boxed = p.box_m.map(|m| format!("box {} cm", (m * 100.0).round()));
    let parts: Vec<String> = [hands, text(&p.cue), text(&p.depth_rule), text(&p.footwear), load, boxed].into_iter().flatten().collect();
    if parts.is_empty() { "not said".into() } else { parts.join(", ") }
}

/// A card to read out: test, what to prepare, what to say, what spoils the trial.
pub struct Card {
    /// The test.
    pub test: TestKind,
    /// Before it.
    pub prepare: &'static str,
    /// Said to the athlete, step by step.
    pub say: &'static [&'static str],
    /// When to do it again.
    pub again: &'static str,
}

/// The cards. Standing still for two seconds before and after is what weighing needs (`methods.md` §4); the rest is
/// common practice, no source.
pub const CARDS: &[Card] = &[
    Card {
        test: TestKind::CountermovementJump,
        prepare: "Zero the plates with nobody on them. One foot on each plate. Decide once: hands on the hips or free.",
        say: &[
            "Step on and stand still. Do not move until I say so: two seconds.",
            "Go down and up in one movement, and jump as high as you can.",
            "Land on both feet, on the plates, and stand still again for two seconds.",
        ],
        again: "A foot off its plate, a hop before the jump, knees pulled up in the air, or no standing still.",
    },
    Card {
        test: TestKind::SquatJump,
        prepare: "Zero the plates. Agree on the depth beforehand; a box or band behind the thighs helps.",
        say: &[
            "Step on and stand still for two seconds.",
            "Go down to the depth and hold it: two seconds, without a sound.",
            "Jump straight up from there, as high as you can, without going lower first.",
            "Land on the plates and stand still for two seconds.",
        ],
        again: "Any dip before the jump.",
    },
    Card {
        test: TestKind::DropJump,
        prepare: "Weigh the athlete on the plates first. Box behind the plates, its height noted. Start at 20–30 cm.",
        say: &[
            "Stand on the box. Step off with one foot: do not jump off, do not lower yourself.",
            "Land on both plates together, and jump as high as you can, with as short a contact as you can.",
            "Land on the plates again and stand still for two seconds.",
        ],
        again: "A jump off the box, feet one after the other, heels down hard, or no standing still at the end.",
    },
    Card {
        test: TestKind::CountermovementReboundJump,
        prepare: "Zero the plates. Hands on the hips throughout.",
        say: &[
            "Stand still for two seconds.",
            "Jump as high as you can; when you land, jump again at once, quick off the ground and high.",
            "After the second landing stand still for two seconds.",
        ],
        again: "A pause between the jumps, or a foot off its plate.",
    },
    Card {
        test: TestKind::DropLanding,
        prepare: "Box behind the plates, its height noted.",
        say: &["Step off the box.", "Land on both feet, soft, and hold the landing: two seconds without a step."],
        again: "A step or a hop after the landing.",
    },
    Card {
        test: TestKind::ReboundJumps,
        prepare: "Zero the plates. Eleven jumps: the first only starts the series.",
        say: &[
            "Stand still for two seconds.",
            "One jump to begin with, then ten more: as high as you can, as short on the ground as you can, heels off.",
            "After the last landing stand still for two seconds.",
        ],
        again: "A pause in the series, or a foot off its plate.",
    },
    Card {
        test: TestKind::Isometric,
        prepare: "Bar fixed, height and joint angles noted. Two warm-up pulls at half and three quarters.",
        say: &[
            "Stand in position, hold the bar, take up the slack and no more. Still for two seconds.",
            "At go, push the ground away as fast and as hard as you can. Hold until I say stop: three to five seconds.",
        ],
        again: "A pull before go, a dip before the rise, or a force that still climbs at the end.",
    },
];
