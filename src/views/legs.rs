//! Left and right over days: each leg's own history first, the operated side before the other, then the difference
//! against the index's own noise.
use super::change::history_table;
use super::say::signed_interval;
use crate::charts::history::{History, histories};
use crate::charts::number::Locale;
use crate::charts::side_noise::{SideNoise, against_word, side_noise_rule};
use crate::cohort::kappa::{KAPPA_FROM, Kappa, NoKappa};
use crate::cohort::sides::{Against, Directions, Leg};
use crate::people::{Date, Side};
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
    /// Agreement of directions over the squad between two days, figure by figure; empty where there are no two days.
    pub kappas: &'a [(String, Result<Kappa, NoKappa>)],
    /// Those days.
    pub between: Option<(Date, Date)>,
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
            @if let Some(between) = view.between { (over_the_squad(view.kappas, between, locale)) }
            p class="hint" { "A fixed limit of 10 or 15 % is custom, not a diagnosis; whether to return to sport is not answered here." }
        }
    }
}

/// Whether the side that was higher is the higher one again, beyond what chance lets agree.
fn over_the_squad(kappas: &[(String, Result<Kappa, NoKappa>)], (first, second): (Date, Date), locale: &Locale) -> Markup {
    let known: Vec<(&str, &Kappa)> = kappas.iter().filter_map(|(name, k)| Some((name.as_str(), k.as_ref().ok()?))).collect();
    html! {
        @if !kappas.is_empty() { h3 { "Does the higher side stay the higher one?" } }
        @for (name, k) in &known {
            p { (name) ": " (k.same) " of " (k.n) " athletes of the group had the same side higher on both days, "
                @if k.persists() { "more than chance lets agree: over the squad the direction persists." }
                @else { "no more than chance may let agree: one day’s direction tells nothing sure of another’s." } }
        }
        @for (name, why) in kappas.iter().filter_map(|(name, k)| Some((name, k.as_ref().err()?))) { p { (name) ": " (withheld(*why)) } }
        @if !known.is_empty() {
            div class="wide" { table id="kappa" {
                caption { "Directions of the group up to " (locale.day(first)) " and after it up to " (locale.day(second)) }
                thead { tr { th scope="col" { "Figure" } th scope="col" class="num" { "Athletes" } th scope="col" class="num" { "Same side" } th scope="col" class="num" { "κ (95 %)" } th scope="col" class="num" { "p by chance" } } }
                tbody { @for (name, k) in &known { tr {
                    th scope="row" { (name) } td class="num" { (k.n) } td class="num" { (k.same) }
                    td class="num" { (signed_interval(k.kappa, 2, locale)) }
                    td class="num" { @if k.p < 0.001 { "< " (locale.fixed(0.001, 3)) } @else { (locale.fixed(k.p, 3)) } }
                } } }
            } }
            p class="hint" { "κ is agreement beyond chance: 0 is what chance alone gives, 1 is everybody’s side the same twice (Scott 1955; interval by goodness of fit, Donner & Eliasziw 1992; p by all permutations). It speaks of the group, not of this athlete." }
        }
    }
}

fn withheld(why: NoKappa) -> String {
    match why {
        NoKappa::TooFew(n) => {
            format!("{n} of the group had a direction on both days; whether directions persist over a squad is said from {KAPPA_FROM} on.")
        }
        NoKappa::OneSide(n) => format!("all {n} of the group had the same side higher on both days; chance would agree as well, so no κ."),
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
    if d.against == Against::Measurement {
        let side = if d.percent > 0.0 { "right" } else { "left" };
        return match d.higher {
            Some(_) => format!(
                "{}: in this one trial {side} higher by {size} % of the total ({noise}). One trial decides nothing.{often}",
                mark.name
            ),
            None => format!("{}: no difference beyond the measurement ({size} %, {noise}). One trial decides nothing.{often}", mark.name),
        };
    }
    match d.higher {
        Some(Side::Right) => format!("{}: right higher by {size} % of the total, beyond the noise ({noise}).{only}{often}", mark.name),
        Some(_) => format!("{}: left higher by {size} % of the total, beyond the noise ({noise}).{only}{often}", mark.name),
        None => format!("{}: no difference beyond the noise ({size} %, {noise}).{often}", mark.name),
    }
}
