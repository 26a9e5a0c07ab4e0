//! Tables → standings: one number a quality for the athlete and for everybody in the group, and the session-to-session
//! differences of the group that say how far such a number wanders when nothing has changed.
use super::qualities::{Evidence, QUALITIES, QualityId, position_fits};
use crate::cohort::Table;
use crate::force::math;
use crate::force::stats::{mean, sd};
use crate::people::Date;

/// A standing compares values at most this old.
pub const VALID_DAYS: i32 = 365;
/// Days closer than this are repeats of one state.
pub const REPEAT_DAYS: i32 = 10;
/// Below so many in the group not even a first number is made.
const FEWEST: usize = 5;

/// What is left out or changed to see whether the answer hangs on it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Change {
    /// One trial of the athlete, in every figure read from it.
    pub without_trial: Option<TrialPlace>,
    /// One member of the group.
    pub without_member: Option<usize>,
    /// Take out what body mass explains where |r| > 0.3 [after Jaric 2002, Sports Med. 32:615].
    pub mass_adjusted: bool,
}

/// Where a trial of the athlete stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TrialPlace {
    /// Test kind.
    pub test: String,
    /// Protocol key.
    pub protocol: String,
    /// Day.
    pub day: Date,
    /// Which of that day's trials, from 0.
    pub place: usize,
}

/// A family of one test under one protocol: what counts as one observation.
#[derive(Debug, Clone, PartialEq)]
pub struct Seen {
    /// Test kind.
    pub test: String,
    /// Protocol key.
    pub protocol: String,
    /// Family.
    pub family: &'static str,
    /// Figures used.
    pub figures: Vec<&'static str>,
    /// The athlete's standing, in the group's SD.
    pub z: f64,
    /// Session-to-session typical error in the same unit; NaN where the group has no repeated days.
    pub error: f64,
    /// Days of the athlete in it.
    pub days: usize,
    /// Members compared with.
    pub n: usize,
    /// Largest |r| of its figures with body mass in the group.
    pub mass_r: f64,
}

/// One quality's numbers, before they are weighed against each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Which.
    pub quality: QualityId,
    /// What it was made of.
    pub seen: Vec<Seen>,
    /// The athlete's composite: the mean of his families' standings.
    pub own: f64,
    /// Composite of each member of [`Prepared::members`].
    pub members: Vec<Option<f64>>,
    /// Difference of two near days of a member, for each of [`Prepared::pairs`].
    pub pairs: Vec<Option<f64>>,
    /// Days behind `own`.
    pub days: usize,
}

/// All that scoring needs.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Prepared {
    /// The athlete's days used, oldest first.
    pub days: Vec<Date>,
    /// The group, without the athlete.
    pub members: Vec<usize>,
    /// Near days of members: who, first, second.
    pub pairs: Vec<(usize, Date, Date)>,
    /// Qualities that the athlete's tests speak of.
    pub columns: Vec<Column>,
}

/// Mean of one figure over one session.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Session {
    /// Whose.
    pub athlete: usize,
    /// When.
    pub day: Date,
    /// Mean, on logs where the figure is positive throughout.
    pub value: f64,
    /// Log of body mass; NaN where unknown.
    pub ln_mass: f64,
    /// Trials in it.
    pub trials: usize,
}

/// Session means of a table up to `until`, in order of athlete, then day. Doubtful trials count only where a session has no sound one.
pub fn sessions(table: &Table, until: Date, leave: Option<(usize, &TrialPlace)>) -> Vec<Session> {
    let logs = table.rows.iter().all(|r| r.value > 0.0);
    let mut rows: Vec<_> = table.rows.iter().filter(|r| r.day <= until && r.value.is_finite()).collect();
    rows.sort_by_key(|r| (r.athlete, r.day));
    let mut found = Vec::new();
    for group in rows.chunk_by(|a, b| (a.athlete, a.day) == (b.athlete, b.day)) {
        let Some(first) = group.first() else { continue };
        let gone = leave
            .filter(|(who, place)| {
                *who == first.athlete && place.day == first.day && place.test == table.test && place.protocol == table.protocol
            })
            .map(|(_, place)| place.place);
        let kept = || group.iter().enumerate().filter(move |(i, _)| Some(*i) != gone).map(|(_, r)| r);
        let sound = kept().any(|r| r.sound);
        let values: Vec<f64> = kept().filter(|r| r.sound || !sound).map(|r| if logs { math::ln(r.value) } else { r.value }).collect();
        if values.is_empty() {
            continue;
        }
        let ln_mass = if first.body_mass_kg > 0.0 { math::ln(first.body_mass_kg) } else { f64::NAN };
        found.push(Session { athlete: first.athlete, day: first.day, value: mean(&values), ln_mass, trials: values.len() });
    }
    found
}

/// The latest session of each athlete of a sorted list, not older than a year before `day`.
fn latest(sessions: &[Session], day: Date) -> Vec<Session> {
    sessions
        .chunk_by(|a, b| a.athlete == b.athlete)
        .filter_map(|own| own.last().copied())
        .filter(|s| day.days_since(s.day) <= VALID_DAYS)
        .collect()
}

