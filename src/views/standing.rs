//! The athlete's first view: braking and propulsion, force and power, mean and peak, per kilogram of body mass, in the
//! order of the phases, each where it stands in the chosen group; the manner of jumping beside them.
//!
//! It places and does not conclude: what is least developed is another section's answer, from more than one test.
use super::say::{figure_name, in_a_sentence, noise_words, signed, signed_interval, unit};
use crate::charts::number::Locale;
use crate::charts::strip::{Strip, place_words, strips, value};
use crate::cohort::reference::Reference;
use crate::cohort::standing::Level;
use crate::cohort::{Interval, Noise, Standing};
use maud::{Markup, html};

/// Braking, in the order shown.
pub const BRAKING: &[&str] =
    &["mean_braking_force_per_kg", "peak_braking_force_per_kg", "mean_braking_power_per_kg", "peak_braking_power_per_kg"];
/// Propulsion.
pub const PROPULSION: &[&str] =
    &["mean_propulsion_force_per_kg", "peak_propulsion_force_per_kg", "mean_propulsion_power_per_kg", "peak_propulsion_power_per_kg"];
/// The manner of jumping: described, never scored.
pub const MANNER: &[&str] =
    &["countermovement_depth", "peak_downward_velocity", "unweighting_duration", "braking_duration", "propulsion_duration"];

/// What the view is made from.
#[derive(Debug, Clone)]
pub struct FirstView<'a> {
    /// The athlete's name or code.
    pub name: &'a str,
    /// The group in words ([`crate::cohort::Group::words`]).
    pub group: &'a str,
    /// The trace of a trial, already drawn; may be empty.
    pub trace: Markup,
    /// Standings with the noise each rests on; figures not among the thirteen are left out.
    pub standings: &'a [(Standing, Option<Noise>)],
    /// Reference rows to stand beside the group, for figures among the standings.
    pub references: &'a [Reference],
}

impl FirstView<'_> {
    fn find(&self, id: &str) -> Option<&Standing> {
        self.standings.iter().map(|s| &s.0).find(|s| s.figure == id)
    }
    fn of<'a>(&'a self, ids: &[&str], locale: &Locale) -> Vec<Strip<'a>> {
        let strip = |s: &'a Standing| Strip { name: short(&s.figure), unit: unit(&s.figure, locale), standing: s };
        ids.iter().filter_map(|id| self.find(id)).map(strip).collect()
    }
    fn level(&self) -> Option<Level> {
        self.standings.iter().map(|s| s.0.level).min()
    }
    fn qualities(&self) -> impl Iterator<Item = &Standing> {
        BRAKING.iter().chain(PROPULSION).filter_map(|id| self.find(id))
    }
}

/// Under its phase's heading a figure needs no phase: "Mean force, braking" → "Mean force".
fn short(id: &str) -> String {
    let name = figure_name(id);
    name.split_once(", ").map_or_else(|| name.clone(), |(what, _)| what.to_owned())
}

/// The view.
pub fn first_view(view: &FirstView<'_>, width: f64, locale: &Locale) -> Markup {
    let Some(level) = view.level() else {
        return html! {
            section id="standing" aria-labelledby="standing-head" {
                h2 id="standing-head" { "Standing" }
                p { "Nothing to compare yet: this athlete has no jump of the last twelve months, or it is not filed under a name." }
            }
        };
    };
    let column = if width >= 1080.0 { (width - 56.0) / 2.0 } else { width };
    let column = column.clamp(260.0, 620.0);
    let others = view.standings.iter().map(|s| s.0.group.len()).min().unwrap_or(0);
    html! {
        section id="standing" aria-labelledby="standing-head" {
            h2 id="standing-head" { "Standing in the group" }
            @for line in sentences(view, level, others, locale) { p { (line) } }
            div class="standing-trace" { (view.trace) }
            div class="both standing" {
                div {
                    (part("Braking", &view.of(BRAKING, locale), column, locale))
                    (part("Propulsion", &view.of(PROPULSION, locale), column, locale))
                }
                div {
                    (part("Manner of jumping", &view.of(MANNER, locale), column, locale))
                    p class="hint" { "Depth and tempo change every force and power at equal height. They are described here and never scored." }
                }
            }
            p class="hint" { (legend(level)) @if view.standings.iter().any(|s| s.0.mass_adjusted.is_some()) { " Hollow diamond: body mass accounted for." } }
            (table(view, level, locale))
            (against_published(view, locale))
            (noises(view))
        }
    }
}

