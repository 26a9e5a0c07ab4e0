//! How far each figure repeats from day to day: one row a figure, each with where it is from, and what would narrow it.
use super::say::{difference, figure_name, noise_words, size};
use crate::charts::number::Locale;
use crate::cohort::icc::Icc;
use crate::cohort::{Interval, Noise, Repeatability};
use maud::{Markup, html};

/// The section.
pub fn repeatability_view(figures: &[Repeatability], locale: &Locale) -> Markup {
    let cited: Vec<&Repeatability> = figures.iter().filter(|r| matches!(r.noise, Some(Noise::Cited { .. }))).collect();
    let silent = figures.iter().filter(|r| r.noise.is_none()).count();
    let wanted = figures.iter().filter_map(|r| r.days_wanted).max().unwrap_or(0);
    html! {
        section id="repeatability" aria-labelledby="repeatability-head" {
            h2 id="repeatability-head" { "How far figures repeat" }
            p { "From days of one athlete less than ten days apart with no block between; the first session ever is apart, for people learn the test." }
            @if silent > 0 {
                p { "For " (silent) " figure" @if silent != 1 { "s" } " nothing can be said yet: no repeated days here and no published value that fits. Test the squad, or some of it, on two days less than ten apart." }
            }
            @if wanted > 0 && silent < figures.len() {
                p { "Another " (wanted) " repeated test day" @if wanted != 1 { "s" } " would bring the upper limit of the typical error to half above its value." }
            }
            div class="wide" { table {
                caption { "Between days" }
                thead { tr {
                    th scope="col" { "Figure" } th scope="col" class="num" { "Typical error (95 %)" } th scope="col" class="num" { "Detectable change" }
                    th scope="col" class="num" { "Worthwhile change" } th scope="col" class="num" { "Correlation of days (95 %)" } th scope="col" class="num" { "Second − first session" } th scope="col" { "From" }
                } }
                tbody { @for r in figures { (row(r, locale)) } }
            } }
            p class="hint" { "Typical error: of one session’s mean, in % where the figure is compared on logs (the coefficient of variation). Detectable: between two sessions, 1.96·√2 times that. Worthwhile: a fifth of the spread between athletes, the error taken off; from ten athletes on." }
            @for r in cited {
                p class="hint" { (figure_name(&r.figure)) ": " (noise_words(r.noise.as_ref())) ". One group, its plate and protocol; your own days replace it as soon as they suffice, and are never mixed with it." }
            }
        }
    }
}

fn row(r: &Repeatability, locale: &Locale) -> Markup {
    let said = |y: f64| size(&r.figure, r.scale, y, locale);
    html! {
        tr {
            th scope="row" { (figure_name(&r.figure)) }
            td class="num" { @match r.typical_error { Some(te) => (interval(r, te, locale)), None => "cannot say" } }
            td class="num" { @if let Some(d) = r.minimal_detectable_change { (said(d)) } }
            td class="num" { @if let Some(w) = r.smallest_worthwhile { (said(w)) } }
            td class="num" { @if let Some(icc) = r.icc { (correlation(icc, locale)) } }
            td class="num" { @if let Some(first) = r.first_session { (difference(&r.figure, r.scale, first.shift.value, locale)) " (n " (first.pairs) ")" } }
            td { @match r.noise { Some(Noise::Own(own)) => { (own.days) " days of " (own.athletes) }, Some(Noise::Cited { row, .. }) => (row.source), None => "–" } }
        }
    }
}

fn interval(r: &Repeatability, te: Interval, locale: &Locale) -> String {
    let said = |y: f64| size(&r.figure, r.scale, y, locale);
    // The unit stands once, at the value.
    let bare = |y: f64| said(y).split(' ').next().map(str::to_owned).unwrap_or_default();
    format!("{} ({}–{})", said(te.value), bare(te.low), bare(te.high))
}

fn correlation(icc: Icc, locale: &Locale) -> String {
    let two = |x: f64| locale.fixed(x, 2);
    format!("{} {} ({} to {}), n {}", icc.name(), two(icc.value), two(icc.low), two(icc.high), icc.people)
}