/// Slope and correlation of `y` on `x`.
pub fn regress(x: &[f64], y: &[f64]) -> (f64, f64) {
    let (mx, my) = (mean(x), mean(y));
    let sum = |f: &dyn Fn(f64, f64) -> f64| x.iter().zip(y).map(|(a, b)| f(a - mx, b - my)).sum::<f64>();
    let (xx, yy, xy) = (sum(&|a, _| a * a), sum(&|_, b| b * b), sum(&|a, b| a * b));
    if xx > 0.0 && yy > 0.0 { (xy / xx, xy / (xx * yy).sqrt()) } else { (0.0, 0.0) }
}

/// A figure's standings: everybody's sessions in units of the group, better upwards.
struct Standings {
    sessions: Vec<Session>,
    members: Vec<Session>,
    mass_r: f64,
}

fn standings(table: &Table, row: &Evidence, athlete: usize, day: Date, change: &Change) -> Option<Standings> {
    let mut all = sessions(table, day, change.without_trial.as_ref().map(|t| (athlete, t)));
    all.retain(|s| Some(s.athlete) != change.without_member);
    let group: Vec<Session> = latest(&all, day).into_iter().filter(|s| s.athlete != athlete).collect();
    if group.len() < FEWEST {
        return None;
    }
    let known: Vec<&Session> = group.iter().filter(|s| s.ln_mass.is_finite()).collect();
    let (masses, figures): (Vec<f64>, Vec<f64>) = known.iter().map(|s| (s.ln_mass, s.value)).unzip();
    let (slope, mass_r) = regress(&masses, &figures);
    if change.mass_adjusted && mass_r.abs() > 0.3 {
        let centre = mean(&masses);
        for s in all.iter_mut().filter(|s| s.ln_mass.is_finite()) {
            s.value -= slope * (s.ln_mass - centre);
        }
    }
    let group: Vec<Session> = latest(&all, day).into_iter().filter(|s| s.athlete != athlete).collect();
    let values: Vec<f64> = group.iter().map(|s| s.value).collect();
    let (centre, spread) = (mean(&values), sd(&values));
    if !(spread > 0.0) {
        return None;
    }
    let sign = if row.lower { -1.0 } else { 1.0 };
    let scale = |s: &Session| Session { value: sign * (s.value - centre) / spread, ..*s };
    Some(Standings { sessions: all.iter().map(scale).collect(), members: group.iter().map(scale).collect(), mass_r })
}

/// The athlete's days that count: within [`REPEAT_DAYS`] of his latest, his first-ever session apart where another follows.
pub fn usable_days(tables: &[Table], athlete: usize, day: Date, first_ever: Option<Date>) -> Vec<Date> {
    let rows = tables.iter().flat_map(|t| &t.rows).filter(|r| r.athlete == athlete && r.day <= day && day.days_since(r.day) <= VALID_DAYS);
    let mut days: Vec<Date> = rows.map(|r| r.day).collect();
    days.sort();
    days.dedup();
    if days.len() > 1 {
        days.retain(|d| Some(*d) != first_ever);
    }
    let Some(last) = days.last().copied() else { return days };
    days.retain(|d| last.days_since(*d) < REPEAT_DAYS);
    days
}

/// Days of members less than [`REPEAT_DAYS`] apart, each with the next; a first-ever session is not one of them.
fn near_days(tables: &[Table], athlete: usize, day: Date, change: &Change, newcomers: &[(usize, Date)]) -> Vec<(usize, Date, Date)> {
    let mut days: Vec<(usize, Date)> = tables
        .iter()
        .flat_map(|t| &t.rows)
        .map(|r| (r.athlete, r.day))
        .filter(|d| d.0 != athlete && Some(d.0) != change.without_member && d.1 <= day && !newcomers.contains(d))
        .collect();
    days.sort();
    days.dedup();
    let next = days.iter().skip(1);
    days.iter().zip(next).filter(|(a, b)| a.0 == b.0 && b.1.days_since(a.1) < REPEAT_DAYS).map(|(a, b)| (a.0, a.1, b.1)).collect()
}

/// Sorted list of sessions → the value of one.
fn at(sessions: &[Session], athlete: usize, day: Date) -> Option<f64> {
    let place = sessions.binary_search_by_key(&(athlete, day), |s| (s.athlete, s.day)).ok()?;
    sessions.get(place).map(|s| s.value)
}

fn of_member(members: &[Session], athlete: usize) -> Option<f64> {
    let place = members.binary_search_by_key(&athlete, |s| s.athlete).ok()?;
    members.get(place).map(|s| s.value)
}

/// Mean of values that are all there; `None` where one is missing or there is none.
fn all_mean(values: impl Iterator<Item = Option<f64>>) -> Option<f64> {
    let values: Option<Vec<f64>> = values.collect();
    values.filter(|v| !v.is_empty()).map(|v| mean(&v))
}

