//! Standing, change, repeatability, left/right, days in time and curves as plain rows for the tidy files (written by `records::tidy`): one row a
//! figure, every column named and documented here.
//! SI units, shortest round-trip numbers, an empty cell where something cannot be said and never a zero. A column is
//! added at the end, never renamed.
use super::change::Change;
use super::days::Scale;
use super::interval::Interval;
use super::kappa::Kappa;
use super::noise::Noise;
use super::repeatability::Repeatability;
use super::sides::{Against, SideDifference};
use super::standing::{Level, Standing};
use super::targets::Sorted;
use crate::figures::Better;
use crate::people::{Date, Side};

/// Version of these columns; goes up when one is added.
pub const VERSION: u32 = 3;

/// One column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Column {
    /// Name in the header.
    pub name: &'static str,
    /// Its type in a Table Schema: string, date, boolean, integer or number.
    pub kind: &'static str,
    /// What it holds.
    pub meaning: &'static str,
}

/// What the rows have in common, as text.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Context {
    /// The athlete's name or code.
    pub athlete: String,
    /// Test kind.
    pub test: String,
    /// Protocol key.
    pub protocol: String,
    /// The group in words.
    pub group: String,
}

macro_rules! columns {
    ($name:ident: $doc:literal { $($column:literal $kind:ident $meaning:literal;)* }) => {
        #[doc = $doc]
        pub const $name: &[Column] = &[$(Column { name: $column, kind: stringify!($kind), meaning: $meaning },)*];
    };
}

mod history;
pub use history::{CURVES, Curve, HISTORY, curve_rows, history_rows};

columns! { STANDING: "Columns of a standing." {
    "athlete" string "name or code";
    "test" string "test kind";
    "protocol" string "protocol key; only equal protocols are compared";
    "group" string "the group in words; the athlete himself is not in it";
    "figure" string "figure id";
    "day" date "day of the athlete's value, ISO 8601";
    "trials" integer "trials behind it; their mean is used";
    "value" number "the athlete's value, SI";
    "usual_low" number "lower 95 % limit of his usual value, noise of days and trials in it, SI";
    "usual_high" number "upper limit, SI";
    "n" integer "others in the group, one value each";
    "level" string "ranks (n < 10), interval (10–14), contrasts (15 or more)";
    "below" integer "others lower";
    "equal" integer "others equal";
    "percentile" number "mid-rank percentile, 0–100";
    "percentile_low" number "lower limit of its 95 % Jeffreys interval";
    "percentile_high" number "upper limit";
    "scale" string "log or raw: the scale of the next six columns";
    "group_mean" number "the others' mean, on that scale";
    "group_sd" number "the others' standard deviation, on that scale";
    "z" number "(value − mean)/SD";
    "z_low" number "lower 95 % limit that the group's size leaves";
    "z_high" number "upper limit";
    "t" number "Crawford & Howell's t";
    "expected_below_percent" number "share of such a population expected below, %";
    "better" string "higher, lower, or neither (never scored)";
    "mass_correlation" number "correlation with body mass in the group, where beyond 0.3";
    "mass_adjusted_z" number "distance from the line over body mass, in its SD";
    "mass_adjusted_expected_below_percent" number "share expected below at his mass, %";
    "noise_source" string "own days, or the citation of the between-day value";
} }

columns! { CHANGE: "Columns of a change." {
    "athlete" string "name or code";
    "test" string "test kind";
    "protocol" string "protocol key";
    "figure" string "figure id";
    "role" string "target (judged), or also_seen";
    "days_before" string "days before, ISO 8601, separated by spaces";
    "days_after" string "days after";
    "trials_before" string "trials of each day before, separated by spaces";
    "trials_after" string "trials of each day after";
    "before" number "mean before, SI (geometric mean where the scale is log)";
    "after" number "mean after, SI";
    "scale" string "log (differences below are fractions: 0.05 is 5 % more) or raw (SI)";
    "difference" number "after − before";
    "difference_low" number "lower limit of its 95 % t interval";
    "difference_high" number "upper limit";
    "standard_error" number "of the difference, on the scale itself";
    "df" number "its degrees of freedom";
    "smallest_worthwhile" number "smallest worthwhile change, as the difference";
    "smallest_detectable" number "smallest true change this comparison finds in 80 of 100 cases, as the difference";
    "expected_drift" number "drift expected without training where the figure was picked as the lowest, as the difference";
    "verdict" string "worthwhile_better, worthwhile_worse, trivial, better_not_surely_worthwhile, worse_not_surely_worthwhile, cannot_tell, cannot_say; better is higher for figures never scored";
    "p" number "two-sided, of no change beyond the drift";
    "adjusted_p" number "Benjamini–Hochberg, among the figures also seen";
    "stands_out" boolean "also seen only: true where adjusted p is 0.10 or less";
    "better" string "higher, lower, or neither";
    "noise_source" string "own days, or the citation of the between-day value";
} }

