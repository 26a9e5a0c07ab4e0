//! Words and numbers that standing and change share: a figure's name and unit, signed numbers with intervals, where the
//! noise is from.
use crate::charts::number::Locale;
use crate::charts::words::spoken;
use crate::cohort::{Change, Gravities, Interval, Noise, Scale};
use crate::figures::{PER_KG, definition};

/// A figure's name as the catalogue has it.
pub fn figure_name(id: &str) -> String {
    definition(id).map_or_else(|| spoken(id.strip_suffix(PER_KG).unwrap_or(id)), |d| d.name.to_owned())
}

/// The name inside a sentence: "Mean force, braking" → "mean braking force".
pub fn in_a_sentence(id: &str) -> String {
    let name = figure_name(id);
    let mut letters = name.chars();
    let lower: String = letters.next().map_or(String::new(), |first| first.to_lowercase().chain(letters).collect());
    match lower.split_once(", ") {
        Some((what, phase)) => match what.rsplit_once(' ') {
            Some((kind, thing)) => format!("{kind} {phase} {thing}"),
            None => format!("{phase} {what}"),
        },
        None => lower,
    }
}

/// Unit shown with its factor from SI, `/kg` for twins.
pub fn unit(id: &str, locale: &Locale) -> (String, f64) {
    let (unit, factor) = definition(id).map_or(("", 1.0), |d| locale.unit(d.unit));
    if id.ends_with(PER_KG) { (format!("{unit}/kg"), factor) } else { (unit.to_owned(), factor) }
}

/// A number with its sign.
pub fn signed(value: f64, decimals: usize, locale: &Locale) -> String {
    let text = locale.fixed(value, decimals);
    let zero = text.chars().all(|c| matches!(c, '0' | '.' | ','));
    if value > 0.0 && !zero { format!("+{text}") } else { text }
}

/// "+1.2 (+0.3 to +2.1)".
pub fn signed_interval(i: Interval, decimals: usize, locale: &Locale) -> String {
    let value = signed(i.value, decimals, locale);
    if !(i.low.is_finite() && i.high.is_finite()) {
        return value;
    }
    format!("{value} ({} to {})", signed(i.low, decimals, locale), signed(i.high, decimals, locale))
}

/// A difference on a figure's scale as people say it: "+6.1 %" on logs, else in the unit shown.
pub fn difference(figure: &str, scale: Scale, value: f64, locale: &Locale) -> String {
    let (number, decimals, unit) = said(figure, scale, value, locale);
    format!("{} {unit}", signed(number, decimals, locale)).trim_end().to_owned()
}

/// The same without a sign, for sizes.
pub fn size(figure: &str, scale: Scale, value: f64, locale: &Locale) -> String {
    let (number, decimals, unit) = said(figure, scale, value, locale);
    format!("{} {unit}", locale.fixed(number.abs(), decimals)).trim_end().to_owned()
}

/// A change with its interval.
pub fn change_interval(change: &Change, i: Interval, locale: &Locale) -> String {
    let (value, decimals, unit) = said(&change.figure, change.scale, i.value, locale);
    let number = |y: f64| said(&change.figure, change.scale, y, locale).0;
    let i = Interval { value, low: number(i.low), high: number(i.high) };
    let text = format!("{} {unit}", signed(i.value, decimals, locale));
    format!("{} ({} to {})", text.trim_end(), signed(i.low, decimals, locale), signed(i.high, decimals, locale))
}

fn said(figure: &str, scale: Scale, value: f64, locale: &Locale) -> (f64, usize, String) {
    if scale == Scale::Log {
        return (100.0 * scale.difference(value), 1, "%".into());
    }
    let (unit, factor) = unit(figure, locale);
    (value * factor, Locale::decimals(&unit, 1), unit)
}

/// Where the noise between days is from.
pub fn noise_words(noise: Option<&Noise>) -> String {
    match noise {
        Some(Noise::Own(own)) => format!("own repeated days ({} days of {} athletes)", own.days, own.athletes),
        Some(Noise::Cited { row, .. }) => {
            let caution = if row.caution.is_empty() { String::new() } else { format!("; {}", row.caution) };
            format!("{} ({}; CV {} %{caution})", row.source, row.design, row.cv_percent)
        }
        None => "not known here".into(),
    }
}

/// That what is compared was read with different gravity: how far apart, what that does, and what to do.
pub fn gravity_sentence(found: &Gravities, locale: &Locale) -> String {
    let one = |(gravity, day): (f64, Option<crate::people::Date>)| {
        let day = day.map_or_else(String::new, |day| format!(" ({})", locale.day(day)));
        format!("{} m/s²{day}", locale.fixed(gravity, 3))
    };
    format!(
        "These trials were read with different gravity, {} and {}: the same recording gives heights and forces per kilogram {} % \
         higher with the second; if it was the same place, set it under Gravity, take the trials read otherwise off the list, and give their files again.",
        one(found.low),
        one(found.high),
        locale.fixed(100.0 * found.part(), 2)
    )
}
