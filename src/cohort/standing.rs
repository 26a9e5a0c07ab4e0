//! Where an athlete stands in a group: himself left out, one value each, nothing said that the group's size cannot carry.
use super::days::{Day, Scale, days};
use super::distributions::{beta_quantile, noncentrality, t_cdf, t_quantile};
use super::group::Group;
use super::interval::{Interval, LOWER, UPPER};
use super::line::Line;
use super::noise::Noise;
use super::{Observation, Table};
use crate::figures::{Better, PER_KG, definition};
use crate::force::math::ln;
use crate::force::stats::{mean, sd};
use crate::people::Date;

/// Below this many others: ranks only.
pub const INTERVAL_FROM: usize = 10;
/// From this many others contrasts between figures may be spoken of.
pub const CONTRASTS_FROM: usize = 15;
/// A correlation between the figure per kilogram and body mass beyond this brings the mass-adjusted standing.
pub const MASS_MATTERS: f64 = 0.3;

/// What the group's size allows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// Fewer than ten others: a rank and the picture.
    Ranks,
    /// Ten to fourteen: standing with its interval, no contrasts.
    Interval,
    /// Fifteen or more: contrasts between figures too.
    Contrasts,
}

impl Level {
    /// The level of `n` others.
    pub fn of(n: usize) -> Self {
        if n < INTERVAL_FROM {
            Self::Ranks
        } else if n < CONTRASTS_FROM {
            Self::Interval
        } else {
            Self::Contrasts
        }
    }
}

/// One other athlete of the group.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Member {
    /// Place in the list of athletes.
    pub athlete: usize,
    /// Value on the standing's scale: the mean of the latest day.
    pub on_scale: f64,
    /// The same in SI.
    pub value: f64,
    /// Body mass, kg; NaN where unknown.
    pub body_mass_kg: f64,
}

/// A single case against a group's mean and spread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// The others' mean, on the scale.
    pub mean: f64,
    /// The others' standard deviation, on the scale (mass-adjusted: about the line).
    pub sd: f64,
    /// `(x − mean)/sd`, with the 95 % interval that the group's size leaves [noncentral t; Crawford & Garthwaite 2002,
    /// Neuropsychologia 40:1196]. The athlete's own day-to-day noise is not in it: see [`Standing::usual`].
    pub z: Interval,
    /// `t = (x − mean)/(sd·√(1 + 1/n))` [Crawford & Howell 1998, Clin. Neuropsychol. 12:482].
    pub t: f64,
    /// Its degrees of freedom.
    pub df: f64,
    /// Share of such a population expected below him, 0–1: the t's own probability.
    pub expected_below: f64,
}

/// Standing with body mass accounted for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MassAdjusted {
    /// Correlation of the figure per kilogram with body mass in the group (both on the figure's scale).
    pub r: f64,
    /// Others whose mass is known.
    pub n: usize,
    /// The place about the line of figure over mass (logs: an allometric exponent), at his own mass.
    pub place: Place,
}

/// Where an athlete stands in one figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// Figure id.
    pub figure: String,
    /// The scale of [`Member::on_scale`], [`Place`] and [`Standing::own`].
    pub scale: Scale,
    /// Which way is better; with `Neither` a standing describes and never scores.
    pub better: Better,
    /// His own value: the latest day, on the scale.
    pub own: Day,
    /// The same in SI.
    pub value: f64,
    /// His usual value, SI: the day's mean with what days and trials vary by (95 %); `None` where that is not known.
    pub usual: Option<Interval>,
    /// The others, lowest first.
    pub group: Vec<Member>,
    /// What their number allows.
    pub level: Level,
    /// Others lower than he.
    pub below: usize,
    /// Others equal to him.
    pub equal: usize,
    /// Percentile, 0–100: mid-rank for ties, with Jeffreys' interval [Brown, Cai & DasGupta 2001, Stat. Sci. 16:101]; from ten others on.
    pub percentile: Option<Interval>,
    /// Distance from the group's mean; from ten others on.
    pub place: Option<Place>,
    /// Beside it where body mass matters to a figure per kilogram.
    pub mass_adjusted: Option<MassAdjusted>,
}

impl Standing {
    /// z with more meaning better; `None` for figures that are never scored and for small groups.
    pub fn better_z(&self) -> Option<Interval> {
        let z = self.place?.z;
        match self.better {
            Better::Higher => Some(z),
            Better::Lower => Some(Interval { value: -z.value, low: -z.high, high: -z.low }),
            Better::Neither => None,
        }
    }
    /// Variance of his own value about his usual one, in squared standard deviations of the group; `None` where unknown.
    pub fn own_variance_z(&self, noise: &Noise) -> Option<f64> {
        let place = self.place?;
        Some(noise.session(self.own.trials as f64).0 / (place.sd * place.sd))
    }
}