columns! { REPEATABILITY: "Columns of repeatability." {
    "test" string "test kind";
    "protocol" string "protocol key";
    "figure" string "figure id";
    "noise_source" string "own days, or the citation of the between-day value; empty: cannot say";
    "scale" string "log (errors below are fractions: 0.05 is 5 %) or raw (SI)";
    "trials" number "trials a session, to which the session's numbers refer";
    "typical_error" number "of one session's mean; on logs the coefficient of variation";
    "typical_error_low" number "lower limit of its 95 % chi-square interval";
    "typical_error_high" number "upper limit";
    "minimal_detectable_change" number "between two sessions, 1.96·√2 times the error";
    "smallest_worthwhile" number "0.2·√(SD² − TE²) between athletes";
    "icc_model" string "name of the intraclass correlation of session means over repeated days";
    "icc" number "its value";
    "icc_low" number "lower 95 % limit";
    "icc_high" number "upper limit";
    "icc_people" integer "athletes behind it";
    "day_variance" number "variance component of days, on the scale itself; own days only";
    "trial_variance" number "variance component of trials, on the scale itself; own days only";
    "athletes" integer "athletes with repeated days";
    "days" integer "their repeated days";
    "days_wanted" integer "more repeated days that would bring the error's upper limit to 1.5 times its value";
} }

columns! { SIDES: "Columns of a difference between left and right against its own noise." {
    "athlete" string "name or code";
    "test" string "test kind";
    "protocol" string "protocol key";
    "figure" string "id of the index";
    "day" date "day, ISO 8601";
    "trials" integer "trials of the day";
    "difference_percent" number "mean of 100·(R−L)/(R+L); positive: right higher";
    "noise_percent" number "± what could be zero (95 %)";
    "against" string "days, trials (that day's only), measurement (one trial's own uncertainty)";
    "higher" string "left or right where beyond the noise; else empty";
    "kappa_first" date "first of the two days that the group's directions are compared between; empty from here on where κ is withheld or nobody asked";
    "kappa_second" date "second of them";
    "kappa_n" integer "athletes of the group with both";
    "kappa_same" integer "of them, those with the same side higher both times";
    "kappa" number "agreement beyond chance [Scott 1955]";
    "kappa_low" number "lower 95 % limit [Donner & Eliasziw 1992]";
    "kappa_high" number "upper limit";
    "kappa_p" number "chance of as many agreeing if directions were drawn anew, over all permutations";
} }

fn number(value: f64) -> String {
    if value.is_finite() { value.to_string() } else { String::new() }
}

fn maybe(value: Option<f64>) -> String {
    value.map_or(String::new(), number)
}

fn three(interval: Option<Interval>) -> [String; 3] {
    interval.map_or(Default::default(), |i| [number(i.value), number(i.low), number(i.high)])
}

fn better(better: Better) -> String {
    match better {
        Better::Higher => "higher",
        Better::Lower => "lower",
        Better::Neither => "neither",
    }
    .into()
}

fn scale(scale: Scale) -> String {
    if scale == Scale::Log { "log".into() } else { "raw".into() }
}

/// Where the noise is from, in a word or a citation; empty where nothing is known.
pub fn noise_source(noise: Option<&Noise>) -> String {
    noise.map_or(String::new(), |n| n.citation().unwrap_or("own days").to_owned())
}

/// A standing as a row of [`STANDING`].
pub fn standing_row(context: &Context, standing: &Standing, noise: Option<&Noise>) -> Vec<String> {
    let level = match standing.level {
        Level::Ranks => "ranks",
        Level::Interval => "interval",
        Level::Contrasts => "contrasts",
    };
    let place = standing.place;
    let [_, usual_low, usual_high] = three(standing.usual);
    let [percentile, percentile_low, percentile_high] = three(standing.percentile);
    let [z, z_low, z_high] = three(place.map(|p| p.z));
    let adjusted = standing.mass_adjusted;
    vec![
        context.athlete.clone(),
        context.test.clone(),
        context.protocol.clone(),
        context.group.clone(),
        standing.figure.clone(),
        standing.own.day.to_string(),
        standing.own.trials.to_string(),
        number(standing.value),
        usual_low,
        usual_high,
        standing.group.len().to_string(),
        level.into(),
        standing.below.to_string(),
        standing.equal.to_string(),
        percentile,
        percentile_low,
        percentile_high,
        scale(standing.scale),
        maybe(place.map(|p| p.mean)),
        maybe(place.map(|p| p.sd)),
        z,
        z_low,
        z_high,
        maybe(place.map(|p| p.t)),
        maybe(place.map(|p| 100.0 * p.expected_below)),
        better(standing.better),
        maybe(adjusted.map(|a| a.r)),
        maybe(adjusted.map(|a| a.place.z.value)),
        maybe(adjusted.map(|a| 100.0 * a.place.expected_below)),
        noise_source(noise),
    ]
}

