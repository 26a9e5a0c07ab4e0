//! Left and right over days: each leg's own history first, the operated side before the other, then the difference
//! against the index's own noise.
use super::change::history_table;
use crate::charts::history::{History, histories};
use crate::charts::number::Locale;
use crate::charts::side_noise::{SideNoise, against_word, side_noise_rule};
use crate::cohort::sides::{Against, Directions, Kappa, Leg};
use crate::people::Side;
use maud::{Markup, html};

/// What the view is made from.
#[derive(Debug, Clone)]
pub struct LegsView<'a> {
    /// The figure of the histories, with the unit shown and its factor.
    pub figure: &'a str,
    /// Unit shown, with the factor from SI.
    pub unit: (String, f64),
    /// Each leg's history ([`crate::cohort::sides::legs`]); empty where there is only one plate.
    pub legs: &'a [Leg],
    /// Differences of one day, each with its sessions' directions.
    pub differences: &'a [(SideNoise, Directions)],
    /// Agreement of directions over the squad, where fifteen or more were there twice.
    pub kappa: Option<Kappa>,
}

/// The view.
pub fn legs_view(view: &LegsView<'_>, width: f64, locale: &Locale) -> Markup {
    let rows: Vec<History<'_>> = view
        .legs
        .iter()
        .map(|leg| History { name: leg_name(leg), unit: view.unit.clone(), chart: &leg.chart, side: Some(leg.side) })
        .collect();
    let marks: Vec<SideNoise> = view.differences.iter().map(|d| d.0.clone()).collect();
    html! {
        section id="legs" aria-labelledby="legs-head" {
            h2 id="legs-head" { "Left and right over days" }
            @if view.legs.iter().any(|leg| leg.operated) {
                p { "Each leg by itself first, the operated one before the other: after an operation the other leg loses too, and an even pair may be two weak legs." }
            }
            @if !rows.is_empty() {
                h3 { (view.figure) }
                (histories(&rows, width.clamp(260.0, 860.0), locale, "Each leg in time; the same numbers stand in the table."))
                details class="numbers" { summary { "The numbers" } @for row in &rows { (history_table(row, locale)) } }
            }
            @for (mark, count) in view.differences { p { (sentence(mark, *count, locale)) } }
            @if !marks.is_empty() {
                (side_noise_rule(&marks, width.clamp(260.0, 560.0), locale))
                p class="hint" { "Difference as % of the total of both sides. Shaded: what the figure’s own noise cannot tell from zero." }
            }
            @if let Some(k) = view.kappa {
                p class="hint" { "Over the squad: " (k.same) " of " (k.n) " athletes had the same side higher both times (κ " (locale.fixed(k.kappa.value, 2)) ", " (locale.fixed(k.kappa.low, 2)) " to " (locale.fixed(k.kappa.high, 2)) ")." }
            }
            p class="hint" { "A fixed limit of 10 or 15 % is custom, not a diagnosis; whether to return to sport is not answered here." }
        }
    }
}

fn leg_name(leg: &Leg) -> String {
    let side = if leg.side == Side::Right { "Right leg" } else { "Left leg" };
    if leg.operated { format!("{side} (operated)") } else { side.into() }
}

fn sentence(mark: &SideNoise, count: Directions, locale: &Locale) -> String {
    let d = &mark.difference;
    let size = locale.fixed(d.percent.abs(), 1);
    let noise = format!("± {} % {}", locale.fixed(d.noise, 1), against_word(d.against));
    let often = match (count.right, count.left) {
        _ if count.sessions < 2 => String::new(),
        (r, l) if r >= l => format!(" Right higher in {r} of {} sessions.", count.sessions),
        (_, l) => format!(" Left higher in {l} of {} sessions.", count.sessions),
    };
    let only = if d.against == Against::Days { "" } else { " Another day may say otherwise." };
    match d.higher {
        Some(Side::Right) => format!("{}: right higher by {size} % of the total, beyond the noise ({noise}).{only}{often}", mark.name),
        Some(_) => format!("{}: left higher by {size} % of the total, beyond the noise ({noise}).{only}{often}", mark.name),
        None => format!("{}: no difference beyond the noise ({size} %, {noise}).{often}", mark.name),
    }
}