fn part(heading: &str, rows: &[Strip<'_>], width: f64, locale: &Locale) -> Markup {
    html! {
        @if !rows.is_empty() {
            h3 { (heading) @if rows.iter().all(|r| r.standing.figure.ends_with("_per_kg")) { span class="quiet" { ", per kg of body mass" } } }
            (strips(rows, width, locale, &format!("{heading}: where each figure stands in the group; the same numbers stand in the table below.")))
        }
    }
}

fn legend(level: Level) -> &'static str {
    match level {
        Level::Ranks => {
            "Each tick is another athlete, by the mean of the latest day; the diamond is this athlete, its whisker the usual value (95 %, days and trials). Each strip has its own scale."
        }
        _ => {
            "Each tick is another athlete, by the mean of the latest day; the diamond is this athlete, its whisker the usual value (95 %, days and trials). All strips are in standard deviations of the group about its mean; right is more, which is not always better."
        }
    }
}

fn sentences(view: &FirstView<'_>, level: Level, others: usize, locale: &Locale) -> Vec<String> {
    if others == 0 {
        return vec![format!(
            "Nobody to compare {} with yet: {}. Percentiles begin at 10 others, contrasts between figures at 15.",
            view.name, view.group
        )];
    }
    let mut lines = vec![format!("{} beside {others} other{}: {}.", view.name, if others == 1 { "" } else { "s" }, view.group)];
    let mut ordered: Vec<(&Standing, Interval)> = view.qualities().filter_map(|s| Some((s, s.better_z()?))).collect();
    ordered.sort_by(|a, b| b.1.value.total_cmp(&a.1.value));
    match level {
        Level::Ranks => lines.push(format!(
            "{others} others are too few for a distance from the mean: ranks only. Percentiles begin at 10 others, contrasts between figures at 15."
        )),
        Level::Interval => lines.push("From 10 others on a place has its interval; contrasts between figures need 15.".into()),
        Level::Contrasts => {
            if let (Some(high), Some(low)) = (ordered.first(), ordered.last()) {
                // Where their intervals meet, the order of the eight is chance as much as anything.
                if high.1.low > low.1.high {
                    lines.push(format!(
                        "Of these eight figures of braking and propulsion, {} stands highest in this group (percentile with interval {}) and {} lowest ({}).",
                        in_a_sentence(&high.0.figure),
                        place_words(high.0, locale),
                        in_a_sentence(&low.0.figure),
                        place_words(low.0, locale)
                    ));
                    lines.push("The lowest of eight is lowest partly by chance, and these eight are tied to each other: one test places, it does not decide.".into());
                } else {
                    lines.push("The eight figures of braking and propulsion below lie close together: none stands apart from the others by more than chance. One test places, it does not decide.".into());
                }
            }
        }
    }
    lines.extend(manner_sentence(view, locale));
    lines.extend(mass_sentence(view, locale));
    lines
}

fn manner_sentence(view: &FirstView<'_>, locale: &Locale) -> Option<String> {
    let far: Vec<String> = MANNER
        .iter()
        .filter_map(|id| view.find(id))
        .filter_map(|s| Some((s, s.place?.z.value)))
        .filter(|(_, z)| z.abs() > 1.0)
        .map(|(s, z)| {
            format!("{} {} SD {} the mean", in_a_sentence(&s.figure), locale.fixed(z.abs(), 1), if z > 0.0 { "above" } else { "below" })
        })
        .collect();
    (!far.is_empty()).then(|| {
        format!(
            "Manner differs from the group’s: {}. Repeat with a set depth and cue before reading force or power as a quality.",
            far.join(", ")
        )
    })
}

fn mass_sentence(view: &FirstView<'_>, locale: &Locale) -> Option<String> {
    let touched: Vec<(&Standing, f64)> = view.qualities().filter_map(|s| Some((s, s.mass_adjusted?.r))).collect();
    let strongest = touched.iter().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))?;
    let way = if strongest.1 < 0.0 { "Heavier athletes have less per kilogram" } else { "Heavier athletes have more per kilogram" };
    Some(format!(
        "{way} in this group ({}: r {}): the hollow diamond stands where the own body mass is accounted for.",
        in_a_sentence(&strongest.0.figure),
        locale.fixed(strongest.1, 2)
    ))
}