/// Repeatability of one figure as a row of [`REPEATABILITY`].
pub fn repeatability_row(context: &Context, r: &Repeatability) -> Vec<String> {
    let said = |value: f64| number(r.scale.difference(value));
    let [error, low, high] = three(r.typical_error.map(|te| te.map(|x| r.scale.difference(x))));
    let own = match r.noise {
        Some(Noise::Own(own)) => Some(own),
        _ => None,
    };
    let count = |n: Option<usize>| n.map_or(String::new(), |n| n.to_string());
    vec![
        context.test.clone(),
        context.protocol.clone(),
        r.figure.clone(),
        noise_source(r.noise.as_ref()),
        scale(r.scale),
        number(r.trials),
        error,
        low,
        high,
        r.minimal_detectable_change.map_or(String::new(), said),
        r.smallest_worthwhile.map_or(String::new(), said),
        r.icc.map_or(String::new(), |icc| icc.name()),
        maybe(r.icc.map(|icc| icc.value)),
        maybe(r.icc.map(|icc| icc.low)),
        maybe(r.icc.map(|icc| icc.high)),
        count(r.icc.map(|icc| icc.people)),
        maybe(own.map(|own| own.day)),
        maybe(own.map(|own| own.trial)),
        count(own.map(|own| own.athletes)),
        count(own.map(|own| own.days)),
        count(r.days_wanted),
    ]
}

/// A day's left/right difference as a row of [`SIDES`].
/// With `kappa`: whether directions persist over the group, and between which days.
pub fn sides_row(context: &Context, figure: &str, day: Date, d: &SideDifference, kappa: Option<((Date, Date), &Kappa)>) -> Vec<String> {
    let against = match d.against {
        Against::Days => "days",
        Against::Trials => "trials",
        Against::Measurement => "measurement",
    };
    let higher = match d.higher {
        Some(Side::Left) => "left",
        Some(Side::Right) => "right",
        _ => "",
    };
    let mut row = vec![
        context.athlete.clone(),
        context.test.clone(),
        context.protocol.clone(),
        figure.to_owned(),
        day.to_string(),
        d.trials.to_string(),
        number(d.percent),
        number(d.noise),
        against.into(),
        higher.into(),
    ];
    row.extend(kappa.map_or_else(Default::default, |((first, second), k)| {
        let [value, low, high] = three(Some(k.kappa));
        [first.to_string(), second.to_string(), k.n.to_string(), k.same.to_string(), value, low, high, number(k.p)]
    }));
    row
}

/// Changes as rows of [`CHANGE`], targets first.
pub fn change_rows(context: &Context, sorted: &Sorted) -> Vec<Vec<String>> {
    let targets = sorted.targets.iter().map(|c| change_row(context, c, "target", None, None));
    let others = sorted.also_seen.iter().map(|s| change_row(context, &s.change, "also_seen", s.adjusted_p, Some(s.stands_out)));
    targets.chain(others).collect()
}

fn change_row(context: &Context, change: &Change, role: &str, adjusted_p: Option<f64>, stands_out: Option<bool>) -> Vec<String> {
    let list = |items: Vec<String>| items.join(" ");
    let days = |days: &[Date]| list(days.iter().map(ToString::to_string).collect());
    let counts = |counts: &[usize]| list(counts.iter().map(ToString::to_string).collect());
    let said = |value: f64| number(change.scale.difference(value));
    let [_, low, high] = three(change.interval.map(|i| i.map(|x| change.scale.difference(x))));
    vec![
        context.athlete.clone(),
        context.test.clone(),
        context.protocol.clone(),
        change.figure.clone(),
        role.into(),
        days(&change.before.days),
        days(&change.after.days),
        counts(&change.before.trials),
        counts(&change.after.trials),
        number(change.before.value),
        number(change.after.value),
        scale(change.scale),
        said(change.difference),
        low,
        high,
        maybe(change.design.map(|d| d.se)),
        maybe(change.design.map(|d| d.df)),
        change.worthwhile.map_or(String::new(), said),
        change.design.map_or(String::new(), |d| said(d.smallest)),
        change.drift.map_or(String::new(), said),
        change.verdict.id().into(),
        maybe(change.p),
        maybe(adjusted_p),
        stands_out.map_or(String::new(), |yes| yes.to_string()),
        better(change.better),
        noise_source(change.noise.as_ref()),
    ]
}