/// Stands an athlete in a group. `members` holds one flag an athlete ([`Group::members`]); he himself never counts,
/// flag or no flag. `None` where he has no value in the group's time, or on `day` where one is asked for.
pub fn standing(
    table: &Table,
    group: &Group,
    members: &[bool],
    athlete: usize,
    day: Option<Date>,
    noise: Option<&Noise>,
) -> Option<Standing> {
    let scale = Scale::of(table);
    let days = days(&wanted_rows(table, group, members.len(), athlete), scale);
    let latest: Vec<Day> =
        days.chunk_by(|a, b| a.athlete == b.athlete).filter_map(|own| own.iter().rev().find(|d| group.counts(d.day))).copied().collect();
    let own = match day {
        Some(day) => days.iter().find(|d| d.athlete == athlete && d.day == day).copied(),
        None => latest.iter().find(|d| d.athlete == athlete).copied(),
    }?;
    let mut others: Vec<Member> = latest
        .iter()
        .filter(|d| d.athlete != athlete && members.get(d.athlete).copied().unwrap_or(false))
        .map(|d| Member { athlete: d.athlete, on_scale: d.mean, value: scale.back(d.mean), body_mass_kg: d.body_mass_kg })
        .collect();
    others.sort_by(|a, b| a.on_scale.total_cmp(&b.on_scale).then(a.athlete.cmp(&b.athlete)));
    let level = Level::of(others.len());
    let below = others.iter().filter(|m| m.on_scale < own.mean).count();
    let equal = others.iter().filter(|m| m.on_scale == own.mean).count();
    let spoken = level > Level::Ranks;
    let values: Vec<f64> = others.iter().map(|m| m.on_scale).collect();
    Some(Standing {
        figure: table.figure.clone(),
        scale,
        better: definition(&table.figure).map_or(Better::Neither, |d| d.better),
        value: scale.back(own.mean),
        usual: noise.filter(|n| n.scale() == scale).map(|n| {
            let (variance, df) = n.session(own.trials as f64);
            Interval::about(own.mean, t_quantile(UPPER, df) * variance.sqrt()).map(|y| scale.back(y))
        }),
        percentile: spoken.then(|| percentile(below, equal, others.len())),
        place: spoken.then(|| place(own.mean, mean(&values), sd(&values), values.len() as f64)).flatten(),
        mass_adjusted: spoken.then(|| mass_adjusted(&table.figure, scale, &own, &others)).flatten(),
        own,
        group: others,
        level,
        below,
        equal,
    })
}

/// What a standing needs of a table: everybody's latest counting day with a value, and all of the athlete's own. The
/// rest, most of it, is neither sorted nor brought to a scale.
fn wanted_rows(table: &Table, group: &Group, athletes: usize, athlete: usize) -> Table {
    let mut latest: Vec<Option<Date>> = vec![None; athletes];
    for row in table.rows.iter().filter(|row| row.value.is_finite() && group.counts(row.day)) {
        if let Some(day) = latest.get_mut(row.athlete) {
            *day = (*day).max(Some(row.day));
        }
    }
    let wanted = |row: &&Observation| row.athlete == athlete || latest.get(row.athlete).copied().flatten() == Some(row.day);
    Table { rows: table.rows.iter().filter(wanted).copied().collect(), ..Table::default() }
}

/// Mid-rank percentile with Jeffreys' interval, ties counted half; the ends are closed where nobody is below or above.
pub fn percentile(below: usize, equal: usize, n: usize) -> Interval {
    let (count, n) = (below as f64 + 0.5 * equal as f64, n as f64);
    let limit = |p: f64| 100.0 * beta_quantile(p, count + 0.5, n - count + 0.5);
    Interval {
        value: 100.0 * count / n,
        low: if count == 0.0 { 0.0 } else { limit(LOWER) },
        high: if count == n { 100.0 } else { limit(UPPER) },
    }
}

/// One value against mean, standard deviation and number of others; `None` without spread.
pub fn place(x: f64, mean: f64, sd: f64, n: f64) -> Option<Place> {
    if !(sd > 0.0 && n >= 2.0 && x.is_finite()) {
        return None;
    }
    placed(x, mean, sd, n - 1.0, 1.0 / n)
}

/// `leverage` is the variance of the expected value in units of sd²: 1/n, or a line's at his mass.
fn placed(x: f64, mean: f64, sd: f64, df: f64, leverage: f64) -> Option<Place> {
    let z = (x - mean) / sd;
    let t = z / (1.0 + leverage).sqrt();
    let root = leverage.sqrt();
    let limit = |p: f64| noncentrality(z / root, df, p) * root;
    let z = Interval { value: z, low: limit(UPPER), high: limit(LOWER) };
    Some(Place { mean, sd, z, t, df, expected_below: t_cdf(t, df) })
}

fn mass_adjusted(figure: &str, scale: Scale, own: &Day, others: &[Member]) -> Option<MassAdjusted> {
    let known: Vec<(f64, f64)> =
        others.iter().filter(|m| m.body_mass_kg > 0.0).map(|m| (mass(scale, m.body_mass_kg), m.on_scale)).collect();
    if !figure.ends_with(PER_KG) || known.len() < INTERVAL_FROM || !(own.body_mass_kg > 0.0) {
        return None;
    }
    let (masses, values): (Vec<f64>, Vec<f64>) = known.into_iter().unzip();
    let line = Line::of(&masses, &values);
    if !(line.r.abs() > MASS_MATTERS) {
        return None;
    }
    let (own_mass, n) = (mass(scale, own.body_mass_kg), line.n as f64);
    let away = own_mass - line.x_mean;
    let place = placed(own.mean, line.at(own_mass), line.about, n - 2.0, 1.0 / n + away * away / line.x_squares)?;
    Some(MassAdjusted { r: line.r, n: line.n, place })
}

fn mass(scale: Scale, kg: f64) -> f64 {
    if scale == Scale::Log { ln(kg) } else { kg }
}
