//! Days in time with their limits, each leg's own too, and curves with their bands: rows of long tables, one a day or point.
use super::{Column, Context, number, scale};
use crate::cohort::curves::Band;
use crate::cohort::{Chart, Limits, Noise};
use crate::people::{Date, Side};

columns! { HISTORY: "Columns of an athlete's days in time." {
    "athlete" string "name or code";
    "test" string "test kind";
    "protocol" string "protocol key";
    "figure" string "figure id";
    "side" string "left or right where it is one leg's own history; else empty";
    "day" date "day, ISO 8601";
    "mean" number "mean of the day's trials, SI (geometric mean where the scale is log)";
    "trials" integer "trials of the day";
    "low" number "lower limit inside which a day of the usual number of trials falls 19 times in 20 if nothing changed, SI; empty where no noise is known";
    "high" number "upper limit";
    "outside" boolean "true where the day lies outside its limits, which follow its own number of trials; never for a day of the baseline or the first session ever";
    "centre" number "mean of the baseline, SI";
    "baseline" boolean "whether the day belongs to the days that the centre is made of";
    "first_ever" boolean "the first session ever, left out of the centre";
    "doubtful" boolean "only doubtful trials were there";
    "scale" string "log or raw: the scale on which limits are even";
    "limits_from" string "what the limits rest on: own days, a citation, the spread of the athlete's own days, or empty";
} }

columns! { CURVES: "Columns of two days' force laid over each other." {
    "athlete" string "name or code";
    "test" string "test kind";
    "protocol" string "protocol key";
    "aligned" string "phases (each phase is 1 long, in their order) or take_off (seconds from it)";
    "curve" string "before, after, or difference (after − before)";
    "days" string "its days, ISO 8601, separated by spaces; empty for the difference";
    "trials" integer "trials behind it; of a difference the fewer of both sides";
    "place" number "place along the curve, as aligned";
    "phase" string "name of the phase; empty where aligned at take-off";
    "mean" number "mean force, N";
    "low" number "lower edge of the simultaneous 95 % band, N; empty below six trials";
    "high" number "upper edge";
} }

/// Days of a chart as rows of [`HISTORY`]; `figure` is what its values are.
pub fn history_rows(context: &Context, figure: &str, side: Option<Side>, chart: &Chart) -> Vec<Vec<String>> {
    let side = match side {
        Some(Side::Left) => "left",
        Some(Side::Right) => "right",
        _ => "",
    };
    let from = match &chart.limits {
        Limits::Noise(noise) => Noise::citation(noise).unwrap_or("own days"),
        Limits::OwnDays => "the spread of the athlete's own days",
        Limits::Unknown => "",
    };
    let row = |p: &crate::cohort::Point| {
        vec![
            context.athlete.clone(),
            context.test.clone(),
            context.protocol.clone(),
            figure.to_owned(),
            side.to_owned(),
            p.day.to_string(),
            number(p.value),
            p.trials.to_string(),
            number(chart.centre.low),
            number(chart.centre.high),
            p.outside.to_string(),
            number(chart.centre.value),
            p.baseline.to_string(),
            p.first_ever.to_string(),
            p.doubtful.to_string(),
            scale(chart.scale),
            from.to_owned(),
        ]
    };
    chart.points.iter().map(row).collect()
}

/// One curve for [`curve_rows`].
#[derive(Debug, Clone, Copy)]
pub struct Curve<'a> {
    /// before, after, or difference.
    pub name: &'a str,
    /// Its days.
    pub days: &'a [Date],
    /// Place of each point.
    pub x: &'a [f64],
    /// Phases with their places; empty where aligned at take-off.
    pub phases: &'a [(String, f64, f64)],
    /// Mean and band.
    pub band: &'a Band,
}

/// Points of a curve as rows of [`CURVES`].
pub fn curve_rows(context: &Context, curve: Curve<'_>) -> Vec<Vec<String>> {
    let days = curve.days.iter().map(ToString::to_string).collect::<Vec<_>>().join(" ");
    let points = curve.x.iter().zip(&curve.band.mean).zip(curve.band.low.iter().zip(&curve.band.high));
    let row = |((x, mean), (low, high)): ((&f64, &f64), (&f64, &f64))| {
        // A boundary ends the phase before it.
        let phase = curve.phases.iter().find(|(_, from, to)| *x >= *from && *x <= *to).map_or("", |p| p.0.as_str());
        vec![
            context.athlete.clone(),
            context.test.clone(),
            context.protocol.clone(),
            if curve.phases.is_empty() { "take_off" } else { "phases" }.to_owned(),
            curve.name.to_owned(),
            days.clone(),
            curve.band.trials.to_string(),
            number(*x),
            phase.to_owned(),
            number(*mean),
            number(*low),
            number(*high),
        ]
    };
    points.map(row).collect()
}