/// Everything for one athlete. `newcomers` holds the first-ever session of those for whom it is in the tables.
pub fn prepare(tables: &[Table], athlete: usize, day: Date, newcomers: &[(usize, Date)], change: &Change) -> Prepared {
    let first_ever = newcomers.iter().find(|n| n.0 == athlete).map(|n| n.1);
    let days = usable_days(tables, athlete, day, first_ever);
    let mut members: Vec<usize> =
        tables.iter().flat_map(|t| &t.rows).map(|r| r.athlete).filter(|a| *a != athlete && Some(*a) != change.without_member).collect();
    members.sort_unstable();
    members.dedup();
    let pairs = near_days(tables, athlete, day, change, newcomers);
    let mut prepared = Prepared { days, members, pairs, columns: Vec::new() };
    for quality in QUALITIES {
        // Families of one test under one protocol, with the standings of each of their figures.
        let mut families: Vec<(Seen, Vec<Standings>)> = Vec::new();
        for row in quality.evidence {
            for table in tables.iter().filter(|t| t.test == row.test && t.figure == row.figure && position_fits(row, &t.protocol)) {
                let Some(standing) = standings(table, row, athlete, day, change) else { continue };
                let own: Vec<f64> = prepared.days.iter().filter_map(|d| at(&standing.sessions, athlete, *d)).collect();
                if own.is_empty() {
                    continue;
                }
                let same = |s: &Seen| s.test == table.test && s.protocol == table.protocol && s.family == row.family;
                if let Some((seen, all)) = families.iter_mut().find(|(s, _)| same(s)) {
                    seen.figures.push(row.figure);
                    seen.days = seen.days.min(own.len());
                    seen.mass_r = if standing.mass_r.abs() > seen.mass_r.abs() { standing.mass_r } else { seen.mass_r };
                    all.push(standing);
                } else {
                    let seen = Seen {
                        test: table.test.clone(),
                        protocol: table.protocol.clone(),
                        family: row.family,
                        figures: vec![row.figure],
                        z: 0.0,
                        error: f64::NAN,
                        days: own.len(),
                        n: 0,
                        mass_r: standing.mass_r,
                    };
                    families.push((seen, vec![standing]));
                }
            }
        }
        if let Some(column) = column(quality.id, families, athlete, &prepared) {
            prepared.columns.push(column);
        }
    }
    prepared
}

fn column(quality: QualityId, families: Vec<(Seen, Vec<Standings>)>, athlete: usize, p: &Prepared) -> Option<Column> {
    let mut seen = Vec::new();
    let (mut of_members, mut of_pairs) = (vec![Vec::new(); p.members.len()], vec![Vec::new(); p.pairs.len()]);
    for (mut family, figures) in families {
        let own = |s: &Standings| {
            let values: Vec<f64> = p.days.iter().filter_map(|d| at(&s.sessions, athlete, *d)).collect();
            (!values.is_empty()).then(|| mean(&values))
        };
        let values: Vec<Option<f64>> = p.members.iter().map(|m| all_mean(figures.iter().map(|s| of_member(&s.members, *m)))).collect();
        let present: Vec<f64> = values.iter().flatten().copied().collect();
        let spread = sd(&present);
        if present.len() < FEWEST || !(spread > 0.0) {
            continue;
        }
        let own = all_mean(figures.iter().map(own))?;
        // A mean of several standings has a smaller SD than 1: each family is put back on the group's scale, so that
        // a family of two figures weighs as much as one of a single figure.
        let centre = mean(&present);
        let back = |v: f64| (v - centre) / spread;
        let differences: Vec<Option<f64>> = p
            .pairs
            .iter()
            .map(|(who, first, second)| {
                let of = |day: Date| all_mean(figures.iter().map(|s| at(&s.sessions, *who, day)));
                Some((of(*second)? - of(*first)?) / spread)
            })
            .collect();
        family.z = back(own);
        family.n = present.len();
        family.error = typical_error(&differences).0;
        for (list, value) in of_members.iter_mut().zip(&values) {
            list.push(value.map(back));
        }
        for (list, value) in of_pairs.iter_mut().zip(&differences) {
            list.push(*value);
        }
        seen.push(family);
    }
    let own = all_mean(seen.iter().map(|s| Some(s.z)))?;
    let gather = |lists: Vec<Vec<Option<f64>>>| lists.into_iter().map(|l| all_mean(l.into_iter())).collect();
    let days = seen.iter().map(|s| s.days).min().unwrap_or(1);
    Some(Column { quality, seen, own, members: gather(of_members), pairs: gather(of_pairs), days })
}

/// Typical error `√(Σd²/2m)` of session differences whose mean is no shift of interest, and m [Hopkins 2000, Sports Med. 30:1,
/// there SD(diff)/√2; here about zero, so that one pair counts one degree of freedom]. NaN for none.
pub fn typical_error(differences: &[Option<f64>]) -> (f64, usize) {
    let known: Vec<f64> = differences.iter().flatten().copied().collect();
    if known.is_empty() {
        return (f64::NAN, 0);
    }
    ((known.iter().map(|d| d * d).sum::<f64>() / (2.0 * known.len() as f64)).sqrt(), known.len())
}
