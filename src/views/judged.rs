//! What a block is judged by: at most two figures, each to be chosen with what would be worth the while and what the retest can
//! show already beside it, and to be taken out again.
use super::block::{template, whole};
use super::say::{figure_name, size};
use crate::advice::blocks::{Block, Edit, Target};
use crate::advice::qualities::test_in_a_sentence;
use crate::advice::typed::Refused;
use crate::charts::number::Locale;
use crate::screen::judged::Aim;
use maud::{Markup, html};

/// Targets at most.
const MOST: usize = 2;

/// The leg of a target of one leg: "left leg alone".
pub fn leg(target: &Target) -> Option<&'static str> {
    match target.protocol.rsplit_once(";leg=") {
        Some((_, "left")) => Some("left leg alone"),
        Some((_, "right")) => Some("right leg alone"),
        _ => None,
    }
}

/// A target's figure with its leg, where it is one leg's.
pub fn target_name(target: &Target) -> String {
    let name = figure_name(&target.figure);
    leg(target).map_or_else(|| name.clone(), |leg| format!("{name}, {leg}"))
}

/// From where on a change is worth the while, and what the retest can show.
pub fn worth(aim: &Aim, locale: &Locale) -> String {
    let worthwhile = aim.worthwhile.map_or_else(
        || "worthwhile change not known".into(),
        |w| format!("worthwhile from {}", size(&aim.target.figure, aim.scale, w, locale).replace(' ', "\u{a0}")),
    );
    format!("{worthwhile}, {}", shown(&aim.target, locale))
}

fn shown(target: &Target, locale: &Locale) -> String {
    target
        .smallest_percent
        .map_or_else(|| "what the retest shows not known".into(), |p| format!("the retest shows {}\u{a0}% or more", locale.fixed(p, 1)))
}

/// What would judge an aim, before it is chosen.
pub fn judged_by(aim: &Aim, locale: &Locale) -> String {
    format!("{}: {}", target_name(&aim.target), worth(aim, locale))
}

fn same(a: &Target, b: &Target) -> bool {
    (&a.figure, &a.test, &a.protocol) == (&b.figure, &b.test, &b.protocol)
}

/// The controls: a choice and a button for each target, and one choice more where there is room.
pub fn targets(block: &Block, aims: &[Aim], refused: Option<&Refused>, locale: &Locale) -> Markup {
    html! {
        h3 { "Judged by" }
        p class="hint" { "At most two figures. Worthwhile: a fifth of the spread between athletes. The retest shows: the smallest true change that it finds in 80 of 100 cases." }
        @for (place, target) in block.targets.iter().enumerate() {
            div class="target" {
                (choice(&format!("Target {}", place + 1), place, Some(target), aims, block, refused, locale))
                @let known = aims.iter().find(|a| same(&a.target, target));
                p class="hint" {
                    "In the " (test_in_a_sentence(&target.test)) ": "
                    @match known {
                        // What the retest shows stays as it was said when the target was chosen.
                        Some(aim) => (worth(&Aim { target: target.clone(), ..aim.clone() }, locale)),
                        None => (shown(target, locale)),
                    }
                    "."
                    @if target.smallest_percent.is_none() { " Test on two days before and after." }
                }
                p class="row-tools" {
                    button type="button" data-do="block-edit" data-id=(whole(&Edit::Target { place, target: None })) aria-label={ "Remove the target " (target_name(target)) } { "Remove" }
                }
            }
        }
        @if block.targets.is_empty() { p class="quiet" { "No target figure chosen yet: nothing will judge the block." } }
        @if block.targets.len() < MOST && !aims.is_empty() {
            (choice(if block.targets.is_empty() { "Judge by" } else { "And by" }, block.targets.len(), None, aims, block, refused, locale))
        }
    }
}

fn choice(
    label: &str,
    place: usize,
    now: Option<&Target>,
    aims: &[Aim],
    block: &Block,
    refused: Option<&Refused>,
    locale: &Locale,
) -> Markup {
    let (id, template) = (format!("block-target-{place}"), template("target", &[("place", place)]));
    let refused = refused.filter(|r| r.template == template && r.field == "target");
    let why = format!("{id}-why");
    let value = |target: &Target| serde_json::to_string(target).unwrap_or_default();
    // What was chosen and refused stays chosen, beside the reason; of a long text its beginning is kept.
    let chosen = |target: &Target| match refused {
        Some(refused) => !refused.typed.is_empty() && value(target).starts_with(&refused.typed),
        None => now.is_some_and(|now| same(now, target)),
    };
    let taken = |target: &Target| block.targets.iter().enumerate().any(|(at, other)| at != place && same(other, target));
    html! {
        span class="field" {
            label for=(id) { (label) }
            select id=(id) data-do="block-field" data-field="target" data-id=(template) autocomplete="off"
                aria-invalid=[refused.map(|_| "true")] aria-describedby=[refused.map(|_| &why)] {
                @match now {
                    None => option value="" selected[refused.is_none()] { "choose a figure" },
                    // A figure of which nothing is known here any more.
                    Some(now) => @if !aims.iter().any(|a| same(&a.target, now)) { option value=(value(now)) selected { (target_name(now)) } },
                }
                @for aim in aims.iter().filter(|a| !taken(&a.target)) {
                    option value=(value(&aim.target)) selected[chosen(&aim.target)] {
                        (target_name(&aim.target)) " (" (test_in_a_sentence(&aim.target.test)) "): " (worth(aim, locale))
                    }
                }
            }
            @if let Some(refused) = refused { span id=(why) class="refused" role="alert" { "Not changed. " (refused.reason) } }
        }
    }
}