fn table(view: &FirstView<'_>, level: Level, locale: &Locale) -> Markup {
    let spoken = level > Level::Ranks;
    let mass = view.standings.iter().any(|s| s.0.mass_adjusted.is_some());
    html! {
        details class="numbers" {
            summary { "The numbers" }
            div class="wide" { table {
                caption { "Standing of each figure" }
                thead { tr {
                    th scope="col" { "Figure" } th scope="col" class="num" { "Own value ±" } th scope="col" class="num" { "Trials" } th scope="col" class="num" { "n" }
                    th scope="col" class="num" { @if spoken { "Percentile (95 %)" } @else { "Rank" } }
                    @if spoken { th scope="col" class="num" { "SD from mean (95 %)" } }
                    @if mass { th scope="col" class="num" { "At own body mass, SD" } }
                } }
                tbody {
                    @for strip in [BRAKING, PROPULSION, MANNER].into_iter().flat_map(|ids| view.of(ids, locale)) {
                        @let s = strip.standing;
                        tr {
                            th scope="row" { (figure_name(&s.figure)) @if s.own.doubtful { span class="quiet" { ", doubtful trials only" } } }
                            td class="num" { (value(&strip, locale)) }
                            td class="num" { (s.own.trials) }
                            td class="num" { (s.group.len()) }
                            td class="num" { (place_words(s, locale)) }
                            @if spoken { td class="num" { @if let Some(p) = s.place { (signed_interval(p.z, 1, locale)) } } }
                            @if mass { td class="num" { @if let Some(a) = s.mass_adjusted { (signed(a.place.z.value, 1, locale)) } } }
                        }
                    }
                }
            } }
        }
    }
}

fn against_published(view: &FirstView<'_>, locale: &Locale) -> Markup {
    let rows: Vec<_> = view
        .references
        .iter()
        .filter_map(|r| Some((r, view.find(&r.figure)?)))
        .filter_map(|(r, s)| Some((r, s, r.stand(s.value)?)))
        .collect();
    html! {
        @if !rows.is_empty() {
            div class="wide" { table {
                caption { "Beside published groups" }
                thead { tr { th scope="col" { "Figure" } th scope="col" { "Published group" } th scope="col" class="num" { "Mean ± SD" } th scope="col" class="num" { "n" } th scope="col" class="num" { "SD from its mean" } th scope="col" { "Source" } } }
                tbody { @for (r, s, place) in rows {
                    @let (unit, factor) = unit(&s.figure, locale);
                    tr {
                        th scope="row" { (figure_name(&s.figure)) }
                        td { (r.group) @if !r.protocol.is_empty() { ", " (r.protocol) } }
                        td class="num" { @let decimals = Locale::decimals(&unit, 1);
                            (locale.fixed(r.mean * factor, decimals)) " ± " (locale.fixed(r.sd * factor, decimals)) " " (unit) }
                        td class="num" { (r.n.map_or("not said".to_owned(), |n| n.to_string())) }
                        td class="num" { (signed_interval(place.z, 1, locale)) }
                        td { (r.citation) }
                    }
                } }
            } }
        }
    }
}

/// Where each whisker's noise is from; one line a source.
fn noises(view: &FirstView<'_>) -> Markup {
    let mut sources: Vec<(String, Vec<String>)> = Vec::new();
    for (s, noise) in view.standings.iter().filter(|s| BRAKING.iter().chain(PROPULSION).chain(MANNER).any(|id| *id == s.0.figure)) {
        let words = noise_words(noise.as_ref());
        match sources.iter_mut().find(|known| known.0 == words) {
            Some(known) => known.1.push(in_a_sentence(&s.figure)),
            None => sources.push((words, vec![in_a_sentence(&s.figure)])),
        }
    }
    let single = sources.len() == 1;
    html! {
        @for (words, figures) in &sources {
            p class="hint" { "Variation between days: " (words) @if !single { ", for " (figures.join(", ")) } "." }
        }
    }
}
